"""Fits of ISO 286: the limits of a diameter written as `40 h9`."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from advisor.ground.folders import rule_tables
from advisor.ground.units import Unreadable

if TYPE_CHECKING:
    from typing import Any


FIT = re.compile(r"(js|[a-z])([0-9]{1,2})", re.IGNORECASE)
FIX = "Write the limits, such as 40 +0/-0.1."


def _tables() -> Any:
    return rule_tables("fits.toml")


def limits(size: Any, fit: Any) -> Any:
    """Least and largest size that a fit allows [mm], as fractions: of a shaft for a small letter, of a hole for a
    capital one.

    size: nominal [mm]; fit: such as "h9", "js7" or "H7". Raises Unreadable for a fit that the tables do not hold.
    Source: iso-286.

    >>> [float(limit) for limit in limits(40, "h9")], [float(limit) for limit in limits(25, "k6")]
    ([39.938, 40.0], [25.002, 25.015])
    """
    tables, size = _tables(), Fraction(size)
    found = FIT.fullmatch(fit)
    letter, grade = (found[1], found[2]) if found else ("", "")
    hole = letter.isupper()
    small = letter.lower()
    known = small in tables["shafts"] or small == "js"
    if not known or grade not in tables["grades"] or (hole and small > "h" and small != "js") or letter == "Js":
        raise Unreadable(f"has the fit {fit}, which is not in the tables here", FIX)
    if not 0 < size <= tables["grades"]["up_to"][-1]:
        raise Unreadable(f"has a fit, and those go up to {tables['grades']['up_to'][-1]} mm here", FIX)
    width = _of_range(tables["grades"], grade, size)
    if small == "js":
        return size - width / 2, size + width / 2
    nearest = _of_range(tables["shafts"], small, size)
    if small == "k" and not tables["k_grades"]["from"] <= int(grade) <= tables["k_grades"]["to"]:
        nearest = Fraction(0)
    if small > "h":
        return size + nearest, size + nearest + width
    return (size + nearest, size + nearest + width) if hole else (size - nearest - width, size - nearest)


def _of_range(table: Any, key: str, size: Any) -> Any:
    """The value of the range that a size falls into [mm]."""
    place = next(place for place, up_to in enumerate(table["up_to"]) if size <= up_to)
    return Fraction(str(table[key][place])) / 1000
