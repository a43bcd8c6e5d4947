"""An answer as the JSON contract promises it: lengths _mm, angles _deg, _rpm, _min, never rounded."""

from __future__ import annotations

import dataclasses
import math
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.asked.callout import LENGTHS
from advisor.asked.options import plain as plain_options
from advisor.ground import dials
from advisor.rulebase.rulebook import KINDS
from advisor.show import reading

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.formulas.numeric import Values
    from advisor.ground.errors import InputError
    from advisor.rulebase.rulebook import Finding


def plain(value: Any) -> Any:
    """Anything of an answer as JSON takes it: unknown numbers as null, tuples as lists."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(part) for part in value]
    return value


_UNITS = {"time": "min", "length": "mm", "roughness": "um", "angle": "deg"}
_SUFFIX = {"finish": "finish_um", "hardness": "hardness_hb"} | {
    name: f"{name}_{_UNITS[option.dimension]}" for name, option in plain_options().items() if option.dimension
}


def _name(name: str) -> str:
    return f"{name}_mm" if name in LENGTHS else _SUFFIX.get(name, name)


def answer(advice: Advice) -> dict[str, Any]:
    """The whole answer as plain data, ready for json.dumps."""
    v = advice.values
    callout = {
        _name(f.name): getattr(advice.callout, f.name)
        for f in dataclasses.fields(advice.callout)
        if f.name not in ("assumed", "read", "notes", "expect", "shop", "lathe")
    }
    callout["tolerance_from"] = str(advice.callout.tolerance_from)
    callout |= {"shop": advice.shop.name, "lathe": advice.lathe.name}
    return plain(
        {
            "callout": callout,
            "read": [
                {"name": entry.name, "written": entry.written, "as": entry.value, "why": reading.reason(entry)}
                for entry in advice.callout.read
            ],
            "notes": reading.notes(advice.callout),
            "assumed": [
                {
                    "name": entry.name,
                    "value": entry.value,
                    "from": entry.origin,
                    "matters": bool(turns),
                    "turns": [{"value": value, "method": method} for value, method in turns],
                }
                for entry, turns in advice.assumed
            ],
            "geometry": {
                "depth_mm": v["depth"],
                "chord_mm": v["chord"],
                "arc_length_mm": v["arc_length"],
                "sweep_deg": v["sweep"],
                "removed_mm3": v["removed_volume"],
                "centre_from_axis_mm": v["centre_from_axis"],
                "centre_from_face_mm": None if advice.callout.position_open else v["centre_from_face"],
                "tolerance_mm": v["tolerance"],
                "depth_tolerance_mm": v["depth_tolerance"],
            },
            "recommended": advice.recommended,
            "chosen_by": advice.by,
            "close_call": advice.close_call,
            "nearest": advice.nearest and advice.nearest.name,
            "shortfall": _shortfall(advice),
            "proof": _proof(advice),
            "hand_work": _hand_work(v),
            "records": records(advice),
            "why": wording.why(advice),
            "methods": {name: _method(method, advice) for name, method in advice.methods.items()},
        }
    )


def _shortfall(advice: Advice) -> dict[str, Any] | None:
    """What the nearest method would still take, where none stands; None where one does."""
    short = advice.shortfall
    return (
        None
        if short is None
        else {
            "method": short.name,
            "in_tolerance": short.chance,
            "pieces_to_start": short.pieces,
            "minutes": short.minutes,
            "cost": short.cost,
            "settle": wording.to_settle(advice),
        }
    )


def _check(check: Mapping[str, Any], advice: Advice) -> dict[str, Any]:
    return {
        "how": wording.how(check["way"], advice.values),
        "size_mm": check["size_mm"],
        "reading_mm": check["reading_mm"],
        "sees_mm": check["sees_mm"],
        "proves": check["proves"],
    }


def _proof(advice: Advice) -> dict[str, Any]:
    """What the tolerance leaves of the profile, and what every gauge in the shop is worth for it."""
    ways = next(iter(advice.methods.values())).checks
    return {
        "profile_tolerance_mm": advice.values["profile_tolerance"],
        "best_sees_mm": advice.values["best_sees"],
        "ways": [
            {
                "way": check["way"],
                "how": wording.how(check["way"], advice.values),
                "sees_mm": check["sees_mm"],
                "use": check["use"],
                "because": wording.cannot_be_used(check, advice),
            }
            for check in ways
        ],
    }


def _hand_work(v: Values) -> dict[str, Any]:
    """Both ways of working by hand: what each takes, and which one the answer goes by."""
    return {
        "way": v["freehand_way"],
        "floor_mm": v["freehand_floor"],
        "by eye": {"spread_mm": v["eye_spread"], "rounds": v["eye_rounds"], "minutes": v["eye_minutes"]},
        "stepped off": {
            "spread_mm": v["step_spread"],
            "steps": v["steps_off"],
            "rounds": v["step_rounds"],
            "minutes": v["step_minutes"],
        },
    }


def records(advice: Advice) -> dict[str, Any] | None:
    """What the records changed, as plain data; None where there are none."""
    drawn = advice.experience
    if not drawn:
        return None
    return plain(
        {
            "jobs": drawn.jobs,
            "left_out": drawn.left_out,
            "order_without_records": list(advice.order_without_records),
            "changed_choice": advice.order_without_records[:1] != advice.order[:1],
            "changed_order": advice.order_without_records != advice.order,
            "figures": [figure._asdict() for figure in drawn.figures],
        }
    )


def _method(method: MethodAdvice, advice: Advice) -> dict[str, Any]:
    minutes = dict(method.minutes)
    minutes.pop("arcs")
    return {
        "standing": method.standing,
        "rank": method.rank,
        "minutes": minutes,
        "set_error_mm": method.set_error,
        "piece_error_mm": method.piece_error,
        "in_tolerance": method.in_tolerance,
        "holds_mm": method.holds,
        "cost": method.cost,
        "reasons": [_reason(f, advice) for f in method.findings],
        "setup": method.setup,
        "dials": _dials(method, advice),
        "steps": [wording.spoken(f, advice) for f in method.steps],
        "checks": [_check(check, advice) for check in method.checks if check["sees_mm"] is not None],
        "cautions": list(dict.fromkeys(wording.spoken(f, advice) for f in method.cautions)),
    }


def _dials(method: MethodAdvice, advice: Advice) -> dict[str, Any]:
    """What the dials show for the numbers of a setup: by name of the rule base, and for each position of a step-off."""
    if method.setup is None:
        return {}
    found = {name: dials.plain(reading) for name, reading in dials.readings(method.name, advice).items()}
    points = method.setup.get("step_off") or []
    steps = [
        {"across": dials.plain(across), "along": dials.plain(along)} for across, along in dials.step_off(points, advice)
    ]
    zero = "first position, nearer the tailstock" if advice.values["outside"] else "touch"
    return found | ({"step_off": steps, "step_off_zero_along": zero} if steps else {})


def _reason(finding: Finding, advice: Advice) -> dict[str, Any]:
    effect = {"kind": finding.kind, "on": finding.target, "amount": finding.amount}
    if KINDS[finding.kind].speaks:
        effect = {"kind": finding.kind, "says": wording.spoken(finding, advice)}
    return {
        "rule": finding.rule_id,
        "effect": effect,
        "because": wording.because(finding, advice),
        "source": finding.rule.source,
        "facts": finding.facts,
    }


def error(problem: InputError) -> dict[str, Any]:
    """What is wrong as plain data: the first error, and all that were found together."""
    told = [_one_error(one) for one in problem.each]
    return {"error": told[0], "errors": told}


def _one_error(problem: InputError) -> dict[str, Any]:
    value = plain(problem.value) if isinstance(problem.value, (str, int, float, bool)) else str(problem.value)
    return {"field": problem.field, "value": value, "problem": problem.problem, "fix": problem.fix}
