"""`word`: what a word of the trade means."""

from argparse import Namespace

from advisor.commands import into_a_file
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "what a word of the trade means"


def options(parser: Parser) -> None:
    parser.add_argument("term", nargs="?", help="such as 'form tool'; all of them if left out")
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="its sketch drawn, where it has one: a .svg, .png or .pdf"
    )
    into_a_file.replace_option(parser)


def run(options: Namespace, door: Door) -> int:
    """One word, its sketch, or all words."""
    from advisor.show import words

    if options.output is not None:
        target = into_a_file.checked(options, into_a_file.PICTURES)
        into_a_file.write(target, words.drawn(options.term, into_a_file.kind(target)), options, door)
        return DONE
    door.show(words.page(options.term) if options.term is not None else words.listing())
    return DONE
