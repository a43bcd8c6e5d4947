"""The materials that the tool knows, and what each cuts like at a given hardness. Read from rules/materials.toml."""

from __future__ import annotations

import functools
import tomllib
from typing import TYPE_CHECKING

from advisor.asked.grades import read_material, solid
from advisor.formulas.numeric import interpolate, otherwise, where
from advisor.ground.errors import RuleError, did_you_mean
from advisor.ground.folders import data_folder

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from typing import Any

    from advisor.formulas.numeric import Numeric, Truth


GROUPS = (
    "steel",
    "free-machining steel",
    "alloy steel",
    "tool steel",
    "stainless",
    "free-machining stainless",
    "cast iron",
    "brass",
    "bronze",
    "copper",
    "aluminium",
    "plastic",
    "titanium",
    "nickel alloy",
)
HARDENING_STEELS = ("steel", "free-machining steel", "alloy steel", "tool steel")
CHIPS = ("curly", "stringy", "crumbly")
TRUTHS = ("abrasive", "gummy")
SOURCES = ("speed", "finish", "carbide", "force", "elasticity", "angles", "form_angles")

# Each number of a row, and the limits beyond which it is a slip of the pen.
NUMBERS = {
    "hardness": (1, 750),
    "finish_factor": (1, 3),
    "carbide_rough_speed": (1, 2000),
    "carbide_finish_speed": (1, 3000),
    "cutting_force_1": (50, 6000),
    "cutting_force_slope": (0, 0.5),
    "modulus": (500, 500_000),
    "density": (500, 20_000),
    "rake": (-10, 40),
    "relief": (2, 20),
    "form_rake": (-10, 30),
    "form_relief": (2, 20),
}
KEYS = (
    *("name", "aliases", "group", "hardness_range", "rough_speed", "chip", "sources", "from_memory"),
    *NUMBERS,
    *TRUTHS,
)
HARDENED, HARDEST = "hardened", 750  # a key of what can be hardened; HB of any steel


@functools.cache
def materials() -> dict[str, dict[str, Any]]:
    """Every material by name: rows of rules/materials.toml as they stand there. Raises RuleError."""
    return read_materials(data_folder("rules") / "materials.toml")


def read_materials(path: Path) -> dict[str, dict[str, Any]]:
    """Materials of one file by name, checked. Raises RuleError that names file, material and key."""
    place = f"rules/{path.name}"
    try:
        rows = tomllib.loads(path.read_text(encoding="utf-8")).get("material")
    except OSError as error:
        raise RuleError(place, "", f"cannot be read ({error.strerror})", "Put the file back.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise RuleError(place, "", f"is not TOML: {error}", "Mend the line that is named.") from None
    if not isinstance(rows, list) or not rows:
        raise RuleError(place, "", "has no materials", "Begin each with [[material]].")
    found: dict[str, dict[str, Any]] = {}
    names: dict[str, str] = {}
    for number, row in enumerate(rows, start=1):
        name = row.get("name") if isinstance(row, dict) else None
        if not isinstance(name, str) or not solid(name):
            raise RuleError(f"{place}: material {number}", "", "has no name", 'Give it name = "…".')
        _check_row(row, f"{place}: {name}")
        for word in (name, *row["aliases"]):
            other = names.setdefault(solid(word), name)
            if other != name or (word == name and name in found):
                raise RuleError(f"{place}: {name}", f'"{word}"', f"is a name of {other} too", "Keep it at one of them.")
        found[name] = row
    return found


def find_material(name: str) -> dict[str, Any]:
    """The row of a material by its name or one of its aliases.

    As `grades.read_material` reads it. Raises CalloutError for one that is unknown.

    >>> find_material("AISI 12l14")["name"]
    'leaded low-carbon steel'
    """
    table = materials()
    return table[name] if name in table else table[read_material(name, table, hardness_stated=True).material]


def material_values(*, row: Mapping[str, Any], hardness: Numeric, carbide: Truth) -> dict[str, Numeric]:
    """What the material cuts like at a hardness: a dictionary of plain values.

    rough_speed, finish_speed [m/min]: straight turning with the tool in use; straight_speed_hss [m/min]: roughing with
    high-speed steel, of which form tools are made; cutting_force_1 [MPa], cutting_force_slope: Kienzle;
    modulus [MPa], density [kg/m³], rake, relief, form_rake, form_relief [deg], abrasive, gummy.

    row: from find_material; hardness [HB], number or array, the row's own where it is not a number; carbide: truth
    value. Carbide speed falls with hardness in the proportion of the high-speed steel table. Cutting force of
    steels grows in proportion to 220 + HB: within 6 % of the power constants of the machinery-handbook (p. 1147)
    for carbon, resulphurised and alloy steel of 100 to 360 HB. That of other materials is left as it is.

    >>> values = material_values(row=find_material("mild steel"), hardness=150.0, carbide=False)
    >>> values["rough_speed"], values["cutting_force_1"]
    (33.5, 1780.0)
    """
    hardness = otherwise(hardness, float(row["hardness"]))
    hss = _high_speed_steel(row, hardness)
    softening = hss / _high_speed_steel(row, float(row["hardness"]))
    rough = where(carbide, row["carbide_rough_speed"] * softening, hss)
    finish = where(carbide, row["carbide_finish_speed"] * softening, hss * row["finish_factor"])
    force_1 = float(row["cutting_force_1"])
    if row["group"] in HARDENING_STEELS:
        force_1 = force_1 * (220 + hardness) / (220 + row["hardness"])
    as_they_are = ("cutting_force_slope", "modulus", "density", "rake", "relief", "form_rake", "form_relief")
    return {
        "rough_speed": rough,
        "finish_speed": finish,
        "straight_speed_hss": hss,
        "cutting_force_1": force_1,
        **{name: float(row[name]) for name in as_they_are},
        **{name: row[name] for name in TRUTHS},
    }


def _high_speed_steel(row: Mapping[str, Any], hardness: Numeric) -> Numeric:
    middles = [(low + high) / 2 for low, high, _ in row["rough_speed"]]
    return interpolate(hardness, middles, [float(speed) for _, _, speed in row["rough_speed"]])


def _is_number(value: float) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _check_row(row: Mapping[str, Any], place: str) -> None:
    for key in KEYS:
        if key not in row:
            raise RuleError(place, f'"{key}"', "is missing", "See the head of the file for what it means.")
    for key in row:
        if key not in (*KEYS, HARDENED):
            known = (*KEYS, HARDENED)
            fix = f"{did_you_mean(key, known)}Known: {', '.join(known)}."
            raise RuleError(place, f'"{key}"', "is not a known key", fix)
    for key, (low, high) in NUMBERS.items():
        if not _is_number(row[key]) or not low <= row[key] <= high:
            raise RuleError(f"{place}: {key}", row[key], "cannot be right", f"Give a number from {low} to {high}.")
    for key, words in (("group", GROUPS), ("chip", CHIPS)):
        if row[key] not in words:
            raise RuleError(f"{place}: {key}", row[key], "is not a known word", f"Give one of {', '.join(words)}.")
    for key in TRUTHS:
        if not isinstance(row[key], bool):
            raise RuleError(f"{place}: {key}", row[key], "is not a truth value", "Give true or false.")
    if not _is_list_of(row["aliases"], str):
        raise RuleError(f"{place}: aliases", row["aliases"], "is not a list of names", 'Give them as ["1018", "C15"].')
    _check_hardness(row, place)
    _check_sources(row, place)


def tried_hardness(row: Mapping[str, Any]) -> tuple[float, float]:
    """The least and the largest hardness of a material that is tried where nobody states it [HB]: what it is sold and turned
    at, and hardened work where it can be hardened. row: of `materials`."""
    low, high = row["hardness_range"]
    return float(low), float(max(high, row.get(HARDENED, high)))


def _check_hardness(row: Mapping[str, Any], place: str) -> None:
    limits = row["hardness_range"]
    if not _is_list_of(limits, int, float) or len(limits) != 2 or not limits[0] <= row["hardness"] <= limits[1]:
        fix = f"Give two numbers with the hardness {row['hardness']} between them."
        raise RuleError(f"{place}: hardness_range", limits, "cannot be right", fix)
    hardened = row.get(HARDENED, HARDEST)
    if not _is_number(hardened) or not limits[1] <= hardened <= HARDEST:
        fix = f"Give a number from {limits[1]} to {HARDEST}, or leave it out."
        raise RuleError(f"{place}: {HARDENED}", hardened, "cannot be right", fix)
    place, fix = f"{place}: rough_speed", "Give rows of [HB from, HB to, m/min], softest first, without overlap."
    if not isinstance(row["rough_speed"], list) or not row["rough_speed"]:
        raise RuleError(place, row["rough_speed"], "is not a table", fix)
    before = 0
    for band in row["rough_speed"]:
        if not _is_list_of(band, int, float) or len(band) != 3:
            raise RuleError(place, band, "is not a row", fix)
        low, high, speed = band
        if not before <= low < high or not 0 < speed < 1000:
            raise RuleError(place, band, "cannot be right", fix)
        before = high


def _check_sources(row: Mapping[str, Any], place: str) -> None:
    sources = row["sources"]
    if not isinstance(sources, dict) or set(sources) != set(SOURCES) or not _is_list_of([*sources.values()], str):
        fix = f"Give a source for each of {', '.join(SOURCES)}."
        raise RuleError(f"{place}: sources", sources, "is not complete", fix)
    for group in row["from_memory"] if _is_list_of(row["from_memory"], str) else [row["from_memory"]]:
        if group not in SOURCES:
            raise RuleError(f"{place}: from_memory", group, "is not a group", f"Give some of {', '.join(SOURCES)}.")


def _is_list_of(value: Sequence[float | str], *kinds: type) -> bool:
    return isinstance(value, list) and all(isinstance(entry, kinds) and not isinstance(entry, bool) for entry in value)
