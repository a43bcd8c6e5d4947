"""Elementary functions that take one number or an array of them.

A single callout is computed with plain floats and never imports an array library; a column of
callouts runs through the very same formulas. Outside its domain every function gives "not a
number", for a float as for an array, so that a formula behaves alike in both.
"""

from __future__ import annotations

import bisect
import math
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from types import ModuleType

    import numpy
    from numpy.typing import NDArray
    from typing_extensions import TypeIs

    Column = NDArray[numpy.floating[Any]]
    Flags = NDArray[numpy.bool_]
    Codes = NDArray[numpy.integer[Any]]  # places, of words in their list or of rows
    Array = NDArray[Any]  # a column of any of these
    Numeric = float | Column  # a quantity of one callout, or of a column of them
    Truth = bool | Flags
    Values = Mapping[str, Any]  # names of the vocabulary and what they are: numbers, truth values, words

NAN = math.nan
SAME_LENGTH = 1e-6  # mm, what reading inches may leave


def _arrays() -> ModuleType:
    import numpy

    return numpy


def is_number(value: object) -> TypeIs[float]:
    """True for one plain number or truth value, False for an array."""
    return isinstance(value, (float, int))


def _one_argument(
    name: str, scalar: Callable[[float], float], ufunc: str | None = None
) -> Callable[[Numeric], Numeric]:
    def function(x: Numeric) -> Numeric:
        if isinstance(x, (float, int)):
            try:
                return scalar(x)
            except (ValueError, OverflowError):
                return NAN
        numpy = _arrays()
        with numpy.errstate(all="ignore"):
            return getattr(numpy, ufunc or name)(x)

    function.__name__ = name
    function.__doc__ = f"{name} of a number or an array; not a number outside its domain."
    return function


sqrt = _one_argument("sqrt", math.sqrt)
sin = _one_argument("sin", math.sin)
cos = _one_argument("cos", math.cos)
tan = _one_argument("tan", math.tan)
asin = _one_argument("asin", math.asin, "arcsin")
acos = _one_argument("acos", math.acos, "arccos")
exp = _one_argument("exp", math.exp)
log = _one_argument("log", math.log)
radians = _one_argument("radians", math.radians)
degrees = _one_argument("degrees", math.degrees)


def _whole(rounding: Callable[[float], float]) -> Callable[[float], float]:
    def scalar(x: float) -> float:
        return x if math.isinf(x) else float(rounding(x))

    return scalar


ceil = _one_argument("ceil", _whole(math.ceil))
floor = _one_argument("floor", _whole(math.floor))


def atan2(y: Numeric, x: Numeric) -> Numeric:
    """Angle of the point (x, y) [rad]."""
    if is_number(y) and is_number(x):
        return math.atan2(y, x)
    return _arrays().arctan2(y, x)


def erf(x: Numeric) -> Numeric:
    """Error function of a number or an array; of an array to the last bit as of its numbers."""
    if is_number(x):
        return math.erf(x)
    numpy = _arrays()
    x = numpy.asarray(x, dtype=float)
    return numpy.fromiter(map(math.erf, x.ravel().tolist()), dtype=float, count=x.size).reshape(x.shape)


def divide(a: Numeric, b: Numeric) -> Numeric:
    """a / b with the rules of IEEE 754: x/0 is infinite, 0/0 is not a number."""
    if is_number(a) and is_number(b):
        if b != 0:
            return a / b
        return NAN if a == 0 or a != a else math.copysign(math.inf, a) * math.copysign(1.0, b)
    numpy = _arrays()
    with numpy.errstate(all="ignore"):
        return numpy.divide(a, b)


def power(a: Numeric, b: Numeric) -> Numeric:
    """a raised to b; not a number where that is not real."""
    if is_number(a) and is_number(b):
        try:
            result = a**b
        except (ZeroDivisionError, OverflowError):
            return math.inf
        return NAN if isinstance(result, complex) else result
    numpy = _arrays()
    with numpy.errstate(all="ignore"):
        return numpy.power(numpy.asarray(a, dtype=float), b)


def where(condition: Truth, when_true: Any, when_false: Any) -> Any:
    """One of two values, chosen by a truth value or an array of them."""
    if isinstance(condition, (bool, int)):
        return when_true if condition else when_false
    return _arrays().where(condition, when_true, when_false)


def where_few(condition: Truth, usual: Numeric, function: Callable[..., Numeric], **arguments: Any) -> Numeric:
    """What a function of arguments by name gives where a condition holds, and `usual` elsewhere: for what takes long and is
    seldom needed, since it is worked out for those few alone.

    >>> where_few(True, 1.0, lambda *, x: 2 * x, x=5.0), where_few(False, 1.0, lambda *, x: 2 * x, x=5.0)
    (10.0, 1.0)
    """
    if not getattr(condition, "ndim", 0):
        return function(**arguments) if condition else usual
    numpy = _arrays()
    few = numpy.flatnonzero(condition)
    if not len(few):
        return usual
    found = numpy.array(numpy.broadcast_to(usual, numpy.shape(condition)), dtype=float)
    found[few] = function(
        **{name: value[few] if getattr(value, "ndim", 0) else value for name, value in arguments.items()}
    )
    return found


def minimum(a: Numeric, b: Numeric) -> Numeric:
    """The smaller; not a number if either is not."""
    if is_number(a) and is_number(b):
        return NAN if a != a or b != b else (a if a <= b else b)
    return _arrays().minimum(a, b)


def maximum(a: Numeric, b: Numeric) -> Numeric:
    """The larger; not a number if either is not."""
    if is_number(a) and is_number(b):
        return NAN if a != a or b != b else (a if a >= b else b)
    return _arrays().maximum(a, b)


def absolute(x: Numeric) -> Numeric:
    """Size without sign."""
    return abs(x)  # type: ignore[return-value]  # of a union it is taken for an object


def known(x: Numeric) -> Truth:
    """True where x is a number, False where it is "not a number" (not given, not there)."""
    return x == x


def otherwise(x: Numeric, fallback: Numeric) -> Numeric:
    """x where it is known, the fallback elsewhere."""
    return where(known(x), x, fallback)


def both(a: Truth, b: Truth) -> Truth:
    """a and b, for truth values or arrays of them."""
    return a & b


def either(a: Truth, b: Truth) -> Truth:
    """a or b, for truth values or arrays of them."""
    return a | b


def negate(a: Truth) -> Truth:
    """not a, for a truth value or an array of them."""
    return (not a) if isinstance(a, (bool, int)) else ~a


def highest_not_above(steps: Sequence[float], x: Numeric) -> Numeric:
    """The largest of the ascending steps that does not exceed x; the first step where all do.

    steps: ascending sequence of numbers; x: number or array. An empty sequence gives not a number.
    """
    if is_number(x):
        if not steps or x != x:
            return NAN
        return steps[max(bisect.bisect_right(steps, x) - 1, 0)]
    return _step(steps, x, offset=-1)


def next_above(steps: Sequence[float], x: Numeric) -> Numeric:
    """The smallest of the ascending steps that exceeds x; not a number where none does."""
    if is_number(x):
        index = bisect.bisect_right(steps, x)
        return steps[index] if index < len(steps) and x == x else NAN
    numpy = _arrays()
    table = numpy.append(numpy.asarray(steps, dtype=float), NAN)
    found = table[numpy.searchsorted(table[:-1], x, side="right")]
    return numpy.where(x == x, found, NAN)


def next_below(steps: Sequence[float], x: Numeric) -> Numeric:
    """The largest of the ascending steps that lies under x; not a number where none does."""
    if is_number(x):
        index = bisect.bisect_left(steps, x) - 1
        return steps[index] if index >= 0 and x == x else NAN
    numpy = _arrays()
    table = numpy.insert(numpy.asarray(steps, dtype=float), 0, NAN)
    found = table[numpy.searchsorted(table[1:], x, side="left")]
    return numpy.where(x == x, found, NAN)


def _step(steps: Sequence[float], x: Numeric, *, offset: int) -> Column:
    numpy = _arrays()
    if not len(steps):
        return numpy.full(numpy.shape(x), NAN)
    table = numpy.asarray(steps, dtype=float)
    index = numpy.searchsorted(table, x, side="right") + offset
    found = table[numpy.clip(index, 0, len(table) - 1)]
    return numpy.where(x == x, found, NAN)


def nearest(steps: Sequence[float], x: Numeric) -> Numeric:
    """The member of the ascending steps that lies nearest to x; the smaller of two as near."""
    below = highest_not_above(steps, x)
    above = next_above(steps, x)
    return where(both(known(above), absolute(above - x) < absolute(below - x)), above, below)


def interpolate(x: Numeric, xs: Sequence[Numeric], ys: Sequence[Numeric]) -> Numeric:
    """Straight-line interpolation in a table, held at its ends.

    xs: ascending sequence; ys: as many values; x: number or array.
    """
    if not is_number(x):
        return _arrays().interp(x, xs, ys)
    if x != x:
        return NAN
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = bisect.bisect_right(xs, x) - 1
    share = (x - xs[i]) / (xs[i + 1] - xs[i])
    return ys[i] + share * (ys[i + 1] - ys[i])
