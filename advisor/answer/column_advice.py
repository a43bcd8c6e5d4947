"""Advice on many callouts at once: the whole rule base over columns, in pieces that stay in the processor's cache.

`advise` takes what the rule base is given, as columns, and yields an `Answers` for each piece; `givens` puts the
columns together for one lathe of a shop. Nothing here is a second set of rules: columns.py runs the very assignments of
engine/chaining.py.
"""

from __future__ import annotations

import functools
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy

from advisor.answer.advice import (
    deciding_names,
    is_close,
    material_givens,
    measures,
    overrides,
    rule_base,
    takes_carbide,
)
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import columns
from advisor.formulas import geometry
from advisor.ground.methods import columns as columns_of_methods
from advisor.ground.methods import own_module
from advisor.language import expression

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from concurrent.futures import Future
    from typing import Any

    from advisor.asked.shop import Lathe, Shop
    from advisor.engine.columns import Columns
    from advisor.formulas.numeric import Array, Codes, Column, Flags, Numeric, Values
    from advisor.rulebase.rulebook import Rulebook

    Outs = list[list[int]]  # numbers of the rules that put a method out, a list a method

PIECE = 32768  # rows: smaller pieces make two threads wait for each other, larger ones leave the cache
WORKERS = 2
OF_EACH = ("batch_mean", "batch_p80", "cost", "in_tolerance", "tooling_mean", "setup_mean", "correcting_minutes")
NONE = -1
# What decided: a quicker method that will not do, the next best, nothing else stands, or nothing at all does.
RIVAL_OUT, NEXT_BEST, NO_OTHER, NO_METHOD = range(4)

# Main numbers to set: name in the JSON -> method -> name in the vocabulary. Where a method has none it is unknown.
SETUP = columns_of_methods()


@dataclass
class Answers:
    """What is advised for n callouts. Methods stand as their place in the rule base's list, -1 for none.

    best: the recommended method [n]; measures (what methods are chosen by, without end where ruled out), minutes, p80, tooling, setup (with
    what correcting the setting takes) [min], cost, chance: one row a method [5, n]; close_call [n]; decided: RIVAL_OUT and so on [n]; rival: the other method in that [n];
    rule: number of the rule that puts it out, -1 where none does [n], all three None where not asked for; setup: name
    -> number to set, unknown where the recommended method has none [n]; values: name -> further values asked for,
    single where alike for all.
    """

    best: Codes
    measures: Column
    minutes: Column
    p80: Column
    cost: Column
    chance: Column
    tooling: Column
    setup_minutes: Column
    close_call: Flags
    decided: Codes | None
    rival: Codes | None
    rule: Codes | None
    setup: dict[str, Column]
    values: dict[str, Any]

    def __len__(self) -> int:
        return len(self.best)

    def of_best(self, of_each: Column) -> Column:
        """Of an array [5, n] what belongs to the recommended method [n]; not a number where none stands."""
        chosen = numpy.take_along_axis(of_each, numpy.maximum(self.best, 0)[None].astype(numpy.intp), axis=0)[0]
        return numpy.where(self.best >= 0, chosen, numpy.nan)


def advise(
    rules: Rulebook,
    given: Values,
    *,
    rows: int,
    want: Iterable[str] = (),
    decide: bool = True,
    by: str = "minutes",
    piece: int = PIECE,
    workers: int = WORKERS,
) -> Iterator[Answers]:
    """Advice on `rows` callouts, as an iterator of Answers of at most `piece` callouts each, in order.

    rules: Rulebook, revalued by the shop; given: name -> array of that many values, or one value for all, as for
    columns.run; want: further names whose values are wanted; decide: whether to find what decided; by: as for
    advice.measures. Few pieces are under
    way at a time, whatever the number of rows, so memory does not grow with it.
    """
    starts = range(0, rows, piece)
    task = functools.partial(_piece, rules, given, frozenset(want), decide, by, piece, rows)
    if workers < 2 or len(starts) < 2:
        yield from map(task, starts)
        return
    with ThreadPoolExecutor(workers) as pool:
        waiting: deque[Future[Answers]] = deque()
        for start in starts:
            waiting.append(pool.submit(task, start))
            if len(waiting) > 2 * workers:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()


def together(pieces: Iterable[Answers]) -> Answers:
    """One Answers for several, in order."""
    pieces = list(pieces)
    joined: dict[str, Any] = {}
    for field in fields(Answers):
        parts = [getattr(piece, field.name) for piece in pieces]
        if field.name in ("setup", "values"):
            joined[field.name] = {name: _joined([part[name] for part in parts], pieces) for name in parts[0]}
        else:
            joined[field.name] = None if parts[0] is None else numpy.concatenate(parts, axis=-1)
    return Answers(**joined)


def _joined(parts: Sequence[Any], pieces: Sequence[Answers]) -> Any:
    if not any(isinstance(part, numpy.ndarray) and part.ndim for part in parts):
        return parts[0]
    return numpy.concatenate([numpy.broadcast_to(part, len(piece)) for part, piece in zip(parts, pieces, strict=True)])


def givens(read: Values, shop: Shop, lathe: Lathe, rows: Codes | None = None) -> dict[str, Any]:
    """What the rule base is given for callouts on one lathe -> name -> array or single value.

    read: name -> array or single value, of what the callout, the work and the job say, with `material` as the place of
    a material in `materials.materials()`; rows: numbers of the callouts to take, all if None.
    """
    taken = {name: value[rows] if rows is not None and _many(value) else value for name, value in read.items()}
    material = taken.pop("material")
    open_ = taken.pop("tool_open", False)
    taken["carbide"] = takes_carbide(carbide=taken["carbide"], tool_open=open_, hardness=taken["hardness"], lathe=lathe)
    given = taken | _cutting(material, taken["hardness"], taken["carbide"]) | shops.shop_values(shop, lathe)
    known = rule_base().givens
    return {name: value for name, value in given.items() if name in known}


def _many(value: Any) -> bool:
    return isinstance(value, numpy.ndarray) and value.ndim > 0


def _cutting(material: Any, hardness: Any, carbide: Any) -> dict[str, Any]:
    """Values of the material, by its place in the table."""
    table, book = list(materials.materials()), rule_base()
    if not _many(material) or (material == material[:1]).all():
        return material_givens(table[int(numpy.ravel(material)[0])], hardness, carbide)
    found: dict[str, Array] = {}
    for place in numpy.unique(material):
        rows = numpy.flatnonzero(material == place)
        hard, hard_metal = (value[rows] if _many(value) else value for value in (hardness, carbide))
        for name, value in material_givens(table[place], hard, hard_metal).items():
            if name in book.givens:
                coded = columns.encode(book, name, value)
                column = found.setdefault(name, numpy.empty(len(material), dtype=numpy.asarray(coded).dtype))
                column[rows] = coded
    return found


def swung_diameter(read: Values) -> Column:
    """Largest diameter of the work that has to swing, for the choice of a lathe [mm]; `read` as for givens."""
    of = {name: read[name] for name in ("radius", "diameter", "shoulder_height")}
    told = shape(read)
    return numpy.asarray(geometry.swung_diameter(**of, convex=told["convex"], corner=told["corner"]))


def shape(read: Values) -> dict[str, Any]:
    """The three truth values by which formulas tell the six shapes."""
    book = rule_base()
    form, location = (columns.encode(book, name, read[name]) for name in ("form", "location"))
    return {
        "convex": form == book.names["form"].values.index("convex"),
        "corner": location == book.names["location"].values.index("corner"),
        "end": location == book.names["location"].values.index("end"),
    }


def lathes(shop: Shop, diameter: Column, name: str | None = None, *, stickout: Numeric = 0.0) -> Codes:
    """Which lathe of a shop each work goes on, as shop.choose_lathe chooses [n]: place in shop.lathes, -1 for none.

    diameter: largest diameter of the work [mm]; name: of the lathe to take, None for any; stickout: of the work [mm].
    """
    chosen = numpy.full(len(diameter), NONE, dtype=numpy.int8)
    candidates = [place for place, lathe in enumerate(shop.lathes) if name is None or lathe.name == name]
    for swing in ("swing_over_bed", "swing_over_cross_slide"):
        for place in reversed(candidates):
            held = shops.takes(shop.lathes[place], largest_diameter=diameter, stickout=stickout, swing=swing)
            chosen[held] = place
    return chosen


def rules_for(shop: Shop, rules: Rulebook | None = None) -> Rulebook:
    """The rule base with the shop's own limits, minutes and spreads."""
    return (rules or rule_base()).revalued(overrides(shop), where=f"shop {shop.name}")


# ---- one piece


@functools.lru_cache(maxsize=8)
def _names(methods: Sequence[tuple[str, str]], want: frozenset[str]) -> frozenset[str]:
    """Names to work out."""
    setup = {name for of_methods in SETUP.values() for name in of_methods.values()}
    shapes = {"convex", "corner", "end", "sweep"}
    each = {f"{prefix}_{name}" for _, prefix in methods for name in OF_EACH}
    return frozenset(each | setup | shapes | want | {"close_call"})


def _methods(rules: Rulebook) -> tuple[tuple[str, str], ...]:
    return tuple((method["name"], method["prefix"]) for method in rules.methods)


def _outs(rules: Rulebook) -> Outs:
    """The rules that put a method out: number of each in the order of the rule base, a list a method."""
    return [[rule.number for rule, _ in rules.affecting(f"{prefix}_ruled_out")] for _, prefix in _methods(rules)]


def _piece(
    rules: Rulebook, given: Values, want: frozenset[str], decide: bool, by: str, piece: int, rows: int, start: int
) -> Answers:
    stop = min(start + piece, rows)
    part = {name: value[start:stop] if _many(value) else value for name, value in given.items()}
    methods = _methods(rules)
    outs = _outs(rules) if decide else []
    reported = [number for numbers in outs for number in numbers] if decide else False
    done = columns.run(rules, part, want=_names(methods, want) | deciding_names(rules, by), findings=reported)
    return _answers(rules, outs, done, want, by, stop - start)


def _answers(rules: Rulebook, outs: Outs, done: Columns, want: frozenset[str], by: str, count: int) -> Answers:
    values, methods = done.values, _methods(rules)
    of_each = {name: _stacked([values[f"{prefix}_{name}"] for _, prefix in methods], count) for name in OF_EACH}
    standing = _stacked(measures(rules, values, by), count)
    measure = of_each["cost" if by == "cost" else "batch_mean"]
    best = numpy.argmin(standing, axis=0).astype(numpy.int8)
    stands = numpy.isfinite(standing)
    best[~stands.any(axis=0)] = NONE
    close = numpy.broadcast_to(is_close(rules, values, by), count) & (stands.sum(axis=0) > 1)
    decided, rival, rule = _decided(methods, outs, done, best, standing, measure) if outs else [None] * 3
    return Answers(
        best=best,
        measures=standing,
        minutes=of_each["batch_mean"],
        p80=of_each["batch_p80"],
        cost=of_each["cost"],
        chance=of_each["in_tolerance"],
        tooling=of_each["tooling_mean"],
        setup_minutes=of_each["setup_mean"] + of_each["correcting_minutes"],
        close_call=close,
        decided=decided,
        rival=rival,
        rule=rule,
        setup=_setup(methods, values, best),
        values={name: values[name] for name in want},
    )


def _stacked(parts: Sequence[Numeric], count: int) -> Column:
    stacked = numpy.empty((len(parts), count))
    for row, part in zip(stacked, parts, strict=True):
        row[:] = part
    return stacked


def _setup(methods: Sequence[tuple[str, str]], values: Values, best: Codes) -> dict[str, Column]:
    """The main numbers to set for the recommended method."""
    count = len(best)
    rows = [numpy.flatnonzero(best == place) for place in range(len(methods))]
    found = {}
    for name, sources in SETUP.items():
        column = found[name] = numpy.full(count, numpy.nan)
        for (method, _), chosen in zip(methods, rows, strict=True):
            source = values.get(sources[method]) if method in sources else None
            if source is not None and len(chosen):
                column[chosen] = source[chosen] if _many(source) else source
    for _, prefix in methods:
        for key, holds in getattr(own_module("advisor.formulas", prefix), "ONLY_WHERE", {}).items():
            there = holds(**{name: values[name] for name in ("convex", "corner", "sweep")})
            found[key][~numpy.broadcast_to(there, count)] = numpy.nan
    return found


def _decided(
    methods: Sequence[tuple[str, str]], outs: Outs, done: Columns, best: Codes, standing: Column, minutes: Column
) -> tuple[Codes, Codes, Codes]:
    """What decided: kind, the other method and the rule that puts it out, as `explain.why` tells it."""
    count = len(best)
    stands = numpy.isfinite(standing)
    possible = _possible(methods, done.values, count)
    minutes = numpy.where(numpy.isnan(minutes), numpy.inf, minutes)
    own = numpy.take_along_axis(minutes, numpy.maximum(best, 0)[None].astype(numpy.intp), axis=0)
    quicker = ~stands & possible & (minutes < own)

    decided = numpy.full(count, NO_OTHER, dtype=numpy.int8)
    decided[stands.sum(axis=0) > 1] = NEXT_BEST
    decided[quicker.any(axis=0)] = RIVAL_OUT
    decided[best < 0] = NO_METHOD

    rival = numpy.zeros(count, dtype=numpy.int8)
    rule = numpy.full(count, NONE, dtype=numpy.int16)
    for kind in (RIVAL_OUT, NEXT_BEST, NO_OTHER, NO_METHOD):
        rows = numpy.flatnonzero(decided == kind)
        if kind == NEXT_BEST:
            among = numpy.where(stands[:, rows], minutes[:, rows], numpy.inf)
            among[best[rows], numpy.arange(len(rows))] = numpy.inf
        elif kind == RIVAL_OUT:
            among = numpy.where(quicker[:, rows], minutes[:, rows], numpy.inf)
        else:
            among = numpy.where(possible[:, rows] & ~stands[:, rows], minutes[:, rows], numpy.inf)
        if kind == NO_METHOD:  # the fewest rules against it come first, then the minutes
            among = numpy.minimum(among, 1e11) + 1e12 * _out_counts(outs, done, rows) + 1e15 * ~possible[:, rows]
        rival[rows] = numpy.argmin(among, axis=0)
    for place, numbers in enumerate(outs):
        rows = numpy.flatnonzero((rival == place) & (decided != NEXT_BEST))
        for number in reversed(numbers):
            holds = done.fired[number]
            rule[rows[holds[rows]] if _many(holds) else rows[: len(rows) * bool(holds)]] = number
    return decided, rival, rule


def _possible(methods: Sequence[tuple[str, str]], values: Values, count: int) -> Flags:
    """Which methods the shape permits at all [5, n]."""
    possible = numpy.ones((len(methods), count), dtype=bool)
    shape = {name: numpy.asarray(values[name], dtype=bool) for name in ("convex", "corner", "end")}
    for row, (_, prefix) in zip(possible, methods, strict=True):
        permits = getattr(own_module("advisor.formulas", prefix), "permits", None)
        if permits:
            row[:] = permits(**shape)
    return possible


def _out_counts(outs: Outs, done: Columns, rows: Codes) -> Column:
    """How many rules put each method out, for some rows [5, rows]."""
    counts = numpy.zeros((len(outs), len(rows)))
    for row, numbers in zip(counts, outs, strict=True):
        for number in numbers:
            holds = done.fired[number]
            row += holds[rows] if _many(holds) else holds
    return counts


def because_names(rules: Rulebook) -> frozenset[str]:
    """Names that the reasons of rules which put a method out mention."""
    told = [rules.rules[number] for numbers in _outs(rules) for number in numbers]
    return frozenset(name for rule in told for name in expression.mentions(rule.because))
