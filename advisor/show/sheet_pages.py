"""The setup sheet on paper and on a screen: data of advisor/show/sheet_content.py in, bytes out. High contrast, no colour, big
numbers."""

import html

from advisor.show import typeset

ENDINGS = ("pdf", "svg", "png", "html")
# The page as the typesetter reads it. `data` comes before it. Type shrinks by steps until all of it is on one page.
PAGE = """
#set page(width: data.paper.at(0), height: data.paper.at(1), margin: data.margin)
#set document(title: data.title + ", " + data.method, author: "", date: none)
#set text(font: data.fonts, size: 10pt, lang: "en", hyphenate: false, number-type: "lining")
#set par(leading: 0.42em, spacing: 0.55em, justify: false)
#let wide = data.paper.at(0) - 2 * data.margin
#let high = data.paper.at(1) - 2 * data.margin
#let rule(w) = line(length: 100%, stroke: w)
#let tick = box(width: 0.95em, height: 0.95em, stroke: 0.9pt + black, baseline: 0.12em)
#let head(words) = block(above: 0.2em, below: 0.5em, width: 100%, fill: black, inset: (x: 0.4em, y: 0.25em),
  text(fill: white, weight: "black", size: 0.9em, tracking: 0.04em, upper(words)))
#let listed(marks, items) = grid(columns: (auto, 1fr), column-gutter: 0.5em, row-gutter: 0.5em,
  ..items.enumerate().map(((n, words)) => (marks(n), words)).flatten())

#let top = grid(columns: (1fr, auto), column-gutter: 4mm, align: (left + top, right + top),
  stack(spacing: 2mm,
    text(size: 26pt, weight: "black", data.title),
    text(size: 11pt, data.job),
    ..data.asks.map(((label, words)) => [#text(weight: "black", label + "  ")#words])),
  align(right, stack(spacing: 2mm,
    box(fill: black, inset: (x: 3mm, y: 2.2mm), text(fill: white, size: 19pt, weight: "black", upper(data.method))),
    box(width: 68mm, data.promise),
    box(width: 68mm, text(size: 9pt, data.foot)),
    text(size: 9pt, "Date ____________  Operator ____________"))))

#let figures = grid(columns: data.figures.map(((_, w, _)) => w), column-gutter: 1fr,
  ..data.figures.map(((drawing, _, _)) => drawing))

#let card(row) = block(width: 100%, breakable: false, inset: (y: 0.15em), stack(spacing: 0.42em,
  text(size: 0.88em, row.label),
  text(size: if row.number.len() > 24 { 1.15em } else { 1.75em }, weight: "black", row.number),
  if row.dial != "" { text(size: 1.15em, weight: "black", row.dial) },
  if row.rest != "" { text(size: 0.88em, row.rest) }))

#let set-block = {
  head("Set")
  grid(columns: (1fr,) * 4, column-gutter: 3mm, row-gutter: 0.9em, ..data.big.map(card))
  if data.aside.len() > 0 {
    v(0.3em)
    text(size: 0.92em, data.aside.map(((label, words)) => text(weight: "bold", label + " ") + words).join("   ·   "))
  }
}

#let layout-block = if data.layout.len() > 0 { head("Layout lines")
  grid(columns: (1fr, auto), column-gutter: 3mm, row-gutter: 0.5em,
    ..data.layout.map(((label, words)) => (label, align(right, text(weight: "black", size: 1.1em, words)))).flatten()) }

#let steps-block = { head("Steps"); listed(n => [#tick #text(weight: "black", str(n + 1))], data.steps) }

#let table-block = for (title, headings, rows) in data.tables {
  head(title)
  let cells(row, weight) = row.map(words => align(right, text(weight: weight, words)))
  grid(columns: headings.map(_ => 1fr), row-gutter: 0.45em, column-gutter: 2mm,
    ..cells(headings, "regular"), ..rows.map(row => cells(row, "bold")).flatten())
}

#let proof-block = { head("Prove it")
  grid(columns: (1fr, auto), column-gutter: 3mm, row-gutter: 0.5em,
    ..data.checks.map(((how, sees)) => (how, align(right, text(weight: "bold", sees)))).flatten()) }

#let cautions-block = { head("Cautions"); set text(size: 0.94em); listed(_ => text(weight: "black", "!"),
  data.cautions) }

#let advice-block = if data.advice.len() > 0 { head("Also"); listed(_ => "–", data.advice) }

#let minutes-block = { head("Minutes")
  grid(columns: (1.3fr, 1fr, 1.4fr, 1.2fr), row-gutter: 0.55em, column-gutter: 2mm, align: (left, right, right, right + bottom),
    text(size: 0.88em, ""), text(size: 0.88em, "expected"), text(size: 0.88em, "from … to"), text(size: 0.88em, "actual"),
    ..data.minutes.map(row => (row.name, text(weight: "black", row.expected), row.span, box(width: 100%, line(length: 100%, stroke: 0.6pt)))).flatten(),
    "Misses", "", "", box(width: 100%, line(length: 100%, stroke: 0.6pt)))
  v(0.2em)
  text(font: data.mono, size: 0.66em, data.record)
}

#let assumed-block = if data.assumed != "" { head("Assumed, and it matters"); data.assumed }

#let columned(width) = context {
  let column = (width - 5mm) / 2
  let blocks = (layout-block, table-block, proof-block, cautions-block, minutes-block, advice-block, assumed-block)
  let left = (steps-block,)
  let right = ()
  let tall(parts) = measure(block(width: column, stack(spacing: 0.8em, ..parts))).height
  for part in blocks.filter(part => part != none) {
    if tall(left) + tall((part,)) * 0.5 <= tall(right) + tall((part,)) * 0.5 { left.push(part) } else { right.push(part) }
  }
  grid(columns: (column, column), column-gutter: 5mm, stack(spacing: 0.8em, ..left), stack(spacing: 0.8em, ..right))
}

#let page-of(size) = block(width: wide, {
  set text(size: size)
  set-block
  v(0.8em, weak: true)
  columned(wide)
})

#let above = block(width: wide, stack(spacing: 2.2mm, top, rule(1.2pt), figures))
#above
#v(2mm, weak: true)
#context {
  let room = high - measure(above).height - 2mm
  let sizes = (11.5pt, 11pt, 10.5pt, 10pt, 9.5pt, 9pt, 8.6pt, 8.2pt, 7.8pt, 7.4pt, 7pt, 6.6pt, 6.2pt)
  let chosen = sizes.last()
  for size in sizes {
    if measure(page-of(size)).height <= room { chosen = size; break }
  }
  page-of(chosen)
}
"""

WHY = """
#pagebreak()
#set text(size: 9.5pt)
#block(below: 3mm, text(size: 17pt, weight: "black", data.title + ", " + data.method + ": why"))
#for (heading, lines) in data.why {
  head(heading)
  for words in lines { block(below: 0.5em, par(hanging-indent: 1em, words)) }
}
"""


class _Source(str):
    """Words that are source already."""


def literal(value):
    """Plain data as source of the typesetter's.

    >>> print(literal({"a": ["x", 2], "b": None}))
    (a: ("x", 2,), b: none,)
    """
    if isinstance(value, _Source):
        return str(value)
    if value is None:
        return "none"
    if isinstance(value, str):
        return typeset.text(value)
    if isinstance(value, dict):
        return (
            "(" + "".join(f"{key}: {literal(part)}, " for key, part in value.items()).strip() + ")" if value else "(:)"
        )
    if isinstance(value, (list, tuple)):
        return "(" + "".join(f"{literal(part)}, " for part in value).strip() + ")"
    return repr(value)


def source(sheet):
    """A Sheet as source of the typesetter's."""
    from advisor.show.sheet_content import MARGIN, PAPERS

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
        "why": [[reason.heading, reason.lines] for reason in sheet.why],
    }
    plain = ("title", "job", "asks", "method", "promise", "aside", "layout", "steps", "tables", "checks", "cautions", "advice", "record", "assumed", "foot")  # fmt: skip
    data |= {name: getattr(sheet, name) for name in plain}
    return f"#let data = {literal(data)}\n{PAGE}{WHY if sheet.why else ''}"


def _length(mm):
    return _Source(typeset.mm(mm))


def rendered(sheet, ending):
    """A Sheet as pages of bytes: one for "pdf" and "html", one a page for "svg" and "png"."""
    if ending == "html":
        return [page(sheet).encode()]
    return typeset.typeset(source(sheet), ending)


# ---- on a screen

STYLE = """
body { font: 17px/1.4 Lato, "Helvetica Neue", Arial, sans-serif; color: #000; background: #fff; max-width: 62rem; margin: 1rem auto; padding: 0 1rem; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 1rem; border-bottom: 2px solid #000; padding-bottom: .6rem; }
h1 { font-size: 2.4rem; margin: 0; }
h2 { background: #000; color: #fff; font-size: 1rem; text-transform: uppercase; letter-spacing: .04em; padding: .2rem .5rem; margin: 1.2rem 0 .6rem; }
.method { background: #000; color: #fff; font-size: 1.7rem; font-weight: 900; text-transform: uppercase; padding: .2rem .8rem; display: inline-block; }
.figures, .columns { display: flex; flex-wrap: wrap; gap: 1.5rem; } .columns > section { flex: 1 1 24rem; }
.figures svg { max-width: 100%; height: auto; }
.set { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr)); gap: .8rem; margin: 0; }
.set dt { font-size: .9rem; } .set dd { margin: 0; } .set b { font-size: 1.6rem; } .set strong { display: block; font-size: 1.15rem; }
ol { list-style: none; padding: 0; } li { margin: .35rem 0; } label { display: flex; gap: .6rem; }
input { width: 1.2rem; height: 1.2rem; flex: none; } table { border-collapse: collapse; width: 100%; }
td, th { padding: .15rem .4rem; text-align: left; vertical-align: top; } .numbers td, .numbers th { text-align: right; }
.line { border-bottom: 1px solid #000; min-width: 5rem; } code { font-size: .75rem; }
"""


def page(sheet):
    """A Sheet as one self-contained page of HTML, with boxes that can be ticked."""
    say = html.escape

    def dial(row):
        return f"<strong>{say(row.dial)}</strong>" if row.dial else ""

    rows = "".join(
        f"<div><dt>{say(row.label)}</dt><dd><b>{say(row.number)}</b> {say(row.rest)}{dial(row)}</dd></div>"
        for row in sheet.big
    )
    steps = "".join(
        f'<li><label><input type="checkbox"> <span>{n}. {say(words)}</span></label></li>'
        for n, words in enumerate(sheet.steps, 1)
    )
    minutes = "".join(
        f'<tr><td>{say(e.name)}</td><td><b>{say(e.expected)}</b></td><td>{say(e.span)}</td><td class="line"></td></tr>'
        for e in sheet.minutes
    )
    left = [_section("Steps", f"<ol>{steps}</ol>"), _section("Cautions", _bullets(sheet.cautions))]
    right = [
        _section("Layout lines", _pairs(sheet.layout)) if sheet.layout else "",
        *(_section(title, _numbers(headings, lines)) for title, headings, lines in sheet.tables),
        _section("Prove it", _pairs(sheet.checks)),
        _section(
            "Minutes",
            "<table><tr><th></th><th>expected</th><th>from … to</th><th>actual</th></tr>"
            f'{minutes}<tr><td>Misses</td><td></td><td></td><td class="line"></td></tr></table><p><code>{say(sheet.record)}</code></p>',
        ),
        _section("Also", _bullets(sheet.advice)) if sheet.advice else "",
        _section("Assumed, and it matters", f"<p>{say(sheet.assumed)}</p>") if sheet.assumed else "",
    ]
    numbers = f'<dl class="set">{rows}</dl>{_pairs(sheet.aside)}'
    why = "".join(
        _section(reason.heading, "".join(f"<p>{say(words)}</p>" for words in reason.lines)) for reason in sheet.why
    )
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>{say(sheet.title)}, {say(sheet.method)}</title><style>{STYLE}</style></head><body>"
        f"<header><div><h1>{say(sheet.title)}</h1><p>{say(sheet.job)}</p>{_pairs(sheet.asks)}</div>"
        f'<div><div class="method">{say(sheet.method)}</div><p>{say(sheet.promise)}</p><p>{say(sheet.foot)}</p></div></header>'
        f'<div class="figures">{"".join(_figure(drawing) for drawing, _, _ in sheet.figures)}</div>'
        f"{_section('Set', numbers)}"
        f'<div class="columns"><section>{"".join(left)}</section><section>{"".join(right)}</section></div>{why}</body></html>\n'
    )


def _section(title, body):
    return f"<h2>{html.escape(title)}</h2>{body}"


def _bullets(lines):
    return "<ul>" + "".join(f"<li>{html.escape(words)}</li>" for words in lines) + "</ul>"


def _pairs(pairs):
    rows = "".join(f"<tr><td>{html.escape(one)}</td><td><b>{html.escape(other)}</b></td></tr>" for one, other in pairs)
    return f"<table>{rows}</table>"


def _numbers(headings, rows):
    head = "".join(f"<th>{html.escape(words)}</th>" for words in headings)
    body = "".join("<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<table class="numbers"><tr>{head}</tr>{body}</table>'


def _figure(drawing):
    words = html.escape(", ".join(label.words for label in drawing.labels), quote=True)
    drawn = typeset.typeset(typeset.page_of_picture(drawing), "svg")[0].decode()
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{words}" ', 1)
