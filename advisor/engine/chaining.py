"""The rule base on a forward-chaining engine: one callout, with a trace of what led to what.

Facts. What rules read is declared level by level: one `Known` fact a level with all numbers, truth values and words
that the rules of this level read, and one fact a conclusion, of a class of its own, so that no rule sees a conclusion
that it does not read. Where all rules that conclude a name say the same, the first to fire declares the conclusion and
rules that read it follow at once. Where rules could disagree, and where none fires, the end of the level settles it:
the first rule in the order of the files, or else the default. Formulas and tallies are worked out between levels.

Order. The engine's own strategy loses withdrawn activations and fires equals at random; `_InOrder` is a total order:
lower levels first, then the order of the files, then the newest facts.
"""

from __future__ import annotations

import inspect
import threading
from bisect import bisect_left, insort
from typing import TYPE_CHECKING

from advisor.engine import generated
from advisor.engine.experta_door import experta
from advisor.language import expression
from advisor.rulebase.rulebook import COMBINATIONS, Outcome

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from advisor.formulas.numeric import Values
    from advisor.rulebase.rulebook import Name, Rule, Rulebook


CHAIN = "chain"


def run(rulebook: Rulebook, givens: Values) -> Outcome:
    """Work out one callout: an Outcome with its trace, a list of Fired. The engine is built once for a rule base, which
    keeps it; what a copy of that rule base values otherwise goes in as constants.

    givens: as for generated.run.
    """
    chain = rulebook.programs.get(CHAIN)
    if chain is None:
        chain = rulebook.programs[CHAIN] = Chain(rulebook)
    base = chain.rulebook.base
    return chain.run(givens, {name: value for name, value in rulebook.base.items() if base[name] is not value})


class Fired:
    """One line of the trace: a rule that fired, the facts that it matched, and what followed.

    rule: the Rule, or None where a default was taken; facts: name -> value of what its `when` reads; followed: list of
    (kind, name or None, value or text).
    """

    def __init__(
        self,
        rule: Rule | None,
        facts: dict[str, Any],
        followed: list[tuple[str, str | None, Any]] | None,
    ) -> None:
        self.rule = rule
        self.facts = facts
        self.followed = followed

    @property
    def rule_id(self) -> str | None:
        """The id of the rule, or None."""
        return self.rule.id if self.rule else None

    def __repr__(self) -> str:
        return f"Fired({self.rule_id!r}, {self.facts!r}, {self.followed!r})"


class _InOrder(experta.abstract.Strategy):  # type: ignore[name-defined]
    """Lower levels first, then the order of the files, then the newest facts; what is withdrawn leaves the agenda."""

    @staticmethod
    def key(activation: Any) -> tuple[int, int, list[int]]:
        newest = sorted((fact["__factid__"] for fact in activation.facts), reverse=True)
        return (activation.rule.salience, -activation.rule.number, newest)

    def _update_agenda(self, agenda: Any, added: Sequence[Any], removed: Sequence[Any]) -> None:
        for activation in removed:
            activation.key = self.key(activation)
            place = bisect_left(agenda.activations, activation)
            if place < len(agenda.activations) and agenda.activations[place].key == activation.key:
                del agenda.activations[place]
        for activation in added:
            activation.key = self.key(activation)
            insort(agenda.activations, activation)


class Chain:
    """Runs a rule base on the forward-chaining engine. Engines are built once for each thread and used again."""

    def __init__(self, rulebook: Rulebook) -> None:
        self.rulebook = rulebook
        self.rules = [rule for rule in rulebook.rules if rule.kind != "step"]
        self.steps = [rule for rule in rulebook.rules if rule.kind == "step"]
        self.levels = 1 + max(
            [rule.stage for rule in rulebook.rules] + [name.stage for name in rulebook.names.values()], default=0
        )
        self.concluded = {name for name, declared in rulebook.names.items() if declared.kind == "conclusion"}
        self.named: list[list[Name]] = [[] for _ in range(self.levels)]
        for node in rulebook.order:
            if isinstance(node, str) and rulebook.names[node].kind not in ("given", "constant"):
                self.named[rulebook.names[node].stage].append(rulebook.names[node])
        self.read_at: list[list[str]] = [[] for _ in range(self.levels)]
        for rule in self.rules:
            self.read_at[self.level(rule)] += [name for name in rule.names if name not in self.concluded]
        self.read_at = [list(dict.fromkeys(names)) for names in self.read_at]
        self.local = threading.local()

    def level(self, rule: Rule) -> int:
        """The level at which everything is known that a rule reads beside conclusions."""
        return max((self.rulebook.names[name].stage for name in rule.names if name not in self.concluded), default=0)

    def undisputed(self, name: str) -> bool:
        """Whether all rules that conclude a name conclude the same fixed value."""
        amounts = [effect.amount or () for _, effect in self.rulebook.affecting(name)]
        return all(tree[0] in ("word", "truth", "number") and tree[1] == amounts[0][1] for tree in amounts)

    def run(self, givens: Values, constants: Values | None = None) -> Outcome:
        """Work out one callout; arguments and Outcome as in plain.run, and with the trace: a list of Fired."""
        values = self.rulebook.inputs(givens, constants)
        network = getattr(self.local, "network", None) or _Network(self)
        self.local.network = None
        outcome = network.run(values)
        if not network.failed:
            self.local.network = network
        return outcome


class _Network:
    """One engine with the fact classes of a rule base. Thrown away after any failure: its memory may hold old facts."""

    def __init__(self, chain: Chain) -> None:
        self.chain = chain
        self.rulebook = chain.rulebook
        self.failed = False
        self.known = [type(f"Known{level}", (experta.Fact,), {}) for level in range(chain.levels)]
        self.conclusions = {name: type(f"Concluded_{name}", (experta.Fact,), {}) for name in chain.concluded}
        self.undisputed = {name for name in chain.concluded if chain.undisputed(name)}
        rules = {f"rule_{rule.number:05}": self.engine_rule(rule) for rule in chain.rules}
        self.engine = type("Engine", (_Engine,), {"__strategy__": _InOrder} | rules)()

    def engine_rule(self, rule: Rule) -> Any:
        """The engine's form of a rule: its facts as patterns, one guarded test, and what follows."""
        concluded = [name for name in rule.names if name in self.chain.concluded]
        patterns = []
        if len(concluded) < len(rule.names) or not rule.names:
            level = self.chain.level(rule)
            patterns.append(f"known{level}" << self.known[level]())
        patterns += [f"concluded_{name}" << self.conclusions[name]() for name in concluded]

        def test(**facts: Any) -> bool:
            try:
                return rule.holds(_read(facts))  # type: ignore[arg-type]  # read as a mapping is
            except Exception as problem:
                self.fail(rule.id, problem)
                return False

        parameters = [inspect.Parameter(p.__bind__, inspect.Parameter.KEYWORD_ONLY) for p in patterns]
        test.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]

        def follow(engine: _Engine, **facts: Any) -> None:
            self.follow(rule, _read(facts))

        follow.number = rule.number  # type: ignore[attr-defined]
        return experta.Rule(*patterns, experta.TEST(test), salience=-rule.stage)(follow)

    def fail(self, where: str, problem: Exception) -> None:
        self.failed = True
        self.errors.append((where, f"{type(problem).__name__}: {problem}"))

    def follow(self, rule: Rule, facts: _Facts) -> None:
        """What a rule does when it fires: it is noted, and what nothing can dispute is declared at once."""
        self.fired.add(rule.number)
        self.trace.append(Fired(rule, {name: facts[name] for name in rule.names}, None))
        for effect in rule.effects:
            if effect.kind == "concludes" and effect.target in self.undisputed:
                self.conclude(effect.target, (effect.amount or ())[1])

    def conclude(self, name: str, value: Any) -> None:
        if name not in self.values:
            self.values[name] = value
            self.engine.declare(self.conclusions[name](value=value))

    def run(self, values: dict[str, Any]) -> Outcome:
        self.values = values
        self.fired: set[int] = set()
        self.trace: list[Fired] = []
        self.errors: list[tuple[str, str]] = []
        try:
            self.engine.reset()
            for level in range(self.chain.levels):
                for name in self.chain.named[level]:
                    self.work_out(name)
                self.engine.declare(self.known[level](**{name: values[name] for name in self.chain.read_at[level]}))
                self.engine.run()
        except BaseException:
            self.failed = True
            raise
        fired = [
            rule
            for rule in self.rulebook.rules
            if rule.number in self.fired or (rule.kind == "step" and rule.holds(values))
        ]
        outcome = Outcome(values, fired, errors=self.errors, trace=self.trace)
        outcome.conflicts = outcome.conclusions_in_dispute()
        for line in self.trace:
            if line.followed is None:
                line.followed = [
                    (e.kind, e.target, e.text if e.amount is None else expression.evaluate(e.amount, values))
                    for e in (line.rule.effects if line.rule else ())
                ]
        return outcome

    def work_out(self, name: Name) -> None:
        """The value of a name whose level has come."""
        if name.kind == "formula":
            arguments = {parameter: expression.evaluate(tree, self.values) for parameter, tree in name.arguments}
            self.values[name.name] = generated.guarded(
                name, self.rulebook.function(name.name), self.errors, **arguments
            )
        elif name.kind == "expression":
            self.values[name.name] = expression.evaluate(name.tree, self.values)
        elif name.kind == "tally":
            self.values[name.name] = self.tally(name)
        elif name.name not in self.values:
            first = next(
                (effect for rule, effect in self.rulebook.affecting(name.name) if rule.number in self.fired), None
            )
            value = expression.evaluate((first.amount if first else None) or name.tree, self.values)
            if first is None:
                self.trace.append(Fired(None, {}, [("default", name.name, value)]))
            self.conclude(name.name, value)

    def tally(self, name: Name) -> Any:
        effects = generated.in_tally_order(self.rulebook.affecting(name.name))
        amounts = [
            expression.evaluate(effect.amount or (), self.values)
            for rule, effect in effects
            if rule.number in self.fired
        ]
        combination = COMBINATIONS[name.combine]
        if combination.holds == "truth":
            return bool(amounts)
        total = combination.neutral
        for amount in amounts:
            total = expression.evaluate((combination.sign, ("number", total), ("number", amount)), {})
        return total


def _read(facts: Mapping[str, Any]) -> _Facts:
    """Names and values in the facts that a rule matched."""
    values = {}
    for bound, fact in facts.items():
        if bound.startswith("concluded_"):
            values[bound.removeprefix("concluded_")] = fact["value"]
    known = next((fact for bound, fact in facts.items() if bound.startswith("known")), None)
    return _Facts(known, values)


class _Facts:
    """Reads a name from the conclusions matched, or else from the fact that holds all else at its level."""

    __slots__ = ("known", "values")

    def __init__(self, known: Any, values: dict[str, Any]) -> None:
        self.known = known
        self.values = values

    def __getitem__(self, name: str) -> Any:
        return self.values[name] if name in self.values else self.known[name]


class _Engine(experta.KnowledgeEngine):  # type: ignore[name-defined]
    """The engine, with its list of initial facts looked up once instead of at every reset."""

    def get_deffacts(self) -> list[Any]:
        if not hasattr(self, "_deffacts"):
            self._deffacts = super().get_deffacts()
        return self._deffacts
