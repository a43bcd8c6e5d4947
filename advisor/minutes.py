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
EIGHTY_PER_CENT = 0.8416212335729143  # one-sided normal quantile of 0.80


def mean(*, low, likely, high):
    """Mean of a three-point estimate: (low + 4 likely + high) / 6.

    Source: PERT three-point estimate (pert).

    >>> round(mean(low=4.0, likely=6.0, high=12.0), 4)
    6.6667
    """
    return (low + 4 * likely + high) / 6


def deviation(*, low, high):
    """Standard deviation of a three-point estimate: (high − low) / 6.

    Source: PERT three-point estimate (pert).

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
):
    """Minutes to grind a form tool to a tolerance; nothing for one that lies ready on the shelf [min].

    Read off the shop's four figures (at ±0.4, ±0.1, ±0.075 and ±0.05 mm) on a logarithmic scale of the tolerance;
    finer than ±0.05 it grows in proportion, and large radii take longer for each millimetre over 6 mm.
    """
    steps = (0.05, 0.075, 0.1, 0.4)
    at_step = interpolate(
        log(maximum(tolerance, 1e-6)),
        tuple(log(step) for step in steps),
        (grind_very_close, grind_close, grind_ordinary, grind_loose),
    )
    finer = maximum(divide(steps[0], tolerance), 1.0)
    larger = 1 + grind_per_mm * maximum(radius - 6.0, 0.0)
    return where(ready_tool, 0.0, at_step * finer * larger)


def ground_spread(*, tolerance, radius, ground_share, form_tool_set_best, form_tool_set_per_radius):
    """Spread of a ground edge [mm]: a share of the tolerance, since a grinder stops when the gauge is content,
    but never under what the grinding can do."""
    return maximum(ground_share * tolerance, form_tool_set_best + form_tool_set_per_radius * radius)


def form_piece(*, depth, arc_length, feed, rpm, approach, form_tool_chamfer):
    """Minutes for one arc with a form tool [min]: approach, chamfer, plunge to depth."""
    plunge = divide(depth, feed * rpm)
    return approach + form_tool_chamfer * depth * arc_length / 2 + plunge


def freehand_piece(
    *, removed_volume, finished_area, freehand_start, freehand_per_area, freehand_per_volume
):
    """Minutes for one arc by hand [min]: start, surface to blend and file, metal to remove."""
    return freehand_start + freehand_per_area * finished_area + freehand_per_volume * removed_volume


def swung_piece(*, passes, arc_length, end, feed, rpm, each_pass, approach):
    """Minutes for one arc swung in passes [min]. On an end the tip travels half the arc, from rim to axis."""
    path = where(end, arc_length / 2, arc_length)
    return approach + passes * (divide(path, feed * rpm) + each_pass)


def chance(*, limit, spread):
    """Chance that a normal error stays within ± limit: erf(limit / (spread √2)); 1 where nothing spreads.

    >>> round(chance(limit=1.0, spread=1.0), 4)
    0.6827
    """
    return where(spread > 0, erf(divide(limit, spread) / ROOT_2), 1.0)


def attempts(*, chance, most):
    """Settings to be expected until one is right: 1 / chance, at most a stated number."""
    return minimum(divide(1.0, chance), most)


def in_tolerance(*, set_error, piece_error, tolerance, profile_tolerance):
    """Chance that a piece lies in tolerance once the setting has been found right on a trial piece.

    Both errors are taken as shares of their own tolerance: the setting against the tolerance on R, the piece
    against the tolerance on the profile. A setting outside ±1 has been put right, so its spread is that of a
    normal distribution cut off at ±1: σ² (1 − 2 a φ(a) / (2Φ(a) − 1)), a = 1/σ.
    """
    set_share = divide(set_error, tolerance)
    piece_share = divide(piece_error, profile_tolerance)
    a = divide(1.0, maximum(set_share, 1e-9))
    inside = erf(minimum(a, 1e3) / ROOT_2)
    density = exp(-minimum(a, 1e2) * minimum(a, 1e2) / 2) / ROOT_2_PI
    kept = 1 - divide(2 * minimum(a, 1e2) * density, inside)
    spread = sqrt(set_share * set_share * maximum(kept, 0.0) + piece_share * piece_share)
    return chance(limit=1.0, spread=spread)


def holds(*, set_error, piece_error, depth_per_radius):
    """Tolerance on the radius that a method holds on nine pieces in ten [mm].

    1.645 √(set² + (piece / |ds/dR|)²): an error of profile counts as the error of radius that it looks like.
    """
    as_radius = divide(piece_error, minimum(depth_per_radius, 1.0))
    return NINE_IN_TEN * sqrt(set_error * set_error + as_radius * as_radius)


def misses(*, in_tolerance, piece, rework_share, scrap_share, minutes_in_piece):
    """Minutes of rework and scrap that each arc bears [min].

    A miss is put right in a share of the arc's minutes, or scraps the piece: then the arc is made again on a
    new piece, with all the work that was in the old one.
    """
    rework = (1 - scrap_share) * rework_share * piece
    scrap = scrap_share * (piece + minutes_in_piece)
    return (1 - in_tolerance) * (rework + scrap)


def batch_deviation(
    *, tooling_low, tooling_high, setup_low, setup_high, piece_low, piece_high, quantity, places
):
    """Standard deviation of the batch minutes [min].

    The arcs of a batch run fast or slow together, since what is uncertain is the estimate and not the hand, so
    their deviation counts in proportion to their number.
    """
    tooling = deviation(low=tooling_low, high=tooling_high)
    setup = deviation(low=setup_low, high=setup_high)
    pieces = quantity * places * deviation(low=piece_low, high=piece_high)
    return sqrt(tooling * tooling + setup * setup + pieces * pieces)


def cost(*, batch_mean, hourly_rate, stock, tooling_mean):
    """Cost of the batch: hours at the shop's rate, and stock where tooling is made."""
    return batch_mean / 60 * hourly_rate + where(tooling_mean > 0, stock, 0.0)


def if_standing(*, ruled_out, batch_mean):
    """The batch minutes of a method that stands; without end for one that is ruled out."""
    return where(ruled_out, float("inf"), otherwise(batch_mean, float("inf")))


def least(
    *,
    form_tool_standing_minutes,
    freehand_standing_minutes,
    pivot_standing_minutes,
    rod_standing_minutes,
    compound_standing_minutes,
):
    """The least of the five methods' standing minutes [min]."""
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
    """The second least of the five methods' standing minutes [min]."""
    least_so_far = minimum(form_tool_standing_minutes, freehand_standing_minutes)
    second = maximum(form_tool_standing_minutes, freehand_standing_minutes)
    for value in (pivot_standing_minutes, rod_standing_minutes, compound_standing_minutes):
        second = minimum(second, maximum(least_so_far, value))
        least_so_far = minimum(least_so_far, value)
    return second
