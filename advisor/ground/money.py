"""Money: the sum of a batch is rounded once, to the hundredth, and the price of one piece follows from it."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any


CENT = Decimal("0.01")
MOST_DECIMALS = 10  # of a price each; more than any number of pieces needs


def rounded_once(amount: float | Decimal) -> Decimal:
    """A sum of money to the hundredth [Decimal].

    >>> rounded_once(58.0669)
    Decimal('58.07')
    """
    return Decimal(repr(float(amount))).quantize(CENT, ROUND_HALF_UP)


def each_of(total: Decimal, pieces: int) -> Decimal:
    """The price of one piece [Decimal]: with two decimals, and more only where the pieces times it would not be the total to
    the hundredth. total: [Decimal].

    >>> each_of(Decimal("58.08"), 12), each_of(Decimal("58.07"), 12), each_of(Decimal("931.18"), 1000)
    (Decimal('4.84'), Decimal('4.839'), Decimal('0.93118'))
    """
    for decimals in range(2, MOST_DECIMALS + 1):
        each = (total / pieces).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP)
        if abs(each * pieces - total) < CENT / 2:
            break
    return each


def each_of_many(totals: Any, pieces: Any) -> Any:
    """The same for many: arrays of totals, rounded to hundredths, and of pieces -> array of prices of one; not a number where
    the total is none."""
    import numpy

    found = numpy.round(totals / pieces, 2)
    for decimals in range(3, MOST_DECIMALS + 1):
        off = numpy.flatnonzero(numpy.abs(found * pieces - totals) > 0.0049999)
        if not len(off):
            break
        found[off] = numpy.round(totals[off] / pieces[off], decimals)
    return found
