"""What something that could be bought would save on a list: the list priced with it and without, by the whole rule base.

What could be bought is rules/worth.toml: tables of a shop file that are laid over the shop's own.
"""

from __future__ import annotations

import copy
import re
from typing import TYPE_CHECKING, NamedTuple

import numpy

from advisor.asked import shop as shops
from advisor.ground.errors import InputError
from advisor.ground.folders import rule_tables
from advisor.lists import pricing
from advisor.lists.quote import Book

if TYPE_CHECKING:
    from collections.abc import Mapping
    from decimal import Decimal
    from typing import Any

    from advisor.formulas.numeric import Column
    from advisor.lists.files import Source
    from advisor.lists.quote import Priced

_SHARE = re.compile(r"([0-9.]+) of (\w+)")


class Purchase(NamedTuple):
    """Something to buy. kind: of rules/worth.toml; says: what it is; shop: the Shop with it."""

    kind: str
    says: str
    shop: shops.Shop


class Worth(NamedTuple):
    """What a purchase does for a list. says: what it is; minutes: that it saves, less than nought where the list takes
    longer; money: that it saves [Decimal], None where no rate is known, both with each line at its smallest and at its
    largest quantity; more: lines that only stand with it; changed:
    lines that are made another way; fewer: lines that no longer stand.
    """

    says: str
    minutes: tuple[float, ...]
    money: tuple[Decimal | None, ...]
    more: int
    changed: int
    fewer: int


class Found(NamedTuple):
    """What could be worth buying for a list. worth: that which saves something or makes more lines, best first; nothing:
    what it is of those that do neither; lines, made: of the list as the shop is; minutes; money [Decimal] or None, both
    with each line at its smallest and at its largest quantity; shop: its name; currency.
    """

    worth: list[Worth]
    nothing: list[str]
    lines: int
    made: int
    minutes: tuple[float, ...]
    money: tuple[Decimal | None, ...]
    shop: str
    currency: str


def worth(source: Source, order: pricing.Order) -> Found:
    """What each purchase would save on a list that was opened -> Found. Raises InputError."""
    book = Book(source, order)
    before = book.priced()
    desk = before.pricer.desk(order.shop)
    found, known = [], set()
    for one in purchases(order.shop):
        compared = _compared(before, book.priced(shop=one.shop), one.says)
        if (one.kind, *compared[1:]) not in known:  # of several sizes that do the same, the first
            known.add((one.kind, *compared[1:]))
            found.append(compared)
    helps = [
        one for one in found if one.more or one.changed and any((part or 0) > 0 for part in one.minutes + one.money)
    ]
    made = pricing.smallest_and_largest(before.number, before.pieces, before.made)
    return Found(
        worth=sorted(
            helps, key=lambda one: (-(one.money[0] if one.money[0] is not None else one.minutes[0]), -one.more)
        ),
        nothing=[one.says for one in found if one not in helps],
        lines=pricing.lines_among(before.number, ~before.away),
        made=pricing.lines_among(before.number, before.made),
        minutes=tuple(_minutes(before.minutes[of]) for of in made),
        money=tuple(_money(before.cost[of]) for of in made),
        shop=desk.shop.name,
        currency=desk.shop.currency,
    )


def _compared(before: Priced, after: Priced, says: str) -> Worth:
    both, number = before.made & after.made, before.number
    ends = pricing.smallest_and_largest(number, before.pieces, both)
    money = [[_money(one.cost[of]) for one in (before, after)] for of in ends]
    moved = (before.best != after.best) | (numpy.abs(before.minutes - after.minutes) >= 0.005)
    return Worth(
        says=says,
        minutes=tuple(_minutes(before.minutes[of]) - _minutes(after.minutes[of]) for of in ends),
        money=tuple(None if old is None or new is None else old - new for old, new in money),
        more=pricing.lines_among(number, after.made & ~before.made),
        changed=pricing.lines_among(number, both & moved),
        fewer=pricing.lines_among(number, before.made & ~after.made),
    )


def _minutes(minutes: Column) -> float:
    return float(pricing.rounded("minutes", minutes).sum())


def _money(cost: Column) -> Decimal | None:
    """The sum of costs in hundredths; None where one is not known."""
    if not numpy.isfinite(cost).all():
        return None
    return pricing.added(cost)


# ---- what could be bought


def purchases(name_or_path: str) -> list[Purchase]:
    """All that a shop could buy and does not have: list of Purchase. What does not fit its file is left out."""
    (tables, source), found = shops.tables_of(name_or_path), []
    for kind, entry in rule_tables("worth.toml").items():
        for lathe in range(len(tables["lathe"])) if entry.get("per_lathe") else [None]:
            if _has(tables, lathe, entry.get("unless", "")):
                continue
            for value in entry.get("each", [None]):
                other = _changed(copy.deepcopy(tables), lathe, entry, value)
                if other == tables:
                    continue
                try:
                    shop = shops.shop_of(other, source)
                except InputError:  # it does not go with what the shop has
                    continue
                found.append(Purchase(kind, _says(entry, tables, lathe, value), shop))
    return found


def _has(tables: Mapping[str, Any], lathe: int | None, path: str) -> bool:
    """Whether a shop, or one lathe of it, has a table already."""
    if path.startswith("lathe."):
        return path.removeprefix("lathe.") in tables["lathe"][lathe]
    for part in path.split(".") if path else ():
        if part not in tables:
            return False
        tables = tables[part]
    return bool(path)


def _changed(tables: dict[str, Any], lathe: int | None, entry: Mapping[str, Any], value: Any) -> dict[str, Any]:
    """The tables of a shop with a purchase put into them."""
    of_lathe = {} if lathe is None else tables["lathe"][lathe]
    if value is not None:
        place = of_lathe if lathe is not None else tables
        *path, last = entry["into"].split(".")
        for part in path:
            place = place.setdefault(part, {})
        listed = place.setdefault(last, [])
        if value not in listed:
            listed.append(value)
        if all(isinstance(one, str) for one in listed):
            place[last] = _ascending(listed)
    for key, put in entry.get("put", {}).items():
        own = tables if lathe is None or key == "pivot_attachment" else of_lathe
        own[key] = shops.merged(own.get(key, {}), _resolved(put, of_lathe))
    return tables


def _ascending(sizes: list[str]) -> list[str]:
    """Sizes as written, the smallest first; words as they are."""
    from advisor.ground.units import read_quantity

    try:
        return sorted(sizes, key=lambda size: read_quantity(size, field="", dimension="length"))
    except InputError:
        return sizes


def _resolved(put: Mapping[str, Any], lathe: Mapping[str, Any]) -> dict[str, Any]:
    """A table of a purchase with the lathe's name and the shares of its sizes in it."""
    from advisor.ground.units import read_quantity

    def one(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: one(part) for key, part in value.items()}
        if isinstance(value, list):
            return [one(part) for part in value]
        if not isinstance(value, str):
            return value
        found = _SHARE.fullmatch(value)
        if found:
            size = read_quantity(lathe[found[2]], field=found[2], dimension="length")
            return f"{float(found[1]) * size:.0f} mm"
        return value.replace("{lathe}", lathe.get("name", ""))

    return one(put)


def _says(entry: Mapping[str, Any], tables: Mapping[str, Any], lathe: int | None, value: Any) -> str:
    """What a purchase is, in words."""
    words = {"lathe": "" if lathe is None else tables["lathe"][lathe]["name"]}
    for put in entry.get("put", {}).values():
        words |= {key: part for key, part in put.items() if isinstance(part, str)}
    if isinstance(value, dict):
        value = f"{value['from']} to {value['to']} by {value['step']}"
    return entry["says"].format(value=value, **words)
