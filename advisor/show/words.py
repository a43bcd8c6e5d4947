"""Words of the trade on a terminal: one of them, or all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.columns import Columns
from rich.console import Group
from rich.text import Text

from advisor.drawing import sketches
from advisor.ground.errors import CalloutError
from advisor.rulebase import glossary
from advisor.show.blocks import indented, paragraph

if TYPE_CHECKING:
    from rich.console import RenderableType


def page(text: str) -> Group:
    """One term on a terminal: what it means, its picture, where it is from, and what to read next."""
    term = glossary.find(text)
    forms = [form for form in term.also if form.lower() not in (term.name.lower() + "s", term.name.lower())]
    parts: list[RenderableType] = [Text(term.name.upper(), style="bold"), paragraph(term.means)]
    if term.picture:
        parts.append(indented(Text("\n" + term.picture + "\n", no_wrap=True)))
    if term.name in sketches.sketches():
        parts.append(paragraph(f'Drawn: turn-radius word "{term.name}" -o sketch.png'))
    if forms:
        parts.append(paragraph(f"Also: {', '.join(forms)}."))
    if term.see:
        parts.append(paragraph(f"See: {', '.join(term.see)}."))
    parts.append(indented(Text(f"Source: {term.source}.", style="dim")))
    return Group(*parts)


def drawn(text: str | None, ending: str) -> list[bytes]:
    """The drawn sketch of a term as the bytes of one page: a list of one. ending: "svg", "png" or "pdf". Raises CalloutError
    where it has none."""
    from advisor.show import typeset

    term = glossary.find("" if text is None else text)
    picture = sketches.sketch(term.name)
    if picture is None:
        fix = f"Drawn are {', '.join(sketches.sketches())}."
        raise CalloutError("--output", term.name, "has no drawn sketch", fix)
    return typeset.typeset(typeset.page_of_picture(picture), ending)


def listing() -> Group:
    """Every term, in columns."""
    names = sorted(glossary.terms(), key=str.lower)
    return Group(
        Text(f"{len(names)} WORDS OF THE TRADE", style="bold"),
        Columns(names, padding=(0, 3), column_first=True),
        Text('\nRead one: turn-radius word "form tool"', style="dim"),
    )
