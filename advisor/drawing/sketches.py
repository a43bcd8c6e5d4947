"""Sketches of what is hard to picture: how a method makes an arc. Seen from above, the headstock to the left and the operator
below; sizes chosen to be seen well, for no callout. A sketch stands with the drawing of its method.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from advisor.drawing.model import View, fitted
from advisor.drawing.work import TITLE_ROOM, arranged
from advisor.ground.methods import methods, own_module

if TYPE_CHECKING:
    from collections.abc import Callable

    from advisor.drawing.model import Item, Picture, Room

ROOM = (150.0, 105.0)  # mm of paper


@functools.cache
def sketches() -> dict[str, tuple[Callable[[], list[Item]], str]]:
    """The methods that have a sketch: name -> (function that makes it, title)."""
    own = {name: own_module("advisor.drawing.methods", method.prefix) for name, method in methods().items()}
    return {name: module.SKETCH for name, module in own.items() if module and hasattr(module, "SKETCH")}


def sketch(name: str, *, room: Room = ROOM) -> Picture | None:
    """The sketch of a method by its name -> Picture, None where there is none. room: (width, height) of paper [mm]."""
    if name not in sketches():
        return None
    make, title = sketches()[name]
    whole = (room[0], room[1] - TITLE_ROOM)
    return arranged([(fitted(lambda scale: View(tuple(make())), room=whole), title)], room=room)
