"""`advise`: the method to take, what to set, and the reasons."""

from argparse import Namespace

from advisor.commands import into_a_file, on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door

HELP = "recommend a method, with its setup numbers and the reasons"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("--full", action="store_true", help="every step, caution, number and assumption")
    parser.add_argument(
        "--keep", action="store_true", help="keep the job by a short number, for record, correct and sheet"
    )
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    into_a_file.picture_options(parser)
    with_records.options(parser)
    on_a_callout.by_option(parser)


def run(options: Namespace, door: Door) -> int:
    """Answer on a screen, as JSON or in pictures."""
    target = into_a_file.picture_target(options)
    advice = on_a_callout.advised(options)
    kept = advice.shown if options.keep else None
    number = on_a_callout.keep(options, advice, kept.name, door) if kept else None
    if target:
        into_a_file.write_picture(target, advice.best or advice.ranked[0], advice, options, door)
    elif options.json:
        from advisor.show.as_json import answer

        door.data(answer(advice) | ({"job": number} if number else {}))
    else:
        from advisor.show import onescreen, terminal

        door.show(terminal.screen(advice) if options.full else onescreen.screen(advice))
    if number and not options.json:
        door.say(f"\nJob {number}.")
    if options.picture and not target:
        into_a_file.print_picture(advice.best or advice.ranked[0], advice, door)
    return DONE if advice.recommended else NO_METHOD
