"""A tool that swings about a centre beside or under the work, drawn from above."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.model import LETTERING, Aligned, Arc, Line, Linear, Note, Swing, View, fitted, polar, scale_words
from advisor.drawing.scene import Scene, above, beside, box
from advisor.drawing.work import TITLE_ROOM, arranged, size, style

if TYPE_CHECKING:
    from advisor.drawing.model import Box, Item, Picture, Point, Room

FAR = 32.0  # mm of paper from the base on which jaws are no longer drawn
SMALL_SWING = 9.0  # mm of paper under which a swing is shown again in a detail


class Swung(Scene):
    """The tool on its arm or slide, and the arc that it swings."""

    BASE = "base"  # what carries the tool, as a note

    def base(self) -> tuple[float, float]:
        """Half the length of what carries the tool along the bed, and half its depth across [mm]."""
        raise NotImplementedError

    def post(self, *, near: bool = False) -> float:
        """Radius of what the tool swings about, endless where it is not drawn [mm]; near: in a detail."""
        raise NotImplementedError

    def picture(self, room: Room) -> Picture:
        """The setup, and the swing again in a detail where it is small."""
        whole, looks = (room[0], room[1] - TITLE_ROOM), style(self.advice)
        picture = fitted(self.drawing, room=whole, style=looks, largest=50)
        if self.radius * picture.scale >= SMALL_SWING:
            return arranged([(picture, above(picture))], room=room)
        left, right = 0.66 * room[0], 0.34 * room[0]
        picture = fitted(self.drawing, room=(left, whole[1]), style=looks, largest=0.99 * SMALL_SWING / self.radius)
        near = fitted(self.swing_detail, room=(right, whole[1]), style=looks)
        return beside(
            [(picture, above(picture), left), (near, f"A {scale_words(near.scale)}", right)],
            height=room[1],
        )

    def drawing(self, scale: float) -> View:
        """The tool on its arm or slide, its base beside the jaws, and where the centre of the swing stands."""
        values = self.values
        half, deep = self.base()
        needed = values[f"{self.kind.prefix}_stickout"]
        jaws = -max(values["stickout"], needed if math.isfinite(needed) else 0.0)
        centre = self.centre
        tool = self._tool(self._tip(), 14.0 + 0.3 * self.radius if self.convex else self.radius + 24.0)
        xs, ys = [p[0] for p in tool.points], [p[1] for p in tool.points]
        near = min(0.0, centre[0] - half, self.arc_left)
        far_jaws = (near - jaws) * scale > FAR
        window = (
            near - 9 / scale if far_jaws else min(jaws, near) - 8 / scale,
            min(centre[1] - deep, -self.outside - 4 / scale, min(ys)),
            max(0.0, centre[0] + half, max(xs)) + 3 / scale,
            max(centre[1] + deep, self.outside + 7 / scale),
        )
        if far_jaws:
            items = self.work(window[0] + 1 / scale, scale)
            items.append(Note((window[0] + 1 / scale, -0.6 * self.outside), f"jaws {self.length(near - jaws)} on"))
        else:
            items = [*self.chuck(jaws, window[0]), *self.work(jaws, scale)]
            items.append(Note((jaws - 3 / scale, -self.outside - 2 / scale), "jaws"))
            items.append(
                Linear(
                    (jaws, window[3]),
                    (0.0, window[3]),
                    self.least(-jaws) if -jaws > values["stickout"] else size(-jaws, self.advice),
                    "x",
                    window[3],
                    1,
                )
            )
        items.append(box(centre[0] - half, centre[1] - deep, centre[0] + half, centre[1] + deep, pen="hidden"))
        items += self._swing(tool, scale, self.post())
        items += self._place(window, half, None if far_jaws else jaws)
        items.append(Note((centre[0] + half, centre[1] - 0.7 * deep), self.BASE))
        if self.radius * scale < SMALL_SWING:
            items.append(Arc(centre, max(1.5 * self.radius, 4 / scale), 0, 360, "thin"))
            items.append(Note(polar(centre, max(1.5 * self.radius, 4 / scale), 20), "A", LETTERING, True, False))
        else:
            items += self._swing_notes()
        return View(tuple(items), window)

    def swing_detail(self, scale: float) -> View:
        """The centre of the swing, the tip and the arc alone, enlarged."""
        centre, radius = self.centre, self.radius
        around = 1.35 * radius + 6 / scale
        swept = [centre, *self.arc.points(scale)]
        aside = 0.2 * radius + 6 / scale
        low, high = (tuple(end(p[axis] for p in swept) for axis in (0, 1)) for end in (min, max))
        window = (low[0] - aside, low[1] - aside, high[0] + aside, high[1] + aside)
        tool = self._tool(self._tip(), 3 * around, wide=min(4.0, 0.4 * radius))
        post = self.post(near=True)
        items = [*self.work(window[0] - 1, scale), *self._swing(tool, scale, post), *self._swing_notes()]
        return View(tuple(items), window)

    def _tip(self) -> Point:
        """Place of the tip part of the way round its swing, on the operator's side."""
        return polar(self.centre, self.radius, self.arc.start + 0.5 * self.arc.sweep)

    def _swing(self, tool: Line, scale: float, post: float) -> list[Item]:
        """Tool, arc, the ends of the swing and its centre, with the post (or the swivel under the slide)."""
        centre, radius = self.centre, self.radius
        start, sweep = self.arc.start, self.arc.sweep
        items: list[Item] = [tool, self.heavy_arc()]
        items += [Line((centre, polar(centre, radius, angle)), "phantom") for angle in (start, start + sweep)]
        if math.isfinite(post):
            items.append(Arc(centre, post, 0, 360, "hidden"))
        for dx, dy in ((1, 0), (0, 1)):
            arm = 2.5 / scale
            items.append(
                Line(
                    ((centre[0] - dx * arm, centre[1] - dy * arm), (centre[0] + dx * arm, centre[1] + dy * arm)), "thin"
                )
            )
        aside = 4 / scale if self.convex else -min(4 / scale, 0.35 * radius)
        items.append(Swing(centre, radius + aside, start, sweep))
        return items

    def _swing_notes(self) -> list[Item]:
        name = self.kind.centre
        at = self.arc.start + 0.9 * self.arc.sweep
        swing = self.setup["sweep_deg"] / (2 if self.end else 1)
        return [
            Aligned(self.centre, self._tip(), f"tip to {name} {self.length(self.setup[f'tip_to_{name}_mm'])}"),
            Note(self.centre, name, bold=True),
            Note(polar(self.centre, self.radius, at), f"swing {wording.swing(swing)}"),
        ]

    def _tool(self, tip: Point, long: float, wide: float = 4.0) -> Line:
        """A pointed tool in its holder, from the tip away from the work."""
        outward = math.degrees(math.atan2(tip[1] - self.centre[1], tip[0] - self.centre[0])) + (
            0 if self.convex else 180
        )
        near, far = polar(tip, 1.5 * wide, outward), polar(tip, long, outward)
        right, left = outward - 90, outward + 90
        sides = [polar(near, wide, right), polar(far, wide, right), polar(far, wide, left), polar(near, wide, left)]
        return Line((tip, *sides), "outline", True, "light")

    def _place(self, window: Box, half: float, jaws: float | None) -> list[Item]:
        """Where the centre of the swing stands: from the axis, from the face, and clear of the jaws where they are in
        sight."""
        items: list[Item] = []
        centre = self.centre
        reference = centre[0] - self.radius if self.fillet else 0.0
        across, along = abs(centre[1]), abs(centre[0] - reference)
        if across > 1e-9:
            items.append(Linear((max(0.0, centre[0]), 0.0), centre, size(across, self.advice), "y", window[2], 1))
        if along > 1e-9:
            items.append(Linear((reference, centre[1]), centre, size(along, self.advice), "x", window[1], -1))
        if self.convex and jaws is not None and centre[0] - half > jaws:
            words = f"clear {self.length(centre[0] - half - jaws)}"
            items.append(Linear((jaws, centre[1]), (centre[0] - half, centre[1]), words, "x", window[1], -1, 2))
        return items
