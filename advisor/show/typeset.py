"""Drawings and pages through the typesetter: Typst source out of plain data, and PDF, SVG or PNG out of that.

Everything that is written reaches the source as a string literal, so no words can turn into markup.
"""

from __future__ import annotations

import functools
import importlib.util
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.drawing.model import CAPITAL, PENS
from advisor.ground.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from advisor.drawing.model import Label, Picture


FILLS = {"white": "white", "light": "luma(228)", "dark": "black"}
LETTERING = "DejaVu Sans Mono"
FONTS = ("Lato", "Libertinus Serif", LETTERING)
DOTS_PER_INCH = 200


def template(name: str) -> str:
    """The text of a file of show/templates."""
    return (resources.files("advisor.show") / "templates" / name).read_text(encoding="utf-8")


def text(words: str) -> str:
    """Words as a string literal of the typesetter's.

    >>> print(text('R3/8" \\\\ #x'))
    "R3/8\\" \\\\ #x"
    """
    clean = "".join(c if c.isprintable() or c in "\n\u00a0" else " " for c in str(words))
    return '"' + clean.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def mm(value: float) -> str:
    """A length in the typesetter's source.

    >>> mm(2.5), mm(-1e-9)
    ('2.5mm', '0mm')
    """
    number = f"{value:.5f}".rstrip("0").rstrip(".")
    return f"{'0' if number == '-0' else number}mm"


def picture(drawing: Picture, *, width: float, height: float) -> str:
    """A Picture as source, its lower left corner at that of a box of this size [mm]."""
    parts = []
    for stroke in drawing.strokes:
        points = [f"({mm(x)}, {mm(height - y)})" for x, y in stroke.points]
        moves = [f"curve.move({points[0]})", *(f"curve.line({p})" for p in points[1:])]
        if stroke.closed:
            moves.append("curve.close()")
        fill = f"fill: {FILLS[stroke.fill]}, " if stroke.fill else ""
        parts.append(f"place(top + left, curve({fill}stroke: {_pen(stroke.pen)}, {', '.join(moves)}))")
    parts += [_label(label, height) for label in drawing.labels]
    return f"box(width: {mm(width)}, height: {mm(height)}, {{ {'; '.join(parts)} }})"


def _pen(name: str | None) -> str:
    if name is None:
        return "none"
    width, dashes = PENS[name]
    dash = "" if dashes is None else f", dash: ({', '.join(mm(d) for d in dashes)})"
    return f'(paint: black, thickness: {mm(width)}, cap: "{"butt" if dashes else "round"}", join: "round"{dash})'


def _label(label: Label, height: float) -> str:
    weight = ', weight: "bold"' if label.bold else ""
    words = (
        f'text(font: "{LETTERING}", size: {mm(label.height / CAPITAL)}, top-edge: "cap-height", bottom-edge: "baseline"'
        f"{weight}, {text(label.words)})"
    )
    # White under the words, so that a line that has to pass there does not run through them.
    words = f"box(fill: white, inset: 0.25mm, {words})"
    turned = f"rotate(-90deg, {words})" if label.turned else words
    x, y = label.middle
    # A box of no size, its content about its middle.
    middle = f"align(center + horizon, box(width: 200mm, height: 20mm, align(center + horizon, {turned})))"
    return f"place(top + left, dx: {mm(x)}, dy: {mm(height - y)}, box(width: 0mm, height: 0mm, {middle}))"


def page_of_picture(drawing: Picture, *, margin: float = 4.0, says: Sequence[str] = ()) -> str:
    """Source of a page just as large as a Picture, with sentences under it if there are any."""
    x, y, x2, y2 = drawing.box
    width, height = x2 - x + 2 * margin, y2 - y + 2 * margin
    if says:
        width = max(width, 120.0)
    body = picture(drawing.moved((width - x - x2) / 2, margin - y), width=width, height=height)
    page = f"#set document(date: none)\n#set page(width: {mm(width)}, height: auto, margin: 0mm)\n#set text(font: {fonts()}, size: 9.5pt)\n#{body}\n"
    words = ", ".join(f"par({text(sentence)})" for sentence in says)
    return page + (f"#pad(x: {mm(margin)}, bottom: {mm(margin)}, stack(spacing: 2mm, {words}))\n" if says else "")


def fonts() -> str:
    """The list of faces as source: the first that has a letter gives it."""
    return "(" + ", ".join(text(name) for name in FONTS) + ")"


# ---- the typesetter


@functools.cache
def _typesetter() -> Any:
    try:
        import typst
    except ImportError:
        raise InputError(
            "output", "", "needs the typesetting library typst, which is not installed", "Run: pip install typst"
        ) from None
    spec = importlib.util.find_spec("font_lato")
    folders = [Path(spec.origin).parent / "files"] if spec and spec.origin else []
    return typst.Compiler(font_paths=folders, ignore_system_fonts=True)


def typeset(source: str, ending: str, *, dots: int = DOTS_PER_INCH) -> list[bytes]:
    """Pages of a source as bytes: one for a PDF, one a page for SVG and PNG.

    ending: "pdf", "svg" or "png"; dots: to the inch of a PNG.
    """
    made = _typesetter().compile(input=source.encode(), format=ending, ppi=dots)
    return made if isinstance(made, list) else [made]
