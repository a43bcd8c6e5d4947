"""`batch`: a whole list priced."""

from argparse import Namespace
from typing import Any

from advisor.commands import into_a_file, on_a_callout, on_a_list, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door

HELP = "price a whole list: CSV, XLSX, ODS or Parquet"


def options(parser: Parser) -> None:
    on_a_list.options(parser)
    parser.add_argument("-o", "--output", metavar="FILE", default="-", help="the priced list; - for standard output")
    into_a_file.replace_option(parser)
    parser.add_argument("--dry-run", action="store_true", help="show how each line is read, and price nothing")
    parser.add_argument(
        "--against", metavar="SHOP", help="price the list in another shop too, and tell what that saves"
    )
    on_a_callout.field_options(parser)
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """Read, price and write the list; what is told of it goes aside where the list itself is printed."""
    from advisor.asked import shop as shops
    from advisor.lists import files, pricing
    from advisor.show import batch as page

    against = None if options.against is None else shops.read_shop(options.against).name
    source, order = on_a_list.opened(options, door, against=options.against)
    aside = options.output == "-" and not options.dry_run
    if options.dry_run:
        door.show(page.account(order, source), aside=aside)
        return _dry_run(source, order, door)
    with (
        files.open_target(options.output, order, replace=options.replace, stream=door.written()) as target,
        page.progress(door.beside(), source.total) as progress,
    ):
        door.show(page.account(order, source), aside=aside)
        tally = pricing.price_list(source, target, order, progress=progress)
    door.show(page.summary(tally, row=source.row, against=against), aside=aside)
    return NO_METHOD if tally.failed else DONE


def _dry_run(source: Any, order: Any, door: Door) -> int:
    from advisor.lists import pricing
    from advisor.show import batch as page

    readings = pricing.read_list(source, order)
    for part in page.readings(readings, row=source.row):
        door.show(part)
    return NO_METHOD if readings.failed else DONE
