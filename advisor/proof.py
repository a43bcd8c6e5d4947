"""Proof: how the finished radius will be shown to be right, and how small an error each way can see.

"Sees" is always the change of the radius that would go unnoticed [mm]. What a gauge shows on the work
is a gap or a depth, and over a chord a change of the radius gives only |ds/dR| of itself as depth, so a
flat arc hides far more than a deep one. That slope is held at 1: past it the two arcs part no faster
than their radii. On a corner the arc is fixed by its two tangents, and the slope is 1.
"""

import math

from advisor.geometry import depth_of_arc, depth_per_radius
from advisor.numeric import (
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

PINS_A_MILLIMETRE = 10  # pins come in steps of a tenth of a millimetre or finer
WORDS = {
    "leaf": "leaf of the radius gauge, against the light",
    "ball": "ball of 2R in the fillet: micrometer over it and the far side of the small diameter; no light behind it",
    "pair": "two pins side by side in the groove: micrometer over both, less over one alone",
    "comparator": "optical comparator, against an arc of this radius",
}


def slope(*, radius, chord, corner):
    """Depth that a change of the radius gives, at most 1: min(1, |ds/dR|) [1].

    radius: R [mm]; chord: w, not used for a corner [mm]; corner: truth value.

    >>> slope(radius=5.0, chord=6.0, corner=False)
    0.25
    """
    return minimum(depth_per_radius(radius=radius, chord=chord, corner=corner), 1.0)


def leaf_within(*, leaves, radius, tolerance):
    """Radius-gauge leaf nearest to the radius; not a number where none lies within the tolerance [mm].

    leaves: sizes at hand, ascending [mm]; radius: R [mm]; tolerance: half width on R, T [mm].

    >>> leaf_within(leaves=(5.0, 5.5, 6.0), radius=6.05, tolerance=0.1)
    6.0
    """
    leaf = nearest(leaves, radius)
    # A leaf right on the limit counts, whatever rounding did to it on its way from inches.
    return where(absolute(leaf - radius) <= tolerance * (1 + 1e-9), leaf, NAN)


def sees_leaf(*, radius, chord, corner, leaf, light_gap):
    """Change of the radius that a radius-gauge leaf cannot see [mm].

    q = 1   on a corner
    q = min(R / √(R² − w²/4) − 1, 1)   elsewhere: depth for a change of radius
    u = |L − R| + g / q

    Work that shows no light agrees with the leaf, not with the drawing: a leaf of another size adds its difference.
    radius: R [mm]; chord: w [mm]; corner: truth value; leaf: L [mm], not a number where there is none; light_gap:
    smallest gap that shows light, g [mm]. Source: first principles.

    >>> sees_leaf(radius=5.0, chord=6.0, corner=False, leaf=5.0, light_gap=0.02)
    0.08
    """
    return absolute(leaf - radius) + divide(light_gap, slope(radius=radius, chord=chord, corner=corner))


def sees_template(*, radius, chord, corner, template_gap):
    """Change of the radius that a template made in the shop cannot see [mm].

    q = 1   on a corner
    q = min(R / √(R² − w²/4) − 1, 1)   elsewhere: depth for a change of radius
    u = g / q

    radius: R [mm]; chord: w [mm]; corner: truth value; template_gap: smallest gap that it shows, its own error
    included, g [mm], not a number where none can be made. Source: first principles.

    >>> sees_template(radius=5.0, chord=6.0, corner=False, template_gap=0.1)
    0.4
    """
    return divide(template_gap, slope(radius=radius, chord=chord, corner=corner))


def depth_from_bore(*, radius, chord, bore):
    """Depth of an end from the edge of a hole in its middle to the rim [mm].

    m = √(R² − b²/4) − √(R² − w²/4)

    radius: R [mm]; chord: w [mm]; bore: b, under w [mm]. Source: first principles.

    >>> round(depth_from_bore(radius=5.0, chord=8.0, bore=6.0), 9)
    1.0
    """
    return depth_of_arc(radius=radius, chord=chord) - depth_of_arc(radius=radius, chord=bore)


def sees_depth(*, radius, chord, corner, reading_error, bore=0.0):
    """Change of the radius that a depth measured over the chord cannot see [mm].

    q = min(R / √(R² − w²/4) − R / √(R² − b²/4), 1)   depth for a change of radius
    u = d / q

    The chord is taken as measured before. Not a number on a corner, which has no chord.
    radius: R [mm]; chord: w [mm]; corner: truth value; reading_error: of the depth, d [mm], not a number where nothing
    measures it; bore: hole in the middle of an end, from whose edge it is measured, b [mm]. Source: first principles.

    >>> sees_depth(radius=5.0, chord=6.0, corner=False, reading_error=0.01)
    0.04
    """
    whole = depth_per_radius(radius=radius, chord=chord, corner=corner)
    lost = depth_per_radius(radius=radius, chord=bore, corner=corner)
    seen = divide(reading_error, minimum(whole - lost, 1.0))
    return where(corner, NAN, seen)


def sees_comparator(*, radius, chord, convex, corner, end, comparator_error):
    """Change of the radius that an optical comparator cannot see [mm].

    q = 1   on a corner
    q = min(R / √(R² − w²/4) − 1, 1)   elsewhere: depth for a change of radius
    u = d / q

    Not a number for a dish, whose hollow casts no shadow.
    radius: R [mm]; chord: w [mm]; convex, corner, end: truth values; comparator_error: smallest error of profile that
    it shows, d [mm], not a number where there is none. Source: first principles.

    >>> sees_comparator(radius=5.0, chord=6.0, convex=True, corner=False, end=False, comparator_error=0.02)
    0.08
    """
    seen = divide(comparator_error, slope(radius=radius, chord=chord, corner=corner))
    return where(both(end, negate(convex)), NAN, seen)


def ball_reading(*, radius, diameter, ball):
    """Micrometer reading across a ball laid in a fillet and the far side of the small diameter [mm].

    M = D + d + (1 − √½) max(R − d/2, 0)

    A ball of radius d/2 ≥ R touches the diameter and the shoulder; a smaller one that is held in the middle of the
    fillet rests on the arc and stands off the diameter.
    radius: R [mm]; diameter: small diameter, D [mm]; ball: d [mm]. Source: first principles.

    >>> ball_reading(radius=6.0, diameter=30.0, ball=12.0)
    42.0
    """
    return diameter + ball + (1 - math.sqrt(0.5)) * maximum(radius - ball / 2, 0.0)


def sees_ball(*, light_gap, reading_error):
    """Change of a fillet's radius that a ball of 2R and a micrometer cannot see [mm].

    u = max(2 d / (1 − √½), g / (√2 − 1))

    A radius that is too large lifts the ball by 1 − √½ of the excess; one that is too small leaves the reading as it is
    and shows light behind the ball, √2 − 1 of what is missing. The reading is a difference of two, ball and diameter.
    light_gap: g [mm]; reading_error: of one reading, d [mm], not a number where nothing measures it.
    Source: first principles.

    >>> round(sees_ball(light_gap=0.03, reading_error=0.01), 4)
    0.0724
    """
    by_reading = 2 * reading_error / (1 - math.sqrt(0.5))
    return maximum(by_reading, light_gap / (math.sqrt(2) - 1))


def pair_of_pins(*, radius, chord):
    """Largest pins of which two lie side by side within a groove's arc, to a tenth under [mm].

    d = 2R q/(1 + q), q = w/2R

    radius: R [mm]; chord: w [mm]. Two pins touch the arc at asin((d/2)/(R − d/2)) from its middle, which
    must not lie past the rim. Not a number where not even the smallest go in. Source: first principles.

    >>> pair_of_pins(radius=10.0, chord=12.0)
    7.5
    """
    part = minimum(chord / (2 * radius), 1.0)
    # 1e-9 keeps a size that is a whole number of steps.
    steps = floor(2 * radius * part / (1 + part) * PINS_A_MILLIMETRE + 1e-9)
    return where(steps >= 1, steps / PINS_A_MILLIMETRE, NAN)


def pair_reading(*, radius, pin):
    """How much higher two pins side by side stand in a groove than one alone in its bottom [mm].

    m = R − d/2 − √(R² − R d)

    radius: R [mm]; pin: diameter of each, at most R, d [mm]. Source: first principles: both centres lie on the circle
    R − d/2, d apart.

    >>> pair_reading(radius=10.0, pin=7.5)
    1.25
    """
    return radius - pin / 2 - sqrt(radius * (radius - pin))


def sees_pair(*, radius, pin, reading_error):
    """Change of a groove's radius that two pins and a micrometer cannot see [mm].

    u = 2 d / min((R − p/2) / √(R² − R p) − 1, 1)

    The reading over two pins less the reading over one, so twice the error of a reading.
    radius: R [mm]; pin: diameter of each, p [mm]; reading_error: of one reading, d [mm].
    Source: first principles (derivative of pair_reading).

    >>> round(sees_pair(radius=10.0, pin=7.5, reading_error=0.01), 6)
    0.08
    """
    rise = divide(radius - pin / 2, sqrt(radius * (radius - pin))) - 1
    return divide(2 * reading_error, minimum(rise, 1.0))


def best_sees(**given):
    """Smallest change of the radius that everything in the shop together misses [mm]: the finest of `ways`.

    given: as for `ways`. Not a number where nothing is there.

    >>> best_sees(radius=5.0, chord=6.0, convex=False, corner=False, end=True, leaf=5.0, light_gap=0.03,
    ...           template_gap=0.1, reading_error=0.01, micrometer_error=NAN, pins=False, comparator_error=NAN)
    0.04
    """
    best = math.inf
    for seen in ways(**given).values():
        best = minimum(best, otherwise(seen, math.inf))
    return where(best < math.inf, best, NAN)


def ways(
    *,
    radius,
    chord,
    convex,
    corner,
    end,
    leaf,
    light_gap,
    template_gap,
    reading_error,
    micrometer_error,
    pins,
    comparator_error,
    bore=0.0,
):
    """Change of the radius that each way of proving it misses: name of the way -> [mm], not a number where it is not
    there.

    leaf: the one to use, as from leaf_within [mm]; pins: whether pins and balls of any size are there; bore: hole through
    the work [mm]; the rest as for the function of each way.
    """
    arc = {"radius": radius, "chord": chord, "corner": corner}
    on_diameter = negate(either(corner, end))
    # A crown falls away from its crest, and that is measured as half the difference of two diameters.
    depth_error = where(both(convex, on_diameter), micrometer_error, reading_error)
    pair = pair_of_pins(radius=radius, chord=chord)
    hollow = both(pins, negate(convex))
    return {
        "leaf": sees_leaf(**arc, leaf=leaf, light_gap=light_gap),
        "template": sees_template(**arc, template_gap=template_gap),
        "depth": sees_depth(**arc, reading_error=depth_error, bore=where(end, bore, 0.0)),
        "ball": where(both(hollow, corner), sees_ball(light_gap=light_gap, reading_error=micrometer_error), NAN),
        "pair": where(
            both(hollow, on_diameter),
            sees_pair(radius=radius, pin=pair, reading_error=micrometer_error),
            NAN,
        ),
        "comparator": sees_comparator(**arc, convex=convex, end=end, comparator_error=comparator_error),
    }


def proves(*, sees, tolerance, share):
    """True where what a check misses is at most its share of the tolerance.

    sees [mm]; tolerance: half width on R, T [mm]; share: k: 0.5 asks that an error of half the tolerance
    shows, so that a piece which just looks right is right with as much again to spare.

    >>> proves(sees=0.04, tolerance=0.1, share=0.5)
    True
    """
    # A check that sees just its share counts, whatever rounding did to either.
    return sees <= share * tolerance * (1 + 1e-9)


def checks(
    *,
    radius,
    tolerance,
    chord,
    depth,
    diameter,
    convex,
    corner,
    end,
    leaves,
    light_gap,
    template_gap,
    reading_error,
    micrometer_error,
    pins,
    comparator_error,
    share,
    bore=0.0,
):
    """Ways to prove the radius with what the shop has, finest first.

    Each entry: how (words), size of the gauge or width that it spans [mm], reading when the work is right
    [mm], the change of the radius that goes unseen [mm], and whether that proves the tolerance. A gauge that
    only compares has no reading: None.
    radius: R; tolerance: T; chord: w; depth: s; diameter: D [mm]; convex, corner, end: truth values of one
    callout; leaves: radius-gauge leaves at hand, ascending; light_gap, template_gap; reading_error: of the
    depth micrometer; micrometer_error: of the outside micrometer; comparator_error [mm]; what is not there is
    not a number; pins: whether pins and balls of any size are there; share: see proves; bore: hole through the
    work, from whose edge a depth on an end is measured [mm].

    >>> for check in checks(radius=5.0, tolerance=0.1, chord=6.0, depth=1.0, diameter=30.0, convex=False,
    ...                     corner=False, end=True, leaves=(4.5, 5.0), light_gap=0.03, template_gap=NAN,
    ...                     reading_error=0.01, micrometer_error=NAN, pins=False, comparator_error=NAN, share=0.5):
    ...     print(check["how"], "|", check["reading_mm"], "|", check["sees_mm"], "|", check["proves"])
    depth micrometer with a pointed rod, across the mouth, down to the middle | 1.0 | 0.04 | True
    leaf of the radius gauge, against the light | None | 0.12 | False
    """
    leaf = leaf_within(leaves=leaves, radius=radius, tolerance=tolerance)
    seen = ways(
        radius=radius,
        chord=chord,
        convex=convex,
        corner=corner,
        end=end,
        leaf=leaf,
        light_gap=light_gap,
        template_gap=template_gap,
        reading_error=reading_error,
        micrometer_error=micrometer_error,
        pins=pins,
        comparator_error=comparator_error,
        bore=bore,
    )
    hole = bore if end else 0.0
    pair = pair_of_pins(radius=radius, chord=chord)
    size_and_reading = {
        "leaf": (leaf, None),
        "template": (2 * radius, None),
        "depth": (chord, depth_from_bore(radius=radius, chord=chord, bore=hole) if hole else depth),
        "ball": (2 * radius, ball_reading(radius=radius, diameter=diameter, ball=2 * radius)),
        "pair": (pair, pair_reading(radius=radius, pin=pair)),
        "comparator": (radius, None),
    }
    return [
        {
            "how": _words(way, convex=convex, end=end, bored=hole > 0),
            "size_mm": size_and_reading[way][0],
            "reading_mm": size_and_reading[way][1],
            "sees_mm": seen[way],
            "proves": proves(sees=seen[way], tolerance=tolerance, share=share),
        }
        for way in sorted((way for way in seen if math.isfinite(seen[way])), key=seen.get)
    ]


def _words(way, *, convex, end, bored):
    if way == "template":
        made_from = "plate bored to 2R" if convex else "rod turned to 2R"
        return f"{made_from} as a template, to be made"
    if way != "depth":
        return WORDS[way]
    if end and convex:
        top = "the edge of the bore" if bored else "the crown"
        return f"depth micrometer or height gauge, from {top} down to the rim"
    if end:
        bottom = "the edge of the bore" if bored else "the middle"
        return f"depth micrometer with a pointed rod, across the mouth, down to {bottom}"
    if convex:
        return "micrometer: half the difference of the diameters at the crest and at the edge"
    return "depth micrometer with a pointed rod, along the work across the groove, down to the middle"
