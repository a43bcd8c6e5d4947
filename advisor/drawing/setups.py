"""Plan views of setups, seen from above: headstock to the left, the operator below. To scale.

How each method is drawn is in its own module of advisor/drawing/methods.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.drawing.scene import Scene
from advisor.ground.methods import methods, own_module

if TYPE_CHECKING:
    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.model import Picture, Room


def drawing_of_setup(method: MethodAdvice, advice: Advice, *, room: Room) -> Picture:
    """Plan view of a method's setup -> Picture; of a method without a drawing of its own, the work and its arc.

    method: a MethodAdvice whose geometry is possible; room: (width, height) of paper [mm].
    """
    return scene_of(method, advice).picture(room)


def scene_of(method: MethodAdvice, advice: Advice) -> Scene:
    """The Scene of a MethodAdvice."""
    own = own_module("advisor.drawing.methods", methods()[method.name].prefix)
    return getattr(own, "Setup", Scene)(method, advice)
