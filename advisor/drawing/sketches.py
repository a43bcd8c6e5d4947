"""Sketches of what is hard to picture: how the form tool, the swung compound and the radius rod make an arc. Seen from above, the headstock
to the left and the operator below; sizes chosen to be seen well, for no callout.
"""

import math

from advisor.drawing.model import Arc, Arrow, Line, Note, Swing, View, fitted, polar
from advisor.drawing.setups import box
from advisor.drawing.work import TITLE_ROOM, arranged

ROOM = (150.0, 105.0)  # mm of paper

# The dome that the compound turns, and the hollow that the rod turns [mm].
DOME, DOME_DIAMETER = 34.0, 48.0
HOLLOW, HOLLOW_DIAMETER, NOSE = 80.0, 50.0, 4.0
# The corner that the form tool rounds, and how far its edge runs out on each side [mm].
ROUND, ROUND_DIAMETER, RUN_OUT = 20.0, 70.0, 5.0


def sketch(name, *, room=ROOM):
    """The sketch of a method by its name -> Picture, None where there is none. room: (width, height) of paper [mm]."""
    if name not in SKETCHES:
        return None
    make, title = SKETCHES[name]
    whole = (room[0], room[1] - TITLE_ROOM)
    return arranged([(fitted(lambda scale: View(tuple(make())), room=whole), title)], room=room)


def _form_tool():
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


def _turned(points, centre, angle):
    """Points given along and across a direction from a centre [deg], as points of the view."""
    turn = math.radians(angle)
    c, s = math.cos(turn), math.sin(turn)
    return tuple((centre[0] + x * c - y * s, centre[1] + x * s + y * c) for x, y in points)


def _swung_compound():
    """Compound, tool and tip in two places of the swing about the centre of the dome, under which the swivel stands."""
    half = DOME_DIAMETER / 2
    rim = math.degrees(math.asin(half / DOME))
    centre = (-DOME, 0.0)
    edge = polar(centre, DOME, rim)
    items = [
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


def _radius_rod():
    """Rod, carriage seat and nose with the tool at the axis and at the rim of a hollow."""
    half = HOLLOW_DIAMETER / 2
    length = HOLLOW - NOSE
    rim = math.degrees(math.asin(half / HOLLOW))
    depth = HOLLOW - math.sqrt(HOLLOW**2 - half**2)
    centre = (HOLLOW - depth, 0.0)
    low = -78.0
    items = [
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


SKETCHES = {
    "form tool": (_form_tool, "FORM TOOL, FROM ABOVE, A ROUNDED CORNER"),
    "swung compound": (_swung_compound, "SWUNG COMPOUND, FROM ABOVE, A DOME"),
    "radius rod": (_radius_rod, "RADIUS ROD, FROM ABOVE, A HOLLOW"),
}
