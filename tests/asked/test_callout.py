"""What drawings say, and how a callout that cannot be made is refused."""

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.asked import options
from advisor.asked.callout import KEYS, REQUIRED, TABLES, WORDS, Assumed, Callout, open_case, read_callout, read_case
from advisor.asked.materials import materials
from advisor.asked.radius_text import read_general_tolerance, read_radius
from advisor.formulas.geometry import depth_of_arc
from advisor.ground.errors import CalloutError

MATERIALS = {
    "low-carbon steel": {"hardness": 150, "aliases": ["1018", "mild steel"]},
    "tool steel": {"hardness": 210},
    "free-cutting brass": {"hardness": 90},
}
INCH_TOLERANCES = {"1": 0.762, "2": 0.254, "3": 0.127, "4": 0.0127, "fraction": 0.396875}  # mm
BASE = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}
GROOVE = {"form": "concave", "location": "outside diameter", "width": "10 mm", "from_end": "30 mm"}
DISH = {"form": "concave", "location": "end", "radius": "R30 ±0.1"}
DOME = {"form": "convex", "location": "end", "radius": "R50 ±0.5"}
FILLET = {"form": "concave"}


def callout(**fields):
    return read_callout(BASE | fields, materials=MATERIALS)


def radius_of(text, *, units="mm", **options):
    return read_radius(text, units=units, inch_tolerances=INCH_TOLERANCES, **options)


def inches(*sizes):
    return tuple(25.4 * size for size in sizes)


# text, units of the drawing, symbol, count, low and high limit [mm]
FORMS = [
    ("R6", "mm", "R", None, (5.5, 6.5)),
    ("r6", "mm", "R", None, (5.5, 6.5)),
    ("R 6", "mm", "R", None, (5.5, 6.5)),
    ("R=6", "mm", "R", None, (5.5, 6.5)),
    ("RAD 6", "mm", "R", None, (5.5, 6.5)),
    ("radius 6 mm", "mm", "R", None, (5.5, 6.5)),
    ("6", "mm", "R", None, (5.5, 6.5)),
    (6, "mm", "R", None, (5.5, 6.5)),
    (6.0, "mm", "R", None, (5.5, 6.5)),
    ("6 R", "mm", "R", None, (5.5, 6.5)),
    ("R6 ±0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6±0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6 +-0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6 +/-0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6 +/- 0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6 ± 0.1 mm", "mm", "R", None, (5.9, 6.1)),
    ("R6 mm ± 0.1", "mm", "R", None, (5.9, 6.1)),
    ("R6 ± 0.1 mm", "inch", "R", None, (5.9, 6.1)),
    ("R6 ±50 µm", "mm", "R", None, (5.95, 6.05)),
    ("R6\u00a0±\u00a00.1", "mm", "R", None, (5.9, 6.1)),
    ("R6,5 ±0,1", "mm", "R", None, (6.4, 6.6)),
    ("R 5.5 +0.2/-0", "mm", "R", None, (5.5, 5.7)),
    ("R5.5 +0.2 -0.1", "mm", "R", None, (5.4, 5.7)),
    ("R5.5 +0.2/−0.1", "mm", "R", None, (5.4, 5.7)),
    ("R5.5 -0.1/+0.2", "mm", "R", None, (5.4, 5.7)),
    ("R5.5 -0.1 +0.2", "mm", "R", None, (5.4, 5.7)),
    ("R5,5 +0,2, -0,1", "mm", "R", None, (5.4, 5.7)),
    ("R5.5 +0.2/0", "mm", "R", None, (5.5, 5.7)),
    ("R5.5 0/-0.2", "mm", "R", None, (5.3, 5.5)),
    ("R5.5 +0.3/+0.1", "mm", "R", None, (5.6, 5.8)),
    ("R5.5 -0.1/-0.3", "mm", "R", None, (5.2, 5.4)),
    ("R5.5 +50/-20 um", "mm", "R", None, (5.48, 5.55)),
    ("R5.8-6.2", "mm", "R", None, (5.8, 6.2)),
    ("R5.8 - 6.2", "mm", "R", None, (5.8, 6.2)),
    ("R5.8–6.2 mm", "inch", "R", None, (5.8, 6.2)),
    ("R5.8/6.2", "mm", "R", None, (5.8, 6.2)),
    ("R6.2/5.8", "mm", "R", None, (5.8, 6.2)),
    ("R5.8 to 6.2", "mm", "R", None, (5.8, 6.2)),
    ("R5.8...6.2", "mm", "R", None, (5.8, 6.2)),
    ("R2 MAX", "mm", "R", None, (0, 2)),
    ("R2 max.", "mm", "R", None, (0, 2)),
    ("R2 (MAX)", "mm", "R", None, (0, 2)),
    ("R.06 MAX", "inch", "R", None, inches(0, 0.06)),
    ("R1 MIN", "mm", "R", None, (1, 1.4)),
    ("R.125 MIN", "inch", "R", None, inches(0.125, 0.135)),
    ("2X R3", "mm", "R", 2, (2.8, 3.2)),
    ("2 x R3", "mm", "R", 2, (2.8, 3.2)),
    ("2× R3", "mm", "R", 2, (2.8, 3.2)),
    ("2xR3", "mm", "R", 2, (2.8, 3.2)),
    ("(2X) R3", "mm", "R", 2, (2.8, 3.2)),
    ("4X CR3 ±0.1", "mm", "CR", 4, (2.9, 3.1)),
    ("2X .250 R", "inch", "R", 2, inches(0.245, 0.255)),
    ("R3 2 PLACES", "mm", "R", 2, (2.8, 3.2)),
    ("R3 ±0.1 (2 PL)", "mm", "R", 2, (2.9, 3.1)),
    ("R3 2X", "mm", "R", 2, (2.8, 3.2)),
    ("R3 TYP", "mm", "R", None, (2.8, 3.2)),
    ("SR20", "mm", "SR", None, (19, 21)),
    ("CR4", "mm", "CR", None, (3.5, 4.5)),
    ("sr20 ±0.05", "mm", "SR", None, (19.95, 20.05)),
    ("R.125 ±.005", "inch", "R", None, inches(0.12, 0.13)),
    ("R.125±.005", "inch", "R", None, inches(0.12, 0.13)),
    ("R.120-.130", "inch", "R", None, inches(0.12, 0.13)),
    ("R.120/.130", "inch", "R", None, inches(0.12, 0.13)),
    ("R.130/.120", "inch", "R", None, inches(0.12, 0.13)),
    ("R3/8", "inch", "R", None, inches(3 / 8 - 1 / 64, 3 / 8 + 1 / 64)),
    ("R⅜", "inch", "R", None, inches(3 / 8 - 1 / 64, 3 / 8 + 1 / 64)),
    ("R1-3/16", "inch", "R", None, inches(1.1875 - 1 / 64, 1.1875 + 1 / 64)),
    ('R1 3/16"', "mm", "R", None, inches(1.1875 - 1 / 64, 1.1875 + 1 / 64)),
    ("R1⅜", "inch", "R", None, inches(1.375 - 1 / 64, 1.375 + 1 / 64)),
    ("R1/4 ±1/64", "inch", "R", None, inches(1 / 4 - 1 / 64, 1 / 4 + 1 / 64)),
    ("R1-3/16-1-1/4", "inch", "R", None, inches(1.1875, 1.25)),
    ("R1/4 +0 -1/64", "inch", "R", None, inches(1 / 4 - 1 / 64, 1 / 4)),
    ("R.250 in", "mm", "R", None, inches(0.245, 0.255)),
    ("R.250 in.", "mm", "R", None, inches(0.245, 0.255)),
    ("R.250 in ±.003", "mm", "R", None, inches(0.247, 0.253)),
    ("R1/4 in ± 0.1 mm", "mm", "R", None, (6.25, 6.45)),
    ("R.250 ±5 thou", "inch", "R", None, inches(0.245, 0.255)),
    ("R.2", "inch", "R", None, inches(0.17, 0.23)),
    ("R.25", "inch", "R", None, inches(0.24, 0.26)),
    ("R.250", "inch", "R", None, inches(0.245, 0.255)),
    ("R0.2500", "inch", "R", None, inches(0.2495, 0.2505)),
    ("R1", "inch", "R", None, inches(1 - 1 / 64, 1 + 1 / 64)),
]


@pytest.mark.parametrize(("text", "units", "symbol", "count", "limits"), FORMS, ids=[str(row[0]) for row in FORMS])
def test_what_drawings_write(text, units, symbol, count, limits):
    radius = radius_of(text, units=units)
    assert (radius.symbol, radius.count) == (symbol, count)
    assert (radius.low, radius.high) == pytest.approx(limits, rel=1e-12, abs=1e-12)
    assert radius.radius == pytest.approx(sum(limits) / 2, rel=1e-12)
    assert radius.tolerance == pytest.approx((limits[1] - limits[0]) / 2, rel=1e-9)


# ISO 2768-1:1989, tables 1 and 2 as in the DIN ISO 2768-1 sheet. Hollow radii under table 1 is our reading: table 2
# names external radii and chamfer heights only.
TABLE_2 = [
    (0.5, "f", 0.2), (0.5, "m", 0.2), (3, "f", 0.2), (3, "m", 0.2), (3, "c", 0.4), (3, "v", 0.4),
    (3.1, "f", 0.5), (3.1, "m", 0.5), (6, "m", 0.5), (6, "c", 1), (6, "v", 1),
    (6.1, "f", 1), (6.1, "m", 1), (6.1, "c", 2), (6.1, "v", 2), (31, "m", 1), (500, "c", 2),
]  # fmt: skip
TABLE_1 = [
    (0.5, "f", 0.05), (3, "m", 0.1), (3, "c", 0.2), (3.1, "f", 0.05), (6, "m", 0.1), (6, "c", 0.3), (6, "v", 0.5),
    (6.1, "f", 0.1), (30, "m", 0.2), (30, "c", 0.5), (30, "v", 1), (31, "f", 0.15), (120, "m", 0.3), (120, "c", 0.8),
    (120, "v", 1.5), (121, "f", 0.2), (400, "m", 0.5), (400, "c", 1.2), (400, "v", 2.5), (401, "f", 0.3),
    (1000, "m", 0.8), (1000, "c", 2), (1000, "v", 4), (2000, "f", 0.5), (2000, "m", 1.2), (2000, "c", 3), (2000, "v", 6),
    (2001, "m", 2), (4000, "c", 4), (4000, "v", 8),
]  # fmt: skip


@pytest.mark.parametrize(
    ("form", "table", "size", "letter", "half"),
    [("convex", 2, *row) for row in TABLE_2] + [("concave", 1, *row) for row in TABLE_1],
)
def test_general_tolerances_of_iso_2768(form, table, size, letter, half):
    radius = radius_of(f"R{size}", general_tolerance=f"ISO 2768-{letter}", form=form)
    assert (radius.radius, radius.tolerance) == pytest.approx((size, half))
    assert f"ISO 2768-{letter}" in str(radius.tolerance_from) and f"table {table}" in str(radius.tolerance_from)


@pytest.mark.parametrize(
    ("size", "letter", "form"),
    [
        (0.49, "m", "convex"),
        (0.49, "m", "concave"),
        (3, "v", "concave"),
        (2001, "f", "concave"),
        (4001, "m", "concave"),
    ],
)
def test_iso_2768_gives_no_tolerance_there(size, letter, form):
    with pytest.raises(CalloutError, match="Write the tolerance at the radius"):
        radius_of(f"R{size}", general_tolerance=f"ISO 2768-{letter}", form=form)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("ISO 2768-m", "ISO 2768-m"),
        ("ISO 2768-mK", "ISO 2768-m"),
        ("ISO 2768 - mH", "ISO 2768-m"),
        ("iso 2768-1 f", "ISO 2768-f"),
        ("DIN ISO 2768-1-c", "ISO 2768-c"),
        ("ISO 2768 v", "ISO 2768-v"),
        ("ISO2768-fH", "ISO 2768-f"),
        ("by decimals", "by decimals"),
        ("±0.2", 0.2),
        ("+/-0.2 mm", 0.2),
        (0.2, 0.2),
        (None, None),
    ],
)
def test_general_tolerance_of_the_title_block(text, name):
    assert read_general_tolerance(text, units="mm") == name


def test_the_general_tolerance_of_the_drawing_is_used():
    assert radius_of("R6", general_tolerance="±0.2").tolerance == 0.2
    assert radius_of("R.250", units="inch", general_tolerance="±.003").tolerance == pytest.approx(0.0762)
    assert radius_of("R.250", units="inch", general_tolerance="ISO 2768-m").tolerance == 1.0
    assert radius_of("R6 ±0.1", general_tolerance="ISO 2768-c").tolerance == 0.1


def test_common_inch_tolerances_where_the_shop_states_none():
    for text, tolerance in [("R.2", 0.03), ("R.25", 0.01), ("R.250", 0.005), ("R.2500", 0.0005), ("R1/4", 1 / 64)]:
        assert read_radius(text, units="inch").tolerance == pytest.approx(25.4 * tolerance)


def test_a_shop_may_state_whole_inches():
    assert read_radius("R1", units="inch", inch_tolerances={"0": 0.5, "fraction": 0.4}).tolerance == 0.5
    assert read_radius("R1-1/4", units="inch", inch_tolerances={"0": 0.5, "fraction": 0.4}).tolerance == 0.4


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("R6 ±0.1", "written at the radius"),
        ("R2 MAX", "half of it is the aim"),
        ("R1 MIN", "MIN alone names no upper limit"),
        ("R5.8-6.2", "limits written at the radius"),
        ("R6 +0.2/-0", "unequal tolerances"),
        ("R.250 in", "the shop's general tolerance for 3 decimals, ±.0050 in"),
        ("R6", "ISO 2768-m, ±0.5 mm for external radii over 3 up to 6 mm (ISO 2768-1 table 2)"),
    ],
)
def test_the_answer_says_which_rule_gave_the_tolerance(text, says):
    assert says in str(radius_of(text).tolerance_from)


@given(st.sampled_from([row for row in FORMS if isinstance(row[0], str)]), st.data())
def test_case_and_spaces_do_not_matter(row, data):
    text, units = row[:2]
    spaced = "".join(c + data.draw(st.sampled_from(["", "  "])) if c == " " else c for c in f" {text} ")
    swapped = "".join(c if c == "µ" else c.swapcase() for c in spaced)  # µ in capitals would be a Greek M
    assert radius_of(swapped, units=units)[:5] == radius_of(text, units=units)[:5]


@given(st.integers(min_value=10, max_value=9999), st.integers(min_value=1, max_value=9))
def test_inches_and_millimetres_are_the_same_radius(thousandths, tolerance):
    in_inches = radius_of(f"R{thousandths / 1000:.3f} ±{tolerance / 1000:.3f}", units="inch")
    mm = f"{thousandths * 0.0254:.4f}", f"{tolerance * 0.0254:.4f}"
    assert in_inches[:6] == radius_of(f"R{mm[0]} ±{mm[1]}")[:6]


def test_a_whole_callout_in_inches_is_the_same_as_in_millimetres():
    mm = callout(**GROOVE, stickout="76.2 mm", bore=5.08)
    inch = callout(
        radius="R6 ±0.1 mm", form="concave", location="OD", units="inch", diameter=1.5748031496062993, width="10 mm",
        from_end="30 mm", stickout=3, bore=0.2,
    )  # fmt: skip
    for name in ("radius", "tolerance", "diameter", "width", "from_end", "stickout", "bore"):
        assert getattr(mm, name) == pytest.approx(getattr(inch, name), rel=1e-12)


# What a callout takes from what was not stated.


def test_defaults_are_filled_in_and_listed():
    plain = callout()
    assert isinstance(plain, Callout)
    assert (plain.text, plain.symbol, plain.material, plain.hardness, plain.hardness_text) == (
        "R6 ±0.1", "R", "low-carbon steel", 150.0, "150 HB",
    )  # fmt: skip
    assert (plain.support, plain.tool, plain.skill, plain.quantity, plain.places) == (
        "chuck", "high-speed steel", "journeyman", 1, 1,
    )  # fmt: skip
    assert (plain.stickout, plain.bore, plain.interrupted, plain.minutes_in_piece) == (60.0, 0.0, False, 0.0)
    assert {one.name for one in plain.assumed} == {
        "units", "material", "hardness", "support", "tool", "quantity", "places", "stickout", "bore", *options.plain(),
    }  # fmt: skip
    assert all(isinstance(one, Assumed) and one.origin for one in plain.assumed)
    assert all(getattr(plain, one.name) == one.value for one in plain.assumed)


def test_nothing_is_assumed_where_everything_is_stated():
    further = {name: option.like for name, option in options.plain().items()}
    stated = callout(**further | dict(  # noqa: C408
        units="mm", material="tool steel", hardness="28 HRC", support="tailstock", tool="carbide", skill="expert",
        quantity=12, places=2, stickout="70 mm", bore="10 mm", interrupted=True, minutes_in_piece="0.5 h", finish="Ra 1.6 um",
        length="20 mm", shop="jobbing shop", lathe="bench lathe",
    ))  # fmt: skip
    assert stated.assumed == ()
    assert (stated.hardness, stated.hardness_text) == (271.0, "28 HRC")  # ASTM E140, from memory
    assert (stated.quantity, stated.places, stated.interrupted, stated.minutes_in_piece) == (12, 2, True, 30.0)
    assert (stated.finish, stated.shop, stated.lathe, stated.bore) == (1.6, "jobbing shop", "bench lathe", 10.0)


def test_a_general_tolerance_that_nobody_stated_is_listed():
    assert (
        Assumed("general_tolerance", "ISO 2768-m", "the drawing states no tolerance for this radius")
        in callout(radius="R6").assumed
    )
    assert callout(radius="R6", general_tolerance="ISO 2768-mK").general_tolerance == "ISO 2768-m"


@pytest.mark.parametrize(
    ("fields", "stickout"),
    [
        ({}, 60.0),
        ({"diameter": "10 mm", "radius": "R5"}, 20.0),
        ({"diameter": "10 mm", "radius": "R2", "form": "concave", "length": "30 mm"}, 47.0),
        ({"diameter": "10 mm", "radius": "R6", "form": "concave"}, 27.0),
        (GROOVE, 60.0),
        (GROOVE | {"from_end": "50 mm"}, 75.0),
        (DOME, 60.0),
    ],
)
def test_default_stickout(fields, stickout):
    assert callout(**fields).stickout == pytest.approx(stickout)


@pytest.mark.parametrize(
    ("fields", "sizes"),
    [
        (DOME, {"width": 40}),
        ({"location": "end", "radius": "SR20 ±0.1"}, {"width": 40}),
        (DISH, {"width": 40, "rim": 0}),
        (DISH | {"rim": "3 mm"}, {"width": 34, "rim": 3}),
        (DISH | {"width": "30 mm"}, {"width": 30, "rim": 5}),
        (DISH | {"depth": "3 mm"}, {"width": 2 * math.sqrt(2 * 30 * 3 - 9), "depth": 3}),
        (GROOVE, {"width": 10, "from_end": 30}),
        (GROOVE | {"from_end": None}, {"width": 10, "from_end": 10}),
        (GROOVE | {"from_end": None, "stickout": "14 mm"}, {"from_end": 4, "stickout": 14}),  # an assumption gives way
        (GROOVE | {"from_end": None, "length": "12 mm"}, {"from_end": 2}),
        (GROOVE | {"from_end": 0}, {"from_end": 0}),
        (GROOVE | {"width": None, "depth": "2 mm"}, {"width": 2 * math.sqrt(2 * 6 * 2 - 4), "from_end": 30}),
        (GROOVE | {"width": 12}, {"width": 12}),
        (GROOVE | {"depth": "2.68 mm"}, {"width": 10, "depth": 2.68}),
        (GROOVE | {"location": "OD"}, {}),
        (GROOVE | {"form": "convex", "location": "od"}, {}),
        (FILLET | {"shoulder_height": "6 mm"}, {"shoulder_height": 6, "width": None}),
        ({"radius": "R20 ±0.1"}, {"radius": 20}),
    ],
)
def test_sizes_of_the_shapes(fields, sizes):
    read = callout(**fields)
    for name, size in sizes.items():
        assert getattr(read, name) == (None if size is None else pytest.approx(size, rel=1e-12)), name


@pytest.mark.parametrize(
    ("key", "written", "word"),
    [
        (key, spelling, word)
        for key, words in WORDS.items()
        for word, others in words.items()
        for spelling in (word, *others)
    ],
)
def test_words_and_what_else_they_are_called(key, written, word):
    sizes = {"width": "10 mm"} if key == "location" and word == "outside diameter" else {}
    sizes |= {"radius": "R6 mm ±0.1 mm"} if key == "units" else {}
    sizes |= {"radius": "R20 mm ±0.1 mm"} if key == "location" and word == "end" else {}
    for spelling in (written, written.upper(), written.replace(" ", "_"), f" {written} "):
        value = getattr(callout(**sizes | {key: spelling}), key)
        assert value == {"yes": True, "no": False}.get(word, word)


@pytest.mark.parametrize(
    "name", ["low-carbon steel", "Low Carbon Steel", "LOW_CARBON_STEEL", "1018", "AISI 1018", "Mild steel"]
)
def test_materials_by_any_of_their_names(name):
    assert callout(material=name).material == "low-carbon steel"


@pytest.mark.parametrize(
    ("radius", "places", "expected"), [("2X R6", None, 2), ("2X R6", 2, 2), ("R6", "3", 3), ("R6", 4.0, 4)]
)
def test_places(radius, places, expected):
    assert callout(radius=radius, places=places).places == expected


# Changes of a good callout, the field that the error must name, and what it must say.
BAD = [
    ({"radius": None}, "radius", "is missing"),
    ({"form": None}, "form", "is missing"),
    ({"location": None}, "location", "is missing"),
    ({"diameter": None}, "diameter", "is missing"),
    ({"raduis": "R6"}, "raduis", 'Did you mean "radius"?'),
    ({"hardnes": "150 HB"}, "hardnes", 'Did you mean "hardness"?'),
    ({"zzz": 1}, "zzz", "Known are radius, shape, form"),
    ({"expect": {}}, "expect", "is not known"),
    ({7: 1}, "7", "is not known"),
    ({"": 1}, "", "is not known"),
    # what stands at the radius
    *[
        ({"radius": text}, "radius", says)
        for text, says in [
            ("", "nothing is written"), ("   ", "nothing is written"), ("R", "has no size of its own"), ("six", "is no radius"),
            ("RR6", "is no radius"), ("XR6", "is no radius"), ("R-6", "is no radius"), ("R0", "is not more than zero"),
            ("R0.000", "is not more than zero"), (0, "is not more than zero"), (-6, "is no radius"), (True, "is no radius"),
            ([6], "is no radius"), ({"r": 6}, "is no radius"), (math.nan, "is not a number"), (math.inf, "is not a number"),
            (b"R6", "is no radius"), ("R6 ±", "is no radius"), ("R6 ±0", "no room"), ("R6 ±-0.1", "is no radius"),
            ("R6 ±6", "reaches down to 0 mm"), ("R6 ±7", "reaches down to -1 mm"), ("R6 +0.1/-6.1", "reaches down"),
            ("R6 +0/-0", "no room"), ("R6 +0.2", "one deviation only"), ("R6 -0.2", "only one deviation"),
            ("R6 +0.20", "one deviation only"), ("R6 0.1/0.2", "is no radius"), ("R6.2-5.8", "larger limit first"),
            ("R6-6", "larger limit first"), ("R6.0/6.0", "no room"), ("R6 ±0.1 MAX", "has MAX and a tolerance"),
            ("R6 MAXX", "is no radius"), ("R MAX", "is no radius"), ("R6 H7", "is no radius"), ("R6 ±5%", "is no radius"),
            ("R6 kg", "is no radius"), ("R6 mil", "is no radius"), ("R1 ft", "in mm or in"), ("R0.6 cm", "in mm or in"),
            ("⌀12", "is a diameter"), ("ø12", "is a diameter"), ("DIA 12", "is a diameter"), ("CR SR 6", "signs that do not go together"),
            ("R1/0", "divides by zero"), ("R1-9/8", "not a proper fraction"), ("R1 - 3/16", "larger limit first"),
            ("R1,234", "could be 1234 or 1.234"), ("R1,234.5", "more than one decimal mark"), ("R1.2.3", "more than one"),
            ("R6 ±1,000", "could be 1000 or 1.000"), ("0X R6", "is for 0 places"), ("9999999X R6", "places"),
            ("2X 2X R6", "twice"), ("2X R6 2 PLACES", "twice"), ("2X", "is no radius"), ("X2X R6", "is no radius"),
            ("R6 x 2 x 3", "is no radius"), ("R" + "9" * 60, "is beyond 100 m"), ("R" + "6" * 200, "too long"),
            ("R101 m", "in mm or in"), ("R100001", "is beyond 100 m"), ("R1e3", "is no radius"), ("R٦", "is no radius"),
            ("R0.4", "Write the tolerance"), ("R6\0", "is no radius"), ("R6; rm", "is no radius"), ("R6²", "is no radius"),
            ("R.12345 in", "has 5 decimals"), ("R1/64 in", "reaches down to 0 in"), ("45°", "is no radius"),
        ]
    ],
    ({"radius": 0.25, "units": "inch"}, "radius", "is a bare number"),
    ({"radius": "R6", "general_tolerance": "by decimals"}, "radius", "is in mm"),
    *[
        ({"general_tolerance": text}, "general_tolerance", says)
        for text, says in [
            ("ISO 2768", "names no class"), ("ISO 2768-x", "names no class"), ("ISO 2768-1", "names no class"),
            ("ISO 2768-xK", "names no class"), ("middling", "is not a length"), ("", "nothing is written"), (True, "is not a length"),
            (0, "is not more than zero"), ("-0.1", "is not more than zero"), ("3 kg", "is a mass"), (["m"], "is not a length"),
            ("x" * 300, "too long"),
        ]
    ],
    # words
    ({"form": "convecks"}, "form", 'Did you mean "convex"? Give convex or concave.'),
    ({"shape": "grove"}, "shape", 'Did you mean "groove"?'),
    ({"form": ""}, "form", "Give convex or concave."),
    ({"form": 3}, "form", "is not a word for form"),
    ({"form": ["convex"]}, "form", "is not a word for form"),
    ({"location": "cornr"}, "location", 'Did you mean "corner"? Give corner, end or outside diameter.'),
    ({"location": "middle"}, "location", "Give corner, end or outside diameter."),
    ({"location": True}, "location", "is not a word for location"),
    ({"units": "cm"}, "units", "Give mm or inch."),
    ({"units": 1}, "units", "Give mm or inch."),
    ({"support": "tailstok"}, "support", 'Did you mean "tailstock"?'),
    ({"support": "hand"}, "support", "Give chuck, tailstock or steady rest."),
    ({"skill": "jurneyman"}, "skill", 'Did you mean "journeyman"?'),
    ({"skill": "master of all"}, "skill", "Give apprentice, journeyman or expert."),
    ({"tool": "ceramic"}, "tool", "Give high-speed steel or carbide."),
    ({"tool": "carbid"}, "tool", 'Did you mean "carbide"?'),
    ({"interrupted": "maybe"}, "interrupted", "Give yes or no."),
    ({"interrupted": 1}, "interrupted", "Give yes or no."),
    ({"material": "unobtainium"}, "material", "Give low-carbon steel, tool steel or free-cutting brass."),
    ({"material": "tol steel"}, "material", 'Did you mean "tool steel"?'),
    ({"material": "mild steal"}, "material", 'Did you mean "mild steel"?'),
    ({"material": ""}, "material", "is not a material"),
    ({"material": 1.5}, "material", "is not a material"),
    ({"shop": 5}, "shop", "is not the name of a shop"),
    ({"shop": " "}, "shop", "is not the name of a shop"),
    ({"shop": "a\nb"}, "shop", "is not the name of a shop"),
    ({"lathe": ["big"]}, "lathe", "is not the name of a lathe"),
    # numbers
    ({"hardness": "soft"}, "hardness", "is not a hardness"),
    ({"hardness": "150 HK"}, "hardness", "unknown hardness scale"),
    ({"hardness": "70 HRC"}, "hardness", "lies outside 20 to 65 HRC"),
    ({"hardness": "15 HRC"}, "hardness", "lies outside 20 to 65 HRC"),
    ({"hardness": "1500 HB"}, "hardness", "lies outside 3 to 750 HB"),
    ({"hardness": 0}, "hardness", "lies outside"),
    ({"hardness": math.nan}, "hardness", "is not a number"),
    *[
        ({key: value}, key, f"whole number from 1 to {most}")
        for key, most in (("quantity", "1,000,000"), ("places", "10,000"))
        for value in (0, -1, 1.5, "1.5", "1.000", "many", "", True, math.nan, math.inf, [1], 1_000_001, "9" * 30, "12 mm")
    ],
    ({"radius": "2X R6", "places": 3}, "places", "does not agree with the 2 places"),
    ({"minutes_in_piece": "-1 min"}, "minutes_in_piece", "is less than 0 min"),
    ({"minutes_in_piece": "3 mm"}, "minutes_in_piece", "is a length, not a time"),
    ({"minutes_in_piece": math.inf}, "minutes_in_piece", "is not a number"),
    ({"finish": "Rz 6.3"}, "finish", "is not a roughness Ra"),
    ({"finish": "smooth"}, "finish", "is not a roughness"),
    ({"finish": 0}, "finish", "is not more than zero"),
    ({"finish": "Ra 2 mm"}, "finish", "is a length, not a roughness"),
    *[
        ({"diameter": value}, "diameter", says)
        for value, says in [
            (0, "is not more than zero"), ("-40 mm", "is not more than zero"), ("3 kg", "is a mass, not a length"),
            ("40 mn", "unknown unit"), ("101 m", "is beyond 100 m"), ("big", "is not a length"), ("", "nothing is written"),
            ("0.0001 mm", "is less than 0.001 mm"), (math.nan, "is not a number"), (True, "is not a length"),
            ([40], "is not a length"), ("1,234 mm", "could be 1234 or 1.234"), ("40 mm 50 mm", "unknown unit"),
        ]
    ],
    # sizes that the shape does not have
    ({"width": "4 mm"}, "width", "is not a size of a convex radius at the corner"),
    ({"depth": 4}, "depth", "4 mm is not a size of a convex radius"),
    ({"from_end": 4}, "from_end", "is not a size of"),
    ({"rim": 4}, "rim", "is not a size of"),
    ({"shoulder_height": 4}, "shoulder_height", "is not a size of"),
    (GROOVE | {"shoulder_height": 4}, "shoulder_height", "is not a size of"),
    (GROOVE | {"rim": 4}, "rim", "is not a size of"),
    (DOME | {"rim": 4}, "rim", "is not a size of"),
    (DOME | {"from_end": 4}, "from_end", "is not a size of"),
    # sizes that clash
    ({"radius": "R25 ±0.1"}, "radius", "R25 is more than 20 mm, half the diameter"),
    ({"bore": "30 mm"}, "radius", "R6 is more than 5 mm, the wall between bore and diameter"),
    ({"bore": "40 mm"}, "bore", "is not smaller than the 40 mm diameter"),
    ({"bore": 50}, "bore", "50 mm is not smaller than the 40 mm diameter"),
    ({"bore": -1}, "bore", "is less than 0 mm"),
    ({"length": 5}, "length", "5 mm is less than the 6 mm"),
    ({"length": 0}, "length", "is not more than zero"),
    ({"stickout": "5 mm"}, "stickout", "does not reach the far side of the rounded corner, 6 mm from the free end"),
    ({"stickout": 0}, "stickout", "is not more than zero"),
    (FILLET | {"shoulder_height": "5 mm"}, "shoulder_height", "5 mm is lower than the fillet R6 is high"),
    (FILLET | {"length": 5}, "length", "is less than the 6 mm"),
    (FILLET | {"length": "50 mm", "stickout": "45 mm"}, "stickout", "does not reach the far side of the fillet, 50 mm"),
    (DOME | {"radius": "R19 ±0.1"}, "radius", "R19 is less than half the 40 mm diameter"),
    (DOME | {"width": 30}, "width", "is not the 40 mm diameter"),
    (DOME | {"depth": 5}, "depth", "5 mm does not agree with the width 40 mm and R50, which make 4.174 mm"),
    (DOME | {"length": 4}, "length", "is less than the 4.174 mm"),
    (DOME | {"stickout": 4}, "stickout", "does not reach"),
    (DISH | {"radius": "R6 ±0.1"}, "width", "is missing: a dish 40 mm wide does not fit R6"),
    (DISH | {"rim": "20 mm"}, "rim", "leaves nothing of the 40 mm face"),
    (DISH | {"rim": -1}, "rim", "is less than 0 mm"),
    (DISH | {"rim": 3, "width": 35}, "width", "35 mm is wider than the 40 mm face less a rim of 3 mm"),
    (DISH | {"width": 41}, "width", "41 mm is wider than the 40 mm face"),
    (DISH | {"width": 61}, "width", "61 mm is wider than the 60 mm circle of R30"),
    (DISH | {"depth": 31}, "depth", "31 mm is deeper than half the circle of R30"),
    (DISH | {"depth": 15}, "depth", "makes a dish 51.962 mm wide, wider than the 40 mm face"),
    (DISH | {"width": 30, "depth": 3}, "depth", "does not agree with the width 30 mm and R30"),
    (DISH | {"width": 30, "bore": 30}, "bore", "leaves nothing of a dish 30 mm wide"),
    (GROOVE | {"width": None}, "width", "Give the width of the groove, at most 12 mm, or its depth."),
    (GROOVE | {"width": "14 mm"}, "width", "14 mm is wider than the 12 mm circle of R6. Give a width of at most 12 mm, or a larger radius."),
    (GROOVE | {"width": 0}, "width", "is not more than zero"),
    (GROOVE | {"width": None, "depth": 7}, "depth", "7 mm is deeper than half the circle of R6"),
    (GROOVE | {"depth": 3}, "depth", "3 mm does not agree with the width 10 mm and R6, which make 2.683 mm"),
    (GROOVE | {"diameter": 5}, "width", "the axis lies 2.5 mm below the surface"),
    (GROOVE | {"diameter": 5, "width": None, "depth": 3}, "depth", "the axis lies 2.5 mm below"),
    (GROOVE | {"bore": 35}, "width", "the 35 mm bore lies 2.5 mm below the surface"),
    (GROOVE | {"form": "convex", "diameter": 5}, "width", "makes the crown 2.683 mm deep"),
    (GROOVE | {"from_end": -1}, "from_end", "is less than 0 mm"),
    (GROOVE | {"stickout": 35}, "stickout", "does not reach the far side of the groove, 40 mm from the free end"),
    (GROOVE | {"length": 35}, "length", "is less than the 40 mm"),
    (
        GROOVE | {"units": "inch", "diameter": 2, "radius": "R1/4 ±.01", "width": "5/8"},
        "width",
        "5/8 in is wider than the .5000 in (1/2) circle of R.2500",
    ),
]  # fmt: skip


def test_there_are_plenty_of_bad_inputs():
    assert len(BAD) >= 150


@pytest.mark.parametrize(("changes", "field", "says"), BAD, ids=[f"{n} {row[1]}" for n, row in enumerate(BAD)])
def test_bad_input_names_the_field(changes, field, says):
    with pytest.raises(CalloutError) as caught:
        callout(**{str(k): v for k, v in changes.items()}) if 7 not in changes else read_callout(
            BASE | changes, materials=MATERIALS
        )
    message = str(caught.value)
    assert caught.value.field == field
    assert says in message
    assert len(caught.value.each) == 1 and message.isprintable() and len(message) < 600
    assert caught.value.fix.strip() == caught.value.fix and caught.value.fix.endswith((".", "?"))


def test_fields_must_be_a_mapping():
    with pytest.raises(CalloutError):
        read_callout(["R6"], materials=MATERIALS)


# Anything at all.

ANYTHING = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=30), st.binary(max_size=5),
    st.lists(st.integers(), max_size=2), st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)  # fmt: skip
PIECES = st.lists(
    st.sampled_from(
        ["R", "SR", "CR", "2X", "6", "0.1", ".125", "1-3/16", "⅜", "3/8", "±", "+", "-", "/", " ", "MAX", "MIN", "mm", "in", '"',
         "um", ",", ".", "0", "TYP", "2 PL", "x", "to", "−", "\u00a0", "R6"]
    ),
    max_size=9,
).map("".join)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.one_of(PIECES, st.text(), ANYTHING), st.sampled_from(["mm", "inch"]), st.sampled_from(["convex", "concave"]))
def test_any_radius_is_read_or_refused(text, units, form):
    try:
        radius = read_radius(text, units=units, form=form)
    except CalloutError as error:
        assert error.field == "radius" and error.fix
    else:
        assert 0 <= radius.low < radius.radius < radius.high <= 100_000
        assert radius.tolerance > 0 and radius.tolerance_from


SENSIBLE = {
    "radius": st.one_of(PIECES, st.sampled_from([row[0] for row in FORMS])),
    "form": st.sampled_from(["convex", "concave"]),
    "location": st.sampled_from(["corner", "end", "od"]),
    "units": st.sampled_from(["mm", "inch"]),
    "material": st.sampled_from(list(MATERIALS)),
}
LENGTHS = st.one_of(
    st.floats(min_value=-1, max_value=200), st.integers(min_value=-1, max_value=80).map(lambda n: f"{n} mm")
)


@settings(max_examples=400, deadline=None)
@given(
    st.fixed_dictionaries(
        {key: SENSIBLE.get(key, st.one_of(ANYTHING, LENGTHS)) for key in ("radius", "form", "location", "diameter")},
        optional={key: st.one_of(SENSIBLE.get(key, LENGTHS), ANYTHING) for key in KEYS if key not in REQUIRED},
    )
)
def test_any_fields_make_a_callout_or_one_error(fields):
    try:
        read = read_callout(fields, materials=MATERIALS)
    except CalloutError as error:
        assert all(one.field in KEYS and one.fix for one in error.each)
    else:
        assert_holds(read)


@settings(max_examples=400, deadline=None)
@given(
    st.fixed_dictionaries(
        {"radius": st.sampled_from([row[0] for row in FORMS]), "form": SENSIBLE["form"], "location": SENSIBLE["location"],
         "diameter": st.floats(min_value=1, max_value=100)},
        optional={key: st.floats(min_value=0, max_value=60) for key in ("width", "depth", "from_end", "rim", "bore", "stickout")},
    )
)  # fmt: skip
def test_what_is_accepted_can_be_turned(fields):
    try:
        read = read_callout(fields, materials=MATERIALS)
    except CalloutError:
        return
    assert_holds(read)


def assert_holds(read):
    """What must hold of the six shapes."""
    radius, half = read.radius * (1 + 1e-8), read.diameter / 2
    assert 0 <= read.bore < read.diameter and read.stickout > 0 and read.radius_low < read.radius_high
    if read.location == "corner":
        assert read.width is None and read.depth is None
        assert read.form == "concave" or read.radius <= (half - read.bore / 2) * (1 + 1e-8)
        return
    assert read.width <= 2 * radius
    depth = depth_of_arc(radius=radius, chord=read.width)
    if read.depth is not None:
        assert read.depth == pytest.approx(depth, abs=0.011, rel=0.006)
    if read.location == "outside diameter":
        assert depth < half - read.bore / 2 + 1e-6 and read.from_end >= 0
        assert read.stickout >= (read.from_end + read.width) * (1 - 1e-8)
    elif read.form == "convex":
        assert read.width == read.diameter and radius >= half
    else:
        assert read.width <= read.diameter * (1 + 1e-8)


# Case files.

CASE = """
[callout]
radius = "R6 ±0.1"
form = "convex"
location = "corner"
diameter = "40 mm"
[work]
material = "tool steel"
stickout = "70 mm"
[job]
quantity = 12
shop = "jobbing shop"
[expect]
method = "form tool"
rules = ["a", "b"]
"""


@pytest.fixture
def case_file(tmp_path):
    path = tmp_path / "case.toml"

    def write(text, encoding="utf-8"):
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return path

    return write


def test_a_case_file(case_file):
    read = read_case(case_file(CASE), materials=MATERIALS)
    assert (read.radius, read.material, read.stickout, read.quantity, read.shop) == (
        6.0,
        "tool steel",
        70.0,
        12,
        "jobbing shop",
    )
    assert read.expect == {"method": "form tool", "rules": ["a", "b"]}


def test_a_case_file_from_an_editor_that_marks_its_encoding(case_file):
    assert read_case(case_file(CASE, "utf-8-sig"), materials=MATERIALS).radius == 6.0


def test_options_take_the_place_of_a_case_s_values(case_file):
    read = read_case(
        case_file(CASE), materials=MATERIALS, overrides={"quantity": "50", "hardness": "28 HRC", "skill": None}
    )
    assert (read.quantity, read.hardness, read.skill, read.stickout) == (50, 271.0, "journeyman", 70.0)


def test_errors_name_the_file_or_the_option(case_file):
    path = case_file(CASE.replace('"70 mm"', '"5 mm"'))
    with pytest.raises(CalloutError) as caught:
        read_case(path, materials=MATERIALS)
    assert caught.value.field.endswith("case.toml: stickout")
    with pytest.raises(CalloutError) as caught:
        read_case(path, materials=MATERIALS, overrides={"stickout": "4 mm"})
    assert caught.value.field == "stickout"


def test_open_case_gives_the_fields_as_written(case_file):
    case = open_case(case_file(CASE))
    assert case.fields["shop"] == "jobbing shop" and case.fields["diameter"] == "40 mm"
    assert set(case.fields) <= {key for keys in TABLES.values() for key in keys}


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        (b"\xff\xfe\x00\x01binary", "case.toml", "is not a text file in UTF-8"),
        (b"\x00\x01\x02", "case.toml", "is not valid TOML at line 1"),
        ("not toml at all", "case.toml", "is not valid TOML at line 1"),
        ("[callout", "case.toml", "is not valid TOML"),
        ('[callout]\nradius = "R6\n', "case.toml", "is not valid TOML at line 2"),
        ("[callout]\nradius = R6", "case.toml", "is not valid TOML at line 2"),
        ('[callout]\nradius = "R6"\nradius = "R7"\n', "case.toml", "a second time at line 3"),
        ("[callout]\n[callout]", "case.toml", "a second time at line 2"),
        ("x = " + "[" * 5000, "case.toml", "too large"),
        ("[callout]\ndiameter = " + "9" * 5000, "case.toml", "too large"),
        ("[calout]\n", "case.toml: [calout]", 'Did you mean "callout"?'),
        ("[stuff]\n", "case.toml: [stuff]", "The tables are"),
        ('radius = "R6"', "case.toml: [radius]", "radius belongs in [callout]"),
        ("callout = 3", "case.toml: [callout]", "is not a table"),
        ("[[callout]]\n", "case.toml: [callout]", "is not a table"),
        ("expect = 3", "case.toml: [expect]", "is not a table"),
        ("[callout]\nraduis = 3", "case.toml: [callout] raduis", 'Did you mean "radius"?'),
        ("[callout]\nqqqq = 3", "case.toml: [callout] qqqq", "Known here are radius"),
        ("[callout]\nstickout = 3", "case.toml: [callout] stickout", "It belongs in [work]."),
        ("[callout]\nradius.x = 3", "case.toml: form", "is missing"),
        ("", "case.toml: radius", "is missing"),
        (CASE.replace('"40 mm"', "1979-05-27"), "case.toml: diameter", "is not a length"),
        (CASE.replace('"40 mm"', "nan"), "case.toml: diameter", "is not a number"),
        (CASE.replace('"40 mm"', "[40]"), "case.toml: diameter", "is not a length"),
        (CASE.replace("quantity = 12", "quantity = 12.5"), "case.toml: quantity", "whole number"),
        (CASE.replace("R6 ±0.1", "R60"), "case.toml: radius", "half the diameter"),
    ],
)
def test_case_files_that_cannot_be_used(case_file, text, field, says):
    with pytest.raises(CalloutError) as caught:
        read_case(case_file(text), materials=MATERIALS)
    assert any(error.field.endswith(field) and says in str(error) for error in caught.value.each)
    assert all(str(error).isprintable() and len(str(error)) < 400 for error in caught.value.each)


def test_case_paths_that_cannot_be_used(tmp_path, case_file):
    for path, says in [
        (tmp_path / "nowhere.toml", "is not there"),
        (tmp_path, "is a folder"),
        (str(tmp_path / "a\0b"), "is not there"),
        ("x" * 5000, "cannot be read"),
        ("", "is a folder"),
        (case_file(b"#" * 1_000_001), "is larger than 1 MB"),
    ]:
        with pytest.raises(CalloutError, match=says):
            read_case(path, materials=MATERIALS)


def test_an_ordinary_callout_loads_neither_units_library_nor_arrays():
    code = (
        "import sys; from advisor.asked.callout import read_callout;"
        "read_callout({'radius': 'R1/4', 'form': 'convex', 'location': 'corner', 'diameter': '1-1/2 in'},"
        " materials={'low-carbon steel': {'hardness': 150}});"
        "sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize(
    ("radius", "shape", "half"),
    [
        ("R10", "ball", True),
        ("SR10", "dome", True),  # up to the full diameter
        ("SR100", "dome", False),  # a cap of a ball, as drawn
        ("R10", "dome", False),  # the round end of a bar
    ],
)
def test_half_a_ball_is_not_taken_for_a_ball(radius, shape, half):
    found = read_callout(
        {"radius": radius, "shape": shape, "diameter": "20 mm"}, materials={"low-carbon steel": {"hardness": 150}}
    )
    assert ("told.half_ball" in found.notes) is half


@pytest.mark.parametrize("material", ["4140 28-32 HRC", "4140, HRC 28-32", "4140 (28-32 HRC)"])
def test_a_hardness_behind_the_material_is_the_hardness(material):
    known = materials()
    plain = {"radius": "R6 ±0.1", "shape": "fillet", "diameter": "40 mm"}
    apart = read_callout(plain | {"material": "4140", "hardness": "28-32 HRC"}, materials=known)
    found = read_callout(plain | {"material": material}, materials=known)
    assert (found.material, found.hardness) == (apart.material, apart.hardness)
    assert not {"material", "hardness"} & {entry.name for entry in found.assumed}


def test_a_spherical_diameter_says_shape_place_and_diameter():
    found = read_callout({"radius": "SØ20 ±0.1"}, materials={"low-carbon steel": {"hardness": 150}})
    assert (found.form, found.location, found.diameter, found.radius) == ("convex", "end", 20.0, 10.0)
    turned = read_callout({"radius": "SØ20", "diameter": "18"}, materials={"low-carbon steel": {"hardness": 150}})
    assert (turned.diameter, turned.radius) == (18.0, 10.0)  # what is written stands


@pytest.mark.parametrize(
    ("radius", "diameter", "units"),
    [
        ("R5", "30", None),  # 30 in is more than most lathes swing: asked
        ("R0.4", "20", "mm"),
        ("R 12,5", "60", "mm"),
        ("R0.5", "1.5", "inch"),  # the nought is a habit here
        ("R.25", "8", "inch"),
        ("R1", "8", "inch"),
    ],
)
def test_what_is_written_as_in_mm_is_no_inch_in_an_inch_shop(radius, diameter, units):
    fields = {"radius": f"{radius} MAX", "shape": "fillet", "diameter": diameter}
    inch = {"materials": materials(), "shop_units": "inch", "inch_tolerances": dict.fromkeys(range(6), 0.4)}
    if units is None:
        with pytest.raises(CalloutError, match="Did you mean mm"):
            read_callout(fields, **inch)
    else:
        assert read_callout(fields, **inch).units == units
