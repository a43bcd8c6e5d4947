"""The rule base in memory: names, rules and the order in which they are worked out.

loading.py makes a checked Rulebook out of a folder. Three executors run it: engine/generated.py, columns.py and engine/chaining.py.
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground.errors import RuleError, did_you_mean
from advisor.ground.units import shown
from advisor.language import expression

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence
    from typing import Any, NoReturn

    from advisor.formulas.numeric import Values
    from advisor.language.expression import Tree


TRIPLE = ("_low", "_likely", "_high")
LARGEST = 1e12  # of any number in a file


class Combination(NamedTuple):
    """How a tally is made of what rules give. holds: "number" or "truth"; neutral: what it is without any; sign: the operation
    of the language, "or" for a truth; said: the same in an equation for people."""

    holds: str
    neutral: Any
    sign: str
    said: str = ""


class Kind(NamedTuple):
    """A kind of effect. speaks: it is a sentence for people; combine: what its amounts go into, "" where they go into no tally;
    counts: it bears on minutes and spreads by an amount; reason: it is told among what counted."""

    speaks: bool = False
    combine: str = ""
    counts: bool = False
    reason: bool = False


COMBINATIONS = {
    "sum": Combination("number", 0.0, "+", " + "),
    "product": Combination("number", 1.0, "*", " × "),
    "any": Combination("truth", False, "or"),
}
# What a rule may do, by the keys of its `then`, in the order in which it is done; a step says something and does nothing else.
KINDS = {
    "rules_out": Kind(combine="any"),
    "concludes": Kind(reason=True),
    "adds": Kind(combine="sum", counts=True, reason=True),
    "scales": Kind(combine="product", counts=True, reason=True),
    "favours": Kind(speaks=True, reason=True),
    "cautions": Kind(speaks=True),
    "advises": Kind(speaks=True, reason=True),
    "says": Kind(speaks=True),
}


class _Record:
    """Named fields in a fixed order, which is also how they are kept in the cache."""

    __slots__: tuple[str, ...] = ()

    def __init__(self, *fields: Any) -> None:
        for slot, field in zip(self.__slots__, fields, strict=True):
            setattr(self, slot, field)

    def fields(self) -> list[Any]:
        return [getattr(self, slot) for slot in self.__slots__]

    def __repr__(self) -> str:
        return f"{type(self).__name__}({getattr(self, self.__slots__[0])!r})"


class Name(_Record):
    """One declared name.

    kind: given, constant, formula, expression, conclusion or tally; holds: number, truth, words or list; unit: of a
    number or list; values: of words; origin: where a given comes from; function, arguments: of a formula, arguments as
    [parameter, name or literal tree]; tree: of an expression, or the default of a conclusion; combine: of a tally;
    value: of a constant; low, high: between which an estimate could well lie, None where that is not stated; default: of a
    given that is not given; told: how closely a length is told in a sentence, None where to its last digit.
    """

    __slots__ = (
        "name", "kind", "holds", "unit", "values", "meaning", "origin", "function", "arguments", "tree", "combine",
        "value", "low", "high", "default", "source", "file", "stage", "told",
    )  # fmt: skip
    name: str
    kind: str
    holds: str
    unit: str
    values: tuple[str, ...]
    meaning: str
    origin: str
    function: str
    arguments: list[Any]
    tree: Tree
    combine: str
    value: Any
    low: float | None
    high: float | None
    default: Any
    source: str
    file: str
    stage: int
    told: str | None


class Effect(_Record):
    """One thing that follows from a rule.

    kind: rules_out, concludes, adds, scales, favours, cautions, advises or says; target: the name that it acts on, if
    any; amount: tree of what is concluded, added or multiplied by; text: what is said to people; methods: names of the
    methods that it concerns, empty for all.
    """

    __slots__ = ("kind", "target", "amount", "text", "methods")
    kind: str
    target: str
    amount: Tree | None
    text: str
    methods: list[str]


# The moments of the work: to size and marked; ground; held; set, the spindle stopped; swung by hand; touched; and so on.
MOMENTS = ("ready", "grind", "hold", "set", "swing", "touch", "rough", "cut", "file", "gauge", "after")
VIEWS = ("work", "setup")


class Rule(_Record):
    """One rule, step or caution: what has to hold, and what follows.

    kind: rule, step or caution; when: trees that must all hold; texts: the same as written; names: what `when` reads;
    mentions: what the texts read beside that; methods: what a step is for, empty for all; order: of a step;
    could_be_tried: what it rules out could be carried out all the same, only with a poor chance; number: its place in
    the rule base; stage: the level at which all that it reads is known; tells: what its texts tell to do, in words that
    contradictions.toml declares; brief: what of a caution stands where there is no room for all of it, or None; at: the moments of
    the work at which it is done or told, words of MOMENTS; view: the drawing that a step is shown with, work or setup; arc:
    whether the arc itself is what a step is about; table: whether it is worked by the table of the step-off or of the edge.
    """

    __slots__ = (
        "id", "kind", "file", "number", "stage", "when", "texts", "names", "effects", "mentions", "because", "needs",
        "could_be_tried", "source", "methods", "order", "tells", "brief", "at", "view", "arc", "table",
    )  # fmt: skip
    id: str
    kind: str
    file: str
    number: int
    stage: int
    when: list[Tree]
    texts: list[str]
    names: list[str]
    effects: list[Effect]
    mentions: list[str]
    because: str
    needs: Any
    could_be_tried: bool
    source: str
    methods: list[str]
    order: int
    tells: list[str]
    brief: str | None
    at: list[str]
    view: str
    arc: Any
    table: Any

    def holds(self, values: Values) -> bool:
        """Whether every line of `when` holds."""
        return all(expression.evaluate(tree, values) for tree in self.when)

    def comparisons(self, values: Values) -> list[expression.Comparison]:
        """Every comparison of `when` with the values compared (see expression.describe)."""
        return [found for tree in self.when for found in expression.describe(tree, values)]


class Tell(_Record):
    """Something that an answer may tell to do.

    when: trees that must all hold where the numbers to set tell it by themselves, None where only texts do; texts: the
    same as written; methods: those whose numbers do, empty for all.
    """

    __slots__ = ("name", "meaning", "when", "texts", "methods")
    name: str
    meaning: str
    when: list[Tree] | None
    texts: list[str]
    methods: list[str]


class Contradiction(_Record):
    """Two things that no answer may tell together, by their names, and why."""

    __slots__ = ("one", "other", "because")
    one: str
    other: str
    because: str


class Bound(_Record):
    """Something that no answer passes, whatever the shop: a limit that it states of its machine.

    name: in plain words; never: tree that does not hold where a method that it is for stands; text: the same as
    written; methods: those that it is for, empty for all; because: why.
    """

    __slots__ = ("name", "never", "text", "methods", "because")
    name: str
    never: Tree
    text: str
    methods: list[str]
    because: str


class Finding:
    """One effect of one rule that fired. Facts and amount are looked up when asked for: values stay in a run."""

    __slots__ = ("rule", "effect", "values")

    def __init__(self, rule: Rule, effect: Effect, values: Values) -> None:
        self.rule = rule
        self.effect = effect
        self.values = values

    rule_id = property(lambda self: self.rule.id)
    kind = property(lambda self: self.effect.kind)
    target = property(lambda self: self.effect.target)
    methods = property(lambda self: self.effect.methods)
    text = property(lambda self: self.effect.text or self.rule.because)

    @property
    def amount(self) -> Any:
        """What is concluded, added or multiplied by; None for a text."""
        return None if self.effect.amount is None else expression.evaluate(self.effect.amount, self.values)

    @property
    def facts(self) -> dict[str, Any]:
        """Names that the rule reads or its texts mention, with the values that they had."""
        return {name: self.values[name] for name in (*self.rule.names, *self.rule.mentions) if name in self.values}

    def __repr__(self) -> str:
        return f"Finding({self.rule.id!r}, {self.kind!r}, {self.target!r}, {self.amount!r})"


class Conflict(tuple):
    """Rules that concluded different things: (name, id and value of the rule that stands, those of the other)."""

    __slots__: tuple[str, ...] = ()
    name = property(lambda self: self[0])
    stands = property(lambda self: (self[1], self[2]))
    other = property(lambda self: (self[3], self[4]))


class Outcome:
    """What one run gave.

    values: name -> value of everything worked out; fired: rules that fired, in the order of the rule base; conflicts:
    list of Conflict; errors: list of (name or rule id, message) for formulas that failed, whose value is then unknown;
    trace: what the chain did, in order (see engine/chaining.py), empty for the others.
    """

    def __init__(
        self,
        values: dict[str, Any],
        fired: Sequence[Rule] = (),
        conflicts: Sequence[Conflict] = (),
        errors: Sequence[tuple[str, str]] = (),
        trace: Sequence[Any] = (),
    ) -> None:
        self.values = values
        self.fired = list(fired)
        self.conflicts = list(conflicts)
        self.errors = list(errors)
        self.trace = list(trace)

    @property
    def findings(self) -> list[Finding]:
        """Every effect of every rule that fired, in the order of the rule base."""
        return [Finding(rule, effect, self.values) for rule in self.fired for effect in rule.effects]

    def conclusions_in_dispute(self) -> list[Conflict]:
        """Conflicts among the rules that fired: the first in the order of the rule base stands."""
        stands: dict[str, Finding] = {}
        disputes = []
        for finding in self.findings:
            if finding.kind != "concludes":
                continue
            first = stands.setdefault(finding.target, finding)
            if not _alike(first.amount, finding.amount):
                disputes.append(
                    Conflict((finding.target, first.rule_id, first.amount, finding.rule_id, finding.amount))
                )
        return disputes


def _alike(a: object, b: object) -> bool:
    return a == b or (a != a and b != b)


def unknown(holds: str) -> Any:
    """What stands for a value that is not given: not a number, no word, untrue, an empty list."""
    return {"number": math.nan, "truth": False, "words": "", "list": ()}[holds]


class Rulebook:
    """A checked rule base.

    names: name -> Name; rules: rules, steps and cautions in the order of the files; order: names and numbers of rules,
    each after everything that it reads; methods: list of tables of methods.toml; base: name -> value of every constant
    and of every given that is not given; tells: name -> Tell; contradictions: list of Contradiction; bounds: list of
    Bound.
    """

    def __init__(
        self,
        names: dict[str, Name],
        rules: Sequence[Rule],
        order: Sequence[str | int],
        methods: Sequence[dict[str, Any]],
        package: str,
        label: str,
        examples: dict[str, list[dict[str, Any]]] | str,
        tells: Iterable[Tell] = (),
        contradictions: Sequence[Contradiction] = (),
        bounds: Iterable[Bound] = (),
    ) -> None:
        self.names = names
        self.rules = rules
        self.order = order
        self.methods = methods
        self.package = package
        self.label = label
        self.tells = {tell.name: tell for tell in tells}
        self.contradictions = list(contradictions)
        self.bounds = list(bounds)
        self._examples = examples
        self._affecting: dict[str, list[tuple[Rule, Effect]]] | None = None
        self.by_id = {rule.id: rule for rule in rules}
        self.givens = {name for name, n in names.items() if n.kind == "given"}
        self.base: dict[str, Any] = {}
        for name, n in names.items():
            if n.kind == "constant":
                self.base[name] = n.value
            elif n.kind == "given":
                self.base[name] = unknown(n.holds) if n.default is None else n.default
        self.programs: dict[Any, Any] = {}
        self.functions: dict[str, Callable[..., Any]] = {}

    def rule(self, rule_id: str) -> Rule:
        """The rule with this id; RuleError with the nearest one where there is none."""
        if rule_id not in self.by_id:
            raise RuleError(
                "rule", rule_id, "is not in the rule base", did_you_mean(rule_id, self.by_id) + "Give the id of a rule."
            )
        return self.by_id[rule_id]

    def examples(self, rule_id: str) -> list[dict[str, Any]]:
        """Examples of a rule: list of {"given": name -> value, "fires": bool}, values in the units of the names."""
        if isinstance(self._examples, str):
            self._examples = json.loads(self._examples)
        found: dict[str, list[dict[str, Any]]] = self._examples  # type: ignore[assignment]
        return found.get(rule_id, [])

    def example_fires(self, rule_id: str, example: Mapping[str, Any]) -> bool:
        """Whether a rule fires on nothing but what an example gives, limits being what the files say."""
        return self.rule(rule_id).holds(self.example_values(self.rule(rule_id), example))

    def example_values(self, rule: Rule, example: Mapping[str, Any]) -> dict[str, Any]:
        """Values of the names that a rule reads, as an example gives them."""
        values = {name: self.base.get(name, unknown(self.names[name].holds)) for name in rule.names}
        return values | example["given"]

    def affecting(self, name: str) -> list[tuple[Rule, Effect]]:
        """Rules with an effect on a name, in the order of the rule base, each with that effect."""
        if self._affecting is None:
            self._affecting = {}
            for rule in self.rules:
                for effect in rule.effects:
                    if effect.target:
                        self._affecting.setdefault(effect.target, []).append((rule, effect))
        return self._affecting.get(name, [])

    def function(self, name: str) -> Callable[..., Any]:
        """The function behind a formula, imported when first needed."""
        if name not in self.functions:
            self.functions[name] = find_function(self.package, self.names[name].function)
        return self.functions[name]

    def constants(self, overrides: Mapping[str, Any], where: str = "constants") -> dict[str, Any]:
        """Values for constants, from numbers in their own units or texts with a unit.

        overrides: name -> value, or the name of a triple -> list of three; where: name for messages. RuleError for an
        unknown name or a wrong unit.
        """
        result: dict[str, Any] = {}
        for name, value in overrides.items():
            if name not in self.names and isinstance(value, (list, tuple)) and len(value) == 3:
                parts = {name + suffix: part for suffix, part in zip(TRIPLE, value)}
            else:
                parts = {name: value}
            for part, part_value in parts.items():
                declared = self.names.get(part)
                if declared is None or declared.kind != "constant":
                    known = [n for n, d in self.names.items() if d.kind == "constant"]
                    whole = [n.removesuffix("_likely") for n in known if n.endswith("_likely")]
                    fix = (
                        did_you_mean(name, known + whole)
                        + f"Limits and estimates are in {self.label}/limits.toml and practice.toml."
                    )
                    raise RuleError(where, "", f'unknown limit "{name}"', fix)
                if hasattr(part_value, "ndim"):  # a column of values, of the program's own making
                    result[part] = part_value
                    continue
                result[part] = value_in_unit(part_value, declared, f"{where}: {name}")
                if not abs(result[part]) <= LARGEST:
                    fix = "Write a finite number."
                    raise RuleError(f"{where}: {name}", shown(part_value), "is not a number that can be used", fix)
                if isinstance(result[part], (int, float)) and result[part] < 0 <= declared.value:
                    raise RuleError(f"{where}: {name}", part_value, "is below zero", "Give zero or more.")
            if len(parts) == len(TRIPLE):
                numbers = [result[part] for part in parts]
                if numbers != sorted(numbers):
                    fix = "Give low, likely, high in this order."
                    raise RuleError(f"{where}: {name}", "", "has values that do not ascend", fix)
        return result

    def revalued(self, overrides: Mapping[str, Any], where: str = "constants") -> Rulebook:
        """The same rule base with other values of constants in `base`; it shares everything else."""
        other = object.__new__(Rulebook)
        other.__dict__.update(self.__dict__)
        other.base = self.base | self.constants(overrides, where)
        return other

    def inputs(self, givens: Values, constants: Mapping[str, Any] | None = None) -> dict[str, Any]:
        """A new dict of all givens and constants for one run; RuleError for a name that is not a given."""
        values = self.base.copy()
        if constants:
            values.update(self.constants(constants))
        if not self.givens.issuperset(givens):
            name = next(name for name in givens if name not in self.givens)
            raise RuleError(
                "given",
                name,
                "is not a name that can be given",
                did_you_mean(name, self.givens) + "Give declared names only.",
            )
        values.update(givens)
        for name, value in givens.items():
            if value is None:
                raise RuleError(
                    "given",
                    name,
                    "is given nothing",
                    "Leave it out, or give not a number for a number that is not known.",
                )
        return values

    def wanted(self, want: Iterable[str]) -> frozenset[str]:
        """The names of a set as a frozenset, each known; RuleError otherwise."""
        for name in want:
            if name not in self.names:
                raise RuleError(
                    "want", name, "is not a declared name", did_you_mean(name, self.names) + "Ask for declared names."
                )
        return frozenset(want)


def find_function(package: str, path: str) -> Callable[..., Any]:
    """The function "module.function" in a package; LookupError where there is none."""
    import importlib

    module, _, function = path.rpartition(".")
    full = f"{package}.{module}" if module else package
    try:
        return getattr(importlib.import_module(full), function)
    except ModuleNotFoundError as problem:
        if not f"{full}.".startswith(f"{problem.name}."):
            raise
        raise LookupError(path) from None
    except AttributeError:
        raise LookupError(path) from None


def value_in_unit(value: Any, declared: Name, where: str) -> Any:
    """A value as written in a file or by a shop, in the unit or among the words of a Name; RuleError otherwise."""

    def wrong(problem: str, fix: str) -> NoReturn:
        raise RuleError(where, "", problem, fix)

    if declared.holds == "truth":
        return (
            value if isinstance(value, bool) else wrong(f'"{value}" is neither true nor false', "Write true or false.")
        )
    if declared.holds == "words":
        if value not in declared.values:
            listed = ", ".join(f'"{word}"' for word in declared.values)
            wrong(
                f'{declared.name} is never "{value}"', f"{did_you_mean(value, declared.values)}It is one of {listed}."
            )
        return value
    if declared.holds == "list":
        if not isinstance(value, (list, tuple)):
            wrong(f'"{value}" is not a list', f"Write a list of values in {declared.unit}.")
        return tuple(_number(part, declared.unit, wrong) for part in value)
    return _number(value, declared.unit, wrong)


def _number(value: Any, unit: str, wrong: Callable[[str, str], NoReturn]) -> float:
    if isinstance(value, bool) or value is None:
        return wrong(f'"{value}" is not a number', f"Write a number{f' in {unit}' if unit else ''}.")
    example = f"Write one such as {f'5 {unit}' if unit else '0.5'}."
    if not isinstance(value, (str, int, float)):
        return wrong(f"{shown(value)} is not a number with a unit", example)
    if not isinstance(value, str):
        return value
    found = expression.quantity(value)
    if found is None:
        return wrong(f'"{shown(value)}" is not a number with a unit', example)
    number, written = found
    if not written:
        return number
    try:
        return expression.scale(number, expression.factor(written, unit))
    except expression.ExpressionError as problem:
        return wrong(problem.problem, problem.fix)
