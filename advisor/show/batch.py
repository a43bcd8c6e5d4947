"""The summary of a priced list on a terminal, and the bar that shows how far it is. cli.py prints them."""

from contextlib import contextmanager

from rich.console import Group
from rich.table import Table
from rich.text import Text

from advisor.answer import wording

EXAMPLES = 6


def summary(tally, *, row, against=None, notes=()):
    """Everything that is to be said of a priced list. row: what the list calls a row; against: name of the other
    shop.
    """
    currency = next(iter(tally.currencies)) if len(tally.currencies) == 1 else ""
    parts = [_headline(tally)]
    parts += [Text(note, style="yellow") for note in notes]
    if tally.by_method:
        parts += [Text(""), _by_method(tally, currency)]
    if tally.tightest:
        parts += [Text(""), _tightest(tally, row)]
    if against is not None:
        parts += [Text(""), *_against(tally, currency, against)]
    if tally.failed:
        parts += [Text(""), *_failed(tally)]
    return Group(*parts)


def _headline(tally):
    words = f"{tally.priced:,} of {_lines(tally.lines - tally.blank)} priced"
    if tally.blank:
        words += f", {tally.blank:,} empty"
    return Text(words + ".", style="bold")


def _lines(count):
    return f"{count:,} line" if count == 1 else f"{count:,} lines"


def _table(*headings):
    table = Table(box=None, padding=(0, 3, 0, 0), show_edge=False, header_style="bold")
    for heading in headings:
        text = heading in ("Method", "Radius", "Line", "Row", "Shop")
        table.add_column(heading, justify="left" if text else "right", no_wrap=text, overflow="ellipsis")
    return table


LONG = 600  # minutes from which a list is told in hours


def _hours(minutes, whole=None):
    """Minutes of a list as people plan them, in the unit that suits the whole of it.

    >>> _hours(12.4), _hours(12345.0), _hours(12.4, whole=12345.0), _hours(300.0, whole=12345.0)
    ('12 min', '206 h', '0.2 h', '5 h')
    """
    if (minutes if whole is None else whole) < LONG:
        return wording.minutes(minutes)
    hours = minutes / 60
    return f"{hours:,.0f} h" if hours >= 10 else f"{wording.number(hours, 1)} h"


def _money(amount, currency):
    return f"{amount:,.2f} {currency}".strip() if amount else ""


def _by_method(tally, currency):
    table = _table("Method", "Lines", "Time", "Cost")
    total = [0, 0.0, 0.0]
    whole = sum(one.minutes for one in tally.by_method.values())
    for name, one in sorted(tally.by_method.items(), key=lambda pair: -pair[1].lines):
        table.add_row(name, f"{one.lines:,}", _hours(one.minutes, whole), _cost(one.cost, currency, tally))
        total = [total[0] + one.lines, total[1] + one.minutes, total[2] + one.cost]
    table.add_row("all", f"{total[0]:,}", _hours(total[1]), _cost(total[2], currency, tally), style="bold")
    return table


def _cost(amount, currency, tally):
    return "several currencies" if len(tally.currencies) > 1 else _money(amount, currency)


def _tightest(tally, row):
    table = _table(row.capitalize(), "Radius", "Method", "In tolerance")
    for chance, line, radius, method in tally.tightest:
        table.add_row(f"{line:,}", radius, method, wording.percent(chance))
    return Group(Text("Tightest lines", style="bold"), table)


def _against(tally, currency, against):
    here, there = tally.here, tally.there
    table = _table("Shop", "Lines", "Time", "Cost")
    whole = max(here.minutes, there.minutes)
    table.add_row("this list", f"{here.lines:,}", _hours(here.minutes, whole), _cost(here.cost, currency, tally))
    table.add_row(against, f"{there.lines:,}", _hours(there.minutes, whole), _cost(there.cost, currency, tally))
    saved = here.minutes - there.minutes
    word = "saves" if saved >= 0 else "costs"
    told = f"Over the lines that both make, {against} {word} {_hours(abs(saved), whole)}"
    if here.cost and there.cost and len(tally.currencies) == 1:
        told += f" and {_money(abs(here.cost - there.cost), currency)}"
    told += f"; {tally.changed:,} of them by another method."
    more = [
        f"{_lines(count)} can only be made {where}."
        for count, where in ((tally.only_there, f"in {against}"), (tally.only_here, "here"))
        if count
    ]
    return [Text("Against another shop", style="bold"), table, Text(" ".join([told, *more]))]


def _failed(tally):
    parts = [Text(f"{_lines(tally.failed)} without a price", style="bold red")]
    for title, found in (("cannot be read", tally.unread), ("no method stands", tally.unmade)):
        ranked = sorted(found.items(), key=lambda pair: -pair[1][0])
        for why, (count, example) in ranked[:EXAMPLES]:
            parts.append(Text(f"{count:,} × {title}, {why}", style="red"))
            parts.append(Text(f"    {example}"))
        if len(ranked) > EXAMPLES:
            left = sum(count for _, (count, _) in ranked[EXAMPLES:])
            parts.append(
                Text(f"{left:,} × for {len(ranked) - EXAMPLES} other reasons: see the columns error and rule.")
            )
    return parts


@contextmanager
def progress(console, total):
    """A function to tell how much is done, which moves a bar on a terminal and does nothing anywhere else."""
    if not console.is_terminal:
        yield lambda done: None
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn("Pricing"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("price", total=total)
        yield lambda done: bar.update(task, completed=done)
