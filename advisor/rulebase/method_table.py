"""Checks the table of methods and of the numbers that each sets, before anything is drawn or shown by it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.ground.errors import RuleError, did_you_mean
from advisor.ground.methods import MADE, METHOD_KEYS, NUMBER_KEYS, PLACED, read

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from typing import Any, NoReturn

    from advisor.ground.methods import Method, Number


UNLIKE = ("letter", "fill", "hatch")  # looks that tell two methods apart
NAMES_OF_METHOD = ("unmarked", "nose")


def check(table: Mapping[str, Any], names: Collection[str], where: str) -> None:
    """Check methods.toml once every name is declared.

    table: of the file; names: that the vocabulary declares; where: what messages call the file. Raises RuleError.
    """
    common = table.get("number", [])
    seen: dict[tuple[str, str], str] = {}
    columns: dict[int, str] = {}
    for entry in table.get("method", []):
        here = f'{where}: method "{entry["name"]}"'
        _keys(here, entry, METHOD_KEYS)
        for one in (*entry.get("number", []), *common):
            _keys(here, one, NUMBER_KEYS)
            for key in ("label", "key"):
                if not isinstance(one.get(key), str) or not one[key]:
                    _wrong(here, f'a number has no "{key}"', 'Write label = "Edge width" and key = "edge_width_mm".')
        method = read(entry, common)
        _of_method(here, method, names)
        for look in UNLIKE:
            value = getattr(method, look)
            other = seen.setdefault((look, value), method.name)
            if value and other != method.name:
                _wrong(here, f'has the {look} "{value}", which is that of the {other}', "Give each method its own.")
        for number in method.numbers:
            _of_number(f'{here}: number "{number.label}"', number, names, columns)


def _of_method(here: str, method: Method, names: Collection[str]) -> None:
    labels = [number.label for number in method.numbers]
    for key, known in (("made", MADE), ("placed", (*PLACED, ""))):
        if getattr(method, key) not in known:
            _wrong(
                here, f'does not know {key} = "{getattr(method, key)}"', f"Known are {', '.join(filter(None, known))}."
            )
    for name in (*method.reach, *method.exercise, *(getattr(method, key) for key in NAMES_OF_METHOD)):
        if name and labels:
            _declared(here, name, names)
    if method.own:
        missing = [label for label in labels if label not in method.order]
        if missing:
            _wrong(here, f'does not say where "{missing[0]}" is set', "Put it into order.")
    for key, listed in (("order", method.order), ("aside", method.aside), ("deciding", sum(method.deciding, ()))):
        for label in listed:
            if label not in labels:
                _wrong(
                    here,
                    f'{key} has "{label}", and no number is called so',
                    f"{did_you_mean(label, labels)}Rows are {', '.join(labels)}.",
                )
    for key, listed in (("order", method.order), ("aside", method.aside)):
        if len(set(listed)) < len(listed):
            _wrong(here, f"{key} has a row twice", "Take one of them out.")
    keys = [number.key for number in method.numbers]
    twice = next((key for key in keys if keys.count(key) > 1), None)
    if twice:
        _wrong(here, f'has two numbers with the key "{twice}"', "Give each its own.")


def _of_number(here: str, number: Number, names: Collection[str], columns: dict[int, str]) -> None:
    for name in (*number.sets.values(), *number.names, *number.dials):
        _declared(here, name, names)
    if number.column:
        if number.key not in number.sets:
            _wrong(here, "has a column and does not say what is set", f'Write sets = {{ {number.key} = "NAME" }}.')
        key = columns.setdefault(number.column, number.key)
        if key != number.key:
            _wrong(here, f"has the column of {key}", "Give it the next place that is free.")


def _declared(here: str, name: str, names: Collection[str]) -> None:
    if name not in names:
        fix = f"{did_you_mean(name, names)}Names are declared in rules/vocabulary.toml."
        _wrong(here, f'names "{name}", which nothing declares', fix)


def _keys(here: str, table: Mapping[str, Any], known: Collection[str]) -> None:
    for key in table:
        if key not in known:
            _wrong(here, f'has a key "{key}" that is not known', did_you_mean(key, known).strip() or "Take it out.")


def _wrong(where: str, problem: str, fix: str) -> NoReturn:
    raise RuleError(where, "", problem, fix)
