"""Swung compound: which side of the swivel, which window."""

import doctest
import math

from advisor.formulas import compound

NAN = math.nan


def test_doctests():
    assert doctest.testmod(compound).failed == 0


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
