"""Freehand turning, drawn from above: the round nose and its path."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.drawing.model import Arc, Line, Linear, Note, View, polar
from advisor.drawing.scene import Scene
from advisor.drawing.work import size

if TYPE_CHECKING:
    from advisor.drawing.model import Point


class Setup(Scene):
    """The nose at five places of its path."""

    def drawing(self, scale: float) -> View:
        s, values = self.setup, self.values
        nose = s["nose_radius_mm"] or 0.2 * self.radius
        path = self.radius + (nose if self.convex else -nose)
        places = [polar(self.centre, path, self.arc.start + share * self.arc.sweep) for share in self._shares()]
        tool = self._round_nose(places[len(places) // 2], nose, scale)
        span = [*self.arc.points(scale), *places, *[p for p in tool.points if abs(p[1]) < 1e6]]
        xs, ys = [p[0] for p in span], [p[1] for p in span]
        margin = max(8.0 / scale, 0.2 * min(self.radius, max(xs) - min(xs)))
        window = [
            min(xs) - margin,
            min(ys) - nose - 2 / scale,
            max(xs) + max(margin * 0.7, nose + 2 / scale),
            max(ys) + margin,
        ]
        items = self._held(window, scale)
        items.append(tool)
        items += [Arc(place, nose, 0, 360, "thin") for place in places]
        if path > 0:
            items.append(Arc(self.centre, path, self.arc.start, self.arc.sweep, "phantom"))
        items.append(self.heavy_arc())
        if s["chamfer_leg_mm"] and self.corner:
            leg = s["chamfer_leg_mm"]
            a = values["half_diameter"]
            items.append(Line(((-leg, -a), (0.0, -a + leg)), "hidden"))
            items.append(Linear((-leg, -a), (0.0, -a), size(leg, self.advice), "x", window[1], -1))
            items.append(Note((-0.75 * leg, -a + 0.25 * leg), "45° first"))
        if self.corner:
            items.append(Note(places[0 if not self.convex else -1], "Z 0 here"))
            items.append(Note(places[-1 if not self.convex else 0], "X 0 here"))
        items.append(Note(polar(self.centre, path, self.arc.start + 0.4 * self.arc.sweep), "path of the nose"))
        tip = places[len(places) // 2]
        items.append(Note(tip, f"nose R{self.length(nose)}", bold=True))
        return View(tuple(items), (window[0], window[1], window[2], window[3]))

    def _shares(self) -> tuple[float, ...]:
        return (0.0, 0.25, 0.5, 0.75, 1.0)

    def _round_nose(self, place: Point, nose: float, scale: float) -> Line:
        """A round-nose tool with its nose at a place: a shank that comes from the operator's side."""
        angle = math.degrees(math.atan2(place[1] - self.centre[1], place[0] - self.centre[0]))
        away = angle if self.convex else angle + 180
        if self.end:
            away = -25.0
        elif not self.corner:
            away = -90.0
        long = max(12.0 / scale, 2.5 * nose)
        front = [polar(place, nose, away + 180 + turn) for turn in range(-80, 81, 8)]
        left, right = polar(place, nose, away + 100), polar(place, nose, away - 100)
        wide = 1.5 * nose
        ends = [polar(polar(place, long, away), wide, away - 90), polar(polar(place, long, away), wide, away + 90)]
        return Line((left, *front, right, *ends), "outline", True, "light")
