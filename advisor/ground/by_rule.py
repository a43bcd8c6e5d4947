"""Lengths that are set by a rule: to a tenth of a millimetre or a hundredth of an inch where they are short, else coarser."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.ground.units import INCH

if TYPE_CHECKING:
    from collections.abc import Callable


def grid(mm: float, units: str) -> float:
    """The step in which a length is set by a rule [mm]. mm: that length [mm]; units: of the drawing.

    >>> grid(7.0, "mm"), grid(60.0, "mm"), round(grid(60.0, "inch") / INCH, 2)
    (0.1, 1.0, 0.05)
    """
    fine, coarse, turn = (0.1, 1.0, 25.0) if units == "mm" else (0.01 * INCH, 0.05 * INCH, INCH)
    return fine if mm < turn else coarse


def at_least(mm: float, units: str) -> float:
    """A least length, rounded up to what is set by a rule: never less than it was [mm].

    >>> at_least(97.45, "mm"), at_least(7.02, "mm"), at_least(7.0, "mm"), round(at_least(7.35, "inch") / INCH, 4)
    (98.0, 7.1, 7.0, 0.29)
    """
    return _on_the_grid(math.ceil, mm, units)


def at_most(mm: float, units: str) -> float:
    """A greatest length, rounded down to what is set by a rule: never more than it was [mm].

    >>> at_most(72.506, "mm"), at_most(7.09, "mm"), at_most(7.0, "mm"), round(at_most(7.35, "inch") / INCH, 4)
    (72.0, 7.0, 7.0, 0.28)
    """
    return _on_the_grid(math.floor, mm, units)


def _on_the_grid(rounding: Callable[[float], float], mm: float, units: str) -> float:
    if not math.isfinite(mm):
        return mm
    step = grid(mm, units)
    return round(rounding(round(mm / step, 6)) * step, 9)
