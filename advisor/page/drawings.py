"""The drawings of the screens: the program's own, as SVG; and what tells the methods apart, as a style sheet."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.answer.advice import advise
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.asked.callout import read_callout
from advisor.drawing.model import View, fitted
from advisor.drawing.setups import drawing_of_setup
from advisor.drawing.work import body, drawing_of_work, profile
from advisor.engine import generated
from advisor.page import labels, steps, svg
from advisor.page import state as states
from advisor.page.guard import Refused
from advisor.page.lathe import settable
from advisor.page.made import File
from advisor.show.map import HATCH_ANGLES, LOOKS, NO_METHOD_LOOK
from advisor.study import interview

if TYPE_CHECKING:
    from starlette.requests import Request

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.model import Picture
    from advisor.page.state import Records, State

KIND = "image/svg+xml"
WORK_ROOM, SETUP_ROOM, SKETCH_ROOM = (96.0, 84.0), (150.0, 100.0), (46.0, 34.0)  # mm of paper
SKETCHED = {  # sizes of the six sketches, of no drawing in particular [mm]
    "rounded corner": {"radius": "R9", "diameter": "36"},
    "fillet": {"radius": "R8", "diameter": "20", "shoulder_height": "13"},
    "dome": {"radius": "R24", "diameter": "34"},
    "dish": {"radius": "R24", "diameter": "38", "width": "30"},
    "crown": {"radius": "R30", "diameter": "34", "width": "34", "from_end": "6"},
    "groove": {"radius": "R9", "diameter": "36", "width": "17", "from_end": "12"},
}


def ready() -> None:
    for name in interview.SHAPES:
        _sketch(name)


def shape(state: State, *, request: Request, **_: object) -> File:
    """The sketch of one of the six shapes."""
    name = request.path_params["shape"].replace("-", " ")
    if name not in interview.SHAPES:
        raise Refused(404, "drawing", request.path_params["shape"][:40], "is none of the six shapes", "Go back.")
    return File(_sketch(name), KIND, keep=True)


@lru_cache(maxsize=8)
def _sketch(name: str) -> bytes:
    shop = shops.read_shop(shops.USUAL_SHOP)
    fields = SKETCHED[name] | {"units": "mm", "general_tolerance": "±0.5"}
    callout = read_callout(fields | interview.SHAPES[name], materials=materials.materials())
    outline = profile(advise(callout, shop, executor=generated.run).values)

    def make(scale: float) -> View:
        return View(tuple(body(outline, scale=scale, arc_pen="heavy", section=outline.hollow)))

    picture = fitted(make, room=SKETCH_ROOM, steps=(1.2, 1.1, 1, 0.9, 0.8, 0.7, 0.6))
    return svg.drawn(
        picture,
        says=f"{name}: {' on the '.join(interview.SHAPES[name][k] for k in ('form', 'location'))}",
        lit=("heavy",),
    ).encode()


def work(state: State, *, records: Records, **_: object) -> File:
    """The work, dimensioned, with what a step is about lit."""
    advice = states.answer(state.without("lit"), records)
    arc_pen = "heavy" if "lit" in state.more else "outline"
    picture = drawing_of_work(advice, room=WORK_ROOM, arc_pen=arc_pen)
    return _shown(picture, f"The work to scale: {wording.callout_line(advice)}", state, advice)


def setup(state: State, *, records: Records, **_: object) -> File:
    """The setup of the method, from above, with what a step is about lit."""
    advice = states.answer(state.without("lit"), records)
    method = settable(advice, state)
    picture = drawing_of_setup(method, advice, room=SETUP_ROOM)
    return _shown(picture, f"The setup for {wording.the(method.name)}, from above, to scale", state, advice, method)


def _shown(picture: Picture, says: str, state: State, advice: Advice, method: MethodAdvice | None = None) -> File:
    lit = steps.lit(state, advice, method or advice.shown) if "lit" in state.more else ()
    return File(svg.drawn(picture, says=says, lit=lit).encode(), KIND, keep=True)


def methods(state: State, **_: object) -> File:
    """The colours of the methods, as on the map; what tells them apart without colour is their hatch."""
    rules = []
    for name, (fill, hatch) in (LOOKS | {"no method stands": NO_METHOD_LOOK}).items():
        lines = [
            f"repeating-linear-gradient({(90 - angle) % 180 + 90}deg, #0005 0 1.5px, transparent 1.5px 8px)"
            for angle in HATCH_ANGLES.get(hatch[0], ())
        ]
        pattern = ", ".join(lines) or "radial-gradient(#0006 1.5px, transparent 2px)"
        size = "" if lines else "background-size: 8px 8px; "
        rules.append(f".m-{labels.css(name)} {{ background-color: {fill}; background-image: {pattern}; {size}}}")
    return File("\n".join(rules).encode(), "text/css; charset=utf-8", keep=True)
