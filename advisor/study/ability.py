"""What a shop can do: the radii that each method reaches by form and place, how fine it holds them, and what would help.

Nothing here knows a rule. The whole advice is worked out over columns of radii in work of many sizes, and what stands
is what the shop can do.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy

from advisor.answer import advice, column_advice
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked.radius_text import general_tolerance
from advisor.engine import generated
from advisor.ground.errors import ShopError
from advisor.study import changes, mapping

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.formulas.numeric import Column, Flags, Truth
    from advisor.rulebase.rulebook import Rulebook


FORMS = ("convex", "concave")
LOCATIONS = ("end", "corner", "outside diameter")
GENERAL = "ISO 2768-m"
LEAST, MOST = 0.5, 2000.0  # mm; the general tolerance begins at the one, and no lathe for hand work swings the other
POINTS, AGAIN = 80, 20  # radii that are tried from end to end, and between two of them where the reach ends
DIAMETERS = (0.25, 0.7, 1.3, 2.0, 2.6, 4.0, 10.0)  # of the work, in radii
SWUNG = (0.5, 0.99)  # of the work, in what a lathe swings over its cross slide
WIDTHS = (0.15, 0.5, 1.2, 1.9)  # across a hollow, a groove or a crown, in radii
TRIED = {"mm": (3.0, 10.0, 30.0), "inch": (3.175, 9.525, 31.75)}  # mm; radii for which the finest tolerance is told
FINEST, COARSEST, STEPS = 0.005, 1.0, 50  # mm, tolerances tried
USUAL = (2.0, 4.0, 8.0, 16.0, 32.0)  # mm; radii over which it is tried what would help
DIGITS = 3


@dataclass(frozen=True)
class Reach:
    """Radii that a method turns, lowest and highest [mm]; whole: whether everything tried between them stands."""

    low: float
    high: float
    whole: bool


@dataclass(frozen=True)
class Help:
    """A thing that the shop lacks. kind: in words; made: callouts that can be made with it alone; quicker: others that
    it makes quicker; saved: share of the minutes that it saves on those, on average."""

    kind: str
    made: int
    quicker: int
    saved: float


@dataclass(frozen=True)
class Ability:
    """What a shop can do. methods: names; reaches: (method, form, location) -> Reach, absent where nothing stands;
    finest: method -> the finest tolerance at each of `radii`, not a number where none [mm]; tried: callouts over which
    was tried what would help; stand: how many of them have a method; helps: list of Help, what helps most first."""

    shop: Shop
    methods: tuple[str, ...]
    reaches: dict[tuple[str, str, str], Reach]
    radii: tuple[float, ...]
    finest: dict[str, list[float]]
    tried: int
    stand: int
    helps: list[Help]


def ability(shop: Shop) -> Ability:
    """The Ability of a shop."""
    rules = column_advice.rules_for(shop)
    methods = tuple(method["name"] for method in rules.methods)
    reaches: dict[Any, Any] = {}
    finest = {name: [math.nan] * len(TRIED[shop.units]) for name in methods}
    for location in LOCATIONS:
        for form in FORMS:
            tried = _Tried(shop, rules, form, location)
            found = tried.reaches()
            reaches |= {(name, form, location): reach for name, reach in zip(methods, found, strict=True) if reach}
            for name, tolerances in zip(methods, tried.finest(TRIED[shop.units]), strict=True):
                finest[name] = numpy.fmin(finest[name], tolerances).tolist()
    return Ability(shop, methods, reaches, TRIED[shop.units], finest, *_helps(shop))


class _Tried:
    """One shape, tried in work of many sizes on every lathe of a shop."""

    def __init__(self, shop: Shop, rules: Rulebook, form: str, location: str) -> None:
        self.shop, self.rules, self.form, self.location = shop, rules, form, location
        self.wide = (location, form) != ("end", "convex") and location != "corner"
        self.callout = _callout(shop, form, location, 6.0, 0.5)

    def stands(self, radius: Column, tolerance: Column) -> Flags:
        """Whether each method stands for radii in work of any size [methods, n]. radius, tolerance: arrays [mm]."""
        widths = WIDTHS if self.wide else (1.0,)
        numbers = numpy.arange(len(radius))
        swung = [part * lathe.swing_over_cross_slide for lathe in self.shop.lathes for part in SWUNG]
        kinds = numpy.arange(len(DIAMETERS) + len(swung))
        row, kind, width = (x.ravel() for x in numpy.meshgrid(numbers, kinds, widths, indexing="ij"))
        diameter = numpy.hstack([numpy.outer(radius, DIAMETERS), numpy.tile(swung, (len(radius), 1))])[row, kind]
        changed = {"radius": radius[row], "tolerance": tolerance[row], "diameter": diameter}
        if self.wide:
            changed["width"] = radius[row] * width
        wrong = numpy.zeros(len(row), dtype=bool)

        def broken(_: str, rows: Truth) -> None:
            wrong[:] |= rows

        with numpy.errstate(all="ignore"):
            given = mapping.given_at(self.callout, changed, broken)
        found = numpy.zeros((len(self.rules.methods), len(radius)), dtype=bool)
        large, long = (
            numpy.broadcast_to(v, len(row)) for v in (column_advice.swung_diameter(given), given["stickout"])
        )
        for lathe in self.shop.lathes:
            fits = column_advice.lathes(self.shop, large, lathe.name, stickout=long) >= 0
            rows = numpy.flatnonzero(fits & ~wrong)
            if len(rows):
                part = column_advice.givens(given, self.shop, lathe, rows)
                told = column_advice.together(column_advice.advise(self.rules, part, rows=len(rows), decide=False))
                for place, minutes in enumerate(told.measures):
                    found[place, row[rows[numpy.isfinite(minutes)]]] = True
        return found

    def reaches(self) -> list[Reach | None]:
        """The Reach of each method, None where it has none."""
        radius = numpy.geomspace(LEAST, MOST, POINTS)
        stands = self.stands(radius, self._general(radius))
        ends = []
        for of_method in stands:
            places = numpy.flatnonzero(of_method)
            ends.append((places[0], places[-1]) if len(places) else None)
        between = []
        for end in ends:
            for place, beyond in () if end is None else ((end[0], end[0] - 1), (end[1], end[1] + 1)):
                beyond = min(max(beyond, 0), POINTS - 1)
                between.append(numpy.linspace(radius[beyond], radius[place], AGAIN))
        if between:
            closer = numpy.concatenate(between)
            again = self.stands(closer, self._general(closer))
        found: list[Reach | None] = []
        start = 0
        for place, end in enumerate(ends):
            if end is None:
                found.append(None)
                continue
            spans: list[Any] = []
            for _ in range(2):
                part = slice(start, start + AGAIN)
                spans.append(closer[part][again[place, part]])
                start += AGAIN
            whole = bool(stands[place, end[0] : end[1] + 1].all())
            found.append(Reach(float(min(spans[0])), float(max(spans[1])), whole))
        return found

    def finest(self, radii: tuple[float, float, float]) -> Column:
        """The finest tolerance that each method holds on each radius, not a number where it holds none: a list a method
        [mm]."""
        tolerance = numpy.geomspace(FINEST, COARSEST, STEPS)
        stands = self.stands(numpy.repeat(radii, STEPS), numpy.tile(tolerance, len(radii)))
        stands = stands.reshape(len(stands), len(radii), STEPS)
        return numpy.where(stands.any(axis=2), tolerance[numpy.argmax(stands, axis=2)], numpy.nan)

    def _general(self, radius: Column) -> Any:
        return general_tolerance(GENERAL, radius, form=self.form)


def _callout(shop: Shop, form: str, location: str, radius: Any, tolerance: Any, **more: str) -> Callout:
    """A callout of usual work, in mm."""
    fields = {"radius": f"R{radius:g} ±{tolerance:g}", "form": form, "location": location}
    across = 1.6 if (location, form) == ("end", "convex") else 4.0  # a dome covers the whole face
    fields |= {"diameter": f"{across * radius:g} mm", "units": "mm"} | more
    if location == "outside diameter" or (location, form) == ("end", "concave"):
        fields["width"] = f"{1.2 * radius:g} mm"
    return callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)


def _helps(shop: Shop) -> tuple[int, int, list[Help]]:
    """Callouts tried, how many stand, and what the shop lacks that would make or quicken most of them."""
    tried = stand = 0
    found: dict[str, list[Any]] = {}
    for form in FORMS:
        for location in LOCATIONS:
            for radius in USUAL:
                tolerance = general_tolerance(GENERAL, radius, form=form) / 2
                told = _advice(shop, _callout(shop, form, location, radius, tolerance, quantity="10"))
                tried += 1
                if told is None:
                    continue
                stand += told.best is not None
                _add_helps(told, found)
    helps = [
        Help(kind, made, len(saved), float(numpy.mean(saved)) if saved else 0.0)
        for kind, (made, saved) in found.items()
    ]
    return tried, stand, sorted(helps, key=lambda one: -(one.made + one.quicker * one.saved))


def _advice(shop: Shop, callout: Callout) -> Advice | None:
    try:
        return advice.advise(callout, shop, executor=generated.run)
    except ShopError:  # no lathe swings it
        return None


def _add_helps(told: Advice, found: dict[str, list[Any]]) -> None:
    """What would help one callout, added up by kind: kind -> [callouts made possible, shares of the minutes saved]."""
    given = advice.givens(told.callout, told.shop, told.lathe)
    now = told.best.minutes["batch"]["mean"] if told.best else math.inf
    for thing in changes.missing(told, given):
        minutes = min(changes.measured(told.rules, given | thing.changed).values())
        made, saved = found.setdefault(thing.kind, [0, []])
        if math.isinf(now) and math.isfinite(minutes):
            found[thing.kind][0] = made + 1
        elif minutes < now * (1 - 1e-6):
            saved.append(1 - minutes / now)


def inward(reach: Reach, units: str) -> Reach:
    """A Reach with ends that one can read: DIGITS figures in these units, rounded to the inside [mm]."""
    return Reach(_rounded(reach.low, math.ceil, units), _rounded(reach.high, math.floor, units), reach.whole)


def upward(tolerance: float, units: str) -> float:
    """A tolerance of two figures in these units, rounded to the coarser side [mm].

    >>> upward(0.01621, "mm")
    0.017
    """
    return _rounded(tolerance, math.ceil, units, 2)


def _rounded(value: float, way: Callable[..., Any], units: str, digits: int = DIGITS) -> float:
    unit = 25.4 if units == "inch" else 1.0
    step = 10.0 ** (math.floor(math.log10(value / unit)) - digits + 1)
    return round(way(value / unit / step + (-1e-6 if way is math.ceil else 1e-6)) * step, 9) * unit
