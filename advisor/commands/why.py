"""`why`: the reasons of an answer, another method beside it, and where each number comes from."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from advisor.commands import into_a_file, on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, NO_METHOD, Door
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from advisor.answer.advice import Advice

HELP = "why this method, why not another, what would change it, and each number derived"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("--instead", metavar="METHOD", help="another method side by side with the one recommended")
    parser.add_argument(
        "--derive",
        metavar="NAME",
        help="one number, such as 'edge width' or 'batch': its equation, its source and what went in",
    )
    parser.add_argument(
        "--if", metavar="TEXT", dest="what_if", help="the answer beside that with other values, such as 'quantity 40'"
    )
    parser.add_argument("--levels", metavar="NUMBER", help="how far down --derive follows what went in; 2 if left out")
    parser.add_argument("--numbers", action="store_true", help="every number of the setup with its equation worked out")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON")
    into_a_file.picture_options(parser)
    with_records.options(parser)
    on_a_callout.by_option(parser)


def run(options: Namespace, door: Door) -> int:
    """The reasons, or the one thing that is asked for, on a screen, as JSON or in pictures."""
    from advisor.show import why

    wanted = {"instead": options.instead, "derive": options.derive, "numbers": options.numbers, "if": options.what_if}
    asked = [name for name, given in wanted.items() if given]
    if len(asked) > 1:
        raise CalloutError(f"--{asked[1]}", "", f"does not go with --{asked[0]}", "Give one of them.")
    levels = why.levels_of(options.levels, derive=options.derive)
    target = into_a_file.picture_target(options)
    advice = on_a_callout.advised(options)
    told = advice.best or advice.ranked[0]
    if options.instead:
        other = why.other_method(options.instead, advice)
        told = advice.methods[other]
    if target:
        into_a_file.write_picture(target, told, advice, options, door)
        return DONE if advice.recommended else NO_METHOD
    found: Callable[..., Any]
    screen: Callable[..., Any]
    arguments: tuple[Any, ...]
    if options.instead:
        found, screen, arguments = why.instead_data, why.instead, (advice, other)
    elif options.derive:
        found, screen, arguments = why.derived_data, why.derived, (advice, options.derive, levels)
    elif options.what_if is not None:
        found, screen, arguments = why.what_if_data, why.what_if, (advice, *_if(options))
    else:
        found, screen, arguments = why.answer, why.screen, (advice, options.numbers)
    if options.json:
        door.data(found(*arguments))
    else:
        door.show(screen(*arguments))
    if options.picture:
        into_a_file.print_picture(told, advice, door)
    return DONE if advice.recommended else NO_METHOD


def _if(options: Namespace) -> tuple[Advice, dict[str, str]]:
    """The advice with what --if asks for, and that."""
    import copy

    from advisor.study.changes import what_if, with_tolerance

    asked_for = what_if(options.what_if)
    other = copy.copy(options)
    for name, text in on_a_callout.kept(other).items():  # of a job by its number: as if it had all been written
        if name == "radius" or getattr(other, name, None) is None:
            setattr(other, name, text)
    for name, text in asked_for.items():
        if name != "tolerance":
            setattr(other, name, text)
    callout, shop = on_a_callout.read_job(other)
    if "tolerance" in asked_for:
        other.radius = with_tolerance(callout, asked_for["tolerance"])
    return on_a_callout.advised(other), asked_for
