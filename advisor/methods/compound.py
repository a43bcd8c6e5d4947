"""Swung compound, for ends and corners: the tool turns with the slide, locked R from the swivel."""

from advisor.methods.common import plain, speeds_and_layout, whole
from advisor.numeric import NAN, where


def tip_side(*, convex):
    """Where the tip stands: a convex arc is cut from outside its centre, a concave one from within.

    convex: truth value of one callout.

    >>> tip_side(convex=False)
    'past the swivel'
    """
    return "short of the swivel" if convex else "past the swivel"


def signed_tip(*, radius, convex):
    """Place of the tip from the swivel: −R short of it (convex), +R past it (concave) [mm].

    radius: R [mm]; convex: truth value. Source: first principles.

    >>> signed_tip(radius=25.0, convex=True)
    -25.0
    """
    return where(convex, -1.0, 1.0) * radius


def slide_travel(*, radius, convex, tip_at=0.0):
    """Travel of the slide that brings the tip R from the swivel: positive forward, to the work [mm].

    ±R − p, + concave

    radius: R [mm]; convex: truth value; tip_at: where the tip stands now, past the swivel positive,
    p [mm]: 0 when it is first set right over the swivel. Source: first principles.

    >>> slide_travel(radius=25.0, convex=True, tip_at=-10.0)
    -15.0
    """
    return signed_tip(radius=radius, convex=convex) - tip_at


def window_low(*, convex, short_low, past_low):
    """Smallest radius that the slide reaches: short of the swivel for convex, past it for concave [mm].

    convex: truth value; short_low, past_low: least distance of the tip on that side [mm].

    >>> window_low(convex=True, short_low=8.0, past_low=0.0)
    8.0
    """
    return where(convex, short_low, past_low)


def window_high(*, convex, short_high, past_high):
    """Largest radius that the slide reaches: short of the swivel for convex, past it for concave [mm].

    convex: truth value; short_high, past_high: greatest distance of the tip on that side [mm].

    >>> window_high(convex=False, short_high=60.0, past_high=45.0)
    45.0
    """
    return where(convex, short_high, past_high)


def graduations(*, sweep, end, corner):
    """First and last angle of the slide from square to the axis [deg].

    corner: 0° facing the diameter, 90° facing the face or shoulder; end: 90° − φ at the rim, 90° at the
    middle, φ half the sweep; elsewhere φ to each side of square
    A swivel whose zero has the slide along the bed shows 90° less these.
    sweep: sweep of the whole arc [deg]; end, corner: truth values. Source: first principles.

    >>> graduations(sweep=60.0, end=True, corner=False)
    (60.0, 90.0)
    """
    half = sweep / 2
    return (
        where(corner, 0.0, where(end, 90.0 - half, -half)),
        where(corner, 90.0, where(end, 90.0, half)),
    )


def setup(values):
    """Setup numbers of the swung compound; lengths [mm], angles [deg], speeds [rpm].

    values: named numbers and truth values. None on an outside diameter, which it does not reach.
    """
    if not (values["end"] or values["corner"]):
        return None
    return {
        **speeds_and_layout(values, "compound"),
        "tip_to_swivel_mm": plain(values["radius"]),
        "tip_side": tip_side(convex=values["convex"]),
        "sweep_deg": plain(values["sweep"]),
        "passes": whole(values.get("compound_passes", NAN)),
        "height_allowance_mm": plain(values.get("compound_height_allowance", NAN)),
        "offset_allowance_mm": plain(values.get("compound_offset_allowance", NAN)),
    }
