"""Every name of a case file, as rules/options.toml has it: what it is called and, where it is nothing but a value of its own,
how it is read."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from typing import Any


TABLES = ("callout", "work", "job")  # of a case file


@dataclass(frozen=True, kw_only=True)
class Option:
    """One name. The fields are the keys of the file, which its head explains; kind: "" where code of its own reads it."""

    name: str
    table: str
    help: str = ""
    label: str = ""
    like: str = ""
    words: dict[str, Any] = field(default_factory=dict)
    kind: str = ""
    usual: Any = None
    origin: str = ""
    dimension: str = ""
    others: tuple = ()
    question: str = ""
    spoken: tuple = ()
    share: float = 0.0

    def code(self, value: Any) -> float:
        """A value as columns have it: the place of a word, a truth value or a number."""
        if self.kind == "words":
            return list(self.words).index(value)
        return bool(value) if self.kind == "truth" else float(value)


@functools.cache
def options() -> dict[str, Option]:
    """Every Option by its name, in the order of the file."""
    return {name: Option(name=name, **table) for name, table in rule_tables("options.toml").items()}


@functools.cache
def plain() -> dict[str, Option]:
    """Those that are nothing but a value of their own: name -> Option."""
    return {name: option for name, option in options().items() if option.kind}


def by_table() -> dict[str, tuple[str, ...]]:
    """The names of each table of a case file: table -> names."""
    return {table: tuple(o.name for o in options().values() if o.table == table) for table in TABLES}


def helped() -> dict[str, dict[str, str]]:
    """What a reader of --help needs, by table: table -> {option: text}."""
    return {
        table: {name.replace("_", "-"): options()[name].help for name in names if options()[name].help}
        for table, names in by_table().items()
    }
