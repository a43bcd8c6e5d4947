"""Chooses how to turn a radius on a manual lathe, gives the numbers to set and says why.

What other programs may rely on; everything else can move. advisor/README.md shows it at work. Each function raises
InputError, which names the field, what was written, what is wrong with it and what would be right. What a call needs
is imported when it is first made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from advisor.ground.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.records.job_records import Job
    from advisor.study.estimate import Estimate

__all__ = ["InputError", "advise", "as_json", "estimate", "many", "read_callout", "read_shop"]


def read_shop(name: str | Path = "training-shop") -> Shop:
    """A shop: one that the program carries, by its name, or a shop file, by its path."""
    from advisor.asked import shop

    return shop.read_shop(str(name))


def read_callout(fields: Mapping[str, Any], shop: Shop | None = None) -> Callout:
    """What the drawing says and how the work is held.

    fields: names and values as in a case file, sizes as text with or without a unit ("radius": "R6 ±0.1"); shop: whose
    habits count where the drawing says nothing, such as its tolerances by decimals; the usual one if None.
    """
    from advisor.asked import callout, materials

    return callout.read_callout(
        dict(fields), materials=materials.materials(), inch_tolerances=(shop or read_shop()).inch_tolerances
    )


def advise(callout: Callout, shop: Shop, *, records: Iterable[Job] = ()) -> Advice:
    """The whole answer: every method with its minutes, chance, setup, steps and reasons, and the one to take.

    records: jobs that the shop recorded, which correct the minutes.
    """
    from advisor.answer import advice

    return advice.advise(callout, shop, records=tuple(records))


def as_json(advice: Advice) -> dict[str, Any]:
    """The answer as `turn-radius advise --json` gives it: lengths end in _mm, minutes in _min, never rounded."""
    from advisor.show import as_json

    return as_json.answer(advice)


def estimate(callout: Callout, shop: Shop, *, quantities: Sequence[int] = (), records: Iterable[Job] = ()) -> Estimate:
    """Prices of every method, from which quantity another is taken, and what the figure hangs on.

    quantities: pieces to price beside those of the callout.
    """
    from advisor.study import estimate

    return estimate.estimate(callout, shop, quantities=tuple(quantities), records=tuple(records))


def many(rows: Iterable[Mapping[str, Any]], shop: Shop) -> Iterator[Advice | InputError]:
    """An answer for each row of fields, in their order; for a row that cannot be read, the InputError that says why.

    Some hundred rows a second, with the reasons but without the trace of the engine; `turn-radius batch` prices long
    lists.
    """
    from advisor.answer import advice
    from advisor.engine import generated

    for row in rows:
        try:
            yield advice.advise(read_callout(row, shop), shop, executor=generated.run)
        except InputError as problem:
            yield problem
