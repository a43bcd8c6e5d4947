"""What every command on a customer's list takes: its options, and the list read as they say."""

from argparse import Namespace
from typing import Any

from advisor.commands import on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import Door


def options(parser: Parser, *, by: str = "minutes") -> None:
    """The list, what its columns mean, and by what methods are chosen unless it is said."""
    parser.add_argument("list", metavar="LIST", help="the list as the customer sent it; - for standard input")
    parser.add_argument(
        "--columns",
        metavar="TEXT",
        help="what columns mean where the program does not know: 'Dia=diameter, Rad=radius, Remarks=', or a file of --keep",
    )
    parser.add_argument(
        "--keep", metavar="FILE", help="keep what the columns of this customer mean, in a .toml for --columns"
    )
    parser.add_argument(
        "--by", metavar="WORD", default=by, help=f"choose methods by minutes or by cost; {by} if left out"
    )


def opened(options: Namespace, door: Door, **more: Any) -> tuple[Any, Any]:
    """A customer's list and the Order for it, with what its columns mean kept where that is asked for."""
    from advisor.answer.advice import read_by
    from advisor.ground import whole_files
    from advisor.lists import files, headings, pricing

    given: dict[str, Any] = {
        "defaults": on_a_callout.stated(options),
        "records": with_records.counting(options),
        "by": read_by(options.by),
    }
    source = files.open_source(options.list, door.listed(), headings.read_columns(options.columns))
    if options.command == "batch":
        given["delimiter"] = files.delimiter_for(options.output, source)
    order = pricing.order_for(source, shop=on_a_callout.usual_name(), **more, **given)
    if options.keep:
        kept = headings.kept_text(order.columns, sheet=getattr(source, "sheet", None), every_line=order.defaults)
        target = whole_files.check(options.keep, ("toml",), replace=options.replace)
        whole_files.write(target, [kept.encode()], replace=options.replace)
    return source, order
