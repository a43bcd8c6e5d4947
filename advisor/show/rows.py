"""What to set, as rows of words for any page: label, value, and what the dial shows where a dial is turned."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from advisor.answer import wording
from advisor.ground import dials
from advisor.ground.methods import Number, methods, own_module
from advisor.ground.units import FOOT, INCH, nearest_fraction

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice

WORD = {"mm": "mm", "inch": "inch"}  # never "in", which reads as a direction
LINE = "Line: "  # how the label of a layout line begins
LAYOUT = "layout"  # the key of the lines


class Row(NamedTuple):
    """One line of the setup: what it is, its value in the drawing's unit, the dial reading or '', and which number of
    methods.toml it shows."""

    label: str
    value: str
    dial: str = ""
    number: Number | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the rule base behind it; a scribed line has none of its own."""
        return self.number.names if self.number else ()


class Table(NamedTuple):
    """A table: its title, a note on how it counts, the headings, and the rows of text."""

    title: str
    note: str
    headings: Sequence[str]
    rows: Sequence[Sequence[str]]


def setup_rows(method: MethodAdvice, advice: Advice) -> list[Row]:
    """The numbers to set for a method, most important first; empty where the geometry does not permit it."""
    if method.setup is None:
        return []
    return Rows(method, advice).rows()


class Rows:
    """Writes the rows of one method's setup. setup: its numbers by their names in the JSON; values: by the names of the rule
    base."""

    def __init__(self, method: MethodAdvice, advice: Advice) -> None:
        self.kind = methods()[method.name]
        self.setup = method.to_set
        self.advice = advice
        self.units = advice.callout.units
        self.values = advice.values
        self.own = own_module("advisor.show.methods", self.kind.prefix)

    def rows(self) -> list[Row]:
        """Every row that has something to say: list of Row."""
        shown = getattr(self.own, "shown", None)
        keys = shown(self) if shown else None
        found = []
        for number in self.kind.numbers:
            if number.key == LAYOUT:
                found += self.lines(number)
            elif keys is None or number.key in keys or number not in self.kind.own:
                found.append(Row(number.label, *self.written(number), number))
        return [row for row in found if row.value]

    def written(self, number: Number) -> tuple[str, str]:
        """A number in words, and what its dial shows."""
        said = self.pattern(number.shows) if number.shows else getattr(self.own, number.key)(self)
        if isinstance(said, tuple):
            return said
        return said, next(filter(None, map(self.dial, number.dials)), "")

    def pattern(self, shows: str) -> str:
        """A pattern of methods.toml filled in; '' where a number of it is not known."""
        empty = []

        def fill(found: re.Match[str]) -> str:
            name, _, how = found[1].partition(":")
            value = self.setup[name] if name in self.setup else _number(self.values[name])
            text = str(value) if not how and value is not None else WAYS[how](self, value) if how else ""
            if not text:
                empty.append(name)
            return text

        text = _FILLED.sub(fill, shows)
        return "" if empty else text

    def lines(self, number: Number) -> list[Row]:
        """The lines that are scribed before the arc is cut, which are none where it is made without any."""
        if self.kind.unmarked and self.values[self.kind.unmarked]:
            return []
        return [
            Row(f"{LINE}{line['line']}", placed(line, self.length, self.advice), "", number)
            for line in self.setup["layout"]
        ]

    def marked(self, mm: float) -> str:
        """A size taken from the shelf, as it is marked."""
        return "" if mm is None else wording.as_marked(mm, self.units)

    def length(self, mm: float | None, *, fraction: bool = True) -> str:
        if mm is None:
            return ""
        text = wording.length(mm, self.units)
        if self.units == "inch" and fraction and "(" not in text:
            near = nearest_fraction(mm / INCH)
            off = abs(mm / INCH - round(mm / INCH * 64) / 64)
            if "/" in near and off <= 0.002:
                text += f" (near {near})"
        return text

    def least(self, mm: float) -> str:
        """A least length, without the fraction near by, which may lie under it."""
        return self.length(wording.at_least(mm, self.units), fraction=False)

    def dial(self, name: str, *, only_otherwise: bool = False) -> str:
        """What the dial shows that a number of the rule base is set by; '' where none is.

        only_otherwise: only where it shows another figure than the number itself.
        """
        reading = dials.reading_of(name, self.advice)
        if reading is None or not dials.tells(reading, self.units):
            return ""
        same = not dials.differs(reading, self.units) and not dials.left_over(reading)
        return "" if only_otherwise and same else dials.words(reading)

    def angle(self, degrees: float) -> str:
        return "" if degrees is None else f"{wording.number(degrees, 2)}°"

    def speed(self, rpm: float) -> str:
        return "" if rpm is None else wording.speed(rpm)

    def surface(self, speed: float) -> str:
        if speed is None:
            return ""
        if self.units == "inch":
            return f"{wording.number(speed / FOOT, 0)} ft/min"
        return f"{wording.number(speed, 1)} m/min"

    def finely(self, mm: float | None) -> str:
        """A small length, without the fraction near by."""
        return self.length(mm, fraction=False)

    def count(self, number: int) -> str:
        return "" if number is None else str(number)

    def across(self, mm: float) -> str:
        """A place across the bed, from the axis."""
        return self.signed(mm, "beyond the axis")

    def along(self, mm: float) -> str:
        """A place along the bed from the end face, or from the shoulder of a fillet, which has the tool in front of it; no
        number where nobody said where the arc lies."""
        if self.advice.callout.position_open:
            return wording.NO_POSITION
        if self.values["corner"] and not self.values["convex"]:
            return self.signed(mm, "behind the shoulder", "in front of the shoulder")
        return self.signed(mm, "in front of the face", "behind the face")

    def swing(self, sweep: float) -> str:
        """The sweep to swing through; on an end the tip goes from the rim to the middle only."""
        if sweep is None:
            return ""
        whole = wording.swing(sweep)
        if not self.values["end"]:
            return whole
        return f"{wording.swing(sweep / 2)} from the rim to the middle, half the arc's {whole}"

    def stickout(self, needed: float) -> str:
        """The stickout to let the work out to; nothing where it stands out far enough already."""
        if needed is None or not needed > self.values["stickout"]:
            return ""
        by_position = f"{self.kind.prefix}_stickout" in wording.BY_POSITION
        if by_position and self.advice.callout.position_open:
            return wording.NO_POSITION
        return f"at least {self.least(needed)}"

    def overhang(self, mm: float) -> str:
        """How far the tool stands out of its holder; nothing where that is as usual."""
        return self.length(mm) if self.values[f"{self.kind.prefix}_reach"] == "just misses" else ""

    def wound(self, way: float) -> str:
        """On an end: the way of the cross slide from the touch on the diameter to the centre under the axis."""
        if not self.values["end"] or way is None or not way > 0:
            return ""
        return f"{self.length(way)} {'out' if self.values['convex'] else 'in'}"

    def signed(self, mm: float, when_negative: str, when_positive: str = "") -> str:
        if mm is None:
            return ""
        text = self.length(abs(mm))
        words = when_negative if mm < 0 else when_positive
        if mm == 0 and not when_positive:
            return "on the axis"
        return f"{text} {words}".strip()


def _number(value: float) -> float | None:
    """A value of the rule base, None where it is not known."""
    return None if value != value else value


# The ways to write a number that methods.toml may name.
WAYS = {
    name: getattr(Rows, name)
    for name in (
        "length", "finely", "least", "marked", "angle", "speed", "surface", "count", "across", "along", "swing", "stickout",
        "overhang", "wound",
    )
}  # fmt: skip
_FILLED = re.compile(r"\{(\w+(?::\w+)?)\}")


def placed(line: Mapping[str, Any], length: Callable[[float], str], advice: Advice) -> str:
    """How far a layout line lies from where, in words; '' where it cannot be told. length: function (mm) -> words."""
    if line["distance_mm"] is None:
        return wording.NO_POSITION if advice.callout.position_open else ""
    return f"{length(line['distance_mm'])} {from_where(line)}"


def from_where(line: Mapping[str, Any]) -> str:
    """From where a layout line is measured, in words."""
    start = line["from"]
    return f"from {start}" if start.startswith("one ") else f"from the {start}"


def table_rows(method: MethodAdvice, advice: Advice) -> Table | None:
    """The step-off table of hand work or the edge table of a form tool -> Table; None without one.

    An edge table is thinned for reading (the whole of it is in the JSON); a step-off never, since every step counts.
    """
    if method.setup is None:
        return None
    units = advice.callout.units

    def cell(mm: float | None) -> str:
        if mm is None:
            return "-"
        return dials.figure(mm, units, dials.USUAL_DECIMALS[units])

    own = own_module("advisor.show.methods", methods()[method.name].prefix)
    return own.table(method, advice, cell) if own and hasattr(own, "table") else None


def check_lines(method: MethodAdvice, advice: Advice, *, usable: bool = False) -> list[tuple[str, str]]:
    """Ways to prove the radius as lines: what with, what it reads, what it can see, whether that proves.

    usable: without those that cannot be used here, where there are others.
    """
    units = advice.callout.units
    lines = []
    can = [check for check in method.checks if check["use"] != "cannot be used here"]
    for check in can if usable and can else method.checks:
        words = wording.how(check["way"], advice.values)
        sized = wording.as_marked if check["way"] in wording.GAUGES else wording.length
        size = "" if check["size_mm"] is None else f", {sized(check['size_mm'], units)}"
        reading = "" if check["reading_mm"] is None else f", reads {wording.length(check['reading_mm'], units)}"
        why_not = wording.cannot_be_used(check, advice)
        sees = "" if check["sees_mm"] is None else f"sees {wording.length(check['sees_mm'], units).split(' (')[0]}: "
        verdict = _VERDICTS[check["use"]] + (f", {why_not}" if why_not else "")
        lines.append((f"{words[:1].upper()}{words[1:]}{size}{reading}", f"{sees}{verdict}"))
    return lines


_VERDICTS = {"proves": "proves it", "compares": "compares only", "cannot be used here": "cannot be used here"}
