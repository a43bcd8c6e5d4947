"""`sheet`: a page for the lathe."""

from argparse import Namespace

from advisor.commands import into_a_file, on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door

HELP = "a page for the lathe: drawings to scale, numbers to set, steps to tick"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("-o", "--output", metavar="FILE", help="the page, by its ending a .pdf, .svg, .png or .html")
    parser.add_argument(
        "--paper", metavar="NAME", help="A4 or Letter; Letter for inch drawings and A4 for others if left out"
    )
    parser.add_argument("--method", metavar="NAME", help="another method that stands, instead of the recommended one")
    parser.add_argument(
        "--why", action="store_true", help="a second page with the reasons and the formulas with numbers"
    )
    into_a_file.replace_option(parser)
    with_records.options(parser)
    on_a_callout.by_option(parser)


def run(options: Namespace, door: Door) -> int:
    """Write the page, and keep the job by a number."""
    from advisor.show import sheet_content as sheets
    from advisor.show import sheet_pages as page

    on_a_callout.case_first(options)
    target = into_a_file.target(options, page.ENDINGS)
    advice = on_a_callout.advised(options)
    paper = sheets.paper_named(options.paper, inch=advice.callout.units == "inch")
    chosen = sheets.chosen(advice, options.method)
    number = on_a_callout.keep(options, advice, chosen.name, door)
    made = sheets.sheet(advice, paper=paper, method=chosen.name, why=options.why, case=options.case, number=number)
    into_a_file.write(target, page.rendered(made, into_a_file.kind(target)), options, door)
    if number:
        door.say(f"Job {number}.")
    return DONE if advice.recommended else NO_METHOD
