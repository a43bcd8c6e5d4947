"""The language of conditions and amounts in the rule base.

Numbers, declared names, unit names (`0.05*mm`, `1/64*inch`), words in quotes, arithmetic, comparisons, `and or not`,
`in`, `a if condition else b`, and the calls `min(a, b)`, `max(a, b)` and `abs(a)`. Nothing else parses: no other calls,
no attributes, no subscripts. Text is parsed by Python's own parser and turned at once into a tree of plain tuples:

    ("number", 2.5)  ("unit", "mm")  ("name", "radius")  ("truth", True)  ("word", "end", code)
    ("+", a, b)  ("-", a, b)  ("*", a, b)  ("/", a, b)  ("negative", a)  ("power", a, exponent)
    ("min", a, b)  ("max", a, b)  ("abs", a)
    ("compare", text, operator, a, b, unit)  ("member", text, a, words, wanted)
    ("and", parts)  ("or", parts)  ("not", a)  ("if", condition, a, b)  ("flag", number)

`check` proves words and dimensions right and writes every conversion of units into the tree; what comes out needs no
units any more. `evaluate` works a checked tree out; `python` writes it as Python source, for numbers or for arrays.
A "flag" stands for "rule number so-and-so holds" and is made by the rule base alone.
"""

from __future__ import annotations

import functools
import math
import re
from collections import namedtuple
from typing import TYPE_CHECKING, Any

from advisor.formulas import numeric
from advisor.ground.errors import did_you_mean
from advisor.ground.units import shown

if TYPE_CHECKING:
    import ast
    from collections.abc import Callable, Container, Mapping, Sequence
    from types import ModuleType
    from typing import NoReturn

    from pint import Unit, UnitRegistry
    from typing_extensions import TypeIs

    from advisor.formulas.numeric import Numeric

    Tree = tuple[Any, ...]  # a node and its parts, as above
    Type = tuple[Any, ...]  # a kind, with the unit of a number or the words of a word

# unit: how many of which other unit it is. Lengths, times, masses, angles, hardness and money are dimensions of
# their own; a revolution, a count and a share are plain numbers.
UNITS = {
    "mm": (1, "[length]"),
    "um": (0.001, "mm"),
    "cm": (10, "mm"),
    "m": (1000, "mm"),
    "inch": (25.4, "mm"),
    "ft": (304.8, "mm"),
    "min": (1, "[time]"),
    "s": (1 / 60, "min"),
    "hour": (60, "min"),
    "kg": (1, "[mass]"),
    "g": (0.001, "kg"),
    "deg": (1, "[angle]"),
    "rad": (180 / math.pi, "deg"),
    "HB": (1, "[hardness]"),
    "money": (1, "[money]"),
    "count": (1, ""),
    "share": (1, ""),
    "rev": (1, ""),
    "percent": (0.01, "count"),
    "rpm": (1, "rev/min"),
    "N": (3.6e6, "kg*mm/min**2"),
    "kN": (1000, "N"),
    "MPa": (1, "N/mm**2"),
    "GPa": (1000, "MPa"),
    "W": (60000, "N*mm/min"),
    "kW": (1000, "W"),
    "hp": (0.74569987158227, "kW"),
}
# Units in which values are kept; any other is converted where it is read.
INTERNAL = {
    "mm",
    "um",
    "m",
    "min",
    "hour",
    "kg",
    "deg",
    "HB",
    "money",
    "count",
    "share",
    "rev",
    "rpm",
    "N",
    "MPa",
    "kW",
}
_ALIASES = {
    "in": "inch",
    "h": "hour",
    "hours": "hour",
    "%": "percent",
    "micron": "um",
    "rev/min": "rpm",
    "euro": "money",
}
_DIMENSIONS = {
    "dimensionless": "a plain number",
    "[length]": "a length",
    "[length] ** 2": "an area",
    "[length] ** 3": "a volume",
    "[time]": "a time",
    "[mass]": "a mass",
    "[angle]": "an angle",
    "[hardness]": "a hardness",
    "[money]": "money",
    "[length] / [time]": "a speed",
    "1 / [time]": "a rotational speed",
}
LONGEST_TEXT = 500
LONGEST_QUANTITY = 100
DEEPEST = 20
NAME = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")
_MENTION = re.compile(r"\{([^{}]*)\}")
# Few parts and small powers: the units library works out whatever it is given, 9**9**9 too.
_UNIT = re.compile(r"(?:1/)?[A-Za-z_%]+(?:\*\*-?[1-4])?(?: ?[*/] ?[A-Za-z_%]+(?:\*\*-?[1-4])?){0,4}", re.ASCII)
_QUANTITY = re.compile(r"\s*([+-]?)(\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-z%][\w*/%]*)?\s*", re.ASCII)


class ExpressionError(ValueError):
    """A text that is no expression: `problem` begins a sentence, `fix` is one that says what would be right."""

    def __init__(self, problem: str, fix: str) -> None:
        self.problem = problem
        self.fix = fix
        super().__init__(f"{problem}. {fix}")


# ------------------------------------------------------------------------------------------------ reading

# What may be called, and the least and the most that it is given.
_CALLS = {"min": (2, 5), "max": (2, 5), "abs": (1, 1)}


def parse(text: object) -> Tree:
    """The tree of an expression, not yet checked.

    >>> parse("stickout > 3*diameter")
    ('compare', 'stickout > 3*diameter', '>', ('name', 'stickout'), ('*', ('number', 3.0), ('name', 'diameter')), None)
    """
    import ast
    import warnings

    if not isinstance(text, str) or not text.strip():
        raise ExpressionError("an expression is empty or not text", 'Write one such as "radius > 6*mm".')
    text = text.strip()
    if len(text) > LONGEST_TEXT:
        raise ExpressionError(f"an expression is {len(text)} characters long", f"Write at most {LONGEST_TEXT}.")
    if "\\" in text or "\n" in text:
        raise ExpressionError(f'cannot read "{text}"', "Write it on one line and without backslashes.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # what is only warned of, such as "1or 2", is no expression either
            body = ast.parse(text, mode="eval").body
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        raise ExpressionError(f'cannot read "{text}"', 'Write an expression such as "radius > 6*mm".') from None
    return _Reader(ast, text).read(body, 0)


class _Reader:
    """Turns Python's syntax tree into ours, and refuses whatever has no place in it."""

    def __init__(self, ast: ModuleType, text: str) -> None:
        self.ast = ast
        self.text = text

    def refuse(self, node: ast.AST, what: str, fix: str) -> NoReturn:
        piece = self.ast.get_source_segment(self.text, node) or self.text
        raise ExpressionError(f'"{piece}" {what}', fix)

    def segment(self, node: ast.AST) -> str | None:
        return self.ast.get_source_segment(self.text, node)

    def read(self, node: ast.AST, depth: int) -> Tree:
        if depth > DEEPEST:
            raise ExpressionError(
                f'"{self.text}" is nested too deeply', "Split it, or name a part of it in the vocabulary."
            )
        kind = type(node).__name__
        reader = getattr(self, f"_read_{kind.lower()}", None)
        if reader is None:
            what = {
                "Attribute": "reaches into something with a dot",
                "Subscript": "reaches into something with brackets",
            }.get(kind, "is not part of the language of rules")
            self.refuse(
                node,
                what,
                "Use names, numbers, units, arithmetic, comparisons, and, or, not, in, if, else, min, max and abs.",
            )
        return reader(node, depth + 1)

    def _read_constant(self, node: ast.Constant, depth: int) -> Tree:
        value = node.value
        if isinstance(value, bool):
            return ("truth", value)
        if isinstance(value, str):
            return ("word", value, None)
        if isinstance(value, (int, float)) and abs(value) < 1e15:
            return ("number", float(value))
        self.refuse(
            node,
            "is not a number, word or truth value that can be used",
            "Write a number such as 2.5, or a word in quotes.",
        )

    def _read_name(self, node: ast.Name, depth: int) -> Tree:
        if node.id in ("true", "false"):
            return ("truth", node.id == "true")
        if node.id in UNITS:
            return ("unit", node.id)
        if not NAME.fullmatch(node.id) or self.segment(node) != node.id:
            self.refuse(node, "is not a name", "Names are lower-case words joined by single underscores.")
        return ("name", node.id)

    def _read_unaryop(self, node: ast.UnaryOp, depth: int) -> Tree:
        sign = type(node.op).__name__
        if sign == "Not":
            return ("not", self.read(node.operand, depth))
        if sign == "USub":
            return ("negative", self.read(node.operand, depth))
        if sign == "UAdd":
            return self.read(node.operand, depth)
        self.refuse(node, "is not part of the language of rules", "Use -, + or not.")

    def _read_binop(self, node: ast.BinOp, depth: int) -> Tree:
        sign = {"Add": "+", "Sub": "-", "Mult": "*", "Div": "/", "Pow": "power"}.get(type(node.op).__name__)
        if sign is None:
            self.refuse(node, "uses an operator that rules do not have", "Use + - * / or ** with a constant.")
        left, right = self.read(node.left, depth), self.read(node.right, depth)
        if sign == "/" and right == ("number", 0.0):
            self.refuse(node, "divides by zero", "Divide by something else.")
        if sign != "power":
            return (sign, left, right)
        exponent = -right[1][1] if right[0] == "negative" and right[1][0] == "number" else right[1]
        if right[0] not in ("number", "negative") or exponent not in (-3, -2, -1, 0.5, 1, 2, 3, 4):
            self.refuse(node, "has a power that rules do not have", "Use ** with -3 to 4 or 0.5.")
        return ("power", left, exponent)

    def _read_call(self, node: ast.Call, depth: int) -> Tree:
        called = getattr(node.func, "id", None)
        if called not in _CALLS or self.segment(node.func) != called:
            self.refuse(node, "calls a function that rules do not have", "Rules have min(a, b), max(a, b) and abs(a).")
        least, most = _CALLS[called]
        if node.keywords or not least <= len(node.args) <= most:
            self.refuse(node, f"does not give {called} what it takes", "Write min(a, b), max(a, b, c) or abs(a).")
        first, *others = (self.read(argument, depth) for argument in node.args)
        return (
            functools.reduce(lambda so_far, other: (called, so_far, other), others, first)
            if others
            else (called, first)
        )

    def _read_boolop(self, node: ast.BoolOp, depth: int) -> Tree:
        return (type(node.op).__name__.lower(), tuple(self.read(part, depth) for part in node.values))

    def _read_ifexp(self, node: ast.IfExp, depth: int) -> Tree:
        return ("if", self.read(node.test, depth), self.read(node.body, depth), self.read(node.orelse, depth))

    def _read_compare(self, node: ast.Compare, depth: int) -> Tree:
        operands = [node.left, *node.comparators]
        pairs = tuple(
            self.comparison(node, operator, left, right, depth)
            for operator, left, right in zip(node.ops, operands, operands[1:])
        )
        return pairs[0] if len(pairs) == 1 else ("and", pairs)

    def comparison(self, node: ast.Compare, operator: ast.cmpop, left: ast.expr, right: ast.expr, depth: int) -> Tree:
        signs = {
            "Lt": "<",
            "LtE": "<=",
            "Gt": ">",
            "GtE": ">=",
            "Eq": "==",
            "NotEq": "!=",
            "In": "in",
            "NotIn": "not in",
        }
        sign = signs.get(type(operator).__name__)
        if sign is None:
            self.refuse(node, "compares with something that rules do not have", "Use < <= > >= == != in or not in.")
        text = f"{self.segment(left)} {sign} {self.segment(right)}"
        if sign not in ("in", "not in"):
            return ("compare", text, sign, self.read(left, depth), self.read(right, depth), None)
        words = getattr(right, "elts", None)
        if type(right).__name__ not in ("Tuple", "List") or not words:
            self.refuse(node, "looks for a word in something that is not a list", "Write in ('one', 'other').")
        words = tuple(self.read(word, depth) for word in words)
        if any(word[0] != "word" for word in words):
            self.refuse(node, "looks in a list of other things than words", "Write in ('one', 'other').")
        return ("member", text, self.read(left, depth), words, sign == "in")


def quantity(text: str) -> tuple[float, str] | None:
    """Number and unit of a text such as "6 mm", "1/4 inch" or "12"; None where the text is not one.

    >>> quantity("6 mm"), quantity("1/4 in"), quantity("0.6"), quantity("radius/2")
    ((6.0, 'mm'), (0.25, 'inch'), (0.6, ''), None)
    """
    found = _QUANTITY.fullmatch(text) if len(text) <= LONGEST_QUANTITY else None
    if not found:
        return None
    sign, digits, unit = found.groups()
    above, _, below = digits.partition("/")
    if below and not int(below):
        return None
    number = float(above) / float(below) if below else float(above)
    unit = (unit or "").strip()
    return (-number if sign == "-" else number), _ALIASES.get(unit, unit)


def mentions(text: str) -> list[str]:
    """Names in braces in a text for people, each once, in order; raises ExpressionError for stray braces.

    >>> mentions("The edge is {edge_width} wide; the blank is {widest_blank}.")
    ['edge_width', 'widest_blank']
    """
    names = list(dict.fromkeys(_MENTION.findall(text)))
    for name in names:
        if not NAME.fullmatch(name):
            raise ExpressionError(f'"{{{name}}}" is not a name in braces', "Write a declared name, such as {radius}.")
    if "{" in _MENTION.sub("", text) or "}" in _MENTION.sub("", text):
        raise ExpressionError("the text has a brace without its partner", "Write names such as {radius}.")
    return names


# ------------------------------------------------------------------------------------------------ units

_units_library: UnitRegistry | None = None


def units_library() -> UnitRegistry:
    """The registry of the units above, made when first needed."""
    global _units_library
    if _units_library is None:
        import pint

        registry: UnitRegistry = pint.UnitRegistry(None)
        for unit, (factor, base) in UNITS.items():
            registry.define(
                f"{unit} = {base or '[]'}" if not base or base.startswith("[") else f"{unit} = {factor!r} * {base}"
            )
        _units_library = registry
    return _units_library


def unit_of(text: str) -> Unit:
    """The library's unit for the text of one, such as "mm**2" or "m/min"; ExpressionError where there is none."""
    if len(text) > LONGEST_QUANTITY or text and not _UNIT.fullmatch(text):
        raise ExpressionError(f'cannot read the unit "{shown(text)}"', 'Write one such as "mm", "mm**2" or "m/min".')
    parts = re.findall(r"[A-Za-z%_]+", text)
    for part in parts:
        if part not in UNITS:
            raise ExpressionError(
                f'unknown unit "{part}"', did_you_mean(part, list(UNITS)) + f"Units are {', '.join(UNITS)}."
            )
    try:
        return units_library().parse_units(text)
    except Exception:  # the library lets many kinds of error out
        raise ExpressionError(f'cannot read the unit "{text}"', 'Write one such as "mm", "mm**2" or "m/min".') from None


def kept_unit(text: str) -> str:
    """The unit in which a value written in this one is kept: itself, or its base for one such as the inch."""
    if text in INTERNAL or not text:
        return text
    if text in UNITS:
        return UNITS[text][1]
    unit_of(text)
    foreign = [part for part in re.findall(r"[A-Za-z_]+", text) if part not in INTERNAL]
    if foreign:
        raise ExpressionError(
            f'the unit "{text}" holds {foreign[0]}, which is not kept inside the program',
            f"Use {', '.join(sorted(INTERNAL, key=str.lower))}.",
        )
    return text


def factor(unit: str, into: str) -> float:
    """How many of the second unit one of the first is. ExpressionError where they measure different things.

    >>> factor("inch", "mm"), factor("um", "mm")
    (25.4, 0.001)
    """
    if unit == into:
        return 1.0
    one, other = UNITS.get(unit), UNITS.get(into)
    if one and other and into == one[1]:
        return one[0]
    source, target = unit_of(unit), unit_of(into)
    if not source.is_compatible_with(target):
        raise ExpressionError(
            f"{a_kind(source)} stands where {a_kind(target)} belongs", f"Give it in {into or 'plain numbers'}."
        )
    return units_library().convert(1.0, source, target)


def scale(number: float, by: float) -> float:
    """number × by, dividing where that is exact: 25 um are 0.025 mm and nothing beside it."""
    return number / _divisor(by) if _divisor(by) else number * by


def _divisor(by: float) -> int:
    """The whole number by which to divide instead of multiplying by a fraction; 0 where there is none."""
    whole = round(1 / by) if 0 < by < 1 else 0
    return whole if abs(whole * by - 1) < 1e-12 else 0


def a_kind(unit: Unit) -> str:
    """What a unit measures, for a message: "a length (mm)"."""
    name = str(unit).replace(" ** ", "**").replace(" * ", "*").replace(" / ", "/")
    dimension = str(unit.dimensionality) if unit.dimensionality else "dimensionless"
    kind = _DIMENSIONS.get(dimension)
    if kind is None:
        return f"a value in {name}"
    return kind if unit.dimensionless else f"{kind} ({name})"


# ------------------------------------------------------------------------------------------------ checking


def check(tree: Tree, type_of: Callable[[str], Type], expected: Type | None = None) -> tuple[Tree, Type]:
    """The tree with units settled, and its type; ExpressionError where something does not fit.

    type_of: function from a name to its type, raising ExpressionError for an unknown name. A type is
    ("number", unit of the library), ("truth",), ("words", tuple of words) or ("list",).
    expected: the type that the result must have; numbers are converted into its unit.
    """
    result, kind = _Checker(type_of).visit(tree, expected)
    if expected is None:
        return result, kind
    if kind[0] != expected[0] or (kind[0] == "words" and kind[1] != expected[1]):
        raise ExpressionError(
            f"{_a_type(kind)} stands where {_a_type(expected)} belongs", "Write what the vocabulary declares."
        )
    if kind[0] == "number":
        result = _converted(
            result, kind[1], expected[1], lambda: f"{a_kind(kind[1])} stands where {a_kind(expected[1])} belongs"
        )
    return result, expected


def _a_type(kind: Type) -> str:
    if kind[0] == "number":
        return a_kind(kind[1])
    return {"truth": "a truth value", "words": "a word", "list": "a list"}[kind[0]]


def _converted(tree: Tree, unit: Unit, into: Unit, problem: Callable[[], str]) -> Tree:
    if unit == into or _is_zero(tree, unit):
        return tree
    if not unit.is_compatible_with(into):
        raise ExpressionError(problem(), "Both must measure the same thing; write the unit, such as 6*mm.")
    by = units_library().convert(1.0, unit, into)
    if by == 1:
        return tree
    if tree[0] == "number":
        return ("number", scale(tree[1], by))
    return ("/", tree, ("number", float(_divisor(by)))) if _divisor(by) else ("*", tree, ("number", by))


def _is_zero(tree: Tree, unit: Unit) -> bool:
    """A bare 0 is the same in every unit."""
    return tree == ("number", 0.0) and unit.dimensionless


def _folded(tree: Tree) -> Tree:
    """A tree of numbers alone, worked out."""
    if any(part[0] != "number" for part in tree[1:] if _is_tree(part)):
        return tree
    result = evaluate(tree, {})
    if not math.isfinite(result):
        raise ExpressionError("an expression comes to no finite number", "Write numbers that do.")
    return ("number", float(result))


class _Checker:
    def __init__(self, type_of: Callable[[str], Type]) -> None:
        self.type_of = type_of
        self.subject = "it"

    def number(self, tree: Tree, what: str) -> tuple[Tree, Unit]:
        result, kind = self.visit(tree)
        if kind[0] != "number":
            raise ExpressionError(f"{_a_type(kind)} is used in {what}", "Only numbers can be; compare words with ==.")
        return result, kind[1]

    def truth(self, tree: Tree) -> Tree:
        result, kind = self.visit(tree)
        if kind[0] != "truth":
            raise ExpressionError(
                f"{_a_type(kind)} stands where something true or false belongs", "Compare it with something."
            )
        return result

    def visit(self, tree: Tree, expected: Type | None = None) -> tuple[Tree, Type]:
        visitor = {
            "+": self.total, "-": self.total, "min": self.total, "max": self.total, "*": self.product, "/": self.product,
        }.get(tree[0])  # fmt: skip
        return (visitor or getattr(self, f"visit_{tree[0]}"))(tree, expected)

    def visit_number(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        return tree, ("number", unit_of(""))

    def visit_unit(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        by, base = UNITS[tree[1]]
        if tree[1] in INTERNAL:
            return ("number", 1.0), ("number", unit_of(tree[1]))
        return ("number", float(by)), ("number", unit_of(base))

    def visit_truth(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        return tree, ("truth",)

    def visit_name(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        return tree, self.type_of(tree[1])

    def visit_word(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        if expected is None or expected[0] != "words":
            raise ExpressionError(
                f'the word "{tree[1]}" stands where no word can', "Compare a name with it: location == 'end'."
            )
        return ("word", tree[1], self.code(tree[1], expected[1], self.subject)), expected

    @staticmethod
    def code(word: str, words: Sequence[str], name: str) -> int:
        if word not in words:
            listed = ", ".join(f'"{w}"' for w in words)
            raise ExpressionError(f'{name} is never "{word}"', f"{did_you_mean(word, words)}It is one of {listed}.")
        return words.index(word)

    def visit_negative(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        result, unit = self.number(tree[1], "arithmetic")
        return _folded((tree[0], result)), ("number", unit)

    visit_abs = visit_negative

    def total(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        left, unit = self.number(tree[1], "arithmetic")
        right, other = self.number(tree[2], "arithmetic")
        if _is_zero(left, unit):
            unit = other
        said = {"+": "adds {} and {}", "-": "subtracts {1} from {0}"}.get(
            tree[0], f"takes the {tree[0]} of {{}} and {{}}"
        )

        def problem() -> str:
            return said.format(a_kind(unit), a_kind(other))

        return _folded((tree[0], left, _converted(right, other, unit, problem))), ("number", unit)

    def product(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        left, unit = self.number(tree[1], "arithmetic")
        right, other = self.number(tree[2], "arithmetic")
        return _folded((tree[0], left, right)), ("number", unit * other if tree[0] == "*" else unit / other)

    def visit_power(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        result, unit = self.number(tree[1], "arithmetic")
        return _folded(("power", result, tree[2])), ("number", unit ** tree[2])

    def visit_not(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        return ("not", self.truth(tree[1])), ("truth",)

    def visit_and(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        return (tree[0], tuple(self.truth(part) for part in tree[1])), ("truth",)

    visit_or = visit_and

    def visit_if(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        condition = self.truth(tree[1])
        first, kind = self.visit(tree[2], expected)
        second, other = self.visit(tree[3], expected or (kind if kind[0] == "words" else None))
        if kind[0] != other[0] or (kind[0] == "words" and kind != other):
            raise ExpressionError(
                f"{_a_type(kind)} and {_a_type(other)} stand on either side of if and else", "Both must be alike."
            )
        if kind[0] == "number":
            if _is_zero(first, kind[1]):
                kind = other
            second = _converted(
                second,
                other[1],
                kind[1],
                lambda: f"{a_kind(kind[1])} and {a_kind(other[1])} stand on either side of if and else",
            )
        return ("if", condition, first, second), kind

    def visit_compare(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        _, text, operator, left, right, _ = tree
        self.subject = next((side[1] for side in (left, right) if side[0] == "name"), "it")
        if left[0] == "word":
            right, kind = self.visit(right)
            left, other = self.visit(left, kind)
        else:
            left, kind = self.visit(left)
            right, other = self.visit(right, kind)
        self.subject = "it"
        if kind[0] == "list" or kind[0] != other[0]:
            raise ExpressionError(
                f'"{text}" compares {_a_type(kind)} with {_a_type(other)}', "Both sides must be of one kind."
            )
        if kind[0] == "number":
            unit = other[1] if _is_zero(left, kind[1]) else kind[1]
            if unit.dimensionless:
                left, unit = _converted(left, unit, unit_of(""), str), unit_of("")
            right = _converted(
                right, other[1], unit, lambda: f'"{text}" compares {a_kind(kind[1])} with {a_kind(other[1])}'
            )
            return ("compare", text, operator, left, right, _unit_text(unit)), ("truth",)
        if operator not in ("==", "!="):
            raise ExpressionError(
                f'"{text}" asks which of two words or truth values is more', "They can only be compared with == or !=."
            )
        if kind != other:
            raise ExpressionError(
                f'"{text}" compares words of two different lists', "Compare each with a word in quotes."
            )
        return ("compare", text, operator, left, right, kind[0]), ("truth",)

    def visit_member(self, tree: Tree, expected: Type | None) -> tuple[Tree, Type]:
        _, text, left, words, wanted = tree
        left, kind = self.visit(left)
        if kind[0] != "words":
            raise ExpressionError(
                f'"{text}" looks for {_a_type(kind)} among words', "Write the name of a word in front of in."
            )
        name = left[1] if left[0] == "name" else "it"
        coded = tuple((word[1], self.code(word[1], kind[1], name)) for word in words)
        return ("member", text, left, coded, wanted), ("truth",)


def _unit_text(unit: Unit) -> str:
    return "" if unit.dimensionless else str(unit).replace(" ** ", "**").replace(" * ", "*").replace(" / ", "/")


# ------------------------------------------------------------------------------------------------ working it out


def quotient(a: Numeric, b: Numeric) -> Numeric:
    """a / b with the rules of IEEE 754, for numbers and arrays: x/0 is infinite, 0/0 is not a number."""
    try:
        return a / b
    except ZeroDivisionError:
        if a == 0 or a != a:
            return math.nan
        return math.copysign(math.inf, a) * math.copysign(1.0, b)


def power(a: Numeric, exponent: float) -> Numeric:
    """a raised to -3 to 4 or 0.5, worked out by multiplication, so that a number and an array give the same digits."""
    if exponent == 0.5:
        return numeric.sqrt(a)
    result = a
    for _ in range(abs(int(exponent)) - 1):
        result = result * a
    return quotient(1.0, result) if exponent < 0 else result


_COMPARE = {
    "<": lambda a, b: a < b,
    "<=": lambda a, b: a <= b,
    ">": lambda a, b: a > b,
    ">=": lambda a, b: a >= b,
    "==": lambda a, b: a == b,
    "!=": lambda a, b: a != b,
}
_ARITHMETIC = {
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "*": lambda a, b: a * b,
    "/": quotient,
    "min": numeric.minimum,
    "max": numeric.maximum,
}


def evaluate(tree: Tree, values: Mapping[str, Any]) -> Any:
    """The value of a checked tree. values: mapping from names to numbers, truth values and words."""
    kind = tree[0]
    if kind == "name":
        return values[tree[1]]
    if kind in ("number", "truth", "word"):
        return tree[1]
    if kind == "compare":
        return _COMPARE[tree[2]](evaluate(tree[3], values), evaluate(tree[4], values))
    if kind == "member":
        value = evaluate(tree[2], values)
        return any(value == word for word, _ in tree[3]) == tree[4]
    if kind == "and":
        return all(evaluate(part, values) for part in tree[1])
    if kind == "or":
        return any(evaluate(part, values) for part in tree[1])
    if kind == "not":
        return not evaluate(tree[1], values)
    if kind == "negative":
        return -evaluate(tree[1], values)
    if kind == "abs":
        return numeric.absolute(evaluate(tree[1], values))
    if kind == "power":
        return power(evaluate(tree[1], values), tree[2])
    if kind == "if":
        return evaluate(tree[2] if evaluate(tree[1], values) else tree[3], values)
    return _ARITHMETIC[kind](evaluate(tree[1], values), evaluate(tree[2], values))


Comparison = namedtuple("Comparison", "text left right held unit")
Comparison.__doc__ = """One comparison as it was made; unit is "truth" or "words" where those are compared."""


def describe(tree: Tree, values: Mapping[str, Any]) -> list[Comparison]:
    """Every comparison in a checked tree with the values that it compared, in the order written.

    A truth value that stands by itself is compared with True; a list of words stands on the right of `in`.
    """
    kind = tree[0]
    if kind == "compare":
        left, right = evaluate(tree[3], values), evaluate(tree[4], values)
        return [Comparison(tree[1], left, right, _COMPARE[tree[2]](left, right), tree[5])]
    if kind == "member":
        words = tuple(word for word, _ in tree[3])
        return [Comparison(tree[1], evaluate(tree[2], values), words, evaluate(tree, values), "words")]
    if kind in ("and", "or"):
        return [comparison for part in tree[1] for comparison in describe(part, values)]
    if kind == "name" and isinstance(values[tree[1]], bool):
        return [Comparison(tree[1], values[tree[1]], True, values[tree[1]], "truth")]
    return [comparison for part in tree[1:] if _is_tree(part) for comparison in describe(part, values)]


def comparisons(tree: Tree) -> list[Tree]:
    """The comparison nodes in a tree."""
    return [node for node in nodes(tree) if node[0] == "compare"]


def names(tree: Tree) -> list[str]:
    """The names in a tree, each once, in the order written."""
    return list(dict.fromkeys(node[1] for node in nodes(tree) if node[0] == "name"))


def _is_tree(part: object) -> TypeIs[Tree]:
    return isinstance(part, (tuple, list)) and bool(part) and isinstance(part[0], str)


def nodes(tree: Tree) -> list[Tree]:
    """Every node of a tree, itself first."""
    found = [tree]
    parts = tree[1] if tree[0] in ("and", "or") else tree[1:]
    for part in parts:
        if _is_tree(part):
            found.extend(nodes(part))
    return found


# ------------------------------------------------------------------------------------------------ writing Python


def python(tree: Tree, arrays: bool = False, name: Callable[[str], str] = "n_{}".format) -> str:
    """Python source of a checked tree, for numbers or for arrays.

    name: function from a name to the source that reads it. The source uses the helpers of `helpers` and nothing else;
    every part of it is made here from a closed list, so no text of a rule ever reaches the compiler.
    """
    return (_Arrays if arrays else _Numbers)(name).write(tree)


def helpers() -> dict[str, Any]:
    """What the source that `python` writes refers to."""
    called = {"min": numeric.minimum, "max": numeric.maximum, "abs": numeric.absolute}
    return called | {
        "quotient": quotient,
        "power": power,
        "where": numeric.where,
        "negate": numeric.negate,
        "nan": math.nan,
    }


def worked_out(tree: Tree, values: Mapping[str, Any]) -> Any:
    """A checked expression over columns. values: name -> array, or one value for all; words as codes."""
    names = helpers() | {f"w{code}": code for code in range(-1, 127)}
    return eval(python(tree, arrays=True, name="values[{!r}]".format), names, {"values": values})


def held(trees: Sequence[Tree], values: Mapping[str, Any]) -> Any:
    """Where all of some checked conditions hold, over columns, as `worked_out` takes them."""
    return functools.reduce(numeric.both, (worked_out(tree, values) for tree in trees))


class _Numbers:
    """Source for single numbers, truth values and words."""

    def __init__(self, name: Callable[[str], str]) -> None:
        self.name = name

    def write(self, tree: Tree) -> str:
        return getattr(self, f"write_{_METHODS.get(tree[0], tree[0])}")(tree)

    def write_number(self, tree: Tree) -> str:
        return f"{float(tree[1])!r}"

    def write_truth(self, tree: Tree) -> str:
        return "True" if tree[1] else "False"

    def write_word(self, tree: Tree) -> str:
        return repr(str(tree[1]))

    def write_name(self, tree: Tree) -> str:
        if not NAME.fullmatch(tree[1]):
            raise ValueError(f"{tree[1]!r} is not a name")
        return self.name(tree[1])

    def write_flag(self, tree: Tree) -> str:
        return f"r{int(tree[1])}"

    def write_arithmetic(self, tree: Tree) -> str:
        return f"({self.write(tree[1])} {_checked(tree[0], '+-*')} {self.write(tree[2])})"

    def write_quotient(self, tree: Tree) -> str:
        if tree[2][0] == "number" and tree[2][1]:
            return f"({self.write(tree[1])} / {self.write(tree[2])})"
        return f"quotient({self.write(tree[1])}, {self.write(tree[2])})"

    def write_negative(self, tree: Tree) -> str:
        return f"(-{self.write(tree[1])})"

    def write_call(self, tree: Tree) -> str:
        return f"{_checked(tree[0], _CALLS)}({', '.join(self.write(part) for part in tree[1:])})"

    def write_power(self, tree: Tree) -> str:
        return f"power({self.write(tree[1])}, {float(tree[2])!r})"

    def write_compare(self, tree: Tree) -> str:
        return f"({self.write(tree[3])} {_checked(tree[2], _COMPARE)} {self.write(tree[4])})"

    def write_member(self, tree: Tree) -> str:
        words = "".join(f"{str(word)!r}, " for word, _ in tree[3])
        return f"({self.write(tree[2])} {'in' if tree[4] else 'not in'} ({words}))"

    def write_and(self, tree: Tree) -> str:
        return "(" + f" {tree[0]} ".join(self.write(part) for part in tree[1]) + ")"

    def write_not(self, tree: Tree) -> str:
        return f"(not {self.write(tree[1])})"

    def write_if(self, tree: Tree) -> str:
        return f"({self.write(tree[2])} if {self.write(tree[1])} else {self.write(tree[3])})"


class _Arrays(_Numbers):
    """Source for arrays: words are small whole numbers, and both sides of a condition are always worked out."""

    def write_word(self, tree: Tree) -> str:
        return f"w{int(tree[2])}"

    def write_member(self, tree: Tree) -> str:
        value = self.write(tree[2])
        found = "(" + " | ".join(f"({value} == w{int(code)})" for _, code in tree[3]) + ")"
        return found if tree[4] else f"negate({found})"

    def write_and(self, tree: Tree) -> str:
        return "(" + (" & " if tree[0] == "and" else " | ").join(self.write(part) for part in tree[1]) + ")"

    def write_not(self, tree: Tree) -> str:
        return f"negate({self.write(tree[1])})"

    def write_if(self, tree: Tree) -> str:
        return f"where({self.write(tree[1])}, {self.write(tree[2])}, {self.write(tree[3])})"


_METHODS = dict.fromkeys("+-*", "arithmetic") | dict.fromkeys(_CALLS, "call") | {"/": "quotient", "or": "and"}


def _checked(sign: str, signs: Container[str]) -> str:
    if sign not in signs:
        raise ValueError(f"{sign!r} is not an operator")
    return sign
