"""Minutes, misses and money: every thing that counts for or against a method, as minutes.

Pure functions of numbers or arrays. The starting values come from rules/practice.toml or from the shop.
"""

from advisor.numeric import (
    divide,
    erf,
    exp,
    interpolate,
    log,
    maximum,
    minimum,
    otherwise,
    sqrt,
    where,
)

ROOT_2 = 1.4142135623730951
ROOT_2_PI = 2.5066282746310002
NINE_IN_TEN = 1.6448536269514722  # two-sided normal quantile of 0.90


def mean(*, low, likely, high):
    """Mean of a three-point estimate [min].

    m = (l + 4k + h) / 6

    low: l [min]; likely: k [min]; high: h [min]. Source: PERT three-point estimate (pert).

    >>> round(mean(low=4.0, likely=6.0, high=12.0), 4)
    6.6667
    """
    return (low + 4 * likely + high) / 6


def deviation(*, low, high):
    """Standard deviation of a three-point estimate [min].

    d = (h − l) / 6

    low: l [min]; high: h [min]. Source: PERT three-point estimate (pert).

    >>> round(deviation(low=4.0, high=12.0), 4)
    1.3333
    """
    return (high - low) / 6


def grinding(
    *,
    tolerance,
    radius,
    ready_tool,
    grind_loose,
    grind_ordinary,
    grind_close,
    grind_very_close,
    grind_per_mm,
    grind_radius,
):
    """Minutes to grind a form tool to a tolerance; nothing for one that lies ready on the shelf [min].

    b = V   at ±0.05 mm and finer
    b = V + (C − V) ln(T/0.05) / ln(0.075/0.05)   up to ±0.075 mm
    b = C + (O − C) ln(T/0.075) / ln(0.1/0.075)   up to ±0.1 mm
    b = O + (L − O) ln(T/0.1) / ln(0.4/0.1)   up to ±0.4 mm
    b = L   beyond
    g = 0   a tool lies ready
    g = b max(0.05/T, 1) (1 + k max(R − r, 0))

    Read off the shop's four figures (at ±0.4, ±0.1, ±0.075 and ±0.05 mm) on a logarithmic scale of the tolerance;
    finer than ±0.05 it grows in proportion, and large radii take longer for each millimetre over a stated one.
    tolerance: T [mm]; radius: R [mm]; ready_tool: truth value; grind_loose: L [min]; grind_ordinary: O [min];
    grind_close: C [min]; grind_very_close: V [min]; grind_per_mm: k [1/mm]; grind_radius: r [mm].
    Source: estimate.
    """
    steps = (0.05, 0.075, 0.1, 0.4)  # what the four figures are minutes for
    at_step = interpolate(
        log(maximum(tolerance, 1e-6)),
        tuple(log(step) for step in steps),
        (grind_very_close, grind_close, grind_ordinary, grind_loose),
    )
    finer = maximum(divide(steps[0], tolerance), 1.0)
    larger = 1 + grind_per_mm * maximum(radius - grind_radius, 0.0)
    return where(ready_tool, 0.0, at_step * finer * larger)


def ground_spread(*, tolerance, radius, ground_share, form_tool_set_best, form_tool_set_per_radius):
    """Spread of a ground edge [mm].

    e = max(k T, b + c R)

    A share of the tolerance, since a grinder stops when the gauge is content, but never under what the grinding can do.
    tolerance: T [mm]; radius: R [mm]; ground_share: k [1]; form_tool_set_best: b [mm]; form_tool_set_per_radius: c [1].
    Source: estimate.
    """
    return maximum(ground_share * tolerance, form_tool_set_best + form_tool_set_per_radius * radius)


def form_piece(*, depth, cut, arc_length, feed, rpm, approach, form_tool_chamfer):
    """Minutes for one arc with a form tool [min]: approach, roughing over the section, plunge of what is left.

    t = a + q s L / 2 + u / (f n)

    depth: of the arc, s [mm]; cut: part of it that is left for the form tool, u [mm]; arc_length: edge in the cut, L
    [mm]; feed: a revolution, f [mm]; rpm: n; approach: a [min]; form_tool_chamfer: roughing, q [min/mm²]. Source:
    estimate.
    """
    plunge = divide(cut, feed * rpm)
    return approach + form_tool_chamfer * depth * arc_length / 2 + plunge


def freehand_piece(
    *,
    removed_volume,
    finished_area,
    freehand_start,
    freehand_per_area,
    freehand_per_volume,
    freehand_volume,
    roughing_per_volume,
):
    """Minutes for one arc by hand [min]: start, surface to blend and file, metal to remove.

    h = min(V, m)
    t = a + b S + c h + d (V − h)

    Only so much metal as freehand_volume goes by hand; the rest is first taken off in steps under power.
    removed_volume: V [mm³]; finished_area: S [mm²]; freehand_start: a [min]; freehand_per_area: b [min/mm²];
    freehand_per_volume: c [min/mm³]; freehand_volume: m [mm³]; roughing_per_volume: d [min/mm³]. Source: estimate.
    """
    by_hand = minimum(removed_volume, freehand_volume)
    turned = freehand_per_volume * by_hand + roughing_per_volume * (removed_volume - by_hand)
    return freehand_start + freehand_per_area * finished_area + turned


def swung_piece(*, passes, finishing, arc_length, end, rough_feed, feed, rpm, each_pass, approach, roughing_minutes):
    """Minutes for one arc swung in passes [min], of which the last are finishing passes at a finer feed.

    l = L / 2   on an end, where the tip travels from rim to axis
    l = L   elsewhere
    t = a + r + p e + l ((p − q) / g + q / f) / n

    passes: p; finishing: q; arc_length: L [mm]; end: truth value; rough_feed: a revolution, g [mm]; feed: when
    finishing, f [mm]; rpm: n; each_pass: e [min]; approach: a [min]; roughing_minutes: r [min]. Source: estimate.
    """
    path = where(end, arc_length / 2, arc_length)
    turns = divide(passes - finishing, rough_feed) + divide(finishing, feed)
    return approach + roughing_minutes + passes * each_pass + path * divide(turns, rpm)


def chance(*, limit, spread):
    """Chance that a normal error stays within ± limit; 1 where nothing spreads.

    c = erf(T / (e √2))
    c = 1   nothing spreads

    limit: T [mm]; spread: standard deviation, e [mm]. Source: normal distribution.

    >>> round(chance(limit=1.0, spread=1.0), 4)
    0.6827
    """
    return where(spread > 0, erf(divide(limit, spread) / ROOT_2), 1.0)


def attempts(*, chance, most):
    """Settings to be expected until one is right, at most a stated number.

    a = min(1 / c, m)

    chance: c [1]; most: m [1]. Source: mean of the geometric distribution.
    """
    return minimum(divide(1.0, chance), most)


def in_tolerance(*, set_error, piece_error, tolerance, profile_tolerance, record=1.0):
    """Chance that a piece lies in tolerance once the setting has been found right on a trial piece.

    a = T / e
    k = 1 − 2 a exp(−a² / 2) / √(2π) / erf(a / √2)
    σ = r √(k / a² + (p / t)²)
    c = erf(1 / (σ √2))
    c = erf(1 / (r p / t √2))   nothing is set once

    Both errors are taken as shares of their own tolerance: the setting against the tolerance on R, the piece against
    the tolerance on the profile. A setting outside ±1 has been put right, so its spread is that of a normal
    distribution cut off at ±1. set_error: e [mm]; piece_error: p [mm]; tolerance: T [mm]; profile_tolerance: t [mm];
    record: what the shop's own misses make of the whole spread, r [1]. Source: first principles.
    """
    set_share = divide(set_error, tolerance)
    piece_share = divide(piece_error, profile_tolerance)
    a = divide(1.0, maximum(set_share, 1e-9))
    inside = erf(minimum(a, 1e3) / ROOT_2)
    density = exp(-minimum(a, 1e2) * minimum(a, 1e2) / 2) / ROOT_2_PI
    kept = 1 - divide(2 * minimum(a, 1e2) * density, inside)
    spread = record * sqrt(set_share * set_share * maximum(kept, 0.0) + piece_share * piece_share)
    return chance(limit=1.0, spread=spread)


def holds(*, set_error, piece_error, depth_per_radius, record=1.0):
    """Tolerance on the radius that a method holds on nine pieces in ten [mm].

    h = 1.644854 r √(e² + (p / min(q, 1))²)

    An error of profile counts as the error of radius that it looks like. set_error: e [mm]; piece_error: p [mm];
    depth_per_radius: q [1]; record: what the shop's own misses make of the spread, r [1]. Source: normal distribution.
    """
    as_radius = divide(piece_error, minimum(depth_per_radius, 1.0))
    return record * NINE_IN_TEN * sqrt(set_error * set_error + as_radius * as_radius)


def misses(*, in_tolerance, piece, rework_share, scrap_share, minutes_in_piece):
    """Minutes of rework and scrap that each arc bears [min].

    m = (1 − c) ((1 − s) w t + s (t + o))

    A miss is put right in a share of the arc's minutes, or scraps the piece: then the arc is made again on a new piece,
    with all the work that was in the old one. in_tolerance: c [1]; piece: t [min]; rework_share: w [1]; scrap_share: s
    [1]; minutes_in_piece: o [min]. Source: first principles.
    """
    rework = (1 - scrap_share) * rework_share * piece
    scrap = scrap_share * (piece + minutes_in_piece)
    return (1 - in_tolerance) * (rework + scrap)


def batch_deviation(*, tooling_low, tooling_high, setup_low, setup_high, piece_low, piece_high, quantity, places):
    """Standard deviation of the batch minutes [min].

    d = √(((b − a)/6)² + ((e − c)/6)² + (n p (h − g)/6)²)

    The arcs of a batch run fast or slow together, since what is uncertain is the estimate and not the hand, so their
    deviation counts in proportion to their number. tooling_low: a [min]; tooling_high: b [min]; setup_low: c [min];
    setup_high: e [min]; piece_low: g [min]; piece_high: h [min]; quantity: n; places: p.
    Source: PERT three-point estimate (pert).
    """
    tooling = deviation(low=tooling_low, high=tooling_high)
    setup = deviation(low=setup_low, high=setup_high)
    pieces = quantity * places * deviation(low=piece_low, high=piece_high)
    return sqrt(tooling * tooling + setup * setup + pieces * pieces)


def cost(*, batch_mean, hourly_rate, stock, tooling_mean):
    """Cost of the batch: hours at the shop's rate, and stock where tooling is made [money].

    k = t/60 r + s   tooling is made
    k = t/60 r   nothing is made

    batch_mean: t [min]; hourly_rate: r [money/h]; stock: s [money]; tooling_mean: minutes [min]. Source: first
    principles.
    """
    return batch_mean / 60 * hourly_rate + where(tooling_mean > 0, stock, 0.0)


def if_standing(*, ruled_out, batch_mean):
    """The batch minutes of a method that stands; without end for one that is ruled out [min].

    m = t

    ruled_out: truth value; batch_mean: t [min]. Source: first principles.
    """
    return where(ruled_out, float("inf"), otherwise(batch_mean, float("inf")))


def least(
    *,
    form_tool_standing_minutes,
    freehand_standing_minutes,
    pivot_standing_minutes,
    rod_standing_minutes,
    compound_standing_minutes,
):
    """The least of the five methods' standing minutes [min].

    m = min(a, b, c, d, e)

    form_tool_standing_minutes: a [min]; freehand_standing_minutes: b [min]; pivot_standing_minutes: c [min];
    rod_standing_minutes: d [min]; compound_standing_minutes: e [min]. Source: first principles.
    """
    a = minimum(form_tool_standing_minutes, freehand_standing_minutes)
    b = minimum(pivot_standing_minutes, rod_standing_minutes)
    return minimum(minimum(a, b), compound_standing_minutes)


def second_least(
    *,
    form_tool_standing_minutes,
    freehand_standing_minutes,
    pivot_standing_minutes,
    rod_standing_minutes,
    compound_standing_minutes,
):
    """The second least of the five methods' standing minutes [min].

    form_tool_standing_minutes, freehand_standing_minutes, pivot_standing_minutes, rod_standing_minutes,
    compound_standing_minutes: of each method [min]. Source: first principles.

    >>> names = ("form_tool", "freehand", "pivot", "rod", "compound")
    >>> second_least(**{f"{n}_standing_minutes": m for n, m in zip(names, (30.0, 20.0, 25.0, 40.0, 90.0))})
    25.0
    """
    least_so_far = minimum(form_tool_standing_minutes, freehand_standing_minutes)
    second = maximum(form_tool_standing_minutes, freehand_standing_minutes)
    for value in (pivot_standing_minutes, rod_standing_minutes, compound_standing_minutes):
        second = minimum(second, maximum(least_so_far, value))
        least_so_far = minimum(least_so_far, value)
    return second
