"""The numbers of a setup in the order in which they are set, as rules/methods.toml has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.ground.methods import methods
from advisor.show import rows

if TYPE_CHECKING:
    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.show.rows import Row


def in_order(method: MethodAdvice, advice: Advice) -> list[Row]:
    """The rows of a method's setup in the order in which they are set; one that methods.toml does not know stays after the
    row that it follows."""
    places = {label: place for place, label in enumerate(methods()[method.name].order)}
    found, place = [], -1
    for number, row in enumerate(rows.setup_rows(method, advice)):
        place = places.get(kind(row), place)
        found.append((place, number, row))
    return [row for _, _, row in sorted(found, key=lambda one: one[:2])]


def kind(row: Row) -> str:
    """The label by which methods.toml knows a row: a layout line is one of several."""
    return row.number.label if row.number else row.label
