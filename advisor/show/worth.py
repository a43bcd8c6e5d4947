"""What something that could be bought would save on a list, on the terminal and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.table import Table
from rich.text import Text

from advisor.answer import wording
from advisor.show.batch import SEVERAL, of_both
from advisor.show.blocks import paragraph
from advisor.show.quote import money

if TYPE_CHECKING:
    from collections.abc import Sequence
    from decimal import Decimal
    from typing import Any

    from rich.console import RenderableType

    from advisor.lists.worth import Found, Worth

FOOT = (
    "Each is the whole list priced again with that alone, by the same rules; sizes are usual ones (rules/worth.toml). "
    "Hold the money against what it costs and how often such a list comes."
)


def screen(found: Found) -> Group:
    """The purchases that help, best first, and those that do not."""
    sums = [money(amount, found.currency) for amount in found.money if amount is not None]
    cost = f", {of_both(sums)}" if sums else ""
    lines = f"{found.made:,} of {found.lines:,} line{'s' * (found.lines != 1)} can be made in {found.shop}: {of_both(map(_hours, found.minutes))}{cost}."
    parts: list[RenderableType] = [Text(lines, style="bold")]
    if found.minutes[0] != found.minutes[1]:
        parts.append(Text(SEVERAL))
    if found.worth:
        table = Table(box=None, padding=(0, 2, 0, 0), show_edge=False, header_style="bold")
        table.add_column("Would save", justify="right", no_wrap=True)
        if sums:
            table.add_column(f"{found.currency}", justify="right", no_wrap=True)
        table.add_column("Lines", no_wrap=True)
        table.add_column("With")
        for one in found.worth:
            amount = [of_both(f"{part:,.2f}" for part in one.money)] if sums else []
            table.add_row(of_both(map(_hours, one.minutes)), *amount, _lines(one), one.says)
        parts += [Text(""), table]
    else:
        parts.append(paragraph("Nothing that is listed would save anything on this list."))
    if found.nothing and found.worth:
        parts += [Text(""), paragraph(f"No difference: {'; '.join(found.nothing)}.")]
    return Group(*parts, Text(""), paragraph(FOOT))


def _lines(one: Worth) -> str:
    """
    >>> from advisor.lists.worth import Worth
    >>> _lines(Worth("", (0.0, 0.0), (None, None), 2, 5, 0)), _lines(Worth("", (0.0, 0.0), (None, None), 0, 1, 0))
    ('5, 2 more', '1')
    """
    return f"{one.changed:,}" + (f", {one.more:,} more" if one.more else "")


def _hours(minutes: float) -> str:
    """Minutes with their sign, as hours where there are many.

    >>> _hours(12.4), _hours(-700.0), _hours(0.0)
    ('12 min', '-11.7 h', '0 min')
    """
    if abs(minutes) >= 600:
        return f"{minutes / 60:,.1f} h"
    return f"{'-' if minutes < 0 else ''}{wording.minutes(abs(minutes))}"


def answer(found: Found) -> dict[str, Any]:
    """The same as plain data; minutes and money with each line at its smallest and at its largest quantity."""
    return {
        "shop": found.shop,
        "currency": found.currency or None,
        "lines": found.lines,
        "made": found.made,
        **_both("minutes", found.minutes),
        **_both("cost", found.money),
        "worth": [
            {
                "what": one.says,
                **_both("saves_minutes", one.minutes),
                **_both("saves_cost", one.money),
                "more_lines": one.more,
                "lines_changed": one.changed,
                "fewer_lines": one.fewer,
            }
            for one in found.worth
        ],
        "no_difference": found.nothing,
    }


def _both(name: str, amounts: Sequence[float | Decimal | None]) -> dict[str, Any]:
    least, most = (None if amount is None else float(amount) for amount in amounts)
    return {name: least, f"{name}_at_largest": most}
