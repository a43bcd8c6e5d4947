"""The numbers of freehand turning in words, and the table of a step-off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.formulas import freehand
from advisor.ground import dials
from advisor.show.derived import derived, line_of
from advisor.show.rows import WORD, Table
from advisor.study import equations

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from typing import Any

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.formulas.numeric import Values
    from advisor.ground.dials import Reading
    from advisor.show.rows import Rows
    from advisor.study.derive import Derivation


def shown(r: Rows) -> set[str]:
    """What there is to set: the file alone, chamfer and file, a step-off, or the way by eye."""
    v = r.values
    if v["touched_with_a_file"]:
        return {"filing_rpm"}
    if v["corner"] and v["convex"] and v["radius"] <= v["tiny_corner"]:  # without facets or steps
        return {"chamfer_leg_mm", "filing_rpm"}
    if _stepped(r):
        return {"way", "nose_radius_mm", "cusp_mm", "filing_rpm"}
    halved = r.setup["chamfer_leg_mm"]
    facets = {"then_facets"} if halved else {"facets", "compound_at", "facets_leave"}
    return {"way", "chamfer_leg_mm", "filing_rpm", *facets} | ({"nose_radius_mm"} if v["led_by_hand"] else set())


def _stepped(r: Rows) -> bool:
    return r.values["freehand_way"] == "stepped off"


def way(r: Rows) -> str:
    """By eye or stepped off, and how often it will be gauged and corrected."""
    steps = f"stepped off by the dials, {wording.number(r.values['steps_off'])} steps"
    return f"{steps if _stepped(r) else 'by eye'}{_rounds(r.values['freehand_rounds'])}"


def _rounds(rounds: float) -> str:
    if not rounds:
        return ""
    return f", then about {wording.number(rounds)} round{'s' if rounds > 1 else ''} of gauging and correcting"


def nose_radius_mm(r: Rows) -> str:
    """The nose, as it is marked."""
    return r.marked(r.setup["nose_radius_mm"])


def cusp_mm(r: Rows) -> str:
    """What the steps leave standing."""
    return r.finely(r.setup["cusp_mm"])


def chamfer_leg_mm(r: Rows) -> str:
    """The chamfer that the facets begin with."""
    return f"{r.length(r.setup['chamfer_leg_mm'])} leg, at 45°" if r.setup["chamfer_leg_mm"] else ""


def then_facets(r: Rows) -> str:
    """The facets of a corner by halving."""
    found = r.setup["facets"]
    standing = r.finely(found[2]["standing_mm"]) if found and r.values["corner"] else ""
    angles = ", ".join(f"{wording.number(f['angle_deg'], 2)}°" for f in found[1:3])
    return f"{angles}; {standing} still stands" if standing else ""


def facets(r: Rows) -> str:
    """How many facets by the compound's angle, and how wide."""
    found = r.setup["facets"]
    return f"{len(found)}, each {r.length(r.values['facet_width'])} wide" if found else ""


def compound_at(r: Rows) -> str:
    """The angles of the compound."""
    found = r.setup["facets"]
    angles = ", ".join(f"{wording.number(f['angle_deg'], 1)}°" for f in found)
    return f"{angles} from the axis" if found else ""


def facets_leave(r: Rows) -> str:
    """What stands between the facets."""
    return r.finely(r.values["facet_standing"]) if r.setup["facets"] else ""


def filing_rpm(r: Rows) -> str:
    """The speed at most, where a file has a place in this work at all."""
    v, rpm = r.values, r.setup["filing_rpm"]
    near = not v["convex"] and v["jaw_gap"] < v["filing_room"]
    return f"{r.speed(rpm)} at most" if rpm and v["file_serves"] and not near else ""


def table(method: MethodAdvice, advice: Advice, cell: Callable[[float], str]) -> Table | None:
    """The step-off; None where none is made."""
    if advice.values["freehand_way"] != "stepped off" or not method.to_set["step_off"]:
        return None
    return _step_off(method.to_set["step_off"], advice, cell)


def _step_off(points: Sequence[Mapping[str, float]], advice: Advice, cell: Callable[[float], str]) -> Table:
    """The step-off table: the readings of both dials, and the coordinates as the drawing counts them where those
    differ."""
    values, units = advice.values, advice.callout.units
    readings = dials.step_off(points, advice)
    heads, columns = [""], [[str(n) for n in range(1, len(points) + 1)]]
    across, along = _ways(values)
    for way, key, place in ((across, "x_in_mm", 0), (along, "z_in_mm", 1)):
        found = [reading[place] for reading in readings]
        if dials.differs(found[0], units) or not found[0].dial.graduation > 0:
            heads.append(f"{way}, {WORD[units]}")
            columns.append([cell(point[key]) for point in points])
            if not dials.differs(found[0], units):
                continue
            way = ""
        dial = found[0].dial
        heads.append(", ".join(filter(None, (way, dial.name, "diameter" if dial.doubled else "", WORD[dial.units]))))
        columns.append([dials.figure(r.counts, dial.units, dials.decimals(dial)) for r in found])
        if any(r.turns for r in found):
            heads.append("turns + divisions")
            columns.append([f"{r.turns} + {r.lines:g}" if r.turns else "" for r in found])
    edge = "" if values["end"] or values["corner"] else "; along the bed zero by the edge nearer the tailstock"
    note = f"counted from where the nose touched{edge}{_rounded(readings)}"
    return Table("Step-off", note, heads, list(zip(*columns, strict=True)))


def _ways(values: Values) -> tuple[str, str]:
    """Which way the two columns of a step-off count, in words."""
    if values["end"]:
        return "toward the axis", "behind the face"
    if not values["corner"]:
        return "toward the axis", "toward the headstock"
    return ("toward the axis", "behind the face") if values["convex"] else ("out from the axis", "off the shoulder")


def _rounded(readings: Sequence[tuple[Reading, Reading]]) -> str:
    """Which slide goes along the bed, and what the rounding of a whole table leaves at most, in words."""
    every = [reading for pair in readings for reading in pair if reading.dial.graduation > 0]
    most = max((abs(r.left) for r in every), default=0.0)
    text = dials.left_over(max(every, key=lambda r: abs(r.left))) if most else ""
    slide = (
        "; along the bed by the compound slide, set parallel to it"
        if readings[0][1].dial.name == dials.COMPOUND
        else ""
    )
    return slide + (f"; dials to half a graduation, which leaves at most {text.rsplit(' ', 1)[0]}" if text else "")


def table_numbers(method: MethodAdvice, advice: Advice) -> list[tuple[str, list[Derivation]]]:
    """One line of the step-off, worked out."""
    steps, v = method.to_set["step_off"], advice.values
    if v["freehand_way"] != "stepped off" or not steps:
        return []
    number = max(1, len(steps) // 3)
    return [(f"Step-off: line {number + 1}", _step(steps, number, method, v, advice))]


def _cusp(method: MethodAdvice, advice: Advice) -> Derivation:
    """The cusps that the step-off of the screen leaves, whose step is the swing in as many parts."""
    v, setup = advice.values, method.to_set
    step = freehand.swing(sweep=v["sweep"], end=v["end"]) / (len(setup["step_off"]) - 1)
    nose = {"radius": v["radius"], "nose_radius": setup["nose_radius_mm"], "convex": v["convex"]}
    return derived(freehand.cusp, "cusps left", setup["cusp_mm"], advice, step=step, **nose)


DERIVED = {"cusp_mm": _cusp}

_STEP = {
    ("corner", "convex"): ("Q (1 − sin φ)", "Q (1 − cos φ)"),
    ("corner", "concave"): ("Q (1 − sin φ)", "Q (1 − cos φ)"),
    ("end", "convex"): ("D/2 + n − Q sin φ", "Q (1 − cos φ)"),
    ("end", "concave"): ("D/2 + n − Q sin φ", "s − Q (1 − cos φ)"),
    ("outside diameter", "concave"): ("s − Q (1 − cos φ)", "h + Q sin φ"),
    ("outside diameter", "convex"): ("Q (1 − cos φ)", "h + Q sin φ"),
}


def _step(
    steps: Sequence[Mapping[str, Any]], number: int, method: MethodAdvice, v: Values, advice: Advice
) -> list[Derivation]:
    nose = method.to_set["nose_radius_mm"]
    path = float(freehand.nose_path(radius=v["radius"], nose_radius=nose, convex=v["convex"]))
    rim = 90.0 if v["corner"] else v["sweep"] / 2
    first = 0.0 if v["corner"] or v["end"] else -rim
    symbols = {
        "Q": path,
        "D": v["diameter"],
        "n": nose,
        "s": v["depth"],
        "h": v["half_of_steps"],
        "φ": first + (rim - first) * number / (len(steps) - 1),
    }
    found = [
        derived(
            freehand.nose_path,
            "path of the nose",
            path,
            advice,
            radius=v["radius"],
            nose_radius=nose,
            convex=v["convex"],
        )
    ]
    ways = (("X", "x_in_mm", "across"), ("Z", "z_in_mm", "along"))
    for (left, key, way), text in zip(ways, _STEP[v["location"], v["form"]], strict=True):
        parsed = equations.parse(text, set(symbols))
        found.append(line_of(left, text, parsed, symbols, steps[number][key], way, advice))
    return found
