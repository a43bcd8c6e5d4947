"""What every key of a shop file means: rules/shop_keys.toml read, for the reader of shops, for new files and for the
documentation."""

import functools
from dataclasses import dataclass, field

from advisor.ground.errors import RuleError
from advisor.ground.folders import rule_tables

FILE = "shop_keys.toml"


@dataclass(frozen=True)
class Key:
    """One key. meaning: of its value; find: how to find it, "" where that needs no words; metric, inch: what an invented
    lathe has there, as it stands in a shop file, "" for the name of a table."""

    name: str
    meaning: str = ""
    find: str = ""
    metric: str = ""
    inch: str = ""

    def line(self, units: str) -> str:
        """The key with its value for an invented shop in these units, "mm" or "inch"."""
        return f"{self.name} = {self.inch if units == 'inch' else self.metric}"


@dataclass(frozen=True)
class Table:
    """One table of a shop file. heading: as it is written; about: what it is; keys: name -> Key; either: groups of keys
    of which one is given, () where all may stand together."""

    name: str
    heading: str
    about: str
    keys: dict = field(default_factory=dict)
    either: tuple = ()


@dataclass(frozen=True)
class Recipe:
    """How something is measured. picture: its name in advisor/drawing/measuring.py; title; keys: what it gives; steps:
    sentences with numbers in braces."""

    picture: str
    title: str
    keys: tuple
    steps: tuple


@functools.cache
def recipes() -> list[Recipe]:
    """How a lathe is measured, in the order in which it is done -> list of Recipe."""
    return [
        Recipe(one["picture"], one["title"], tuple(one["keys"]), tuple(one["steps"]))
        for one in rule_tables(FILE)["measure"]
    ]


@functools.cache
def shop_tables() -> dict[str, Table]:
    """Every table that a shop file may have, in the order in which they are written: name -> Table."""
    found = {}
    for one in rule_tables(FILE)["table"]:
        try:
            keys = {key["name"]: Key(**key) for key in one["key"]}
            rest = {name: value for name, value in one.items() if name != "key"}
            found[one["name"]] = Table(**rest | {"either": tuple(map(tuple, one.get("either", ()))), "keys": keys})
        except (KeyError, TypeError) as wrong:
            name = f"{one.get('name', 'table')}: {wrong}"
            raise RuleError(f"rules/{FILE}", name, "is not complete", "Compare it with the others.") from None
    return found
