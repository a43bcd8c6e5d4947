"""A shop file to fill in: every key with its meaning, its unit and how to find it, and values of an invented lathe."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING

from advisor.asked.shop import KINDS, keys_of
from advisor.asked.shop_keys import shop_tables
from advisor.ground.toml_text import quoted, read

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from typing import Any

    from advisor.asked.shop_keys import Key, Table


WIDTH = 100
NAMES = {"mm": "millimetres", "inch": "inches"}
MEASURED = ("lathe", "lathe.compound", "lathe.rod", "pivot_attachment")  # tables of which every figure is measured
MOSTLY = 0.5  # share of the figures that may be the invented lathe's before somebody is told


def text(units: str, name: str) -> str:
    """A commented shop file. units: "mm" or "inch"; name: of the shop. What a shop may have or not has a # in front."""
    parts = [_head(units, name)]
    for table in shop_tables().values():
        for group in table.either or (tuple(table.keys),):
            parts.append(_table(table, group, units, name))
    return "\n\n".join(parts) + "\n"


def filled(text: str) -> str:
    """A file as `text` gives it with everything in it: no # in front of a key or a heading."""
    return re.sub(r"(?m)^#(?=[A-Za-z0-9_\[])", "", text)


def filled_in(units: str) -> str:
    """A file with everything in it that stands on its own, as an invented shop has it."""
    return re.sub(r"(?m)^(like|without) = .*$", "", filled(text(units, "invented")))


def _head(units: str, name: str) -> str:
    example = "0.25" if units == "inch" else "6"
    other = '"6 mm"' if units == "inch" else '"1/4 in"'
    words = (
        f"Shop file for turn-radius. Numbers without a unit are in {NAMES[units]}.",
        "",
        "1. Put your own figures in place of those here, which are an invented lathe's.",
        "2. A line that begins with # does not count. Take the # away in front of what you have, its heading in "
        "[brackets] too. Leave it in front of what you do not have.",
        f'3. Write {example} or {other}. A fraction goes in quotes, "3/8". A point needs a figure before it: 0.5.',
        f"4. turn-radius check {name}.toml tells all that is wrong at once, each with its line. "
        "turn-radius shop measure shows with pictures how to measure. "
        f"turn-radius shop use {name} makes this your shop.",
    )
    return "\n".join(line for one in words for line in _comment(one))


def _comment(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH - 2, initial_indent="# ", subsequent_indent="#    ") or ["#"]


def _table(table: Table, group: Sequence[str], units: str, name: str) -> str:
    kind = KINDS.get(table.name)
    keys = keys_of(kind) if kind else {}
    counts = table.name in ("shop", "lathe")
    lines = []
    if table.name != "shop":
        again = table.either and group != table.either[0]
        lines += ["# Or:"] if again else ["# ---- " + table.heading, *_comment(table.about)]
        lines.append(("" if counts else "#") + table.heading)
    for key in group:
        told = table.keys[key]
        if not told.metric:
            continue
        entry, needed = keys.get(key, (None, False))
        lines += ["", *_comment(_about(told, entry, units))] if told.meaning else [""]
        line = f"name = {quoted(name)}" if (table.name, key) == ("shop", "name") else told.line(units)
        lines.append(line if counts and needed else f"#{line}")
    return "\n".join(lines)


def _about(told: Key, entry: Any, units: str) -> str:
    """What a key means, its unit or its words, and how its value is found."""
    read = entry.metadata["read"] if entry else None
    words = getattr(read, "words", ())
    unit = f" [{'in' if units == 'inch' else 'mm'}]" if getattr(read, "dimension", "") == "length" else ""
    listed = f" ({', '.join(words)})" if words else ""
    meaning = told.meaning[0].upper() + told.meaning[1:]
    return f"{meaning}{unit}{listed}. {told.find}".strip()


def still_invented(tables: Mapping[str, Any], units: str) -> tuple[Any, ...]:
    """Keys of measured tables that hold what a new file holds, where most of them do: list of names, else ().

    tables: of a shop file as it is written; units: of the file.
    """
    template = read(filled(text(units, ""))).tables
    mine: dict[Any, Any] = {}
    invented = dict(_figures(template, ()))
    for lathe in tables.get("lathe", ()):
        mine |= dict(_figures({**tables, "lathe": [lathe]}, ()))
    alike = [key for key, value in mine.items() if key in invented and invented[key] == value]
    known = [key for key in mine if key in invented]
    return tuple(dict.fromkeys(key[-1] for key in alike)) if len(alike) > MOSTLY * len(known) else ()


def _figures(
    tables: Mapping[str, Any], path: Sequence[str]
) -> Iterator[tuple[tuple[str, ...], float | list[float | str] | str]]:
    """Path -> value of every figure under MEASURED; paths without places in lists."""
    for key, value in tables.items():
        inner = (*path, key)
        if isinstance(value, list) and value and isinstance(value[0], dict):
            value = value[0]
        if isinstance(value, dict):
            yield from _figures(value, inner)
        elif ".".join(path) in MEASURED and key not in ("name", "lathes", "tools", "dials"):
            yield inner, value
