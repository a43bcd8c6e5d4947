"""The DXF of the form tool's edge and the templates, read back and held against the numbers."""

import io
import math

import pytest
from command import CORNER, run
from hypothesis import given
from hypothesis import strategies as st
from test_drawing import CASES, advice_of

from advisor.drawing import edge_profile as profiles
from advisor.formulas import form_tool

ezdxf = pytest.importorskip("ezdxf")

from advisor.show import dxf  # noqa: E402


@pytest.fixture(scope="module", params=CASES)
def advice(request):
    return advice_of(request.param)


def read_back(advice):
    data = dxf.rendered(profiles.profile(advice))
    return ezdxf.read(io.StringIO(data.decode()))


def on_layer(drawing, layer):
    return [entity for entity in drawing.modelspace() if entity.dxf.layer == layer]


def arc_of(values, points):
    """The points of an edge without what it runs out on."""
    shape = {name: values[name] for name in ("radius", "chord", "depth", "convex", "corner", "end")}
    before, after = form_tool.run_outs(**shape, land=values["form_tool_land"], flare=values["form_tool_flare"])
    return points[len(before) : len(points) - len(after)]


def test_the_audit_finds_nothing(advice):
    drawing = read_back(advice)
    auditor = drawing.audit()
    assert not auditor.errors and not auditor.fixes


def test_units_layers_and_closing(advice):
    drawing = read_back(advice)
    inch = advice.callout.units == "inch"
    assert drawing.header["$INSUNITS"] == (1 if inch else 4)
    assert drawing.header["$MEASUREMENT"] == (0 if inch else 1)
    for layer, closed in (
        ("EDGE", False),
        ("EDGE_ON_FACE", False),
        ("BLANK", True),
        ("TEMPLATE_MIN", True),
        ("TEMPLATE_MAX", True),
    ):
        (line,) = on_layer(drawing, layer)
        assert line.closed == closed
    (arc,) = on_layer(drawing, "PLAIN_ARC")
    assert arc.dxftype() == "ARC"


def test_the_edge_is_what_the_formulas_say(advice):
    values, inch = advice.values, advice.callout.units == "inch"
    factor = 25.4 if inch else 1.0
    drawing = read_back(advice)
    (edge,) = on_layer(drawing, "EDGE")
    (face,) = on_layer(drawing, "EDGE_ON_FACE")
    points = arc_of(values, [(x * factor, y * factor) for x, y in edge.get_points("xy")])
    on_face = arc_of(values, [(x * factor, y * factor) for x, y in face.get_points("xy")])
    for (x, y), (_, y_face) in zip(points, on_face, strict=True):
        assert -y == pytest.approx(
            -y_face * math.cos(math.radians(values["form_relief"] + values["edge_rake"])), abs=1e-6
        )
        if not values["end"] or values["edge_rake"] == 0:
            z = (
                min(max(x, -values["radius"]), values["radius"])
                if not values["corner"]
                else min(max(x, 0.0), values["radius"])
            )
            depth = form_tool.work_depth(
                radius=values["radius"], depth=values["depth"], convex=values["convex"], corner=values["corner"], z=z
            )
            if values["edge_rake"] == 0:
                # Near an upright end of the arc a digit of z is many of the depth.
                assert -y_face == pytest.approx(depth, abs=2e-4)


def test_the_plain_arc_is_the_radius_and_meets_the_edge_on_the_face_without_rake(advice):
    values, factor = advice.values, 25.4 if advice.callout.units == "inch" else 1.0
    drawing = read_back(advice)
    (arc,) = on_layer(drawing, "PLAIN_ARC")
    assert arc.dxf.radius * factor == pytest.approx(values["radius"])
    if values["edge_rake"] == 0:
        centre = [c * factor for c in arc.dxf.center][:2]
        (face,) = on_layer(drawing, "EDGE_ON_FACE")
        for x, y in arc_of(values, [(x * factor, y * factor) for x, y in face.get_points("xy")]):
            # The point past the middle of an end lies on a chord.
            assert math.dist((x, y), centre) == pytest.approx(values["radius"], abs=1e-3)


@given(
    radius=st.floats(0.2, 200),
    share=st.floats(0.05, 1.0),
    rake=st.sampled_from([-5.0, 0.0, 8.0, 14.0]),
    relief=st.sampled_from([6.0, 8.0, 12.0]),
    shape=st.sampled_from([(True, True), (False, True), (True, False), (False, False)]),
)
def test_chords_stray_no_more_than_a_micrometre(radius, share, rake, relief, shape):
    convex, corner = shape
    chord = 2 * radius * share
    depth = radius if corner else radius - math.sqrt(radius**2 - (chord / 2) ** 2)
    values = {
        "radius": radius,
        "chord": chord,
        "depth": depth,
        "diameter": 2 * depth + 30,
        "convex": convex,
        "corner": corner,
    }
    values |= {"end": False, "edge_rake": rake, "form_relief": relief}
    points = profiles.edge_points(values)
    finer = form_tool.edge_table(values, count=8 * (len(points) - 1) + 1)
    for k in range(0, len(points) - 1, max(1, len(points) // 40)):
        (x, y, _), (x2, y2, _) = points[k], points[k + 1]
        long = math.hypot(x2 - x, y2 - y)
        for row in finer[8 * k + 1 : 8 * k + 8]:
            off = abs((row["z_mm"] - x) * (y2 - y) - (-row["flank_depth_mm"] - y) * (x2 - x)) / long
            assert off <= 0.001


def test_templates_have_the_limits_of_the_radius(advice):
    from ezdxf.math import bulge_radius

    factor = 25.4 if advice.callout.units == "inch" else 1.0
    drawing = read_back(advice)
    for layer, radius in (("TEMPLATE_MIN", advice.callout.radius_low), ("TEMPLATE_MAX", advice.callout.radius_high)):
        (line,) = on_layer(drawing, layer)
        points = list(line.get_points("xyb"))
        curved = [n for n, point in enumerate(points) if point[2]]
        assert len(curved) == 1
        start, end = points[curved[0]], points[(curved[0] + 1) % len(points)]
        assert bulge_radius(start[:2], end[:2], start[2]) * factor == pytest.approx(radius, abs=1e-9)


def test_a_template_is_hollow_for_a_round_and_round_for_a_hollow(advice):
    shapely = pytest.importorskip("shapely")
    drawing = read_back(advice)
    for layer in ("TEMPLATE_MIN", "TEMPLATE_MAX", "BLANK"):
        (line,) = on_layer(drawing, layer)
        ring = [tuple(point)[:2] for point in ezdxf.path.make_path(line).flattening(0.001)]
        plate = shapely.Polygon(ring)
        assert plate.is_valid and plate.area > 0
        if layer != "BLANK":
            hollow = plate.convex_hull.area > plate.area * 1.0001
            assert hollow == advice.values["convex"]


def test_outlines_do_not_lie_over_each_other(advice):
    shapely = pytest.importorskip("shapely")
    drawing = read_back(advice)
    plates = []
    for layer in ("BLANK", "TEMPLATE_MIN", "TEMPLATE_MAX"):
        (line,) = on_layer(drawing, layer)
        plates.append(shapely.Polygon([tuple(p)[:2] for p in ezdxf.path.make_path(line).flattening(0.001)]))
    assert all(not a.intersects(b) for n, a in enumerate(plates) for b in plates[n + 1 :])


def test_the_command(tmp_path):
    target = tmp_path / "tool.dxf"
    made = run("profile", *CORNER, "-o", target)
    assert made.status == 0 and made.out == f"Wrote {target}\n"
    assert ezdxf.readfile(target).header["$INSUNITS"] == 4
    again = run("profile", *CORNER, "-o", target)
    assert again.status == 2 and "is there already" in again.complaint
    assert run("profile", *CORNER, "-o", target, "--replace").status == 0


def test_an_edge_that_cannot_be(tmp_path, monkeypatch):
    advice = advice_of("hemisphere")
    values = dict(advice.values) | {"edge_rake": 50.0}
    with pytest.raises(profiles.CalloutError, match="turns no such edge"):
        profiles.edge_points(values)
    monkeypatch.setitem(
        advice.methods, "form tool", __import__("dataclasses").replace(advice.methods["form tool"], setup=None)
    )
    with pytest.raises(profiles.CalloutError, match="no edge that a form tool"):
        profiles.profile(advice)


def test_a_missing_library_is_one_sentence(tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "ezdxf", None)
    made = run("profile", *CORNER, "-o", tmp_path / "tool.dxf")
    assert made.status == 2 and "ezdxf, which is not installed. Run: pip install ezdxf" in made.complaint
    assert not list(tmp_path.iterdir())
