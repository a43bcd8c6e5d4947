"""Speeds, feeds, force, power, deflection and hardness.

Lengths in mm, speeds in m/min, spindle speeds in rpm, forces in N, power in kW, pressure in MPa; numbers
or arrays; what is not known is "not a number".
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.numeric import divide, interpolate, maximum, otherwise, power, where

if TYPE_CHECKING:
    from advisor.formulas.numeric import Numeric, Truth


# Thinnest chip that the force law is asked about: about the edge radius of a sharp tool. Below it the edge rubs.
THINNEST_CHIP = 0.005

# Feed of wide form tools, inches a revolution, against the width of the edge in inches; from memory.
FORM_WIDTHS = tuple(25.4 * width for width in (1 / 8, 1 / 4, 3 / 8, 1 / 2, 5 / 8, 3 / 4, 1))
FORM_FEED_BRASS = tuple(25.4 * feed for feed in (0.002, 0.002, 0.0015, 0.0012, 0.001, 0.001, 0.001))
FORM_FEED_MILD_STEEL = tuple(25.4 * feed for feed in (0.0009, 0.0008, 0.0007, 0.0006, 0.0005, 0.0005, 0.0004))
# Feeds that get under the hardened skin of stainless steel, 0.02 to 0.04 mm: common practice.
FORM_FEED_STAINLESS = (0.04, 0.04, 0.03, 0.025, 0.02, 0.02, 0.02)
FORM_FEED_TOOL_STEEL = tuple(25.4 * feed for feed in (0.0007, 0.0005, 0.0004, 0.0004, 0.0003, 0.0003, 0.0003))


def spindle_speed(*, speed: Numeric, diameter: Numeric) -> Numeric:
    """Spindle speed that gives a surface speed [rpm].

    n = 1000 v / (π D)

    speed: v [m/min]; diameter: D [mm].
    Source: machinery-handbook, cutting speed formulas.

    >>> round(spindle_speed(speed=30.0, diameter=25.0), 2)
    381.97
    """
    return divide(1000 * speed, math.pi * diameter)


def surface_speed(*, rpm: Numeric, diameter: Numeric) -> Numeric:
    """Surface speed that a spindle speed gives [m/min].

    v = π D n / 1000

    rpm: n [rpm]; diameter: D [mm].
    Source: machinery-handbook, cutting speed formulas.

    >>> round(surface_speed(rpm=636.62, diameter=50.0), 2)
    100.0
    """
    return math.pi * diameter * rpm / 1000


def specific_force(*, force_1: Numeric, slope: Numeric, thickness: Numeric) -> Numeric:
    """Cutting force for each mm² of chip cross-section [MPa].

    kc = kc1.1 h^(−mc)   (Kienzle)

    force_1: kc1.1 [MPa]; slope: mc; thickness: h [mm], taken as at least 0.005: about the radius of a sharp
    edge. Below that the edge rubs instead of cutting and the law, fitted to chips of 0.05 to 2.5 mm, runs away.
    Source: kienzle.

    >>> round(specific_force(force_1=1780.0, slope=0.17, thickness=0.2))
    2340
    """
    return force_1 * power(maximum(thickness, THINNEST_CHIP), -slope)


def cutting_force(*, width: Numeric, thickness: Numeric, force_1: Numeric, slope: Numeric) -> Numeric:
    """Tangential cutting force on an edge [N].

    F = k max(h, 0.005)^(−m) h b   (Kienzle)

    width: of the chip along the edge, b [mm]; taken over the length along an arc it errs to the safe side. thickness: h
    [mm]; force_1: of a chip 1 mm by 1 mm, k [MPa]; slope: exponent, m [1]. Source: kienzle.

    >>> round(cutting_force(width=3.0, thickness=0.2, force_1=1780.0, slope=0.17))
    1404
    """
    return specific_force(force_1=force_1, slope=slope, thickness=thickness) * width * thickness


def cutting_power(*, force: Numeric, speed: Numeric) -> Numeric:
    """Power at the tool [kW].

    P = F v / 60000

    force: F [N]; speed: v [m/min].
    Source: first principles; tool-maker-data: 3100 MPa × 0.6 mm² at 120 m/min is 3.72 kW, 4.65 kW from the motor.

    >>> round(cutting_power(force=3100 * 3 * 0.2, speed=120.0), 4)
    3.72
    """
    return force * speed / 60000


def deflection(
    *, force: Numeric, length: Numeric, diameter: Numeric, bore: Numeric, modulus: Numeric, tailstock: Truth
) -> Numeric:
    """How far the work bends away from a force square to it [mm].

    I = π (D^4 − d^4) / 64
    y = F L³ / (3 E I)   from the chuck
    y = F L³ / (48 E I)   with a tailstock

    force: F [N]; length: from the chuck to the force, with a tailstock from chuck to centre, L [mm]; diameter: D [mm];
    bore: d [mm], not a number when solid; modulus: E [MPa]; tailstock: truth value.
    With a tailstock the force stands at the worst place of a beam held loosely at both ends: a chuck that holds
    firmly halves it (0.0093 F L³ / E I), but jaws are seldom that firm, so this is the safe side.
    Source: first principles (bending of beams).

    >>> bar = dict(force=500.0, length=100.0, diameter=25.0, bore=0.0, modulus=205000.0)
    >>> round(deflection(**bar, tailstock=False), 4), round(deflection(**bar, tailstock=True), 5)
    (0.0424, 0.00265)
    """
    hole = otherwise(bore, 0.0)
    second_moment = math.pi / 64 * (power(diameter, 4) - power(hole, 4))
    return divide(force * power(length, 3), where(tailstock, 48.0, 3.0) * modulus * second_moment)


def form_feed(*, width: Numeric, hard: Truth, soft: Truth, stainless: Truth = False) -> Numeric:
    """Feed a revolution of a form tool as wide as this [mm].

    Straight lines between the entries of the table, held at its ends.

    width: of the edge [mm], 3.2 to 25.4 in the table; hard: tool steel and the like, soft: brass and the like
    (truth values; hard wins, neither means mild steel); stainless: steel that hardens under a finer feed
    (truth value; wins over both).
    Source: machinery-handbook, feeds for circular form tools, from memory; stainless: common practice.

    >>> round(form_feed(width=12.7, hard=False, soft=False) / 25.4, 6)
    0.0006
    """
    soft_or_mild = where(
        soft,
        interpolate(width, FORM_WIDTHS, FORM_FEED_BRASS),
        interpolate(width, FORM_WIDTHS, FORM_FEED_MILD_STEEL),
    )
    plain = where(hard, interpolate(width, FORM_WIDTHS, FORM_FEED_TOOL_STEEL), soft_or_mild)
    return where(stainless, interpolate(width, FORM_WIDTHS, FORM_FEED_STAINLESS), plain)
