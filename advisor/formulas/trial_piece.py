"""What a trial piece says of the setting: its radius and where its centre lies, from what was measured on it.

Pure formulas for numbers or arrays: lengths in mm, angles in degrees. Each turns a gauge's reading back into the radius,
and says how much of an error of the reading goes into it. `proof` has the same relations the other way round.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.geometry import CRESCENT, depth_of_arc
from advisor.formulas.numeric import absolute, atan2, degrees, divide, sqrt, where

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric, Truth


TANGENT_SHARE = 1 - math.sqrt(0.5)  # how far the flats of a corner gap from a leaf that rests in its middle, of R
# Expanded uncertainty, k = 2: 19 times out of 20. An error known by its limits alone is taken as equally likely
# between them (JCGM 100:2008, 4.3.7).
COVERAGE = 2.0
# What the next piece is promised within: more than that, since what is corrected is what looks most wrong, and that looks
# more wrong than it is.
PROMISED = 2.3
ROOT_3 = math.sqrt(3)


def standard(*, limit: Numeric) -> Numeric:
    """Standard uncertainty of an error that is known by its limits alone [as the limit].

    u = a / √3

    limit: half the width between the limits, a. Equally likely between them. Source: gum (4.3.7).

    >>> round(standard(limit=0.01), 5)
    0.00577
    """
    return limit / ROOT_3


# ---- depth and width


def radius_of_depth(*, depth: Numeric, width: Numeric) -> Numeric:
    """Radius of an arc from its depth and the width that the depth was measured over [mm].

    R = (w²/4 + s²) / (2s)

    depth: s [mm]; width: straight across, w [mm]. Source: machinery-handbook (p. 79, segments of circles).

    >>> round(radius_of_depth(depth=8.0, width=59.8665), 4)
    60.0
    """
    return (width * width / 4 + depth * depth) / (2 * depth)


def radius_per_depth(*, depth: Numeric, width: Numeric) -> Numeric:
    """How much the radius changes with the measured depth [1]; less than nothing: a deeper arc has a smaller radius.

    r = 1/2 − w²/(8 s²)

    depth: s [mm]; width: w [mm]. Source: first principles (dR/ds of radius_of_depth).

    >>> round(radius_per_depth(depth=4.872, width=20.0), 2)
    -1.61
    """
    return 0.5 - width * width / (8 * depth * depth)


def radius_per_width(*, depth: Numeric, width: Numeric) -> Numeric:
    """How much the radius changes with the measured width [1].

    r = w / (4 s)

    depth: s [mm]; width: w [mm]. Source: first principles (dR/dw of radius_of_depth).

    >>> round(radius_per_width(depth=4.872, width=20.0), 2)
    1.03
    """
    return divide(width, 4 * depth)


def depth_of_crown(*, crest: Numeric, edge: Numeric) -> Numeric:
    """Depth of a crown or of a groove from two diameters [mm].

    s = |C − E| / 2

    crest: diameter in the middle of the arc, C [mm]; edge: diameter at its edge, E [mm]. Source: first principles.

    >>> depth_of_crown(crest=40.0, edge=38.0)
    1.0
    """
    return absolute(crest - edge) / 2


def centre_off_axis(*, depth: Numeric, width: Numeric, inner_depth: Numeric, inner_width: Numeric) -> Numeric:
    """How far the centre of an end's arc lies from the axis, toward the tool's side, from two depths [mm].

    e = ((b²/4 + t²) s − (w²/4 + s²) t) / (b s − w t)

    The circle through the middle and both rims, seen on the tool's side of the axis: turned about the axis it leaves a
    ring with a dimple in it where e is more than nothing, and a point in the middle where it is less. Depths are from the
    middle: of a dome down to the rim, of a dish up to it.
    depth: s [mm]; width: w [mm]; inner_depth: t [mm]; inner_width: b [mm]. Source: first principles.

    >>> round(centre_off_axis(depth=12 - 144**0.5 * 0.6, width=2 * 9.6, inner_depth=12 - (144 - 36) ** 0.5,
    ...                       inner_width=12.0), 9)
    0.0
    """
    whole, part = width * width / 4 + depth * depth, inner_width * inner_width / 4 + inner_depth * inner_depth
    return (part * depth - whole * inner_depth) / (inner_width * depth - width * inner_depth)


def radius_off_axis(*, depth: Numeric, width: Numeric, off_axis: Numeric) -> Numeric:
    """Radius of an end's arc whose centre lies off the axis [mm].

    c = (w²/4 + s² − w e) / (2s)
    R = √(e² + c²)

    depth: from the middle to the rim, s [mm]; width: w [mm]; off_axis: of the centre toward the tool's side, e [mm].
    Source: first principles (see centre_off_axis).

    >>> radius_off_axis(depth=4.0, width=16.0, off_axis=0.0)
    10.0
    """
    along = (width * width / 4 + depth * depth - width * off_axis) / (2 * depth)
    return sqrt(off_axis * off_axis + along * along)


def radius_per_off_axis(*, depth: Numeric, width: Numeric) -> Numeric:
    """How much the radius from depth and width is led astray by a centre off the axis [1].

    r = w / (2s)

    depth: s [mm]; width: w [mm]. Source: first principles: the depth changes by tan φ of it, φ being half the sweep, and
    the radius by R/k − 1 of the depth; tan φ / (R/k − 1) = (w/2)/s.

    >>> radius_per_off_axis(depth=4.0, width=16.0)
    2.0
    """
    return divide(width, 2 * depth)


# ---- a leaf, and the feeler under it


def depth_under_leaf(*, leaf: Numeric, width: Numeric, gap: Numeric, middle: Truth, convex: Truth) -> Numeric:
    """Depth of an arc on which a radius leaf rests and gaps [mm].

    s = l − √((l − g)² − w²/4)   convex, light at both ends
    s = l − √((l + g)² − w²/4)   concave, light at both ends
    s = d − g   convex, light in the middle; d = depth of an arc of l
    s = d + g   concave, light in the middle

    The leaf rests on the two ends of the arc, or in its middle. The gap is square to the leaf. leaf: its radius, l [mm];
    width: over which it lies, w [mm]; gap: g [mm]; middle, convex: truth values. Source: first principles.

    >>> round(depth_under_leaf(leaf=10.0, width=12.0, gap=0.0, middle=True, convex=True), 9)
    2.0
    """
    sign = where(convex, -1.0, 1.0)
    reach = leaf + sign * gap
    at_ends = leaf - sqrt(reach * reach - width * width / 4)
    return where(middle, depth_of_arc(radius=leaf, chord=width) + sign * gap, at_ends)


def corner_under_leaf(*, leaf: Numeric, gap: Numeric, middle: Truth, convex: Truth) -> Numeric:
    """Radius of a corner between its two flats, on which a radius leaf rests and gaps [mm].

    R = l + g/(√2 − 1)   convex, light in the middle
    R = l − g/(1 − √½)   convex, light at both flats
    R = l − g/(√2 − 1)   concave, light in the middle
    R = l + g/(1 − √½)   concave, light at both flats

    A leaf that lies on both flats stands off the middle by √2 − 1 of the difference; one that rests in the middle is
    lifted by as much along 45°, and by √½ of that off each flat.
    leaf: l [mm]; gap: g [mm]; middle, convex: truth values. Source: first principles (a leaf of 6 on a corner of 6.1 gaps
    0.041, on one of 5.9 by 0.029).

    >>> round(corner_under_leaf(leaf=6.0, gap=0.041421, middle=True, convex=True), 4)
    6.1
    >>> round(corner_under_leaf(leaf=6.0, gap=0.029289, middle=False, convex=True), 4)
    5.9
    """
    off = where(middle, gap / CRESCENT, -gap / TANGENT_SHARE)
    return leaf + where(convex, off, -off)


# ---- micrometer over the ball


def radius_over_ball(*, reading: Numeric, diameter: Numeric, ball: Numeric) -> Numeric:
    """Radius of a fillet from the micrometer over a ball in it and the far side of the small diameter [mm].

    R = d/2 + (M − D − d) / (1 − √½)

    reading: M [mm], more than D + d, or the ball rests on the diameter and says nothing but that R is no more than its
    own; diameter: the small one, D [mm]; ball: d [mm]. Source: first principles (proof.ball_reading, the other way round).

    >>> round(radius_over_ball(reading=42.02929, diameter=30.0, ball=12.0), 4)
    6.1
    """
    return ball / 2 + (reading - diameter - ball) / TANGENT_SHARE


def radius_over_pins(*, rise: Numeric, pin: Numeric) -> Numeric:
    """Radius of a groove from how much higher two pins side by side stand in it than one alone [mm].

    R = d/2 + (m²+d²/4) / (2m)

    Their centres lie on the circle R − d/2, d apart. rise: over both less over one, m [mm]; pin: diameter of each, d
    [mm]. Source: first principles (proof.pair_reading, the other way round).

    >>> radius_over_pins(rise=1.25, pin=7.5)
    10.0
    """
    return pin / 2 + radius_of_depth(depth=rise, width=pin)


def off_axis_of_ball(*, across: Numeric, slanting: Numeric) -> Numeric:
    """How far the centre of a ball's arc lies from the axis, toward the tool's side, from two diameters of it [mm].

    e = (A − B) / (2 (1 − √½))

    across: micrometer square to the axis, A [mm]; slanting: at 45°, B [mm]. The arc stands off the axis by e on all
    sides, so the ball measures 2(R + e sin θ) at θ from the axis. Source: first principles.

    >>> round(off_axis_of_ball(across=40.2, slanting=40.14142), 3)
    0.1
    """
    return (across - slanting) / (2 * TANGENT_SHARE)


def radius_of_ball(*, across: Numeric, off_axis: Numeric) -> Numeric:
    """Radius of a ball's arc from its diameter square to the axis [mm].

    R = A/2 − e

    across: A [mm]; off_axis: of the centre toward the tool's side, e [mm]. Source: first principles.

    >>> radius_of_ball(across=40.2, off_axis=0.1)
    20.0
    """
    return across / 2 - off_axis


# ---- what stands in the middle of an end


def off_axis_of_ring(*, ring: Numeric) -> Numeric:
    """How far the centre of an end's arc lies on the tool's side of the axis, from the ring that it leaves [mm].

    e = r / 2

    ring: diameter of the highest ring of a dome, or of the deepest of a dish, r [mm]. Source: first principles: the arc
    has its crest over its own centre, and that goes round the axis.

    >>> off_axis_of_ring(ring=0.4)
    0.2
    """
    return ring / 2


def off_height_of_pip(*, pip: Numeric) -> Numeric:
    """How far the tip stands above or below the axis, from the pip that it leaves [mm].

    h = p / 2

    pip: its diameter, p [mm]. Source: first principles: the tip passes the axis at that distance.

    >>> off_height_of_pip(pip=0.3)
    0.15
    """
    return pip / 2


# ---- form tool


def edge_off_square(*, gap: Numeric, width: Numeric) -> Numeric:
    """Angle by which a form tool stands out of square [deg].

    α = atan(g / w)

    gap: at the one end, while the leaf lies on the other, g [mm]; width: of the arc, w [mm]. Source: first principles.

    >>> round(edge_off_square(gap=0.1, width=10.0), 3)
    0.573
    """
    return degrees(atan2(gap, width))


def off_height_of_edge(*, diameter: Numeric, edge_depth: Numeric, work_depth: Numeric) -> Numeric:
    """How far off centre height an edge cuts an arc so much shallower on the outside diameter than it is itself [mm].

    x = (D²/4 + s² − (D/2 − t)²) / (2s)
    h = √(D²/4 − x²)

    Off centre it meets the diameter D/2 at the distance x of its own plane and, fed in by its depth s, the bottom D/2 − t.
    Not a number where the work is deeper than the edge. diameter: D [mm]; edge_depth: s [mm]; work_depth: t [mm]. Source:
    first principles.

    >>> round(off_height_of_edge(diameter=20.0, edge_depth=2.0, work_depth=10 - (7.9499**2 + 1) ** 0.5), 2)
    1.0
    """
    half = diameter / 2
    across = (half * half + edge_depth * edge_depth - (half - work_depth) * (half - work_depth)) / (2 * edge_depth)
    return sqrt(half * half - across * across)
