"""What stands at a radius on drawings of several standards, and what is true of each: a source beside every row.

"trial" is the list of the callouts that a trial by machinists could not type; "memory" after a standard says that the
row was not held against its text again. ISO 2768-m: 0.2 mm for external radii up to 3 mm, 0.5 up to 6, 1 above.
"""

import re

import pytest
import some_callouts
from hypothesis import example, given, settings
from hypothesis import strategies as st

from advisor.asked import spelling
from advisor.asked.callout import read_callout
from advisor.asked.materials import materials
from advisor.asked.radius_text import read_general_tolerance, read_radius
from advisor.asked.spelling import BARE, FRACTION, INCH, LARGE, MM, POINT, decided, evidence, parse
from advisor.ground.errors import CalloutError
from advisor.ground.units import Unreadable

IN = 25.4
ASME, ASME_M = "ASME Y14.5M-1994", "ASME Y14.5, memory"
JIS = "JIS B 0001:2019, 11.6"
ISO, DIN, BS, TRADE = "ISO 129-1, memory", "DIN 406-11, memory", "BS 308-2 and BS 8888, memory", "common practice"

# text, unit of bare numbers, symbol, places, limits [mm], words that it must mean, source
SPELLINGS = [
    ("R6 REF", "mm", "R", None, (5.5, 6.5), {"reference"}, "trial"),
    ("(R6)", "mm", "R", None, (5.5, 6.5), {"reference"}, "trial; " + ASME_M),
    ("R6 BASIC PROFILE 0.1", "mm", "R", None, (5.95, 6.05), {"basic"}, ASME_M),
    ("R.5 [12.7]", "mm", "R", None, (0.47 * IN, 0.53 * IN), set(), "trial; ASME Y14.5-1973, memory"),
    ("R12.7 (.500)", "inch", "R", None, (11.7, 13.7), set(), "trial; ASME Y14.5-1973, memory"),
    ("MAX R6", "mm", "R", None, (0, 6), set(), "trial"),
    (".03-.06 R", "inch", "R", None, (0.03 * IN, 0.06 * IN), set(), "trial"),
    ("1/4 RAD.", "inch", "R", None, (IN * 15 / 64, IN * 17 / 64), set(), "trial"),
    ('1/4" R.', "mm", "R", None, (IN * 15 / 64, IN * 17 / 64), set(), "trial"),
    ("SPH R 10", "mm", "SR", None, (9, 11), set(), "trial"),
    ("R3 FILLET", "mm", "R", None, (2.8, 3.2), set(), "trial"),
    ("250 THOU", "mm", "R", None, (0.245 * IN, 0.255 * IN), set(), "trial"),
    ("SO 1.250", "inch", "SR", None, (1.245 * IN / 2, 1.255 * IN / 2), set(), "trial"),
    # the sphere: half the diameter, half its tolerance
    ("SØ20 ±0.1", "mm", "SR", None, (9.95, 10.05), set(), ASME_M),
    ("Sφ20 ±0.1", "mm", "SR", None, (9.95, 10.05), set(), JIS),
    ("S⌀20 +0.1/0", "mm", "SR", None, (10, 10.05), set(), ISO),
    ("S ∅ 20 ±0.1", "mm", "SR", None, (9.95, 10.05), set(), DIN),
    ("SPHER DIA .500 ±.001", "inch", "SR", None, (0.2495 * IN, 0.2505 * IN), set(), "MIL-STD-8, memory"),
    ("1.000 SPHERICAL DIA", "inch", "SR", None, (0.4975 * IN, 0.5025 * IN), set(), TRADE),
    ("SPHERICAL RADIUS 12 ±0.2", "mm", "SR", None, (11.8, 12.2), set(), BS),
    ("SR20", "mm", "SR", None, (19, 21), set(), ASME),
    ("S.R. 20", "mm", "SR", None, (19, 21), set(), TRADE),
    ("SØ40", "mm", "SR", None, (19.85, 20.15), set(), "ISO 2768-1 table 1: ±0.3 on 40"),
    # controlled and true radii
    ("CR 4 ±0.2", "mm", "CR", None, (3.8, 4.2), set(), ASME_M),
    ("CR0.8-1.2", "mm", "CR", None, (0.8, 1.2), set(), JIS),
    ("CONTROLLED RADIUS .25 ±.01", "inch", "CR", None, (0.24 * IN, 0.26 * IN), set(), ASME_M),
    ("TRUE R 8", "mm", "R", None, (7, 9), {"true"}, ASME),
    # one limit, two limits
    ("R6 MAX", "mm", "R", None, (0, 6), set(), ASME_M),
    ("R≤0.5", "mm", "R", None, (0, 0.5), set(), TRADE),
    ("MAX. RAD. .03", "inch", "R", None, (0, 0.03 * IN), set(), TRADE),
    ("R MIN 2", "mm", "R", None, (2, 2.4), set(), ISO),
    ("R 6.1 MAX 5.9 MIN", "mm", "R", None, (5.9, 6.1), set(), BS),
    ("R 5.9 MIN / 6.1 MAX", "mm", "R", None, (5.9, 6.1), set(), TRADE),
    ("R6.1/5.9", "mm", "R", None, (5.9, 6.1), set(), ISO),
    ("R.125-.120", "inch", None, None, None, None, "larger limit first is asked"),
    (".120-.125 RAD", "inch", "R", None, (0.12 * IN, 0.125 * IN), set(), ASME_M),
    ("5.9 R - 6.1 R", "mm", "R", None, (5.9, 6.1), set(), TRADE),
    ("R5.9 TO R6.1", "mm", "R", None, (5.9, 6.1), set(), TRADE),
    # deviations as the standards set them
    ("R6 +0,2/0", "mm", "R", None, (6, 6.2), set(), DIN),
    ("R6 0/-0.2", "mm", "R", None, (5.8, 6), set(), ISO),
    ("R6 (±0.1)", "mm", "R", None, (5.9, 6.1), set(), TRADE),
    ("R2.54 +2.54/-2.00", "mm", "R", None, (0.54, 5.08), set(), TRADE),
    (".250 ±.005 R", "inch", "R", None, (0.245 * IN, 0.255 * IN), set(), ASME_M),
    (".250 R ±.005", "inch", "R", None, (0.245 * IN, 0.255 * IN), set(), TRADE),
    ("250 THOU ±5", "inch", "R", None, (0.245 * IN, 0.255 * IN), set(), TRADE),
    # how many
    ("4X R3", "mm", "R", 4, (2.8, 3.2), set(), ASME_M),
    ("4×R3", "mm", "R", 4, (2.8, 3.2), set(), ISO),
    ("4 x R3", "mm", "R", 4, (2.8, 3.2), set(), DIN),
    ("R3 (4x)", "mm", "R", 4, (2.8, 3.2), set(), TRADE),
    ("R3 2 POSNS", "mm", "R", 2, (2.8, 3.2), set(), BS),
    ("R3 4 PLACES", "mm", "R", 4, (2.8, 3.2), set(), "MIL-STD-8, memory"),
    ("R3 BOTH ENDS", "mm", "R", 2, (2.8, 3.2), set(), TRADE),
    ("(2X R3)", "mm", "R", 2, (2.8, 3.2), {"reference"}, ASME_M),
    ("2X (R3)", "mm", "R", 2, (2.8, 3.2), {"reference"}, ASME_M),
    ("R3 TYP.", "mm", "R", None, (2.8, 3.2), {"typical"}, TRADE),
    ("TYP R3 UOS", "mm", "R", None, (2.8, 3.2), {"typical", "general"}, TRADE),
    # theoretically exact
    ("[R6] PROFILE 0.2", "mm", "R", None, (5.9, 6.1), {"basic"}, ASME_M),
    ("R6 TED ⌒ 0.04", "mm", "R", None, (5.98, 6.02), {"basic"}, "ISO 1101, memory"),
    ("⌓|0.1|A|B R6", "mm", "R", None, (5.95, 6.05), {"basic"}, "ISO 1660, memory"),
    ("R6 AUX", "mm", "R", None, (5.5, 6.5), {"reference"}, BS),
    # both units, other ways
    ("R12.7/.500", "mm", "R", None, (11.7, 13.7), set(), "ANSI Y14.5-1973, memory"),
    ("R.500±.005 [12.70±0.13]", "mm", "R", None, (0.495 * IN, 0.505 * IN), set(), "ANSI Y14.5-1973, memory"),
    ("R.25 in (6.35 mm)", "mm", "R", None, (0.24 * IN, 0.26 * IN), set(), TRADE),
    # words for the feature
    ("FILLET RADIUS .06", "inch", "R", None, (0.05 * IN, 0.07 * IN), set(), TRADE),
    ("FILLETS AND ROUNDS R3 UNLESS OTHERWISE SPECIFIED", "mm", "R", None, (2.8, 3.2), {"general"}, ASME_M),
    ("BREAK SHARP EDGES R0.4 MAX", "mm", "R", None, (0, 0.4), set(), "ISO 13715, memory"),
    ("EDGE ROUND R1", "mm", "R", None, (0.8, 1.2), set(), TRADE),
    ("OUTSIDE CORNER RAD 3", "mm", "R", None, (2.8, 3.2), set(), TRADE),
]  # fmt: skip


def read(text, units="mm", **options):
    return read_radius(text, units=units, **options)


def test_there_are_forty_more_than_the_trial_asked_for():
    assert sum(row[-1].startswith("trial") for row in SPELLINGS) == 12  # two more, basic and full, below
    assert len({row[0] for row in SPELLINGS}) == len(SPELLINGS) >= 13 + 40


@pytest.mark.parametrize(
    ("text", "units", "symbol", "count", "limits", "means", "source"), SPELLINGS, ids=[r[0] for r in SPELLINGS]
)
def test_spellings_of_drawing_standards(text, units, symbol, count, limits, means, source):
    assert source
    if limits is None:
        with pytest.raises(CalloutError):
            read(text, units)
        return
    radius = read(text, units)
    assert (radius.symbol, radius.count) == (symbol, count)
    assert (radius.low, radius.high) == pytest.approx(limits, rel=1e-12, abs=1e-12)
    assert parse(text).meanings - {"max", "min"} == means


@pytest.mark.parametrize(
    ("text", "units"), [row[:2] for row in SPELLINGS if row[4]], ids=[r[0] for r in SPELLINGS if r[4]]
)
def test_what_is_echoed_reads_back_to_the_same(text, units):
    radius = read(text, units)
    other = {"mm": "inch", "inch": "mm"}[units]  # the echo carries its unit, so the default does not matter
    again = read(radius.echo, other)
    assert again[:6] == radius[:6] and again.echo == radius.echo
    assert (again.tolerance_from, again.general_tolerance) == (radius.tolerance_from, radius.general_tolerance)


PIECES = st.lists(
    st.sampled_from(
        ["R", "SR", "CR", "SØ", "SO", "2X", "6", "0.1", ".125", "1-3/16", "⅜", "±", "+", "-", "/", " ", " ", "MAX", "MIN", "mm",
         "in", '"', "um", "thou", ",", ".", "0", "TYP", "REF", "BASIC", "PROFILE", "FULL", "FILLET", "BOTH ENDS", "2 PL", "x",
         "to", "(", ")", "[", "]", "12.7", ".5", "R6", "φ", "⌓", "|", "UOS", "TRUE", "\x1f", "GROOVE", "RAD.", "S"]
    ),
    max_size=12,
).map("".join)  # fmt: skip


@settings(max_examples=1500, deadline=None)
@given(st.one_of(PIECES, st.text(max_size=40)), st.sampled_from(["mm", "inch"]))
@example("R5.5 -0.1 +0.2", "mm")
@example("FULL R6", "mm")
def test_no_text_raises_anything_else_and_every_echo_reads_back(text, units):
    try:
        radius = read(text, units)
    except CalloutError as error:
        assert error.field == "radius" and error.fix
        return
    again = read(radius.echo, "inch" if units == "mm" else "mm")
    assert again[:6] == radius[:6] and again.echo == radius.echo


@given(
    st.one_of(st.text(max_size=30), PIECES, st.none(), st.floats(), st.integers(), st.booleans(), st.binary(max_size=4))
)
def test_evidence_of_anything(value):
    assert evidence(value) in (0, MM, INCH, BARE, BARE | LARGE, POINT, FRACTION)
    assert evidence(value, radius=True) in (0, MM, INCH, BARE, BARE | LARGE, POINT, FRACTION)


# ---- what a word means must be true


def callout(radius="R6 ±0.1", **fields):
    known = {"shop_units": fields.pop("shop_units", None)}
    base = {"radius": radius, "diameter": "40 mm"}
    return read_callout(base | fields, materials=materials(), **known)


def refused(*words, radius="R6 ±0.1", **fields):
    with pytest.raises(CalloutError) as caught:
        callout(radius, **fields)
    for word in words:
        assert word in str(caught.value)
    return caught.value


def test_a_basic_radius_takes_its_tolerance_from_a_profile_frame_alone():
    refused("profile frame", radius="R6 BASIC", shape="fillet")
    refused("a basic size has none", radius="R6 ±0.1 BASIC PROFILE 0.1", shape="fillet")
    assert read("R6 BASIC PROFILE 0.1", general_tolerance="ISO 2768-c").tolerance == 0.05
    assert read("SØ12 BASIC PROFILE 0.1").tolerance == 0.05  # the frame is of the surface, whatever the size is of


def test_a_reference_radius_is_not_inspected_and_has_no_tolerance_of_its_own():
    refused("a reference size has none", radius="(R6 ±0.1)", shape="fillet")
    one = callout("(R6)", shape="fillet")
    assert "meaning.reference" in one.notes and "general_tolerance" in {a.name for a in one.assumed}


def test_typ_is_told_and_a_count_is_a_count():
    assert "meaning.typical" in callout("R6 TYP", shape="fillet").notes
    counted = callout("2X R6 TYP", shape="fillet")
    assert counted.places == 2 and "meaning.typical" not in counted.notes


@pytest.mark.parametrize(
    "text", ["FULL R", "R", "(R)", "2X R"]
)  # asme-y14-5 and JIS B 0001: indicated, not dimensioned
def test_a_full_radius_is_half_the_width(text):
    groove = callout(text, shape="groove", width="10 mm", from_end="20 mm")
    assert (groove.radius, groove.width) == (5.0, 10.0)
    assert groove.tolerance == 0.1  # half of ±0.2, ISO 2768-m for 10 mm (table 1)
    ball = callout(text, shape="dome")
    assert (ball.radius, ball.tolerance) == (20.0, 0.15)  # half of ±0.3 on 40 mm
    refused("half of", radius=text, shape="groove")  # no width
    refused("no size of its own", radius=text, shape="fillet")


def test_a_full_radius_in_inches_takes_half_of_the_tolerance_of_the_width_s_decimals():
    groove = callout("FULL R", shape="groove", width=".500 in", diameter="2 in")
    assert groove.radius == pytest.approx(6.35) and groove.tolerance == pytest.approx(0.0025 * IN)


def test_a_full_radius_with_a_size_gives_the_width_and_must_agree_with_it():
    assert callout("R5 FULL", shape="groove").width == 10.0
    assert callout("FULL R5", shape="crown", width="10 mm").width == 10.0
    refused("twice it is not the width", radius="FULL R5", shape="groove", width="9 mm")


def test_a_fraction_that_was_written_with_a_point_is_asked_about():
    refused("could be limits from 1.1 to 4", radius="R1.1/4", shape="fillet")
    assert read("R1.1-4").high == 4.0  # written out as limits it is taken, and questioned
    assert "told.wide" in read("R1.1-4").notes and "told.wide" in read("R6 ±2").notes
    assert "told.wide" not in read("R6 ±1.5").notes and "told.wide" not in read("R0.5", form="convex").notes


def test_deviations_that_are_equal_are_not_called_unequal():
    assert read("R2.54 +0.254/-0.254").tolerance_from.kind == "equal"
    assert read("R2.54 +0.254/-0.25").tolerance_from.kind == "unequal"


@pytest.mark.parametrize("text", ["R.5 [12.8]", "R12.7 (.6)", "R6 mm (.25 mm)", "R.5 in [12.7 in]"])
def test_two_sizes_that_are_not_the_same_in_both_units_are_asked_about(text):
    with pytest.raises(CalloutError):
        read(text)


# ---- units


@pytest.mark.parametrize(
    ("fields", "shop", "units", "mm"),
    [
        ({"radius": "R.25", "diameter": 1.5}, "inch", "inch", 6.35),
        ({"radius": "R6", "diameter": 40}, "mm", "mm", 6.0),
        ({"radius": "R1", "diameter": 3}, "inch", "inch", 25.4),
        ({"radius": "R1", "diameter": '3"'}, "inch", "inch", 25.4),
        ({"radius": "R6", "diameter": "40 mm"}, None, "mm", 6.0),
        ({"radius": "R6", "diameter": 40}, None, "mm", 6.0),
        ({"radius": "R.25 TYP", "diameter": '3"'}, None, "inch", 6.35),
        ({"radius": "R.25", "diameter": "1.5"}, None, "inch", 6.35),  # asme-y14-5: no nought before an inch point
        ({"radius": "R1/4", "diameter": "2"}, None, "inch", 6.35),
        ({"radius": "R.125 +-.005", "diameter": "1.5"}, None, "inch", 3.175),
        ({"radius": "R6 mm", "diameter": "2 in"}, None, "mm", 6.0),
        ({"radius": "R1", "diameter": '3"', "units": "mm"}, "inch", "mm", 1.0),
    ],
)
def test_bare_sizes_take_the_unit_of_the_shop_else_the_one_that_is_written(fields, shop, units, mm):
    one = callout(**fields, shape="fillet", shop_units=shop)
    assert (one.units, one.radius) == (units, pytest.approx(mm))


@pytest.mark.parametrize(
    ("fields", "shop"),
    [
        ({"radius": "R1", "diameter": '3"'}, None),
        ({"radius": "R1", "diameter": '3"'}, "mm"),
        ({"radius": "R6", "diameter": "40 mm"}, "inch"),
        ({"radius": "R1/4", "diameter": "40"}, "mm"),
        ({"radius": "R1/4", "diameter": "40 mm"}, None),
        ({"radius": "R6", "diameter": "40 mm", "stickout": "2 in"}, None),
    ],
)
def test_marked_and_bare_sizes_that_do_not_agree_are_asked_about(fields, shop):
    error = refused("units: is not clear: ", **fields, shape="fillet", shop_units=shop)
    assert [one.field for one in error.each] == ["units"]


def test_the_answer_says_what_was_read_and_why():
    one = callout("R.250", diameter="1.5", shape="fillet", shop_units="inch")
    assert [(entry.name, entry.written, entry.value, entry.why) for entry in one.read] == [
        ("radius", "R.250", "R.250 in", "shop"),
        ("shape", "fillet", "concave, corner", "word"),
    ]


def test_decisions_are_made_for_every_mixture():
    for bits in range(32):
        for shop in (None, "mm", "inch"):
            units, why = decided(bits, shop)
            assert units in (None, "mm", "inch") and (why != "mixed" or units is None)


# ---- one word for a shape


@pytest.mark.parametrize(
    ("word", "form", "location"),
    [
        ("fillet", "concave", "corner"), ("groove", "concave", "outside diameter"), ("crown", "convex", "outside diameter"),
        ("dome", "convex", "end"), ("dish", "concave", "end"), ("rounded corner", "convex", "corner"), ("ball", "convex", "end"),
        ("outside corner", "convex", "corner"), ("Inside-Corner", "concave", "corner"), ("ball end", "convex", "end"),
    ],
)  # fmt: skip
def test_one_word_gives_form_and_location(word, form, location):
    sizes = {"radius": "R20 ±0.1", "width": "10 mm"} if location == "outside diameter" else {"radius": "R20 ±0.1"}
    if (form, location) == ("concave", "corner"):
        sizes |= {"shoulder_height": "20 mm"}
    if (form, location) == ("concave", "end"):
        sizes |= {"width": "20 mm"}
    for fields in ({"shape": word}, {"form": word}, {"location": word}):
        one = callout(**sizes | fields)
        assert (one.form, one.location) == (form, location)
    one = callout(**sizes | {"radius": f"R20 ±0.1 {word.upper()}"})
    assert (one.form, one.location) == (form, location)


@pytest.mark.parametrize(
    ("words", "form", "location"),
    [
        ("od", None, "outside diameter"),
        ("face", None, "end"),
        ("external", "convex", None),
        ("internal", "concave", None),
    ],
)
def test_a_word_may_give_one_of_them(words, form, location):
    shapes = parse(f"R6 {words}").shapes
    assert [(shape.form, shape.location) for shape in shapes] == [(form, location)]


def test_words_that_do_not_agree_are_asked_about():
    refused("form: convex does not agree with FILLET", radius="R6 FILLET", form="convex")
    refused("groove does not agree with location end", shape="groove", location="end", width="5 mm")
    error = refused(radius="FILLETS AND ROUNDS R3")
    assert [one.field for one in error.each] == ["form"]
    assert callout("FILLETS AND ROUNDS R3", form="convex").location == "corner"


# ---- everything at once, and no assumption against what was stated


def test_everything_that_is_missing_or_wrong_comes_at_once():
    error = refused(
        radius="R1e3", diameter=None, hardness="soft", finish="smooth", tool="flint", quantity="many", zzz="1"
    )
    assert [one.field for one in error.each] == [
        "zzz", "radius", "form", "location", "diameter", "finish", "hardness", "tool", "quantity",
    ]  # fmt: skip
    assert str(error).count("\n") == 8


def test_a_width_is_missed_before_the_radius_can_be_read():
    assert {one.field for one in refused(radius="six", shape="groove").each} == {"radius", "width"}


@pytest.mark.parametrize("word", ["crown", "groove"])
def test_an_assumed_place_stays_within_a_stated_stickout(word):
    near = callout(shape=word, width="10 mm", stickout="14 mm")
    assert near.from_end == pytest.approx(4.0) and near.stickout == 14.0
    assert callout(shape=word, width="10 mm", stickout="60 mm").from_end == 10.0
    assert callout(shape=word, width="10 mm", length="12 mm").from_end == pytest.approx(2.0)
    refused("stickout", shape=word, width="10 mm", stickout="9 mm")  # the feature itself does not go in
    refused("stickout", shape=word, width="10 mm", from_end="10 mm", stickout="15 mm")


def test_parse_refuses_in_its_own_words():
    with pytest.raises(Unreadable, match='the word "under" is not known here'):
        parse("R6 under head")


# ---- the title block


@pytest.mark.parametrize(
    ("text", "units", "name"),
    [
        ("m", "mm", "ISO 2768-m"), ("2768-f", "mm", "ISO 2768-f"), ("2768 m", "mm", "ISO 2768-m"), ("medium", "mm", "ISO 2768-m"),
        ("fine", "mm", "ISO 2768-f"), ("ISO 2768-mK", "mm", "ISO 2768-m"), ("BS EN 22768-1 c", "mm", "ISO 2768-c"),
        ("ISO 2768 - very coarse", "mm", "ISO 2768-v"), ("JIS B 0405-m", "mm", "ISO 2768-m"),
    ],
)  # fmt: skip
def test_classes_of_the_title_block(text, units, name):
    assert read_general_tolerance(text, units=units) == name


@pytest.mark.parametrize(
    ("block", "radius", "units", "tolerance"),
    [
        (".XX +-.01 .XXX +-.005", "R.25", "inch", 0.01 * IN),
        (".XX +-.01 .XXX +-.005", "R.250", "inch", 0.005 * IN),
        (".XX ±.01, .XXX ±.005, FRACTIONS ±1/64, ANGLES ±1°", "R1/4", "inch", IN / 64),
        (".X ±.030 .XX ±.010 .XXX ±.005 .XXXX ±.0005 ANGULAR ±.5°", "R.2500", "inch", 0.0005 * IN),
        ("X.XX ±0.02 in X.XXX ±0.01 in", "R.250", "inch", 0.01 * IN),
        ("X ±0.5 X.X ±0.2 X.XX ±0.05", "R6.0", "mm", 0.2),
        ("X ±0.5 X.X ±0.2 X.XX ±0.05", "R6", "mm", 0.5),
        ("0.0 ±0.1 0.00 ±0.05", None, "mm", None),
    ],
)
def test_a_block_by_decimals(block, radius, units, tolerance):
    if radius is None:
        with pytest.raises(CalloutError):
            read_general_tolerance(block, units=units)
        return
    found = read(radius, units, general_tolerance=block)
    assert found.tolerance == pytest.approx(tolerance) and found.tolerance_from.whose == "block"
    with pytest.raises(CalloutError, match="no general tolerance"):
        read("R.12345", units, general_tolerance=block)


@given(st.text(max_size=60), st.sampled_from(["mm", "inch"]))
def test_any_title_block_is_read_or_refused(text, units):
    try:
        read_general_tolerance(text, units=units)
    except CalloutError as error:
        assert error.field == "general_tolerance"


def test_plain_sizes_tell_the_unit_the_quick_way_as_the_long_way(monkeypatch):
    keys = ("radius", "diameter", "width", "from_end", "stickout")
    texts = {row[key] for row in some_callouts.rows(400, seed=5, bad=0.2, inches=0.4) for key in keys if row.get(key)}
    texts |= {
        f"{front}{size}{behind}"
        for front in ("R", "R ", "")
        for size in ("0", "6.", "00.5", ".25", "0.4", "1200")
        for behind in ("", " ±.005", " mm", " in")
    }
    told = {(text, radius): spelling.evidence(text, radius=radius) for text in texts for radius in (True, False)}
    monkeypatch.setattr(spelling, "_PLAIN", re.compile("(?!)"))
    for (text, radius), bits in told.items():
        assert spelling.evidence(text, radius=radius) == bits, text
