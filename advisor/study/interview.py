"""The interview: which facts that nobody stated can still change the answer, and which question settles most.

Every open fact has values that it could well have (rules/alternatives.toml). A completion gives each open fact one of
them, or for a number one between two of them. Some thousand completions are worked out by the column executor in one
call; a fact is live where another value of it, all else alike, changes the answer in any of them. Nothing here reads a
rule: what is said to change the answer has been seen to change it. Pure functions, for the terminal, for JSON and for a
page alike.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, NamedTuple

import numpy

from advisor.answer import column_advice
from advisor.answer.advice import deciding_names, lathe_for, measures, others
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked.options import plain as plain_options
from advisor.asked.radius_text import read_radius
from advisor.asked.sizes import SIZES, feature
from advisor.engine import columns
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import rule_tables
from advisor.ground.units import read_quantity
from advisor.lists import listing
from advisor.study import mapping

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.formulas.numeric import Array, Codes, Column, Flags
    from advisor.rulebase.rulebook import Rulebook

    Reads = Callable[[Mapping[str, Any]], Callout]  # what was said, by the names of a case file -> the callout

BASES = 12  # completions round which every value of every fact is tried
DRAWN = 2048  # completions at random, all facts at once
CLOSEST = 24  # completions in which the choice is closest, searched on
ROUNDS = 3
ENOUGH = 12_288  # further completions before it is said that nothing can change the answer
MINUTES_APART = 1.2  # minutes are another answer from a fifth more
NO_METHOD, IMPOSSIBLE = -1, -2


class Question(NamedTuple):
    """One question. name: of questions.toml; asks: its words; facts: names of a case file that an answer may give;
    needed: whether nothing can be said without it; like: such an answer; none: what is taken where there is nothing to
    say."""

    name: str
    asks: str
    facts: tuple[str, ...]
    needed: bool
    like: str
    none: str


class Fact(NamedTuple):
    """Something that nobody stated. name: of the case file; values: those tried, as a reader has them (words, lengths in
    mm, None for not stated), what is assumed first; codes: the same as the columns take them, but hardness in shares of
    what the material has as sold; between: whether a value between two of them may be drawn."""

    name: str
    values: tuple[Any, ...]
    codes: Array
    between: bool


class Value(NamedTuple):
    """What one value of a fact leads to. method: with everything else as assumed, None where nothing stands; shares:
    method -> share of the completions in which it is the choice, None for nothing."""

    value: Any
    method: str | None
    shares: dict[str | None, float]


class Outlook(NamedTuple):
    """What is known of the answer before everything is stated.

    callout: with what is assumed; open: Fact that nobody stated; live: name -> share of the trials in which another
    value of it changes the answer; ask: the Question that settles most, None where nothing is live; values: name of
    each fact -> list of Value; choice: the method with everything as assumed; agreed: share of the completions in
    which it is the choice; minutes: least and most of the batch, over the completions with that choice [min]; hang: name of a
    fact -> least and most minutes of the batch over its values, everything else as assumed, where they lie more than a fifth
    apart, the widest first; tried: number of completions; unknown: name of a fact that the user does not know -> list of Value;
    at_large: share of the completions in which it is the choice where those are otherwise too; beyond: name of a fact ->
    list of Value, of words that were not tried and would change the method.
    """

    callout: callouts.Callout
    open: Sequence[Fact]
    live: dict[str, float]
    ask: Question | None
    values: dict[str, list[Value]]
    choice: str | None
    agreed: float
    minutes: tuple[float, ...]
    hang: dict[str, tuple[float, float]]
    tried: int
    unknown: dict[str, list[Value]]
    at_large: float
    beyond: dict[str, list[Value]]


@functools.cache
def questions() -> dict[str, Question]:
    """Every question by its name, in the order of rules/questions.toml."""
    return {
        name: Question(
            name,
            table["asks"],
            (*table["facts"], *(fact for fact, option in plain_options().items() if option.question == name)),
            table.get("needed", False),
            *map(table.get, ("like", "none"), ("", "")),
        )
        for name, table in rule_tables("questions.toml").items()
    }


def question_of(fact: str) -> Question:
    """The Question that asks for a fact."""
    return next(question for question in questions().values() if fact in question.facts)


# ---- what has to be said first


def needed(
    fields: Mapping[str, Any], read: Reads, settled: Sequence[str] = ()
) -> tuple[Question | None, Callout | None]:
    """The first Question without whose answer nothing can be said, and the callout that the answers so far make:
    (Question or None, Callout or None). read: function fields -> Callout; settled: names that are not asked again.
    Raises CalloutError for an answer that cannot be."""
    for name in callouts.REQUIRED:
        if fields.get(name) is None:
            return question_of(name), None
    try:
        callout = read(fields)
    except CalloutError as problem:
        if problem.field == "width" and not problem.value:
            return questions()["width"], None
        if problem.field == "stickout" and not {"support", "stickout"} & (
            {*settled} | {k for k in fields if fields[k]}
        ):
            return questions()["holding"], None
        raise
    across = any(fields.get(name) is not None for name in ("width", "depth", "rim")) or "width" in settled
    if (callout.location, callout.form) == ("end", "concave") and not across:
        return questions()["width"]._replace(needed=False, none="from edge to edge"), None
    return None, callout


# ---- what is open


def open_facts(callout: Callout, settled: Sequence[str] = ()) -> tuple[Fact, ...]:
    """What nobody stated and could well be otherwise -> tuple of Fact. settled: names that are not asked again."""
    assumed = {entry.name for entry in callout.assumed}
    silent = {"finish"}
    if callout.location == "corner":
        silent |= {"length"} | ({"shoulder_height"} if callout.form == "concave" else set())
    silent = {name for name in silent if getattr(callout, name) is None}
    asked = [name for question in questions().values() if not question.needed for name in question.facts]
    found = [_fact(callout, name) for name in asked if name in assumed | silent and name not in settled]
    return tuple(fact for fact in found if len(fact.values) > 1)


def _fact(callout: Callout, name: str) -> Fact:
    if name == "hardness":
        times = (1.0, *rule_tables("alternatives.toml")["hardness"]["times"])
        low, high = materials.tried_hardness(materials.find_material(callout.material))
        shown = tuple(min(max(callout.hardness * share, low), high) for share in times)
        return Fact(name, shown, numpy.array(times), True)
    now = callout.tolerance if name == "general_tolerance" else getattr(callout, name)
    values = (now, *others(callout, name))
    if name == "material":
        table = list(materials.materials())
        return Fact(name, values, numpy.array([table.index(word) for word in values], dtype=numpy.int16), False)
    option = plain_options().get(name)
    if name == "support" or option and option.kind == "words":
        codes = [listing.CODED[name].index(word) for word in values]
        return Fact(name, values, numpy.array(codes, dtype=numpy.int8), False)
    if name == "tool" or option and option.kind == "truth":
        return Fact(name, values, numpy.array([value in (True, "carbide") for value in values]), False)
    codes = numpy.array([numpy.nan if value is None else float(value) for value in values])
    return Fact(name, values, codes, name not in ("places", "general_tolerance", "finish"))


WHOLE = ("quantity", "places")
_FIELD = {"general_tolerance": "tolerance"}


def span(fact: Fact) -> tuple[float, float] | None:
    """The least and the most of a fact's numbers that are tried; None for words and for what may be left out."""
    numbers = not any(isinstance(value, (bool, str)) or value is None for value in fact.values)
    return (min(fact.values), max(fact.values)) if numbers else None


# ---- completions


def drawn(facts: Sequence[Fact], count: int, rng: numpy.random.Generator) -> tuple[dict[str, Array], dict[str, Codes]]:
    """Completions at random -> (name -> codes [count], name -> place of the value in the fact [count]).

    Half of the numbers lie between two neighbouring values, and count as the lower of them.
    """
    made: dict[str, Array] = {}
    places: dict[str, Codes] = {}
    for fact in facts:
        place = rng.integers(0, len(fact.codes), count)
        values = fact.codes[place]
        if fact.between:
            order = numpy.argsort(fact.codes)  # what is not known comes last
            known = fact.codes[order][: numpy.isfinite(fact.codes).sum()]
            above = known[numpy.minimum(numpy.searchsorted(known, values, side="right"), len(known) - 1)]
            moved = (rng.random(count) < 0.5) & (above > values)
            values = numpy.where(moved, values + (above - values) * rng.random(count) ** 2, values)
            if fact.name in WHOLE:
                values = numpy.round(values)
        made[fact.name], places[fact.name] = values, place
    return made, places


def assumed(facts: Sequence[Fact], count: int = 1) -> dict[str, Array]:
    """Completions with everything as assumed: name -> codes [count]."""
    return {fact.name: numpy.repeat(fact.codes[:1], count) for fact in facts}


def star(facts: Sequence[Fact], bases: Mapping[str, Array]) -> tuple[dict[str, Array], list[tuple[str, int]], int]:
    """Every value of every fact in place of that of some completions. bases: name -> codes [n] -> name -> codes
    [values of all facts, n], flat; the fact and the value of each row of n: list of (name, place)."""
    count = len(next(iter(bases.values())))
    rows = [(fact.name, place) for fact in facts for place in range(len(fact.codes))]
    made = {}
    for fact in facts:
        column = numpy.tile(bases[fact.name], (len(rows), 1))
        for row, (name, place) in enumerate(rows):
            if name == fact.name:
                column[row] = fact.codes[place]
        made[fact.name] = column.ravel()
    return made, rows, count


def trial(
    callout: Callout, shop: Shop, rules: Rulebook, completions: Mapping[str, Array], count: int, *, by: str = "minutes"
) -> Column:
    """What every method is chosen by for some completions, batch minutes if nothing else is asked for, infinite where it is
    ruled out and unknown where the work cannot be: [methods, count]."""
    impossible = numpy.zeros(count, dtype=bool)

    def broken(_: str, rows: Flags) -> None:
        impossible[:] |= rows

    changed = {_FIELD.get(name, name): codes for name, codes in completions.items()}
    changed |= _hardness(callout, changed)
    given = mapping.given_at(callout, changed, broken)
    across, out = (
        numpy.broadcast_to(value, count) for value in (column_advice.swung_diameter(given), given["stickout"])
    )
    lathes = column_advice.lathes(shop, across, callout.lathe, stickout=out)
    want = deciding_names(rules, by)
    minutes = numpy.full((len(rules.methods), count), numpy.nan)
    for place, lathe in enumerate(shop.lathes):
        rows = numpy.flatnonzero((lathes == place) & ~impossible)
        if len(rows):
            part = column_advice.givens(given, shop, lathe, rows)
            values = columns.run(rules, part, findings=False, want=want).values
            for row, measure in zip(minutes, measures(rules, values, by), strict=True):
                row[rows] = measure
    return minutes


def agreed(advice: Advice) -> float:
    """In which share of the ways in which what nobody stated may lie the recommended method of an Advice is the choice."""
    names = [method["name"] for method in advice.rules.methods]
    own = names.index(advice.recommended) if advice.recommended else NO_METHOD
    return _at_large(advice.callout, advice.shop, advice.rules, own, by=advice.by)


def _at_large(callout: Callout, shop: Shop, rules: Rulebook, own: int, *, by: str = "minutes", seed: int = 0) -> float:
    """The share of the completions of all that nobody stated, the same as an outlook starts with, in which a choice holds."""
    facts, count = open_facts(callout), BASES - 1 + DRAWN
    if not facts:
        return 1.0
    completions, _ = drawn(facts, count, numpy.random.default_rng(seed))
    return _agreed(choices(trial(callout, shop, rules, completions, count, by=by)), own)


def _agreed(found: Codes, own: int) -> float:
    possible = found[found != IMPOSSIBLE]
    return float((possible == own).mean()) if len(possible) else 1.0


def _hardness(callout: Callout, changed: Mapping[str, Array]) -> dict[str, Column]:
    """Hardness of each completion [HB]: of the material as sold, or so many times that, within what it is turned at."""
    if not {"hardness", "material"} & changed.keys():
        return {}
    table = materials.materials()
    known = "hardness" not in changed and all(entry.name != "hardness" for entry in callout.assumed)
    if known:
        return {}
    place = changed.get("material", list(table).index(callout.material))
    usual = numpy.array([float(row["hardness"]) for row in table.values()])[place]
    low, high = (ends[place] for ends in numpy.array([materials.tried_hardness(row) for row in table.values()]).T)
    return {"hardness": numpy.clip(usual * changed.get("hardness", 1.0), low, high)}


def choices(minutes: Column) -> Codes:
    """The place of the method that wins in each completion: NO_METHOD where nothing stands, IMPOSSIBLE where the work
    cannot be [count]."""
    best = numpy.where(numpy.isnan(minutes), numpy.inf, minutes).argmin(axis=0)
    least = minutes.min(axis=0)
    return numpy.select([numpy.isnan(least), numpy.isinf(least)], [IMPOSSIBLE, NO_METHOD], best)


# ---- the outlook


def outlook(
    callout: Callout,
    shop: Shop,
    rules: Rulebook,
    *,
    settled: Sequence[str] = (),
    minutes_too: bool = False,
    seed: int = 0,
) -> Outlook:
    """What can still change the answer, and what to ask next -> Outlook.

    callout: as read_callout makes it of what is known; rules: of the shop, with what its records make of them
    (batch.Desk); settled: names that are not asked again: what was assumed of them stays; minutes_too: whether minutes that
    differ by more than a fifth are another answer.
    """
    return _Search(callout, shop, rules, open_facts(callout, settled), minutes_too, seed).outlook(settled)


class _Search:
    """The trials for one outlook."""

    def __init__(
        self, callout: Callout, shop: Shop, rules: Rulebook, facts: Sequence[Fact], minutes_too: bool, seed: int
    ) -> None:
        self.callout, self.shop, self.rules, self.facts = callout, shop, rules, facts
        self.minutes_too = minutes_too
        self.rng = numpy.random.default_rng(seed)
        self.names = [method["name"] for method in rules.methods]
        self.tried = 0
        self.live: dict[str, float] = {}

    def trial(self, completions: Mapping[str, Array], count: int) -> Column:
        self.tried += count
        return trial(self.callout, self.shop, self.rules, completions, count)

    def outlook(self, settled: Sequence[str]) -> Outlook:
        if not self.facts:
            here = self.trial({}, 1)
            return self._result(here, choices(here)[:1], here[:, :0], None, {}, {}, settled)
        bases = assumed(self.facts)
        random, places = drawn(self.facts, BASES - 1 + DRAWN, self.rng)
        bases = {name: numpy.concatenate([bases[name], random[name][: BASES - 1]]) for name in bases}
        tried, rows, width = star(self.facts, bases)
        both = {name: numpy.concatenate([tried[name], random[name]]) for name in tried}
        minutes = self.trial(both, len(next(iter(both.values()))))
        starred, spread = minutes[:, : len(rows) * width], minutes[:, len(rows) * width :]
        here = starred[:, :1]  # the first value of the first fact in the first base: everything as assumed
        self._note(starred, rows, width)
        found = choices(spread)
        if not self.live and not self._disagree(here, spread).any():
            self._look_closer(here, random, spread)
        elif not self.live:
            self._walk(here, random, self._disagree(here, spread))
        values = self._values(starred, rows, width, spread, places)
        asked = self._settles_most(spread, places) if self.live else None
        hang = self._minutes_hang(int(choices(here)[0]), starred, rows, width)
        return self._result(here, found, spread, asked, values, hang, settled)

    def _disagree(self, here: Column, minutes: Column) -> Flags:
        """In which completions the answer is another than with everything as assumed."""
        own, found = choices(here)[0], choices(minutes)
        apart = (found != own) & (found != IMPOSSIBLE)
        if self.minutes_too and own >= 0:
            least = minutes.min(axis=0)
            with numpy.errstate(all="ignore"):
                ratio = numpy.maximum(least / here[own, 0], here[own, 0] / least)
            apart |= (ratio > MINUTES_APART) & numpy.isfinite(least)
        return apart

    def _note(self, minutes: Column, rows: Sequence[tuple[str, int]], width: int) -> None:
        """Which facts are live in a star of trials."""
        found = choices(minutes).reshape(len(rows), width)
        least = minutes.min(axis=0).reshape(len(rows), width)
        for fact in self.facts:
            mine = [row for row, (name, _) in enumerate(rows) if name == fact.name]
            possible = found[mine] != IMPOSSIBLE
            high = numpy.where(possible, found[mine], -9).max(axis=0)
            low = numpy.where(possible, found[mine], 99).min(axis=0)
            turns = (high != low) & possible.any(axis=0)
            if self.minutes_too:
                most = numpy.where(numpy.isfinite(least[mine]), least[mine], 0.0).max(axis=0)
                fewest = numpy.where(numpy.isfinite(least[mine]), least[mine], numpy.inf).min(axis=0)
                turns |= numpy.isfinite(fewest) & (most > fewest * MINUTES_APART)
            if turns.any():
                self.live[fact.name] = max(self.live.get(fact.name, 0.0), float(turns.mean()))

    def _look_closer(self, here: Column, random: Mapping[str, Array], minutes: Column) -> None:
        """Where nothing has turned the answer yet: go on from the completions in which it is closest."""
        own = choices(here)[0]
        for _ in range(ROUNDS):
            closest = self._closest(own, minutes)
            bases = {name: codes[closest] for name, codes in random.items()}
            random, rows, width = star(self.facts, bases)
            minutes = self.trial(random, len(rows) * width)
            self._note(minutes, rows, width)
            if self.live or self._disagree(here, minutes).any():
                break
        if not self.live:
            random, _ = drawn(self.facts, ENOUGH, self.rng)
            minutes = self.trial(random, ENOUGH)
            apart = self._disagree(here, minutes)
            if apart.any():
                self._walk(here, random, apart)

    def _closest(self, own: int, minutes: Column) -> Codes:
        """The completions in which another method comes nearest to the choice."""
        if own < 0:
            return numpy.arange(min(CLOSEST, minutes.shape[1]))
        rivals = numpy.delete(minutes, own, axis=0).min(axis=0)
        with numpy.errstate(all="ignore"):
            margin = rivals / minutes[own]
        margin = numpy.where(numpy.isfinite(margin), margin, 1e9)
        return numpy.argsort(margin, kind="stable")[:CLOSEST]

    def _walk(self, here: Column, random: Mapping[str, Array], apart: Flags) -> None:
        """From everything as assumed to a completion with another answer, one fact at a time: what turns it is live."""
        ends = numpy.flatnonzero(apart)[:CLOSEST]
        names = [fact.name for fact in self.facts]
        base = assumed(self.facts, len(ends))
        steps = [base]
        for name in names:
            steps.append(steps[-1] | {name: random[name][ends]})
        joined = {name: numpy.concatenate([step[name] for step in steps]) for name in names}
        minutes = self.trial(joined, len(steps) * len(ends))
        turned = self._disagree(here, minutes).reshape(len(steps), len(ends))
        for number, name in enumerate(names):
            share = float((turned[number] != turned[number + 1]).mean())
            if share:
                self.live[name] = max(self.live.get(name, 0.0), share)

    def _values(
        self, starred: Column, rows: Sequence[tuple[str, int]], width: int, spread: Column, places: Mapping[str, Codes]
    ) -> dict[str, list[Value]]:
        """What each value of each fact leads to: name -> list of Value."""
        with_assumed = choices(starred).reshape(len(rows), width)[:, 0]
        everywhere = choices(spread)
        found: dict[str, list[Value]] = {}
        for fact in self.facts:
            found[fact.name] = []
            for place, value in enumerate(fact.values):
                code = int(with_assumed[rows.index((fact.name, place))])
                if code == IMPOSSIBLE:
                    continue
                here = everywhere[(places[fact.name] == place) & (everywhere != IMPOSSIBLE)]
                codes, counts = numpy.unique(here, return_counts=True)
                shares = {self._method(c): n / len(here) for c, n in zip(codes.tolist(), counts.tolist(), strict=True)}
                found[fact.name].append(Value(value, self._method(code), shares))
        return found

    def _minutes_hang(
        self, own: int, starred: Column, rows: Sequence[tuple[str, int]], width: int
    ) -> dict[str, tuple[float, float]]:
        """The least and the most minutes of the choice over the values of each fact, everything else as assumed, where they
        lie more than a fifth apart: name -> (least, most) [min]."""
        if own < 0:
            return {}
        minutes, found = starred[own].reshape(len(rows), width)[:, 0], {}
        for fact in self.facts:
            of = minutes[[row for row, (name, _) in enumerate(rows) if name == fact.name]]
            of = of[numpy.isfinite(of)]
            if len(of) and of.max() > MINUTES_APART * of.min():
                found[fact.name] = float(of.min()), float(of.max())
        return dict(sorted(found.items(), key=lambda pair: -pair[1][1] / pair[1][0]))

    def _beyond(self, own: int) -> dict[str, list[Value]]:
        """Words of open facts that were not tried, and would change the method with everything else as assumed."""
        found: dict[str, list[Value]] = {}
        for fact in self.facts:
            known = listing.CODED.get(fact.name, ()) if fact.name in callouts.WORDS else ()
            for word in (word for word in known if word not in fact.values):
                one = assumed(self.facts) | {fact.name: numpy.array([known.index(word)], dtype=fact.codes.dtype)}
                code = int(choices(self.trial(one, 1))[0])
                if code not in (own, IMPOSSIBLE):
                    found.setdefault(fact.name, []).append(Value(word, self._method(code), {}))
        return found

    def _method(self, code: int) -> str | None:
        return self.names[code] if code >= 0 else None

    def _settles_most(self, minutes: Column, places: Mapping[str, Codes]) -> Question:
        """The question after whose answer least would be lost by going with the method that is best on the whole."""
        loss = self._losses(minutes)
        left = {fact.name: self._left(loss, places[fact.name]) for fact in self.facts if fact.name in self.live}
        first = min(left, key=left.__getitem__)
        return question_of(first)

    def _losses(self, minutes: Column) -> Column:
        """What each choice, the last of them that nothing stands, would lose in each completion, as a share of the batch's
        minutes: all of it where it will not do [methods + 1, possible completions]; not a number where impossible."""
        least = minutes.min(axis=0)
        with numpy.errstate(all="ignore"):
            loss = numpy.minimum(minutes / least - 1, 1.0)
        loss = numpy.where(numpy.isinf(minutes), 1.0, loss)
        nothing = numpy.where(numpy.isinf(least), 0.0, 1.0)
        loss = numpy.vstack([numpy.where(numpy.isinf(least), 1.0, loss), nothing])
        wrong = loss > 0
        return numpy.where(numpy.isnan(least), numpy.nan, loss + wrong)  # a wrong choice counts, and more if it is dear

    @staticmethod
    def _left(loss: Column, place: Codes) -> float:
        total = 0.0
        for value in numpy.unique(place):
            part = loss[:, place == value]
            part = part[:, ~numpy.isnan(part[0])]
            total += part.sum(axis=1).min() if part.shape[1] else 0.0
        return total / loss.shape[1]

    def _result(
        self,
        here: Column,
        found: Codes,
        spread: Column,
        asked: Question | None,
        values: dict[str, list[Value]],
        hang: dict[str, tuple[float, float]],
        settled: Sequence[str],
    ) -> Outlook:
        own = int(choices(here)[0])
        unknown, at_large = self._unknown(settled), _agreed(found, own)
        if unknown and not asked:
            at_large = _at_large(self.callout, self.shop, self.rules, own)
        batch = [float(here[own, 0])] if own >= 0 else []
        if own >= 0 and spread.shape[1]:
            mine = spread[own][numpy.isfinite(spread[own])]
            batch += [float(mine.min()), float(mine.max())] if len(mine) else []
        return Outlook(
            callout=self.callout,
            open=self.facts,
            live=dict(sorted(self.live.items(), key=lambda pair: -pair[1])),
            ask=asked,
            values=values,
            choice=self._method(own),
            agreed=_agreed(found, own),
            minutes=(min(batch), max(batch)) if batch else (),
            hang=hang,
            tried=self.tried,
            unknown=unknown,
            at_large=at_large,
            beyond={} if asked else self._beyond(own),
        )

    def _unknown(self, settled: Sequence[str]) -> dict[str, list[Value]]:
        """What each fact that the user does not know would lead to, the others as assumed."""
        facts = [fact for fact in open_facts(self.callout) if fact.name in settled]
        if not facts:
            return {}
        bases = assumed(facts)
        tried, rows, width = star(facts, bases)
        found = choices(self.trial(tried, len(rows) * width))
        told: dict[str, list[Value]] = {}
        for (name, place), code in zip(rows, found.tolist(), strict=True):
            fact = next(fact for fact in facts if fact.name == name)
            if code != IMPOSSIBLE:
                told.setdefault(name, []).append(Value(fact.values[place], self._method(code), {}))
        return told


# ---- the talk


SHAPES = {feature(location, form): {"location": location, "form": form} for location, form in SIZES}
DO_NOT_KNOW = ("don't know", "dont know", "do not know", "not known", "unknown", "no idea", "-")
NOTHING = ("none", "nothing", "nothing else", "no")
BACK, QUIT = ("back", "b"), ("quit", "q", "stop")


class Talk(NamedTuple):
    """How far an interview has come. fields: name of a case file -> what was said; settled: names that are not asked
    again, said or not known; past: the (Question, fields, settled) that were answered, first to last; said: name of a question -> its
    answer, kept when one goes back."""

    fields: dict[str, Any]
    settled: tuple[str, ...] = ()
    past: tuple[tuple[Question, dict[str, Any], tuple[str, ...]], ...] = ()
    said: Mapping[str, str] = {}


class Step(NamedTuple):
    """Where a Talk stands. question: the one to ask, None at the end; callout: None while something is missing; outlook:
    None likewise; unknown: names of facts that the user does not know."""

    question: Question | None
    callout: callouts.Callout | None
    outlook: Outlook | None
    unknown: tuple[str, ...]


def begun(fields: Mapping[str, Any], unknown: Iterable[str] = ()) -> Talk:
    """A Talk that starts from what is stated. unknown: names of questions or facts that the user cannot answer. Raises
    CalloutError for one that is not known."""
    known = {name: question.facts for name, question in questions().items() if not question.needed}
    facts = {name: (name,) for names in known.values() for name in names}
    settled: list[str] = []
    for word in unknown:
        name = callouts.as_spoken(word).replace(" ", "_")
        if name not in known and name not in facts:
            fix = f"{did_you_mean(name, [*known, *facts])}Known are {', '.join([*known, *facts])}."
            raise CalloutError("--unknown", word, "is nothing that is asked", fix)
        settled += known.get(name) or facts[name]
    return Talk(dict(fields), tuple(settled))


def step(talk: Talk, read: Reads, shop: Shop, rules: Rulebook, *, minutes_too: bool = False) -> Step:
    """The Step that a Talk has come to. read: function fields -> Callout; the rest as for outlook. Raises CalloutError where
    what was said cannot be."""
    question, callout = needed(talk.fields, read, talk.settled)
    unknown = tuple(name for name in talk.settled if talk.fields.get(name) is None)
    if question or callout is None:
        return Step(question, None, None, unknown)
    lathe_for(callout, shop)  # work that no lathe takes is refused at once
    found = outlook(callout, shop, rules, settled=unknown, minutes_too=minutes_too)
    return Step(found.ask, callout, found, unknown)


def answer(talk: Talk, question: Question, text: str) -> Talk:
    """The Talk after an answer to a question, as somebody types it. Raises CalloutError where it cannot be read.

    Parts stand between commas: each a value with its name before it ("bore 12 mm"), or a value alone, which is taken for
    the question's facts in their order.
    """
    spoken = callouts.as_spoken(text)
    if not spoken or spoken in DO_NOT_KNOW:
        if question.needed:
            raise CalloutError(question.name, "", "is needed", question.asks)
        found: dict[str, str] = {}
    elif spoken in NOTHING and question.none and not question.needed:
        found = {}
    elif question.name == "place":
        found = _shape(text)
    else:
        found = _parts(question, text)
    _check(found, talk.fields)
    past = (*talk.past, (question, talk.fields, talk.settled))
    fields = {name: value for name, value in talk.fields.items() if name not in question.facts} | found
    settled = tuple(dict.fromkeys((*talk.settled, *question.facts)))
    return Talk(fields, settled, past, {**talk.said, question.name: text.strip()})


def back(talk: Talk) -> Talk:
    """The Talk before its last answer, which it keeps; the same Talk where nothing was answered."""
    if not talk.past:
        return talk
    *past, (_, fields, settled) = talk.past
    return Talk(fields, settled, tuple(past), talk.said)


def _shape(text: str) -> dict[str, str]:
    spoken = callouts.as_spoken(text)
    names = list(SHAPES)
    if spoken.isdecimal() and 1 <= int(spoken) <= len(names):
        return dict(SHAPES[names[int(spoken) - 1]])
    for name, place in SHAPES.items():
        if spoken in (name, name.split()[-1] if name != "rounded corner" else "corner"):
            return dict(place)
    fix = (
        f"{did_you_mean(spoken, names)}Give a number from 1 to {len(names)}, or {', '.join(names[:-1])} or {names[-1]}."
    )
    raise CalloutError("place", text, "is not one of the six shapes", fix)


def _parts(question: Question, text: str) -> dict[str, str]:
    """Facts of an answer: name -> text."""
    found: dict[str, str] = {}
    for part in filter(None, map(str.strip, text.replace(";", ",").split(", ") if ", " in text else [text])):
        name, value = _named(question, part)
        if name is None:
            alone = question.facts[:1] if question.needed else question.facts
            name = next((fact for fact in alone if fact not in found), None)
        if name is None or name in found:
            told = ", ".join(fact.replace("_", " ") for fact in question.facts)
            fix = f"Asked is {told}: write the name before each but the first."
            raise CalloutError(question.name, part, "is more than was asked", fix)
        found[name] = value
    return found


def _named(question: Question, part: str) -> tuple[str | None, str]:
    """A part of an answer that begins or ends with the name of a fact: (name, value); (None, part) where it does not."""
    for fact in question.facts:
        name = fact.replace("_", " ")
        lower = part.lower()
        if fact in plain_options() and lower in plain_options()[fact].spoken:
            return fact, "yes"
        if fact == "finish" and lower.startswith("ra"):
            return fact, part
        if lower.startswith(name + " "):
            return fact, part[len(name) :].strip(" =:")
        if lower.endswith(" " + name):
            return fact, part[: -len(name)].strip()
    return None, part


def _check(found: Mapping[str, str], fields: Mapping[str, Any]) -> None:
    """Read what was said alone, while the rest is still to come. Raises CalloutError."""
    units = fields.get("units") or "mm"
    units = "inch" if callouts.word_of("units", units) == "inch" else "mm"
    if "radius" in found:
        read_radius(found["radius"], units=units, general_tolerance=fields.get("general_tolerance"))
    for name in ("diameter", "width", "depth", "bore", "stickout"):
        if found.get(name) is not None:
            read_quantity(
                found[name],
                field=name,
                dimension="length",
                default_unit="in" if units == "inch" else "mm",
                at_least=0.0,
            )


def command(talk: Talk, *, name: str = "advise") -> list[str]:
    """The words of a command line that asks for the same, or with the name ask goes on from here: list."""
    said = {key: str(talk.fields[key]) for key in callouts.KEYS if talk.fields.get(key) is not None}
    words = ["turn-radius", name, *([said.pop("radius")] if "radius" in said else [])]
    for key, value in said.items():
        words += [f"--{key.replace('_', '-')}", value]
    if name == "ask":
        asked = {fact for question in questions().values() if not question.needed for fact in question.facts}
        unknown = [fact for fact in talk.settled if fact in asked and fact not in said]
        words += ["--unknown", ",".join(unknown)] if unknown else []
    return words
