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

    radius: the wanted radius, R [mm]; radius_low: smallest that the drawing takes, l [mm]; radius_high: largest, h [mm];
    window_low: smallest that the equipment reaches, w [mm]; window_high: largest, v [mm]. Not a number where no radius
    lies in both, or a limit is not known.
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


def height_error_radius(*, radius, offset):
    """Radius that is really turned with the tool off centre height [mm].

    R' = √(R² + h²)

    radius: tip to pivot, R [mm]; offset: tool above or below centre height, h [mm]. The arc swings in
    a level plane h away from the axis, so on an end the work is a sphere of radius R', with a pip of
    radius h in the middle. Elsewhere each work radius x grows to √(x² + h²), which is the smaller
    error as long as the work there is larger than R.
    Source: first principles.

    >>> round(height_error_radius(radius=24.0, offset=7.0), 9)
    25.0
    """
    return sqrt(radius * radius + offset * offset)


def height_allowance(*, radius, tolerance, share):
    """How far the tool may stand off centre height before the radius has spent its share [mm].

    h = √((R + kT)² − R²)

    The pip of radius h that is left in the middle of an end is a limit of its own, and mostly the tighter.
    radius: R [mm]; tolerance: half width of the tolerance on R, T [mm]; share: the part of it that this
    error may spend, k, 0 to 1. Source: first principles (inverse of height_error_radius).

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


def stock_after_chamfer(*, radius, convex):
    """Thickest metal outside the arc of a corner once it is chamfered at 45°, square to the arc [mm].

    t = R(sec 22.5° − 1) on a round corner, whose chamfer touches the arc
    t = R(1 − cos 45°) in a fillet, whose chamfer joins the ends of the arc

    radius: R [mm]; convex: truth value. Source: first principles.

    >>> round(stock_after_chamfer(radius=10.0, convex=True), 5)
    0.82392
    """
    return radius * where(convex, 2 * sqrt(1 - sqrt(0.5)) - 1, 1 - sqrt(0.5))


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


def clearance_under_work(*, post_top_to_axis, half_diameter):
    """Room between the top of the pivot post and the work above it; negative where they meet [mm].

    post_top_to_axis: height of the spindle axis above the post [mm]; half_diameter: radius of the work [mm].
    Source: first principles.

    >>> clearance_under_work(post_top_to_axis=48.0, half_diameter=20.0)
    28.0
    """
    return post_top_to_axis - half_diameter


def stickout_needed(*, radius, base_half_width, convex):
    """Stickout that leaves room for the base between the chuck and the pivot; 0 for a concave arc [mm].

    The pivot of a convex arc stands R behind the face, and half the base behind that: R + b.
    radius: R [mm]; base_half_width: half width of the base or slide, b [mm]; convex: truth value.
    Source: first principles.

    >>> stickout_needed(radius=30.0, base_half_width=25.0, convex=True)
    55.0
    """
    return where(convex, radius + base_half_width, 0.0)
