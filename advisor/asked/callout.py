"""What the drawing says and how the work is held: words and numbers as written -> Callout, or one clear error.

`read_callout` takes the flat names that a case file and the command line share; `open_case` reads the file.
"""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from advisor.asked.grades import read_material, solid
from advisor.asked.options import by_table, options
from advisor.asked.options import plain as plain_options
from advisor.asked.radius_text import MOST, ToleranceFrom, read_radius
from advisor.asked.sizes import read_sizes
from advisor.asked.spelling import (
    FRACTION,
    LARGE,
    MOST_PLACES,
    POINT,
    Shape,
    decided,
    evidence,
    family,
    mm_writing,
    parse,
    shapes_known,
    synonyms,
    whole_number,
    whole_shapes,
)
from advisor.asked.written import read_diameter, read_pieces
from advisor.formulas.hardness import brinell
from advisor.ground import strangers
from advisor.ground.errors import CalloutError, did_you_mean, together
from advisor.ground.folders import rule_tables, toml
from advisor.ground.units import (
    SMALLEST_LENGTH,
    SMOOTHEST,
    Unreadable,
    hardness_limits,
    plain,
    read_hardness,
    read_quantity,
    show_length,
    shown,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator
    from re import Pattern
    from typing import Any

    from advisor.asked.options import Option
    from advisor.asked.radius_text import Radius
    from advisor.asked.spelling import Size, Written
    from advisor.ground.errors import InputError


TABLES = by_table()
KEYS = tuple(key for keys in TABLES.values() for key in keys)
REQUIRED = {
    "radius": "Give the radius as on the drawing, such as R6 ±0.1.",
    "form": "Give convex or concave, or one word for form and location such as fillet, groove, crown, dome or dish.",
    "location": "Give corner, end or outside diameter, or one word for both such as fillet, groove, crown, dome or dish.",
    "diameter": "Give the diameter of the work at the radius, such as 40 mm.",
}
# The words of each key, each with other words that say the same.
WORDS = {
    "form": synonyms("form"),
    "location": {
        place: (*others, *({"outside diameter": ("outside",)}.get(place, ())))
        for place, others in synonyms("location").items()
    },
    **{name: option.words for name, option in options().items() if option.words},
}
LENGTHS = (
    "radius", "tolerance", "radius_low", "radius_high", "diameter", "width", "depth", "from_end", "shoulder_height",
    "length", "rim", "bore", "stickout",
)  # fmt: skip


class Assumed(NamedTuple):
    """A value that nobody stated: its name, the value (lengths in mm), and where it comes from."""

    name: str
    value: object
    origin: str


class Read(NamedTuple):
    """How something was read: its name, what was written, what it was taken for, and why, by a word of its own.

    value: of a radius the text of `radius_text.echo`, of lengths mm, of a shape its form and location. why: "written"
    where the drawing says all of it; for a unit the reasons of `spelling.decided`; else "word".
    """

    name: str
    written: str
    value: object
    why: str


@dataclass(frozen=True, kw_only=True)
class Callout:
    """One radius to turn. Lengths in mm; None where the shape has no such size or it was not given.

    text: the radius as written; tolerance: half the width between radius_low and radius_high; tolerance_from: the
    radius_text.ToleranceFrom that says which rule gave it; width: chord across the arc, None on a corner; finish: Ra [um]; count: places written at the radius
    ("2X"); hardness [HB]; minutes_in_piece [min]; assumed: what was not stated; read: how it was
    read, a Read each; notes: what is to be told of what was written, names of rules/callouts.toml; expect: what a
    worked case must give.
    """

    text: str
    symbol: str
    radius: float
    tolerance: float
    radius_low: float
    radius_high: float
    tolerance_from: ToleranceFrom
    form: str
    location: str
    diameter: float
    width: float | None = None
    depth: float | None = None
    from_end: float | None = None
    shoulder_height: float | None = None
    length: float | None = None
    rim: float | None = None
    bore: float = 0.0
    units: str = "mm"
    general_tolerance: str | None = None
    finish: float | None = None
    count: int | None = None
    material: str = "low-carbon steel"
    hardness: float | None = None
    hardness_text: str = ""
    stickout: float | None = None
    support: str = "chuck"
    interrupted: bool = False
    tool: str = "high-speed steel"
    quantity: int = 1
    places: int = 1
    skill: str = "journeyman"
    minutes_in_piece: float = 0.0
    shop: str | None = None
    lathe: str | None = None
    assumed: tuple = ()
    read: tuple = ()
    notes: tuple = ()
    expect: dict = field(default_factory=dict)

    @property
    def position_open(self) -> bool:
        """Whether nobody stated where along the work a groove or crown lies. What is taken instead serves to compare; no
        setting may hang on it."""
        return any(entry.name == "from_end" for entry in self.assumed)


def read_callout(
    fields: Mapping[str, Any],
    *,
    materials: Mapping[str, dict[str, Any]],
    inch_tolerances: Mapping[str, float] | None = None,
    shop_units: str | None = None,
    where: str = "",
    overridden: Collection[str] | Mapping[Any, Any] = (),
    expect: Mapping[str, list[str] | str] | None = None,
) -> Callout:
    """The callout that these fields state, with every default that they leave filled in and listed -> Callout.

    fields: name -> text, number or None (not given), the names of KEYS; materials: name -> {"hardness": HB, "aliases":
    names}; inch_tolerances: see `radius_text.read_radius`; shop_units: "mm" | "inch" of a shop that somebody chose, None
    where nobody did; where: goes before the field in an error ("case.toml: "),
    except for the names `overridden`; expect: kept as it is. Raises CalloutError with everything that
    is missing or wrong.

    >>> callout = read_callout(
    ...     {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"},
    ...     materials={"low-carbon steel": {"hardness": 150}},
    ... )
    >>> callout.radius, callout.tolerance, callout.stickout, callout.hardness
    (6.0, 0.1, 60.0, 150.0)
    """
    try:
        return _read(fields, materials, inch_tolerances, expect or {}, shop_units)
    except CalloutError as wrong:
        placed = [_placed(one, where, overridden) for one in wrong.each]
        raise together(placed) from None


def _placed(wrong: InputError, where: str, overridden: Collection[str]) -> InputError:
    if not where or wrong.field in overridden:
        return wrong
    return CalloutError(f"{where}{wrong.field}", wrong.value, wrong.problem, wrong.fix)


def _read(
    fields: Mapping[str, Any],
    materials: Mapping[str, dict[str, Any]],
    inch_tolerances: Mapping[str, float] | None,
    expect: Mapping[str, list[str] | str],
    shop_units: str | None,
) -> Callout:
    given = _Given(fields)
    written = None
    if given["radius"] is not None:
        try:
            written = parse(given["radius"])
        except Unreadable as wrong:
            given.problems.append(CalloutError("radius", shown(given["radius"]), wrong.problem, wrong.fix))
    if written is not None and written.diameter and written.size is not None:
        given.take_ball(written, written.size)
    form, location = _shape(given, written)
    _units(given, written, shop_units)
    radius = None
    if written is not None and not given.unclear:
        with given.kept():
            radius = _radius(given, written, form, location, inch_tolerances)
    sizes: dict[str, Any] = {}
    with given.kept():
        alone = given.spoken("support") in (None, "chuck")
        sizes = read_sizes(given, radius=radius and radius.radius, location=location, form=form, alone=alone)
    material, hardness, hardness_text = None, None, ""
    with given.kept():
        material = _material(given, materials)
    with given.kept():
        hardness, hardness_text = _hardness(given, material, materials)
    roughness = "uin" if given.units == "inch" else "um"
    rest: dict[str, Any] = {
        "general_tolerance": None if radius is None else radius.general_tolerance or _text(given, "general_tolerance")
    }
    readers = {
        "finish": lambda: _finish(given, roughness),
        "support": lambda: _support(given),
        "tool": lambda: given.word("tool", "high-speed steel", "no tool is stated"),
        "quantity": lambda: given.whole("quantity", 1, "no quantity is stated"),
        "places": lambda: _places(given, written and written.count),
        "shop": lambda: _text(given, "shop"),
        "lathe": lambda: _text(given, "lathe"),
    } | {name: functools.partial(given.plain, option) for name, option in plain_options().items()}
    for name in (key for key in KEYS if key in readers):
        with given.kept():
            rest[name] = readers[name]()
    given.refuse()
    if written is None or radius is None or form is None or location is None:
        raise ValueError("a callout that is not refused has a radius and a shape")
    return Callout(
        text=given["radius"].strip() if isinstance(given["radius"], str) else f"R{given['radius']}",
        symbol=radius.symbol,
        radius=radius.radius,
        tolerance=radius.tolerance,
        radius_low=radius.low,
        radius_high=radius.high,
        tolerance_from=radius.tolerance_from,
        form=form,
        location=location,
        **sizes,
        units=given.units,
        count=radius.count,
        material=material,
        hardness=hardness,
        hardness_text=hardness_text,
        **rest,
        assumed=tuple(given.assumed),
        read=(Read("radius", shown(given["radius"]), radius.echo, given.why_unit(written.unit)), *given.read),
        notes=radius.notes + (("told.half_ball",) if _half_ball(given, radius, form, location, sizes) else ()),
        expect=dict(expect),
    )


@functools.lru_cache(maxsize=1)
def _ball() -> Pattern[str]:
    words = "|".join(map(re.escape, rule_tables("callouts.toml")["ball"]["written"]))
    return re.compile(rf"(?i)(?<![^\W\d_])(?:{words})(?![^\W\d_])")


def names_ball(text: str | None) -> bool:
    """Whether a text names a whole ball.

    >>> names_ball("Ball"), names_ball("dome"), names_ball(None)
    (True, False, False)
    """
    return isinstance(text, str) and _ball().search(text) is not None


def _half_ball(given: _Given, radius: Radius, form: str, location: str, sizes: Mapping[str, float | None]) -> bool:
    """Whether a ball is asked for, of which the arc on the end is half: by a word, or by SR up to its full diameter."""
    if (form, location) != ("convex", "end"):
        return False
    spherical = radius.symbol == "SR" and sizes["width"] is not None and sizes["width"] >= 2 * radius.radius * FULL
    return spherical or any(names_ball(given[key]) for key in ("radius", "shape", "form", "location"))


FULL = 0.999  # share of a ball's diameter from which its arc on the end is half of it


def _support(given: _Given) -> str:
    support = given.word("support", "chuck", "no support is stated")
    if given["support"] is not None and as_spoken(shown(given["support"])) != support:
        given.read.append(Read("support", shown(given["support"]), support, "word"))
    return support


def _finish(given: _Given, unit: str) -> float | None:
    finish = given.quantity("finish", "roughness", unit, positive=True, at_least=SMOOTHEST)
    if finish is not None and re.search(r"(?i)rms|rq|aa|cla|^\s*n", shown(given["finish"])):
        told = f"{finish / 0.0254:.0f} uin" if given.units == "inch" else f"{finish:.3g} um"
        given.read.append(Read("finish", shown(given["finish"]), f"Ra {told}", "word"))
    return finish


def _radius(
    given: _Given,
    written: Written,
    form: str | None,
    location: str | None,
    inch_tolerances: Mapping[str, float] | None,
) -> Radius:
    """The radius; where it is full, tied to the width, or the width to it."""
    round_end = (location, form) == ("end", "convex")
    across = given["diameter"] if round_end else given["width"]
    if across is None and (location, form) == ("end", "concave"):
        across = given["diameter"]
    tied = written.size is None
    if tied and location == "corner":
        fix = "Write its size, such as R6; a full radius is half the width of a groove, crown, dome or dish."
        raise CalloutError("radius", shown(given["radius"]), "has no size of its own", fix)
    radius = read_radius(
        given["radius"],
        units=given.units,
        general_tolerance=given["general_tolerance"],
        inch_tolerances=inch_tolerances,
        form=form or "convex",
        across=given.show_bare(across) if tied and across is not None else None,
    )
    if radius.general_tolerance and given["general_tolerance"] is None:
        given.assume("general_tolerance", radius.general_tolerance, "the drawing states no tolerance for this radius")
    if "full" in written.meanings and not tied and location != "corner" and None not in (form, location):
        key = "diameter" if round_end else "width"
        twice = 2 * radius.radius
        wide = given.length(key)
        if wide is None and given["depth"] is None:
            given.fill("width", given.assume("width", twice, "FULL R: twice the radius"))
        elif wide is not None and abs(wide - twice) > 2 * radius.tolerance:
            problem = f"is full, and twice it is not the {key} {given.show(key)}"
            raise CalloutError("radius", shown(given["radius"]), problem, f"Write half the {key}, or leave FULL out.")
    return radius


def _shape(given: _Given, written: Written | None) -> tuple[str | None, str | None]:
    """Form and location from their own words, one word for both, or the words at the radius: None where missing."""
    found = {}
    for key in ("shape", "form", "location"):
        with given.kept():
            if (shape := given.shape(key)) is not None:
                found[key] = shape
    at_radius = written.shapes if written is not None else ()
    sides = []
    for side in ("form", "location"):
        order = (side, "shape", "location" if side == "form" else "form")
        stated = [(key, getattr(found[key], side)) for key in order if key in found and getattr(found[key], side)]
        words = {getattr(shape, side) for shape in at_radius} - {None}
        value = stated[0][1] if stated else next(iter(words)) if len(words) == 1 else None
        sides.append(value)
        for key, other in stated:
            if other != value:
                problem = f"does not agree with {stated[0][0]} {shown(given[stated[0][0]])}"
                given.problems.append(CalloutError(key, shown(given[key]), problem, "Give one of them."))
        if stated and words and value not in words:
            problem = f"does not agree with {at_radius[0].word.upper()} at the radius"
            given.problems.append(CalloutError(stated[0][0], shown(given[stated[0][0]]), problem, "Leave one out."))
        if value is None and not {side, "shape"} & {problem.field for problem in given.problems}:
            problem = "is missing"
            if len(words) > 1:
                problem = (
                    f"is missing: {' and '.join(shape.word.upper() for shape in at_radius)} at the radius name several"
                )
            given.problems.append(CalloutError(side, "", problem, REQUIRED[side]))
    whole = [shape for shape in (*found.values(), *at_radius) if shape.form and shape.location]
    if whole and not given.problems:
        given.read.append(Read("shape", whole[0].word, f"{sides[0]}, {sides[1]}", "word"))
    return sides[0], sides[1]


_NUMBER = r"\d+(?:[.,]\d+)?"
_SCALE = r"(?:HRC|HRB|HBW?|HV|BHN|Rc)(?![A-Za-z])"
_LIMITS = rf"{_NUMBER}(?:\s*(?:-|\u2013|to|\.\.)\s*{_NUMBER})?"
_MATERIAL_AND_HARDNESS = re.compile(
    rf"(.*?[^\s,;(])[\s,;(]+((?:{_LIMITS}\s*{_SCALE})|(?:{_SCALE}\s*{_LIMITS}))\)?", re.IGNORECASE
)
UNIT_ORIGINS = {
    "shop": "your shop's unit",
    "elsewhere": "the unit of the other sizes",
    "mm writing": "a nought before the point, or a decimal comma, as drawings in mm write",
    "inch writing": "a fraction, or a point without a nought before it, as inch drawings write",
    "none": "no unit is stated for the drawing",
}


def likelier_mm(radius: object, diameter: object) -> bool:
    """Whether bare sizes are likelier to be millimetres where a shop works in inches: a whole number for the radius,
    and one for the diameter that few lathes swing in inches.

    >>> likelier_mm("R5", "30"), likelier_mm("R5", "8"), likelier_mm("R.5", "30"), likelier_mm("R5", "30 in")
    (True, False, False, False)
    """
    return whole_number(radius, radius=True) and whole_number(diameter, above=WHOLE_INCHES)


def small(diameter: Any) -> bool:
    """Whether a bare diameter is so small that it is one of inches, or nobody can tell."""
    try:
        return float(diameter) < SMALL_INCHES
    except (TypeError, ValueError):
        return True


SMALL_INCHES = 6  # of diameter: under it a nought before the point of a radius is taken for a habit
WHOLE_INCHES = 12  # of diameter: a larger one is written with its unit where it is meant


def _units(given: _Given, written: Written | None, shop_units: str | None) -> None:
    """Set the unit of bare numbers, which is that of the drawing too."""
    sizes = {key: evidence(given[key], radius=key == "radius") for key in LENGTHS if given[key] is not None}
    if given["units"] is not None:
        with given.kept():
            given.units, given.why = given.spoken("units") or given.units, "stated"
        return
    bits = 0
    for one in sizes.values():
        bits |= one
    units, given.why = decided(bits, shop_units)
    if given.why == "shop" and shop_units == "inch" and not bits & (POINT | FRACTION):
        if mm_writing(given["radius"]) and (mm_writing(given["radius"]) == "comma" or not small(given["diameter"])):
            units, given.why = "mm", "mm writing"
    if given.why == "shop" and shop_units == "inch" and likelier_mm(given["radius"], given["diameter"]):
        problem = (
            f"radius {shown(given['radius'])} and diameter {shown(given['diameter'])} would be inches in your shop"
        )
        fix = "Did you mean mm? Say units mm or inch, or write the unit behind each size."
        given.problems.append(CalloutError("units", "", f"is not clear: {problem}", fix))
        given.unclear = True
    if given.why == "mixed":
        bare = next(key for key, one in sizes.items() if one & ~3)
        marked = next((key for key, one in sizes.items() if one & 3), None)
        but = f"and {marked.replace('_', ' ')} {shown(given[marked])} does" if marked else ""
        but += (
            f"{', and' if marked else 'and'} your shop works in {'inches' if shop_units == 'inch' else shop_units}"
            if shop_units
            else ""
        )
        if not but:
            large = next(key for key, one in sizes.items() if one & LARGE)
            bare = next(key for key, one in sizes.items() if one & (POINT | FRACTION))
            but = f"is written as inches are, and {large.replace('_', ' ')} {shown(given[large])} would be large in inches"
        problem = f"{shown(given[bare])} has no unit behind it, {but}"
        fix = "Write the unit behind each size, or say units mm or inch for those without."
        given.problems.append(CalloutError("units", "", f"is not clear: {bare.replace('_', ' ')} {problem}", fix))
        given.unclear = True
        units = shop_units
    own = family(written.unit) if written is not None and written.unit else ""
    given.units = (own if given.why == "marked" else "") or units or own or "mm"
    if given.why in UNIT_ORIGINS:
        given.assume("units", given.units, UNIT_ORIGINS[given.why])


class _Given:
    """The fields as written, the units of their bare numbers, and what was assumed so far."""

    def __init__(self, fields: Mapping[str, Any]) -> None:
        if not isinstance(fields, Mapping):
            raise CalloutError(
                "callout", shown(fields), "is not a set of names and values", "Give names with their values."
            )
        self._fields = dict(fields)
        self._part_hardness()
        self.units, self.why = "mm", "none"
        self.unclear = False  # whether nobody knows the unit of the bare numbers
        self.as_sold: Any = None  # the hardness that goes with the name of the material, and the name
        self.assumed: list[Assumed] = []
        self.read: list[Read] = []
        self.problems: list[InputError] = []
        for key in fields:
            if key not in KEYS:
                hint = did_you_mean(key, KEYS)
                fix = hint.strip() or f"Known are {', '.join(KEYS)}."
                self.problems.append(CalloutError(shown(key), "", "this name is not known", fix))
        for key in ("radius", "diameter"):
            if self[key] is None:
                self.problems.append(CalloutError(key, "", "is missing", REQUIRED[key]))

    def _part_hardness(self) -> None:
        """Take a hardness for stated that stands behind the material: "4140 28-32 HRC"."""
        material = self["material"]
        if not isinstance(material, str) or self["hardness"] is not None:
            return
        if found := _MATERIAL_AND_HARDNESS.fullmatch(material.strip()):
            self._fields |= {"material": found[1], "hardness": found[2]}

    def take_ball(self, written: Written, size: Size) -> None:
        """Take for written what SØ says beside the radius: a ball, on the end, of that diameter. size: of written."""
        if not written.shapes and all(self[key] is None for key in ("shape", "form", "location")):
            self._fields["shape"] = "ball"
        if self["diameter"] is None:
            self._fields["diameter"] = f"{size.number} {size.unit}".strip()
            self.problems = [problem for problem in self.problems if problem.field != "diameter"]

    @contextmanager
    def kept(self) -> Iterator[None]:
        """Keep what is wrong inside, so that what else is wrong is found too."""
        try:
            yield
        except CalloutError as wrong:
            self.problems.extend(wrong.each)

    def refuse(self) -> None:
        """Raise everything that is wrong so far, in the order of the names."""
        first: dict[object, InputError] = {}
        for problem in self.problems:  # the first of each field, since what follows may come from it
            first.setdefault(problem.field, problem)
        problems = list(first.values())
        if problems:
            place: dict[object, int] = {key: n for n, key in enumerate(KEYS)}
            problems.sort(key=lambda problem: place.get(problem.field, -1))
            raise together(problems)

    def fill(self, key: str, mm: float) -> None:
        """Take a length for written that follows from another."""
        self._fields[key] = f"{mm!r} mm"

    def why_unit(self, unit: str) -> str:
        """Why a size with this unit word, '' where it has none, is read in its unit."""
        return "written" if unit else self.why

    def show_bare(self, value: Any) -> str:
        """A length as written, its unit behind it."""
        return self._with_unit(shown(value).strip())

    def __getitem__(self, key: str) -> Any:
        return self._fields.get(key)

    def assume(self, name: str, value: Any, origin: str) -> Any:
        self.assumed.append(Assumed(name, value, origin))
        return value

    def quantity(self, key: str, dimension: str, default_unit: str | None = None, **bounds: Any) -> float | None:
        """A quantity in internal units, or None where it is not given."""
        if self[key] is None:
            return None
        return read_quantity(self[key], field=key, dimension=dimension, default_unit=default_unit, **bounds)

    def length(self, key: str, *, zero: bool = False) -> float | None:
        """A length [mm] of more than zero, or where `zero` is true of zero too; None where it is not given."""
        least: dict[str, Any] = {"at_least": 0.0} if zero else {"positive": True, "at_least": SMALLEST_LENGTH}
        unit = "in" if self.units == "inch" else "mm"
        if key == "diameter" and self[key] is not None:
            return read_diameter(self[key], field=key, default_unit=unit, **least).size
        return self.quantity(key, "length", unit, **least)

    def show(self, key: str) -> str:
        """A given length as it was written, with the drawing's unit behind a bare number."""
        return self._with_unit(shown(self[key]).strip())

    def _with_unit(self, written: str) -> str:
        bare = written and not re.search(r"[A-Za-zµμ\"'″”’′]", written)
        return f"{written} {'in' if self.units == 'inch' else 'mm'}" if bare else written

    def size(self, mm: float) -> str:
        """A length as this drawing shows it."""
        return show_length(mm, self.units)

    def word(self, key: str, default: Any = None, origin: str = "") -> Any:
        """One of the words of WORDS, or the default, which is then listed as assumed."""
        return self.assume(key, default, origin) if self[key] is None else self.spoken(key)

    def plain(self, option: Option) -> Any:
        """A value that is nothing but itself: a truth value, a word or a number, the usual one where nothing is written."""
        if option.kind == "truth":
            return self.word(option.name, bool(option.usual), option.origin) in ("yes", True)
        if option.kind == "words":
            return self.word(option.name, option.usual, option.origin)
        number = self.quantity(option.name, option.dimension, at_least=0.0)
        return self.assume(option.name, option.usual, option.origin) if number is None else number

    def spoken(self, key: str) -> str | None:
        """The word of WORDS that is written, None where nothing is."""
        value = self[key]
        if value is None:
            return None
        word = word_of(key, value)
        if word is None:
            raise CalloutError(key, shown(value), f"is not a word for {key}", _choose(value, list(WORDS[key])))
        return word

    def shape(self, key: str) -> Shape | None:
        """The spelling.Shape of the word that is written for a form, a location or both; None where nothing is."""
        value = self[key]
        if value is None:
            return None
        return shape_of(key, value)

    def whole(self, key: str, default: int, origin: str) -> int:
        """A whole number from 1 to MOST, or of places to MOST_PLACES, or the default."""
        most = MOST_PLACES if key == "places" else MOST
        value = self[key]
        if value is None:
            return self.assume(key, default, origin)
        if key == "quantity":
            pieces = read_pieces(value)
            if len(pieces) > 1:
                raise CalloutError(
                    key, shown(value), "names several quantities", "Give one, or price a list with batch."
                )
            return pieces[0]
        text = shown(value).removesuffix(".0") if isinstance(value, float) else shown(value).strip()
        if isinstance(value, bool) or not re.fullmatch(r"\+?[0-9]{1,12}", text):
            raise CalloutError(key, shown(value), "is not a whole number", f"Give a whole number from 1 to {most:,}.")
        if not 1 <= int(text) <= most:
            raise CalloutError(
                key, shown(value), f"lies outside 1 to {most:,}", f"Give a whole number from 1 to {most:,}."
            )
        return int(text)


def shape_of(key: str, value: str) -> Shape:
    """The spelling.Shape of a word: its form, location or both. key: "shape", "form" or "location", whose own words
    come first. Raises CalloutError."""
    own = word_of(key, value)
    if own:
        return Shape(own, own if key == "form" else None, own if key == "location" else None)
    for shape in _shapes_by_word().get(as_spoken(shown(value)), ()):
        if key == "shape" or getattr(shape, key):
            return shape
    known = list(WORDS.get(key, {})) or whole_shapes()
    fix = _choose(value, known, [shape.word for shape in shapes_known()])
    raise CalloutError(key, shown(value), f"is not a word for {'a shape' if key == 'shape' else key}", fix)


def is_shape(word: str) -> bool:
    """Whether a word gives a form, a location or both."""
    return as_spoken(shown(word)) in _shapes_by_word()


@functools.cache
def _shapes_by_word() -> dict[str, list[Shape]]:
    found: dict[str, list[Shape]] = {}
    for shape in shapes_known():
        found.setdefault(as_spoken(shape.word), []).append(shape)
    return found


def word_of(key: str, value: str) -> str | None:
    """The word of WORDS that is written for a key, None where it is none of them."""
    return _words_as_spoken(key).get(as_spoken(shown(value)))


@functools.cache
def _words_as_spoken(key: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for word, others in WORDS.get(key, {}).items():
        for spoken in map(as_spoken, (word, *others)):
            found.setdefault(spoken, word)
    return found


def as_spoken(text: str) -> str:
    """Words in small letters with single blanks: capitals, hyphens and underscores do not tell words apart."""
    return " ".join(re.sub("[-_]", " ", plain(text).lower()).split())


def _choose(value: Any, words: Any, others: Any = ()) -> Any:
    listed = f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else "".join(words)
    return f"{did_you_mean(shown(value), [*words, *others])}Give {listed}."


def _text(given: _Given, key: str) -> str | None:
    """A name as written, or None; a general tolerance may also be a number."""
    value = given[key]
    if value is None:
        return None
    if key == "general_tolerance":
        return shown(value)
    if not isinstance(value, str) or not value.strip() or not value.isprintable() or len(value) > 1000:
        raise CalloutError(key, shown(value), f"is not the name of a {key}", f"Give the name of a {key} as text.")
    return value.strip()


def _material(given: _Given, materials: Mapping[str, dict[str, Any]]) -> str:
    value = given["material"]
    if value is None:
        return given.assume("material", "low-carbon steel", "no material is stated")
    found = read_material(value, materials, hardness_stated=given["hardness"] is not None)
    if solid(value) != solid(found.material):
        given.read.append(Read("material", shown(value), found.material, "word"))
    given.as_sold = found.hardness and (found.hardness, shown(value))
    return found.material


def _hardness(given: _Given, material: str, materials: Mapping[str, dict[str, Any]]) -> tuple[Any, str]:
    """Brinell hardness [HB] and the hardness as written; None and '' where neither the user nor the table has one."""
    if given["hardness"] is None:
        if given.as_sold:
            text, named = given.as_sold
            low, high, scale = hardness_limits(text, field="hardness")
            return given.assume("hardness", brinell((low + high) / 2, scale), f"{text}, usual for {named}"), text
        usual = materials.get(material, {}).get("hardness")
        if usual is None:
            return None, ""
        hardness, _ = read_hardness(usual, field="hardness")
        return given.assume("hardness", hardness, f"usual for {material}"), f"{hardness:g} HB"
    low, high, scale = hardness_limits(given["hardness"], field="hardness")
    hardness = brinell((low + high) / 2, scale)
    text = f"{low:g} {scale}" if low == high else f"{low:g}-{high:g} {scale}"
    if scale != "HB" or low != high:
        given.read.append(Read("hardness", shown(given["hardness"]), f"{hardness:.0f} HB", "steel"))
    return hardness, text


def _places(given: _Given, count: int | None) -> int:
    if given["places"] is None and count is not None:
        return count
    places = given.whole("places", 1, "no number of places is stated")
    if count not in (None, places):
        problem = f"does not agree with the {count} places written at the radius"
        raise CalloutError("places", shown(given["places"]), problem, f"Give {count}, or leave it out.")
    return places


# Case files.


class Case(NamedTuple):
    """A case file: its path, the flat fields of its tables, and what it expects."""

    path: str
    fields: dict
    expect: dict


def read_case(
    path: str,
    *,
    materials: Mapping[str, dict[str, Any]],
    inch_tolerances: Mapping[str, float] | None = None,
    shop_units: Any = None,
    overrides: Mapping[Any, Any] | None = None,
) -> Callout:
    """The callout of a case file, with the options of the command line in place of its values -> Callout.

    path: of a TOML file with the tables [callout], [work], [job] and [expect]; overrides: name -> value, None where not
    given; the rest as for `read_callout`. Raises CalloutError that names the file and the key.
    """
    case = open_case(path)
    overrides = {key: value for key, value in (overrides or {}).items() if value is not None}
    return read_callout(
        case.fields | overrides,
        materials=materials,
        inch_tolerances=inch_tolerances,
        shop_units=shop_units,
        where=f"{case.path}: ",
        overridden=overrides,
        expect=case.expect,
    )


def open_case(path: Path | str) -> Case:
    """Tables and keys of a case file, its values not yet read -> Case. Raises CalloutError."""
    name = shown(path, longest=300)
    tables = _load(Path(path), name)
    fields: dict[str, Any] = {}
    for table, content in tables.items():
        place = f"{name}: [{shown(table)}]"
        if table not in (*TABLES, "expect"):
            owner = next((t for t, keys in TABLES.items() if table in keys), None)
            hint = f"{table} belongs in [{owner}]. " if owner else did_you_mean(table, [*TABLES, "expect"])
            raise CalloutError(
                place, "", "this table is not known", f"{hint}The tables are [callout], [work], [job], [expect]."
            )
        if not isinstance(content, dict):
            raise CalloutError(
                place, shown(content), "is not a table", f"Write [{table}] on a line and its keys below."
            )
        if table == "expect":
            continue
        for key in content:
            if key not in TABLES[table]:
                owner = next((t for t, keys in TABLES.items() if key in keys), None)
                hint = f"It belongs in [{owner}]." if owner else did_you_mean(key, KEYS).strip()
                fix = hint or f"Known here are {', '.join(TABLES[table])}."
                raise CalloutError(f"{place} {shown(key)}", "", "this name is not known here", fix)
        fields |= content
    return Case(name, fields, tables.get("expect", {}))


def _load(path: Path, name: str) -> dict[str, Any]:
    """Tables of a TOML file. Raises CalloutError under the name, in words of our own."""

    def refuse(problem: str, fix: str = "Give the path of a case file.") -> CalloutError:
        return CalloutError(name, "", problem, fix)

    try:
        if "\0" in str(path) or not path.exists():
            raise refuse("is not there")
        if not path.is_file():
            raise refuse("is a folder" if path.is_dir() else "is not a file")
        content = strangers.content(path)
    except strangers.Unreadable as problem:
        large = isinstance(problem, strangers.TooLarge)
        fix = "Give a case file; those are a page long." if large else "Check its path and who may read it."
        raise refuse("is larger than 1 MB" if large else "cannot be read", fix) from problem
    except OSError as problem:
        raise refuse("cannot be read", "Check its path and who may read it.") from problem
    try:
        return toml(content.decode("utf-8-sig"))
    except UnicodeDecodeError as problem:
        raise refuse("is not a text file in UTF-8", "Give a case file; those are text.") from problem
    except tomllib.TOMLDecodeError as problem:
        line = re.search(r"at (line [0-9]+)", str(problem))
        place = f"at {line[1]}" if line else "at its end"
        twice = re.search(r"overwrite|twice|immutable|already", str(problem))
        what = f"gives a key or table a second time {place}" if twice else f"is not valid TOML {place}"
        raise refuse(what, 'Write one key a line, such as diameter = "40 mm".') from problem
    except (ValueError, RecursionError) as problem:
        raise refuse("has a value that is too large", "Give a case file; those are a page long.") from problem
