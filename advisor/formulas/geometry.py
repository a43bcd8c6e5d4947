"""Arcs, and the six shapes that a radius on turned work can have.

Lengths in mm, angles in degrees, numbers or arrays; what is not known or cannot be is "not a number".
A shape is told by three truth values: corner, end (neither of them: on the outside diameter) and
convex. The chord of a corner is not a number: its arc is fixed by its two tangents.

    corner, convex: rounded corner      end, convex: dome      outside diameter, convex: crown
    corner, concave: fillet             end, concave: dish     outside diameter, concave: groove
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.numeric import (
    absolute,
    atan2,
    both,
    degrees,
    divide,
    either,
    maximum,
    negate,
    otherwise,
    radians,
    sin,
    sqrt,
    where,
)

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric, Truth


# A chord longer than the diameter by no more than this share is the diameter, rounded on its way from inches.
ROUNDING = 1e-9
# How far the zone between two radii of one corner opens at 45°, as a share of their difference.
CRESCENT = math.sqrt(2) - 1


def depth_of_arc(*, radius: Numeric, chord: Numeric) -> Numeric:
    """Depth of an arc below its chord (sagitta) [mm].

    s = (c²/4) / (R + √(R² − c²/4))

    radius: R [mm]; chord: straight width across the arc, c [mm]. Not a number where c > 2R.
    Source: machinery-handbook (p. 79, segments of circles). Written this way round, flat arcs keep their digits.

    >>> round(depth_of_arc(radius=60.0, chord=59.8665), 4)
    8.0
    """
    return divide(chord * chord / 4, radius + chord_from_centre(radius=radius, chord=chord))


def chord_of_arc(*, radius: Numeric, depth: Numeric) -> Numeric:
    """Straight width across an arc of a given depth [mm].

    c = 2 √(s (2R − s))

    radius: R [mm]; depth: s [mm]. Not a number where s > 2R.
    Source: machinery-handbook (p. 79).

    >>> round(chord_of_arc(radius=60.0, depth=8.0), 2)
    59.87
    """
    return 2 * sqrt(depth * (2 * radius - depth))


def chord_from_centre(*, radius: Numeric, chord: Numeric) -> Numeric:
    """Distance of a chord from the centre of its arc [mm].

    k = √((R − c/2)(R + c/2))

    radius: R [mm]; chord: c [mm]. Not a number where c > 2R.
    Source: first principles, as a product so that a chord near the diameter keeps its digits.

    >>> chord_from_centre(radius=5.0, chord=6.0)
    4.0
    """
    square = (radius - chord / 2) * (radius + chord / 2)
    rounded = both(square < 0, square > -ROUNDING * radius * radius)
    return sqrt(where(rounded, 0.0, square))


def sweep_of_arc(*, radius: Numeric, chord: Numeric) -> Numeric:
    """Angle that an arc takes at its centre [deg], at most 180.

    θ = 2 asin(c/2R)

    radius: R [mm]; chord: c [mm]. Not a number where c > 2R.
    Source: machinery-handbook (p. 79). Found from both legs, so that it holds near 180 degrees too.

    >>> round(sweep_of_arc(radius=1.0, chord=1.732051), 3)
    120.0
    """
    return 2 * degrees(atan2(chord / 2, chord_from_centre(radius=radius, chord=chord)))


def length_of_arc(*, radius: Numeric, sweep: Numeric) -> Numeric:
    """Length along an arc [mm].

    L = R θ π / 180

    radius: R [mm]; sweep: θ [deg].
    Source: machinery-handbook (p. 78 prints 36.645, with a short π).

    >>> round(length_of_arc(radius=35.0, sweep=60.0), 3)
    36.652
    """
    return radius * radians(sweep)


def segment_area(*, radius: Numeric, chord: Numeric) -> Numeric:
    """Area between an arc and its chord [mm²].

    A = R² (θ − sin θ)/2

    radius: R [mm]; chord: c [mm]; at most the half circle. Not a number where c > 2R.
    Source: machinery-handbook (p. 50). On flat arcs as the series θ³/6 − θ⁵/120 + …: the difference loses its digits.

    >>> round(segment_area(radius=12.0, chord=13.2665), 3)
    18.006
    """
    sweep = radians(sweep_of_arc(radius=radius, chord=chord))
    series = 0.0
    for odd in range(19, 1, -2):
        series = (1 - series) * sweep * sweep / (odd * (odd - 1))
    return radius * radius / 2 * where(sweep < 1, series * sweep, sweep - sin(sweep))


def cap_volume(*, radius: Numeric, depth: Numeric) -> Numeric:
    """Volume of a spherical cap [mm³].

    V = π s² (R − s/3)

    radius: of the sphere, R [mm]; depth: height of the cap, s [mm].
    Source: machinery-handbook (volume of a spherical segment).

    >>> round(cap_volume(radius=3.0, depth=3.0) / math.pi, 6)
    18.0
    """
    return math.pi * depth * depth * (radius - depth / 3)


def feature_depth(*, radius: Numeric, chord: Numeric, corner: Truth) -> Numeric:
    """Depth of the feature, square to the chord; on a corner along each side [mm].

    s = R   on a corner
    s = R − √(R² − c²/4)   elsewhere

    radius: R [mm]; chord: c [mm]; corner: truth value. Source: first principles.

    >>> feature_depth(radius=6.0, chord=math.nan, corner=True)
    6.0
    """
    return where(corner, radius, depth_of_arc(radius=radius, chord=chord))


def feature_sweep(*, radius: Numeric, chord: Numeric, corner: Truth) -> Numeric:
    """Angle that the feature's arc takes at its centre [deg].

    θ = 90°   on a corner
    θ = 2 asin(c/(2R))   elsewhere

    radius: R [mm]; chord: c [mm]; corner: truth value. Source: first principles.

    >>> round(feature_sweep(radius=20.0, chord=20.0, corner=False), 6)
    60.0
    """
    return where(corner, 90.0, sweep_of_arc(radius=radius, chord=chord))


def centre_from_axis(
    *, radius: Numeric, diameter: Numeric, depth: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Distance of the arc's centre from the spindle axis [mm]; negative beyond the axis.

    u = 0   on an end
    u = D/2 − R   rounded corner and crown
    u = D/2 + R   fillet
    u = D/2 − s + R   groove

    radius: R [mm]; diameter: at a fillet the small one, D [mm]; depth: s [mm]; convex, corner, end: the shape.
    Source: first principles.

    >>> centre_from_axis(radius=6.0, diameter=40.0, depth=6.0, convex=True, corner=True, end=False)
    14.0
    """
    concave = where(corner, diameter / 2 + radius, diameter / 2 - depth + radius)
    return where(end, 0.0, where(convex, diameter / 2 - radius, concave))


def centre_from_face(
    *, radius: Numeric, depth: Numeric, chord: Numeric, from_end: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Distance of the arc's centre from the face, positive into the work [mm].

    v = R   corner and dome
    v = −(R − s)   dish
    v = e + c/2   groove and crown

    radius: R [mm]; depth: s [mm]; chord: c [mm]; from_end: face to the near edge of a groove or crown, e [mm], not a
    number when not given; convex, corner, end: the shape. At a fillet the face is the shoulder, and the
    centre lies R from it on the small-diameter side. Source: first principles.

    >>> centre_from_face(
    ...     radius=10.0, depth=2.0, chord=12.0, from_end=math.nan, convex=False, corner=False, end=True
    ... )
    -8.0
    """
    on_face = where(either(corner, convex), radius, depth - radius)
    return where(either(corner, end), on_face, from_end + chord / 2)


def removed_volume(
    *, radius: Numeric, chord: Numeric, depth: Numeric, diameter: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Metal to remove for one feature [mm³], exactly.

    θ = 2 asin(c/(2R))
    A = R² (θ π/180 − sin θ) / 2   the segment
    V = 2π (R² (D − R)/2 − π R²/4 (D/2 − R + 4R/(3π)))   rounded corner: square less quarter disc
    V = 2π π R²/4 (D/2 + R − 4R/(3π))   fillet: quarter disc, out of an R × R corner left by roughing
    V = π s² (R − 2s/3)   dome: cylinder less cap
    V = π s² (R − s/3)   dish: cap
    V = 2π A (D/2 − s + R − c³/(12A))   groove: segment
    V = 2π (c s (D − s)/2 − A (D/2 − R + c³/(12A)))   crown: rectangle less segment

    Corners, groove and crown by the theorem of Pappus: areas times the way of their centroids.
    radius: R [mm]; chord: at a dome the diameter, c [mm]; depth: s [mm]; diameter: at a crown over its crest, D [mm];
    convex, corner, end: the shape, which must be possible (R ≤ D/2 at a rounded corner, s < D/2 on the outside
    diameter).
    Source: first principles (theorem of Pappus); machinery-handbook for cap and segment. Holds 12 digits to R = 500 D.

    >>> round(
    ...     removed_volume(
    ...         radius=6.0, chord=math.nan, depth=6.0, diameter=40.0, convex=True, corner=True, end=False
    ...     ),
    ...     1,
    ... )
    905.8
    """
    centre = centre_from_axis(radius=radius, diameter=diameter, depth=depth, convex=convex, corner=corner, end=end)
    quarter = math.pi / 4 * radius * radius
    quarter_centroid = 4 / (3 * math.pi) * radius
    rounded_corner = radius * radius * (diameter - radius) / 2 - quarter * (centre + quarter_centroid)
    fillet = quarter * (centre - quarter_centroid)

    segment = segment_area(radius=radius, chord=chord)
    segment_centroid = divide(chord * chord * chord, 12 * segment)
    groove = segment * (centre - segment_centroid)
    crown = chord * depth * (diameter - depth) / 2 - segment * (centre + segment_centroid)

    cap = cap_volume(radius=radius, depth=depth)
    dome = math.pi * depth * depth * (radius - 2 * depth / 3)

    on_corner = where(convex, rounded_corner, fillet)
    on_diameter = where(convex, crown, groove)
    return where(end, where(convex, dome, cap), 2 * math.pi * where(corner, on_corner, on_diameter))


def finished_area(
    *, radius: Numeric, chord: Numeric, depth: Numeric, diameter: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Surface that the finished arc sweeps round the work [mm²].

    θ = 2 asin(c/(2R)) π/180
    S = 2π R s   ends
    S = π² R (D/2 − R + 2R/π)   rounded corner
    S = π² R (D/2 + R − 2R/π)   fillet
    S = 2π R θ (D/2 − R + c/θ)   crown
    S = 2π R θ (D/2 − s + R − c/θ)   groove

    Corners, groove and crown by the theorem of Pappus: the arc times the way of its centroid.
    radius: R [mm]; chord: c [mm]; depth: s [mm]; diameter: D [mm]; convex, corner, end: the shape.
    Source: first principles (theorem of Pappus); machinery-handbook for the cap.

    >>> hemisphere = finished_area(
    ...     radius=1.0, chord=2.0, depth=1.0, diameter=2.0, convex=True, corner=False, end=True
    ... )
    >>> round(hemisphere / math.pi, 6)
    2.0
    """
    centre = centre_from_axis(radius=radius, diameter=diameter, depth=depth, convex=convex, corner=corner, end=end)
    sweep = radians(feature_sweep(radius=radius, chord=chord, corner=corner))
    centroid = where(corner, 2 / math.pi * radius, divide(chord, sweep))
    from_axis = where(convex, centre + centroid, centre - centroid)
    return 2 * math.pi * radius * where(end, depth, from_axis * sweep)


def depth_per_radius(*, radius: Numeric, chord: Numeric, corner: Truth) -> Numeric:
    """How far the middle of the arc moves, square to it, when the radius changes, without sign [1].

    q = √2 − 1   on a corner
    q = R / √(R² − c²/4) − 1   elsewhere: ds/dR, which is also s / √(R² − c²/4)

    The tangents of a corner stay where they are, so the arc moves by √2 − 1 of the change at 45° and not at all at its
    ends. radius: R [mm]; chord: c [mm]; corner: truth value. Infinite for a half circle.
    Source: first principles; the second form keeps its digits on flat arcs. asme-y14-5 for the zone of a corner.

    >>> round(depth_per_radius(radius=8.0, chord=3.5, corner=False), 4)
    0.0248
    """
    depth = depth_of_arc(radius=radius, chord=chord)
    return where(corner, CRESCENT, divide(depth, chord_from_centre(radius=radius, chord=chord)))


def depth_tolerance(*, radius: Numeric, tolerance: Numeric, chord: Numeric, corner: Truth) -> Numeric:
    """What a tolerance on the radius leaves of the depth over the same chord, or of a corner at 45° [mm], plus or minus.

    t = (√2 − 1) T   on a corner
    t = T (R / √(R² − c²/4) − 1)   elsewhere
    t = |√((R + T)² − c²/4) − T − √(R² − c²/4)|   where an arc of R − T no longer spans the chord

    radius: R [mm]; tolerance: T [mm]; chord: c [mm]; corner: truth value. Near the half circle the depth moves more
    than R does, and |ds/dR| runs away. Source: first principles.

    >>> round(depth_tolerance(radius=8.0, tolerance=0.02, chord=3.5, corner=False), 4)
    0.0005
    """
    by_slope = tolerance * depth_per_radius(radius=radius, chord=chord, corner=corner)
    larger = radius + tolerance
    by_change = depth_of_arc(radius=radius, chord=chord) - depth_of_arc(radius=larger, chord=chord)
    runs_away = both(negate(corner), radius - tolerance < chord / 2)
    return where(runs_away, absolute(by_change), by_slope)


def remaining_core(
    *, diameter: Numeric, depth: Numeric, bore: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Metal that is left across the weakest section, less the hole through it [mm].

    k = D − 2s − d   under a groove
    k = D − d   elsewhere

    diameter: D [mm]; depth: s [mm]; bore: hole through the work, d [mm], not a number when solid; convex, corner, end:
    the shape.
    Source: first principles.

    >>> remaining_core(diameter=30.0, depth=4.0, bore=10.0, convex=False, corner=False, end=False)
    12.0
    """
    groove = negate(either(either(corner, end), convex))
    return where(groove, diameter - 2 * depth, diameter) - otherwise(bore, 0.0)


def largest_diameter(
    *, radius: Numeric, diameter: Numeric, chord: Numeric, convex: Truth, corner: Truth, end: Truth
) -> Numeric:
    """Largest diameter that is cut [mm]: the fastest point of the arc.

    l = D   on convex shapes and on a groove
    l = c   dish
    l = D + 2R   fillet

    radius: R [mm]; diameter: D [mm]; chord: c [mm]; convex, corner, end: the shape. Source: first principles. What a
    shoulder stands above the fillet is not cut; it only has to swing (swung_diameter).

    >>> largest_diameter(radius=3.0, diameter=20.0, chord=math.nan, convex=False, corner=True, end=False)
    26.0
    """
    concave = where(corner, diameter + 2 * radius, where(end, chord, diameter))
    return where(convex, diameter, concave)


def swung_diameter(
    *, radius: Numeric, diameter: Numeric, shoulder_height: Numeric, convex: Truth, corner: Truth
) -> Numeric:
    """Largest diameter of the work that has to swing over bed and slides [mm].

    l = D + 2 max(R, h)   fillet
    l = D + 2R   fillet with a shoulder of unknown height
    l = D   elsewhere

    radius: R [mm]; diameter: D [mm]; shoulder_height: h [mm], not a number when not given; convex, corner: the shape.
    Source: first principles.

    >>> swung_diameter(radius=3.0, diameter=20.0, shoulder_height=5.0, convex=False, corner=True)
    30.0
    """
    shoulder = diameter + 2 * maximum(radius, otherwise(shoulder_height, radius))
    return where(both(corner, negate(convex)), shoulder, diameter)
