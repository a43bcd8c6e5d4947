"""Shops on a terminal: all of them, what one can do, and how one is measured. Builds rich renderables; cli.py prints
them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.show.blocks import head, indented, paragraph
from advisor.show.blocks import table as headed
from advisor.study.ability import FORMS, GENERAL, LEAST, LOCATIONS, MOST, inward, upward

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import RenderableType

    from advisor.asked.shop import Lathe, Shop
    from advisor.study.ability import Ability, Reach

    Shops = Iterable[Shop | tuple[str, str]]  # with the name of one that cannot be read, and what is wrong

MOST_HELPS = 5
ENDS = 1.02  # a reach that begins or ends so near to the first or last radius that was tried is not ended by the shop


def listing(carried: Shops, own: Shops, usual: str, chosen_by: str) -> Group:
    """All shops. carried, own: list of Shops, or of (name, what is wrong) for one that cannot be read; usual: name or
    path of the one that counts; chosen_by: who chose it."""
    parts: list[RenderableType] = [Text("SHOPS", style="bold"), _of("carried inside", carried)]
    if own:
        parts.append(_of("your own", own))
    parts += [
        Text(f"\nWhat counts: {usual} ({chosen_by})."),
        Text(
            "\nOne in detail: turn-radius shop NAME. Your own: turn-radius shop new, then shop use NAME.", style="dim"
        ),
    ]
    return Group(*parts)


def _of(title: str, found: Shops) -> Group:
    table = headed(("name", "left"), ("units", "left"), ("lathes", "left"))
    for shop in found:
        if isinstance(shop, tuple):
            table.add_row(shop[0], "", Text(shop[1], style="bold"))
        else:
            table.add_row(shop.name, shop.units, ", ".join(lathe.name for lathe in shop.lathes))
    return Group(head(title), indented(table))


def page(able: Ability, *, chosen_by: str = "", invented: Sequence[str] = ()) -> Group:
    """What one shop can do. able: Ability; chosen_by: who made it the usual one, "" where nobody did; invented: keys
    that hold what a new file holds."""
    shop = able.shop
    parts: list[RenderableType] = [Text(shop.name.upper(), style="bold")]
    if shop.about:
        parts.append(paragraph(shop.about))
    said = f"Sizes without a unit are in {'inches' if shop.units == 'inch' else 'mm'}."
    parts.append(paragraph(said + (f" It is the shop that counts: {chosen_by}." if chosen_by else "")))
    if invented:
        text = f"Still as a new file has it: {', '.join(invented)}. Measure them before you set anything by an answer."
        parts.append(Text(f"\n{text}", style="bold"))
    parts += [head("lathes"), *(paragraph(lathe_line(one, shop.units)) for one in shop.lathes)]
    parts += [head("radii that each method turns"), *_reaches(able)]
    parts += [head("finest tolerance that each method holds, plus and minus"), *_finest(able)]
    parts += [head("what it lacks that would help most"), *_helps(able)]
    return Group(*parts)


def lathe_line(lathe: Lathe, units: str) -> str:
    """A lathe in a sentence."""

    def size(mm: float) -> str:
        return wording.rule_length(mm, units)

    speeds = f"{lathe.spindle_speeds[0]:g} to {lathe.spindle_speeds[-1]:g} rpm"
    has = [name for name, part in (("compound", lathe.compound), ("rod seats", lathe.rod)) if part]
    return (
        f"{lathe.name}: swings {size(lathe.swing_over_bed)} over the bed and {size(lathe.swing_over_cross_slide)} over "
        f"the cross slide, takes {size(lathe.between_centres)} between centres, runs {speeds}"
        f"{', with ' + ' and '.join(has) if has else ''}."
    )


def _reaches(able: Ability) -> list[RenderableType]:
    table = headed(("", "left"), ("", "left"), *((place, "left") for place in LOCATIONS))
    gaps = False
    for form in FORMS:
        shown = form
        for name in able.methods:
            cells = []
            for place in LOCATIONS:
                found = able.reaches.get((name, form, place))
                cells.append(reach_words(found, able.shop.units))
                gaps = gaps or bool(found and not found.whole)
            if any(cell != "-" for cell in cells):
                table.add_row(shown, name, *cells)
                shown = ""
    lacking = [name for name in able.methods if not any(key[0] == name for key in able.reaches)]
    notes = [
        f"Low-carbon steel, the tolerance of {GENERAL}, work of any size that a lathe here takes, a journeyman. "
        "A tight tolerance, long work or a hard material makes it less."
    ]
    if gaps:
        notes.append("* Some radii between do not stand.")
    if lacking:
        notes.append(f"Nothing here by {' or '.join(lacking)}.")
    return [indented(table), *map(paragraph, ["", *notes])]


def reach_words(reach: Reach | None, units: str) -> str:
    """The radii that a method turns in one place; "-" for none, a * where some between do not stand."""
    if reach is None:
        return "-"
    told = inward(reach, units)
    low, high = (_bare(end, units) for end in (told.low, told.high))
    gap = "" if reach.whole else " *"
    if reach.low < LEAST * ENDS:
        return f"up to {high}{gap}"
    return f"from {low} up{gap}" if reach.high > MOST / ENDS else f"{low} to {high}{gap}"


def _bare(mm: float, units: str, digits: int = 3) -> str:
    """A length without its unit and without noughts at its end."""
    return wording.number(mm / 25.4 if units == "inch" else mm, digits)


def _finest(able: Ability) -> list[RenderableType]:
    units = able.shop.units
    table = headed(("", "left"), *((f"R{_bare(radius, units)}", "right") for radius in able.radii))
    for name in able.methods:
        if any(value == value for value in able.finest[name]):
            cells = ["-" if math.isnan(v) else _bare(upward(v, units), units, 4) for v in able.finest[name]]
            table.add_row(name, *cells)
    return [indented(table), paragraph("In the easiest place and work for it; elsewhere it takes more.")]


def _helps(able: Ability) -> list[RenderableType]:
    missed = able.tried - able.stand
    told = f"{able.stand} of {able.tried} usual radii can be made here at half the tolerance of {GENERAL}."
    table = headed(
        ("with it", "left"), ("more can be made", "right"), ("quicker", "right"), ("by, on average", "right")
    )
    helps = [one for one in able.helps if one.made or one.quicker and one.saved >= 0.01][:MOST_HELPS]
    for one in helps:
        saved = wording.percent(one.saved) if one.quicker else "-"
        table.add_row(one.kind, str(one.made) if missed else "-", str(one.quicker), saved)
    if not helps:
        return [paragraph(f"{told} Nothing that is commonly bought would add to them or make them quicker.")]
    return [paragraph(told), indented(table), paragraph("Each taken to be of the right size for the radius.")]
