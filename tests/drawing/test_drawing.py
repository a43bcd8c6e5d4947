"""Drawings: geometry true to the numbers, dimensions that say what they span, words that do not overlap."""

import math

import pytest
from command import run
from hypothesis import given
from hypothesis import strategies as st

from advisor.answer.advice import advise
from advisor.commands import register
from advisor.commands.on_a_callout import read_job
from advisor.drawing import error_pictures, model, setups, work
from advisor.engine import generated
from advisor.ground.units import read_quantity

CASES = {
    "corner": ("R6 ±0.1", "convex", "corner", "40 mm", ()),
    "smallest": ("R0.2 ±0.05", "convex", "corner", "25 mm", ()),
    "fillet": ("R4 ±0.2", "concave", "corner", "25 mm", ("--shoulder-height=8 mm", "--length=40 mm")),
    "bare fillet": ("R1.5 ±0.2", "concave", "corner", "25 mm", ()),
    "dome": ("SR60 ±0.2", "convex", "end", "50 mm", ()),
    "hemisphere": ("SR20 ±0.2", "convex", "end", "40 mm", ()),
    "largest": ("R500 ±20", "convex", "end", "60 mm", ()),
    "long rod": ("R700 ±3", "convex", "end", "150 mm", ()),
    "hollow rod": ("R600 ±3", "concave", "end", "120 mm", ("--width=100 mm",)),
    "dish": ("R1-3/4", "concave", "end", "3 in", ("--width=2 1/2 in", "--units=inch")),
    "groove": ("R5 ±0.1", "concave", "outside diameter", "40 mm", ("--width=8 mm", "--from-end=20 mm")),
    "inch groove": (
        "R.250 ±.005",
        "concave",
        "outside diameter",
        "2-1/4 in",
        ("--width=.375 in", "--from-end=1.5 in", "--units=inch"),
    ),
    "crown": ("R80 ±1", "convex", "outside diameter", "60 mm", ("--width=30 mm", "--from-end=10 mm")),
    "bored": ("R3 ±.2", "convex", "corner", "50 mm", ("--bore=20 mm",)),
    "bored dish": ("R60 ±1", "concave", "end", "60 mm", ("--width=50 mm", "--bore=10 mm")),
}
ROOMS = ((76.0, 86.0), (112.0, 86.0))


def advice_of(name):
    radius, form, location, diameter, more = CASES[name]
    words = ["advise", radius, f"--form={form}", f"--location={location}", f"--diameter={diameter}", *more]
    return advise(*read_job(register.read(words)), executor=generated.run)


@pytest.fixture(scope="module", params=CASES)
def advice(request):
    return advice_of(request.param)


def overlapping(picture):
    labels = picture.labels
    return [(a.words, b.words) for n, a in enumerate(labels) for b in labels[n + 1 :] if model.overlap(a.box, b.box)]


def check_picture(picture, room):
    assert not picture.crowded
    assert not overlapping(picture)
    x, y, x2, y2 = picture.box
    assert x >= -0.01 and y >= -0.01 and x2 <= room[0] + 0.01 and y2 <= room[1] + 0.01


def test_work_is_drawn_without_overlaps_inside_its_room(advice):
    check_picture(work.drawing_of_work(advice, room=ROOMS[0]), ROOMS[0])


def test_every_setup_is_drawn_without_overlaps_inside_its_room(advice):
    for method in advice.ranked:
        if method.setup is not None:
            check_picture(setups.drawing_of_setup(method, advice, room=ROOMS[1]), ROOMS[1])


def test_dimensions_say_what_they_span(advice):
    shape = work.profile(advice.values)
    for item in work._dimensioned(advice, shape, 1.0, detail=False):
        if isinstance(item, (model.Linear, model.Radius)):
            words = item.words.split(" ±")[0].strip("⌀()SCR")
            stated = read_quantity(
                words, field="size", dimension="length", default_unit="in" if advice.callout.units == "inch" else "mm"
            )
            assert stated == pytest.approx(item.measured, abs=2e-3)


def test_outline_meets_the_arc_where_the_numbers_put_it(advice):
    values, shape = advice.values, work.profile(advice.values)
    from_axis, from_face = values["centre_from_axis"], values["centre_from_face"]
    assert shape.arc.centre[1] == pytest.approx(from_axis, abs=1e-9)
    if not (values["corner"] and not values["convex"]):  # a fillet counts from its shoulder
        assert -shape.arc.centre[0] == pytest.approx(from_face, abs=1e-9)
    if not values["corner"] and not values["bore"]:
        rim, deepest = shape.arc.point(0), shape.arc.point(1 if values["end"] else 0.5)
        axis = 0 if values["end"] else 1
        assert abs(rim[axis] - deepest[axis]) == pytest.approx(values["depth"], abs=1e-9)


def test_pivot_stands_r_from_the_tip():
    advice = advice_of("dome")
    scene = setups.scene_of(advice.methods["pivot attachment"], advice)
    assert math.dist(scene.centre, scene._tip()) == pytest.approx(60.0)
    assert scene._tip()[1] < 0, "the tool stands on the operator's side"


def test_rod_is_drawn_as_long_as_it_is():
    advice = advice_of("largest")
    method = advice.methods["radius rod"]
    scene = setups.scene_of(method, advice)
    length = [
        item.measured for item in scene.drawing(0.1).items if isinstance(item, model.Linear) and item.along == "x"
    ]
    assert length == [pytest.approx(method.setup["seat_to_seat_mm"])]


def test_a_broken_rod_is_drawn_larger_and_still_says_its_length():
    """R700 beside a bed that the view is as long as: whole it takes 1:10 and less, broken 1:5."""
    advice = advice_of("long rod")
    method = advice.methods["radius rod"]
    scene = setups.scene_of(method, advice)
    length = [item for item in scene.broken_rod(0.2).items if isinstance(item, model.Linear) and item.along == "x"]
    assert [item.measured for item in length] == [pytest.approx(method.setup["seat_to_seat_mm"])]
    assert length[0].left_out > 100 and "700.4" in length[0].words
    drawn = setups.drawing_of_setup(method, advice, room=ROOMS[1])
    whole = model.fitted(scene.drawing, room=ROOMS[1], style="iso")
    assert drawn.scale > whole.scale
    words = [label.words for label in drawn.labels]
    assert any(word.startswith("TOOL") for word in words) and "nose R0.4" in words


def test_no_words_are_struck_through_by_an_outline(advice):
    assert work.drawing_of_work(advice, room=ROOMS[0]).struck == []
    for method in advice.ranked:
        if method.setup is not None:
            assert setups.drawing_of_setup(method, advice, room=ROOMS[1]).struck == [], method.name


def test_struck_words_are_seen():
    through = model.Picture(1.0, [model.Stroke(((0.0, 0.0), (20.0, 0.0)), "outline")], [model.Label((10.0, 0.0), "R6")])
    beside = model.Picture(1.0, [model.Stroke(((0.0, 4.0), (20.0, 4.0)), "outline")], [model.Label((10.0, 0.0), "R6")])
    assert through.struck == ["R6"] and beside.struck == []


def test_scale_is_a_standard_one(advice):
    assert work.drawing_of_work(advice, room=ROOMS[0]).scale in model.SCALES


@given(
    radius=st.floats(0.1, 500),
    start=st.floats(-360, 360),
    sweep=st.floats(1, 360),
    scale=st.sampled_from(model.SCALES),
)
def test_chords_of_an_arc_keep_to_it(radius, start, sweep, scale):
    arc = model.Arc((0.0, 0.0), radius, start, sweep)
    points = arc.points(scale)
    for (x, y), (x2, y2) in list(zip(points, points[1:], strict=False))[:20]:
        assert (radius - math.hypot((x + x2) / 2, (y + y2) / 2)) * scale <= model.FLAT * 1.01 + 1e-9


def test_window_cuts_a_line_twice():
    parts = model.cut_to_window([(-3.0, 0.0), (0.0, 0.0), (0.0, 5.0), (0.5, 5.0), (0.5, 0.0)], (-1.0, -1.0, 1.0, 1.0))
    assert parts == [[(-1.0, 0.0), (0.0, 0.0), (0.0, 1.0)], [(0.5, 1.0), (0.5, 0.0)]]


def test_hatching_stays_inside(advice):
    shape = work.profile(advice.values)
    ring = shape.cut()
    x, y, x2, y2 = model.joined([(*p, *p) for p in ring])
    for line in model.hatch_lines(ring, 2.0):
        assert all(x - 1e-6 <= p <= x2 + 1e-6 and y - 1e-6 <= q <= y2 + 1e-6 for p, q in line)


# ---- what goes wrong


def test_pictures_of_errors_have_room(advice):
    for method in advice.ranked:
        if method.setup is None:
            continue
        wrongs = error_pictures.pictures(method, advice)
        assert wrongs
        for wrong in wrongs:
            check_picture(error_pictures.together([wrong], room=(120.0, 75.0)), (120.0, 75.0))
            assert "large" in wrong.says and "not to scale" in wrong.says


def test_a_nib_stands_where_the_pivot_is_off_the_axis():
    advice = advice_of("dome")
    wrong = error_pictures.pictures(advice.methods["pivot attachment"], advice)[0]
    turned = next(item for item in wrong.view.items if isinstance(item, model.Line) and item.pen == "heavy")
    (x, y), (x2, y2) = turned.points[-2:]
    assert y2 == pytest.approx(0.0) and (x2 - x) / (y - y2) > 0.05, "the two sides meet at an angle"


def picture_of(*more):
    return run("advise", "SR45 ±0.3", "--form=convex", "--location=end", "--diameter=50 mm", "--quantity=3", *more)


def test_picture_in_the_terminal_is_text():
    shown = picture_of("--picture")
    assert shown.status == 0
    assert "OFF THE AXIS" in shown.out and "nib" in shown.out
    assert max(len(line) for line in shown.out.splitlines()) <= 80


def test_picture_without_braille(tmp_path):
    from advisor.show import pictures

    advice = advice_of("dome")
    shown = pictures.screen(advice.methods["pivot attachment"], advice, ascii_only=True)
    assert shown.isascii() and "PIVOT OFF THE AXIS" in shown


@pytest.mark.parametrize("ending", ["svg", "png", "pdf"])
def test_picture_in_a_file(tmp_path, ending):
    target = tmp_path / f"nib.{ending}"
    assert picture_of("--picture", "-o", target).status == 0
    assert target.stat().st_size > 1000


def test_picture_and_output_that_make_no_sense(tmp_path):
    assert picture_of("-o", tmp_path / "a.png").complaint.startswith("--output: ")
    assert picture_of("--picture", "--json").status == 2
    assert not list(tmp_path.iterdir())
