"""What every command takes that writes a file or a picture."""

from __future__ import annotations

import os
from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands.arguments import Parser
from advisor.commands.door import Door
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from advisor.answer.advice import Advice, MethodAdvice

# What a command reads and what it writes, by the names of its options, and how what is read is called.
_READ = {
    "list": "the list", "case": "the case", "radius": "the case", "shop": "the shop", "against": "the shop",
    "columns": "the file of --columns", "records": "the file of records", "take": "the file to import",
}  # fmt: skip
_WRITTEN = ("output", "keep", "export")
_SEEN_TO = {("keep", "columns"), ("export", "records")}  # may be written anew; refused by the records themselves
PICTURES = ("svg", "png", "pdf")


def replace_option(parser: Parser, what: str = "the output") -> None:
    """Whether a file that is there may be replaced."""
    parser.add_argument("--replace", action="store_true", help=f"replace {what} where it is there already")


def target(options: Namespace, endings: Sequence[str]) -> Path:
    """The file that has to be written, looked at before any work is done."""
    if options.output is None:
        raise CalloutError(
            "--output", "", "is missing", f"Give a file to write, such as -o {options.command}.{endings[0]}."
        )
    return checked(options, endings)


def checked(options: Namespace, endings: Sequence[str]) -> Path:
    """The file of --output, which ends as one of these."""
    from advisor.ground import whole_files

    return whole_files.check(options.output, endings, replace=options.replace)


def write(target: Path, pages: Sequence[bytes], options: Namespace, door: Door) -> None:
    """Write pages, whole or not at all, and say where."""
    from advisor.ground import whole_files

    door.say("Wrote " + ", ".join(map(str, whole_files.write(target, pages, replace=options.replace))))


def kind(target: Path) -> str:
    """What a file is by its ending, such as "svg"."""
    return target.suffix.lower().removeprefix(".")


def picture_options(parser: Parser) -> None:
    """Pictures of what goes wrong, shown or written."""
    parser.add_argument(
        "--picture", action="store_true", help="show what goes wrong with this method, the error drawn much too large"
    )
    parser.add_argument("-o", "--output", metavar="FILE", help="with --picture: into a .svg, .png or .pdf")
    replace_option(parser)


def picture_target(options: Namespace) -> Path | None:
    """Where the pictures are to be written, or None."""
    if options.picture and options.json:
        raise CalloutError("--picture", "", "does not go with --json", "Give one of them.")
    if options.output is None:
        return None
    if not options.picture:
        raise CalloutError("--output", options.output, "has nothing to write", "Give --picture with it.")
    return checked(options, PICTURES)


def write_picture(target: Path, method: MethodAdvice, advice: Advice, options: Namespace, door: Door) -> None:
    """Write what goes wrong with a method."""
    from advisor.show import pictures

    write(target, pictures.pages(method, advice, kind(target)), options, door)


def print_picture(method: MethodAdvice, advice: Advice, door: Door) -> None:
    """Show what goes wrong with a method."""
    from advisor.show import pictures

    door.say(pictures.screen(method, advice, ascii_only=door.ascii_only()))


def never_onto_an_input(options: Namespace) -> None:
    """Refuse an output that is one of the files that the same command reads."""
    for written in _WRITTEN:
        named = getattr(options, written, None)
        if not isinstance(named, str) or not os.path.isfile(named):
            continue
        for read, called in _READ.items():
            if (written, read) not in _SEEN_TO and _same_file(_read_from(options, read), named):
                fix = "Give what is written a name of its own."
                raise CalloutError(f"--{written}", named, f"is {called} itself", fix)


def _read_from(options: Namespace, name: str) -> str:
    """The file that an option names, or "" where it names none."""
    named = getattr(options, name, None)
    if name == "records" and hasattr(options, name):
        from advisor.records import job_records

        return "" if job_records.nowhere() and not named else str(job_records.place(named or None))
    return named if isinstance(named, str) else ""


def _same_file(one: str, two: str) -> bool:
    try:
        return os.path.samefile(one, two)
    except (OSError, ValueError):
        return False
