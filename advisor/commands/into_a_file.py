"""What every command takes that writes a file or a picture."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands.arguments import Parser
from advisor.commands.door import Door
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from advisor.answer.advice import Advice, MethodAdvice

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
