"""Where numbers come from that only a screen has: by the formula, or the equation, that gave them."""

from advisor.answer import wording
from advisor.study import derive, equations


def derived(function, name, number, advice, **arguments):
    """The derivation of a number that only a screen has, by the equations of the function that gave it."""
    lines = derive.worked(function, arguments, number, derive.Unnamed("mm"), advice)
    about = equations.described(function)
    return derive.Derivation(
        "",
        name,
        wording.length(number, advice.callout.units),
        "formula",
        lines or [f"{about.summary}."],
        about.source,
        [],
    )


def line_of(left, text, tree, symbols, number, row, advice):
    """The derivation of a number that only a screen has, by an equation of its own. left: its symbol; text: the equation, tree:
    the same parsed; symbols: what stands in it -> value; number: what comes of it; row: what it is called."""
    answer = derive.answer_text(number, derive.Unnamed("mm"), advice)
    line = derive.chain_of(left, text, equations.written(tree, symbols), number, answer)
    return derive.Derivation(
        "", row, wording.length(number, advice.callout.units), "formula", [line], "first principles", []
    )
