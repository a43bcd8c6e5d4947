"""Shops drawn at random with strange but stated limits: a tiny swing, a slow chuck, a short bed, a weak motor, one
spindle speed, a slide that hardly goes. Only what the reader of shop files takes is kept.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

import numpy

from advisor.asked import shop as shops
from advisor.ground.errors import InputError
from advisor.ground.units import read_quantity

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from advisor.asked.shop import Shop

FAMILIES = 24  # shops of a family share lists and own limits, so that their callouts share columns
STRANGE = 0.3  # share of the sizes that are far from those of the shop that a drawn one starts from
FARTHEST = 20.0  # times smaller or larger
TRIES = 60
SIZED = {
    "lathe": (
        "swing_over_bed", "swing_over_cross_slide", "between_centres", "chuck_diameter", "chuck_depth", "tool_overhang",
    ),
    "compound": (
        "tip_past_min", "tip_past_max", "tip_short_min", "tip_short_max", "travel", "front", "half_width",
        "largest_work_over",
    ),
    "rod": ("headstock_min", "headstock_max", "tailstock_min", "tailstock_max"),
    "pivot": (
        "convex_min", "convex_max", "concave_min", "concave_max", "post_diameter", "largest_work_over", "base_half_width",
    ),
}  # fmt: skip
OWN_LIMITS = {
    "fastest_filing_rpm": (20.0, 3000.0, "rpm"),
    "chuck_clearance": (0.5, 60.0, "mm"),
    "filing_room": (2.0, 200.0, "mm"),
    "jaw_room": (1.0, 60.0, "mm"),
    "tool_reclamped": (0.5, 60.0, "mm"),
    "drive_efficiency": (0.05, 1.0, None),
    "form_tool_speed_share": (0.05, 1.0, None),
}


@functools.cache
def drawn(count: int, seed: int = 1) -> tuple[Shop, ...]:
    """So many shops, each of one lathe, the same for a seed: tuple of Shop."""
    rng = numpy.random.default_rng(seed)
    start, source = shops.tables_of(shops.USUAL_SHOP)
    families = [_family(rng, start) for _ in range(FAMILIES)]
    found = []
    for number in range(count):
        for _ in range(TRIES):
            tables = _shop(rng, start, families[number % FAMILIES]) | {"name": f"drawn shop {number}"}
            try:
                found.append(shops.shop_of(tables, source))
                break
            except InputError:
                continue
    return tuple(found)


def _log(rng: numpy.random.Generator, low: float, high: float) -> float:
    return float(numpy.exp(rng.uniform(numpy.log(low), numpy.log(high))))


def _mm(size: str) -> float:
    return read_quantity(size, field="size", dimension="length")


def _family(rng: numpy.random.Generator, start: Mapping[str, Any]) -> dict[str, Any]:
    """Lists and own limits that several shops share."""
    speeds = sorted({round(_log(rng, 12, 9_000)) for _ in range(rng.integers(1, 13))})
    limits = {}
    for name, (low, high, unit) in OWN_LIMITS.items():
        if rng.random() < 0.25:
            value = round(_log(rng, low, high), 3)
            limits[name] = value if unit is None else f"{value} {unit}"
    return {
        "spindle_speeds": speeds,
        "nose_radii": sorted({round(_log(rng, 0.1, 12), 2) for _ in range(rng.integers(0, 5))}),
        "form_tools": start["form_tools"] if rng.random() < 0.4 else _form_tools(rng),
        "rods": [{"seat_to_seat": round(_log(rng, 60, 3000), 1)} for _ in range(rng.integers(0, 4))],
        "limits": limits,
        "gauges": {"set": [{"leaves": [round(_log(rng, 0.5, 200), 1) for _ in range(4)]}]}
        if rng.random() < 0.7
        else {},
    }


def _form_tools(rng: numpy.random.Generator) -> dict[str, Any]:
    found: dict[str, Any] = {"grinding": str(rng.choice(shops.GRINDING))}
    if rng.random() < 0.8:
        found["widths"] = [round(_log(rng, 2, 60), 1) for _ in range(rng.integers(1, 4))]
    ready = [
        {
            "radius": round(_log(rng, 0.5, 200), 2),
            "form": str(rng.choice(shops.FORMS)),
            "width": round(_log(rng, 2, 300), 1),
        }
        for _ in range(rng.integers(0, 4))
    ]
    return found | ({"ready": ready} if ready else {})


def _moved(rng: numpy.random.Generator, table: Mapping[str, Any], kind: str) -> dict[str, Any]:
    """A table with some of its sizes far from where they were, and some of what may be left out left out."""
    made = dict(table)
    for name in SIZED[kind]:
        if name in made:
            far = _log(rng, 1 / FARTHEST, FARTHEST) if rng.random() < STRANGE else 1.0
            made[name] = round(_mm(made[name]) * far, 3)
    for low in [name for name in made if name.endswith("_min")]:
        high = low.removesuffix("_min") + "_max"
        made[low], made[high] = sorted([made[low], made[high]])
    return made


def _lathe(rng: numpy.random.Generator, start: Mapping[str, Any], family: Mapping[str, Any]) -> dict[str, Any]:
    lathe = _moved(rng, start, "lathe")
    scale = _log(rng, 0.12, 4) if rng.random() < 0.7 else 1.0
    for name in SIZED["lathe"]:
        lathe[name] = round(lathe[name] * scale, 2)
    for name in ("swing_over_cross_slide", "chuck_diameter"):
        lathe[name] = min(lathe[name], lathe["swing_over_bed"])
    lathe["spindle_speeds"] = family["spindle_speeds"]
    lathe["motor_power"] = f"{round(_log(rng, 0.05, 15), 3)} kW"
    lathe.pop("nose_radii", None)
    if family["nose_radii"]:
        lathe["nose_radii"] = family["nose_radii"]
    rated = rng.random()
    lathe.pop("chuck_highest_speed")
    if rated < 0.6:
        lathe["chuck_highest_speed"] = round(_log(rng, family["spindle_speeds"][0], 9_000))
    elif rated < 0.8:
        lathe["chuck_highest_speed"] = family["spindle_speeds"][0]
    for part in ("compound", "rod"):
        if rng.random() < 0.15:
            lathe.pop(part)
        else:
            lathe[part] = _moved(rng, lathe[part], part)
    if "rod" in lathe:
        lathe["rod"]["largest_tilt"] = round(_log(rng, 0.5, 80), 1)
    if "compound" in lathe and rng.random() < 0.5:
        for name in ("front", "half_width", "largest_work_over", "travel"):
            if rng.random() < 0.5:
                lathe["compound"].pop(name, None)
    return lathe


def _shop(rng: numpy.random.Generator, start: Mapping[str, Any], family: Mapping[str, Any]) -> dict[str, Any]:
    shop = {key: value for key, value in start.items() if key not in ("rods", "about", "inch_tolerances")}
    lathe = _lathe(rng, shop["lathe"][0], family)
    shop["lathe"] = [lathe]
    shop["form_tools"] = family["form_tools"]
    shop["gauges"] = {key: value for key, value in start["gauges"].items() if key != "set"} | family["gauges"]
    if family["limits"]:
        shop["limits"] = family["limits"]
    pivot = _moved(rng, shop.pop("pivot_attachment"), "pivot")
    if rng.random() < 0.85 and pivot["largest_work_over"] < lathe["swing_over_bed"]:
        shop["pivot_attachment"] = pivot
    if family["rods"] and "rod" in lathe:
        shop["rods"] = family["rods"]
    return shop
