"""Proof: what each gauge can see of the profile, with the gauges laid on the work in the plane."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapes import CROWN, DISH, DOME, FILLET, GROOVE, ROUND_CORNER, SHAPES

from advisor.answer.advice import advise, givens, rule_base
from advisor.asked.callout import read_callout
from advisor.asked.materials import materials
from advisor.asked.shop import read_shop
from advisor.engine import generated
from advisor.formulas import gauging
from advisor.formulas.geometry import depth_of_arc, depth_per_radius

NAN = math.nan
FROM_SHAPE = {
    (s["convex"], s["corner"], s["end"]): (
        "corner" if s["corner"] else "end" if s["end"] else "outside diameter",
        "convex" if s["convex"] else "concave",
    )
    for s in SHAPES
}


def test_doctests():
    assert doctest.testmod(gauging).failed == 0


def values(shape, *, radius=6.0, tolerance=0.1, chord=9.0, diameter=40.0, **changes):
    """Every name of the rule base for an arc in the training shop, with givens changed."""
    location, form = FROM_SHAPE[shape["convex"], shape["corner"], shape["end"]]
    fields = {
        "radius": f"R{radius!r} ±{tolerance!r}",
        "location": location,
        "form": form,
        "diameter": f"{diameter!r} mm",
    }
    if not shape["corner"] and shape != DOME:
        fields["width"] = f"{chord!r} mm"
    if shape in (GROOVE, CROWN):
        fields["from_end"] = "20 mm"
    shop = read_shop("training-shop")
    callout = read_callout(fields, materials=materials(), inch_tolerances=shop.inch_tolerances)
    rules = rule_base()
    constants = {name: changes.pop(name) for name in list(changes) if name in rules.base and name not in rules.givens}
    return generated.run(rules, givens(callout, shop, shop.lathes[0]) | changes, constants=constants).values


def found(shape, **arguments):
    return {check["way"]: check for check in gauging.checks(values(shape, **arguments))}


def corner_arc(radius, angle):
    """Point of a convex corner between the lines x = 0 and y = 0 of the metal, its arc tangent to both."""
    return radius - radius * math.cos(angle), radius - radius * math.sin(angle)


def test_a_corner_opens_by_root_two_less_one_at_the_middle():
    # ASME Y14.5-1994 2.15: the zone of R lies between the largest and the smallest arc, both tangent to the sides.
    small, large = 5.9, 6.1
    middle = math.pi / 4
    apart = math.dist(corner_arc(small, middle), corner_arc(large, middle))
    assert apart == approx((math.sqrt(2) - 1) * 0.2)
    v = values(ROUND_CORNER, radius=6.0, tolerance=0.1)
    assert v["profile_tolerance"] == approx(0.0414, abs=5e-5)


def test_a_leaf_on_a_corner_that_is_too_large_gaps_in_the_middle():
    # A leaf R6 laid on both sides of a work corner R6.1: the gap at 45°.
    leaf, work = corner_arc(6.0, math.pi / 4), corner_arc(6.1, math.pi / 4)
    assert math.dist(leaf, work) == approx(0.0414, abs=5e-5)
    # On R5.9 the leaf rests on the middle, lifted by as much along 45°, and gaps 1/√2 of it at the sides.
    lifted = math.dist(leaf, corner_arc(5.9, math.pi / 4))
    assert lifted / math.sqrt(2) == approx(0.0293, abs=5e-5)


def test_a_leaf_proves_a_corner_but_not_a_flat_arc():
    leaf = found(ROUND_CORNER)["leaf"]
    assert (leaf["size_mm"], leaf["reading_mm"], leaf["use"]) == (6.0, None, "proves")
    assert leaf["sees_mm"] == approx(0.012)
    # R6 ±0.05 is ±0.0207 of profile: a gap of 0.012 is more than half of that.
    assert found(ROUND_CORNER, tolerance=0.05)["leaf"]["use"] == "compares"
    # R 100 ± 0.5 over 40: the depth may be off by 0.0103, which no leaf shows.
    flat = found(CROWN, radius=100.0, tolerance=0.5, chord=40.0, diameter=60.0, gauge_leaves=(100.0,))["leaf"]
    assert flat["use"] == "cannot be used here"


def test_a_leaf_over_a_chord_gaps_by_the_difference_of_depths():
    radius, chord, change = 25.0, 20.0, 0.002
    slope = depth_per_radius(radius=radius, chord=chord, corner=False)
    seen = gauging.leaf_seen(radius=radius, leaf=radius + change, light_gap=0.0, profile_per_radius=slope)
    apart = depth_of_arc(radius=radius, chord=chord) - depth_of_arc(radius=radius + change, chord=chord)
    assert seen == approx(apart, rel=0.01)


def test_the_nearest_leaf_counts_its_difference():
    assert gauging.leaf_within(gauge_leaves=(5.5, 6.0, 6.5), radius=6.1, tolerance=0.1) == 6.0
    assert math.isnan(gauging.leaf_within(gauge_leaves=(5.5, 6.0, 6.5), radius=6.2, tolerance=0.1))
    assert math.isnan(gauging.leaf_within(gauge_leaves=(), radius=6.0, tolerance=0.1))
    near = found(ROUND_CORNER, radius=6.1, tolerance=0.2)["leaf"]
    assert near["size_mm"] == 6.0 and near["sees_mm"] == approx(0.012 + 0.1 * (math.sqrt(2) - 1))


def test_a_depth_and_the_width_it_is_measured_over_both_count():
    # A dish R12.7 over 20: dR/ds = −1.61 and dR/dw = 1.03, by finite differences of R = s/2 + w²/8s.
    depth = depth_of_arc(radius=12.7, chord=20.0)

    def radius(s, w):
        return s / 2 + w * w / (8 * s)

    by_depth = (radius(depth + 1e-6, 20.0) - radius(depth - 1e-6, 20.0)) / 2e-6
    by_width = (radius(depth, 20.0 + 1e-6) - radius(depth, 20.0 - 1e-6)) / 2e-6
    assert by_depth == approx(-1.61, abs=0.005) and by_width == approx(1.03, abs=0.005)
    check = found(DISH, radius=12.7, tolerance=0.2, chord=20.0)["depth"]
    slope = depth_per_radius(radius=12.7, chord=20.0, corner=False)
    assert check["sees_mm"] / slope == approx(math.hypot(by_depth * 0.01, by_width * 0.02), rel=1e-4)


def test_a_rim_that_is_a_tangent_proves_nothing():
    hemisphere = found(DOME, radius=20.0, tolerance=0.1, chord=40.0, diameter=40.0)
    assert hemisphere["depth"]["use"] == "cannot be used here" and hemisphere["depth"]["sees_mm"] is None
    assert found(GROOVE, radius=3.0, chord=6.0, diameter=40.0)["depth"]["use"] == "cannot be used here"
    assert found(GROOVE, radius=3.0, chord=5.0, diameter=40.0)["depth"]["sees_mm"] is not None  # 113°
    assert found(GROOVE, radius=3.0, chord=5.3, diameter=40.0)["depth"]["sees_mm"] is None  # 124°


def test_a_ring_finds_the_radius_of_a_ball_end():
    ring = found(DOME, radius=20.0, tolerance=0.1, chord=40.0, diameter=40.0)["ring"]
    bore = 32.0
    reading = 20.0 - math.sqrt(20.0**2 - bore**2 / 4)
    assert (ring["size_mm"], ring["reading_mm"]) == (approx(bore), approx(reading))
    # What it does not see, by trying: the reading and the bore each off by their error.
    bad_depth = (reading + 0.01) / 2 + bore**2 / (8 * (reading + 0.01)) - 20.0
    bad_bore = reading / 2 + (bore + 0.02) ** 2 / (8 * reading) - 20.0
    assert ring["sees_mm"] == approx(math.hypot(bad_depth, bad_bore), rel=0.02)


def test_a_depth_micrometer_does_not_stand_on_a_crest():
    same = {"has_depth_micrometer": True, "depth_micrometer_graduation": 0.001, "height_error": 0.02}
    same |= {"has_micrometer": True, "micrometer_error": 0.01}
    assert gauging.depth_reading_error(convex=True, end=True, **same) == 0.02
    assert gauging.depth_reading_error(convex=False, end=True, **same) == 0.001
    assert gauging.depth_reading_error(convex=True, end=False, **same) == approx(0.01 / math.sqrt(2))


def test_a_ball_in_a_fillet_by_its_contacts():
    diameter, radius = 30.0, 5.0
    for ball in (9.0, 10.0, 11.0):
        # Lower the ball along the bisector of the fillet until it meets the arc, the diameter or the shoulder.
        half = ball / 2
        low, high = 0.0, 20.0
        for _ in range(100):
            place = (low + high) / 2  # of the ball's centre, from the diameter and from the shoulder
            clear = place >= half
            if place < radius:
                clear = clear and math.hypot(radius - place, radius - place) + half <= radius
            low, high = (low, place) if clear else (place, high)
        assert gauging.ball_reading(radius=radius, diameter=diameter, ball=ball) == approx(diameter + high + half)


def test_a_ball_sees_a_large_fillet_by_its_reading():
    error, radius, diameter = 0.01, 5.0, 30.0
    everything = {"convex": False, "corner": True, "has_pins": True, "has_micrometer": True, "smallest_gauged": 1.5}
    seen = gauging.ball_seen(radius=radius, micrometer_error=error, light_gap=0.0, **everything)
    change = seen / (math.sqrt(2) - 1)
    right = gauging.ball_reading(radius=radius, diameter=diameter, ball=2 * radius)
    large = gauging.ball_reading(radius=radius + change, diameter=diameter, ball=2 * radius)
    assert large - right == approx(2 * error)


PINS = {"inch_pins": False, "metric_pin_step": 0.1, "inch_pin_step": 25.4 / 64, "pin_contact_share": 0.85,
        "smallest_gauged": 1.5, "largest_pin": 8.0}  # fmt: skip


def test_two_pins_by_their_contacts():
    radius, pin = 10.0, 7.0
    centre = math.sqrt((radius - pin / 2) ** 2 - (pin / 2) ** 2)  # below the centre of the arc
    top_of_pair = -centre + pin / 2
    top_of_one = -radius + pin
    assert gauging.pair_reading(radius=radius, pin=pin) == approx(top_of_pair - top_of_one)
    groove = {"convex": False, "corner": False, "end": False, "has_pins": True, "has_micrometer": True}
    change = gauging.pins_seen(radius=radius, pin=pin, micrometer_error=1e-5, profile_per_radius=1.0, **groove)
    moved = gauging.pair_reading(radius=radius + change, pin=pin) - gauging.pair_reading(radius=radius, pin=pin)
    assert abs(moved) == approx(2e-5, rel=1e-3)


@given(radius=some.floats(1.0, 50.0), part=some.floats(0.2, 1.0))
@settings(max_examples=100, deadline=None)
def test_a_pair_touches_within_the_arc_and_can_be_spanned(radius, part):
    pin = gauging.pair_of_pins(radius=radius, chord=2 * radius * part, **PINS)
    if not math.isnan(pin):
        assert gauging.pair_contact(radius=radius, pin=pin) <= 0.85 * part * radius * (1 + 1e-6)
        assert 3.0 <= pin <= 8.0


def test_pins_do_not_ride_on_the_edge_of_a_groove():
    """R6 by 8 wide: two of 4.8 touch at 6·2.4/3.6 = 4.000, which is the edge; 4.3 at 6·2.15/3.85 = 3.351. In inches the next
    64th below 4.333 is 10/64, 3.969."""
    assert gauging.pair_contact(radius=6.0, pin=4.8) == approx(4.0)
    groove = {"radius": 6.0, "chord": 8.0} | PINS
    assert gauging.pair_of_pins(**groove) == approx(4.3)
    assert gauging.pair_of_pins(**groove | {"inch_pins": True}) == approx(25.4 * 10 / 64)


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_gets_the_checks_that_can_see_it(shape):
    size = {"radius": 30.0} if shape == DOME else {}
    ways = found(shape, has_comparator=True, comparator_sees=0.02, **size)
    ways = {way for way, check in ways.items() if check["sees_mm"]}
    assert ("depth" in ways) == (not shape["corner"])
    assert ("comparator" in ways) == (shape != DISH)
    assert ("ball" in ways) == (shape == FILLET)
    assert ("pins" in ways) == (shape == GROOVE)
    sees = [c["sees_mm"] for c in gauging.checks(values(shape, **size)) if c["sees_mm"] is not None]
    assert sees == sorted(sees)


def test_small_arcs_are_looked_at_through_a_loupe():
    ways = found(ROUND_CORNER, radius=0.5, tolerance=0.1, diameter=20.0)
    assert ways["loupe"]["sees_mm"] == approx(0.02)
    assert "template" not in ways and "scribed template" not in ways
    assert "loupe" not in found(ROUND_CORNER, radius=1.5, diameter=20.0)


def test_a_straightedge_goes_on_flat_arcs_only():
    assert "straightedge" in found(CROWN, radius=100.0, tolerance=0.5, chord=20.0, diameter=50.0)
    assert "straightedge" not in found(CROWN, radius=100.0, tolerance=0.5, chord=40.0, diameter=50.0)  # 2 mm deep
    assert "straightedge" not in found(ROUND_CORNER)


def test_what_a_check_is_worth():
    assert gauging.verdict(sees=0.05, allowed=0.1, share=0.5) == "proves"
    assert gauging.verdict(sees=0.1 + 0.2, allowed=0.6, share=0.5) == "proves"
    assert gauging.verdict(sees=0.0501, allowed=0.1, share=0.5) == "compares"
    assert gauging.verdict(sees=0.11, allowed=0.1, share=0.5) == "cannot be used here"
    assert gauging.verdict(sees=NAN, allowed=0.1, share=0.5) == "cannot be used here"


@given(radius=some.floats(1.0, 12.0), part=some.floats(0.1, 1.0), shape=some.sampled_from(SHAPES))
@settings(max_examples=60, deadline=None)
def test_best_is_the_finest_of_the_checks(radius, part, shape):
    v = (
        values(
            shape, radius=round(radius, 3), chord=math.floor(2 * round(radius, 3) * part * 1000) / 1000, diameter=40.0
        )
        if shape != DOME
        else values(DOME, radius=30.0)
    )
    seen = [check["sees_mm"] for check in gauging.checks(v) if check["sees_mm"] is not None]
    assert v["best_sees"] == approx(min(seen, default=NAN), nan_ok=True)
    assert all(one > 0 for one in seen)


def test_no_promise_is_better_than_what_can_be_shown():
    shop = read_shop("training-shop")
    fields = {"radius": "R5 ±0.02", "form": "convex", "location": "corner", "diameter": "30 mm", "quantity": 4}
    callout = read_callout(fields, materials=materials(), inch_tolerances=shop.inch_tolerances)
    advice = advise(callout, shop, executor=generated.run)
    # 0.0083 of profile, and a leaf shows 0.012: nothing finer than about twice what is seen.
    assert advice.values["best_sees"] > advice.values["profile_tolerance"]
    assert advice.recommended is None
    assert all(method.in_tolerance < 0.75 for method in advice.methods.values())


def test_arrays_give_what_numbers_give():
    columns = {name: numpy.array([shape[name] for shape in SHAPES]) for name in ROUND_CORNER}
    radius, chord = numpy.full(6, 6.0), numpy.array([NAN, NAN, 9.0, 9.0, 12.0, 9.0])
    pin = gauging.pair_of_pins(radius=radius, chord=chord, **PINS)
    given_ = {"has_pins": True, "has_micrometer": True, "micrometer_error": 0.01, "profile_per_radius": 0.5}
    many = gauging.pins_seen(radius=radius, pin=pin, **columns, **given_)
    for k, shape in enumerate(SHAPES):
        one = gauging.pins_seen(radius=6.0, pin=float(pin[k]), **shape, **given_)
        assert many[k] == approx(one, nan_ok=True)
