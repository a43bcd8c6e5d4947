"""The numbers of a setup in the order in which they are set, as rules/screen.toml has it."""

from advisor.ground.folders import rule_tables
from advisor.show import rows


def orders():
    """Of each method the labels of its numbers, in the order in which they are set, and those that may be left out."""
    return rule_tables("screen.toml")


def in_order(method, advice):
    """The rows of a method's setup in the order in which they are set; one that screen.toml does not know stays after the
    row that it follows."""
    places = {label: place for place, label in enumerate(orders()[method.name]["order"])}
    found, place = [], -1
    for number, row in enumerate(rows.setup_rows(method, advice)):
        place = places.get(kind(row), place)
        found.append((place, number, row))
    return [row for _, _, row in sorted(found, key=lambda one: one[:2])]


def kind(row):
    """The label by which screen.toml knows a row: a layout line is one of several."""
    return rows.LINE.partition(":")[0] if row.label.startswith(rows.LINE) else row.label
