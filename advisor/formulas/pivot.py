"""Pivot attachment: tool and arm turn together about a post, so the nose radius does not enter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas.common import plain, speeds_and_layout
from advisor.formulas.numeric import NAN, where

if TYPE_CHECKING:
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth, Values


def post_reading(*, radius: Numeric, post_diameter: Numeric, convex: Truth) -> Numeric:
    """Depth-micrometer reading from the tool's side of the pivot post to the tip [mm].

    m = R − P/2   convex
    m = R + P/2   concave

    The micrometer starts at the side of the post that faces the tool holder, P/2 in front of the pivot.
    The tip of a convex setting stands R in front of the pivot, so the gap is R − P/2. The tip of a
    concave setting has gone R past the pivot, so from the same side, over the post, it is R + P/2.
    radius: R [mm]; post_diameter: P [mm]; convex: truth value. Negative where the tip of a convex
    setting stands over the post and cannot be measured so. Source: first principles.

    >>> post_reading(radius=30.0, post_diameter=12.0, convex=True)
    24.0
    >>> post_reading(radius=30.0, post_diameter=12.0, convex=False)
    36.0
    """
    return radius + where(convex, -0.5, 0.5) * post_diameter


def tip_side(*, convex: Truth) -> str:
    """Where the tip stands: a convex arc is cut from outside its centre, a concave one from within.

    convex: truth value of one callout.

    >>> tip_side(convex=True)
    'short of the pivot'
    """
    return "short of the pivot" if convex else "past the pivot"


def setup(values: Values) -> dict[str, Any]:
    """Setup numbers of the pivot attachment; lengths [mm], angles [deg], speeds [rpm].

    values: named numbers and truth values. The distance from the axis is negative beyond it; the
    distance from the face (or from the shoulder of a fillet) is negative in front of the face.
    """
    radius, convex = values["radius"], values["convex"]
    reading = post_reading(radius=radius, post_diameter=values.get("post_diameter", NAN), convex=convex)
    return {
        **speeds_and_layout(values, "pivot"),
        "tip_to_pivot_mm": plain(radius),
        "tip_side": tip_side(convex=convex),
        "post_reading_mm": plain(reading),
        "pivot_from_axis_mm": plain(values["centre_from_axis"]),
        "pivot_from_face_mm": plain(values["centre_from_face"]),
        "sweep_deg": plain(values["sweep"]),
    }
