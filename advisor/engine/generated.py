"""The rule base as one generated Python function: one callout after another, fast.

The rule base is first put into a list of assignments (`assignments`), the same for numbers and for arrays. `Program`
writes them as the source of one function and compiles it; columns.py uses it too. Source is made only of checked trees
and declared names.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from advisor.language import expression
from advisor.rulebase.rulebook import COMBINATIONS, Outcome, unknown

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence, Set
    from typing import Any

    from advisor.formulas.numeric import Values
    from advisor.language.expression import Tree

    Step = tuple[Any, ...]  # what has to be worked out: see assignments

    from advisor.rulebase.rulebook import Effect, Name, Rule, Rulebook


_LOCAL = re.compile(r"\b(?:n_[a-z0-9_]+|r[0-9]+)\b")
_MADE = re.compile(r"(?:^|= )\s*(n_[a-z0-9_]+|r[0-9]+) = ")


def run(
    rulebook: Rulebook,
    givens: Values,
    constants: Values | None = None,
    want: Set[str] | None = None,
    values_only: bool = False,
) -> Outcome:
    """Work out one callout.

    givens: name -> number, truth value, word or tuple; what is left out is unknown. constants: other values of limits
    and estimates for this run, as Rulebook.constants takes them. want: names to work out, with all that they need;
    everything if None. values_only: leave findings and conflicts aside, for searches that try many values. Returns an
    Outcome.
    """
    program = prepared(rulebook, want, findings=not values_only)
    values = rulebook.inputs(givens, constants)
    try:
        fired = program.function(values)
        errors: list[tuple[str, str]] = []
    except Exception:
        values = rulebook.inputs(givens, constants)
        fired, errors = program.guarded(values)
    if values_only:
        return Outcome(values, errors=errors)
    outcome = Outcome(values, [rulebook.rules[number] for number in fired], errors=errors)
    outcome.conflicts = outcome.conclusions_in_dispute()
    return outcome


def prepared(
    rulebook: Rulebook, want: Set[str] | None = None, *, findings: bool | Iterable[int] = True, arrays: bool = False
) -> Program:
    """The compiled Program for a set of names, made once for each rule base.

    findings: True for all rules, False for none but those that the names need, or the numbers of rules to report.
    """
    findings = findings if isinstance(findings, bool) else frozenset(findings)
    key = (None if want is None else frozenset(want), findings, arrays)
    if key not in rulebook.programs:
        wanted = None if want is None else rulebook.wanted(want)
        reported = None if isinstance(findings, bool) else findings
        rulebook.programs[key] = Program(rulebook, assignments(rulebook, wanted, findings), wanted, arrays, reported)
    return rulebook.programs[key]


def needed(rulebook: Rulebook, want: Iterable[int | str]) -> set[int | str]:
    """Names and numbers of rules that a set of names needs, itself included."""
    found: set[int | str] = set()
    waiting = list(want)
    while waiting:
        node = waiting.pop()
        if node in found:
            continue
        found.add(node)
        waiting.extend(_reads(rulebook, node))
    return found


def _reads(rulebook: Rulebook, node: int | str) -> list[int | str]:
    if isinstance(node, int):
        rule = rulebook.rules[node]
        amounts = [effect.amount for effect in rule.effects if effect.amount is not None]
        return [*rule.names, *(name for tree in amounts for name in expression.names(tree))]
    declared = rulebook.names[node]
    if declared.kind == "formula":
        return [tree[1] for _, tree in declared.arguments if tree[0] == "name"]
    rules = [rule.number for rule, _ in rulebook.affecting(node)]
    return rules + (expression.names(declared.tree) if declared.tree is not None else [])


def assignments(rulebook: Rulebook, want: Set[str] | None = None, findings: bool | Set[int] = True) -> list[Step]:
    """What has to be worked out, in order.

    Each is ("given", name), ("formula", name), ("tree", name, tree) or ("rule", number, tree).
    want: names to work out, or None for all; findings: work out also the rules that nothing wanted depends on: with
    want None all of them, or those with the numbers given.
    """
    nodes = None if want is None and findings is True else needed(rulebook, rulebook.names if want is None else want)
    if nodes is not None and not isinstance(findings, bool):
        nodes |= needed(rulebook, findings)
    listed: list[Step] = []
    for node in rulebook.order:
        if nodes is not None and node not in nodes:
            continue
        if isinstance(node, int):
            listed.append(("rule", node, _all(rulebook.rules[node].when)))
            continue
        declared = rulebook.names[node]
        if declared.kind in ("given", "constant"):
            listed.append(("given", node))
        elif declared.kind == "formula":
            listed.append(("formula", node))
        else:
            listed.append(("tree", node, _tree(rulebook, declared)))
    return listed


def _all(when: Sequence[Tree]) -> Tree:
    if not when:
        return ("truth", True)
    return when[0] if len(when) == 1 else ("and", when)


def _tree(rulebook: Rulebook, declared: Name) -> Tree:
    """The tree of a name: of a conclusion, the first rule that holds decides; of a tally, what rules give together."""
    if declared.kind == "expression":
        return declared.tree
    effects = rulebook.affecting(declared.name)
    if declared.kind == "conclusion":
        tree = declared.tree
        for rule, effect in reversed(effects):
            tree = ("if", ("flag", rule.number), effect.amount, tree)
        return tree
    effects = in_tally_order(effects)
    combination = COMBINATIONS[declared.combine]
    if combination.holds == "truth":
        return ("or", [("flag", rule.number) for rule, _ in effects]) if effects else ("truth", False)
    neutral = ("number", combination.neutral)
    tree = neutral
    for rule, effect in effects:
        tree = (combination.sign, tree, ("if", ("flag", rule.number), effect.amount, neutral))
    return tree


def in_tally_order(effects: Sequence[tuple[Rule, Effect]]) -> list[tuple[Rule, Effect]]:
    """Effects in the order in which they are added up: by rule id, so that no sum depends on the order of files."""
    return sorted(effects, key=lambda pair: (pair[0].id, pair[0].effects.index(pair[1])))


class Program:
    """A list of assignments, compiled.

    function: takes the dict of inputs, adds what is wanted to it and returns the numbers of the rules that fired (for
    arrays: number -> truth value or array). Made when first used. reported: numbers of the rules to return, None for
    all.
    """

    def __init__(
        self,
        rulebook: Rulebook,
        listed: Sequence[Step],
        want: Set[str] | None,
        arrays: bool,
        reported: Set[int] | None = None,
    ) -> None:
        self.rulebook = rulebook
        self.listed = listed
        self.want = want
        self.arrays = arrays
        self.reported = reported
        self._function: Callable[..., Any] | None = None
        self._guarded: Callable[..., Any] | None = None

    @property
    def function(self) -> Callable[..., Any]:
        """The compiled function."""
        if self._function is None:
            self._function = self.compiled(guard=None)
        return self._function

    def guarded(self, values: dict[str, Any]) -> tuple[Any, list[tuple[str, str]]]:
        """As `function`, each formula guarded: (what fired, list of (name, message)). What fails is unknown."""
        if self._guarded is None:
            self._guarded = self.compiled(guard="guard")
        errors: list[tuple[str, str]] = []
        values[_ERRORS] = errors
        fired = self._guarded(values)
        del values[_ERRORS]
        return fired, errors

    def compiled(self, guard: str | None) -> Callable[..., Any]:
        """The function, its formulas guarded by the helper of that name if one is given."""
        names = expression.helpers() | {"guard": guarded, "rulebook": self.rulebook, "inf": math.inf, "nan": math.nan}
        if self.arrays:
            import numpy

            names |= {f"w{code}": numpy.int8(code) for code in range(-1, 127)}
        exec(compile(self.source(names, guard), "<rules>", "exec"), names)
        return names["run"]

    def source(self, names: dict[str, Any], guard: str | None) -> str:
        """Python source of the function; functions of formulas are put into `names`."""
        lines = ["def run(values):"]
        rules = []
        for step in self.listed:
            kind, node = step[:2]
            if kind == "rule":
                lines.append(f" r{node} = {self.python(step[2])}")
                rules.append(node)
                continue
            if kind == "given":
                lines.append(f" n_{node} = values[{node!r}]")
                continue
            source = self.python(step[2]) if kind == "tree" else self.call(node, names, guard)
            keep = f"values[{node!r}] = " if self.want is None or node in self.want else ""
            lines.append(f" {keep}n_{node} = {source}")
        if self.reported is not None:
            rules = [node for node in rules if node in self.reported]
        if self.arrays:
            lines.append(" return {" + ", ".join(f"{node}: r{node}" for node in sorted(rules)) + "}")
            lines = _released(lines)
        else:
            pairs = "".join(f"({node}, r{node}), " for node in sorted(rules))
            lines.append(f" return [number for number, fired in ({pairs}) if fired]")
        return "\n".join(lines)

    def python(self, tree: Tree) -> str:
        """Source of a checked tree."""
        return expression.python(tree, self.arrays)

    def call(self, name: str, names: dict[str, Any], guard: str | None) -> str:
        """Source of the call of a formula; its function is put into `names`."""
        function = f"f_{name}"
        names[function] = self.rulebook.function(name)
        arguments = [f"{parameter}={self.python(tree)}" for parameter, tree in self.rulebook.names[name].arguments]
        if guard:
            return f"guard(rulebook.names[{name!r}], {', '.join([function, f'values[{_ERRORS!r}]', *arguments])})"
        return f"{function}({', '.join(arguments)})"


def _released(lines: Sequence[str]) -> list[str]:
    """The lines with every local name given up after its last use, so that its memory serves again while it is in the
    cache.
    """
    last = {name: place for place, line in enumerate(lines) for name in _LOCAL.findall(line)}
    made = {name for line in lines for name in _MADE.findall(line)}
    ended: dict[int, list[str]] = {}
    for name, place in last.items():
        if name in made:
            ended.setdefault(place, []).append(name)
    released = []
    for place, line in enumerate(lines):
        released.append(line)
        if place in ended and place < len(lines) - 1:
            released.append(f" del {', '.join(ended[place])}")
    return released


_ERRORS = "?errors"


def guarded(
    name: Name,
    function: Callable[..., Any],
    errors: list[tuple[str, str]],
    /,
    **arguments: Any,
) -> Any:
    """The value of a formula; where it fails or gives no value, unknown, with (name, message) added to errors."""
    try:
        result = function(**arguments)
        if not isinstance(result, (float, int, tuple)) and not hasattr(result, "dtype"):
            raise TypeError(f"gave {type(result).__name__}")
    except Exception as problem:
        errors.append((name.name, f"{type(problem).__name__}: {problem}"))
        return unknown(name.holds)
    return result
