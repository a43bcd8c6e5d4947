"""Drawings as SVG: strokes and words of a Picture as they are, in millimetres of paper, with a part of it lit."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from advisor.drawing.model import CAPITAL, PENS

if TYPE_CHECKING:
    from collections.abc import Collection

    from advisor.drawing.model import Label, Picture, Stroke

MARGIN = 3.0  # mm
INK, PAPER, LIT, LIGHT = "#14212b", "#ffffff", "#b3470f", "#e4e8e6"
FILLS = {"white": PAPER, "light": LIGHT, "dark": INK}
FACE = "DejaVu Sans Mono, Menlo, Consolas, monospace"


def drawn(picture: Picture, *, says: str, lit: Collection[str] = ()) -> str:
    """A Picture as an SVG file. says: what it shows, in words; lit: words of labels and names of pens that stand out."""
    x, y, x2, y2 = picture.box
    width, height = x2 - x + 2 * MARGIN, y2 - y + 2 * MARGIN
    parts = [_stroke(stroke, x - MARGIN, y2 + MARGIN, stroke.pen in lit) for stroke in picture.strokes]
    parts += [_label(label, x - MARGIN, y2 + MARGIN, _is_lit(label.words, lit)) for label in picture.labels]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.2f} {height:.2f}" width="{width:.2f}mm" '
        f'height="{height:.2f}mm" role="img" stroke-linecap="round" stroke-linejoin="round" '
        f'font-family="{FACE}"><title>{escape(says)}</title>{"".join(parts)}</svg>'
    )


def _is_lit(words: str, lit: Collection[str]) -> bool:
    bare = words.strip("()⌀R ")
    return any(bare == one for one in lit)


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _stroke(stroke: Stroke, left: float, top: float, lit: bool) -> str:
    points = "L".join(f"{_number(px - left)} {_number(top - py)}" for px, py in stroke.points)
    path = f"M{points}{'Z' if stroke.closed else ''}"
    fill = FILLS[stroke.fill] if stroke.fill else "none"
    if stroke.pen is None:
        return f'<path d="{path}" fill="{fill}"/>'
    wide, dashes = PENS[stroke.pen]
    dash = f' stroke-dasharray="{" ".join(map(_number, dashes))}"' if dashes else ""
    ink, wide = (LIT, 1.6 * wide) if lit else (INK, wide)
    return f'<path d="{path}" fill="{fill}" stroke="{ink}" stroke-width="{_number(wide)}"{dash}/>'


def _label(label: Label, left: float, top: float, lit: bool) -> str:
    x, y = label.middle
    x, y = x - left, top - y
    size = label.height / CAPITAL
    x1, y1, x2, y2 = label.box
    turn = f' transform="rotate(-90 {_number(x)} {_number(y)})"' if label.turned else ""
    bold = ' font-weight="bold"' if label.bold or lit else ""
    back = (
        f'<rect x="{_number(x1 - left - 0.4)}" y="{_number(top - y2 - 0.3)}" width="{_number(x2 - x1 + 0.8)}" '
        f'height="{_number(y2 - y1 + 0.6)}" fill="{PAPER}"{_round(lit)}/>'
    )
    return (
        f'{back}<text x="{_number(x)}" y="{_number(y + label.height / 2)}" font-size="{_number(size)}" '
        f'text-anchor="middle" fill="{LIT if lit else INK}"{bold}{turn}>{escape(label.words)}</text>'
    )


def _round(lit: bool) -> str:
    return f' stroke="{LIT}" stroke-width="0.5" rx="0.8"' if lit else ""
