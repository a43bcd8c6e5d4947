"""Proof: what each gauge can see, with the gauges laid on the work in the plane."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapes import CROWN, DISH, DOME, FILLET, GROOVE, ROUND_CORNER, SHAPES

from advisor import proof
from advisor.geometry import depth_of_arc

NAN = math.nan
FULL = {
    "light_gap": 0.03,
    "template_gap": 0.1,
    "reading_error": 0.01,
    "micrometer_error": 0.01,
    "pins": True,
    "comparator_error": 0.02,
}
NOTHING = {
    "light_gap": 0.03,
    "template_gap": NAN,
    "reading_error": NAN,
    "micrometer_error": NAN,
    "pins": False,
    "comparator_error": NAN,
}


def test_doctests():
    assert doctest.testmod(proof).failed == 0


def checks(shape, *, radius=6.0, tolerance=0.1, chord=9.0, diameter=40.0, leaves=(5.5, 6.0, 6.5), shop=FULL):
    return proof.checks(
        radius=radius,
        tolerance=tolerance,
        chord=NAN if shape["corner"] else chord,
        depth=radius if shape["corner"] else depth_of_arc(radius=radius, chord=chord),
        diameter=diameter,
        leaves=leaves,
        share=0.5,
        **shape,
        **shop,
    )


def test_a_leaf_proves_a_corner_but_not_a_flat_arc():
    on_corner = {check["how"]: check for check in checks(ROUND_CORNER)}
    leaf = on_corner["leaf of the radius gauge, against the light"]
    assert (leaf["size_mm"], leaf["reading_mm"], leaf["proves"]) == (6.0, None, True)
    # R 8 ± .020 in over 3½ in: |ds/dR| .0248, so a gap of .03 mm is 1.2 mm of radius.
    flat = checks(DOME, radius=203.2, tolerance=0.508, chord=88.9, diameter=88.9, leaves=(203.2,))
    leaf = next(check for check in flat if check["how"].startswith("leaf"))
    assert leaf["sees_mm"] == approx(1.2, abs=0.02)
    assert not leaf["proves"]


def test_gap_over_a_chord():
    # Two arcs that meet at the ends of the chord stand apart by the difference of their depths in the middle.
    radius, chord, gap = 25.0, 20.0, 0.002
    change = proof.sees_leaf(radius=radius, chord=chord, corner=False, leaf=radius, light_gap=gap)
    apart = depth_of_arc(radius=radius, chord=chord) - depth_of_arc(radius=radius + change, chord=chord)
    assert apart == approx(gap, rel=0.01)


def test_the_nearest_leaf_counts_its_difference():
    assert proof.leaf_within(leaves=(5.5, 6.0, 6.5), radius=6.1, tolerance=0.1) == 6.0
    assert math.isnan(proof.leaf_within(leaves=(5.5, 6.0, 6.5), radius=6.2, tolerance=0.1))
    assert math.isnan(proof.leaf_within(leaves=(), radius=6.0, tolerance=0.1))
    assert proof.sees_leaf(radius=6.1, chord=NAN, corner=True, leaf=6.0, light_gap=0.03) == approx(0.13)


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
        assert proof.ball_reading(radius=radius, diameter=diameter, ball=ball) == approx(diameter + high + half)


def test_a_ball_sees_a_large_fillet_by_its_reading():
    gap, error, radius, diameter = 0.0, 0.01, 5.0, 30.0
    change = proof.sees_ball(light_gap=gap, reading_error=error)
    right = proof.ball_reading(radius=radius, diameter=diameter, ball=2 * radius)
    large = proof.ball_reading(radius=radius + change, diameter=diameter, ball=2 * radius)
    assert large - right == approx(2 * error)


def test_two_pins_by_their_contacts():
    radius, pin = 10.0, 7.0
    centre = math.sqrt((radius - pin / 2) ** 2 - (pin / 2) ** 2)  # below the centre of the arc
    top_of_pair = -centre + pin / 2
    top_of_one = -radius + pin
    assert proof.pair_reading(radius=radius, pin=pin) == approx(top_of_pair - top_of_one)
    change = proof.sees_pair(radius=radius, pin=pin, reading_error=1e-5)
    moved = proof.pair_reading(radius=radius + change, pin=pin) - proof.pair_reading(radius=radius, pin=pin)
    assert abs(moved) == approx(2e-5, rel=1e-3)


@given(radius=some.floats(1.0, 50.0), part=some.floats(0.2, 1.0))
@settings(max_examples=100, deadline=None)
def test_a_pair_touches_within_the_arc(radius, part):
    pin = proof.pair_of_pins(radius=radius, chord=2 * radius * part)
    if math.isnan(pin):
        assert 2 * radius * part / (1 + part) < 0.1
    else:
        assert (pin / 2) / (radius - pin / 2) <= part * (1 + 1e-6)
        assert pin <= radius * (1 + 1e-6)


@pytest.mark.parametrize("shape", SHAPES)
def test_each_shape_gets_the_checks_that_can_see_it(shape):
    hows = " / ".join(check["how"] for check in checks(shape))
    assert ("depth" in hows or "crest" in hows) == (not shape["corner"])
    assert ("comparator" in hows) == (shape != DISH)
    assert ("ball" in hows) == (shape == FILLET)
    assert ("pins" in hows) == (shape == GROOVE)
    assert ("rod turned" in hows) == (not shape["convex"])
    assert ("plate bored" in hows) == shape["convex"]
    sees = [check["sees_mm"] for check in checks(shape)]
    assert sees == sorted(sees)


def test_readings():
    def reading(shape, word):
        return next(check for check in checks(shape) if word in check["how"])

    depth = depth_of_arc(radius=6.0, chord=9.0)
    assert reading(GROOVE, "depth micrometer")["reading_mm"] == depth
    assert reading(CROWN, "crest")["reading_mm"] == depth
    assert reading(FILLET, "ball")["reading_mm"] == 52.0
    assert reading(FILLET, "ball")["size_mm"] == 12.0


def test_a_bare_shop_proves_nothing():
    assert checks(ROUND_CORNER, leaves=(), shop=NOTHING) == []
    best = proof.best_sees(radius=6.0, chord=NAN, leaf=NAN, **ROUND_CORNER, **NOTHING)
    assert math.isnan(best)


def test_share_of_the_tolerance():
    assert proof.proves(sees=0.05, tolerance=0.1, share=0.5)
    assert proof.proves(sees=0.1 + 0.2, tolerance=0.6, share=0.5)
    assert not proof.proves(sees=0.0501, tolerance=0.1, share=0.5)
    assert not proof.proves(sees=NAN, tolerance=0.1, share=0.5)


@given(
    radius=some.floats(1.0, 100.0),
    part=some.floats(0.05, 1.0),
    shape=some.sampled_from(SHAPES),
    shop=some.sampled_from([FULL, NOTHING, {**NOTHING, "reading_error": 0.01}, {**NOTHING, "pins": True}]),
    leaves=some.sampled_from([(), (1.0, 5.0, 20.0)]),
)
@settings(max_examples=200, deadline=None)
def test_best_is_the_finest_of_the_checks(radius, part, shape, shop, leaves):
    chord = 2 * radius * part
    found = checks(shape, radius=radius, chord=chord, leaves=leaves, tolerance=0.5, shop=shop)
    leaf = proof.leaf_within(leaves=leaves, radius=radius, tolerance=0.5)
    best = proof.best_sees(radius=radius, chord=NAN if shape["corner"] else chord, leaf=leaf, **shape, **shop)
    finest = min((check["sees_mm"] for check in found), default=NAN)
    assert best == approx(finest, nan_ok=True)
    assert all(check["sees_mm"] > 0 for check in found)


def test_arrays_give_what_numbers_give():
    radius = numpy.full(6, 6.0)
    chord = numpy.array([NAN, NAN, 9.0, 9.0, 12.0, 9.0])
    columns = {name: numpy.array([shape[name] for shape in SHAPES]) for name in ROUND_CORNER}
    leaf = numpy.array([6.0, NAN, 6.0, 6.0, 6.05, NAN])
    shop = {**FULL, "pins": numpy.array([True] * 5 + [False])}
    best = proof.best_sees(radius=radius, chord=chord, leaf=leaf, **columns, **shop)
    for k, shape in enumerate(SHAPES):
        one = proof.best_sees(
            radius=6.0, chord=float(chord[k]), leaf=float(leaf[k]), **shape, **{**FULL, "pins": k != 5}
        )
        assert best[k] == approx(one)
