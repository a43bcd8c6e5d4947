"""Proof: how the finished radius will be shown to be right, and how small an error each way can see.

"Sees" is always the error of profile that would go unnoticed: how far the surface lies from the true arc, square to
it [mm]. Not a number where a way is not there or cannot be used on this arc. Every function takes numbers or arrays.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.geometry import depth_of_arc, depth_per_radius
from advisor.formulas.numeric import (
    NAN,
    absolute,
    both,
    divide,
    either,
    floor,
    maximum,
    minimum,
    nearest,
    negate,
    otherwise,
    sqrt,
    where,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.formulas.numeric import Numeric, Truth, Values


def leaf_within(*, gauge_leaves: Sequence[float], radius: Numeric, tolerance: Numeric) -> Numeric:
    """Radius-gauge leaf nearest to the radius; not a number where none lies within the tolerance [mm].

    gauge_leaves: sizes at hand, ascending [mm]; radius: R [mm]; tolerance: half width on R, T [mm].
    Source: common practice.

    >>> leaf_within(gauge_leaves=(5.0, 5.5, 6.0), radius=6.05, tolerance=0.1)
    6.0
    """
    leaf = nearest(gauge_leaves, radius)
    # A leaf right on the limit counts, whatever rounding did to it on its way from inches.
    return where(absolute(leaf - radius) <= tolerance * (1 + 1e-9), leaf, NAN)


def leaf_seen(*, radius: Numeric, leaf: Numeric, light_gap: Numeric, profile_per_radius: Numeric) -> Numeric:
    """Error of profile that a radius-gauge leaf against the light does not show [mm].

    u = |L − R| q + g

    Work that shows no light agrees with the leaf, not with the drawing: a leaf of another size adds its difference.
    radius: R [mm]; leaf: L [mm], not a number where none lies within the tolerance; light_gap: smallest gap that shows
    light, g [mm]; profile_per_radius: q [1]. Source: first principles.

    >>> leaf_seen(radius=6.0, leaf=6.0, light_gap=0.012, profile_per_radius=0.41421356)
    0.012
    """
    return absolute(leaf - radius) * profile_per_radius + light_gap


def template_seen(*, radius: Numeric, template_gap: Numeric, smallest_gauged: Numeric) -> Numeric:
    """Error of profile that a bored or turned template does not show [mm]; none is made of the smallest radii.

    u = g

    radius: R [mm]; template_gap: smallest gap that it shows, its own error included, g [mm], not a number where none
    can be made; smallest_gauged: least radius of a template [mm]. Source: common practice.

    >>> template_seen(radius=30.0, template_gap=0.04, smallest_gauged=1.5)
    0.04
    """
    return where(radius >= smallest_gauged, template_gap, NAN)


def scribed_seen(
    *,
    radius: Numeric,
    scribed_sees: Numeric,
    smallest_gauged: Numeric,
    largest_scribed: Numeric,
    has_template_stock: Truth,
) -> Numeric:
    """Error of profile that a template of thin sheet, scribed and filed to the line, does not show [mm].

    u = g

    radius: R [mm]; scribed_sees: g [mm]; smallest_gauged, largest_scribed: radii between which one is made [mm];
    has_template_stock: whether there is sheet to make it of. Source: common practice.

    >>> sheet = {"scribed_sees": 0.1, "smallest_gauged": 1.5, "largest_scribed": 250.0}
    >>> scribed_seen(radius=30.0, **sheet, has_template_stock=True)
    0.1
    """
    size = both(radius >= smallest_gauged, radius <= largest_scribed)
    return where(both(size, has_template_stock), scribed_sees, NAN)


def loupe_seen(*, radius: Numeric, corner: Truth, loupe_sees: Numeric, smallest_gauged: Numeric) -> Numeric:
    """Error of profile that a loupe with a scale does not show on a corner too small for gauges [mm].

    u = g

    radius: R [mm]; corner: truth value; loupe_sees: g [mm]; smallest_gauged: radius from which gauges take its place
    [mm]. Source: common practice.

    >>> loupe_seen(radius=0.5, corner=True, loupe_sees=0.02, smallest_gauged=1.5)
    0.02
    """
    return where(both(corner, radius < smallest_gauged), loupe_sees, NAN)


def depth_from_bore(*, radius: Numeric, chord: Numeric, bore: Numeric) -> Numeric:
    """Depth of an end from the edge of a hole in its middle to the rim [mm].

    m = √(R² − b²/4) − √(R² − w²/4)

    radius: R [mm]; chord: w [mm]; bore: under w, b [mm]. Source: first principles.

    >>> round(depth_from_bore(radius=5.0, chord=8.0, bore=6.0), 9)
    1.0
    """
    return depth_of_arc(radius=radius, chord=chord) - depth_of_arc(radius=radius, chord=bore)


def depth_reading_error(
    *,
    convex: Truth,
    end: Truth,
    has_depth_micrometer: Truth,
    depth_micrometer_graduation: Numeric,
    has_micrometer: Truth,
    micrometer_error: Numeric,
    height_error: Numeric,
) -> Numeric:
    """Error of a depth as it is measured on this shape [mm]; not a number where nothing in the shop measures it.

    d = g   dish and groove
    d = h   dome
    d = m / √2   crown

    A depth micrometer stands across a dish or a groove; on a dome it has nothing to stand on, so a height gauge or an
    indicator goes from the crest to the rim; a crown is half the difference of two diameters.
    convex, end: the shape; has_depth_micrometer, has_micrometer: truth values; depth_micrometer_graduation: g
    [mm]; micrometer_error: of one diameter, m [mm]; height_error: of height gauge or indicator, h [mm]. Source: common
    practice.

    >>> depth_reading_error(convex=True, end=True, has_depth_micrometer=True, depth_micrometer_graduation=0.01,
    ...                     has_micrometer=True, micrometer_error=0.01, height_error=0.02)
    0.02
    """
    by_depth = where(has_depth_micrometer, depth_micrometer_graduation, NAN)
    by_diameters = where(has_micrometer, micrometer_error / math.sqrt(2), NAN)
    return where(convex, where(end, height_error, by_diameters), by_depth)


def depth_seen(
    *, radius: Numeric, chord: Numeric, sweep: Numeric, corner: Truth, end: Truth, bore: Numeric, depth_per_radius: Numeric, profile_per_radius: Numeric, reading_error: Numeric, width_error: Numeric,
    depth_sweep: Numeric,
) -> Numeric:  # fmt: skip
    """Error of profile that a depth and the width it is measured over do not show [mm].

    k = √(R² − w²/4)
    p = q − R / √(R² − b²/4) + 1   change of the depth from the edge of a bore for a change of radius
    u = √(d² + (w c / (4 k))²) t / p

    Not a number on a corner, and past a stated sweep: the rim of so deep an arc is nearly a tangent, and its depth says
    next to nothing of R. radius: R [mm]; chord: w [mm]; sweep [deg]; corner, end: the shape; bore: hole in the middle of
    an end, b [mm]; depth_per_radius: q [1]; profile_per_radius: t [1]; reading_error: of the depth, d [mm], not a number
    where nothing measures it; width_error: of the width, c [mm]; depth_sweep: the largest [deg].
    Source: first principles (error of s = R − √(R² − w²/4)).

    >>> round(depth_seen(radius=12.7, chord=20.0, sweep=103.9, corner=False, end=True, bore=0.0, depth_per_radius=0.622,
    ...                  profile_per_radius=0.622, reading_error=0.01, width_error=0.02, depth_sweep=120.0), 4)
    0.0162
    """
    lost = where(end, _lost(radius, bore), 0.0)
    across = divide(chord, 4 * sqrt((radius - chord / 2) * (radius + chord / 2))) * width_error
    seen = sqrt(reading_error * reading_error + across * across) * divide(profile_per_radius, depth_per_radius - lost)
    return where(either(corner, sweep > depth_sweep), NAN, seen)


def _lost(radius: Numeric, bore: Numeric) -> Numeric:
    return depth_per_radius(radius=radius, chord=bore, corner=False)


def ring_bore(*, radius: Numeric, chord: Numeric) -> Numeric:
    """Bore of a ring to lay on a dome, so that a depth micrometer through it finds the radius [mm].

    b = min(0.9 w, 1.6 R)

    radius: R [mm]; chord: w [mm]. Wide enough to tell, narrow enough to sit on the arc. Source: common practice.

    >>> ring_bore(radius=20.0, chord=40.0)
    32.0
    """
    return minimum(0.9 * chord, 1.6 * radius)


def ring_seen(
    *,
    radius: Numeric,
    ring_bore: Numeric,
    convex: Truth,
    end: Truth,
    bored: Truth,
    depth_error: Numeric,
    width_error: Numeric,
    profile_per_radius: Numeric,
    least_ring: Numeric,
) -> Numeric:
    """Error of profile that a ring on a dome with a depth micrometer through it does not show [mm].

    k = √(R² − b²/4)
    u = √(d² + (b c / (4 k))²) q / (R / k − 1)

    radius: R [mm]; ring_bore: b [mm]; convex, end, bored: the shape; depth_error: of the depth micrometer, d [mm], not a
    number where there is none; width_error: of the ring's bore, c [mm]; profile_per_radius: q [1]; least_ring: smallest
    bore that a depth micrometer reaches through [mm]. Source: first principles (as a spherometer).

    >>> round(ring_seen(radius=20.0, ring_bore=32.0, convex=True, end=True, bored=False, depth_error=0.01,
    ...                 width_error=0.02, profile_per_radius=1.0, least_ring=8.0), 4)
    0.025
    """
    from_centre = sqrt((radius - ring_bore / 2) * (radius + ring_bore / 2))
    across = ring_bore / (4 * from_centre) * width_error
    slope = divide(radius, from_centre) - 1
    seen = divide(sqrt(depth_error * depth_error + across * across) * profile_per_radius, slope)
    on_dome = both(both(convex, end), negate(bored))
    return where(both(on_dome, ring_bore >= least_ring), seen, NAN)


def straightedge_seen(
    *,
    chord: Numeric,
    depth: Numeric,
    corner: Truth,
    bored: Truth,
    end: Truth,
    straightedge_sees: Numeric,
    thickest_feelers: Numeric,
    least_straightedge: Numeric,
) -> Numeric:
    """Error of profile that a straightedge and feelers do not show on a flat arc [mm].

    u = g

    Laid on the crest or across the mouth, the feelers measure the depth. Not a number on a corner, over a hole, on a
    chord too short to lay an edge on, and where the depth is more than the feelers.
    chord, depth [mm]; corner, bored, end: truth values; straightedge_sees: g [mm]; thickest_feelers: together [mm];
    least_straightedge: shortest chord [mm]. Source: common practice.

    >>> straightedge_seen(chord=40.0, depth=0.6, corner=False, bored=False, end=False, straightedge_sees=0.02,
    ...                   thickest_feelers=1.0, least_straightedge=12.0)
    0.02
    """
    flat = both(depth <= thickest_feelers, chord >= least_straightedge)
    hole = both(bored, end)
    return where(both(flat, negate(either(corner, hole))), straightedge_sees, NAN)


def comparator_seen(*, has_comparator: Truth, comparator_sees: Numeric, convex: Truth, end: Truth) -> Numeric:
    """Error of profile that an optical comparator does not show [mm]; a dish casts no shadow.

    u = g

    has_comparator, convex, end: truth values; comparator_sees: g [mm]. Source: common practice.

    >>> comparator_seen(has_comparator=True, comparator_sees=0.02, convex=True, end=True)
    0.02
    """
    there = both(has_comparator, negate(both(end, negate(convex))))
    return where(there, comparator_sees, NAN)


def ball_reading(*, radius: Numeric, diameter: Numeric, ball: Numeric) -> Numeric:
    """Micrometer reading across a ball laid in a fillet and the far side of the small diameter [mm].

    M = D + d + (1 − √½) max(R − d/2, 0)

    A ball of radius d/2 ≥ R touches the diameter and the shoulder; a smaller one that is held in the middle of the
    fillet rests on the arc and stands off the diameter.
    radius: R [mm]; diameter: small diameter, D [mm]; ball: d [mm]. Source: first principles.

    >>> ball_reading(radius=6.0, diameter=30.0, ball=12.0)
    42.0
    """
    return diameter + ball + (1 - math.sqrt(0.5)) * maximum(radius - ball / 2, 0.0)


def ball_seen(
    *,
    radius: Numeric,
    convex: Truth,
    corner: Truth,
    has_pins: Truth,
    has_micrometer: Truth,
    micrometer_error: Numeric,
    light_gap: Numeric,
    smallest_gauged: Numeric,
) -> Numeric:
    """Error of profile that a ball of 2R in a fillet and a micrometer do not show [mm].

    u = max(2 √2 d, g)

    A radius that is too large lifts the ball by 1 − √½ of the excess, which is 1/√2 of the profile; one that is too
    small leaves the reading as it is and shows light behind the ball. The reading is a difference of two, ball and
    diameter. radius: R [mm]; convex, corner, has_pins, has_micrometer: truth values; micrometer_error: of one reading, d
    [mm]; light_gap: g [mm]; smallest_gauged: least radius of a ball that is handled [mm].
    Source: first principles.

    >>> round(ball_seen(radius=5.0, convex=False, corner=True, has_pins=True, has_micrometer=True,
    ...                 micrometer_error=0.01, light_gap=0.012, smallest_gauged=1.5), 4)
    0.0283
    """
    fillet = both(both(corner, negate(convex)), radius >= smallest_gauged)
    seen = maximum(2 * math.sqrt(2) * micrometer_error, light_gap)
    return where(both(fillet, both(has_pins, has_micrometer)), seen, NAN)


def pair_of_pins(
    *,
    radius: Numeric,
    chord: Numeric,
    inch_pins: Truth,
    metric_pin_step: Numeric,
    inch_pin_step: Numeric,
    pin_contact_share: Numeric,
    smallest_gauged: Numeric,
    largest_pin: Numeric,
) -> Numeric:
    """Largest pins in the shop of which two lie side by side well within a groove's arc [mm].

    d = 2R q/(1 + q), q = c w/2R, to a step under

    radius: R [mm]; chord: w [mm]; pin_contact_share: how far from the middle they may touch, of half the width, c [1] (see
    pair_contact); inch_pins: whether the pins come by inch_pin_step, else by metric_pin_step [mm]. Not a number where they
    would be under 2 smallest_gauged, too small to handle, or over largest_pin, too large to span by a micrometer [mm].
    Source: first principles; common practice for the two ends.

    >>> pair_of_pins(radius=6.0, chord=8.0, inch_pins=False, metric_pin_step=0.1, inch_pin_step=25.4 / 64,
    ...              pin_contact_share=0.85, smallest_gauged=1.5, largest_pin=8.0)
    4.3
    """
    part = pin_contact_share * minimum(chord / (2 * radius), 1.0)
    a_millimetre = 1 / where(inch_pins, inch_pin_step, metric_pin_step)
    # 1e-9 keeps a size that is a whole number of steps.
    pin = floor(2 * radius * part / (1 + part) * a_millimetre + 1e-9) / a_millimetre
    return where(both(pin >= 2 * smallest_gauged, pin <= largest_pin), pin, NAN)


def pair_contact(*, radius: Numeric, pin: Numeric) -> Numeric:
    """How far from the middle of a groove each of two pins side by side touches it [mm].

    x = R d/(2R − d)

    radius: R [mm]; pin: diameter of each, d [mm]. Source: first principles: a pin's centre lies d/2 from the middle, on the
    circle R − d/2, and its contact on the same ray at R.

    >>> round(pair_contact(radius=6.0, pin=4.8), 9)
    4.0
    """
    return radius * pin / (2 * radius - pin)


def pair_reading(*, radius: Numeric, pin: Numeric) -> Numeric:
    """How much higher two pins side by side stand in a groove than one alone in its bottom [mm].

    m = R − d/2 − √(R² − R d)

    radius: R [mm]; pin: diameter of each, at most R, d [mm]. Source: first principles: both centres lie on the circle
    R − d/2, d apart.

    >>> pair_reading(radius=10.0, pin=7.5)
    1.25
    """
    return radius - pin / 2 - sqrt(radius * (radius - pin))


def pins_seen(
    *,
    radius: Numeric,
    pin: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
    has_pins: Truth,
    has_micrometer: Truth,
    micrometer_error: Numeric,
    profile_per_radius: Numeric,
) -> Numeric:
    """Error of profile that two pins in a groove and a micrometer do not show [mm].

    u = 2 d q / ((R − p/2) / √(R² − R p) − 1)

    The reading over two pins less the reading over one, so twice the error of a reading.
    radius: R [mm]; pin: diameter of each, p [mm]; convex, corner, end: the shape; has_pins, has_micrometer: truth values;
    micrometer_error: of one reading, d [mm]; profile_per_radius: q [1].
    Source: first principles (derivative of pair_reading).

    >>> round(pins_seen(radius=10.0, pin=7.5, convex=False, corner=False, end=False, has_pins=True, has_micrometer=True,
    ...                 micrometer_error=0.01, profile_per_radius=1.0), 6)
    0.08
    """
    rise = divide(radius - pin / 2, sqrt(radius * (radius - pin))) - 1
    groove = negate(either(convex, either(corner, end)))
    there = both(groove, both(has_pins, has_micrometer))
    return where(there, divide(2 * micrometer_error * profile_per_radius, minimum(rise, 1.0)), NAN)


def finest(
    *, leaf_seen: Numeric, template_seen: Numeric, scribed_seen: Numeric, loupe_seen: Numeric, depth_seen: Numeric, ring_seen: Numeric, straightedge_seen: Numeric, ball_seen: Numeric,
    pins_seen: Numeric, comparator_seen: Numeric,
) -> Numeric:  # fmt: skip
    """Smallest error of profile that anything in the shop shows [mm]; not a number where nothing is there.

    leaf_seen to comparator_seen: what each way does not show [mm], not a number where it is not there.
    Source: first principles.

    >>> finest(leaf_seen=0.03, template_seen=NAN, scribed_seen=0.1, loupe_seen=NAN, depth_seen=0.02, ring_seen=NAN,
    ...        straightedge_seen=NAN, ball_seen=NAN, pins_seen=NAN, comparator_seen=NAN)
    0.02
    """
    ways = (
        leaf_seen, template_seen, scribed_seen, loupe_seen, depth_seen, ring_seen, straightedge_seen, ball_seen,
        pins_seen, comparator_seen,
    )  # fmt: skip
    best = math.inf
    for seen in ways:
        best = minimum(best, otherwise(seen, math.inf))
    return where(best < math.inf, best, NAN)


# Each way: the name of what it does not show, the name of the size of its gauge, and whether it gives a reading.
WAYS = {
    "leaf": ("leaf_seen", "leaf"),
    "template": ("template_seen", "template_diameter"),
    "scribed template": ("scribed_seen", "radius"),
    "loupe": ("loupe_seen", "radius"),
    "depth": ("depth_seen", "chord"),
    "ring": ("ring_seen", "ring_bore"),
    "straightedge": ("straightedge_seen", "chord"),
    "ball": ("ball_seen", "template_diameter"),
    "pins": ("pins_seen", "pin"),
    "comparator": ("comparator_seen", "radius"),
}
READINGS = {
    "depth": "depth_reading",
    "ring": "ring_reading",
    "straightedge": "depth",
    "ball": "ball_reads",
    "pins": "pins_read",
}


def checks(values: Values) -> list[dict[str, Numeric | str | None]]:
    """Ways to prove the radius with what the shop has, finest first, then those that cannot be used here.

    values: every name of the rule base. Each entry: way (a key of WAYS), size of the gauge or width that it spans [mm],
    reading when the work is right [mm] or None, the error of profile that goes unseen [mm] or None, what that makes of it
    ("proves", "compares" or "cannot be used here"), and proves as a truth value.
    """
    allowed, share = values["profile_tolerance"], values["proof_share"]
    found = []
    for way, (seen_by, size) in WAYS.items():
        seen = values[seen_by]
        there = math.isfinite(seen)
        if not there and not _in_the_shop(way, values):
            continue
        use = verdict(sees=seen, allowed=allowed, share=share)
        reading = values[READINGS[way]] if way in READINGS and there else None
        found.append(
            {
                "way": way,
                "size_mm": values[size] if there else None,
                "reading_mm": reading,
                "sees_mm": seen if there else None,
                "use": use,
                "proves": use == "proves",
            }
        )
    return sorted(found, key=lambda check: math.inf if check["sees_mm"] is None else check["sees_mm"])


def verdict(*, sees: Numeric, allowed: Numeric, share: Numeric) -> str:
    """What a check is worth: "proves" where it sees a stated share of what the profile may be off, "compares" where it
    sees no more than all of it, else "cannot be used here".

    sees, allowed [mm]; share: 0.5 asks that half the error shows, so that a piece which just looks right has as much
    again to spare.

    >>> verdict(sees=0.02, allowed=0.04, share=0.5), verdict(sees=0.03, allowed=0.04, share=0.5)
    ('proves', 'compares')
    """
    # A check that sees just its share counts, whatever rounding did to either.
    if sees <= share * allowed * (1 + 1e-9):
        return "proves"
    return "compares" if sees <= allowed * (1 + 1e-9) else "cannot be used here"


def _in_the_shop(way: str, values: Values) -> Truth:
    """Whether the shop has what a way needs, though it cannot be used on this arc."""
    chord_shape = not values["corner"]
    return {
        "leaf": bool(values["gauge_leaves"]),
        "depth": chord_shape and math.isfinite(values["depth_error_here"]),
        "comparator": values["has_comparator"],
    }.get(way, False)
