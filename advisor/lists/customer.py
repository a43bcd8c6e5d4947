"""A customer's list made into callouts: cells of several columns -> what one callout says, one line for each quantity.

Everything is done on distinct cells, and on distinct combinations of them, so that a long list takes no longer.
"""

from __future__ import annotations

import functools
import re
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

import numpy

from advisor.asked import trade_words
from advisor.asked.callout import KEYS, names_ball, word_of
from advisor.asked.options import options
from advisor.asked.radius_text import read_radius
from advisor.asked.written import read_pieces, says_about, with_thousands
from advisor.ground.errors import CalloutError, InputError
from advisor.ground.units import INCH_FRACTIONS, shown
from advisor.lists.listing import Coded, coded

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any

    from advisor.formulas.numeric import Codes
    from advisor.lists.headings import Column

LENGTHS = (
    "diameter", "width", "depth", "from_end", "shoulder_height", "rim", "length", "stickout", "bore", "diameter_least",
    "diameter_largest",
)  # fmt: skip
LIMITS = ("radius_least", "radius_largest", "tolerance", "upper_deviation", "lower_deviation")
_BARE = re.compile(r"[0-9.,/ -]*[0-9][0-9.,/ -]*")
_MOST = 60_000  # combinations kept
MOST_KINDS = 2000  # different cells in a column of a block, from which nobody writes "ditto" in it
_PAIR = re.compile(r"(?:[øØ⌀] ?)?([0-9]+(?:[.,][0-9]+)?) ?/ ?(?:[øØ⌀] ?)?([0-9]+(?:[.,][0-9]+)?) ?(mm|in|\")?")
_LIMITS_WITHIN = 0.05  # share of a diameter within which two sizes are its limits and not two diameters
_DATE = re.compile(r"[12][0-9]{3}-[01][0-9]-[0-3][0-9](?:[ T][0-9:.]+)?")
_EITHER_WAY = re.compile(r"\s*([0-9]{1,3}),([0-9]{3})(?![0-9.,])")  # 12,000 pieces: twelve, or twelve thousand
_DECIMAL_COMMA = re.compile(r"(?<![0-9.,])[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})(?![0-9.,])")
_DECIMAL_POINT = re.compile(r"(?<![0-9,])[0-9]*\.(?:[0-9]{1,2}|[0-9]{4,})(?![0-9.,])")
_SEVERAL = re.compile(r"[^0-9]")


class Lines(NamedTuple):
    """Lines to price. written: name of KEYS -> Coded; rows: row of the list that each comes from, None where each row is
    one line; errors: line -> InputError; item: Coded of the customer's own numbers, or None.
    """

    written: dict[str, Coded]
    rows: Codes | None
    errors: dict[int, InputError]
    item: Coded | None


class Reader:
    """Makes lines of rows. Keeps what it made of each combination of cells, for the next block."""

    def __init__(self, columns: Sequence[Column], *, decimal_commas: bool = False) -> None:
        """columns: list of headings.Column; decimal_commas: whether the list's sizes have commas for decimals."""
        self.columns = columns
        self.decimal_commas = decimal_commas
        self.units = {column.name: column.unit for column in columns if column.name and column.unit}
        self.described = any(column.name == "shape" and column.by == "description" for column in columns)
        self.list_unit = self._list_unit({column.name for column in columns})
        self.known: dict[tuple[Any, ...], tuple[Any, ...] | InputError] = {}

    def _list_unit(self, names: set[str | None]) -> str | None:
        """The unit of bare numbers where no column says it: the radius's heading, or that of another size."""
        if "units" in names:
            return None
        lengths = [self.units.get(name) for name in ("radius", "radius_least", "radius_largest", *LENGTHS)]
        return next((unit for unit in lengths if unit in ("mm", "inch")), None)

    def lines(self, keyed: Mapping[str, Coded], count: int) -> Lines:
        """Lines of `count` rows. keyed: name of KEYS or FURTHER, or "quantity 2" and so on -> Coded."""
        written = {
            name: column if name == "item" else _known(_as_above(column), name) for name, column in keyed.items()
        }
        errors: dict[int, InputError] = {}
        if not count:
            return Lines({name: column for name, column in written.items() if name in KEYS}, None, errors, None)
        self._dates(written, errors)
        if "shape" in written:
            column = written["shape"]
            written["shape"] = Coded(column.codes, [self._shape_word(cell) for cell in column.distinct])
        if self.list_unit:
            written["units"] = coded(self.list_unit, count)
        for name in (name for name, option in options().items() if option.words):
            if name in written:
                written[name] = self._translated(name, written[name])
        for name, unit in self.units.items():
            if name in written and unit != self.list_unit:
                written[name] = _with_unit(written[name], name, unit)
        self._shape(written, errors, count)
        self._radius(written, errors, count)
        self._diameter(written, errors, count)
        self._shoulder(written, errors, count)
        item = written.get("item")
        if self.decimal_commas:
            self._with_thousands(written, errors)
        rows = self._quantities(written, count)
        written = {name: column for name, column in written.items() if name in KEYS}
        if rows is not None:
            written = {name: column if name == "quantity" else column.take(rows) for name, column in written.items()}
            errors = {line: errors[row] for line, row in enumerate(rows.tolist()) if row in errors}
            item = item and item.take(rows)
        return Lines(written, rows, errors, item)

    @staticmethod
    def _dates(written: dict[str, Coded], errors: dict[int, InputError]) -> None:
        """Sizes and quantities of which a spreadsheet made a date, as it does of 10-20 and 8.3."""
        for name, column in written.items():
            if name.partition(" ")[0] not in (*LENGTHS, "radius", *LIMITS, "quantity", "places"):
                continue
            if not any(map(_is_date, column.distinct)):
                continue
            for row in numpy.flatnonzero(column.holds(_is_date)).tolist():
                fix = "A spreadsheet made it of what was typed, such as 10-20: ask, and type it into a cell that holds text."
                errors.setdefault(row, CalloutError(name, shown(column[row]), "is a date", fix))
            written[name] = Coded(column.codes, [None if _is_date(cell) else cell for cell in column.distinct])

    @staticmethod
    def _with_thousands(written: dict[str, Coded], errors: dict[int, InputError]) -> None:
        """Quantities of a list with decimal commas: a point parts thousands, and a comma may do either."""
        for name in [name for name in written if name.startswith("quantity")]:
            column = written[name]
            if any(map(_either_way, column.distinct)):
                for row in numpy.flatnonzero(column.holds(_either_way)).tolist():
                    few, rest = _EITHER_WAY.findall(column[row])[0]
                    many = few + rest
                    problem = f"is {few} where a comma marks decimals, as in this list's sizes, and {many} elsewhere"
                    errors.setdefault(
                        row, CalloutError("quantity", shown(column[row]), problem, f"Write {few} or {many}.")
                    )
            written[name] = Coded(column.codes, [with_thousands(cell) for cell in column.distinct])

    # ---- words and units

    @staticmethod
    def _translated(name: str, column: Coded) -> Coded:
        """Words of other languages as a case file has them."""
        return Coded(column.codes, [_translated(name, cell) for cell in column.distinct])

    # ---- several columns

    def _combined(
        self,
        kind: str,
        columns: Sequence[Coded],
        make: Callable[..., tuple[Any, ...] | InputError],
        errors: dict[int, InputError],
    ) -> list[Coded]:
        """Columns made of distinct combinations of others: tuple of Coded. make: cells -> cells, or an InputError."""
        codes = numpy.zeros(len(columns[0]), dtype=numpy.int64)
        for column in columns:
            codes = codes * len(column.distinct) + column.codes
        kinds, places = numpy.unique(codes, return_inverse=True)
        if len(self.known) > _MOST:
            self.known.clear()
        made = []
        for code in kinds.tolist():
            cells = []
            for column in reversed(columns):
                code, place = divmod(code, len(column.distinct))
                cells.append(column.distinct[place])
            key = (kind, *reversed(cells))
            if key not in self.known:
                self.known[key] = make(*key[1:])
            made.append(self.known[key])
        wrong = [place for place, cells in enumerate(made) if isinstance(cells, InputError)]
        if wrong:
            nothing = (None,) * max((len(cells) for cells in made if not isinstance(cells, InputError)), default=2)
            for row in numpy.flatnonzero(numpy.isin(places, wrong)).tolist():
                errors[row] = made[places[row]]
            made = [nothing if isinstance(cells, InputError) else cells for cells in made]
        return [Coded(places, list(distinct)) for distinct in zip(*made)]

    def _shape(self, written: dict[str, Coded], errors: dict[int, InputError], count: int) -> None:
        """Form and location, of their own columns and of one that says both in a word."""
        if "shape" not in written and not any(self._says_both(written.get(name)) for name in ("form", "location")):
            for name in ("form", "location"):
                if name in written:
                    written[name] = self._translated(name, written[name])
            return
        columns = [written.get(name) or coded(None, count) for name in ("form", "location", "shape")]
        written["form"], written["location"] = self._combined("shape", columns, form_and_location, errors)

    def _shape_word(self, cell: Any) -> Any:
        """A cell of the shape's column: a word of a shape as it stands, a description as the shape that it says."""
        if not self.described and (cell is None or trade_words.bare(str(cell)) in trade_words.cells("shape")):
            return cell
        said = described_shape(cell)
        if said is None:
            return None if self.described else cell
        return _ball_word(cell, said) or trade_words.tables()["cells"]["shape"][said][0]

    @staticmethod
    def _says_both(column: Coded | None) -> bool:
        return column is not None and any(_shape_of(cell) for cell in column.distinct if cell is not None)

    def _radius(self, written: dict[str, Coded], errors: dict[int, InputError], count: int) -> None:
        """The radius with a tolerance, deviations or limits that stand in columns of their own."""
        if not any(name in written for name in LIMITS):
            return
        inch = written.get("units") or coded(None, count)
        general = written.get("general_tolerance") or coded(None, count)
        columns = [written.get(name) or coded(None, count) for name in ("radius", *LIMITS)]
        written["radius"], written["general_tolerance"] = self._combined(
            "radius", [*columns, general, inch], radius_text, errors
        )

    def _diameter(self, written: dict[str, Coded], errors: dict[int, InputError], count: int) -> None:
        if "diameter_least" not in written and "diameter_largest" not in written:
            return
        columns = [written.get(n) or coded(None, count) for n in ("diameter", "diameter_least", "diameter_largest")]
        (written["diameter"],) = self._combined("diameter", columns, diameter_text, errors)

    def _shoulder(self, written: dict[str, Coded], errors: dict[int, InputError], count: int) -> None:
        """The two diameters of a fillet, `30/42`, as the small one and the height of the shoulder."""
        if "diameter" not in written or not any(map(_two_diameters, written["diameter"].distinct)):
            return
        names = ("diameter", "shoulder_height", "form", "location")
        columns = [written.get(name) or coded(None, count) for name in names]
        written["diameter"], written["shoulder_height"] = self._combined("shoulder", columns, fillet_diameters, errors)

    def _quantities(self, written: dict[str, Coded], count: int) -> Codes | None:
        """The row of each line, and `quantity` in `written` by line; None where each row is one line."""
        names = [name for name in written if name.startswith("quantity")]
        several = [
            name
            for name in names
            for cell in written[name].distinct
            if isinstance(cell, str) and _SEVERAL.search(cell) and len(_pieces(cell)) > 1
        ]
        if not several and len(names) < 2:
            return None
        before = written.get("priced_for") or coded(None, count)
        columns = [before, *(written[name] for name in names)]
        (wanted,) = self._combined("quantity", columns, lambda *cells: (_wanted(*cells),), {})
        asked = numpy.array([max(len(pieces), 1) for pieces in wanted.distinct])[wanted.codes]
        rows = numpy.repeat(numpy.arange(count), asked)
        if len(rows) == count and len(names) == 1:
            return None
        nth = numpy.arange(len(rows)) - numpy.repeat(numpy.cumsum(asked) - asked, asked)
        widest = max(len(pieces) for pieces in wanted.distinct)
        cells = [pieces[n] if n < len(pieces) else None for pieces in wanted.distinct for n in range(max(widest, 1))]
        written["quantity"] = Coded(wanted.codes[rows] * max(widest, 1) + nth, cells)
        return rows


def _as_above(column: Coded) -> Coded:
    """A column with the cells that say "ditto" filled from above, as far as the block goes."""
    if len(column.distinct) > MOST_KINDS or not any(map(_is_ditto, column.distinct)):
        return column
    ditto = column.holds(_is_ditto)
    written = column.holds(lambda cell: cell is not None) & ~ditto
    last = numpy.maximum.accumulate(numpy.where(written, numpy.arange(len(ditto)), -1))
    codes = column.codes.copy()
    filled = ditto & (last >= 0)
    codes[filled] = column.codes[last[filled]]
    return Coded(codes, column.distinct)


def has_decimal_commas(cells: Iterable[Any]) -> bool:
    """Whether sizes are written with commas for decimals: some are, and none with a point.

    >>> has_decimal_commas(["R2,5", "40"]), has_decimal_commas(["R2,5", ".25"]), has_decimal_commas(["R6", "1,000"])
    (True, False, False)
    """
    texts = [cell for cell in cells if isinstance(cell, str)]
    return any(map(_DECIMAL_COMMA.search, texts)) and not any(map(_DECIMAL_POINT.search, texts))


def _either_way(cell: Any) -> bool:
    return isinstance(cell, str) and _EITHER_WAY.match(cell) is not None


def _is_date(cell: Any) -> bool:
    return isinstance(cell, str) and cell[4:5] == "-" and _DATE.fullmatch(cell) is not None


def _known(column: Coded, name: str) -> Coded:
    """A column whose cells that say "not known" are empty."""
    name = name.partition(" ")[0]
    unknown = [trade_words.is_unknown(cell, name) for cell in column.distinct]
    if not any(unknown):
        return column
    return Coded(column.codes, [None if is_ else cell for is_, cell in zip(unknown, column.distinct, strict=True)])


def _is_ditto(cell: Any) -> bool:
    """Whether a cell says: as above. Most cells are told by their length or their first letter."""
    return (
        isinstance(cell, str)
        and len(cell) < 20
        and cell[:1].casefold() in trade_words.initials("ditto")
        and trade_words.bare(cell) in trade_words.listed("ditto")
    )


def _translated(field: str, cell: Any) -> Any:
    if not isinstance(cell, str) or word_of(field, cell):
        return cell
    found = trade_words.cells(field).get(trade_words.bare(cell))
    return cell if found is None else found or None


def _with_unit(column: Coded, name: str, unit: str) -> Coded:
    """Bare numbers of a column with the unit of its heading behind them."""
    unit = {"inch": "in"}.get(unit, unit)
    if unit in ("mm", "in") and name not in (*LENGTHS, "radius", "radius_least", "radius_largest", *LIMITS):
        return column
    return Coded(column.codes, [_unit_behind(cell, unit) for cell in column.distinct])


def _unit_behind(cell: Any, unit: str) -> Any:
    if isinstance(cell, (int, float)) and not isinstance(cell, bool):
        return f"{cell!r} {unit}"
    return f"{cell} {unit}" if isinstance(cell, str) and _BARE.fullmatch(cell.strip()) else cell


# ---- shapes


@functools.lru_cache(maxsize=10_000)
def _shape_of(text: str) -> tuple[str, ...] | None:
    """(form, location) that a word says together, or None. A longer text counts where it holds one such word."""
    words = trade_words.cells("shape")
    bare = trade_words.bare(str(text))
    found = words.get(bare)
    if found is None:
        said = {words[word] for word in words if f" {word} " in f" {bare} "}
        longest = sorted((word for word in words if f" {word} " in f" {bare} "), key=len)
        if len(said) > 1:  # "corner radius" within "corner radius fillet": the longer word, where it holds the others
            said = {words[longest[-1]]} if all(word in longest[-1] for word in longest) else set()
        found = next(iter(said), None)
    return tuple(found.split(" ", 1)) if found else None


def described_shape(cell: Any) -> str | None:
    """The words of a shape that a description says, None where it says none. Words that are parts too count alone.

    >>> described_shape("Knob, outside corner radius"), described_shape("Hex nut M12"), described_shape("Gorge")
    ('convex corner', None, 'concave outside diameter')
    >>> described_shape("Lever ball Ø40 mm, brass"), described_shape("Ball screw"), described_shape("Kugel für Hebel")
    ('convex end', None, 'convex end')
    """
    text, words = trade_words.bare(str(cell or "")), trade_words.cells("shape")
    if text in words:
        return words[text]
    for word in sorted(trade_words.listed("part_names"), key=len, reverse=True):
        if f" {word} " not in f" {text} " or _is_the_part(word, str(cell or "")):
            continue
        longer = any(word in other and word != other and f" {other} " in f" {text} " for other in words)
        if not longer:
            text = f" {text} ".replace(f" {word} ", " | ").strip()
    found = _shape_of(text)
    return " ".join(found) if found else None


def _ball_word(cell: Any, said: str) -> str | None:
    """The word of a description that says a ball, for what is told of one; None where it says another shape."""
    words = trade_words.bare(str(cell)).split()
    return next((word for word in words if names_ball(word) and trade_words.cells("shape").get(word) == said), None)


def _is_the_part(word: str, cell: str) -> bool:
    """Whether a word of a description is what the part is: it stands last or first, by its language, among the words of its
    clause."""
    for key, place in (("last", -1), ("first", 0)):
        if word in trade_words.listed("part_names", key):
            for clause in re.split("[,;:()]", cell):
                words = [one for one in trade_words.bare(clause).split() if one.isalpha() and not _beside_a_size(one)]
                if words and words[place] == word:
                    return True
    return False


def _beside_a_size(word: str) -> bool:
    return word in trade_words.units() or "diameter" in trade_words.headings().get(word, ())


def form_and_location(form: Any, location: Any, shape: Any) -> tuple[Any, Any] | CalloutError:
    """Form and location of three cells, None where a cell is empty -> (form, location), or a CalloutError.

    >>> form_and_location(None, None, "Hohlkehle"), form_and_location("convex", "end", None)
    (('concave', 'corner'), ('convex', 'end'))
    """
    said = {"form": _translated("form", form), "location": _translated("location", location)}
    for field, cell in (("shape", shape), ("form", form), ("location", location)):
        both = _shape_of(cell) if cell is not None and not _own(field, said.get(field)) else None
        if both is None:
            if field == "shape" and cell is not None and None in said.values():
                fix = "Give rounded corner, fillet, dome, dish, crown or groove."
                return CalloutError("shape", shown(cell), "is no shape of a radius known here", fix)
            continue
        for name, word in zip(("form", "location"), both, strict=True):
            if said[name] is None or (name == field):
                said[name] = word
            elif _own(name, said[name]) not in (None, word):
                return CalloutError(
                    field, shown(cell), f"does not agree with {name} {shown(said[name])}", "Correct one."
                )
    return said["form"], said["location"]


def _own(field: str, cell: Any) -> str | None:
    """The word of a case file that a cell is for a field, or None."""
    return None if cell is None else word_of(field, cell)


# ---- sizes in several columns


def radius_text(
    radius: Any, least: Any, largest: Any, tolerance: Any, upper: Any, lower: Any, general: Any, units: Any
) -> tuple[Any, Any]:
    """The radius as a drawing would write it, and the general tolerance, of cells that may each be None -> (text,
    text), or a CalloutError.

    >>> radius_text("R6", None, None, "±0.1", None, None, None, None)
    ('R6 ±0.1', None)
    >>> radius_text(None, 5.9, 6.1, None, None, None, None, None), radius_text(6, None, None, "m", None, None, None, "mm")
    (('R5.9-6.1', None), (6, 'ISO 2768-m'))
    """
    if radius is None and (least is not None or largest is not None):
        return _limits_text(least, largest), general
    if radius is None or _has_own(radius, units):
        return radius, general
    if least is not None and largest is not None:
        return _limits_text(least, largest), general
    if upper is not None or lower is not None:
        return f"{_text(radius)} {_deviation(upper, '+')}/{_deviation(lower, '-')}", general
    if tolerance is None:
        return radius, general
    named = trade_words.cells("tolerance").get(trade_words.bare(str(tolerance)))
    if named is not None:
        return radius, named or general
    written = _text(tolerance)
    if "2768" in written:
        return radius, written
    if re.fullmatch(rf"{_BARE.pattern} ?(mm|in|inch|thou|\")?", written.strip()):
        return f"{_text(radius)} ±{written.strip()}", general
    return f"{_text(radius)} {written}", general


def _limits_text(least: Any, largest: Any) -> str:
    if largest is None:
        return f"{_r(least)} MIN"
    if least is None:
        return f"{_r(largest)} MAX"
    return f"{_r(least)}-{re.sub(r'^[rR] ?', '', _text(largest))}"


def _r(cell: Any) -> str:
    text = _text(cell)
    return text if re.match(r"(?i)s?r|cr", text) else f"R{text}"


def _text(cell: Any) -> str:
    return cell if isinstance(cell, str) else f"{cell:g}" if isinstance(cell, float) else str(cell)


def _deviation(cell: Any, sign: str) -> str:
    """A deviation with its sign; none is nought."""
    if cell is None:
        return f"{sign}0"
    text = _text(cell).strip().replace("−", "-").replace("–", "-")
    return text if text[:1] in "+-" else f"{sign}{text}"


def _has_own(radius: Any, units: Any) -> bool:
    """Whether what stands at a radius carries a tolerance of its own."""
    if not isinstance(radius, str):
        return False
    unit = "inch" if _own("units", units) == "inch" else "mm"
    try:
        return read_radius(radius, units=unit, general_tolerance="±0.0001").general_tolerance is None
    except CalloutError:
        return False


def diameter_text(diameter: Any, least: Any, largest: Any) -> tuple[Any]:
    """The diameter of its own column, or of its limits -> (cell,)."""
    if diameter is not None or (least is None and largest is None):
        return (diameter,)
    if least is None or largest is None:
        return (largest if least is None else least,)
    return (f"{_text(largest)}/{_text(least)}",)


def _two_diameters(cell: Any) -> tuple[str, str, str] | None:
    """The small and the large one of two diameters in a cell, as texts, and their unit; None where it is no such cell.
    Sizes that lie nearer together are limits, and fractions of an inch are fractions."""
    found = _PAIR.fullmatch(cell.strip()) if isinstance(cell, str) else None
    if not found:
        return None
    small, large = sorted(found.group(1, 2), key=lambda text: float(text.replace(",", ".")))
    low, high = (float(text.replace(",", ".")) for text in (small, large))
    fraction = found[1].isdecimal() and found[2].isdecimal() and int(found[2]) in INCH_FRACTIONS
    return None if fraction or high - low < _LIMITS_WITHIN * high else (small, large, found[3] or "")


def fillet_diameters(diameter: Any, height: Any, form: Any, location: Any) -> tuple[Any, Any]:
    """Diameter and height of the shoulder of a fillet whose cell has its two diameters -> (cell, cell).

    >>> fillet_diameters("30/42", None, "concave", "corner"), fillet_diameters("30/42", None, "convex", "corner")
    (('30', '6'), ('30/42', None))
    """
    two = _two_diameters(diameter)
    if two is None or height is not None or (_own("form", form), _own("location", location)) != ("concave", "corner"):
        return diameter, height
    small, large, unit = two
    high = (Decimal(large.replace(",", ".")) - Decimal(small.replace(",", "."))) / 2
    return f"{small} {unit}".strip(), f"{high.normalize():f} {unit}".strip()


# ---- quantities


@functools.lru_cache(maxsize=10_000)
def _pieces(cell: Any) -> tuple[int, ...]:
    """Numbers of pieces in a cell; () where it is empty or cannot be read."""
    try:
        return () if cell is None else read_pieces(cell)
    except CalloutError:
        return ()


def _wanted(before: Any, *cells: Any) -> tuple[Any, ...]:
    """What is asked for in all quantity cells of a row: numbers of pieces, "~20" where a number is not meant exactly, or the
    cells that cannot be read. before: the one for which the row was priced already, or None.

    >>> _wanted(None, "10/20", 5), _wanted("20", "10/20"), _wanted(20, 30), _wanted(None, "ca. 10/20")
    ((10, 20, 5), (20,), (30,), ('~10', '~20'))
    """
    found: dict[Any, Any] = {}
    for cell in cells:
        about = says_about(cell)
        for pieces in _pieces(cell) or ((cell,) if cell is not None else ()):
            found.setdefault(pieces, f"~{pieces}" if about and isinstance(pieces, int) else pieces)
    if len(found) > 1 and _pieces(before) and _pieces(before)[0] in found:
        return (found[_pieces(before)[0]],)
    return tuple(found.values())
