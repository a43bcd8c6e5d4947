"""`worth`: what more equipment would save on a list."""

from argparse import Namespace

from advisor.commands import into_a_file, on_a_callout, on_a_list, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "what a pivot attachment, a wider blank or gauges would save on a list"


def options(parser: Parser) -> None:
    on_a_list.options(parser)
    into_a_file.replace_option(parser, "the file of --keep")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    on_a_callout.field_options(parser)
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """What each purchase saves, on a screen or as JSON."""
    from advisor.lists import worth as purchases
    from advisor.show import batch as accounts
    from advisor.show import worth as page

    source, order = on_a_list.opened(options, door)
    if not options.json:
        door.show(accounts.account(order, source))
    found = purchases.worth(source, order)
    if options.json:
        door.data(page.answer(found))
    else:
        door.show(page.screen(found))
    return DONE
