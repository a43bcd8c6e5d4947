"""What a drawing writes at a radius: `R6 ±0.1`, `2X R1-3/16`, `R.120-.130`, `R2 MAX` -> limits in mm.

Sizes stay exact fractions until the limits stand, so that inches and millimetres agree to the last digit.
"""

import re
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from advisor.formulas.numeric import NAN, where
from advisor.ground.errors import CalloutError
from advisor.ground.folders import rule_tables
from advisor.ground.units import (
    FACTORS,
    LARGEST_LENGTH,
    LONGEST_TEXT,
    NUMBER,
    SMALLEST_LENGTH,
    Unreadable,
    number_and_unit,
    number_value,
    plain,
    read_quantity,
    show_length,
    shown,
    unit_factor,
)

MOST = 1_000_000
DEFAULT_GENERAL_TOLERANCE = "ISO 2768-m"
BY_DECIMALS = "by decimals"
_EXAMPLES = "Write it like R6 ±0.1, R1-3/16, R5.5 +0.2/-0, R5.8-6.2 or R2 MAX."
_WRITE_IT = "Write the tolerance at the radius, such as R6 ±0.1."
_GENERAL_EXAMPLES = "Give ISO 2768-f, -m, -c or -v, or a tolerance such as ±0.2."

_UNIT = "|".join(sorted(map(re.escape, FACTORS["length"]), key=len, reverse=True))
_SIZE = rf"({NUMBER}) ?(?:({_UNIT})(?![a-z])\.?)? ?"
_COUNT = re.compile(r"\(?([0-9]+) ?x(?:\) ?| |(?=[scr]))")
_SYMBOL = re.compile(r"(sr|cr|radius|rad|r)(?![a-z]) ?[=:]? ?")
_PLACES = re.compile(r"(?:^|[ ,(])(?:([0-9]+) ?(?:x|places?|plcs?|pls?)|typ(?:ical)?)\.?\)?$")
# What may follow the first size. Each size stands as three groups: sign, number, unit.
_TAILS = {
    "general": re.compile(""),
    "max": re.compile(r"\(?max(?:imum)?\.?\)?"),
    "min": re.compile(r"\(?min(?:imum)?\.?\)?"),
    "equal": re.compile(rf"(?:±|\+ ?/ ?-|\+-)() ?{_SIZE}"),
    "unequal": re.compile(rf"([+-]?) ?{_SIZE}[,/;]? ?([+-]?) ?{_SIZE}"),
    "limits": re.compile(rf"(?:/|to|\.\.\.?)() ?{_SIZE}"),
    "ascending limits": re.compile(rf"-() ?{_SIZE}"),
}
_ONE_DEVIATION = re.compile(rf"[+-] ?{_SIZE}")


class Radius(NamedTuple):
    """A radius as the drawing writes it, in mm.

    symbol: R, CR or SR; count: number of places ("2X"), None where not written; radius: the middle of the limits;
    tolerance: half the width between them; low, high: the limits; tolerance_from: sentence, which rule gave the
    limits; general_tolerance: name of the general tolerance that was used, None where the radius carries its own.
    """

    symbol: str
    count: int | None
    radius: float
    tolerance: float
    low: float
    high: float
    tolerance_from: str
    general_tolerance: str | None


class _Written(NamedTuple):
    """The parts of the text. number: the first as written; size, others: mm; unit: "mm" or "inch"; tail: of _TAILS."""

    symbol: str
    count: int | None
    number: str
    size: Fraction
    unit: str
    tail: str
    others: list


def read_radius(text, *, units, general_tolerance=None, inch_tolerances=None, form="convex", field="radius"):
    """The limits of a radius as a drawing writes it -> Radius.

    text: what stands at the radius, or a plain number; units: "mm" | "inch", for numbers without a unit;
    general_tolerance: what the title block says ("ISO 2768-m", "±0.2", "by decimals"), None where it says nothing: then
    a radius in mm takes ISO 2768-m and one in inches the value for its decimals; inch_tolerances: those values, number
    of decimals or "fraction" -> mm (the common ones where empty); form: "convex" | "concave", since table 2 of
    ISO 2768-1 names external radii only. Raises CalloutError with the field `radius` or `general_tolerance`.

    A unit in the text holds for the whole callout. Unequal tolerances and limits aim at the middle; MAX alone aims at
    half; MIN alone takes twice the general tolerance above the smallest radius and aims at its middle.
    Source: asme-y14-5 for R, CR and SR; iso-2768-1 tables 1 and 2.

    >>> limits = read_radius("2X R5.5 +0.2/-0", units="mm")
    >>> limits.count, limits.radius, limits.tolerance, limits.low, limits.high
    (2, 5.6, 0.1, 5.5, 5.7)
    """
    general = read_general_tolerance(general_tolerance, units=units)
    try:
        written = _parse(text, units)
        low, high, why, used = _limits(written, general, inch_tolerances, form, exact_text=isinstance(text, str))
        if low == high:
            raise Unreadable("leaves no room between its limits", "Write a tolerance of more than zero.")
        if low <= 0 and written.tail != "max":
            reach = f"with {why} reaches down to {show_length(float(low), written.unit)}"
            raise Unreadable(reach, "Write a tolerance smaller than the radius." if used is None else _WRITE_IT)
        if high > LARGEST_LENGTH:
            raise Unreadable("is beyond 100 m", _EXAMPLES)
        if high < SMALLEST_LENGTH:
            raise Unreadable(f"is less than {SMALLEST_LENGTH:g} mm", _EXAMPLES)
    except Unreadable as wrong:
        raise CalloutError(field, shown(text), wrong.problem, wrong.fix) from None
    middle, half = float((low + high) / 2), float((high - low) / 2)
    return Radius(written.symbol, written.count, middle, half, float(low), float(high), why, used)


def _parse(text, units):
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        number_and_unit(text, "length")
        text = str(text)
    if not isinstance(text, str):
        raise Unreadable("is no radius", _EXAMPLES)
    if len(text) > LONGEST_TEXT:
        raise Unreadable("is too long to be a radius", _EXAMPLES)
    rest = plain(text).lower()
    if not rest:
        raise Unreadable("nothing is written", _EXAMPLES)
    if re.search(r"[ø⌀∅]|\bdia\b", rest):
        raise Unreadable("is a diameter", "Give the radius, half of it.")
    count, symbol = None, ""
    if found := _COUNT.match(rest):
        count, rest = int(found[1]), rest[found.end() :]
    if found := _SYMBOL.match(rest):
        symbol, rest = found[1], rest[found.end() :]
    first = re.match(_SIZE, rest)
    if not first:
        raise Unreadable("is no radius", _EXAMPLES)
    rest = rest[first.end() :]
    if not symbol and (found := _SYMBOL.match(rest)):
        symbol, rest = found[1], rest[found.end() :]
    if found := _PLACES.search(rest):
        if found[1] and count is not None:
            raise Unreadable("states the number of places twice", "State it once, such as 2X R3.")
        count = int(found[1]) if found[1] else count
        rest = rest[: found.start()].strip()
    if count is not None and not 1 <= count <= MOST:
        raise Unreadable(f"is for {count} places", f"Give a count from 1 to {MOST:,}.")
    tail, others = _tail(rest)
    number, unit = first[1], first[2] or next((u for _, _, u in others if u and _family(u)), "") or units
    family = _family(unit)
    if not family:
        raise Unreadable(f"is in {unit}", "Give the radius in mm or in.")
    size = _size("", number, unit)
    if size <= 0:
        raise Unreadable("is not more than zero", _EXAMPLES)
    of_deviations = next((u for _, _, u in others if u), "") or unit
    sizes = [_size(sign, chunk, own or of_deviations) for sign, chunk, own in others]
    if tail == "ascending limits" and sizes[0] <= size:
        raise Unreadable("has the larger limit first, or only one deviation", "Write R5.9-6.0, or R6 +0/-0.1.")
    symbol = symbol.upper() if symbol in ("cr", "sr") else "R"
    return _Written(symbol, count, number, size, family, tail, sizes)


def _tail(rest):
    """Which of _TAILS follows the first size, and its sizes as (sign, number, unit)."""
    for name, pattern in _TAILS.items():
        if found := pattern.fullmatch(rest):
            groups = [group or "" for group in found.groups()]
            sizes = list(zip(groups[0::3], groups[1::3], groups[2::3], strict=True))
            if name != "unequal" or all(sign or number_value(number) == 0 for sign, number, _ in sizes):
                return name, sizes
    if _ONE_DEVIATION.fullmatch(rest):
        raise Unreadable("gives one deviation only", "Give both, such as R6 +0.2/-0.")
    raise Unreadable("is no radius", _EXAMPLES)


def _family(unit):
    """ "mm" or "inch", the unit of a drawing that a unit word names; '' for any other unit of length."""
    return {Fraction(1): "mm", Fraction(127, 5): "inch"}.get(unit_factor(unit, "length"), "")


def _size(sign, number, unit):
    size = number_value(number) * unit_factor(unit, "length")
    return -size if sign == "-" else size


def _limits(written, general, inch_tolerances, form, *, exact_text):
    """Lower and upper limit [mm], why, and the general tolerance that was used or None."""
    size, others = written.size, written.others
    match written.tail:
        case "equal":
            return size - others[0], size + others[0], "the tolerance written at the radius", None
        case "unequal":
            why = "the unequal tolerances written at the radius, whose middle is the aim"
            return size + min(others), size + max(others), why, None
        case "limits" | "ascending limits":
            why = "the limits written at the radius, whose middle is the aim"
            return min(size, others[0]), max(size, others[0]), why, None
        case "max":
            return Fraction(0), size, "MAX alone: any radius up to it will do, and half of it is the aim", None
    if general is None and written.unit == "inch" and not exact_text:
        fix = 'Write it as text with all its decimals, such as "R.250", or with a tolerance.'
        raise Unreadable("is a bare number, but in inches the decimals written give the tolerance", fix)
    used, half, why = _general(written, general, inch_tolerances, form)
    if written.tail == "min":
        why = f"MIN alone names no upper limit: the aim lies above it by {why}"
        return size, size + 2 * half, why, used
    return size - half, size + half, why, used


# General tolerances.


@lru_cache(maxsize=1)
def _tables():
    return rule_tables("tolerances.toml")


def read_general_tolerance(text, *, units, field="general_tolerance"):
    """What the title block says of tolerances: None, BY_DECIMALS, "ISO 2768-" and a class letter, or a size in mm.

    Of a designation such as ISO 2768-mK the first letter is for sizes; the second is for geometry and not used here.

    >>> read_general_tolerance("DIN ISO 2768-mK", units="mm"), read_general_tolerance("±.005", units="inch")
    ('ISO 2768-m', 0.127)
    """
    if text is None:
        return None
    words = plain(text).lower() if isinstance(text, str) and len(text) <= LONGEST_TEXT else text
    if isinstance(words, str):
        if words in (BY_DECIMALS, "decimals"):
            return BY_DECIMALS
        found = re.fullmatch(r"(?:din )?(?:en )?iso ?2768(?:[ -]1)?[ -]*([a-z]?)(?:[ -]?[hkl])?(?:-e)?", words)
        if found and found[1] in _tables()["classes"]:
            return f"ISO 2768-{found[1]}"
        if "2768" in words:
            raise CalloutError(field, shown(text), "names no class of ISO 2768-1", _GENERAL_EXAMPLES)
        words = re.sub(r"^(?:±|\+ ?/ ?-|\+-) ?", "", words)
    try:
        return read_quantity(
            words, field=field, dimension="length", default_unit="in" if units == "inch" else "mm", positive=True
        )
    except CalloutError as wrong:
        raise CalloutError(field, shown(text), wrong.problem, _GENERAL_EXAMPLES) from None


def _general(written, general, inch_tolerances, form):
    """Name, half width [mm] and sentence of the general tolerance for this size."""
    if isinstance(general, float):
        size = f"±{show_length(general, written.unit)}"
        return size, Fraction(str(general)), f"the drawing's general tolerance, {size}"
    if general is None:
        general = BY_DECIMALS if written.unit == "inch" else DEFAULT_GENERAL_TOLERANCE
    if general == BY_DECIMALS:
        return general, *_by_decimals(written, inch_tolerances)
    return general, *_iso_2768(written, general, form)


def _iso_2768(written, general, form):
    rows = _tables()["external_radii" if form == "convex" else "linear"]
    letter = general[-1]
    row = next((row for row in rows if written.size <= row["up_to"]), {})
    if written.size < rows[0]["over"] or letter not in row:
        raise Unreadable(f"has no general tolerance in {general}, which gives none for this size", _WRITE_IT)
    half = Fraction(str(row[letter]))
    reach = f"over {row['over']:g}" if row is not rows[0] else f"from {row['over']:g}"
    if row["up_to"] <= LARGEST_LENGTH:
        reach += f" up to {row['up_to']:g}"
    size = show_length(float(half), written.unit)
    if form == "convex":
        return half, f"{general}, ±{size} for external radii {reach} mm (ISO 2768-1 table 2)"
    return half, (
        f"{general}, ±{size} for sizes {reach} mm (ISO 2768-1 table 1, since table 2 names external radii only)"
    )


def general_tolerance(name, radius, *, form):
    """What a class of ISO 2768-1 gives at a size, plus or minus [mm]; not a number where it gives nothing.

    name: such as "ISO 2768-m"; radius: number or array [mm]; form: "convex" | "concave".

    >>> general_tolerance("ISO 2768-m", 6.0, form="convex"), general_tolerance("ISO 2768-m", 6.01, form="convex")
    (0.5, 1.0)
    """
    rows = _tables()["external_radii" if form == "convex" else "linear"]
    half = NAN
    for row in reversed(rows):
        half = where(radius <= row["up_to"], float(row.get(name[-1], NAN)), half)
    return where(radius < rows[0]["over"], NAN, half)


def _by_decimals(written, inch_tolerances):
    if written.unit != "inch":
        raise Unreadable("is in mm, where decimals give no tolerance", _WRITE_IT)
    whose = "the shop's"
    if not inch_tolerances:
        whose = "the common"
        common = {key: value for key, value in _tables()["inch"].items() if key != "source"}
        inch_tolerances = {key: read_quantity(common[key], field=key, dimension="length") for key in common}
    mark = re.search(r"[.,]([0-9]*)", written.number)
    decimals = str(len(mark[1]) if mark else 0)
    key = "fraction" if decimals == "0" and ("/" in written.number or "0" not in inch_tolerances) else decimals
    if key not in inch_tolerances:
        raise Unreadable(f"has {decimals} decimals, for which there is no general tolerance", _WRITE_IT)
    half = inch_tolerances[key]
    kind = "a fraction" if key == "fraction" else f"{key} decimal{'s' if key != '1' else ''}"
    return Fraction(str(half)), f"{whose} general tolerance for {kind}, ±{show_length(half, 'inch')}"
