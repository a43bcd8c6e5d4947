"""What the screens are built of: headings, paragraphs and tables, in the same way on all of them."""

from __future__ import annotations

import functools
import re
import textwrap
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.columns import Columns as SideBySideTexts
from rich.console import Group
from rich.padding import Padding
from rich.segment import Segment
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from advisor.answer import wording
from advisor.show import reading

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from typing import Any

    from rich.console import Console, ConsoleOptions, JustifyMethod, RenderableType, RenderResult

    from advisor.answer.advice import Advice

INDENT = (0, 0, 0, 2)
READABLE = 88  # columns of a line of prose, at any width of the terminal
LEAST = 12  # columns of a cell before its words are broken
_UNITS = "mm|in|inch|min|h|rpm|m/min|ft/min|mm/rev|in/rev|%|HB|HRC|N|kW|hp|lbf|µm|µin|cm²|cm³|ft|off|pieces|arcs"
_BELONGS = re.compile(rf"(?<=[0-9]) (?=(?:{_UNITS})(?![\w/]))|(?<=\bR) (?=[0-9.])")
_JOINT = "\0"  # in place of a blank at which no line ends


@functools.lru_cache(maxsize=4096)  # a table tries many widths, and a screen is laid out many times until it fits
def wrapped(text: str, width: int) -> tuple[str, ...]:
    """Lines of a text that fit the width; a figure stays with its unit.

    >>> wrapped("let it out to 6.5 mm, no more", 17)
    ('let it out to', '6.5 mm, no more')
    """
    joined = _BELONGS.sub(_JOINT, str(text))
    lines = textwrap.wrap(joined, max(width, 1), break_on_hyphens=False)
    return tuple(line.replace(_JOINT, " ") for line in lines) or ("",)


class Prose:
    """A text in lines no wider than reads well. lead: what stands before its first line; the others are set in as
    far."""

    def __init__(self, text: str, *, lead: str = "  ", style: str = "") -> None:
        self.text, self.lead, self.style = text, lead, style

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Text]:
        width = min(options.max_width, READABLE) - len(self.lead)
        lines = wrapped(self.text, max(width, LEAST))
        for lead, line in zip([self.lead, *[" " * len(self.lead)] * len(lines)], lines):
            yield Text.assemble(lead, (line, self.style))

    def put(self, words: Callable[[str], str]) -> Prose:
        """The same with its words put otherwise."""
        return Prose(words(self.text), lead=words(self.lead), style=self.style)


class Narrow:
    """Anything in lines no wider than reads well."""

    def __init__(self, renderable: RenderableType) -> None:
        self.renderable = renderable

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        yield from console.render(self.renderable, options.update(width=min(options.max_width, READABLE)))

    def put(self, words: Callable[[str], str]) -> Narrow:
        """The same with its words put otherwise."""
        return Narrow(put(self.renderable, words))


class Columns:
    """Rows of words in columns as wide as they need to be, or as takes the fewest lines where there is no room for
    that. rows: lists of as many texts each; styles: one a column; lead: what each line begins with; label: what the first
    begins with instead; fixed: how many columns keep their width."""

    def __init__(
        self,
        rows: Iterable[Iterable[object]],
        *,
        styles: Sequence[str] = (),
        lead: str = "  ",
        label: str | None = None,
        fixed: int | None = None,
        gap: int = 2,
    ) -> None:
        self.rows, self.styles, self.lead, self.label, self.gap = (
            [list(map(str, r)) for r in rows],
            styles,
            lead,
            label,
            gap,
        )
        self.fixed = fixed

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Text]:
        if not self.rows:
            return
        widths = self.widths(options.max_width - len(self.lead))
        styles = [*self.styles, *[""] * len(widths)]
        lead = self.lead if self.label is None else self.label
        for row in self.rows:
            cells = [wrapped(cell, width) for cell, width in zip(row, widths, strict=True)]
            for n in range(max(map(len, cells))):
                line, lead = Text(lead), self.lead
                for cell, width, style in zip(cells, widths, styles):
                    line.append(f"{cell[n] if n < len(cell) else '':<{width + self.gap}}", style)
                line.rstrip()
                yield line

    def widths(self, room: int) -> list[int]:
        """Columns of each column: what it needs, the last two of them narrowed so that the rows take the fewest
        lines."""
        needed = [min(max(map(len, column)), READABLE) for column in zip(*self.rows, strict=True)]
        room -= self.gap * (len(needed) - 1)
        if sum(needed) <= room or len(needed) == 1:
            return [min(width, room) for width in needed]
        *before, one, last = needed
        if self.fixed == len(needed) - 1:
            return [*before, one, min(last, max(room - sum(before) - one, LEAST))]
        left = max(room - sum(before), 2 * LEAST)
        tried = [(n, min(left - n, READABLE)) for n in range(min(LEAST, one), min(one, left - LEAST) + 1)]
        return [*before, *min(tried, key=lambda pair: (self.height(pair), -pair[0]))]

    def height(self, widths: tuple[int, int]) -> int:
        """How many lines the rows take with the last two columns so wide."""
        return sum(
            max(len(wrapped(cell, width)) for cell, width in zip(row[-2:], widths, strict=True)) for row in self.rows
        )

    def put(self, words: Callable[[str], str]) -> Columns:
        """The same with its words put otherwise."""
        rows = [[words(cell) for cell in row] for row in self.rows]
        label = None if self.label is None else words(self.label)
        return Columns(rows, styles=self.styles, lead=self.lead, label=label, fixed=self.fixed, gap=self.gap)


class SideBySide:
    """A table of short cells; a long one in several columns of lines beside each other, as many as there is room for.
    headings: of each column; rows: lists of as many texts; enough: lines that need no second column."""

    def __init__(self, headings: Sequence[str], rows: Sequence[Sequence[str]], *, enough: int = 10) -> None:
        self.headings, self.rows, self.enough = headings, rows, enough

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        words = [max(map(len, heading.split() or [""])) for heading in self.headings]
        widths = [max(one, *(len(row[n]) for row in self.rows)) for n, one in enumerate(words)]
        block = sum(widths) + 2 * len(widths)
        blocks = max(1, min((options.max_width - 2 + 4) // (block + 2), -(-len(self.rows) // self.enough)))
        height = -(-len(self.rows) // blocks)
        heads = [wrapped(heading, width) for heading, width in zip(self.headings, widths, strict=True)]
        deep = max(map(len, heads))
        heads = [("",) * (deep - len(head)) + head for head in heads]
        lines = [[head[n] for head in heads] * blocks for n in range(deep)]
        for n in range(height):
            lines.append([cell for row in self.rows[n::height] for cell in row])
        for line in lines:
            cells = [f"{cell:>{widths[n % len(widths)]}}" for n, cell in enumerate(line)]
            size = len(widths)
            yield Text(
                "  " + "    ".join("  ".join(cells[at : at + size]) for at in range(0, len(cells), size)).rstrip()
            )

    def put(self, words: Callable[[str], str]) -> SideBySide:
        """The same with its words put otherwise."""
        return SideBySide(
            [words(head) for head in self.headings],
            [[words(cell) for cell in row] for row in self.rows],
            enough=self.enough,
        )


def put(renderable: Any, words: Callable[[str], str]) -> Any:
    """A screen with its words put otherwise. words: function from text to text. Tables are changed in place."""
    if isinstance(renderable, str):
        return words(renderable)
    if isinstance(renderable, Text):
        at = [len(words(renderable.plain[:n])) for n in range(len(renderable.plain) + 1)]
        spans = [span._replace(start=at[span.start], end=at[span.end]) for span in renderable.spans]
        return Text(words(renderable.plain), style=renderable.style, spans=spans)
    if isinstance(renderable, Group):
        return Group(*(put(one, words) for one in renderable.renderables))
    if isinstance(renderable, Padding):
        sides = (renderable.top, renderable.right, renderable.bottom, renderable.left)
        return Padding(put(renderable.renderable, words), sides)
    if isinstance(renderable, Table):
        for column in renderable.columns:
            column.header = put(column.header, words)
            column._cells = [put(cell, words) for cell in column._cells]
        return renderable
    if isinstance(renderable, Tree):
        renderable.label = put(renderable.label, words)
        renderable.children = [put(child, words) for child in renderable.children]
        return renderable
    if isinstance(renderable, SideBySideTexts):
        renderable.renderables = [put(one, words) for one in renderable.renderables]
        return renderable
    return renderable.put(words)


def bullets(texts: Iterable[str]) -> Group:
    """Texts with a dash before each."""
    return Group(*(Prose(text, lead="  -  ") for text in texts))


def numbered(texts: Sequence[str]) -> Group:
    """Texts with a number before each."""
    wide = len(str(len(texts)))
    return Group(*(Prose(text, lead=f"  {n:>{wide}}.  ") for n, text in enumerate(texts, 1)))


def head(words: str) -> Text:
    """The heading of a section, a line apart from what stands above."""
    return Text(f"\n{words.upper()}", style="bold")


def indented(renderable: RenderableType) -> Padding:
    """What stands under a heading."""
    return Padding(renderable, INDENT)


def paragraph(text: str) -> Prose:
    """A text under a heading."""
    return Prose(text)


def grid(*columns: Mapping[str, Any]) -> Table:
    """A table without headings and lines; columns: options of rich's, a dict each."""
    made = Table.grid(padding=(0, 2, 0, 0))
    for column in columns:
        made.add_column(**column)
    return made


def table(*columns: tuple[str, JustifyMethod], gap: int = 2) -> Table:
    """A table without lines; columns: (heading, justify); gap: blanks between them."""
    made = Table(box=None, padding=(0, gap, 0, 0), pad_edge=False, header_style="")
    for heading, justify in columns:
        made.add_column(heading, justify=justify, overflow="fold")
    return made


class LongTable:
    """A long table, laid out by the widest cell of each column, so that twenty thousand rows take no second.

    columns: (heading, justify); rows: lists of texts; folds: the place of the column whose texts are broken where a line
    is too narrow; headed: whether the headings are shown.
    """

    def __init__(
        self, columns: Sequence[tuple[str, str]], rows: Sequence[Sequence[str]], *, folds: int, headed: bool = True
    ) -> None:
        self.columns, self.rows, self.folds, self.headed = columns, rows, folds, headed

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> Iterator[Segment]:
        rows = [[heading for heading, _ in self.columns], *self.rows] if self.headed else self.rows
        widths = [max(map(_width, texts)) for texts in zip(*rows)]
        others = sum(width + 1 for place, width in enumerate(widths) if place != self.folds)
        widths[self.folds] = max(min(widths[self.folds], options.max_width - others), 1)
        end = Segment.line()
        for row in rows:
            for line in self._lines(row, widths, console):
                yield Segment(line)
                yield end

    def _lines(self, row: Sequence[str], widths: Sequence[int], console: Console) -> Iterator[str]:
        if _width(row[self.folds]) <= widths[self.folds]:
            yield self._line(row, widths)
            return
        for part in Text(row[self.folds]).wrap(console, widths[self.folds], overflow="fold"):
            part = part.plain.rstrip()
            yield self._line([part if place == self.folds else text for place, text in enumerate(row)], widths)
            row = [""] * len(row)

    def _line(self, row: Sequence[str], widths: Sequence[int]) -> str:
        padded = []
        for (_, justify), text, width in zip(self.columns, row, widths):
            width += len(text) - _width(text)
            padded.append(text.rjust(width) if justify == "right" else text.ljust(width))
        return " ".join(padded)

    def put(self, words: Callable[[str], str]) -> LongTable:
        """The same with its words put otherwise."""
        columns = [(words(heading), justify) for heading, justify in self.columns]
        rows = [[words(text) for text in row] for row in self.rows]
        return LongTable(columns, rows, folds=self.folds, headed=self.headed)


def _width(text: str) -> int:
    return len(text) if text.isascii() else cell_len(text)


def asked(advice: Advice) -> Group:
    """What the drawing asks, how it was read, in which shop, and where the tolerance is from where it does not stand at
    the radius."""
    where = f"Shop {advice.shop.name}, {advice.lathe.name}."
    if advice.callout.tolerance_from.kind not in ("equal", "unequal", "limits"):
        where += f" Tolerance: {advice.callout.tolerance_from}."
    told = [Prose(text, lead="", style="bold") for text in reading.notes(advice.callout)]
    return Group(
        Prose(wording.callout_line(advice), lead=""),
        Prose(reading.sentence(advice.callout), lead=""),
        Prose(where, lead="", style="dim"),
        *told,
    )
