"""Radius rod: its length, travels and errors, with the carriage led by the rod step by step."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx

from advisor.formulas import rod

NAN = math.nan


def test_doctests():
    assert doctest.testmod(rod).failed == 0


@pytest.mark.parametrize("convex", [True, False])
def test_the_rod_leads_the_nose_round_the_arc(convex):
    radius, nose, chord = 80.0, 1.6, 60.0
    length = rod.seat_to_seat(radius=radius, nose_radius=nose, convex=convex)
    tilt = rod.tilt(chord=chord, radius=radius)
    # Centre of the work's arc at (0, 0); a convex one has the tool on the far side of the metal.
    for share in numpy.linspace(0, 1, 7):
        across = share * rod.cross_travel(length=length, tilt=tilt)
        along = math.sqrt(length**2 - across**2)
        from_centre = math.hypot(across, along)
        assert (from_centre - nose if convex else from_centre + nose) == approx(radius)
    assert length - along == approx(rod.carriage_travel(length=length, tilt=tilt))
    # At the rim the nose touches half a chord from the axis.
    touch = across * radius / length
    assert touch == approx(chord / 2)


def test_worked_by_hand():
    # R 50, chord 60: sin φ = 0.6, cos φ = 0.8; nose 2, so L 52: travels 52·0.2 and 52·0.6.
    tilt = rod.tilt(chord=60.0, radius=50.0)
    assert math.sin(math.radians(tilt)) == approx(0.6)
    assert rod.carriage_travel(length=52.0, tilt=tilt) == approx(10.4)
    assert rod.cross_travel(length=52.0, tilt=tilt) == approx(31.2)
    assert rod.overall(length=52.0, ball_diameter=12.0) == 64.0
    assert math.isnan(rod.tilt(chord=101.0, radius=50.0))


@given(
    length=some.floats(10.0, 500.0),
    tolerance=some.floats(0.001, 1.0),
    share=some.floats(0.05, 1.0),
    tilt=some.floats(1.0, 90.0),
)
@settings(max_examples=100, deadline=None)
def test_allowances_spend_their_share(length, tolerance, share, tilt):
    spent = share * tolerance
    height = rod.seat_height_allowance(length=length, tolerance=tolerance, share=share)
    assert length - math.sqrt(length * length - height * height) == approx(spent, abs=1e-9)
    beside = rod.offset_allowance(
        length=length, tolerance=tolerance, profile_tolerance=tolerance, share=share, tilt=tilt
    )
    assert beside * math.sin(math.radians(tilt)) <= spent * (1 + 1e-9)
    assert beside <= height
    assert rod.offset_allowance(
        length=length, tolerance=tolerance, profile_tolerance=tolerance, share=share
    ) <= beside * (1 + 1e-9)


@given(radius=some.floats(1.0, 500.0), nose=some.floats(0.1, 5.0), convex=some.booleans())
@settings(max_examples=100, deadline=None)
def test_radius_of_a_rod_is_the_radius_it_was_made_for(radius, nose, convex):
    length = rod.seat_to_seat(radius=radius, nose_radius=nose, convex=convex)
    assert rod.radius_of_rod(length=length, nose_radius=nose, convex=convex) == approx(radius)


def test_arrays_give_what_numbers_give():
    radius = numpy.array([50.0, 80.0, 120.0])
    chord = numpy.array([60.0, 160.0, 241.0])
    convex = numpy.array([True, False, True])
    lengths = rod.seat_to_seat(radius=radius, nose_radius=1.6, convex=convex)
    tilts = rod.tilt(chord=chord, radius=radius)
    along = rod.carriage_travel(length=lengths, tilt=tilts)
    across = rod.cross_travel(length=lengths, tilt=tilts)
    allowed = rod.offset_allowance(length=lengths, tolerance=0.1, profile_tolerance=0.1, share=0.25, tilt=tilts)
    for k in range(3):
        length = rod.seat_to_seat(radius=float(radius[k]), nose_radius=1.6, convex=bool(convex[k]))
        tilt = rod.tilt(chord=float(chord[k]), radius=float(radius[k]))
        assert lengths[k] == length
        assert tilts[k] == approx(tilt, nan_ok=True)
        assert along[k] == approx(rod.carriage_travel(length=length, tilt=tilt), nan_ok=True)
        assert across[k] == approx(rod.cross_travel(length=length, tilt=tilt), nan_ok=True)
        one = rod.offset_allowance(length=length, tolerance=0.1, profile_tolerance=0.1, share=0.25, tilt=tilt)
        assert allowed[k] == approx(one, nan_ok=True)


def values(**more):
    return {
        "radius": 50.0,
        "chord": 60.0,
        "depth": 10.0,
        "diameter": 60.0,
        "convex": True,
        "corner": False,
        "end": True,
        "nose_radius": 2.0,
        "rod_ball_diameter": 12.0,
        **more,
    }


def test_setup():
    setup = rod.setup(values())
    assert {name: value for name, value in setup.items() if name != "layout"} == {
        "spindle_rpm": None,
        "surface_speed_m_min": None,
        "straight_turning_rpm": None,
        "rod_between": "carriage and headstock",
        "nose_radius_mm": 2.0,
        "seat_to_seat_mm": 52.0,
        "overall_mm": 64.0,
        "tilt_deg": approx(math.degrees(math.asin(0.6))),
        "carriage_travel_mm": approx(10.4),
        "cross_travel_mm": approx(31.2),
    }


def test_setup_of_a_dish_lies_towards_the_tailstock():
    setup = rod.setup(values(convex=False, diameter=80.0))
    assert (setup["rod_between"], setup["seat_to_seat_mm"]) == ("carriage and tailstock", 48.0)


def test_no_rod_for_other_shapes():
    assert rod.setup(values(end=False)) is None
    assert rod.setup(values(end=False, corner=True)) is None
