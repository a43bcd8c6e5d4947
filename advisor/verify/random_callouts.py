"""Callouts drawn at random, as columns: every shape, material, support, skill and lathe in equal shares, sizes over all
orders of magnitude that a drawing may ask for.

A "row" is one callout in one place, a place being a lathe of a shop, as it is or with one thing otherwise. Rows are a
dict of arrays as long as each other; words stand as numbers of the lists below.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy

from advisor.answer import advice
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.asked.callout import WORDS as SPOKEN
from advisor.asked.options import plain as plain_options
from advisor.asked.radius_text import general_tolerance
from advisor.asked.sizes import agreed, usual_stickout
from advisor.formulas import geometry

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence
    from dataclasses import Field
    from typing import Any, TypeVar

    from advisor.asked.options import Option
    from advisor.asked.shop import Compound, Lathe, PivotAttachment, Shop
    from advisor.formulas.numeric import Array, Codes, Column, Flags, Numeric, Values
    from advisor.rulebase.rulebook import Name, Rulebook

    Rows = dict[str, Array]  # what is drawn, by its name, a callout each
    Row = Mapping[str, Any]  # one of them
    Change = Callable[[Shop], Shop]
    Reaching = TypeVar("Reaching", Compound, PivotAttachment)

FORMS, LOCATIONS, SUPPORTS = (tuple(SPOKEN[name]) for name in ("form", "location", "support"))
SYMBOLS = ("R", "CR", "SR")
SOURCES = ("written", "ISO 2768-1", "title block")
WORDS = {
    "form": FORMS, "location": LOCATIONS, "support": SUPPORTS, "symbol": SYMBOLS, "tolerance_source": SOURCES,
    **{name: tuple(option.words) for name, option in plain_options().items() if option.kind == "words"},
}  # fmt: skip
GENERAL = "ISO 2768-m"
NUMBERS = (
    "radius", "tolerance", "diameter", "chord", "from_end", "shoulder_height", "length", "bore", "stickout",
    "hardness", "finish", "quantity", "places", *(name for name, o in plain_options().items() if o.kind == "number"),
)  # fmt: skip
TRUTHS = (*(name for name, option in plain_options().items() if option.kind == "truth"), "carbide", "inch_drawing")
WHOLE = ("quantity", "places")
HARDEST, SOFTEST = 650.0, 5.0
ROUND = 3  # decimals of a size in mm


@dataclass(frozen=True)
class Place:
    """Where a callout is to be made.

    values: what the rules are given of it; key: places with the same can share columns; marks: radii at which something
    begins or ends there; spans: ranges of radius that something there reaches, as (lowest, highest) [mm].
    """

    shop: shops.Shop
    lathe: shops.Lathe
    otherwise: str
    values: dict[str, Any]
    key: tuple[Any, ...]
    marks: tuple[float, ...]
    spans: tuple[tuple[float, float], ...]


def _each_lathe(shop: Shop, change: Callable[[Lathe], Lathe]) -> Shop:
    return replace(shop, lathes=tuple(map(change, shop.lathes)))


def _lathes(shop: Shop, **changes: Any) -> Shop:
    return _each_lathe(shop, lambda lathe: replace(lathe, **changes))


def _parts(shop: Shop, name: str, **changes: Any) -> Shop:
    """The shop with a part of its lathes changed, where a lathe has that part."""
    return _each_lathe(
        shop,
        lambda lathe: (
            replace(lathe, **{name: replace(getattr(lathe, name), **changes)}) if getattr(lathe, name) else lathe
        ),
    )


def _far_reaching(shop: Shop) -> Shop:
    lathes = _each_lathe(
        shop, lambda lathe: replace(lathe, compound=_twentyfold(lathe.compound, "tip_past_max", "tip_short_max"))
    )
    return replace(lathes, pivot_attachment=_twentyfold(shop.pivot_attachment, "convex_max", "concave_max"))


def _twentyfold(part: Reaching | None, *names: str) -> Reaching | None:
    return part and replace(part, **{name: 20 * getattr(part, name) for name in names})


def _ready(shop: Shop) -> Shop:
    tools = [shops.ReadyTool(radius=12.0, form=form, width=30.0, edge_good_for=0.05) for form in FORMS]
    return replace(
        shop, form_tools=replace(shop.form_tools, grinding="bench grinder", ready=(*shop.form_tools.ready, *tools))
    )


# What may be otherwise in a shop: how it is told, and the shop with it.
OTHERWISE = {
    "": lambda shop: shop,
    "without pivot attachment": lambda shop: replace(shop, pivot_attachment=None),
    "without compound slide": lambda shop: _lathes(shop, compound=None),
    "without rod seats": lambda shop: replace(_lathes(shop, rod=None), rods=()),
    "without form tools": lambda shop: replace(shop, form_tools=shops.FormTools(grinding="none")),
    "without tool grinder": lambda shop: replace(shop, form_tools=replace(shop.form_tools, grinding="none")),
    "without gauges, or anything to make one of": lambda shop: replace(shop, gauges=shops.Gauges(template_stock=False)),
    "without files or a speed for its chuck": lambda shop: replace(
        _lathes(shop, chuck_highest_speed=numpy.nan), files=shops.Files(handles=False)
    ),
    "without round-nose tools": lambda shop: _lathes(shop, nose_radii=()),
    "with a chuck of half the size": lambda shop: _each_lathe(
        shop, lambda lathe: replace(lathe, chuck_diameter=lathe.chuck_diameter / 2)
    ),
    "with a compound slide that ends 15 mm in front of its swivel": lambda shop: _parts(shop, "compound", front=15.0),
    "with an attachment and a compound slide that reach twenty times as far": _far_reaching,
    "with a tool clamped 1 mm out of its post, and a cross slide that passes 60 mm": lambda shop: _lathes(
        shop, tool_overhang=1.0, swing_over_cross_slide=60.0
    ),
    "with a motor of 0.75 kW": lambda shop: _lathes(shop, motor_power=0.75),
    "with a motor of 6 kW": lambda shop: _lathes(shop, motor_power=6.0),
    "with a bench grinder, and form tools of R12 mm, 30 mm wide, on the shelf": _ready,
}


def _left_out() -> dict[str, Change]:
    """What a shop file may leave out, a key or both ends of a range at a time: how it is told -> change of a shop."""
    found = {}
    for table, kind in TABLES.items():
        optional = [entry for entry in fields(kind) if entry.default is not MISSING]
        for entry in optional:
            if entry.name.endswith("_max"):
                continue
            ends = [entry] + [high for high in optional if high.name == entry.name.removesuffix("_min") + "_max"]
            keys = [end.metadata.get("key", end.name) for end in ends]
            found[f"without {' and '.join(keys)} under {table}"] = _leaving_out(table, ends)
    return found


def _leaving_out(table: str, entries: Sequence[Field[Any]]) -> Change:
    gone = {entry.name: entry.default for entry in entries}

    def change(shop: Shop) -> Shop:
        if table == "lathe":
            return _lathes(shop, **gone)
        *of_lathe, name = table.split(".")
        if not of_lathe:
            part = getattr(shop, name)
            return replace(shop, **{name: replace(part, **gone)}) if part else shop
        return _parts(shop, name, **gone)

    return change


# Tables of a shop file of which each key that may be left out is left out in turn.
TABLES = {
    "lathe": shops.Lathe, "lathe.compound": shops.Compound, "lathe.rod": shops.RodGear,
    "pivot_attachment": shops.PivotAttachment, "form_tools": shops.FormTools, "gauges": shops.Gauges,
    "files": shops.Files,
}  # fmt: skip
LEFT_OUT = _left_out()
OTHERWISE |= LEFT_OUT


def places(found: Sequence[Shop], known: Collection[str], changes: Mapping[str, Change] | None = None) -> list[Place]:
    """Every lathe of some shops, as it is and with one thing otherwise: list of Place.

    known: givens of the rule base; changes: of OTHERWISE, all of them if None.
    """
    made = []
    for otherwise, change in (OTHERWISE if changes is None else changes).items():
        for whole in found:
            shop = change(whole)
            if otherwise and shop == whole:
                continue
            for place, lathe in enumerate(shop.lathes):
                values = {name: v for name, v in shops.shop_values(shop, lathe).items() if name in known}
                as_it_is = shops.shop_values(whole, whole.lathes[place])
                if otherwise in LEFT_OUT and not _differ(values, as_it_is):
                    continue
                lists = tuple((name, v) for name, v in values.items() if isinstance(v, tuple))
                own = tuple((name, str(v)) for name, v in advice.overrides(shop).items())
                made.append(Place(shop, lathe, otherwise, values, (lists, own), _marks(values), _spans(as_it_is)))
    return made


def _differ(values: Values, others: Values) -> bool:
    """Whether some value is another, or known only on one side."""
    return any(
        value != others[name] and (value == value or others[name] == others[name]) for name, value in values.items()
    )


def _marks(values: Values) -> tuple[float, ...]:
    found = {tool[0] for tool in values.get("ready_tools", ())}
    for name in ("gauge_leaves", "shelf_rods", "nose_radii"):
        found.update(values.get(name, ()))
    found.update(mark for span in _spans(values) for mark in span)
    return tuple(sorted(mark for mark in found if 0.1 < mark < 2000)) or (6.0,)


def _spans(values: Values) -> tuple[tuple[float, float], ...]:
    pairs = [(name, name.removesuffix("_min") + "_max") for name in values if name.endswith("_min")]
    found = [(max(values[low], 0.1), values[high]) for low, high in pairs if values[low] == values[low]]
    return tuple(span for span in found if span[0] < span[1]) or ((1.0, 100.0),)


# ---- drawing


def draw(seed: Sequence[int], count: int, where: Sequence[Place]) -> Rows:
    """Rows of `count` callouts. where: list of Place; half of the rows lie in shops as they are."""
    rng = numpy.random.default_rng(seed)
    rows: Rows = {"place": _shares(rng, count, len(where))}
    whole = [number for number, place in enumerate(where) if not place.otherwise]
    moved = rng.random(count) < 0.5
    rows["place"][moved] = numpy.array(whole)[_shares(rng, int(moved.sum()), len(whole))]
    shape = _shares(rng, count, 6)
    rows |= {"form": shape % 2, "location": shape // 2}
    for name in ("support", "skill", "symbol", "tolerance_source"):
        rows[name] = _shares(rng, count, len(WORDS[name]))
    for name in ("symbol", "tolerance_source"):
        rows[name][rng.random(count) < 0.7] = 0
    rows["material"] = _shares(rng, count, len(materials.materials()))
    rows |= _job(rng, count)
    rows |= {name: _plain(rng, count, option) for name, option in plain_options().items() if name not in rows}
    rows["hardness"] = _hardness(rng, rows["material"])
    rows |= {name: numpy.full(count, numpy.nan) for name in NUMBERS if name not in rows}
    wanting = numpy.arange(count)
    for _ in range(40):
        for name, values in _sizes(rng, {name: column[wanting] for name, column in rows.items()}, where).items():
            rows[name][wanting] = values
        wanting = wanting[~sound({name: column[wanting] for name, column in rows.items()}, where)]
        if not len(wanting):
            break
    return taken(rows, numpy.setdiff1d(numpy.arange(count), wanting))


def taken(rows: Rows, which: Codes | Flags) -> Rows:
    """Some of the rows."""
    return {name: column[which] for name, column in rows.items()}


def joined(parts: Sequence[Rows]) -> Rows:
    """Several sets of rows as one."""
    return {name: numpy.concatenate([part[name] for part in parts]) for name in parts[0]}


def _shares(rng: numpy.random.Generator, count: int, levels: int) -> Codes:
    """Whole numbers under `levels`, each as often as the others, in random order."""
    return rng.permutation(count) % levels


def _log(rng: numpy.random.Generator, low: Numeric, high: Numeric, count: int) -> Column:
    return numpy.exp(rng.uniform(numpy.log(low), numpy.log(high), count))


def _mostly(rng: numpy.random.Generator, usual: Numeric, share: float, other: Column) -> Column:
    """`usual` in a share of the rows, `other` in the rest."""
    return numpy.where(rng.random(len(other)) < share, usual, other)


def _job(rng: numpy.random.Generator, count: int) -> Rows:
    return {
        "quantity": _mostly(rng, 1.0, 0.15, numpy.ceil(_log(rng, 0.5, 3000, count))),
        "places": _mostly(rng, 1.0, 0.6, numpy.ceil(_log(rng, 0.5, 12, count))),
        "minutes_in_piece": _mostly(rng, 0.0, 0.5, numpy.round(_log(rng, 1, 600, count))),
        "finish": _mostly(rng, numpy.nan, 0.4, numpy.round(_log(rng, 0.1, 15, count), 2)),
        "interrupted": rng.random(count) < plain_options()["interrupted"].share,
        "carbide": rng.random(count) < 0.35,
        "inch_drawing": rng.random(count) < 0.3,
    }


def _plain(rng: numpy.random.Generator, count: int, option: Option) -> Array:
    """What is nothing but itself: words in equal shares, a truth in its own, a number of its other values or as usual."""
    if option.kind == "words":
        return _shares(rng, count, len(option.words))
    if option.kind == "truth":
        return rng.random(count) < option.share
    return numpy.array([option.usual, *option.others])[_shares(rng, count, 1 + len(option.others))]


def _hardness(rng: numpy.random.Generator, material: Codes) -> Column:
    """Hardness as sold, somewhere in the usual range of the material, or anything [HB]."""
    rows = list(materials.materials().values())
    usual = numpy.array([float(row["hardness"]) for row in rows])[material]
    low, high = (numpy.array([float(row["hardness_range"][end]) for row in rows])[material] for end in (0, 1))
    within = numpy.round(rng.uniform(low, high))
    anything = numpy.round(_log(rng, 40, HARDEST, len(material)))
    return numpy.select([rng.random(len(material)) < 0.3, rng.random(len(material)) < 0.65], [usual, within], anything)


def _sizes(rng: numpy.random.Generator, rows: Rows, where: Sequence[Place]) -> dict[str, Column]:
    """Radius, tolerance and the sizes of each shape [mm]: the radius first, the rest in proportion to it."""
    count = len(rows["place"])
    convex, corner, end = _shape(rows).values()
    anything = numpy.where(corner, _log(rng, 0.2, 80, count), _log(rng, 0.5, 900, count))
    near = _one_of(rng, [place.marks for place in where], rows["place"])
    near = near * _mostly(rng, 1.0, 0.4, 1 + 0.04 * rng.standard_normal(count))
    low, high = _one_of(rng, [place.spans for place in where], rows["place"]).T
    kind = rng.random(count)
    radius = numpy.round(numpy.select([kind < 0.4, kind < 0.7], [anything, near], _log(rng, low, high, count)), ROUND)
    tolerance = _mostly(rng, _log(rng, 0.005, 2.0, count), 0.6, radius * _log(rng, 0.001, 0.02, count))
    tolerance = numpy.round(numpy.clip(tolerance, 0.002, radius * 0.9), ROUND + 1)
    tolerance = numpy.where(rows["tolerance_source"] == 1, _general(rows["form"], radius), tolerance)
    chord = numpy.round(2 * radius / _mostly(rng, 1.0, 0.1, _log(rng, 1.001, 40, count)), ROUND)
    depth = numpy.where(corner, radius, geometry.depth_of_arc(radius=radius, chord=numpy.minimum(chord, 2 * radius)))
    wide = _log(rng, 1.001, 60, count)
    rim = numpy.round(chord * _mostly(rng, 0.0, 0.4, _log(rng, 0.02, 0.5, count)), ROUND)
    diameter = numpy.select(
        [corner & convex, corner, end & convex, end],
        [2 * radius * _mostly(rng, 1.0, 0.05, wide), radius * wide, chord, chord + 2 * rim],
        2 * depth * wide,
    )
    diameter = numpy.round(numpy.maximum(diameter, 2.0), ROUND)
    chord = numpy.where(corner, numpy.nan, numpy.where(end & convex, diameter, chord))
    sizes = {"radius": radius, "tolerance": tolerance, "diameter": diameter, "chord": chord}
    sizes["from_end"] = numpy.where(
        corner | end, numpy.nan, numpy.round(chord * _mostly(rng, 0.0, 0.2, _log(rng, 0.1, 8, count)), ROUND)
    )
    fillet = corner & ~convex
    height = numpy.round(radius * _mostly(rng, 1.0, 0.1, _log(rng, 1.001, 6, count)), ROUND)
    sizes["shoulder_height"] = numpy.where(fillet, _mostly(rng, numpy.nan, 0.4, height), numpy.nan)
    length = numpy.round(radius * _log(rng, 1.001, 20, count), ROUND)
    sizes["length"] = numpy.where(corner, _mostly(rng, numpy.nan, 0.4, length), numpy.nan)
    room = numpy.select(
        [corner & convex, corner | (end & convex), end], [diameter - 2 * radius, diameter, chord], diameter - 2 * depth
    )
    sizes["bore"] = numpy.round(
        numpy.maximum(room, 0.0) * _mostly(rng, 0.0, 0.7, rng.uniform(0.05, 0.99, count)), ROUND
    )
    reach = _reach(rows | sizes)
    out = numpy.maximum(reach * 1.001, diameter * _log(rng, 0.3, 25, count))
    usual = usual_stickout(diameter=diameter, far_side=reach)
    sizes["stickout"] = numpy.round(numpy.where(rng.random(count) < 0.3, usual, out), ROUND)
    return sizes


def _general(form: Codes, radius: Column) -> Column:
    """What the general tolerance gives [mm]."""
    either = [general_tolerance(GENERAL, radius, form=word) for word in FORMS]
    return numpy.where(form == 0, *either)


def _one_of(rng: numpy.random.Generator, lists: Sequence[Sequence[Any]], place: Codes) -> Column:
    """One entry of the list of its place for each row."""
    first = numpy.cumsum([0, *map(len, lists)])
    many = numpy.diff(first)[place]
    return numpy.array([entry for entries in lists for entry in entries])[
        first[place] + (rng.random(len(place)) * many).astype(int)
    ]


def _shape(rows: Rows) -> dict[str, Flags]:
    corner, end = rows["location"] == 0, rows["location"] == 1
    return {"convex": rows["form"] == 0, "corner": corner, "end": end}


def _depth(rows: Rows) -> Column:
    flat = numpy.minimum(rows["chord"], 2 * rows["radius"])
    return numpy.asarray(geometry.feature_depth(radius=rows["radius"], chord=flat, corner=rows["location"] == 0))


def _reach(rows: Rows) -> Column:
    """From the free end to the far side of the arc [mm]."""
    corner, end = rows["location"] == 0, rows["location"] == 1
    fillet = corner & (rows["form"] == 1)
    length = numpy.where(numpy.isnan(rows["length"]), 0.0, rows["length"])
    at_corner = numpy.where(fillet, numpy.maximum(rows["radius"], length), rows["radius"])
    return numpy.where(corner, at_corner, numpy.where(end, _depth(rows), rows["from_end"] + rows["chord"]))


def sound(rows: Rows, where: Sequence[Place]) -> Flags:
    """Which rows are callouts that a drawing can ask for, on work that the lathe swings: a truth value each."""
    radius, chord, outside = rows["radius"], rows["chord"], rows["location"] == 2
    sizes = {name: rows[name] for name in ("diameter", "shoulder_height", "length", "stickout", "from_end", "bore")}
    nothing = numpy.full(radius.shape, numpy.nan)
    stated = sizes | {"width": chord, "depth": nothing, "rim": nothing}
    swing, bed = (
        numpy.array([place.values[name] for place in where])[rows["place"]]
        for name in ("swing_over_bed", "between_centres")
    )
    with numpy.errstate(invalid="ignore"):
        found, checks = agreed(stated, radius=radius, alone=rows["support"] == 0, **_shape(rows))
        wrong = [
            *(broken for _, broken in checks),
            (found["swung"] > swing) | (rows["stickout"] > bed),
            ~(rows["tolerance"] > 0.001)
            | ~(rows["tolerance"] < radius)
            | ~(radius >= 0.01)
            | ~(rows["diameter"] >= 0.5),
            (rows["tolerance_source"] == 1) & (rows["tolerance"] != _general(rows["form"], radius)),
            (rows["location"] != 0) & ~(chord >= 0.01),
            outside & ~(rows["from_end"] >= 0),
            ~(rows["stickout"] >= found["reach"]) | ~(rows["bore"] >= 0),
            ~((rows["hardness"] >= SOFTEST) & (rows["hardness"] <= HARDEST)),
            ~((rows["quantity"] >= 1) & (rows["quantity"] <= 1e6) & (rows["places"] >= 1) & (rows["places"] <= 1e6)),
            rows["finish"] <= 0.001,
            ~(rows["minutes_in_piece"] >= 0),
        ]
    return ~numpy.logical_or.reduce(wrong)


def changed(rows: Rows, name: str, values: Column) -> Rows:
    """Rows with other values of one number, and with what follows from it."""
    rows = rows | {name: numpy.where(numpy.isnan(rows[name]), rows[name], values)}
    if name == "radius":
        general = _general(rows["form"], rows["radius"])
        rows["tolerance"] = numpy.where(rows["tolerance_source"] == 1, general, rows["tolerance"])
    if name == "diameter":
        dome = (rows["location"] == 1) & (rows["form"] == 0)
        rows["chord"] = numpy.where(dome, rows["diameter"], rows["chord"])
    return rows


# ---- what the rules are given


def by_key(rows: Rows, where: Sequence[Place]) -> list[Codes]:
    """Numbers of the rows that can share columns: list of arrays."""
    keys: dict[tuple[Any, ...], int] = {}
    for place in where:
        keys.setdefault(place.key, len(keys))
    of_place = numpy.array([keys[place.key] for place in where])[rows["place"]]
    return [numpy.flatnonzero(of_place == key) for key in range(len(keys)) if (of_place == key).any()]


def givens(rows: Rows, where: Sequence[Place], rulebook: Rulebook) -> dict[str, Array]:
    """What the rule base is given for rows of places with one key: name -> array, or one value for all.

    Raises LookupError for a name that the rule base is given and that is not drawn here.
    """
    names = rulebook.names
    given = {name: rows[name] for name in (*NUMBERS, *TRUTHS, *WORDS)}
    given["radius_low"] = rows["radius"] - rows["tolerance"]
    given["radius_high"] = rows["radius"] + rows["tolerance"]
    given |= _cutting(rows, names)
    own = [where[place].values for place in numpy.unique(rows["place"])]
    spot = numpy.searchsorted(numpy.unique(rows["place"]), rows["place"])
    for name, value in own[0].items():
        same = isinstance(value, tuple) or len(own) == 1
        given[name] = value if same else numpy.array([values[name] for values in own])[spot]
    for name in [name for name in rows if name in own[0]]:  # a number of the place that these rows change
        given[name] = numpy.where(numpy.isnan(rows[name]), given[name], rows[name])
    missing = [
        name for name in rulebook.givens if name not in given and names[name].default is None and names[name].origin
    ]
    if missing:
        raise LookupError(f"advisor/verify/random_callouts.py draws no value for {', '.join(sorted(missing))}")
    return {name: value for name, value in given.items() if name in rulebook.givens}


def _cutting(rows: Rows, names: Mapping[str, Name]) -> dict[str, Array]:
    """What each row's material is and cuts like; words as their places in the vocabulary."""
    found, count = {}, len(rows["material"])
    every = list(materials.materials().values())
    for number in numpy.unique(rows["material"]):
        which = numpy.flatnonzero(rows["material"] == number)
        row = every[number]
        values = materials.material_values(row=row, hardness=rows["hardness"][which], carbide=rows["carbide"][which])
        low, high = row["hardness_range"]
        values |= {"usual_hardness_low": float(low), "usual_hardness_high": float(high)}
        for name, word in (("material_group", row["group"]), ("chip", row["chip"])):
            if name in names:
                values[name] = names[name].values.index(word)
        for name, value in values.items():
            if name not in found:
                found[name] = numpy.zeros(count, dtype=numpy.asarray(value).dtype)
            found[name][which] = value
    return found


def command(row: Row, where: Sequence[Place]) -> str:
    """A row as the command line that states it. row: name -> single value."""
    place = where[int(row["place"])]
    location, form = LOCATIONS[int(row["location"])], FORMS[int(row["form"])]
    source = SOURCES[int(row["tolerance_source"])]
    tolerance = f" ±{_text(row['tolerance'])}" if source == "written" else ""
    parts = [f'turn-radius advise "{SYMBOLS[int(row["symbol"])]}{_text(row["radius"])}{tolerance} mm"']
    if not tolerance:
        general = GENERAL if source == "ISO 2768-1" else f"±{_text(row['tolerance'])} mm"
        parts.append(f'--general-tolerance "{general}"')
    parts += [f"--form {form}", f"--location {_quoted(location)}", f'--diameter "{_text(row["diameter"])} mm"']
    dome = (location, form) == ("end", "convex")
    for name, option in (
        ("chord", "width"),
        ("from_end", "from-end"),
        ("shoulder_height", "shoulder-height"),
        ("length", "length"),
    ):
        if row[name] == row[name] and not (name == "chord" and dome):
            parts.append(f'--{option} "{_text(row[name])} mm"')
    if row["bore"]:
        parts.append(f'--bore "{_text(row["bore"])} mm"')
    parts.append(f'--stickout "{_text(row["stickout"])} mm" --support {_quoted(SUPPORTS[int(row["support"])])}')
    parts.append(
        f"--material {_quoted(list(materials.materials())[int(row['material'])])} "
        f'--hardness "{_text(row["hardness"])} HB"'
    )
    if row["finish"] == row["finish"]:
        parts.append(f'--finish "Ra {_text(row["finish"])} um"')
    parts += [
        f"--quantity {row['quantity']:.0f}",
        f"--places {row['places']:.0f}",
    ]
    parts += [
        f"--{name.replace('_', '-')} {said}" for name, o in plain_options().items() if (said := _said(o, row[name]))
    ]
    if row["carbide"]:
        parts.append("--tool carbide")
    if row["inch_drawing"]:
        parts.append("--units inch")
    parts.append(f"--shop {_quoted(place.shop.name)} --lathe {_quoted(place.lathe.name)}")
    changes = [place.otherwise] if place.otherwise else []
    changes += [f"with {name} = {_text(row[name])}" for name in row if name in place.values and row[name] == row[name]]
    return " ".join(parts) + (f"  # the shop {', '.join(changes)}" if changes else "")


def _said(option: Option, value: Any) -> str:
    """What is written behind an option; '' where it is as usual, words always."""
    if option.kind == "words":
        return _quoted(list(option.words)[int(value)])
    if option.kind == "truth":
        return "yes" if value else ""
    return "" if value == option.usual else f'"{_text(value)} {_UNITS[option.dimension]}"'


_UNITS = {"time": "min", "length": "mm", "roughness": "um", "angle": "deg"}  # of numbers here


def _quoted(word: str) -> str:
    return f'"{word}"' if " " in word or not word else word


def _text(number: float) -> str:
    return numpy.format_float_positional(float(number), trim="-")
