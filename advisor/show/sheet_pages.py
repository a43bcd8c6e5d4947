"""The setup sheet on paper and on a screen: data of advisor/show/sheet_content.py in, bytes out. High contrast, no colour, big
numbers."""

import html
import re

from advisor.show import typeset

ENDINGS = ("pdf", "svg", "png", "html")
# The page as the typesetter reads it. `data` comes before it. Type shrinks by steps until all of it is on one page.
PAGE = """
#set page(width: data.paper.at(0), height: data.paper.at(1), margin: data.margin,
  header: context if here().page() > 1 {
    text(size: 10pt, weight: "black", data.title + ", " + data.method)
    h(1fr)
    text(size: 9pt, "page " + str(here().page()) + " of " + str(counter(page).final().first()))
  },
  footer: context if here().page() == 1 and counter(page).final().first() > 1 {
    h(1fr)
    text(size: 9pt, "page 1 of " + str(counter(page).final().first()))
  })
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

#let card(row) = {
  let large = if row.deciding { 2 } else { 1 }
  let size = large * if row.number.len() > 24 { 1.15em } else { 1.75em }
  block(width: 100%, breakable: false, inset: (y: 0.15em), stack(spacing: 0.42em,
    text(size: 0.88em, row.label),
    box(text(size: size, weight: "black", row.number)
      + if row.rest != "" and row.rest.len() < 12 { text(size: 1.15em, weight: "black", " " + row.rest) }),
    if row.dial != "" { text(size: 1.15em, weight: "black", row.dial) },
    if row.rest.len() >= 12 { text(size: 0.88em, row.rest) }))
}

#let set-block = {
  head("Set")
  let deciding = data.big.filter(row => row.deciding)
  grid(columns: (1fr,) * 2, column-gutter: 3mm, row-gutter: 0.7em, ..deciding.map(card))
  v(0.3em)
  grid(columns: (1fr,) * 4, column-gutter: 3mm, row-gutter: 0.7em, ..data.big.filter(row => not row.deciding).map(card))
  if data.aside.len() > 0 {
    v(0.3em)
    text(size: 0.92em, data.aside.map(((label, words)) => text(weight: "bold", label + " ") + words).join("   ·   "))
  }
}

#let layout-block = if data.layout.len() > 0 { head("Layout lines")
  grid(columns: (1fr, auto), column-gutter: 3mm, row-gutter: 0.5em,
    ..data.layout.map(((label, words)) => (label, align(right, text(weight: "black", size: 1.1em, words)))).flatten()) }

#let steps-block = { head("Steps"); listed(n => [#tick #text(weight: "black", str(n + 1))], data.steps) }

#let table-block = for (title, note, headings, rows) in data.tables {
  head(title)
  block(below: 0.5em, text(size: 0.88em, note))
  let cells(row, weight) = row.map(words => align(right, text(weight: weight, words)))
  grid(columns: headings.map(words => if words == "" { auto } else { 1fr }), row-gutter: 0.45em, column-gutter: 2mm,
    ..headings.map(words => align(right + bottom, text(size: 0.88em, words))), ..rows.map(row => cells(row, "bold")).flatten())
}

#let proof-block = { head("Prove it")
  grid(columns: (1.4fr, 1fr), column-gutter: 3mm, row-gutter: 0.5em,
    ..data.checks.map(((how, sees)) => (how, align(right, text(weight: "bold", sees)))).flatten()) }

#let cautions-block = { head("Cautions"); set text(size: 0.94em); listed(_ => text(weight: "black", "!"),
  data.cautions) }

#let advice-block = if data.advice.len() > 0 { head("Also"); listed(_ => "–", data.advice) }

#let blank = box(width: 100%, line(length: 100%, stroke: 0.6pt))

#let corrections-block = { head("First piece")
  grid(columns: (1fr,) * data.corrections.len(), row-gutter: 1.3em, column-gutter: 2mm,
    ..data.corrections.map(words => text(size: 0.88em, words)),
    ..range(data.correction_lines * data.corrections.len()).map(_ => blank))
  if data.correct != "" { v(0.2em); text(font: data.mono, size: 0.66em, data.correct) }
  v(0.3em)
}

#let minutes-block = { head("Minutes")
  grid(columns: (1.5fr, 0.8fr, 1.9fr, 1.1fr), row-gutter: 0.55em, column-gutter: 2mm, align: (left, right, right, right + bottom),
    text(size: 0.88em, ""), text(size: 0.88em, "expected"), text(size: 0.88em, "from … to"), text(size: 0.88em, "actual"),
    ..data.minutes.map(row => (row.name, text(weight: "black", row.expected), row.span, blank)).flatten(),
    "Pieces missed", "", "", blank)
  v(0.2em)
  text(size: 0.88em, data.record_note)
  linebreak()
  text(font: data.mono, size: 0.66em, data.record)
}

#let assumed-block = if data.assumed != "" { head("Assumed, and it matters"); data.assumed }

// Blocks in two columns of about the same height, those of the left given.
#let columned(left, blocks) = context {
  let column = (wide - 5mm) / 2
  let left = left
  let right = ()
  let tall(parts) = measure(block(width: column, stack(spacing: 0.8em, ..parts))).height
  for part in blocks.filter(part => part != none) {
    if tall(left) + tall((part,)) * 0.5 <= tall(right) + tall((part,)) * 0.5 { left.push(part) } else { right.push(part) }
  }
  grid(columns: (column, column), column-gutter: 5mm, stack(spacing: 0.8em, ..left), stack(spacing: 0.8em, ..right))
}

#let page-of(size, left, blocks) = block(width: wide, {
  set text(size: size)
  set-block
  v(0.8em, weak: true)
  columned(left, blocks)
})

#let above = block(width: wide, stack(spacing: 2.2mm, top, rule(1.2pt), figures))
#above
#v(2mm, weak: true)
#context {
  let room = high - measure(above).height - 3mm
  let sizes = (11.5pt, 11pt, 10.5pt, 10pt, 9.5pt, 9pt, 8.6pt, 8.2pt, 7.8pt, 7.4pt, 7pt, 6.6pt, 6.2pt)
  let record = (corrections-block, minutes-block, advice-block, assumed-block)
  let all = (layout-block, table-block, proof-block, cautions-block, ..record)
  // What is needed at the machine on the first page, what is written down on the second; with a long table also the proof, or the table itself.
  let ways = (
    (7.8pt, all, ()),
    (7.4pt, (layout-block, table-block, proof-block, cautions-block), record),
    (7pt, (layout-block, table-block, cautions-block), (proof-block, ..record)),
    (6.6pt, (table-block, cautions-block), (layout-block, proof-block, ..record)),
    (0pt, (layout-block, proof-block, cautions-block), (table-block, ..record)),
  )
  let fits(way) = sizes.find(size => size >= way.at(0) and
    measure(page-of(size, (steps-block,), way.at(1))).height <= room)
  let way = ways.find(way => fits(way) != none)
  let way = if way == none { ways.last() } else { way }
  let size = fits(way)
  page-of(if size == none { sizes.last() } else { size }, (steps-block,), way.at(1))
  if way.at(2) != () {
    pagebreak()
    set text(size: 10pt)
    columned((), way.at(2))
  }
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


RECORD_NOTE = "For the record setup and correcting are one, and the pieces have their misses in them."
_UNITS = "mm in min h rpm kW hp N lbf HB HRC m/min ft/min mm/rev in/rev turns? divisions? off times pieces? [A-Z]{3}"
_KEPT = re.compile(rf"(?<=[\d)]) (?=(?:{'|'.join(_UNITS.split())})\b|%)|(?<=\bR) (?=[\d.])")


def kept(value):
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


def literal(value):
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


def source(sheet):
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
.figures, .columns { display: flex; flex-wrap: wrap; gap: 1.5rem; } .columns > section { flex: 1 1 24rem; min-width: 0; }
.figures svg { max-width: 100%; height: auto; }
.set { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr)); gap: .8rem; margin: 0 0 .8rem; }
.set.deciding { grid-template-columns: repeat(auto-fit, minmax(18rem, 1fr)); }
.set dt { font-size: .9rem; } .set dd { margin: 0; } .set b { font-size: 1.6rem; } .set strong { display: block; font-size: 1.15rem; }
.deciding b { font-size: 3.2rem; line-height: 1.1; }
ol { list-style: none; padding: 0; } li { margin: .35rem 0; } label { display: flex; gap: .6rem; }
input[type=checkbox] { width: 1.2rem; height: 1.2rem; flex: none; } table { border-collapse: collapse; width: 100%; }
input[type=text] { font: inherit; width: 100%; min-width: 4rem; box-sizing: border-box; border: 0; border-bottom: 1px solid #000; border-radius: 0; background: none; padding: .2rem 0; }
td, th { padding: .15rem .4rem; text-align: left; vertical-align: top; } .numbers td, .numbers th { text-align: right; }
.note, th { font-size: .9rem; font-weight: normal; } code { font-size: .75rem; overflow-wrap: anywhere; }
button { font: inherit; background: none; border: 1px solid #000; padding: .3rem .8rem; } [hidden] { display: none; }
"""
# Keeps what was ticked and typed on this machine, for this sheet, and writes the typed minutes into the line for the
# record. The page works without it.
SCRIPT = """
(function () {
  var key = "turn-radius sheet " + document.body.dataset.sheet, kept = {}, store = null;
  try { store = window.localStorage; kept = JSON.parse(store.getItem(key)) || {}; } catch (e) { kept = {}; }
  var fields = document.querySelectorAll("input"), code = document.querySelector("code.record"), plain = code.textContent;
  function number(text) { var n = parseFloat(text.replace(",", ".")); return isFinite(n) ? n : null; }
  function record() {
    var sums = {}, words = plain;
    fields.forEach(function (field) {
      var option = field.dataset.option, n = option ? number(field.value) : null;
      if (n !== null) sums[option] = (sums[option] || 0) + n;
    });
    Object.keys(sums).forEach(function (option) {
      words = words.replace("--" + option + " __", "--" + option + " " + +sums[option].toFixed(2));
    });
    code.textContent = words;
  }
  function keep() {
    fields.forEach(function (field) {
      kept[field.name] = field.type === "checkbox" ? field.checked : field.value;
    });
    try { store.setItem(key, JSON.stringify(kept)); } catch (e) { return; }
  }
  function show() {
    fields.forEach(function (field) {
      if (field.type === "checkbox") field.checked = kept[field.name] === true;
      else field.value = typeof kept[field.name] === "string" ? kept[field.name] : "";
    });
    record();
  }
  fields.forEach(function (field) {
    field.addEventListener(field.type === "checkbox" ? "change" : "input", function () { keep(); record(); });
  });
  var afresh = document.querySelector("button");
  afresh.hidden = false;
  afresh.addEventListener("click", function () {
    if (!window.confirm("Clear every tick and figure on this sheet?")) return;
    kept = {}; show(); keep();
  });
  show();
})();
"""


def page(sheet):
    """A Sheet as one self-contained page of HTML, whose boxes can be ticked and whose blanks can be filled."""
    say = html.escape

    def cards(deciding):
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
        f"<title>{say(sheet.title)}, {say(sheet.method)}</title><style>{STYLE}</style></head>"
        f'<body data-sheet="{say(sheet.identity)}">'
        f"<header><div><h1>{say(sheet.title)}</h1><p>{say(kept(sheet.job))}</p>{_pairs(sheet.asks)}</div>"
        f'<div><div class="method">{say(sheet.method)}</div><p>{say(kept(sheet.promise))}</p>'
        f"<p>{say(sheet.foot)}</p></div></header>"
        f'<div class="figures">{"".join(_figure(drawing) for drawing, _, _ in sheet.figures)}</div>'
        f"{_section('Set', numbers)}"
        f'<div class="columns"><section>{"".join(left)}</section><section>{"".join(right)}</section></div>{why}'
        f"<script>{SCRIPT}</script></body></html>\n"
    )


def _card(row):
    say = html.escape
    dial = f"<strong>{say(kept(row.dial))}</strong>" if row.dial else ""
    return f"<div><dt>{say(row.label)}</dt><dd><b>{say(kept(row.number))}</b> {say(kept(row.rest))}{dial}</dd></div>"


def _minutes(sheet):
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


def _blank(name, words, option=""):
    own = f' data-option="{option}" inputmode="decimal"' if option else ""
    return f'<input type="text" name="{html.escape(name)}" aria-label="{html.escape(words)}" autocomplete="off"{own}>'


def _blanks(headings):
    """Lines to write down what the first piece measured and what was moved."""
    from advisor.show.sheet_content import CORRECTIONS

    head = "".join(f"<th>{html.escape(words)}</th>" for words in headings)
    lines = "".join(
        "<tr>" + "".join(f"<td>{_blank(f'piece {n} {words}', words)}</td>" for words in headings) + "</tr>"
        for n in range(1, CORRECTIONS + 1)
    )
    return f"<table><tr>{head}</tr>{lines}</table>"


def _section(title, body):
    return f"<h2>{html.escape(title)}</h2>{body}"


def _bullets(lines):
    return "<ul>" + "".join(f"<li>{html.escape(kept(words))}</li>" for words in lines) + "</ul>"


def _pairs(pairs):
    rows = "".join(
        f"<tr><td>{html.escape(kept(one))}</td><td><b>{html.escape(kept(other))}</b></td></tr>" for one, other in pairs
    )
    return f"<table>{rows}</table>"


def _numbers(headings, rows):
    head = "".join(f"<th>{html.escape(words)}</th>" for words in headings)
    body = "".join("<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f'<table class="numbers"><tr>{head}</tr>{body}</table>'


def _figure(drawing):
    words = html.escape(", ".join(label.words for label in drawing.labels), quote=True)
    drawn = typeset.typeset(typeset.page_of_picture(drawing), "svg")[0].decode()
    return drawn.replace("<svg ", f'<svg role="img" aria-label="{words}" ', 1)
