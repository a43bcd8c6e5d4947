"""What the pivot arm, the radius rod and the swung compound have in common.

The radius to aim at when a reach ends near it, what a setting that is slightly out leaves in the
work, and how many passes the metal asks for. Numbers or arrays throughout.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas.numeric import (
    NAN,
    atan2,
    ceil,
    cos,
    degrees,
    divide,
    maximum,
    minimum,
    radians,
    sin,
    sqrt,
    where,
)

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric, Truth


def aim_in_window(
    *, radius: Numeric, radius_low: Numeric, radius_high: Numeric, window_low: Numeric, window_high: Numeric
) -> Numeric:
    """Radius to aim at: inside the drawing's limits and inside the reach, nearest to the wanted one [mm].

    r = min(max(R, l, w), h, v)

    radius: the wanted radius, R [mm]; radius_low: smallest that the drawing takes, l [mm]; radius_high: largest, h
    [mm]; window_low: smallest that the equipment reaches, w [mm]; window_high: largest, v [mm]. Not a number where no
    radius lies in both, or a limit is not known.
    Source: first principles.

    >>> aim_in_window(radius=50.0, radius_low=49.8, radius_high=50.2, window_low=50.1, window_high=90.0)
    50.1
    """
    low = maximum(radius_low, window_low)
    high = minimum(radius_high, window_high)
    return where(low <= high, minimum(maximum(radius, low), high), NAN)


def outside_window(*, radius: Numeric, window_low: Numeric, window_high: Numeric) -> Numeric:
    """How far a radius lies outside a reach: 0 inside it [mm].

    radius [mm]; window_low, window_high: the smallest and the largest radius in reach [mm].
    Source: first principles.

    >>> outside_window(radius=9.5, window_low=10.0, window_high=60.0)
    0.5
    """
    return maximum(maximum(window_low - radius, radius - window_high), 0.0)


def height_allowance(*, radius: Numeric, tolerance: Numeric, share: Numeric) -> Numeric:
    """How far the tool may stand off centre height before the radius has spent its share [mm].

    h = √((R + kT)² − R²)

    The pip of radius h that is left in the middle of an end is a limit of its own, and mostly the tighter.
    radius: R [mm]; tolerance: half width of the tolerance on R, T [mm]; share: the part of it that this
    error may spend, k, 0 to 1. Source: first principles: a tip h off centre height turns a sphere of √(R² + h²).

    >>> round(height_allowance(radius=24.0, tolerance=2.0, share=0.5), 9)
    7.0
    """
    spent = share * tolerance
    return sqrt(spent * (2 * radius + spent))


def offset_allowance(*, tolerance: Numeric, share: Numeric, sweep: Numeric, end: Truth = False) -> Numeric:
    """How far the centre of the swing may lie off its place, square to the axis [mm].

    e = k T / sin φ, φ = half the sweep on an end, 90° on a corner

    A centre e off leaves e·sin φ square to a surface whose normal stands φ from the axis; on an end
    the largest φ is at the rim, while a corner reaches 90°. On an end the pip, or the pointed middle, of
    radius e is a limit of its own.
    tolerance: half width that this error of profile is measured against, T [mm]; share: the part that
    it may spend, k, 0 to 1; sweep: sweep of the whole arc [deg]; end: true for a dome or a dish.
    Source: first principles.

    >>> round(offset_allowance(tolerance=0.1, share=0.5, sweep=60.0, end=True), 9)
    0.1
    >>> offset_allowance(tolerance=0.1, share=0.5, sweep=90.0)
    0.05
    """
    return divide(share * tolerance, where(end, sin(radians(sweep / 2)), 1.0))


def aside_allowance(
    *, radius: Numeric, nose_radius: Numeric, tolerance: Numeric, share: Numeric, convex: Truth
) -> Numeric:
    """How far the nose may lie beside the line through pivot or swivel before the radius has spent its share [mm].

    ρ = R + r   convex
    ρ = R − r   concave
    a = √(k T (2ρ + k T))

    The centre of the nose runs ρ from the pivot; a beside the line it runs √(ρ² + a²) from it, and the arc comes out
    larger by as much. radius: R [mm]; nose_radius: r [mm]; tolerance: half width on R, T [mm]; share: of it, k [1];
    convex: truth value. Source: first principles.

    >>> round(aside_allowance(radius=6.0, nose_radius=0.4, tolerance=0.08, share=0.25, convex=True), 2)
    0.51
    """
    spent = share * tolerance
    centre = radius + where(convex, 1.0, -1.0) * nose_radius
    return sqrt(spent * (2 * centre + spent))


def tool_extension(*, radius: Numeric, window_low: Numeric, window_high: Numeric, convex: Truth) -> Numeric:
    """How much further out of its holder the tool has to be clamped for a radius beyond a reach [mm].

    e = max(l − R, 0) − max(R − h, 0)   convex: the tip stands short of the pivot, and comes nearer when let out
    e = max(R − h, 0) − max(l − R, 0)   concave: the tip stands past the pivot, and goes further when let out

    Negative: further in. radius: R [mm]; window_low: the smallest radius with the tool clamped as usual, l [mm];
    window_high: the largest, h [mm]; convex: truth value. Source: first principles.

    >>> tool_extension(radius=62.0, window_low=3.0, window_high=60.0, convex=True)
    -2.0
    >>> tool_extension(radius=47.0, window_low=3.0, window_high=45.0, convex=False)
    2.0
    """
    under = maximum(window_low - radius, 0.0)
    over = maximum(radius - window_high, 0.0)
    return where(convex, under - over, over - under)


def far_rim_room(*, radius: Numeric, sweep: Numeric) -> Numeric:
    """Room between the middle of a swung tool and the far rim of a groove, with the tip at the near rim [mm].

    c = R sin φ   past a quarter turn
    c = R   up to it: what is left of the tool there stands inside the circle, or is ground away

    Behind the centre a shank of half width w leaves the circle R at 180° − asin(w/R) from its tip; past a quarter turn
    of sweep that place comes round to the far rim, where R sin φ is left. radius: R [mm]; sweep: of the groove, φ
    [deg]. Source: first principles.

    >>> round(far_rim_room(radius=10.0, sweep=150.0), 9), far_rim_room(radius=10.0, sweep=60.0)
    (5.0, 10.0)
    """
    return where(sweep > 90.0, radius * sin(radians(sweep)), radius)


def overhang_in_groove(*, sweep: Numeric, half_width: Numeric, clearance: Numeric) -> Numeric:
    """Overhang that keeps a swung holder off the work when the tip is at the rim of a groove [mm].

    q = b tan(φ/2) + g / cos(φ/2)

    The tip is at the rim and the holder leans φ/2; its corner, b aside and q behind the tip, stands q cos(φ/2) −
    b sin(φ/2) off the surface. sweep: φ [deg]; half_width: of the holder, b [mm]; clearance: g [mm]. Source: first
    principles.

    >>> round(overhang_in_groove(sweep=90.0, half_width=10.0, clearance=1.0), 3)
    11.414
    """
    lean = radians(sweep / 2)
    return divide(half_width * sin(lean) + clearance, cos(lean))


def slide_in_front(*, front: Numeric, half_width: Numeric, swing: Numeric) -> Numeric:
    """How far a swung slide comes past its swivel toward the chuck [mm].

    β = atan(b/f)
    p = √(f² + b²)   its edge comes round: φ ≥ β
    p = f cos φ + b sin φ   the swing stops before it

    With the tip at the axis the slide lies along the bed and its front points at the chuck; from there it swings.
    front: from the swivel to the front of the slide, f [mm]; half_width: b [mm]; swing: from there to the rim, φ [deg].
    Source: first principles.

    >>> slide_in_front(front=40.0, half_width=30.0, swing=90.0)
    50.0
    >>> slide_in_front(front=40.0, half_width=30.0, swing=0.0)
    40.0
    """
    turned = radians(swing)
    before = front * cos(turned) + half_width * sin(turned)
    return where(swing >= degrees(atan2(half_width, front)), sqrt(front * front + half_width * half_width), before)


def heel_clearance(*, radius: Numeric, chord: Numeric, tool_below_edge: Numeric) -> Numeric:
    """Front clearance below the edge at which a tool just clears a dish [deg].

    t = min(h, c/2)
    γ = atan((R − √(R² − t²)) / t)

    Below centre height the dish comes forward, t down by R − √(R² − t²), and it ends at its rim. radius: R [mm]; chord:
    across the mouth, c [mm]; tool_below_edge: depth of the tool below its edge, h [mm]. Source: first principles.

    >>> round(heel_clearance(radius=12.7, chord=24.0, tool_below_edge=10.0), 1)
    26.0
    """
    deep = minimum(tool_below_edge, chord / 2)
    forward = radius - sqrt((radius - deep) * (radius + deep))
    return degrees(atan2(forward, deep))


def stock_to_rough(*, radius: Numeric, depth: Numeric, convex: Truth, corner: Truth) -> Numeric:
    """Thickest metal outside the finished arc, measured square to it, before roughing [mm].

    t = R (√2 − 1)   rounded corner
    t = √(R² + s (2R − s)) − R   dome and crown
    t = s   dish and groove
    t = R   fillet

    The square edge of the stock stands half a chord out and R up from the centre of a convex arc, and
    half a chord squared is s(2R − s). In a hollow the metal is thickest in the middle; in a fillet it
    is the corner of the square step that was left, which is the centre of the arc.
    radius: R [mm]; depth: s [mm], R for a corner; convex, corner: truth values.
    Source: first principles.

    >>> round(stock_to_rough(radius=10.0, depth=10.0, convex=True, corner=True), 5)
    4.14214
    """
    sunk = where(corner, radius, depth)
    return where(convex, sqrt(radius * radius + sunk * (2 * radius - sunk)) - radius, sunk)


def passes(*, stock: Numeric, depth_of_cut: Numeric, finishing: Numeric) -> Numeric:
    """Passes over the arc: as many roughing passes as the metal asks for, and the finishing ones.

    n = ⌈t / d⌉ + f

    stock: thickest metal square to the arc, t [mm]; depth_of_cut: of a roughing pass, d [mm], above 0;
    finishing: finishing passes, f. Metal that is a whole number of cuts takes just that number.
    Source: first principles.

    >>> passes(stock=2.4, depth_of_cut=0.5, finishing=2)
    7.0
    """
    roughing = ceil(divide(stock, depth_of_cut) - 1e-9)
    return maximum(roughing, 0.0) + finishing
