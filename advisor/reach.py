"""What the pivot arm, the radius rod and the swung compound have in common.

The radius to aim at when a reach ends near it, what a setting that is slightly out leaves in the
work, and how many passes the metal asks for. Numbers or arrays throughout.
"""

from advisor.numeric import (
    NAN,
    ceil,
    divide,
    maximum,
    minimum,
    radians,
    sin,
    sqrt,
    where,
)


def aim_in_window(*, radius, radius_low, radius_high, window_low, window_high):
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


def outside_window(*, radius, window_low, window_high):
    """How far a radius lies outside a reach: 0 inside it [mm].

    radius [mm]; window_low, window_high: the smallest and the largest radius in reach [mm].
    Source: first principles.

    >>> outside_window(radius=9.5, window_low=10.0, window_high=60.0)
    0.5
    """
    return maximum(maximum(window_low - radius, radius - window_high), 0.0)


def height_allowance(*, radius, tolerance, share):
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


def offset_allowance(*, tolerance, share, sweep, end=False):
    """How far the centre of the swing may lie off its place, square to the axis [mm].

    e = k T / sin φ, φ = half the sweep on an end, 90° elsewhere

    A centre e off leaves e·sin φ square to a surface whose normal stands φ from the axis; on an end
    the largest φ is at the rim, while a corner, a groove and a crown reach 90°. On an end the pip, or
    the pointed middle, of radius e is a limit of its own.
    tolerance: half width that this error of profile is measured against, T [mm]; share: the part that
    it may spend, k, 0 to 1; sweep: sweep of the whole arc [deg]; end: true for a dome or a dish.
    Source: first principles.

    >>> round(offset_allowance(tolerance=0.1, share=0.5, sweep=60.0, end=True), 9)
    0.1
    >>> offset_allowance(tolerance=0.1, share=0.5, sweep=90.0)
    0.05
    """
    return divide(share * tolerance, where(end, sin(radians(sweep / 2)), 1.0))


def stock_to_rough(*, radius, depth, convex, corner):
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


def passes(*, stock, depth_of_cut, finishing):
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
