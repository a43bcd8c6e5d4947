"""Freehand: facets, cusps and step-off, against independent numbers and drawn in the plane."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapely.geometry import LineString, Point, Polygon
from shapes import CROWN, DOME, FILLET, GROOVE, ROUND_CORNER, each_shape

from advisor.formulas import freehand
from advisor.formulas.freehand import (
    chamfer_leg,
    cusp,
    facets,
    half_of_steps,
    largest_step,
    nose_for,
    standing,
    step_off,
)
from advisor.formulas.geometry import depth_of_arc, sweep_of_arc

NAN = math.nan


def test_doctests():
    assert doctest.testmod(freehand).failed == 0


# Computed independently, for R 1.
def test_facets_computed_independently():
    assert chamfer_leg(radius=1.0) == approx(0.585786, abs=1e-6)
    assert standing(radius=1.0, level=0) == approx(0.414214, abs=1e-6)
    assert standing(radius=1.0, level=1) == approx(0.082392, abs=1e-6)
    assert standing(radius=1.0, level=2) == approx(0.019591, abs=1e-6)
    assert standing(radius=1.0, level=3) == approx(0.004839, abs=1e-6)


def test_facets_come_in_the_order_of_cutting():
    angles = [facet["angle_deg"] for facet in facets(radius=6.0, levels=3)]
    assert angles == [45, 22.5, 67.5, 11.25, 33.75, 56.25, 78.75]
    standings = [facet["standing_mm"] for facet in facets(radius=6.0, levels=3)]
    assert standings == sorted(standings, reverse=True)


@pytest.mark.parametrize("level", [1, 2, 3])
def test_facets_leave_what_they_say(level):
    # Where neighbouring facets meet, about the centre of the arc: on a circle through the corners of its polygon.
    half = math.radians(45.0 / 2**level)
    out = 6.0 / math.cos(half)
    breaks = [(out * math.sin(half * odd), out * math.cos(half * odd)) for odd in range(1, 2 ** (level + 1), 2)]
    assert max(math.hypot(*place) for place in breaks) - 6 == approx(standing(radius=6.0, level=level))
    for one, two in zip(breaks, breaks[1:]):
        assert LineString([one, two]).distance(Point(0, 0)) == approx(6.0)
    angles = [facet["angle_deg"] for facet in facets(radius=6.0, levels=level)]
    lines = [math.degrees(math.atan2(one[1] - two[1], two[0] - one[0])) for one, two in zip(breaks, breaks[1:])]
    assert sorted(angles) == approx(sorted(lines))


# Radius, nose, step, convex, cusp. Computed independently; the last two in inches.
CUSPS = [
    (10, 0.8, 5, True, 0.143134),
    (10, 0.8, 5, False, 0.116687),
    (10, 0.8, 2, True, 0.020877),
    (25, 0.4, 1, True, 0.066062),
    (0.25, 1 / 32, 5, True, 0.002241),
    (0.25, 1 / 32, 5, False, 0.001701),
]


@pytest.mark.parametrize("radius, nose, step, convex, height", CUSPS)
def test_cusps_computed_independently(radius, nose, step, convex, height):
    found = cusp(radius=radius, nose_radius=nose, step=step, convex=convex)
    assert found == approx(height, abs=1.1e-6)
    back = largest_step(radius=radius, nose_radius=nose, largest_cusp=found, convex=convex)
    assert back == approx(step)


@pytest.mark.parametrize("convex", [True, False])
def test_cusp_by_sweeping_a_ray(convex):
    radius, nose, step = 12.0, 1.5, 6.0
    path = radius + nose if convex else radius - nose
    highest = 0.0
    for angle in numpy.radians(numpy.linspace(0, step / 2, 5001)):
        # Ray from the centre of the arc through the nose circle at angle 0: near side outside, far side inside.
        half_chord = math.sqrt(nose**2 - (path * math.sin(angle)) ** 2)
        surface = path * math.cos(angle) + (-half_chord if convex else half_chord)
        highest = max(highest, abs(surface - radius))
    assert cusp(radius=radius, nose_radius=nose, step=step, convex=convex) == approx(highest)


def test_a_fine_step_leaves_nearly_the_feed_mark_of_a_straight_cut():
    feed, nose, radius = 0.2, 0.8, 1e6
    step = math.degrees(feed / radius)
    # f²/8r is the handbook approximation, 6.25 um; exact 6.2746 um, computed independently.
    assert cusp(radius=radius, nose_radius=nose, step=step, convex=True) == approx(0.0062746, abs=1e-6)
    assert cusp(radius=radius, nose_radius=nose, step=step, convex=False) == approx(0.0062746, abs=1e-6)


def test_noses_that_do_not_meet_or_do_not_fit():
    assert math.isnan(cusp(radius=50.0, nose_radius=0.4, step=5.0, convex=True))
    assert math.isnan(cusp(radius=3.0, nose_radius=3.0, step=5.0, convex=False))
    assert nose_for(radius=2.0, convex=True, nose_radii=(0.8, 1.6, 3.0)) == 1.6
    assert nose_for(radius=0.5, convex=True, nose_radii=(0.8, 1.6)) == 0.8
    assert math.isnan(nose_for(radius=0.8, convex=False, nose_radii=(0.8, 1.6)))
    assert math.isnan(nose_for(radius=2.0, convex=True, nose_radii=()))


@given(
    radius=some.floats(1.0, 200.0),
    share=some.floats(0.05, 0.95),
    wanted=some.floats(0.001, 0.2),
    convex=some.booleans(),
)
@settings(max_examples=200, deadline=None)
def test_largest_step_leaves_the_wanted_cusp(radius, share, wanted, convex):
    nose = share * radius
    height = wanted * nose
    step = largest_step(radius=radius, nose_radius=nose, largest_cusp=height, convex=convex)
    left = cusp(radius=radius, nose_radius=nose, step=step * (1 - 1e-9), convex=convex)
    assert left <= height * (1 + 1e-6)
    if convex or share < 0.5:
        assert left == approx(height, rel=1e-5)


def measures(shape, radius, chord, diameter):
    return {
        "radius": radius,
        "chord": NAN if shape["corner"] else chord,
        "depth": radius if shape["corner"] else depth_of_arc(radius=radius, chord=chord),
        "diameter": chord if shape == DOME else diameter,
        **shape,
    }


def drawn(given):
    """The finished half section and its arc in (z, x): z into the work from the face, x from the axis.

    A fillet has its shoulder at z = 0 and its small diameter on the positive side; a groove or crown its
    middle at z = 0.
    """
    radius, a, s = given["radius"], given["diameter"] / 2, given["depth"]
    half = (given["chord"] or 0) / 2
    rim = math.asin(min(half / radius, 1)) if not given["corner"] else math.pi / 2
    angles = numpy.linspace(0 if given["corner"] or given["end"] else -rim, rim, 4001)
    deep = 50.0
    if given["corner"] and given["convex"]:
        arc = [(radius - radius * math.cos(t), a - radius + radius * math.sin(t)) for t in angles]
        body = [(0, 0), *arc, (deep, a), (deep, 0)]
    elif given["corner"]:
        arc = [(radius - radius * math.cos(t), a + radius - radius * math.sin(t)) for t in angles]
        body = [(-deep, 0), (-deep, a + 2 * radius), (0, a + 2 * radius), *arc, (deep, a), (deep, 0)]
    elif given["end"] and given["convex"]:
        arc = [(radius - radius * math.cos(t), radius * math.sin(t)) for t in angles]
        body = [*arc, (deep, a), (deep, 0)]
    elif given["end"]:
        arc = [(s - radius + radius * math.cos(t), radius * math.sin(t)) for t in angles]
        body = [*arc, (0, a), (deep, a), (deep, 0)]
    elif given["convex"]:
        arc = [(radius * math.sin(t), a - radius + radius * math.cos(t)) for t in angles]
        body = [(-half, 0), *arc, (half, 0)]
    else:
        arc = [(radius * math.sin(t), a - s + radius - radius * math.cos(t)) for t in angles]
        body = [(-deep, 0), (-deep, a), *arc, (deep, a), (deep, 0)]
    return Polygon(body), LineString(arc)


def nose_centre(given, nose, step):
    """Where the nose stands, from what the dials read after touching off."""
    a, x, z = given["diameter"] / 2, step["x_in_mm"], step["z_in_mm"]
    if given["corner"] and not given["convex"]:
        return nose + z, a + nose + x  # both counted back out of the work
    if given["corner"] or given["end"]:
        return -nose + z, a + nose - x
    half = half_of_steps(radius=given["radius"], nose_radius=nose, chord=given["chord"], convex=given["convex"])
    return z - half, a + nose - x  # counted from the first rim


SIZES = [(6.0, 9.0, 40.0, 1.5), (20.0, 24.0, 30.0, 3.0), (5.0, 10.0, 24.0, 0.8)]


@each_shape
@pytest.mark.parametrize("radius, chord, diameter, nose", SIZES)
def test_the_nose_touches_the_arc_and_never_cuts_into_the_work(shape, radius, chord, diameter, nose):
    if shape == ROUND_CORNER:
        diameter = max(diameter, 2 * radius)
    given = measures(shape, radius, chord, diameter)
    work, arc = drawn(given)
    steps = step_off(**given, nose_radius=nose, count=9)
    assert len(steps) == 9
    for step in steps:
        centre = Point(nose_centre(given, nose, step))
        assert arc.distance(centre) == approx(nose, abs=1e-5)
        assert not work.contains(centre)
        assert centre.buffer(nose - 1e-5, quad_segs=200).intersection(work).area < 1e-9


@each_shape
def test_the_first_and_last_step_touch_the_ends_of_the_arc(shape):
    given = measures(shape, 6.0, 9.0, 40.0)
    _, arc = drawn(given)
    steps = step_off(**given, nose_radius=1.5, count=9)
    for step, place in ((steps[0], arc.coords[0]), (steps[-1], arc.coords[-1])):
        assert Point(nose_centre(given, 1.5, step)).distance(Point(place)) == approx(1.5)


def test_step_off_worked_by_hand():
    # R 10, nose 2, both sides touched, half way round: 12(1 − √½) and 8(1 − √½).
    given = measures(ROUND_CORNER, 10.0, NAN, 40.0)
    middle = step_off(**given, nose_radius=2.0, count=3)[1]
    assert (middle["x_in_mm"], middle["z_in_mm"]) == approx((3.514719, 3.514719), abs=1e-6)
    middle = step_off(**{**given, **FILLET}, nose_radius=2.0, count=3)[1]
    assert (middle["x_in_mm"], middle["z_in_mm"]) == approx((2.343146, 2.343146), abs=1e-6)
    # A groove of R 5 over 8 is 2 deep; with a nose of 1 the centre is 4·0.8 = 3.2 out and 0.4 in at the rim.
    rim, bottom, far = step_off(**measures(GROOVE, 5.0, 8.0, 30.0), nose_radius=1.0, count=3)
    assert (bottom["x_in_mm"], bottom["z_in_mm"]) == approx((2.0, 3.2))
    assert (rim["x_in_mm"], rim["z_in_mm"]) == approx((0.4, 0.0))  # no dial counts below its zero
    assert (far["x_in_mm"], far["z_in_mm"]) == approx((0.4, 6.4))


def test_a_nose_that_does_not_fit_gives_no_steps():
    given = measures(FILLET, 2.0, NAN, 30.0)
    assert step_off(**given, nose_radius=2.0, count=5) == []
    assert step_off(**given, nose_radius=NAN, count=5) == []


def test_arrays_give_what_numbers_give():
    radius = numpy.array([6.0, 6.0, 2.0, 30.0])
    nose = numpy.array([1.5, 1.5, 3.0, 0.4])
    convex = numpy.array([True, False, False, True])
    cusps = cusp(radius=radius, nose_radius=nose, step=4.0, convex=convex)
    steps = largest_step(radius=radius, nose_radius=nose, largest_cusp=0.05, convex=convex)
    noses = nose_for(radius=radius, convex=convex, nose_radii=(0.8, 1.6, 3.0))
    for k in range(4):
        one = {"radius": float(radius[k]), "convex": bool(convex[k])}
        assert cusps[k] == approx(cusp(**one, nose_radius=float(nose[k]), step=4.0), nan_ok=True)
        assert steps[k] == approx(largest_step(**one, nose_radius=float(nose[k]), largest_cusp=0.05), nan_ok=True)
        assert noses[k] == approx(nose_for(**one, nose_radii=(0.8, 1.6, 3.0)), nan_ok=True)


def setup_values(shape, **more):
    given = measures(shape, 6.0, 9.0, 40.0)
    sweep = 90.0 if shape["corner"] else sweep_of_arc(radius=6.0, chord=9.0)
    return {**given, "sweep": sweep, "nose_radius": 1.5, **more}


def hand_values(shape, *, largest_cusp=0.05, **more):
    """Values of a setup with as many steps as leave no higher cusp."""
    values = {**setup_values(shape), "has_compound": False, "facets_over": NAN, **more}
    arc = {name: values[name] for name in ("radius", "nose_radius", "sweep", "convex", "corner", "end")}
    return {**values, "steps_off": freehand.steps_needed(**arc, largest_cusp=largest_cusp)}


@each_shape
def test_setup(shape):
    setup = freehand.setup(hand_values(shape, freehand_rpm=500.0))
    assert set(setup) == {
        "spindle_rpm",
        "surface_speed_m_min",
        "straight_turning_rpm",
        "layout",
        "nose_radius_mm",
        "chamfer_leg_mm",
        "facets",
        "step_off",
        "cusp_mm",
    }
    assert 0 < setup["cusp_mm"] <= 0.05 + 1e-9
    assert bool(setup["facets"]) == (shape == ROUND_CORNER)
    assert (setup["chamfer_leg_mm"] is None) == (shape != ROUND_CORNER)


def test_setup_steps_no_finer_than_the_cusp_asks():
    left = cusp(radius=6.0, nose_radius=1.5, step=5.0, convex=True)
    setup = freehand.setup(hand_values(ROUND_CORNER, largest_cusp=left))
    assert len(setup["step_off"]) == 19
    assert setup["cusp_mm"] == approx(left)


def test_setup_of_a_half_round_end_has_facets():
    values = {**measures(DOME, 6.0, 12.0, 12.0), "sweep": 180.0, "nose_radius": 1.5, "steps_off": 10.0}
    assert freehand.setup(values)["chamfer_leg_mm"] == approx(chamfer_leg(radius=6.0))


def test_setup_without_a_nose_that_fits():
    setup = freehand.setup(hand_values(FILLET, nose_radius=NAN))
    assert (setup["nose_radius_mm"], setup["step_off"], setup["cusp_mm"]) == (None, [], None)


@pytest.mark.parametrize("shape", [GROOVE, CROWN])
@pytest.mark.parametrize("largest", [0.02, 0.03, 0.05, 0.08])
def test_setup_has_the_middle_of_a_groove_and_crown(shape, largest):
    steps = freehand.setup(hand_values(shape, largest_cusp=largest))["step_off"]
    middle = steps[len(steps) // 2]
    deepest = 0.0 if shape["convex"] else depth_of_arc(radius=6.0, chord=9.0)
    assert (middle["x_in_mm"], 2 * middle["z_in_mm"]) == approx((deepest, steps[-1]["z_in_mm"]))
    assert min(step["z_in_mm"] for step in steps) == steps[0]["z_in_mm"] == 0.0
