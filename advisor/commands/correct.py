"""`correct`: what to move after a trial piece."""

from argparse import Namespace

from advisor.asked import measured as given
from advisor.commands import on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door
from advisor.ground.errors import CalloutError

HELP = "what to move after a trial piece: which way, how far, and what the next piece should measure"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("--method", metavar="NAME", help="the method that made it, instead of the recommended one")
    group = parser.add_argument_group("measured on the trial piece")
    for name, meaning in given.OPTIONS.items():
        group.add_argument(f"--{name}", metavar="TEXT", help=meaning)
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """What to move, on a screen or as JSON."""
    from advisor.answer.advice import advise
    from advisor.engine import generated
    from advisor.records.job_records import method_of
    from advisor.study import correction

    callout, shop = on_a_callout.read_job(options)
    texts = {name: getattr(options, name.replace("-", "_")) for name in given.OPTIONS}
    measured = correction.read_measured(texts, units=callout.units)
    advice = advise(callout, shop, executor=generated.run, records=with_records.counting(options))
    name = method_of(options.method) if options.method is not None else None
    if name is None:
        if advice.shown is None:
            raise CalloutError("method", "", "is missing, since none can be recommended", "Say how it was made.")
        name = advice.shown.name
    told = correction.correct(advice, name, measured)
    if options.json:
        from advisor.show.correct import answer

        door.data(answer(told, advice))
    else:
        from advisor.show.correct import screen

        door.show(screen(told, advice))
    return DONE if told.verdict != "unknown" else NO_METHOD
