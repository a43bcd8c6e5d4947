"""Radius rod, for ends only: the tool does not turn, so the nose radius enters the length of the rod."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.formulas import swung_gear
from advisor.formulas.common import plain, speeds_and_layout
from advisor.formulas.geometry import sweep_of_arc
from advisor.formulas.numeric import NAN, minimum, radians, sin, sqrt, where

if TYPE_CHECKING:
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth, Values


def seat_to_seat(*, radius: Numeric, nose_radius: Numeric, convex: Truth) -> Numeric:
    """Length of the rod from seat to seat, centre to centre of its balls [mm].

    L = R + rₙ   convex
    L = R − rₙ   concave

    The rod guides the centre of the nose, which runs rₙ outside a dome and rₙ inside a dish.
    radius: R [mm]; nose_radius: rₙ [mm]; convex: truth value. Source: first principles.

    >>> seat_to_seat(radius=120.0, nose_radius=1.5, convex=True)
    121.5
    """
    return radius + where(convex, 1.0, -1.0) * nose_radius


def radius_of_rod(*, length: Numeric, nose_radius: Numeric, convex: Truth) -> Numeric:
    """Radius that a rod turns [mm].

    R = L − rₙ   convex
    R = L + rₙ   concave

    length: seat to seat, L [mm]; nose_radius: rₙ [mm]; convex: truth value.
    Source: first principles.

    >>> radius_of_rod(length=121.5, nose_radius=1.5, convex=True)
    120.0
    """
    return length - where(convex, 1.0, -1.0) * nose_radius


def overall(*, length: Numeric, ball_diameter: Numeric) -> Numeric:
    """Length of the rod over its ball ends [mm].

    l = L + d

    length: seat to seat, L [mm]; ball_diameter: d [mm]. Source: first principles.

    >>> overall(length=121.5, ball_diameter=10.0)
    131.5
    """
    return length + ball_diameter


def tilt(*, chord: Numeric, radius: Numeric) -> Numeric:
    """Tilt of the rod with the tool at the rim [deg].

    φ = asin(w / (2R))

    chord: at most 2R, w [mm]; radius: R [mm]. Source: first principles.

    >>> round(tilt(chord=60.0, radius=60.0), 9)
    30.0
    """
    return sweep_of_arc(radius=radius, chord=chord) / 2


def carriage_travel(*, length: Numeric, tilt: Numeric) -> Numeric:
    """Travel of the carriage while the tool goes from the axis to the rim [mm].

    z = L (1 − cos φ)

    Worked out as 2L sin²(φ/2), which keeps the digits of a small tilt.

    length: seat to seat, L [mm]; tilt: at the rim, φ [deg]. Source: first principles.

    >>> round(carriage_travel(length=100.0, tilt=30.0), 4)
    13.3975
    """
    return 2 * length * sin(radians(tilt / 2)) ** 2


def cross_travel(*, length: Numeric, tilt: Numeric) -> Numeric:
    """Travel of the cross slide while the tool goes from the axis to the rim [mm].

    x = L sin φ

    It differs from half the chord because the nose touches the rim beside its centre.
    length: seat to seat, L [mm]; tilt: at the rim, φ [deg]. Source: first principles.

    >>> round(cross_travel(length=100.0, tilt=30.0), 4)
    50.0
    """
    return length * sin(radians(tilt))


def seat_height_allowance(*, length: Numeric, tolerance: Numeric, share: Numeric) -> Numeric:
    """How far the two seats may differ in height [mm].

    y = √(L² − (L − kT)²)

    length: seat to seat, L [mm]; tolerance: half width of the tolerance on R, T [mm]; share: the part of
    it that this error may spend, k, 0 to 1. Source: first principles: a rod of L with its seats y apart in height
    works as one of √(L² − y²).

    >>> round(seat_height_allowance(length=25.0, tolerance=2.0, share=0.5), 6)
    7.0
    """
    spent = share * tolerance
    return sqrt(spent * (2 * length - spent))


def offset_allowance(
    *, length: Numeric, tolerance: Numeric, profile_tolerance: Numeric, share: Numeric, tilt: Numeric = 90.0
) -> Numeric:
    """How far one seat may lie from its place beside the other, to any side [mm].

    y = min(k P / sin φ, √(L² − (L − k T)²))

    A seat beside the axis, level with it, leaves the radius as it is and tilts the arc, which costs profile; a seat too
    high shortens the rod in plan, which costs radius. On an end the pip, or the pointed middle, of that radius is a limit
    of its own. length: seat to seat, L [mm]; tolerance: half width on R, T [mm]; profile_tolerance: what the profile may
    be off, P [mm]; share: k [1]; tilt: of the rod at the rim, φ [deg]; where it is not given, that of a half circle, the
    tightest. Source: first principles.

    >>> round(offset_allowance(length=100.0, tolerance=0.4, profile_tolerance=0.2, share=0.5, tilt=30.0), 9)
    0.2
    """
    level = swung_gear.offset_allowance(tolerance=profile_tolerance, share=share, sweep=2 * tilt, end=True)
    return minimum(level, seat_height_allowance(length=length, tolerance=tolerance, share=share))


def gap_needed(*, chuck_depth: Numeric, stickout: Numeric, tool_overhang: Numeric) -> Numeric:
    """Gap between the seats with the tip at the face: no shorter rod spans it on the headstock side [mm].

    g = c + s + o

    The seats are taken to be on the headstock, behind the chuck, and on the carriage. A longer rod asks
    for that much more stickout.
    chuck_depth: seat on the headstock to the front of the chuck, c [mm]; stickout: from there to the end
    face, s [mm]; tool_overhang: how far the tip stands in front of the seat on the carriage, o [mm].
    Source: first principles.

    >>> gap_needed(chuck_depth=80.0, stickout=50.0, tool_overhang=25.0)
    155.0
    """
    return chuck_depth + stickout + tool_overhang


def rod_between(*, convex: Truth) -> str:
    """Where the rod lies: the carriage turns about a point behind a dome and in front of a dish.

    convex: truth value of one callout.

    >>> rod_between(convex=True)
    'carriage and headstock'
    """
    return "carriage and headstock" if convex else "carriage and tailstock"


def permits(*, convex: Truth, corner: Truth, end: Truth) -> Truth:
    """Whether a rod can lead the tool round such a shape at all: on ends alone. Truth values."""
    return end


def setup(values: Values) -> dict[str, Any] | None:
    """Setup numbers of the radius rod; lengths [mm], angles [deg], speeds [rpm]. None unless on an end.

    values: named numbers and truth values; rod_length and rod_radius: of a rod on the shelf that is taken instead of
    the one for the very radius. Both travels are from the axis to the rim.
    """
    if not permits(**{name: values[name] for name in ("convex", "corner", "end")}):
        return None
    convex, nose_radius = values["convex"], values["nose_radius"]
    wanted = seat_to_seat(radius=values["radius"], nose_radius=nose_radius, convex=convex)
    length = values.get("rod_length", wanted)
    angle = tilt(chord=values["chord"], radius=values.get("rod_radius", values["radius"]))
    return {
        **speeds_and_layout(values, "rod"),
        "rod_between": rod_between(convex=convex),
        "nose_radius_mm": plain(nose_radius),
        "seat_to_seat_mm": plain(length),
        "overall_mm": plain(overall(length=length, ball_diameter=values.get("rod_ball_diameter", NAN))),
        "tilt_deg": plain(angle),
        "carriage_travel_mm": plain(carriage_travel(length=length, tilt=angle)),
        "cross_travel_mm": plain(cross_travel(length=length, tilt=angle)),
    }
