"""Shop files: what they give the rules, and what is said of every way to get one wrong."""

import json
import math
import re
import tomllib
from pathlib import Path

import numpy
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.asked.shop import SHOPS, choose_lathe, read_shop, ready_tool, ready_tool_serves, shop_values
from advisor.ground.errors import ShopError

BAD_SHOPS = Path(__file__).parent.parent / "bad_shops"
GOOD = (BAD_SHOPS / "good.toml").read_text(encoding="utf-8")
SHIPPED = sorted(path.stem for path in SHOPS.glob("*.toml"))


def values_of(shop, lathe=0):
    return shop_values(shop, shop.lathes[lathe])


def read_text(folder, text):
    path = folder / "good.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass"))
    return read_shop(path, folder=folder)


def message_of(name_or_path, **where):
    with pytest.raises(ShopError) as caught:
        read_shop(name_or_path, **where)
    return str(caught.value)


# The shops that come with the program.


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_shop_loads_and_is_named_by_its_file(name):
    shop = read_shop(name)
    assert shop.name == name
    assert shop.about and shop.inch_tolerances["3"] == pytest.approx(0.127)
    assert read_shop(SHOPS / f"{name}.toml") == shop


def test_the_shops_that_the_design_of_the_cases_counts_on():
    assert {"training-shop", "training-shop-no-pivot", "bench-shop", "jobbing-shop"} <= set(SHIPPED)
    training, jobbing, bench = (values_of(read_shop(f"{kind}-shop")) for kind in ("training", "jobbing", "bench"))
    assert 2.0 < training["motor_power"] < 2.5 and 330 <= training["swing_over_bed"] <= 356
    assert training["has_pivot"] and training["has_rod_gear"] and not training["has_comparator"]
    assert jobbing["carbide_in_shop"] and jobbing["diameter_dial"] and jobbing["has_comparator"]
    assert bench["motor_power"] == 0.5 and not (bench["has_pivot"] or bench["has_rod_gear"])


def test_trade_sizes_lie_just_under_inch_ranges():
    jobbing = values_of(read_shop("jobbing-shop"))
    assert 3.0 < jobbing["pivot_convex_min"] == 3.175 < 3.0 * 1.08
    assert 6.0 < jobbing["compound_short_min"] == 6.35 < 6.0 * 1.08


def r20(first, step, count):
    """ISO 3 series R20 taken every `step` values; from memory, as are the steps that ISO 229 uses for spindles."""
    decade = (1, 1.12, 1.25, 1.4, 1.6, 1.8, 2, 2.24, 2.5, 2.8, 3.15, 3.55, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9)
    series = [round(value * 10**power, 6) for power in range(5) for value in decade]
    start = series.index(first)
    return tuple(series[start : start + step * count : step])


@pytest.mark.parametrize(
    "name, lathe, first, step",
    [("training-shop", 0, 45, 3), ("training-shop", 1, 56, 2), ("bench-shop", 0, 160, 4), ("jobbing-shop", 0, 22.4, 3)],
)
def test_spindle_speeds_follow_a_geared_head_series(name, lathe, first, step):
    speeds = read_shop(name).lathes[lathe].spindle_speeds
    assert speeds == r20(first, step, len(speeds))


# What the rules are given.


def test_values_of_the_good_shop(tmp_path):
    values = values_of(read_text(tmp_path, GOOD))
    assert values["nose_radii"] == (0.8, 1.5)
    assert (values["lowest_spindle_speed"], values["highest_spindle_speed"]) == (90, 710)
    assert values["diameter_dial"] is True and values["carbide_in_shop"] is True
    assert (values["compound_short_min"], values["compound_short_max"]) == (6, 40)
    assert values["shelf_rods"] == (250, 300)
    assert (values["pivot_convex_max"], values["largest_work_over_post"]) == (50, 60)
    assert (values["widest_blank"], values["tool_grinding"]) == (12, "bench grinder")
    assert values["ready_tools"] == ((5, True, 8, 0.1),)
    assert values["gauge_leaves"] == (1, 1.5, 2, 2.5, 3, 8)
    assert (values["comparator_sees"], values["depth_micrometer_graduation"]) == (0.02, 0.01)
    assert values["has_files"] is True and values["hourly_rate"] == 40


def test_values_are_plain_numbers_words_truths_and_ascending_tuples():
    kinds = []
    for name in SHIPPED:
        shop = read_shop(name)
        for lathe in shop.lathes:
            values = shop_values(shop, lathe)
            kinds.append({key: type(value) for key, value in values.items()})
            assert set(kinds[-1].values()) == {float, bool, str, tuple}
            for key, value in values.items():
                if isinstance(value, tuple) and key != "ready_tools":
                    assert list(value) == sorted(value)
    assert all(kind == kinds[0] for kind in kinds)


SMALLEST = GOOD[: GOOD.index("[lathe.compound]")].replace("chuck_highest_speed = 2000\n", "")


def test_missing_equipment_is_simply_not_there(tmp_path):
    values = values_of(read_text(tmp_path, SMALLEST.replace("hourly_rate = 40\n", "")))
    assert [key for key in values if key.startswith("has_") and values[key]] == ["has_template_stock"]  # any shop has
    unknown = [key for key, value in values.items() if isinstance(value, float) and math.isnan(value)]
    assert {"pivot_convex_min", "rod_head_max", "compound_past_min", "chuck_highest_speed", "hourly_rate"} <= set(
        unknown
    )
    assert values["shelf_rods"] == values["gauge_leaves"] == values["ready_tools"] == ()
    assert values["widest_blank"] == 0 and values["tool_grinding"] == "none"


def test_a_file_without_its_handle_is_not_used(tmp_path):
    assert not values_of(read_text(tmp_path, GOOD.replace("handles = true", "handles = false")))["has_files"]


def test_an_attachment_serves_only_the_lathes_that_it_fits():
    shop = read_shop("training-shop")
    assert values_of(shop, 0)["has_pivot"] and not values_of(shop, 1)["has_pivot"]
    assert values_of(shop, 0)["shelf_rods"] and values_of(shop, 1)["shelf_rods"] == ()


def test_limits_minutes_and_spreads_pass_through_as_written(tmp_path):
    shop = read_text(tmp_path, GOOD)
    assert shop.limits == {"largest_share": "0.5", "light_gap": "0.03 mm"}
    assert shop.minutes == {"rod_making": "30 min", "rod_setup_time": ["20 min", "25 min", "40 min"]}
    assert shop.spreads == {"pivot_set_per_radius": 0.001}


def in_inches(text):
    return re.sub(r'"([0-9.]+) mm"', lambda found: f'"{float(found[1]) / 25.4:.16f} in"', text)


@pytest.mark.parametrize("name", ["good", "training-shop", "bench-shop"])
def test_the_same_shop_in_inches_and_in_millimetres(name, tmp_path):
    text = GOOD if name == "good" else (SHOPS / f"{name}.toml").read_text(encoding="utf-8")
    metric = values_of(read_text(tmp_path, text))
    inch = values_of(read_text(tmp_path, in_inches(text)))
    assert in_inches(text).count(" mm") < text.count(" mm") / 4
    for key, value in metric.items():
        if key == "ready_tools":
            value, inch[key] = sum(value, ()), sum(inch[key], ())
        if isinstance(value, (float, tuple)):
            assert inch[key] == pytest.approx(value, rel=1e-9, nan_ok=True), key
        else:
            assert inch[key] == value, key


def test_leaves_of_overlapping_sets_are_listed_once():
    leaves = values_of(read_shop("jobbing-shop"))["gauge_leaves"]
    assert leaves[0] == pytest.approx(25.4 / 64) and leaves[-1] == pytest.approx(12.7)
    assert len(leaves) == 17 + 8
    both = values_of(read_shop("training-shop"))["gauge_leaves"]
    assert min(b - a for a, b in zip(both, both[1:], strict=False)) > 1e-3


# One shop made from another.


def test_a_shop_that_is_like_another_without_its_attachment():
    with_it, without_it = values_of(read_shop("training-shop")), values_of(read_shop("training-shop-no-pivot"))
    changed = {key for key in with_it if with_it[key] != without_it[key] and without_it[key] == without_it[key]}
    assert changed == {"has_pivot"}
    assert math.isnan(without_it["pivot_convex_min"]) and math.isnan(without_it["post_diameter"])


def write(folder, name, text):
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")


def test_own_keys_are_laid_over_those_of_the_other_shop(tmp_path):
    write(tmp_path, "good", GOOD)
    write(
        tmp_path, "child", 'like = "good"\nhourly_rate = 55\n[pivot_attachment]\nconvex_max = "60 mm"\n[limits]\nx = 2'
    )
    child = read_shop("child", folder=tmp_path)
    assert (child.name, child.about, child.hourly_rate) == ("child", "", 55)
    assert (child.pivot_attachment.convex_min, child.pivot_attachment.convex_max) == (4, 60)
    assert child.limits == {"largest_share": "0.5", "light_gap": "0.03 mm", "x": "2"}


def test_lists_are_replaced_whole_and_dotted_names_taken_out(tmp_path):
    write(tmp_path, "good", GOOD)
    write(
        tmp_path,
        "child",
        'like = "good"\nwithout = ["lathe.rod", "rods", "gauges.set"]\n[[gauges.set]]\nleaves = ["4 mm"]',
    )
    values = values_of(read_shop("child", folder=tmp_path))
    assert not values["has_rod_gear"] and values["gauge_leaves"] == (4,)


def test_like_may_be_a_path_beside_the_file(tmp_path):
    (tmp_path / "inner").mkdir()
    write(tmp_path, "base", GOOD)
    write(tmp_path / "inner", "child", 'like = "../base.toml"\nwithout = ["files"]')
    assert not values_of(read_shop(tmp_path / "inner" / "child.toml"))["has_files"]


# Tools on the shelf and the choice of the lathe.


def test_the_tool_on_the_shelf_nearest_to_the_middle_serves(tmp_path):
    more = '[[form_tools.ready]]\nradius = "5.1 mm"\nform = "convex"\nwidth = "8 mm"\n\n[[rods]]'
    shop = read_text(tmp_path, GOOD.replace("[[rods]]", more, 1))
    assert ready_tool(shop, radius_low=4.8, radius_high=5.2, form="convex", width=5).radius == 5
    assert ready_tool(shop, radius_low=4.9, radius_high=5.4, form="convex", width=5).radius == 5.1
    assert ready_tool(shop, radius_low=4.8, radius_high=5.2, form="concave", width=5) is None
    assert ready_tool(shop, radius_low=4.8, radius_high=5.2, form="convex", width=8.1) is None


@pytest.mark.parametrize(
    "low, high, width, serves",
    [
        (4.9, 5.1, 8.0, True),
        (4.9001, 5.1, 8.0, False),
        (4.9, 5.0999, 8.0, False),
        (4.9, 5.1, 8.01, False),
        (4.9, 5.1, math.nan, False),
    ],
)
def test_boundaries_of_a_tool_on_the_shelf(low, high, width, serves):
    tools = ((5.0, True, 8.0, 0.1),)
    assert ready_tool_serves(radius_low=low, radius_high=high, convex=True, width=width, tools=tools) == serves


def test_an_inch_tool_serves_a_tolerance_as_wide_as_its_own():
    jobbing = read_shop("jobbing-shop")
    low, high = (0.125 - 0.003) * 25.4, (0.125 + 0.003) * 25.4
    assert ready_tool(jobbing, radius_low=low, radius_high=high, form="concave", width=3.0)


lengths = st.floats(0.1, 30)


@given(st.lists(st.tuples(lengths, st.booleans(), lengths, lengths | st.just(math.nan)), max_size=4),
       st.lists(st.tuples(lengths, lengths, st.booleans(), lengths), min_size=1, max_size=5))  # fmt: skip
def test_columns_of_callouts_agree_with_one_at_a_time(tools, callouts):
    names = ("radius_low", "radius_high", "convex", "width")
    columns = {name: numpy.array(column) for name, column in zip(names, zip(*callouts, strict=True), strict=True)}
    together = ready_tool_serves(**columns, tools=tuple(tools))
    single = [ready_tool_serves(**dict(zip(names, one, strict=True)), tools=tuple(tools)) for one in callouts]
    assert list(numpy.broadcast_to(together, len(callouts))) == single


def test_choice_of_the_lathe():
    shop = read_shop("training-shop")
    assert choose_lathe(shop, largest_diameter=40).name == "engine lathe"
    assert choose_lathe(shop, largest_diameter=40, name="toolroom lathe").name == "toolroom lathe"
    assert choose_lathe(shop, largest_diameter=340).name == "engine lathe"


def test_a_lathe_that_clears_the_cross_slide_goes_before_one_that_does_not(tmp_path):
    small = SMALLEST[SMALLEST.index("[[lathe]]") :]
    large = small.replace("first", "second").replace("300 mm", "400 mm").replace("180 mm", "250 mm")
    shop = read_text(tmp_path, SMALLEST + large)
    chosen = {d: choose_lathe(shop, largest_diameter=d).name for d in (180, 180.1, 250.1, 300.1, 400)}
    assert list(chosen.values()) == ["first lathe", "second lathe", "first lathe", "second lathe", "second lathe"]


@pytest.mark.parametrize(
    "shop, diameter, name, message",
    [
        ("training-shop", 341, None,
         "diameter: 341 mm does not swing over the bed of the engine lathe, which takes 340 mm. "
         "Give at most 340 mm, or a shop with a larger lathe."),
        ("training-shop", 300, "toolroom lathe",
         "diameter: 300 mm does not swing over the bed of the toolroom lathe, which takes 280 mm. "
         "Give at most 280 mm, or a shop with a larger lathe."),
        ("jobbing-shop", 19 * 25.4, None,
         "diameter: 19.0000 in does not swing over the bed of the heavy lathe, which takes 18.0000 in. "
         "Give at most 18.0000 in, or a shop with a larger lathe."),
        ("training-shop", 40, "engin lathe",
         'lathe: engin lathe is no lathe of training-shop. Did you mean "engine lathe"?'),
        ("bench-shop", 40, "turret",
         "lathe: turret is no lathe of bench-shop. Give bench lathe."),
    ],
)  # fmt: skip
def test_no_lathe_for_the_work(shop, diameter, name, message):
    with pytest.raises(ShopError) as caught:
        choose_lathe(read_shop(shop), largest_diameter=diameter, name=name)
    assert str(caught.value) == message


# Every way to get a shop file wrong: a line of the good shop, what stands there instead, and what is said.

UNIT = 'Write it with its unit in quotes, like "0.125 mm" or "0.005 in".'
LENGTH = "Give a length such as 40 mm or 1-1/2 in."
SWAP = "Exchange them or correct one."
WRONG_LINES = [
    # text, words, numbers, truth values
    ('name = "proving shop"', "name = 3", 'name: 3 is not text. Give text in double quotes, like "bench lathe".'),
    ('name = "proving shop"', 'name = "  "', 'name: is not text. Give text in double quotes, like "bench lathe".'),
    ('about = "A', 'about = "\\u001b[31m A',
     "about: �[31m A small shop that is right; tests break one line of... has characters that cannot be printed. "
     "Give plain text on one line."),
    ('units = "mm"', "", 'units: is missing. Add units: the unit of every number in this file that has none behind it, and of the shop\'s speech ("mm" or "inch"), like units = "mm".'),
    ('units = "mm"', 'units = "inches"', 'units: inches is not one of the words known here. Did you mean "inch"? Give "mm" or "inch".'),
    ('units = "mm"', "units = [1]", 'units: a list is not one of the words known here. Give "mm" or "inch".'),
    ("hourly_rate = 40", 'hourly_rate = "40"', "hourly_rate: 40 is not a number. Give a number without quotes, like 42."),
    ("hourly_rate = 40", "hourly_rate = -40", "hourly_rate: -40 is out of range. Give a number from 0 up."),
    ("hourly_rate = 40", "hourly_rate = nan", "hourly_rate: nan is out of range. Give a number from 0 up."),
    ("hourly_rate = 40", "hourly_rate = inf", "hourly_rate: inf is out of range. Give a number from 0 up."),
    ("hourly_rate = 40", "hourly_rate = true", "hourly_rate: true is not a number. Give a number without quotes, like 42."),
    ("hourly_rate = 40", "hourly_rate = 2024-01-01",
     "hourly_rate: 2024-01-01 is not a number. Give a number without quotes, like 42."),
    ("micrometer = true", 'micrometer = "yes"', "gauges: micrometer: yes is not true or false. Write true or false without quotes."),
    ("pins = true", "pins = 1", "gauges: pins: 1 is not true or false. Write true or false without quotes."),
    ("handles = true", "", "files: handles: is missing. Add handles: every file has its handle; a file without one is not used on turning work, like handles = true."),
    # keys that are not known
    ("hourly_rate = 40", "hourly_rat = 40", 'hourly_rat is not a key known here. Did you mean "hourly_rate"?'),
    ("hourly_rate = 40", "witout = []", 'witout is not a key known here. Did you mean "without"?'),
    ('motor_power = "1.5 kW"', 'motor_powr = "1.5 kW"', 'lathe 1: motor_powr is not a key known here. Did you mean "motor_power"?'),
    ("[pivot_attachment]", "[pivot_atachment]", 'pivot_atachment is not a key known here. Did you mean "pivot_attachment"?'),
    ("graduation = \"0.01 mm\"", 'graduation = "0.01 mm"\nrange = "25 mm"', "gauges: depth_micrometer: range is not a key known here. Give only graduation."),
    ("[files]", "[gagues]", 'gagues is not a key known here. Did you mean "gauges"?'),
    ("hourly_rate = 40", '"\\u0007" = 40', "� is not a key known here. Give only name, about,"),
    # quantities
    ('swing_over_bed = "300 mm"', "", 'lathe 1: swing_over_bed: is missing. Add swing_over_bed: largest diameter that turns over the bed, like swing_over_bed = 300.'),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = ["300 mm"]', 'lathe 1: swing_over_bed: a list is not a size. Write a number, or a size with its unit like "60 mm" or "2-1/2 in".'),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = "0 mm"', f"lathe 1: swing_over_bed: 0 mm is not more than zero. {LENGTH}"),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = "-300 mm"', f"lathe 1: swing_over_bed: -300 mm is not more than zero. {LENGTH}"),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = "300 m"', f"lathe 1: swing_over_bed: 300 m is beyond 100 m. {LENGTH}"),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = "300 kW"', f"lathe 1: swing_over_bed: 300 kW is a power, not a length. {LENGTH}"),
    ('swing_over_bed = "300 mm"', 'swing_over_bed = "large"', f"lathe 1: swing_over_bed: large is not a length. {LENGTH}"),
    ('motor_power = "1.5 kW"', 'motor_power = "2 mm"', "lathe 1: motor_power: 2 mm is a length, not a power. Give a power such as 2.2 kW or 3 hp."),
    ('motor_power = "1.5 kW"', "motor_power = 1.5", 'lathe 1: motor_power: 1.5 has no unit. Write it with its unit in quotes, like "2.2 kW" or "3 hp".'),
    ('tip_short_min = "6 mm"', 'tip_short_min = "-1 mm"', "lathe 1: compound: tip_short_min: -1 mm is less than 0 mm. Give at least 0 mm."),
    ('graduation = "1 deg"', "", 'lathe 1: compound: graduation: is missing. Add graduation: graduation of the swivel, in degrees, like graduation = 1.'),
    # the lathe
    ("[90, 180, 355, 710]", "[90, 355, 180]",
     "lathe 1: spindle_speeds: 180 rpm follows 355 rpm. Give the speeds from the slowest to the fastest."),
    ("[90, 180, 355, 710]", "[90, 90]", "lathe 1: spindle_speeds: 90 rpm follows 90 rpm. Give the speeds from the slowest to the fastest."),
    ("[90, 180, 355, 710]", "[]", "lathe 1: spindle_speeds: a list is not a list with something in it. Give a list, like [90, 125, 180, 250]."),
    ("[90, 180, 355, 710]", "90", "lathe 1: spindle_speeds: 90 is not a list with something in it. Give a list, like [90, 125, 180, 250]."),
    ("[90, 180, 355, 710]", "[0, 90]", "lathe 1: spindle_speeds: entry 1: 0 rpm is no speed of a lathe. Give a speed above 0 and of at most 10,000 rpm, like 500."),
    ("[90, 180, 355, 710]", '["fast"]', "lathe 1: spindle_speeds: entry 1: fast is not a number. Give a number without quotes, like 42."),
    ("chuck_highest_speed = 2000", "chuck_highest_speed = 200000",
     "lathe 1: chuck_highest_speed: 200000 rpm is no speed of a lathe. Give a speed above 0 and of at most 10,000 rpm, like 500."),
    ('swing_over_cross_slide = "180 mm"', 'swing_over_cross_slide = "12 in"',
     f"lathe 1: swing_over_cross_slide: 12 in is more than swing_over_bed, 300 mm. {SWAP}"),
    ('chuck_diameter = "160 mm"', 'chuck_diameter = "310 mm"', f"lathe 1: chuck_diameter: 310 mm is more than swing_over_bed, 300 mm. {SWAP}"),
    ('dials = "diameter"', 'dials = "diametre"',
     'lathe 1: dials: diametre is not one of the words known here. Did you mean "diameter"? Give "radius" or "diameter".'),
    ('"carbide"', '"ceramic"', 'lathe 1: tools: entry 2: ceramic is not one of the words known here. Give "high-speed steel" or "carbide".'),
    ('["1.5 mm", "0.8 mm"]', '["1.5 mm", true]', "lathe 1: nose_radii: entry 2: true is not a size. Write a number, or a size with its unit like"),
    ('tip_past_max = "30 mm"', 'tip_past_max = "4 mm"', f"lathe 1: compound: tip_past_min: 5 mm is more than tip_past_max, 4 mm. {SWAP}"),
    ('tip_past_max = "30 mm"', "",
     "lathe 1: compound: tip_past_max: is missing while tip_past_min is given. Give both or neither of tip_past_min and tip_past_max."),
    ('travel = "70 mm"', 'travel = "30 mm"',
     "lathe 1: compound: travel: 30 mm is less than the 34 mm from one end of a window to the other. "
     "Measure the travel from stop to stop, and each window with the tool clamped once."),
    ('headstock_min = "220 mm"', 'headstock_min = "620 mm"', f"lathe 1: rod: headstock_min: 620 mm is more than headstock_max, 600 mm. {SWAP}"),
    ('tailstock_min = "170 mm"', "", "lathe 1: rod: tailstock_min: is missing while tailstock_max is given. Give both or neither"),
    ('largest_tilt = "18 deg"', 'largest_tilt = "90 deg"', "lathe 1: rod: largest_tilt: 90 deg is more than a rod can tilt. Give less than 90 deg."),
    # what is added to the lathe
    ('lathes = ["first lathe"]', 'lathes = ["frist lathe"]', 'pivot_attachment: lathes: frist lathe is no lathe of this shop. Did you mean "first lathe"?'),
    ('lathes = ["first lathe"]', 'lathes = ["mill"]', "pivot_attachment: lathes: mill is no lathe of this shop. Give first lathe."),
    ('lathes = ["first lathe"]', "lathes = []",
     'pivot_attachment: lathes: a list is not a list with something in it. Give a list, like ["engine lathe"].'),
    ('convex_min = "4 mm"', 'convex_min = "2 in"', f"pivot_attachment: convex_min: 2 in is more than convex_max, 50 mm. {SWAP}"),
    ('concave_max = "40 mm"', "", "pivot_attachment: concave_max: is missing while concave_min is given. Give both or neither"),
    ('largest_work_over = "60 mm"', 'largest_work_over = "300 mm"',
     "pivot_attachment: largest_work_over: 300 mm is more than the first lathe swings over its bed. "
     "Give the largest diameter that turns clear above the post."),
    ('grinding = "bench grinder"', 'grinding = "grinder"',
     'form_tools: grinding: grinder is not one of the words known here. Did you mean "bench grinder"? Give "none" or '
     '"bench grinder" or "radius dresser".'),
    ('widths = ["12 mm", "6 mm"]', 'widths = "12 mm"', "form_tools: widths: 12 mm is not a list with something in it."),
    ('form = "convex"', 'form = "round"', 'form_tools: ready 1: form: round is not one of the words known here. Give "convex" or "concave".'),
    ('edge_good_for = "0.1 mm"', 'edge_good_for = "5 mm"',
     "form_tools: ready 1: edge_good_for: 5 mm is not less than the radius, 5 mm. Give how far the edge may lie from its radius."),
    ("[[form_tools.ready]]", "[form_tools.ready]",
     "form_tools: ready: a table is not a list of tables. Write [[form_tools.ready]] in double brackets."),
    ('overall = "260 mm"', 'overall = "10 mm"', "rods 2: overall: 10 mm is no longer than a ball end, 10 mm. Give the length over both ball ends."),
    ('overall = "260 mm"', "", "rods 2: has no length. Give either seat_to_seat or overall."),
    ('overall = "260 mm"', 'overall = "260 mm"\nseat_to_seat = "250 mm"', "rods 2: has both lengths. Give either seat_to_seat or overall."),
    # gauges and files
    ('accuracy = "0.02 mm"', "", 'gauges: comparator: accuracy: is missing. Add accuracy: smallest error that it shows, like accuracy = 0.02.'),
    ('step = "0.5 mm"', 'step = "0.3 mm"',
     "gauges: set 1: step: 0.3 mm does not lead from 1 mm to 3 mm. Give a step that reaches the last leaf in at most 500 leaves."),
    ('step = "0.5 mm"', 'step = "0.001 mm"', "gauges: set 1: step: 0.001 mm does not lead from 1 mm to 3 mm."),
    ('step = "0.5 mm"', "", "gauges: set 1: gives no leaves. Give either leaves, or all three of from, to and step."),
    ('from = "1 mm"', 'from = "4 mm"', f"gauges: set 1: from: 4 mm is more than to, 3 mm. {SWAP}"),
    ('leaves = ["8 mm", "2 mm"]', "", "gauges: set 2: gives no leaves. Give either leaves, or all three of from, to and step."),
    ('leaves = ["8 mm", "2 mm"]', 'leaves = ["8 mm", "1/0 in"]', "gauges: set 2: leaves: entry 2: 1/0 in divides by zero. Give a fraction such as 3/8."),
    ('mill_bastard = ["250 mm"]', "mill_bastard = 2", 'files: mill_bastard: 2 is not a list with something in it. Give a list, like [6, 8] or ["1/4 in", "3/8 in"].'),
    ("[gauges.comparator]", "[[gauges.comparator]]", "gauges: comparator: a list is not a table. Write [gauges.comparator] on a line and its keys below."),
    # tolerances and the shop's own limits, minutes and spreads
    ('2 = "0.25 mm"', 'two = "0.25 mm"', 'inch_tolerances: two is no number of decimals. Give the keys 0 to 5 or "fraction", like 3 = "0.005 in".'),
    ('3 = "0.125 mm"', '3 = "0.3 mm"', f"inch_tolerances: 3: 0.3 mm is more than 2, 0.25 mm. {SWAP}"),
    ('fraction = "0.4 mm"', "fraction = 0.4", f"inch_tolerances: fraction: 0.4 has no unit. {UNIT}"),
    ("largest_share = 0.5", "largest_share = [1]", "limits: largest_share: a list is not a number. Give a number without quotes, like 42."),
    ("largest_share = 0.5", "largest_share = -1", "limits: largest_share: -1 is out of range. Give a number from 0 up."),
    ('rod_making = "30 min"', 'rod_making = ""', 'minutes: rod_making: is not text. Give text in double quotes, like "bench lathe".'),
    ('["20 min", "25 min", "40 min"]', '["20 min", [1]]', "minutes: rod_setup_time: entry 2: a list is not a number."),
    ("pivot_set_per_radius = 0.001", "pivot_set_per_radius = {a = 1}", "spreads: pivot_set_per_radius: a table is not a number."),
    # TOML itself
    ("hourly_rate = 40", "hourly_rate = 40\nhourly_rate = 41", "hourly_rate = 41 gives again what stands on line 4. Keep one of the two."),
    ("[files]", "[gauges]", "[gauges] gives again what stands on line 74. Keep one of the two."),
    ("hourly_rate = 40", "hourly_rate = 40 mm",
     'hourly_rate: 40 mm is not a number. Give a number without quotes, like 42.'),
    ("hourly_rate = 40", "hourly_rate", "hourly_rate has no value."),
    ("hourly_rate = 40", "hourly_rate = " + "9" * 5000, "is no number that can be read."),
    ("[spreads]", "[spreads", "[spreads has brackets that do not match. Write [spreads]."),
    ("hourly_rate = 40", "hourly_rate = " + "[" * 20000, "is nested too deeply. Two levels of tables are enough for a shop."),
]  # fmt: skip


def test_there_are_enough_wrong_lines():
    assert len(WRONG_LINES) >= 80
    assert all(GOOD.count(line) >= 1 for line, _, _ in WRONG_LINES)


@pytest.mark.parametrize("line, instead, message", WRONG_LINES, ids=[said[:50] for _, _, said in WRONG_LINES])
def test_a_wrong_line_is_named(line, instead, message, tmp_path):
    with pytest.raises(ShopError) as caught:
        read_text(tmp_path, GOOD.replace(line, instead, 1))
    said = re.sub("good.toml: line [0-9]+: ", "good.toml: ", str(caught.value))
    assert said.startswith("good.toml: ")
    assert message in said
    if message.endswith((".", "?")) and not message.startswith("is "):
        assert said.startswith(f"good.toml: {message}")


def lines_of(text, part):
    return [number for number, line in enumerate(text.split("\n"), start=1) if part in line]


@pytest.mark.parametrize(
    "line, instead",
    [
        ('swing_over_bed = "300 mm"', 'swing_over_bed = "300 kW"'),
        ('accuracy = "0.02 mm"', 'accuracy = "small"'),
        ('overall = "260 mm"', 'overall = "1 mm"'),
        ('step = "0.5 mm"', 'step = "0.3 mm"'),
        ("pins = true", "pins = maybe"),
        ('lathes = ["first lathe"]', 'lathes = ["mill"]'),
        ("largest_share = 0.5", "largest_share = -1"),
        ('fraction = "0.4 mm"', "fraction = .4"),
    ],
)
def test_an_error_gives_the_number_of_its_line(line, instead, tmp_path):
    text = GOOD.replace(line, instead)
    with pytest.raises(ShopError) as caught:
        read_text(tmp_path, text)
    assert str(caught.value).startswith(f"good.toml: line {lines_of(text, instead)[0]}: ")
    assert not caught.value.also


def test_everything_that_is_wrong_is_told_at_once_in_the_order_of_its_lines(tmp_path):
    wrong = {
        "hourly_rate = 40": "hourly_rate = forty",
        'swing_over_bed = "300 mm"': 'swing_over_bed = 12"',
        'chuck_depth = "100 mm"\n': "",
        'dials = "diameter"': "dials = diametre",
        'tip_past_min = "5 mm"': "tip_past_min = .25",
        'ball_diameter = "10 mm"': "ball_diametr = 10",
        'grinding = "bench grinder"': 'grinding = "by hand"',
        "pins = true": "pins = yes\nmicrometer = true",
        "handles = true": 'handles = "yes"',
    }
    text = GOOD
    for line, instead in wrong.items():
        text = text.replace(line, instead, 1)
    with pytest.raises(ShopError) as caught:
        read_text(tmp_path, text)
    told = str(caught.value).split("\n")
    assert [
        re.sub("good.toml: line [0-9]+: |(?<=on line )[0-9]+(?=[.])", "", one).replace("on line .", "on line {}.")
        for one in told
    ] == [
        "hourly_rate: forty is not a number. Give a number without quotes, like 42.",
        "lathe 1: chuck_depth: is missing. Add chuck_depth: how far chuck and jaws stand out from the spindle nose, "
        "like chuck_depth = 100.",
        'swing_over_bed = 12" has an inch mark. Write swing_over_bed = "12 in".',
        'lathe 1: dials: diametre is not one of the words known here. Did you mean "diameter"? Give "radius" or "diameter".',
        "tip_past_min = .25 has no figure before the point. Write tip_past_min = 0.25.",
        'lathe 1: rod: ball_diametr is not a key known here. Did you mean "ball_diameter"?',
        'form_tools: grinding: by hand is not one of the words known here. Give "none" or "bench grinder" or "radius dresser".',
        "pins = yes is not written as TOML has it. Write pins = true.",
        "micrometer = true gives again what stands on line {}. Keep one of the two.",
        "files: handles: yes is not true or false. Write true or false without quotes.",
    ]
    changed = [
        "hourly_rate = f",
        "[[lathe]]",
        "swing_over_bed = 12",
        "= diametre",
        "= .25",
        "ball_diametr =",
        "by hand",
        "pins = yes",
    ]
    changed += ["micrometer = true", 'handles = "yes"']
    numbers = [int(re.search("line ([0-9]+)", one)[1]) for one in told]
    assert numbers == [lines_of(text, part)[-1] for part in changed]
    assert len(caught.value.each) == len(told)


def test_a_bare_number_has_the_unit_of_the_file_it_stands_in(tmp_path):
    write(tmp_path, "good", GOOD.replace('"300 mm"', "300").replace('"1 deg"', "1"))
    write(tmp_path, "child", 'like = "good"\nunits = "inch"\n[pivot_attachment]\nconvex_max = 2\nconcave_max = "1-1/2"')
    child = read_shop("child", folder=tmp_path)
    assert (child.lathes[0].swing_over_bed, child.lathes[0].compound.graduation) == (300, 1)
    assert child.pivot_attachment.convex_max == pytest.approx(50.8)
    assert child.pivot_attachment.concave_max == pytest.approx(38.1)


@pytest.mark.parametrize("units, swing", [("mm", "10"), ("inch", "300")])
def test_a_size_in_another_unit_than_the_file_has(units, swing, tmp_path):
    text = GOOD.replace('units = "mm"', f'units = "{units}"').replace('"300 mm"', swing, 1)
    with pytest.raises(ShopError, match="is no swing of a lathe for turning by hand. Look at units at the top"):
        read_text(tmp_path, text)


def test_keys_without_the_heading_above_them_are_told_once(tmp_path):
    with pytest.raises(ShopError) as caught:
        read_text(tmp_path, GOOD.replace("[lathe.compound]\n", "#[lathe.compound]\n"))
    assert not caught.value.also
    said = "without the line [lathe.compound] above. Put [lathe.compound] on a line before tip_past_min, without a # in front."
    assert "lathe 1: tip_past_min, tip_past_max, tip_short_min" in str(caught.value) and said in str(caught.value)


def test_an_attachment_that_reaches_nothing(tmp_path):
    text = re.sub('(convex|concave)_(min|max) = "[0-9]+ mm"\n', "", GOOD)
    with pytest.raises(
        ShopError, match="pivot_attachment: reaches nothing. Give convex_min and convex_max or concave_min"
    ):
        read_text(tmp_path, text)


def test_rods_without_seats_for_them(tmp_path):
    text = GOOD[: GOOD.index("[lathe.rod]")] + GOOD[GOOD.index("[pivot_attachment]") :]
    with pytest.raises(ShopError, match="rods: fit no lathe of this shop. Give a lathe its"):
        read_text(tmp_path, text)


def test_two_lathes_of_one_name(tmp_path):
    with pytest.raises(
        ShopError, match="lathe: first lathe is the name of two lathes. Give each lathe a name of its own."
    ):
        read_text(tmp_path, SMALLEST + SMALLEST[SMALLEST.index("[[lathe]]") :])


# Files that are wrong as a whole; the first line of each says what must be said of it.


@pytest.mark.parametrize("path", sorted(BAD_SHOPS.glob("*.toml")), ids=lambda path: path.stem)
def test_bad_shop_file(path):
    first = path.read_text(encoding="utf-8").splitlines()[0]
    if path.stem == "good":
        assert read_shop("good", folder=BAD_SHOPS).name == "proving shop"
    else:
        assert message_of(path.stem, folder=BAD_SHOPS) == first.removeprefix("# ")


@pytest.mark.parametrize(
    "content, message",
    [
        (b"\xff\xfe\x00n", "x.toml: line 1: is not text in UTF-8. Save the file as UTF-8 text."),
        (b'name = "a"\nabout = "caf\xe9"', "x.toml: line 2: is not text in UTF-8. Save the file as UTF-8 text."),
        (b"\x7fELF\x02\x01\x00\x00", "x.toml: line 1: �ELF���� is not TOML."),
        (b"#" * 300_000, "x.toml: is larger than 256 KiB. A shop file is a page or two of text."),
        (
            b"",
            'x.toml: units: is missing. Add units: the unit of every number in this file that has none behind it, and of the shop\'s speech ("mm" or "inch"), like units = "mm".',
        ),
        (b'units = "mm"', "x.toml: lathe: is missing. Add a table [[lathe]] for each lathe, at least one."),
        (
            b'units = "mm"\n[lathe]\nname = "a"',
            "x.toml: line 2: lathe: a table is not a list of tables. Write [[lathe]] in double brackets.",
        ),
        (b'units = "mm"\nlathe = [3]', "x.toml: line 2: lathe 1: 3 is not a table."),
        (
            GOOD.encode().replace(b"rod_making", b"a." * 5000 + b"a"),
            "x.toml: is nested too deeply. Two levels of tables are enough for a shop.",
        ),
    ],
    ids=["utf-16", "latin-1", "binary", "too big", "empty", "no lathe", "single brackets", "no table", "deep"],
)
def test_files_that_are_no_shops(content, message, tmp_path):
    (tmp_path / "x.toml").write_bytes(content)
    assert message_of("x", folder=tmp_path).startswith(message)


def test_byte_order_mark_and_line_ends_of_another_system(tmp_path):
    shop = read_text(tmp_path, b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert values_of(shop) == values_of(read_text(tmp_path, GOOD))


@pytest.mark.parametrize(
    "name, message",
    [
        ("good-shop", 'shop: good-shop is not there. Did you mean "good"? Give one of good, or the path of a .toml file.'),
        ("away/good.toml", 'shop: away/good.toml is not there.'),
        ("", "shop: is no name of a shop. Give the name of a shop or the path of its file."),
        ("a\0b", "shop: a�b is no name of a shop. Give the name of a shop or the path of its file."),
        ("x" * 5000, "shop: " + "x" * 57 + "... cannot be looked up. Give a shorter or a plainer path."),
        ("../", "shop: ../ is a folder. Give the file of a shop in it."),
    ],
)  # fmt: skip
def test_a_shop_that_cannot_be_found(name, message, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write(tmp_path, "good", GOOD)
    assert message_of(name, folder=tmp_path).startswith(message)


def test_an_error_of_the_other_shop_names_the_other_file(tmp_path):
    write(tmp_path, "good", GOOD.replace('"300 mm"', "true", 1))
    write(tmp_path, "child", 'like = "good"')
    assert message_of("child", folder=tmp_path).startswith(
        "good.toml: line 9: lathe 1: swing_over_bed: true is not a size."
    )


# Whatever is done to a shop file, it is read, or refused with a message on one line.


def refused_or_read(folder, text):
    try:
        shop = read_text(folder, text)
        for lathe in shop.lathes:
            shop_values(shop, lathe)
    except ShopError as error:
        for line in str(error).split("\n"):
            assert line.isprintable() and len(line) < 1200, line
        assert error.fix


fuzzing = settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@fuzzing
@given(st.integers(0, len(GOOD)), st.integers(0, 40), st.text(max_size=12))
def test_a_piece_of_the_text_replaced_by_any_other(tmp_path, start, length, text):
    refused_or_read(tmp_path, GOOD[:start] + text + GOOD[start + length :])


@fuzzing
@given(st.lists(st.integers(0, GOOD.count("\n")), min_size=1, max_size=6))
def test_lines_left_out_and_given_twice(tmp_path, chosen):
    lines = GOOD.splitlines(keepends=True)
    for number in chosen:
        lines[number % len(lines)] *= number % 3
    refused_or_read(tmp_path, "".join(lines))


scalars = (
    st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.sampled_from(["0 mm", "1e9 in", "-3 kW"])
)
anything = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=2),
    max_leaves=5,
)
KEYED_LINES = [line for line in GOOD.splitlines() if " = " in line]


def toml(value):
    """A value as TOML; JSON text is TOML text but for what TOML does not let stand."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(str(key))} = {toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(toml(inner) for inner in value) + "]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=True)
    return str(value).lower()


@fuzzing
@given(st.sampled_from(KEYED_LINES), anything)
def test_a_value_replaced_by_any_other(tmp_path, line, value):
    refused_or_read(tmp_path, GOOD.replace(line, f"{line.partition(' = ')[0]} = {toml(value)}"))


@fuzzing
@given(st.binary(max_size=200))
def test_any_bytes_at_all(tmp_path, content):
    refused_or_read(tmp_path, content)


def test_the_good_shop_uses_every_key_that_there_is():
    """So that the tests above reach every key."""
    from dataclasses import fields

    from advisor.asked import shop

    tables = tomllib.loads(GOOD)
    classes = {
        shop.Shop: tables, shop.Lathe: tables["lathe"][0], shop.Compound: tables["lathe"][0]["compound"],
        shop.RodGear: tables["lathe"][0]["rod"], shop.PivotAttachment: tables["pivot_attachment"],
        shop.FormTools: tables["form_tools"], shop.ReadyTool: tables["form_tools"]["ready"][0],
        shop.Gauges: tables["gauges"], shop.Comparator: tables["gauges"]["comparator"], shop.Files: tables["files"],
    }  # fmt: skip
    for kind, table in classes.items():
        assert {entry.metadata.get("key", entry.name) for entry in fields(kind)} == set(table), kind.__name__
