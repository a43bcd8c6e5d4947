"""Swung compound, for ends, corners and grooves: the tool turns with the slide, locked R from the swivel."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas.common import plain, speeds_and_layout
from advisor.formulas.numeric import either, negate

if TYPE_CHECKING:
    from typing import Any

    from advisor.formulas.numeric import Truth, Values


def tip_side(*, convex: Truth) -> str:
    """Where the tip stands: a convex arc is cut from outside its centre, a concave one from within.

    convex: truth value of one callout.

    >>> tip_side(convex=False)
    'past the swivel'
    """
    return "short of the swivel" if convex else "past the swivel"


def permits(*, convex: Truth, corner: Truth, end: Truth) -> Truth:
    """Whether the slide can swing the tool round such a shape at all: a crown has its centre under the middle of the work.
    Truth values."""
    return either(either(end, corner), negate(convex))


def setup(values: Values) -> dict[str, Any] | None:
    """Setup numbers of the swung compound; lengths [mm], angles [deg], speeds [rpm].

    values: named numbers and truth values. None for a crown, whose centre lies under the middle of the work.
    """
    if not permits(**{name: values[name] for name in ("convex", "corner", "end")}):
        return None
    return {
        **speeds_and_layout(values, "compound"),
        "tip_to_swivel_mm": plain(values["radius"]),
        "tip_side": tip_side(convex=values["convex"]),
        "sweep_deg": plain(values["sweep"]),
    }
