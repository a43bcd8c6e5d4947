"""What stands on the setup sheet, as data: words, numbers and drawings in the order of the page.

How it looks is in show/sheet.py.
"""

from __future__ import annotations

import hashlib
import re
import shlex
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.setups import drawing_of_setup
from advisor.drawing.work import drawing_of_work, radius_words
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.methods import methods
from advisor.records.experience import method_named
from advisor.rulebase.rulebook import KINDS
from advisor.show import reading
from advisor.show.rows import LAYOUT, LINE, check_lines, placed, setup_rows, table_rows

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.model import Picture, Room
    from advisor.show.rows import Row, Table

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}  # mm
MARGIN = 9.0  # mm
GUTTER = 4.0  # mm
WORK_WIDTH = 76.0  # mm
FIGURES_HEIGHT = 86.0  # mm, at most
FIGURE_MARGIN = 1.5  # mm
LEAST_MINUTES = 0.05  # what rounds to nothing has no row
CORRECTIONS = 2  # lines to write them on
_NUMBER = re.compile(r"(?:at least )?[\d.,-]*\d(?: mm/rev| in/rev| mm| in|°| rpm)?(?: \([\d/-]+\))?(?!\S*\d)")


@dataclass(frozen=True)
class Big:
    """A number to set: its label, the number itself for large type, what follows it, the dial reading, and whether it is
    one of the two that decide."""

    label: str
    number: str
    rest: str = ""
    dial: str = ""
    deciding: bool = False


@dataclass(frozen=True)
class Element:
    """Minutes of one part of the job: its name, expected, from and to, all as words; option: under which `record` takes
    them, '' where they go with the part above."""

    name: str
    expected: str
    span: str
    option: str = ""


@dataclass(frozen=True)
class Reason:
    """A heading and paragraphs of the second page."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """One page for the operator, and the reasons for a second page where they were asked for.

    paper: a key of PAPERS; asks, aside, layout, checks: lists of (label, words); figures: list of (Picture, width,
    height) [mm]; tables: list of rows.Table; corrections: headings of what is written down of the first piece; identity:
    the same for the same job and setup; the rest are words and lists of words.
    """

    paper: str
    title: str
    job: str
    asks: list[tuple[str, str]]
    method: str
    promise: str
    figures: list[tuple[Picture, float, float]]
    big: list[Big]
    aside: list[tuple[str, str]]
    layout: list[tuple[str, str]]
    steps: list[str]
    tables: list[Table]
    checks: list[tuple[str, str]]
    correct: str
    cautions: list[str]
    advice: list[str]
    corrections: list[str]
    minutes: list[Element]
    record: str
    assumed: str
    foot: str
    identity: str
    why: list[Reason] = field(default_factory=list)


def sheet(
    advice: Advice,
    *,
    paper: str = "a4",
    method: str | None = None,
    why: bool = False,
    case: str | None = None,
    number: int | None = None,
) -> Sheet:
    """The setup sheet of an Advice -> Sheet.

    paper: "a4" or "letter"; method: name of a method that stands, the recommended one if None; why: with the reasons
    and formulas; case: path of the case file, number: of the job that was kept, for the lines that record the minutes and
    correct the first piece. Raises CalloutError where no
    method stands, or the one that is named does not.
    """
    told = chosen(advice, method)
    wide = PAPERS[paper][0] - 2 * MARGIN
    rooms = ((WORK_WIDTH, FIGURES_HEIGHT), (wide - WORK_WIDTH - GUTTER, FIGURES_HEIGHT))
    drawings = (drawing_of_work(advice, room=rooms[0]), drawing_of_setup(told, advice, room=rooms[1]))
    rows = [row for row in setup_rows(told, advice) if row.number is None or row.number.key != LAYOUT]
    table = table_rows(told, advice)
    title, job = radius_words(advice.callout), _job(advice)
    big = _deciding_first([numbered(row) for row in rows if not aside(row)], told.name)
    steps = [wording.spoken(finding, advice) for finding in told.steps]
    shown = (title, job, told.name, *map(str, big), *steps, advice.shop.name, advice.lathe.name, case or "")
    return Sheet(
        paper=paper,
        title=title,
        job=job,
        asks=_asks(advice),
        method=told.name,
        promise=_promise(told, advice),
        figures=_figures(drawings, rooms),
        big=big,
        aside=[(row.label, row.value) for row in rows if aside(row)],
        layout=_layout(told, advice),
        steps=steps,
        tables=[table] if table else [],
        correct=_correct(told, advice, number),
        checks=check_lines(told, advice, usable=True),
        cautions=wording.cautions(told, advice),
        advice=wording.advised(told, advice),
        corrections=["measured with", "it measured", methods()[told.name].moved, "then measured"],
        minutes=_minutes(told),
        record=_record(told, advice, case, number),
        assumed=_assumed(advice),
        foot=f"Shop {advice.shop.name}, {advice.lathe.name}.{f' Job {number}.' if number else ''}",
        identity=hashlib.sha256("\n".join(shown).encode()).hexdigest()[:16],
        why=reasons(told, advice) if why else [],
    )


def aside(row: Row) -> bool:
    """Whether a row is not set: it is there to know, or says how far something may be off."""
    return row.number is not None and row.number.small


def _figures(drawings: Sequence[Picture], rooms: Sequence[Room]) -> list[tuple[Picture, float, float]]:
    """The drawings in rooms no higher than the higher of them takes: list of (Picture, width, height) [mm]."""
    boxes = [drawing.box for drawing in drawings]
    high = min(FIGURES_HEIGHT, max(box[3] - box[1] for box in boxes) + 2 * FIGURE_MARGIN)
    return [
        (drawing.moved(0.0, (high - box[1] - box[3]) / 2), room[0], high)
        for drawing, room, box in zip(drawings, rooms, boxes, strict=True)
    ]


def paper_named(name: str | None, *, inch: bool) -> str:
    """A key of PAPERS: the paper that is named, Letter for inch drawings and A4 for others if none is.

    >>> paper_named("A4", inch=True), paper_named(None, inch=True)
    ('a4', 'letter')
    """
    if name is None:
        return "letter" if inch else "a4"
    if name.strip().lower() not in PAPERS:
        raise CalloutError("paper", name, "is no paper known here", "Give A4 or Letter.")
    return name.strip().lower()


def chosen(advice: Advice, name: str | None) -> MethodAdvice:
    """The method that the sheet is for: the one that is named, else the recommended one or the one that comes nearest."""
    if name is None:
        if advice.shown is None:
            needs = wording.first_need(advice)
            raise CalloutError("sheet", "", "has nothing to show, since no method can be set", needs)
        return advice.shown
    method = advice.methods.get(method_named(name) or name)
    if method is None:
        names = ", ".join(advice.methods)
        raise CalloutError("method", name, "is no method", f"{did_you_mean(name, advice.methods)}Give one of: {names}.")
    if method.rank is None and method is not advice.shown:
        standing = ", ".join(m.name for m in advice.ranked if m.rank) or "none does"
        problem = f"will not do. {wording.why_not(method, advice).rstrip('.')}"
        raise CalloutError("method", method.name, problem, f"Methods that stand: {standing}.")
    return method


def _size(mm: float, advice: Advice) -> str:
    return wording.length(mm, advice.callout.units)


def _job(advice: Advice) -> str:
    callout = advice.callout
    hardness = f", {wording.number(callout.hardness, 0)} HB" if callout.hardness else ""
    pieces = f"{callout.quantity} off" + (f", {callout.places} places each" if callout.places > 1 else "")
    work = f"⌀{_size(callout.diameter, advice)} {callout.material}{hardness}"
    return f"{callout.form} on the {callout.location}, {work}, {callout.tool} tool. {pieces}."


_SYMBOLS = {
    "CR": ("CR", "controlled radius: a fair curve, no flats or reversals"),
    "SR": ("SR", "spherical radius: the same in every section"),
}


def _asks(advice: Advice) -> list[tuple[str, str]]:
    """What the callout really asks: the limits of R, and what they leave for the depth of the arc."""
    callout, values = advice.callout, advice.values
    asks = []
    if callout.text.replace(" ", "") != radius_words(callout).replace(" ", ""):
        asks.append(("Drawing", callout.text))
    asks.append(("R", f"{_size(callout.radius_low, advice)} to {_size(callout.radius_high, advice)}"))
    allowed = f"±{_size(values['profile_tolerance'], advice).split(' (')[0]}"
    if values["corner"]:
        asks.append(("Arc", f"true to {allowed} at 45°, and tangent at both ends"))
    else:
        # On a deep arc the depth moves more than the radius does, but the profile may be off by no more than the
        # radius.
        asks.append(
            ("Depth", f"{_size(values['depth'], advice)} {allowed} over {_size(values['chord'], advice)} across")
        )
    if callout.symbol in _SYMBOLS:
        asks.append(_SYMBOLS[callout.symbol])
    if callout.finish:
        asks.append(
            (
                "Finish",
                f"Ra {wording.quantity('finish', advice.rules.names['finish'], callout.finish, units=callout.units)}",
            )
        )
    if callout.tolerance_from.kind not in ("equal", "unequal", "limits"):
        asks.append(("Tolerance", str(callout.tolerance_from)))
    asks += [("Mind", text) for text in reading.notes(callout)]
    return asks


def _promise(method: MethodAdvice, advice: Advice) -> str:
    if method.rank is None:
        return " ".join(["NO METHOD STANDS.", *wording.shortfall(advice)]).replace(" %", "\u00a0%")
    batch = method.minutes["batch"]
    most = "cheapest" if advice.by == "cost" else "quickest"
    rank = "" if method is advice.best else f"Not the {most}: that is {wording.the(advice.winner.name)}. "
    chosen = f" {wording.BY_COST}" if advice.by == "cost" and method is advice.best else ""
    return (
        f"{rank}{wording.minutes(batch['mean'])} for the batch, 4 in 5 under {wording.minutes(batch['p80'])}; "
        f"{wording.chance(method.in_tolerance)} in tolerance.{chosen}"
    )


def numbered(row: Row) -> Big:
    """A row of the setup with its number apart.

    >>> from advisor.show.rows import Row
    >>> numbered(Row("Edge radius", "6 mm, concave edge"))
    Big(label='Edge radius', number='6 mm', rest='concave edge', dial='', deciding=False)
    >>> numbered(Row("Rod between", "carriage and headstock")).number
    'carriage and headstock'
    """
    found = _NUMBER.match(row.value)
    if not found:
        return Big(row.label, row.value, "", row.dial)
    return Big(row.label, found[0], row.value[found.end() :].lstrip(",; "), row.dial)


def _deciding_first(big: Sequence[Big], name: str) -> list[Big]:
    """The numbers with the two that decide in front, marked."""
    labels = [row.label for row in big]
    chosen = []
    for ways in methods()[name].deciding:
        chosen += [label for label in ways if label in labels and label not in chosen][:1]
    first = [replace(row, deciding=True) for label in chosen for row in big if row.label == label]
    return first + [row for row in big if row.label not in chosen]


def _layout(method: MethodAdvice, advice: Advice) -> list[tuple[str, str]]:
    return [
        (line["line"], words)
        for line in method.to_set["layout"]
        if (words := placed(line, lambda mm: _size(mm, advice), advice))
    ]


def _minutes(method: MethodAdvice) -> list[Element]:
    """Expected minutes part by part, which add up to the batch; tooling and correcting only where there are any.

    The pieces have their misses and regrinding in them, and `record` takes correcting with the setup.
    """
    minutes, arcs = method.minutes, method.minutes["arcs"]
    tooling, correcting, batch = minutes["tooling"], minutes["resetting"], minutes["batch"]
    extra = (minutes["misses"] + minutes["wear"]) * arcs
    found = [_element("Tooling", tooling, option="tooling")] if tooling["mean"] >= LEAST_MINUTES else []
    found.append(_element("Setup", minutes["setup"], option="setup"))
    if correcting >= LEAST_MINUTES:
        found.append(Element("Correcting the first trial", wording.minutes(correcting), ""))
    found.append(_element("All pieces", minutes["per_piece"], times=arcs, extra=extra, option="minutes"))
    span = f"4 in 5 under {wording.minutes(batch['p80'])}"
    return [*found, Element("Together", wording.minutes(batch["mean"]), span)]


def _element(name: str, told: Mapping[str, float], *, option: str, times: float = 1, extra: float = 0.0) -> Element:
    low, mean, high = (told[part] * times for part in ("low", "mean", "high"))
    span = f"{wording.minutes(low).removesuffix(' min')} to {wording.minutes(high)}"
    return Element(name, wording.minutes(mean + extra), span, option)


def _quoted(word: str) -> str:
    """A word as a shell takes it: in quotes where it has to be, double ones where they do."""
    if shlex.quote(word) == word:
        return word
    return shlex.quote(word) if set(word) & set('"$`\\!') else f'"{word}"'


def _record(method: MethodAdvice, advice: Advice, case: str | None, number: int | None) -> str:
    """The command that keeps the minutes."""
    parts = " ".join(f"--{element.option} __" for element in _minutes(method) if element.option)
    if number:
        return f"turn-radius record {number} {parts} --misses __"
    job = _quoted(case) if case else f"{_quoted(advice.callout.text)} …"
    return f'turn-radius record {job} --method "{method.name}" {parts} --misses __'


def _correct(method: MethodAdvice, advice: Advice, number: int | None) -> str:
    """The command that corrects the first piece, by the finest gauge that the shop has for it; '' without a number."""
    way = next((check["way"] for check in method.checks if check["use"] != "cannot be used here"), None)
    if not number or way is None:
        return ""
    size = {"ball": "template_diameter", "pins": "pin"}.get(way)
    gauge = _quoted(wording.as_marked(advice.values[size], advice.callout.units)) if size else ""
    options = FIRST_PIECE[way].format(gauge)
    if way == "depth" and advice.values["convex"] and not advice.values["end"]:
        options = FIRST_PIECE["two diameters"]
    return f"turn-radius correct {number} {options}"


# What to measure on the first piece, by the ways of gauging.WAYS: the options of `correct`.
FIRST_PIECE = {
    **dict.fromkeys(("leaf", "template", "scribed template", "loupe"), "--light __ --gap __"),
    **dict.fromkeys(("depth", "ring", "straightedge"), "--measured-depth __ --measured-width __"),
    "two diameters": "--crest __ --edge __ --measured-width __",
    "ball": "--ball {} --over-ball __ --small-diameter __",
    "pins": "--pins {} --over-pins __",
    "comparator": "--measured-radius __",
}


def _assumed(advice: Advice) -> str:
    """What nobody stated and would matter, in one line."""
    told = wording.assumed(advice)
    return ", ".join(f"{name} {shown}" for name, shown, _ in told)


# ---- the second page


def reasons(method: MethodAdvice, advice: Advice) -> list[Reason]:
    """Why this method, what counted, why not the others, and every number with its formula: list of Reason."""
    from advisor.show.numbers import setup_numbers

    sections = [
        Reason("Why", tuple(wording.why(advice) if method is advice.best else [wording.why_not(method, advice)]))
    ]
    told = [wording.because(f, advice) for f in method.findings if KINDS[f.kind].reason]
    sections.append(Reason("What counted", tuple(dict.fromkeys(told))))
    rivals = [other for other in advice.ranked if other is not method and other is not advice.best]
    others = [f"{_upper(other.name)}: {wording.why_not(other, advice)}" for other in rivals]
    sections.append(Reason("Why not the others", tuple(others)))
    numbers = []
    for label, found in setup_numbers(method, advice):
        for derivation in found:
            shown = f": {derivation.value}" if derivation.kind in ("given", "limit") else ""
            for line in derivation.lines:
                numbers.append(f"{_upper(label.removeprefix(LINE))}: {line}{shown}")
    sections.append(Reason("Where the numbers come from", tuple(dict.fromkeys(numbers))))
    return [section for section in sections if section.lines]


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]
