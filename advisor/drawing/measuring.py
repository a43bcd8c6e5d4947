"""How a lathe is measured for its shop file: pictures to scale with the numbers of one lathe, and what is done.

Heights are seen from the tailstock, the operator to the left, the spindle's axis at 0, 0; the compound from above, its
swivel at 0, 0, the operator below. All in mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.answer.wording import rule_length
from advisor.asked.shop_keys import recipes
from advisor.drawing.model import Arc, Line, Linear, Note, Swing, View, fitted
from advisor.drawing.scene import box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.asked.shop import Lathe
    from advisor.drawing.model import Item, Picture, Room

BARS = {"mm": 25.0, "inch": 25.4}  # mm across the bar that is held in the chuck
STEPS = tuple(2 * 0.92**step for step in range(60))  # scales that are tried: nobody measures off these pictures
BASE = 0.85  # radius of the compound's round base, of half the width of slide and post
NEEDED = ("travel", "front", "half_width", "largest_work_over", "tip_past_min", "tip_past_max", "tip_short_min",
          "tip_short_max")  # fmt: skip


@dataclass(frozen=True)
class Shown:
    """One picture with what is done. title; picture: on paper; steps: sentences; keys: what they give."""

    title: str
    picture: Picture
    steps: tuple[str, ...]
    keys: tuple[str, ...]


def can_be_drawn(lathe: Lathe) -> bool:
    """Whether a lathe has every number that the pictures show."""
    return bool(lathe.compound) and all(getattr(lathe.compound, name) >= 0 for name in NEEDED)


def pictures(lathe: Lathe, units: str, *, room: Room) -> list[Shown]:
    """Every picture of a lathe that `can_be_drawn` -> list of Shown. units: "mm" or "inch"; room: (width, height) of
    paper for each [mm]."""
    scene = _Scene(lathe, units)
    return [
        Shown(
            recipe.title,
            fitted(getattr(scene, _VIEWS[recipe.picture]), room=room, steps=STEPS),
            tuple(step.format(**scene.words) for step in recipe.steps),
            recipe.keys,
        )
        for recipe in recipes()
    ]


class _Scene:
    def __init__(self, lathe: Lathe, units: str) -> None:
        if lathe.compound is None:
            raise ValueError("a lathe without a compound cannot be drawn")
        self.lathe, self.compound, self.units = lathe, lathe.compound, units
        c = self.compound
        self.bar = BARS[units]
        self.height = lathe.swing_over_bed / 2
        self.half = c.tip_past_max
        numbers = {
            "bar": self.bar,
            "half_bar": self.bar / 2,
            "height": self.height,
            "top": self.height + self.bar / 2,
            "cross_height": lathe.swing_over_cross_slide / 2,
            "slide_height": c.largest_work_over / 2,
            "base": 2 * BASE * c.half_width,
            "half_base": BASE * c.half_width,
            "width": 2 * c.half_width,
            "half": self.half,
            "wound": 2 * self.half,
            "past_wound": c.tip_past_max - c.tip_past_min,
            "short_wound": c.tip_short_max - c.tip_short_min,
            "swing_over_bed": lathe.swing_over_bed,
            "swing_over_cross_slide": lathe.swing_over_cross_slide,
            "tool_overhang": lathe.tool_overhang,
        } | {name: getattr(c, name) for name in NEEDED}
        self.words = {name: rule_length(mm, units) for name, mm in numbers.items()}
        counts = f" This dial counts the diameter, so it shows {rule_length(4 * self.half, units)}."
        self.words["dial"] = counts if lathe.dials == "diameter" else ""

    def size(self, mm: float) -> str:
        return rule_length(mm, self.units).split(" ", 1)[0]

    # ---- seen from the tailstock

    def _bed(self, scale: float) -> list[Item]:
        high = self.height
        wide, deep = 0.8 * high, 0.35 * high
        cross = 4 / scale
        return [
            box(-wide, -high - deep, wide, -high, fill="light"),
            Line(((-cross, 0), (cross, 0)), "thin"),
            Line(((0, -cross), (0, cross)), "thin"),
            Note((0.6 * wide, -high - 0.6 * deep), "bed"),
        ]

    def height_view(self, scale: float) -> View:
        """A bar in the chuck over the bed."""
        high, radius = self.height, self.bar / 2
        items = self._bed(scale)
        items.append(Arc((0, 0), self.lathe.chuck_diameter / 2, 0, 360, "hidden"))
        items.append(Arc((0, 0), radius, 0, 360, "heavy"))
        level = 0.8 * high
        items.append(Linear((0, radius), (level, -high), self.size(high + radius), "y", level, 1, 2))
        items.append(Linear((0, 0), (level, -high), self.size(high), "y", level, 1))
        items.append(Note((-radius * 0.7, radius * 0.7), f"bar {self.size(self.bar)}", bold=True))
        items.append(Note((-0.35 * self.lathe.chuck_diameter, 0.35 * self.lathe.chuck_diameter), "chuck"))
        return View(tuple(items))

    def swings(self, scale: float) -> View:
        """Bed, cross slide and compound under the axis, with what swings over each."""
        high, cross = self.height, self.lathe.swing_over_cross_slide / 2
        slide = self.compound.largest_work_over / 2
        items = self._bed(scale)
        items.append(box(-1.25 * high, -cross - 0.45 * (high - cross), 0.75 * high, -cross, fill="light"))
        items.append(box(-0.8 * high, -high, 0.8 * high, -cross - 0.45 * (high - cross)))
        items.append(box(-0.55 * high, -cross, 0.12 * high, -slide, fill="light"))
        for radius, pen in ((high, "phantom"), (cross, "phantom"), (slide, "heavy")):
            items.append(Arc((0, 0), radius, 0, 360, pen))
        level = 1.0 * high
        for row, depth in enumerate((slide, cross, high), start=1):
            items.append(Linear((0, 0), (0.1 * high, -depth), self.size(depth), "y", level, 1, row))
        items.append(Note((-1.1 * high, -cross - 0.2 * (high - cross)), "cross slide"))
        items.append(Note((-0.45 * high, -(cross + slide) / 2), "compound"))
        for radius, name in ((high, "over the bed"), (cross, "over the cross slide"), (slide, "over the compound")):
            at = (radius * math.cos(math.radians(115)), radius * math.sin(math.radians(115)))
            items.append(Note(at, f"{self.size(2 * radius)} {name}"))
        return View(tuple(items))

    # ---- seen from above, the front of the slide upwards

    def _swivel(self, scale: float) -> list[Item]:
        arm = 4 / scale
        radius = BASE * self.compound.half_width
        return [
            Arc((0, 0), radius, 0, 360, "hidden"),
            Line(((-arm, 0), (arm, 0)), "thin"),
            Line(((0, -arm), (0, arm)), "thin"),
            Note((0, 0), "swivel", bold=True),
        ]

    def _slide(self, tip: float, *, turned: bool = False, pen: str = "outline") -> list[Item]:
        """Slide, post and tool with the tip so far past the swivel (less than 0 for short of it)."""
        c, sign = self.compound, -1 if turned else 1
        post = 0.8 * c.half_width
        front = tip - self.lathe.tool_overhang
        thick = 0.16 * c.half_width
        parts = [
            ((-0.62 * c.half_width, front - 1.6 * post), (0.62 * c.half_width, front + 0.15 * post)),
            ((-post, front - 1.2 * post), (post, front)),
        ]
        fill = "light" if pen == "outline" else None
        items: list[Item] = []
        for (x, y), (x2, y2) in parts:
            items.append(box(x, sign * y, x2, sign * y2, pen=pen, fill=fill))
        tool = (
            (0, tip),
            (-thick, tip - 2 * thick),
            (-thick, front - post),
            (thick, front - post),
            (thick, tip - 2 * thick),
        )
        items.append(Line(tuple((x, sign * y) for x, y in tool), pen, True, "white" if fill else None))
        return items

    def compound_view(self, scale: float) -> View:
        """The compound with its sizes."""
        c = self.compound
        tip = c.tip_past_min
        wide = c.half_width
        items = [box(-0.62 * wide, -1.1 * wide, 0.62 * wide, c.front, pen="hidden"), *self._slide(tip)]
        items += self._swivel(scale)
        post = 0.8 * wide
        face = tip - self.lathe.tool_overhang
        items.append(Linear((0, 0), (0.62 * wide, c.front), f"front {self.size(c.front)}", "y", wide, 1))
        items.append(Linear((post, face), (0, tip), self.size(self.lathe.tool_overhang), "y", wide, 1, 2))
        items.append(Note((0, tip - 0.5 * self.lathe.tool_overhang), "tool_overhang"))
        low = min(face - 1.6 * post, -1.1 * wide)
        items.append(Linear((-wide, low), (wide, low), f"2 x {self.size(wide)}", "x", low, -1))
        return View(tuple(items))

    def half_turn(self, scale: float) -> View:
        """The slide as it points away from the operator, and after half a turn."""
        tip, wide = self.half, self.compound.half_width
        items = [*self._slide(tip, turned=True, pen="phantom"), *self._slide(tip), *self._swivel(scale)]
        items.append(Note((0, tip), "point over the tip", bold=True))
        items.append(Note((0, -tip), "tip after half a turn"))
        items.append(Linear((0, -tip), (0, tip), f"wound {self.size(2 * tip)}", "y", 1.1 * wide, 1, 2))
        items.append(Linear((0, 0), (0, tip), self.size(tip), "y", 1.1 * wide, 1))
        items.append(Swing((0, 0), 1.25 * max(tip, wide), 100, 160))
        return View(tuple(items))

    def _pair(self, scale: float, near: float, far: float, names: Sequence[str]) -> View:
        """The slide at both ends of a pair, as tips past the swivel."""
        wide = self.compound.half_width
        items = [*self._slide(near, pen="phantom"), *self._slide(far), *self._swivel(scale)]
        for row, (tip, name) in enumerate(zip((near, far), names, strict=True), start=1):
            items.append(Linear((0, 0), (0, tip), self.size(abs(tip)), "y", wide, 1, row))
            items.append(Note((0, tip), name))
        return View(tuple(items))

    def past(self, scale: float) -> View:
        """The tip past the swivel, near and far."""
        c = self.compound
        return self._pair(scale, c.tip_past_min, c.tip_past_max, ("tip_past_min", "tip_past_max"))

    def short(self, scale: float) -> View:
        """The tip short of the swivel, near and far."""
        c = self.compound
        return self._pair(scale, -c.tip_short_min, -c.tip_short_max, ("tip_short_min", "tip_short_max"))


# Name of a picture in rules/shop_keys.toml -> how it is drawn.
_VIEWS = {"height": "height_view", "compound": "compound_view"} | {
    name: name for name in ("swings", "half_turn", "past", "short")
}
