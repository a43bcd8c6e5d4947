"""Where numbers come from that only a screen has: by the formula, or the equation, that gave them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.study import derive, equations

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.language.expression import Tree
    from advisor.study.derive import Derivation


def derived(function: Callable[..., Any], name: str, number: float, advice: Advice, **arguments: Any) -> Derivation:
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


def line_of(
    left: str, text: str, tree: Tree, symbols: Mapping[str, float], number: float, row: str, advice: Advice
) -> Derivation:
    """The derivation of a number that only a screen has, by an equation of its own. left: its symbol; text: the equation, tree:
    the same parsed; symbols: what stands in it -> value; number: what comes of it; row: what it is called."""
    answer = derive.answer_text(number, derive.Unnamed("mm"), advice)
    line = derive.chain_of(left, text, equations.written(tree, symbols), number, answer)
    return derive.Derivation(
        "", row, wording.length(number, advice.callout.units), "formula", [line], "first principles", []
    )
