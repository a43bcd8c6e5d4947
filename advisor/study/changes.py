"""What would change the choice: other values of the callout, missing equipment, and rules left out. All of it is found
by working the advice out again, never read off a rule: whatever is called a change has been seen to change the answer.

Sizes and quantities are tried at every value of a fine grid, both ways from the present one, by the column executor; a
change is then closed in on to the last digit that a screen shows. What the callout left open follows, as it would if
the new value had been written: the stickout that is assumed, the mouth of a dish, a general tolerance.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from advisor.answer.advice import (
    alternatives,
    deciding_names,
    givens,
    lathe_for,
    measured,
    measures,
    recommended,
    shape,
    stated,
    takes_carbide,
    tool_open,
)
from advisor.asked import callout as callouts
from advisor.asked import materials, radius_text, sizes
from advisor.asked.options import plain as plain_options
from advisor.engine import generated
from advisor.formulas import geometry
from advisor.formulas.by_rule import grid
from advisor.formulas.numeric import either, known, negate
from advisor.ground.errors import CalloutError, InputError, did_you_mean
from advisor.ground.units import HORSEPOWER, INCH, LARGEST_LENGTH, SMALLEST_LENGTH, read_quantity, shown
from advisor.rulebase.rulebook import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Set
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.asked.callout import Callout
    from advisor.asked.shop import Lathe
    from advisor.engine.generated import Program
    from advisor.formulas.numeric import Codes, Column, Flags, Numeric, Truth
    from advisor.rulebase.rulebook import Finding, Outcome, Rule, Rulebook

MOST_PIECES = 10_000
MOST_TRIED = 500  # quantities over the present one, one by one
LARGEST_MOTOR = 15.0  # kW


class Change(NamedTuple):
    """Where another method takes over. name: field of the callout; now: its present value; value: the
    nearest at which `method` (None where nothing stands) is recommended; last: the one before it, at which the choice still
    is the present one; until: the farthest value up to which that method stays, None to the end of the range; because: what
    did it: ("cheaper",), or the finding of a rule: ("out", finding) the present method is ruled out there, ("stands",
    finding) the other one no longer, ("begins" or "ends", finding) a rule that bears on the minutes of one of them; or
    ("fact", name, whether it holds there). Lengths in mm; value and last of a word are words, until is None."""

    name: str
    now: Any
    value: Any
    last: Any
    until: float | None
    method: str | None
    because: tuple[Any, ...]


class Range(NamedTuple):
    """A field whose other values from low to high all leave the choice as it is."""

    name: str
    now: float
    low: float
    high: float


class Gain(NamedTuple):
    """A thing that the shop lacks and that would change the method. measure: of the batch with it,
    minutes or money, whichever methods are chosen by; saved: against now, infinite where nothing stands now."""

    what: str
    method: str
    measure: float
    saved: float


class Thing(NamedTuple):
    """Something that a shop does not have. kind: in general; what: for one callout; changed: what the rules are
    given with it, name -> value."""

    kind: str
    what: str
    changed: dict[str, Any]


class Changes(NamedTuple):
    """points: Change of numbers, nearest first; steady: Range of numbers that change nothing; words:
    Change of words; equipment: Gain, most minutes first."""

    points: list[Change]
    steady: list[Range]
    words: list[Change]
    facts: list[Change]
    equipment: list[Gain]


AT_HAND = ("ready_tool", "rod_on_shelf")
NUMBERS = ("radius", "tolerance", "quantity", "diameter", "width", "stickout", "hardness")
FACTS = ("material", "places", "minutes_in_piece", "from_end", "bore", "interrupted")
FACTS += tuple(name for name, option in plain_options().items() if option.kind != "words" and name not in FACTS)
WORDS = {name: tuple(callouts.WORDS[name]) for name in ("skill", "support", "tool")}
WORDS |= {name: tuple(option.words) for name, option in plain_options().items() if option.kind == "words"}


def changes(advice: Advice) -> Changes:
    """Everything that would change the choice, and what would not -> Changes."""
    points, steady = [], []
    for name in NUMBERS:
        if not applies(advice.callout, name):
            continue
        found, ends = crossings(advice, name)
        points += found
        if not found:
            steady.append(Range(name, getattr(advice.callout, name), *ends))
    points.sort(key=lambda change: abs(math.log(change.value / change.now)))
    return Changes(points, steady, other_words(advice), other_facts(advice), equipment(advice))


def applies(callout: Callout, name: str) -> bool:
    """Whether a field of numbers can have another value: a corner has no width, and a dome has that of its diameter."""
    if name == "width":
        return callout.width is not None and (callout.location, callout.form) != ("end", "convex")
    return getattr(callout, name) is not None


# ---- one field at another value


def varied(callout: Callout, name: str, value: float | str) -> Callout | None:
    """The callout with another value of one field, and of what was assumed from it; None where that cannot be turned.

    As if the new value had been written in place of the old one and everything else left as it stands.
    """
    fields, possible = _fields(callout, name, value)
    return replace(_written(callout, name), **fields) if possible else None


def _written(callout: Callout, name: str) -> Callout:
    """The callout in which the field that varies counts as written: the tolerance at the radius, the tool stated."""
    if name == "tolerance":
        return replace(callout, tolerance_from=radius_text.ToleranceFrom("equal"))
    return stated(callout, "tool", callout.tool) if name == "tool" else callout


def _fields(callout: Callout, name: str, value: Any) -> tuple[dict[str, Any], Truth]:
    """Fields that change with one, and whether the reader takes them; numbers or arrays."""
    assumed = {entry.name for entry in callout.assumed}
    dome = (callout.location, callout.form) == ("end", "convex")
    told = {key: math.nan if key in assumed else _number(getattr(callout, key)) for key in sizes.STATED}
    told[name] = value
    depth = callout.depth
    if depth is not None and name in ("radius", "width", "diameter"):
        if name == "radius" and not dome:
            told["width"] = math.nan  # the width follows the depth
        else:
            told["depth"], depth = math.nan, None
    if dome:
        told["width"] = math.nan  # a dome covers the face
    radius = value if name == "radius" else callout.radius
    tolerance = _tolerance(callout, value) if name == "radius" else value if name == "tolerance" else callout.tolerance
    support = value if name == "support" else callout.support
    found, checks = sizes.agreed(told, radius=radius, alone=support == "chuck", **shape(callout))
    new = {name: value}
    if name in ("radius", "tolerance"):
        new |= {"tolerance": tolerance, "radius_low": radius - tolerance, "radius_high": radius + tolerance}
    follow = {"width": found["chord"], "from_end": found["from_end"], "stickout": found["stickout"]}
    new |= {field: size for field, size in follow.items() if getattr(callout, field) is not None}
    if depth != callout.depth:
        new["depth"] = depth
    low = radius - tolerance
    possible = (low >= 0 if callout.radius_low == 0 else low > 0) & known(tolerance)
    for size in (radius + tolerance, *(told[key] for key in ("diameter", "width", "stickout"))):
        possible = possible & negate(either(size < SMALLEST_LENGTH, size > LARGEST_LENGTH))
    for _, broken in checks:
        possible = possible & negate(broken)
    return new, possible


def _number(value: float | None) -> float:
    return math.nan if value is None else float(value)


def _tolerance(callout: Callout, radius: Numeric) -> Numeric:
    """Tolerance of a radius of another size: its own as written, or what the general tolerance gives at that size."""
    if callout.radius_low == 0:  # MAX alone: from nothing to twice the aim
        return radius
    source = callout.tolerance_from
    if source.kind == "general" and source.general and source.table and not source.halved:
        return radius_text.general_tolerance(source.general, radius, form=callout.form)
    return callout.tolerance


# ---- trying values


def best(found: Mapping[str, float]) -> str | None:
    """The method of least `measures`, None where all are infinite; ties in the order of the rule base.

    found: name of a method -> what it is chosen by."""
    name = min(found, key=found.__getitem__)
    return name if math.isfinite(found[name]) else None


def choice_at(advice: Advice, name: str, value: float | str) -> str | None:
    """The method recommended at another value of one field; ValueError where that value cannot be turned here."""
    callout = varied(advice.callout, name, value)
    if callout is None:
        raise ValueError(f"{name} {value}")
    return recommended(advice.rules, givens(callout, advice.shop, lathe_for(callout, advice.shop)), advice.by)


def _choices(advice: Advice, name: str, values: Column) -> Codes:
    """The place of the method recommended at each of many values in the order of the rule base, −1 where nothing
    stands, −2 where the value is not possible: an array of int."""
    import numpy

    found = _standing(advice, name, values)
    choices = numpy.where(numpy.isfinite(found).any(axis=0), numpy.nan_to_num(found, nan=math.inf).argmin(axis=0), -1)
    return numpy.where(numpy.isnan(found).all(axis=0), -2, choices)


def _standing(advice: Advice, name: str, values: Column) -> Column:
    """What every method is chosen by, in the order of the rule base, at each of many values of one field: an array of
    methods by values; not a number where the value is not possible."""
    import numpy

    from advisor.engine import columns

    fields, possible = _fields(advice.callout, name, values)
    fields = {field: numpy.broadcast_to(value, values.shape) for field, value in fields.items() if value is not None}
    possible = numpy.broadcast_to(possible, values.shape)
    methods = advice.rules.methods
    want = deciding_names(advice.rules, advice.by)
    result = numpy.full((len(methods), len(values)), math.nan)
    for lathe, rows in _by_lathe(advice, fields, possible):
        given = givens(_written(advice.callout, name), advice.shop, lathe)
        given |= {
            _GIVEN.get(field, field): value[rows]
            for field, value in fields.items()
            if _GIVEN.get(field, field) in given
        }
        if name == "hardness":
            row = materials.find_material(advice.callout.material)
            carbide = takes_carbide(
                carbide=advice.callout.tool == "carbide",
                tool_open=tool_open(advice.callout),
                hardness=values[rows],
                lathe=lathe,
            )
            cutting = materials.material_values(row=row, hardness=values[rows], carbide=carbide) | {"carbide": carbide}
            given |= {key: value for key, value in cutting.items() if key in given}
        found = columns.run(advice.rules, given, findings=False, want=want).values
        for place, measure in enumerate(measures(advice.rules, found, advice.by)):
            result[place, rows] = measure
    return result


_GIVEN = {"width": "chord"}


def _by_lathe(advice: Advice, fields: Mapping[str, Column], possible: Flags) -> Iterator[tuple[Lathe, Codes]]:
    """Lathes with the rows that go on them; rows that no lathe takes are left out."""
    import numpy

    from advisor.answer import column_advice

    c = advice.callout
    of = {
        field: numpy.broadcast_to(fields.get(field, _number(getattr(c, field))), possible.shape)
        for field in ("radius", "diameter", "shoulder_height", "stickout")
    }
    told = {key: value for key, value in shape(c).items() if key != "end"}
    stickout = of.pop("stickout")
    chosen = column_advice.lathes(
        advice.shop, numpy.asarray(geometry.swung_diameter(**of, **told)), c.lathe, stickout=stickout
    )
    for place, lathe in enumerate(advice.shop.lathes):
        yield lathe, numpy.flatnonzero(possible & (chosen == place))


def steps(advice: Advice, name: str) -> tuple[float, float]:
    """Step of the grid on which a field is tried, and the last digit to which it is written or set, in internal units."""
    if name == "stickout":
        step = grid(advice.callout.stickout or 0.0, advice.callout.units)
        return step, step
    inch = advice.callout.units == "inch"
    fine = (INCH / 10_000 if inch else 0.001) if name in callouts.LENGTHS else 1
    coarse = {"radius": 10, "tolerance": 1, "width": 10, "diameter": 100}.get(name, 1) * fine
    return coarse, fine


def sensible(advice: Advice, name: str) -> tuple[float, float]:
    """The range in which a field is tried: low and high, in internal units."""
    now = getattr(advice.callout, name)
    if name == "quantity":
        return 1, max(MOST_PIECES, 2 * now)
    if name == "hardness":
        low, high = materials.find_material(advice.callout.material)["hardness_range"]
        return min(low, now), max(high, now)
    if name == "stickout":
        return 0.0, max(min(advice.lathe.between_centres, 15 * advice.callout.diameter), 2 * now)
    if name == "tolerance":
        return min(0.005, now / 2), max(2.0, 4 * now)
    if name == "diameter":
        return now / 5, max(5 * now, 100.0)
    return now / 5, 5 * now


def crossings(advice: Advice, name: str) -> tuple[list[Change], tuple[float, ...]]:
    """Changes of one field, at most one each way, and the ends of what was tried -> (list of Change, (low, high))."""
    import numpy

    coarse, fine = steps(advice, name)
    now = getattr(advice.callout, name)
    low, high = sensible(advice, name)
    names = [method["name"] for method in advice.rules.methods]
    here = names.index(advice.recommended) if advice.recommended else -1
    found, ends = [], []
    for outward in (-1, 1):
        values = _grid(now, low if outward < 0 else high, coarse, fine)
        choices = _choices(advice, name, values)
        values, choices = values[choices > -2], choices[choices > -2]
        ends.append(_clean(values[-1] if len(values) else now, name))
        other = numpy.flatnonzero(choices != here)
        if not len(other):
            continue
        first = int(other[0])
        last, value, code = _close_in(advice, name, values[first - 1] if first else now, values[first], fine, here)
        until = None
        left = numpy.flatnonzero(choices[first:] != code)
        if len(left):
            after = first + int(left[0])
            until = _close_in(advice, name, values[after - 1] if after > first else value, values[after], fine, code)[0]
        method = names[code] if code >= 0 else None
        until = None if until is None else _clean(until, name)
        value = _clean(value, name)
        found.append(
            Change(
                name,
                now,
                value,
                _clean(last, name),
                until,
                method,
                _cause(advice, name, value, _clean(last, name), method),
            )
        )
    return found, tuple(ends)


def _as_written(values: Column) -> Column:
    """The very numbers that somebody would write, without the last digits that arithmetic leaves: on them a limit
    turns."""
    import numpy

    return numpy.array([round(value, 9) for value in values.tolist()])


def _clean(value: float, name: str) -> float:
    """A value as it would be written: a whole number of pieces, and no digits that only arithmetic left."""
    return round(value) if name == "quantity" else round(float(value), 9)


def _grid(now: float, end: float, step: float, fine: float) -> Column:
    """Whole numbers of steps from the present value (left out) to an end, nearest first; the end itself last.

    At most some three thousand: where the way is longer, the step grows with the distance.
    """
    import numpy

    sign = 1 if end > now else -1
    count = int(abs(end - now) / step) + 1
    if step == fine == 1 or count <= 3000:
        numbers = numpy.arange(1, count + 1)
    else:
        numbers = numpy.unique(
            numpy.concatenate([numpy.arange(1, 1500), numpy.geomspace(1500, count + 1, 1500).astype(int)])
        )
    first = math.ceil(now / step - 1e-9) - 1 if sign > 0 else math.floor(now / step + 1e-9) + 1
    values = _as_written(numpy.round((first + sign * numbers) * step / fine) * fine)
    inside = (
        (values > now + fine / 2) & (values <= end)
        if sign > 0
        else (values < now - fine / 2) & (values >= end) & (values > 0)
    )
    return values[inside]


def _close_in(advice: Advice, name: str, same: float, other: float, fine: float, here: int) -> tuple[float, float, int]:
    """Between a value with one choice and another value with a different one: the neighbours, to the last digit shown,
    at which the choice leaves the first, and the choice there -> (value before, value at, choice)."""
    import numpy

    code = None
    while code is None or abs(other - same) > 1.5 * fine:
        count = max(min(round(abs(other - same) / fine), 400), 1)
        between = _as_written(numpy.round(numpy.linspace(same, other, count + 1)[1:] / fine) * fine)
        choices = _choices(advice, name, between)
        first = int(numpy.flatnonzero((choices != here) & (choices > -2))[0])
        same, other, code = (between[first - 1] if first else same), between[first], int(choices[first])
        if count < 400:
            break
    return same, other, code


def _cause(advice: Advice, name: str, value: float | str, last: float | str, method: str | None) -> tuple[Any, ...]:
    """Why the method changes from one value of a field to the next."""
    before, there = varied(advice.callout, name, last), varied(advice.callout, name, value)
    if before is None or there is None:
        raise ValueError(f"{name} {last} or {value} cannot be turned")
    return cause(advice, before, there, method)


def cause(advice: Advice, last: Callout, there: Callout, method: str | None) -> tuple[Any, ...]:
    """Why `method` takes over from the recommended one between two callouts, as Change.because tells it: one of them goes
    out or comes to stand there, a rule that bears on their minutes begins or ends, or the one merely takes less there."""
    before, after = _run_of(advice, last), _run_of(advice, there)
    prefix = {m["name"]: m["prefix"] for m in advice.rules.methods}
    mine, other = prefix.get(advice.recommended), prefix.get(method)
    begin, end = _difference(after, before), _difference(before, after)
    for finding in begin:
        if mine and finding.target == f"{mine}_ruled_out":
            return ("out", finding)
    for finding in end:
        if other and finding.target == f"{other}_ruled_out":
            return ("stands", finding)
    for kind, findings, at, turned in (("begins", begin, there, advice.recommended), ("ends", end, last, method)):
        for finding in findings:
            bears = KINDS[finding.kind].counts and finding.target.startswith((f"{mine}_", f"{other}_"))
            if bears and best(without(advice, [finding.rule], at)) == turned:
                return (kind, finding)
    for fact in AT_HAND:
        if after.values[fact] != before.values[fact]:
            return ("fact", fact, after.values[fact])
    return ("cheaper",)


def _run_of(advice: Advice, callout: Callout) -> Outcome:
    return generated.run(advice.rules, givens(callout, advice.shop, lathe_for(callout, advice.shop)))


def _difference(one: Outcome, other: Outcome) -> list[Finding]:
    """Findings of rules that fired in one run and not in the other."""
    numbers = {rule.number for rule in other.fired}
    return [finding for finding in one.findings if finding.rule.number not in numbers]


# ---- words


def other_words(advice: Advice) -> list[Change]:
    """Other words of skill, support and tool that change the choice -> list of Change."""
    found = []
    for name, words in WORDS.items():
        now = getattr(advice.callout, name)
        for word in words:
            if word == now or varied(advice.callout, name, word) is None:
                continue
            method = choice_at(advice, name, word)
            if method != advice.recommended:
                found.append(Change(name, now, word, now, None, method, _cause(advice, name, word, now, method)))
    return found


def other_facts(advice: Advice) -> list[Change]:
    """Other values of what is neither a field of NUMBERS nor of WORDS, stated or not, that change the choice: those that it
    could well have -> list of Change."""
    found, names = [], {entry.name for entry in advice.callout.assumed}
    for name in FACTS:
        if name not in names and getattr(advice.callout, name) is None:
            continue
        for other in alternatives(advice.callout, name):
            try:
                given = givens(other, advice.shop, lathe_for(other, advice.shop))
                method = recommended(advice.rules, given, advice.by)
            except InputError:  # no lathe of the shop takes it
                continue
            if method != advice.recommended:
                now, value = getattr(advice.callout, name), getattr(other, name)
                found.append(Change(name, now, value, now, None, method, cause(advice, advice.callout, other, method)))
    return found


def what_if(text: str) -> dict[str, str]:
    """Other values that somebody asks about, such as "quantity 40, material brass": name of a case file -> text. Raises
    CalloutError."""
    found = {}
    for part in filter(None, (part.strip() for part in re.split(r"; *|, +", text))):
        spoken = part.replace("_", " ").replace("-", " ").lower()
        names = [key for key in (*callouts.KEYS, "tolerance") if spoken.startswith(key.replace("_", " ") + " ")]
        if not names:
            word = spoken.split(" ")[0]
            fix = f"{did_you_mean(word, callouts.KEYS)}Write a name and its value, such as quantity 40."
            raise CalloutError("--if", shown(part), "does not begin with a name of a case file", fix)
        name = max(names, key=len)
        if name in found:
            raise CalloutError("--if", shown(part), f"gives {name} a second time", "Give each once.")
        found[name] = part[len(name) :].strip(" =:")
    if not found:
        raise CalloutError("--if", "", "is empty", "Write a name and its value, such as quantity 40.")
    return found


def with_tolerance(callout: Callout, text: str) -> str:
    """The radius as somebody would write it with another tolerance, such as "0.05", "±0.05" or "0.05 mm"."""
    inch = callout.units == "inch"
    unit = "in" if inch else "mm"
    tolerance = read_quantity(
        text.replace("±", "").strip(),
        field="tolerance",
        dimension="length",
        default_unit=unit,
        at_least=SMALLEST_LENGTH,
    )
    radius, limit = (f"{value / (INCH if inch else 1):.10g}" for value in (callout.radius, tolerance))
    return f"{callout.symbol}{radius} ±{limit} {unit}"


# ---- equipment


def equipment(advice: Advice) -> list[Gain]:
    """Things that the shop lacks and that would change the method -> list of Gain, most saved first."""
    given = givens(advice.callout, advice.shop, advice.lathe)
    now = advice.measure(advice.best) if advice.best else math.inf
    gains = []
    for thing in missing(advice, given):
        found = measured(advice.rules, given | thing.changed, advice.by)
        method = best(found)
        if method is not None and method != advice.recommended:
            gains.append(Gain(thing.what, method, found[method], now - found[method]))
    motor = _larger_motor(advice, given, now)
    if motor:
        gains.append(motor)
    return sorted(gains, key=lambda gain: gain.measure)


def missing(advice: Advice, given: Mapping[str, Any]) -> list[Thing]:
    """What the shop does not have -> list of Thing.

    An attachment is taken to be one that reaches this radius, built as such attachments usually are.
    """
    from advisor.answer.wording import length

    v, c = advice.values, advice.callout
    radius, size = c.radius, length(c.radius, c.units)
    window = {"min": radius / 2, "max": 2 * radius}
    things = []

    def lacks(kind: str, detail: str, condition: bool, **changed: Any) -> None:
        if condition:
            things.append(Thing(kind, kind + detail, changed))

    lacks(
        "a pivot attachment",
        f" that takes R {size}",
        v["pivot_reach"] == "outside" or not v["has_pivot"],
        has_pivot=True,
        **{f"pivot_{form}_{end}": window[end] for form in ("convex", "concave") for end in window},
        post_diameter=given["post_diameter"] if v["has_pivot"] else v["usual_post_diameter"],
        pivot_base_half_width=given["pivot_base_half_width"] if v["has_pivot"] else v["usual_base_half_width"],
        largest_work_over_post=max(2 * c.diameter, given["largest_work_over_post"])
        if v["has_pivot"]
        else 2 * c.diameter,
    )
    lacks(
        "a compound",
        f" whose tip reaches {size} from the swivel",
        v["compound_reach"] == "outside" or not v["has_compound"],
        has_compound=True,
        **{f"compound_{side}_{end}": window[end] for side in ("short", "past") for end in window},
    )
    rod = v["rod_length"]
    lacks(
        "seats for a radius rod",
        f" of {length(rod, c.units)}",
        c.location == "end" and not v["rod_low"] <= rod <= v["rod_high"],
        has_rod_gear=True,
        **{
            f"rod_{side}_{end}": rod * factor
            for side in ("head", "tail")
            for end, factor in (("min", 0.5), ("max", 2.0))
        },
        rod_largest_tilt=given["rod_largest_tilt"] if v["has_rod_gear"] else v["usual_rod_tilt"],
        rod_ball_diameter=given["rod_ball_diameter"],
    )
    lacks(
        "a radius rod",
        f" of {length(rod, c.units)} on the shelf",
        v["has_rod_gear"] and not v["rod_on_shelf"],
        shelf_rods=(rod,),
    )
    lacks(
        "a bench grinder",
        "",
        v["tool_grinding"] == "none",
        tool_grinding="bench grinder",
        widest_blank=max(v["widest_blank"], v["edge_width"]),
    )
    lacks(
        "a dresser that shapes the grinding wheel",
        "",
        v["tool_grinding"] == "bench grinder",
        tool_grinding="radius dresser",
    )
    lacks(
        "a tool blank",
        f" {length(v['edge_width'], c.units)} wide",
        v["edge_width"] > v["widest_blank"],
        widest_blank=v["edge_width"],
    )
    ready = (radius, v["convex"], v["edge_width"], math.nan)
    lacks("a form tool", f" of R {size} ready ground", not v["ready_tool"], ready_tools=(*given["ready_tools"], ready))
    lacks(
        "a radius-gauge leaf",
        f" of {size}",
        v["gauge"] != "fits",
        gauge_leaves=tuple(sorted({*given["gauge_leaves"], radius})),
    )
    lacks(
        "a depth micrometer",
        "",
        not v["has_depth_micrometer"],
        has_depth_micrometer=True,
        depth_micrometer_graduation=v["usual_gauge_graduation"],
    )
    lacks("an outside micrometer", "", not v["has_micrometer"], has_micrometer=True)
    lacks("gauge pins and balls", "", not v["has_pins"], has_pins=True)
    lacks(
        "an optical comparator",
        "",
        not v["has_comparator"],
        has_comparator=True,
        comparator_sees=v["usual_gauge_graduation"],
    )
    lacks("lathe files with handles", "", not v["has_files"], has_files=True)
    nose = radius / 2
    lacks(
        "a round-nose tool",
        f" of {length(nose, c.units)} nose",
        c.form == "concave" and not v["freehand_nose"] < radius,
        nose_radii=tuple(sorted({*given["nose_radii"], nose})),
    )
    slower = v["lowest_spindle_speed"] / 2
    lacks(
        "a back gear",
        f" down to {slower:g} rpm",
        v["form_tool_surface_speed"] > v["fast_for_form_tool"] * v["straight_speed_hss"],
        spindle_speeds=(slower, *given["spindle_speeds"]),
        lowest_spindle_speed=slower,
    )
    return things


def _larger_motor(advice: Advice, given: Mapping[str, Any], now: float) -> Gain | None:
    """The smallest larger motor that changes the method, to a tenth of a kilowatt or of a horsepower; None without
    one."""
    import numpy

    from advisor.engine import columns

    inch = advice.callout.units == "inch"
    unit = HORSEPOWER if inch else 1.0
    start = math.floor(advice.lathe.motor_power / unit * 10 + 1e-9) + 1
    powers = numpy.arange(start, int(LARGEST_MOTOR / unit * 10) + 1) / 10
    if not len(powers):
        return None
    tried = {**given, "motor_power": powers * unit}
    found = columns.run(advice.rules, tried, findings=False, want=deciding_names(advice.rules, advice.by)).values
    standing = {
        method["name"]: numpy.broadcast_to(measure, len(powers)).tolist()
        for method, measure in zip(advice.rules.methods, measures(advice.rules, found, advice.by), strict=True)
    }
    for place, power in enumerate(powers.tolist()):
        of = {name: column[place] for name, column in standing.items()}
        method = best(of)
        if method is not None and method != advice.recommended:
            what = f"a lathe with a motor of {power:g} {'hp' if inch else 'kW'}"
            return Gain(what, method, of[method], now - of[method])
    return None


# ---- without a rule


class Without(NamedTuple):
    """What is left when one rule is taken out. measured: method -> what it is chosen by, infinite where ruled out."""

    rule: Rule
    measured: dict[str, float]


def without_each(advice: Advice, rules: Iterable[Rule] | None = None) -> list[Without]:
    """What each method is chosen by with each rule that fired left out in turn -> list of Without, in the order of the
    rule base.

    rules: those to try; by default every one that fired and that any method's minutes depend on.
    """
    book = advice.rules
    program, names = _maskable(book, advice.by)
    fired = [rule for rule in advice.outcome.fired if rule.number in names] if rules is None else rules
    given = givens(advice.callout, advice.shop, advice.lathe)
    result = []
    for rule in fired:
        if rule.number in names:
            result.append(Without(rule, _masked(advice, program, names, given, {rule.number})))
    return result


def without(advice: Advice, rules: Iterable[Rule], callout: Callout | None = None) -> dict[str, float]:
    """What every method is chosen by with all of some rules left out together, for another callout if one is given:
    method -> number."""
    callout = callout or advice.callout
    program, names = _maskable(advice.rules, advice.by)
    given = givens(callout, advice.shop, lathe_for(callout, advice.shop))
    return _masked(advice, program, names, given, {rule.number for rule in rules})


def _masked(
    advice: Advice, program: Program, names: Mapping[int, str], given: Mapping[str, Any], left_out: Set[int]
) -> dict[str, float]:
    book = advice.rules
    values = book.inputs(given)
    values.update({name: number not in left_out for number, name in names.items()})
    program.function(values)
    return dict(zip((method["name"] for method in book.methods), measures(book, values, advice.by), strict=True))


def _maskable(book: Rulebook, by: str) -> tuple[Program, dict[int, str]]:
    """The program for what methods are chosen by in which each rule also asks whether it is to count, and number -> that
    name."""
    key = f"?maskable by {by}"
    if key not in book.programs:
        want = deciding_names(book, by)
        listed, names = [], {}
        for step in generated.assignments(book, want, findings=False):
            if step[0] == "rule":
                names[step[1]] = name = f"counts_{step[1]}"
                listed += [("given", name), ("rule", step[1], ("and", (("name", name), step[2])))]
            else:
                listed.append(step)
        book.programs[key] = generated.Program(book, listed, want, arrays=False), names
    return book.programs[key]


# ---- one method instead of another


class Trade(NamedTuple):
    """What one method gives for another, where both stand. once: minutes that ours takes more before the first
    piece, tooling, setup and correcting; each: minutes that it takes less on every piece, misses and wear with it; both may be
    negative. first, last: the quantities from and up to which, round the present one, ours is the one to choose of the two;
    None where that is so from a single piece on, or up to the most that are tried."""

    once: float
    each: float
    first: int | None
    last: int | None


def trade(advice: Advice, ours: str, theirs: str) -> Trade:
    """What the method `ours` gives for `theirs`, both of which stand -> Trade."""
    mine, other = _once_and_each(advice, ours), _once_and_each(advice, theirs)
    return Trade(mine[0] - other[0], other[1] - mine[1], *_pays(advice, ours, theirs))


def _once_and_each(advice: Advice, name: str) -> tuple[float, float]:
    """The minutes of a method before the first piece, and on each piece."""
    m = advice.methods[name].minutes
    once = m["tooling"]["mean"] + m["setup"]["mean"] + m["resetting"]
    return once, (m["batch"]["mean"] - once) / advice.callout.quantity


def _pays(advice: Advice, ours: str, theirs: str) -> list[int | None]:
    """The first and the last quantity round the present one at which `ours` takes no more than `theirs`, in what methods
    are chosen by."""
    import numpy

    now, names = advice.callout.quantity, [method["name"] for method in advice.rules.methods]
    ends = []
    for outward, end in ((-1, 1), (1, MOST_PIECES)):
        values = _grid(now, end, 1, 1) if now != end else numpy.array([])
        values = values[:MOST_TRIED] if outward > 0 else values
        found = _standing(advice, "quantity", values)
        worse = numpy.flatnonzero(negate(found[names.index(ours)] <= found[names.index(theirs)]))
        ends.append(int(values[worse[0]]) - outward if len(worse) else None)
    return ends


class Weight(NamedTuple):
    """What one reason weighs between two methods that both stand without it. finding: of the rule; gap:
    minutes, or money where methods are chosen by it, by which the other method would be behind without it; flips: whether the
    other would then be the better of the two."""

    finding: Finding
    gap: float
    flips: bool


class Comparison(NamedTuple):
    """Two methods side by side. ours, theirs: MethodAdvice; gap: minutes, or money where methods are
    chosen by it, by which theirs is behind, infinite where it is ruled out; obstacles: findings that rule it out; freed: its
    minutes or money without them, infinite where one alone is not all; weights: list of Weight, what speaks most for ours first; decides: the first of them, None where
    no reason speaks for ours or only several together keep the other out. It turns the choice between the two only where it
    flips."""

    ours: MethodAdvice | None
    theirs: MethodAdvice
    gap: float
    obstacles: list[Finding]
    freed: float
    weights: list[Weight]
    decides: Weight | None


def compare(advice: Advice, ours: str | None, theirs: str) -> Comparison:
    """The recommended method and another, and which reasons separate them -> Comparison. Every weight is the advice
    worked out again without that rule."""
    mine, other = advice.methods.get(ours) if ours else None, advice.methods[theirs]
    obstacles = other.ruled_out_by
    now = measured(advice.rules, givens(advice.callout, advice.shop, advice.lathe), advice.by)
    freed = without(advice, [f.rule for f in obstacles])[theirs] if obstacles else now[theirs]
    if mine is None or ours is None:
        return Comparison(None, other, math.inf, obstacles, freed, [], None)
    gap = now[theirs] - now[ours]
    findings = {f.rule.number: f for f in reversed(advice.outcome.findings)}
    weights = []
    for rule, found in without_each(advice):
        left = found[theirs] - found[ours]
        if math.isfinite(left) and abs(left - gap) > 0.05:
            weights.append(Weight(findings[rule.number], left, left < 0))
    weights.sort(key=lambda w: (not w.flips, w.gap))
    for_ours = [w for w in weights if w.gap < gap and (w.flips or math.isfinite(gap))]
    return Comparison(mine, other, gap, obstacles, freed, weights, for_ours[0] if for_ours else None)
