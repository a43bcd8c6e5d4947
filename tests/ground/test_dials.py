"""What the dials of a lathe show, against examples worked by hand."""

import math
import re
from dataclasses import replace

import pytest
from command import SHAPES, advise
from hypothesis import given
from hypothesis import strategies as st

from advisor.answer import wording
from advisor.asked.shop import read_shop, shop_values
from advisor.ground import dials
from advisor.ground.dials import Dial, read
from advisor.ground.errors import ShopError

INCH_LATHE = Dial("cross dial", "inch", graduation=0.0254, divisions=100)  # .001 in a line, .100 in a turn
METRIC_LATHE = Dial("cross dial", "mm", graduation=0.02, divisions=250)  # 0.02 mm a line, 5 mm a turn


# By hand. 6.35/25.4 = .250: 2 x .100 + 50 x .001. 6/25.4 = .236220: .236, and .00022 is left. 3/8 in is 9.525 mm, 19.05
# on the diameter: 190 lines of 0.1 and a half, over two turns of 80.
@pytest.mark.parametrize(
    ("dial", "distance", "words"),
    [
        (INCH_LATHE, 6.35, "cross dial .2500 in = 2 turns + 50 divisions"),
        (INCH_LATHE, 6.0, "cross dial .2360 in = 2 turns + 36 divisions (.0002 in short)"),
        (INCH_LATHE, 2.54, "cross dial .1000 in = 1 turn"),
        (INCH_LATHE, 2.5, "cross dial .0985 in (.0001 in over)"),
        (INCH_LATHE._replace(doubled=True), 6.35, "cross dial .5000 in on the diameter = 5 turns"),
        (METRIC_LATHE, 6.35, "cross dial 6.35 mm = 1 turn + 67.5 divisions"),
        (METRIC_LATHE, 6.347, "cross dial 6.35 mm = 1 turn + 67.5 divisions (0.003 mm over)"),
        (
            Dial("cross dial", "mm", 0.1, 80, doubled=True),
            9.525,
            "cross dial 19.05 mm on the diameter = 2 turns + 30.5 divisions",
        ),
        (Dial("carriage", "inch"), 6.0, "carriage .2362 in"),
        (Dial("cross dial", "mm", 0.02), 0.0, "cross dial 0.00 mm"),
    ],
)
def test_a_reading_in_words(dial, distance, words):
    assert dials.words(read(dial, distance)) == words


@given(
    st.floats(0.001, 900),
    st.sampled_from([0.005, 0.01, 0.02, 0.025, 0.05, 0.1, 0.00635, 0.0127, 0.0254, 0.0508, 0.127]),
    st.sampled_from([50, 60, 100, 125, 200, 250]),
    st.booleans(),
)
def test_a_reading_is_the_nearest_half_line_and_its_turns_add_up_to_it(distance, graduation, divisions, doubled):
    found = read(Dial("cross dial", "mm", graduation, divisions, doubled), distance)
    assert found.exact == distance * (1 + doubled)
    assert abs(found.left) <= graduation / 4 * (1 + 1e-9) + 1e-9
    assert found.counts / (graduation / 2) == pytest.approx(round(found.counts / (graduation / 2)), abs=1e-6)
    if found.turns is None:
        assert found.counts < divisions * graduation * (1 - 1e-9) or found.counts == 0
    else:
        assert found.turns * divisions * graduation + found.lines * graduation == pytest.approx(found.counts)
        assert 0 <= found.lines < divisions
    assert "-" not in dials.words(found)


# One 3/8 in of infeed or 9.525 mm, on three lathes: the drawing's unit and the dial's differ, and then do not.
GROOVE = {"form": "concave", "location": "outside diameter", "from_end": "20 mm", "quantity": "20"}


def lathe(tmp_path, units, dial, graduation, divisions):
    path = tmp_path / f"{units}-{dial}.toml"
    path.write_text(
        f'like = "training-shop"\nname = "one lathe"\nunits = "{units}"\n'
        '[[lathe]]\nname = "engine lathe"\nswing_over_bed = "340 mm"\nswing_over_cross_slide = "205 mm"\n'
        'between_centres = "1000 mm"\nspindle_speeds = [45, 90, 180, 355, 710]\nmotor_power = "2.2 kW"\n'
        'chuck_diameter = "200 mm"\nchuck_depth = "115 mm"\ntool_overhang = "25 mm"\n'
        f'dials = "{dial}"\ndial_graduation = "{graduation}"\ndial_divisions = {divisions}\n'
        '[lathe.rod]\nheadstock_min = "190 mm"\nheadstock_max = "900 mm"\nlargest_tilt = "20 deg"\nball_diameter = "12 mm"\n',
        encoding="utf-8",
    )
    return str(path)


def test_a_metric_drawing_on_an_inch_lathe_with_a_radius_dial(tmp_path):
    """A half-round groove R6.35 is fed in 6.35 mm: two turns and fifty lines of an inch dial."""
    shop = lathe(tmp_path, "inch", "radius", "0.001 in", 100)
    job = GROOVE | {"radius": "R6.35 ±0.1", "width": "12.7 mm", "units": "mm", "shop": shop}
    answer = advise("--json", **job).data
    found = answer["methods"]["form tool"]["dials"]["form_tool_infeed"]
    assert (found["dial"], found["units"], found["counts"]) == ("cross dial", "inch", "distance")
    assert found["distance_mm"] == answer["methods"]["form tool"]["setup"]["infeed_mm"]
    assert (found["turns"], found["divisions"]) == (2, 50.0) and found["shows"] == pytest.approx(0.25, abs=1e-12)
    out = " ".join(advise("--full", **job).out.split())
    assert answer["recommended"] == "form tool"
    assert "Feed in 6.35 mm; cross dial .2500 in = 2 turns + 50 divisions" in out
    assert "Feed in 6.35 mm (cross dial .2500 in = 2 turns + 50 divisions) from the touch" in out


def test_an_inch_drawing_on_a_metric_lathe_with_a_diameter_dial(tmp_path):
    """Fed in .250 in, 6.35 mm: 12.70 on the diameter, 254 lines of 0.05, of which 80 make a turn: 3 turns and 14."""
    shop = lathe(tmp_path, "mm", "diameter", "0.05 mm", 80)
    job = GROOVE | {"radius": "R.250 ±.004", "width": ".500", "diameter": "1.5 in", "from_end": "0.75 in"}
    job |= {"units": "inch", "shop": shop}
    answer = advise("--json", **job).data
    found = answer["methods"]["form tool"]["dials"]["form_tool_infeed"]
    assert (found["units"], found["counts"], found["turns"], found["divisions"]) == ("mm", "diameter", 3, 14.0)
    assert found["reading_mm"] == pytest.approx(12.7) and found["distance_mm"] == pytest.approx(6.35)
    out = " ".join(advise("--full", **job).out.split())
    assert "Feed in .2500 in (1/4); cross dial 12.700 mm on the diameter = 3 turns + 14 divisions" in out


def test_a_dial_in_the_unit_of_the_drawing_is_not_told_twice_in_the_steps():
    job = GROOVE | {"radius": "R6.35 ±0.1", "width": "12.7 mm", "units": "mm", "shop": "training-shop"}
    out = " ".join(advise("--full", **job).out.split())
    assert "Feed in 6.35 mm; cross dial 6.35 mm = 1 turn + 117.5 divisions" in out
    assert "Feed in 6.35 mm from the touch" in out


# A crown R100 over 40 mm is stepped off. On a dial that counts the diameter every reading is twice the depth.
CROWN = {"radius": "R100 ±1", "form": "convex", "location": "outside diameter", "diameter": "60 mm", "width": "40 mm"}
CROWN |= {"from_end": "10 mm", "units": "mm", "quantity": "1"}


def test_a_step_off_shows_the_readings_of_a_diameter_dial():
    radius, diameter = (advise("--json", shop=s, **CROWN).data for s in ("training-shop", "jobbing-shop"))
    for answer, doubled in ((radius, 1), (diameter, 2)):
        method = answer["methods"]["freehand"]
        assert len(method["setup"]["step_off"]) == len(method["dials"]["step_off"]) > 5
        for point, position in zip(method["setup"]["step_off"], method["dials"]["step_off"], strict=True):
            assert position["across"]["distance_mm"] == point["x_in_mm"]
            assert position["across"]["exact_mm"] == doubled * point["x_in_mm"]
            assert abs(position["across"]["left_mm"]) <= position["across"]["graduation_mm"] / 4 + 1e-9
            assert position["along"]["distance_mm"] == point["z_in_mm"]
    out = advise("--full", shop="jobbing-shop", **CROWN).out
    assert "diameter," in out and "X in" not in out and ", in " not in out.split("Step-off")[1].split("STEPS")[0]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("shop", ["training-shop", "jobbing-shop", "bench-shop"])
def test_no_screen_shows_minus_nothing(shape, shop):
    out = advise("--full", shop=shop, **SHAPES[shape]).out
    assert not re.search(r"-0?\.0+(?!\d)", out)


def test_on_an_end_a_form_tool_is_fed_by_the_carriage():
    job = SHAPES["dome"] | {"radius": "R8 ±0.2", "diameter": "16 mm"}
    found = advise("--json", **job).data["methods"]["form tool"]["dials"]
    assert {reading["dial"] for reading in found.values()} == {"carriage dial"}


def test_a_fillet_is_fed_to_its_zero_and_a_horn_counts_from_its_own_touch():
    fillet, corner = (advise("--json", **SHAPES[s]).data["methods"]["form tool"]["dials"] for s in ("fillet", "corner"))
    assert "form_tool_infeed" not in fillet and set(corner) == {"feed_from_touch"}


def test_a_swivel_is_set_by_the_dial_of_the_compound():
    """Its dial was zeroed over the centre, so that it shows R itself: 50 mm in turns of 200 lines of 0.02."""
    found = advise("--json", **SHAPES["dome"]).data["methods"]["swung compound"]["dials"]["compound_radius"]
    assert (found["dial"], found["turns"], found["divisions"]) == ("compound dial", 12, 100.0)


@given(st.floats(0.01, 900), st.sampled_from(["mm", "inch"]))
def test_what_has_to_be_at_least_so_much_is_never_rounded_down(mm, units):
    told = wording.at_least(mm, units)
    assert mm - 1e-6 * mm - 1e-9 <= told <= mm + (1.0 if units == "mm" else 0.05 * 25.4) + 1e-9
    assert wording.at_least(told, units) == pytest.approx(told)


def test_an_inch_answer_is_told_to_do_what_can_be_set():
    """1.5 mm is .0591 in; nobody roughs to that. What is measured or proved stays exact."""
    dish = SHAPES["dome"] | {"radius": "R2.000 ±.020", "diameter": "1.5 in", "units": "inch"}
    steps = " ".join(advise("--json", **dish).data["methods"]["pivot attachment"]["steps"])
    assert ".0591" not in steps and "within .0600 in" in steps


def test_one_line_of_a_diameter_dial_moves_the_slide_half_of_it():  # common practice
    training = read_shop("training-shop")
    lathe = training.lathes[0]
    moves = [shop_values(training, replace(lathe, dials=way))["dial_graduation"] for way in ("radius", "diameter")]
    assert moves == [0.02, 0.01]


def test_the_unit_of_a_dial():
    training = read_shop("training-shop")
    engine = training.lathes[0]
    assert dials.of_lathe(engine, "mm")["cross"].units == "mm"
    assert dials.of_lathe(replace(engine, dial_graduation=0.0254), "mm")["cross"].units == "inch"
    assert dials.of_lathe(replace(engine, dial_units="inch"), "mm")["compound"].units == "inch"
    bare = dials.of_lathe(replace(engine, compound=None, carriage_graduation=math.nan), "mm")
    assert not bare["compound"].graduation > 0 and bare["carriage"].name == "carriage"


@pytest.mark.parametrize(
    ("key", "value"), [("dial_divisions", "0.5"), ("carriage_divisions", "1"), ("dial_divisions", "62.5")]
)
def test_lines_to_a_turn_are_counted(tmp_path, key, value):
    path = tmp_path / "shop.toml"
    text = (read_shop.__globals__["SHOPS"] / "bench-shop.toml").read_text(encoding="utf-8")
    path.write_text(text.replace("dial_divisions = 60", f"{key} = {value}"), encoding="utf-8")
    with pytest.raises(ShopError, match="number of lines|is out of range"):
        read_shop(path)
