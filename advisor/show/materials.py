"""The materials on a terminal: what there is, by which names, and what a name is taken as. cli.py prints them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.asked.grades import names, read_material, solid
from advisor.asked.materials import material_values, materials
from advisor.formulas.hardness import brinell
from advisor.ground.errors import CalloutError
from advisor.ground.units import read_hardness
from advisor.show.blocks import grid, head, indented, paragraph

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from typing import Any

    from rich.console import RenderableType
    from rich.padding import Padding
    from rich.table import Table

    from advisor.asked.grades import Grade

FIRST_NAMES = 6  # other names of a material in the list of all of them


def listing() -> Group:
    """Every material with its usual hardness and the first of its other names."""
    return Group(
        _list(materials()), paragraph(f"\n{_count()} names in all. turn-radius materials NAME tells one whole.")
    )


def page(word: str) -> RenderableType:
    """What a word is taken as, with all other names of that material; a list where it is part of several names.

    Raises CalloutError where it is in none.
    """
    table = materials()
    try:
        found = read_material(word, table, hardness_stated=True)
    except CalloutError:
        part = solid(word)
        within = {grade.material for name, grade in names(table).items() if part and part in name}
        if not within:
            raise
        return _list({name: row for name, row in table.items() if name in within})
    row = table[found.material]
    told: list[RenderableType] = [head(found.material)]
    if solid(word) != solid(found.material):
        told.append(paragraph(f"{word.strip()} is taken as {found.material}."))
    low, high = row["hardness_range"]
    facts = grid({"no_wrap": True}, {"overflow": "fold"})
    facts.add_row("Usual hardness", f"{row['hardness']:g} HB, from {low:g} to {high:g} HB")
    if found.hardness:
        facts.add_row("Under this name", found.hardness)
    hardness = brinell(*read_hardness(found.hardness or row["hardness"], field="hardness"))
    for carbide, tool in ((False, "High-speed steel"), (True, "Carbide")):
        speed = material_values(row=row, hardness=hardness, carbide=carbide)["rough_speed"]
        metric, feet = (wording.in_unit(float(speed), "m/min", inch=inch) for inch in (False, True))
        facts.add_row(tool, f"roughs it at {metric} ({feet})")
    facts.add_row("Chips", row["chip"])
    others = [grade for grade in names(table).values() if grade.material == found.material]
    own = [grade for grade in others if grade.hardness]
    told += [indented(facts), head("Other names"), paragraph(", ".join(g.name for g in others if not g.hardness))]
    if own:
        told += [head("Other names with a hardness of their own"), _with_hardness(own)]
    return Group(*told)


def _with_hardness(grades: Sequence[Grade]) -> Padding:
    made = grid({"no_wrap": True}, {"overflow": "fold"})
    for hardness in dict.fromkeys(grade.hardness for grade in grades):
        made.add_row(hardness, ", ".join(grade.name for grade in grades if grade.hardness == hardness))
    return indented(made)


def _list(rows: Mapping[str, Mapping[str, Any]]) -> Table:
    made = grid({"overflow": "fold", "max_width": 28}, {"justify": "right", "no_wrap": True}, {"overflow": "fold"})
    for name, row in rows.items():
        shown = row["aliases"][:FIRST_NAMES]
        made.add_row(Text(name, style="bold"), f"{row['hardness']:g} HB", ", ".join(shown))
    return made


def _count() -> int:
    return len(names(materials()))
