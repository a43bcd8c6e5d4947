"""`quote`: a customer's list as a quote."""

from argparse import Namespace

from advisor.commands import into_a_file, on_a_callout, on_a_list, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door

HELP = "a customer's list as a quote, with the questions to ask"


def options(parser: Parser) -> None:
    on_a_list.options(parser, by="cost")
    parser.add_argument("-o", "--output", metavar="FILE", help="the quote, by its ending a .xlsx or .pdf")
    into_a_file.replace_option(parser)
    parser.add_argument(
        "--for", metavar="TEXT", dest="customer", help="the customer's name; a blank to fill in if left out"
    )
    parser.add_argument("--number", metavar="TEXT", help="the quote's number; a blank if left out")
    parser.add_argument(
        "--valid", metavar="DAY", help="the last day it holds, or '30 days' from today; a blank if left out"
    )
    on_a_callout.field_options(parser)
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """Price the list, write the quote, and sum it up on a screen."""
    import datetime

    from advisor.lists import quote as quotes
    from advisor.show import batch as accounts
    from advisor.show import quote as page

    target = into_a_file.target(options, page.ENDINGS)
    given = {name: getattr(options, name) for name in ("customer", "number", "valid")}
    above = quotes.read_letterhead(day=datetime.date.today(), **given)
    source, order = on_a_list.opened(options, door)
    door.show(accounts.account(order, source))
    found = quotes.quote(source, order)
    every_line = accounts.every_line(order, sent=True)
    pages = page.rendered(found, into_a_file.kind(target), every_line=every_line, above=above)
    door.show(page.screen(found))
    into_a_file.write(target, pages, options, door)
    return DONE if all(line.prices for line in found.lines) else NO_METHOD
