"""A drawing as data: lines, arcs, dimensions and words in millimetres, and how they come to lie on paper.

A `View` holds items in millimetres of the work, x along the spindle to the right, y up. `on_paper` turns it into a
`Picture` in millimetres of paper: strokes and labels, every label with the box that it covers. Dimensions are drawn as
ISO 129-1 or, for inch drawings, ASME Y14.5 has them. Renderers only copy strokes and labels.

Lettering is a monospaced face, so the width of a label is known without measuring it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from typing import Any

    Point = tuple[float, float]
    Box = tuple[float, float, float, float]  # left, lower, right and upper side
    Room = tuple[float, float]  # width and height of paper
    _Free = tuple[Point, Point, Point]  # what words point to, the elbow of their leader, their middle

ADVANCE = 0.602  # width of a letter, of the type size
CAPITAL = 0.729  # height of a capital, of the type size
LETTERING = 2.8  # mm, height of capitals in dimensions
SMALL = 2.3  # mm, height of capitals in notes
ROW = 7.0  # mm from the outline to the first dimension line, and between dimension lines
ARROW = 2.6  # mm
GAP = 0.9  # mm between the outline and an extension line, and between a line and its words
REACHES = (5, 7, 9, 12, 15, 19, 24, 30, 37, 45, 55)  # mm, leaders
STRUCK = 0.3  # mm by which an outline has to run into words to strike them through
SMALLER = 2.51  # how much smaller than it could be a picture is drawn at most, to keep its words clear of outlines
FLAT = 0.004  # mm of paper by which the chords of a drawn arc may stray from it
SCALES = (100, 50, 20, 10, 5, 2, 1, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50)  # ISO 5455

# Width of each pen [mm], and its dashes [mm] or none.
PENS = {
    "outline": (0.5, None),
    "heavy": (0.9, None),
    "thin": (0.2, None),
    "hatch": (0.13, None),
    "centre": (0.2, (6.0, 1.2, 0.6, 1.2)),
    "hidden": (0.3, (2.4, 1.0)),
    "phantom": (0.25, (5.0, 1.0, 0.5, 1.0, 0.5, 1.0)),
}


@dataclass(frozen=True)
class Line:
    """A line through points, closed and filled if so stated. fill: "white", "light" or "dark"."""

    points: tuple[Point, ...]
    pen: str = "outline"
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True)
class Arc:
    """An arc of a circle, from an angle on, counter-clockwise where the sweep is positive [deg]."""

    centre: Point
    radius: float
    start: float
    sweep: float
    pen: str = "outline"

    def point(self, share: float) -> Point:
        """The point at a share of the sweep."""
        return polar(self.centre, self.radius, self.start + share * self.sweep)

    def points(self, scale: float = 1.0) -> list[Point]:
        """Points whose chords stray no more than FLAT from the arc on paper, ends included."""
        radius = max(self.radius * scale, 1e-9)
        step = 2 * math.acos(1 - min(FLAT / radius, 1.0))
        count = max(1, math.ceil(math.radians(abs(self.sweep)) / step))
        return [self.point(k / count) for k in range(count + 1)]


@dataclass(frozen=True)
class Hatch:
    """The cut surface of a section: a polygon filled with thin lines at 45°."""

    points: tuple[Point, ...]


@dataclass(frozen=True)
class Linear:
    """A dimension between two points, along x or y.

    level: where on the other axis the outline ends on this side [mm of the work]; side: -1 below or left, 1 above or
    right; row: 1, 2 … away from it; words: as they are to stand; beyond: words past the end of the line, not on it.
    """

    start: Point
    end: Point
    words: str
    along: str
    level: float
    side: int = 1
    row: int = 1
    beyond: bool = False
    left_out: float = 0.0

    @property
    def measured(self) -> float:
        """What the dimension spans on the work, what a break leaves out of the drawing included [mm]."""
        axis = "xy".index(self.along)
        return abs(self.end[axis] - self.start[axis]) + self.left_out


@dataclass(frozen=True)
class Aligned:
    """A dimension on the straight line from a centre to a point: an arrow at the point, the words beside it by a
    leader."""

    start: Point
    end: Point
    words: str


@dataclass(frozen=True)
class Radius:
    """A leader with the radius, from the arc into the air: outward from the centre of a convex arc, inward in a
    hollow."""

    arc: Arc
    words: str
    convex: bool

    @property
    def measured(self) -> float:
        """The radius that it states [mm]."""
        return self.arc.radius


@dataclass(frozen=True)
class Note:
    """Words with a leader to a point, or just beside it; the place is found where nothing else is written."""

    at: Point
    words: str
    size: float = SMALL
    bold: bool = False
    led: bool = True


@dataclass(frozen=True)
class Arrow:
    """A bold arrow for a movement."""

    start: Point
    end: Point


@dataclass(frozen=True)
class Swing:
    """A thin arc with arrows at both ends: a swing. Its radius is in millimetres of the work."""

    centre: Point
    radius: float
    start: float
    sweep: float


Item = Line | Arc | Hatch | Linear | Aligned | Radius | Note | Arrow | Swing


@dataclass(frozen=True)
class View:
    """Items in millimetres of the work, and the window beyond which they are cut off (x, y, x, y), if any."""

    items: tuple[Item, ...]
    window: Box | None = None
    title: str = ""


@dataclass(frozen=True)
class Stroke:
    """A line on paper [mm], y up; without a pen only what it fills."""

    points: tuple[Point, ...]
    pen: str | None = "outline"
    closed: bool = False
    fill: str | None = None


@dataclass(frozen=True)
class Label:
    """Words on paper: their middle [mm], the height of their capitals [mm], turned by 90° or not."""

    middle: Point
    words: str
    height: float = LETTERING
    turned: bool = False
    bold: bool = False

    @property
    def box(self) -> Box:
        """What the words cover: (x, y, x, y) [mm]."""
        across, up = width_of(self.words, self.height) / 2, self.height * 0.62
        if self.turned:
            across, up = up, across
        x, y = self.middle
        return (x - across, y - up, x + across, y + up)


@dataclass
class Picture:
    """A view on paper: strokes and labels [mm], y up; scale; notes for which there was no free place."""

    scale: float
    strokes: list[Stroke] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    crowded: list[str] = field(default_factory=list)

    @property
    def box(self) -> Box:
        """Everything that is drawn: (x, y, x, y) [mm]."""
        boxes = [(*p, *p) for stroke in self.strokes for p in stroke.points] + [label.box for label in self.labels]
        return joined(boxes)

    @property
    def struck(self) -> list[str]:
        """The words of labels that an outline runs through."""
        lines = [
            (*s.points, s.points[0]) if s.closed else s.points for s in self.strokes if s.pen in ("outline", "heavy")
        ]
        found = []
        for label in self.labels:
            x, y, x2, y2 = label.box
            inner = (x + STRUCK, y + STRUCK, x2 - STRUCK, y2 - STRUCK)
            if any(_passes(*piece, inner) for line in lines for piece in zip(line, line[1:], strict=False)):
                found.append(label.words)
        return found

    def moved(self, dx: float, dy: float) -> Picture:
        """The same picture elsewhere on paper."""
        return Picture(
            self.scale,
            [Stroke(tuple((x + dx, y + dy) for x, y in s.points), s.pen, s.closed, s.fill) for s in self.strokes],
            [Label((w.middle[0] + dx, w.middle[1] + dy), w.words, w.height, w.turned, w.bold) for w in self.labels],
            list(self.crowded),
        )


def width_of(words: str, height: float = LETTERING) -> float:
    """Width of words on paper [mm].

    >>> round(width_of("R6 ±0.1", 2.8), 2)
    16.19
    """
    return len(words) * ADVANCE * height / CAPITAL


def joined(boxes: Iterable[Box]) -> Box:
    """The box round boxes.

    >>> joined([(0, 0, 1, 1), (2, -1, 3, 0)])
    (0, -1, 3, 1)
    """
    columns = list(zip(*boxes, strict=True))
    return (min(columns[0]), min(columns[1]), max(columns[2]), max(columns[3]))


def overlap(one: Box, other: Box, room: float = 0.0) -> bool:
    """Whether two boxes overlap, or come nearer than a room.

    >>> overlap((0, 0, 2, 1), (1, 0.5, 3, 2)), overlap((0, 0, 1, 1), (1.5, 0, 2, 1))
    (True, False)
    """
    return (
        one[0] < other[2] + room and other[0] < one[2] + room and one[1] < other[3] + room and other[1] < one[3] + room
    )


def polar(centre: Point, radius: float, angle: float) -> Point:
    """The point at a distance and an angle [deg] from a centre.

    >>> polar((1.0, 2.0), 2.0, 90.0)
    (1.0, 4.0)
    """
    x, y = centre[0] + radius * math.cos(math.radians(angle)), centre[1] + radius * math.sin(math.radians(angle))
    return (round(x, 12), round(y, 12))


def scale_words(scale: float) -> str:
    """A scale as it is written.

    >>> scale_words(2), scale_words(1), scale_words(1 / 5)
    ('2:1', '1:1', '1:5')
    """
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


# ---- cutting off at a window


def cut_to_window(points: Sequence[Point], window: Box) -> list[list[Point]]:
    """The parts of a line through points that lie in a window: a list of lists of points (Liang and Barsky).

    >>> cut_to_window([(-2.0, 0.0), (2.0, 0.0)], (-1.0, -1.0, 1.0, 1.0))
    [[(-1.0, 0.0), (1.0, 0.0)]]
    """
    parts: list[list[Point]] = []
    for start, end in zip(points, points[1:], strict=False):
        piece = _cut_segment(start, end, window)
        if piece is None:
            continue
        if parts and parts[-1][-1] == piece[0]:
            parts[-1].append(piece[1])
        else:
            parts.append(list(piece))
    return parts


def _cut_segment(start: Point, end: Point, window: Box) -> tuple[Point, Point] | None:
    low, high = 0.0, 1.0
    for axis in (0, 1):
        run = end[axis] - start[axis]
        for limit, sign in ((window[axis], -1.0), (window[axis + 2], 1.0)):
            along, room = sign * run, sign * (limit - start[axis])
            if along == 0:
                if room < 0:
                    return None
            elif along > 0:
                high = min(high, room / along)
            else:
                low = max(low, room / along)
    if low > high:
        return None
    first, last = (end if share == 1 else start if share == 0 else _between(start, end, share) for share in (low, high))
    return first, last


def _between(start: Point, end: Point, share: float) -> Point:
    """The point at a share of the way from start to end."""
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _cut_polygon(points: Sequence[Point], window: Box) -> list[Point]:
    """A polygon cut to a window (Sutherland and Hodgman)."""
    for axis, limit, sign in ((0, window[0], 1), (0, window[2], -1), (1, window[1], 1), (1, window[3], -1)):
        kept = []
        for start, end in zip(points, [*points[1:], *points[:1]], strict=True):
            inside, then = sign * (start[axis] - limit) >= 0, sign * (end[axis] - limit) >= 0
            if inside:
                kept.append(start)
            if inside != then:
                share = (limit - start[axis]) / (end[axis] - start[axis])
                kept.append(_between(start, end, share))
        points = kept
        if not points:
            break
    return list(points)


def hatch_lines(points: Sequence[Point], spacing: float) -> list[tuple[Point, Point]]:
    """Lines at 45° across a polygon, spacing apart: a list of pairs of points.

    >>> len(hatch_lines([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)], 2.0))
    7
    """
    step = spacing * math.sqrt(2)
    heights = [y - x for x, y in points]
    lines = []
    for k in range(math.floor(min(heights) / step) + 1, math.ceil(max(heights) / step)):
        height, crossings = k * step, []
        for (x, y), (x2, y2) in zip(points, [*points[1:], *points[:1]], strict=True):
            one, two = y - x - height, y2 - x2 - height
            if (one < 0) != (two < 0):
                crossings.append(x + (x2 - x) * one / (one - two))
        crossings.sort()
        lines += [((a, a + height), (b, b + height)) for a, b in zip(crossings[::2], crossings[1::2], strict=False)]
    return lines


# ---- on paper


def on_paper(view: View, *, scale: float, style: str = "iso", room: Room | None = None) -> Picture:
    """A view as a picture at a scale.

    style: "iso" or "asme"; room: (width, height) [mm] that notes may use, the picture's own size and some if None.
    """
    return _Plotter(view, scale, style, room).picture


class _Plotter:
    def __init__(self, view: View, scale: float, style: str, room: Room | None) -> None:
        self.scale, self.style, self.window = scale, style, view.window
        self.picture = Picture(scale)
        later = []
        for item in view.items:
            draw = getattr(self, f"_{type(item).__name__.lower()}")
            if isinstance(item, (Radius, Note, Aligned)):
                later.append((draw, item))
            else:
                draw(item)
        self.cells = _cells(self.picture.strokes)
        box = self.picture.box
        if room:
            middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
            across, up = max(room[0], box[2] - box[0]) / 2, max(room[1], box[3] - box[1]) / 2
            self.limits = (middle[0] - across, middle[1] - up, middle[0] + across, middle[1] + up)
        else:
            self.limits = (box[0] - 40, box[1] - 25, box[2] + 40, box[3] + 25)
        for draw, item in later:
            draw(item)

    def paper(self, point: Point) -> Point:
        return (point[0] * self.scale, point[1] * self.scale)

    def stroke(
        self, points: Iterable[Point], pen: str | None = "thin", closed: bool = False, fill: str | None = None
    ) -> Stroke:
        stroke = Stroke(tuple(points), pen, closed, fill)
        self.picture.strokes.append(stroke)
        return stroke

    def within(self, points: Sequence[Point], pen: str | None, closed: bool = False, fill: str | None = None) -> None:
        """Stroke in millimetres of the work, cut to the window."""
        if self.window is None:
            self.stroke([self.paper(p) for p in points], pen, closed, fill)
            return
        if fill:
            kept = _cut_polygon(list(points), self.window)
            if kept:
                self.stroke([self.paper(p) for p in kept], None, True, fill)
        if pen:
            ring = [*points, points[0]] if closed else points
            for part in cut_to_window(list(ring), self.window):
                self.stroke([self.paper(p) for p in part], pen)

    def _line(self, item: Line) -> None:
        self.within(item.points, item.pen, item.closed, item.fill)

    def _arc(self, item: Arc) -> None:
        self.within(item.points(self.scale), item.pen)

    def _hatch(self, item: Hatch) -> None:
        points = _cut_polygon(list(item.points), self.window) if self.window else list(item.points)
        for line in hatch_lines([self.paper(p) for p in points], 2.6):
            self.stroke(line, "hatch")

    def _swing(self, item: Swing) -> None:
        arc = Arc(item.centre, item.radius, item.start, item.sweep)
        points = [self.paper(p) for p in arc.points(self.scale)]
        self.stroke(points, "thin")
        if len(points) > 2:
            self.head(points[0], points[min(len(points) - 1, 1 + len(points) // 20)])
            self.head(points[-1], points[-min(len(points), 2 + len(points) // 20)])

    def _arrow(self, item: Arrow) -> None:
        start, end = self.paper(item.start), self.paper(item.end)
        self.stroke((start, end), "heavy")
        self.head(end, start, 2.0 * ARROW)

    def head(self, tip: Point, back: Point, length: float = ARROW) -> None:
        """A filled arrow head that points from back to tip."""
        along = math.atan2(tip[1] - back[1], tip[0] - back[0])
        base = (tip[0] - length * math.cos(along), tip[1] - length * math.sin(along))
        side = (length / 6 * math.sin(along), -length / 6 * math.cos(along))
        points = (tip, (base[0] + side[0], base[1] + side[1]), (base[0] - side[0], base[1] - side[1]))
        self.stroke(points, None, True, "dark")

    def label(self, middle: Point, words: str, **looks: Any) -> Label:
        label = Label(middle, words, **looks)
        self.picture.labels.append(label)
        return label

    def _linear(self, item: Linear) -> None:
        """Extension lines, dimension line, arrows and words of a dimension along x or y."""
        turn = item.along == "y"
        flip = (lambda p: (p[1], p[0])) if turn else (lambda p: p)
        (u1, v1), (u2, v2) = sorted((flip(self.paper(item.start)), flip(self.paper(item.end))))
        words, wide = item.words, width_of(item.words)
        row = item.row * ROW + (max(0.0, wide / 2 - ROW + 2) if turn and self.style == "asme" else 0.0)
        v = item.level * self.scale + item.side * row
        for u, start in ((u1, v1), (u2, v2)):
            away = math.copysign(GAP, v - start)
            self.stroke((flip((u, start + away)), flip((u, v + away * 1.8))))
        in_line = self.style == "asme"
        along = LETTERING * 1.6 if in_line and turn else wide
        span = u2 - u1
        roomy = not item.beyond and span >= (along + 2 * ARROW + 2 if in_line else along + 1)
        arrows_inside = span >= 2 * ARROW + 2 and (roomy or item.beyond or not in_line)
        if arrows_inside and not (in_line and roomy):
            self.stroke((flip((u1, v)), flip((u2, v))))
        for u, outward in ((u1, -1), (u2, 1)):
            back = u - outward * ARROW if arrows_inside else u + outward * ARROW
            self.head(flip((u, v)), flip((back, v)))
            if not arrows_inside:
                self.stroke((flip((u, v)), flip((u + outward * (ARROW + 2), v))))
        if not arrows_inside:
            self.stroke((flip((u1, v)), flip((u2, v))))
        if roomy:
            middle = (u1 + u2) / 2
            if in_line:
                for a, b in ((u1, middle - along / 2 - 1), (middle + along / 2 + 1, u2)):
                    self.stroke((flip((a, v)), flip((b, v))))
        else:
            # Beyond the upper or right end, where the line is drawn out under the words.
            end = u2 + (ARROW + 2 if not arrows_inside else 0)
            middle = end + along / 2 + 1
            if not in_line:
                self.stroke((flip((u2, v)), flip((end + along + 1, v))))
        beside = 0.0 if in_line else LETTERING * 0.62 + GAP * 0.6
        place = (middle, v + (-beside if turn else beside))
        self.label(flip(place), words, turned=turn and not in_line)

    # ---- what looks for a free place

    def _note(self, item: Note) -> None:
        at = self.paper(item.at)
        if item.led:
            self.leader(item, self.free_place(item.words, item.size, [(at, None)]), dot=True)
            return
        found = self.free_place(item.words, item.size, [(at, None)], reaches=(2, 3, 4, 6, 8, 11))
        if found is None:
            self.picture.crowded.append(item.words)
        else:
            self.label(found[2], item.words, height=item.size, bold=item.bold)

    def _radius(self, item: Radius) -> None:
        shares = (0.5, 0.35, 0.65, 0.25, 0.75, 0.15, 0.85)
        starts = []
        for share in shares:
            point = item.arc.point(share)
            outward = item.arc.start + share * item.arc.sweep + (0 if item.convex else 180)
            starts.append((self.paper(point), outward))
        found = self.free_place(item.words, LETTERING, starts)
        self.leader(item, found, dot=False)

    def _aligned(self, item: Aligned) -> None:
        start, end = self.paper(item.start), self.paper(item.end)
        self.stroke((start, end))
        if math.dist(start, end) >= 2 * ARROW:
            self.head(end, start)
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        found = self.free_place(item.words, SMALL, [(middle, None)])
        self.leader(Note(item.start, item.words, SMALL, True), found, dot=False, arrow=False)

    def leader(self, item: Note | Radius, found: _Free | None, dot: bool, arrow: bool = True) -> None:
        if found is None:
            self.picture.crowded.append(item.words)
            return
        start, elbow, middle = found
        size = getattr(item, "size", LETTERING)
        label = self.label(middle, item.words, height=size, bold=getattr(item, "bold", False))
        under = label.box[1] - size * 0.15
        edges = sorted((label.box[0], label.box[2]), key=lambda x: abs(x - elbow[0]))
        shelf = (edges[0], under), (edges[1], under)
        strokes = [self.stroke((start, elbow, shelf[0], shelf[1]))]
        if dot:
            strokes.append(self.stroke([polar(start, 0.55, a) for a in range(0, 360, 30)], None, True, "dark"))
        elif arrow:
            self.head(start, elbow)
        self.cells |= _cells(strokes)

    def free_place(
        self, words: str, size: float, starts: Sequence[tuple[Point, float | None]], reaches: Sequence[float] = REACHES
    ) -> _Free | None:
        """Where words can stand: the point that they point to, the elbow of the leader, their middle. None if nowhere.

        starts: list of (point, direction that the leader must take or None) to choose from; reaches: lengths of the
        leader to try [mm], ascending.
        """
        wide, high = width_of(words, size), size * 1.24
        taken = [label.box for label in self.picture.labels]
        best, found = math.inf, None
        for order, (start, direction) in enumerate(starts):
            angles = [direction] if direction is not None else [k * 15 + 7.5 for k in range(24)]
            for angle in angles:
                level = abs(math.sin(math.radians(angle)))
                for reach in reaches:
                    if reach >= best:
                        break
                    elbow = polar(start, reach, angle)
                    for side in (-1, 1):
                        near = elbow[0] + side * 1.5
                        box = (min(near, near + side * wide), elbow[1] + size * 0.15, max(near, near + side * wide), 0)
                        box = (box[0], box[1], box[2], box[1] + high)
                        if not _inside(box, self.limits) or any(overlap(box, other, 0.8) for other in taken):
                            continue
                        backward = side * math.cos(math.radians(angle)) < -0.2
                        cost = reach + 6 * backward + 2 * order + (4 if level < 0.2 else 0)
                        if cost >= best:
                            continue
                        cost += 1.5 * _crossed(start, elbow, self.cells)
                        cost += 30 * any(_passes(start, elbow, other) for other in taken)
                        if cost < best:
                            shelf = (box[0] - 0.4, box[1] - 0.7, box[2] + 0.4, box[3])
                            cost += 25 * _count(shelf, self.cells)
                        if cost < best:
                            middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
                            best, found = cost, (start, elbow, middle)
        return found


def _inside(box: Box, limits: Box) -> bool:
    return box[0] >= limits[0] and box[1] >= limits[1] and box[2] <= limits[2] and box[3] <= limits[3]


def _cells(strokes: Iterable[Stroke]) -> set[tuple[int, int]]:
    """Square millimetres of paper that strokes pass through."""
    cells = set()
    for stroke in strokes:
        points = [*stroke.points, stroke.points[0]] if stroke.closed else stroke.points
        for (x, y), (x2, y2) in zip(points, points[1:], strict=False):
            count = max(1, math.ceil(max(abs(x2 - x), abs(y2 - y)) / 0.8))
            for k in range(count + 1):
                cells.add((math.floor(x + (x2 - x) * k / count), math.floor(y + (y2 - y) * k / count)))
    return cells


def _count(box: Box, cells: set[tuple[int, int]]) -> int:
    """How many of the taken square millimetres a box covers."""
    columns = range(math.floor(box[0]), math.floor(box[2]) + 1)
    rows = range(math.floor(box[1]), math.floor(box[3]) + 1)
    return sum((x, y) in cells for x in columns for y in rows)


def _crossed(start: Point, end: Point, cells: set[tuple[int, int]]) -> int:
    """How often a leader runs into something after it has left its point."""
    count = max(1, math.ceil(math.dist(start, end)))
    hits = 0
    for k in range(2, count + 1):
        share = k / count
        x, y = (s + share * (e - s) for s, e in zip(start, end, strict=True))
        hits += (math.floor(x), math.floor(y)) in cells
    return hits


def _passes(start: Point, end: Point, box: Box) -> bool:
    return _cut_segment(start, end, box) is not None


def fitted(
    make: Callable[[float], View],
    *,
    room: Room,
    style: str = "iso",
    largest: float = SCALES[0],
    steps: Sequence[float] = SCALES,
) -> Picture:
    """The picture of a view at the largest standard scale at which it lies within a room, without crowding, and with no
    words that an outline runs through where the next smaller scale helps.

    make: function (scale) -> View, since a view may show more of the work where there is room; room: (width, height)
    [mm].
    Where nothing fits, the one that does so best. steps: the scales to choose from, descending.
    """
    best = None
    for scale in (s for s in steps if s <= largest):
        if best is not None and not best[0][0] and scale < best[1].scale / SMALLER:
            break
        view = make(scale)
        if scale > steps[-1] and _too_large(view, scale, room):
            continue
        picture = on_paper(view, scale=scale, style=style, room=room)
        box = picture.box
        excess = max(0.0, box[2] - box[0] - room[0]) + max(0.0, box[3] - box[1] - room[1])
        faults = (excess + 50 * len(picture.crowded), len(picture.struck))
        if best is None or faults < best[0]:
            best = (faults, picture)
        if not any(faults):
            break
    if best is None:
        raise ValueError("no scale to choose from")
    return best[1]


def _too_large(view: View, scale: float, room: Room) -> bool:
    """Whether the outline alone is larger than the room."""
    if view.window:
        x, y, x2, y2 = view.window
    else:
        points = [p for item in view.items if isinstance(item, Line) for p in item.points]
        x, y, x2, y2 = joined([(*p, *p) for p in points])
    return (x2 - x) * scale > room[0] or (y2 - y) * scale > room[1]
