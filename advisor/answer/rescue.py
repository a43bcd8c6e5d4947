"""When no method stands: the smallest changes that would let one, found by trying them on the real computation."""

from __future__ import annotations

import math
from collections import namedtuple
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.answer.advice import choice, deciding_names, givens, stated, with_tolerance
from advisor.asked.sizes import CLEARANCE
from advisor.formulas.by_rule import at_most
from advisor.ground.units import INCH

if TYPE_CHECKING:
    from typing import Any

    from advisor.answer.advice import Advice
    from advisor.asked.callout import Callout


Rescue = namedtuple("Rescue", "name value method")
Rescue.__doc__ = """A change that lets a method stand. name: field of the callout; value: as changed, lengths in mm;
method: the one that is then recommended."""

WIDER = 1.02  # the tolerance is widened by two per cent at a time
WIDEST = 40  # times the present tolerance
SHORTER = 0.95  # the stickout is shortened by a twentieth at a time


def rescues(advice: Advice) -> list[Rescue]:
    """Changes to the holding, the tool, the hardness or the tolerance, each alone and as small as it may be, that let a
    method stand.

    In the order in which a shop would try them: what costs nothing first, the drawing last.
    """
    callout = advice.callout
    found = []
    for support in ("tailstock", "chuck", "steady rest"):
        if support != callout.support:
            found.append(_tried(advice, "support", support, replace(callout, support=support)))
    found.append(_shorter(advice))
    other = "carbide" if callout.tool != "carbide" else "high-speed steel"
    found.append(_tried(advice, "tool", other, stated(callout, "tool", other)))
    for lathe in advice.shop.lathes:
        if lathe.name != advice.lathe.name:
            found.append(_tried(advice, "lathe", lathe.name, replace(callout, lathe=lathe.name)))
    found.append(_wider(advice))
    return [rescue for rescue in found if rescue]


def _tried(advice: Advice, name: str, value: float | str, callout: Callout) -> Rescue | None:
    method = choice(callout, advice.shop, advice.rules, advice.by)
    return Rescue(name, value, method) if method else None


def _shorter(advice: Advice) -> Any:
    """The longest stickout, in steps of a twentieth, at which a method stands; never shorter than the cut needs."""
    callout = advice.callout
    if callout.stickout is None:
        return None
    reach = advice.values["stickout"] - advice.values["cut_overhang"]
    least = max(reach + CLEARANCE, advice.values["depth"] + CLEARANCE)
    stickout = callout.stickout * SHORTER
    while stickout >= least:
        can_be_set = at_most(stickout, callout.units)
        can_be_set = can_be_set if can_be_set >= least else stickout
        rescue = _tried(advice, "stickout", can_be_set, replace(callout, stickout=can_be_set))
        if rescue:
            return rescue
        stickout *= SHORTER
    return None


def _wider(advice: Advice) -> Rescue | None:
    """The narrowest tolerance, to two digits in the drawing's unit, with which a method stands."""
    callout = advice.callout
    tolerance, candidates = callout.tolerance, []
    while (tolerance := tolerance * WIDER) < min(callout.tolerance * WIDEST, callout.radius):
        both = (_two_digits(tolerance, callout.units), tolerance)
        candidates += [candidate for candidate in both if callout.tolerance < candidate < callout.radius]
    for candidate, stands in zip(candidates, _stand(advice, candidates), strict=True):
        rescue = _tried(advice, "tolerance", candidate, with_tolerance(callout, candidate)) if stands else None
        if rescue:
            return rescue
    return None


def _stand(advice: Advice, tolerances: list[float]) -> Any:
    """Whether any method stands at each of some tolerances [mm], all worked out at once: truth values."""
    if not tolerances:
        return []
    import numpy

    from advisor.engine import columns

    names = deciding_names(advice.rules)
    given = givens(advice.callout, advice.shop, advice.lathe)
    changed = with_tolerance(advice.callout, numpy.array(tolerances))
    given |= {name: getattr(changed, name) for name in ("tolerance", "radius_low", "radius_high")}
    found = columns.run(advice.rules, given, findings=False, want=names).values
    minutes = [numpy.broadcast_to(found[name], len(tolerances)) for name in names]
    return numpy.isfinite(minutes).any(axis=0).tolist()


def _two_digits(mm: float, units: str) -> float:
    """A length rounded up to two digits of its unit."""
    unit = INCH if units == "inch" else 1.0
    step = 10.0 ** (math.floor(math.log10(mm / unit)) - 1)
    return round(math.ceil(mm / unit / step - 1e-9) * step, 9) * unit
