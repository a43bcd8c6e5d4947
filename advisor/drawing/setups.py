"""Plan views of setups, seen from above: headstock to the left, the operator below. To scale.

How each method is drawn is in its own module of advisor/drawing/methods.
"""

from advisor.drawing.scene import Scene
from advisor.ground.methods import methods, own_module


def drawing_of_setup(method, advice, *, room):
    """Plan view of a method's setup -> Picture; of a method without a drawing of its own, the work and its arc.

    method: a MethodAdvice whose geometry is possible; room: (width, height) of paper [mm].
    """
    return scene_of(method, advice).picture(room)


def scene_of(method, advice):
    """The Scene of a MethodAdvice."""
    own = own_module("advisor.drawing.methods", methods()[method.name].prefix)
    return getattr(own, "Setup", Scene)(method, advice)
