"""Quantities as people write them, and lengths as drawings show them."""

import math
import subprocess
import sys
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.formulas.hardness import brinell
from advisor.ground.errors import CalloutError, ShopError
from advisor.ground.folders import rule_tables
from advisor.ground.units import (
    FACTORS,
    INTERNAL,
    nearest_fraction,
    plain,
    read_hardness,
    read_quantity,
    show_length,
    shown,
)

REGISTRY = pint.UnitRegistry()


def length(text, **options):
    return read_quantity(text, field="width", dimension="length", **options)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("40 mm", 40),
        ("40mm", 40),
        ("40", 40),
        (40, 40),
        (40.5, 40.5),
        ("40.", 40),
        (".125", 0.125),
        (",125", 0.125),
        ("6,5 mm", 6.5),
        ("0,125 mm", 0.125),
        ("12,3456", 12.3456),
        ("1.5 in", 38.1),
        ("1.5 IN", 38.1),
        ("1.5 in.", 38.1),
        ('1.5"', 38.1),
        ("1.5″", 38.1),
        ("1.5 inches", 38.1),
        ("1-1/2 in", 38.1),
        ("1 1/2 in", 38.1),
        ('1 1/2"', 38.1),
        ("1½ in", 38.1),
        ("1-½ in", 38.1),
        ("1⁄2 in", 12.7),
        ("3/8 in", 9.525),
        ("⅜ in", 9.525),
        ("⅜", 0.375),
        ("3/8", 0.375),
        ("1-3/16 in", 1.1875 * 25.4),
        ("9/8 in", 28.575),
        ("-1-1/2 in", -38.1),
        ("−3 mm", -3),
        ("+3 mm", 3),
        ("250 thou", 6.35),
        ("4 cm", 40),
        ("0.04 m", 40),
        ("40000 um", 40),
        ("40000 µm", 40),
        ("1 ft", 304.8),
        ("1'", 304.8),
        ("2 yards", 1828.8),
        ("4 dm", 400),
        ("40\u00a0mm", 40),
        ("  40\u2009mm ", 40),
        ("40 millimetres", 40),
        ("40㎜", 40),
    ],
)
def test_lengths(text, mm):
    assert length(text) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(("text", "mm"), [("1.5", 38.1), (1.5, 38.1), ("3/8", 9.525), ("⅜", 9.525), ("40 mm", 40.0)])
def test_bare_numbers_take_the_unit_of_the_drawing(text, mm):
    assert length(text, default_unit="in") == mm


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("10 deg", "angle", 10),
        ("10°", "angle", 10),
        ("0.5 rad", "angle", math.degrees(0.5)),
        ("30 arcmin", "angle", 0.5),
        ("1.5 h", "time", 90),
        ("90 s", "time", 1.5),
        ("12", "time", 12),
        ("1 day", "time", 1440),
        ("100 ft/min", "speed", 30.48),
        ("100 fpm", "speed", 30.48),
        ("100 sfm", "speed", 30.48),
        ("30 m/min", "speed", 30),
        ("0.5 m/s", "speed", 30),
        ("600 mm/min", "speed", 0.6),
        ("560 rpm", "rotation", 560),
        ("560 rev/min", "rotation", 560),
        ("560 1/min", "rotation", 560),
        ("560 min^-1", "rotation", 560),
        ("10 rps", "rotation", 600),
        ("2.2 kW", "power", 2.2),
        ("2200 W", "power", 2.2),
        ("3 hp", "power", 2.2370996),
        ("3 HP", "power", 2.2370996),
        ("4 PS", "power", 2.941995),
        ("Ra 1.6 um", "roughness", 1.6),
        ("Ra 1,6 µm", "roughness", 1.6),
        ("Ra1.6", "roughness", 1.6),
        ("1.6", "roughness", 1.6),
        ("1.6 um Ra", "roughness", 1.6),
        ("Ra 63 uin", "roughness", 1.6002),
        ("63 µin", "roughness", 1.6002),
        ("45.50", "number", 45.5),
        (45, "number", 45),
    ],
)
def test_other_dimensions(text, dimension, value):
    assert read_quantity(text, field="x", dimension=dimension) == pytest.approx(value, rel=1e-7)


def test_bare_roughness_on_an_inch_drawing():
    assert read_quantity("63", field="finish", dimension="roughness", default_unit="uin") == pytest.approx(1.6002)


@pytest.mark.parametrize(
    ("text", "hardness"),
    [
        ("150 HB", (150, "HB")),
        ("150", (150, "HB")),
        (150, (150, "HB")),
        ("150HBW", (150, "HB")),
        ("HB 150", (150, "HB")),
        ("150 BHN", (150, "HB")),
        ("28 HRC", (28, "HRC")),
        ("28 Rc", (28, "HRC")),
        ("HRC 28", (28, "HRC")),
        ("Rockwell C 28", (28, "HRC")),
        ("28,5 HRC", (28.5, "HRC")),
        ("28-32 HRC", (30, "HRC")),
        ("28/32 HRC", (30, "HRC")),
        ("HRC 28 to 32", (30, "HRC")),
        ("30 HRC MIN", (30, "HRC")),
        ("MAX 200 HB", (200, "HB")),
        ("95 HRB", (95, "HRB")),
        ("Rb 85", (85, "HRB")),
        ("300 HV", (300, "HV")),
        ("300 HV10", (300, "HV")),
        ("180-220 HBW 10/3000", (200, "HB")),
    ],
)
def test_hardness(text, hardness):
    assert read_hardness(text, field="hardness") == hardness
    assert read_quantity(text, field="hardness", dimension="hardness") == hardness


# ASTM A370 tables 2 and 3, which are those of ASTM E140 for steel: HRC, HRB and HV beside HB.
@pytest.mark.parametrize(
    ("value", "scale", "hb"),
    [
        (65, "HRC", 739), (60, "HRC", 654), (55, "HRC", 560), (50, "HRC", 482), (45, "HRC", 421), (41, "HRC", 381),
        (100, "HRB", 240), (95, "HRB", 210), (90, "HRB", 185), (85, "HRB", 165), (80, "HRB", 150), (72, "HRB", 130),
        (832, "HV", 739), (697, "HV", 654), (595, "HV", 560), (513, "HV", 482), (392, "HV", 371), (185, "HV", 185),
    ],
)  # fmt: skip
def test_published_hardness_conversion(value, scale, hb):
    assert brinell(float(value), scale) == hb


# ASTM E140 table 1, from memory.
@pytest.mark.parametrize(("value", "hb"), [(20, 226), (25, 253), (30, 286), (35, 327), (40, 371)])
def test_hardness_conversion_from_memory(value, hb):
    assert brinell(float(value), "HRC") == hb


@pytest.mark.parametrize("scale", ["HRC", "HRB", "HV"])
def test_hardness_rises_all_the_way(scale):
    table = rule_tables("hardness.toml")[scale]
    assert table["reads"] == sorted(set(table["reads"])) and table["brinell"] == sorted(set(table["brinell"]))
    assert len(table["reads"]) == len(table["brinell"])


# ISO 1302: N7 is 1.6 um, N8 3.2. ASME B46.1: an RMS reading is about 1.11 times Ra. RMS and AA are microinches.
@pytest.mark.parametrize(
    ("text", "um"),
    [
        ("N7", 1.6), ("N 8", 3.2), ("n12", 50), ("125 RMS", 125 / 1.11 * 0.0254), ("RMS 63 uin", 63 / 1.11 * 0.0254),
        ("63 AA", 63 * 0.0254), ("CLA 63 uin", 63 * 0.0254), ("32 uin Ra", 32 * 0.0254), ("Rq 2 um", 2 / 1.11),
    ],
)  # fmt: skip
def test_roughness_as_drawings_write_it(text, um):
    assert read_quantity(text, field="finish", dimension="roughness") == pytest.approx(um)


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("", "length", "nothing is written"),
        ("   ", "length", "nothing is written"),
        ("forty", "length", "is not a length"),
        ("mm", "length", "is not a length"),
        ("3 kg", "length", "is a mass, not a length"),
        ("3 N", "length", "is a force, not a length"),
        ("3 mm*mm", "length", "is an area, not a length"),
        ("3 deg", "length", "is an angle, not a length"),
        ("3 min", "length", "is a time, not a length"),
        ("3 m/min", "length", "is a speed, not a length"),
        ("3 rpm", "length", "is a rotational speed, not a length"),
        ("3 degC", "length", "is a temperature, not a length"),
        ("3 mil", "length", 'has the unknown unit "mil"'),
        ("3 imch", "length", 'Did you mean "inch"?'),
        ("3 milimeter", "length", 'Did you mean "millimeter"?'),
        ("3 mmm", "length", 'has the unknown unit "mmm"'),
        ("3 m^2", "length", 'has the unknown unit "m^2"'),
        ("3 9**9**9", "length", "is not a length"),
        ("3 m**9**9", "length", "has the unknown unit"),
        ("3 (mm)", "length", "has the unknown unit"),
        ("3 mm mm", "length", "has the unknown unit"),
        ("3 __import__", "length", "has the unknown unit"),
        ("3 mm\0", "length", "has the unknown unit"),
        ("3²", "length", "has the unknown unit"),
        ("٣ mm", "length", "is not a length"),
        ("1e3 mm", "length", "has the unknown unit"),
        ("nan", "length", "is not a length"),
        ("inf mm", "length", "is not a length"),
        ("-inf", "length", "is not a length"),
        (math.nan, "length", "is not a number that can be used"),
        (math.inf, "length", "is not a number that can be used"),
        (-math.inf, "length", "is not a number that can be used"),
        (True, "length", "is not a length"),
        (None, "length", "is not a length"),
        ([40], "length", "is not a length"),
        ({"mm": 40}, "length", "is not a length"),
        (b"40 mm", "length", "is not a length"),
        ("1,234", "length", "could be 1234 or 1.234"),
        ("1,234 in", "length", "could be 1234 or 1.234"),
        ("1,234.5", "length", "more than one decimal mark"),
        ("1.234,5", "length", "more than one decimal mark"),
        ("1.2.3", "length", "more than one decimal mark"),
        ("3/0", "length", "divides by zero"),
        ("1-3/0", "length", "divides by zero"),
        ("1-9/8", "length", "not a proper fraction"),
        ("1 - 1/2", "length", "is not a length"),
        ("1.5-1/2", "length", "is not a length"),
        ("3/8/2", "length", "has the unknown unit"),
        ("3 4", "length", "is not a length"),
        ("--3", "length", "is not a length"),
        ("±3", "length", "is not a length"),
        ("3 ±0.1", "length", "is not a length"),
        ("101 m", "length", "is beyond 100 m"),
        ("-101 m", "length", "is beyond 100 m"),
        (10**90, "length", "is beyond 100 m"),
        ("9" * 79, "length", "is beyond 100 m"),
        ("9" * 1000, "length", "too long"),
        ("3 %", "angle", "has the unknown unit"),
        ("3 percent", "angle", "has the unknown unit"),
        ("361 deg", "angle", "is beyond 360 deg"),
        ("3 mm", "angle", "is a length, not an angle"),
        ("3 kg", "angle", "is a mass, not an angle"),
        ("50 Hz", "rotation", "is a frequency, not a rotational speed"),
        ("3 mm", "time", "is a length, not a time"),
        ("3 minuts", "time", 'Did you mean "minutes"?'),
        ("3 kg", "power", "is a mass, not a power"),
        ("3 mm", "number", "is a length, not a plain number"),
        ("$45", "number", "is not a plain number"),
        ("45 dollars", "number", 'has "dollars" behind the number'),
        ("Rz 6.3", "roughness", "is not a roughness Ra"),
        ("N13", "roughness", "is no grade of roughness"),
        ("Rz 63", "roughness", "is not a roughness Ra"),
        ("Ra", "roughness", "nothing is written"),
        ("28 HRB", "hardness", "lies outside 72 to 100 HRB"),
        ("300 HK", "hardness", 'unknown hardness scale "hk"'),
        ("19 HRC", "hardness", "lies outside 20 to 65 HRC"),
        ("66 HRC", "hardness", "lies outside 20 to 65 HRC"),
        ("2 HB", "hardness", "lies outside 3 to 750 HB"),
        ("751", "hardness", "lies outside 3 to 750 HB"),
        ("hard", "hardness", "is not a hardness"),
        (True, "hardness", "is not a hardness"),
    ],
)
def test_what_is_refused_and_how(text, dimension, says):
    with pytest.raises(CalloutError) as caught:
        read_quantity(text, field="the field", dimension=dimension)
    assert caught.value.field == "the field"
    assert says in str(caught.value)
    assert len(str(caught.value)) < 300
    assert str(caught.value).isprintable()


@pytest.mark.parametrize(
    ("text", "bounds", "says"),
    [
        ("0 mm", {"positive": True}, "is not more than zero"),
        ("-3 mm", {"positive": True}, "is not more than zero"),
        (5e-324, {"positive": True, "default_unit": "um"}, "is not more than zero"),
        ("3 mm", {"at_least": 5}, "is less than 5 mm. Give at least 5 mm."),
        ("3 in", {"at_most": 25.4}, "is more than 1 in. Give at most 1 in."),
    ],
)
def test_bounds(text, bounds, says):
    with pytest.raises(CalloutError, match=says):
        length(text, **bounds)


def test_a_whole_number_too_large_to_print():
    with pytest.raises(CalloutError, match="width: a int too large to show is not a number that can be used"):
        length(10**5000)


def test_a_bound_itself_is_within():
    assert length("0.1 mm", at_least=0.1, at_most=0.1) == 0.1
    assert length("100 m") == 100_000


def test_the_caller_chooses_the_error():
    with pytest.raises(ShopError):
        length("3 kg", error=ShopError)


# Words of the table that the units library spells otherwise.
SPELT = {
    '"': "inch", "'": "foot", "thou": "thou", "sfm": "foot/min", "sfpm": "foot/min", "fpm": "foot/min", "ps": "metric_horsepower",
    "°": "degree", "rev/min": "rpm", "r/min": "rpm", "1/min": "rpm", "/min": "rpm", "min-1": "rpm", "min^-1": "rpm",
    "rps": "revolution/s", "rev/s": "revolution/s", "1/s": "revolution/s", "kw": "kW", "w": "W", "mins": "minute", "hrs": "hour",
    "sec": "second", "microinches": "microinch",
}  # fmt: skip


@pytest.mark.parametrize(
    ("dimension", "word"), [(dimension, word) for dimension, table in FACTORS.items() for word in table]
)
def test_the_table_agrees_with_the_units_library(dimension, word):
    by_library = REGISTRY.Quantity(1, SPELT.get(word, word)).to(INTERNAL[dimension]).magnitude
    assert float(FACTORS[dimension][word]) == pytest.approx(by_library, rel=1e-12)


def test_common_units_do_not_load_the_units_library():
    code = (
        "import sys; from advisor.ground.units import read_quantity as q, show_length;"
        "q('1-1/2 in', field='x', dimension='length'); q('3 hp', field='x', dimension='power'); show_length(3.0, 'inch');"
        "sys.exit('pint' in sys.modules or 'numpy' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@settings(deadline=None)  # the units library takes its time to load
@given(st.one_of(st.text(max_size=100), st.floats(), st.integers(), st.none(), st.booleans(), st.binary(max_size=5)))
def test_any_value_is_read_or_refused(value):
    for dimension in ("length", "roughness", "hardness"):
        try:
            read_quantity(value, field="x", dimension=dimension)
        except CalloutError as error:
            assert error.field == "x"


NUMBERS = st.from_regex(r"[0-9]{1,3}([.,][0-9]{1,4}| [0-9]/[0-9]{1,2}|-[0-9]/[0-9]|/[0-9])?", fullmatch=True)
UNITS = st.sampled_from(["", "mm", "in", '"', "thou", "kg", "m/s", "%", "**", "furlong", "mm mm", "1", "x", "'", "e5"])


@settings(deadline=None)  # the units library takes its time to load
@given(NUMBERS, st.sampled_from(["", " ", "\u00a0"]), UNITS)
def test_any_number_with_any_unit_is_read_or_refused(number, space, unit):
    try:
        assert math.isfinite(length(number + space + unit))
    except CalloutError as error:
        assert error.fix


@given(st.fractions(min_value=0, max_value=1000, max_denominator=64))
def test_fractions_of_an_inch_survive_printing(inch):
    whole, part = divmod(inch, 1)
    written = f"{whole}-{part}" if whole and part else str(inch)
    assert length(written, default_unit="in") == float(inch * Fraction("25.4"))


@given(st.integers(min_value=-6400, max_value=6400))
def test_nearest_fraction_is_read_back(sixty_fourths):
    assert length(nearest_fraction(sixty_fourths / 64), default_unit="in") == float(
        Fraction(sixty_fourths, 64) * Fraction("25.4")
    )


@pytest.mark.parametrize(
    ("inch", "denominator", "fraction"),
    [(1.1875, 64, "1-3/16"), (0.25, 64, "1/4"), (0.251, 64, "1/4"), (0.0, 64, "0"), (2.0, 64, "2"), (-0.5, 64, "-1/2"),
     (0.3, 16, "5/16"), (0.999, 64, "1"), (math.nan, 64, "unknown"), (math.inf, 64, "unknown")],
)  # fmt: skip
def test_nearest_fraction(inch, denominator, fraction):
    assert nearest_fraction(inch, denominator) == fraction


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (6.35, "inch", ".2500 in (1/4)"),
        (30.1625, "inch", "1.1875 in (1-3/16)"),
        (25.4, "inch", "1.0000 in"),
        (0.0, "inch", "0 in"),
        (-0.0001, "inch", "-.000004 in"),
        (-6.35, "inch", "-.2500 in (-1/4)"),
        (6.3, "inch", ".2480 in"),
        (6.0, "mm", "6 mm"),
        (6.3504, "mm", "6.35 mm"),
        (0.0004, "mm", "0.0004 mm"),
        (-0.0004, "mm", "-0.0004 mm"),
        (100.0, "mm", "100 mm"),
        (math.nan, "mm", "unknown"),
        (math.inf, "inch", "unknown"),
    ],
)
def test_show_length(mm, units, text):
    assert show_length(mm, units) == text


def test_show_length_takes_a_near_fraction_where_asked():
    assert show_length(6.3, "inch", fraction_within=0.005) == ".2480 in (1/4)"


@given(st.floats(), st.sampled_from(["mm", "inch"]))
def test_every_length_can_be_shown(mm, units):
    assert show_length(mm, units).isprintable()


@given(st.floats(min_value=0.0001, max_value=10_000), st.sampled_from(["mm", "inch"]))
def test_what_is_shown_is_read_back(mm, units):
    text = show_length(mm, units).split(" (")[0]
    assert length(text) == pytest.approx(mm, abs=0.0005 if units == "mm" else 0.00128)


@given(st.text())
def test_shown_and_plain_take_any_text(text):
    assert shown(text).isprintable() and len(shown(text)) <= 60
    assert plain(plain(text)) == plain(text)
