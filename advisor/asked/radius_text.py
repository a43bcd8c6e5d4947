"""The limits of what a drawing writes at a radius: `R6 ±0.1`, `2X R1-3/16`, `R.120-.130`, `R2 MAX` -> limits in mm.

Sizes stay exact fractions until the limits stand, so that inches and millimetres agree to the last digit.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from advisor.asked.spelling import EXAMPLES as _EXAMPLES
from advisor.asked.spelling import MOST, Size, decimals, family, parse  # noqa: F401 (MOST is read from here)
from advisor.formulas.numeric import NAN, where
from advisor.ground.errors import CalloutError
from advisor.ground.folders import rule_tables
from advisor.ground.units import (
    LARGEST_LENGTH,
    LONGEST_TEXT,
    NUMBER,
    SMALLEST_LENGTH,
    SMALLEST_TOLERANCE,
    Unreadable,
    number_value,
    plain,
    read_quantity,
    show_length,
    shown,
    unit_factor,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from advisor.asked.spelling import Written
    from advisor.formulas.numeric import Numeric


DEFAULT_GENERAL_TOLERANCE = "ISO 2768-m"
BY_DECIMALS = "by decimals"
_WRITE_IT = "Write the tolerance at the radius, such as R6 ±0.1."
_GENERAL_EXAMPLES = "Give ISO 2768-f, -m, -c or -v, a tolerance such as ±0.2, or a block such as .XX ±.01 .XXX ±.005."
# A slash between limits is taken for a fraction written wrong where what stands below it is one of these.
_DENOMINATORS = {2, 4, 8, 16, 32, 64}
WIDE = Fraction(1, 4)  # share of the radius above which its tolerance is asked about


class ToleranceFrom(NamedTuple):
    """Which rule gave the limits of a radius.

    kind: how the limits stand there: "equal", "unequal", "limits", "max", "min", "profile", or "general" where nothing
    is written; general: the general tolerance that was used ("ISO 2768-m", "by decimals", "±0.2 mm", a block), None
    where the radius carries its own; half: of it [mm]; units: in which it is told; table, over, up_to: of ISO 2768-1
    [mm]; decimals: by which it goes, "fraction" for one; whose: "shop", "common" or "block"; halved: whether it is that
    of a diameter or a width, of which the radius takes half.
    """

    kind: str
    general: str | None = None
    half: float = NAN
    units: str = "mm"
    table: int | None = None
    over: float = 0.0
    up_to: float = 0.0
    decimals: str = ""
    whose: str = ""
    halved: bool = False

    def __str__(self) -> str:
        if self.kind in _WRITTEN:
            return _WRITTEN[self.kind]
        size = show_length(self.half, self.units)
        if self.table:
            least = _tables()["external_radii"][0]["over"]
            reach = f"over {self.over:g}" if self.over > least else f"from {self.over:g}"
            reach += f" up to {self.up_to:g}" if self.up_to <= LARGEST_LENGTH else ""
            why = f"{self.general}, ±{size} for " + (
                f"external radii {reach} mm (ISO 2768-1 table 2)"
                if self.table == 2
                else f"sizes {reach} mm (ISO 2768-1 table 1)"
                if self.halved
                else f"sizes {reach} mm (ISO 2768-1 table 1, since table 2 names external radii only)"
            )
        elif self.decimals:
            plural = "" if self.decimals in ("1", "fraction") else "s"
            kind = "a fraction" if self.decimals == "fraction" else f"{self.decimals} decimal{plural}"
            why = f"{_WHOSE[self.whose]} general tolerance for {kind}, ±{size}"
        else:
            why = f"the drawing's general tolerance, {self.general}"
        if self.halved:
            why = f"half of {why}"
        return f"MIN alone names no upper limit: the aim lies above it by {why}" if self.kind == "min" else why


_WRITTEN = {
    "equal": "the tolerance written at the radius",
    "unequal": "the unequal tolerances written at the radius, whose middle is the aim",
    "limits": "the limits written at the radius, whose middle is the aim",
    "max": "MAX alone: any radius up to it will do, and half of it is the aim",
    "profile": "the profile frame written at the radius, half of it on each side",
}
_WHOSE = {"shop": "the shop's", "common": "the common", "block": "the drawing's"}


class Radius(NamedTuple):
    """A radius as the drawing writes it, in mm.

    symbol: R, CR or SR; count: number of places ("2X"), None where not written; radius: the middle of the limits;
    tolerance: half the width between them; low, high: the limits; tolerance_from: ToleranceFrom; general_tolerance:
    name of the general tolerance that was used, None where the radius carries its own; echo: the same radius written
    out with its unit, which reads back to the same; notes: names of what there is to be told of it (meaning.* and
    told.* of rules/callouts.toml).
    """

    symbol: str
    count: int | None  # type: ignore[assignment]  # a tuple counts, which nobody asks of this one
    radius: float
    tolerance: float
    low: float
    high: float
    tolerance_from: ToleranceFrom
    general_tolerance: str | None
    echo: str = ""
    notes: tuple = ()


class _Sized(NamedTuple):
    """A radius in mm. number: as written, of the size that the general tolerance goes by; size: that size [mm]; unit:
    "mm" or "inch"; thou: whether the number counts thousandths; tail; others: deviations or limits [mm]; halved: whether
    `size` and `others` are of a diameter or a width."""

    number: str
    size: Fraction
    unit: str
    thou: bool
    tail: str
    others: list
    halved: bool
    profile: Fraction | None


def read_radius(
    text: str,
    *,
    units: str,
    general_tolerance: str | None = None,
    inch_tolerances: Mapping[str, float] | None = None,
    form: str = "convex",
    across: Any = None,
    field: str = "radius",
) -> Radius:
    """The limits of a radius as a drawing writes it -> Radius.

    text: what stands at the radius, or a plain number; units: "mm" | "inch", for numbers without a unit;
    general_tolerance: what the title block says ("ISO 2768-m", "±0.2", "by decimals"), None where it says nothing: then
    a radius in mm takes ISO 2768-m and one in inches the value for its decimals; inch_tolerances: those values, number
    of decimals or "fraction" -> mm (the common ones where empty); form: "convex" | "concave", since table 2 of
    ISO 2768-1 names external radii only; across: the width as written, to which a full radius is tied. Raises
    CalloutError with the field `radius` or `general_tolerance`.

    A unit in the text holds for the whole callout. Unequal tolerances and limits aim at the middle; MAX alone aims at
    half; MIN alone takes twice the general tolerance above the smallest radius and aims at its middle. A spherical
    diameter and a full radius are half of what is written, and so is the tolerance. A basic radius takes half of its
    profile frame.
    Source: asme-y14-5 for R, CR, SR, SØ, reference and basic sizes; iso-2768-1 tables 1 and 2.

    >>> limits = read_radius("2X R5.5 +0.2/-0", units="mm")
    >>> limits.count, limits.radius, limits.tolerance, limits.low, limits.high
    (2, 5.6, 0.1, 5.5, 5.7)
    """
    general = read_general_tolerance(general_tolerance, units=units)
    try:
        written = parse(text)
        sized = _sized(written, units, across)
        low, high, why = _limits(sized, written, general, inch_tolerances, form, exact_text=isinstance(text, str))
        if sized.halved:
            low, high = low / 2, high / 2
        if low == high:
            raise Unreadable("leaves no room between its limits", "Write a tolerance of more than zero.")
        if float((high - low) / 2) < SMALLEST_TOLERANCE:
            problem = f"leaves less than {2 * SMALLEST_TOLERANCE:g} mm between its limits, which nobody measures"
            raise Unreadable(problem, f"Write a tolerance of at least {SMALLEST_TOLERANCE:g} mm.")
        if low <= 0 and sized.tail != "max":
            reach = f"with {why} reaches down to {show_length(float(low), sized.unit)}"
            raise Unreadable(reach, _WRITE_IT if why.general else "Write a tolerance smaller than the radius.")
        if high > LARGEST_LENGTH:
            raise Unreadable("is beyond 100 m", _EXAMPLES)
        if high < SMALLEST_LENGTH:
            raise Unreadable(f"is less than {SMALLEST_LENGTH:g} mm", _EXAMPLES)
    except Unreadable as wrong:
        raise CalloutError(field, shown(text), wrong.problem, wrong.fix) from None
    middle, half = float((low + high) / 2), float((high - low) / 2)
    notes = _notes(written, why, share=(high - low) / (high + low))
    return Radius(
        written.symbol,
        written.count,
        middle,
        half,
        float(low),
        float(high),
        why,
        why.general,
        echo(written, units),
        notes,
    )


def _sized(written: Written, units: str, across: Any) -> _Sized:
    unit = family(written.unit) if written.unit else units
    word = written.unit or {"mm": "mm", "inch": "in"}[units]
    if written.size is None:
        if across is None:
            raise Unreadable("has no size of its own", "Write one, such as R6, or give the width that it is half of.")
        width = _of_width(across, units)
        unit = family(width.unit) or "mm"
        if width.value <= 0:
            raise Unreadable("is half of a width that is not more than zero", _EXAMPLES)
        return _Sized(width.number, _mm(width, width.unit), unit, width.unit == "thou", "general", [], True, None)
    size = _mm(written.size, word)
    if size <= 0:
        raise Unreadable("is not more than zero", _EXAMPLES)
    of_deviations = next((other.unit for other in written.others if other.unit), "") or word
    others = [_mm(other, other.unit or of_deviations) for other in written.others]
    profile = _mm(written.profile, written.profile.unit or word) if written.profile else None
    if written.tail == "ascending limits" and others[0] <= size:
        raise Unreadable("has the larger limit first, or only one deviation", "Write R5.9-6.0, or R6 +0/-0.1.")
    if written.tail == "slashed limits" and _may_be_a_fraction(written.size, written.others[0], size, others[0]):
        low, high = written.size.number, written.others[0].number
        raise Unreadable(
            f"could be limits from {low} to {high}, or a fraction written wrong",
            f"Write R{low}-{high} for limits, or a fraction such as R1-1/4.",
        )
    return _Sized(written.size.number, size, unit, word == "thou", written.tail, others, written.diameter, profile)


def _may_be_a_fraction(first: Any, second: Any, low: Any, high: Any) -> bool:
    low, high = sorted((low, high))
    below = second.number.isdecimal() and int(second.number[:3]) in _DENOMINATORS
    return below and not second.unit and "." in first.number and high - low > 2 * WIDE * (high + low) / 2


def _of_width(text: object, units: str) -> Size:
    """The width or diameter that a full radius is half of, as written."""
    text = text if isinstance(text, str) else str(text)
    written = parse(text if len(text) <= LONGEST_TEXT else "")
    if written.size is None or written.tail != "general":
        raise Unreadable("is half of a width that cannot be read", "Give the width alone, such as 10 mm.")
    return written.size._replace(unit=written.unit or {"mm": "mm", "inch": "in"}[units])


def _mm(size: Size, unit: str) -> Fraction:
    return size.value * unit_factor(unit, "length")


def _limits(
    sized: _Sized,
    written: Written,
    general: float | str | Block | None,
    inch_tolerances: Mapping[str, float] | None,
    form: str | None,
    *,
    exact_text: bool,
) -> tuple[Fraction, Fraction, ToleranceFrom]:
    """Lower and upper limit [mm], of the diameter where that is written, and the ToleranceFrom."""
    size, others = sized.size, sized.others
    if "reference" in written.meanings and sized.tail not in ("general", "full"):
        raise Unreadable(
            "is a reference size with a tolerance, and a reference size has none", "Write one or the other."
        )
    if "basic" in written.meanings:
        if sized.tail != "general":
            raise Unreadable("is basic and has a tolerance, and a basic size has none", "Write one or the other.")
        if sized.profile is None:
            raise Unreadable(
                "is basic: its tolerance stands in a profile frame",
                f"Write that behind it, such as R{sized.number} BASIC PROFILE 0.1.",
            )
        half = sized.profile / 2 * (2 if sized.halved else 1)  # the frame is of the surface, not of the diameter
        return size - half, size + half, ToleranceFrom("profile")
    match sized.tail:
        case "equal":
            return size - others[0], size + others[0], ToleranceFrom("equal")
        case "unequal" if min(others) == -max(others):
            return size + min(others), size + max(others), ToleranceFrom("equal")
        case "unequal":
            return size + min(others), size + max(others), ToleranceFrom("unequal")
        case "limits" | "ascending limits" | "slashed limits":
            return min(size, others[0]), max(size, others[0]), ToleranceFrom("limits")
        case "max":
            return Fraction(0), size, ToleranceFrom("max")
    if general is None and sized.unit == "inch" and not exact_text:
        fix = 'Write it as text with all its decimals, such as "R.250", or with a tolerance.'
        raise Unreadable("is a bare number, but in inches the decimals written give the tolerance", fix)
    half, why = _general(sized, general, inch_tolerances, form)
    why = why._replace(half=float(half), units=sized.unit, halved=sized.halved)
    if sized.tail == "min":
        return size, size + 2 * half, why._replace(kind="min")
    return size - half, size + half, why


def _notes(written: Written, why: ToleranceFrom, *, share: Fraction) -> tuple[str, ...]:
    """What there is to be told: names of rules/callouts.toml."""
    notes = [f"meaning.{name}" for name in ("reference", "basic", "typical") if name in written.meanings]
    if written.count is not None and "meaning.typical" in notes:
        notes.remove("meaning.typical")
    if written.size is None or "full" in written.meanings:
        notes.append("meaning.full")
    notes += [f"told.{name}" for name in ("diameter", "second") if getattr(written, name)]
    if why.general is None and why.kind != "max" and share > WIDE:
        notes.append("told.wide")
    return tuple(notes)


def echo(written: Written, units: str) -> str:
    """What stands at a radius, written out in one way with its unit: it reads back to the same radius."""
    unit = {"mm": " mm", "inch": " in"}[family(written.unit) if written.unit else units]
    if written.unit == "thou":
        unit = " thou"
    count = f"{written.count}X " if written.count else ""
    symbol = "SØ" if written.diameter else written.symbol
    if written.size is None:
        return f"{count}FULL {symbol}"
    own = next((other.unit for other in written.others if other.unit), "")
    apart = bool(written.others) and (unit == " thou" or (own and family(own) != family(unit.strip())) or own == "thou")
    others = [
        f"{other.number}{' ' + (other.unit or own) if own else unit}" if apart else other.number
        for other in written.others
    ]
    signs = [other.sign or ("+" if written.tail == "unequal" else "") for other in written.others]
    tail = {
        "equal": " ±{}",
        "unequal": " {}/{}",
        "limits": " to {}",
        "ascending limits": " to {}",
        "slashed limits": " to {}",
    }.get(written.tail, "")
    tail = tail.format(*map("".join, zip(signs, others, strict=True)))
    text = f"{count}{symbol}{written.size.number}" + (f"{unit}{tail}" if apart else f"{tail}{unit}")
    if written.tail in ("max", "min"):
        text += f" {written.tail.upper()}"
    words = {"reference": "REF", "basic": "BASIC", "typical": "TYP", "full": "FULL"}
    text = " ".join([text, *(word for name, word in words.items() if name in written.meanings)])
    if written.profile:
        text += f" PROFILE {written.profile.number}{' ' + written.profile.unit if written.profile.unit else unit}"
    return text


# General tolerances.


def _tables() -> dict[str, Any]:
    return rule_tables("tolerances.toml")


class Block(NamedTuple):
    """A tolerance block by decimals. text: as written; rows: (number of decimals or "fraction", mm)."""

    text: str
    rows: tuple


# One entry of a block: places as x's, "fractions" or "angles"; the number; its unit.
_OF_BLOCK = re.compile(
    rf"(?:decimals?:? ?)?(?:(x*(?:[.,]x+)?)|(frac(?:tion(?:s|al)?)?\.?)|(ang(?:les?|ular)?\.?)) ?[=:]? ?"
    rf"(?:±|\+ ?/ ?-|\+-) ?({NUMBER}) ?(°|deg(?:rees?)?|inch|in|mm|\")?(?![a-wyz])[ ,;/]*"
)


def _block(words: str, units: str) -> tuple[tuple[str, float], ...] | None:
    """The rows of a block such as `.XX ±.01 .XXX ±.005 FRACTIONS ±1/64 ANGLES ±1°`; None where it is none."""
    rows, at = {}, 0
    while at < len(words):
        found = _OF_BLOCK.match(words, at)
        if not found or not any(found.groups()[:3]):
            return None
        at = found.end()
        if found[3]:
            continue
        key = "fraction" if found[2] else str(len(found[1].replace(",", ".").partition(".")[2]))
        unit = {None: "in" if units == "inch" else "mm", '"': "in", "inch": "in"}.get(found[5], found[5])
        if unit not in ("mm", "in") or key in rows:
            return None
        rows[key] = float(number_value(found[4]) * unit_factor(unit, "length"))
        if rows[key] <= 0:
            return None
    return tuple(rows.items()) or None


def read_general_tolerance(
    text: str | None, *, units: str, field: str = "general_tolerance"
) -> float | str | Block | None:
    """What the title block says of tolerances: None, BY_DECIMALS, "ISO 2768-" and a class letter, a Block by decimals,
    or a size in mm.

    Of a designation such as ISO 2768-mK the first letter is for sizes; the second is for geometry and not used here.
    JIS B 0405 and BS EN 22768-1 have the same classes.

    >>> read_general_tolerance("DIN ISO 2768-mK", units="mm"), read_general_tolerance("±.005", units="inch")
    ('ISO 2768-m', 0.127)
    >>> read_general_tolerance(".XX ±.01 .XXX ±.005", units="inch").rows
    (('2', 0.254), ('3', 0.127))
    """
    if text is None:
        return None
    words = plain(text).lower() if isinstance(text, str) and len(text) <= LONGEST_TEXT else text
    if isinstance(words, str):
        if words in (BY_DECIMALS, "decimals"):
            return BY_DECIMALS
        classes = _tables()["classes"]
        found = re.fullmatch(
            r"(?:(?:din |bs )?(?:en )?(?:iso )?2?2768(?:[ -]1)?|jis b ?0405)?[ -]*"
            r"(?:([a-z])(?:[ -]?[hkl])?(?:-e)?|((?:very )?[a-z]{4,6}))",
            re.sub(r"(?<=iso)(?=2768)", " ", words),
        )
        if found:
            letter = found[1] or next((letter for letter, name in classes.items() if name == found[2]), None)
            if letter in classes:
                return f"ISO 2768-{letter}"
        if "2768" in words or "0405" in words:
            raise CalloutError(field, shown(text), "names no class of ISO 2768-1", _GENERAL_EXAMPLES)
        try:
            if rows := _block(words, units):
                return Block(text.strip(), rows)
        except Unreadable as wrong:
            raise CalloutError(field, shown(text), wrong.problem, _GENERAL_EXAMPLES) from None
        words = re.sub(r"^(?:±|\+ ?/ ?-|\+-) ?", "", words)
    try:
        return read_quantity(
            words, field=field, dimension="length", default_unit="in" if units == "inch" else "mm", positive=True
        )
    except CalloutError as wrong:
        raise CalloutError(field, shown(text), wrong.problem, _GENERAL_EXAMPLES) from None


def _general(
    sized: _Sized,
    general: float | str | Block | None,
    inch_tolerances: Mapping[str, float] | None,
    form: str | None,
) -> tuple[Fraction, ToleranceFrom]:
    """Half width [mm] and ToleranceFrom of the general tolerance for this size."""
    if isinstance(general, float):
        name = f"±{show_length(general, sized.unit)}"
        return Fraction(str(general)), ToleranceFrom("general", name)
    if isinstance(general, Block):
        return _by_decimals(sized, dict(general.rows), "block", general.text)
    if general is None:
        general = BY_DECIMALS if sized.unit == "inch" else DEFAULT_GENERAL_TOLERANCE
    if general == BY_DECIMALS:
        if sized.unit != "inch":
            raise Unreadable("is in mm, where decimals give no tolerance", _WRITE_IT)
        if inch_tolerances:
            return _by_decimals(sized, inch_tolerances, "shop", BY_DECIMALS)
        common = {key: value for key, value in _tables()["inch"].items() if key != "source"}
        common = {key: read_quantity(value, field=key, dimension="length") for key, value in common.items()}
        return _by_decimals(sized, common, "common", BY_DECIMALS)
    return _iso_2768(sized, general, form)


def _iso_2768(sized: _Sized, general: str, form: str | None) -> tuple[Fraction, ToleranceFrom]:
    table = 2 if form == "convex" and not sized.halved else 1
    rows = _tables()["external_radii" if table == 2 else "linear"]
    letter = general[-1]
    row: dict[str, Any] = next((row for row in rows if sized.size <= row["up_to"]), {})
    if sized.size < rows[0]["over"] or letter not in row:
        raise Unreadable(f"has no general tolerance in {general}, which gives none for this size", _WRITE_IT)
    why = ToleranceFrom("general", general, table=table, over=float(row["over"]), up_to=float(row["up_to"]))
    return Fraction(str(row[letter])), why


def general_tolerance(name: str, radius: Numeric, *, form: str) -> Numeric:
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


def _by_decimals(
    sized: _Sized, tolerances: Mapping[str, float], whose: str, name: str
) -> tuple[Fraction, ToleranceFrom]:
    places = str(decimals(sized.number) + (3 if sized.thou else 0))
    key = "fraction" if places == "0" and ("/" in sized.number or "0" not in tolerances) else places
    if key not in tolerances:
        raise Unreadable(f"has {places} decimals, for which there is no general tolerance", _WRITE_IT)
    half = Fraction(str(tolerances[key]))
    return half, ToleranceFrom("general", name, decimals=key, whose=whose)
