"""The radius rod, drawn from above; and in a sketch, whose sizes are chosen to be seen well."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.drawing.model import Arc, Arrow, Line, Linear, Note, View, fitted, polar, scale_words
from advisor.drawing.scene import Scene, above, beside, box
from advisor.drawing.work import TITLE_ROOM, size, style

if TYPE_CHECKING:
    from advisor.drawing.model import Item, Picture, Point, Room

ROD_SHARES = (0.6, 0.72)  # of the width, for the rod beside the lathe; the rest is for its tool
SHORTEST_BREAK = 30.0  # mm of a rod that stay in sight beside the lathe where it is broken
# The hollow that the rod of the sketch turns [mm].
HOLLOW, HOLLOW_DIAMETER, NOSE = 80.0, 50.0, 4.0


def _on(start: Point, end: Point, x: float, left_out: float, *, from_fixed: bool = False) -> float:
    """Height at x of a rod that runs from start to end, a piece of its length left out [mm]."""
    true = start[0] - left_out
    share = (x - start[0] if from_fixed else x - true) / (end[0] - true)
    return start[1] + share * (end[1] - start[1])


def _wave(x: float, low: float, high: float, scale: float) -> Line:
    """A break line across a rod: a thin free-hand wave."""
    steps = 12
    return Line(
        tuple(
            (x + 0.6 / scale * math.sin(2 * math.pi * k / steps), low + (high - low) * k / steps)
            for k in range(steps + 1)
        ),
        "thin",
    )


class Setup(Scene):
    """The rod beside the lathe, and its tool."""

    def picture(self, room: Room) -> Picture:
        """A radius rod beside the lathe, broken where that lets it be drawn larger, and its tool on the work enlarged."""
        high, looks = room[1] - TITLE_ROOM, style(self.advice)
        tried = [
            (fitted(draw, room=(share * room[0], high), style=looks), share * room[0])
            for share in ROD_SHARES
            for draw in (self.drawing, self.broken_rod)
        ]
        picture, left = max(tried, key=lambda one: one[0].scale)
        near = fitted(self.rod_tool, room=(room[0] - left, high), style=looks, largest=10)
        return beside(
            [(picture, above(picture), left), (near, f"TOOL {scale_words(near.scale)}", room[0] - left)],
            height=room[1],
        )

    def broken_rod(self, scale: float) -> View:
        """The rod with a piece of it left out, so that the rest can be drawn larger."""
        return self.drawing(scale, broken=True)

    def drawing(self, scale: float, *, broken: bool = False) -> View:
        """The rod beside the lathe, from its seat to that of the carriage, at the axis and at the rim."""
        s, values = self.setup, self.values
        length, tilt, nose = s["seat_to_seat_mm"], s["tilt_deg"], s["nose_radius_mm"]
        a, reach = values["half_diameter"], values["chuck_diameter"] / 2
        centre = self.centre
        out = values["tool_overhang"]
        aside = max(reach, a) + 18.0
        at = (centre[0] + length, 0.0) if self.convex else (centre[0] - length, 0.0)
        rim_angle = -tilt if self.convex else 180 + tilt
        rim = polar(centre, length, rim_angle)
        shift = (out, -aside)
        seat, fixed, seat_at_rim = ((p[0] + shift[0], p[1] + shift[1]) for p in (at, centre, rim))
        jaws = -values["stickout"]
        back = jaws - values["chuck_depth"]
        left_out = 0.0
        if broken:  # to the left as far as the chuck, to the right as far as the carriage has to be clear
            kept = back - SHORTEST_BREAK if self.convex else seat[0] + 45 + SHORTEST_BREAK
            left_out = max(0.0, kept - fixed[0]) if self.convex else min(0.0, kept - fixed[0])
            fixed = (fixed[0] + left_out, fixed[1])
        items = []
        if self.convex:
            front = min(back, fixed[0])
            items += self.chuck(jaws, back)
            items.append(box(front - 24, -0.75 * reach, back, 0.75 * reach, fill="light"))
            items.append(box(front - 24, -aside - 14, front, -0.75 * reach, fill="light"))
            items.append(Note((front - 12, 0.5 * reach), "headstock"))
            if front < fixed[0] - 0.5:
                items.append(Line((fixed, (front, fixed[1]))))
        else:
            items += self.chuck(jaws, jaws - 0.4 * reach)
            items.append(box(fixed[0], -aside - 14, fixed[0] + 40, 14, fill="light"))
            items.append(Note((fixed[0] + 20, -aside - 6), "tailstock"))
        items += self.work(jaws, scale)
        items.append(box(seat[0], seat[1] - 14, seat[0] + 45, seat[1] + 14, fill="light"))
        items.append(self._bar(at, (seat[0] + 6, at[1]), (seat[0] + 6, seat[1] + 14), nose))
        items.append(Arc(at, nose, 0, 360))
        gap = None
        if left_out:
            middle = 0.5 * (fixed[0] + (back if self.convex else seat[0] + 45))
            gap = (middle - 2.0 / scale, middle + 2.0 / scale)
        items += self._rod_between(fixed, seat, "heavy", gap, 0.0)
        items += self._rod_between(fixed, seat_at_rim, "phantom", gap, left_out)
        if gap:
            low = min(fixed[1], _on(fixed, seat_at_rim, gap[0], left_out)) - 3.0 / scale
            items += [_wave(x, low, fixed[1] + 3.0 / scale, scale) for x in gap]
        ball = values["rod_ball_diameter"] / 2 if math.isfinite(values["rod_ball_diameter"]) else 5.0
        items += [Arc(p, ball, 0, 360) for p in (fixed, seat)] + [Arc(seat_at_rim, ball, 0, 360, "phantom")]
        items += [Arc(rim, nose, 0, 360, "phantom"), self.heavy_arc()]
        left, right = sorted((fixed, seat))
        low = -aside - 14 if tilt < 1 else min(-aside - 14, seat_at_rim[1] - ball)
        items.append(Linear(left, right, size(length, self.advice), "x", low, -1, left_out=abs(left_out)))
        on_rod = (left[0] + right[0]) / 2 if not gap else (seat[0] + gap[1 if self.convex else 0]) / 2
        items.append(Note((on_rod, left[1]), "rod", bold=True))
        items.append(Note((seat[0] + 30, seat[1] + 8), "carriage"))
        return View(tuple(items))

    def _rod_between(
        self, fixed: Point, seat: Point, pen: str, gap: tuple[float, float] | None, left_out: float
    ) -> list[Item]:
        """A rod from its seat on the lathe to that on the carriage, with a gap where a piece of it is left out."""
        if gap is None:
            return [Line((fixed, seat), pen)]
        near, far = gap if self.convex else gap[::-1]
        true = (fixed[0] - left_out, fixed[1])  # where the rod would come from, were nothing left out
        return [
            Line((fixed, (near, _on(fixed, seat, near, left_out, from_fixed=True))), pen),
            Line(((far, _on(true, seat, far, 0.0)), seat), pen),
        ]

    def rod_tool(self, scale: float) -> View:
        """The tool of a radius rod on the work, at the axis and at the rim, with what it moves between them."""
        s = self.setup
        length, tilt, nose = s["seat_to_seat_mm"], s["tilt_deg"], s["nose_radius_mm"]
        at = (self.centre[0] + (length if self.convex else -length), 0.0)
        rim = polar(self.centre, length, -tilt if self.convex else 180 + tilt)
        deep = max(14.0 / scale, 2 * abs(at[0] - rim[0]))
        long = max(10.0 / scale, 4 * nose)
        half = max(nose, 2.5 / scale)
        window = (
            min(at[0], rim[0]) - deep,
            min(rim[1], -self.outside) - nose - 3 / scale,
            max(at[0], rim[0]) + long,
            half + 5 / scale,
        )
        neck = at[0] + nose + half
        bar = (
            (at[0], -nose),
            (neck, -half),
            (window[2] - 1 / scale, -half),
            (window[2] - 1 / scale, half),
            (neck, half),
        )
        items = self.work(window[0] + 1 / scale, scale)
        items += [Line((*bar, (at[0], nose)), "outline", True, "light"), Arc(at, nose, 0, 360)]
        items += [Arc(rim, nose, 0, 360, "phantom"), self.heavy_arc()]
        cross, along = size(s["cross_travel_mm"], self.advice), size(s["carriage_travel_mm"], self.advice)
        items.append(Linear(at, rim, cross, "y", window[2], 1))
        items.append(Linear(rim, at, along, "x", window[1], -1))
        items.append(Note(at, f"nose R{self.length(nose)}", bold=True))
        return View(tuple(items), window)

    def _bar(self, tip: Point, elbow: Point, seat: Point, nose: float) -> Line:
        """The tool from its nose to the carriage, as a plain bar."""
        half = max(nose, 4.0)
        neck, along, foot = tip[0] + nose + half, elbow[0], seat[1]
        above = ((tip[0], -nose), (tip[0], nose), (neck, half), (along + half, half))
        below = ((seat[0] + half, foot), (seat[0] - half, foot), (along - half, -half), (neck, -half))
        return Line((*above, *below), "outline", True, "light")


def _radius_rod() -> list[Item]:
    """Rod, carriage seat and nose with the tool at the axis and at the rim of a hollow."""
    half = HOLLOW_DIAMETER / 2
    length = HOLLOW - NOSE
    rim = math.degrees(math.asin(half / HOLLOW))
    depth = HOLLOW - math.sqrt(HOLLOW**2 - half**2)
    centre = (HOLLOW - depth, 0.0)
    low = -78.0
    items: list[Item] = [
        Line(((-45.0, half + 5), (0.0, half + 5), (0.0, half)), "outline"),
        Line(((-45.0, -half - 5), (0.0, -half - 5), (0.0, -half)), "outline"),
        Line(((-45.0, half + 5), (-45.0, -half - 5)), "thin"),
        Line(((-55.0, 0.0), (HOLLOW + 10, 0.0)), "centre"),
        Arc(centre, HOLLOW, 180 - rim, 2 * rim, "heavy"),
        Note((-40.0, half + 5), "work"),
        box(centre[0] + 6, low - 12, centre[0] + 34, low + 12, fill="light"),
        Note((centre[0] + 22, low + 12), "tailstock: stands still"),
    ]
    fixed = (centre[0], low)
    for angle, pen in ((180 + rim - 3, "phantom"), (180.0, "outline")):
        nose = polar(centre, length, angle)
        seat = (nose[0], nose[1] + low)
        items += [
            Arc(nose, NOSE, 0, 360, pen),
            Line((fixed, seat), "heavy" if pen == "outline" else "phantom"),
            Arc(seat, 3.5, 0, 360, pen),
        ]
        if pen == "outline":
            items += [
                Line(((nose[0], nose[1] - NOSE), (seat[0], seat[1] + 12)), "thin"),
                box(seat[0] - 18, seat[1] - 12, seat[0] + 12, seat[1] + 12),
                Note((seat[0] - 18, seat[1]), "seat on the cross slide"),
                Note(nose, "nose"),
                Arrow((seat[0] - 26, seat[1] - 14), (seat[0] - 26, seat[1] - 34)),
                Note((seat[0] - 26, seat[1] - 26), "cross slide fed out"),
            ]
    items += [
        Arc(fixed, 3.5, 0, 360),
        Note(fixed, "fixed seat"),
        Note(((fixed[0] + centre[0] - length) / 2, low), "rod, R less the nose: it leads the carriage"),
        Arrow((10.0, low - 26.0), (30.0, low - 26.0)),
        Note((20.0, low - 26.0), "carriage follows"),
    ]
    return items


SKETCH = (_radius_rod, "RADIUS ROD, FROM ABOVE, A HOLLOW")
