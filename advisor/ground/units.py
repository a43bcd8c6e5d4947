"""Quantities at the door: text with or without a unit in, plain numbers in the program's units inside.

Numbers are read as people in a shop write them: `40`, `6,5 mm`, `.125`, `3/8`, `⅜`, `1-1/2 in`, `1 1/2"`.
A hyphen between a whole number and a proper fraction joins them (`1-3/16` is 1.1875) and never subtracts.
A comma is a decimal comma. Commas that group thousands are refused, and so is the one that could be either
(`1,234`). No unit means the unit that the caller names, never a guess from the size.

Common units stand in a small table; only a word that is not in it loads the units library.
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from typing import Any

    from pint import UnitRegistry

    from advisor.ground.errors import InputError


INCH = 25.4  # mm
FOOT = 0.3048  # m
HORSEPOWER = 0.745699871582270  # kW
INTERNAL = {
    "length": "mm",
    "angle": "deg",
    "time": "min",
    "speed": "m/min",
    "rotation": "rpm",
    "power": "kW",
    "roughness": "um",
    "number": "",
}

_WORDS = {
    "length": {
        "mm millimetre millimetres millimeter millimeters": "1",
        "cm centimetre centimetres centimeter centimeters": "10",
        "m metre metres meter meters": "1000",
        "um micron microns micrometre micrometres micrometer micrometers": "0.001",
        'in inch inches "': str(INCH),
        "thou": "0.0254",
        "ft foot feet '": "304.8",
    },
    "angle": {
        "deg degree degrees °": "1",
        "rad radian radians": repr(180 / math.pi),
        "arcmin arcminute arcminutes": "1/60",
    },
    "time": {
        "min mins minute minutes": "1",
        "s sec second seconds": "1/60",
        "h hr hrs hour hours": "60",
    },
    "speed": {"m/min": "1", "m/s": "60", "ft/min fpm sfm sfpm": str(FOOT)},
    "rotation": {"rpm rev/min r/min 1/min /min min-1 min^-1": "1", "rps rev/s 1/s": "60"},
    "power": {"kW": "1", "W": "0.001", "hp": str(HORSEPOWER), "ps": "0.73549875"},
    "roughness": {"um micron microns": "1", "uin microinch microinches": "0.0254", "nm": "0.001"},
    "number": {},
}
FACTORS = {
    dimension: {word.lower(): Fraction(factor) for words, factor in table.items() for word in words.split()}
    for dimension, table in _WORDS.items()
}

_EXAMPLES = {
    "length": "Give a length such as 40 mm or 1-1/2 in.",
    "angle": "Give an angle such as 10 deg.",
    "time": "Give a time such as 12 min or 1.5 h.",
    "speed": "Give a speed such as 30 m/min or 100 ft/min.",
    "rotation": "Give a spindle speed such as 560 rpm.",
    "power": "Give a power such as 2.2 kW or 3 hp.",
    "roughness": "Give a roughness such as Ra 1.6 um or Ra 63 uin.",
    "number": "Give a plain number without a unit.",
    "hardness": "Give a hardness such as 150 HB or 28 HRC.",
}
_A = {
    "length": "a length",
    "angle": "an angle",
    "time": "a time",
    "speed": "a speed",
    "rotation": "a rotational speed",
    "power": "a power",
    "roughness": "a roughness",
    "number": "a plain number",
    "hardness": "a hardness",
}

SMALLEST_LENGTH = 0.001  # mm; what is smaller is a slip of the pen
SMALLEST_TOLERANCE = 0.0001  # mm; nobody measures less
SMOOTHEST = 0.001  # um; the best mirror that is polished
LARGEST_LENGTH = 100_000  # mm; what is larger is one too
# Sizes beyond which a quantity is a slip of the pen, in internal units with the words that say so.
_LARGEST = {
    "length": (LARGEST_LENGTH, "100 m"),
    "angle": (360, "360 deg"),
    "time": (1_000_000, "1,000,000 min"),
    "speed": (10_000, "10,000 m/min"),
    "rotation": (1_000_000, "1,000,000 rpm"),
    "power": (10_000, "10,000 kW"),
    "roughness": (1000, "1000 um"),
    "number": (10**12, "10^12"),
}
HARDEST = (3, 750)  # HB, from a soft plastic to the hardest steel
LONGEST_TEXT = 80

_ALIKE = str.maketrans(
    {
        **dict.fromkeys("−–—‐‑‒﹣－", "-"),
        **dict.fromkeys("×✕⨯", "x"),
        **dict.fromkeys("µμ", "u"),
        **dict.fromkeys("⁄∕", "/"),
        **dict.fromkeys("″”“„", '"'),
        **dict.fromkeys("′’‘", "'"),
        **dict.fromkeys("\u200b\u200e\u200f\ufeff", ""),
        "º": "°",
        "㎜": "mm",
    }
)
# One unsigned number: mixed (1-3/16, 1 3/16), fraction or decimal, always read whole. For text from `plain`.
NUMBER = (
    r"(?>(?:[1-9][0-9]*[- ][0-9]+/[0-9]+"
    r"|[0-9]+/[0-9]+"
    r"|[0-9]+\.(?![.0-9])"
    r"|[.,]?[0-9](?:[.,]?[0-9])*)(?![.,]?[0-9]))"
)
INCH_FRACTIONS = (1, 2, 4, 8, 16, 32, 64)  # denominators that rulers and drills have
_UNIT_EXPRESSION = re.compile(r"[A-Za-z_]+(?: ?[/*] ?[A-Za-z_]+){0,3}")


class Unreadable(ValueError):
    """Text that is no quantity: what is wrong with it, and what would be right. Callers add the field."""

    def __init__(self, problem: str, fix: str) -> None:
        self.problem = problem
        self.fix = fix
        super().__init__(f"{problem}. {fix}")


def shown(value: Any, longest: int = 60) -> str:
    """What somebody wrote, on one line and short enough for a message.

    >>> shown("40 mm"), shown(True), shown(" 1\\n2 ")
    ('40 mm', 'true', '1 2')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    try:
        text = str(value)
    except (ValueError, RecursionError):
        return f"a {type(value).__name__} too large to show"
    text = " ".join("".join(c if c.isprintable() or c.isspace() else "�" for c in text).split())
    return text if len(text) <= longest else text[: longest - 3] + "..."


# What a terminal acts on instead of showing it: controls but for the end of a line, and marks of the writing direction.
_ACTED_ON = dict.fromkeys(
    [
        *range(10),
        *range(11, 32),
        *range(127, 160),
        0x061C,
        0x200E,
        0x200F,
        *range(0x202A, 0x202F),
        *range(0x2066, 0x206A),
    ],
    "�",
)


def printable(text: str) -> str:
    """A text for a terminal, on which nothing in it acts.

    >>> printable("R6\x1b[31m\u202e")
    'R6�[31m�'
    """
    return text.translate(_ACTED_ON)


# How a character is written where only the plainest are to be had, and those that stand for a word.
_SIGNS = {
    "±": "+/-", "−": "-", "–": "-", "—": "-", "×": "x", "·": "*", "…": "...", "°": " deg", "⌀": "dia ", "µ": "u", "μ": "u",
    "²": "^2", "³": "^3", "⁴": "^4", "⁻": "^-", "½": "1/2", "¼": "1/4", "¾": "3/4", "≤": "<=", "≥": ">=", "≠": "!=",
    "≈": "~", "→": "->", "⌈": "ceil(", "⌉": ")", "⌊": "floor(", "⌋": ")", "′": "'", "’": "'", "‘": "'", "″": '"', "“": '"',
    "”": '"', "›": ">", "‹": "<", "█": "#", "│": "|", "─": "-", "├": "+", "└": "+", "�": "_", "€": "EUR", "£": "GBP",
}  # fmt: skip
_SIGN_WORDS = {"√": "sqrt", "∞": "infinity"}


def in_ascii(text: str) -> str:
    """A text in the plainest characters, for output that takes no others.

    >>> in_ascii("R6 ±0.1, 22½°"), in_ascii("v = πdn, √(a² + b₁)"), in_ascii("Müller ②")
    ('R6 +/-0.1, 22 1/2 deg', 'v = pi dn, sqrt(a^2 + b_1)', 'Muller 2')
    """
    if text.isascii():
        return text
    found: list[str] = []
    for character, after in zip(text, text[1:] + " ", strict=True):
        found.append(character if character.isascii() else _spelt(character, "".join(found[-1:]), after))
    return "".join(found)


def _spelt(character: str, before: str, after: str) -> str:
    """One character in plain ones, apart from what stands beside it where it is written as a word."""
    if character in _SIGNS:
        apart = " " if unicodedata.decomposition(character).startswith("<fraction>") and before[-1:].isdigit() else ""
        return apart + _SIGNS[character]
    name = unicodedata.name(character, "")
    word = _SIGN_WORDS.get(character) or (name.rpartition(" ")[2].lower() if name.startswith("GREEK ") else "")
    if word:
        return f"{' ' if before[-1:].isalnum() else ''}{word}{' ' if after.isalnum() else ''}"
    if "SUBSCRIPT" in name:
        return "_" + unicodedata.normalize("NFKD", character)
    plainer = unicodedata.normalize("NFKD", character).translate(_ALIKE)
    plainer = "".join(c for c in plainer.replace("\u0304", "bar") if not unicodedata.combining(c))
    return plainer if plainer.isascii() else plainer.encode("ascii", "backslashreplace").decode("ascii")


def plain(text: str) -> str:
    """Text with one kind of space, minus, slash, quote and multiplication sign, and vulgar fractions spelt out.

    >>> plain("R1⅜ ±0.1"), plain("2 × R6 −0.1"), plain("1½″")
    ('R1 3/8 ±0.1', '2 x R6 -0.1', '1 1/2 "')
    """
    spelt = []
    for character in text.translate(_ALIKE):
        if unicodedata.decomposition(character).startswith("<fraction>"):
            character = " " + unicodedata.normalize("NFKD", character).translate(_ALIKE) + " "
        spelt.append(character)
    return re.sub(r"(?<=[0-9]-) (?=[0-9]+/)", "", " ".join("".join(spelt).split()))


def number_value(chunk: str, *, length: bool = True) -> Fraction:
    """The exact value of one unsigned number in the form of NUMBER, as a fraction; Unreadable if it is ambiguous, and
    where a fraction of a length has a denominator that no rule or drill has (30/42 is two sizes).

    >>> number_value("1-3/16"), number_value("6,5"), number_value(".125")
    (Fraction(19, 16), Fraction(13, 2), Fraction(1, 8))
    """
    fraction = re.fullmatch(r"(?:([0-9]+)[- ])?([0-9]+)/([0-9]+)", chunk)
    if fraction:
        whole, above, below = fraction.groups()
        if int(below) == 0:
            raise Unreadable("divides by zero", "Give a fraction such as 3/8.")
        if whole and int(above) >= int(below):
            raise Unreadable(
                f"joins {whole} to {above}/{below}, which is not a proper fraction",
                "Give a whole number and a proper fraction, such as 1-3/16.",
            )
        if length and int(below) not in INCH_FRACTIONS:
            raise Unreadable(
                f"has {above}/{below}, which is no fraction of an inch",
                "A fraction has 2, 4, 8, 16, 32 or 64 below the line; write two sizes one by one.",
            )
        return int(whole or 0) + Fraction(int(above), int(below))
    marks = [c for c in chunk.rstrip(".") if c in ".,"]
    if len(marks) > 1:
        raise Unreadable(
            "has more than one decimal mark", "Write it with one decimal point and nothing between thousands."
        )
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", chunk):
        raise Unreadable(
            f"could be {chunk.replace(',', '')} or {chunk.replace(',', '.')}",
            "Write a decimal point, and nothing between thousands.",
        )
    return Fraction(chunk.replace(",", "."))


def unit_factor(word: str, dimension: str) -> Fraction:
    """How many internal units one of this unit is, as a fraction; Unreadable if it does not measure that.

    >>> unit_factor("in", "length"), unit_factor("ft/min", "speed")
    (Fraction(127, 5), Fraction(381, 1250))
    """
    spelling = word.lower().removesuffix(".")
    if spelling in FACTORS[dimension]:
        return FACTORS[dimension][spelling]
    for other, table in FACTORS.items():
        if spelling in table and other not in (dimension, "roughness"):
            raise Unreadable(f"is {_A[other]}, not {_A[dimension]}", _EXAMPLES[dimension])
    if _UNIT_EXPRESSION.fullmatch(word) and len(word) <= 30:
        return _library_factor(word, dimension)
    raise _unknown_unit(word, dimension)


def _unknown_unit(word: str, dimension: str) -> Unreadable:
    if dimension == "number":
        return Unreadable(f'has "{shown(word)}" behind the number', _EXAMPLES["number"])
    hint = did_you_mean(word, list(FACTORS[dimension]))
    return Unreadable(f'has the unknown unit "{shown(word)}"', hint + _EXAMPLES[dimension])


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry:
    import pint

    return pint.UnitRegistry()


_KINDS = {
    "a length": "mm",
    "an area": "mm**2",
    "a volume": "mm**3",
    "a mass": "kg",
    "a time": "min",
    "a speed": "m/min",
    "a force": "N",
    "a pressure": "MPa",
    "an energy": "J",
    "a power": "kW",
    "a temperature": "kelvin",
    "a frequency": "1/min",
    "a current": "A",
    "a voltage": "V",
}


def _library_factor(word: str, dimension: str) -> Fraction:
    registry = _registry()
    try:
        unit = registry.parse_units(word)
        kind = next((a for a, known in _KINDS.items() if unit.is_compatible_with(known)), None)
        convertible = kind == _A[dimension] or (dimension, kind) == ("roughness", "a length")
        factor = registry.Quantity(1, unit).to(INTERNAL[dimension]).magnitude if convertible else None
    except Exception as problem:  # the library's parser lets many kinds of error out, and none of its words may
        raise _unknown_unit(word, dimension) from problem
    # Angles and rotations come from the table alone: to the library a radian, a per cent and a plain 1 are alike.
    if factor is None and kind is None:
        raise _unknown_unit(word, dimension)
    if factor is None:
        raise Unreadable(f"is {kind}, not {_A[dimension]}", _EXAMPLES[dimension])
    return Fraction(factor)


def number_and_unit(text: Any, dimension: str) -> tuple[Fraction, str]:
    """Split a quantity into its exact signed number and its unit word ('' where there is none).

    text: str, int or float. Raises Unreadable.

    >>> number_and_unit("-1 1/2in", "length"), number_and_unit(2.5, "length")
    ((Fraction(-3, 2), 'in'), (Fraction(5, 2), ''))
    """
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise Unreadable(f"is not {_A[dimension]}", _EXAMPLES[dimension])
    if not isinstance(text, str):
        if not math.isfinite(text) if isinstance(text, float) else text.bit_length() > 400:
            raise Unreadable("is not a number that can be used", _EXAMPLES[dimension])
        return Fraction(str(text)), ""
    if len(text) > LONGEST_TEXT:
        raise Unreadable(f"is too long to be {_A[dimension]}", _EXAMPLES[dimension])
    words = plain(text)
    if not words:
        raise Unreadable("nothing is written", _EXAMPLES[dimension])
    found = re.match(rf"([+-]?) ?({NUMBER}) ?", words)
    if not found:
        raise Unreadable(f"is not {_A[dimension]}", _EXAMPLES[dimension])
    value = number_value(found[2], length=dimension == "length")
    rest = words[found.end() :]
    if rest[:1] in set("0123456789.,+-±") and rest not in FACTORS.get(dimension, ()):
        raise Unreadable(f"is not {_A[dimension]}", _EXAMPLES[dimension])
    return (-value if found[1] == "-" else value), rest


def read_quantity(
    text: Any,
    *,
    field: object,
    dimension: str,
    default_unit: str | None = None,
    error: type[InputError] = CalloutError,
    positive: bool = False,
    at_least: float | None = None,
    at_most: float | None = None,
) -> Any:
    """A quantity in the program's own unit of its dimension (see INTERNAL), as a float.

    text: str, int or float, with or without a unit; field: name for the message; dimension: a key of INTERNAL, or
    "hardness" (then the result is that of `read_hardness`); default_unit: unit of a bare number, the internal one
    unless stated; error: class of InputError to raise; positive: refuse zero and less; at_least, at_most: bounds in
    the internal unit. Every dimension also has a size above which it is refused: lengths over 100 m.

    >>> read_quantity("1-1/2 in", field="diameter", dimension="length")
    38.1
    >>> read_quantity("3/8", field="width", dimension="length", default_unit="in")
    9.525
    >>> read_quantity("3 kg", field="width", dimension="length")
    Traceback (most recent call last):
    advisor.ground.errors.CalloutError: width: 3 kg is a mass, not a length. Give a length such as 40 mm or 1-1/2 in.
    """
    if dimension == "hardness":
        return read_hardness(text, field=field, error=error)
    try:
        written, share = _roughness(text) if dimension == "roughness" else (text, 1)
        number, word = number_and_unit(written, dimension)
        word = word or default_unit or INTERNAL[dimension]
        factor = (unit_factor(word, dimension) if word else 1) * share
        largest, in_words = _LARGEST[dimension]
        if abs(number * factor) > largest:
            raise Unreadable(f"is beyond {in_words}", _EXAMPLES[dimension])
        value = float(number * factor)
        if positive and value <= 0:
            raise Unreadable("is not more than zero", _EXAMPLES[dimension])
        if at_least is not None and value < at_least:
            limit = f"{float(at_least / factor):.6g} {word}".strip()
            raise Unreadable(f"is less than {limit}", f"Give at least {limit}.")
        if at_most is not None and value > at_most:
            limit = f"{float(at_most / factor):.6g} {word}".strip()
            raise Unreadable(f"is more than {limit}", f"Give at most {limit}.")
        return value
    except Unreadable as wrong:
        raise _input_error(error, field, text, wrong) from None


def _input_error(error: type[InputError], field: object, text: Any, wrong: Unreadable) -> InputError:
    return error(field, shown(text), wrong.problem, wrong.fix)


# Grades of roughness N1 to N12 and their Ra [um]. Source: ISO 1302:1992 annex, from memory.
N_GRADES = (0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50)
RMS_PER_RA = 1.11  # of a sine: what asme-b46-1 gives for instruments that average by squares, from memory


def _roughness(text: Any) -> tuple[str, int | Fraction]:
    """A roughness as (text of the number with its unit, share of Ra in it): Ra, AA, CLA, RMS or a grade N1 to N12."""
    if not isinstance(text, str):
        return text, 1
    words = " ".join(text[: LONGEST_TEXT + 1].split())
    if found := re.fullmatch(r"(?i)n ?([0-9]{1,2})", words):
        if not 1 <= int(found[1]) <= len(N_GRADES):
            raise Unreadable("is no grade of roughness", "Give N1 to N12, or a roughness such as Ra 1.6 um.")
        return f"{N_GRADES[int(found[1]) - 1]} um", 1
    if re.match(r"(?i)(rz|rt|ry|rmax)", words) or re.search(r"(?i)(rz|rt|ry|rmax)$", words):
        raise Unreadable("is not a roughness Ra", _EXAMPLES["roughness"])
    squares = re.search(r"(?i)^(rms|rq)\b|\b(rms|rq)$", words)
    american = re.search(r"(?i)^(rms|aa)\b|\b(rms|aa)$", words)
    words = re.sub(r"(?i)^(?:ra|aa|cla|rms|rq)\s*[:=]?\s*|\s*\b(?:ra|aa|cla|rms|rq)$", "", words)
    if american and re.fullmatch(r"[0-9.,]+", words):
        words += " uin"  # RMS and AA are the marks of drawings in inches
    return words, 1 / Fraction(str(RMS_PER_RA)) if squares else 1


@lru_cache(maxsize=1)
def _scales() -> tuple[dict[str, str], dict[str, tuple[int, int]]]:
    """Every way to write a scale of hardness -> its name, and the least and most that each scale takes."""
    tables = {name: table for name, table in rule_tables("hardness.toml").items() if isinstance(table, dict)}
    words = {word: name for name, table in tables.items() for word in table["written"]}
    ranges = {name: (table["reads"][0], table["reads"][-1]) for name, table in tables.items() if "reads" in table}
    return words | {"": "HB"}, ranges | {"HB": HARDEST}


def hardness_limits(text: Any, *, field: object, error: type[InputError] = CalloutError) -> tuple[float, float, str]:
    """A hardness as (least, most, scale): one number twice, or the two of a range such as 28-32 HRC.

    Scales are those of rules/hardness.toml; a bare number is HB. MAX and MIN behind it change nothing: the number is
    the hardness that is worked with.

    >>> hardness_limits("28-32 HRC", field="hardness"), hardness_limits("HRB 95 max", field="hardness")
    ((28.0, 32.0, 'HRC'), (95.0, 95.0, 'HRB'))
    """
    words, ranges = _scales()
    try:
        numbers, word = _hardness_parts(text)
        scale = words.get(word)
        if scale is None:
            raise Unreadable(f'has the unknown hardness scale "{shown(word)}"', _EXAMPLES["hardness"])
        low, high = ranges[scale]
        for number in numbers:
            if not low <= number <= high:
                raise Unreadable(
                    f"lies outside {low} to {high} {scale}", f"Give a hardness from {low} to {high} {scale}."
                )
        if numbers[0] > numbers[-1]:
            raise Unreadable("has the larger hardness first", "Give a range such as 28-32 HRC.")
        return float(numbers[0]), float(numbers[-1]), scale
    except Unreadable as wrong:
        raise _input_error(error, field, text, wrong) from None


_HARDNESS = re.compile(
    rf"({NUMBER}) ?(?:(?:-|/|to) ?({NUMBER}))? ?(?:(hbw?) ?(?:10/3000|2\.5/187\.5))?([a-z][a-z0-9 /]*?)?\.?(?: ?(?:max|min)\.?)?"
)


def _hardness_parts(text: Any) -> tuple[list[Fraction], str]:
    """The number or numbers of a hardness, and the word of its scale."""
    if not isinstance(text, str):
        number, word = number_and_unit(text, "hardness")
        return [number], word
    if len(text) > LONGEST_TEXT:
        raise Unreadable("is too long to be a hardness", _EXAMPLES["hardness"])
    words = re.sub(r"^([a-z ]*[0-9]{2,3})/([0-9]{2,3})(?![0-9/])", r"\1-\2", plain(text).lower())
    turned = re.sub(r"^([a-z][a-z0-9 ]*?)[.:= ]*([0-9.,].*)$", r"\2 \1", words)
    turned = re.sub(r" (max|min)\.? ([a-z].*)$", r" \2 \1", turned)
    found = _HARDNESS.fullmatch(turned)
    if not found:
        number, word = number_and_unit(turned, "hardness")
        return [number], word.lower()
    numbers = [number_value(chunk) for chunk in found.groups()[:2] if chunk]
    return numbers, (found[3] or found[4] or "").strip()


def read_hardness(text: Any, *, field: object, error: type[InputError] = CalloutError) -> tuple[float, str]:
    """A hardness as (value, scale), of a range its middle. Scales and their ranges: rules/hardness.toml.

    >>> read_hardness("150 HB", field="hardness"), read_hardness("28-32 HRC", field="hardness")
    ((150.0, 'HB'), (30.0, 'HRC'))
    """
    low, high, scale = hardness_limits(text, field=field, error=error)
    return (low + high) / 2, scale


def nearest_fraction(inch: float, denominator: int = 64) -> str:
    """The nearest fraction of an inch as it is spoken, with the stated or a smaller denominator.

    >>> nearest_fraction(1.1875), nearest_fraction(0.376), nearest_fraction(0.376, 8), nearest_fraction(2.0)
    ('1-3/16', '3/8', '3/8', '2')
    """
    if not math.isfinite(inch):
        return "unknown"
    nearest = Fraction(round(Fraction(inch) * denominator), denominator)
    sign = "-" if nearest < 0 else ""
    whole, part = divmod(abs(nearest), 1)
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole}-{part}" if whole else f"{sign}{part}"


def show_length(mm: float, units: str, *, fraction_within: float = 1e-6) -> str:
    """A length as a drawing in these units shows it.

    mm: length [mm]; units: "mm" (up to three decimals, as many as it takes) or "inch" (four decimals, no leading
    zero, and the nearest 64th where the length lies within `fraction_within` [in] of it). Six decimals where it is
    smaller than that.

    >>> show_length(6.35, "inch"), show_length(38.0, "inch"), show_length(6.35, "mm"), show_length(40.0, "mm")
    ('.2500 in (1/4)', '1.4961 in', '6.35 mm', '40 mm')
    >>> show_length(0.0001, "mm"), show_length(0.0, "inch"), show_length(-1e-9, "mm")
    ('0.0001 mm', '0 in', '0 mm')
    """
    if not math.isfinite(mm):
        return "unknown"
    inch = mm / INCH
    size, digits, unit = (abs(mm), 3, "mm") if units == "mm" else (abs(inch), 4, "in")
    text = f"{size:.{digits}f}"
    if not float(text):
        text = f"{size:.6f}".rstrip("0").rstrip(".")  # too small for the usual digits, and still not nothing
        if not float(text):
            return f"0 {unit}"
        return f"{'-' if mm < 0 else ''}{text.removeprefix('0') if unit == 'in' else text} {unit}"
    sign = "-" if mm < 0 else ""
    if units == "mm":
        return f"{sign}{text.rstrip('0').rstrip('.')} mm"
    decimal = f"{sign}{text.removeprefix('0')} in"
    fraction = nearest_fraction(inch)
    off = abs(Fraction(inch) * 64 - round(Fraction(inch) * 64)) / 64
    return f"{decimal} ({fraction})" if "/" in fraction and off <= fraction_within else decimal
