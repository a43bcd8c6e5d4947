"""Where each method wins: the whole advice over a grid of two quantities, for an otherwise fixed callout."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy

from advisor.answer import column_advice
from advisor.answer.advice import tolerance_source, tool_open
from advisor.asked import materials
from advisor.asked.options import plain as plain_options
from advisor.formulas.numeric import NAN
from advisor.ground.errors import CalloutError
from advisor.ground.units import read_quantity, show_length
from advisor.lists import listing

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import Any

    from advisor.asked.callout import Callout
    from advisor.asked.shop import Shop
    from advisor.formulas.numeric import Column, Flags, Numeric, Truth
    from advisor.rulebase.rulebook import Rulebook


AXES = ("radius", "tolerance", "quantity", "diameter", "width", "stickout")
RATIOS = ("radius", "tolerance", "quantity", "diameter")  # what the trade thinks of in ratios: logarithmic axes
POINTS = 400
NO_METHOD, IMPOSSIBLE = -1, -2
TOLERANCE_OVER_RADIUS = "tolerance as large as the radius"
NO_LATHE = "no lathe takes it"
_WIDTH_SHAPES = (("end", "concave"), ("outside diameter", "concave"), ("outside diameter", "convex"))


class Axis(NamedTuple):
    """One axis: a name of AXES, its ends in internal units, and whether it is logarithmic."""

    name: str
    low: float
    high: float
    logarithmic: bool

    def points(self, count: int) -> Column:
        """So many values from end to end, evenly spaced on the axis."""
        if self.logarithmic:
            return numpy.geomspace(self.low, self.high, count)
        return numpy.linspace(self.low, self.high, count)


@dataclass
class Map:
    """Which method wins on a grid. x, y: Axis; xs, ys: values of columns and rows [mm or pieces]; methods: their names;
    best: place of the winning method, NO_METHOD or IMPOSSIBLE [rows, columns]; close: whether it is a close call; why:
    place in `reasons` of what makes a point impossible, -1 elsewhere; reasons: sentences; here: this callout's own
    point and the place of its method, None for a point outside the map.
    """

    x: Axis
    y: Axis
    xs: numpy.ndarray
    ys: numpy.ndarray
    methods: list[str]
    best: numpy.ndarray
    close: numpy.ndarray
    why: numpy.ndarray
    reasons: list[str]
    here: tuple[float, float, int]
    units: str
    callout: Callout
    shop: str

    @property
    def shares(self) -> dict[int, float]:
        """Share of the map that each method, NO_METHOD and IMPOSSIBLE take: place -> share, largest first."""
        places, counts = numpy.unique(self.best, return_counts=True)
        pairs = zip(places.tolist(), (counts / self.best.size).tolist())
        return dict(sorted(pairs, key=lambda pair: -pair[1]))

    @property
    def inside(self) -> bool:
        """Whether this callout lies on the map."""
        x, y, _ = self.here
        return self.x.low <= x <= self.x.high and self.y.low <= y <= self.y.high


def axis_for(name: str, callout: Callout, *, option: str, low: Any = None, high: Any = None) -> Axis:
    """An axis of a map. low, high: its ends as written, chosen round the callout's own value where None. Raises
    CalloutError.
    """
    if name not in AXES:
        raise CalloutError(option, name, "is not a quantity to draw a map over", f"Give one of {', '.join(AXES)}.")
    if name == "width" and (callout.location, callout.form) not in _WIDTH_SHAPES:
        problem = f"is not a size of a {callout.form} radius at the {callout.location}"
        raise CalloutError(option, name, problem, "Give another quantity.")
    own = _own(name, callout)
    ends = _usual(name, own, callout)
    read = [_read(name, text, callout, f"{option}-{end}") for text, end in ((low, "from"), (high, "to"))]
    low_end, high_end = (stated if stated is not None else usual for stated, usual in zip(read, ends))
    if not 0 < low_end < high_end:
        shown = " to ".join(_shown(name, end, callout.units) for end in (low_end, high_end))
        raise CalloutError(option, shown, "is no range", "Give a smaller value to begin with than to end with.")
    return Axis(name, low_end, high_end, name in RATIOS)


def _own(name: str, callout: Callout) -> float:
    return float(getattr(callout, name) or callout.radius)


def _usual(name: str, own: float, callout: Callout) -> tuple[float, float]:
    if name == "quantity":
        return 1.0, max(1000.0, 10 * own)
    if name == "stickout":
        return max(own / 5, 1.0), 4 * own
    if name == "width":
        return own / 10, max(2 * callout.radius, own) * 1.2
    factor = 10.0 if name == "tolerance" else 8.0
    return own / factor, own * factor


def _read(name: str, text: str | None, callout: Callout, option: str) -> Any:
    if text is None:
        return None
    if name == "quantity":
        return read_quantity(text, field=option, dimension="number", positive=True, at_most=1e6)
    unit = "in" if callout.units == "inch" else "mm"
    return read_quantity(text, field=option, dimension="length", default_unit=unit, positive=True, at_most=100_000)


def _shown(name: str, value: Any, units: str) -> Any:
    return f"{value:g}" if name == "quantity" else show_length(value, units)


def survey(
    callout: Callout,
    shop: Shop,
    *,
    x: Axis,
    y: Axis,
    size: tuple[int, int] = (POINTS, POINTS),
    rules: Rulebook | None = None,
) -> Map:
    """The Map of a callout in a shop. x, y: Axis; size: columns and rows; rules: as `many.rules_for` gives them."""
    if x.name == y.name:
        raise CalloutError("--y", y.name, "is on the other axis already", f"Give another of {', '.join(AXES)}.")
    rules = rules or column_advice.rules_for(shop)
    xs, ys = x.points(size[0]), y.points(size[1])
    own = numpy.array([_own(x.name, callout)]), numpy.array([_own(y.name, callout)])
    across, up = (grid.ravel() for grid in numpy.meshgrid(xs, ys))
    best, close, why, reasons = _winners(callout, shop, rules, {x.name: across, y.name: up})
    at_home, _, _, _ = _winners(callout, shop, rules, {x.name: own[0], y.name: own[1]})
    shape = (size[1], size[0])
    return Map(
        x=x,
        y=y,
        xs=xs,
        ys=ys,
        methods=[method["name"] for method in rules.methods],
        best=best.reshape(shape),
        close=close.reshape(shape),
        why=why.reshape(shape),
        reasons=reasons,
        here=(float(own[0][0]), float(own[1][0]), int(at_home[0])),
        units=callout.units,
        callout=callout,
        shop=shop.name,
    )


def _winners(
    callout: Callout, shop: Shop, rules: Rulebook, changed: Mapping[str, Column]
) -> tuple[Any, Any, Any, list[str]]:
    """Winner, close call and what makes it impossible, for each point: (best [n], close [n], why [n], reasons)."""
    count = len(next(iter(changed.values())))
    reasons, why = [], numpy.full(count, -1, dtype=numpy.int8)

    def broken(check: str, rows: Truth) -> None:
        rows = rows & (why < 0)
        if rows.any():
            if check not in reasons:
                reasons.append(check)
            why[rows] = reasons.index(check)

    given = given_at(callout, changed, broken)
    large, long = (
        numpy.broadcast_to(value, count) for value in (column_advice.swung_diameter(given), given["stickout"])
    )
    lathe = column_advice.lathes(shop, large, callout.lathe, stickout=long)
    broken(NO_LATHE, lathe < 0)
    best = numpy.full(count, IMPOSSIBLE, dtype=numpy.int8)
    close = numpy.zeros(count, dtype=bool)
    for place, one in enumerate(shop.lathes):
        rows = numpy.flatnonzero((lathe == place) & (why < 0))
        if len(rows):
            part = column_advice.givens(given, shop, one, rows)
            found = list(column_advice.advise(rules, part, rows=len(rows), decide=False))
            best[rows] = numpy.concatenate([answers.best for answers in found])
            close[rows] = numpy.concatenate([answers.close_call for answers in found])
    return best, close, why, reasons


def given_at(callout: Callout, changed: Mapping[str, Column | Flags], broken: Callable[..., Any]) -> dict[str, Numeric]:
    """What the rule base is given where some things of a callout are otherwise; assumed sizes follow what changes, as
    they would for a single callout.

    changed: name -> array, of sizes, radius and tolerance [mm], quantity, places, minutes_in_piece, hardness [HB] and
    finish [um] as numbers, interrupted and tool (carbide) as truth values, support and skill as their codes in
    listing.CODED, material as its place in the table; broken: function (what is wrong, rows in which it is). Returns
    name -> array, or one value where it is the same for all.
    """
    assumed = {entry.name for entry in callout.assumed}

    def own(name: str) -> float:
        value = getattr(callout, name)
        return NAN if value is None or name in assumed else float(value)

    def at(name: str, value: float | bool) -> Any:
        return changed.get(name, value)

    radius, tolerance = at("radius", callout.radius), at("tolerance", callout.tolerance)
    moved = "radius" in changed or "tolerance" in changed
    if moved:
        broken(TOLERANCE_OVER_RADIUS, tolerance >= radius)
    sizes = {name: at(name, own(name)) for name in listing.LENGTHS + listing.LENGTHS_FROM_ZERO}
    sizes["depth"] = NAN  # what is drawn is the width; the depth follows
    codes = {name: listing.CODED[name].index(getattr(callout, name)) for name in ("form", "location")}
    if (callout.location, callout.form) == ("end", "convex"):
        sizes["width"] = NAN
    support = at("support", listing.CODED["support"].index(callout.support))
    with numpy.errstate(all="ignore"):
        agreed = listing.agreed_sizes(sizes, radius=radius, support=support, broken=broken, **codes)
    return {
        **agreed,
        **codes,
        "radius": radius,
        "tolerance": tolerance,
        "radius_low": radius - tolerance if moved else callout.radius_low,
        "radius_high": radius + tolerance if moved else callout.radius_high,
        "symbol": callout.symbol,
        "tolerance_source": tolerance_source(callout),
        "finish": at("finish", NAN if callout.finish is None else callout.finish),
        "inch_drawing": callout.units == "inch",
        "carbide": at("tool", callout.tool == "carbide"),
        "tool_open": "tool" not in changed and tool_open(callout),
        "support": support,
        "quantity": numpy.maximum(numpy.round(at("quantity", float(callout.quantity))), 1.0),
        "places": at("places", float(callout.places)),
        **{name: at(name, option.code(getattr(callout, name))) for name, option in plain_options().items()},
        "material": at("material", list(materials.materials()).index(callout.material)),
        "hardness": at("hardness", NAN if callout.hardness is None else float(callout.hardness)),
    }


def deepest(mask: Flags, *, row_height: float = 1.0) -> Column:
    """How deep each point lies inside a region, in widths of a column: its distance from the nearest point outside.

    mask: truth values, those inside the region; beyond the edge lies outside. row_height: of a row, in widths of a column.

    >>> deepest(numpy.array([[False, True, True], [True, True, True], [True, True, True]]))
    array([[0.        , 1.        , 1.        ],
           [1.        , 1.41421356, 1.        ],
           [1.        , 1.        , 1.        ]])
    """
    outside = ~numpy.pad(mask, 1)
    rows: Any
    columns: Any
    rows, columns = numpy.indices(outside.shape)
    above = numpy.maximum.accumulate(numpy.where(outside, rows, -1), axis=0)
    below = numpy.minimum.accumulate(numpy.where(outside, rows, len(rows))[::-1], axis=0)[::-1]
    upright = numpy.minimum(rows - above, below - rows) * row_height  # to the nearest point outside in the same column
    across = (columns[0][:, None] - columns[0][None, :]) ** 2
    return numpy.sqrt([(line**2 + across).min(axis=1) for line in upright])[1:-1, 1:-1]


def room_for(free: Flags, *, rows: int, columns: int) -> Flags:
    """Points about which a box of so many rows and columns holds nothing but free points: truth values, alike in
    shape.
    """
    rows, columns = min(rows, free.shape[0]), min(columns, free.shape[1])
    taken = numpy.zeros((free.shape[0] + 1, free.shape[1] + 1), dtype=numpy.int64)
    taken[1:, 1:] = (~free).cumsum(axis=0).cumsum(axis=1)
    inside = taken[rows:, columns:] - taken[:-rows, columns:] - taken[rows:, :-columns] + taken[:-rows, :-columns]
    room = numpy.zeros(free.shape, dtype=bool)
    up, left = rows // 2, columns // 2
    room[up : up + inside.shape[0], left : left + inside.shape[1]] = (inside == 0)[
        : free.shape[0] - up, : free.shape[1] - left
    ]
    return room


def round_values(axis: Axis, *, factor: float = 1.0) -> list[float]:
    """Round values on an axis for its scale, in units of `factor`: 1, 2, 5, 10 and so on, or even steps."""
    low, high = axis.low / factor, axis.high / factor
    if axis.logarithmic:
        decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        found = [step * 10.0**decade for decade in decades for step in (1, 2, 5)]
    else:
        step = 10.0 ** math.floor(math.log10((high - low) / 2))  # from two to twenty of them
        step = next(step * part for part in (0.5, 1, 2, 5) if (high - low) / (step * part) <= 8)
        found = [step * number for number in range(math.ceil(low / step), math.floor(high / step) + 1)]
    return [value for value in found if low * (1 - 1e-9) <= value <= high * (1 + 1e-9)]


def nice(value: float) -> str:
    """A number for a scale, without digits that nobody reads.

    >>> nice(0.5), nice(20.0), nice(1000.0)
    ('0.5', '20', '1,000')
    """
    return f"{value:,.0f}" if value >= 10 and math.isclose(value, round(value)) else f"{value:g}"
