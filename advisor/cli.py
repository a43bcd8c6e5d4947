"""The command line: reads options, asks advice, prints it, and is the only part that prints or exits."""

import argparse
import sys

from advisor.errors import CalloutError, InputError

# The names of a case file, each an option, with what a reader of --help needs.
OPTIONS = {
    "callout": {
        "form": "convex or concave",
        "location": "corner, end or outside diameter",
        "diameter": "work diameter at the radius, such as '40 mm'; the small one at a fillet",
        "width": "straight width across the arc",
        "depth": "depth of the arc, instead of or beside the width",
        "from-end": "from the end face to the near edge of a groove or crown",
        "shoulder-height": "height of the shoulder above the small diameter",
        "length": "length of the diameter in front of the shoulder or behind the corner",
        "rim": "flat rim left round a dish",
        "units": "mm or inch: the drawing's unit",
        "general-tolerance": "as in the title block, such as 'ISO 2768-m'",
        "finish": "roughness, such as 'Ra 1.6 um'",
    },
    "work": {
        "material": "such as 'low-carbon steel' or 'brass'",
        "hardness": "such as '150 HB' or '28 HRC'",
        "stickout": "how far the work stands out of the chuck",
        "support": "chuck, tailstock or steady rest",
        "bore": "hole along the axis",
        "interrupted": "yes where a keyway, flat or cross hole breaks the surface",
        "tool": "high-speed steel or carbide",
    },
    "job": {
        "quantity": "pieces in the batch",
        "places": "radii of this kind on each piece",
        "skill": "apprentice, journeyman or expert",
        "minutes-in-piece": "minutes of work already in each piece",
        "shop": "a shop's name or the path of a shop file",
        "lathe": "a lathe of that shop",
    },
}
DEFAULT_SHOP = "training-shop"


class _Parser(argparse.ArgumentParser):
    """A parser whose complaints are our one kind of error."""

    def error(self, message):
        raise CalloutError("command line", "", message, f"See {self.prog} --help")


def parser():
    """The command line's parser, one command a sub-parser."""
    top = _Parser(prog="turn-radius", description="How to turn a radius on a manual lathe: which method, what to set, and why.")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", required=True)
    advise = commands.add_parser("advise", help="recommend a method, with its setup numbers and the reasons")
    _callout_options(advise)
    advise.add_argument("--json", action="store_true", help="print the answer as JSON")
    advise.set_defaults(run=_advise)
    return top


def _callout_options(command):
    command.add_argument("radius", nargs="?", help="the radius as on the drawing, such as 'R6 ±0.1' or 'R3/8'")
    command.add_argument("--case", metavar="FILE", help="a case file; other options override its values")
    for title, names in OPTIONS.items():
        group = command.add_argument_group(title)
        for name, meaning in names.items():
            group.add_argument(f"--{name}", metavar="TEXT", help=meaning)


def main(arguments=None):
    """Run one command. Returns the exit status: 0 done, 1 no method stands, 2 bad input."""
    arguments = sys.argv[1:] if arguments is None else list(arguments)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        options = parser().parse_args(arguments)
        return options.run(options)
    except InputError as problem:
        return _refuse(problem, as_json="--json" in arguments)
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130


def _refuse(problem, *, as_json):
    if as_json:
        import json

        from advisor.show.as_json import error

        print(json.dumps(error(problem), ensure_ascii=False))
    else:
        print(problem, file=sys.stderr)
    return 2


def read_job(options):
    """Callout and shop that the options state."""
    from advisor import callout as callouts
    from advisor import materials, shop as shops

    given = {
        name.replace("-", "_"): getattr(options, name.replace("-", "_"))
        for names in OPTIONS.values()
        for name in names
    }
    given["radius"] = options.radius
    given = {name: value for name, value in given.items() if value is not None}
    case = callouts.open_case(options.case) if options.case else None
    named = given.get("shop") or (case.fields.get("shop") if case else None)
    shop = shops.read_shop(named if named is not None else DEFAULT_SHOP)
    known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    if case:
        return callouts.read_case(options.case, overrides=given, **known), shop
    return callouts.read_callout(given, **known), shop


def _advise(options):
    from advisor.advice import advise

    callout, shop = read_job(options)
    advice = advise(callout, shop)
    if options.json:
        import json

        from advisor.show.as_json import answer

        print(json.dumps(answer(advice), ensure_ascii=False, indent=1))
    else:
        from advisor.show.terminal import screen

        show(screen(advice))
    return 0 if advice.recommended else 1


def show(renderable):
    """Print something to a terminal as wide as it is, or as plain lines of 80 columns (or $COLUMNS) to a file or pipe."""
    import os

    from rich.console import Console

    if sys.stdout.isatty():
        Console(highlight=False).print(renderable)
        return
    asked = os.environ.get("COLUMNS", "")
    width = int(asked) if asked.isdigit() and 40 <= int(asked) <= 400 else 80
    console = Console(width=width, highlight=False, color_system=None)
    with console.capture() as captured:
        console.print(renderable)
    print("\n".join(line.rstrip() for line in captured.get().splitlines()))


if __name__ == "__main__":
    sys.exit(main())
