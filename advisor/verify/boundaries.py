"""Walks to the boundary of every comparison of numbers: callouts in which both sides are equal, or as near as numbers
get, and their neighbours on either side.

From a callout in which a comparison decides its rule, one number is moved until the comparison turns and nothing else
in the condition does; the place is then found by cutting the way between into ever smaller pieces.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy

from advisor.engine import generated
from advisor.language import expression
from advisor.verify import random_callouts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from advisor.formulas.numeric import Codes, Column, Flags
    from advisor.rulebase.rulebook import Rulebook
    from advisor.verify.prove_rules import _Prover
    from advisor.verify.random_callouts import Rows

STEPS = (
    0.01, 0.02, 0.03, 0.05, 0.08, 0.12, 0.18, 0.27, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97,
    1.03, 1.1, 1.25, 1.4, 1.6, 2.0, 2.5, 3.5, 5.0, 8.0, 13.0, 20.0, 35.0, 60.0, 100.0,
)  # fmt: skip
PIECES = 15
ROUNDS = 16  # pieces of pieces: 16 to the power of 16 covers every number of 64 bits
NEAR = 1e-12  # share by which the two sides of a boundary may be apart
STARTS = 8  # callouts from which a boundary is walked to
BEHIND = {
    "radius_low": ("tolerance", "radius"),
    "radius_high": ("tolerance", "radius"),
    "rough_speed": ("hardness",),
    "finish_speed": ("hardness",),
    "straight_speed_hss": ("hardness",),
    "cutting_force_1": ("hardness",),
}


def walk(prover: _Prover) -> dict[tuple[int, int], bool]:
    """Walk to every boundary and let the prover look at what lies there.

    Returns (rule number, part) -> whether the rule was seen to turn there.
    """
    wanted = {
        (condition.rule.number, bit): False
        for condition in prover.conditions
        if condition.rule.number in prover.claimed
        for bit, tree in enumerate(condition.parts)
        if tree[0] == "compare" and tree[5] not in ("truth", "words")
    }
    for movable in (_of_callout, _of_place):
        missing = [key for key, reached in wanted.items() if not reached]
        starts = _Starts(prover, missing, movable)
        if starts.count:
            wanted |= starts.walked()
    return wanted


def _of_callout(rulebook: Rulebook, names: Iterable[str]) -> list[str]:
    behind = [name for given in _givens(rulebook, names) for name in BEHIND.get(given, (given,))]
    return [name for name in random_callouts.NUMBERS if name in behind]


def _of_place(rulebook: Rulebook, names: Iterable[str]) -> list[str]:
    from_place = [n for n in _givens(rulebook, names) if rulebook.names[n].origin in ("lathe", "shop")]
    return sorted(name for name in from_place if rulebook.names[name].holds == "number")


def _givens(rulebook: Rulebook, names: Iterable[str]) -> set[str]:
    return {
        node
        for node in generated.needed(rulebook, names)
        if isinstance(node, str) and rulebook.names[node].kind == "given"
    }


class _Starts:
    """Callouts to walk from: rows, and for each the rule, the part of its condition, and the number to move with its
    value."""

    def __init__(
        self,
        prover: _Prover,
        wanted: Iterable[tuple[int, int]],
        movable: Callable[[Rulebook, Iterable[str]], list[str]],
    ) -> None:
        self.prover = prover
        kept, listed = [], []
        for number, bit in wanted:
            condition = prover.conditions[number]
            names = movable(prover.rulebook, expression.names(condition.parts[bit]))
            deciding = [rows for code, rows in condition.seen.items() if condition.decides[bit][code]]
            starts = [rows[depth] for depth in range(STARTS) for rows in deciding if depth < len(rows)][:STARTS]
            for row in starts:
                for name in names:
                    value = row[name] if name in row else prover.where[int(row["place"])].values[name]
                    if value == value:
                        kept.append(row)
                        listed.append((number, bit, name, float(value)))
        self.count = len(kept)
        if self.count:
            self.rule, self.bit, self.moved, self.at = map(numpy.array, zip(*listed))
            self.rows = {name: numpy.array([row[name] for row in kept]) for name in kept[0]}
            for name in set(self.moved) - set(self.rows):  # a number of the place
                self.rows[name] = numpy.full(self.count, numpy.nan)

    def walked(self) -> dict[tuple[int, int], bool]:
        """Walk from all of them; (rule number, part) -> whether the rule was seen to turn."""
        start = self.left(numpy.arange(self.count), self.at)
        which, turned = self._turned(start)
        if not len(which):
            return {}
        low, high = self._closed_in(which, self.at[which], turned, start[which])
        return self._looked(which, low, high)

    def left(self, which: Codes, values: Column, *, looked_at: bool = True) -> Codes:
        """What the condition of each start leaves where its number has another value; -1 where that is no callout.

        looked_at: whether all the rest is looked at there too.
        """
        rows = self._rows_at(which, values)
        good = random_callouts.sound(rows, self.prover.where) & numpy.isfinite(values)
        found = numpy.full(len(which), -1)
        if good.any():
            sound, rules = random_callouts.taken(rows, good), self.rule[which][good]
            if looked_at:
                seen = self.prover.look(sound)
                found[good] = [seen[number][place] for place, number in enumerate(rules)]
            else:
                found[good] = self.prover.leaves(sound, rules)
        return found

    def _rows_at(self, which: Codes, values: Column) -> Rows:
        rows = random_callouts.taken(self.rows, which)
        for name in numpy.unique(self.moved[which]):
            mine = self.moved[which] == name
            other = (
                random_callouts.changed(rows, name, values)
                if name in random_callouts.NUMBERS
                else rows | {name: values}
            )
            rows = {key: numpy.where(mine, other[key], column) for key, column in rows.items()}
        return rows

    def _whole(self, which: Codes) -> Flags:
        return numpy.isin(self.moved[which], random_callouts.WHOLE)

    def _turned(self, start: Codes) -> tuple[Codes, Column]:
        """Starts, and the value of each at which its comparison has turned and nothing else in the condition: the
        nearest of the steps; two starts for each comparison."""
        which = numpy.flatnonzero(start >= 0)
        many, steps = numpy.repeat(which, len(STEPS)), numpy.tile(STEPS, len(which))
        values = numpy.where(self.at == 0, self.rows["diameter"], self.at)[many] * steps
        values = numpy.where(self._whole(many), numpy.maximum(numpy.round(values), 1.0), values)
        good = numpy.flatnonzero(self.left(many, values) == start[many] ^ (1 << self.bit[many]))
        turned: dict[int, float] = {}
        count: Counter[tuple[int, int]] = Counter()
        for place in good[numpy.argsort(abs(numpy.log(steps[good])), kind="stable")]:
            one = many[place]
            comparison = (self.rule[one], self.bit[one])
            if one not in turned and count[comparison] < 2:
                turned[one] = values[place]
                count[comparison] += 1
        return numpy.array(list(turned), dtype=int), numpy.array(list(turned.values()))

    def _closed_in(self, which: Codes, low: Column, high: Column, start: Codes) -> tuple[Column, Column]:
        """The two neighbouring numbers between which each comparison turns: the last as at the start, the first that is
        not."""
        turned = start ^ (1 << self.bit[which])
        share = numpy.arange(1, PIECES + 1) / (PIECES + 1)
        rows = numpy.arange(len(which))
        for _ in range(ROUNDS):
            between = low[:, None] + (high - low)[:, None] * share
            between = numpy.where(self._whole(which)[:, None], numpy.round(between), between)
            left = self.left(numpy.repeat(which, PIECES), between.ravel(), looked_at=False)
            moved = left.reshape(between.shape) == turned[:, None]
            first = numpy.where(moved.any(axis=1), moved.argmax(axis=1), PIECES)
            ends = numpy.column_stack([low, between, high])
            before = low, high
            low, high = ends[rows, first], ends[rows, first + 1]
            if (low == before[0]).all() and (high == before[1]).all():
                break
        return low, high

    def _looked(self, which: Codes, low: Column, high: Column) -> dict[tuple[int, int], bool]:
        """Look at both sides and their outer neighbours; say which rules turn there."""
        whole, onward = self._whole(which), numpy.sign(high - low)
        beyond = numpy.where(whole, high + onward, numpy.nextafter(high, high + onward))
        before = numpy.where(whole, low - onward, numpy.nextafter(low, low - onward))
        _, one, other, _ = (self.left(which, values) for values in (before, low, high, beyond))
        near = numpy.abs(high - low) <= numpy.where(whole, 1.0, NEAR * numpy.abs(high))
        met: dict[tuple[int, int], bool] = {}
        for place, start in enumerate(which):
            fires = self.prover.conditions[self.rule[start]].fires
            turns = near[place] and min(one[place], other[place]) >= 0 and fires[one[place]] != fires[other[place]]
            key = (int(self.rule[start]), int(self.bit[start]))
            met[key] = met.get(key, False) or bool(turns)
        return met
