"""The methods and the numbers that each of them sets, as rules/methods.toml has them."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING

from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from types import ModuleType
    from typing import Any


MADE = ("formed", "by hand", "swung")
PLACED = ("cross slide", "feed", "seat")


@dataclass(frozen=True, kw_only=True)
class Number:
    """A number to set, as a row. The fields are the keys of [[method.number]], which the head of the file explains; names:
    of the rule base, behind the row."""

    label: str
    key: str
    sets: dict[str, str] = field(default_factory=dict)
    names: tuple[str, ...] = ()
    shows: str = ""
    dials: dict[str, str] = field(default_factory=dict)
    column: int = 0
    at_least: bool = False
    by_position: bool = False
    small: bool = False


@dataclass(frozen=True, kw_only=True)
class Method:
    """A method. The fields are the keys of [[method]], which the head of the file explains; numbers: its own, and those of
    every method after them, in the order of the rows; own: its own alone."""

    name: str
    prefix: str
    does: str = ""
    spoken: str = ""
    speed: str = "finish"
    nose: str = "turning_nose"
    unmarked: str = ""
    aims: bool = False
    made: str = "swung"
    centre: str = "centre of the arc"
    off_centre: str = ""
    placed: str = ""
    moves: dict[str, Any] = field(default_factory=dict)
    wrong: tuple[Any, ...] = ()
    letter: str = ""
    colour: str = ""
    fill: str = ""
    hatch: str = ""
    reach: tuple[str, ...] = ()
    exercise: tuple[str, ...] = ()
    deciding: tuple[Any, ...] = ()
    moved: str = ""
    order: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()
    numbers: tuple[Number, ...] = ()
    own: tuple[Number, ...] = ()

    @property
    def by_hand(self) -> bool:
        """Whether the arc comes about by eye and hand, so that nothing is set that could be corrected."""
        return self.made == "by hand"

    @property
    def formed(self) -> bool:
        """Whether the edge has the form of the arc."""
        return self.made == "formed"

    @property
    def swung(self) -> bool:
        """Whether the tip goes round the centre of the arc."""
        return self.made == "swung"

    @property
    def dials(self) -> dict[str, str]:
        """Names of the rule base that it sets by a dial -> the dial."""
        return {name: dial for number in self.numbers for name, dial in number.dials.items()}


METHOD_KEYS = {entry.name for entry in fields(Method)} - {"numbers", "own"} | {"number"}
NUMBER_KEYS = {entry.name for entry in fields(Number)}


@functools.cache
def methods() -> dict[str, Method]:
    """Every method by its name, in the order that settles a tie: dict of Method."""
    tables = rule_tables("methods.toml")
    return {table["name"]: read(table, tables["number"]) for table in tables["method"]}


def read(table: Mapping[str, Any], common: Iterable[Mapping[str, Any]]) -> Method:
    """A Method of its table, and of the tables of the numbers that every method has."""
    own = {key: value for key, value in table.items() if key != "number"}
    numbers, more = ([_number(one, table) for one in those] for those in (table.get("number", ()), common))
    return Method(**{key: _held(value) for key, value in own.items()}, own=tuple(numbers), numbers=(*numbers, *more))


def _number(table: Mapping[str, Any], method: Mapping[str, Any]) -> Number:
    speed = method.get("speed", Method.speed)
    sets = {key: name.replace("{speed}", speed) for key, name in table.get("sets", {}).items()}
    names = tuple(table.get("names", sets.values()))
    return Number(**{key: _held(value) for key, value in table.items()} | {"sets": sets, "names": names})


def _held(value: Any) -> Any:
    return tuple(map(_held, value)) if isinstance(value, list) else value


@functools.cache
def names_where(field: str) -> set[str]:
    """The names of the rule base behind numbers of which something is true: a set. field: such as "at_least"."""
    every = [number for method in methods().values() for number in method.numbers]
    return {name for number in every if getattr(number, field) for name in number.names}


@functools.cache
def columns() -> dict[str, dict[str, str]]:
    """The numbers that lists have a column for, in their order: key -> {method: name of the rule base}."""
    found: dict[tuple[int, str], dict[str, str]] = {}
    for method in methods().values():
        for number in method.numbers:
            if number.column:
                found.setdefault((number.column, number.key), {})[method.name] = number.sets[number.key]
    return {key: found[place, key] for place, key in sorted(found)}


@functools.cache
def own_module(folder: str, method: str) -> ModuleType | None:
    """The module of a method by its prefix, such as advisor.formulas.rod; None where it has none in that folder.

    folder: a package, such as "advisor.formulas"; method: its prefix.
    """
    from importlib import import_module
    from importlib.util import find_spec

    name = f"{folder}.{method}"
    return import_module(name) if find_spec(name) else None
