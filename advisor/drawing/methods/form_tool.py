"""The form tool and its edge, drawn from above; and in a sketch, whose sizes are chosen to be seen well."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.drawing.model import Arc, Arrow, Line, Linear, Note, View, polar
from advisor.drawing.scene import Scene
from advisor.formulas import form_tool

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.drawing.model import Item, Point


class Setup(Scene):
    """The tool drawn back from the work, with its width and its feed."""

    def drawing(self, scale: float) -> View:
        s = self.setup
        arc = self.arc.points(scale)
        wide = max(s["edge_width_mm"], self.values["edge_width"])
        away = max(4.0 / scale, 0.25 * self.values["depth"])
        shank = max(11.0 / scale, 0.6 * wide)
        edge, end_of_shank = self._edge(arc, shank)
        shift = (away, 0.0) if self.end else (0.0, -away)
        tool = tuple((x + shift[0], y + shift[1]) for x, y in (*edge, *end_of_shank))
        xs, ys = [p[0] for p in tool] + [p[0] for p in arc], [p[1] for p in tool] + [p[1] for p in arc]
        margin = 14.0 / scale
        # Up to the axis where there is room for it, else only the side that is cut.
        top = 6.0 / scale if max(ys) > -60.0 / scale else max(ys) + margin
        window = [min(xs) - margin, min(ys) - 1 / scale, max(xs) + margin * 0.6, max(top, max(ys) + 5 / scale)]
        items = self._held(window, scale)
        items += [Line(tool, "outline", True, "light"), self.heavy_arc()]
        if self.end:
            y = 0.5 * (min(p[1] for p in tool) + 0.0)
            x = max(p[0] for p in tool)
            items.append(Arrow((x + 9.0 / scale, y), (x + 1.0 / scale, y)))
            items.append(Note((x + 9.0 / scale, y), f"feed in {self.length(s['infeed_mm'])}", bold=True))
            window[2] = max(window[2], x + 10 / scale)
        else:
            x = 0.5 * (min(p[0] for p in tool) + max(p[0] for p in tool))
            y = min(p[1] for p in tool)
            if self.values["fillet_turned"]:
                items.append(Arrow((x + 5.0 / scale, y - 4.0 / scale), (x - 5.0 / scale, y - 4.0 / scale)))
                items.append(Note((x + 5.0 / scale, y - 4.0 / scale), "feed along", bold=True))
            else:
                items.append(Arrow((x, y - 9.0 / scale), (x, y - 1.0 / scale)))
                items.append(Note((x, y - 9.0 / scale), f"feed in {self.length(s['infeed_mm'])}", bold=True))
            lowest = max(p[1] for p in end_of_shank) + shift[1]
            first, last = min(p[0] for p in tool), max(p[0] for p in tool)
            items.append(
                Linear((first, lowest), (last, lowest), self.least(s["edge_width_mm"]), "x", y - 8 / scale, -1)
            )
            window[1] = y - 10 / scale
        on_edge = arc[len(arc) // 2]
        items.append(
            Note((on_edge[0] + shift[0], on_edge[1] + shift[1]), f"edge R{self.length(s['edge_radius_mm'])}", bold=True)
        )
        return View(tuple(items), (window[0], window[1], window[2], window[3]))

    def _edge(self, arc: Sequence[Point], shank: float) -> tuple[tuple[Point, ...], tuple[Point, ...]]:
        """Edge of the tool in its last place, with what it runs out on, and the corners where the shank is cut off."""
        v = self.values
        shape = {name: v[name] for name in ("radius", "chord", "depth", "convex", "corner", "end")}
        outs = form_tool.run_outs(**shape, land=v["form_tool_land"], flare=v["form_tool_flare"])
        before, after = ([(float(z), float(t)) for z, t in side] for side in outs)
        first, last = arc[0], arc[-1]
        if self.end:
            # The arc runs from the rim to the axis, and the edge a little past it.
            past = min(v["form_tool_past_centre"], v["chord"] / 2)
            zero = first[0] if self.convex else last[0]
            form = {k: shape[k] for k in ("radius", "depth", "convex", "corner")}
            beyond = float(form_tool.work_depth(**form, z=past))
            rim = [(zero + t, -z) for z, t in reversed(after)]
            edge = (*rim, *arc, (zero + beyond, past))
            back = max(x for x, _ in edge) + shank
            return edge, ((back, past), (back, edge[0][1]))
        low = min(y for _, y in arc) - shank
        if self.corner and self.convex:
            # The arc runs from the diameter to the face.
            edge = (*((last[0] - z, last[1] - t) for z, t in reversed(after)), *arc)
            edge = (*edge, *((last[0] - z, last[1] - t) for z, t in reversed(before)))
        else:
            middle = first[0] if self.corner else 0.5 * (first[0] + last[0])
            zero = last[1] if self.corner else first[1] + (0.0 if self.convex else v["depth"])
            edge = (*((middle + z, zero - t) for z, t in before), *arc, *((middle + z, zero - t) for z, t in after))
        left = edge[0][0]
        if self.fillet:
            left += min(math.tan(math.radians(v["form_tool_flare"])) * (edge[0][1] - low), 0.3 * self.radius)
        return edge, ((edge[-1][0], low), (left, low))


# The corner that the form tool of the sketch rounds, and how far its edge runs out on each side [mm].
ROUND, ROUND_DIAMETER, RUN_OUT = 20.0, 70.0, 5.0


def _form_tool() -> list[Item]:
    """Form tool at its full depth on a rounded corner, and drawn back from it."""
    half = ROUND_DIAMETER / 2
    centre = (-ROUND, ROUND - half)
    edge = [polar(centre, ROUND, angle) for angle in range(-90, 1, 3)]
    left, right, low = -ROUND - RUN_OUT, 8.0, -half - 62.0
    tool = [(left, -half), *edge, (0.0, centre[1] + RUN_OUT), (right, centre[1] + RUN_OUT), (right, low), (left, low)]
    back = -26.0
    return [
        Line(((-95.0, half), (0.0, half), (0.0, centre[1])), "outline"),
        Line(((-95.0, -half), (centre[0], -half)), "outline"),
        Line(((-95.0, half), (-95.0, -half)), "thin"),
        Line(((-104.0, 0.0), (20.0, 0.0)), "centre"),
        Note((-70.0, half), "work"),
        Line(tuple((x, y + back) for x, y in tool), "phantom", closed=True),
        Line(tuple(tool), "outline", closed=True, fill="light"),
        Arc(centre, ROUND, -90, 90, "heavy"),
        Line((centre, polar(centre, ROUND, -45)), "thin"),
        Note(polar(centre, ROUND * 0.5, -45), "R"),
        Note(polar(centre, ROUND, -62), "edge, ground to R: all of it cuts at once"),
        Note((left + RUN_OUT / 2, -half), "run-out"),
        Note((left, low + 12.0), "form tool, square to the work"),
        Arrow((right + 14.0, low - 4.0), (right + 14.0, low + 22.0)),
        Note((right + 14.0, low + 9.0), "cross slide fed straight in"),
    ]


SKETCH = (_form_tool, "FORM TOOL, FROM ABOVE, A ROUNDED CORNER")
