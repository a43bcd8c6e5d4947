"""`profile`: the form tool's edge and a template, as a DXF."""

from argparse import Namespace

from advisor.commands import into_a_file, on_a_callout
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "the form tool's edge and a template for the radius, as a DXF"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument("-o", "--output", metavar="FILE", help="the drawing, a .dxf")
    into_a_file.replace_option(parser)


def run(options: Namespace, door: Door) -> int:
    """Write the drawing."""
    from advisor.answer.advice import advise
    from advisor.drawing import edge_profile
    from advisor.engine import generated
    from advisor.show import dxf

    on_a_callout.case_first(options)
    target = into_a_file.target(options, ("dxf",))
    callout, shop = on_a_callout.read_job(options)
    made = edge_profile.profile(advise(callout, shop, executor=generated.run))
    into_a_file.write(target, [dxf.rendered(made)], options, door)
    return DONE
