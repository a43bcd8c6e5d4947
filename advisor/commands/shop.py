"""`shop`: the shops, what one can do, a new shop file, and how a shop is measured."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands import into_a_file
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door
from advisor.ground.errors import CalloutError, ShopError

if TYPE_CHECKING:
    from pathlib import Path

    from advisor.asked.shop import Shop

HELP = "the shops, what one can do, a new shop file, and how a shop is measured"


def options(parser: Parser) -> None:
    parser.add_argument(
        "what", nargs="?", metavar="WHAT", help="a shop's name or file; or new, use or measure; a list if left out"
    )
    parser.add_argument("name", nargs="?", metavar="NAME", help="of new, use and measure: a shop's name or file")
    parser.add_argument("--units", metavar="TEXT", help="mm or inch: of a new file, of the pictures, or to be kept")
    parser.add_argument("-o", "--output", metavar="FILE", help="of measure: the pictures, a .svg, .png or .pdf")
    into_a_file.replace_option(parser)


def run(options: Namespace, door: Door) -> int:
    """What WHAT says: a list of shops, one of them, or what is done with one."""
    given = {"name": options.name, "--units": options.units, "--output": options.output, "--replace": options.replace}
    takes = {"new": ("name", "--units", "--replace"), "use": ("name", "--units")}
    takes["measure"] = ("name", "--units", "--output", "--replace")
    for option, value in given.items():
        if value and option not in takes.get(options.what, ()):
            after = f"shop {options.what}" if options.what else "shop"
            fix = (
                "It goes with turn-radius shop " + " or ".join(w for w, names in takes.items() if option in names) + "."
            )
            raise CalloutError(option, "" if value is True else value, f"does not go with {after}", fix)
    if options.units not in (None, "mm", "inch"):
        raise CalloutError("--units", options.units, "is not known", "Give mm or inch.")
    if options.what in takes:
        {"new": _new, "use": _use, "measure": _measure}[options.what](options, door)
    elif options.what:
        _show(options.what, door)
    else:
        _list(door)
    return DONE


def _list(door: Door) -> None:
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.ground.units import shown
    from advisor.show import shop as page

    def read(path: Path) -> Shop | tuple[str, str]:
        try:
            return shops.read_shop(path)
        except ShopError as problem:
            return path.stem, f"{len(problem.each)} wrong: turn-radius check {path}"

    own = [read(path) for path in shops.own_files()]
    usual, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    carried = [read(path) for path in sorted(shops.SHOPS.glob("*.toml"), key=lambda path: path.stem)]
    door.show(page.listing(carried, own, shown(usual, longest=300), chosen_by))


def _show(name: str, door: Door) -> None:
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.asked.new_shop import still_invented
    from advisor.show import shop as page
    from advisor.study.ability import ability

    shop = shops.read_shop(name)
    usual, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
    counts = chosen_by if settings.lasting(name) == usual else ""
    invented = still_invented(shops.written_tables(name), shop.units)
    door.show(page.page(ability(shop), chosen_by=counts, invented=invented))


def _new(options: Namespace, door: Door) -> None:
    from advisor.asked import new_shop, settings
    from advisor.asked import shop as shops
    from advisor.ground import whole_files

    path = shops.new_place(options.name or "my-shop")
    path = whole_files.check(path, ("toml",), replace=options.replace, field="shop", error=ShopError)
    units = options.units or settings.read().units or "mm"
    whole_files.write(path, [new_shop.text(units, path.stem).encode()], replace=options.replace)
    of = "inches" if units == "inch" else "millimetres"
    known = options.name and path.parent != shops.own_shops()
    name = str(path) if known else path.stem
    door.confirm(
        f"Wrote {path}, in {of}. Open it, put your own figures in, and take the # away in front of what you have.\n"
        f"Then: turn-radius check {path}\n      turn-radius shop use {name}"
    )


def _measure(options: Namespace, door: Door) -> None:
    from advisor.asked import settings
    from advisor.asked import shop as shops
    from advisor.show import measuring

    target = None if options.output is None else into_a_file.checked(options, into_a_file.PICTURES)
    shop = shops.read_shop(options.name) if options.name else None
    units = options.units or (shop.units if shop else settings.read().units or "mm")
    if target:
        into_a_file.write(target, measuring.pages(shop, units, into_a_file.kind(target)), options, door)
    else:
        door.say(measuring.screen(shop, units, ascii_only=door.ascii_only()))


def _use(options: Namespace, door: Door) -> None:
    from advisor.asked import new_shop, settings
    from advisor.asked import shop as shops
    from advisor.ground.units import shown

    if options.name is None and options.units is None:
        name, chosen_by = settings.usual_shop(shops.USUAL_SHOP)
        units = settings.read().units
        door.say(f"Shop: {shown(name, longest=300)} ({chosen_by}). Unit: {units or 'as the callout says'}.")
        return
    changed = {"units": options.units} if options.units else {}
    told = []
    if options.name is not None:
        shop = shops.read_shop(options.name)
        changed["shop"] = settings.lasting(options.name)
        told.append(f"{shop.name} is now the shop where none is named")
        if new_shop.still_invented(shops.written_tables(options.name), shop.units):
            told.append(
                "most of its figures are still the invented lathe's, so measure yours before you rely on an answer"
            )
    if options.units:
        unit = "inches" if options.units == "inch" else "mm"
        told.append(f"sizes without a unit on the command line are now in {unit}")
    place = settings.keep(**changed)
    door.confirm(f"{'; '.join(told)}. Kept in {place}.")
