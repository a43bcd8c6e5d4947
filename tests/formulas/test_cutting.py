"""Speeds, feeds, force, power, deflection and hardness against published figures and first principles."""

import inspect
import math

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as some
from pytest import approx
from scipy.integrate import quad

from advisor.formulas import cutting, in_the_lathe

INCH = 25.4
FOOT = 0.3048  # m
POUND = 4.4482216  # N
HORSEPOWER = 0.7457  # kW


@pytest.mark.parametrize(
    "speed, diameter, rpm, within",
    [
        (60 * FOOT, 5 * INCH, 46, 0.5),  # F. D. Jones, Turning and Boring, rules for cutting speeds
        (100 * FOOT, 2 * INCH, 191.0, 0.05),  # computed; 4V/D gives 200
        (90 * FOOT, 1 * INCH, 343.8, 0.05),  # computed
        (30, 25, 381.97, 0.005),  # computed
        (100, 50, 636.62, 0.005),  # computed
    ],
)
def test_spindle_speed(speed, diameter, rpm, within):
    assert cutting.spindle_speed(speed=speed, diameter=diameter) == approx(rpm, abs=within)


@given(speed=some.floats(1, 1000), diameter=some.floats(1, 500))
def test_surface_speed_leads_back(speed, diameter):
    rpm = cutting.spindle_speed(speed=speed, diameter=diameter)
    assert cutting.surface_speed(rpm=rpm, diameter=diameter) == approx(speed)


def test_power_of_a_cut():
    """A tool maker's technical data: ap 3, f 0.2, 120 m/min, kc 3100 MPa, efficiency 0.8: 4.65 kW."""
    force = cutting.cutting_force(width=3.0, thickness=0.2, force_1=3100.0, slope=0.0)
    assert cutting.cutting_power(force=force, speed=120.0) / 0.8 == approx(4.65)


@pytest.mark.parametrize(
    "width, speed, horsepower, pounds",
    [(0.5, 60, 0.426, 234), (1.0, 50, 0.710, 469)],
)
def test_force_on_a_wide_form_tool(width, speed, horsepower, pounds):
    """Carbon steel of 150 HB at .001 in/rev: Machinery's Handbook Kp .74 (p. 1147) with feed factor 1.6 (from memory).

    A second road to the same force: unit power of the handbook against Kienzle's law with kc1.1 1780, mc 0.17.
    """
    force = cutting.cutting_force(width=width * INCH, thickness=0.001 * INCH, force_1=1780.0, slope=0.17)
    assert force / POUND == approx(pounds, rel=0.1)
    assert cutting.cutting_power(force=force, speed=speed * FOOT) / HORSEPOWER == approx(horsepower, rel=0.1)


def test_force_of_grey_iron_against_a_tool_makers_table():
    """Grey iron of 200 HB at .1, .2, .3, .4, .6 mm: 2110, 1800, 1600, 1400, 1330 MPa; kc1.1 and mc from memory."""
    for feed, pressure in [(0.1, 2110), (0.2, 1800), (0.3, 1600), (0.4, 1400), (0.6, 1330)]:
        assert cutting.specific_force(force_1=1160.0, slope=0.26, thickness=feed) == approx(pressure, rel=0.06)


def test_force_law_stops_at_the_edge_radius():
    at_edge = cutting.specific_force(force_1=1780.0, slope=0.17, thickness=0.005)
    assert cutting.specific_force(force_1=1780.0, slope=0.17, thickness=0.0) == at_edge
    assert cutting.cutting_force(width=10.0, thickness=0.0, force_1=1780.0, slope=0.17) == 0


@pytest.mark.parametrize(
    "force, length, diameter, modulus, deflection, within",
    [
        (500, 100, 25, 205_000, 0.04240, 5e-6),
        (500, 75, 25, 205_000, 0.01789, 5e-6),
        (200, 60, 12, 70_000, 0.20210, 5e-6),
        (100 * POUND, 4 * INCH, INCH, 206_843, 0.001449 * INCH, 1e-5),
        (50 * POUND, 3 * INCH, INCH / 2, 206_843, 0.004889 * INCH, 2e-5),
    ],
)
def test_deflection_from_the_chuck(force, length, diameter, modulus, deflection, within):
    """Computed: F L³ / 3 E I of a solid bar."""
    beam = {"force": force, "length": length, "diameter": diameter, "modulus": modulus, "tailstock": False}
    assert cutting.deflection(**beam, bore=0.0) == approx(deflection, abs=within)
    assert cutting.deflection(**beam, bore=math.nan) == approx(deflection, abs=within)


def test_deflection_with_a_tailstock_is_on_the_safe_side():
    """Between a beam held loosely at both ends (integrated) and one held firmly in the chuck: 0.00932 F L³ / E I."""
    beam = {"force": 500.0, "length": 200.0, "diameter": 20.0, "bore": 0.0, "modulus": 205_000.0}
    stiffness = 205_000 * math.pi / 64 * 20**4
    # Castigliano: deflection at the middle is the integral of M dM/dF / EI, with M = F x / 2 up to the middle.
    loose = 2 * quad(lambda x: 500 * x / 2 * x / 2 / stiffness, 0, 100)[0]
    assert cutting.deflection(**beam, tailstock=True) == approx(loose)
    firm = 0.00932 * 500 * 200**3 / stiffness
    assert firm < cutting.deflection(**beam, tailstock=True) < cutting.deflection(**beam, tailstock=False)


def test_a_bore_weakens():
    beam = {"force": 500.0, "length": 100.0, "diameter": 25.0, "modulus": 205_000.0, "tailstock": False}
    assert cutting.deflection(**beam, bore=20.0) / cutting.deflection(**beam, bore=0.0) == approx(1 / (1 - 0.8**4))


def test_finishing_feed():
    """M. P. Groover, example 23.2: f 0.25, r 1.2 gives 1.63 um with the factor 32; 18√3 = 31.18 is computed."""
    limits = {"slowest": 0.05, "ordinary": 0.3}
    assert in_the_lathe.finishing_feed(finish=1.63 * 32 / 31.18, nose_radius=1.2, **limits) == approx(0.25, rel=2e-3)
    assert in_the_lathe.finishing_feed(finish=1.6036, nose_radius=0.8, **limits) == approx(0.2, abs=2e-5)
    assert in_the_lathe.finishing_feed(finish=0.01, nose_radius=0.8, **limits) == 0.05
    assert in_the_lathe.finishing_feed(finish=20.0, nose_radius=0.8, **limits) == 0.3
    assert in_the_lathe.finishing_feed(finish=math.nan, nose_radius=0.8, **limits) == 0.3


@pytest.mark.parametrize(
    "width, brass, mild_steel, tool_steel",
    [
        (1 / 8, 0.002, 0.0009, 0.0007),
        (1 / 4, 0.002, 0.0008, 0.0005),
        (3 / 8, 0.0015, 0.0007, 0.0004),
        (1 / 2, 0.0012, 0.0006, 0.0004),
        (5 / 8, 0.001, 0.0005, 0.0003),
        (3 / 4, 0.001, 0.0005, 0.0003),
    ],
)
def test_form_feed(width, brass, mild_steel, tool_steel):
    """Machinery's Handbook, feeds of circular form tools, from memory."""
    for hard, soft, feed in [(False, True, brass), (False, False, mild_steel), (True, False, tool_steel)]:
        assert cutting.form_feed(width=width * INCH, hard=hard, soft=soft) / INCH == approx(feed)


@given(width=some.floats(0.1, 80), more=some.floats(0, 30), hard=some.booleans(), soft=some.booleans())
def test_form_feed_falls_with_width(width, more, hard, soft):
    kind = {"hard": hard, "soft": soft}
    assert cutting.form_feed(width=width + more, **kind) <= cutting.form_feed(width=width, **kind)


FORMULAS = [thing for thing in vars(cutting).values() if getattr(thing, "__module__", "") == cutting.__name__]


@pytest.mark.parametrize("function", FORMULAS, ids=lambda function: function.__name__)
def test_arrays_agree_with_numbers(function):
    random = numpy.random.default_rng(5)
    count = 300
    truths = {"tailstock", "hard", "soft"}
    ranges = {"rockwell_c": (15, 70), "slope": (0.1, 0.3), "thickness": (0, 0.3)}
    columns = {}
    for name in inspect.signature(function).parameters:
        if name in truths:
            columns[name] = random.random(count) < 0.5
        else:
            values = random.uniform(*ranges.get(name, (0.5, 100)), count)
            columns[name] = numpy.where(random.random(count) < 0.1, math.nan, values)
    together = function(**columns)
    for row in range(count):
        alone = function(**{name: column[row].item() for name, column in columns.items()})
        assert together[row] == approx(alone, rel=1e-9, nan_ok=True)
