"""Prices of every method, from which quantity the answer changes, and what the figure hangs on.

Everything is worked out by the rule base itself, again and again with one thing changed. Plain data; the wording is in
show/estimate.py.
"""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING, NamedTuple

from advisor.answer.advice import (
    BY,
    advise,
    alternatives,
    deciding_names,
    givens,
    has_rate,
    lathe_for,
    measures,
    ranking,
    recommended,
)
from advisor.asked.radius_text import MOST
from advisor.engine import generated
from advisor.ground.errors import CalloutError, InputError
from advisor.ground.money import each_of, rounded_once
from advisor.ground.units import shown

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.records.job_records import Job
    from advisor.rulebase.rulebook import Finding, Rule, Rulebook


SEARCHED_TO = 10_000  # pieces; a search for break-evens goes that far, or to the largest quantity asked for
MOST_QUANTITIES = 24
ROWS = 20_000  # quantities tried in one go
SMALL = 0.02  # share of the total under which a change is not worth a line
MOST_LINES = 5  # of estimates and rules, and as many of assumptions
GIVE_OR_TAKE = 0.25  # how far an estimate is moved that states no low and high of its own


@dataclasses.dataclass(frozen=True, kw_only=True)
class Price:
    """One method at one quantity. Minutes; cost in the shop's money, None where it states no hourly rate.

    tooling, setup, piece: low, likely, high and mean, piece being one arc; correcting, misses, wear: in the whole
    batch; mean: of the batch; p80: what four batches in five stay under; risk: share of the mean that correcting and
    misses make up; cost: of the batch by its mean, cost_each: of a piece; finding: what rules it out first, None where it stands.
    """

    method: str
    pieces: int
    standing: str
    tooling: dict[str, float]
    setup: dict[str, float]
    piece: dict[str, float]
    correcting: float
    misses: float
    wear: float
    mean: float
    p80: float
    risk: float
    cost: float | None
    cost_each: float | None
    finding: Finding | None

    @property
    def quoted(self) -> tuple[Any, Any]:
        """The cost of the batch and of one piece as they are told: each rounded so that the pieces times it is the whole
        [Decimal]; (None, None) where not known."""
        if self.cost is None:
            return None, None
        total = rounded_once(self.cost)
        return total, each_of(total, self.pieces)


class Quantity(NamedTuple):
    """Prices at one quantity: pieces, the method to choose or None, every method's Price, best first, the method that takes
    the fewest minutes, None where nothing stands, and the one that costs least, None where no rate is known either."""

    pieces: int
    recommended: str | None
    prices: list[Price]
    quickest: str | None = None
    cheapest: str | None = None


class Change(NamedTuple):
    """A break-even: from so many pieces this method is chosen, that one below; None where none stands."""

    pieces: int
    method: str | None
    below: str | None


class Move(NamedTuple):
    """One value tried: value, what the total becomes [min], the method that is then chosen or None."""

    value: Any
    total: float
    method: str | None


class Swing(NamedTuple):
    """One thing moved to its low and its high, all else left.

    kind: "estimate" (a constant of the rule base), "rule" (minutes that a rule adds) or "assumption" (what nobody
    stated); name: of the constant, rule or assumption; value: as it is taken; moves: list of Move, low before high.
    """

    kind: str
    name: str
    value: Any
    moves: tuple[Move, ...]
    recommended: str | None

    @property
    def flips(self) -> list[Move]:
        """The moves that change the choice."""
        return [move for move in self.moves if move.method != self.recommended]

    def reach(self, total: float) -> tuple[float, float]:
        """Least and largest total of the moves and of the figure itself [min]."""
        totals = [total, *(move.total for move in self.moves)]
        return min(totals), max(totals)

    def largest(self, total: float) -> float:
        """The largest move [min]."""
        return max(abs(move.total - total) for move in self.moves)


@dataclasses.dataclass(frozen=True, kw_only=True)
class Estimate:
    """All that an estimator asks for one Advice.

    prices: at the quantity asked for; table: at the others; changes: every break-even in minutes up to searched_to;
    cheaper: every one in money, None where no hourly rate is known; total: name
    and mean minutes of what the swings move; swings: those that count, largest first; left_out: how many more were
    tried; starting: the same advice from starting values alone, None where no records are in it.
    """

    advice: Advice
    prices: Quantity
    table: list[Quantity]
    changes: list[Change]
    cheaper: list[Change] | None
    searched_to: int
    total: float
    swings: list[Swing]
    left_out: int
    starting: Advice | None


def estimate(
    callout: Callout,
    shop: Shop,
    *,
    quantities: Sequence[int] = (),
    records: Sequence[Job] = (),
    rules: Any = None,
    by: str = "minutes",
) -> Estimate:
    """The Estimate for a callout in a shop.

    quantities: whole numbers of pieces to price beside the callout's own; records: jobs that were recorded; rules: a
    Rulebook, the program's own if None; by: what methods are chosen by, as for advise. Raises InputError as that does.
    """

    def told(pieces: int, records: Sequence[Job] = records) -> Advice:
        other = dataclasses.replace(callout, quantity=pieces)
        return advise(other, shop, rules=rules, executor=generated.run, records=records, by=by)

    advice = told(callout.quantity)
    table = [advice if pieces == callout.quantity else told(pieces) for pieces in quantities]
    furthest = max([SEARCHED_TO, callout.quantity, *quantities])
    swings = sorted(all_swings(advice), key=lambda swing: -swing.largest(_total(advice)))
    kept = worth_telling(swings, _total(advice))
    return Estimate(
        advice=advice,
        prices=prices(advice),
        table=[prices(other) for other in table],
        changes=changes(advice, furthest),
        cheaper=changes(advice, furthest, by="cost") if has_rate(shop) else None,
        searched_to=furthest,
        total=_total(advice),
        swings=kept,
        left_out=len(swings) - len(kept),
        starting=told(callout.quantity, records=()) if advice.experience else None,
    )


def read_quantities(text: str) -> list[int]:
    """Quantities as written, "1,5,25,100", ascending; CalloutError for anything else."""
    found = set()
    for part in text.replace(";", ",").split(","):
        digits = part.strip()
        if not (digits.isascii() and digits.isdecimal() and len(digits) < 8 and 1 <= int(digits) <= MOST):
            fix = f"Give whole numbers from 1 to {MOST:,} with commas between, such as 1,5,25,100."
            raise CalloutError("quantities", shown(part or text), "is not a number of pieces", fix)
        found.add(int(digits))
    if len(found) > MOST_QUANTITIES:
        raise CalloutError("quantities", "", f"are {len(found)}", f"Give at most {MOST_QUANTITIES}.")
    return sorted(found)


# ------------------------------------------------------------------------------------------------ prices


def prices(advice: Advice) -> Quantity:
    """Every method's price for an Advice -> Quantity."""
    found = [_price(method, advice) for method in advice.ranked]
    quickest, cheapest = (next(iter(ranking(advice.rules, advice.values, by)), None) for by in BY)
    return Quantity(advice.callout.quantity, advice.recommended, found, quickest, cheapest)


def _price(method: MethodAdvice, advice: Advice) -> Price:
    minutes, arcs = method.minutes, method.minutes["arcs"]
    risk = minutes["resetting"] + minutes["misses"] * arcs
    mean = minutes["batch"]["mean"]
    return Price(
        method=method.name,
        pieces=advice.callout.quantity,
        standing=method.standing,
        tooling=minutes["tooling"],
        setup=minutes["setup"],
        piece=minutes["per_piece"],
        correcting=minutes["resetting"],
        misses=minutes["misses"] * arcs,
        wear=minutes["wear"] * arcs,
        mean=mean,
        p80=minutes["batch"]["p80"],
        risk=risk / mean if mean else 0.0,
        cost=method.cost,
        cost_each=None if method.cost is None else method.cost / advice.callout.quantity,
        finding=next(iter(method.ruled_out_by), None),
    )


# ------------------------------------------------------------------------------------------------ break-evens


def changes(advice: Advice, furthest: int, *, by: str = "minutes") -> list[Change]:
    """Every quantity from 1 to furthest at which another method is best than one piece below: list of Change.

    by: "minutes", as methods are chosen, or "cost".

    All quantities are tried over columns, and those about each change found once more by themselves.
    """
    import numpy

    from advisor.engine import columns

    rules, given = advice.rules, givens(advice.callout, advice.shop, advice.lathe)
    want = deciding_names(rules, by)
    found, before = [], None
    for start in range(1, furthest + 1, ROWS):
        pieces = numpy.arange(start, min(start + ROWS, furthest + 1), dtype=float)
        run = columns.run(rules, given | {"quantity": pieces}, findings=False, want=want)
        tried = numpy.array([numpy.broadcast_to(measure, len(pieces)) for measure in measures(rules, run.values, by)])
        best = numpy.where(numpy.isfinite(tried).any(axis=0), tried.argmin(axis=0), -1)
        if before is not None:
            best = numpy.concatenate([[before], best])
            start -= 1
        found += [start + int(place) + 1 for place in numpy.flatnonzero(numpy.diff(best))]
        before = best[-1]

    def chosen(quantity: int) -> str | None:
        return recommended(rules, given | {"quantity": float(quantity)}, by)

    about = {pieces for place in found for pieces in (place - 1, place, place + 1) if 2 <= pieces <= furthest}
    tried = [Change(pieces, chosen(pieces), chosen(pieces - 1)) for pieces in sorted(about)]
    return [change for change in tried if change.method != change.below]


# ------------------------------------------------------------------------------------------------ what it hangs on


def _total(advice: Advice) -> float:
    return _subject(advice).minutes["batch"]["mean"]


def _subject(advice: Advice) -> MethodAdvice:
    """The method whose total is watched: the recommended one, or the nearest where none stands."""
    return advice.best or advice.ranked[0]


def worth_telling(swings: Sequence[Swing], total: float) -> list[Swing]:
    """Those that move the total by two per cent or more, the first few of each sort, and all that flip the choice."""
    large = [swing for swing in swings if swing.largest(total) >= SMALL * total]
    assumed = [swing for swing in large if swing.kind == "assumption"][:MOST_LINES]
    others = [swing for swing in large if swing.kind != "assumption"][:MOST_LINES]
    return [swing for swing in swings if swing.flips or swing in assumed or swing in others]


def all_swings(advice: Advice) -> list[Swing]:
    """Every estimate, every rule's minutes and every assumption, moved one at a time: list of Swing."""
    bench = _Bench(advice)
    found = (*_estimates(bench), *_rules(bench), *_assumptions(bench))
    return [swing for swing in found if swing.moves]


class _Bench:
    """Runs the rule base with one thing changed, for the total of one method and the choice."""

    def __init__(self, advice: Advice) -> None:
        self.advice = advice
        self.rules = advice.rules
        self.given = givens(advice.callout, advice.shop, advice.lathe)
        self.total = f"{_subject(advice).prefix}_batch_mean"
        self.want = deciding_names(self.rules, advice.by) | {self.total}

    def run(
        self,
        *,
        rules: Rulebook | None = None,
        given: Mapping[str, float | str] | None = None,
        constants: Mapping[str, float | list[float]] | None = None,
    ) -> tuple[float, str | None]:
        """(total, method chosen) with one thing changed."""
        outcome = generated.run(rules or self.rules, given or self.given, constants, want=self.want, values_only=True)
        order = ranking(self.rules, outcome.values, self.advice.by)
        return outcome.values[self.total], order[0] if order else None

    def swing(self, kind: str, name: str, value: float | bool | str, moves: Sequence[Move]) -> Swing:
        """A Swing from what was tried; what the geometry does not permit is not a move."""
        moves = tuple(move for move in moves if math.isfinite(move.total))
        return Swing(kind, name, value, moves, self.advice.recommended)


def _estimates(bench: _Bench) -> Iterator[Swing]:
    """Each constant that is an estimate and has a part in any method's minutes, to its low and its high."""
    names, base = bench.rules.names, bench.rules.base
    parts = {element: _units_of_time(bench.rules, element) for element in ("tooling", "piece")}
    needed = [name for name in generated.needed(bench.rules, bench.want) if isinstance(name, str)]
    done = set()
    for name in sorted(needed, key=list(names).index):
        declared = names[name]
        whole = name.removesuffix("_low").removesuffix("_likely").removesuffix("_high")
        if declared.kind != "constant" or declared.source != "estimate" or declared.holds != "number" or whole in done:
            continue
        if all(f"{whole}{end}" in names for end in ("_low", "_likely", "_high")):
            done.add(whole)
            low, value, high = (base[f"{whole}{end}"] for end in ("_low", "_likely", "_high"))
            moved = [(end, {whole: [end] * 3}) for end in (low, high)]
            name = whole
        elif declared.low is not None and declared.high is not None:
            value = base[name]  # a shop's own value is as uncertain as the one that it takes the place of
            scale = value / declared.value if declared.value else 1
            moved = [(end * scale, {name: end * scale}) for end in (declared.low, declared.high)]
        else:
            shares = (1 - GIVE_OR_TAKE, 1 + GIVE_OR_TAKE)
            for element, found in parts.items():
                if name in found:
                    shares = (base[f"{element}_low_share"], base[f"{element}_high_share"])
            value = base[name]
            moved = [(value * share, {name: value * share}) for share in shares]
        if any(moved_to != value for moved_to, _constants in moved):
            tried = [Move(moved_to, *bench.run(constants=constants)) for moved_to, constants in moved]
            yield bench.swing("estimate", name, value, tried)


def _units_of_time(rules: Rulebook, element: str) -> set[str]:
    """Constants in minutes that an element is made up of: low and high of the element are theirs."""
    bases = [f"{method['prefix']}_{element}_base" for method in rules.methods]
    needed = [name for name in generated.needed(rules, bases) if isinstance(name, str)]
    return {name for name in needed if (rules.names[name].unit or "").startswith("min")}


def _rules(bench: _Bench) -> Iterator[Swing]:
    """Each rule that fired and adds minutes as low, likely and high, to its low and to its high."""
    values = bench.advice.values
    tallies = [
        name for name, declared in bench.rules.names.items() if declared.kind == "tally" and declared.combine == "sum"
    ]
    pinned = _pinned(bench.rules, {name: values[name] for name in tallies})
    for rule in bench.advice.outcome.fired:
        added = {f.target: f.amount for f in _findings(bench.advice, rule) if f.kind == "adds"}
        triples = {name.removesuffix("_low") for name in added if name.endswith("_low")}
        if not triples or all(added[f"{name}_low"] == added[f"{name}_high"] for name in triples):
            continue
        moves = []
        for end in ("_low", "_high"):
            constants = {
                f"{name}{part}": values[f"{name}{part}"] - added[f"{name}{part}"] + added[f"{name}{end}"]
                for name in triples
                for part in ("_low", "_likely", "_high")
            }
            moves.append(Move(end[1:], *bench.run(rules=pinned, constants=constants)))
        yield bench.swing("rule", rule.id, "likely", moves)


def _findings(advice: Advice, rule: Rule) -> list[Finding]:
    return [finding for finding in advice.outcome.findings if finding.rule is rule]


def _pinned(rules: Rulebook, values: dict[str, Any]) -> Rulebook:
    """The same rule base in which some names are constants with these values, whatever rules would make of them."""
    other = rules.revalued({})
    other.names = dict(rules.names)
    for name in values:
        declared = rules.names[name]
        other.names[name] = type(declared)(*declared.fields())
        other.names[name].kind = "constant"
    other.base = rules.base | values
    other.programs = {}
    return other


def _assumptions(bench: _Bench) -> Iterator[Swing]:
    """Each thing that nobody stated, to every other value that it could well have; for quantities there is a table."""
    advice = bench.advice
    for entry in advice.callout.assumed:
        if entry.name == "quantity":
            continue
        moves = []
        for other in alternatives(advice.callout, entry.name):
            value = getattr(other, "tolerance" if entry.name == "general_tolerance" else entry.name)
            try:
                given = givens(other, advice.shop, lathe_for(other, advice.shop))
            except InputError:  # such work does not go on the lathe, so there is nothing to price
                continue
            moves.append(Move(value, *bench.run(given=given)))
        yield bench.swing("assumption", entry.name, entry.value, moves)


# ------------------------------------------------------------------------------------------------ the quote sheet

ELEMENT_KEYS = ("low", "likely", "high", "mean")


def sheet(estimate: Estimate) -> list[list[Any]]:
    """The quote sheet as rows of plain values, a heading first: every method at every quantity, the chosen one
    first."""
    heads = ["radius", "shop", "quantity", "places", "method", "standing", "chosen"]
    heads += [f"{element}_{key}_min" for element in ("tooling", "setup", "arc") for key in ELEMENT_KEYS]
    heads += ["correcting_min", "misses_min", "wear_min", "batch_mean_min", "batch_p80_min"]
    heads += ["risk_share", "cost", "cost_each", "currency", "cheapest", "ruled_out_by"]
    callout, shop = estimate.advice.callout, estimate.advice.shop
    listed = [estimate.prices, *(q for q in estimate.table if q.pieces != estimate.prices.pieces)]
    rows: list[list[Any]] = [heads]
    for quantity in sorted(listed):
        for price in quantity.prices:
            chosen = "yes" if price.method == quantity.recommended else "no"
            elements = [part[key] for part in (price.tooling, price.setup, price.piece) for key in ELEMENT_KEYS]
            figures = [price.correcting, price.misses, price.wear, price.mean, price.p80]
            row = [callout.text, shop.name, quantity.pieces, callout.places, price.method, price.standing, chosen]
            row += [*map(_figure, elements + figures), _figure(price.risk)]
            row += [None if amount is None else float(amount) for amount in price.quoted]
            row.append(shop.currency if price.cost is not None else None)
            row.append(None if quantity.cheapest is None else "yes" if price.method == quantity.cheapest else "no")
            rows.append([*row, price.finding.rule_id if price.finding else None])
    return rows


def _figure(value: float | None) -> float | None:
    """A number to a ten-thousandth, None for what is not known."""
    return None if value is None or not math.isfinite(value) else round(value, 4)
