"""Pictures in a terminal: strokes as raised dots, words where the drawing has them. ASCII where the terminal has no
more."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.error_pictures import pictures, together
from advisor.drawing.model import ADVANCE, CAPITAL, PENS, SMALL
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.error_pictures import Wrong
    from advisor.drawing.model import Picture, Stroke


CELL = ADVANCE * SMALL / CAPITAL  # mm: as wide as a letter of a note
TALL = 2 * CELL  # mm
DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))  # of a cell, by row and column
BLANK = 0x2800


ROOM = (120.0, 75.0)  # mm of paper for one picture in a file


def screen(method: MethodAdvice, advice: Advice, *, ascii_only: bool = False) -> str:
    """What goes wrong with a method, as text for a terminal."""
    found = [text(wrong, ascii_only=ascii_only) for wrong in _wrongs(method, advice)]
    return "\n\n" + "\n\n".join(found)


def pages(method: MethodAdvice, advice: Advice, ending: str) -> list[bytes]:
    """What goes wrong with a method as the bytes of one page: a list of one. ending: "svg", "png" or "pdf"."""
    from advisor.show import typeset

    wrongs = _wrongs(method, advice)
    return typeset.typeset(typeset.page_of_picture(together(wrongs, room=ROOM), says=[w.says for w in wrongs]), ending)


def _wrongs(method: MethodAdvice, advice: Advice) -> list[Wrong]:
    if method.setup is None:
        reason = wording.why_not(method, advice)
        raise CalloutError(
            "--picture", "", f"has no {method.name} to show. {reason.rstrip('.')}", "Ask for another method."
        )
    return pictures(method, advice)


def text(wrong: Wrong, *, columns: int = 78, rows: int = 18, ascii_only: bool = False) -> str:
    """One error as lines of text: a title, the picture, what it says."""
    picture = together([wrong], room=(columns * CELL, rows * TALL))
    return "\n".join([*canvas(picture, columns, rows, ascii_only=ascii_only), *textwrap.wrap(wrong.says, columns)])


def canvas(picture: Picture, columns: int, rows: int, *, ascii_only: bool = False) -> list[str]:
    """A Picture whose lower left corner is at 0 as lines of text."""
    cells = [[0] * columns for _ in range(rows)]
    for stroke in picture.strokes:
        for x, y in _dots(stroke):
            column, row = math.floor(x / (CELL / 2)), math.floor((rows * TALL - y) / (TALL / 4))
            if 0 <= column < 2 * columns and 0 <= row < 4 * rows:
                cells[row // 4][column // 2] |= DOTS[row % 4][column % 2]
    lines = [[_sign(cell, ascii_only) for cell in row] for row in cells]
    for label in picture.labels:
        row = min(rows - 1, max(0, math.floor((rows * TALL - label.middle[1]) / TALL)))
        start = round(label.middle[0] / CELL - len(label.words) / 2)
        for place, letter in enumerate(label.words, start):
            if 0 <= place < columns:
                lines[row][place] = letter if letter.isascii() or not ascii_only else "?"
    text = ["".join(line).rstrip() for line in lines]
    while text and not text[0]:
        text.pop(0)
    return text


def _sign(cell: int, ascii_only: bool) -> str:
    if not cell:
        return " "
    if not ascii_only:
        return chr(BLANK + cell)
    return "#" if cell.bit_count() > 3 else "*" if cell.bit_count() > 1 else "."


def _dots(stroke: Stroke) -> Iterator[tuple[float, float]]:
    """Points along a stroke, a third of a dot apart, with gaps where its pen has them."""
    dashes = PENS[stroke.pen][1] if stroke.pen else None
    if stroke.fill and not stroke.pen and stroke.fill != "dark":
        return
    points = [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
    step, along = CELL / 6, 0.0
    # Dots are coarse: dashes are stretched so that they can be told apart.
    cycle = [2.2 * d for d in dashes] if dashes else None
    for (x, y), (x2, y2) in zip(points, points[1:], strict=False):
        long = math.dist((x, y), (x2, y2))
        count = max(1, math.ceil(long / step))
        for k in range(count):
            share = k / count
            if cycle is None or _on(along + share * long, cycle):
                yield x + share * (x2 - x), y + share * (y2 - y)
        along += long


def _on(along: float, cycle: Sequence[float]) -> bool:
    along %= sum(cycle)
    for n, part in enumerate(cycle):
        if along < part:
            return n % 2 == 0
        along -= part
    return True
