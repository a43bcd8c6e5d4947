"""The setup sheet on paper and on a screen: data of advisor/show/sheet_content.py in, bytes out. High contrast, no colour, big
numbers."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING

from advisor.show import typeset
from advisor.show.typeset import template

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from advisor.drawing.model import Picture
    from advisor.show.sheet_content import Big, Sheet

ENDINGS = ("pdf", "svg", "png", "html")


RECORD_NOTE = "For the record setup and correcting are one, and the pieces have their misses in them."
_UNITS = "mm in min h rpm kW hp N lbf HB HRC m/min ft/min mm/rev in/rev turns? divisions? off times pieces? [A-Z]{3}"
_KEPT = re.compile(rf"(?<=[\d)]) (?=(?:{'|'.join(_UNITS.split())})\b|%)|(?<=\bR) (?=[\d.])")


def kept(value: Any) -> Any:
    """Words, or lists of them, in which no figure can part from its unit at the end of a line.

    >>> kept("99 % in tolerance, R 6 mm").count("\\u00a0")
    3
    """
    if isinstance(value, dict):
        return {key: kept(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [kept(part) for part in value]
    return _KEPT.sub("\u00a0", value) if isinstance(value, str) and not isinstance(value, _Source) else value


class _Source(str):
    """Words that are source already."""


def literal(value: Any) -> str:
    """Plain data as source of the typesetter's.

    >>> print(literal({"a": ["x", 2], "b": None}))
    (a: ("x", 2,), b: none,)
    """
    if isinstance(value, _Source):
        return str(value)
    if value is None:
        return "none"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return typeset.text(value)
    if isinstance(value, dict):
        return (
            "(" + "".join(f"{key}: {literal(part)}, " for key, part in value.items()).strip() + ")" if value else "(:)"
        )
    if isinstance(value, (list, tuple)):
        return "(" + "".join(f"{literal(part)}, " for part in value).strip() + ")"
    return repr(value)


def source(sheet: Sheet) -> str:
    """A Sheet as source of the typesetter's."""
    from advisor.show.sheet_content import CORRECTIONS, MARGIN, PAPERS

    data = {
        "paper": [_length(side) for side in PAPERS[sheet.paper]],
        "margin": _length(MARGIN),
        "fonts": list(typeset.FONTS),
        "mono": typeset.LETTERING,
        "figures": [
            [_Source(typeset.picture(drawing, width=width, height=height)), _length(width), _length(height)]
            for drawing, width, height in sheet.figures
        ],
        "big": [vars(row) for row in sheet.big],
        "minutes": [vars(row) for row in sheet.minutes],
        "correction_lines": CORRECTIONS,
        "record_note": RECORD_NOTE,
        "why": [[reason.heading, reason.lines] for reason in sheet.why],
    }
    plain = ("title", "job", "asks", "method", "promise", "aside", "layout", "steps", "tables", "checks", "cautions", "advice", "correct", "corrections", "record", "assumed", "foot")  # fmt: skip
    data |= {name: getattr(sheet, name) for name in plain}
    data = kept(data) | {"record": sheet.record, "correct": sheet.correct}
    why = template("sheet_why.typ") if sheet.why else ""
    return f"#let data = {literal(data)}\n{template('sheet.typ')}{why}"


def _length(mm: float) -> _Source:
    return _Source(typeset.mm(mm))


def rendered(sheet: Sheet, ending: str) -> list[bytes]:
    """A Sheet as pages of bytes: one for "pdf" and "html", one a page for "svg" and "png"."""
    if ending == "html":
        return [page(sheet).encode()]
    return typeset.typeset(source(sheet), ending)


# ---- on a screen


def page(sheet: Sheet) -> str:
    """A Sheet as one self-contained page of HTML, whose boxes can be ticked and whose blanks can be filled."""
    say = html.escape

    def cards(deciding: bool) -> str:
        return "".join(_card(row) for row in sheet.big if row.deciding == deciding)

    steps = "".join(
        f'<li><label><input type="checkbox" name="step {n}"> <span>{n}. {say(kept(words))}</span></label></li>'
        for n, words in enumerate(sheet.steps, 1)
    )
    first = f"<p><code>{say(sheet.correct)}</code></p>" if sheet.correct else ""
    left = [_section("Steps", f"<ol>{steps}</ol>"), _section("Cautions", _bullets(sheet.cautions))]
    right = [
        _section("Layout lines", _pairs(sheet.layout)) if sheet.layout else "",
        *(
            _section(title, f'<p class="note">{say(kept(note))}</p>{_numbers(headings, lines)}')
            for title, note, headings, lines in sheet.tables
        ),
        _section("Prove it", _pairs(sheet.checks)),
        _section("First piece", _blanks(sheet.corrections) + first),
        _section("Minutes", _minutes(sheet)),
        _section("Also", _bullets(sheet.advice)) if sheet.advice else "",
        _section("Assumed, and it matters", f"<p>{say(kept(sheet.assumed))}</p>") if sheet.assumed else "",
        "<p><button hidden>Clear this sheet</button></p>",
    ]
    numbers = f'<dl class="set deciding">{cards(True)}</dl><dl class="set">{cards(False)}</dl>{_pairs(sheet.aside)}'
    why = "".join(
        _section(reason.heading, "".join(f"<p>{say(kept(words))}</p>" for words in reason.lines))
        for reason in sheet.why
    )
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{say(sheet.title)}, {say(sheet.method)}</title><style>{template('sheet.css')}</style></head>"
        f'<body data-sheet="{say(sheet.identity)}">'
        f"<header><div><h1>{say(sheet.title)}</h1><p>{say(kept(sheet.job))}</p>{_pairs(sheet.asks)}</div>"
        f'<div><div class="method">{say(sheet.method)}</div><p>{say(kept(sheet.promise))}</p>'
        f"<p>{say(sheet.foot)}</p></div></header>"
        f'<div class="figures">{"".join(_figure(drawing) for drawing, _, _ in sheet.figures)}</div>'
        f"{_section('Set', numbers)}"
        f'<div class="columns"><section>{"".join(left)}</section><section>{"".join(right)}</section></div>{why}'
        f"<script>{template('sheet.js')}</script></body></html>\n"
    )


def _card(row: Big) -> str:
    say = html.escape
    dial = f"<strong>{say(kept(row.dial))}</strong>" if row.dial else ""
    return f"<div><dt>{say(row.label)}</dt><dd><b>{say(kept(row.number))}</b> {say(kept(row.rest))}{dial}</dd></div>"


def _minutes(sheet: Sheet) -> str:
    """Expected minutes and blanks for the actual ones; what has no option of its own goes with the part above."""
    say, rows, option = html.escape, "", ""
    for n, element in enumerate(sheet.minutes, 1):
        last = n == len(sheet.minutes)
        option = element.option or option
        blank = "" if last else _blank(f"minutes {n}", f"{element.name}, actual minutes", option)
        rows += (
            f"<tr><td>{say(element.name)}</td><td><b>{say(kept(element.expected))}</b></td>"
            f"<td>{say(kept(element.span))}</td><td>{blank}</td></tr>"
        )
    missed = _blank("missed", "Pieces missed", "misses")
    return (
        "<table><tr><th></th><th>expected</th><th>from … to</th><th>actual</th></tr>"
        f"{rows}<tr><td>Pieces missed</td><td></td><td></td><td>{missed}</td></tr></table>"
        f'<p class="note">{RECORD_NOTE}</p><p><code class="record">{say(sheet.record)}</code></p>'
    )


def _blank(name: str, words: str, option: str = "") -> str:
    own = f' data-option="{option}" inputmode="decimal"' if option else ""
    return f'<input type="text" name="{html.escape(name)}" aria-label="{html.escape(words)}" autocomplete="off"{own}>'


def _blanks(headings: Sequence[str]) -> str:
    """Lines to write down what the first piece measured and what was moved."""
    from advisor.show.sheet_content import CORRECTIONS

    head = "".join(f"<th>{html.escape(words)}</th>" for words in headings)
    lines = "".join(
        "<tr>" + "".join(f"<td>{_blank(f'piece {n} {words}', words)}</td>" for words in headings) + "</tr>"
        for n in range(1, CORRECTIONS + 1)
    )
    return f"<table><tr>{head}</tr>{lines}</table>"


def _section(title: str, body: str) -> str:
    return f"<h2>{html.escape(title)}</h2>{body}"


def _bullets(lines: Iterable[str]) -> str:
    return "<ul>" + "".join(f"<li>{html.escape(kept(words))}</li>" for words in lines) + "</ul>"


def _pairs(pairs: Iterable[tuple[str, str]]) -> str:
    rows = "".join(
        f"<tr><td>{html.escape(kept(one))}</td><td><b>{html.escape(kept(other))}</b></td></tr>" for one, other in pairs
    )
    return f"<table>{rows}</table>"


def _numbers(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    head = "".join(f"<th>{html.escape(words)}</th>" for words in headings)
    body = "".join("<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<table class="numbers"><tr>{head}</tr>{body}</table>'


def _figure(drawing: Picture) -> str:
    words = html.escape(", ".join(label.words for label in drawing.labels), quote=True)
    drawn = typeset.typeset(typeset.page_of_picture(drawing), "svg")[0].decode()
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{words}" ', 1)
