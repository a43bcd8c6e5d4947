"""`rules`: the rule base to read."""

from argparse import Namespace

from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "the rule base to read, and the worked cases that each rule decides"


def options(parser: Parser) -> None:
    parser.add_argument(
        "name", nargs="?", help="the id of a rule or a topic, such as 'freehand'; the topics if left out"
    )


def run(options: Namespace, door: Door) -> int:
    """A rule, a topic, or the topics."""
    from advisor.show import rulepages

    door.show(rulepages.page(options.name) if options.name is not None else rulepages.topics())
    return DONE
