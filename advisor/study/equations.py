"""The equations in the docstrings of formulas, read so that numbers can be put in for their symbols.

A line `s = (c²/4) / (R + √(R² − c²/4))` between the summary and the arguments is an equation; `chord: straight width
across it, c [mm]` gives the argument chord its symbol. Several lines with the same left side are alternatives, each
with its condition after three spaces (`s = R   on a corner`); a line with another left side than the last one's defines
a symbol for those below it. Angles are in degrees. Nothing of this runs Python text: it is a small grammar of its own.
"""

from __future__ import annotations

import inspect
import itertools
import math
import re
from collections import namedtuple
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence, Set
    from typing import Any

    from advisor.language.expression import Tree


Described = namedtuple("Described", "summary equations symbols source")
Described.__doc__ = """What a docstring says: its first sentence without the unit; equations: list of (left side, = or
≤, right side, condition); symbols: argument -> symbol; source: as written, '' where none is."""

Worked = namedtuple("Worked", "left relation right numbers value condition")
Worked.__doc__ = (
    """One equation worked out: both sides as written, the right side with numbers in place of symbols, its value."""
)

_SYMBOL = r"[^\W\d_](?:[^\W\d_]?[₀-₉ₐ-ₜ′'*]|[^\W\d_]?\d(?:\.\d)?|[^\W\d_])?"
_EQUATION = re.compile(rf"({_SYMBOL}) ([=≤]) (\S.*?)(?:   +(\S.*))?")
_FUNCTIONS: dict[str, Callable[..., float]] = {
    "sin": lambda x: math.sin(math.radians(x)),
    "cos": lambda x: math.cos(math.radians(x)),
    "tan": lambda x: math.tan(math.radians(x)),
    "sec": lambda x: 1 / math.cos(math.radians(x)),
    "asin": lambda x: math.degrees(math.asin(x)),
    "atan": lambda x: math.degrees(math.atan(x)),
    "erf": math.erf,
    "exp": math.exp,
    "ln": math.log,
    "min": min,
    "max": max,
}
_POWERS = {"²": 2, "³": 3, "⁴": 4}
_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75}


class Unreadable(ValueError):
    """A text that is no equation of this grammar."""


def described(function: Callable[..., Any]) -> Described:
    """What the docstring of a formula says -> Described."""
    text = inspect.cleandoc(function.__doc__ or "")
    body = text.split("\n>>>")[0]
    head = body.split("\n\n")[0]
    summary = re.sub(r"\s*\[[^\]]*\]", "", " ".join(head.split())).rstrip(".")
    equations, prose = [], []
    for line in body.splitlines()[1:]:
        found = _EQUATION.fullmatch(line.strip())
        if found:
            equations.append((found[1], found[2], found[3].rstrip(".,"), found[4] or ""))
        else:
            prose.append(line.strip() or ".")
    flat = " ".join(prose)
    symbols = {}
    for parameter in inspect.signature(function).parameters:
        found = re.search(rf"(?:^|[;.] ){parameter}: (?:[^;\[.]*, )?({_SYMBOL})(?= \[|;|\.(?: |$))", flat)
        if found:
            symbols[parameter] = found[1]
    source = re.search(r"Source: (.+?)(?:\.(?: [A-Z.]|$)|$)", flat)
    return Described(summary, equations, symbols, source[1] if source else "")


# ---- reading


def parse(text: str, known: Set[str]) -> Tree:
    """The tree of the right side of an equation. known: symbols that may stand in it. Raises Unreadable."""
    reader = _Reader(text, known)
    tree = reader.sum()
    if reader.peek() is not None:
        raise Unreadable(f'"{text}" goes on with "{reader.peek()}"')
    return tree


def _tokens(text: str, known: Set[str]) -> list[str]:
    words = sorted([*known, *_FUNCTIONS, "π"], key=len, reverse=True)
    pattern = re.compile(rf"\s*(\d+(?:\.\d+)?|[½¼¾]|{'|'.join(map(re.escape, words))}|[-+−·×/^(),|√²³⁴⌈⌉⌊⌋°])")
    tokens, at = [], 0
    text = text.rstrip()
    while at < len(text):
        found = pattern.match(text, at)
        if not found:
            raise Unreadable(f'"{text}" has "{text[at : at + 8]}", which is no known symbol')
        tokens.append(found[1])
        at = found.end()
    return tokens


class _Reader:
    def __init__(self, text: str, known: Set[str]) -> None:
        self.known = known
        self.tokens = _tokens(text, known)
        self.at = 0

    def peek(self) -> str | None:
        return self.tokens[self.at] if self.at < len(self.tokens) else None

    def take(self, *wanted: str) -> str:
        token = self.peek()
        if token is None or (wanted and token not in wanted):
            raise Unreadable(f"wanted {' or '.join(wanted) or 'more'}, found {token}")
        self.at += 1
        return token

    def sum(self) -> Tree:
        tree = self.product()
        while self.peek() in ("+", "−", "-"):
            sign = self.take().replace("-", "−")
            tree = (sign, tree, self.product())
        return tree

    def product(self) -> Tree:
        tree = self.signed()
        while True:
            token = self.peek()
            if token in ("·", "×", "/"):
                self.take()
                tree = ("/" if token == "/" else "×", tree, self.signed())
            elif token is not None and token not in ("+", "−", "-", ")", ",", "|", "⌉", "⌋", "^", "°", *_POWERS):
                tree = ("×", tree, self.powered())
            else:
                return tree

    def signed(self) -> Tree:
        if self.peek() in ("−", "-"):
            self.take()
            return ("negative", self.powered())
        return self.powered()

    def powered(self) -> Tree:
        tree = self.primary()
        while self.peek() in ("^", "°", *_POWERS):
            token = self.take()
            if token == "^":
                tree = ("power", tree, self.signed())
            elif token in _POWERS:
                tree = ("power", tree, ("number", _POWERS[token]))
        return tree

    def primary(self) -> Tree:
        token = self.take()
        if token == "(":
            tree = self.sum()
            self.take(")")
            return tree
        if token in ("|", "⌈", "⌊"):
            tree = self.sum()
            close = self.take({"|": "|", "⌈": "⌉", "⌊": "⌋"}[token])
            return (token + close, tree)
        if token == "√":
            return ("√", self.primary())
        if token in _FRACTIONS:
            return ("number", _FRACTIONS[token])
        if token[0].isdigit():
            return ("number", float(token))
        if token in self.known:
            return ("symbol", token)
        if token == "π":
            return ("symbol", "π")
        if token in _FUNCTIONS:
            power = _POWERS[self.take()] if self.peek() in _POWERS else 1
            call = ("call", token, self.arguments())
            return call if power == 1 else ("power", call, ("number", power))
        raise Unreadable(f'"{token}" stands where a number or symbol belongs')

    def arguments(self) -> Tree:
        if self.peek() != "(":
            return (self.powered(),)
        self.take("(")
        parts = [self.sum()]
        while self.peek() == ",":
            self.take()
            parts.append(self.sum())
        self.take(")")
        return tuple(parts)


# ---- working out


def value(
    tree: Tree,
    values: Mapping[str, Any],
) -> float:
    """The value of a tree. values: symbol -> number. Not a number outside its domain."""
    try:
        return _value(tree, values)
    except (ValueError, ZeroDivisionError, OverflowError):
        return math.nan


def _value(
    tree: Tree,
    values: Mapping[str, Any],
) -> float:
    kind = tree[0]
    if kind == "number":
        return tree[1]
    if kind == "symbol":
        return math.pi if tree[1] == "π" and "π" not in values else values[tree[1]]
    if kind == "call":
        return _FUNCTIONS[tree[1]](*(_value(part, values) for part in tree[2]))
    parts = [_value(part, values) for part in tree[1:]]
    if kind == "power":
        result = parts[0] ** parts[1]
        return math.nan if isinstance(result, complex) else result
    if kind == "⌈⌉":
        return float(math.ceil(parts[0] - 1e-9))
    if kind == "⌊⌋":
        return float(math.floor(parts[0] + 1e-9))
    working: dict[str, Callable[..., float]] = {
        "+": lambda a, b: a + b,
        "−": lambda a, b: a - b,
        "×": lambda a, b: a * b,
        "/": lambda a, b: a / b,
        "negative": lambda a: -a,
        "√": math.sqrt,
        "||": abs,
    }
    return working[kind](*parts)


def figure(number: float) -> str:
    """A number inside an equation: five figures and no more.

    >>> figure(10.0), figure(9.42477796), figure(0.0213), figure(120000.0)
    ('10', '9.4248', '0.0213', '120000')
    """
    if not math.isfinite(number):
        return "∞" if number == number else "unknown"
    if abs(number) < 5e-7:
        return "0"
    text = f"{number:.5g}"
    if "e" in text:
        text = f"{number:.0f}" if abs(number) >= 1 else f"{number:.8f}".rstrip("0")
    return text.replace("-", "−") if number < 0 else text


_BINDING = {"+": 1, "−": 1, "×": 2, "/": 2, "negative": 3, "power": 4}


def written(
    tree: Tree,
    values: Mapping[str, Any],
) -> str:
    """The tree with numbers in place of symbols; powers and what is made of them are worked out.

    >>> tree = parse("R − √(R² − w²/4)", {"R", "w"})
    >>> written(tree, {"R": 10.0, "w": 12.0})
    '10 − √(100 − 36)'
    """
    short = _write(_shortened(tree, values), values)
    return _write(tree, values) if re.fullmatch(r"−?[\d.]+", short) else short


def _shortened(
    tree: Tree,
    values: Mapping[str, Any],
) -> Tree:
    """The same tree with every power of numbers, and every product or quotient that has one, worked out."""
    if tree[0] in ("number", "symbol"):
        return tree
    if tree[0] == "call":
        return (*tree[:2], tuple(_shortened(part, values) for part in tree[2]))
    if _has_power(tree) and not _has_sum(tree):
        return ("number", value(tree, values))
    return (tree[0], *(_shortened(part, values) for part in tree[1:]))


def _has_power(tree: Tree) -> bool:
    if tree[0] in ("number", "symbol"):
        return False
    return tree[0] == "power" or any(_has_power(part) for part in (tree[2] if tree[0] == "call" else tree[1:]))


def _has_sum(tree: Tree) -> bool:
    if tree[0] in ("number", "symbol"):
        return False
    return tree[0] in ("+", "−", "√") or any(_has_sum(part) for part in (tree[2] if tree[0] == "call" else tree[1:]))


def _write(
    tree: Tree,
    values: Mapping[str, Any],
    around: int = 0,
) -> str:
    kind = tree[0]
    if kind == "number":
        return _bracketed(figure(tree[1]), tree[1] < 0 and around > 0)
    if kind == "symbol":
        if tree[1] == "π" and "π" not in values:
            return "π"
        number = values[tree[1]]
        return _bracketed(figure(number), number < 0 and around > 0)
    if kind == "call":
        return f"{tree[1]}({', '.join(_write(part, values) for part in tree[2])})"
    if kind == "√":
        inside = _write(tree[1], values)
        return f"√{inside}" if re.fullmatch(r"[\d.]+", inside) else f"√({inside})"
    if kind in ("||", "⌈⌉", "⌊⌋"):
        return f"{kind[0]}{_write(tree[1], values)}{kind[1]}"
    binding = _BINDING[kind]
    if kind == "negative":
        text = f"−{_write(tree[1], values, binding)}"
    elif kind == "power":
        exponent = tree[2]
        raised = {2: "²", 3: "³", 4: "⁴"}.get(exponent[1]) if exponent[0] == "number" else None
        text = _write(tree[1], values, binding + 1) + (raised or f"^{_write(exponent, values, binding + 1)}")
    else:
        right = binding + 1 if kind in ("−", "/") else binding
        text = f"{_write(tree[1], values, binding)} {kind} {_write(tree[2], values, right)}"
    return _bracketed(text, binding < around)


def _bracketed(text: str, needed: bool) -> str:
    return f"({text})" if needed else text


def work_out(function: Callable[..., Any], arguments: Mapping[str, Any], result: float) -> list[Worked]:
    """The equations of a formula with numbers in them -> list of Worked, the one that gives the result last.

    arguments: argument -> number or truth value; result: what the formula gave. The symbols that the last one needs
    come first, then of the alternatives the one that gives the result. Empty where the docstring has no equation that
    does.
    """
    about = described(function)
    values = {
        symbol: float(arguments[name]) for name, symbol in about.symbols.items() if _is_known(arguments.get(name))
    }
    if not about.equations or not _is_number(result):
        return []
    fitting = [line for line in about.equations if _meant(line[3], arguments)]
    groups = [list(lines) for _, lines in itertools.groupby(fitting, key=lambda line: line[0])]
    if not groups or groups[-1][0][0] != about.equations[-1][0]:
        return []
    return _matching(groups, values, result) or []


_SHAPES = {
    "rounded corner": {"corner": True, "convex": True},
    "corner": {"corner": True},
    "fillet": {"corner": True, "convex": False},
    "dome": {"end": True, "convex": True},
    "dish": {"end": True, "convex": False},
    "end": {"end": True},
    "crown": {"end": False, "corner": False, "convex": True},
    "groove": {"end": False, "corner": False, "convex": False},
    "convex": {"convex": True},
    "concave": {"convex": False},
    "hollows": {"convex": False},
    "tailstock": {"tailstock": True},
}
_SHAPE = re.compile(rf"\b({'|'.join(_SHAPES)})s?\b")


def _meant(condition: str, arguments: Mapping[str, float | bool | Sequence[float]]) -> bool:
    """Whether a condition fits these arguments: one of the shapes that it names, or it names none."""
    shapes = [_SHAPES[word] for word in _SHAPE.findall(condition.split(":")[0].split(",")[0])]
    return not shapes or any(all(arguments.get(k, v) == v for k, v in shape.items()) for shape in shapes)


def _matching(
    groups: Sequence[list[tuple[str, str, str, str]]], values: Mapping[str, Any], result: float
) -> list[Worked] | None:
    """The first choice of one line from each group whose last comes to the result; None where none does."""
    for left, relation, right, condition in groups[0]:
        try:
            tree = parse(right, set(values))
        except Unreadable:
            continue
        answer = value(tree, values)
        worked = Worked(left, relation, right, written(tree, values), answer, condition)
        if len(groups) == 1:
            if _agrees(answer, result) or (relation == "≤" and result <= answer):
                return [worked]
            continue
        rest = _matching(groups[1:], {**values, left: answer}, result)
        if rest:
            needed = set().union(
                *(_symbols_in(parse(line.right, set(values) | {left} | {w.left for w in rest})) for line in rest)
            )
            return [worked, *rest] if left in needed else rest
    return _matching(groups[1:], values, result) if len(groups) > 1 else None


def _symbols_in(tree: Tree) -> set[str]:
    if tree[0] == "symbol":
        return {tree[1]}
    parts = tree[2] if tree[0] == "call" else [part for part in tree[1:] if isinstance(part, tuple)]
    return set().union(*(_symbols_in(part) for part in parts)) if parts else set()


def _is_number(thing: object) -> bool:
    return isinstance(thing, (int, float))


def _is_known(thing: Any) -> bool:
    return _is_number(thing) and thing == thing


def _agrees(a: float, b: float) -> bool:
    return a == b or abs(a - b) <= 1e-6 * max(abs(a), abs(b), 1e-9)
