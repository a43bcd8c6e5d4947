"""How a lathe is measured, with pictures: as text for a terminal, or as pages of a file."""

import textwrap

from advisor.asked import new_shop
from advisor.asked import shop as shops
from advisor.drawing import measuring
from advisor.show import pictures

ROOM = (120.0, 92.0)  # mm of paper for one picture in a file
COLUMNS, ROWS = 78, 26  # of a terminal, for one picture


def drawn_lathe(shop, units):
    """The lathe whose numbers are shown, and whose it is: the first of the shop that has them all, else the invented
    one of a new file. shop: a Shop or None."""
    for lathe in shop.lathes if shop else ():
        if measuring.can_be_drawn(lathe):
            return lathe, f"The numbers are those of {lathe.name} in {shop.name}."
    made = shops.read_text(new_shop.filled_in(units), "new shop")
    return made.lathes[0], "The numbers are those of an invented lathe: put your own in their place."


def screen(shop, units, *, ascii_only=False):
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


def pages(shop, units, ending):
    """A page for each picture with what is done, as bytes. ending: "svg", "png" or "pdf"."""
    from advisor.show import typeset

    lathe, whose = drawn_lathe(shop, units)
    made = []
    for number, shown in enumerate(measuring.pictures(lathe, units, room=ROOM), start=1):
        says = [f"{letter}. {step}" for letter, step in zip("abcdefgh", shown.steps)]
        made.append(typeset.page_of_picture(shown.picture, says=[f"{number}. {shown.title.upper()}", *says, whose]))
    return typeset.typeset("\n#pagebreak(weak: true)\n".join(made), ending)


def _in_room(picture, room):
    """A Picture in the middle of a room whose lower left corner is at 0."""
    x, y, x2, y2 = picture.box
    return picture.moved((room[0] - x - x2) / 2, (room[1] - y - y2) / 2)
