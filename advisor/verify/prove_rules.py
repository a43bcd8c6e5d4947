"""Proves the rule base over many callouts: nothing dead, nothing hidden, nothing contradictory.

A condition is taken apart into comparisons. Over every row (see verify/random_callouts.py) each rule leaves one number, which of its
comparisons held; the set of numbers seen says whether each comparison decides by itself (modified condition/decision
coverage: a pair of callouts that differ in this comparison alone, and in which the rule differs). What a rule does is
taken away by a switch, and the answer compared. Boundaries come from verify/boundaries.py.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy

from advisor.answer.advice import overrides
from advisor.engine import columns
from advisor.language import expression
from advisor.rulebase.rulebook import KINDS, Name, Rule, Rulebook
from advisor.verify import boundaries, contradictions, hostile_shops, random_callouts

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence
    from typing import Any

    from advisor.asked.shop import Shop
    from advisor.engine.columns import Columns
    from advisor.formulas.numeric import Codes, Flags, Values
    from advisor.language.expression import Tree
    from advisor.rulebase.rulebook import Bound, Effect
    from advisor.verify.random_callouts import Place, Row, Rows

    Thing = tuple[int, str, str, int]  # number of a rule, label, switch, number in the rule base with switches

DRAWN = 200_000  # rows drawn at a time
WITNESSES = 6  # rows kept of each number that a condition left
TRIED = 6000  # rows on which effects are taken away at a time, shared among those that have not mattered yet
MOST_PARTS = 14
STRANGE_SHOPS = 240  # drawn at random, for what no answer may pass
STRANGE_SHARE = 0.3  # callouts in them, as a share of the others
NEAR = 1e-9  # share by which two numbers may differ and be the same

# What is proved, in the order of the report.
CHECKS = {
    "fires": "every rule fires somewhere, and no rule with a condition fires everywhere",
    "matters": "everything that a rule does changes an answer; a step or caution is said of a method that stands",
    "lines": "every line of every condition decides by itself",
    "comparisons": "every comparison, and every word of a list, decides by itself",
    "boundaries": "every comparison of numbers is met on its boundary, and the rule turns there",
    "conflicts": "no conclusion is given two values",
    "contradictions": "no answer tells two things that contradict each other",
    "bounds": "no answer passes what the machine takes, in shops drawn at random either",
    "shadows": "no rule is hidden behind another that does the same",
    "methods": "every method wins somewhere and is ruled out somewhere",
    "words": "every word of every conclusion stands somewhere",
    "read": "every conclusion and every limit is read by something",
    "numbers": "minutes, chances and spreads of a method that stands are numbers, and in order",
    "unknown": "no method stands whose reach is not known, nor because a number to compare with is not known",
    "texts": "whatever a sentence names is known when it is said",
    "formulas": "no formula fails",
}
# Numbers that an answer promises for a method that stands, by the end of their names; and for every callout.
PROMISED = (
    *(f"{part}_{end}" for part in ("tooling", "setup", "piece") for end in ("low", "likely", "high", "mean")),
    "batch_mean", "batch_p80", "standing_minutes", "miss_minutes", "wear_minutes", "rounds_set", "set_error",
    "piece_error", "in_tolerance", "holds",
)  # fmt: skip
ALWAYS = (
    "depth", "sweep", "arc_length", "removed_volume", "centre_from_axis", "centre_from_face", "depth_tolerance",
    "edge_width", "straight_rpm", "finish_rpm",
)  # fmt: skip
# The smallest and the largest that a method reaches, by the end of their names.
REACH = ("low", "high")
# Figures that the program reads beside the rules, in advice.py, changes.py, experience.py and correction.py.
READ_BY_PROGRAM = (
    "template_sees", "micrometer_error", "proof_share", "light_gap", "close_call_share", "record_doubt",
    "record_prior_arcs", "record_scatter", "usual_post_diameter", "usual_base_half_width", "usual_rod_tilt",
    "usual_gauge_graduation", "correction_share", "correction_tolerances", "slip_of_the_pen",
    "overlooked_height", "start_seen",
)  # fmt: skip


@dataclass(frozen=True)
class Failure:
    """One thing that could not be proved. check: of CHECKS; subject: rule, method or name; callout: command line that
    shows it."""

    check: str
    subject: str
    problem: str
    callout: str = ""


@dataclass
class Proof:
    """What was proved. rows: callouts looked at; claims: check -> how many things it claims; failures: list of
    Failure."""

    rows: int = 0
    claims: dict[str, int] = field(default_factory=lambda: dict.fromkeys(CHECKS, 0))
    failures: list[Failure] = field(default_factory=list)

    def of(self, check: str) -> list[Failure]:
        """Failures of one check."""
        return [failure for failure in self.failures if failure.check == check]


def prove(
    rulebook: Rulebook, shops: Sequence[Shop], *, count: int, seed: int = 1, only: Collection[str] | None = None
) -> Proof:
    """Look at so many callouts in some shops, and at every boundary -> Proof.

    rulebook: from loading.load; shops: from shop.read_shop; only: ids of the rules of which something is claimed by
    itself, all if None. What must not happen anywhere is looked for in all of them.
    """
    return _Prover(rulebook, random_callouts.places(shops, rulebook.givens), only).proof(count, seed)


# ------------------------------------------------------------------------------------------------ conditions


class Condition:
    """The `when` of a rule, taken apart.

    parts: trees of its comparisons; lines, fires: truth of each line, and of all, for every number (bit i: part i
    holds); seen: number -> rows that left it; words: (part, word, code) -> whether that word alone was seen to decide.
    """

    def __init__(self, rule: Rule) -> None:
        self.rule = rule
        self.parts: list[Tree] = []
        for tree in rule.when:
            self._collect(tree)
        if len(self.parts) > MOST_PARTS:
            raise ValueError(f"{rule.id} has more than {MOST_PARTS} comparisons")
        self.numbers = numpy.arange(2 ** len(self.parts))
        self.lines = numpy.array([self._truth(tree) for tree in rule.when], dtype=bool).reshape(
            len(rule.when), len(self.numbers)
        )
        self.fires: Flags = numpy.logical_and.reduce(self.lines) if rule.when else numpy.ones(1, dtype=bool)
        self.decides = [self.fires != self.fires[self.numbers ^ (1 << bit)] for bit in range(len(self.parts))]
        self.seen: dict[int, list[Row]] = {}
        members = [(bit, tree) for bit, tree in enumerate(self.parts) if tree[0] == "member" and tree[2][0] == "name"]
        self.words = {(bit, *word): False for bit, tree in members for word in tree[3]}

    def _collect(self, tree: Tree) -> None:
        if tree[0] in ("and", "or"):
            for part in tree[1]:
                self._collect(part)
        elif tree[0] == "not":
            self._collect(tree[1])
        elif tree not in self.parts:
            self.parts.append(tree)

    def _truth(self, tree: Tree) -> Flags:
        if tree[0] in ("and", "or"):
            parts = [self._truth(part) for part in tree[1]]
            return numpy.logical_and.reduce(parts) if tree[0] == "and" else numpy.logical_or.reduce(parts)
        if tree[0] == "not":
            return ~self._truth(tree[1])
        return (self.numbers >> self.parts.index(tree)) & 1 == 1

    def text(self, bit: int) -> str:
        """A part as it is written."""
        tree = self.parts[bit]
        return tree[1] if tree[0] in ("compare", "member", "name") else json.dumps(tree)

    def number(self, held: Sequence[Flags]) -> Codes:
        """The numbers that the parts leave, from arrays of whether each held."""
        number = numpy.zeros(len(held[0]) if held else 1, dtype=numpy.int32)
        for bit, array in enumerate(held):
            number |= array.astype(numpy.int32) << bit
        return number

    def look(self, number: Codes, rows: Rows, values: Values) -> None:
        """Keep what a set of rows shows that was not known."""
        for found in numpy.flatnonzero(numpy.bincount(number, minlength=len(self.numbers))):
            kept = self.seen.setdefault(int(found), [])
            if len(kept) < WITNESSES:
                which = numpy.flatnonzero(number == found)[: WITNESSES - len(kept)]
                kept += [{name: column[one] for name, column in rows.items()} for one in which]
        for key, known in self.words.items():
            if not known:
                bit, _, code = key
                self.words[key] = bool((self.decides[bit][number] & (values[self.parts[bit][2][1]] == code)).any())

    def pair(self, bit: int) -> bool:
        """Whether two callouts were seen that differ in this part alone, and in the rule."""
        return any(self.decides[bit][n] and n ^ (1 << bit) in self.seen for n in self.seen)

    def line_decides(self, line: int) -> bool:
        """Whether the rule was seen to fire, and to be stopped by this line alone."""
        others = numpy.delete(self.lines, line, axis=0).all(axis=0)
        alone = others & ~self.lines[line]
        return any(self.fires[n] for n in self.seen) and any(alone[n] for n in self.seen)

    def firing(self) -> Row | None:
        """A row in which the rule fired, or None."""
        return next((rows[0] for number, rows in self.seen.items() if self.fires[number]), None)


class Parts:
    """The comparisons of all conditions, worked out together, each once."""

    def __init__(self, conditions: Iterable[Condition]) -> None:
        sources: dict[str, int] = {}
        self.places: list[list[int]] = []
        for condition in conditions:
            written = [expression.python(tree, arrays=True, name="values[{!r}]".format) for tree in condition.parts]
            self.places.append([sources.setdefault(source, len(sources)) for source in written])
        names = expression.helpers() | {f"w{code}": numpy.int8(code) for code in range(-1, 127)}
        body = ", ".join(sources) + ("," if sources else "")
        exec(compile(f"def held(values):\n return ({body})", "<conditions>", "exec"), names)
        self.function = names["held"]

    def held(self, values: Values, count: int) -> list[list[Flags]]:
        """For each condition the arrays of whether its parts hold."""
        with numpy.errstate(all="ignore"):
            found = [numpy.broadcast_to(array, count) for array in self.function(values)]
        return [[found[place] for place in places] for places in self.places]


# ------------------------------------------------------------------------------------------------ taking away


def things(rule: Rule) -> list[tuple[str, list[Effect]]]:
    """What a rule does to names, as a list of (label, effects); low, likely and high of one name are one thing."""
    found: dict[tuple[str, str], list[Effect]] = {}
    for effect in rule.effects:
        if effect.target:
            name = effect.target
            for end in ("_low", "_likely", "_high"):
                if effect.kind == "adds":
                    name = name.removesuffix(end)
            found.setdefault((effect.kind, name), []).append(effect)
    return [
        (f"{kind.replace('_', ' ')} {name.removesuffix('_ruled_out')}", effects)
        for (kind, name), effects in found.items()
    ]


def switched(rulebook: Rulebook) -> tuple[Rulebook, list[Thing], dict[int, int]]:
    """The rule base with a switch for everything that a rule does.

    Returns (Rulebook, things, first): the same rules, one for each thing, with one more given each, "switch_12", by
    default true; things: list of (rule number, label, switch, number in the new rule base); first: rule number -> the
    first number in the new rule base.
    """
    names, listed = dict(rulebook.names), []
    rules: list[Rule] = []
    numbers: dict[int, list[int]] = {}
    for rule in rulebook.rules:
        numbers[rule.number] = []
        for label, effects in things(rule) or [("", [])]:
            copy = Rule(*rule.fields())
            copy.number, copy.effects = len(rules), effects
            if label:
                switch = f"switch_{copy.number}"
                fields = dict.fromkeys(Name.__slots__) | {
                    "name": switch,
                    "kind": "given",
                    "holds": "truth",
                    "default": True,
                    "stage": 0,
                }
                names[switch] = Name(*fields.values())
                copy.when = [*rule.when, ("name", switch)]
                copy.names = [*rule.names, switch]
                listed.append((rule.number, label, switch, copy.number))
            rules.append(copy)
            numbers[rule.number].append(copy.number)
    order: list[str | int] = [switch for _, _, switch, _ in listed]
    for node in rulebook.order:
        order += numbers[node] if isinstance(node, int) else [node]
    made = Rulebook(names, rules, order, rulebook.methods, rulebook.package, rulebook.label, {})
    made.base |= {name: value for name, value in rulebook.base.items() if name in made.base}
    made.functions = rulebook.functions
    return made, listed, {number: parts[0] for number, parts in numbers.items()}


# ------------------------------------------------------------------------------------------------ the proof


class _Prover:
    def __init__(self, rulebook: Rulebook, where: list[Place], only: Collection[str] | None) -> None:
        self.rulebook = rulebook
        self.where = where
        self.claimed = {rule.number for rule in rulebook.rules if only is None or rule.id in only}
        self.result = Proof()
        self.conditions = [Condition(rule) for rule in rulebook.rules]
        self.parts = Parts(self.conditions)
        self.prefixes = {method["name"]: method["prefix"] for method in rulebook.methods}
        self.switches, every, self.first = switched(rulebook)
        self.waiting = [entry for entry in every if entry[0] in self.claimed]
        self.bases: dict[tuple[int, tuple[Any, ...]], Rulebook] = {}
        self.heard: set[int] = set()
        self.noted: set[tuple[str, str, str]] = set()
        self.wins, self.lost = (dict.fromkeys(self.prefixes, 0) for _ in range(2))
        self.words: dict[str, set[int]] = {
            n.name: set() for n in rulebook.names.values() if n.kind == "conclusion" and n.holds == "words"
        }
        self.hidden = self._pairs()
        self.said = {rule.number: self._mentioned(rule) for rule in rulebook.rules}

    def proof(self, count: int, seed: int) -> Proof:
        for start in range(0, count, DRAWN):
            self.look(random_callouts.draw((seed, start), min(DRAWN, count - start), self.where), take_away=True)
        self._in_strange_shops(count, seed)
        met = boundaries.walk(self)
        self._of_rules()
        self._of_boundaries(met)
        self._of_pairs()
        self._of_methods_and_words()
        self._as_written()
        order = {check: place for place, check in enumerate(CHECKS)}
        self.result.failures.sort(key=lambda failure: (order[failure.check], failure.subject, failure.problem))
        return self.result

    # ---- shops drawn at random

    def _in_strange_shops(self, count: int, seed: int) -> None:
        """Look for what must not happen in shops with strange limits; they count nowhere else, since a rule has to
        matter in a shop that there could be."""
        if not self.rulebook.bounds:
            return
        own, shops = self.where, hostile_shops.drawn(STRANGE_SHOPS)
        self.where = random_callouts.places(shops, self.rulebook.givens, changes={"": lambda shop: shop})
        for start in range(0, int(count * STRANGE_SHARE), DRAWN):
            rows = random_callouts.draw((seed, 1, start), min(DRAWN, int(count * STRANGE_SHARE) - start), self.where)
            for which in random_callouts.by_key(rows, self.where):
                some = random_callouts.taken(rows, which)
                result = self.run(some)
                for name, message in result.errors:
                    self._fail("formulas", name, message, some, 0)
                stands = self._standing(result.values, len(which))
                self._promised(some, result.values, stands)
                self._bounds(some, result.values, stands)
                self.result.rows += len(which)
        self.where = own

    # ---- one set of rows

    def run(
        self,
        rows: Rows,
        rulebook: Rulebook | None = None,
        extra: Mapping[str, Flags] | None = None,
        want: frozenset[str] | None = None,
    ) -> Columns:
        """Columns of rows whose places share a key; want: the names that are wanted, all if None."""
        place = self.where[int(rows["place"][0])]
        base = rulebook or self.rulebook
        key = (id(base), place.key)
        if key not in self.bases:
            self.bases[key] = base.revalued(overrides(place.shop), where=f"shop {place.shop.name}")
        given = random_callouts.givens(rows, self.where, self.rulebook)
        return columns.run(self.bases[key], {**given, **(extra or {})}, findings=want is None, want=want)

    def leaves(self, rows: Rows, rules: Codes) -> Codes:
        """What the condition of one rule leaves in each row, and nothing else looked at. rules: the number of that rule."""
        asked = [self.conditions[number] for number in sorted(set(rules.tolist()))]
        parts, want = Parts(asked), frozenset(name for condition in asked for name in condition.rule.names)
        found = numpy.zeros(len(rules), dtype=numpy.int32)
        for which in random_callouts.by_key(rows, self.where):
            values = self.run(random_callouts.taken(rows, which), want=want).values
            for condition, held in zip(asked, parts.held(values, len(which))):
                mine = rules[which] == condition.rule.number
                found[which[mine]] = condition.number(held)[mine]
            self.result.rows += len(which)
        return found

    def look(self, rows: Rows, take_away: bool = False) -> list[Codes]:
        """Look at rows of any places. Returns for each rule an array of what its condition leaves.

        take_away: also try what changes without each thing that a rule does.
        """
        numbers: list[Codes] = [numpy.zeros(len(rows["place"]), dtype=numpy.int32) for _ in self.conditions]
        for which in random_callouts.by_key(rows, self.where):
            some = random_callouts.taken(rows, which)
            for number, found in zip(numbers, self._look(some, take_away)):
                number[which] = found
            self.result.rows += len(which)
        return numbers

    def _look(self, rows: Rows, take_away: bool) -> list[Codes]:
        count = len(rows["place"])
        result = self.run(rows)
        values = result.values
        fired = {number: numpy.broadcast_to(holds, count) for number, holds in result.fired.items()}
        for name, message in result.errors:
            self._fail("formulas", name, message, rows, 0)
        numbers = []
        for condition, held in zip(self.conditions, self.parts.held(values, count)):
            number = condition.number(held) if held else numpy.zeros(count, dtype=numpy.int32)
            condition.look(number, rows, values)
            numbers.append(number)
        stands = self._methods(rows, values)
        for name, disputed in result.conflicts.items():
            row = int(numpy.flatnonzero(disputed)[0])
            dispute = next(c for c in result.row(row).conflicts if c[0] == name)
            self._fail("conflicts", name, f"{dispute[1]} says {dispute[2]}, {dispute[3]} says {dispute[4]}", rows, row)
        self._promised(rows, values, stands)
        self._unknown(rows, values, stands, numbers)
        self._texts(rows, values, fired, stands)
        self._contradictions(rows, values, fired, stands)
        if not any(
            name in self.where[0].values for name in rows
        ):  # else the place is one that no shop file could state
            self._bounds(rows, values, stands)
        for name in self.words:
            self.words[name].update(numpy.unique(values[name]).tolist())
        for pair in [pair for pair, still in self.hidden.items() if still]:
            self.hidden[pair] = not (fired[pair[0]] & ~fired[pair[1]]).any()
        if take_away:
            self._take_away(rows, fired, stands)
        return numbers

    def _fail(self, check: str, subject: str, problem: str, rows: Rows | None = None, row: int = 0) -> None:
        """Note a failure, once for each check, subject and problem."""
        key = (check, subject, "" if check in ("formulas", "conflicts", "bounds") else problem)
        if key not in self.noted:
            self.noted.add(key)
            callout = (
                ""
                if rows is None
                else random_callouts.command({name: column[row] for name, column in rows.items()}, self.where)
            )
            self.result.failures.append(Failure(check, subject, problem, callout))

    def _methods(self, rows: Rows, values: Values) -> dict[str, Flags]:
        """Which methods stand in which rows; notes who wins and who is ruled out."""
        count = len(rows["place"])
        stands, minutes = self._standing(values, count), []
        for name, prefix in self.prefixes.items():
            self.lost[name] += int((~stands[name]).sum())
            minutes.append(numpy.broadcast_to(values[f"{prefix}_standing_minutes"], count))
        if minutes:
            table = numpy.where(numpy.isfinite(minutes), minutes, numpy.inf)
            best = numpy.where(numpy.isfinite(table).any(axis=0), table.argmin(axis=0), -1)
            for place, name in enumerate(self.prefixes):
                self.wins[name] += int((best == place).sum())
        return stands

    def _standing(self, values: Values, count: int) -> dict[str, Flags]:
        """Where each method stands: name -> truth values."""
        return {
            name: ~numpy.broadcast_to(values[f"{prefix}_ruled_out"], count) for name, prefix in self.prefixes.items()
        }

    def _bounds(self, rows: Rows, values: Values, stands: Mapping[str, Flags]) -> None:
        """No method stands where something holds that never may."""
        count = len(rows["place"])
        for bound in self.rulebook.bounds:
            standing = numpy.logical_or.reduce([stands[name] for name in bound.methods or self.prefixes])
            wrong = standing & numpy.broadcast_to(expression.held([bound.never], values), count)
            if wrong.any():
                row = int(numpy.flatnonzero(wrong)[0])
                methods = [name for name in bound.methods or self.prefixes if stands[name][row]]
                self._fail("bounds", bound.name, self._passed(bound, values, row, count, methods), rows, row)

    def _passed(self, bound: Bound, values: Values, row: int, count: int, methods: Sequence[str]) -> str:
        """What stands although it passes a bound, with the values of that row, in words."""
        found = []
        for name in expression.names(bound.never):
            value = numpy.broadcast_to(values[name], count)[row].item()
            declared = self.rulebook.names[name]
            if declared.holds == "words":
                value = declared.values[value]
            found.append(f"{name} {value:.6g} {declared.unit}" if declared.holds == "number" else f"{name} {value}")
        return f"{', '.join(methods)} stand where {bound.text}: {', '.join(found)}"

    def _promised(self, rows: Rows, values: Values, stands: Mapping[str, Flags]) -> None:
        def check(subject: str, problem: str, wrong: Flags) -> None:
            if wrong.any():
                self._fail("numbers", subject, problem, rows, int(numpy.flatnonzero(wrong)[0]))

        for name in ALWAYS:
            if name in values:
                wrong = ~numpy.isfinite(numpy.broadcast_to(values[name], len(rows["place"])))
                check(name, "is not a number", wrong)
        for method, prefix in self.prefixes.items():
            for end in PROMISED:
                value = values.get(f"{prefix}_{end}")
                if value is not None:
                    check(
                        f"{prefix}_{end}",
                        "is not a number of 0 or more",
                        stands[method] & ~(numpy.isfinite(value) & (value >= 0)),
                    )
            for part in ("tooling", "setup", "piece"):
                low, likely, high = (values.get(f"{prefix}_{part}_{end}", 0.0) for end in ("low", "likely", "high"))
                check(
                    f"{prefix}_{part}",
                    "low, likely and high are out of order",
                    stands[method] & ((low > likely) | (likely > high)),
                )
            chance = values.get(f"{prefix}_in_tolerance", 0.0)
            check(f"{prefix}_in_tolerance", "is more than 1", stands[method] & (chance > 1))

    def _contradictions(
        self, rows: Rows, values: Values, fired: Mapping[int, Flags], stands: Mapping[str, Flags]
    ) -> None:
        """Nothing that a method which stands is told by excludes another; where none stands, of none at all."""
        none = ~numpy.logical_or.reduce(list(stands.values())) if stands else False
        for clash in contradictions.clashes(self.rulebook, values, fired):
            if (wrong := clash.where & (stands[clash.method] | none)).any():
                problem = f'{clash.one} tells "{clash.pair.one}", {clash.other} "{clash.pair.other}"'
                self._fail("contradictions", clash.method, problem, rows, int(numpy.flatnonzero(wrong)[0]))

    def _unknown(self, rows: Rows, values: Values, stands: Mapping[str, Flags], numbers: Sequence[Codes]) -> None:
        """No method stands whose reach is not known; nor one that a rule would put out if a comparison, which does not
        hold only because a number in it is not known, did."""
        count = len(rows["place"])
        for method, prefix in self.prefixes.items():
            for name in (f"{prefix}_{end}" for end in REACH):
                if name in values:
                    wrong = stands[method] & numpy.isnan(numpy.broadcast_to(values[name], count))
                    if wrong.any():
                        problem = f"stands, and {name} is not known"
                        self._fail("unknown", method, problem, rows, int(numpy.flatnonzero(wrong)[0]))
        known = {}
        for condition, number in zip(self.conditions, numbers):
            methods = self._put_out(condition.rule)
            if not methods:
                continue
            standing = numpy.logical_or.reduce([stands[method] for method in methods])
            for bit, tree in enumerate(condition.parts):
                for name in expression.names(tree):
                    if name not in known:
                        number_known = self.rulebook.names[name].holds == "number"
                        known[name] = self._known(name, values[name], count) if number_known else None
                    if (here := known[name]) is None:
                        continue
                    wrong = standing & ~here & condition.fires[number ^ (1 << bit)] & numpy.isnan(values[name])
                    if wrong.any():
                        problem = f'"{condition.text(bit)}" puts nothing out where {name} is not known'
                        self._fail("unknown", condition.rule.id, problem, rows, int(numpy.flatnonzero(wrong)[0]))

    def _put_out(self, rule: Rule) -> list[str]:
        """Methods that a rule rules out."""
        out = [effect.target.removesuffix("_ruled_out") for effect in rule.effects if effect.kind == "rules_out"]
        return [method for method, prefix in self.prefixes.items() if prefix in out]

    def _mentioned(self, rule: Rule) -> list[str]:
        """Names that the texts of a rule put in."""
        texts = [rule.because, rule.needs, *(effect.text for effect in rule.effects)]
        return list(dict.fromkeys(name for text in texts if text for name in expression.mentions(text)))

    def _texts(self, rows: Rows, values: Values, fired: Mapping[int, Flags], stands: Mapping[str, Flags]) -> None:
        """What is said is known; and what is said of a method is said where that method stands."""
        known = {}
        for rule in self.rulebook.rules:
            said = fired[rule.number]
            if rule.kind != "rule" and rule.methods:
                said = said & numpy.logical_or.reduce([stands[name] for name in rule.methods])
            if rule.number not in self.heard and said.any():
                self.heard.add(rule.number)
            for name in self.said[rule.number]:
                if name not in known:
                    known[name] = self._known(name, values[name], len(rows["place"]))
                if (here := known[name]) is not None and (wrong := said & ~here).any():
                    self._fail("texts", rule.id, f"{{{name}}} is not known", rows, int(numpy.flatnonzero(wrong)[0]))

    def _known(self, name: str, value: Any, count: int) -> Flags | None:
        """Where a name has a value that can be told; None where it always has."""
        holds = self.rulebook.names[name].holds
        if holds == "number":
            known = numpy.isfinite(value)
        elif holds == "words":
            known = numpy.asarray(value) >= 0
        else:
            return None
        return None if known.all() else numpy.broadcast_to(known, count)

    # ---- what changes when something is taken away

    def _take_away(self, rows: Rows, fired: Mapping[int, Flags], stands: Mapping[str, Flags]) -> None:
        """Try everything that has not mattered yet on some rows in which its rule fired."""
        share = max(8, TRIED // max(len(self.waiting), 1))
        against = self._reasons_against(fired)
        picked, owners = [], []
        for place, (number, _, _, changed) in enumerate(self.waiting):
            effect = self.switches.rules[changed].effects[0]
            likely = fired[number]
            if effect.kind == "rules_out":
                likely = likely & (against[effect.target] == 1)
            elif KINDS[effect.kind].counts and effect.methods:
                likely = likely & stands[effect.methods[0]]
            which = numpy.flatnonzero(likely)
            which = which[:: max(1, len(which) // share)][:share]
            picked.append(which)
            owners.append(numpy.full(len(which), place))
        if not picked or not sum(map(len, picked)):
            return
        tried, owner = random_callouts.taken(rows, numpy.concatenate(picked)), numpy.concatenate(owners)
        whole = self.run(tried, self.switches)
        off = {switch: owner != place for place, (_, _, switch, _) in enumerate(self.waiting)}
        less = self.run(tried, self.switches, off)
        differs = self._differs(whole, less, numpy.array([number for number, _, _, _ in self.waiting])[owner])
        done = set(numpy.unique(owner[differs]).tolist())
        self.waiting = [entry for place, entry in enumerate(self.waiting) if place not in done]

    def _reasons_against(self, fired: Mapping[int, Flags]) -> dict[str, Codes]:
        """How many rules rule a method out in each row: name of the tally -> count."""
        return {
            f"{prefix}_ruled_out": numpy.asarray(
                sum(fired[rule.number].astype(int) for rule, _ in self.rulebook.affecting(f"{prefix}_ruled_out"))
            )
            for prefix in self.prefixes.values()
        }

    def _differs(self, whole: Columns, less: Columns, own: Codes) -> Flags:
        """In which rows two runs give another answer: other findings (own: rule not to count), other numbers of a
        method that stands, or another value in something that is said."""
        count = len(own)

        def other(name: str) -> Flags:
            a, b = (numpy.broadcast_to(run.values[name], count) for run in (whole, less))
            if a.dtype.kind != "f":
                return a != b
            with numpy.errstate(invalid="ignore"):
                near = numpy.isfinite(a) & numpy.isfinite(b) & (numpy.abs(a - b) <= NEAR * numpy.abs(a))
            return ~((a == b) | near | (numpy.isnan(a) & numpy.isnan(b)))

        differs = numpy.zeros(count, dtype=bool)
        for prefix in self.prefixes.values():
            stood = ~numpy.broadcast_to(whole.values[f"{prefix}_ruled_out"] & less.values[f"{prefix}_ruled_out"], count)
            for end in (*PROMISED, "cost"):
                if f"{prefix}_{end}" in whole.values:
                    differs |= stood & other(f"{prefix}_{end}")
        told = {}
        for rule in self.rulebook.rules:
            one, two = (numpy.broadcast_to(run.fired[self.first[rule.number]], count) for run in (whole, less))
            heard = (one != two) & (own != rule.number)
            for name in self.said[rule.number]:
                if name not in told and self.rulebook.names[name].holds != "list":
                    told[name] = other(name)
                heard = heard | (one & told.get(name, False) & (own != rule.number))
            differs |= heard
        return differs

    # ---- what must exist somewhere

    def _missing(self, check: str, subject: str, problem: str, row: Row | None = None) -> None:
        """Note that something was not found; the row shows a rule at work all the same."""
        told = f"{problem}: no callout found in {self.result.rows:,}" + ("; this one fires" if row is not None else "")
        self._fail(
            check, subject, told, None if row is None else {name: numpy.array([value]) for name, value in row.items()}
        )

    def _of_rules(self) -> None:
        claims = self.result.claims
        for condition in [self.conditions[number] for number in sorted(self.claimed)]:
            rule, firing = condition.rule, condition.firing()
            claims["fires"] += 1 + bool(rule.when)
            claims["matters"] += len(things(rule)) or 1
            if firing is None:
                self._missing("fires", rule.id, "never fires")
                continue
            if rule.when and all(condition.fires[number] for number in condition.seen):
                self._missing("fires", rule.id, "never keeps silent", firing)
            if rule.kind != "rule" and rule.number not in self.heard:
                self._missing("matters", rule.id, "is never said of a method that stands", firing)
            self._of_parts(condition, firing)
        for number, label, _, _ in self.waiting:
            if (firing := self.conditions[number].firing()) is not None:
                self._missing("matters", self.rulebook.rules[number].id, f'"{label}" changes no answer', firing)

    def _of_parts(self, condition: Condition, firing: Row) -> None:
        """Lines, and within them comparisons and words, that never decide."""
        claims, rule = self.result.claims, condition.rule
        for line, text in enumerate(rule.texts):
            claims["lines"] += 1
            if not condition.line_decides(line):
                self._missing("lines", rule.id, f'"{text}" never decides by itself', firing)
        for bit, tree in enumerate(condition.parts):
            if tree not in rule.when:
                claims["comparisons"] += 1
                if not condition.pair(bit):
                    self._missing("comparisons", rule.id, f'"{condition.text(bit)}" never decides by itself', firing)
        for (bit, word, _), decides in condition.words.items():
            claims["comparisons"] += 1
            if not decides:
                self._missing("comparisons", rule.id, f'"{word}" in "{condition.text(bit)}" never decides', firing)

    def _of_boundaries(self, met: Mapping[tuple[int, int], bool]) -> None:
        for (number, bit), reached in met.items():
            self.result.claims["boundaries"] += 1
            condition = self.conditions[number]
            if not reached and condition.pair(bit):  # one that never decides is told already
                self._missing(
                    "boundaries",
                    condition.rule.id,
                    f'never turns on the boundary of "{condition.text(bit)}"',
                    condition.firing(),
                )

    def _of_pairs(self) -> None:
        rules = self.rulebook.rules
        self.result.claims["shadows"] = sum(bool(rule.when) for rule in rules)
        for (one, other), still in self.hidden.items():
            if still and (firing := self.conditions[one].firing()) is not None:
                self._missing(
                    "shadows", rules[one].id, f"never fires without {rules[other].id}, which does the same", firing
                )

    def _of_methods_and_words(self) -> None:
        claims = self.result.claims
        for name in self.prefixes:
            claims["methods"] += 2
            if not self.wins[name]:
                self._missing("methods", name, "never wins")
            if not self.lost[name]:
                self._missing("methods", name, "is never ruled out")
        for name, seen in self.words.items():
            for code, word in enumerate(self.rulebook.names[name].values):
                claims["words"] += 1
                if code not in seen:
                    self._missing("words", name, f'is never "{word}"')

    def _as_written(self) -> None:
        """Claims about the rule base as it is written, and how many claims the others make."""
        claims, names = self.result.claims, self.rulebook.names
        read = set(READ_BY_PROGRAM)
        nodes: list[str | int] = [*names, *(rule.number for rule in self.rulebook.rules)]
        for node in nodes:
            if isinstance(node, int):
                rule = self.rulebook.rules[node]
                read.update([*rule.names, *rule.mentions])
                read.update(name for e in rule.effects if e.amount is not None for name in expression.names(e.amount))
            elif names[node].kind == "formula":
                read.update(tree[1] for _, tree in names[node].arguments if tree[0] == "name")
            elif names[node].tree is not None:
                read.update(expression.names(names[node].tree))
        for name in names.values():
            if name.kind in ("conclusion", "constant"):
                claims["read"] += 1
                if name.name not in read:
                    self._fail("read", name.name, f"nothing reads it ({name.file})")
        claims["contradictions"] = len(self.rulebook.contradictions)
        claims["bounds"] = len(self.rulebook.bounds)
        claims["conflicts"] = sum(name.kind == "conclusion" for name in names.values())
        claims["numbers"] = sum(
            f"{prefix}_{end}" in names for prefix in self.prefixes.values() for end in PROMISED
        ) + len(ALWAYS)
        claims["unknown"] = sum(f"{prefix}_{end}" in names for prefix in self.prefixes.values() for end in REACH) + sum(
            len(condition.parts) for condition in self.conditions if self._put_out(condition.rule)
        )
        claims["texts"] = sum(map(len, self.said.values()))
        claims["formulas"] = sum(name.kind == "formula" for name in names.values())

    def _pairs(self) -> dict[tuple[int, int], bool]:
        """Pairs of rules of which the first does nothing that the second does not do: (number, number) -> True."""
        rules = [
            rule for rule in self.rulebook.rules if rule.when and not any(KINDS[e.kind].counts for e in rule.effects)
        ]
        done = {
            rule.number: {(e.kind, e.target, json.dumps(e.amount), e.text) for e in rule.effects}
            for rule in self.rulebook.rules
        }
        return {
            (one.number, other.number): True
            for one in rules
            for other in self.rulebook.rules
            if one is not other and other.when and done[one.number] <= done[other.number]
        }
