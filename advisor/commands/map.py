"""`map`: where each method wins."""

from argparse import Namespace
from typing import Any

from advisor.commands import into_a_file, on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door

HELP = "draw where each method wins, over any two quantities"


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    parser.add_argument(
        "--x", metavar="NAME", default="quantity", help="what runs across: one of --y's; pieces if left out"
    )
    parser.add_argument(
        "--y", metavar="NAME", default="tolerance", help="radius, tolerance, quantity, diameter, width or stickout"
    )
    for end in ("x-from", "x-to", "y-from", "y-to"):
        parser.add_argument(
            f"--{end}", metavar="VALUE", help="end of that axis, such as '0.5 mm'; chosen round the callout if left out"
        )
    parser.add_argument(
        "-o", "--output", metavar="FILE", help="a picture, .png or .svg; letters on the terminal if left out"
    )
    into_a_file.replace_option(parser)
    with_records.options(parser)


def run(options: Namespace, door: Door) -> int:
    """Draw the map into a file, or in letters."""
    from advisor.lists.pricing import Desk
    from advisor.show import map as page
    from advisor.study import mapping

    target = None if options.output is None else into_a_file.checked(options, page.KINDS)
    callout, shop = on_a_callout.read_job(options)
    ends = {name: {"low": getattr(options, f"{name}_from"), "high": getattr(options, f"{name}_to")} for name in "xy"}
    axes: dict[str, Any] = {
        name: mapping.axis_for(getattr(options, name), callout, option=f"--{name}", **ends[name]) for name in "xy"
    }
    rules = Desk(shop, with_records.counting(options)).rules
    if target is not None:
        from advisor.ground import whole_files

        drawn = page.picture(mapping.survey(callout, shop, rules=rules, **axes), target.suffix.lower())
        whole_files.write(target, [drawn], replace=options.replace)
        return DONE
    size = (max(min(door.columns(), 110) - page.MARGIN, 20), page.ROWS)
    door.show(page.screen(mapping.survey(callout, shop, rules=rules, size=size, **axes)))
    return DONE
