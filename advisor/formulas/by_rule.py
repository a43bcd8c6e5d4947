"""Lengths as they are set by a rule or told in a sentence: to a tenth of a millimetre or a hundredth of an inch where they
are short, else coarser. Numbers or arrays, in mm; units: of the drawing, mm or inch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, TypeVar, cast

from advisor.formulas.numeric import ceil, floor, maximum, where
from advisor.ground.units import INCH

if TYPE_CHECKING:
    from collections.abc import Callable

    from advisor.formulas.numeric import Numeric

Lengths = TypeVar("Lengths", bound="Numeric")  # one length, or an array of them
# Of a unit of the drawing: its length [mm], the parts it is divided into for short lengths and for others, and where the
# others begin [mm].
PARTS = {"mm": (1.0, 10, 1, 25.0), "inch": (INCH, 100, 20, INCH)}
SLACK = 1e-6  # parts that are no part: what arithmetic leaves of a round number


def grid(mm: float, units: str) -> float:
    """The step in which a length is set by a rule [mm]. mm: that length [mm].

    >>> grid(7.0, "mm"), grid(60.0, "mm"), round(grid(60.0, "inch") / INCH, 2)
    (0.1, 1.0, 0.05)
    """
    unit, short, long, turn = PARTS[units]
    return unit / where(mm < turn, short, long)


def at_least(mm: Lengths, units: str) -> Lengths:
    """A least length, rounded up to what is set by a rule: never less than it was [mm].

    >>> at_least(97.45, "mm"), at_least(7.02, "mm"), at_least(7.0, "mm"), round(at_least(7.35, "inch") / INCH, 4)
    (98.0, 7.1, 7.0, 0.29)
    """
    return cast("Lengths", _on_the_grid(ceil, mm, units, -SLACK))


def at_most(mm: Lengths, units: str) -> Lengths:
    """A greatest length, rounded down to what is set by a rule: never more than it was [mm].

    >>> at_most(72.506, "mm"), at_most(7.09, "mm"), at_most(7.0, "mm"), round(at_most(7.35, "inch") / INCH, 4)
    (72.0, 7.0, 7.0, 0.28)
    """
    return cast("Lengths", _on_the_grid(floor, mm, units, SLACK))


def roughly(mm: Lengths, units: str) -> Lengths:
    """A length that nobody sets, rounded to what a hand sees of it [mm]: to a tenth of a millimetre or a hundredth of an
    inch. One that is shorter than thirty such parts stays as it is.

    >>> roughly(18.546, "mm"), roughly(0.044, "mm"), round(roughly(18.546, "inch") / INCH, 4)
    (18.5, 0.044, 0.73)
    """
    unit, parts, _, _ = PARTS[units]
    return where(mm >= 30 * unit / parts, floor(mm * parts / unit + 0.5) * unit / parts, mm)


def is_rough(mm: float, units: str) -> bool:
    """Whether a length is a round number of the parts that one is told in roughly.

    >>> is_rough(18.5, "mm"), is_rough(18.546, "mm"), is_rough(0.73 * INCH, "inch"), is_rough(5.123, "inch")
    (True, False, True, False)
    """
    unit, parts, _, _ = PARTS[units]
    return abs(math.remainder(mm * parts / unit, 1)) < SLACK if math.isfinite(mm) else False


def about(mm: Lengths, units: str) -> Lengths:
    """A length that need not be kept exactly, rounded to what an inch dial is set to; in millimetres it is round already.

    >>> round(about(1.5, "inch") / INCH, 4), round(about(0.1, "inch") / INCH, 4), about(1.5, "mm")
    (0.06, 0.004, 1.5)
    """
    if units == "mm":
        return mm
    parts = where(mm >= 0.01 * INCH, 200, 1000)
    return cast("Lengths", maximum(floor(mm * parts / INCH + 0.5), 1.0) * INCH / parts)


def _on_the_grid(rounding: Callable[[Numeric], Numeric], mm: Numeric, units: str, slack: float) -> Numeric:
    unit, short, long, turn = PARTS[units]
    parts = where(mm < turn, short, long)
    return rounding(mm * parts / unit + slack) * unit / parts
