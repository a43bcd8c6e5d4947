"""The form tool's edge and a template that checks the radius, as outlines in millimetres: what a DXF takes to the
bench.

The tool is seen square to its front flank, its foremost point at y = 0 and its body below, x along the edge from where
the edge table counts. Templates are plates that fit the work when its radius lies at a limit.
"""

import math
from dataclasses import dataclass

from advisor import explain
from advisor.drawing.work import radius_words
from advisor.errors import CalloutError
from advisor.geometry import depth_of_arc
from advisor.methods import form_tool

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
    points: tuple
    closed: bool = False


@dataclass(frozen=True)
class Circle:
    """An arc of a circle, counter-clockwise from start to end [mm, deg]."""

    layer: str
    centre: tuple
    radius: float
    start: float
    end: float


@dataclass(frozen=True)
class Text:
    """A line of words on the drawing, its lower left corner and height [mm]."""

    layer: str
    at: tuple
    words: str
    height: float = 2.5


@dataclass(frozen=True)
class Profile:
    """Everything on the drawing, in millimetres: units is what the file is to be written in."""

    outlines: tuple
    arcs: tuple
    texts: tuple
    units: str


def profile(advice):
    """The form tool's edge and the checking templates of an Advice -> Profile.

    Layers: EDGE as ground, square to the flank; EDGE_ON_FACE as seen on the tool's face; PLAIN_ARC the radius itself
    beside them; BLANK closed round the edge; TEMPLATE_MIN and TEMPLATE_MAX closed, at the limits of the radius.
    Raises CalloutError where no edge can be ground to this shape.
    """
    values, callout = advice.values, advice.callout
    if advice.methods["form tool"].setup is None:
        raise _impossible(callout)
    edge = edge_points(values)
    land = values["form_tool_land"]
    ground = with_lands([(x, flank) for x, flank, _ in edge], land)
    face = with_lands([(x, y) for x, _, y in edge], land)
    bottom = min(y for _, y in (*ground, *face)) - SHANK
    blank = [*ground, (ground[-1][0], bottom), (ground[0][0], bottom)]
    right = max(x for x, _ in ground)
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


def _impossible(callout):
    return CalloutError(
        "profile",
        callout.text,
        "has no edge that a form tool could be ground to",
        "Choose another method, or give less rake.",
    )


def edge_points(values):
    """Points of the edge as close as it takes: (x, y square to the flank, y on the face), y negative behind the
    foremost [mm].

    values: named values of an Advice. Between two points the chord strays no more than STRAY from the edge.
    """
    count = FIRST
    while True:
        table = form_tool.edge_table(values, count=2 * count - 1)
        points = [(row["z_mm"], -row["flank_depth_mm"], -row["face_depth_mm"]) for row in table]
        if not all(math.isfinite(number) for point in points for number in point):
            raise CalloutError(
                "profile",
                f"{values['form_rake']:g}° of rake",
                "turns no such edge",
                "Give another material, or grind with less rake.",
            )
        stray = max(
            _off_chord(points[k - 1], points[k], points[k + 1], y) for k in range(1, len(points), 2) for y in (1, 2)
        )
        if stray <= STRAY or count >= MOST:
            return points
        count = 2 * count - 1


def _off_chord(start, point, end, y):
    along, up = end[0] - start[0], end[y] - start[y]
    long = math.hypot(along, up)
    return abs((point[0] - start[0]) * up - (point[y] - start[y]) * along) / long if long else 0.0


def with_lands(points, land):
    """The edge with a straight land to run out on at each end [mm].

    >>> with_lands([(0.0, 0.0), (1.0, -1.0)], 0.5)
    [(-0.5, 0.0), (0.0, 0.0), (1.0, -1.0), (1.5, -1.0)]
    """
    first, last = points[0], points[-1]
    return [(first[0] - land, first[1]), *points, (last[0] + land, last[1])]


def plain_arc(values):
    """The radius itself, in the frame of the edge: what the edge would be without relief and rake -> Circle."""
    radius, convex = values["radius"], values["convex"]
    if values["corner"]:
        return (
            Circle("PLAIN_ARC", (radius, 0.0), radius, 180, 270)
            if convex
            else Circle("PLAIN_ARC", (radius, -radius), radius, 90, 180)
        )
    half = math.degrees(math.asin(min(1.0, values["chord"] / 2 / radius)))
    if convex:
        return Circle("PLAIN_ARC", (0.0, radius - values["depth"]), radius, 270 - half, 270 + half)
    return Circle("PLAIN_ARC", (0.0, -radius), radius, 90 - half, 90 + half)


def template(values, radius, layer):
    """A plate that fits the work at one limit of the radius -> Outline, closed.

    A corner's has straight legs along both faces; the others have the arc over the chord and nothing else that touches.
    """
    convex = values["convex"]
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
        bulge, depth, w = math.tan(half / 2), depth_of_arc(radius=radius, chord=chord), chord / 2
        if convex:
            points = [(-w, 0, -bulge), (w, 0), (w, depth + PLATE), (-w, depth + PLATE)]
        else:
            points = [(-w, 0, bulge), (w, 0), (w, PLATE), (-w, PLATE)]
    return Outline(layer, tuple((p[0], p[1], p[2] if len(p) > 2 else 0.0) for p in points), True)


def _straight(points):
    return tuple((x, y, 0.0) for x, y in points)


def _texts(advice, bottom):
    callout, values = advice.callout, advice.values
    setup = advice.methods["form tool"].setup

    def size(mm):
        return explain.length(mm, callout.units)

    lines = [
        f"{radius_words(callout)}, {callout.form}, {callout.location}, D {size(callout.diameter)}. "
        f"Units: {callout.units}.",
        f"EDGE: square to the front flank, {explain.number(values['form_relief'], 2)} deg relief, "
        f"{explain.number(values['form_rake'], 2)} deg top rake. Width {size(setup['edge_width_mm'])}.",
        "EDGE_ON_FACE: as seen on the tool face. PLAIN_ARC: the radius itself.",
        f"TEMPLATE_MIN: R {size(callout.radius_low)}. TEMPLATE_MAX: R {size(callout.radius_high)}.",
    ]
    return [Text("NOTES", (0.0, bottom - 6.0 - 5.0 * n), words) for n, words in enumerate(lines)]
