"""Maps: each point is what advice on that callout would be; the letters, the pictures, and what is wrong with an
axis.
"""

import dataclasses
import sys
import time

import numpy
import pytest
from command import CORNER, run

from advisor.answer import advice, column_advice
from advisor.asked import callout, materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import InputError
from advisor.ground.methods import methods
from advisor.show import map as page
from advisor.study import mapping

SHOP = shops.read_shop("training-shop")
GROOVE = {
    "radius": "R.250 ±.005",
    "form": "concave",
    "location": "outside diameter",
    "diameter": "1.5",
    "width": "3/8",
    "units": "inch",
}
SHAPES = {
    "corner": {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 12},
    "fillet": {"radius": "R4", "form": "concave", "location": "corner", "diameter": "30 mm", "shoulder_height": "9 mm"},
    "dome": {"radius": "R60 ±0.2", "form": "convex", "location": "end", "diameter": "40 mm"},
    "dish": {
        "radius": "SR30 ±0.2",
        "form": "concave",
        "location": "end",
        "diameter": "40 mm",
        "rim": "3 mm",
        "quantity": 5,
    },
    "groove": GROOVE,
    "crown": {
        "radius": "R80 ±0.5",
        "form": "convex",
        "location": "outside diameter",
        "diameter": "50 mm",
        "width": "20 mm",
    },
}


def read(fields):
    return callout.read_callout(fields, materials=materials.materials(), inch_tolerances=SHOP.inch_tolerances)


def survey(fields, across="quantity", up="tolerance", size=(12, 9), shop=SHOP, **ends):
    one = read(fields)
    axes = {
        name: mapping.axis_for(of, one, option=f"--{name}", **ends.get(name, {}))
        for name, of in (("x", across), ("y", up))
    }
    return mapping.survey(one, shop, size=size, **axes)


def alone(fields, shop, **changed):
    """Name of the method for a single callout with some fields changed; None where none stands; the error where it
    cannot be.
    """
    try:
        one = callout.read_callout(
            fields | changed, materials=materials.materials(), inch_tolerances=shop.inch_tolerances
        )
        return advice.advise(one, shop, executor=generated.run)
    except InputError as problem:
        return problem


def text(name, value, fields):
    """A value of an axis as a callout has it."""
    return int(round(value)) if name == "quantity" else f"{value!r} mm"


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(("x", "y"), [("quantity", "diameter"), ("stickout", "quantity"), ("diameter", "stickout")])
def test_every_point_is_the_advice_on_its_callout(shape, x, y):
    fields = SHAPES[shape]
    drawn = survey(fields, x, y, size=(7, 6))
    for row, b in enumerate(drawn.ys.tolist()):
        for column, a in enumerate(drawn.xs.tolist()):
            one = alone(fields, SHOP, **{x: text(x, a, fields), y: text(y, b, fields)})
            assert_point(drawn, row, column, one)


@pytest.mark.parametrize("shape", ["corner", "dome", "groove"])
def test_radius_and_tolerance_move_the_limits(shape):
    drawn = survey(SHAPES[shape], "radius", "tolerance", size=(7, 6))
    for row, b in enumerate(drawn.ys.tolist()):
        for column, a in enumerate(drawn.xs.tolist()):
            assert_point(drawn, row, column, alone(SHAPES[shape], SHOP, radius=f"R{a:.9f} mm ±{b:.9f} mm"))


def test_width_moves_the_chord():
    drawn = survey(GROOVE, "width", "quantity", size=(8, 4))
    for row, b in enumerate(drawn.ys.tolist()):
        for column, a in enumerate(drawn.xs.tolist()):
            assert_point(drawn, row, column, alone(GROOVE, SHOP, width=f"{a!r} mm", quantity=int(round(b))))


def assert_point(drawn, row, column, one):
    place = drawn.best[row, column]
    if isinstance(one, InputError):
        assert place == mapping.IMPOSSIBLE, one
        assert drawn.reasons[drawn.why[row, column]]
    else:
        assert (drawn.methods[place] if place >= 0 else None) == one.recommended
        assert place != mapping.IMPOSSIBLE and bool(drawn.close[row, column]) == one.close_call


def test_this_callout_is_where_it_belongs():
    drawn = survey(SHAPES["corner"])
    x, y, place = drawn.here
    assert (x, y) == (12.0, 0.1) and drawn.inside
    assert drawn.methods[place] == alone(SHAPES["corner"], SHOP).recommended
    assert not survey(SHAPES["corner"], x={"low": "50", "high": "90"}).inside


def test_axes_in_the_users_unit():
    one = read(GROOVE)
    axis = mapping.axis_for("width", one, option="--x", low="1/8", high="12.7 mm")
    assert (axis.low, axis.high, axis.logarithmic) == (3.175, 12.7, False)
    assert mapping.axis_for("radius", one, option="--x").logarithmic
    assert page.axis_title(axis, "inch") == "Width of the arc [in]"
    assert mapping.round_values(axis, factor=25.4) == pytest.approx([0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5])
    assert mapping.round_values(mapping.Axis("quantity", 1.0, 300.0, True)) == [1, 2, 5, 10, 20, 50, 100, 200]


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        (
            ["--x", "colour"],
            "--x: colour is not a quantity to draw a map over. Give one of radius, tolerance, quantity",
        ),
        (["--x", "tolerance"], "--y: tolerance is on the other axis already."),
        (["--y", "width"], "--y: width is not a size of a convex radius at the corner."),
        (["--x-from", "100", "--x-to", "10"], "--x: 100 to 10 is no range."),
        (["--y-from", "1 kg"], "--y-from: 1 kg is a mass, not a length."),
        (["--y-to", "-1"], "--y-to: -1 is not more than zero."),
        (
            ["-o", "map.gif"],
            "output: map.gif ends in .gif, which is no kind of file made here. Give a name that ends in .png, .svg.",
        ),
        (["-o", "no/folder/map.svg"], "lies in a folder that is not there"),
    ],
)
def test_what_is_wrong_is_told(options, complaint):
    ran = run("map", *CORNER, *options)
    assert ran.status == 2 and complaint in ran.complaint


def test_a_map_in_letters():
    ran = run(
        "map", *CORNER, "--quantity", "12", "--shop", "training-shop-no-pivot", "--x", "radius", "--y", "diameter"
    )
    assert ran.status == 0
    lines = ran.out.splitlines()
    assert lines[0] == "R6 ±0.1 mm, convex, corner" and max(map(len, lines)) <= 80
    assert sum("@" in line and ("|" in line or "+" in line) for line in lines) == 1
    told = ran.out.split("Radius [mm]")[1]
    assert "F      form tool" in told and "S      swung compound" in told and "@      this callout: form tool" in told
    assert "blank  cannot be: radius over half the diameter" in told and "-      no method stands" in told


def test_letters_are_small_where_it_is_a_close_call():
    drawn = survey(SHAPES["corner"], size=(40, 20))
    held = {page._letter(drawn, row, column, None)[0] for row in range(20) for column in range(40)}
    assert {"F", "f"} <= held
    for row, column in zip(*numpy.nonzero(drawn.close)):
        assert page._letter(drawn, row, column, None)[0].islower()


# ---- pictures


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_a_picture_names_its_regions(tmp_path, kind):
    pytest.importorskip("matplotlib")
    path = tmp_path / f"map.{kind}"
    assert run("map", *CORNER, "--quantity", "12", "-o", path).status == 0
    data = path.read_bytes()
    if kind == "png":
        width, height = (int.from_bytes(data[place : place + 4], "big") for place in (16, 20))
        assert data.startswith(b"\x89PNG") and (width, height) == (1040, 1120)
        return
    words = data.decode("utf-8")
    for name in (
        "form tool",
        "freehand",
        "pivot attachment",
        "no method stands",
        "close call",
        "this callout",
        "Pieces in the batch",
    ):
        assert f">{name}</text>" in words or f"<!-- {name} -->" in words, name
    assert words.count("<pattern") >= 4  # the hatches


def test_the_same_map_is_the_same_file():
    pytest.importorskip("matplotlib")
    drawn = survey(SHAPES["dome"], "radius", "diameter", size=(60, 60))
    for ending in (".svg", ".png"):
        assert page.picture(drawn, ending) == page.picture(drawn, ending)


def test_names_keep_inside_their_regions_and_off_each_other():
    pytest.importorskip("matplotlib")
    written = []

    class Noted(page._Page):
        def take(self, row, column, box):
            written.append((row, column, *box))
            super().take(row, column, box)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(page, "_Page", Noted)
        page.picture(survey(SHAPES["corner"], "radius", "diameter", size=(200, 200)), ".png")
    assert len(written) >= 5
    for number, (row, column, rows, columns) in enumerate(written):
        assert rows / 2 - 2 <= row <= 202 - rows / 2 and columns / 2 - 2 <= column <= 202 - columns / 2
        for other in written[number + 1 :]:
            apart = (
                abs(row - other[0]) >= (rows + other[2]) / 2 - 3
                or abs(column - other[1]) >= (columns + other[3]) / 2 - 3
            )
            assert apart or number == 0  # the mark itself and its words stand together


def test_a_picture_is_not_written_over(tmp_path):
    (tmp_path / "map.svg").write_text("mine")
    ran = run("map", *CORNER, "-o", tmp_path / "map.svg")
    assert ran.status == 2 and "is there already. Give another name, or --replace." in ran.complaint
    assert (tmp_path / "map.svg").read_text() == "mine"


def test_the_library_for_pictures_is_asked_for_when_it_is_missing(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    ran = run("map", *CORNER, "-o", tmp_path / "map.png")
    assert (
        ran.status == 2
        and "needs the library matplotlib, which is not installed. Install it with: pip install" in ran.complaint
    )
    assert run("map", *CORNER).status == 0


def test_fills_differ_in_lightness_and_hatches_all_differ():
    """So that the regions can be told apart without colour, and in a grey print."""

    def lightness(colour):
        red, green, blue = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
        return 0.2126 * red**2.2 + 0.7152 * green**2.2 + 0.0722 * blue**2.2

    looks = [*page.LOOKS.values(), page.NO_METHOD_LOOK]
    assert set(page.LOOKS) == {method["name"] for method in advice.rule_base().methods} == set(page.LETTERS)
    assert len({hatch for _, hatch in looks}) == len(looks) and len(set(page.LETTERS.values())) == len(methods())
    shades = sorted(lightness(fill) for fill, _ in page.LOOKS.values())
    assert min(b - a for a, b in zip(shades, shades[1:])) > 0.05


def test_rules_of_the_shops_own_reach_the_map():
    slow = dataclasses.replace(SHOP, minutes={"pivot_setup_time": (400.0, 500.0, 600.0)})
    drawn = survey(SHAPES["corner"], shop=slow, size=(30, 20))
    assert drawn.methods.index("pivot attachment") not in {
        place for place in numpy.unique(drawn.best) if (drawn.best == place).mean() > 0.2
    }
    assert column_advice.rules_for(slow).base["pivot_setup_time_likely"] == 500.0


def test_a_fine_map_takes_little_time():
    """Aim: 160,000 points in a second; ten times that would fail."""
    survey(SHAPES["corner"], size=(20, 20))
    start = time.perf_counter()
    survey(SHAPES["corner"], "radius", "tolerance", size=(400, 400))
    assert time.perf_counter() - start < 10
