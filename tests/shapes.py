"""The six shapes by the truth values that formulas tell them by."""

import pytest

ROUND_CORNER = {"convex": True, "corner": True, "end": False}
FILLET = {"convex": False, "corner": True, "end": False}
DOME = {"convex": True, "corner": False, "end": True}
DISH = {"convex": False, "corner": False, "end": True}
CROWN = {"convex": True, "corner": False, "end": False}
GROOVE = {"convex": False, "corner": False, "end": False}
SHAPES = [ROUND_CORNER, FILLET, DOME, DISH, CROWN, GROOVE]
NAMES = ["round corner", "fillet", "dome", "dish", "crown", "groove"]
each_shape = pytest.mark.parametrize("shape", SHAPES, ids=NAMES)
