"""Freehand: facets that touch the arc, steps on both handwheels with a round-nose tool, then the file."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.common import plain, speeds_and_layout
from advisor.formulas.geometry import sweep_of_arc
from advisor.formulas.numeric import (
    NAN,
    absolute,
    acos,
    asin,
    both,
    ceil,
    cos,
    degrees,
    divide,
    either,
    highest_not_above,
    maximum,
    minimum,
    next_below,
    radians,
    sin,
    sqrt,
    tan,
    where,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth, Values


FACET_LEVELS = 3  # 45°, then every 22.5°, then every 11.25°
MOST_STEPS = 60  # nobody follows a longer table by hand


def chamfer_leg(*, radius: Numeric) -> Numeric:
    """Leg of the 45° chamfer that touches a round corner, along the work and across the face [mm].

    l = (2 − √2) R

    radius: R [mm]. Source: first principles.

    >>> round(chamfer_leg(radius=6.0), 4)
    3.5147
    """
    return (2 - math.sqrt(2)) * radius


def standing(*, radius: Numeric, level: float) -> Numeric:
    """Metal still standing outside a round corner after a level of tangent facets [mm].

    δ = 90° / 2^n
    t = R (sec(δ/2) − 1)

    radius: R [mm]; level: 0 the square corner, 1 after the 45° chamfer, 2 after those at 22½° and 67½°, n [1].
    Source: first principles.

    >>> round(standing(radius=6.0, level=1), 5), round(standing(radius=6.0, level=2), 5)
    (0.49435, 0.11755)
    """
    half = radians(45.0 / 2**level)
    return radius * 2 * sin(half / 2) ** 2 / cos(half)


def facets(*, radius: Numeric, levels: int) -> list[dict[str, Numeric]]:
    """Tangent facets of a round corner in the order of cutting.

    Each entry: angle of the facet from the axis of the work [deg] and the metal that stands when its
    whole level is cut [mm]. The first is 45°, then 22.5° and 67.5°, then those between.
    radius: R [mm]; levels: how often the spacing is halved. Source: first principles.

    >>> [facet["angle_deg"] for facet in facets(radius=6.0, levels=2)]
    [45.0, 22.5, 67.5]
    """
    return [
        {"angle_deg": 90.0 * odd / 2**level, "standing_mm": standing(radius=radius, level=level)}
        for level in range(1, levels + 1)
        for odd in range(1, 2**level, 2)
    ]


def nose_path(*, radius: Numeric, nose_radius: Numeric, convex: Truth) -> Numeric:
    """Radius of the circle on which the centre of the nose travels [mm].

    Q = R + rₙ   convex
    Q = R − rₙ   concave

    Not a number where a hollow is too small for the nose.
    radius: R [mm]; nose_radius: rₙ [mm]; convex: truth value. Source: first principles.

    >>> nose_path(radius=6.0, nose_radius=1.5, convex=False)
    4.5
    """
    inside = where(nose_radius < radius, radius - nose_radius, NAN)
    return where(convex, radius + nose_radius, inside)


def cusp(*, radius: Numeric, nose_radius: Numeric, step: Numeric, convex: Truth) -> Numeric:
    """Height of the cusp that two neighbouring positions of a round nose leave, square to the arc [mm].

    Q = R + rₙ   convex
    Q = R − rₙ   concave
    c = Q cos(δ/2) − √(rₙ² − Q² sin²(δ/2)) − R   convex
    c = R − Q cos(δ/2) − √(rₙ² − Q² sin²(δ/2))   concave

    radius: R [mm]; nose_radius: under R in a hollow, rₙ [mm]; step: angle from one position to the next, δ [deg];
    convex: truth value. Not a number where the two nose circles do not meet.
    Source: first principles: the two nose circles cross on the bisector.

    >>> round(cusp(radius=10.0, nose_radius=0.8, step=5.0, convex=True), 6)
    0.143134
    """
    path = nose_path(radius=radius, nose_radius=nose_radius, convex=convex)
    half = radians(step / 2)
    across = path * sin(half)
    reach = sqrt(nose_radius * nose_radius - across * across)
    # Both radicals are written as differences of small numbers, so that a fine step keeps its digits.
    fallen_short = across * across / (nose_radius + reach)
    arc = path * 2 * sin(half / 2) ** 2
    return fallen_short + where(convex, -arc, arc)


def largest_step(*, radius: Numeric, nose_radius: Numeric, largest_cusp: Numeric, convex: Truth) -> Numeric:
    """Largest angle between two positions of a round nose that leaves no more than a stated cusp [deg].

    δ = 4 asin √( c(2rₙ − c) / (4 Q p) ), p = R + c convex, R − c concave, Q = R ± rₙ

    radius: R [mm]; nose_radius: rₙ [mm]; largest_cusp: c [mm]; convex: truth value. A cusp higher than
    the crossing of circles that only just meet is held at that crossing.
    Source: first principles (inverse of cusp).

    >>> round(largest_step(radius=10.0, nose_radius=0.8, largest_cusp=0.143134, convex=True), 3)
    5.0
    """
    path = nose_path(radius=radius, nose_radius=nose_radius, convex=convex)
    just_meeting = sqrt(absolute(path * path - nose_radius * nose_radius))
    highest = where(convex, just_meeting - radius, radius - just_meeting)
    height = minimum(largest_cusp, highest)
    point = where(convex, radius + height, radius - height)
    sine = sqrt(height * (2 * nose_radius - height) / (4 * path * point))
    return degrees(4 * asin(minimum(sine, math.sqrt(0.5))))


def steps_needed(
    *,
    radius: Numeric,
    nose_radius: Numeric,
    sweep: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
    largest_cusp: Numeric,
) -> Numeric:
    """Steps along the arc so that no cusp is higher than asked; not a number where the nose does not go round it.

    n = min(max(⌈φ / δ⌉, 1), 60)
    n = min(max(2 ⌈φ / (2 δ)⌉, 2), 60)   groove, crown: an even number, so that their middle is one of the positions

    φ is half the sweep on an end, else the sweep; δ as from largest_step. Sixty at the most: nobody follows a longer
    table by hand. radius: R [mm]; nose_radius: rₙ [mm]; sweep [deg]; convex, corner, end: the shape; largest_cusp [mm].
    Source: first principles.

    >>> arc = {"radius": 6.0, "nose_radius": 3.0, "convex": True, "end": False}
    >>> steps_needed(**arc, sweep=90.0, corner=True, largest_cusp=0.1)
    8.0
    >>> steps_needed(**arc, sweep=80.0, corner=True, largest_cusp=0.1)
    7.0
    >>> steps_needed(**arc, sweep=80.0, corner=False, largest_cusp=0.1)
    8.0
    """
    step = largest_step(radius=radius, nose_radius=nose_radius, largest_cusp=largest_cusp, convex=convex)
    alike = where(either(corner, end), 1.0, 2.0)  # positions that go together
    wanted = alike * ceil(divide(swing(sweep=sweep, end=end), alike * step) - 1e-6)
    return minimum(maximum(wanted, alike), float(MOST_STEPS))


def cusp_of_steps(
    *, radius: Numeric, nose_radius: Numeric, sweep: Numeric, convex: Truth, end: Truth, steps: Numeric
) -> Numeric:
    """Height of the cusps that so many steps leave [mm].

    radius, nose_radius [mm]; sweep [deg]; convex, end: the shape; steps: number of them. See cusp.
    Source: first principles.

    >>> round(cusp_of_steps(radius=10.0, nose_radius=0.8, sweep=90.0, convex=True, end=False, steps=18.0), 6)
    0.143134
    """
    step = divide(swing(sweep=sweep, end=end), steps)
    return cusp(radius=radius, nose_radius=nose_radius, step=step, convex=convex)


def facet_standing(*, radius: Numeric, sweep: Numeric, end: Truth, count: Numeric) -> Numeric:
    """Metal that stands on the arc between equal facets that touch it [mm].

    φ = θ / 2   on an end
    φ = θ   elsewhere
    t = R / cos(φ / (2n)) − R

    radius: R [mm]; sweep: θ [deg]; end: truth value; count: facets, n.
    Source: first principles.

    >>> round(facet_standing(radius=100.0, sweep=23.0739, end=False, count=4.0), 3)
    0.127
    """
    half = radians(divide(swing(sweep=sweep, end=end), 2 * count))
    return radius * 2 * sin(half / 2) ** 2 / cos(half)


def facet_width(*, radius: Numeric, sweep: Numeric, end: Truth, count: Numeric) -> Numeric:
    """Width of each facet when all touch the arc, from one break to the next [mm].

    φ = θ / 2   on an end
    φ = θ   elsewhere
    b = 2 R tan(φ / (2n))

    radius: R [mm]; sweep: θ [deg]; end: truth value; count: facets, n.
    Source: first principles.

    >>> round(facet_width(radius=100.0, sweep=23.0739, end=False, count=4.0), 3)
    10.076
    """
    return 2 * radius * tan(radians(divide(swing(sweep=sweep, end=end), 2 * count)))


def facets_needed(*, radius: Numeric, sweep: Numeric, end: Truth, largest_standing: Numeric) -> Numeric:
    """Equal facets of the compound that leave no more metal standing than asked.

    φ = θ / 2   on an end
    φ = θ   elsewhere
    n = ⌈φ / (180 − 2 asin(R / (R + t)))⌉

    radius: R [mm]; sweep: θ [deg]; end: truth value; largest_standing: t [mm]. Source: first principles.

    >>> facets_needed(radius=100.0, sweep=23.0739, end=False, largest_standing=0.1)
    5.0
    """
    each = 2 * degrees(acos(radius / (radius + largest_standing)))
    return maximum(ceil(divide(swing(sweep=sweep, end=end), each) - 1e-9), 1.0)


def facets_over(*, radius: Numeric, sweep: Numeric, end: Truth, count: int) -> list[dict[str, Numeric]]:
    """Equal facets of a crown or a dome by the compound's angle, from one side to the other; on a dome from the middle.

    Each entry: angle of the facet from the axis of the work [deg] and the metal that stands between them [mm].
    radius: R [mm]; sweep [deg]; end: truth value; count: facets. Source: first principles.

    >>> [facet["angle_deg"] for facet in facets_over(radius=100.0, sweep=24.0, end=False, count=2)]
    [-6.0, 6.0]
    """
    covered = swing(sweep=sweep, end=end)
    standing_mm = facet_standing(radius=radius, sweep=sweep, end=end, count=count)
    first = 90.0 - covered / (2 * count) if end else (1 - count) * covered / (2 * count)
    step = -covered / count if end else covered / count
    return [{"angle_deg": first + k * step, "standing_mm": standing_mm} for k in range(int(count))]


def nose_for(*, radius: Numeric, convex: Truth, nose_radii: Sequence[float]) -> Numeric:
    """Nose radius to choose among those at hand [mm].

    The largest, since it leaves the lowest cusp, but not above R outside and below R in a hollow; the
    smallest at hand where all are above an outside radius. Not a number where a hollow takes none.
    radius: R [mm]; convex: truth value; nose_radii: those at hand, ascending [mm].
    Source: common practice.

    >>> nose_for(radius=3.0, convex=False, nose_radii=(0.8, 1.6, 3.0))
    1.6
    """
    return where(convex, highest_not_above(nose_radii, radius), next_below(nose_radii, radius))


def swing(*, sweep: Numeric, end: Truth) -> Numeric:
    """Part of the arc that the tool covers [deg]: from the axis to the rim on an end, else all of it.

    sweep: sweep of the whole arc [deg]; end: true for a dome or a dish. Source: first principles.

    >>> swing(sweep=60.0, end=True)
    30.0
    """
    return where(end, sweep / 2, sweep)


def step_off(
    *,
    radius: Numeric,
    nose_radius: Numeric,
    chord: Numeric,
    depth: Numeric,
    diameter: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
    count: int,
) -> list[dict[str, Numeric]]:
    """Positions of a round-nose tool that together leave the arc, counted from where the nose touched.

    Q = R + rₙ convex, R − rₙ concave; a = D/2; each position [mm]:

    round corner  touched on the outside diameter and the face:
                  X in = Q(1 − sin φ), Z in = Q(1 − cos φ), φ from 0° at the face to 90°
    fillet        touched on the small diameter and the shoulder, both counted back out of the work:
                  X out = Q(1 − sin φ), Z away = Q(1 − cos φ), φ from 0° at the shoulder to 90°
    dome          touched on the outside diameter and the face:
                  X in = a + rₙ − Q sin θ, Z in = Q(1 − cos θ), θ from 0° at the axis to the rim
    dish          touched on the outside diameter and the face:
                  X in = a + rₙ − Q sin θ, Z in = s − Q(1 − cos θ), θ from 0° at the axis to the rim
    groove        touched on the outside diameter, Z 0 with the nose at the first rim:
                  X in = s − Q(1 − cos θ), Z = Q sin α + Q sin θ, θ from rim to rim, −α to α
    crown         touched on the outside diameter, Z 0 with the nose at the first rim:
                  X in = Q(1 − cos θ), Z = Q sin α + Q sin θ, θ from rim to rim, −α to α

    The nose touches a diameter with its inner side and a face or a shoulder with its front. At the rims
    of a crown the nose reaches rₙ(1 − cos θ) below the neck, so the neck must give that room.
    radius: R [mm]; nose_radius: rₙ, under R in a hollow [mm]; chord: w, not used for a corner [mm];
    depth: s [mm]; diameter: D [mm]; convex, corner, end: truth values; count: positions, at least 2.
    Empty where the nose does not fit.
    Source: first principles: the nose touches the arc from the side of the tool.

    >>> steps = step_off(radius=6.0, nose_radius=2.0, chord=NAN, depth=6.0, diameter=40.0, convex=True,
    ...                  corner=True, end=False, count=3)
    >>> [(round(step["x_in_mm"], 4), round(step["z_in_mm"], 4)) for step in steps]
    [(8.0, 0.0), (2.3431, 2.3431), (0.0, 8.0)]
    """
    path = nose_path(radius=radius, nose_radius=nose_radius, convex=convex)
    rim = 90.0 if corner else sweep_of_arc(radius=radius, chord=chord) / 2
    first = 0.0 if corner or end else -rim
    if not math.isfinite(path + rim):
        return []
    points = []
    for k in range(count):
        angle = radians(first + (rim - first) * k / (count - 1))
        across = path * sin(angle)
        drop = path * 2 * sin(angle / 2) ** 2
        inward = drop if convex else depth - drop
        if corner:
            x, z = path - across, drop
        elif end:
            x, z = diameter / 2 + nose_radius - across, inward
        else:
            x, z = inward, across - path * sin(radians(first))
        points.append({"x_in_mm": x, "z_in_mm": z})
    return points


def half_of_steps(*, radius: Numeric, nose_radius: Numeric, chord: Numeric, convex: Truth) -> Numeric:
    """Way along the bed from the first position of a step-off to the middle of a groove or crown [mm].

    h = (R + rₙ) w / (2 R)   a crown
    h = (R − rₙ) w / (2 R)   a groove

    radius: R [mm]; nose_radius: rₙ [mm]; chord: w [mm]; convex: truth value.
    Source: first principles: at a rim the centre of the nose stands on the line from the centre of the arc to the rim.

    >>> half_of_steps(radius=5.0, nose_radius=1.0, chord=8.0, convex=False)
    3.2
    """
    return divide(nose_path(radius=radius, nose_radius=nose_radius, convex=convex) * chord, 2 * radius)


def meets_its_sides_square(*, convex: Truth, corner: Truth, sweep: Numeric) -> Truth:
    """Whether a chamfer at 45° touches the arc: on a rounded corner, and on a dome or crown that is a full half circle.

    convex, corner: truth values; sweep [deg]; numbers or arrays.
    """
    return both(convex, either(corner, sweep >= 180 - 1e-6))


ONLY_WHERE = {"chamfer_leg_mm": meets_its_sides_square}  # numbers that are set on some shapes only


def setup(values: Values) -> dict[str, Any]:
    """Setup numbers of freehand turning; lengths [mm], angles [deg], speeds [rpm].

    values: named numbers and truth values; steps_off: steps along the arc. Facets by halving belong to a round corner,
    and to a dome or crown that is a full half circle; equal facets by the compound's angle to any other crown or dome.
    """
    radius, nose_radius, convex, end = (values[n] for n in ("radius", "nose_radius", "convex", "end"))
    square = meets_its_sides_square(convex=convex, corner=values["corner"], sweep=values["sweep"])
    steps = int(values["steps_off"]) if math.isfinite(values["steps_off"]) else 1
    return {
        **speeds_and_layout(values, "freehand"),
        "nose_radius_mm": plain(nose_radius),
        "chamfer_leg_mm": chamfer_leg(radius=radius) if square else None,
        "facets": _facets(values, square),
        "step_off": step_off(
            radius=radius,
            nose_radius=nose_radius,
            chord=values["chord"],
            depth=values["depth"],
            diameter=values["diameter"],
            convex=convex,
            corner=values["corner"],
            end=end,
            count=steps + 1,
        ),
        "cusp_mm": plain(
            cusp_of_steps(
                radius=radius,
                nose_radius=nose_radius,
                sweep=values["sweep"],
                convex=convex,
                end=end,
                steps=float(steps),
            )
        ),
    }


def _facets(values: Values, square: Truth) -> list[dict[str, Numeric]]:
    if square:
        return facets(radius=values["radius"], levels=FACET_LEVELS)
    if not values["convex"] or not values["has_compound"] or not math.isfinite(values["facets_over"]):
        return []
    arc = {"radius": values["radius"], "sweep": values["sweep"], "end": values["end"]}
    return facets_over(**arc, count=values["facets_over"])
