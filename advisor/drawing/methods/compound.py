"""The swung compound, drawn from above; and in a sketch, whose sizes are chosen to be seen well."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.drawing.model import Arc, Line, Note, Swing, polar
from advisor.drawing.swung import Swung

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.drawing.model import Item, Point

# The dome that the compound of the sketch turns [mm].
DOME, DOME_DIAMETER = 34.0, 48.0


class Setup(Swung):
    """The tool on the compound slide about its swivel."""

    BASE = "compound"

    def base(self) -> tuple[float, float]:
        # With the tip at the axis the slide lies along the bed, its front to the chuck.
        half = self.values["slide_front" if self.convex else "slide_half_width"]
        return half, self.values["slide_half_width"] if self.convex else 0.55 * half

    def post(self, *, near: bool = False) -> float:
        return math.inf if near else 0.55 * self.values["slide_half_width"]


def _turned(points: Sequence[Point], centre: Point, angle: float) -> tuple[Point, ...]:
    """Points given along and across a direction from a centre [deg], as points of the view."""
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    return tuple((centre[0] + x * c - y * s, centre[1] + x * s + y * c) for x, y in points)


def _swung_compound() -> list[Item]:
    """Compound, tool and tip in two places of the swing about the centre of the dome, under which the swivel stands."""
    half = DOME_DIAMETER / 2
    rim = math.degrees(math.asin(half / DOME))
    centre = (-DOME, 0.0)
    edge = polar(centre, DOME, rim)
    items: list[Item] = [
        Line(((-95.0, half), edge), "outline"),
        Line(((-95.0, -half), (edge[0], -half)), "outline"),
        Line(((-95.0, half), (-95.0, -half)), "thin"),
        Line(((-104.0, 0.0), (20.0, 0.0)), "centre"),
        Arc(centre, DOME, -rim, 2 * rim, "heavy"),
        Note((-88.0, half), "work"),
    ]
    now, later = -rim + 4, -4.0
    for angle, pen in ((later, "phantom"), (now, "outline")):
        slide = _turned(((-14.0, -13.0), (92.0, -13.0), (92.0, 13.0), (-14.0, 13.0)), centre, angle)
        items.append(Line(slide, "phantom" if pen == "phantom" else "hidden", closed=True))
        tool = ((DOME, 0.0), (DOME + 7.0, 3.5), (DOME + 50.0, 3.5), (DOME + 50.0, -3.5), (DOME + 7.0, -3.5))
        items.append(Line(_turned(tool, centre, angle), pen, closed=True, fill=None if pen == "phantom" else "light"))
    tip = polar(centre, DOME, now)
    items += [
        Line((centre, tip), "thin"),
        Arc(centre, 5.0, 0, 360),
        Line(((centre[0] - 8, 0.0), (centre[0] + 8, 0.0)), "thin"),
        Line(((centre[0], -8.0), (centre[0], 8.0)), "thin"),
        Swing(centre, DOME + 56.0, now, later - now),
        Note(centre, "swivel, under the centre of the arc"),
        Note(polar(centre, DOME * 0.55, now), "tip to swivel = R"),
        Note(_turned(((80.0, -13.0),), centre, now)[0], "compound, locked"),
        Note(_turned(((DOME + 30.0, 3.5),), centre, now)[0], "tool"),
        Note(polar(centre, DOME + 56.0, (now + later) / 2), "swung by hand"),
    ]
    return items


SKETCH = (_swung_compound, "SWUNG COMPOUND, FROM ABOVE, A DOME")
