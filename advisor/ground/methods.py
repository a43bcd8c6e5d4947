"""The methods and the numbers that each of them sets, as rules/methods.toml has them."""

import functools
from dataclasses import dataclass, field, fields

from advisor.ground.folders import rule_tables

MADE = ("formed", "by hand", "swung")
PLACED = ("cross slide", "feed", "seat")


@dataclass(frozen=True, kw_only=True)
class Number:
    """A number to set, as a row. The fields are the keys of [[method.number]], which the head of the file explains; names:
    of the rule base, behind the row."""

    label: str
    key: str
    sets: dict = field(default_factory=dict)
    names: tuple = ()
    shows: str = ""
    dials: dict = field(default_factory=dict)
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
    moves: dict = field(default_factory=dict)
    wrong: tuple = ()
    letter: str = ""
    colour: str = ""
    fill: str = ""
    hatch: str = ""
    reach: tuple = ()
    exercise: tuple = ()
    deciding: tuple = ()
    moved: str = ""
    order: tuple = ()
    aside: tuple = ()
    numbers: tuple = ()
    own: tuple = ()

    @property
    def by_hand(self):
        """Whether the arc comes about by eye and hand, so that nothing is set that could be corrected."""
        return self.made == "by hand"

    @property
    def formed(self):
        """Whether the edge has the form of the arc."""
        return self.made == "formed"

    @property
    def swung(self):
        """Whether the tip goes round the centre of the arc."""
        return self.made == "swung"

    @property
    def dials(self):
        """Names of the rule base that it sets by a dial -> the dial."""
        return {name: dial for number in self.numbers for name, dial in number.dials.items()}


METHOD_KEYS = {entry.name for entry in fields(Method)} - {"numbers", "own"} | {"number"}
NUMBER_KEYS = {entry.name for entry in fields(Number)}


@functools.cache
def methods():
    """Every method by its name, in the order that settles a tie: dict of Method."""
    tables = rule_tables("methods.toml")
    return {table["name"]: read(table, tables["number"]) for table in tables["method"]}


def read(table, common):
    """A Method of its table, and of the tables of the numbers that every method has."""
    own = {key: value for key, value in table.items() if key != "number"}
    numbers, more = ([_number(one, table) for one in those] for those in (table.get("number", ()), common))
    return Method(**{key: _held(value) for key, value in own.items()}, own=tuple(numbers), numbers=(*numbers, *more))


def _number(table, method):
    speed = method.get("speed", Method.speed)
    sets = {key: name.replace("{speed}", speed) for key, name in table.get("sets", {}).items()}
    names = tuple(table.get("names", sets.values()))
    return Number(**{key: _held(value) for key, value in table.items()} | {"sets": sets, "names": names})


def _held(value):
    return tuple(map(_held, value)) if isinstance(value, list) else value


@functools.cache
def names_where(field):
    """The names of the rule base behind numbers of which something is true: a set. field: such as "at_least"."""
    every = [number for method in methods().values() for number in method.numbers]
    return {name for number in every if getattr(number, field) for name in number.names}


@functools.cache
def columns():
    """The numbers that lists have a column for, in their order: key -> {method: name of the rule base}."""
    found = {}
    for method in methods().values():
        for number in method.numbers:
            if number.column:
                found.setdefault((number.column, number.key), {})[method.name] = number.sets[number.key]
    return {key: found[place, key] for place, key in sorted(found)}


@functools.cache
def own_module(folder, method):
    """The module of a method by its prefix, such as advisor.formulas.rod; None where it has none in that folder.

    folder: a package, such as "advisor.formulas"; method: its prefix.
    """
    from importlib import import_module
    from importlib.util import find_spec

    name = f"{folder}.{method}"
    return import_module(name) if find_spec(name) else None
