"""Pivot attachment, and what it shares with rod and swung compound: reach, allowances, passes."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapely.geometry import Point, box

from advisor.formulas import pivot, swung_gear
from advisor.formulas.geometry import depth_of_arc

NAN = math.nan
size = some.floats(0.5, 300.0)


@pytest.mark.parametrize("module", [pivot, swung_gear])
def test_doctests(module):
    assert doctest.testmod(module).failed == 0


def test_post_reading_with_the_post_drawn():
    # Pivot at 0, tool holder on the negative side: the micrometer stands on the post's side at −P/2.
    radius, post = 22.0, 10.0
    for convex, tip in ((True, -radius), (False, radius)):
        assert pivot.post_reading(radius=radius, post_diameter=post, convex=convex) == approx(abs(tip - (-post / 2)))
    assert pivot.tip_side(convex=True) == "short of the pivot"
    assert pivot.tip_side(convex=False) == "past the pivot"


@pytest.mark.parametrize(
    "limits, window, aim",
    [
        ((49.8, 50.2), (10.0, 90.0), 50.0),
        ((49.8, 50.2), (50.1, 90.0), 50.1),
        ((49.8, 50.2), (10.0, 49.9), 49.9),
        ((49.8, 50.2), (50.2, 90.0), 50.2),
        ((49.8, 50.2), (50.3, 90.0), NAN),
        ((49.8, 50.2), (10.0, 49.7), NAN),
        ((49.8, 50.2), (NAN, NAN), NAN),
    ],
)
def test_aim(limits, window, aim):
    found = swung_gear.aim_in_window(
        radius=50.0, radius_low=limits[0], radius_high=limits[1], window_low=window[0], window_high=window[1]
    )
    assert found == approx(aim, nan_ok=True)


@given(radius=size, tolerance=some.floats(0.0, 2.0), low=size, width=some.floats(0.0, 50.0))
@settings(max_examples=200, deadline=None)
def test_aim_lies_inside_both_or_there_is_none(radius, tolerance, low, width):
    limits = {"radius_low": radius - tolerance, "radius_high": radius + tolerance}
    aim = swung_gear.aim_in_window(radius=radius, **limits, window_low=low, window_high=low + width)
    miss = swung_gear.outside_window(radius=radius, window_low=low, window_high=low + width)
    if math.isnan(aim):
        assert miss > 0
    else:
        assert low <= aim <= low + width
        assert limits["radius_low"] <= aim <= limits["radius_high"]
        assert abs(aim - radius) == approx(miss)


def test_tool_off_height_turns_a_larger_sphere():
    # The tip swings in a level plane h from the axis; each of its places is turned about the axis.
    radius, tolerance = 24.0, 1.0
    offset = swung_gear.height_allowance(radius=radius, tolerance=tolerance, share=1.0)
    for angle in numpy.radians(numpy.linspace(0, 80, 9)):
        from_axis = math.hypot(radius * math.sin(angle), offset)
        assert math.hypot(from_axis, radius * math.cos(angle)) == approx(radius + tolerance)


@pytest.mark.parametrize("radius, work_radius", [(6.0, 6.0), (6.0, 20.0), (20.0, 30.0)])
def test_on_a_corner_the_height_error_is_no_larger(radius, work_radius):
    offset = 0.3
    bound = math.hypot(radius, offset) - radius
    for angle in numpy.radians(numpy.linspace(1, 90, 90)):
        x = work_radius - radius + radius * math.sin(angle)
        grown = math.hypot(x, offset) - x
        assert grown * math.sin(angle) <= bound * 1.0001 + 1e-12


@given(radius=size, tolerance=some.floats(0.001, 1.0), share=some.floats(0.05, 1.0))
@settings(max_examples=100, deadline=None)
def test_height_allowance_spends_its_share(radius, tolerance, share):
    offset = swung_gear.height_allowance(radius=radius, tolerance=tolerance, share=share)
    grown = math.hypot(radius, offset) - radius
    assert grown == approx(share * tolerance, abs=1e-9)


@given(tolerance=some.floats(0.001, 1.0), share=some.floats(0.05, 1.0), sweep=some.floats(5.0, 180.0))
@settings(max_examples=100, deadline=None)
def test_offset_allowance_spends_its_share_at_the_rim(tolerance, share, sweep):
    offset = swung_gear.offset_allowance(tolerance=tolerance, share=share, sweep=sweep, end=True)
    assert offset * math.sin(math.radians(sweep / 2)) == approx(share * tolerance)
    assert swung_gear.offset_allowance(tolerance=tolerance, share=share, sweep=sweep) == approx(share * tolerance)


def test_offset_shows_square_to_the_surface():
    # A dome of R 40 swung about a centre 0.01 off the axis, seen at 30°.
    radius, offset, angle = 40.0, 0.01, math.radians(30)
    wanted = (radius * math.sin(angle), radius * math.cos(angle))
    turned = (wanted[0] + offset, wanted[1])
    assert math.hypot(*turned) - radius == approx(offset * math.sin(angle), rel=1e-3)


STOCK = [
    ("round corner", True, True, 6.0, NAN),
    ("fillet", False, True, 6.0, NAN),
    ("dome", True, False, 25.0, 30.0),
    ("half round end", True, False, 15.0, 30.0),
    ("groove", False, False, 6.0, 9.0),
]


@pytest.mark.parametrize("name, convex, corner, radius, chord", STOCK)
def test_stock_to_rough_as_drawn(name, convex, corner, radius, chord):
    """The farthest that a point of the removed metal lies from the arc, the arc's centre at (0, 0)."""
    depth = radius if corner else depth_of_arc(radius=radius, chord=chord)
    half = radius if corner else chord / 2
    disc = Point(0, 0).buffer(radius, quad_segs=2000)
    if convex:
        stock = box(0, radius - depth, half, radius)
        metal = stock.difference(disc)
    elif corner:
        metal = box(0, 0, radius, radius).intersection(disc)
    else:
        metal = box(-half, -radius, half, depth - radius).intersection(disc)
    places = list(metal.exterior.coords)
    thickest = max(abs(math.hypot(x, z) - radius) for x, z in places)
    if not convex and not corner:
        thickest = max(radius - math.hypot(0.0, z) for x, z in places)
        thickest = max(thickest, radius - (radius - depth))
    found = swung_gear.stock_to_rough(radius=radius, depth=depth, convex=convex, corner=corner)
    assert found == approx(thickest, abs=1e-4)


def test_stock_computed_independently():
    # Square corner, for R 1.
    assert swung_gear.stock_to_rough(radius=1.0, depth=1.0, convex=True, corner=True) == approx(0.414214, abs=1e-6)


@pytest.mark.parametrize(
    "stock, cut, finishing, expected",
    [(2.5, 0.5, 2, 7), (2.6, 0.5, 2, 8), (0.3 + 0.6, 0.3, 1, 4), (0.0, 0.5, 2, 2), (0.1, 0.5, 2, 3)],
)
def test_passes(stock, cut, finishing, expected):
    assert swung_gear.passes(stock=stock, depth_of_cut=cut, finishing=finishing) == expected


def test_arrays_give_what_numbers_give():
    radius = numpy.array([6.0, 20.0, 50.0, NAN])
    convex = numpy.array([True, False, True, True])
    corner = numpy.array([True, False, False, True])
    end = numpy.array([False, True, True, False])
    depth = numpy.array([6.0, 3.0, 4.0, NAN])
    columns = {
        "post": pivot.post_reading(radius=radius, post_diameter=10.0, convex=convex),
        "aim": swung_gear.aim_in_window(
            radius=radius, radius_low=radius - 0.1, radius_high=radius + 0.1, window_low=6.05, window_high=49.95
        ),
        "height": swung_gear.height_allowance(radius=radius, tolerance=0.1, share=0.25),
        "offset": swung_gear.offset_allowance(tolerance=0.1, share=0.25, sweep=radius, end=end),
        "stock": swung_gear.stock_to_rough(radius=radius, depth=depth, convex=convex, corner=corner),
        "passes": swung_gear.passes(stock=depth, depth_of_cut=0.5, finishing=2),
    }
    for k in range(4):
        r, v, c, e, s = float(radius[k]), bool(convex[k]), bool(corner[k]), bool(end[k]), float(depth[k])
        one = {
            "post": pivot.post_reading(radius=r, post_diameter=10.0, convex=v),
            "aim": swung_gear.aim_in_window(
                radius=r, radius_low=r - 0.1, radius_high=r + 0.1, window_low=6.05, window_high=49.95
            ),
            "height": swung_gear.height_allowance(radius=r, tolerance=0.1, share=0.25),
            "offset": swung_gear.offset_allowance(tolerance=0.1, share=0.25, sweep=r, end=e),
            "stock": swung_gear.stock_to_rough(radius=r, depth=s, convex=v, corner=c),
            "passes": swung_gear.passes(stock=s, depth_of_cut=0.5, finishing=2),
        }
        for name in one:
            assert columns[name][k] == approx(one[name], nan_ok=True), name


def test_setup():
    values = {
        "radius": 30.0,
        "convex": True,
        "corner": False,
        "end": True,
        "chord": 36.0,
        "depth": 6.0,
        "diameter": 36.0,
        "sweep": 73.7398,
        "centre_from_axis": 0.0,
        "centre_from_face": 30.0,
        "post_diameter": 12.0,
        "pivot_rpm": 400.0,
        "pivot_surface_speed": 45.2,
        "straight_rpm": 355.0,
    }
    assert pivot.setup(values) == {
        "spindle_rpm": 400.0,
        "surface_speed_m_min": 45.2,
        "straight_turning_rpm": 355.0,
        "layout": [{"line": "rim of the dome, along the diameter", "from": "end face", "distance_mm": 6.0}],
        "tip_to_pivot_mm": 30.0,
        "tip_side": "short of the pivot",
        "post_reading_mm": 24.0,
        "pivot_from_axis_mm": 0.0,
        "pivot_from_face_mm": 30.0,
        "sweep_deg": 73.7398,
    }
