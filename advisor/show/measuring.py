"""How a lathe is measured, with pictures: as text for a terminal, or as pages of a file."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.asked import new_shop
from advisor.asked import shop as shops
from advisor.drawing import measuring
from advisor.ground.units import INCH
from advisor.show import pictures

if TYPE_CHECKING:
    from advisor.asked.shop import Compound, Lathe, Shop
    from advisor.drawing.model import Picture


ROOM = (120.0, 92.0)  # mm of paper for one picture in a file
COLUMNS, ROWS = 78, 26  # of a terminal, for one picture


def drawn_lathe(shop: Shop | None, units: str) -> tuple[Lathe, str]:
    """The lathe whose numbers are shown, and whose it is: the first of the shop that has them all, else the shop's first
    with what is still to be measured on its compound made up to its swing, else the invented one of a new file. shop: a
    Shop or None."""
    for lathe in shop.lathes if shop else ():
        if shop and measuring.can_be_drawn(lathe):
            return lathe, f"The numbers are those of {lathe.name} in {shop.name}."
    made = shops.read_text(new_shop.filled_in(units), "new shop")
    if shop:
        own = shop.lathes[0]
        whose = (
            f"Swing and dials are those of {own.name} in {shop.name}; what its file lacks of the compound is invented."
        )
        return replace(own, compound=_made_up(own, made.lathes[0], units)), whose
    return made.lathes[0], "The numbers are those of an invented lathe: put your own in their place."


def _made_up(own: Lathe, invented: Lathe, units: str) -> Compound:
    """The compound of a lathe with what is not known taken from an invented lathe, to the scale of the swing."""
    line = 1.0 if units == "mm" else INCH / 20
    sized = own.swing_over_bed / invented.swing_over_bed
    scaled = {n: max(line, line * round(getattr(invented.compound, n) * sized / line)) for n in measuring.NEEDED}
    known = {n: getattr(own.compound, n) for n in measuring.NEEDED if own.compound and getattr(own.compound, n) >= 0}
    for pair in ("tip_past", "tip_short"):
        if {f"{pair}_min", f"{pair}_max"} - known.keys():  # one end without the other says nothing of the window
            known = {n: value for n, value in known.items() if not n.startswith(pair)}
    found = scaled | known
    found["travel"] = max(
        [found["travel"]] + [found[f"{p}_max"] - found[f"{p}_min"] for p in ("tip_past", "tip_short")]
    )
    if invented.compound is None:
        raise ValueError("the invented lathe has no compound")
    return replace(invented.compound, **found)


def screen(shop: Shop | None, units: str, *, ascii_only: bool = False) -> str:
    """Pictures and steps as text for a terminal."""
    lathe, whose = drawn_lathe(shop, units)
    room = (COLUMNS * pictures.CELL, ROWS * pictures.TALL)
    parts = ["\n".join(textwrap.wrap(f"HOW A LATHE IS MEASURED. {whose}", COLUMNS))]
    for number, shown in enumerate(measuring.pictures(lathe, units, room=room), start=1):
        lines = [f"{number}. {shown.title.upper()}"]
        lines += pictures.canvas(_in_room(shown.picture, room), COLUMNS, ROWS, ascii_only=ascii_only)
        for letter, step in zip("abcdefgh", shown.steps):
            lines += textwrap.wrap(f"{letter}. {step}", COLUMNS, subsequent_indent="   ")
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def pages(shop: Shop | None, units: str, ending: str) -> list[bytes]:
    """A page for each picture with what is done, as bytes. ending: "svg", "png" or "pdf"."""
    from advisor.show import typeset

    lathe, whose = drawn_lathe(shop, units)
    made = []
    for number, shown in enumerate(measuring.pictures(lathe, units, room=ROOM), start=1):
        says = [f"{letter}. {step}" for letter, step in zip("abcdefgh", shown.steps)]
        made.append(typeset.page_of_picture(shown.picture, says=[f"{number}. {shown.title.upper()}", *says, whose]))
    return typeset.typeset("\n#pagebreak(weak: true)\n".join(made), ending)


def _in_room(picture: Picture, room: tuple[float, float]) -> Picture:
    """A Picture in the middle of a room whose lower left corner is at 0."""
    x, y, x2, y2 = picture.box
    return picture.moved((room[0] - x - x2) / 2, (room[1] - y - y2) / 2)
