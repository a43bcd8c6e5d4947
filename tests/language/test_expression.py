"""The language of rules: what it reads, what it refuses, and that every way of working it out gives the same."""

import functools
import math

import numpy
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from often import often

from advisor.language import expression
from advisor.language.expression import ExpressionError

WORDS = ("corner", "end", "outside diameter")
UNITS = {"a": "mm", "b": "mm", "c": "um", "t": "min", "n": "count"}


class MinuteOrLeast(float):
    """`min` stands for the minute and for the least of several."""

    def __call__(self, *numbers):
        return functools.reduce(numpy.minimum, numbers)


PYTHON = {"mm": 1.0, "um": 0.001, "m": 1000.0, "min": MinuteOrLeast(1.0), "hour": 60.0}
PYTHON |= {"max": lambda *numbers: functools.reduce(numpy.maximum, numbers), "abs": abs}


def type_of(name):
    if name in UNITS:
        return ("number", expression.unit_of(UNITS[name]))
    kinds = {
        "place": ("words", WORDS),
        "other": ("words", WORDS),
        "yes": ("truth",),
        "no": ("truth",),
        "steps": ("list",),
    }
    if name not in kinds:
        raise ExpressionError(f'unknown name "{name}"', "Declare it.")
    return kinds[name]


def checked(text):
    return expression.check(expression.parse(text), type_of)[0]


# --------------------------------------------------------------------------------------- random expressions

numbers = st.sampled_from(["0.5", "1", "2", "3", "0.25"])
lengths = st.deferred(
    lambda: st.one_of(
        st.sampled_from(["a", "b", "c", "-a", "2*mm", "0.5*mm", "1000*um"]),
        st.builds("({} + {})".format, lengths, lengths),
        st.builds("({} - {})".format, lengths, lengths),
        st.builds("{}*{}".format, lengths, plain_numbers),
        st.builds("({})/{}".format, lengths, plain_numbers),
        st.builds("-({})".format, lengths),
        st.builds("({} if {} else {})".format, lengths, truths, lengths),
        st.builds("(({})**2)/({})".format, lengths, lengths),
        st.builds("min({}, {})".format, lengths, lengths),
        st.builds("max({}, 0, {})".format, lengths, lengths),
        st.builds("abs({})".format, lengths),
    )
)
plain_numbers = st.deferred(
    lambda: st.one_of(
        numbers,
        st.just("n"),
        st.builds("({}/({}))".format, lengths, lengths),
        st.builds("({} + {})".format, plain_numbers, plain_numbers),
        st.builds("(({})**{})".format, plain_numbers, st.sampled_from(["2", "3", "-1", "0.5", "-2"])),
        st.builds("{}({}, {})".format, st.sampled_from(["min", "max"]), plain_numbers, plain_numbers),
        st.builds("abs({})".format, plain_numbers),
    )
)
signs = st.sampled_from(["<", "<=", ">", ">=", "==", "!="])
truths = st.deferred(
    lambda: st.one_of(
        st.sampled_from(["yes", "no", "true", "False", "place == 'end'", "place != other", "'corner' == other"]),
        st.sampled_from(
            ["place in ('end', 'corner')", "other not in ['end', 'outside diameter']", "yes == no", "t > 2*min"]
        ),
        st.builds("({} {} {})".format, lengths, signs, lengths),
        st.builds("({} {} {})".format, plain_numbers, signs, plain_numbers),
        st.builds("({} < {} <= {})".format, lengths, lengths, lengths),
        st.builds("({} and {})".format, truths, truths),
        st.builds("({} or {} or {})".format, truths, truths, truths),
        st.builds("(not {})".format, truths),
        st.builds("({} if {} else {})".format, truths, truths, truths),
    )
)
floats = st.one_of(
    st.sampled_from([0.0, -0.0, 1.0, 2.0, -2.0, 0.5, math.nan]), st.integers(-64, 64).map(lambda k: k / 8)
)
values = st.fixed_dictionaries(
    dict.fromkeys(UNITS, floats)
    | {
        "place": st.sampled_from([*WORDS, ""]),
        "other": st.sampled_from(WORDS),
        "yes": st.booleans(),
        "no": st.booleans(),
    }
)


def read(text):
    """The checked tree; drawn texts that are too long or divide fixed numbers by zero are passed over."""
    try:
        return checked(text)
    except ExpressionError as problem:
        assume("nested too deeply" not in problem.problem and "characters long" not in problem.problem)
        assume("no finite number" not in problem.problem and "divides by zero" not in problem.problem)
        raise


def run_source(tree, rows, arrays):
    names = expression.helpers() | {f"w{code}": numpy.int8(code) for code in range(-1, 4)}
    return eval(expression.python(tree, arrays=arrays, name="v[{!r}]".format), names | {"v": rows})


def same(a, b):
    return a == b or (a != a and b != b)


@settings(max_examples=often(100, 300), deadline=None)
@given(st.one_of(truths, lengths, plain_numbers), st.lists(values, min_size=1, max_size=4))
def test_interpreted_compiled_and_array_forms_agree(text, rows):
    tree = read(text)
    columns = {name: numpy.array([row[name] for row in rows]) for name in rows[0]}
    for name in ("place", "other"):
        words = [row[name] for row in rows]
        columns[name] = numpy.array([WORDS.index(w) if w else -1 for w in words], dtype=numpy.int8)
    with numpy.errstate(all="ignore"):
        many = numpy.broadcast_to(run_source(tree, columns, arrays=True), len(rows))
    for row, of_column in zip(rows, many):
        one = expression.evaluate(tree, row)
        assert same(one, run_source(tree, row, arrays=False))
        assert same(one, of_column.item())


@settings(max_examples=often(100, 300), deadline=None)
@given(truths, values)
def test_python_itself_agrees(text, row):
    """The text as Python reads it, every value in millimetres, wherever no comparison is a matter of rounding."""
    tree = read(text)
    for found in expression.describe(tree, row):
        if isinstance(found.left, float):
            assume(found.left == found.right or not math.isclose(found.left, found.right, rel_tol=1e-6, abs_tol=1e-9))
    named = {name: numpy.float64(value) for name, value in row.items() if isinstance(value, float)}
    named |= {name: value for name, value in row.items() if not isinstance(value, float)}
    named["c"] = named["c"] / 1000
    with numpy.errstate(all="ignore"):
        reference = eval(text, {"__builtins__": {}, "true": True, **PYTHON}, named)
    assert bool(reference) == bool(expression.evaluate(tree, row))


@settings(max_examples=often(80, 150), deadline=None)
@given(truths, values)
def test_description_holds_what_was_compared(text, row):
    signs = {"<": "__lt__", "<=": "__le__", ">": "__gt__", ">=": "__ge__", "==": "__eq__", "!=": "__ne__"}
    tree = read(text)
    found = expression.describe(tree, row)
    compared = [node for node in expression.comparisons(tree) if node[5] not in ("truth", "words")]
    numbers = [f for f in found if f.unit not in ("truth", "words")]
    assert len(numbers) <= len(compared)
    for comparison in numbers:
        node = next(node for node in compared if node[1] == comparison.text)
        assert comparison.held is getattr(float(comparison.left), signs[node[2]])(float(comparison.right))


# --------------------------------------------------------------------------------------- what is refused

REFUSED = [
    "sqrt(a) > b", "abs() > b", "abs(a, b) > b", "min(a) > b", "max(*a) > b", "max(a, key=b) > b", "max((a, b)) > b", "abs(yes)",
    "min(a, t) > b", "max(a, 1) > b", "max(place, other)", "abs > b", "min(a, b)(a)", "max.abs(a)", "ａｂｓ(a) > b", "min(a,b,a,b,a,b)",
    "__import__('os')", "a.real > b", "().__class__", "steps[0] > t", "[a, b]", "(a, b)", "{a}", "{}", "{'a': a}",
    "lambda: a", "(x := a) > b", "f'{a}' == place", "f'{a}'", "[a for a in steps]", "a > b > (yield)", "await a", "*a", "...",
    "None", "a is b", "a is None", "a // b", "a % b", "a @ b", "a << 2", "a & b", "~a", "a ** b", "a ** 9", "a ** 1e9", "9**9**9",
    "a ** -0.5", "1j", "b'end' == place", "a in b", "a in (1, 2)", "place in (other,)", "place in 'end'", "place in ()", "1/0", "n/0",
    "a; b", "a = b", "import os", "", "   ", "a >", "a\n> b", "a \\\n> b", "'end", "place == 'e\\x6ed'", "__a__ > b", "_a > b", "A > b",
    "a__b > a", "ａ > b", "print", "1e400 > n", "10**18 > n", "a > b, a", "(1 - 1)**-1 > n", "n > 1/(2 - 2)", "\0",
    "True + 1 > 0", "yes < no", "steps == steps", "place", "'end' == 'end'", "'end'", "yes if 1 else no", "yes if no else place",
    "not a", "a and yes", "a > t", "a > 1", "a + t > b", "c**2 > a", "place == 'middle'", "place > 'end'", "place == a", "yes == 1",
]  # fmt: skip


@pytest.mark.parametrize("text", REFUSED)
def test_nothing_else_is_read(text):
    with pytest.raises(ExpressionError) as error:
        expression.check(expression.parse(text), type_of, ("truth",))
    assert error.value.problem and error.value.fix


@pytest.mark.parametrize("text", [None, 3, ["a > b"], b"a > b", True])
def test_what_is_no_text_is_refused(text):
    with pytest.raises(ExpressionError):
        expression.parse(text)


@pytest.mark.parametrize(
    "text",
    [
        "(" * 150 + "yes" + ")" * 150 + " and " + "not " * 30 + "yes",
        "not " * 100 + "yes",
        "a" * 600,
        "-" * 400 + "a > b",
        "(" * 400,
    ],
)
def test_depth_and_length_have_a_limit(text):
    with pytest.raises(ExpressionError):
        expression.parse(text)


@settings(max_examples=often(100, 300), deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_and_never_fails(text):
    try:
        checked(text)
    except ExpressionError:
        pass


@settings(max_examples=often(100, 200), deadline=None)
@given(
    st.lists(
        st.sampled_from(
            "a b c . ( ) [ ] , : * ** / + - < == in not and or if else lambda __ 'end' 1 mm import x".split()
        ),
        max_size=12,
    )
)
def test_any_row_of_words_is_read_or_refused_and_never_fails(words):
    test_any_text_is_read_or_refused_and_never_fails.hypothesis.inner_test(" ".join(words))


def test_source_holds_nothing_that_was_written():
    """Words are the only text of a rule that reaches the compiler, and only as quoted text."""
    tree = ("compare", "x", "==", ("name", "place"), ("word", "'); import os #", 0), "words")
    assert expression.python(tree) == """(n_place == "'); import os #")"""
    for forged in (
        ("name", "a) or (b"),
        ("name", "__a__"),
        ("compare", "", "or", ("number", 1.0), ("number", 1.0), ""),
    ):
        with pytest.raises(ValueError):
            expression.python(forged)


# --------------------------------------------------------------------------------------- units


@pytest.mark.parametrize(
    ("text", "row", "held"),
    [
        ("a > c", {"a": 1.0, "c": 999.0}, True),
        ("a > c", {"a": 1.0, "c": 1000.0}, False),
        ("a >= 1/64*inch", {"a": 0.396875}, True),
        ("a == 0.25*inch", {"a": 6.35}, True),
        ("t > 90*s", {"t": 1.5}, False),
        ("a*a > 1*cm**2", {"a": 10.0}, False),
        ("c/a == 25*percent", {"c": 250.0, "a": 1.0}, True),
        ("a > 0", {"a": 0.1}, True),
        ("c <= 25*um and a <= 0.025*mm", {"c": 25.0, "a": 0.025}, True),
        ("0.025*mm == c", {"c": 25.0}, True),
        ("n > a/c", {"n": 1.5, "a": 1.0, "c": 1000.0}, True),
    ],
)
def test_units_are_converted(text, row, held):
    assert expression.evaluate(checked(text), row) is held


def test_zero_of_one_kind_is_not_zero_of_another():
    checked("a > 0")
    with pytest.raises(ExpressionError, match="compares a length"):
        checked("a > 0*min")


def test_a_description_has_both_sides_in_one_unit():
    found = expression.describe(
        checked("a > c and place in ('end', 'corner') or not yes"), {"a": 2.0, "c": 1500.0, "place": "end", "yes": True}
    )
    assert found == [
        ("a > c", 2.0, 1.5, True, "mm"),
        ("place in ('end', 'corner')", "end", ("end", "corner"), True, "words"),
        ("yes", True, True, True, "truth"),
    ]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("6 mm", (6.0, "mm")), ("-0.5", (-0.5, "")), ("3/8 in", (0.375, "inch")), (".5 m/min", (0.5, "m/min")), ("1e3 N", (1000.0, "N")),
        ("6mm", (6.0, "mm")), ("6 mm 7", None), ("radius", None), ("6*mm", None), ("1/0 mm", None), ("1 if yes else 2", None), ("", None),
    ],
)  # fmt: skip
def test_quantities(text, found):
    assert expression.quantity(text) == found


def test_texts_mention_names():
    assert expression.mentions("{a} and {b}, {a}") == ["a", "b"]
    for text in ("{a", "a}", "{a.b}", "{a!r}", "{a:>9}", "{}", "{{a}}", "{__class__}"):
        with pytest.raises(ExpressionError):
            expression.mentions(text)
