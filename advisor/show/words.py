"""Words of the trade on a terminal: one of them, or all."""

from rich.columns import Columns
from rich.console import Group
from rich.text import Text

from advisor.rulebase import glossary
from advisor.show.blocks import indented, paragraph


def page(text):
    """One term on a terminal: what it means, its picture, where it is from, and what to read next."""
    term = glossary.find(text)
    forms = [form for form in term.also if form.lower() not in (term.name.lower() + "s", term.name.lower())]
    parts = [Text(term.name.upper(), style="bold"), paragraph(term.means)]
    if term.picture:
        parts.append(indented(Text("\n" + term.picture + "\n", no_wrap=True)))
    if forms:
        parts.append(paragraph(f"Also: {', '.join(forms)}."))
    if term.see:
        parts.append(paragraph(f"See: {', '.join(term.see)}."))
    parts.append(indented(Text(f"Source: {term.source}.", style="dim")))
    return Group(*parts)


def listing():
    """Every term, in columns."""
    names = sorted(glossary.terms(), key=str.lower)
    return Group(
        Text(f"{len(names)} WORDS OF THE TRADE", style="bold"),
        Columns(names, padding=(0, 3), column_first=True),
        Text('\nRead one: turn-radius word "form tool"', style="dim"),
    )
