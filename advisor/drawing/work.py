"""Drawing of the work: the six shapes in outline, and the dimensioned view that stands on the sheet.

x runs along the spindle with the free end at 0 and the chuck to the left, y up from the axis [mm].
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.model import (
    LETTERING,
    SMALL,
    Arc,
    Hatch,
    Label,
    Line,
    Linear,
    Note,
    Picture,
    Radius,
    View,
    fitted,
    joined,
    scale_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TypeVar

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.drawing.model import Item, Point, Room
    from advisor.formulas.numeric import Values

    Drawn = TypeVar("Drawn", Line, Arc, Hatch)

LEGIBLE = 6.0  # mm of paper under which an arc is shown again in a detail
TITLE_ROOM = 6.5  # mm of paper for the title under a picture


@dataclass(frozen=True)
class Profile:
    """Half of the work in outline, above the axis.

    before, after: points left and right of the arc, in the order from the chuck to the free end; arc: traversed in the
    same order; left: where the view is broken off; bore: radius of the bore; hollow: whether the shape needs a section.
    """

    before: tuple[Point, ...]
    arc: Arc
    after: tuple[Point, ...]
    left: float
    bore: float
    hollow: bool

    def outline(self, scale: float = 1.0) -> list[Point]:
        """Points of the outline from the break to the free end, and down to the axis or the bore."""
        return [*self.before, *self.arc.points(scale), *self.after]

    def cut(self, scale: float = 1.0) -> list[Point]:
        """The same, closed along the axis or the bore: half the section."""
        return [(self.left, self.bore), *self.outline(scale)]


def profile(values: Values, *, left: float | None = None) -> Profile:
    """Outline of the work above the axis -> Profile.

    values: named values of an Advice; left: x at which the view is broken off, a little behind the feature if None.
    A length or shoulder height that is not stated is drawn as it may be.
    """
    radius, a, depth, chord = (values[n] for n in ("radius", "half_diameter", "depth", "chord"))
    convex, bore = values["convex"], values["bore"] / 2
    half = math.degrees(math.asin(min(1.0, chord / 2 / radius))) if math.isfinite(chord) else 0.0
    end_of_work = ((0.0, bore),)
    if values["corner"] and convex:
        arc = Arc((-radius, a - radius), radius, 90.0, -90.0)
        left = _or(left, -max(2.2 * radius, 0.9 * a, _known(values["length"])))
        before, after = ((left, a),), end_of_work
    elif values["corner"]:
        along = _known(values["length"]) or max(2.5 * radius, 0.9 * a)
        top = a + (_known(values["shoulder_height"]) or 1.5 * radius)
        arc = Arc((-along + radius, a + radius), radius, 180.0, 90.0)
        left = _or(left, -along - max(0.4 * a, 0.6 * radius))
        before, after = ((left, top), (-along, top)), ((0.0, a), *end_of_work)
    elif values["end"]:
        inner = math.degrees(math.asin(min(1.0, bore / radius)))
        if convex:
            arc = Arc((-radius, 0.0), radius, half, inner - half)
            left = _or(left, -depth - 0.9 * a)
            before, after = ((left, a),), ((arc.point(1)[0], bore),)
        else:
            arc = Arc((radius - depth, 0.0), radius, 180.0 - half, half - inner)
            left = _or(left, -depth - 0.7 * a)
            before, after = ((left, a), (0.0, a)), ((arc.point(1)[0], bore),)
    else:
        middle = -values["from_end"] - chord / 2
        centre = (middle, values["centre_from_axis"])
        arc = Arc(centre, radius, 90 + half, -2 * half) if convex else Arc(centre, radius, 270 - half, 2 * half)
        left = _or(left, middle - chord / 2 - max(0.5 * a, 0.3 * chord))
        beside = a - depth if convex else a
        before, after = ((left, beside),), ((0.0, beside), *end_of_work)
    return Profile(before, arc, after, left, bore, values["end"] and not convex or bore > 0)


def _or(value: float | None, other: float) -> float:
    return other if value is None else value


def _known(value: float) -> float:
    return value if math.isfinite(value) else 0.0


def mirrored(item: Drawn) -> Drawn:
    """A line or an arc, below the axis instead of above.

    >>> mirrored(Arc((1.0, 2.0), 3.0, 90.0, -90.0))
    Arc(centre=(1.0, -2.0), radius=3.0, start=-90.0, sweep=90.0, pen='outline')
    """
    if isinstance(item, Arc):
        return replace(item, centre=(item.centre[0], -item.centre[1]), start=-item.start, sweep=-item.sweep)
    return replace(item, points=tuple((x, -y) for x, y in item.points))


def body(shape: Profile, *, scale: float, arc_pen: str = "outline", section: bool = False) -> list[Item]:
    """The work in outline, both halves, its axis and the break on the left: a list of items."""
    items = []
    for half in (lambda item: item, mirrored):
        if section:
            items.append(half(Hatch(tuple(shape.cut(scale)))))
        for points in (shape.before, shape.after):
            joint = shape.arc.point(0) if points is shape.before else shape.arc.point(1)
            line = (*points, joint) if points is shape.before else (joint, *points)
            items.append(half(Line(line)))
        items.append(half(replace(shape.arc, pen=arc_pen)))
        if shape.bore and section:
            items.append(half(Line(((shape.left, shape.bore), shape.after[-1]))))
        if not shape.hollow or not section:
            items += [half(Line(line)) for line in _edges(shape)]
    top = shape.before[0][1]
    items.append(broken_end(shape.left, top, scale))
    right = max(0.0, shape.arc.point(1)[0])
    items.append(Line(((shape.left - 2.5 / scale, 0.0), (right + 2.5 / scale, 0.0)), "centre"))
    return items


def _edges(shape: Profile) -> list[tuple[Point, Point]]:
    """Edges seen as lines square to the axis: where the outline turns a corner."""
    points = [*shape.before, shape.arc.point(0)]
    found = []
    for (x, y), (x2, y2) in zip(points, points[1:], strict=False):
        if x == x2 and y != y2:
            found.append(((x, 0.0), (x, max(y, y2))))
    inward = abs(math.cos(math.radians(shape.arc.start)))
    if 1e-6 < inward < 1 - 1e-6:  # the arc meets a straight line at an angle
        found.append((shape.arc.point(0), (shape.arc.point(0)[0], 0.0)))
        end = shape.arc.point(1)
        if end[1] > 1e-9:
            found.append((end, (end[0], 0.0)))
    tail = [shape.arc.point(1), *shape.after]
    for (x, y), (x2, y2) in zip(tail, tail[1:], strict=False):
        if x == x2 and y > y2 > 0:
            found.append(((x, y2), (x, 0.0)))
    return found


def broken_end(x: float, top: float, scale: float) -> Line:
    """The freehand line at which a view is broken off, through both halves."""
    count, wave = 24, min(0.8 / scale, top * 0.2)
    points = []
    for k in range(count + 1):
        y = top - 2 * top * k / count
        points.append((x + wave * math.sin(2 * math.pi * 1.5 * k / count), y))
    return Line(tuple(points), "thin")


# ---- words of dimensions


def radius_words(callout: Callout) -> str:
    """The radius with its tolerance, as it stands on the drawing."""
    radius, tolerance = (wording.bare(mm, callout.units) for mm in (callout.radius, callout.tolerance))
    return f"{callout.symbol}{radius} ±{tolerance}"


def size(mm: float, advice: Advice, sign: str = "") -> str:
    """A length as a dimension has it: no unit, ⌀ before a diameter."""
    return f"{sign}{wording.bare(mm, advice.callout.units)}"


def style(advice: Advice) -> str:
    """The drawing standard whose habits the dimensions follow."""
    return "asme" if advice.callout.units == "inch" else "iso"


# ---- the view


def drawing_of_work(advice: Advice, *, room: Room, arc_pen: str = "outline") -> Picture:
    """The dimensioned work, its arc to scale, with a detail where the arc would be too small to see -> Picture.

    room: (width, height) of paper [mm]; arc_pen: with which the arc is drawn.
    """
    values = advice.values
    shape = profile(values)
    whole = (room[0], room[1] - TITLE_ROOM)

    def make(scale: float, detail: bool = False) -> View:
        return View(tuple(_dimensioned(advice, shape, scale, detail=detail, arc_pen=arc_pen)))

    main = fitted(make, room=whole, style=style(advice), largest=20)
    if _span(shape.arc) * main.scale >= LEGIBLE:
        return arranged([(main, f"WORK {scale_words(main.scale)}")], room=room)

    def both(share: float) -> tuple[Picture, Picture]:
        upper, lower = ((room[0], room[1] * part - TITLE_ROOM) for part in (share, 1 - share))
        main = fitted(lambda scale: make(scale, detail=True), room=upper, style=style(advice), largest=20)
        near = fitted(lambda scale: _detail(advice, shape, scale), room=lower, style=style(advice))
        return main, near

    best = max(map(both, (0.64, 0.56, 0.48, 0.4)), key=lambda pair: pair[0].scale * pair[1].scale)
    return arranged(
        [(picture, f"{name} {scale_words(picture.scale)}") for picture, name in zip(best, ("WORK", "A"), strict=True)],
        room=room,
    )


def _span(arc: Arc) -> float:
    return math.dist(arc.point(0), arc.point(1))


def _dimensioned(advice: Advice, shape: Profile, scale: float, *, detail: bool, arc_pen: str = "outline") -> list[Item]:
    values, callout = advice.values, advice.callout
    items = body(shape, scale=scale, arc_pen=arc_pen, section=shape.hollow)
    a, left = values["half_diameter"], shape.left
    top = max(y for _, y in shape.outline())
    if values["corner"] and not values["convex"]:
        items.append(Linear((0.0, a), (0.0, -a), size(2 * a, advice, "⌀"), "y", 0.0, 1))
        if math.isfinite(values["shoulder_height"]):
            items.append(Linear((left, top), (left, -top), size(2 * top, advice, "⌀"), "y", left, -1))
        if math.isfinite(values["length"]):
            items.append(
                Linear(
                    (shape.arc.centre[0] - values["radius"], -top),
                    (0.0, -a),
                    size(values["length"], advice),
                    "x",
                    -top,
                    -1,
                )
            )
    else:
        beside = shape.before[0][1]
        if values["outside"] and values["convex"]:
            crest = shape.arc.point(0.5)
            items.append(Linear(crest, (crest[0], -crest[1]), size(2 * a, advice, "⌀"), "y", left, -1))
        else:
            items.append(Linear((left, beside), (left, -beside), size(2 * a, advice, "⌀"), "y", left, -1))
    if shape.bore:
        row = (
            1 if values["end"] and values["convex"] or values["corner"] and values["convex"] or values["outside"] else 2
        )
        x = shape.after[-1][0]
        items.append(Linear((x, shape.bore), (x, -shape.bore), size(2 * shape.bore, advice, "⌀"), "y", 0.0, 1, row))
    items += _feature(advice, shape, detail)
    if detail:
        middle = shape.arc.point(0.5)
        round_it = Arc(middle, max(0.8 * _span(shape.arc), 2.0 / scale), 0, 360, "thin")
        items += [round_it, Note(round_it.point(0.125), "A", LETTERING, True, False)]
    else:
        items.append(Radius(shape.arc, radius_words(callout), values["convex"]))
    return items


def _feature(advice: Advice, shape: Profile, detail: bool) -> list[Item]:
    """Width, depth and place of the arc, below the work, where the mirrored half shows them."""
    values = advice.values
    items: list[Item] = []
    depth, chord = values["depth"], values["chord"]
    if values["outside"]:
        low = min(-y for _, y in shape.outline())
        first, last = shape.arc.point(0), shape.arc.point(1)
        near, far = (last[0], -last[1]), (first[0], -first[1])
        row = 1
        if not detail:
            items.append(Linear(far, near, size(chord, advice), "x", low, -1, row))
            deepest = shape.arc.point(0.5)
            reference = f"({size(depth, advice)})"
            items.append(Linear((deepest[0], -deepest[1]), near, reference, "y", 0.0, 1))
            row = 2
        if not advice.callout.position_open:  # else the drawing shows the shape, and no place
            items.append(Linear(near, (0.0, -shape.after[0][1]), size(values["from_end"], advice), "x", low, -1, row))
    elif values["end"] and not detail:
        a = values["half_diameter"]
        rim, apex = shape.arc.point(0), shape.arc.point(1)
        reference = f"({size(depth, advice)})"
        if not shape.bore:
            items.append(Linear((rim[0], -rim[1]), (apex[0], -apex[1]), reference, "x", -a, -1))
        if not values["convex"]:
            items.append(Linear(rim, (0.0, -rim[1]), size(chord, advice, "⌀"), "y", 0.0, 1, 1, True))
    return items


def _detail(advice: Advice, shape: Profile, scale: float) -> View:
    """The arc alone, enlarged, cut off a little way round it."""
    values = advice.values
    points = shape.arc.points(scale)
    box = joined([(*p, *p) for p in points])
    margin = max(3.0 / scale, 0.2 * _span(shape.arc))
    window = (box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin)
    items: list[Item] = [Line(tuple(shape.outline(scale)))]
    if shape.hollow:
        items.insert(0, Hatch(tuple(shape.cut(scale))))
    items.append(Radius(shape.arc, radius_words(advice.callout), values["convex"]))
    if values["outside"]:
        first, last = shape.arc.point(0), shape.arc.point(1)
        deepest = shape.arc.point(0.5)
        items.append(Linear(first, last, size(values["chord"], advice), "x", window[1], -1))
        items.append(Linear(deepest, last, f"({size(values['depth'], advice)})", "y", window[2], 1))
    elif values["end"]:
        rim, apex = shape.arc.point(0), shape.arc.point(1)
        if not shape.bore:
            items.append(Linear(rim, apex, f"({size(values['depth'], advice)})", "x", window[1], -1))
    return View(tuple(items), window)


def arranged(pictures: Sequence[tuple[Picture, str]], *, room: Room) -> Picture:
    """Pictures one above the other in the middle of a room, each with its title under it -> Picture.

    pictures: list of (Picture, title). Its own scale is the first one's.
    """
    whole = Picture(pictures[0][0].scale)
    heights = [picture.box[3] - picture.box[1] + TITLE_ROOM for picture, _ in pictures]
    spare = max(0.0, room[1] - sum(heights)) / (len(pictures) + 1)
    y = room[1] - spare
    for (picture, title), height in zip(pictures, heights, strict=True):
        box = picture.box
        moved = picture.moved(room[0] / 2 - (box[0] + box[2]) / 2, y - box[3])
        whole.strokes += moved.strokes
        whole.labels += moved.labels
        whole.crowded += moved.crowded
        whole.labels.append(Label((room[0] / 2, y - height + SMALL * 0.7), title, SMALL, False, True))
        y -= height + spare
    return whole
