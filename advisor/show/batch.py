"""The summary of a priced list on a terminal, and the bar that shows how far it is. cli.py prints them."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Group
from rich.table import Table
from rich.text import Text

from advisor.answer import wording
from advisor.asked import trade_words
from advisor.ground.units import shown
from advisor.lists import listing
from advisor.lists.pricing import Sum, misspelt
from advisor.show.blocks import Prose

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from decimal import Decimal

    from rich.console import Console, RenderableType

    from advisor.lists.files import Source
    from advisor.lists.headings import Column
    from advisor.lists.pricing import Order, Readings, Tally

EXAMPLES = 6
MOST_FAILED = 60  # rows without a price that are told one by one
MOST_ABOVE = 8
LONGEST = 240  # characters of a message on the screen; the priced list has the whole


def account(order: Order, source: Source) -> Group:
    """What is read of a list, what is not, and what is taken for every line, told before anything is priced."""
    parts = []
    if source.place or source.above:
        count = len(source.above)
        above = f"; {count} line{'s' * (count != 1)} above it left out:" if count else "."
        parts.append(Text(f"Heading in {source.place}{above}" if source.place else f"Heading{above}"))
        parts += [Text(f"  | {shown(text, 100)}", style="dim") for text in source.above[:MOST_ABOVE]]
        if count > MOST_ABOVE:
            parts.append(Text(f"  | and {count - MOST_ABOVE} more", style="dim"))
    if (encoding := getattr(source, "encoding", "UTF-8")) != "UTF-8":
        parts.append(Text(f"The list is in {encoding}."))
    carried = [order.columns[place] for place in order.carried]
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column()
    read = [_column(column) for column in carried if column.name]
    table.add_row("Read", ", ".join(read) or "nothing")
    left = [
        f"{shown(column.heading, 40)}{f' ({column.why})' if column.why else ''}"
        for column in carried
        if not column.name and column.heading
    ]
    if left:
        table.add_row("Not read", ", ".join(left))
    table.add_row("Every line", "; ".join(every_line(order)))
    return Group(*parts, table, *[Text(note, style="yellow") for note in misspelt(carried)], Text(""))


def _column(column: Column) -> str:
    """A column as it is read: the customer's word, and the name if that is another."""
    name = (column.name or "").replace("_", " ")
    unit = f" [{column.unit}]" if column.unit else ""
    if trade_words.bare(column.heading) == trade_words.bare(name):
        return name + unit
    return f"{shown(column.heading, 40)} = {name}{unit}"


def every_line(order: Order, *, sent: bool = False) -> list[str]:
    """What holds for each line since no column says it: list of words. sent: for the customer, without what is the
    shop's own affair."""
    names = {order.columns[place].name for place in order.carried}
    words = []
    for name, text in order.defaults.items():
        by = "by the rows above the heading" if name in order.titled else "as agreed" if sent else "as you say"
        where = " where a line says none" if name in names else ""
        words.append(f"{name.replace('_', ' ')} {shown(text, 40)}{where} ({by})")
    if "units" not in names | set(order.defaults) and not sent:
        unit = next((column.unit for column in order.columns if column.name and column.unit in ("mm", "inch")), None)
        bare = (
            "a size without a unit in your shop's, else the one beside it, else mm (in a line with 1/4 or .25: inches)"
        )
        words.append(f"sizes in {unit}, by the headings" if unit else bare)
    told = {"quantity": "1 piece", "material": listing.DEFAULT_MATERIAL, "support": "held in the chuck alone"}
    told |= {"stickout": "usual stickout", "skill": "journeyman"}
    if sent:
        told = {name: told[name] for name in ("quantity", "material")}
    words += [text for name, text in told.items() if name not in names | set(order.defaults)]
    if "general_tolerance" not in names | set(order.defaults):
        words.append("ISO 2768-m where a radius has no tolerance (inch: by its decimals)")
    if sent:
        return words
    if order.by == "cost":
        words.append("the cheapest method")
    return [*words, f"shop {shown(order.shop, 60)}"]


def readings(found: Readings, *, row: str) -> Iterator[RenderableType]:
    """How each line of a list is read: an iterator of renderables."""
    table = Table(box=None, padding=(0, 1, 0, 0), show_edge=False, header_style="bold")
    items = any(line.item for line in found.lines)
    heads = [row.capitalize(), *(["Item"] if items else []), "Radius", "Limits", "Shape", "Diameter", "Material", "Off"]
    for head in heads:
        right = head in (row.capitalize(), "Off")
        table.add_column(head, justify="right" if right else "left", no_wrap=right or head == "Item", overflow="fold")
    for line in found.lines:
        if not line.problem:
            own = [line.item] if items else []
            cells = [f"{line.line:,}", *own, line.radius, line.limits, line.shape, line.diameter, line.material]
            table.add_row(*map(Text, [*cells, line.pieces]))
    yield table
    assumed: dict[str, list[int]] = {}
    for line in found.lines:
        if line.assumed:
            assumed.setdefault(line.assumed, []).append(line.line)
    if assumed:
        yield Text("\nAssumed", style="bold")
        for words, lines in sorted(assumed.items(), key=lambda pair: -len(pair[1])):
            yield Prose(f"{words}: {_few(lines, row)}")
    wrong = [line for line in found.lines if line.problem]
    if wrong:
        yield Text(f"\n{_lines(found.failed)} cannot be read", style="bold red")
        for line in wrong:
            item = f" (item {line.item})" if line.item else ""
            yield Prose(f"{row} {line.line}{item}: {shown(line.problem, LONGEST)}")
    if found.notes:
        yield Text(f"\nNot read, since they are text, a total or the heading again: {_few(found.notes, row)}.")
    shown_count = len(found.lines)
    more = f" The first {shown_count:,} are shown." if shown_count < found.count else ""
    read = found.count - found.failed
    yield Text(f"\n{read:,} of {_lines(found.count)} can be read. Nothing was priced or written.{more}", style="bold")


def _few(lines: Sequence[int], row: str) -> str:
    lines = list(dict.fromkeys(lines))
    if len(lines) > 12:
        return f"{len(lines):,} {row}s"
    return f"{row}{'s' * (len(lines) > 1)} {', '.join(str(line) for line in lines)}"


def summary(tally: Tally, *, row: str, against: str | None = None) -> Group:
    """Everything that is to be said of a priced list. row: what the list calls a row; against: name of the other
    shop.
    """
    parts: list[RenderableType] = [_headline(tally)]
    if tally.by_method:
        parts += [Text(""), _by_method(tally)]
    if tally.tightest:
        parts += [Text(""), _tightest(tally, row)]
    if against is not None:
        parts += [Text(""), *_against(tally, against)]
    if tally.failed:
        parts += [Text(""), *_failed(tally, row)]
    return Group(*parts)


def _headline(tally: Tally) -> Text:
    words = f"{tally.priced:,} of {_lines(tally.lines - tally.blank - tally.notes)} priced"
    if tally.blank:
        words += f", {tally.blank:,} empty"
    if tally.notes:
        words += f", {tally.notes:,} with text alone"
    return Text(words + ".", style="bold")


def _lines(count: int) -> str:
    return f"{count:,} line" if count == 1 else f"{count:,} lines"


def _table(*headings: str) -> Table:
    table = Table(box=None, padding=(0, 3, 0, 0), show_edge=False, header_style="bold")
    for heading in headings:
        text = heading in ("Method", "Radius", "Line", "Row", "Shop")
        table.add_column(heading, justify="left" if text else "right", no_wrap=text, overflow="ellipsis")
    return table


LONG = 600  # minutes from which a list is told in hours


def _hours(minutes: float, whole: float | None = None) -> str:
    """Minutes of a list as people plan them, in the unit that suits the whole of it.

    >>> _hours(12.4), _hours(12345.0), _hours(12.4, whole=12345.0), _hours(300.0, whole=12345.0)
    ('12 min', '206 h', '0.2 h', '5 h')
    """
    if (minutes if whole is None else whole) < LONG:
        return wording.minutes(minutes)
    hours = minutes / 60
    return f"{hours:,.0f} h" if hours >= 10 else f"{wording.number(hours, 1)} h"


def _money(money: Mapping[str, Decimal]) -> str:
    """Sums of money, one for each currency; '' where there is none.

    >>> from decimal import Decimal
    >>> _money({"EUR": Decimal("1234.5"), "USD": Decimal(3)})
    '1,234.50 EUR and 3.00 USD'
    """
    return " and ".join(f"{amount:,.2f} {currency}".strip() for currency, amount in sorted(money.items()))


SEVERAL = (
    "Several quantities of a line are alternatives and not added: each line at its smallest to each at its largest."
)


def of_both(texts: Iterable[str]) -> str:
    """What stands at the smallest and at the largest quantities: two texts -> a text.

    >>> of_both(["8.3 h", "12 h"]), of_both(["8.3 h", "8.3 h"]), of_both(["", "5.00 EUR"])
    ('8.3 h to 12 h', '8.3 h', '0 to 5.00 EUR')
    """
    least, most = texts
    return least if least == most else f"{least or '0'} to {most or '0'}"


def _by_method(tally: Tally) -> Group:
    costs = any(one.money for one in tally.by_method.values())
    table = _table("Method", "Lines", "Time", *(["Cost"] if costs else []))
    sums = tally.by_method, tally.by_method_largest
    names = sorted(sums[0].keys() | sums[1].keys(), key=lambda name: -sums[0].get(name, Sum()).lines)
    totals = [Sum(), Sum()]
    for of, total in zip(sums, totals, strict=True):
        for one in of.values():
            total.add(one)
    whole = totals[0].minutes
    of_methods = [(name, sums[0].get(name, Sum()), sums[1].get(name, Sum())) for name in names]
    for name, least, most in [*of_methods, ("all", totals[0], totals[1])]:
        cells = [f"{least.lines:,}", f"{most.lines:,}"], [_hours(one.minutes, whole) for one in (least, most)]
        money = [[_money(one.money) for one in (least, most)]] if costs else []
        table.add_row(name, *(of_both(pair) for pair in (*cells, *money)), style="bold" if name == "all" else None)
    told = (
        []
        if costs
        else [Text("The shop gives no hourly rate, so there is no cost, and methods are chosen by minutes.")]
    )
    return Group(table, *([Text(SEVERAL)] if tally.several else []), *told)


def _tightest(tally: Tally, row: str) -> Group:
    table = _table(row.capitalize(), "Radius", "Method", "In tolerance")
    for chance, line, radius, method in tally.tightest:
        table.add_row(f"{line:,}", radius, method, wording.chance(chance))
    return Group(Text("Tightest lines", style="bold"), table)


def _against(tally: Tally, against: str) -> list[RenderableType]:
    table = _table("Shop", "Lines", "Time", "Cost")
    whole = max(tally.here.minutes, tally.there.minutes)
    for name, least, most in (
        ("this list", tally.here, tally.here_largest),
        (against, tally.there, tally.there_largest),
    ):
        time = of_both([_hours(least.minutes, whole), _hours(most.minutes, whole)])
        table.add_row(name, f"{least.lines:,}", time, of_both([_money(least.money), _money(most.money)]))
    least, most = (
        _saves(*pair, against, whole) for pair in ((tally.here, tally.there), (tally.here_largest, tally.there_largest))
    )
    told = f"Over the lines that both make, {least}"
    if least != most:
        told += f" with each at its smallest quantity; {most} with each at its largest"
    told += f"; {tally.changed:,} of them by another method."
    more = [
        f"{_lines(count)} can only be made {where}."
        for count, where in ((tally.only_there, f"in {against}"), (tally.only_here, "here"))
        if count
    ]
    return [Text("Against another shop", style="bold"), table, Text(" ".join([told, *more]))]


def _saves(here: Sum, there: Sum, against: str, whole: float) -> str:
    """What another shop saves, in words. here, there: Sums over the same lines; whole: minutes that tell the unit."""
    saved = here.minutes - there.minutes
    told = f"{against} {'saves' if saved >= 0 else 'takes'} {_hours(abs(saved), whole)}"
    told += "" if saved >= 0 else " more"
    if len(here.money) == 1 and here.money.keys() == there.money.keys():
        ((currency, amount),) = here.money.items()
        less = amount - there.money[currency]
        told += (
            f" and {'saves' if less >= 0 else 'costs'} {_money({currency: abs(less)})}{'' if less >= 0 else ' more'}"
        )
    elif here.money and there.money:
        told += " (the currencies differ, so what it saves in money is not said)"
    return told


def _failed(tally: Tally, row: str) -> list[RenderableType]:
    parts: list[RenderableType] = [Text(f"{_lines(tally.failed)} without a price", style="bold red")]
    for title, found in (("cannot be read", tally.unread), ("no method stands", tally.unmade)):
        ranked = sorted(found.items(), key=lambda pair: -pair[1][0])
        if tally.failed > MOST_FAILED:
            for why, (count, example) in ranked[:EXAMPLES]:
                parts.append(Text(f"{count:,} × {title}, {why}", style="red"))
                parts.append(Text(f"    {example}"))
            if len(ranked) > EXAMPLES:
                left = sum(count for _, (count, _) in ranked[EXAMPLES:])
                parts.append(
                    Text(f"{left:,} × for {len(ranked) - EXAMPLES} other reasons: see the columns error and rule.")
                )
    for failure in tally.failures if tally.failed <= MOST_FAILED else ():
        item = f" (item {failure.item})" if failure.item else ""
        column = f"{failure.column}: " if failure.column else ""
        parts.append(Text(f"  {row} {failure.line}{item}: {column}{shown(failure.problem, LONGEST)}"))
    return parts


@contextmanager
def progress(console: Console, total: int | None) -> Iterator[Callable[[int], None]]:
    """A function to tell how much is done, which moves a bar on a terminal and does nothing anywhere else."""
    if not console.is_terminal:
        yield lambda done: None
        return
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (TextColumn("Pricing"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task("price", total=total)
        yield lambda done: bar.update(task, completed=done)
