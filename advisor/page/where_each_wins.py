"""The map of where each method wins, with the dot of one callout, what moves it, and the rule that turns the choice."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import lru_cache
from html import escape
from typing import TYPE_CHECKING, NamedTuple

from advisor.answer import wording
from advisor.asked import materials
from advisor.asked.callout import WORDS
from advisor.lists.pricing import Desk
from advisor.page import labels, svg
from advisor.page import state as states
from advisor.page.made import File, Move, Screen
from advisor.show import map as maps
from advisor.show import why
from advisor.study import changes, mapping

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.page.made import Made
    from advisor.page.state import Records, State
    from advisor.records.job_records import Job
    from advisor.study.mapping import Axis, Map

SIZE = (60, 44)  # columns and rows
WIDE, HIGH, LEFT, ABOVE, BELOW, RIGHT = 190.0, 132.0, 44.0, 8.0, 27.0, 16.0  # of the picture, on no scale
LETTERING = 8.5
FIRST = {"radius": "R6 ±0.1", "shape": "rounded corner", "diameter": "40 mm", "quantity": "12"}
# Where a slider stops: sizes that drawings ask for, and round counts. It stops only where the callout can be turned.
STOPS = {
    "mm": {
        "radius": (0.5, 0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200),
        "tolerance": (0.005, 0.01, 0.02, 0.03, 0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.5, 0.7, 1),
    },
    "inch": {
        "radius": (0.02, 0.031, 0.047, 0.062, 0.094, 0.125, 0.156, 0.187, 0.25, 0.312, 0.375, 0.5, 0.625, 0.75, 1, 1.5, 2, 3, 4, 6, 8),
        "tolerance": (0.0002, 0.0005, 0.001, 0.002, 0.003, 0.005, 0.007, 0.01, 0.015, 0.02, 0.03, 0.04),
    },
}  # fmt: skip
PIECES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 70, 100, 150, 200, 300, 500, 700, 1000)
NAMES = ("radius", "tolerance", "quantity", "skill")  # what slides
WORDS_FOR = {"radius": "Radius", "tolerance": "Tolerance, plus or minus"}
TYPED = ("diameter", "material")  # what is only typed


class Slide(NamedTuple):
    """Something that slides. now: as it is written; stops: what else it may be, as it is written; at: the stop that is
    nearest to it."""

    now: str
    stops: list[str]
    at: int


def screen(state: State, *, records: Records, **_: object) -> Made:
    """Where each method wins, with this callout's dot, what moves it, and what turned the choice when it moved."""
    if "radius" not in state.fields:
        state = states.state_of([*FIRST.items(), *state.more.items()])
    advice = states.answer(state, records)
    slides = _slides(advice)
    if any(name.startswith(("at.", "slide.")) for name in state.more):
        return Move(_moved(state, slides, advice, records))
    survey, here = _surveyed(advice, records)
    fields = [
        labels.field(f"at.{name}", one.now, label=WORDS_FOR.get(name) or labels.label(name), slide=one, moves=name)
        for name, one in slides.items()
    ]
    fields[-1] |= {"type": "choice", "choices": [(word, word) for word in WORDS["skill"]]}
    known = [(word, word) for word in materials.materials()]
    for name in TYPED:
        now = state.fields.get(name, "")
        more = {"type": "list", "choices": known} if name == "material" else {}
        fields.append(labels.field(f"at.{name}", now, label=labels.label(name), like=labels.like(name), **more))
    return Screen(
        "map.html",
        asked=wording.callout_line(advice),
        method=advice.recommended or "no method stands",
        turned=_turned(state, advice, records),
        picture=state.address("/drawing/map.svg"),
        shares=[
            (maps.region_name(place, survey.methods), wording.percent(share)) for place, share in survey.shares.items()
        ],
        fields=fields,
        hidden=[*state.hidden(), *((f"was.{name}", text) for name, text in _was(state).items())],
        inside=_on_it(survey, here),
        answer=state.address("/lathe/answer"),
        place="learn",
        same=" ".join(
            [states.command(state, "map"), *(f"--y-{end} '{text}'" for end, text in _ends(advice.callout).items())]
        ),
    )


# ---- what moves it


def _slides(advice: Advice) -> dict[str, Slide]:
    """What slides: name -> Slide. A stop at which the work cannot be turned is left out."""
    callout = advice.callout
    unit, factor = ("in", 25.4) if callout.units == "inch" else ("mm", 1.0)
    made = {}
    for name, stops in STOPS[callout.units].items():
        own = getattr(callout, name)
        fits = [stop for stop in stops if changes.varied(callout, name, stop * factor) is not None]
        fits = fits or [own / factor]
        nearest = min(range(len(fits)), key=lambda place: abs(math.log(fits[place] * factor / own)))
        made[name] = Slide(f"{own / factor:.6g} {unit}", [f"{stop:g} {unit}" for stop in fits], nearest)
    nearest = min(range(len(PIECES)), key=lambda place: abs(math.log(PIECES[place] / callout.quantity)))
    made["quantity"] = Slide(str(callout.quantity), [str(count) for count in PIECES], nearest)
    skills = list(WORDS["skill"])
    made["skill"] = Slide(callout.skill, skills, skills.index(callout.skill))
    return made


def _moved(state: State, slides: Mapping[str, Slide], advice: Advice, records: Records) -> str:
    """The address with what was moved, and what it was before the choice last turned. A slider that was moved goes before
    the figure beside it."""
    callout = advice.callout
    now = {name: one.now for name, one in slides.items()} | {name: state.fields.get(name, "") for name in TYPED}
    new = dict(now)
    for name in now:
        new[name] = state.more.get(f"at.{name}", now[name])
        place = state.more.get(f"slide.{name}", "")
        if name in slides and place.isdecimal() and len(place) < 4 and int(place) != slides[name].at:
            stops = slides[name].stops
            new[name] = stops[min(int(place), len(stops) - 1)]
    moved = {name: text for name, text in new.items() if text != now[name]}
    if moved.keys() & {"radius", "tolerance"}:
        unit = "in" if callout.units == "inch" else "mm"
        size, tolerance = (_with_unit(new[name], unit) for name in ("radius", "tolerance"))
        moved["radius"] = f"{callout.symbol}{size} ±{tolerance}"
        moved.pop("tolerance", None)
    before = {"radius": state.fields["radius"], "material": callout.material, "quantity": now["quantity"]}
    before |= {"skill": now["skill"], "diameter": now["diameter"]}
    after = states.answer(states.State({**state.fields, **moved}, state.flow, {}), records)
    was = {name: before[name] for name in moved}
    if after.recommended == advice.recommended:
        was = _was(state) or was
    return state.address("/learn/map", **moved, **{f"was.{name}": text for name, text in was.items()})


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}" if re.fullmatch(r"[0-9./]+", text) else text


def _was(state: State) -> dict[str, str]:
    """What was otherwise before the choice last turned: name -> text."""
    return {name.removeprefix("was."): text for name, text in state.more.items() if name.startswith("was.")}


def _turned(state: State, advice: Advice, records: Records) -> str:
    """What turned the choice since it was moved, "" where nothing did."""
    was = _was(state)
    if not was:
        return ""
    before = states.answer(states.State({**state.fields, **was}, state.flow, {}), records)
    if before.recommended == advice.recommended:
        return f"Still {advice.recommended or 'no method stands'}."
    because = why.cause_text(changes.cause(before, before.callout, advice.callout, advice.recommended), before)
    now, then = (one.recommended or "no method stands" for one in (advice, before))
    return f"{now.capitalize()} in place of {then}: {because}{'' if because.endswith(('.', ')')) else '.'}"


# ---- the map


def _ends(callout: Callout) -> dict[str, str]:
    """From and to which tolerance the map goes, as it is written; the same for every callout, so that the dot moves and not
    the map."""
    stops, unit = STOPS[callout.units]["tolerance"], "in" if callout.units == "inch" else "mm"
    return {"from": f"{stops[0]:g} {unit}", "to": f"{stops[-1]:g} {unit}"}


def _surveyed(advice: Advice, records: Records) -> tuple[Map, tuple[float, float]]:
    """The map, and where on it this callout lies: pieces and tolerance [mm]."""
    callout = advice.callout
    bare = replace(callout, text="", read=(), notes=(), quantity=1, tolerance=0.0, radius_low=0.0, radius_high=0.0)
    return _survey(_Of((repr(bare), advice.shop.name, records.jobs()), advice)), (callout.quantity, callout.tolerance)


class _Of:
    """An Advice that is known again by a key: all that the map hangs on."""

    def __init__(self, key: tuple[str, str, tuple[Job, ...]], advice: Advice) -> None:
        self.key, self.advice = key, advice

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Of) and self.key == other.key


@lru_cache(maxsize=8)
def _survey(of: _Of) -> Map:
    callout, shop = of.advice.callout, of.advice.shop
    ends = _ends(callout)
    x = mapping.Axis("quantity", 1.0, float(PIECES[-1]), True)
    y = mapping.axis_for("tolerance", callout, option="--y", low=ends["from"], high=ends["to"])
    return mapping.survey(callout, shop, x=x, y=y, rules=Desk(shop, of.key[-1]).rules, size=SIZE)


def _on_it(survey: Map, here: tuple[float, float]) -> bool:
    return all(axis.low <= value <= axis.high for axis, value in zip((survey.x, survey.y), here))


def picture(state: State, *, records: Records, **_: object) -> File:
    """The map as a picture: the methods' colours and hatches, the dot of this callout."""
    advice = states.answer(state, records)
    survey, here = _surveyed(advice, records)
    parts = [_patterns(survey.methods), *_regions(survey), *_scales(survey)]
    if _on_it(survey, here):
        at = f'cx="{_across(survey, here[0]):.1f}" cy="{_up(survey, here[1]):.1f}"'
        parts.append(f'<circle {at} r="6" fill="#fff" stroke="{svg.INK}" stroke-width="2.5"/>')
        parts.append(f'<circle {at} r="2" fill="{svg.INK}"/>')
    says = escape(f"Where each method wins, by pieces and tolerance. Here: {advice.recommended or 'no method stands'}")
    box = f"0 {-ABOVE:g} {LEFT + WIDE + RIGHT:g} {ABOVE + HIGH + BELOW:g}"
    opening = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" font-family="{svg.FACE}"'
    text = f'{opening} font-size="{LETTERING:g}" fill="{svg.INK}"><title>{says}</title>{"".join(parts)}</svg>'
    return File(text.encode(), "image/svg+xml", keep=True)


def _regions(survey: Map) -> Iterator[str]:
    """Each row of the map as boxes of one method."""
    rows, columns = survey.best.shape
    wide, high = WIDE / columns, HIGH / rows
    for row, line in enumerate(survey.best.tolist()):
        start = 0
        for column in range(1, columns + 1):
            if column < columns and line[column] == line[start]:
                continue
            if line[start] != mapping.IMPOSSIBLE:
                corner = f'x="{LEFT + start * wide:.2f}" y="{HIGH - (row + 1) * high:.2f}"'
                size = f'width="{(column - start) * wide + 0.2:.2f}" height="{high + 0.2:.2f}"'
                yield f'<rect {corner} {size} fill="url(#p{line[start] + 1})"/>'
            start = column


def _along(axis: Axis, value: float) -> float:
    """The share of an axis up to a value."""
    if axis.logarithmic:
        return math.log(value / axis.low) / math.log(axis.high / axis.low)
    return (value - axis.low) / (axis.high - axis.low)


def _across(survey: Map, value: float) -> float:
    return LEFT + _along(survey.x, value) * WIDE


def _up(survey: Map, value: float) -> float:
    return HIGH - _along(survey.y, value) * HIGH


def _patterns(methods: Iterable[str]) -> str:
    """Fill and hatch of each method, as on the map that `turn-radius map` draws."""
    looks = [maps.NO_METHOD_LOOK, *(maps.LOOKS[name] for name in methods)]
    lines = {45: "M0 8L8 0", 135: "M0 0L8 8", 90: "M4 0V8", 0: "M0 4H8"}
    made = []
    for n, (fill, hatch) in enumerate(looks):
        line = "".join(lines[angle] for angle in maps.HATCH_ANGLES.get(hatch[0], ()))
        drawn = (
            f'<path d="{line}" stroke="#000" stroke-opacity=".35" stroke-width="1" fill="none"/>'
            if line
            else '<circle cx="4" cy="4" r="1" fill-opacity=".4"/>'
        )
        paper = f'<rect width="8" height="8" fill="{fill}"/>'
        made.append(f'<pattern id="p{n}" width="8" height="8" patternUnits="userSpaceOnUse">{paper}{drawn}</pattern>')
    return f"<defs>{''.join(made)}</defs>"


def _labels(axis: Axis, units: str) -> list[tuple[str, float]]:
    """Round values on a scale, as they are written and in internal units."""
    unit = maps.factor(axis, units)
    return [(mapping.nice(float(f"{value:.6g}")), value * unit) for value in mapping.round_values(axis, factor=unit)]


def _scales(survey: Map) -> Iterator[str]:
    """Round values along both axes, and what they are."""
    free = math.inf  # from here to the right stands the next label
    for label, value in reversed(_labels(survey.x, survey.units)):
        middle, wide = _across(survey, value), len(label) * LETTERING * 0.62
        if middle + wide / 2 <= free:
            free = middle - wide / 2 - 2
            yield f'<text x="{middle:.1f}" y="{HIGH + 10}" text-anchor="middle">{label}</text>'
    for label, value in _labels(survey.y, survey.units):
        yield f'<text x="{LEFT - 3}" y="{_up(survey, value) + 3:.1f}" text-anchor="end">{label}</text>'
    x, y = (escape(maps.axis_title(axis, survey.units)) for axis in (survey.x, survey.y))
    yield f'<text x="{LEFT + WIDE / 2}" y="{HIGH + 22}" text-anchor="middle">{x}</text>'
    yield f'<text x="9" y="{HIGH / 2}" text-anchor="middle" transform="rotate(-90 9 {HIGH / 2})">{y}</text>'
    yield f'<rect x="{LEFT}" y="0" width="{WIDE}" height="{HIGH}" fill="none" stroke="{svg.INK}"/>'
