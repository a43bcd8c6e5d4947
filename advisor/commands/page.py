"""`page`: all of it in a browser."""

from argparse import Namespace

from advisor.commands import with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, FAULT, Door

HELP = "all of it in a browser on this machine: the answer, the steps, lists, the shop"


def options(parser: Parser) -> None:
    parser.add_argument("--port", metavar="N", help="port to listen on; 8473 if left out, 0 for any that is free")
    parser.add_argument(
        "--host",
        metavar="ADDRESS",
        help="another address of this machine, such as a tablet reaches; asks for a token then",
    )
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    parser.add_argument("--check", action="store_true", help="start, ask for the first page, and stop")
    with_records.file_option(parser)


def run(options: Namespace, door: Door) -> int:
    """Serve the page until somebody stops it."""
    from advisor.page import serve

    port = 0 if options.check and options.port is None else serve.read_port(options.port)
    place = serve.Place(serve.HOST if options.host is None else options.host, port)
    from advisor.page.app import Page

    app = Page(hosts=place.names, records=options.records, token=place.token)
    if options.check:
        status, size, _ = serve.checked(app, place)
        door.say(f"The page starts: its first screen answers {status} with {size:,} bytes.")
        return DONE if status == 200 else FAULT

    def ready() -> None:
        door.confirm(f"The page stands at {place.address}\nCtrl-C stops it.")
        if not options.no_browser and place.token is None:
            import threading
            import webbrowser

            threading.Thread(target=webbrowser.open, args=(place.address,), daemon=True).start()

    serve.serve(app, place, ready=ready)
    return DONE
