"""Form tool: published and independent profile numbers, and a tool face that is intersected by brute force."""

import doctest
import math

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapes import CROWN, DISH, DOME, FILLET, GROOVE, ROUND_CORNER, SHAPES, each_shape

from advisor.formulas import common, form_tool
from advisor.formulas.form_tool import (
    edge_width,
    face_depth,
    flank_depth,
    plain_arc_error,
    profile,
    smallest_radius,
    work_depth,
)
from advisor.formulas.geometry import depth_of_arc

NAN = math.nan
ANGLES = [(10.0, 0.0), (8.0, 8.0), (10.0, 12.0), (12.0, 20.0), (8.0, -5.0)]
each_angle = pytest.mark.parametrize("relief, rake", ANGLES)


def measures(shape, radius=6.0, chord=9.0, diameter=40.0):
    """The arguments that tell one shape."""
    depth = radius if shape["corner"] else depth_of_arc(radius=radius, chord=chord)
    return {
        "radius": radius,
        "chord": NAN if shape["corner"] else chord,
        "depth": depth,
        "diameter": chord if shape == DOME else diameter,
        **shape,
    }


@pytest.mark.parametrize("module", [form_tool, common])
def test_doctests(module):
    assert doctest.testmod(module).failed == 0


# First smallest and largest diameter, rake, relief, then face and ground depth. Computed independently from
# first principles; no published worked example was at hand.
FLAT_TOOLS = [
    (1.0, 1.5, 0, 10, 0.25, 0.246202),
    (1.0, 1.5, 10, 10, 0.252554, 0.237323),
    (0.5, 1.0, 15, 8, 0.254314, 0.234097),
    (20, 30, 0, 10, 5, 4.924039),
    (20, 30, 10, 10, 5.051071, 4.746454),
    (12, 24, 20, 12, 6.185076, 5.245242),
]


@pytest.mark.parametrize("d1, d2, rake, relief, face, ground", FLAT_TOOLS)
def test_flat_tools_computed_independently(d1, d2, rake, relief, face, ground):
    found = face_depth(r1=d1 / 2, r2=d2 / 2, rake=rake)
    assert found == approx(face, abs=1e-6)
    assert flank_depth(face=found, relief=relief, rake=rake) == approx(ground, abs=1e-6)


# Beads, radius a half circle: radius, smallest work radius, rake, relief, crest ground, error of the plain arc.
# Computed independently.
BEADS = [
    (6.0, 12.0, 10, 10, 5.695745, 0.3216, 1e-4),
    (0.25, 0.5, 0, 8, 0.247567, 0.002457, 1e-6),
    (0.25, 0.5, 10, 8, 0.240193, 0.010244, 1e-6),
    (0.5, 0.375, 12, 10, 0.467963, 0.0344, 1e-4),
]


@pytest.mark.parametrize("radius, r1, rake, relief, crest, error, within", BEADS)
def test_beads_computed_independently(radius, r1, rake, relief, crest, error, within):
    given = measures(CROWN, radius=radius, chord=2 * radius, diameter=2 * (r1 + radius))
    table = profile(**given, relief=relief, rake=rake, count=9)
    middle = table[4]
    assert (middle["z_mm"], middle["work_depth_mm"]) == approx((0.0, radius))
    assert middle["flank_depth_mm"] == approx(crest, abs=1e-6)
    assert table[0]["flank_depth_mm"] == approx(0.0, abs=1e-9)
    for name in ("radius", "chord"):
        del given[name]
    assert plain_arc_error(**given, relief=relief, rake=rake) == approx(error, abs=within)


def test_bead_without_rake_computed_independently():
    given = measures(CROWN, radius=6.0, chord=12.0, diameter=36.0)
    table = profile(**given, relief=10.0, rake=0.0, count=13)
    assert table[6]["flank_depth_mm"] == approx(5.908847, abs=1e-6)


@pytest.mark.parametrize("z, ground", [(1.5, 0.181753), (3.0, 0.766275), (4.5, 1.933970), (6.0, 5.695745)])
def test_groove_with_rake_computed_independently(z, ground):
    depth = work_depth(radius=6.0, depth=6.0, convex=False, corner=False, z=z)
    face = face_depth(r1=12.0, r2=12.0 + depth, rake=10.0)
    assert flank_depth(face=face, relief=10.0, rake=10.0) == approx(ground, abs=1e-6)


def finished_radius(given, z):
    """Work radius at z, from the centre of the arc and nothing else."""
    radius, a = given["radius"], given["diameter"] / 2
    if given["corner"]:
        rise = math.sqrt(max(radius**2 - (z - radius) ** 2, 0.0))
        return a - radius + rise if given["convex"] else a + radius - rise
    rise = math.sqrt(max(radius**2 - z**2, 0.0))
    return a - radius + rise if given["convex"] else a - given["depth"] + radius - rise


def bisect(function, low, high):
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if function(middle) < 0 else (low, middle)
    return (low + high) / 2


@each_angle
@pytest.mark.parametrize("shape", [ROUND_CORNER, FILLET, CROWN, GROOVE])
def test_the_face_meets_the_work_fed_square_to_the_axis(shape, relief, rake):
    given = measures(shape)
    slope, back = math.radians(rake), math.radians(relief)
    edge = min(finished_radius(given, row["z_mm"]) for row in profile(**given, relief=0, rake=0, count=13))
    for row in profile(**given, relief=relief, rake=rake, count=13):
        # The ray along the tool face at this z, from the edge at centre height; the work turns about the axis.
        def beyond(c):
            return math.hypot(edge + c * math.cos(slope), c * math.sin(slope)) - finished_radius(given, row["z_mm"])

        c = bisect(beyond, -1.0, 30.0)
        x, y = c * math.cos(slope), -c * math.sin(slope)
        assert row["face_depth_mm"] == approx(c, abs=1e-7)
        assert row["flank_depth_mm"] == approx(x * math.cos(back) + y * math.sin(back), abs=1e-7)
        assert row["work_depth_mm"] == approx(finished_radius(given, row["z_mm"]) - edge, abs=1e-7)


@each_angle
@pytest.mark.parametrize("shape", [DOME, DISH])
def test_the_face_meets_the_work_fed_along_the_axis(shape, relief, rake):
    given = measures(shape)
    slope = math.radians(rake)
    table = profile(**given, relief=relief, rake=rake, count=13)
    at_axis = table[6]
    assert at_axis["z_mm"] == 0.0
    for row in table:
        forward = at_axis["face_depth_mm"] - row["face_depth_mm"]
        height, along = forward * math.sin(slope), forward * math.cos(slope)
        from_axis = math.hypot(row["z_mm"], height)
        fall = given["radius"] - math.sqrt(given["radius"] ** 2 - min(from_axis, given["radius"]) ** 2)
        assert (along if shape == DOME else -along) == approx(fall, abs=1e-9)
        assert row["flank_depth_mm"] == approx(row["face_depth_mm"] * math.cos(math.radians(relief + rake)))


@each_shape
@each_angle
def test_profile_runs_from_end_to_end(shape, relief, rake):
    given = measures(shape)
    table = profile(**given, relief=relief, rake=rake, count=13)
    depths = [row["work_depth_mm"] for row in table]
    assert len(table) == 13
    assert min(depths) == approx(0.0, abs=1e-9)
    assert max(depths) == approx(given["depth"])
    if shape["corner"]:
        assert (table[0]["z_mm"], table[-1]["z_mm"]) == approx((0.0, given["radius"]))
        assert depths[0] == approx(0.0 if shape["convex"] else given["radius"])
    else:
        for row, other in zip(table, reversed(table)):
            assert row["z_mm"] == approx(-other["z_mm"], abs=1e-12)
            assert row["flank_depth_mm"] == approx(other["flank_depth_mm"], abs=1e-12)
    if not (shape["end"] and rake) and not shape["corner"]:
        assert table[-1]["z_mm"] == approx(given["chord"] / 2)


@each_shape
def test_a_zero_rake_face_shows_the_true_radius(shape):
    given = measures(shape)
    for row in profile(**given, relief=10.0, rake=0.0, count=13):
        assert row["face_depth_mm"] == approx(row["work_depth_mm"], abs=1e-9)
        assert row["flank_depth_mm"] == approx(row["work_depth_mm"] * math.cos(math.radians(10)), abs=1e-9)


def test_a_half_circle_that_rounding_made_wider_still_has_its_ends():
    given = measures(GROOVE, radius=5.0, chord=10.0, diameter=30.0)
    given["chord"] = 10.0 + 1e-12
    table = profile(**given, relief=10.0, rake=0.0, count=5)
    assert table[-1]["work_depth_mm"] == approx(5.0)


RUN_OUT = {"land": 0.5, "past": 0.5, "flare": 4.0}


@pytest.mark.parametrize(
    "shape, sweep, width",
    [
        (ROUND_CORNER, 90.0, 7.0),
        (FILLET, 90.0, 6.5),
        (CROWN, 180.0, 13.0),
        (GROOVE, 180.0, 12.0),
        (DOME, 180.0, 7.0),
        (DISH, 180.0, 6.5),
    ],
)
def test_widths(shape, sweep, width):
    chord = NAN if shape["corner"] else 12.0
    assert edge_width(radius=6.0, chord=chord, sweep=sweep, **RUN_OUT, **shape) == approx(width)


@each_angle
@pytest.mark.parametrize("shape", [ROUND_CORNER, FILLET, CROWN, GROOVE])
def test_error_of_the_plain_arc_by_brute_force(shape, relief, rake):
    given = measures(shape, diameter=30.0)
    slope, lean = math.radians(rake), math.cos(math.radians(relief + rake))
    r1 = smallest_radius(depth=given["depth"], half_diameter=15.0, **shape)
    worst = 0.0
    for t in numpy.linspace(0.0, given["depth"], 20001):
        c = t / lean
        turned = math.hypot(r1 + c * math.cos(slope), c * math.sin(slope))
        worst = max(worst, abs(turned - r1 - t))
    del given["radius"], given["chord"]
    assert plain_arc_error(**given, relief=relief, rake=rake) == approx(worst, rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("shape", [DOME, DISH])
def test_error_of_the_plain_arc_on_an_end(shape):
    given = measures(shape)
    table = profile(**given, relief=10.0, rake=10.0, count=13)
    deepest = max(row["flank_depth_mm"] for row in table)
    # A tool ground too deep by a share cuts too deep by the same share.
    expected = given["depth"] * (given["depth"] / deepest - 1)
    del given["radius"], given["chord"]
    assert plain_arc_error(**given, relief=10.0, rake=10.0) == approx(expected)


@given(
    r1=some.floats(0.0, 50.0),
    t=some.floats(0.01, 30.0),
    rake=some.floats(-10.0, 35.0),
    relief=some.floats(5.0, 15.0),
)
@settings(max_examples=100, deadline=None)
def test_ground_depth_turns_back_into_the_work(r1, t, rake, relief):
    face = face_depth(r1=r1, r2=r1 + t, rake=rake)
    slope = math.radians(rake)
    assert math.hypot(r1 + face * math.cos(slope), face * math.sin(slope)) == approx(r1 + t)
    assert 0 < flank_depth(face=face, relief=relief, rake=rake) <= face


def test_arrays_give_what_numbers_give():
    given = [measures(shape) for shape in SHAPES]
    columns = {name: numpy.array([row[name] for row in given]) for name in given[0]}
    names = ("radius", "chord", "convex", "corner", "end")
    widths = edge_width(**{name: columns[name] for name in names}, sweep=numpy.full(len(given), 90.0), **RUN_OUT)
    for k, row in enumerate(given):
        assert widths[k] == edge_width(**{name: row[name] for name in names}, sweep=90.0, **RUN_OUT)


def test_setup_names_what_is_unknown_as_none():
    values = {
        **measures(ROUND_CORNER),
        "arc_length": 3 * math.pi,
        "edge_width": 7.0,
        "form_relief": 8.0,
        "edge_rake": 0.0,
        "form_tool_rpm": 355.0,
    }
    setup = form_tool.setup(values)
    assert setup["spindle_rpm"] == 355.0
    assert setup["straight_turning_rpm"] is None
    assert (setup["edge_form"], setup["edge_radius_mm"], setup["infeed_mm"]) == ("concave", 6.0, 6.0)
    assert set(setup["profile"][0]) == {"z_mm", "work_depth_mm", "face_depth_mm", "flank_depth_mm"}
    assert set(setup) == {
        "spindle_rpm",
        "surface_speed_m_min",
        "straight_turning_rpm",
        "layout",
        "edge_radius_mm",
        "edge_form",
        "edge_width_mm",
        "contact_length_mm",
        "infeed_mm",
        "relief_deg",
        "rake_deg",
        "profile",
    }


@each_shape
def test_layout_lines(shape):
    given = {**measures(shape), "from_end": 25.0}
    lines = {line["line"]: line["distance_mm"] for line in common.layout(given)}
    expected = {
        "round corner": {"end of the radius, along the work": 6.0, "start of the radius, on the face": 6.0},
        "fillet": {"end of the fillet, along the work": 6.0, "top of the fillet, on the shoulder": 6.0},
        "dome": {"rim of the dome, along the diameter": given["depth"]},
        "dish": {"mouth of the dish, across it": 9.0, "mouth of the dish": 15.5},
        "crown": {"near edge of the crown": 25.0, "middle of the crown": 29.5, "far edge of the crown": 34.0},
        "groove": {"near edge of the groove": 25.0, "middle of the groove": 29.5, "far edge of the groove": 34.0},
    }
    names = dict(zip(expected, SHAPES))
    assert lines == approx(next(expected[name] for name in names if names[name] == shape))


def test_layout_without_a_place_starts_at_the_near_edge():
    lines = common.layout({**measures(GROOVE), "from_end": NAN})
    assert [(line["from"], line["distance_mm"]) for line in lines] == [
        ("end face", None),
        ("near edge of the groove", 4.5),
        ("near edge of the groove", 9.0),
    ]
