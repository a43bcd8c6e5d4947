"""Swung compound: which side of the swivel, which window, which graduations."""

import doctest
import math

import numpy
import pytest
from pytest import approx

from advisor.methods import compound

NAN = math.nan


def test_doctests():
    assert doctest.testmod(compound).failed == 0


def test_windows_are_chosen_by_form():
    window = {"short_low": 5.0, "past_low": 0.0}
    assert compound.window_low(convex=True, **window) == 5.0
    assert compound.window_low(convex=False, **window) == 0.0
    assert compound.window_high(convex=True, short_high=60.0, past_high=25.0) == 60.0
    assert compound.window_high(convex=False, short_high=60.0, past_high=25.0) == 25.0


def test_slide_is_run_from_the_swivel_to_the_radius():
    assert compound.slide_travel(radius=12.5, convex=False) == 12.5
    assert compound.slide_travel(radius=12.5, convex=True) == -12.5
    # From 3 past the swivel to 12.5 short of it: back 15.5.
    assert compound.slide_travel(radius=12.5, convex=True, tip_at=3.0) == -15.5


@pytest.mark.parametrize("convex", [True, False])
def test_the_tip_swings_round_the_arc_between_the_graduations(convex):
    radius, chord = 25.0, 30.0
    sweep = 2 * math.degrees(math.asin(chord / 2 / radius))
    first, last = compound.graduations(sweep=sweep, end=True, corner=False)
    tip = compound.signed_tip(radius=radius, convex=convex)
    # The slide points along (across, along) at its angle from square; the tip lies R along it from the swivel.
    places = []
    for angle in map(math.radians, (first, last)):
        places.append((tip * math.cos(angle), tip * math.sin(angle)))
    assert abs(places[0][0]) == approx(chord / 2)
    assert places[1][0] == approx(0.0, abs=1e-12)
    assert abs(places[1][1]) - abs(places[0][1]) == approx(radius - math.sqrt(radius**2 - chord**2 / 4))


def test_graduations_of_the_other_shapes():
    assert compound.graduations(sweep=90.0, end=False, corner=True) == (0.0, 90.0)
    assert compound.graduations(sweep=80.0, end=False, corner=False) == (-40.0, 40.0)


def test_arrays_give_what_numbers_give():
    sweep = numpy.array([90.0, 60.0, 80.0])
    end, corner = numpy.array([False, True, False]), numpy.array([True, False, False])
    first, last = compound.graduations(sweep=sweep, end=end, corner=corner)
    for k in range(3):
        one = compound.graduations(sweep=float(sweep[k]), end=bool(end[k]), corner=bool(corner[k]))
        assert (first[k], last[k]) == one
    convex = numpy.array([True, False])
    assert list(compound.signed_tip(radius=numpy.array([4.0, 5.0]), convex=convex)) == [-4.0, 5.0]
    assert list(compound.window_low(convex=convex, short_low=5.0, past_low=1.0)) == [5.0, 1.0]


def values(**more):
    return {
        "radius": 6.0,
        "chord": NAN,
        "depth": 6.0,
        "diameter": 40.0,
        "convex": True,
        "corner": True,
        "end": False,
        "sweep": 90.0,
        "compound_passes": 6.0,
        "compound_height_allowance": NAN,
        "compound_offset_allowance": 0.025,
        **more,
    }


def test_setup():
    setup = compound.setup(values())
    assert {name: value for name, value in setup.items() if name != "layout"} == {
        "spindle_rpm": None,
        "surface_speed_m_min": None,
        "straight_turning_rpm": None,
        "tip_to_swivel_mm": 6.0,
        "tip_side": "short of the swivel",
        "sweep_deg": 90.0,
        "passes": 6,
        "height_allowance_mm": None,
        "offset_allowance_mm": 0.025,
    }
    assert compound.setup(values(convex=False))["tip_side"] == "past the swivel"


def test_not_on_an_outside_diameter():
    assert compound.setup(values(corner=False)) is None
