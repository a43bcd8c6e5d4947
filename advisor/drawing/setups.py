"""Plan views of the five setups, seen from above: headstock to the left, the operator below. To scale.

x runs along the spindle with the free end of the work at 0, y up from the axis, so the tool stands at negative y [mm].
What a shop does not state, such as the length of a tool shank, is drawn as it commonly is and carries no dimension.
"""

import math

from advisor.answer import wording
from advisor.answer.advice import setup_values
from advisor.drawing.model import (
    LETTERING,
    Aligned,
    Arc,
    Arrow,
    Line,
    Linear,
    Note,
    Picture,
    Swing,
    View,
    fitted,
    polar,
    scale_words,
)
from advisor.drawing.work import TITLE_ROOM, arranged, body, mirrored, profile, size, style
from advisor.formulas import form_tool

FAR = 32.0  # mm of paper from the base on which jaws are no longer drawn
ROD_SHARES = (0.6, 0.72)  # of the width, for the rod beside the lathe; the rest is for its tool
SHORTEST_BREAK = 30.0  # mm of a rod that stay in sight beside the lathe where it is broken
SMALL_SWING = 9.0  # mm of paper under which a swing is shown again in a detail


def drawing_of_setup(method, advice, *, room):
    """Plan view of a method's setup -> Picture.

    method: a MethodAdvice whose geometry is possible; room: (width, height) of paper [mm].
    """
    values = setup_values(advice.values, method.prefix)
    scene = _Scene(method, advice, values)
    draw = {
        "form tool": scene.form_tool,
        "freehand": scene.freehand,
        "pivot attachment": scene.swung,
        "radius rod": scene.rod,
        "swung compound": scene.swung,
    }[method.name]
    whole = (room[0], room[1] - TITLE_ROOM)
    if draw == scene.rod:
        return _rod_and_its_tool(scene, advice, room)
    picture = fitted(draw, room=whole, style=style(advice), largest=50)
    title = f"SETUP FROM ABOVE {scale_words(picture.scale)}"
    if draw != scene.swung or scene.radius * picture.scale >= SMALL_SWING:
        return arranged([(picture, title)], room=room)
    left, right = 0.66 * room[0], 0.34 * room[0]
    picture = fitted(draw, room=(left, whole[1]), style=style(advice), largest=0.99 * SMALL_SWING / scene.radius)
    near = fitted(scene.swing_detail, room=(right, whole[1]), style=style(advice))
    return beside(
        [
            (picture, f"SETUP FROM ABOVE {scale_words(picture.scale)}", left),
            (near, f"A {scale_words(near.scale)}", right),
        ],
        height=room[1],
    )


def _rod_and_its_tool(scene, advice, room):
    """A radius rod beside the lathe, broken where that lets it be drawn larger, and its tool on the work enlarged."""
    high, best = room[1] - TITLE_ROOM, None
    for share in ROD_SHARES:
        for draw in (scene.rod, scene.broken_rod):
            picture = fitted(draw, room=(share * room[0], high), style=style(advice))
            if best is None or picture.scale > best[0].scale:
                best = (picture, share * room[0])
    picture, left = best
    near = fitted(scene.rod_tool, room=(room[0] - left, high), style=style(advice), largest=10)
    return beside(
        [
            (picture, f"SETUP FROM ABOVE {scale_words(picture.scale)}", left),
            (near, f"TOOL {scale_words(near.scale)}", room[0] - left),
        ],
        height=room[1],
    )


def beside(pictures, *, height):
    """Pictures side by side, each with its title in a column of its own width -> Picture.

    pictures: list of (Picture, title, width of the column).
    """
    whole, x = Picture(pictures[0][0].scale), 0.0
    for picture, title, width in pictures:
        column = arranged([(picture, title)], room=(width, height)).moved(x, 0.0)
        whole.strokes += column.strokes
        whole.labels += column.labels
        whole.crowded += column.crowded
        x += width
    return whole


def box(x, y, x2, y2, **looks):
    """A rectangle between two corners."""
    return Line(((x, y), (x2, y), (x2, y2), (x, y2)), closed=True, **looks)


def _on(start, end, x, left_out, *, from_fixed=False):
    """Height at x of a rod that runs from start to end, a piece of its length left out [mm]."""
    true = start[0] - left_out
    share = (x - start[0] if from_fixed else x - true) / (end[0] - true)
    return start[1] + share * (end[1] - start[1])


def _wave(x, low, high, scale):
    """A break line across a rod: a thin free-hand wave."""
    steps = 12
    return Line(
        tuple(
            (x + 0.6 / scale * math.sin(2 * math.pi * k / steps), low + (high - low) * k / steps)
            for k in range(steps + 1)
        ),
        "thin",
    )


class _Scene:
    def __init__(self, method, advice, values):
        self.method, self.advice, self.values, self.setup = method, advice, values, method.setup
        self.convex, self.corner, self.end = values["convex"], values["corner"], values["end"]
        self.fillet = self.corner and not self.convex
        shape = profile(values)
        self.arc = mirrored(shape.arc)
        self.outside = max(y for _, y in shape.before)
        self.arc_left = min(self.arc.point(0)[0], self.arc.point(1)[0])
        self.centre = self.arc.centre
        self.radius = self.arc.radius

    def length(self, mm):
        return wording.bare(mm, self.advice.callout.units)

    def least(self, mm):
        """A least length as a dimension."""
        return size(wording.at_least(mm, self.advice.callout.units), self.advice)

    # ---- what every scene shows

    def chuck(self, jaws, left):
        """Jaws and body of the chuck, jaws at x, drawn as far to the left as the view goes."""
        a, reach = self.outside, self.values["chuck_diameter"] / 2
        long, items = 0.22 * reach, []
        for side in (1, -1):
            top = side * min(a + 0.35 * reach, max(reach, a + 2))
            items.append(box(jaws - long, side * a, jaws, top, fill="light"))
        if left < jaws - long:
            items.append(box(left, -max(reach, a + 1), jaws - long, max(reach, a + 1), fill="light"))
        return items

    def work(self, left, scale):
        shape = profile(self.values, left=left)
        return body(shape, scale=scale, arc_pen="outline")

    def heavy_arc(self):
        return Arc(self.arc.centre, self.arc.radius, self.arc.start, self.arc.sweep, "heavy")

    # ---- form tool

    def form_tool(self, scale):
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
        return View(tuple(items), tuple(window))

    def _held(self, window, scale):
        """The work, with the jaws and the stickout where they are near enough to be seen; widens the window for
        them."""
        jaws = -self.values["stickout"]
        if (window[2] - jaws) * scale > 84.0:
            return self.work(window[0] + 1.0 / scale, scale)
        window[0] = min(window[0], jaws - 8 / scale)
        items = [*self.chuck(jaws, window[0]), *self.work(jaws, scale)]
        items.append(Note((jaws - 3 / scale, -self.outside - 2 / scale), "jaws"))
        if window[2] >= 0:
            items.append(Linear((jaws, window[3]), (0.0, window[3]), size(-jaws, self.advice), "x", window[3], 1))
        return items

    def _edge(self, arc, shank):
        """Edge of the tool in its last place, with what it runs out on, and the corners where the shank is cut off."""
        v = self.values
        shape = {name: v[name] for name in ("radius", "chord", "depth", "convex", "corner", "end")}
        before, after = form_tool.run_outs(**shape, land=v["form_tool_land"], flare=v["form_tool_flare"])
        first, last = arc[0], arc[-1]
        if self.end:
            # The arc runs from the rim to the axis, and the edge a little past it.
            past = min(v["form_tool_past_centre"], v["chord"] / 2)
            zero = first[0] if self.convex else last[0]
            beyond = form_tool.work_depth(**{k: shape[k] for k in ("radius", "depth", "convex", "corner")}, z=past)
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

    # ---- freehand

    def freehand(self, scale):
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
        return View(tuple(items), tuple(window))

    def _shares(self):
        return (0.0, 0.25, 0.5, 0.75, 1.0)

    def _round_nose(self, place, nose, scale):
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

    # ---- pivot attachment and swung compound

    def swung(self, scale):
        """The tool on its arm or slide, its base beside the jaws, and where the centre of the swing stands."""
        values, pivot = self.values, self.method.name == "pivot attachment"
        if pivot:
            half = values["pivot_base_half_width"]
            deep = 0.55 * half  # nobody states it
        else:  # with the tip at the axis the slide lies along the bed, its front to the chuck
            half = values["slide_front" if self.convex else "slide_half_width"]
            deep = values["slide_half_width"] if self.convex else 0.55 * half
        swivel = 0.55 * values["slide_half_width"]
        needed = values["pivot_stickout" if pivot else "compound_stickout"]
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
        items += self._swing(tool, scale, values["post_diameter"] / 2 if pivot else swivel)
        items += self._place(window, half, None if far_jaws else jaws)
        items.append(Note((centre[0] + half, centre[1] - 0.7 * deep), "base" if pivot else "compound"))
        if self.radius * scale < SMALL_SWING:
            items.append(Arc(centre, max(1.5 * self.radius, 4 / scale), 0, 360, "thin"))
            items.append(Note(polar(centre, max(1.5 * self.radius, 4 / scale), 20), "A", LETTERING, True, False))
        else:
            items += self._swing_notes()
        return View(tuple(items), window)

    def swing_detail(self, scale):
        """The centre of the swing, the tip and the arc alone, enlarged."""
        centre, radius = self.centre, self.radius
        pivot = self.method.name == "pivot attachment"
        around = 1.35 * radius + 6 / scale
        swept = [centre, *self.arc.points(scale)]
        aside = 0.2 * radius + 6 / scale
        low, high = (tuple(end(p[axis] for p in swept) for axis in (0, 1)) for end in (min, max))
        window = (low[0] - aside, low[1] - aside, high[0] + aside, high[1] + aside)
        tool = self._tool(self._tip(), 3 * around, wide=min(4.0, 0.4 * radius))
        post = self.values["post_diameter"] / 2 if pivot else math.inf
        items = [*self.work(window[0] - 1, scale), *self._swing(tool, scale, post), *self._swing_notes()]
        return View(tuple(items), window)

    def _tip(self):
        """Place of the tip part of the way round its swing, on the operator's side."""
        return polar(self.centre, self.radius, self.arc.start + 0.5 * self.arc.sweep)

    def _swing(self, tool, scale, post):
        """Tool, arc, the ends of the swing and its centre, with the post (or the swivel under the slide)."""
        centre, radius = self.centre, self.radius
        start, sweep = self.arc.start, self.arc.sweep
        items = [tool, self.heavy_arc()]
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

    def _swing_notes(self):
        name = "pivot" if self.method.name == "pivot attachment" else "swivel"
        at = self.arc.start + 0.9 * self.arc.sweep
        swing = self.setup["sweep_deg"] / (2 if self.end else 1)
        return [
            Aligned(self.centre, self._tip(), f"tip to {name} {self.length(self.setup[f'tip_to_{name}_mm'])}"),
            Note(self.centre, name, bold=True),
            Note(polar(self.centre, self.radius, at), f"swing {wording.swing(swing)}"),
        ]

    def _tool(self, tip, long, wide=4.0):
        """A pointed tool in its holder, from the tip away from the work."""
        outward = math.degrees(math.atan2(tip[1] - self.centre[1], tip[0] - self.centre[0])) + (
            0 if self.convex else 180
        )
        near, far = polar(tip, 1.5 * wide, outward), polar(tip, long, outward)
        right, left = outward - 90, outward + 90
        sides = [polar(near, wide, right), polar(far, wide, right), polar(far, wide, left), polar(near, wide, left)]
        return Line((tip, *sides), "outline", True, "light")

    def _place(self, window, half, jaws):
        """Where the centre of the swing stands: from the axis, from the face, and clear of the jaws where they are in
        sight."""
        items, centre = [], self.centre
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

    # ---- radius rod

    def broken_rod(self, scale):
        """The rod with a piece of it left out, so that the rest can be drawn larger."""
        return self.rod(scale, broken=True)

    def rod(self, scale, *, broken=False):
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

    def _rod_between(self, fixed, seat, pen, gap, left_out):
        """A rod from its seat on the lathe to that on the carriage, with a gap where a piece of it is left out."""
        if gap is None:
            return [Line((fixed, seat), pen)]
        near, far = gap if self.convex else gap[::-1]
        true = (fixed[0] - left_out, fixed[1])  # where the rod would come from, were nothing left out
        return [
            Line((fixed, (near, _on(fixed, seat, near, left_out, from_fixed=True))), pen),
            Line(((far, _on(true, seat, far, 0.0)), seat), pen),
        ]

    def rod_tool(self, scale):
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

    def _bar(self, tip, elbow, seat, nose):
        """The tool from its nose to the carriage, as a plain bar."""
        half = max(nose, 4.0)
        neck, along, foot = tip[0] + nose + half, elbow[0], seat[1]
        above = ((tip[0], -nose), (tip[0], nose), (neck, half), (along + half, half))
        below = ((seat[0] + half, foot), (seat[0] - half, foot), (along - half, -half), (neck, -half))
        return Line((*above, *below), "outline", True, "light")
