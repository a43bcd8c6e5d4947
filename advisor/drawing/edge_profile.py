"""The form tool's edge and a template that checks the radius, as outlines in millimetres: what a DXF takes to the
bench.

The tool is seen square to its front flank, the foremost point of its arc at y = 0 and its body below, x along the edge
from where the edge table counts; a horn that reaches deeper than the arc stands above 0. Templates are plates that fit
the work when its radius lies at a limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.work import radius_words
from advisor.formulas import form_tool
from advisor.formulas.geometry import depth_of_arc
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout
    from advisor.drawing.model import Point
    from advisor.formulas.numeric import Values

    Bulged = tuple[float, float, float]  # x, y and bulge
    EdgePoint = tuple[float, float, float]  # along the edge, square to the flank, on the face

STRAY = 0.0005  # mm by which a chord may stray from the edge: half of what is promised
FIRST, MOST = 17, 8193  # points of the polyline
SHANK = 12.0  # mm of blank drawn behind the edge
LEG = 0.4  # length of a template's straight legs, of the radius
PLATE = 6.0  # mm of plate round a template's arc
APART = 10.0  # mm between outlines


@dataclass(frozen=True)
class Outline:
    """A line of straight pieces and arcs. points: (x, y, bulge), bulge = tan(sweep / 4) of the arc that follows
    [mm]."""

    layer: str
    points: tuple[Bulged, ...]
    closed: bool = False


@dataclass(frozen=True)
class Circle:
    """An arc of a circle, counter-clockwise from start to end [mm, deg]."""

    layer: str
    centre: Point
    radius: float
    start: float
    end: float


@dataclass(frozen=True)
class Text:
    """A line of words on the drawing, its lower left corner and height [mm]."""

    layer: str
    at: Point
    words: str
    height: float = 2.5


@dataclass(frozen=True)
class Profile:
    """Everything on the drawing, in millimetres: units is what the file is to be written in."""

    outlines: tuple[Outline, ...]
    arcs: tuple[Circle, ...]
    texts: tuple[Text, ...]
    units: str


def profile(advice: Advice) -> Profile:
    """The form tool's edge and the checking templates of an Advice -> Profile.

    Layers: EDGE as ground, square to the flank; EDGE_ON_FACE as seen on the tool's face; PLAIN_ARC the radius itself
    beside them; BLANK closed round the edge; TEMPLATE_MIN and TEMPLATE_MAX closed, at the limits of the radius.
    Raises CalloutError where no edge can be ground to this shape.
    """
    values, callout = advice.values, advice.callout
    if advice.methods["form tool"].setup is None:
        raise _impossible(callout)
    ground, face = edges(values)
    bottom = min(y for _, y in (*ground, *face)) - SHANK
    blank = with_shank(ground, bottom, values)
    right = max(x for x, _ in blank)
    outlines = [
        Outline("EDGE", _straight(ground)),
        Outline("EDGE_ON_FACE", _straight(face)),
        Outline("BLANK", _straight(blank), True),
    ]
    x = right + APART
    for layer, radius in (("TEMPLATE_MIN", callout.radius_low), ("TEMPLATE_MAX", callout.radius_high)):
        plate = template(values, radius, layer)
        left = min(p[0] for p in plate.points)
        outlines.append(Outline(layer, tuple((px - left + x, py, bulge) for px, py, bulge in plate.points), True))
        x += max(p[0] for p in plate.points) - left + APART
    return Profile(tuple(outlines), (plain_arc(values),), tuple(_texts(advice, bottom)), callout.units)


def _impossible(callout: Callout) -> CalloutError:
    return CalloutError(
        "profile",
        callout.text,
        "has no edge that a form tool could be ground to",
        "Choose another method, or give less rake.",
    )


def edge_points(values: Values) -> list[EdgePoint]:
    """Points of the edge as close as it takes: (x, y square to the flank, y on the face), y negative behind the
    foremost [mm].

    values: named values of an Advice. Between two points the chord strays no more than STRAY from the edge.
    """
    count = FIRST
    while True:
        table = form_tool.edge_table(values, count=2 * count - 1)
        points = [(float(row["z_mm"]), -float(row["flank_depth_mm"]), -float(row["face_depth_mm"])) for row in table]
        if not all(math.isfinite(number) for point in points for number in point):
            raise CalloutError(
                "profile",
                f"{values['edge_rake']:g}° of rake",
                "turns no such edge",
                "Give another material, or grind with less rake.",
            )
        stray = max(
            _off_chord(points[k - 1], points[k], points[k + 1], y) for k in range(1, len(points), 2) for y in (1, 2)
        )
        if stray <= STRAY or count >= MOST:
            return points
        count = 2 * count - 1


def _off_chord(start: EdgePoint, point: EdgePoint, end: EdgePoint, y: int) -> float:
    along, up = end[0] - start[0], end[y] - start[y]
    long = math.hypot(along, up)
    return abs((point[0] - start[0]) * up - (point[y] - start[y]) * along) / long if long else 0.0


def edges(values: Values) -> tuple[list[Point], list[Point]]:
    """The edge as ground, square to the flank, and as seen on the tool's face, with all it runs out on: two lists of
    (x, y) [mm].

    On an end only the half from just past the middle to the rim is there.
    """
    points = edge_points(values)
    if values["end"]:
        points = _from(points, -min(values["form_tool_past_centre"], values["chord"] / 2))
    shape = ("radius", "chord", "depth", "convex", "corner", "end")
    before, after = form_tool.run_outs(
        **{name: values[name] for name in shape}, land=values["form_tool_land"], flare=values["form_tool_flare"]
    )
    first, last = _ends(values)
    rake = math.radians(values["edge_rake"])
    # Along the face a run-out goes on from the end of the arc; that close the curve of the work counts for nothing.
    face = [
        *((float(x), points[0][2] - (float(t) - first) / math.cos(rake)) for x, t in before),
        *((x, y) for x, _, y in points),
        *((float(x), points[-1][2] - (float(t) - last) / math.cos(rake)) for x, t in after),
    ]
    lean = math.cos(rake + math.radians(values["form_relief"]))
    return [(x, y * lean) for x, y in face], face


def _ends(values: Values) -> tuple[float, float]:
    """Work depth at the first and at the last point of the arc [mm]."""
    depth = values["depth"]
    if values["corner"]:
        return (0.0, depth) if values["convex"] else (depth, 0.0)
    rim = 0.0 if values["convex"] else depth
    return rim, rim


def _from(points: list[EdgePoint], x: float) -> list[EdgePoint]:
    """The points from a place along the edge on, with one in that place."""
    k = next(n for n, point in enumerate(points) if point[0] >= x)
    if k == 0 or points[k][0] == x:
        return points[k:]
    (x1, flank, face), (x2, flank2, face2) = points[k - 1], points[k]
    share = (x - x1) / (x2 - x1)
    return [(x, flank + share * (flank2 - flank), face + share * (face2 - face)), *points[k:]]


def with_shank(edge: Sequence[Point], bottom: float, values: Values) -> list[Point]:
    """The outline of the tool: its edge, and a blank cut off at the bottom -> (x, y) points, to be closed [mm].

    Beside a fillet's shoulder the blank goes on falling away, until a third of its width is gone.

    >>> with_shank([(0.0, 0.0), (1.0, -1.0)], -9.0, {"convex": False, "corner": False})
    [(0.0, 0.0), (1.0, -1.0), (1.0, -9.0), (0.0, -9.0)]
    """
    (x, y), (right, _) = edge[0], edge[-1]
    if values["convex"] or not values["corner"]:
        return [*edge, (right, bottom), (x, bottom)]
    lean = math.tan(math.radians(values["form_tool_flare"]))
    aside = max(0.0, min((y - bottom) * lean, right / 3 - x))
    return [*edge, (right, bottom), (x + aside, bottom), (x + aside, y - aside / lean)]


def plain_arc(values: Values) -> Circle:
    """The radius itself, in the frame of the edge: what the edge would be without relief and rake -> Circle."""
    radius, convex = values["radius"], values["convex"]
    if values["corner"]:
        return (
            Circle("PLAIN_ARC", (radius, 0.0), radius, 180, 270)
            if convex
            else Circle("PLAIN_ARC", (radius, -radius), radius, 90, 180)
        )
    half = math.degrees(math.asin(min(1.0, values["chord"] / 2 / radius)))
    past = min(values["form_tool_past_centre"], values["chord"] / 2) if values["end"] else math.inf
    beyond = min(half, math.degrees(math.asin(min(1.0, past / radius))))
    if convex:
        return Circle("PLAIN_ARC", (0.0, radius - values["depth"]), radius, 270 - beyond, 270 + half)
    return Circle("PLAIN_ARC", (0.0, -radius), radius, 90 - half, 90 + beyond)


def template(values: Values, radius: float, layer: str) -> Outline:
    """A plate that fits the work at one limit of the radius -> Outline, closed.

    A corner's has straight legs along both faces; the others have the arc over the chord and nothing else that touches.
    """
    convex = values["convex"]
    points: list[Point | Bulged]
    if values["corner"]:
        leg, quarter = LEG * radius + 2.0, math.tan(math.pi / 8)
        long = radius + leg
        if convex:
            points = [
                (-long, 0),
                (-radius, 0, -quarter),
                (0, -radius),
                (0, -long),
                (PLATE, -long),
                (PLATE, PLATE),
                (-long, PLATE),
            ]
        else:
            points = [(long, 0), (radius, 0, -quarter), (0, radius), (0, long), (long, long)]
    else:
        chord = min(values["chord"], 2 * radius)
        half = math.asin(chord / 2 / radius)
        bulge, depth, w = math.tan(half / 2), float(depth_of_arc(radius=radius, chord=chord)), chord / 2
        if convex:
            points = [(-w, 0, -bulge), (w, 0), (w, depth + PLATE), (-w, depth + PLATE)]
        else:
            points = [(-w, 0, bulge), (w, 0), (w, PLATE), (-w, PLATE)]
    return Outline(layer, tuple((p[0], p[1], p[2] if len(p) > 2 else 0.0) for p in points), True)


def _straight(points: Iterable[Point]) -> tuple[Bulged, ...]:
    return tuple((x, y, 0.0) for x, y in points)


def _run_out_words(values: Values, size: Callable[[float], str]) -> str:
    """What the edge runs out on, in the words of the step that has it ground."""
    land, flare = size(values["form_tool_land"]), f"{wording.number(values['form_tool_flare'], 2)} deg"
    past = size(values["form_tool_past_centre"])
    if values["corner"]:
        if values["convex"]:
            return f"Run-outs: horn {land} deeper than R; both flare {flare} from face and diameter."
        return f"Run-outs: {land} of land on the small diameter; the shoulder side falls away {flare}, no land."
    if values["end"]:
        return f"Run-outs: {land} past the rim; half the form only, to {past} past the middle."
    if values["convex"]:
        return f"Run-outs: {land} past each end of the arc, falling away {flare}."
    return f"Run-outs: {land} straight on past each end of the arc, out of the work."


def _texts(advice: Advice, bottom: float) -> list[Text]:
    callout, values = advice.callout, advice.values
    setup = advice.methods["form tool"].to_set

    def size(mm: float) -> str:
        return wording.length(mm, callout.units)

    lines = [
        f"{radius_words(callout)}, {callout.form}, {callout.location}, D {size(callout.diameter)}. "
        f"Units: {callout.units}.",
        f"EDGE: square to the front flank, {wording.number(values['form_relief'], 2)} deg relief, "
        f"{wording.number(values['edge_rake'], 2)} deg top rake. Width {size(setup['edge_width_mm'])}.",
        _run_out_words(values, size),
        "EDGE_ON_FACE: as seen on the tool face. PLAIN_ARC: the radius itself.",
        f"TEMPLATE_MIN: R {size(callout.radius_low)}. TEMPLATE_MAX: R {size(callout.radius_high)}.",
    ]
    return [Text("NOTES", (0.0, bottom - 6.0 - 5.0 * n), words) for n, words in enumerate(lines)]
