"""`cases`: the worked cases that the program carries."""

from argparse import Namespace

from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "list the worked cases that the program carries, to use by name"


def options(parser: Parser) -> None:
    pass  # it has none


def run(options: Namespace, door: Door) -> int:
    """The list of them."""
    from advisor.show import worked

    door.show(worked.listing())
    return DONE
