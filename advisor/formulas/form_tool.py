"""Form tool: an edge of the opposite form, fed straight in.

On a corner, a groove or a crown the tool is fed square to the axis, its edge lying along the work. On
an end it is fed along the axis, its edge lying across the face at centre height; only the half from
the axis to the rim is ground, and a little past the middle. Depths on the tool are counted back from
the foremost point of its arc; the horn of a rounded corner or a dome reaches beyond it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.common import plain, speeds_and_layout
from advisor.formulas.geometry import sweep_of_arc
from advisor.formulas.numeric import (
    NAN,
    SAME_LENGTH,
    absolute,
    asin,
    both,
    cos,
    degrees,
    divide,
    either,
    maximum,
    minimum,
    negate,
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


PROFILE_POINTS = 13


def edge_width(
    *,
    radius: Numeric,
    chord: Numeric,
    sweep: Numeric,
    land: Numeric,
    past: Numeric,
    flare: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
) -> Numeric:
    """Width of the edge with what it runs out on [mm]: on a fillet none beside the shoulder, on an end half the form.

    θ = max(φ/2, β)
    b = R + l   fillet
    b = R + 2l   rounded corner
    b = w + 2l   crown
    b = w + 2l cos θ   groove
    b = w/2 + l + min(p, w/2)   dome
    b = w/2 + l cos θ + min(p, w/2)   dish

    radius: R [mm]; chord: not used for a corner, w [mm]; sweep: of the arc, φ [deg]; land: run-out past a tangent
    point, l [mm]; past: edge kept past the middle of an end, p [mm]; flare: least angle of a run-out with the work, β
    [deg]; convex, corner, end: truth values. Source: first principles.

    >>> run_out = {"land": 0.5, "past": 0.5, "flare": 4.0}
    >>> edge_width(radius=6.0, chord=NAN, sweep=90.0, convex=False, corner=True, end=False, **run_out)
    6.5
    """
    beyond = land * where(convex, 1.0, cos(radians(maximum(sweep / 2, flare))))
    on_corner = radius + where(convex, 2 * land, land)
    on_end = chord / 2 + beyond + minimum(past, chord / 2)
    return where(corner, on_corner, where(end, on_end, chord + 2 * beyond))


def run_outs(
    *,
    radius: Numeric,
    chord: Numeric,
    depth: Numeric,
    land: Numeric,
    flare: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
) -> tuple[list[tuple[Numeric, Numeric]], list[tuple[Numeric, Numeric]]]:
    """What the edge runs out on before the first and after the last point of its arc: two lists of (z, t) [mm].

    z along the edge and t back from the foremost point of the arc, as in the edge table. No point lies in the finished
    work, whatever stands beside the arc: on a fillet the shoulder side falls away from the tangent point, and the land
    lies on the small diameter; on a rounded corner and a dome, where only air is in front, a horn reaches deeper than
    the arc; on a crown both run-outs fall away from the diameter beside it; in a groove and a dish they go on straight,
    out of the work. On an end the arc goes past the middle instead, so nothing is before it.
    radius: R; chord: not used for a corner; depth; land: run-out past a tangent point [mm]; flare: least angle with the
    work [deg]; convex, corner, end: truth values. Source: first principles.
    """
    lean = math.tan(math.radians(flare))
    if corner and convex:
        return [(-land, -land), (-land * lean, -land)], [(radius + land, radius + land * lean)]
    if corner:
        return [(land * lean, radius + land)], [(radius + land, 0.0)]
    rim = math.degrees(math.asin(min(1.0, chord / 2 / radius)))
    half = chord / 2
    if end and convex:
        steep = math.tan(math.radians(min(rim, 90.0 - flare)))
        across = min(land, land / steep)
        horn = [(half + across, -across * steep)]
        return [], horn if across == land else [*horn, (half + land, -across * steep)]
    if convex:
        along, back = land, land * lean
        beyond = (half + along, back)
    else:
        rise = math.radians(max(rim, flare))
        beyond = (half + land * math.cos(rise), depth + land * math.sin(rise))
    return [] if end else [(-beyond[0], beyond[1])], [beyond]


def ready_infeed(
    *, ready_tool: Truth, ready_radius: Numeric, depth: Numeric, chord: Numeric, corner: Truth, fillet_turned: Truth
) -> Numeric:
    """How far the edge is fed in from the finished surface: to the depth that its own radius turns [mm].

    Not a number where a fillet is turned along to its shoulder, for then nothing is fed in.

    t = r   corner, with a tool at hand
    t = r − √(r² − w²/4)   elsewhere, with a tool at hand
    t = s   a tool is ground

    ready_tool: truth value; ready_radius: of the tool at hand, r [mm]; depth: of the arc, s [mm]; chord: not used for a
    corner, w [mm]; corner, fillet_turned: truth values. Where the tool at hand is narrower than the arc, s. Source: first
    principles.

    >>> ready_infeed(ready_tool=True, ready_radius=3.0, depth=3.09, chord=NAN, corner=True, fillet_turned=False)
    3.0
    """
    half = chord / 2
    square = ready_radius * ready_radius - half * half
    arc = half * half / (ready_radius + sqrt(maximum(square, 0.0)))
    own = where(corner, ready_radius, where(square >= 0, arc, depth))
    return where(fillet_turned, NAN, where(ready_tool, own, depth))


def feed_from_touch(
    *,
    infeed: Numeric,
    chord: Numeric,
    radius: Numeric,
    land: Numeric,
    flare: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
) -> Numeric:
    """How far the edge is fed from where its foremost point touched the surface that it is fed into [mm].

    θ = min(asin(w/2/R), 90 − β)
    h = t + l   rounded corner, with the horn on the diameter
    h = t + min(l tan θ, l)   dome, with the horn on the face
    h = t   elsewhere

    infeed: t [mm]; chord: not used for a corner, w [mm]; radius: R [mm]; land: of the horn, l [mm]; flare: least angle
    of a run-out with the work, β [deg]; convex, corner, end: truth values. Source: first principles.

    >>> feed_from_touch(infeed=6.0, chord=NAN, radius=6.0, land=0.5, flare=4.0, convex=True, corner=True, end=False)
    6.5
    """
    rim = degrees(asin(minimum(divide(chord, 2 * radius), 1.0)))
    horn = minimum(land * tan(radians(minimum(rim, 90.0 - flare))), land)
    return infeed + where(convex, where(corner, land, where(end, horn, 0.0)), 0.0)


def smallest_radius(*, depth: Numeric, half_diameter: Numeric, convex: Truth, corner: Truth, end: Truth) -> Numeric:
    """Smallest work radius that the edge cuts, on which it is set to centre height, r₁ [mm].

    a on a fillet, whose D is the small diameter; 0 on an end; a − s elsewhere
    depth: s, R for a corner [mm]; half_diameter: a [mm]; convex, corner, end: truth values.
    Source: first principles.

    >>> smallest_radius(depth=6.0, half_diameter=18.0, convex=True, corner=False, end=False)
    12.0
    """
    fillet = both(corner, negate(convex))
    return where(end, 0.0, where(fillet, half_diameter, half_diameter - depth))


def face_depth(*, r1: Numeric, r2: Numeric, rake: Numeric) -> Numeric:
    """Distance along the tool face from the edge at r₁ to the point that cuts r₂ [mm].

    c = √(r₂² − r₁² sin²γ) − r₁ cos γ

    r1: smallest work radius, with the edge there at centre height, r₁ [mm]; r2: other work radius, at least r₁, r₂
    [mm]; rake: top rake, positive sloping down behind the edge, γ [deg].
    Source: first principles: the face passes r₁ at centre height and meets the circle of r₂.

    >>> round(face_depth(r1=10.0, r2=15.0, rake=10.0), 6)
    5.051071
    """
    slope = radians(rake)
    return sqrt(r2 * r2 - (r1 * sin(slope)) ** 2) - r1 * cos(slope)


def flank_depth(*, face: Numeric, relief: Numeric, rake: Numeric) -> Numeric:
    """Depth to grind, square to the front flank, for a distance along the tool face [mm].

    T = c cos(α + γ)

    face: distance along the tool face, c [mm]; relief: α [deg]; rake: γ [deg].
    Source: first principles; with no rake the known T = t cos α of flat form tools.

    >>> round(flank_depth(face=5.051071, relief=10.0, rake=10.0), 6)
    4.746454
    """
    return face * cos(radians(relief + rake))


def work_depth(*, radius: Numeric, depth: Numeric, convex: Truth, corner: Truth, z: Numeric) -> Numeric:
    """Depth of the work's form at a place along the edge, from the tool's foremost point [mm].

    t = √(z (2R − z))   rounded corner, z from the end face
    t = R − √(z (2R − z))   fillet, z from the shoulder
    t = R − √(R² − z²)   groove and dish, z from the middle of the arc
    t = s − R + √(R² − z²)   crown and dome, z from the middle of the arc

    radius: R [mm]; depth: s [mm]; convex, corner: truth values; z: along the edge, z [mm].
    Source: first principles.

    >>> round(work_depth(radius=6.0, depth=6.0, convex=False, corner=False, z=3.0), 6)
    0.803848
    """
    rise = sqrt(z * (2 * radius - z))
    drop = z * z / (radius + sqrt(radius * radius - z * z))
    on_corner = where(convex, rise, radius - rise)
    return where(corner, on_corner, where(convex, depth - drop, drop))


def profile(
    *,
    radius: Numeric,
    chord: Numeric,
    depth: Numeric,
    diameter: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
    relief: Numeric,
    rake: Numeric,
    count: int,
) -> list[dict[str, Numeric]]:
    """Table to grind the edge by, at equal steps round the arc, both ends included [mm].

    z: place along the edge: from the end face on a round corner, from the shoulder on a fillet, from
    the middle (the axis, on an end) elsewhere, where the table is symmetric;
    work depth: depth of the form in the work there; face depth: the same along the tool face; flank
    depth: square to the front flank. All three are 0 at the foremost point of the edge.

    On an end the tool is fed along the axis with the point that cuts the middle at centre height. There
    c = t/cos γ, T = t cos(α + γ)/cos γ, and a point that lies h = q tan γ off centre height (q: distance
    along the axis from the middle) cuts the work radius r at z = √(r² − h²).

    radius: R [mm]; chord: w, not used for a corner [mm]; depth: s [mm]; diameter: D [mm]; convex,
    corner, end: truth values; relief: α [deg]; rake: γ [deg]; count: points, at least 2 (an odd number
    has the middle). Source: first principles.

    >>> table = profile(radius=6.0, chord=12.0, depth=6.0, diameter=36.0, convex=True, corner=False,
    ...                 end=False, relief=10.0, rake=0.0, count=3)
    >>> round(table[1]["work_depth_mm"], 6), round(table[1]["flank_depth_mm"], 6)
    (6.0, 5.908847)
    """
    r1 = smallest_radius(depth=depth, half_diameter=diameter / 2, convex=convex, corner=corner, end=end)
    rim = radians(sweep_of_arc(radius=radius, chord=chord) / 2)
    table = []
    for k in range(count):
        share = k / (count - 1)
        if corner:
            z = radius * 2 * sin(radians(45.0 * share)) ** 2
        else:
            z = radius * sin(rim * (2 * share - 1))
        in_work = work_depth(radius=radius, depth=depth, convex=convex, corner=corner, z=z)
        in_work = maximum(in_work, 0.0)
        if end:
            from_middle = depth - in_work if convex else in_work
            on_face = in_work / cos(radians(rake))
            off_centre = from_middle * tan(radians(rake))
            z = math.copysign(sqrt(z * z - off_centre * off_centre), z)
        else:
            on_face = face_depth(r1=r1, r2=r1 + in_work, rake=rake)
        table.append(
            {
                "z_mm": z,
                "work_depth_mm": in_work,
                "face_depth_mm": on_face,
                "flank_depth_mm": flank_depth(face=on_face, relief=relief, rake=rake),
            }
        )
    return table


def plain_arc_error(
    *, depth: Numeric, diameter: Numeric, convex: Truth, corner: Truth, end: Truth, relief: Numeric, rake: Numeric
) -> Numeric:
    """Largest error of depth in the work when the plain arc is ground square to the flank instead [mm].

    r = √((t/cos(α + γ) + r₁ cos γ)² + r₁² sin²γ), error |r − r₁ − t|, greatest over t = 0 … s
    on an end, where the tool is fed along the axis: |s (cos γ/cos(α + γ) − 1)|

    It is measured the way that the tool is fed, so square to the surface it is at most this. With
    relief and no negative rake the greatest is at full depth; with negative rake the edge first cuts
    too deep, most where r cos(α + γ) = t/cos(α + γ) + r₁ cos γ, and both are compared.
    depth: s, R for a corner [mm]; diameter: D [mm]; convex, corner, end: truth values;
    relief: α [deg]; rake: γ [deg]. Source: first principles.

    >>> round(plain_arc_error(depth=6.0, diameter=36.0, convex=True, corner=False, end=False,
    ...                       relief=10.0, rake=10.0), 4)
    0.3216
    """
    r1 = smallest_radius(depth=depth, half_diameter=diameter / 2, convex=convex, corner=corner, end=end)
    along, below = r1 * cos(radians(rake)), absolute(r1 * sin(radians(rake)))
    lean = cos(radians(relief + rake))

    def error(t: Numeric) -> Numeric:
        reach = t / lean + along
        return absolute(sqrt(reach * reach + below * below) - r1 - t)

    turning = (divide(below, tan(radians(absolute(relief + rake)))) - along) * lean
    inside = where(turning > 0, minimum(turning, depth), 0.0)
    on_end = absolute(depth * (cos(radians(rake)) / lean - 1))
    return where(end, on_end, maximum(error(depth), error(inside)))


def edge_table(values: Values, *, count: int) -> list[dict[str, Numeric]]:
    """The profile of a form tool from named values, at so many points."""
    shape = ("radius", "chord", "depth", "diameter", "convex", "corner", "end")
    given = {name: values[name] for name in shape}
    return profile(**given, relief=values["form_relief"], rake=values["edge_rake"], count=count)


def setup(values: Values) -> dict[str, Any]:
    """Setup numbers of the form tool; lengths [mm], angles [deg], force [N], power [kW], speeds [rpm].

    values: named numbers and truth values. The infeed is a distance, not what a diameter dial reads. The edge radius is
    that of the tool at hand where one serves, and so is the infeed. On an end the table holds the half that is ground.
    """
    at_hand = values.get("ready_tool", False)
    table = edge_table(values, count=PROFILE_POINTS)
    if values["end"]:
        table = [row for row in table if row["z_mm"] >= 0]
    return {
        **speeds_and_layout(values, "form_tool"),
        "edge_radius_mm": plain(values["ready_radius"] if at_hand else values["radius"]),
        "edge_form": "concave" if values["convex"] else "convex",
        "edge_width_mm": plain(values["edge_width"]),
        "contact_length_mm": plain(values["arc_length"]),
        "infeed_mm": plain(values.get("form_tool_infeed", values["depth"])),
        "relief_deg": plain(values["form_relief"]),
        "rake_deg": plain(values["edge_rake"]),
        "profile": [{key: plain(value) for key, value in row.items()} for row in table],
    }


def ready_tool_serves(
    *,
    radius_low: Numeric,
    radius_high: Numeric,
    convex: Truth,
    width: Numeric,
    tools: Sequence[tuple[Numeric, Truth, Numeric, Numeric]],
    unchecked: Numeric = 0.0,
) -> Truth:
    """True where a form tool on the shelf turns the radius within its limits.

    radius_low, radius_high: limits of the radius [mm]; convex: form of the arc on the work; width: of the edge that
    the work needs [mm]; each a number or truth value, or an array of them. tools: tuple of
    (radius, convex, width, edge_good_for); unchecked: how true an edge is taken to be that nobody has checked [mm].
    The whole spread of the edge must lie within the limits.

    >>> ready_tool_serves(radius_low=3.8, radius_high=4.2, convex=True, width=4.0, tools=((4.0, True, 8.0, 0.1),))
    True
    """
    serves = (radius_low != radius_low) & False
    for radius, tool_convex, tool_width, good_for in tools:
        off = good_for if good_for == good_for else unchecked
        inside = both(radius - off >= radius_low - SAME_LENGTH, radius + off <= radius_high + SAME_LENGTH)
        fits = both(convex == tool_convex, width <= tool_width)
        serves = either(serves, both(inside, fits))
    return serves
