"""What the shop has: one TOML file -> Shop, and the plain numbers of it that rules and formulas ask for.

Each table of a shop file is one of the frozen classes below, and each of its keys one field: how the key
is read, and whether it may be left out, stands beside its name; what it means stands in rules/shop_keys.toml. Lengths
are kept in mm, speeds in rpm, power in kW, angles in degrees. What a shop does not have is simply not there.
"""

from __future__ import annotations

import functools
import re
from dataclasses import MISSING, dataclass, field, fields, replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.asked.shop_keys import shop_tables
from advisor.formulas.form_tool import ready_tool_serves
from advisor.formulas.in_the_lathe import FASTEST_RIM, chuck_limit
from advisor.formulas.numeric import NAN, SAME_LENGTH, both
from advisor.ground import strangers, toml_text
from advisor.ground.errors import ShopError, did_you_mean, together
from advisor.ground.folders import data_folder, user_folder
from advisor.ground.units import plain, read_quantity, show_length, shown

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth
    from advisor.ground.errors import InputError


LARGEST_FILE = 256 * 1024  # bytes
MOST_LEAVES = 500
MOST_WRONGS = 60  # that are told at once
MOST_TABLES = 200  # of one kind: lathes, sets of gauges, rods, ready tools
MOST_LINES = 2000  # to one turn of a dial
SMALLEST_SWING, LARGEST_SWING = 40.0, 5000.0  # mm; beyond them a size is in another unit than it seems
FASTEST_LATHE = 10_000.0  # rpm; what is faster is a grinding spindle or a slip of the pen
TOOL_MATERIALS = ("high-speed steel", "carbide")
GRINDING = ("none", "bench grinder", "radius dresser")
FORMS = ("convex", "concave")
UNITS = ("mm", "inch")
SHOPS = data_folder("cases") / "shops"
WORDS = ("new", "use", "measure")  # of turn-radius shop, so no names of shops
USUAL_SHOP = "training-shop"  # where none is named


class _Place:
    """Where something stands in a shop file: what errors name, and the unit that a bare number has there.

    source: _Source of the file; path: of keys and places in lists; words: as an error names it, without file and line.
    """

    def __init__(
        self,
        source: _Source,
        path: Sequence[int | str] = (),
        words: Sequence[str] = (),
        at: Sequence[int | str] | None = None,
    ) -> None:
        self.source, self.path, self.words, self.at = source, path, words, path if at is None else at

    def key(self, name: str) -> _Place:
        """A key of this table."""
        return _Place(self.source, (*self.path, name), (*self.words, shown(name)))

    def row(self, number: int) -> _Place:
        """One of the tables of a list, from 1."""
        *before, last = self.words
        return _Place(self.source, (*self.path, number - 1), (*before, f"{last} {number}"))

    def entry(self, number: int) -> _Place:
        """One entry of a list, from 1."""
        return _Place(self.source, self.path, (*self.words, f"entry {number}"), self.path)

    @property
    def name(self) -> str:
        """The key or table as it is called here."""
        return self.words[-1] if self.words else self.source.file

    @property
    def units(self) -> str | None:
        """The unit of a bare number, "mm" or "inch"; None where the file does not say."""
        return self.source.units_at(self.at)

    @property
    def line(self) -> int:
        """The number of its line; what has none comes behind all others."""
        return self.source.line(self.at) or LARGEST_FILE

    def __str__(self) -> str:
        line = self.source.line(self.at)
        return ": ".join([self.source.file, *([f"line {line}"] if line else []), *self.words])


@dataclass
class _Source:
    """A shop file that is being read. lines: path -> number; units: of its bare numbers; like: _Source of the shop from
    which it starts; wrongs: what was found, as ShopErrors; holes: paths of tables in which something cannot be read."""

    file: str
    lines: dict
    units: str | None = None
    like: _Source | None = None
    wrongs: list = field(default_factory=list)
    holes: set = field(default_factory=set)

    def line(self, path: Sequence[int | str]) -> int | None:
        """The number of the line of a path, or of the table that it would stand in; None where there is none."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path)

    def units_at(self, path: Sequence[int | str]) -> str | None:
        """The unit of a bare number there: of the file in which it is written."""
        return self.units if path in self.lines or self.like is None else self.like.units_at(path)


# How one value is read: reader(value, where) -> value in internal units, or a ShopError that names `where`, a _Place.
# A reader of words has them as `words`, one of quantities their dimension as `dimension`, one of tables their `kind`.


def _shown(value: object) -> str:
    """A TOML value as one short printable line for a message."""
    if isinstance(value, (dict, list)):
        return "a table" if isinstance(value, dict) else "a list"
    return shown(value)


def _text(value: Any, where: _Place) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ShopError(where, _shown(value), "is not text", 'Give text in double quotes, like "bench lathe".')
    if not value.isprintable():
        raise ShopError(where, _shown(value), "has characters that cannot be printed", "Give plain text on one line.")
    return value.strip()


def _word(*known: str) -> Callable[..., Any]:
    def read(value: Any, where: _Place) -> str:
        if value not in known:
            choices = " or ".join(f'"{word}"' for word in known)
            hint = did_you_mean(value, known) if isinstance(value, str) else ""
            raise ShopError(where, _shown(value), "is not one of the words known here", f"{hint}Give {choices}.")
        return value

    read.words = known  # type: ignore[attr-defined]
    return read


def _truth(value: Any, where: _Place) -> bool:
    if not isinstance(value, bool):
        raise ShopError(where, _shown(value), "is not true or false", "Write true or false without quotes.")
    return value


def _number(value: Any, where: _Place) -> float:
    """A plain number, not below zero."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ShopError(where, _shown(value), "is not a number", "Give a number without quotes, like 42.")
    if not 0 <= value <= 1e9:
        raise ShopError(where, _shown(value), "is out of range", "Give a number from 0 up.")
    return float(value)


def _speed(value: Any, where: _Place) -> float:
    """A speed of rotation [rpm]."""
    rpm = _number(value, where)
    if not 0 < rpm <= FASTEST_LATHE:
        fix = f"Give a speed above 0 and of at most {FASTEST_LATHE:,.0f} rpm, like 500."
        raise ShopError(where, _shown(value), "rpm is no speed of a lathe", fix)
    return rpm


def _lines(value: Any, where: _Place) -> float:
    """How many lines a dial has to one turn."""
    lines = _number(value, where)
    if lines != round(lines) or not 2 <= lines <= MOST_LINES:
        fix = f"Count the lines of one whole turn, from 2 to {MOST_LINES}, like 100."
        raise ShopError(where, _shown(value), "is no number of lines on a dial", fix)
    return lines


# The unit that a bare number has, by the units of the file; a motor's plate may say either, whatever the file's units.
_BARE = {
    "length": lambda units: "in" if units == "inch" else "mm",
    "angle": lambda units: "deg",
    "power": lambda units: None,
}


def _quantity(
    dimension: str, example: str, *, from_zero: bool = False, bare: Callable[..., Any] | None = None
) -> Callable[..., Any]:
    bare = bare or _BARE[dimension]

    def read(value: Any, where: _Place) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float, str)):
            problem = "is not a size"
            raise ShopError(where, _shown(value), problem, f"Write a number, or a size with its unit like {example}.")
        text, unit = value if isinstance(value, str) else repr(value), bare(where.units)
        size = read_quantity(
            text,
            field=where,
            dimension=dimension,
            default_unit=unit,
            error=ShopError,
            positive=not from_zero,
            at_least=0,
        )
        if unit is None and not re.search("[A-Za-z\"'°]", plain(text)):
            fix = f"Write it with its unit in quotes, like {example}."
            raise ShopError(where, _shown(value), "has no unit", fix)
        return size

    read.dimension = dimension  # type: ignore[attr-defined]
    return read


_length = _quantity("length", '"60 mm" or "2-1/2 in"')
_length_with_unit = _quantity("length", '"0.125 mm" or "0.005 in"', bare=lambda units: None)
_length_from_zero = _quantity("length", '"60 mm" or "2-1/2 in"', from_zero=True)
_power = _quantity("power", '"2.2 kW" or "3 hp"')
_angle = _quantity("angle", '"1 deg"')


def _list_of(read: Callable[..., Any], *, example: str) -> Callable[..., Any]:
    def read_list(value: Any, where: _Place) -> tuple[float | str, ...]:
        if not isinstance(value, list) or not value:
            raise ShopError(where, _shown(value), "is not a list with something in it", f"Give a list, like {example}.")
        return tuple(read(one, where.entry(n)) for n, one in enumerate(value, start=1))

    read_list.words = getattr(read, "words", ())  # type: ignore[attr-defined]
    return read_list


def _ascending_lengths(value: Any, where: _Place) -> tuple[float, ...]:
    return tuple(sorted(set(_list_of(_length, example='[6, 8] or ["1/4 in", "3/8 in"]')(value, where))))


_ascending_lengths.dimension = "length"  # type: ignore[attr-defined]


def _speeds(value: Any, where: _Place) -> tuple[float, ...]:
    speeds = _list_of(_speed, example="[90, 125, 180, 250]")(value, where)
    for slower, faster in pairwise(speeds):
        if faster <= slower:
            raise ShopError(
                where, f"{faster:g} rpm", f"follows {slower:g} rpm", "Give the speeds from the slowest to the fastest."
            )
    return speeds


def _limits(value: Any, where: _Place) -> dict[str, str]:
    """A table of this shop's own limits: texts with a unit and plain numbers -> texts."""
    for name, entry in _a_table(value, where).items():
        _number_or_text(entry, where.key(name))
    return {name: entry if isinstance(entry, str) else repr(entry) for name, entry in value.items()}


def _practice(value: Any, where: _Place) -> dict[str, Any]:
    """A table of this shop's own minutes or spreads: numbers, texts with a unit, and lists of them, as written."""
    for name, entry in _a_table(value, where).items():
        read = (
            _list_of(_number_or_text, example='["5 min", "8 min", "12 min"]')
            if isinstance(entry, list)
            else _number_or_text
        )
        read(entry, where.key(name))
    return value


def _number_or_text(value: Any, where: _Place) -> float | str:
    return (_text if isinstance(value, str) else _number)(value, where)


def _inch_tolerances(value: Any, where: _Place) -> dict[str, float]:
    """Tolerance of a size in inches by its number of decimals, "fraction" for a fraction -> mm."""
    known = tuple(shop_tables()["inch_tolerances"].keys)
    for name in _a_table(value, where):
        if name not in known:
            fix = 'Give the keys 0 to 5 or "fraction", like 3 = "0.005 in".'
            raise ShopError(where, shown(name), "is no number of decimals", fix)
    read = _length if where.units == "inch" else _length_with_unit  # in a metric file a bare number may mean either
    tolerances = {name: read(value[name], where.key(name)) for name in known if name in value}
    for fewer, more in pairwise(name for name in tolerances if name != "fraction"):
        _check_order(where, value, tolerances, more, fewer)
    return tolerances


def _a_table(value: Any, where: _Place) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise ShopError(
            where, _shown(value), "is not a table", f"Write {_heading(where)} on a line and its keys below."
        )
    return value


def _heading(where: _Place) -> str:
    """The heading of a table as it is written."""
    name = ".".join(name for name in where.path if isinstance(name, str))
    return shop_tables()[name].heading


def _table(kind: type[_Table]) -> Callable[..., Any]:
    def read(value: Any, where: _Place) -> Any:
        return _read_table(kind, value, where)

    read.kind = kind  # type: ignore[attr-defined]
    return read


def _tables(kind: type[_Table]) -> Callable[..., Any]:
    def read(value: Any, where: _Place) -> tuple[Any, ...] | None:
        if not isinstance(value, list) or not value:
            fix = f"Write {_heading(where)} in double brackets."
            raise ShopError(where, _shown(value), "is not a list of tables", fix)
        if len(value) > MOST_TABLES:
            raise ShopError(where, "", f"stands {len(value)} times", f"Give at most {MOST_TABLES} of them.")
        read = [_read_table(kind, one, where.row(n)) for n, one in enumerate(value, start=1)]
        return None if None in read else tuple(read)

    read.kind = kind  # type: ignore[attr-defined]
    return read


def _read_table(kind: type[_Table], table: Mapping[str, Any], where: _Place) -> Any:
    """One of the classes below from a table of the file, every key checked; None where something is wrong, which is
    told to the source."""
    found = keys_of(kind)
    keys, needed = {key: entry for key, (entry, _) in found.items()}, [key for key, (_, must) in found.items() if must]
    wrongs = where.source.wrongs
    before = len(wrongs)
    strangers = [key for key in _a_table(table, where) if key not in keys]
    meant = [_nearest(key, [*keys, *kind.also]) for key in strangers]
    wrongs += _unknown(kind, dict(zip(strangers, meant, strict=True)), keys, where)
    values = {}
    for key, entry in keys.items():
        if key in table:
            try:
                values[entry.name] = entry.metadata["read"](table[key], where.key(key))
            except ShopError as wrong:
                wrongs.append(wrong)
        elif key in needed and key not in meant and where.path not in where.source.holes:
            wrongs.append(ShopError(where.key(key), "", "is missing", _add(kind, key, entry, where.units or "mm")))
    if len(wrongs) > before or any(values.get(keys[key].name) is None for key in (*needed, *(set(keys) & set(table)))):
        return None
    try:
        _check_ranges(table, values, [key[:-4] for key in keys if key.endswith("_min")], where)
        made = kind(**values)
        made.check(where, table)
    except ShopError as wrong:
        wrongs.append(wrong)
        return None
    return made


def _nearest(key: str, known: Iterable[str]) -> str | None:
    """The known key that somebody may have meant, or ""."""
    return did_you_mean(key, known).partition('"')[2].partition('"')[0]


def _unknown(
    kind: type[_Table], strangers: Mapping[str, str | None], keys: Mapping[str, Any], where: _Place
) -> list[ShopError]:
    """An error for each key that a table does not take, one for all that belong under another. strangers: key -> the
    known one that is meant, or ""."""
    wrongs = []
    other = max(shop_tables().values(), key=lambda table: len(strangers.keys() & table.keys.keys()))
    stray = [key for key in strangers if key in other.keys]
    if len(stray) == 1 and strangers[stray[0]]:
        stray = []
    for key in [key for key in strangers if key not in stray]:
        meant = strangers[key]
        fix = f'Did you mean "{meant}"?' if meant else f"Give only {', '.join([*keys, *kind.also])}."
        wrongs.append(ShopError(_of_key(where, key), shown(key), "is not a key known here", fix))
    if stray:
        stands = "stands" if len(stray) == 1 else "stand"
        problem = f"{stands} here without the line {other.heading} above"
        fix = f"Put {other.heading} on a line before {stray[0]}, without a # in front."
        place = _Stray(where.source, where.path, where.words, (*where.path, stray[0]))
        place.keys = other.keys
        wrongs.append(ShopError(place, ", ".join(stray), problem, fix))
    return wrongs


class _Stray(_Place):
    """Keys that stand in the wrong table for want of a heading; keys: all that belong under it."""

    keys: Mapping[str, Any]

    def tells(self, other: Any) -> bool:
        """Whether what is said of these keys says all of another: a key of theirs given again by what stands there."""
        again: Any = getattr(other, "again", ())
        return bool(again[:-1] == self.path and again[-1:] and again[-1] in self.keys and other.line > self.line)


def _of_key(where: _Place, key: str) -> _Place:
    """A table as an error about one of its keys names it: with the line of the key."""
    return _Place(where.source, where.path, where.words, (*where.path, key))


def _add(kind: type[_Table], key: str, entry: Any, units: str) -> str:
    """How a key that is missing is added."""
    told, read = shop_tables()[kind.table].keys[key], entry.metadata["read"]
    inside = getattr(read, "kind", None)
    if inside:
        return f"Add {told.meaning}."
    words = getattr(read, "words", ())
    listed = " (" + " or ".join(f'"{word}"' for word in words) + ")" if words else ""
    return f"Add {key}: {told.meaning}{listed}, like {told.line(units)}."


def _check_ranges(table: Mapping[str, Any], values: Mapping[str, Any], ranges: Iterable[str], where: _Place) -> None:
    """At least one range is given where there are any, with both of its ends, the lower first."""
    if ranges and not any(f"{name}_min" in values or f"{name}_max" in values for name in ranges):
        pairs = " or ".join(f"{name}_min and {name}_max" for name in ranges)
        raise ShopError(where, "", "reaches nothing", f"Give {pairs}, or all of them.")
    for name in ranges:
        low, high = f"{name}_min", f"{name}_max"
        for given, absent in ((low, high), (high, low)):
            if given in values and absent not in values:
                problem = f"is missing while {given} is given"
                raise ShopError(where.key(absent), "", problem, f"Give both or neither of {low} and {high}.")
        if low in values:
            _check_order(where, table, values, low, high)


def _check_order(where: _Place, written: Mapping[str, Any], values: Mapping[str, Any], small: str, large: str) -> None:
    """The value of the key `small` is not more than that of the key `large`."""
    if values[small] > values[large]:
        problem = f"is more than {large}, {_sized(written[large], where)}"
        raise ShopError(where.key(small), _sized(written[small], where), problem, "Exchange them or correct one.")


def _sized(value: Any, where: _Place) -> Any:
    """A length as it is written, with its unit where it has none of its own."""
    bare = isinstance(value, (int, float)) or not re.search("[A-Za-z\"']", plain(value))
    return f"{_shown(value)} {_BARE['length'](where.units)}" if bare else _shown(value)


def _key(read: Callable[..., Any], default: Any = MISSING, *, key: str | None = None) -> Any:
    """A field read from a key of the file; without a default the key must be there. rules/shop_keys.toml tells what it
    means."""
    metadata = {"read": read} | ({"key": key} if key else {})
    if default == {}:
        return field(default_factory=dict, metadata=metadata)
    return field(default=default, metadata=metadata)


class _Table:
    table = ""  # its name in rules/shop_keys.toml
    also: tuple[str, ...] = ()  # keys of the file that are no fields

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where the keys of one table, as written, contradict each other."""

    # Python 3.13 compares field by field, and a size that nobody stated is then unlike itself.
    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and _values_of(self) == _values_of(other)

    def __hash__(self) -> int:
        return hash(_values_of(self))


def _values_of(table: Any) -> tuple[Any, ...]:
    return tuple(getattr(table, one.name) for one in fields(table))


# The tables of a shop file.


@dataclass(frozen=True, kw_only=True, eq=False)
class Compound(_Table):
    """The compound slide, swung about its swivel: where it can put the tool tip. Lengths [mm], graduation [deg]."""

    table = "lathe.compound"

    tip_past_min: float = _key(_length_from_zero, NAN)
    tip_past_max: float = _key(_length_from_zero, NAN)
    tip_short_min: float = _key(_length_from_zero, NAN)
    tip_short_max: float = _key(_length_from_zero, NAN)
    travel: float = _key(_length, NAN)
    graduation: float = _key(_angle)
    front: float = _key(_length, NAN)
    half_width: float = _key(_length, NAN)
    largest_work_over: float = _key(_length, NAN)
    dial_graduation: float = _key(_length, NAN)
    dial_divisions: float = _key(_lines, NAN)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        for low, high in ((self.tip_past_min, self.tip_past_max), (self.tip_short_min, self.tip_short_max)):
            if high - low > self.travel:
                problem = f"is less than the {show_length(high - low, where.units or 'mm')} from one end of a window to the other"
                fix = "Measure the travel from stop to stop, and each window with the tool clamped once."
                raise ShopError(where.key("travel"), _sized(written["travel"], where), problem, fix)


@dataclass(frozen=True, kw_only=True, eq=False)
class RodGear(_Table):
    """Seats for a radius rod. Lengths [mm], largest_tilt [deg]."""

    table = "lathe.rod"

    headstock_min: float = _key(_length, NAN)
    headstock_max: float = _key(_length, NAN)
    tailstock_min: float = _key(_length, NAN)
    tailstock_max: float = _key(_length, NAN)
    largest_tilt: float = _key(_angle)
    ball_diameter: float = _key(_length)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        if self.largest_tilt >= 90:
            tilt = _shown(written["largest_tilt"])
            raise ShopError(where.key("largest_tilt"), tilt, "is more than a rod can tilt", "Give less than 90 deg.")


@dataclass(frozen=True, kw_only=True, eq=False)
class Lathe(_Table):
    """One lathe. Lengths [mm], speeds [rpm], motor_power [kW]; spindle_speeds and nose_radii ascending."""

    table = "lathe"

    name: str = _key(_text)
    swing_over_bed: float = _key(_length)
    swing_over_cross_slide: float = _key(_length)
    between_centres: float = _key(_length)
    spindle_speeds: tuple = _key(_speeds)
    motor_power: float = _key(_power)
    chuck_diameter: float = _key(_length)
    chuck_depth: float = _key(_length)
    chuck_highest_speed: float = _key(_speed, NAN)
    tool_overhang: float = _key(_length)
    dials: str = _key(_word("radius", "diameter"))
    dial_graduation: float = _key(_length)
    dial_divisions: float = _key(_lines, NAN)
    dial_units: str = _key(_word(*UNITS), "")
    carriage_graduation: float = _key(_length, NAN)
    carriage_divisions: float = _key(_lines, NAN)
    tools: tuple = _key(_list_of(_word(*TOOL_MATERIALS), example='["high-speed steel"]'), ("high-speed steel",))
    nose_radii: tuple = _key(_ascending_lengths, ())
    compound: Compound | None = _key(_table(Compound), None)
    rod: RodGear | None = _key(_table(RodGear), None)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        if not SMALLEST_SWING <= self.swing_over_bed <= LARGEST_SWING:
            swing = _sized(written["swing_over_bed"], where)
            fix = "Look at units at the top of the file: a number without a unit is in those."
            raise ShopError(where.key("swing_over_bed"), swing, "is no swing of a lathe for turning by hand", fix)
        _check_order(where, written, vars(self), "swing_over_cross_slide", "swing_over_bed")
        _check_order(where, written, vars(self), "chuck_diameter", "swing_over_bed")
        slowest = self.spindle_speeds[0]
        if slowest > chuck_limit(chuck_highest_speed=NAN, chuck_diameter=self.chuck_diameter):
            problem = f"turns the rim of a {show_length(self.chuck_diameter, where.units or 'mm')} chuck past {FASTEST_RIM:g} m/s"
            fix = "Give all the speeds of the lathe, from the slowest on."
            raise ShopError(where.key("spindle_speeds"), f"{slowest:g} rpm, the slowest,", problem, fix)
        if slowest > self.chuck_highest_speed:
            problem = f"is slower than the slowest spindle speed, {slowest:g} rpm"
            fix = "Give the speed that is stamped on the chuck, or the speeds that this lathe runs at with it."
            raise ShopError(where.key("chuck_highest_speed"), f"{self.chuck_highest_speed:g} rpm", problem, fix)


@dataclass(frozen=True, kw_only=True, eq=False)
class PivotAttachment(_Table):
    """Radius-turning attachment: an arm that swings the tool about a post on the cross slide. Lengths [mm]."""

    table = "pivot_attachment"

    convex_min: float = _key(_length_from_zero, NAN)
    convex_max: float = _key(_length, NAN)
    concave_min: float = _key(_length_from_zero, NAN)
    concave_max: float = _key(_length, NAN)
    post_diameter: float = _key(_length)
    largest_work_over: float = _key(_length)
    base_half_width: float = _key(_length)
    lathes: tuple = _key(_list_of(_text, example='["engine lathe"]'))


@dataclass(frozen=True, kw_only=True, eq=False)
class ReadyTool(_Table):
    """A form tool that is ground already. Lengths [mm]."""

    table = "form_tools.ready"

    radius: float = _key(_length)
    form: str = _key(_word(*FORMS))
    width: float = _key(_length)
    edge_good_for: float = _key(_length, NAN)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        if self.edge_good_for >= self.radius:
            problem = f"is not less than the radius, {_sized(written['radius'], where)}"
            fix = "Give how far the edge may lie from its radius."
            raise ShopError(where.key("edge_good_for"), _sized(written["edge_good_for"], where), problem, fix)


@dataclass(frozen=True, kw_only=True, eq=False)
class FormTools(_Table):
    """Blanks and grinding for form tools. widths ascending [mm]."""

    table = "form_tools"

    widths: tuple = _key(_ascending_lengths, ())
    grinding: str = _key(_word(*GRINDING))
    ready: tuple = _key(_tables(ReadyTool), ())


@dataclass(frozen=True, kw_only=True, eq=False)
class Rod(_Table):
    """A radius rod on the shelf: seat to seat, or overall with its ball ends [mm]."""

    table = "rods"

    seat_to_seat: float = _key(_length, NAN)
    overall: float = _key(_length, NAN)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        given = [name for name in ("seat_to_seat", "overall") if getattr(self, name) > 0]
        if len(given) != 1:
            problem = "has both lengths" if given else "has no length"
            raise ShopError(where, "", problem, "Give either seat_to_seat or overall.")


@dataclass(frozen=True, kw_only=True, eq=False)
class GaugeSet(_Table):
    """Radius gauges: a list of leaves, or all from one size to another by a step [mm]. A leaf gauges both forms."""

    table = "gauges.set"

    leaves: tuple = _key(_ascending_lengths, ())
    from_: float = _key(_length, NAN, key="from")
    to: float = _key(_length, NAN)
    step: float = _key(_length, NAN)

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        stepped = [size for size in (self.from_, self.to, self.step) if size > 0]
        if bool(self.leaves) == bool(stepped) or len(stepped) not in (0, 3):
            raise ShopError(where, "", "gives no leaves", "Give either leaves, or all three of from, to and step.")
        if not stepped:
            return
        _check_order(where, written, {"from": self.from_, "to": self.to}, "from", "to")
        steps = (self.to - self.from_) / self.step
        if steps > MOST_LEAVES or abs(steps - round(steps)) > 1e-6:
            problem = f"does not lead from {_sized(written['from'], where)} to {_sized(written['to'], where)}"
            fix = f"Give a step that reaches the last leaf in at most {MOST_LEAVES} leaves."
            raise ShopError(where.key("step"), _sized(written["step"], where), problem, fix)

    def sizes(self) -> tuple[float, ...]:
        """Every leaf [mm]."""
        if self.leaves:
            return self.leaves
        return tuple(self.from_ + n * self.step for n in range(round((self.to - self.from_) / self.step) + 1))


@dataclass(frozen=True, kw_only=True, eq=False)
class DepthMicrometer(_Table):
    """A depth micrometer. graduation [mm]."""

    table = "gauges.depth_micrometer"

    graduation: float = _key(_length)


@dataclass(frozen=True, kw_only=True, eq=False)
class Comparator(_Table):
    """An optical comparator. accuracy [mm]."""

    table = "gauges.comparator"

    magnification: float = _key(_number, NAN)
    accuracy: float = _key(_length)


@dataclass(frozen=True, kw_only=True, eq=False)
class Gauges(_Table):
    """What a radius is proved with."""

    table = "gauges"

    sets: tuple = _key(_tables(GaugeSet), (), key="set")
    micrometer: bool = _key(_truth, False)
    depth_micrometer: DepthMicrometer | None = _key(_table(DepthMicrometer), None)
    pins: bool = _key(_truth, False)
    comparator: Comparator | None = _key(_table(Comparator), None)
    template_stock: bool = _key(_truth, True)

    def leaves(self) -> tuple[float, ...]:
        """The leaves of all sets, ascending, each once [mm]."""
        sizes = sorted(size for one in self.sets for size in one.sizes())
        return tuple(size for i, size in enumerate(sizes) if i == 0 or size - sizes[i - 1] > SAME_LENGTH)


@dataclass(frozen=True, kw_only=True, eq=False)
class Files(_Table):
    """Files for turning work by their lengths [mm]."""

    table = "files"

    mill_bastard: tuple = _key(_ascending_lengths, ())
    mill_smooth: tuple = _key(_ascending_lengths, ())
    half_round: tuple = _key(_ascending_lengths, ())
    handles: bool = _key(_truth)

    def usable(self) -> bool:
        """True if there is a file that may be used on turning work."""
        return self.handles and bool(self.mill_bastard or self.mill_smooth)


@dataclass(frozen=True, kw_only=True, eq=False)
class Shop(_Table):
    """One shop.

    inch_tolerances: number of decimals or "fraction" -> mm; limits, minutes, spreads: as written.
    """

    table = "shop"
    also = ("like", "without")

    name: str = _key(_text)
    about: str = _key(_text, "")
    units: str = _key(_word(*UNITS))
    hourly_rate: float = _key(_number, NAN)
    currency: str = _key(_text, "")
    lathes: tuple = _key(_tables(Lathe), key="lathe")
    pivot_attachment: PivotAttachment | None = _key(_table(PivotAttachment), None)
    form_tools: FormTools = _key(_table(FormTools), FormTools(grinding="none"))
    rods: tuple = _key(_tables(Rod), ())
    gauges: Gauges = _key(_table(Gauges), Gauges())
    files: Files = _key(_table(Files), Files(handles=False))
    inch_tolerances: dict = _key(_inch_tolerances, {})
    limits: dict = _key(_limits, {})
    minutes: dict = _key(_practice, {})
    spreads: dict = _key(_practice, {})

    def check(self, where: _Place, written: Mapping[str, Any]) -> None:
        """Raise ShopError where this table contradicts itself."""
        names = [lathe.name for lathe in self.lathes]
        for name in names:
            if names.count(name) > 1:
                fix = "Give each lathe a name of its own."
                raise ShopError(where.key("lathe"), name, "is the name of two lathes", fix)
        if self.pivot_attachment:
            self._check_pivot(self.pivot_attachment, where.key("pivot_attachment"), written["pivot_attachment"], names)
        if self.rods:
            self._check_rods(where.key("rods"), written["rods"])

    def _check_pivot(
        self, attachment: PivotAttachment, where: _Place, written: Mapping[str, Any], names: Sequence[str]
    ) -> None:
        for name in attachment.lathes:
            if name not in names:
                fix = (did_you_mean(name, names) or _one_of(names)).strip()
                raise ShopError(where.key("lathes"), name, "is no lathe of this shop", fix)
        for lathe in self.lathes:
            fits = lathe.name in attachment.lathes
            if fits and attachment.largest_work_over >= lathe.swing_over_bed:
                problem = f"is more than the {lathe.name} swings over its bed"
                fix = "Give the largest diameter that turns clear above the post."
                raise ShopError(
                    where.key("largest_work_over"), _sized(written["largest_work_over"], where), problem, fix
                )

    def _check_rods(self, where: _Place, written: Sequence[dict[str, Any]]) -> None:
        balls = [lathe.rod.ball_diameter for lathe in self.lathes if lathe.rod]
        if not balls:
            fix = "Give a lathe its [lathe.rod], or leave the rods out."
            raise ShopError(where, "", "fit no lathe of this shop", fix)
        for n, rod in enumerate(self.rods, start=1):
            if rod.overall <= max(balls):
                problem = f"is no longer than a ball end, {show_length(max(balls), where.units or 'mm')}"
                fix = "Give the length over both ball ends."
                raise ShopError(where.row(n).key("overall"), _sized(written[n - 1]["overall"], where), problem, fix)


KINDS = {kind.table: kind for kind in _Table.__subclasses__()}  # name of a table in rules/shop_keys.toml -> its class


def keys_of(kind: type[_Table]) -> dict[str, tuple[Any, bool]]:
    """The keys of a table as its file has them: key -> (field, whether it has to be there)."""
    return {
        entry.metadata.get("key", entry.name): (entry, entry.default is MISSING and entry.default_factory is MISSING)
        for entry in fields(kind)  # type: ignore[arg-type]  # each of them is a dataclass
    }


def _one_of(names: Iterable[str]) -> str:
    return f"Give {' or '.join(names)}."


# Reading the file.


def read_shop(name_or_path: Path | str, *, folder: Path = SHOPS) -> Shop:
    """The shop of that name in the folder, or of a path to a .toml file.

    A file with like = "another shop" starts from that shop, drops what its list `without` names ("rods",
    "lathe.rod"), and lets its own keys replace or add to what is left. Lists are replaced whole.
    Raises ShopError for everything that cannot be used, all of it at once, each with file, line and key.
    """
    try:
        path, folder = _find(name_or_path, Path(folder), Path()), Path(folder)
        if path.parent == folder == SHOPS:
            return _shipped(path, max(file.stat().st_mtime_ns for file in SHOPS.glob("*.toml")))
        return _read(path, folder, ())[0]
    except ShopError as wrong:
        raise together([ShopError(str(one.field), one.value, one.problem, one.fix) for one in wrong.each]) from None


@functools.cache
def _shipped(path: Path, changed: int) -> Shop:
    """A shop that the program brings along, read once as long as nobody changes one. changed: when that was last done."""
    return _read(path, SHOPS, ())[0]


def read_text(text: str, name: str) -> Shop:
    """The shop of a text that stands on its own; name: of it in errors. Raises ShopError."""
    tables, source = _parse(text, name)
    shop = _read_table(Shop, tables, _Place(source))
    if source.wrongs:
        raise together(_in_order(source.wrongs))
    return shop


def own_shops() -> Path | None:
    """The folder of the user's own shops, which need not be there; None where the user has no home."""
    folder = user_folder("config")
    return folder and folder / "turn-radius" / "shops"


def own_files() -> list[Path]:
    """The files of the user's own shops, by their names."""
    folder = own_shops()
    return sorted(folder.glob("*.toml"), key=lambda path: path.stem) if folder and folder.is_dir() else []


def own_names() -> list[str]:
    """The names of the user's own shops."""
    return [path.stem for path in own_files()]


def written_tables(name_or_path: str) -> dict[str, Any]:
    """The tables of a shop's own file as they are written there, without those of the shop that it is like."""
    path = _find(name_or_path, SHOPS, Path())
    return _parse(_load(path, shown(path)), shown(path))[0]


def new_place(name: str) -> Path:
    """Where a new shop of this name or path is written: a bare name among the user's own. Raises ShopError."""
    if not name.strip() or not name.isprintable():
        raise ShopError("shop", shown(name), "is no name of a shop", "Give a name or the path of a .toml file.")
    bare = not re.search(r"[/\\]", name) and not name.endswith(".toml")
    if not bare:
        return Path(name)
    if name in WORDS:
        fix = "Give another name: these words are what turn-radius shop does."
        raise ShopError("shop", shown(name), "cannot be the name of a shop", fix)
    if (SHOPS / f"{name}.toml").is_file():
        raise ShopError("shop", shown(name), "is the name of a shop that is carried inside", "Give another name.")
    folder = own_shops()
    if folder is None:
        raise ShopError("shop", shown(name), "has no folder to lie in", f"Give a file, such as ./{shown(name)}.toml.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        fix = f"Give a file, such as ./{shown(name)}.toml."
        raise ShopError("shop", shown(str(folder), 300), f"cannot be made ({error.strerror})", fix) from None
    return folder / f"{name}.toml"


def tables_of(name_or_path: str, *, folder: Path = SHOPS) -> tuple[dict[str, Any], _Source]:
    """The tables of a shop file as they stand once it has taken over what it is like, and where they come from, for
    `shop_of`. Raises ShopError."""
    return _read(_find(name_or_path, Path(folder), Path()), Path(folder), ())[1:]


def shop_of(tables: Mapping[str, Any], source: _Source) -> Shop:
    """The shop of tables such as `tables_of` gives, changed perhaps; source: as it gives it. Raises ShopError."""
    source = replace(source, wrongs=[], holes=set())
    shop = _read_table(Shop, tables, _Place(source))
    if source.wrongs:
        raise together(_in_order(source.wrongs))
    return shop


def _find(name_or_path: Path | str, folder: Path, beside: Path) -> Path:
    """Path of a shop: a bare name lies in the folder or among the user's own, a path starts where the file that says it
    lies."""
    text = str(name_or_path)
    if not text.strip() or not text.isprintable():
        fix = "Give the name of a shop or the path of its file."
        raise ShopError("shop", shown(text), "is no name of a shop", fix)
    bare = not re.search(r"[/\\]", text) and not text.endswith(".toml")
    path = folder / f"{text}.toml" if bare else beside / text
    try:
        if path.is_dir():
            raise ShopError("shop", shown(text), "is a folder", "Give the file of a shop in it.")
        if not path.is_file():
            own = {file.stem: file for file in own_files()} if bare else {}
            if text in own:
                return own[text]
            known = sorted({p.stem for p in folder.glob("*.toml")} | set(own))
            listed = f"one of {', '.join(known)}, or " if known else ""
            fix = f"{did_you_mean(text, known)}Give {listed}the path of a .toml file."
            raise ShopError("shop", shown(text), "is not there", fix)
    except OSError as error:
        raise ShopError("shop", shown(text), "cannot be looked up", "Give a shorter or a plainer path.") from error
    return path


def _read(path: Path, folder: Path, seen: Sequence[Path]) -> tuple[Shop, dict[str, Any], _Source]:
    """The shop of a file, the tables of that file with those of the shops that it is like, and its _Source."""
    file = path.name if path.parent in (folder, own_shops()) else shown(path)
    if path.resolve() in seen:
        raise ShopError(
            f"{file}: like", shown(path.stem), "comes back to itself", "Let one of these shops stand alone."
        )
    tables, source = _parse(_load(path, file), file)
    place = _Place(source)
    tables.setdefault("name", path.stem)
    like, without = tables.pop("like", None), tables.pop("without", None)
    if like is not None:
        parent = _find(_text(like, place.key("like")), folder, path.parent)
        _, inherited, source.like = _read(parent, folder, (*seen, path.resolve()))
        source.units = source.units or source.like.units
        tables = merged(_without(inherited, without, place.key("without")), tables)
    elif without is not None:
        fix = 'Say from which shop, like = "training-shop".'
        raise ShopError(place.key("without"), "", "stands without like", fix)
    shop = _read_table(Shop, tables, place)
    if source.wrongs:
        raise together(_in_order(source.wrongs))
    return shop, tables, source


def _in_order(wrongs: Sequence[InputError]) -> list[InputError]:
    """Errors by their lines; where a value has been put right and still is none, that alone is told."""
    of_values = [wrong.field for wrong in wrongs if isinstance(wrong.field, _Place) and wrong.value]
    told = {where.line for where in of_values if where.path == where.at}
    kept = [wrong for wrong in wrongs if not (isinstance(wrong.field, _Line) and wrong.field.line in told)]
    for stray in [wrong.field for wrong in kept if isinstance(wrong.field, _Stray)]:
        kept = [wrong for wrong in kept if not stray.tells(wrong.field)]
    return sorted(kept, key=lambda wrong: wrong.field.line)[:MOST_WRONGS]  # type: ignore[attr-defined]


class _Line(str):
    """Where a mistake stands that belongs to no key, with the number of its line; again: path of a key given twice."""

    line: int
    again: Any

    def __new__(cls, words: str, line: int, again: object) -> _Line:
        made = super().__new__(cls, words)
        made.line, made.again = line, again
        return made


def _without(tables: Mapping[str, Any], names: Sequence[str] | None, where: _Place) -> dict[str, Any]:
    """The tables that a shop takes over from another: not its name, nor what about it, nor what is named."""
    kept = {key: value for key, value in tables.items() if key not in ("name", "about")}
    names = () if names is None else _list_of(_text, example='["pivot_attachment"]')(names, where)
    for name in names:
        if not _drop(kept, name.split(".")):
            fix = did_you_mean(name, kept).strip() or _one_of(kept)
            raise ShopError(where, shown(name), "is nothing that the other shop has", fix)
    return kept


def _drop(tables: dict[str, Any], path: Sequence[str]) -> bool:
    """Take what a dotted path names out of tables in place, from every table of a list; true if it was there."""
    first, *rest = path
    if first not in tables:
        return False
    if not rest:
        del tables[first]
        return True
    inside = tables[first] if isinstance(tables[first], list) else [tables[first]]
    return any([_drop(one, rest) for one in inside if isinstance(one, dict)])  # noqa: C419, each of them is dropped


def merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """Tables of base with those of own laid over them; tables are merged, everything else replaced."""
    made = dict(base)
    for key, value in own.items():
        both_tables = isinstance(value, dict) and isinstance(base.get(key), dict)
        made[key] = merged(base[key], value) if both_tables else value
    return made


def _load(path: Path, file: str) -> str:
    """Text of a shop file."""
    try:
        raw = strangers.content(path, LARGEST_FILE)
    except strangers.Unreadable as error:
        large = isinstance(error, strangers.TooLarge)
        fix = "A shop file is a page or two of text." if large else "Check that the file is there and may be read."
        raise ShopError(file, "", str(error), fix) from error
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise ShopError(f"{file}: line {line}", "", "is not text in UTF-8", "Save the file as UTF-8 text.") from error
    return text


def _parse(text: str, file: str) -> tuple[dict[str, Any], _Source]:
    """Tables of a TOML text and the _Source that knows its lines and holds its mistakes."""
    try:
        written = toml_text.read(text)
    except RecursionError as error:
        raise ShopError(file, "", "is nested too deeply", "Two levels of tables are enough for a shop.") from error
    source = _Source(file, written.lines, holes=written.holes)
    for mistake in written.mistakes:
        where = _Line(f"{file}: line {mistake.line}", mistake.line, mistake.again)
        source.wrongs.append(ShopError(where, shown(mistake.written), mistake.problem, mistake.fix))
    if len(source.wrongs) >= toml_text.MOST:
        raise together(source.wrongs)
    units = written.tables.get("units")
    source.units = units if units in UNITS else None
    return written.tables, source


# What rules and formulas ask for.


def shop_values(shop: Shop, lathe: Lathe) -> dict[str, float | tuple[float, ...]]:
    """What the rules are given about one lathe of a shop.

    shop: Shop; lathe: one of shop.lathes. Returns name -> number, truth value, word, or ascending tuple of numbers;
    a number that is not known or not there is not a number. Lengths in mm, speeds in rpm, power in kW, angles in deg.
    ready_tools is a tuple of (radius, convex, width, edge_good_for) for ready_tool_serves.
    """
    compound, rod = lathe.compound, lathe.rod
    pivot = shop.pivot_attachment
    if pivot and lathe.name not in pivot.lathes:
        pivot = None
    tools, gauges = shop.form_tools, shop.gauges

    def of(thing: object, name: str) -> Any:
        return getattr(thing, name) if thing else NAN

    return {
        "swing_over_bed": lathe.swing_over_bed,
        "swing_over_cross_slide": lathe.swing_over_cross_slide,
        "between_centres": lathe.between_centres,
        "spindle_speeds": lathe.spindle_speeds,
        "lowest_spindle_speed": lathe.spindle_speeds[0],
        "highest_spindle_speed": lathe.spindle_speeds[-1],
        "motor_power": lathe.motor_power,
        "chuck_diameter": lathe.chuck_diameter,
        "chuck_depth": lathe.chuck_depth,
        "chuck_highest_speed": lathe.chuck_highest_speed,
        "tool_overhang": lathe.tool_overhang,
        "diameter_dial": lathe.dials == "diameter",
        "dial_graduation": lathe.dial_graduation / (2 if lathe.dials == "diameter" else 1),
        "carbide_in_shop": "carbide" in lathe.tools,
        "nose_radii": lathe.nose_radii,
        "has_compound": compound is not None,
        "compound_past_min": of(compound, "tip_past_min"),
        "compound_past_max": of(compound, "tip_past_max"),
        "compound_short_min": of(compound, "tip_short_min"),
        "compound_short_max": of(compound, "tip_short_max"),
        "compound_travel": of(compound, "travel"),
        "compound_graduation": of(compound, "graduation"),
        "slide_front_measured": of(compound, "front"),
        "slide_half_width_measured": of(compound, "half_width"),
        "work_over_slide_measured": of(compound, "largest_work_over"),
        "has_rod_gear": rod is not None,
        "rod_head_min": of(rod, "headstock_min"),
        "rod_head_max": of(rod, "headstock_max"),
        "rod_tail_min": of(rod, "tailstock_min"),
        "rod_tail_max": of(rod, "tailstock_max"),
        "rod_largest_tilt": of(rod, "largest_tilt"),
        "rod_ball_diameter": of(rod, "ball_diameter"),
        "shelf_rods": _shelf_rods(shop, rod),
        "has_pivot": pivot is not None,
        "pivot_convex_min": of(pivot, "convex_min"),
        "pivot_convex_max": of(pivot, "convex_max"),
        "pivot_concave_min": of(pivot, "concave_min"),
        "pivot_concave_max": of(pivot, "concave_max"),
        "post_diameter": of(pivot, "post_diameter"),
        "largest_work_over_post": of(pivot, "largest_work_over"),
        "pivot_base_half_width": of(pivot, "base_half_width"),
        "widest_blank": tools.widths[-1] if tools.widths else 0.0,
        "tool_grinding": tools.grinding,
        "ready_tools": tuple((t.radius, t.form == "convex", t.width, t.edge_good_for) for t in tools.ready),
        "has_micrometer": gauges.micrometer,
        "has_depth_micrometer": gauges.depth_micrometer is not None,
        "depth_micrometer_graduation": of(gauges.depth_micrometer, "graduation"),
        "has_pins": gauges.pins,
        "inch_pins": shop.units == "inch",
        "has_comparator": gauges.comparator is not None,
        "comparator_sees": of(gauges.comparator, "accuracy"),
        "has_template_stock": gauges.template_stock,
        "gauge_leaves": gauges.leaves(),
        "has_files": shop.files.usable(),
        "has_half_round": shop.files.handles and bool(shop.files.half_round),
        "hourly_rate": shop.hourly_rate,
    }


def _shelf_rods(shop: Shop, rod_gear: RodGear | None) -> tuple[float, ...]:
    """Rods on the shelf, seat to seat on this lathe's ball ends, ascending [mm]."""
    if rod_gear is None:
        return ()
    lengths = (r.seat_to_seat if r.seat_to_seat > 0 else r.overall - rod_gear.ball_diameter for r in shop.rods)
    return tuple(sorted(lengths))


def ready_tool(shop: Shop, *, radius_low: float, radius_high: float, form: str, width: float) -> ReadyTool | None:
    """The form tool on the shelf that serves (see ready_tool_serves), nearest to the middle; None if none does.

    radius_low, radius_high, width [mm]; form: of the arc on the work, "convex" or "concave".
    """
    middle = (radius_low + radius_high) / 2
    serving = [
        tool
        for tool in shop.form_tools.ready
        if ready_tool_serves(
            radius_low=radius_low,
            radius_high=radius_high,
            convex=form == "convex",
            width=width,
            tools=((tool.radius, tool.form == "convex", tool.width, tool.edge_good_for),),
        )
    ]
    return min(serving, key=lambda tool: abs(tool.radius - middle), default=None)


def takes(lathe: Lathe, *, largest_diameter: Numeric, stickout: Numeric, swing: str = "swing_over_bed") -> Truth:
    """Whether work goes on a lathe, for numbers or arrays: it has to swing, and to lie between the centres.

    largest_diameter, stickout: of the work [mm]; swing: the field of the lathe that it has to clear.
    """
    return both(largest_diameter <= getattr(lathe, swing), stickout <= lathe.between_centres)


def drawing_units(shop: Shop) -> str | None:
    """The unit in which bare numbers of a callout are read in a shop: its own, None in the one that is taken where nobody
    names any, since that is nobody's."""
    return None if shop.name == USUAL_SHOP else shop.units


def choose_lathe(shop: Shop, *, largest_diameter: Any, stickout: Any = 0.0, name: str | None = None) -> Lathe:
    """The lathe for the work: the named one, or the first that swings it over the cross slide, or else over the bed.

    largest_diameter: of the work that has to swing [mm]; stickout: how far it stands out of the chuck [mm]; name: of a
    lathe, or None.
    Raises ShopError if the shop has no lathe of that name, or if none that may be taken holds the work.
    """
    candidates = shop.lathes
    if name is not None:
        names = [lathe.name for lathe in shop.lathes]
        candidates = [lathe for lathe in shop.lathes if lathe.name == name]
        if not candidates:
            fix = did_you_mean(name, names).strip() or _one_of(names)
            raise ShopError("lathe", _shown(name), f"is no lathe of {shop.name}", fix)
    for swing in ("swing_over_cross_slide", "swing_over_bed"):
        for lathe in candidates:
            if takes(lathe, largest_diameter=largest_diameter, stickout=stickout, swing=swing):
                return lathe
    swinging = [lathe for lathe in candidates if largest_diameter <= lathe.swing_over_bed]
    if swinging:
        longest = max(swinging, key=lambda lathe: lathe.between_centres)
        room = show_length(longest.between_centres, shop.units)
        raise ShopError(
            "stickout",
            show_length(stickout, shop.units),
            f"is longer than the {longest.name} takes between its centres, {room}",
            f"Give at most {room}, or a shop with a longer lathe.",
        )
    largest = max(candidates, key=lambda lathe: lathe.swing_over_bed)
    swung = show_length(largest.swing_over_bed, shop.units)
    raise ShopError(
        "diameter",
        show_length(largest_diameter, shop.units),
        f"does not swing over the bed of the {largest.name}, which takes {swung}",
        f"Give at most {swung}, or a shop with a larger lathe.",
    )
