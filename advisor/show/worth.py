"""What something that could be bought would save on a list, on the terminal and as JSON."""

from rich.console import Group
from rich.table import Table
from rich.text import Text

from advisor.answer import wording
from advisor.show.blocks import paragraph
from advisor.show.quote import money

FOOT = (
    "Each is the whole list priced again with that alone, by the same rules; sizes are usual ones (rules/worth.toml). "
    "Hold the money against what it costs and how often such a list comes."
)


def screen(found):
    """The purchases that help, best first, and those that do not."""
    cost = "" if found.money is None else f", {money(found.money, found.currency)}"
    lines = f"{found.made:,} of {found.lines:,} line{'s' * (found.lines != 1)} can be made in {found.shop}: {_hours(found.minutes)}{cost}."
    parts = [Text(lines, style="bold")]
    if found.worth:
        table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="bold")
        table.add_column("Would save", justify="right", no_wrap=True)
        if found.money is not None:
            table.add_column(f"{found.currency}", justify="right", no_wrap=True)
        table.add_column("Lines", no_wrap=True)
        table.add_column("With")
        for one in found.worth:
            amount = [] if found.money is None else [f"{one.money:,.2f}"]
            table.add_row(_hours(one.minutes), *amount, _lines(one), one.says)
        parts += [Text(""), table]
    else:
        parts.append(paragraph("Nothing that is listed would save anything on this list."))
    if found.nothing and found.worth:
        parts += [Text(""), paragraph(f"No difference: {'; '.join(found.nothing)}.")]
    return Group(*parts, Text(""), paragraph(FOOT))


def _lines(one):
    """
    >>> from advisor.lists.worth import Worth
    >>> _lines(Worth("", 0.0, None, 2, 5, 0)), _lines(Worth("", 0.0, None, 0, 1, 0))
    ('5, 2 more', '1')
    """
    return f"{one.changed:,}" + (f", {one.more:,} more" if one.more else "")


def _hours(minutes):
    """Minutes with their sign, as hours where there are many.

    >>> _hours(12.4), _hours(-700.0), _hours(0.0)
    ('12 min', '-11.7 h', '0 min')
    """
    if abs(minutes) >= 600:
        return f"{minutes / 60:,.1f} h"
    return f"{'-' if minutes < 0 else ''}{wording.minutes(abs(minutes))}"


def answer(found):
    """The same as plain data."""
    return {
        "shop": found.shop,
        "currency": found.currency or None,
        "lines": found.lines,
        "made": found.made,
        "minutes": found.minutes,
        "cost": None if found.money is None else float(found.money),
        "worth": [
            {
                "what": one.says,
                "saves_minutes": one.minutes,
                "saves_cost": None if one.money is None else float(one.money),
                "more_lines": one.more,
                "lines_changed": one.changed,
                "fewer_lines": one.fewer,
            }
            for one in found.worth
        ],
        "no_difference": found.nothing,
    }
