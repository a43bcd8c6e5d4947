"""`estimate`: every method priced."""

from argparse import Namespace

from advisor.commands import on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door
from advisor.ground.errors import CalloutError

HELP = "price every method, with break-even quantities and what the figure hangs on"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("--quantities", metavar="LIST", help="other quantities to price, such as 1,5,25,100")
    parser.add_argument("--json", action="store_true", help="print the estimate as JSON")
    parser.add_argument("--csv", action="store_true", help="print a quote sheet as CSV")
    with_records.options(parser)
    on_a_callout.by_option(parser)


def run(options: Namespace, door: Door) -> int:
    """The prices on a screen, as JSON or as CSV."""
    from advisor.answer.advice import advise, read_by
    from advisor.engine import generated
    from advisor.study.estimate import estimate, read_quantities

    if options.json and options.csv:
        raise CalloutError("--csv", "", "does not go with --json", "Give one of them.")
    quantities = read_quantities(options.quantities) if options.quantities is not None else ()
    callout, shop = on_a_callout.read_job(options)
    by, jobs = read_by(options.by or "minutes"), with_records.recorded(options)
    found = estimate(callout, shop, quantities=quantities, records=() if options.without_records else jobs, by=by)
    if options.json:
        from advisor.show.estimate import answer

        door.data(answer(found))
    elif options.csv:
        from advisor.show.estimate import sheet_text

        door.say(sheet_text(found), exactly=True)
    else:
        from advisor.show.estimate import screen

        drawn = (
            advise(callout, shop, executor=generated.run, records=jobs, by=by)
            if options.without_records and jobs
            else None
        )
        door.show(screen(found, drawn))
    return DONE if found.advice.recommended else NO_METHOD
