"""Where a number comes from: its equation in symbols, with the numbers put in, the answer, its source, and what went
in.

A name of the rule base is given, a limit, worked out by a formula or an expression, concluded by rules, or added up
from them; `derivation` tells each of these the same way, and `followed` goes down to what was stated or assumed. Plain
data and sentences; nothing here prints.
"""

from __future__ import annotations

import math
from collections import namedtuple
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.answer.advice import rule_base
from advisor.asked.materials import find_material
from advisor.language import expression
from advisor.rulebase.rulebook import COMBINATIONS
from advisor.study import equations

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.language.expression import Tree
    from advisor.rulebase.rulebook import Name, Rule


Derivation = namedtuple("Derivation", "name label value kind lines source inputs")
Derivation.__doc__ = """How one number came about. name: of the rule base, or '' for a number that only a screen has;
label: words; value: as text; kind: given, limit, formula, expression, conclusion or tally; lines: list of text, the
equation worked out or the rules that concluded; source: text; inputs: list of Input."""

Input = namedtuple("Input", "symbol name label value origin")
Input.__doc__ = (
    """What went into a number: its symbol in the equation or '', its name, label and value, and where it is from."""
)


def label(name: str) -> str:
    """A name of the rule base as words.

    >>> label("edge_width")
    'edge width'
    """
    return _LABELS.get(name) or name.replace("_", " ")


_LABELS = {
    "straight_speed_hss": "straight-turning speed of high-speed steel",
    "power_to_hand": "power that reaches the tool",
    "hopeless_chance": "least chance worth trying",
    "contact_too_long": "most that can be nursed",
    "contact_in_bites": "most that two bites can do",
    "form_tool_hardest": "hardest for a form tool",
    "form_tool_deflection": "bending of the bar",
    "form_tool_creep_deflection": "bending with the feed crept",
    "climbing_spring": "bending at which it climbs",
    "rod_offset_allowance": "seats out of line at most",
    "rod_seat_allowance": "seats out of line for the tolerance",
    "breaks_off": "width that breaks it off",
    "may_break_off": "width that may break it off",
    "contact_share": "edge in the cut as a share of what cuts clean",
    "has_pivot": "pivot attachment in the shop",
    "has_compound": "compound slide on the lathe",
    "has_rod_gear": "rod gear on the lathe",
    "has_files": "files in the shop",
}


def value(name: str, advice: Advice) -> str:
    """The value of a name as text, in the drawing's units."""
    worth = advice.values[name]
    if name == "ready_tools":
        sizes = (wording.length(radius, advice.callout.units) for radius, *_ in worth)
        return (
            ", ".join(f"R {size} {'convex' if tool[1] else 'concave'}" for size, tool in zip(sizes, worth, strict=True))
            or "none"
        )
    if advice.rules.names[name].holds == "list" and not worth:
        return "none"
    return wording.quantity(
        name, advice.rules.names[name], advice.values[name], units=advice.callout.units, currency=advice.shop.currency
    )


# ---- one number


def derivation(name: str, advice: Advice) -> Derivation:
    """How the value of a name came about -> Derivation."""
    declared = advice.rules.names[same_as(name, advice)]
    name, asked = declared.name, name
    lines, source, inputs = {
        "given": _given,
        "constant": _limit,
        "formula": _formula,
        "expression": _expression,
        "conclusion": _conclusion,
        "tally": _tally,
    }[declared.kind](name, declared, advice)
    kind = "limit" if declared.kind == "constant" else declared.kind
    return Derivation(asked, label(asked), value(asked, advice), kind, lines, source, inputs)


def same_as(name: str, advice: Advice) -> str:
    """The name that a name is only another name for, or itself: an expression of one name, or a first choice that is
    known."""
    declared = advice.rules.names[name]
    tree = None
    if declared.kind == "expression" and declared.holds != "truth":
        tree = taken(declared.tree, advice.values)
    elif declared.kind == "formula" and declared.function == "numeric.otherwise":
        first, second = (tree for _, tree in declared.arguments)
        tree = first if advice.values[first[1]] == advice.values[first[1]] else second
    return same_as(tree[1], advice) if tree is not None and tree[0] == "name" else name


def _input(symbol: str, name: str, advice: Advice) -> Input:
    return Input(symbol, name, label(name), value(name, advice), origin(name, advice))


def origin(name: str, advice: Advice) -> str:
    """Where the value of a name is from, in a few words: stated, assumed, a limit, the shop, or worked out."""
    declared = advice.rules.names[name]
    if declared.kind == "constant":
        own = "this shop's own" if _own(name, advice) else declared.source
        return f"limit, {own}"
    if declared.kind == "given":
        return _given_from(name, declared, advice)
    return {"conclusion": "concluded by rules", "tally": "what rules make of it"}.get(declared.kind, "worked out")


_FIELD = {"chord": "width", "inch_drawing": "units", "carbide": "tool"}
_FROM = {
    "callout": "on the drawing",
    "work": "stated",
    "job": "stated",
    "shop": "shop file",
    "lathe": "shop file",
}


def _given_from(name: str, declared: Name, advice: Advice) -> str:
    assumed = {entry.name: entry.origin for entry in advice.callout.assumed}
    field = _FIELD.get(name, name)
    if field in assumed:
        return f"assumed: {assumed[field]}"
    if name in ("tolerance", "radius_low", "radius_high") and "general_tolerance" in assumed:
        return str(advice.callout.tolerance_from)
    if name == "chord" and advice.callout.depth is not None:
        return "on the drawing, or from the depth on it"
    if name == "chord" and (advice.callout.location, advice.callout.form) == ("end", "convex"):
        return "the diameter, which a dome covers"
    if declared.origin == "material":
        return f"materials table, {advice.callout.material}, {_material_source(name, advice)}"
    return _FROM.get(declared.origin, declared.origin)


_MATERIAL_GROUP = {
    "rough_speed": "speed",
    "finish_speed": "finish",
    "straight_speed_hss": "speed",
    "cutting_force_1": "force",
    "cutting_force_slope": "force",
    "modulus": "elasticity",
    "form_rake": "form_angles",
    "form_relief": "form_angles",
}


def _material_source(name: str, advice: Advice) -> str:
    sources = find_material(advice.callout.material)["sources"]
    group = (
        "carbide"
        if name in ("rough_speed", "finish_speed") and advice.callout.tool == "carbide"
        else _MATERIAL_GROUP.get(name)
    )
    return sources.get(group, "common practice")


def _own(name: str, advice: Advice) -> bool:
    """Whether the shop values a limit or an estimate otherwise than the rule base."""
    base = rule_base().base.get(name)
    now = advice.rules.base[name]
    return base != now and base == base


def _given(name: str, declared: Name, advice: Advice) -> tuple[list[str], str, list[Any]]:
    return [declared.meaning], _given_from(name, declared, advice), []


def _limit(name: str, declared: Name, advice: Advice) -> Any:
    own = "; this shop has its own value" if _own(name, advice) else ""
    return [declared.meaning], f"{declared.source}{own}", []


def _formula(name: str, declared: Name, advice: Advice) -> tuple[list[str], str, list[Input]]:
    function = advice.rules.function(name)
    arguments = {parameter: expression.evaluate(tree, advice.values) for parameter, tree in declared.arguments}
    about = equations.described(function)
    lines = worked(function, arguments, advice.values[name], declared, advice) or [
        f"{declared.meaning}: {value(name, advice)}"
    ]
    inputs = [
        _input(about.symbols.get(parameter, ""), tree[1], advice)
        for parameter, tree in declared.arguments
        if tree[0] == "name" and tells(tree[1], advice)
    ]
    return lines, about.source, inputs


def tells(name: str, advice: Advice) -> bool:
    """Whether an input is worth a line: the six shapes are told by the callout, and an unknown number by nothing."""
    known = advice.values[name]
    return name not in ("convex", "corner", "end", "outside") and not (isinstance(known, float) and math.isnan(known))


def worked(
    function: Callable[..., Any], arguments: Mapping[str, Any], result: float, declared: Name | Unnamed, advice: Advice
) -> list[str]:
    """The equations of a formula as lines, worked out; empty where its docstring has none that gives the result."""
    lines = []
    for line in equations.work_out(function, arguments, result):
        last = line.left == equations.described(function).equations[-1][0]
        answer = answer_text(result, declared, advice) if last else equations.figure(line.value)
        if line.relation == "≤":
            lines.append(
                f"{line.left} ≤ {line.right} = {line.numbers} = {equations.figure(line.value)}: "
                f"{line.condition}, {answer}"
            )
            continue
        condition = line.condition.removeprefix("elsewhere").strip(" :()")
        lines.append(
            chain_of(line.left, line.right, line.numbers, line.value, answer)
            + (f"   ({condition})" if condition else "")
        )
    return lines


def chain_of(left: str, right: str, numbers: str, number: float, answer: str) -> str:
    """`s = R − √(R² − w²/4) = 10 − √(100 − 36) = 2.000 mm`, nothing in it said twice."""
    parts = [left, right, numbers]
    if numbers in (right, equations.figure(number)):
        parts.pop()
    if parts[-1] in (equations.figure(number), answer):
        parts.pop()
    return " = ".join([*parts, answer])


def answer_text(number: float, declared: Name | Unnamed, advice: Advice) -> str:
    """The answer of an equation: a length in full millimetres, and in inches beside it on an inch drawing."""
    if (declared.unit or "") == "mm" and math.isfinite(number):
        inches = f" = {wording.length(number, 'inch')}" if advice.callout.units == "inch" else ""
        return f"{number:.3f} mm".replace("-", "−") + inches
    if (declared.unit or "") == "min":
        return f"{number:.2f} min"
    if declared.name.endswith(wording.CHANCES):
        return f"{number * 100:.2f} %"
    return wording.quantity(declared.name, declared, number, units="mm", currency=advice.shop.currency)


# ---- expressions, conclusions, tallies


def _expression(name: str, declared: Name, advice: Advice) -> tuple[list[str], str, list[Input]]:
    tree = taken(declared.tree, advice.values)
    names = expression.names(declared.tree)
    if declared.holds == "truth":
        inputs = [_input("", n, advice) for n in names if tells(n, advice)]
        return [sentence for sentence, _ in compared(declared.tree, advice)], "", inputs
    used = expression.names(tree)
    words = in_words(tree, label)
    numbers = in_words(
        tree, lambda n: equations.figure(float(advice.values[n])) if _is_number(advice.values[n]) else label(n)
    )
    answer = answer_text(advice.values[name], declared, advice)
    conditions = [sentence for sentence, _ in conditions_taken(declared.tree, advice)]
    because = f"   ({'; '.join(conditions)})" if conditions else ""
    return (
        [chain_of(label(name), words, numbers, advice.values[name], answer) + because],
        "first principles",
        [_input("", n, advice) for n in used if tells(n, advice)],
    )


def _is_number(thing: object) -> bool:
    return isinstance(thing, (int, float)) and not isinstance(thing, bool)


def taken(tree: Tree, values: Mapping[str, Any]) -> Tree:
    """A tree without its if and else: the branch that was taken."""
    if tree[0] == "if":
        return taken(tree[2] if expression.evaluate(tree[1], values) else tree[3], values)
    if tree[0] in ("+", "-", "*", "/", "min", "max", "negative", "abs"):
        return (tree[0], *(taken(part, values) for part in tree[1:]))
    return tree


def conditions_taken(tree: Tree, advice: Advice) -> list[Any]:
    """The comparisons by which the branches of a tree were chosen."""
    if tree[0] == "if":
        return compared(tree[1], advice)
    parts = [part for part in tree[1:] if isinstance(part, tuple)]
    return [found for part in parts for found in conditions_taken(part, advice)]


_SIGNS = {"+": "+", "-": "−", "*": "×", "/": "/"}
_BINDING = {"+": 1, "-": 1, "*": 2, "/": 2, "negative": 3, "power": 4}
_RAISED = {2: "²", 3: "³", 4: "⁴", -1: "⁻¹", -2: "⁻²", -3: "⁻³"}


def in_words(
    tree: Tree,
    name_as: Callable[..., Any],
    around: int = 0,
) -> str:
    """A checked tree of numbers as text, each name as `name_as` says it."""
    kind = tree[0]
    if kind == "name":
        return name_as(tree[1])
    if kind == "number":
        return equations.figure(tree[1])
    if kind == "word":
        return str(tree[1])
    if kind == "truth":
        return "yes" if tree[1] else "no"
    if kind == "power":
        inside = in_words(tree[1], name_as, 5)
        return f"√{inside}" if tree[2] == 0.5 else f"{inside}{_RAISED[tree[2]]}"
    if kind == "abs":
        return f"|{in_words(tree[1], name_as)}|"
    if kind in ("min", "max"):
        return f"{kind}({', '.join(in_words(part, name_as) for part in _gathered(tree, kind))})"
    binding = _BINDING[kind]
    if kind == "negative":
        text = f"−{in_words(tree[1], name_as, binding)}"
    else:
        right = binding + 1 if kind in ("-", "/") else binding
        text = f"{in_words(tree[1], name_as, binding)} {_SIGNS[kind]} {in_words(tree[2], name_as, right)}"
    return f"({text})" if binding < around else text


def _gathered(tree: Tree, kind: str) -> list[Tree]:
    """The parts of which the least or most is taken, in the order written."""
    return [*_gathered(tree[1], kind), tree[2]] if tree[0] == kind else [tree]


_OPERATORS = {">": ">", ">=": "≥", "<": "<", "<=": "≤", "==": "=", "!=": "≠"}
_CONTRARY = {">": "≤", ">=": "<", "<": "≥", "<=": ">", "==": "≠", "!=": "="}


def compared(
    tree: Tree,
    advice: Advice,
    wanted: bool = True,
) -> list[tuple[str, bool]]:
    """Every comparison in a condition as it was made: list of (text, whether it held).

    `edge width 9.4 mm > widest blank 6 mm`; where it did not hold, the contrary that does: `edge width 7 mm ≤ widest
    blank 20 mm`. Words are told by what they are: `stiffness: stiff`.
    """
    kind = tree[0]
    if kind in ("and", "or"):
        return [found for part in tree[1] for found in compared(part, advice, wanted)]
    if kind == "not":
        return compared(tree[1], advice, not wanted)
    held = bool(expression.evaluate(tree, advice.values))
    if kind == "compare" and tree[5] not in ("words", "truth"):
        missing = [n for n in expression.names(tree) if _is_number(advice.values[n]) and math.isnan(advice.values[n])]
        if missing:
            return [(f"{label(missing[0])}: none", held == wanted)]
        sign = (_OPERATORS if held else _CONTRARY)[tree[2]]
        left, right = _side(tree[3], tree[5], advice), _side(tree[4], tree[5], advice)
        return [(f"{left} {sign} {right}", held == wanted)]
    names = expression.names(tree)
    texts = [f"{label(name)}: {value(name, advice)}" for name in names]
    return [("; ".join(texts), held == wanted)] if texts else []


def _side(tree: Tree, unit: str, advice: Advice) -> str:
    """One side of a comparison: a name with its value, a bare number, or a small sum with what it comes to."""
    if tree[0] == "name":
        return f"{label(tree[1])} {value(tree[1], advice)}"
    number = expression.evaluate(tree, advice.values)
    shown = amount(number, unit, advice)
    if tree[0] == "number":
        return shown
    return f"{in_words(tree, label)}, {shown}"


class Unnamed:
    """Stands for the declaration of a number that has no name in the rule base."""

    name, holds, told = "", "number", None

    def __init__(self, unit: str) -> None:
        self.unit = unit


def amount(number: float, unit: str, advice: Advice) -> str:
    """A bare number with its unit as text, in the drawing's units."""
    return wording.quantity("", Unnamed(unit), number, units=advice.callout.units, currency=advice.shop.currency)


def led_to(name: str, advice: Advice) -> list[tuple[Rule, float | str]]:
    """What the engine's trace has on a name: list of (rule that fired, what it gave), in the order of the rule base."""
    found = [
        (line.rule, worth)
        for line in advice.trace
        if line.rule
        for _, target, worth in line.followed or ()
        if target == name
    ]
    return sorted(found, key=lambda pair: pair[0].number)


def _conclusion(name: str, declared: Name, advice: Advice) -> Any:
    found = led_to(name, advice)
    if not found:
        return [f"{label(name)} is {value(name, advice)}, since no rule says otherwise."], "", []
    rule = found[0][0]
    lines = [f"{label(name)} is {value(name, advice)}. {wording.say(rule.because, advice)} ({rule.id})"]
    return lines, rule.source, [_input("", n, advice) for n in rule.names if tells(n, advice)]


def _tally(name: str, declared: Name, advice: Advice) -> Any:
    found = led_to(name, advice)
    combination = COMBINATIONS[declared.combine]
    if combination.holds == "truth":
        lines = [f"{wording.say(rule.because, advice)} ({rule.id})" for rule, _ in found]
        return lines or ["No rule says so."], "", []
    if not found:
        return [f"{label(name)} = {combination.neutral:g}: no rule changes it"], "", []
    figures = [equations.figure(float(worth)) for _, worth in found]
    unit = "" if declared.unit in ("share", "count") else f" {declared.unit}"
    lines = [
        f"{label(name)} = {combination.said.join(figures)}"
        + (f" = {value(name, advice)}" if len(figures) > 1 else unit)
    ]
    for figure, (rule, _) in zip(figures, found, strict=True):
        lines.append(f"{figure}: {wording.say(rule.because, advice)} ({rule.id}; {rule.source})")
    return lines, "", []


# ---- a number down to what was stated


def followed(name: str, advice: Advice, *, depth: int = 2) -> list[tuple[int, Derivation]]:
    """A number and what went into it, so many levels down: list of (level, Derivation), each name once."""
    told, lines = set(), []

    def tell(name: str, level: int) -> None:
        told.add(name)
        found = derivation(name, advice)
        lines.append((level, found))
        if level < depth:
            for entry in found.inputs:
                if entry.name not in told and entry.origin in (
                    "worked out",
                    "concluded by rules",
                    "what rules make of it",
                ):
                    tell(entry.name, level + 1)

    tell(name, 0)
    return lines


# ---- the chain of conclusions

Reason = namedtuple("Reason", "number rule effects compared because")
Reason.__doc__ = """One rule that fired. number: by which it is referred to; effects: list of (effect, amount as text)
on what is being explained; compared: list of text, each condition as it was made; because: list of Reason, and of
numbers of reasons that have been told before."""


class Reasons:
    """Tells reasons, each once. Numbers run through everything that one Reasons tells."""

    def __init__(self, advice: Advice) -> None:
        self.advice = advice
        self.numbers: dict[Any, int] = {}

    def reason(self, rule: Rule, names: Sequence[str] = ()) -> int | Reason:
        """A rule as a Reason with its effects on these names, or the number of one that has been told."""
        if rule.number in self.numbers:
            return self.numbers[rule.number]
        self.numbers[rule.number] = number = len(self.numbers) + 1
        compared_ = [text for tree in rule.when for text, held in compared(tree, self.advice) if held]
        because = [
            self.reason(other, (name,)) for other, name in self.behind(rule.names) if other.number != rule.number
        ]
        return Reason(number, rule, self.effects(rule, names), list(dict.fromkeys(compared_)), because)

    def effects(self, rule: Rule, names: Sequence[str]) -> list[str]:
        """What a rule does to these names: list of text."""
        line = next(line for line in self.advice.trace if line.rule is rule)
        followed = line.followed or ()
        texts = [effect_text(target, worth, self.advice) for _, target, worth in followed if target and target in names]
        return list(dict.fromkeys(text for text in texts if text))

    def behind(self, names: Sequence[str]) -> list[tuple[Rule, str]]:
        """Rules that fired and concluded or changed what these names depend on, nearest first: list of (rule, name)."""
        found: dict[Any, tuple[Rule, str]] = {}
        seen: set[str] = set()
        waiting = list(names)
        while waiting:
            name = waiting.pop(0)
            if name in seen:
                continue
            seen.add(name)
            declared = self.advice.rules.names[name]
            if declared.kind in ("conclusion", "tally"):
                for rule, _ in led_to(name, self.advice):
                    found.setdefault(rule.number, (rule, name))
            elif declared.kind == "formula":
                waiting += [tree[1] for _, tree in declared.arguments if tree[0] == "name"]
            elif declared.kind == "expression":
                waiting += expression.names(declared.tree)
        return list(found.values())


def effect_text(name: str, worth: Any, advice: Advice) -> str:
    """What a rule did to a name, in a few words: `tooling × 1.25`, `stiffness: stiff`."""
    declared = advice.rules.names[name]
    words = label(name)
    for method in advice.rules.methods:
        words = words.removeprefix(label(method["prefix"]) + " ")
    if declared.kind == "conclusion":
        return f"{words}: {wording.quantity(name, declared, worth, units=advice.callout.units)}"
    if declared.combine == "product":
        return f"{words.removesuffix(' factor')} × {equations.figure(float(worth))}"
    if declared.combine == "sum":
        words, _, which = words.rpartition(" ")
        return f"{words.removesuffix(' extra')} + {wording.minutes(worth)}" if which == "likely" else ""
    return ""


ELEMENTS = (
    ("tooling", ("tooling_extra_likely", "tooling_factor")),
    ("setup", ("setup_extra_likely", "setup_factor")),
    ("each piece", ("piece_extra_likely", "piece_factor")),
    ("wear", ("wear_factor",)),
    ("spread of the setting", ("set_spread_factor",)),
    ("spread from piece to piece", ("piece_spread_factor",)),
)


def why_this(method: MethodAdvice, advice: Advice, reasons: Reasons) -> list[tuple[str, list[int | Reason]]]:
    """What makes a method what it costs: list of (element, list of Reason or numbers), elements without a reason left
    out."""
    told = []
    for element, suffixes in ELEMENTS:
        names = [f"{method.prefix}_{suffix}" for suffix in suffixes]
        rules = {}
        for name in names:
            if name in advice.rules.names:
                for rule, _ in led_to(name, advice):
                    rules[rule.number] = rule
        if rules:
            told.append((element, [reasons.reason(rule, names) for _, rule in sorted(rules.items())]))
    return told


def not_ruled_out(method: MethodAdvice, advice: Advice) -> list[tuple[Rule, list[str]]]:
    """The rules that could rule a method out and do not: list of (rule, list of text: what did not hold)."""
    fired = {line.rule.number for line in advice.trace if line.rule}
    found = []
    for rule, _ in advice.rules.affecting(f"{method.prefix}_ruled_out"):
        if rule.number not in fired:
            failed = [text for tree in rule.when for text, held in compared(tree, advice) if not held]
            found.append((rule, list(dict.fromkeys(failed))))
    return found
