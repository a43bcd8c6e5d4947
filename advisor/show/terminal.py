"""An answer on a terminal. Builds rich renderables; cli.py prints them."""

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from advisor import explain
from advisor.show import records, rows

INDENT = (0, 0, 0, 2)
LONGEST_BLOCK = 10  # rows of a table before it is set in columns side by side


def screen(advice):
    """The whole answer, in the order in which a machinist needs it."""
    best = advice.best
    parts = [_answer(advice), _paragraph(" ".join(explain.why(advice)))]
    if best:
        parts += [
            _head("Set"),
            _setup(best, advice),
            *_table(best, advice),
            _head("Steps"),
            _numbered([explain.spoken(f, advice) for f in best.steps]),
            _head("Prove it"),
            _proof(advice),
            *_advice_of(best, advice),
        ]
    parts += [_head("Take care"), _bullets(_cautions(advice))]
    parts += [_head("The other methods" if best else "The methods"), _others(advice)]
    parts += [_head("Assumed"), _assumed(advice)]
    return Group(*parts)


def _head(words):
    return Text(f"\n{words.upper()}", style="bold")


def _paragraph(text):
    return Padding(Text(text), INDENT)


def _grid(*widths):
    table = Table.grid(padding=(0, 2, 0, 0))
    for width in widths:
        table.add_column(**width)
    return table


def _answer(advice):
    lines = [Text(explain.callout_line(advice))]
    lines.append(Text(f"Shop {advice.shop.name}, {advice.lathe.name}. Tolerance: {advice.callout.tolerance_from}.", style="dim"))
    best = advice.best
    if best is None:
        return Group(*lines, Text("\nNO METHOD STANDS", style="bold reverse"), *records.notice_lines(advice))
    m = best.minutes
    head = Text(f"\n{best.name.upper()}", style="bold reverse")
    each = explain.minutes(m["per_piece"]["mean"] * advice.callout.places)
    facts = (
        f"{explain.minutes(m['batch']['mean'])} for the batch (4 in 5 under {explain.minutes(m['batch']['p80'])}), "
        f"{each} a piece, {explain.percent(best.in_tolerance)} in tolerance"
    )
    return Group(*lines, head, Text(facts, style="bold"), Text(_call(advice)), *records.notice_lines(advice))


def _call(advice):
    if advice.close_call:
        return f"Close call: {explain.the(advice.ranked[1].name)} lies within a fifth of it."
    return "No close call." if advice.ranked[1].rank else "Nothing else stands."


def _setup(method, advice):
    grid = _grid({"no_wrap": False, "max_width": 32}, {"overflow": "fold"})
    for row in rows.setup_rows(method, advice):
        value = row.value + (f"; {row.dial}" if row.dial else "")
        grid.add_row(row.label, Text(value, style="bold"))
    return Padding(grid, INDENT)


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
        side_by_side = [lines[row + block * height] if row + block * height < len(lines) else [""] * len(headings) for block in range(blocks)]
        table.add_row(*(cell for line in side_by_side for cell in line))
    return [Text(), _paragraph(title), Padding(table, INDENT)]


def _numbered(texts):
    grid = _grid({"justify": "right", "no_wrap": True}, {"overflow": "fold"})
    for n, text in enumerate(texts, 1):
        grid.add_row(f"{n}.", text)
    return Padding(grid, INDENT)


def _bullets(texts):
    grid = _grid({"no_wrap": True}, {"overflow": "fold"})
    for text in texts:
        grid.add_row("-", text)
    return Padding(grid, INDENT)


def _proof(advice):
    grid = _grid({"overflow": "fold"}, {"overflow": "fold", "max_width": 30})
    method = advice.best or advice.ranked[0]
    for how, sees in rows.check_lines(method, advice):
        grid.add_row(how, sees)
    return Padding(grid, INDENT)


def _advice_of(method, advice):
    said = [explain.spoken(f, advice) for f in method.findings if f.kind == "advises"]
    general = [explain.spoken(f, advice) for f in advice.outcome.findings if f.kind == "advises" and not f.methods]
    told = explain.why(advice)
    texts = [text for text in dict.fromkeys(said + general) if text not in told]
    return [_head("Also"), _bullets(texts)] if texts else []


def _cautions(advice):
    method = advice.best or advice.ranked[0]
    return list(dict.fromkeys(explain.spoken(f, advice) for f in most_urgent_first(method.cautions)))


def most_urgent_first(findings):
    """What this very job brings up first, the standing cautions after."""
    return sorted(findings, key=lambda f: f.rule.kind == "caution")


def _others(advice):
    grid = _grid({"no_wrap": True}, {"no_wrap": True}, {"overflow": "fold"})
    for method in advice.ranked:
        if method is advice.best:
            continue
        standing = "-" if method.rank is None else explain.minutes(method.minutes["batch"]["mean"])
        grid.add_row(method.name, standing, explain.why_not(method, advice))
    return Padding(grid, INDENT)


def _assumed(advice):
    """What can change the method a line each; what cannot, in one sentence."""
    told = [(explain.assumption(entry, advice), matters) for entry, matters in advice.assumed]
    grid = _grid({"no_wrap": True}, {"overflow": "fold"}, {"overflow": "fold"})
    for (name, value, origin), matters in told:
        if matters:
            grid.add_row(name, value, origin)
    quiet = [f"{name} {value}" for (name, value, _), matters in told if not matters]
    parts = []
    if any(matters for _, matters in told):
        parts += [_paragraph("Another value here can change the method:"), Padding(grid, (0, 0, 0, 4))]
    if quiet:
        parts.append(_paragraph(f"Without effect on the method: {', '.join(quiet)}."))
    return Group(*parts) if parts else _paragraph("Nothing: everything was stated.")
