"""What stands at a radius, taken apart: `(2X) .250 R MAX`, `SØ 1.250 REF`, `R.5 [12.7] FILLET` -> Written.

Words come from rules/callouts.toml. Nothing is decided here that takes the drawing's unit or its title block.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground.errors import did_you_mean
from advisor.ground.folders import rule_tables
from advisor.ground.units import (
    FACTORS,
    LONGEST_TEXT,
    NUMBER,
    Unreadable,
    number_and_unit,
    number_value,
    plain,
    unit_factor,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from re import Match, Pattern
    from typing import Any


MOST = 1_000_000
MOST_PLACES = 10_000  # on one piece
EXAMPLES = "Write it like R6 ±0.1, R1-3/16, R5.5 +0.2/-0, R5.8-6.2 or R2 MAX."
# What a size without a unit looks like, and the unit of one that has it: bits, so that those of many sizes add up.
MM, INCH, BARE, POINT, FRACTION, LARGE = 1, 2, 4, 8, 16, 32
LARGE_IN_INCHES = 6  # a bare size from which it is doubtful that it is in inches, since few bars are so thick

_UNIT = "|".join(sorted(map(re.escape, FACTORS["length"]), key=len, reverse=True))
_SIZE = rf"({NUMBER}) ?(?:({_UNIT})(?![a-z])(?:\.(?![0-9]))?)? ?"
# What may follow the first size. Each further size stands as three groups: sign, number, unit.
_TAILS = {
    "general": re.compile(""),
    "equal": re.compile(rf"(?:±|\+ ?/ ?-|\+-)() ?{_SIZE}"),
    "unequal": re.compile(rf"([+-]?) ?{_SIZE}[,/;]? ?([+-]?) ?{_SIZE}"),
    "slashed limits": re.compile(rf"/() ?{_SIZE}"),
    "limits": re.compile(rf"(?:to|\.\.\.?)() ?{_SIZE}"),
    "ascending limits": re.compile(rf"-() ?{_SIZE}"),
}
_TWO = re.compile(rf"{_SIZE}(?:[-/,;]|to)? ?{_SIZE}")
_ONE_DEVIATION = re.compile(rf"[+-] ?{_SIZE}")
_LETTERS = re.compile(r"[^\W\d_]+")
_GAP = "\x1f"  # where a word was taken out, so that the numbers beside it do not run together
_JOINS = ("±", "+", "-", "/", "to ", "...", "..")
_COUNTS = (
    re.compile(
        r"(?<![\w.,/-])([0-9]+) ?(?:x(?=[ \x1f]|$|[scrø])|(?:places?|plcs?|pls?|posns?|positions?)(?![a-z])\.?)"
    ),
    re.compile(r"(?<![\w.])x([0-9]{1,2})(?![0-9.,/°])"),
)
_SPHERICAL = r"(?:spherical|spher|sph)\.?"
_SYMBOL_PATTERNS = (
    ("SØ", rf"(?:{_SPHERICAL} ?|s\.? ?)(?:ø|(?:diameter|diam|dia)(?![a-z])\.?)|so(?= ?[.0-9])"),
    ("SR", rf"(?:{_SPHERICAL} ?(?:radius|rad|r)|s\.? ?r)(?![a-z])(?:\.(?![0-9]))? ?[=:]?"),
    ("CR", r"(?:controlled (?:radius|rad|r)|control radius|c\.? ?r)(?![a-z])(?:\.(?![0-9]))? ?[=:]?"),
    ("R", r"(?:radius|radii|rad|r)(?![a-z])(?:\.(?![0-9]))? ?[=:]?"),
)
_SYMBOLS = tuple((symbol, re.compile(rf"(?<![a-z])(?:{pattern})")) for symbol, pattern in _SYMBOL_PATTERNS)
_DIAMETER = re.compile(r"ø|(?<![a-z])dia(?:m|meter)?(?![a-z])")
_PROFILE = re.compile(rf"(?<![a-z])profile(?: of (?:a )?(?:surface|line))?:? ?{_SIZE}(?:(?: ?[a-h](?![a-z]))*)")
_ALIKE = str.maketrans({**dict.fromkeys("⌀∅φϕф", "ø"), **dict.fromkeys("⌓⌒", " profile "), "|": " ", "≤": " max "})


class Size(NamedTuple):
    """A size as written: sign ("", "+", "-"), number, unit ("" where none is written)."""

    sign: str
    number: str
    unit: str

    @property
    def value(self) -> Fraction:
        """In its own unit, exactly."""
        value = number_value(self.number)
        return -value if self.sign == "-" else value


class Shape(NamedTuple):
    """A word that gives form or location or both, None where it gives none."""

    word: str
    form: str | None
    location: str | None


class Written(NamedTuple):
    """The parts of what stands at a radius.

    symbol: R, CR or SR; diameter: whether the size is that of the sphere's diameter; count: places, None where not
    written; size: None where R stands without a number; tail: of _TAILS, "max" or "min"; others: the sizes of the tail;
    unit: the written unit of the first size, "" where there is none; meanings: names of rules/callouts.toml;
    shapes: Shape of each word that gives one; profile: tolerance of a profile frame, or None; second: whether the size
    stands there in both units.
    """

    symbol: str
    diameter: bool
    count: int | None  # type: ignore[assignment]  # a tuple counts, which nobody asks of this one
    size: Size | None
    tail: str
    others: tuple
    unit: str
    meanings: frozenset
    shapes: tuple
    profile: Size | None
    second: bool


@lru_cache(maxsize=1)
def _words() -> tuple[list[tuple[list[Any], str]], frozenset[str]]:
    """Words and what each stands for, longest first in each kind: counts, meanings, shapes.

    Each as (pattern, the runs of letters in it, what it stands for); and every such run.
    """
    data = rule_tables("callouts.toml")
    counts = [(word, row["count"]) for row in data["count"] for word in row["written"]]
    meanings = [(word, name) for name, row in data["meaning"].items() for word in row["written"]]
    shapes = [(shape.word, shape) for shape in shapes_known()]
    kinds = [(_patterns(words), kind) for words, kind in ((counts, "count"), (meanings, "meaning"), (shapes, "shape"))]
    return kinds, frozenset().union(*(runs for patterns, _ in kinds for _, runs, _ in patterns))


def _patterns(
    words: Sequence[tuple[str, int | Shape | str]],
) -> list[tuple[Pattern[str], frozenset[str], int | Shape | str]]:
    words = sorted(words, key=lambda pair: -len(pair[0]))
    return [
        (re.compile(rf"(?<![a-z]){re.escape(word)}(?![a-z])(?:\.(?![0-9]))?"), frozenset(_LETTERS.findall(word)), what)
        for word, what in words
    ]


@lru_cache(maxsize=1)
def shapes_known() -> list[Shape]:
    """Every word that gives form or location or both: list of Shape."""
    rows = rule_tables("callouts.toml")["shape"]
    alone = [Shape(word, row.get("form"), row.get("location")) for row in rows for word in row["written"]]
    taken = {shape.word for shape in alone}
    return alone + [shape for shape in _both_at_once() if shape.word not in taken]


def _both_at_once() -> Iterator[Shape]:
    for meant, words in rule_tables("headings.toml")["cells"]["shape"].items():
        form, _, location = meant.partition(" ")
        yield from (Shape(word, form, location) for word in words)


def whole_shapes() -> list[str]:
    """The words that give form and location, one for each."""
    own: dict[tuple[str | None, str | None], str] = {}
    for shape in _both_at_once():
        own.setdefault((shape.form, shape.location), shape.word)
    return list(own.values())


def known_words() -> list[str]:
    """Every word that may stand at a radius."""
    data = rule_tables("callouts.toml")
    meanings = [word for row in data["meaning"].values() for word in row["written"]]
    return [*meanings, *(shape.word for shape in shapes_known())]


def synonyms(side: str) -> dict[str, tuple[str, ...]]:
    """Words that give a "form" or a "location" and nothing else: its own name -> the others."""
    rows = rule_tables("callouts.toml")["shape"]
    return {own: tuple(others) for own, *others in (row["written"] for row in rows if side in row)}


@lru_cache(maxsize=1)
def _fillers() -> Pattern[str]:
    return re.compile(rf"(?<![a-z])(?:{'|'.join(rule_tables('callouts.toml')['filler']['written'])})(?![a-z])")


@lru_cache(maxsize=4096)
def _parsed(text: str) -> Written | tuple[str, str]:
    try:
        return _taken_apart(text)
    except Unreadable as wrong:
        return wrong.problem, wrong.fix


def parse(text: str) -> Written:
    """What stands at a radius -> Written. text: str or a plain number. Raises Unreadable.

    >>> written = parse("2X .250 R MAX")
    >>> written.count, written.symbol, written.size.number, written.tail
    (2, 'R', '.250', 'max')
    """
    if isinstance(text, (int, float)) and not isinstance(text, bool):
        number_and_unit(text, "length")
        text = str(text)
    if not isinstance(text, str):
        raise Unreadable("is no radius", EXAMPLES)
    if len(text) > LONGEST_TEXT:
        raise Unreadable("is too long to be a radius", EXAMPLES)
    found = _parsed(text)
    if not isinstance(found, Written):
        raise Unreadable(*found)
    return found


def _taken_apart(text: str) -> Written:
    rest = " ".join(plain(text).lower().translate(_ALIKE).replace("<=", " max ").split())
    if not rest:
        raise Unreadable("nothing is written", EXAMPLES)
    meanings: set[str] = set()
    shapes: list[Shape] = []
    counts: list[int] = []
    rest, framed = _cut(rest, _PROFILE)
    profile: Size | None = None
    rest, second = _brackets(rest, meanings)
    if framed:
        meanings.add("basic")
        profile = Size("", framed[1], framed[2] or "")
    kinds, runs = _words()
    there = set(_LETTERS.findall(rest))
    for patterns, kind in kinds if there & runs else ():
        for pattern, needed, what in patterns:
            if needed <= there:
                rest, found = _cut(rest, pattern)
                if found:
                    keep: Any = {
                        "count": counts.append,
                        "meaning": meanings.add,
                        "shape": shapes.append,
                    }[kind]
                    keep(what)
    for pattern in _COUNTS:
        while True:
            rest, found = _cut(rest, pattern)
            if not found:
                break
            counts.append(int(found[1]))
    symbols = set()
    for symbol, pattern in _SYMBOLS:
        while True:
            rest, found = _cut(rest, pattern)
            if not found:
                break
            symbols.add(symbol)
    if _DIAMETER.search(rest):
        raise Unreadable("is a diameter", "Give the radius, half of it.")
    tied = bool(symbols) or "full" in meanings
    symbols -= {"R"}
    if len(symbols) > 1:
        raise Unreadable("has signs that do not go together", EXAMPLES)
    symbol = next(iter(symbols), "R")
    diameter = symbol == "SØ"
    rest = _fillers().sub(_GAP, rest)
    size, tail, others = _sizes(rest, meanings)
    if size is None and not tied:
        raise Unreadable("is no radius", EXAMPLES)
    if second is None and size is not None and tail == "slashed limits" and _same(size, others[0]):
        second, tail, others = others[0], "general", []
    return Written(
        symbol="SR" if diameter else symbol,
        diameter=diameter,
        count=_count(counts),
        size=size,
        tail=tail,
        others=tuple(others),
        unit=_unit(size, others, second),
        meanings=frozenset(meanings),
        shapes=tuple(dict.fromkeys(shapes)),
        profile=profile,
        second=second is not None,
    )


def _cut(text: str, pattern: Pattern[str]) -> tuple[str, Match[str] | None]:
    """The text with the first match taken out, and the match or None."""
    found = pattern.search(text)
    return (text[: found.start()] + _GAP + text[found.end() :], found) if found else (text, None)


def _brackets(rest: str, meanings: set[str]) -> tuple[str, Size | None]:
    """The text without its brackets, and the size in a second unit that stood in one.

    Brackets round the size itself make it a reference size, square ones (a box) a basic one.
    """
    second: Size | None = None
    while found := re.search(r"\(([^()\[\]]*)\)|\[([^()\[\]]*)\]", rest):
        inside = (found[1] if found[1] is not None else found[2]).strip()
        before, after = rest[: found.start()], rest[found.end() :]
        outside = before + _GAP + after
        alone = _without_counts(inside)
        if not re.search("[0-9]", alone) or inside[:1] in "±+-":
            pass
        elif re.search("[0-9]", _without_counts(outside)):
            if second is not None:
                raise Unreadable("has two sizes in brackets", "Write one size, such as R12.7 (.500).")
            other = _taken_apart(inside)
            second, inside = other.size, ""
        else:
            meanings.add("reference" if found[1] is not None else "basic")
        rest = f"{before}{_GAP}{inside}{_GAP}{after}"
    return rest, second


def _without_counts(text: str) -> str:
    for pattern in _COUNTS:
        text = pattern.sub(_GAP, text)
    return text


def _count(counts: Sequence[int]) -> int | None:
    if len(counts) > 1:
        raise Unreadable("states the number of places twice", "State it once, such as 2X R3.")
    count = counts[0] if counts else None
    if count is not None and not 1 <= count <= MOST:
        raise Unreadable(f"is for {count} places", f"Give a count from 1 to {MOST:,}.")
    return count


def _sizes(rest: str, meanings: set[str]) -> tuple[Size | None, str, list[Size]]:
    """First size, tail and its sizes of what is left when all words are taken out."""
    pieces = [piece.strip() for piece in rest.split(_GAP)]
    pieces = [piece for piece in pieces if piece and piece not in list(",;:=-.") + ["- "]]
    text = ""
    for piece in pieces:
        if text and not piece.startswith(_JOINS) and not text.endswith(("±", "+", "-", "/", " to", "..")):
            piece = f"{_GAP}{piece}"
        text = f"{text} {piece}" if text else piece
    text = text.strip(" ,;:=")
    limits = {"max", "min"} & meanings
    if not text:
        if limits:
            raise Unreadable("is no radius: it has no size", EXAMPLES)
        return None, "full", []
    if len(limits) == 2:
        found = _TWO.fullmatch(text.replace(_GAP, "").replace("  ", " "))
        if not found or _GAP in (found[1] or "") or found[3] is None:
            raise Unreadable("has MAX and MIN, but not two sizes", "Write both limits, such as R5.8-6.2.")
        first, other = Size("", found[1], found[2] or ""), Size("", found[3], found[4] or "")
        return first, "limits", [other]
    if unknown := re.search(r"[^\W\d_]{2,}", re.sub(rf"{_SIZE}|(?<![a-z])to(?![a-z])", " ", text)):
        near = did_you_mean(unknown[0], known_words())
        raise Unreadable(f'is no radius: the word "{unknown[0]}" is not known here', near + EXAMPLES)
    first = re.match(_SIZE, text)
    if not first:
        raise Unreadable("is no radius", EXAMPLES)
    tail, others = _tail(text[first.end() :])
    if limits and tail != "general":
        word = next(iter(limits)).upper()
        raise Unreadable(f"has {word} and a tolerance", f"Leave {word} out, or write it alone, such as R2 {word}.")
    return Size("", first[1], first[2] or ""), next(iter(limits), tail), others


def _tail(rest: str) -> tuple[str, list[Size]]:
    """Which of _TAILS follows the first size, and its sizes."""
    if _GAP in rest:
        raise Unreadable("is no radius: nothing joins its two sizes", EXAMPLES)
    for name, pattern in _TAILS.items():
        if found := pattern.fullmatch(rest):
            groups = [group or "" for group in found.groups()]
            sizes = [Size(*parts) for parts in zip(groups[0::3], groups[1::3], groups[2::3], strict=True)]
            if name != "unequal" or all(size.sign or size.value == 0 for size in sizes):
                return name, sizes
    if _ONE_DEVIATION.fullmatch(rest):
        raise Unreadable("gives one deviation only", "Give both, such as R6 +0.2/-0.")
    raise Unreadable("is no radius", EXAMPLES)


def family(unit: str) -> str:
    """ "mm" or "inch", the unit of a drawing that a unit word names; '' for any other unit of length."""
    if unit == "thou":
        return "inch"
    return {Fraction(1): "mm", Fraction(127, 5): "inch"}.get(unit_factor(unit, "length"), "")


def _unit(size: Size | None, others: Sequence[Size], second: Size | None) -> str:
    """The unit of the first size, '' where none is written anywhere."""
    if size is None:
        return ""
    own = size.unit or next(
        ({"mm": "mm", "inch": "in"}[family(o.unit)] for o in others if o.unit and family(o.unit)), ""
    )
    if second is None:
        if own and not family(own):
            raise Unreadable(f"is in {own}", "Give the radius in mm or in.")
        return own
    found = _same(size, second)
    if not found or (own and family(own) != family(found)):
        raise Unreadable("gives two sizes that are not the same in inches and mm", "Write one of them, with its unit.")
    return own or found


def _same(size: Size, other: Size) -> str:
    """The unit of a size ("mm" or "in") that `other` repeats in the other unit, as nearly as its decimals tell; ''."""
    for unit, factor in (("in", Fraction(127, 5)), ("mm", Fraction(5, 127))):
        if size.unit and family(size.unit) != family(unit) or other.unit and family(other.unit) == family(unit):
            continue
        if size.unit == "thou" or other.unit == "thou":
            continue
        off = abs(size.value * factor - other.value)
        rounded = min(_half_a_digit(size) * factor, other.value / 200)  # one of them is the other, rounded
        if size.value and off <= max(_half_a_digit(other), rounded):
            return unit
    return ""


def _half_a_digit(size: Size) -> Fraction:
    """Half of the last decimal that is written: what rounding may have left. Nothing for a fraction."""
    return Fraction(0) if "/" in size.number else Fraction(1, 2 * 10 ** decimals(size.number))


def decimals(number: str) -> int:
    """How many decimals a number is written with.

    >>> decimals(".250"), decimals("6,5"), decimals("6"), decimals("6.")
    (3, 1, 0, 0)
    """
    mark = re.search(r"[.,]([0-9]*)", number)
    return len(mark[1]) if mark else 0


# ---- which unit a size without one is in

_PLAIN = re.compile(
    r"(R ?)?([0-9]{1,6}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})(?(1)(?: ?± ?(?:[0-9]{1,6}(?:\.[0-9]{1,6})?|\.[0-9]{1,6}))?)(?: (mm|in))?"
)


def evidence(text: str, *, radius: bool = False) -> int:
    """What a size tells of the drawing's unit: bits MM and INCH for a unit, and how a bare number is written; LARGE
    beside BARE where it is LARGE_IN_INCHES or more.

    A point without a nought before it and a fraction are how inch drawings write (asme-y14-5: no zero before the
    point of an inch size, one before that of a millimetre size). 0 where nothing can be read.
    """
    plain = _PLAIN.fullmatch(text) if isinstance(text, str) else None
    try:
        if plain and bool(plain[1]) == radius:  # most sizes of a long list: the same, and quicker
            number, unit = plain[2], plain[3] or ""
        elif radius:
            written = parse(text)
            number, unit = (written.size.number if written.size else None), written.unit
        else:
            number, unit = _length(text)
        size = 0 if number is None else float(number) if plain else number_value(number)
    except Unreadable:
        return 0
    if unit:
        return {"mm": MM, "inch": INCH}.get(family(unit), 0)
    if number is None:
        return 0
    bare = BARE | LARGE if size >= LARGE_IN_INCHES else BARE
    return FRACTION if "/" in number else POINT if number.startswith((".", ",")) else bare


def mm_writing(radius: Any) -> str:
    """How a bare radius is written as only drawings in mm write: "comma", "nought" before the point with one or two
    decimals (asme-y14-5), or ''.

    >>> mm_writing("R12,5"), mm_writing("R0.4"), mm_writing("R0.250"), mm_writing("R.4"), mm_writing("R0.4 in")
    ('comma', 'nought', '', '', '')
    """
    try:
        written = parse(radius)
    except (Unreadable, TypeError, AttributeError):
        return ""
    number = "" if written.size is None or written.unit else written.size.number
    if re.fullmatch("[0-9]+,[0-9]{1,2}", number):
        return "comma"
    return "nought" if re.fullmatch("0[.][0-9]{1,2}", number) else ""


def whole_number(text: Any, *, radius: bool = False, above: int = 0) -> bool:
    """Whether a size is a bare whole number above another: nothing in it says of which unit."""
    try:
        size = parse(text).size if radius else None
        number, unit = (size.number, parse(text).unit) if size else (None, "") if radius else _length(text)
        if not radius and isinstance(text, (int, float)):
            number = f"{text:g}"
    except (Unreadable, TypeError, AttributeError):
        return False
    return number is not None and not unit and re.fullmatch("[0-9]{1,6}", number) is not None and int(number) > above


def _length(text: Any) -> tuple[str | None, str]:
    """Number as written and unit word of a length."""
    if not isinstance(text, str):
        if isinstance(text, bool) or not isinstance(text, (int, float)):
            return None, ""
        return (f"{abs(text):.6f}" if abs(text) < 1e9 else "0"), ""
    if len(text) > LONGEST_TEXT:
        return None, ""
    found = re.fullmatch(rf"[+-]? ?({NUMBER}) ?(.*)", plain(text).lower())
    if not found:
        return None, ""
    unit = (
        found[2].removesuffix(".") if found[2] in FACTORS["length"] or found[2][:-1] in FACTORS["length"] else found[2]
    )
    return (found[1], unit) if not unit or unit in FACTORS["length"] else (None, "")


def decided(bits: int, shop_units: str | None) -> tuple[str | None, str]:
    """The unit of sizes without one, and why, from the evidence of all sizes: (unit or None, reason).

    bits: from `evidence`, those of all sizes together; shop_units: "mm" | "inch", None where no shop is chosen.
    Reasons: "shop", "elsewhere" (a unit that stands elsewhere in the callout), "inch writing", "none", "marked"
    (every size has its unit), and None for the unit where it has to be asked: "mixed".

    >>> decided(MM | BARE, None), decided(INCH | BARE, None), decided(POINT, None), decided(BARE, "inch")
    (('mm', 'elsewhere'), (None, 'mixed'), ('inch', 'inch writing'), ('inch', 'shop'))
    """
    marks, bare = bits & (MM | INCH), bits & (BARE | POINT | FRACTION)
    if not bare:
        return None if marks == MM | INCH else {MM: "mm", INCH: "inch", 0: shop_units}[marks], "marked"
    if shop_units:
        strange = marks & ~{"mm": MM, "inch": INCH}[shop_units] or (shop_units == "mm" and bare & FRACTION)
        return (None, "mixed") if strange else (shop_units, "shop")
    if marks == MM | INCH or (marks == INCH and bare & BARE) or (marks == MM and bare & FRACTION):
        return None, "mixed"
    if bits & LARGE and bare & (POINT | FRACTION) and not marks:  # R1/4 on a bar of 12: of 12 in?
        return None, "mixed"
    if marks:
        return ("inch", "elsewhere") if marks == INCH else ("mm", "elsewhere")
    return ("inch", "inch writing") if bare & (POINT | FRACTION) else ("mm", "none")
