"""What the screens are built of: headings, paragraphs and tables, in the same way on all of them."""

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from advisor.answer import wording

INDENT = (0, 0, 0, 2)


def head(words):
    """The heading of a section, a line apart from what stands above."""
    return Text(f"\n{words.upper()}", style="bold")


def indented(renderable):
    """What stands under a heading."""
    return Padding(renderable, INDENT)


def paragraph(text):
    """A text under a heading."""
    return indented(Text(text))


def grid(*columns):
    """A table without headings and lines; columns: options of rich's, a dict each."""
    made = Table.grid(padding=(0, 2, 0, 0))
    for column in columns:
        made.add_column(**column)
    return made


def table(*columns, gap=2):
    """A table without lines; columns: (heading, justify); gap: blanks between them."""
    made = Table(box=None, padding=(0, gap, 0, 0), pad_edge=False, header_style="")
    for heading, justify in columns:
        made.add_column(heading, justify=justify, overflow="fold")
    return made


def asked(advice):
    """What the drawing asks, in which shop, and where the tolerance is from."""
    where = f"Shop {advice.shop.name}, {advice.lathe.name}. Tolerance: {advice.callout.tolerance_from}."
    return Group(Text(wording.callout_line(advice)), Text(where, style="dim"))
