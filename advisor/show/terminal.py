"""An answer on a terminal. Builds rich renderables; cli.py prints them."""

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from advisor.answer import wording
from advisor.show import records, rows
from advisor.show.blocks import asked, grid, head, indented, paragraph

LONGEST_BLOCK = 10  # rows of a table before it is set in columns side by side


def screen(advice):
    """The whole answer, in the order in which a machinist needs it. Where no method stands: the reasons first, then what
    comes nearest, whole."""
    best, shown = advice.best, advice.shown
    parts = [_answer(advice)]
    if best:
        parts.append(paragraph(" ".join(wording.why(advice))))
    else:
        parts += [head("Why not"), _others(advice), *_way_out(advice)]
    if shown:
        parts += [
            head("Set"),
            _setup(shown, advice),
            *_table(shown, advice),
            head("Steps"),
            _numbered([wording.spoken(f, advice) for f in shown.steps]),
            head("Prove it"),
            _proof(advice),
            *_advice_of(shown, advice),
        ]
    parts += [head("Take care"), _bullets(wording.cautions(shown or advice.ranked[0], advice))]
    if best:
        parts += [head("The other methods"), _others(advice)]
    parts += [head("Assumed"), _assumed(advice)]
    return Group(*parts)


def _way_out(advice):
    told = [wording.to_settle(advice), *wording.why(advice)]
    nearest = advice.nearest
    named = [] if nearest is None else [Text(f"\nNEAREST: {nearest.name.upper()}", style="bold reverse")]
    return [head("A way out"), _bullets(told), *named, *(paragraph(text) for text in wording.shortfall(advice))]


def _answer(advice):
    best = advice.best
    if best is None:
        return Group(asked(advice), Text("\nNO METHOD STANDS", style="bold reverse"), *records.notice_lines(advice))
    m = best.minutes
    name = Text(f"\n{best.name.upper()}", style="bold reverse")
    each = wording.minutes(m["per_piece"]["mean"] * advice.callout.places)
    facts = (
        f"{wording.minutes(m['batch']['mean'])} for the batch (4 in 5 under {wording.minutes(m['batch']['p80'])}), "
        f"{each} a piece, {wording.percent(best.in_tolerance)} in tolerance"
    )
    return Group(asked(advice), name, Text(facts, style="bold"), Text(_call(advice)), *records.notice_lines(advice))


def _call(advice):
    return wording.close_call(advice) or ("No close call." if advice.ranked[1].rank else "Nothing else stands.")


def _setup(method, advice):
    made = grid({"no_wrap": False, "max_width": 32}, {"overflow": "fold"})
    for row in rows.setup_rows(method, advice):
        value = row.value + (f"; {row.dial}" if row.dial else "")
        made.add_row(row.label, Text(value, style="bold"))
    return indented(made)


def _table(method, advice):
    found = rows.table_rows(method, advice)
    if not found:
        return []
    title, headings, lines = found
    blocks = min(3, -(-len(lines) // LONGEST_BLOCK))
    height = -(-len(lines) // blocks)
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for heading in headings * blocks:
        table.add_column(heading, justify="right")
    for row in range(height):
        side_by_side = [
            lines[row + block * height] if row + block * height < len(lines) else [""] * len(headings)
            for block in range(blocks)
        ]
        table.add_row(*(cell for line in side_by_side for cell in line))
    return [Text(), paragraph(title), indented(table)]


def _numbered(texts):
    made = grid({"justify": "right", "no_wrap": True}, {"overflow": "fold"})
    for n, text in enumerate(texts, 1):
        made.add_row(f"{n}.", text)
    return indented(made)


def _bullets(texts):
    made = grid({"no_wrap": True}, {"overflow": "fold"})
    for text in texts:
        made.add_row("-", text)
    return indented(made)


def _proof(advice):
    made = grid({"overflow": "fold"}, {"overflow": "fold", "max_width": 30})
    for how, sees in rows.check_lines(advice.shown, advice):
        made.add_row(how, sees)
    return indented(made)


def _advice_of(method, advice):
    told = wording.why(advice)
    texts = [text for text in wording.advised(method, advice) if text not in told]
    return [head("Also"), _bullets(texts)] if texts else []


def _others(advice):
    made = grid({"no_wrap": True}, {"no_wrap": True}, {"overflow": "fold"})
    for method in advice.ranked:
        if method is advice.best:
            continue
        standing = "-" if method.rank is None else wording.minutes(method.minutes["batch"]["mean"])
        made.add_row(method.name, standing, wording.why_not(method, advice))
    return indented(made)


def _assumed(advice):
    """What can change the method a line each; what cannot, in one sentence."""
    told = [(wording.assumption(entry, advice), matters) for entry, matters in advice.assumed]
    made = grid({"no_wrap": True}, {"overflow": "fold"}, {"overflow": "fold"})
    for (name, value, origin), matters in told:
        if matters:
            made.add_row(name, value, origin)
    quiet = [f"{name} {value}" for (name, value, _), matters in told if not matters]
    parts = []
    if any(matters for _, matters in told):
        parts += [paragraph("Another value here can change the method:"), Padding(made, (0, 0, 0, 4))]
    if quiet:
        parts.append(paragraph(f"Without effect on the method: {', '.join(quiet)}."))
    return Group(*parts) if parts else paragraph("Nothing: everything was stated.")
