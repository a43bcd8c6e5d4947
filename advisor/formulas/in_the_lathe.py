"""The work in the lathe: where the cut lies, how fast it turns, what it springs, what an attachment leaves free.

Pure functions of numbers or arrays. Lengths in mm, angles in degrees, speeds in m/min, spindle speeds in rpm.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from advisor.formulas import cutting, form_tool, swung_gear
from advisor.formulas.numeric import (
    absolute,
    both,
    divide,
    either,
    highest_not_above,
    known,
    maximum,
    minimum,
    nearest,
    negate,
    next_above,
    otherwise,
    sqrt,
    where,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth


def cut_position(
    *, from_end: Numeric, chord: Numeric, length: Numeric, corner: Truth, end: Truth, convex: Truth
) -> Numeric:
    """Distance from the end face to the middle of the cut [mm].

    p = 0   rounded corner and ends
    p = l   fillet: at its shoulder
    p = 0   fillet without a stated length: at the face, the worst place
    p = e + c/2   groove and crown

    from_end: e [mm]; chord: c [mm]; length: l [mm]; corner, end, convex: the shape. Source: first principles.

    >>> cut_position(from_end=20.0, chord=10.0, length=float("nan"), corner=False, end=False, convex=False)
    25.0
    """
    fillet = both(corner, negate(convex))
    at_shoulder = where(fillet, otherwise(length, 0.0), 0.0)
    at_face = either(corner, end)
    return where(at_face, at_shoulder, otherwise(from_end, 0.0) + otherwise(chord, 0.0) / 2)


def face_to_far_side(
    *, radius: Numeric, chord: Numeric, from_end: Numeric, length: Numeric, convex: Truth, corner: Truth
) -> Numeric:
    """Distance from the end face to the end of the arc that lies farthest from it [mm].

    f = R   rounded corner
    f = l   fillet: its shoulder
    f = e + c   groove and crown

    Not a number at a fillet whose shoulder has no stated distance from the face. radius: R [mm]; chord: c [mm];
    from_end: e [mm]; length: l [mm]; convex, corner: the shape. Means nothing on an end. Source: first principles.

    >>> face_to_far_side(radius=6.0, chord=8.0, from_end=20.0, length=50.0, convex=False, corner=False)
    28.0
    """
    return where(corner, where(convex, radius, length), from_end + chord)


def tolerance_left(*, tolerance: Numeric, aim_off: Numeric) -> Numeric:
    """Tolerance that is left where the aim lies beside the middle of the limits [mm].

    a = max(t − d, t / 1000)

    Never nothing, so that chances and shares can be computed from it; next to nothing too where the aim is not known.
    tolerance: t [mm]; aim_off: d [mm]. Source: first principles.

    >>> round(tolerance_left(tolerance=0.2, aim_off=0.15), 9)
    0.05
    """
    left, least = tolerance - aim_off, tolerance / 1000
    return where(left > least, left, least)


# ---- the chuck

# What nobody turns in the chuck alone: so many diameters out, and more than so many mm. Three or four diameters are
# what handbooks allow without support; at ten a light cut already springs the work by a tenth, and past it it climbs.
OUT_ALONE = (10.0, 60.0)
FASTEST_RIM = 30.0  # m/s, about what the cast iron of a chuck is made for; no lathe begins there


def longest_alone(*, diameter: Numeric) -> Numeric:
    """How far work may stand out of the chuck with nothing else to hold it [mm].

    l = max(10 D, 60)

    diameter: largest of the work, D [mm]. Numbers or arrays. Source: common practice.

    >>> longest_alone(diameter=40.0), longest_alone(diameter=3.0)
    (400.0, 60.0)
    """
    return maximum(OUT_ALONE[0] * diameter, OUT_ALONE[1])


def chuck_limit(*, chuck_highest_speed: Numeric, chuck_diameter: Numeric) -> Numeric:
    """Fastest that a chuck may turn: as it is rated, or else with the rim of cast iron at 30 m/s [rpm].

    n = m   it is rated
    n = 60000 u / (π D)   nobody knows

    chuck_highest_speed: m [rpm], not a number where it is not known; chuck_diameter: D [mm]; u = 30 m/s. Numbers or
    arrays. Source: common practice.

    >>> round(chuck_limit(chuck_highest_speed=float("nan"), chuck_diameter=200.0))
    2865
    """
    return otherwise(chuck_highest_speed, divide(60_000 * FASTEST_RIM, pi * chuck_diameter))


# ---- spindle speeds


def spindle_choice(
    *, speed: Numeric, diameter: Numeric, spindle_speeds: Sequence[float], chuck_limit: Numeric
) -> Numeric:
    """Highest spindle speed of the lathe that exceeds neither the surface speed nor the chuck's rating [rpm].

    n ≤ min(1000 v / (π D), m)   the highest step that is

    The slowest step where all are faster. speed: v [m/min]; diameter: D [mm]; spindle_speeds: of the lathe [rpm];
    chuck_limit: m [rpm]. Source: machinery-handbook, cutting speed formulas.

    >>> spindle_choice(speed=30.0, diameter=25.0, spindle_speeds=(200.0, 355.0, 500.0), chuck_limit=3000.0)
    355.0
    """
    wanted = cutting.spindle_speed(speed=speed, diameter=diameter)
    return highest_not_above(spindle_speeds, minimum(wanted, chuck_limit))


def next_speed_up(*, rpm: Numeric, spindle_speeds: Sequence[float], chuck_limit: Numeric) -> Numeric:
    """Next spindle speed above one, not past the chuck's rating; not a number where there is none [rpm].

    rpm: the present one [rpm]; spindle_speeds: of the lathe, ascending [rpm]; chuck_limit [rpm]. Source: common
    practice.

    >>> next_speed_up(rpm=355.0, spindle_speeds=(200.0, 355.0, 500.0), chuck_limit=3000.0)
    500.0
    """
    above = next_above(spindle_speeds, rpm)
    return where(above <= chuck_limit, above, above * float("nan"))


def fillet_feed(
    *, finish: Numeric, nose_radius: Numeric, slowest: Numeric, ordinary: Numeric, share: Numeric
) -> Numeric:
    """Feed a revolution along the work for a nose that turns a fillet [mm].

    f = min(max(min(√(31.18 r a / 1000), o), s), q r)   a roughness is asked for
    f = min(o, q r)   none is

    A small nose asks for a fine feed: it leaves f²/(8 r) standing, and breaks where the chip is as thick as it is round.
    finish: Ra, a [um]; nose_radius: r [mm]; slowest: s [mm]; ordinary: o [mm]; share: of the nose, q [1].
    Source: f²/(8 r), first principles; the share is common practice.

    >>> limits = {"finish": float("nan"), "slowest": 0.03, "ordinary": 0.15, "share": 0.25}
    >>> fillet_feed(nose_radius=0.2, **limits), fillet_feed(nose_radius=0.8, **limits)
    (0.05, 0.15)
    """
    feed = finishing_feed(finish=finish, nose_radius=nose_radius, slowest=slowest, ordinary=ordinary)
    return where(known(nose_radius), minimum(feed, share * nose_radius), float("nan"))


def finishing_feed(*, finish: Numeric, nose_radius: Numeric, slowest: Numeric, ordinary: Numeric) -> Numeric:
    """Hand feed a revolution that leaves the roughness asked for [mm].

    f = max(min(√(31.18 r a / 1000), o), s)   a roughness is asked for
    f = o   none is

    Held between the finest feed that a hand keeps even and the ordinary one. finish: Ra, a [um]; nose_radius: r [mm];
    slowest: s [mm]; ordinary: o [mm]. Source: ideal roughness of a round nose, Ra = f²/(31.18 r).
    """
    wanted = sqrt(31.18 * nose_radius * finish / 1000)
    return where(known(wanted), maximum(minimum(wanted, ordinary), slowest), ordinary)


def turning_nose(*, nose_radii: Sequence[float], radius: Numeric, convex: Truth, usual_nose_radius: Numeric) -> Numeric:
    """Nose radius of the tool for the swung methods: the smallest in the shop, and under R for a hollow [mm].

    nose_radii: in the shop, ascending [mm]; radius: R [mm]; convex: truth value; usual_nose_radius: where the
    shop states none [mm].
    Source: common practice.

    >>> turning_nose(nose_radii=(0.8, 1.6), radius=30.0, convex=True, usual_nose_radius=0.4)
    0.8
    """
    smallest = nose_radii[0] if len(nose_radii) else usual_nose_radius
    return where(convex, smallest, minimum(smallest, radius / 2))


# ---- form tool


def form_next_speed_up(
    *,
    rpm: Numeric,
    spindle_speeds: Sequence[float],
    chuck_limit: Numeric,
    form_tool_surface_speed: Numeric,
    straight_speed_hss: Numeric,
    share: Numeric,
    form_tool_power: Numeric,
    power_to_hand: Numeric,
) -> Numeric:
    """Next spindle speed above a form tool's, not past the chuck's rating; not a number where the edge runs fast, or
    would run too fast or ask too much of the motor there [rpm].

    rpm: the present one [rpm]; spindle_speeds: of the lathe, ascending [rpm]; chuck_limit [rpm];
    form_tool_surface_speed, straight_speed_hss [m/min]; share: of the base speed that a form tool starts at [1];
    form_tool_power, power_to_hand [kW]. Source: common practice.

    >>> lathe = {"spindle_speeds": (200.0, 355.0, 500.0), "chuck_limit": 3000.0, "power_to_hand": 1.5}
    >>> form_next_speed_up(
    ...     rpm=355.0, **lathe, form_tool_surface_speed=15.0, straight_speed_hss=30.0, share=0.5, form_tool_power=0.6
    ... )
    500.0
    >>> form_next_speed_up(
    ...     rpm=355.0, **lathe, form_tool_surface_speed=16.0, straight_speed_hss=30.0, share=0.5, form_tool_power=0.6
    ... )
    nan
    >>> form_next_speed_up(
    ...     rpm=355.0, **lathe, form_tool_surface_speed=15.0, straight_speed_hss=30.0, share=0.5, form_tool_power=1.2
    ... )
    nan
    """
    up = next_speed_up(rpm=rpm, spindle_speeds=spindle_speeds, chuck_limit=chuck_limit)
    burns = divide(form_tool_surface_speed * up, rpm) > straight_speed_hss
    stalls = divide(form_tool_power * up, rpm) > power_to_hand
    serves = both(form_tool_surface_speed <= share * straight_speed_hss, negate(either(burns, stalls)))
    return where(serves, up, up * float("nan"))


def nose_tool_serves(
    *,
    nose_radii: Sequence[float],
    radius_low: Numeric,
    radius_high: Numeric,
    true_within: Numeric,
    convex: Truth,
    end: Truth,
) -> Truth:
    """Whether a round-nose tool of the shop has the very radius of a fillet or a groove, safely within its limits.

    A nose is only so true, so the whole of what it may be has to lie within the limits. nose_radii: in the shop,
    ascending [mm]; radius_low, radius_high: limits of the radius [mm]; true_within: the nose's own error [mm]; convex,
    end: the shape. Source: common practice.

    >>> shop = {"nose_radii": (0.8, 3.0), "true_within": 0.03, "convex": False, "end": False}
    >>> nose_tool_serves(radius_low=2.9, radius_high=3.1, **shop)
    True
    >>> nose_tool_serves(radius_low=2.9, radius_high=3.0, **shop)
    False
    """
    hollow = both(negate(convex), negate(end))
    if not len(nose_radii):
        return both(hollow, radius_low != radius_low)
    nose = nearest(nose_radii, (radius_low + radius_high) / 2)
    return both(hollow, both(nose - true_within >= radius_low, nose + true_within <= radius_high))


def turning_nose_within(
    *,
    nose_radii: Sequence[float],
    radius_low: Numeric,
    radius_high: Numeric,
    margin: Numeric,
    largest_nose: Numeric,
    convex: Truth,
    corner: Truth,
) -> Numeric:
    """A nose that turns the diameter and lies well inside the limits of a fillet; not a number where none does [mm].

    nose_radii: in the shop, ascending [mm]; radius_low, radius_high: limits of the radius [mm]; margin: by which it lies
    inside them [mm]; largest_nose: that straight turning is done with [mm]; convex, corner: the shape. Of several the
    largest. Source: common practice.

    >>> fillet = {"margin": 0.1, "largest_nose": 1.6, "convex": False, "corner": True}
    >>> turning_nose_within(nose_radii=(0.4, 0.8, 2.5), radius_low=0.3, radius_high=2.9, **fillet)
    0.8
    >>> turning_nose_within(nose_radii=(0.4, 0.8), radius_low=0.75, radius_high=0.85, **fillet)
    nan
    """
    found = (radius_low + radius_high) * float("nan")
    for nose in nose_radii:
        inside = both(nose - margin >= radius_low, both(nose + margin <= radius_high, nose <= largest_nose))
        found = where(both(both(inside, negate(convex)), corner), nose, found)
    return found


def shelf_tool_radius(
    *,
    radius: Numeric,
    radius_low: Numeric,
    radius_high: Numeric,
    convex: Truth,
    width: Numeric,
    tools: Sequence[tuple[Numeric, Truth, Numeric, Numeric]],
    unchecked: Numeric,
) -> Numeric:
    """Radius of the form tool on the shelf that serves, nearest to the middle; not a number where none does [mm].

    radius: the middle; the rest as for form_tool.ready_tool_serves. Source: common practice.

    >>> shelf = ((4.1, True, 8.0, 0.02), (3.9, True, 8.0, 0.02), (4.0, False, 8.0, 0.02))
    >>> limits = {"radius_low": 3.8, "radius_high": 4.2}
    >>> shelf_tool_radius(radius=3.98, **limits, convex=True, width=4.0, tools=shelf, unchecked=0.03)
    3.9
    """
    best = radius * float("nan")
    limits: dict[str, Any] = {"radius_low": radius_low, "radius_high": radius_high, "convex": convex, "width": width}
    limits["unchecked"] = unchecked
    for tool in tools:
        nearer = either(negate(known(best)), absolute(tool[0] - radius) < absolute(best - radius))
        best = where(both(form_tool.ready_tool_serves(**limits, tools=(tool,)), nearer), tool[0], best)
    return best


def ready_radius(
    *,
    any_nose: Numeric,
    shelf_tool: Truth,
    shelf_tool_radius: Numeric,
    nose_tool: Truth,
    nose_radii: Sequence[float],
    radius: Numeric,
) -> Numeric:
    """Radius of the tool at hand: the form tool on the shelf, or a round nose; not a number where there is none [mm].

    any_nose: a nose that turns the diameter and will do, not a number where none does [mm]; shelf_tool, nose_tool: truth
    values; shelf_tool_radius, radius [mm]; nose_radii: ascending [mm]. Source: common practice.
    """
    nose = nearest(nose_radii, radius) if len(nose_radii) else radius * float("nan")
    other = where(shelf_tool, shelf_tool_radius, where(nose_tool, nose, float("nan")))
    return where(known(any_nose), any_nose, other)


def form_wear_metres(*, depth: Numeric, feed: Numeric, diameter: Numeric) -> Numeric:
    """Metres of work that pass the edge while it is fed in by a depth [m].

    l = π D s / (1000 f)

    depth: s [mm]; feed: f [mm]; diameter: D [mm]. Source: first principles.
    """
    return pi * diameter * divide(depth, feed) / 1000


# ---- freehand


# ---- swung methods


def work_over_hollow(
    *,
    disc: Numeric,
    radius: Numeric,
    depth: Numeric,
    diameter: Numeric,
    swung_diameter: Numeric,
    centre_from_axis: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
) -> Numeric:
    """Diameter of the work that hangs over whatever swings or stands within a disc about the centre of a hollow [mm].

    The disc comes within x of the axis beside the arc, and within y past a shoulder. Work of radius a hangs √(a² − x²)
    low there, and clears what work of twice that would.

    x = max(u − f, 0)
    y = max(u − √(max(f² − R², 0)), 0)
    w = 2 √(max(D²/4 − x², 0))   groove; small diameter of a fillet
    w = 2 √(max(d²/4 − y², 0))   shoulder of a fillet, where f > R
    w = D   dish where f > R − s, for then the disc reaches under the face
    w = 0   other dishes, and convex arcs, whose centre itself lies inside the work

    disc: radius that the base or slide reaches from the centre, f [mm]; radius: R [mm]; depth: s [mm]; diameter: D
    [mm]; swung_diameter: over the shoulder, d [mm]; centre_from_axis: u [mm]; convex, corner, end: the shape.
    Source: first principles.

    >>> fillet = dict(radius=10.0, depth=10.0, diameter=180.0, swung_diameter=200.0, centre_from_axis=100.0)
    >>> round(work_over_hollow(disc=38.0, **fillet, convex=False, corner=True, end=False), 1)
    154.8
    """
    beside = maximum(centre_from_axis - disc, 0.0)
    straight = 2 * sqrt(maximum(diameter / 2 * (diameter / 2) - beside * beside, 0.0))
    past = maximum(centre_from_axis - sqrt(maximum(disc * disc - radius * radius, 0.0)), 0.0)
    swung = swung_diameter / 2
    shoulder = where(disc > radius, 2 * sqrt(maximum(swung * swung - past * past, 0.0)), 0.0)
    dish = where(disc > radius - depth, diameter, 0.0)
    hollow = where(end, dish, where(corner, maximum(straight, shoulder), straight))
    return where(convex, 0.0, hollow)


def stickout_beside_chuck(
    *,
    set_radius: Numeric,
    half_width: Numeric,
    clearance: Numeric,
    stickout: Numeric,
    convex: Truth,
    corner: Truth,
    end: Truth,
    cut_position: Numeric,
) -> Numeric:
    """Stickout that lets a base swinging about the arc's centre clear the chuck [mm].

    n = s   hollows, whose centre lies in front of the work
    n = max(s, R + b + g)   dome and rounded corner: the centre lies R behind the face, next to the chuck
    n = max(s, R + g)   the same, where the base has no stated width
    n = max(s, p + b + g)   crown: the centre lies under its own middle
    n = max(s, p + g)   the same, where the base has no stated width

    set_radius: R [mm]; half_width: of the base, b [mm]; clearance: g [mm]; stickout: as it is, s [mm]; cut_position: p
    [mm]; convex, corner, end: the shape. Source: first principles.
    """
    behind = where(either(corner, end), set_radius, cut_position)
    needed = behind + otherwise(half_width, 0.0) + clearance
    return where(convex, maximum(stickout, needed), stickout)


def stickout_beside_slide(
    *,
    set_radius: Numeric,
    slide_front: Numeric,
    slide_half_width: Numeric,
    sweep: Numeric,
    clearance: Numeric,
    stickout: Numeric,
    convex: Truth,
    corner: Truth,
) -> Numeric:
    """Stickout that lets a compound slide swinging about the arc's centre clear the chuck [mm].

    φ = 90   rounded corner
    φ = s/2   dome
    β = atan(b/f)
    p = √(f² + b²)   its edge comes round: φ ≥ β
    p = f cos φ + b sin φ   the swing stops before it
    n = o   hollows, whose centre lies in front of the work
    n = max(o, R + p + g)   dome and rounded corner: the centre lies R behind the face

    set_radius: R [mm]; slide_front: from the swivel to the front of the slide, f [mm]; slide_half_width: b [mm]; sweep:
    of the arc, s [deg]; clearance: g [mm]; stickout: as it is, o [mm]; convex, corner: the shape. Source: first
    principles. See reach.slide_in_front.
    """
    swing = where(corner, 90.0, sweep / 2)
    front = swung_gear.slide_in_front(front=slide_front, half_width=slide_half_width, swing=swing)
    return where(convex, maximum(stickout, set_radius + front + clearance), stickout)


def height_allowance(
    *,
    set_radius: Numeric,
    tolerance: Numeric,
    share: Numeric,
    pip: Numeric,
    diameter: Numeric,
    off_centre_share: Numeric,
    most_off_centre: Numeric,
    end: Truth,
) -> Numeric:
    """How far a swung tip may stand off centre height [mm]; the edge limits it as well, and on an end the pip.

    h = min(√(k T (2R + k T)), c D, m, p)   ends
    h = min(√(k T (2R + k T)), c D, m)   elsewhere

    set_radius: R [mm]; tolerance: T [mm]; share: k [1]; pip: p [mm]; diameter: D [mm]; off_centre_share: beyond it the
    edge rubs or digs in, c [1]; most_off_centre: nobody sets a tool worse, m [mm]; end: truth value. Source: first
    principles.
    """
    by_radius = swung_gear.height_allowance(radius=set_radius, tolerance=tolerance, share=share)
    by_edge = minimum(minimum(by_radius, off_centre_share * diameter), most_off_centre)
    return where(end, minimum(by_edge, pip), by_edge)


def offset_allowance(
    *, tolerance: Numeric, share: Numeric, sweep: Numeric, pip: Numeric, corner: Truth, end: Truth
) -> Numeric:
    """How far a pivot may stand from its place [mm]; on an end the pip it leaves limits it too.

    e = min(k T / sin(φ/2), p)   ends
    e = k T   corners

    Not a number on an outside diameter, where a pivot off its place only moves the whole groove or crown.
    tolerance: T [mm]; share: k [1]; sweep: φ [deg]; pip: p [mm]; corner, end: the shape. Source: first principles.
    """
    by_profile = swung_gear.offset_allowance(tolerance=tolerance, share=share, sweep=sweep, end=end)
    return where(end, minimum(by_profile, pip), where(corner, by_profile, float("nan")))


def rod_on_shelf(
    *,
    shelf_rods: Sequence[float],
    rod_length: Numeric,
    radius_low: Numeric,
    radius_high: Numeric,
    nose_radius: Numeric,
    convex: Truth,
    spread: Numeric,
) -> Truth:
    """Whether a rod on the shelf gives a radius inside the tolerance, by no less than the spread that a rod has.

    shelf_rods: seat to seat, ascending [mm]; rod_length: of the rod that is wanted [mm]; radius_low, radius_high:
    limits of the radius [mm]; nose_radius, spread [mm]; convex: truth value. Source: first principles.

    >>> limits = {"radius_low": 119.5, "radius_high": 120.5}
    >>> rod_on_shelf(shelf_rods=(121.5,), rod_length=121.4, **limits, nose_radius=1.5, convex=True, spread=0.1)
    True
    """
    if not len(shelf_rods):
        return rod_length != rod_length
    length = nearest(shelf_rods, rod_length)
    turned = length - where(convex, nose_radius, -nose_radius)
    return both(turned - spread >= radius_low, turned + spread <= radius_high)


def template_gap(
    *, radius: Numeric, template_sees: Numeric, largest_template: Numeric, has_template_stock: Truth
) -> Numeric:
    """Smallest gap that a template of this radius shows; not a number where 2R is too large to turn or bore, or where
    there is nothing to make one of [mm].

    radius: R [mm]; template_sees [mm]; largest_template: diameter [mm]; has_template_stock: truth value. Source: common
    practice.
    """
    return where(both(2 * radius <= largest_template, has_template_stock), template_sees, float("nan"))
