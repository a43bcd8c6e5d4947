"""What plan views of setups have in common. Seen from above: headstock to the left, the operator below. To scale.

x runs along the spindle with the free end of the work at 0, y up from the axis, so the tool stands at negative y [mm].
What a shop does not state, such as the length of a tool shank, is drawn as it commonly is and carries no dimension.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.answer.advice import setup_values
from advisor.drawing.model import Arc, Line, Linear, Note, Picture, View, fitted, scale_words
from advisor.drawing.work import TITLE_ROOM, arranged, body, mirrored, profile, size, style
from advisor.ground.methods import methods

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.model import Item, Room


def above(picture: Picture) -> str:
    """The title of a setup."""
    return f"SETUP FROM ABOVE {scale_words(picture.scale)}"


def beside(pictures: Sequence[tuple[Picture, str, float]], *, height: float) -> Picture:
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


def box(x: float, y: float, x2: float, y2: float, **looks: Any) -> Line:
    """A rectangle between two corners."""
    return Line(((x, y), (x2, y), (x2, y2), (x, y2)), closed=True, **looks)


class Scene:
    """The setup of a method whose geometry is possible. method: a MethodAdvice; kind: its ground.methods.Method."""

    def __init__(self, method: MethodAdvice, advice: Advice) -> None:
        self.kind = methods()[method.name]
        self.values = values = setup_values(advice.values, self.kind)
        self.method, self.advice, self.setup = method, advice, method.to_set
        self.convex, self.corner, self.end = values["convex"], values["corner"], values["end"]
        self.fillet = self.corner and not self.convex
        shape = profile(values)
        self.arc = mirrored(shape.arc)
        self.outside = max(y for _, y in shape.before)
        self.arc_left = min(self.arc.point(0)[0], self.arc.point(1)[0])
        self.centre = self.arc.centre
        self.radius = self.arc.radius

    def picture(self, room: Room) -> Picture:
        """The setup in a room of paper -> Picture. room: (width, height) [mm]."""
        whole = (room[0], room[1] - TITLE_ROOM)
        picture = fitted(self.drawing, room=whole, style=style(self.advice), largest=50)
        return arranged([(picture, above(picture))], room=room)

    def drawing(self, scale: float) -> View:
        """The work and its arc -> View; a method has its tool with it. scale: mm of paper to a mm."""
        left = min(-self.values["stickout"], self.arc_left)
        return View((*self.work(left, scale), self.heavy_arc()))

    def length(self, mm: float) -> str:
        return wording.bare(mm, self.advice.callout.units)

    def least(self, mm: float) -> str:
        """A least length as a dimension."""
        return size(wording.at_least(mm, self.advice.callout.units), self.advice)

    # ---- what every scene shows

    def chuck(self, jaws: float, left: float) -> list[Item]:
        """Jaws and body of the chuck, jaws at x, drawn as far to the left as the view goes."""
        a, reach = self.outside, self.values["chuck_diameter"] / 2
        long = 0.22 * reach
        items: list[Item] = []
        for side in (1, -1):
            top = side * min(a + 0.35 * reach, max(reach, a + 2))
            items.append(box(jaws - long, side * a, jaws, top, fill="light"))
        if left < jaws - long:
            items.append(box(left, -max(reach, a + 1), jaws - long, max(reach, a + 1), fill="light"))
        return items

    def work(self, left: float, scale: float) -> list[Item]:
        shape = profile(self.values, left=left)
        return body(shape, scale=scale, arc_pen="outline")

    def heavy_arc(self) -> Arc:
        return Arc(self.arc.centre, self.arc.radius, self.arc.start, self.arc.sweep, "heavy")

    def _held(self, window: list[float], scale: float) -> list[Item]:
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
