"""Swung compound: which side of the swivel, which window."""

import doctest
import math

import numpy

from advisor.formulas import compound

NAN = math.nan


def test_doctests():
    assert doctest.testmod(compound).failed == 0


def test_windows_are_chosen_by_form():
    window = {"short_low": 5.0, "past_low": 0.0}
    assert compound.window_low(convex=True, **window) == 5.0
    assert compound.window_low(convex=False, **window) == 0.0
    assert compound.window_high(convex=True, short_high=60.0, past_high=25.0) == 60.0
    assert compound.window_high(convex=False, short_high=60.0, past_high=25.0) == 25.0


def test_arrays_give_what_numbers_give():
    convex = numpy.array([True, False])
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
    }
    assert compound.setup(values(convex=False))["tip_side"] == "past the swivel"


def test_not_on_a_crown():
    assert compound.setup(values(corner=False)) is None
    assert compound.setup(values(corner=False, convex=False))["tip_side"] == "past the swivel"
