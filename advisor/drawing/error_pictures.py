"""Cross-sections of what goes wrong: the arc as it should be and as it comes out, the error drawn much too large and
said so.

x runs along the spindle, the free end to the right, y up from the axis [mm]. The error is drawn as DRAWN of the arc's
size; how many times too large that is stands beside it, counted from what the setup allows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.model import Arc, Line, Note, View, fitted, joined, polar
from advisor.drawing.work import TITLE_ROOM, arranged, mirrored, profile
from advisor.formulas import geometry
from advisor.formulas.freehand import chamfer_leg
from advisor.ground.methods import methods

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.model import Item, Picture, Point, Room
    from advisor.formulas.numeric import Values

DRAWN = 0.13  # of the smaller of radius and half chord
BELOW_CENTRE = 0.45  # of the radius of the work
STEEPEST = 0.8  # of the chord: a flatter arc is drawn with this radius, or nothing would be seen of it
# A picture with an exaggerated error has no scale to keep: as large as there is room.
FINE = tuple(200 / 1.15**k for k in range(90))


@dataclass(frozen=True)
class Wrong:
    """One error: its title, what it leaves in a sentence, and the view that shows it."""

    title: str
    says: str
    view: View


def pictures(method: MethodAdvice, advice: Advice) -> list[Wrong]:
    """The errors that this method invites, the worst first: list of Wrong."""
    scenes = [KINDS[kind](_Scene(method, advice)) for kind in methods()[method.name].wrong]
    return [scene for scene in scenes if scene is not None]


def together(wrongs: Iterable[Wrong], *, room: Room, style: str = "iso") -> Picture:
    """Errors one above the other, each in a room of paper with its title -> Picture."""
    parts = []
    for wrong in wrongs:
        inner = (room[0], room[1] - TITLE_ROOM)
        parts.append((fitted(lambda scale: wrong.view, room=inner, style=style, steps=FINE), wrong.title.upper()))
    return arranged(parts, room=(room[0], room[1] * len(parts)))


class _Scene:
    def __init__(self, method: MethodAdvice, advice: Advice) -> None:
        values = _steep(advice.values)
        self.method, self.advice, self.values = method, advice, values
        self.shape = profile(values)
        self.arc = self.shape.arc
        self.radius, self.convex, self.end, self.corner = (values[n] for n in ("radius", "convex", "end", "corner"))
        span = values["chord"] / 2 if math.isfinite(values["chord"]) else self.radius
        self.error = DRAWN * min(self.radius, span)
        self.half = math.degrees(math.asin(min(1.0, span / self.radius))) if not self.corner else 90.0

    def size(self, mm: float) -> str:
        return wording.length(mm, self.advice.callout.units).split(" (")[0]

    def view(self, items: Sequence[Item]) -> View:
        """The items, cut off round the arc where it is only a part of the work."""
        if self.end:
            return View(tuple(items))
        x, y, x2, y2 = joined([(*p, *p) for p in self.arc.points()])
        room = 0.45 * max(x2 - x, y2 - y) + self.error
        return View(tuple(items), (x - room, y - room, x2 + room, y2 + room))

    def times(self, true: float) -> str:
        """How many times too large the error is drawn."""
        if not math.isfinite(true) or true <= 0:
            return "Drawn much too large, and not to scale."
        times = wording.number(self.error / true, 0)
        return f"Drawn {times} times too large: this error may be {self.size(true)} at most here, and the picture is not to scale."

    def outline(self, arc: Sequence[Point]) -> list[Item]:
        """The work with another arc in place of its own, a step where they part; both halves where it is an end."""
        if self.end:
            joints = (arc[0], arc[-1])
        else:
            joints = (self.arc.point(0), self.arc.point(1))
        before = (*self.shape.before, joints[0], arc[0])
        after = (arc[-1], joints[1], *self.shape.after)
        upper = [Line(before), Line(tuple(arc), "heavy")]
        if not self.end or self.shape.bore:
            upper.append(Line(after))
        return [*upper, *map(mirrored, upper)] if self.end else [*upper]

    def right_arc(self) -> list[Item]:
        """The arc as it should be."""
        arc = self.arc
        items: list[Item] = [Arc(arc.centre, arc.radius, arc.start, arc.sweep, "phantom")]
        if self.end:
            items.append(Arc(arc.centre, arc.radius, -arc.start, -arc.sweep, "phantom"))
        return items

    def axis(self) -> Line:
        left = self.shape.left
        return Line(((left, 0.0), (max(0.0, self.arc.point(1)[0]) + 0.35 * abs(left), 0.0)), "centre")

    def surface(self, y: float) -> float:
        """x of an end's arc at a distance from the axis."""
        rise = math.sqrt(max(self.radius**2 - y * y, 0.0))
        return self.arc.centre[0] + (rise if self.convex else -rise)

    def steps(self, rim: float, inner: float, count: int = 90) -> list[float]:
        """Distances from the axis, from the rim inward, closer to one another at the rim, where an arc is steep."""
        return [inner + (rim - inner) * math.sin(math.pi / 2 * (1 - k / count)) for k in range(count + 1)]


def _steep(values: Values) -> Values:
    """The same shape with a smaller radius where the arc is too flat to show anything."""
    chord = values["chord"]
    if values["corner"] or values["radius"] <= STEEPEST * chord:
        return values
    radius = STEEPEST * chord
    sizes = {"radius": radius, "depth": geometry.depth_of_arc(radius=radius, chord=chord)}
    shape = {name: values[name] for name in ("convex", "corner", "end")}
    across = geometry.centre_from_axis(**sizes, **shape, diameter=values["diameter"])
    return {**values, **sizes, "centre_from_axis": across}


def _offset(scene: _Scene) -> Wrong | None:
    """The centre of the swing off its place: a nib on an end, a step on a corner. Elsewhere it only moves the arc."""
    if not (scene.end or scene.corner):
        return None
    prefix = scene.method.prefix
    allowed = scene.values.get(f"{prefix}_offset_allowance", math.nan)
    kind = methods()[scene.method.name]
    centre = kind.off_centre or kind.centre
    error = scene.error
    if scene.end:
        rim = scene.arc.point(0)[1]
        ys = scene.steps(rim, scene.shape.bore)
        turned = [(scene.surface(min(y + error, scene.radius) if scene.convex else y - error), y) for y in ys]
        middle = turned[-1]
        top = scene.arc.point(1)
        items = [*scene.outline(turned), *scene.right_arc(), scene.axis()]
        note = "pointed middle, a nib" if scene.convex else "nib in the middle"
        items += [Note(middle, note, bold=True), Note(scene.arc.point(0.5), "as it should be")]
        off = (scene.arc.centre[0], error)
        items += _cross(off, scene)
        items += [Note(off, f"{centre} here")] if _near(off, top, scene) else []
        says = (
            f"With the {centre} off the axis the two sides of the swing meet at an angle: a nib stays in the middle. "
        )
        return Wrong(f"{centre} off the axis", says + scene.times(allowed), scene.view(items))
    shift = (0.0, error if scene.convex else -error)
    moved = Arc(
        (scene.arc.centre[0] + shift[0], scene.arc.centre[1] + shift[1]), scene.radius, scene.arc.start, scene.arc.sweep
    )
    items = [*scene.outline(moved.points(20)), *scene.right_arc()]
    items += [Note(moved.point(0), "a step here", bold=True), Note(scene.arc.point(0.6), "as it should be")]
    says = f"With the {centre} off its place the arc no longer runs into the surface beside it. "
    return Wrong(f"{centre} off its place", says + scene.times(allowed), scene.view(items))


def _near(point: Point, top: Point, scene: _Scene) -> bool:
    """Whether a point is near enough to be shown."""
    return math.dist(point, top) < 1.6 * scene.values["diameter"]


def _cross(point: Point, scene: _Scene) -> list[Item]:
    arm = 0.04 * scene.values["diameter"]
    if not _near(point, scene.arc.point(1), scene):
        return []
    return [
        Line(((point[0] - arm, point[1]), (point[0] + arm, point[1])), "thin"),
        Line(((point[0], point[1] - arm), (point[0], point[1] + arm)), "thin"),
    ]


def _height(scene: _Scene) -> Wrong:
    """The tip off centre height: a pip on an end, a larger circle elsewhere."""
    allowed = scene.values.get(f"{scene.method.prefix}_height_allowance", math.nan)
    if scene.end and not scene.shape.bore:
        error = scene.error
        ys = scene.steps(scene.arc.point(0)[1], error)
        turned = [(scene.surface(y), y) for y in ys]
        stands = turned[-1][0] + 0.8 * error
        pip = [(turned[-1][0], error), (stands, error), (stands, 0.0)]
        items: list[Item] = [*scene.outline([*turned, *pip]), *scene.right_arc(), scene.axis()]
        items += [Note((stands, error), "pip", bold=True), Note(turned[len(turned) // 2], "the arc itself")]
        says = "The tip passes above or below the axis and leaves a pip as thick as twice the error. "
        return Wrong("tip off centre height", says + scene.times(allowed), scene.view(items))
    # Seen along the spindle: the tip stands below centre and meets a larger circle.
    half = scene.values["half_diameter"]
    low = BELOW_CENTRE * half
    wide = math.hypot(half, low)
    tip = (half, -low)
    back, under, heel = tip[0] + 1.1 * half, tip[1] - 0.3 * half, tip[0] + 0.08 * half
    tool = Line((tip, (back, tip[1]), (back, under), (heel, under)), "outline", True, "light")
    items = [
        tool,
        Arc((0.0, 0.0), half, 0, 360, "phantom"),
        Arc((0.0, 0.0), wide, 0, 360, "heavy"),
        Line(((-1.3 * half, 0.0), (2.2 * half, 0.0)), "centre"),
        Line(((0.0, -1.3 * half), (0.0, 1.3 * half)), "centre"),
        Note(polar((0.0, 0.0), half, 140), "set for this one"),
        Note(polar((0.0, 0.0), wide, 60), "turns this one", bold=True),
        Note((2.0 * half, 0.0), "centre height"),
        Note(tip, "tip", bold=True),
    ]
    scene.error = low
    says = (
        "Seen along the spindle: a tip below or above centre height meets the work on a larger circle than it was set "
        "for, most where the work is thin, so the arc changes its shape. "
    )
    return Wrong("tip off centre height", says + scene.times(allowed), View(tuple(items)))


def _without_nose(scene: _Scene, wrong: float) -> Arc:
    """The arc of a wrong radius where it comes out: tangent to both sides of a corner, else through the middle of the
    arc."""
    arc = scene.arc
    if scene.corner:
        more = abs(scene.radius - wrong)
        return Arc((arc.centre[0] + more, arc.centre[1] + more), wrong, arc.start, arc.sweep)
    if scene.end:
        apex = arc.centre[0] + (scene.radius if scene.convex else -scene.radius)
        half = math.degrees(math.asin(min(1.0, abs(arc.point(0)[1]) / wrong)))
        if scene.convex:
            return Arc((apex - wrong, 0.0), wrong, half, -half)
        return Arc((apex + wrong, 0.0), wrong, 180 - half, half)
    toward = arc.start + arc.sweep / 2
    half = math.copysign(math.degrees(math.asin(min(1.0, scene.values["chord"] / 2 / wrong))), arc.sweep)
    return Arc(polar(arc.point(0.5), wrong, toward + 180), wrong, toward - half, 2 * half)


def _nose(scene: _Scene) -> Wrong | None:
    """The nose radius left out: the arc comes out smaller outside, larger in a hollow."""
    nose = scene.method.setup.get("nose_radius_mm") if scene.method.setup else None
    if not nose:
        return None
    drawn = 2.2 * scene.error
    turned = _without_nose(scene, scene.radius + (-drawn if scene.convex else drawn))
    rod = methods()[scene.method.name].placed == "seat"
    arc, wrong = scene.arc, turned.radius
    items = [*scene.outline(turned.points(20)), *scene.right_arc()]
    if scene.end:
        items.append(scene.axis())
    place = turned.start + 0.5 * turned.sweep
    items.append(Arc(polar(turned.centre, wrong + (drawn if scene.convex else -drawn), place), drawn, 0, 360, "thin"))
    items += [
        Note(polar(turned.centre, wrong + (drawn if scene.convex else -drawn), place), "nose"),
        Note(arc.point(0.25), "as it should be"),
        Note(turned.point(0.75), "as it comes out", bold=True),
    ]
    less = "small" if scene.convex else "large"
    what = "A rod of R from seat to seat" if rod else "A nose led round R itself"
    says = f"{what} leaves out the nose: the arc comes out too {less} by the nose radius, {scene.size(nose)}. "
    scene.error = drawn
    return Wrong(
        "nose radius forgotten",
        says + f"Drawn {wording.number(max(drawn / nose, 0.01), 1)} times as large, and not to scale.",
        scene.view(items),
    )


def _chamfer(scene: _Scene) -> Wrong | None:
    """A 45° chamfer cut deeper than the arc: a flat that nothing takes out."""
    if not (scene.corner and scene.convex):
        return None
    leg = chamfer_leg(radius=scene.radius)
    deep = scene.error * math.sqrt(2)
    a, radius, centre = scene.values["half_diameter"], scene.radius, scene.arc.centre
    # The flat lies `error` under the arc: it meets the arc at an angle on both sides of 45°.
    half = math.degrees(math.acos((radius - scene.error) / radius))
    first = Arc(centre, radius, 90, half - 45)
    last = Arc(centre, radius, 45 - half, half - 45)
    turned = [*first.points(20), *last.points(20)]
    items = [*scene.outline(turned), *scene.right_arc()]
    items.append(Line(((-leg - deep, a), (0.0, a - leg - deep)), "hidden"))
    (x, y), (x2, y2) = first.point(1), last.point(0)
    middle = ((x + x2) / 2, (y + y2) / 2)
    items += [
        Note(middle, "flat", bold=True),
        Note(scene.arc.point(0.2), "as it should be"),
        Note((-leg - deep, a), "chamfer too deep"),
    ]
    says = f"A chamfer with a leg over {scene.size(float(leg))} cuts into the arc, and the flat stays. "
    return Wrong("chamfer too deep", says + scene.times(scene.values["tolerance"]), scene.view(items))


KINDS = {"height": _height, "chamfer": _chamfer, "nose": _nose, "offset": _offset}  # by their words in methods.toml
