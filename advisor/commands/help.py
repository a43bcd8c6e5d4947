"""`help`: what the commands do."""

from argparse import Namespace

from advisor.commands import register
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door
from advisor.ground.errors import CalloutError, did_you_mean

HELP = "what the commands do, or one of them with its options"


def options(parser: Parser) -> None:
    parser.add_argument("name", nargs="?", metavar="COMMAND", help="a command, such as advise; all of them if left out")


def run(options: Namespace, door: Door) -> int:
    """All commands, or one."""
    if options.name is not None and options.name not in register.NAMES:
        fix = f"{did_you_mean(options.name, register.NAMES)}Give one of {', '.join(register.NAMES)}."
        raise CalloutError("help", options.name, "is not a command", fix)
    door.say(register.parser(options.name).format_help() if options.name else register.overview(), exactly=True)
    return DONE
