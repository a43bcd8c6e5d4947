"""Lists of callouts: columns of what is written in, columns of what the rule base is given out.

Every distinct text is read once, by the very functions that read a single callout. What the sizes of a callout must
hold against each other is checked for all at once; a callout that does not pass, or that has a text that cannot be
read, goes through `callout.read_callout`, which alone decides and alone words the error.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy

from advisor.answer.advice import tolerance_source, tool_open
from advisor.asked import callout as callouts
from advisor.asked import materials, sizes
from advisor.asked.callout import FULL, KEYS, REQUIRED, WHOLE_INCHES, WORDS, names_ball, shape_of, word_of
from advisor.asked.grades import read_material
from advisor.asked.options import plain as plain_options
from advisor.asked.radius_text import MOST, read_radius
from advisor.asked.spelling import INCH, MM, MOST_PLACES, decided, evidence, mm_writing, parse, whole_number
from advisor.asked.written import read_diameter, read_pieces, says_about
from advisor.formulas.hardness import brinell
from advisor.formulas.numeric import NAN
from advisor.ground.errors import InputError
from advisor.ground.folders import rule_tables
from advisor.ground.units import (
    LARGEST_LENGTH,
    SMALLEST_LENGTH,
    SMALLEST_TOLERANCE,
    SMOOTHEST,
    Unreadable,
    read_hardness,
    read_quantity,
    shown,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from advisor.asked.callout import Callout
    from advisor.asked.options import Option
    from advisor.formulas.numeric import Array, Codes, Column, Flags, Numeric, Truth

    RadiusText = tuple[Any, bool, Any, str]  # radius, whether in inches, general tolerance, form
    RadiusRow = tuple[
        float, float, float, float, int, int, int
    ]  # radius, tolerance, limits, codes of two words, places

LENGTHS = ("diameter", "width", "depth", "shoulder_height", "length", "stickout")
LENGTHS_FROM_ZERO = ("from_end", "rim", "bore")
GIVEN_LENGTHS = ("diameter", "chord", "from_end", "shoulder_height", "length", "bore", "stickout")
CODED = {
    "form": ("convex", "concave"),
    "location": ("corner", "end", "outside diameter"),
    "units": ("mm", "inch"),
    "support": ("chuck", "tailstock", "steady rest"),
    "tool": ("high-speed steel", "carbide"),
    "symbol": ("R", "CR", "SR"),
    "tolerance_source": ("written", "ISO 2768-1", "title block"),
    **{
        name: ("no", "yes") if option.kind == "truth" else tuple(option.words)
        for name, option in plain_options().items()
        if option.words
    },
}
DEFAULT_MATERIAL = "low-carbon steel"
DEFAULT = {
    "units": "mm",
    "support": "chuck",
    "tool": "high-speed steel",
    **{name: option.usual for name, option in plain_options().items() if option.kind == "words"},
}
MOST_TEXTS = 60_000  # distinct texts kept for each column
MOST_EXACT = 10_000  # callouts kept that were read one by one
# The commonest ways to write a length and a radius. They are read the short way, to the very same digits, since a long
# list may hold a million different ones; everything else takes the long way.
_PLAIN = r"([0-9]{1,5}(?:[.,][0-9]{1,6})?|[.][0-9]{1,6})"
_LENGTH = re.compile(rf"{_PLAIN}(?: ?(mm|in))?", re.ASCII)
_RADIUS = re.compile(rf"(?:([0-9]{{1,3}})X )?(|S|C)R{_PLAIN} ?(?:±{_PLAIN}|\+{_PLAIN}/-{_PLAIN})", re.ASCII)
HARDER = 1024.0  # HB, more than any hardness
WRONG = object()
_NO_RADIUS = (NAN, NAN, NAN, NAN, 0, 0, 0)  # as Reader._radius gives it


@dataclass
class Listed:
    """Callouts that were read.

    given: name -> array [n], as `many.givens` takes it; errors: row -> InputError; inch: rows whose drawing is in
    inches [n].
    """

    given: dict[str, Array]
    errors: dict[int, InputError]
    inch: Flags

    @property
    def sound(self) -> Codes:
        """Numbers of the rows without an error."""
        count = len(self.inch)
        return numpy.setdiff1d(numpy.arange(count), numpy.fromiter(self.errors, dtype=int, count=len(self.errors)))


class Coded:
    """A column of cells, each distinct cell kept once. codes: place of each row's cell in `distinct`."""

    def __init__(self, codes: Codes, distinct: list[Any]) -> None:
        self.codes = codes
        self.distinct = distinct

    def __len__(self) -> int:
        return len(self.codes)

    def __getitem__(self, row: int) -> Any:
        return self.distinct[self.codes[row]]

    def take(self, rows: Codes) -> Coded:
        """The column of some rows."""
        return Coded(self.codes[rows], self.distinct)

    def holds(self, test: Callable[[Any], bool]) -> Flags:
        """Rows whose cell passes a test [n]."""
        return numpy.array([test(cell) for cell in self.distinct], dtype=bool).take(self.codes)

    def cells(self) -> list[Any]:
        """The cells as a list."""
        return list(map(self.distinct.__getitem__, self.codes.tolist()))


def coded(column: Any, count: int) -> Coded:
    """A Coded of a Coded, of a list of cells, or of one cell for all of `count` rows."""
    if isinstance(column, Coded):
        return column
    if not isinstance(column, list):
        return Coded(numpy.zeros(count, dtype=numpy.int8), [column])
    places: dict[Any, int] = {}
    codes = [places.setdefault(cell, len(places)) for cell in column]
    return Coded(numpy.array(codes, dtype=numpy.int32), list(places))


class _Texts(dict):
    """What was read of each distinct text, by the text; `wrong` for one that cannot be read."""

    def __init__(self, read: Callable[[Any], Any], wrong: Any = WRONG) -> None:
        self.read = read
        self.wrong = wrong

    def __missing__(self, text: Any) -> Any:
        try:
            value = self.read(text)
        except (InputError, Unreadable, TypeError):
            value = self.wrong
        if len(self) >= MOST_TEXTS:
            self.clear()
        self[text] = value
        return value


class Reader:
    """Reads lists for one shop. Keeps what it read, so that one Reader serves all pieces of a long list."""

    def __init__(self, *, inch_tolerances: Mapping[str, float], shop_units: str | None = None) -> None:
        self.inch_tolerances, self.shop_units = inch_tolerances, shop_units
        told = [decided(bits, shop_units) for bits in range(64)]
        self.units_by_bits = numpy.array([units == "inch" for units, _ in told])
        self.mixed_by_bits = numpy.array([why == "mixed" for _, why in told])
        self.table = materials.materials()
        self.usual = numpy.array([_brinell(row["hardness"]) for row in self.table.values()])
        self.places = {name: place for place, name in enumerate(self.table)}
        self.radii = _Texts(self._radius_place, wrong=0)
        self.radius_rows = [_NO_RADIUS]
        self.radius_table = numpy.array(self.radius_rows)
        self.exact: dict[tuple[tuple[str, Any], ...], Callout | InputError] = {}
        self.texts: dict[str | tuple[str, bool], _Texts] = {
            key: _Texts(functools.partial(self._word, key)) for key in CODED if key in WORDS
        }
        self.texts |= {
            "material": _Texts(self._material),
            "hardness": _Texts(_brinell),
            "quantity": _Texts(lambda text: self._whole("quantity", text)),
            "places": _Texts(lambda text: self._whole("places", text)),
            **{name: _Texts(_number_reader(option)) for name, option in plain_options().items() if option.dimension},
        }
        self.texts["evidence"] = _Texts(evidence, wrong=0)
        self.texts["evidence of a radius"] = _Texts(lambda text: evidence(text, radius=True), wrong=0)
        self.texts["shape"] = _Texts(self._shape)
        for inch in (False, True):
            unit, roughness = ("in", "uin") if inch else ("mm", "um")
            for key in LENGTHS + LENGTHS_FROM_ZERO:
                self.texts[key, inch] = _Texts(
                    _length_reader(unit, from_zero=key in LENGTHS_FROM_ZERO, diameter=key == "diameter")
                )
            self.texts["finish", inch] = _Texts(
                functools.partial(
                    read_quantity,
                    field="",
                    dimension="roughness",
                    default_unit=roughness,
                    positive=True,
                    at_least=SMOOTHEST,
                )
            )

    # ---- texts

    def _radius_place(self, key: RadiusText) -> int:
        """The place among the radii read so far, since a table is gathered faster than tuples."""
        self.radius_rows.append(self._radius(key))
        return len(self.radius_rows) - 1

    def _radius(self, key: RadiusText) -> RadiusRow:
        text, inch, general, form = key
        if general is None and isinstance(text, str) and (short := _short_radius(text, inch)):
            return short
        written = parse(text)
        if written.shapes or written.size is None or "full" in written.meanings:
            raise Unreadable("takes the rest of its row", "Read it with that.")
        read = read_radius(
            text,
            units="inch" if inch else "mm",
            general_tolerance=general,
            inch_tolerances=self.inch_tolerances,
            form=form,
        )
        codes = CODED["symbol"].index(read.symbol), CODED["tolerance_source"].index(tolerance_source(read))
        return read.radius, read.tolerance, read.low, read.high, *codes, read.count or 0

    @staticmethod
    def _word(key: str, text: Any) -> Any:
        word = word_of(key, text)
        return WRONG if word is None else CODED[key].index(word)

    @staticmethod
    def _shape(text: Any) -> Any:
        """Codes of form and location that a word gives, both of them."""
        shape = shape_of("shape", text)
        if not shape.form or not shape.location:
            return WRONG
        return CODED["form"].index(shape.form) * 10 + CODED["location"].index(shape.location)

    def _material(self, text: Any) -> float:
        """The place of the material in the table, and the hardness that its name tells [HB], as one number."""
        found = read_material(text, self.table)
        return self.places[found.material] + (0 if found.hardness is None else _brinell(found.hardness) / HARDER)

    @staticmethod
    def _whole(key: str, text: Any) -> Any:
        if key == "quantity" and isinstance(text, str) and not text.isdecimal():
            pieces = read_pieces(text)
            return float(pieces[0]) if len(pieces) == 1 else WRONG
        text = shown(text).removesuffix(".0") if isinstance(text, float) else shown(text).strip()
        if not re.fullmatch(r"\+?[0-9]{1,12}", text) or not 1 <= int(text) <= (
            MOST_PLACES if key == "places" else MOST
        ):
            return WRONG
        return float(int(text))

    # ---- columns

    def read(self, columns: Mapping[str, Any], count: int) -> Listed:
        """The callouts in `count` rows -> Listed.

        columns: name of a case file -> Coded, list of what is written in each row (None where nothing is), or one value
        for all. Columns without a name of KEYS are not looked at.
        """
        nothing = Coded(numpy.zeros(count, dtype=numpy.int8), [None])
        written = {key: coded(columns[key], count) if key in columns else nothing for key in KEYS}
        job = _Rows(count)
        inch = self._inch(job, written)
        form, location = self._coded(job, "form", written), self._coded(job, "location", written)
        if written["shape"].distinct != [None]:
            shape = self._looked_up(job, "shape", written["shape"], -1)
            other_form = _written(written["form"]) & (form != shape // 10)
            other_location = _written(written["location"]) & (location != shape % 10)
            job.broken("shape", (shape >= 0) & (other_form | other_location))
            form = numpy.where(shape >= 0, shape // 10, form).astype(numpy.int8)
            location = numpy.where(shape >= 0, shape % 10, location).astype(numpy.int8)
        stated = {key: self._lengths(job, key, written, inch) for key in LENGTHS + LENGTHS_FROM_ZERO}
        finish = self._lengths(job, "finish", written, inch)
        radius, tolerance, low, high, symbol, source, at_radius = self._radii(job, written, inch, form)
        given = {
            "radius": radius,
            "tolerance": tolerance,
            "radius_low": low,
            "radius_high": high,
            "symbol": symbol,
            "tolerance_source": source,
            "form": form,
            "location": location,
            "finish": finish,
            "inch_drawing": inch,
            "carbide": self._coded(job, "tool", written) == 1,
            "tool_open": written["tool"].holds(lambda cell: cell is None),
            "support": self._coded(job, "support", written),
            "quantity": self._looked_up(job, "quantity", written["quantity"], 1.0),
            "places": self._places(job, written["places"], at_radius),
            **{name: self._plain(job, option, written) for name, option in plain_options().items()},
        }
        named = self._looked_up(job, "material", written["material"], self.places[DEFAULT_MATERIAL])
        given["material"] = numpy.floor(named).astype(numpy.int16)
        as_sold = (named - given["material"]) * HARDER
        hardness = self._looked_up(job, "hardness", written["hardness"], NAN)
        usual = numpy.where(as_sold > 0, as_sold, self.usual[given["material"]])
        given["hardness"] = numpy.where(numpy.isnan(hardness), usual, hardness)
        with numpy.errstate(all="ignore"):
            codes = {name: given[name] for name in ("form", "location", "support")}
            agreed = agreed_sizes(stated, radius=radius, broken=job.broken, **codes)
        given |= {name: numpy.asarray(lengths) for name, lengths in agreed.items()}
        for key in REQUIRED:
            missing = ~_written(written[key])
            job.broken("missing", missing & ~_written(written["shape"]) if key in ("form", "location") else missing)
        for key in ("shop", "lathe"):
            job.broken("text", written[key].holds(lambda cell: cell is not None and not _is_name(cell)))
        errors = self._through_the_door(written, given, job)
        return Listed(given, errors, inch)

    def _inch(self, job: _Rows, written: Mapping[str, Coded]) -> Flags:
        """Rows whose bare numbers are in inches, as `callout` decides it of one row."""
        bits = numpy.zeros(job.count, dtype=numpy.int64)
        for key in LENGTHS + LENGTHS_FROM_ZERO:
            if written[key].distinct != [None]:
                bits |= self._evidence(written[key], "evidence")
        of_radius = self._evidence(written["radius"], "evidence of a radius")
        bits |= of_radius
        units = self.units_by_bits[bits]
        marked = (bits & ~(MM | INCH)) == 0  # every size has its unit, and the radius shows that of the drawing
        units = numpy.where(marked & (of_radius > 0), of_radius == INCH, units)
        stated = _written(written["units"])
        job.broken("units", ~stated & self.mixed_by_bits[bits])
        if self.shop_units == "inch":
            job.broken("units", ~stated & written["radius"].holds(lambda cell: bool(mm_writing(cell))))
            large = written["diameter"].holds(lambda cell: whole_number(cell, above=WHOLE_INCHES))
            job.broken("units", ~stated & large & written["radius"].holds(lambda cell: whole_number(cell, radius=True)))
        return numpy.where(stated, self._coded(job, "units", written) == 1, units)

    def _evidence(self, column: Coded, key: str) -> Codes:
        texts = self.texts[key]
        found = [0 if cell is None else texts[cell] for cell in column.distinct]
        return numpy.array(found, dtype=numpy.int64).take(column.codes)

    def _looked_up(
        self, job: _Rows, key: str | tuple[str, bool], column: Coded, default: float, dtype: type = float
    ) -> Array:
        """The value of each cell; the default where nothing is written, and where it cannot be read, which is noted."""
        texts = self.texts[key]
        values = [default if cell is None else texts[cell] for cell in column.distinct]
        if WRONG in values:
            job.broken("text", column.holds(lambda cell: cell is not None and texts[cell] is WRONG))
            values = [default if value is WRONG else value for value in values]
        return numpy.array(values, dtype=dtype).take(column.codes)

    def _coded(self, job: _Rows, key: str, written: Mapping[str, Coded]) -> Codes:
        default = CODED[key].index(DEFAULT[key]) if key in DEFAULT else 0
        return self._looked_up(job, key, written[key], default, numpy.int8)

    def _plain(self, job: _Rows, option: Option, written: Mapping[str, Coded]) -> Array:
        """What is nothing but itself: codes of words, truth values or numbers."""
        if option.kind == "number":
            return self._looked_up(job, option.name, written[option.name], option.usual)
        codes = self._coded(job, option.name, written)
        return codes == 1 if option.kind == "truth" else codes

    def _lengths(self, job: _Rows, key: str, written: Mapping[str, Coded], inch: Flags) -> Column:
        """Lengths [mm] or roughness [um], bare numbers in the drawing's unit; unknown where nothing is written."""
        column = written[key]
        if not inch.any() or column.distinct == [None]:
            return self._looked_up(job, (key, False), column, NAN)
        if inch.all():
            return self._looked_up(job, (key, True), column, NAN)
        found = numpy.empty(job.count)
        for unit in (False, True):
            rows = numpy.flatnonzero(inch == unit)
            part = _Rows(len(rows))
            found[rows] = self._looked_up(part, (key, unit), column.take(rows), NAN)
            job.doubtful[rows] |= part.doubtful
        return found

    def _radii(self, job: _Rows, written: Mapping[str, Coded], inch: Flags, form: Codes) -> tuple[Array, ...]:
        """Radius, tolerance, limits, symbol, source of the tolerance and places as written at the radius."""
        if len(self.radius_rows) > MOST_TEXTS:
            self.radius_rows, self.radius_table = [_NO_RADIUS], numpy.array([_NO_RADIUS])
            self.radii.clear()
        cells, general = written["radius"], written["general_tolerance"]
        kinds = (cells.codes.astype(numpy.int64) * len(general.distinct) + general.codes) * 4 + inch * 2 + form
        kinds, rows = _distinct(kinds, most=len(cells.distinct) * len(general.distinct) * 4)
        read = []
        for kind in kinds.tolist():
            kind, which = divmod(kind, 4)
            cell, title = divmod(kind, len(general.distinct))
            key = (cells.distinct[cell], which >= 2, general.distinct[title], CODED["form"][which % 2])
            read.append(self.radii[key])
        fresh = self.radius_rows[len(self.radius_table) :]
        if fresh:
            self.radius_table = numpy.concatenate([self.radius_table, numpy.array(fresh)])
        places = numpy.array(read, dtype=numpy.intp).take(rows)
        job.broken("text", places == 0)
        table = self.radius_table.take(places, axis=0).T.copy()
        return *table[:4], *table[4:6].astype(numpy.int8), table[6]

    def _places(self, job: _Rows, column: Coded, at_radius: Column) -> Column:
        """Places on each piece: what the column says, or what is written at the radius, which must not disagree."""
        places = self._looked_up(job, "places", column, NAN)
        stated, counted = ~numpy.isnan(places), at_radius > 0
        job.broken("places", stated & counted & (places != at_radius))
        return numpy.where(stated, places, numpy.where(counted, at_radius, 1.0))

    def _through_the_door(
        self, written: Mapping[str, Coded], given: Mapping[str, Array], job: _Rows
    ) -> dict[int, InputError]:
        """Read what is in doubt one by one -> row -> InputError; rows that turn out sound are put into `given`."""
        errors = {}
        columns = {key: column for key, column in written.items() if column.distinct != [None]}
        for row in numpy.flatnonzero(job.doubtful).tolist():
            fields = {key: cell for key, column in columns.items() if not _is_blank(cell := column[row])}
            found = self._exactly(fields)
            if isinstance(found, InputError):
                errors[row] = found
            else:
                for name, value in self._values(found).items():
                    given[name][row] = value
        return errors

    def _exactly(self, fields: Mapping[str, Any]) -> Callout | InputError:
        try:
            key = tuple(fields.items())
            if key in self.exact:
                return self.exact[key]
        except TypeError:
            key = None
        try:
            found = callouts.read_callout(
                fields, materials=self.table, inch_tolerances=self.inch_tolerances, shop_units=self.shop_units
            )
        except InputError as problem:
            found = problem.with_traceback(None)
        if len(self.exact) >= MOST_EXACT:
            self.exact.clear()
        if key is not None:
            self.exact[key] = found
        return found

    def _values(self, callout: Callout) -> dict[str, float]:
        """The given values of one callout, coded as the columns are."""
        number = {"chord": callout.width, "from_end": callout.from_end, "shoulder_height": callout.shoulder_height}
        number |= {
            name: getattr(callout, name) for name in ("diameter", "length", "finish", "stickout", "bore", "hardness")
        }
        return {
            **{name: NAN if value is None else value for name, value in number.items()},
            **{name: getattr(callout, name) for name in ("radius", "tolerance", "radius_low", "radius_high")},
            **{name: CODED[name].index(getattr(callout, name)) for name in ("symbol", "form", "location", "support")},
            **{name: getattr(callout, name) for name in ("quantity", "places")},
            **{name: option.code(getattr(callout, name)) for name, option in plain_options().items()},
            "tolerance_source": CODED["tolerance_source"].index(tolerance_source(callout)),
            "inch_drawing": callout.units == "inch",
            "carbide": callout.tool == "carbide",
            "tool_open": tool_open(callout),
            "material": list(self.table).index(callout.material),
        }


class _Rows:
    """Which rows are in doubt, and for which reason."""

    def __init__(self, count: int) -> None:
        self.count = count
        self.doubtful = numpy.zeros(count, dtype=bool)

    def broken(self, check: str, rows: Truth) -> None:
        self.doubtful |= rows


def _distinct(values: Codes, *, most: int) -> tuple[Codes, Codes]:
    """The distinct ones of whole numbers under `most`, ascending, and the place of each row's among them."""
    if most > 10_000_000:
        return numpy.unique(values, return_inverse=True)
    there = numpy.zeros(most, dtype=bool)
    there[values] = True
    found = numpy.flatnonzero(there)
    places = numpy.empty(most, dtype=numpy.intp)
    places[found] = numpy.arange(len(found))
    return found, places[values]


def _written(column: Coded) -> Flags:
    """Rows in which something is written."""
    return column.holds(lambda cell: cell is not None)


# What is told as assumed of a row that does not say it, in this order, and in which words.
ASSUMED = {
    "units": "sizes in mm",
    "quantity": "1 piece",
    "material": DEFAULT_MATERIAL,
    "stickout": "usual stickout",
    "support": "chuck alone",
    "tool": "",
    "skill": "journeyman",
}


def assumed(written: Mapping[str, Coded], read: Listed, count: int) -> Coded:
    """What nobody stated in each row, as texts: Coded. written: as for Reader.read; read: Listed."""
    source = read.given["tolerance_source"]
    codes: Codes = numpy.where(source == CODED["tolerance_source"].index("ISO 2768-1"), 1, 0)
    codes = numpy.where((source == CODED["tolerance_source"].index("title block")), 2, codes)
    open_ = [key for key in ASSUMED if ASSUMED[key]]
    kinds = 3
    for key in open_:
        column = written.get(key)
        blank = numpy.ones(count, dtype=bool) if column is None else column.holds(lambda cell: cell is None)
        codes = codes + kinds * blank
        kinds *= 2
    given = written.get("general_tolerance")
    titled = numpy.zeros(count, dtype=bool) if given is None else given.holds(lambda cell: cell is not None)
    codes = codes + kinds * titled
    codes = codes + 2 * kinds * _half_balls(written, read, count)
    pieces = written.get("quantity")
    codes = codes + 4 * kinds * (0 if pieces is None else pieces.holds(says_about))
    found, places = _distinct(codes, most=8 * kinds)
    return Coded(places, [_assumed_text(code, open_, kinds) for code in found.tolist()])


def _half_balls(written: Mapping[str, Coded], read: Listed, count: int) -> Flags:
    """Of each row whether a ball is asked for, of which the arc on the end is half (see callout.names_ball)."""
    given = read.given
    named = numpy.zeros(count, dtype=bool)
    for key in ("radius", "shape", "form", "location"):
        if key in written:
            named |= written[key].holds(names_ball)
    round_end = (given["form"] == CODED["form"].index("convex")) & (given["location"] == CODED["location"].index("end"))
    spherical = given["symbol"] == CODED["symbol"].index("SR")
    return round_end & (named | spherical & (given["chord"] >= 2 * given["radius"] * FULL))


def _assumed_text(code: int, names: Sequence[str], kinds: int) -> str:
    about, code = divmod(code, 4 * kinds)
    half, code = divmod(code, 2 * kinds)
    titled, code = divmod(code, kinds)
    code, source = divmod(code, 3)
    words = [rule_tables("callouts.toml")["ball"]["short"]] if half else []
    if source and not titled:
        words.append(("", "tolerance ISO 2768-m", "tolerance by decimals")[source])
    for place, name in enumerate(names):
        if code >> place & 1:
            words.append(ASSUMED[name])
    if about:
        words.append("just the quantity that is named")
    return "; ".join(words)


def _is_name(cell: Any) -> bool:
    return isinstance(cell, str) and cell.isprintable() and len(cell) <= 1000


def _is_blank(cell: Any) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


def _number_reader(option: Option) -> Callable[[Any], float]:
    return lambda text: read_quantity(text, field="", dimension=option.dimension, at_least=0.0)


def _length_reader(unit: str, *, from_zero: bool, diameter: bool = False) -> Callable[[Any], float]:
    least = 0.0 if from_zero else SMALLEST_LENGTH

    def read(text: Any) -> float:
        if isinstance(text, str) and (found := _LENGTH.fullmatch(text)):
            number = _whole_number(found[1])
            if number is not None:
                value = _exactly(*number, (found[2] or unit) == "in")
                if least <= value <= LARGEST_LENGTH:  # the long way words what lies outside
                    return value
        if diameter:
            return read_diameter(text, field="", default_unit=unit, positive=not from_zero, at_least=least).size
        return read_quantity(
            text, field="", dimension="length", default_unit=unit, positive=not from_zero, at_least=least
        )

    return read


def _whole_number(text: str) -> tuple[int, int] | None:
    """Digits and number of decimals of a plain decimal number; None where the comma could also part thousands."""
    whole, _, part = text.replace(",", ".").partition(".")
    if "," in text and len(part) == 3:
        return None
    return int(whole + part), len(part)


def _exactly(digits: int, decimals: int, inch: bool) -> float:
    """digits / 10^decimals, in inches or millimetres, as the nearest float [mm]."""
    return digits * 254 / 10 ** (decimals + 1) if inch else digits / 10**decimals


def _short_radius(text: str, inch: bool) -> RadiusRow | None:
    """What `Reader._radius` gives for a radius with its own tolerance as most drawings write it; None for any other."""
    found = _RADIUS.fullmatch(text)
    if not found:
        return None
    count, letter, *written = found.groups()
    size, equal, above, below = (None if part is None else _whole_number(part) for part in written)
    up, down = (equal, equal) if written[1] is not None else (above, below)
    if size is None or up is None or down is None:
        return None
    places = max(size[1], up[1], down[1])
    middle, plus, minus = (digits * 10 ** (places - decimals) for digits, decimals in (size, up, down))
    if minus >= middle or plus + minus == 0 or count is not None and int(count) < 1:
        return None
    ten = places + 1  # halves are written as tenths
    sums = ((2 * middle + plus - minus) * 5, (plus + minus) * 5, (middle - minus) * 10, (middle + plus) * 10)
    radius, tolerance, low, high = (_exactly(digits, ten, inch) for digits in sums)
    if not SMALLEST_LENGTH <= high <= LARGEST_LENGTH or tolerance < SMALLEST_TOLERANCE:
        return None
    written_at_radius = CODED["tolerance_source"].index("written")
    return radius, tolerance, low, high, CODED["symbol"].index(f"{letter}R"), written_at_radius, int(count or 0)


def _brinell(text: Any) -> float:
    return float(brinell(*read_hardness(text, field="")))


# ---- sizes held against each other


def agreed_sizes(
    stated: Mapping[str, Numeric],
    *,
    radius: Numeric,
    form: Codes | int,
    location: Codes | int,
    support: Codes | int,
    broken: Callable[[str, Truth], None],
) -> dict[str, Numeric]:
    """What a callout's lengths come to, as `sizes.agreed` works them out for one callout.

    stated: name of sizes.STATED -> array [mm], unknown where nothing is written; radius [mm]; form, location, support:
    codes; broken: function (what is wrong, rows in which it is). Returns the given values chord, from_end,
    shoulder_height, length, bore, stickout and diameter [mm].
    """
    shape = {"convex": form == 0, "corner": location == 0, "end": location == 1}
    found, checks = sizes.agreed(stated, radius=radius, alone=support == 0, **shape)
    for check, rows in checks:
        broken(check, rows)
    return {name: found[name] for name in GIVEN_LENGTHS}
