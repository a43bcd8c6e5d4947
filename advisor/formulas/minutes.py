"""Minutes, misses and money: every thing that counts for or against a method, as minutes.

Pure functions of numbers or arrays. The starting values come from rules/practice.toml or from the shop.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.numeric import (
    both,
    divide,
    erf,
    interpolate,
    log,
    maximum,
    minimum,
    otherwise,
    power,
    sqrt,
    where,
    where_few,
)

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric, Truth


ROOT_2 = 1.4142135623730951
NINE_IN_TEN = 1.6448536269514722  # two-sided normal quantile of 0.90
Z_80 = 0.8416212335729143  # normal quantile of 0.80
MOST_SCRAPPED = 3.0  # scrapped pieces in a batch, on average, from which they come to a normal error
LUMPY = 0.2  # share of the variance from which single scrapped pieces are counted out
MOST_COUNTED, HALVINGS = 8, 13
MOST_ROUNDS = 12  # after which nobody has a hope left


def mean(*, low: Numeric, likely: Numeric, high: Numeric) -> Numeric:
    """Mean of a three-point estimate [min].

    m = (l + 4k + h) / 6

    low: l [min]; likely: k [min]; high: h [min]. Source: PERT three-point estimate (pert).

    >>> round(mean(low=4.0, likely=6.0, high=12.0), 4)
    6.6667
    """
    return (low + 4 * likely + high) / 6


def deviation(*, low: Numeric, high: Numeric) -> Numeric:
    """Standard deviation of a three-point estimate [min].

    d = (h − l) / 6

    low: l [min]; high: h [min]. Source: PERT three-point estimate (pert).

    >>> round(deviation(low=4.0, high=12.0), 4)
    1.3333
    """
    return (high - low) / 6


def grinding(
    *,
    tolerance: Numeric,
    radius: Numeric,
    ready_tool: Truth,
    grind_loose: Numeric,
    grind_ordinary: Numeric,
    grind_close: Numeric,
    grind_very_close: Numeric,
    grind_per_mm: Numeric,
    grind_radius: Numeric,
) -> Numeric:
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
    tolerance: as a corner asks for it, T [mm]; radius: R [mm]; ready_tool: truth value; grind_loose: L [min]; grind_ordinary: O [min];
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


def form_piece(
    *,
    depth: Numeric,
    cut: Numeric,
    arc_length: Numeric,
    feed: Numeric,
    rpm: Numeric,
    approach: Numeric,
    form_tool_chamfer: Numeric,
) -> Numeric:
    """Minutes for one arc with a form tool [min]: approach, roughing over the section, plunge of what is left.

    t = a + q s L / 2 + u / (f n)

    depth: of the arc, s [mm]; cut: part of it that is left for the form tool, u [mm]; arc_length: edge in the cut, L
    [mm]; feed: a revolution, f [mm]; rpm: n; approach: a [min]; form_tool_chamfer: roughing, q [min/mm²]. Source:
    estimate.
    """
    plunge = divide(cut, feed * rpm)
    return approach + form_tool_chamfer * depth * arc_length / 2 + plunge


def eye_spread(
    *,
    stock_to_rough: Numeric,
    radius: Numeric,
    nose_radius: Numeric,
    convex: Truth,
    eye_left_share: Numeric,
    eye_share: Numeric,
    factor: Numeric,
) -> Numeric:
    """Spread of profile of an arc led by eye, roughed and not gauged yet [mm].

    e = min(k l S f, S)   convex
    e = min(k l (1 − n/R) S f, S)   concave

    A share of how far the roughed shape stands from the arc, and never more than the metal that stood there; in a hollow
    the round nose is part of the shape itself. stock_to_rough: thickest metal square to the arc before roughing, S [mm];
    radius: R [mm]; nose_radius: n [mm]; convex: truth value; eye_left_share: part of it that stands after roughing, l
    [1]; eye_share: k [1]; factor: skill and shape, f [1]. Source: estimate.

    >>> round(eye_spread(stock_to_rough=2.485, radius=6.0, nose_radius=3.0, convex=True, eye_left_share=0.2,
    ...                  eye_share=0.5, factor=1.0), 3)
    0.248
    """
    left = where(convex, 1.0, 1 - divide(nose_radius, radius))
    return minimum(eye_share * eye_left_share * left * stock_to_rough * factor, stock_to_rough)


def step_spread(
    *, cusp: Numeric, dial_graduation: Numeric, step_dial_spread: Numeric, step_cusp_share: Numeric, factor: Numeric
) -> Numeric:
    """Spread of profile of an arc stepped off by the dials and blended, not gauged yet [mm].

    e = (max(d, g) + k c) f

    cusp: c [mm]; dial_graduation: g [mm]; step_dial_spread: dials and backlash, d [mm]; step_cusp_share: part of the cusp
    that blending leaves uncertain, k [1]; factor: skill, f [1]. Source: estimate.

    >>> round(step_spread(cusp=0.1, dial_graduation=0.02, step_dial_spread=0.03, step_cusp_share=0.3, factor=1.0), 6)
    0.06
    """
    return (maximum(step_dial_spread, dial_graduation) + step_cusp_share * cusp) * factor


def gauging(*, hand_arc: Numeric, gauging_start: Numeric, gauging_round: Numeric, gauging_length: Numeric) -> Numeric:
    """Minutes for one round by hand: stop, gauge, mark, take off what stands proud [min].

    g = a + b min(L/l, √(L/l))

    It grows with the arc, but a long arc is not gauged at every millimetre. hand_arc: length of arc that is worked on, L
    [mm]; gauging_start: a [min]; gauging_round: b [min]; gauging_length: that it is stated for, l [mm]. Source: estimate.
    """
    part = hand_arc / gauging_length
    return gauging_start + gauging_round * minimum(part, sqrt(part))


def rounds(*, spread: Numeric, allowed: Numeric, floor: Numeric, wanted_spreads: Numeric) -> Numeric:
    """Rounds of gauging and correcting, each of which halves the error, until it is as small as asked or as can be.

    l = max(P, F) / z
    n = ⌈ln(s / l) / ln(2)⌉
    n = 0   as small as that already

    At most twelve; none where nothing can be gauged. spread: before the first, s [mm]; allowed: what the profile may be
    off, P [mm]; floor: what neither gauge nor hand gets under, F [mm]; wanted_spreads: standard deviations that have to
    fit in, z [1]. Counted by comparing, so that numbers and arrays agree at every whole power.
    Source: first principles (halving); estimate for the half.

    >>> rounds(spread=0.25, allowed=0.0414, floor=0.025, wanted_spreads=2.0)
    4.0
    """
    limit = maximum(allowed, floor) / wanted_spreads
    count = 0.0
    for halvings in range(MOST_ROUNDS):
        count = count + where(spread > limit * 2.0**halvings, 1.0, 0.0)
    return count


def after_rounds(*, spread: Numeric, rounds: Numeric, floor: Numeric, wanted_spreads: Numeric) -> Numeric:
    """Spread that is left after rounds of correcting [mm].

    e = max(s / 2^n, min(s, F / z))

    spread: before, s [mm]; rounds: n; floor: F [mm]; wanted_spreads: z [1]. Source: first principles (halving).

    >>> after_rounds(spread=0.2, rounds=3.0, floor=0.02, wanted_spreads=2.0)
    0.025
    """
    return maximum(spread / power(2.0, rounds), least_spread(spread=spread, floor=floor, wanted_spreads=wanted_spreads))


def least_spread(*, spread: Numeric, floor: Numeric, wanted_spreads: Numeric) -> Numeric:
    """Spread when everything is corrected that can be [mm].

    e = min(s, F / z)

    spread: before, s [mm]; floor: F [mm]; wanted_spreads: z [1]. Source: first principles.
    """
    return minimum(spread, floor / wanted_spreads)


def eye_piece(
    *,
    hand_arc: Numeric,
    largest_diameter: Numeric,
    removed_volume: Numeric,
    freehand_start: Numeric,
    freehand_start_length: Numeric,
    freehand_blending: Numeric,
    freehand_blending_diameter: Numeric,
    blended_again: Numeric,
    freehand_per_volume: Numeric,
    freehand_volume: Numeric,
    roughing_per_volume: Numeric,
    gauging_minutes: Numeric,
    rounds: Numeric,
) -> Numeric:
    """Minutes for one arc by eye [min]: start, metal to remove, surface to blend, and the rounds of gauging.

    h = min(V, m)
    t = a min(L / l, 1) + b L √(D/e) (1 + k n) + c h + d (V − h) + g (n + 1)

    Only so much metal as freehand_volume goes by hand; the rest is first taken off in steps under power. What is right
    at once is gauged once all the same. hand_arc: L [mm]; finished_area: S [mm²]; removed_volume: V [mm³];
    largest_diameter: D [mm]; freehand_start: a [min]; freehand_start_length: l [mm]; freehand_blending: b [min/mm];
    freehand_blending_diameter: that it is stated for, e [mm]; blended_again: part of it that each round blends anew, k [1]; freehand_per_volume: c
    [min/mm³]; freehand_volume: m [mm³]; roughing_per_volume: d [min/mm³]; gauging_minutes: a round, g [min]; rounds: n.
    Source: estimate.
    """
    by_hand = minimum(removed_volume, freehand_volume)
    turned = freehand_per_volume * by_hand + roughing_per_volume * (removed_volume - by_hand)
    started = freehand_start * minimum(hand_arc / freehand_start_length, 1.0)
    blended = freehand_blending * hand_arc * sqrt(largest_diameter / freehand_blending_diameter)
    blended = blended * (1 + blended_again * rounds)
    return started + blended + turned + gauging_minutes * (rounds + 1)


def step_piece(
    *,
    steps: Numeric,
    hand_arc: Numeric,
    largest_diameter: Numeric,
    removed_volume: Numeric,
    step_start: Numeric,
    step_each: Numeric,
    freehand_blending: Numeric,
    freehand_blending_diameter: Numeric,
    blended_again: Numeric,
    roughing_per_volume: Numeric,
    gauging_minutes: Numeric,
    rounds: Numeric,
) -> Numeric:
    """Minutes for one arc stepped off [min]: zeros, roughing under power, steps, surface to blend, rounds of gauging.

    t = a + q p + b L √(D/e) (1 + k n) + d V + g (n + 1)

    steps: q; hand_arc: L [mm]; largest_diameter: D [mm]; removed_volume: V [mm³]; step_start: a [min]; step_each: p [min];
    freehand_blending: b [min/mm]; freehand_blending_diameter: that it is stated for, e [mm]; blended_again: part of it that each round
    blends anew, k [1]; roughing_per_volume: d [min/mm³]; gauging_minutes: a round, g [min]; rounds: n.
    Source: estimate.
    """
    turned = step_start + steps * step_each + roughing_per_volume * removed_volume
    blended = freehand_blending * hand_arc * sqrt(largest_diameter / freehand_blending_diameter)
    blended = blended * (1 + blended_again * rounds)
    return turned + blended + gauging_minutes * (rounds + 1)


def swung_piece(
    *,
    passes: Numeric,
    finishing: Numeric,
    arc_length: Numeric,
    end: Truth,
    rough_feed: Numeric,
    feed: Numeric,
    rpm: Numeric,
    each_pass: Numeric,
    approach: Numeric,
    roughing_minutes: Numeric,
) -> Numeric:
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


def chance(*, limit: Numeric, spread: Numeric) -> Numeric:
    """Chance that a normal error stays within ± limit; 1 where nothing spreads.

    c = erf(T / (e √2))
    c = 1   nothing spreads

    limit: T [mm]; spread: standard deviation, e [mm]. Source: normal distribution.

    >>> round(chance(limit=1.0, spread=1.0), 4)
    0.6827
    """
    return where(spread > 0, erf(divide(limit, spread) / ROOT_2), 1.0)


def in_tolerance(
    *, set_error: Numeric, piece_error: Numeric, profile_tolerance: Numeric, record: Numeric = 1.0
) -> Numeric:
    """Chance that a piece lies in tolerance, all errors being errors of profile.

    c = erf(P / (r √(e² + p²) √2))

    set_error: what is left of a setting, e [mm]; piece_error: from piece to piece, p [mm]; profile_tolerance: P [mm];
    record: what the shop's own misses make of the whole spread, r [1]. Source: normal distribution.

    >>> round(in_tolerance(set_error=0.3, piece_error=0.4, profile_tolerance=1.0), 4)
    0.9545
    """
    return chance(limit=profile_tolerance, spread=record * sqrt(set_error * set_error + piece_error * piece_error))


def holds(*, set_error: Numeric, piece_error: Numeric, best_sees: Numeric, record: Numeric = 1.0) -> Numeric:
    """Error of profile that a method keeps within on nine pieces in ten, and that can be seen [mm].

    h = 1.644854 max(r √(e² + p²), g)
    h = 1.644854 r √(e² + p²)   nothing gauges it

    set_error: e [mm]; piece_error: p [mm]; best_sees: what the best gauge does not show, g [mm], not a number where there
    is none; record: what the shop's own misses make of the spread, r [1]. Source: normal distribution.
    """
    own = record * sqrt(set_error * set_error + piece_error * piece_error)
    return NINE_IN_TEN * maximum(own, otherwise(best_sees, 0.0))


def misses(
    *, in_tolerance: Numeric, piece: Numeric, rework_share: Numeric, scrap_share: Numeric, minutes_in_piece: Numeric
) -> Numeric:
    """Minutes of rework and scrap that each arc bears [min].

    m = (1 − c) ((1 − s) w t + s (t + o))

    A miss is put right in a share of the arc's minutes, or scraps the piece: then the arc is made again on a new piece,
    with all the work that was in the old one. in_tolerance: c [1]; piece: t [min]; rework_share: w [1]; scrap_share: s
    [1]; minutes_in_piece: o [min]. Source: first principles.
    """
    rework = (1 - scrap_share) * rework_share * piece
    scrap = scrap_share * (piece + minutes_in_piece)
    return (1 - in_tolerance) * (rework + scrap)


def batch_deviation(
    *,
    tooling_low: Numeric,
    tooling_high: Numeric,
    setup_low: Numeric,
    setup_high: Numeric,
    piece_low: Numeric,
    piece_high: Numeric,
    piece_mean: Numeric,
    quantity: Numeric,
    places: Numeric,
    rounds_set: Numeric,
    reset: Numeric,
    in_tolerance: Numeric,
    scrap_share: Numeric,
    rework_share: Numeric,
    minutes_in_piece: Numeric,
) -> Numeric:
    """Standard deviation of the batch minutes [min].

    q = 1 − c
    N = n p
    A = q ((1 − s) w + s)
    F = N + r + N A
    V = r + N (q ((1 − s) w² + s) − A²)
    B = q ((1 − s) w m + s (m + o))
    C = q ((1 − s) (w m)² + s (m + o)²)
    d = √(((b − a)/6)² + ((e − f)/6)² + ((h − g)/6)² (F² + V) + r (m + k)² + N (C − B²))

    The arcs of a batch run fast or slow together, since what is uncertain is the estimate and not the hand, so their
    deviation counts in proportion to their number. Settings made again are counted as a Poisson number, misses and scrap as
    binomial ones, with the very means that the batch mean takes. tooling_low: a [min]; tooling_high: b [min]; setup_low: f
    [min]; setup_high: e [min]; piece_low: of one arc, g [min]; piece_high: h [min]; piece_mean: m [min]; quantity: n;
    places: p; rounds_set: settings to make again, r; reset: minutes for one, k [min]; in_tolerance: chance, c [1];
    scrap_share: s [1]; rework_share: w [1]; minutes_in_piece: lost with a scrapped piece, o [min].
    Source: PERT three-point estimate (pert); first principles.

    >>> parts = {"tooling_low": 0.0, "tooling_high": 0.0, "setup_low": 6.0, "setup_high": 24.0}
    >>> arcs = {"piece_low": 1.0, "piece_high": 2.2, "piece_mean": 1.5, "quantity": 20, "places": 1}
    >>> sure = {"rounds_set": 0.0, "reset": 0.0, "in_tolerance": 1.0, "scrap_share": 0.3, "rework_share": 0.5}
    >>> round(batch_deviation(**parts, **arcs, **sure, minutes_in_piece=0.0), 9)
    5.0
    """
    arcs, missed = quantity * places, 1 - in_tolerance
    again = _arc_times(arcs, missed, rounds_set, scrap_share, rework_share)
    tooling, setup = deviation(low=tooling_low, high=tooling_high), deviation(low=setup_low, high=setup_high)
    piece = deviation(low=piece_low, high=piece_high)
    per_arc = missed * ((1 - scrap_share) * rework_share * rework_share + scrap_share)
    spread = rounds_set + arcs * (per_arc - _power(_again(missed, scrap_share, rework_share), 2))
    rework, scrap = piece_mean * rework_share, piece_mean + minutes_in_piece
    chance = _moments(missed, scrap_share, rework, scrap)
    resets = rounds_set * _power(piece_mean + reset, 2)
    variance = tooling * tooling + setup * setup + piece * piece * (again * again + spread)
    return sqrt(variance + resets + arcs * (chance[1] - chance[0] * chance[0]))


def _power(x: Numeric, n: Numeric) -> Numeric:
    return x * x if n == 2 else x * x * x


def _again(missed: Numeric, scrap_share: Numeric, rework_share: Numeric) -> Numeric:
    """Times that an arc is worked again, on average: a miss is put right in a share of the arc's minutes, or scrapped and
    made anew."""
    return missed * ((1 - scrap_share) * rework_share + scrap_share)


def _arc_times(
    arcs: Numeric, missed: Numeric, rounds_set: Numeric, scrap_share: Numeric, rework_share: Numeric
) -> Numeric:
    """How many times the minutes of one arc are spent in the batch."""
    return arcs + rounds_set + arcs * _again(missed, scrap_share, rework_share)


def _moments(
    missed: Numeric, scrap_share: Numeric, rework: Numeric, scrap: Numeric
) -> tuple[Numeric, Numeric, Numeric]:
    """First three moments about nought of the minutes that a miss costs one arc [min, min², min³]."""
    put_right, lost = missed * (1 - scrap_share), missed * scrap_share
    return (
        put_right * rework + lost * scrap,
        put_right * rework * rework + lost * scrap * scrap,
        put_right * _power(rework, 3) + lost * _power(scrap, 3),
    )


def third_moment(*, low: Numeric, likely: Numeric, high: Numeric) -> Numeric:
    """Third central moment of a three-point estimate, as a beta distribution with its mean and deviation [min³].

    w = h − l
    u = (l + 4k + h)/6 − l
    t = w² w² (w − 2u) / (18 (36 u (w − u) + w²))
    t = 0   low and high are alike

    low: l [min]; likely: k [min]; high: h [min]. With x = u/w its shape is a + b = 36 x (1 − x) − 1, a = x (a + b), and its
    skewness 12 (1 − 2x)/(36 x (1 − x) + 1). Source: PERT three-point estimate (pert); first principles.

    >>> round(third_moment(low=0.0, likely=0.0, high=9.0), 4)
    4.5
    """
    width = high - low
    above = mean(low=low, likely=likely, high=high) - low
    third = divide(power(width, 4) * (width - 2 * above), 18 * (36 * above * (width - above) + width * width))
    return otherwise(third, 0.0)


def batch_skewness(
    *,
    batch_sd: Numeric,
    tooling_third: Numeric,
    setup_third: Numeric,
    piece_third: Numeric,
    piece_mean: Numeric,
    quantity: Numeric,
    places: Numeric,
    rounds_set: Numeric,
    reset: Numeric,
    in_tolerance: Numeric,
    scrap_share: Numeric,
    rework_share: Numeric,
    minutes_in_piece: Numeric,
) -> Numeric:
    """How far the batch minutes lean to the long side: their skewness [1].

    q = 1 − c
    N = n p
    F = N + r + N q ((1 − s) w + s)
    B = q ((1 − s) w m + s (m + o))
    C = q ((1 − s) (w m)² + s (m + o)²)
    D = q ((1 − s) (w m)³ + s (m + o)³)
    g = (T + S + P F³ + r (m + k)³ + N (D − 3 B C + 2 B³)) / d³
    g = 0   nothing varies

    The parts are those of the deviation. batch_sd: d [min]; tooling_third: T [min³]; setup_third: S [min³]; piece_third: P
    [min³]; piece_mean: m [min]; quantity: n; places: p; rounds_set: r; reset: k [min]; in_tolerance: c [1]; scrap_share: s
    [1]; rework_share: w [1]; minutes_in_piece: o [min].
    Source: first principles.
    """
    arcs, missed = quantity * places, 1 - in_tolerance
    again = _arc_times(arcs, missed, rounds_set, scrap_share, rework_share)
    third = tooling_third + setup_third + piece_third * _power(again, 3)
    third = third + rounds_set * _power(piece_mean + reset, 3)
    one, two, three = _moments(missed, scrap_share, piece_mean * rework_share, piece_mean + minutes_in_piece)
    third = third + arcs * (three - 3 * one * two + 2 * _power(one, 3))
    return where(batch_sd > 0, divide(third, _power(batch_sd, 3)), 0.0)


def four_in_five(
    *,
    batch_mean: Numeric,
    batch_sd: Numeric,
    batch_skewness: Numeric,
    piece_mean: Numeric,
    quantity: Numeric,
    places: Numeric,
    in_tolerance: Numeric,
    scrap_share: Numeric,
    minutes_in_piece: Numeric,
) -> Numeric:
    """Minutes that four batches in five stay under [min].

    q = m + d (z + (z² − 1) g / 6), z = 0.8416

    A normal quantile with the first correction for skewness. Where few pieces are scrapped and each costs much, the batch
    is one of two kinds, and the quantile is that of the mixture, by how many are scrapped. batch_mean: m [min]; batch_sd: d
    [min]; batch_skewness: g [1]; piece_mean: of one arc [min]; quantity, places: of arcs; in_tolerance: chance [1];
    scrap_share [1]; minutes_in_piece [min]. Source: first principles.

    >>> sure = {"piece_mean": 2.0, "quantity": 10, "places": 1, "in_tolerance": 1.0, "scrap_share": 0.3, "minutes_in_piece": 0.0}
    >>> round(four_in_five(batch_mean=100.0, batch_sd=10.0, batch_skewness=0.0, **sure), 3)
    108.416
    """
    usual = batch_mean + batch_sd * (Z_80 + (Z_80 * Z_80 - 1) / 6 * batch_skewness)
    arcs, scrapped = quantity * places, (1 - in_tolerance) * scrap_share
    each = piece_mean + minutes_in_piece
    expected = arcs * scrapped
    between = expected * (1 - scrapped) * each * each
    lumpy = both(expected < MOST_SCRAPPED, between > LUMPY * batch_sd * batch_sd)
    within = sqrt(maximum(batch_sd * batch_sd - between, 0.0))
    return where_few(
        lumpy,
        usual,
        _mixed_quantile,
        base=batch_mean - expected * each,
        each=each,
        within=within,
        arcs=arcs,
        scrapped=scrapped,
    )


def _mixed_quantile(*, base: Numeric, each: Numeric, within: Numeric, arcs: Numeric, scrapped: Numeric) -> Numeric:
    """Quantile of 0.8 of base + each K + a normal error of deviation `within`, K binomial, by halving [min]."""
    chances, chance = [], power(1 - scrapped, arcs)
    for count in range(MOST_COUNTED):
        chances.append(chance)
        chance = chance * maximum(arcs - count, 0.0) / (count + 1) * divide(scrapped, 1 - scrapped)
    within = maximum(within, 1e-9)
    low, high = base - 6 * within, base + 6 * within + MOST_COUNTED * each
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        under = sum(p * (1 + erf((middle - base - k * each) / (within * ROOT_2))) / 2 for k, p in enumerate(chances))
        low, high = where(under < 0.8, middle, low), where(under < 0.8, high, middle)
    return (low + high) / 2


def cost(*, batch_mean: Numeric, hourly_rate: Numeric, stock: Numeric, tooling_mean: Numeric) -> Numeric:
    """Cost of the batch: hours at the shop's rate, and stock where tooling is made [money].

    k = t/60 r + s   tooling is made
    k = t/60 r   nothing is made

    batch_mean: t [min]; hourly_rate: r [money/h]; stock: s [money]; tooling_mean: minutes [min]. Source: first
    principles.
    """
    return batch_mean / 60 * hourly_rate + where(tooling_mean > 0, stock, 0.0)


def if_standing(*, ruled_out: Truth, batch_mean: Numeric) -> Numeric:
    """The batch minutes of a method that stands; without end for one that is ruled out [min].

    m = t

    ruled_out: truth value; batch_mean: t [min]. Source: first principles.
    """
    return where(ruled_out, float("inf"), otherwise(batch_mean, float("inf")))


def least(**minutes: Numeric) -> Numeric:
    """The least of several minutes [min].

    minutes: one of each method [min]. Source: first principles.

    >>> least(one=30.0, other=20.0, third=25.0)
    20.0
    """
    found = math.inf
    for value in minutes.values():
        found = minimum(found, value)
    return found


def second_least(**minutes: Numeric) -> Numeric:
    """The second least of several minutes [min], without end of a single one.

    minutes: one of each method [min]. Source: first principles.

    >>> second_least(one=30.0, other=20.0, third=25.0, fourth=40.0)
    25.0
    """
    found = second = math.inf
    for value in minutes.values():
        second = minimum(second, maximum(found, value))
        found = minimum(found, value)
    return second
