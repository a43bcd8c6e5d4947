"""`materials`: the materials, and what a name of one is taken as."""

from argparse import Namespace

from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "the materials, their other names, and what a name is taken as"


def options(parser: Parser) -> None:
    parser.add_argument("name", nargs="?", help="such as '4140 PH' or 'SUS304'; all of them if left out")


def run(options: Namespace, door: Door) -> int:
    """One material, or all."""
    from advisor.show import materials as page

    door.show(page.page(options.name) if options.name is not None else page.listing())
    return DONE
