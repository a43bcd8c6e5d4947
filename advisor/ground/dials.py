"""What a dial shows: a distance that a slide moves -> the reading to stop at, in the dial's own unit.

A dial counts in millimetres or in inches, whatever the drawing is in; the dial of a cross slide may count the diameter,
twice what the slide moves. One line of it is a graduation, and a hand sets to half of one. All lengths are in mm inside;
they become the dial's own unit where they become words.
"""

from __future__ import annotations

import functools
import math
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground.methods import methods
from advisor.ground.units import INCH

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any


NAN = float("nan")
UNIT = {"mm": 1.0, "inch": INCH}  # mm
SIGN = {"mm": "mm", "inch": "in"}
FINEST_LINE = {"mm": 0.005, "inch": 0.00005}  # of dials and micrometers, in their own unit
USUAL_DECIMALS = {"mm": 3, "inch": 4}  # where nobody knows the graduation, and for what rounding leaves
MOST_DECIMALS = 6
GAUGE = "depth micrometer"
COMPOUND = "compound dial"


class Dial(NamedTuple):
    """A dial or a thimble. name; units: that it counts, "mm" or "inch"; graduation: what one line counts [mm], NaN where
    nobody knows; divisions: lines to one turn, NaN where nobody knows; doubled: whether it counts the diameter."""

    name: str
    units: str
    graduation: float = NAN
    divisions: float = NAN
    doubled: bool = False


class Reading(NamedTuple):
    """Where to stop on a dial that was set to zero. distance: that the slide has to move [mm]; exact: what the dial would
    count for it [mm]; counts: that to the nearest half graduation [mm]; turns, lines: the same as whole turns and lines
    beyond, None where it is less than a turn or nobody knows the lines to a turn."""

    dial: Dial
    distance: float
    exact: float
    counts: float
    turns: int | None = None
    lines: float | None = None

    @property
    def left(self) -> float:
        """What the rounding leaves, as the dial counts [mm]: above 0 where the reading falls short."""
        return self.exact - self.counts


def read(dial: Dial, distance: float, *, up: bool = False) -> Reading:
    """The reading of a dial for a distance, whichever way it goes.

    dial: Dial; distance: that the slide moves [mm]; up: whether it is rounded up, never to less than the distance.

    On an inch dial with .001 in a line and .100 in a turn, 6.35 mm is .250 in: two turns and fifty lines. 6 mm is
    .23622 in, and .236 is what can be set.

    >>> inch = Dial("cross dial", "inch", graduation=0.0254, divisions=100)
    >>> read(inch, 6.35)[4:], read(inch, 6.0)[4:], round(read(inch, 6.0).left / INCH, 5)
    ((2, 50.0), (2, 36.0), 0.00022)
    >>> metric = Dial("cross dial", "mm", graduation=0.05, divisions=100, doubled=True)
    >>> read(metric, 6.35)[4:], round(read(metric, 6.35).counts, 3)
    ((2, 54.0), 12.7)
    """
    exact = abs(distance) * (2 if dial.doubled else 1)
    half = dial.graduation / 2
    if not half > 0 or exact != exact:
        return Reading(dial, distance, exact, exact)
    halves = math.ceil(exact / half - 1e-9) if up else math.floor(exact / half + 0.5)
    turns = lines = None
    if dial.divisions > 0 and halves >= 2 * dial.divisions:
        turns, rest = divmod(halves, round(2 * dial.divisions))
        lines = rest / 2
    return Reading(dial, distance, exact, halves * half, turns, lines)


def unit_of(graduation: float, usual: str) -> str:
    """The unit that a dial counts, by its graduation: the usual one, unless the graduation is a round number in the
    other unit only.

    graduation [mm]; usual: the unit where both are possible, or nobody knows the graduation.

    >>> unit_of(0.02, "mm"), unit_of(0.0254, "mm"), unit_of(0.02, "inch"), unit_of(0.0127, "inch"), unit_of(NAN, "mm")
    ('mm', 'inch', 'mm', 'inch', 'mm')
    """

    def whole(unit: str) -> bool:
        lines = graduation / UNIT[unit] / FINEST_LINE[unit]
        return lines == lines and lines > 0.5 and abs(lines - round(lines)) < 1e-6

    other = "inch" if usual == "mm" else "mm"
    return other if whole(other) and not whole(usual) else usual


def of_lathe(lathe: Any, usual: str) -> dict[str, Dial]:
    """The dials of a lathe by its slides.

    lathe: a Lathe of shop.py; usual: the units of its shop file. Returns {"cross": Dial, "carriage": Dial,
    "compound": Dial}.
    """
    units = lathe.dial_units or unit_of(lathe.dial_graduation, usual)
    compound = lathe.compound
    carriage = "carriage dial" if lathe.carriage_graduation > 0 else "carriage"
    return {
        "cross": Dial("cross dial", units, lathe.dial_graduation, lathe.dial_divisions, lathe.dials == "diameter"),
        "carriage": Dial(carriage, units, lathe.carriage_graduation, lathe.carriage_divisions),
        "compound": Dial(
            COMPOUND,
            units,
            compound.dial_graduation if compound else NAN,
            compound.dial_divisions if compound else NAN,
        ),
    }


def of_gauge(gauge: Any, usual: str) -> Dial | None:
    """The thimble of a depth micrometer, or None without one. usual: the units of the shop file."""
    return gauge and Dial(GAUGE, unit_of(gauge.graduation, usual), gauge.graduation)


# ---- which number is set on which dial


@functools.cache
def _dialled() -> Any:
    return {name: dial for method in methods().values() for name, dial in method.dials.items()}


def reading_of(name: str, advice: Any) -> Reading | None:
    """The reading for a number of the rule base, or None where it is not set by a dial here.

    The method that sets it says by which dial: that of a slide, "depth" for the way the tool goes into the work (along the
    bed on an end, else across), "infeed" for the same from where the arc itself touches, "middle" for a place along the bed,
    or "gauge". A place along the bed is one only for an arc on the outside diameter, where the tip goes from the face to the middle
    line; on ends and corners the touch itself is the place.
    """
    values, slide = advice.values, _dialled().get(name)
    distance = values.get(name, NAN)
    if slide is None or not isinstance(distance, (int, float)) or not math.isfinite(distance):
        return None
    outside = not values["end"] and not values["corner"]
    if slide == "infeed" and (values["feed_from_touch"] > distance or values["corner"] and not values["convex"]):
        return None  # the dial counts from the touch of the horn, or down to a zero that was set at full depth
    if slide == "middle" and (not outside or advice.callout.position_open):
        return None
    if slide == "gauge":
        gauge = of_gauge(advice.shop.gauges.depth_micrometer, advice.shop.units)
        return gauge and read(gauge, distance) if distance > 0 else None
    if slide in ("infeed", "depth", "middle"):
        slide = "carriage" if values["end"] or outside and slide == "middle" else "cross"
    if slide == "cross" and not distance:
        return None
    return read(of_lathe(advice.lathe, advice.shop.units)[slide], distance)


def readings(name: str, advice: Any) -> dict[str, Reading]:
    """Every number that a method sets by a dial: {name of the rule base: Reading}."""
    found = {number: reading_of(number, advice) for number in methods()[name].dials}
    return {number: reading for number, reading in found.items() if reading is not None}


def step_off(points: Iterable[Mapping[str, float]], advice: Any) -> list[tuple[Reading, Reading]]:
    """The positions of a step-off on both dials.

    points: list of {"x_in_mm", "z_in_mm"}, counted from where the nose touched. Returns a list of (Reading of the cross
    dial, Reading along the bed): by the carriage, or by the compound slide set along the bed where its dial is finer and
    its travel, if anybody measured it, takes the whole table.
    """
    slides = of_lathe(advice.lathe, advice.shop.units)
    ways = [slides["carriage"]]
    places = [point["z_in_mm"] for point in points] or [0.0]
    if not (advice.lathe.compound and max(places) - min(places) > advice.lathe.compound.travel):
        ways.append(slides["compound"])
    along = min(ways, key=lambda dial: (not dial.graduation > 0, dial.graduation))
    return [(read(slides["cross"], p["x_in_mm"]), read(along, p["z_in_mm"])) for p in points]


def plain(reading: Reading) -> dict[str, Any]:
    """A reading as plain data, lengths in mm and what the dial shows in its own unit."""
    dial = reading.dial
    return {
        "dial": dial.name,
        "units": dial.units,
        "counts": "diameter" if dial.doubled else "distance",
        "graduation_mm": dial.graduation,
        "distance_mm": reading.distance,
        "exact_mm": reading.exact,
        "reading_mm": reading.counts,
        "left_mm": reading.left,
        "shows": reading.counts / UNIT[dial.units],
        "turns": reading.turns,
        "divisions": reading.lines,
    }


# ---- words


def decimals(dial: Dial) -> int:
    """How many decimals it takes to write half a graduation of a dial in its unit.

    >>> decimals(Dial("", "inch", 0.0254)), decimals(Dial("", "mm", 0.02)), decimals(Dial("", "mm", 0.025))
    (4, 2, 4)
    >>> decimals(Dial("", "inch")), decimals(Dial("", "mm"))
    (4, 3)
    """
    half = dial.graduation / 2 / UNIT[dial.units]
    if not half > 0:
        return USUAL_DECIMALS[dial.units]
    fits = (n for n in range(2, MOST_DECIMALS) if abs(half * 10**n - round(half * 10**n)) < 1e-6 and half * 10**n > 0.5)
    return next(fits, MOST_DECIMALS)


def figure(mm: float, units: str, digits: int) -> str:
    """A length as a plain figure in a unit, without the unit: inches without the leading zero, and never minus nothing.

    >>> figure(6.35, "inch", 4), figure(-1e-9, "inch", 4), figure(6.35, "mm", 2)
    ('.2500', '.0000', '6.35')
    """
    text = f"{mm / UNIT[units]:.{digits}f}"
    if not float(text):
        text = text.removeprefix("-")
    return text.replace("0.", ".", 1) if units == "inch" and text.removeprefix("-").startswith("0.") else text


def shown(reading: Reading) -> str:
    """What a dial counts, as a figure with its unit.

    >>> shown(read(Dial("cross dial", "inch", 0.0254, doubled=True), 9.525)), shown(read(Dial("", "mm", 0.02), 6.0))
    ('.7500 in', '6.00 mm')
    """
    dial = reading.dial
    return f"{figure(reading.counts, dial.units, decimals(dial))} {SIGN[dial.units]}"


def turned(reading: Reading) -> str:
    """Turns and lines as a hand counts them; '' where it is less than a turn.

    >>> inch = Dial("cross dial", "inch", 0.0254, 100)
    >>> turned(read(inch, 6.35)), turned(read(inch, 2.54)), turned(read(inch, 0.254))
    ('2 turns + 50 divisions', '1 turn', '')
    """
    if reading.turns is None:
        return ""
    turns = f"{reading.turns} turn{'' if reading.turns == 1 else 's'}"
    lines = f"{reading.lines:g} division{'' if reading.lines == 1 else 's'}"
    return f"{turns} + {lines}" if reading.lines else turns


def left_over(reading: Reading) -> str:
    """What the rounding leaves in words; '' where it is nothing to speak of.

    >>> left_over(read(Dial("cross dial", "inch", 0.0254), 6.0)), left_over(read(Dial("cross dial", "mm", 0.02), 6.0))
    ('.0002 in short', '')
    """
    units = reading.dial.units
    text = figure(abs(reading.left), units, USUAL_DECIMALS[units])
    if not float(text):
        return ""
    return f"{text} {SIGN[units]} {'short' if reading.left > 0 else 'over'}"


def words(reading: Reading) -> str:
    """A reading as one line.

    >>> words(read(Dial("cross dial", "inch", 0.0254, 100), 6.0))
    'cross dial .2360 in = 2 turns + 36 divisions (.0002 in short)'
    >>> words(read(Dial("cross dial", "mm", 0.05, 80, doubled=True), 6.35))
    'cross dial 12.700 mm on the diameter = 3 turns + 14 divisions'
    """
    dial, turns, left = reading.dial, turned(reading), left_over(reading)
    across = " on the diameter" if dial.doubled else ""
    return f"{dial.name} {shown(reading)}{across}{f' = {turns}' if turns else ''}{f' ({left})' if left else ''}"


def aside(reading: Reading) -> str:
    """A reading for the brackets behind its distance in a sentence.

    >>> aside(read(Dial("cross dial", "inch", 0.0254, 100), 6.0))
    'cross dial .2360 in = 2 turns + 36 divisions'
    """
    return words(reading).removeprefix(f"{GAUGE} ").partition(" (")[0]


def differs(reading: Reading, units: str) -> bool:
    """Whether a dial shows another figure than a drawing in these units: another unit, or the diameter."""
    return reading.dial.units != units or reading.dial.doubled


def tells(reading: Reading, units: str) -> bool:
    """Whether a reading tells more than the distance itself, or there is a dial to turn to it."""
    return differs(reading, units) or reading.dial.graduation > 0
