"""An answer on a terminal. Builds rich renderables; cli.py prints them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.show import records, rows
from advisor.show.blocks import Columns, Prose, SideBySide, asked, bullets, head, numbered, paragraph
from advisor.show.set_order import in_order
from advisor.study import changes

if TYPE_CHECKING:
    from rich.console import RenderableType

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.show.rows import Row, Table


def screen(advice: Advice) -> Group:
    """The whole answer, in the order in which a machinist needs it. Where no method stands: the reasons first, then what
    comes nearest, whole."""
    best, shown = advice.best, advice.shown
    parts: list[RenderableType] = [_answer(advice)]
    if best:
        parts.append(paragraph(" ".join(wording.why(advice))))
    else:
        parts += [head("Why not"), _others(advice), *_way_out(advice)]
    if shown:
        parts += [
            head("Set"),
            _setup(shown, advice),
            *table_of(rows.table_rows(shown, advice)),
            head("Steps"),
            numbered([wording.spoken(f, advice) for f in shown.steps]),
            head("Prove it"),
            _proof(advice),
            *_advice_of(shown, advice),
        ]
    parts += [head("Take care"), bullets(wording.cautions(shown or advice.ranked[0], advice))]
    if best:
        parts += [head("The other methods"), _others(advice)]
    parts += [head("Assumed"), _assumed(advice)]
    return Group(*parts)


def _way_out(advice: Advice) -> list[RenderableType]:
    helps = wording.helps(advice, changes.equipment(advice))
    nearest = advice.nearest
    named = [] if nearest is None else [Text(f"\nNEAREST: {nearest.name.upper()}", style="bold reverse")]
    return [
        head("What would help"), paragraph(helps), head("A way out"), paragraph(wording.to_settle(advice)), *named,
        *(paragraph(text) for text in wording.shortfall(advice)),
    ]  # fmt: skip


def _answer(advice: Advice) -> Group:
    best = advice.best
    if best is None:
        return Group(asked(advice), Text("\nNO METHOD STANDS", style="bold reverse"), *records.notice_lines(advice))
    clear = "" if advice.close_call else f" {_clear(advice)}"
    first, second = wording.headline(best, advice)
    return Group(
        asked(advice),
        Text(f"\n{best.name.upper()}", style="bold reverse"),
        Prose(first, lead="", style="bold"),
        Prose(f"{second}{clear}", lead="", style="bold"),
        *records.notice_lines(advice),
    )


def _clear(advice: Advice) -> str:
    """What is said where the next method is not near: that, or in how many ways the choice would be the same where
    something that nobody stated can turn it."""
    if any(turns for _, turns in advice.assumed):
        from advisor.study import interview

        share = wording.chance(interview.agreed(advice))
        return f"The choice in {share} ways in which what nobody stated may lie."
    return "No close call." if advice.ranked[1].rank else "Nothing else stands."


def said(row: Row) -> tuple[str, str]:
    """A row of the setup as two texts: its label, and its value with what the dial shows."""
    return row.label, row.value + (f"; {row.dial}" if row.dial else "")


def _setup(method: MethodAdvice, advice: Advice) -> Columns:
    return Columns([said(row) for row in in_order(method, advice)], styles=("", "bold"))


def table_of(found: Table | None) -> list[RenderableType]:
    """A table of rows.table_rows under its title, long ones in columns side by side; nothing where there is none."""
    if not found:
        return []
    title, note, headings, lines = found
    return [Text(), paragraph(f"{title}, {note}"), SideBySide(headings, lines)]


def _proof(advice: Advice) -> Group:
    method = advice.shown
    if method is None:
        return Group()
    told = [] if any(check["use"] in ("proves", "compares") for check in method.checks) else [wording.NOTHING_PROVES]
    return Group(*map(paragraph, told), Columns(rows.check_lines(method, advice)))


def _advice_of(method: MethodAdvice, advice: Advice) -> list[RenderableType]:
    told = wording.why(advice)
    texts = [text for text in wording.advised(method, advice) if text not in told]
    return [head("Also"), bullets(texts)] if texts else []


def _others(advice: Advice) -> Columns:
    made = []
    for method in advice.ranked:
        if method is not advice.best:
            standing = "-" if method.rank is None else wording.amount(advice.measure(method), advice)
            made.append((method.name, standing, wording.why_not(method, advice)))
    return Columns(made, fixed=2)


def _assumed(advice: Advice) -> Group:
    """What can change the method a line each, with what it changes to; what cannot, in one sentence."""
    units = advice.callout.units
    made, quiet = [], []
    for entry, turns in advice.assumed:
        name, value, _ = wording.assumption(entry, advice)
        if turns:
            made.append((name, value, wording.leads_to(entry.name, turns, units)))
        else:
            quiet.append(f"{name} {value}")
    parts: list[RenderableType] = []
    if made:
        parts += [
            paragraph("Nobody stated these, and another value changes the method:"),
            Columns(made, lead="    ", fixed=2),
        ]
    if quiet:
        parts.append(paragraph(f"Without effect on the method: {', '.join(quiet)}."))
    return Group(*parts) if parts else Group(paragraph("Nothing: everything was stated."))
