"""What one answer tells to do, and which two things of it contradict each other.

Steps, cautions and advice say in `tells` what they tell to do; some of it the numbers to set tell by themselves. Which
of these exclude each other stands in rules/contradictions.toml. Nothing here reads a sentence.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.formulas import numeric
from advisor.language import expression
from advisor.rulebase.rulebook import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from advisor.answer.advice import Advice
    from advisor.formulas.numeric import Truth, Values
    from advisor.language.expression import Tree
    from advisor.rulebase.rulebook import Contradiction, Rule, Rulebook

SPEAKS = tuple(name for name, kind in KINDS.items() if kind.speaks)
THE_NUMBERS = "the numbers to set"


@dataclass(frozen=True)
class Clash:
    """Two things that contradict each other in the answer for a method.

    pair: the rulebook's Contradiction; one, other: who tells each: ids of rules, or "the numbers to set"; where: truth
    value, or an array of them for columns.
    """

    method: str
    pair: Contradiction
    one: str
    other: str
    where: Truth


def clashes(
    rulebook: Rulebook, values: Values, fired: Mapping[int, Truth], methods: Iterable[str] | None = None
) -> list[Clash]:
    """Contradictions in the answers for some methods: list of Clash, one for each two that tell, where both do.

    rulebook: with its tells and contradictions; values: name -> value or array; fired: number of a rule -> truth value
    or array; methods: names, all if None.
    """
    found = []
    paired = {name for pair in rulebook.contradictions for name in (pair.one, pair.other)}
    for method in [method["name"] for method in rulebook.methods] if methods is None else methods:
        tellers = {name: _tellers(rulebook, name, method, values, fired) for name in paired}
        for pair in rulebook.contradictions:
            for one, here in tellers[pair.one]:
                for other, there in tellers[pair.other]:
                    both = numeric.both(here, there)
                    if _anywhere(both):
                        found.append(Clash(method, pair, one, other, both))
    return found


def clashes_of(advice: Advice, methods: Iterable[str] | None = None) -> list[Clash]:
    """Contradictions in one answer: list of Clash. methods: names, those that stand if None."""
    numbers = {rule.number for rule in advice.outcome.fired}
    fired = {rule.number: rule.number in numbers for rule in advice.rules.rules}
    return clashes(advice.rules, advice.values, fired, advice.order if methods is None else methods)


def _tellers(
    rulebook: Rulebook, name: str, method: str, values: Values, fired: Mapping[int, Truth]
) -> list[tuple[str, Truth]]:
    """Who tells this in the answer for a method, and where: pairs of id and truth."""
    tell = rulebook.tells[name]
    if tell.when is not None:
        if tell.methods and method not in tell.methods:
            return []
        return [(THE_NUMBERS, _holds(tell.when, values))]
    return [(rule.id, fired[rule.number]) for rule in rulebook.rules if name in rule.tells and _speaks_of(rule, method)]


def _speaks_of(rule: Rule, method: str) -> bool:
    """Whether a rule says something in the answer for this method."""
    return any(effect.kind in SPEAKS and (not effect.methods or method in effect.methods) for effect in rule.effects)


def _holds(when: Sequence[Tree], values: Values) -> Truth:
    """Whether the lines of a tell hold, for one callout or for columns."""
    arrays = any(hasattr(values[name], "dtype") for tree in when for name in expression.names(tree))
    if not arrays:
        return all(expression.evaluate(tree, values) for tree in when)
    return expression.held(when, values)


def _anywhere(truth: Truth) -> bool:
    return bool(truth.any()) if hasattr(truth, "any") else bool(truth)
