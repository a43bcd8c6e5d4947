"""Which commands there are, and each found by its name: only the module of the one that is asked for is imported."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import TYPE_CHECKING, Protocol, cast

from advisor.commands.arguments import Help, Parser
from advisor.ground.errors import CalloutError, did_you_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.commands.door import Door

PROGRAM = "turn-radius"
NAMES = (
    "advise",
    "ask",
    "practise",
    "why",
    "word",
    "materials",
    "rules",
    "estimate",
    "record",
    "correct",
    "records",
    "batch",
    "quote",
    "worth",
    "sheet",
    "profile",
    "map",
    "shop",
    "check",
    "page",
    "cases",
    "help",
)


class Command(Protocol):
    """What the module of a command has."""

    HELP: str

    def options(self, parser: Parser) -> None:
        """Add its options to a parser."""

    def run(self, options: argparse.Namespace, door: Door) -> int:
        """Do it. Returns the exit status. Raises InputError."""


def command(name: str) -> Command:
    """A command, one of NAMES."""
    return cast("Command", import_module(f"advisor.commands.{name}"))


def parser(name: str) -> Parser:
    """The parser of a command."""
    made = Parser(prog=f"{PROGRAM} {name}")
    command(name).options(made)
    return made


def read(arguments: Sequence[str]) -> argparse.Namespace:
    """The options that these arguments state, and the command. Raises CalloutError, or Help where that is asked for."""
    if not arguments:
        raise CalloutError("command", "", "is missing", _known())
    name, *others = arguments
    if name in ("-h", "--help"):
        raise Help(overview())
    if name.startswith("-"):
        _top().read([name])
        raise CalloutError("command", "", "is missing", _known())
    if name not in NAMES:
        raise CalloutError("command", name, "is not a command", did_you_mean(name, NAMES) + _known())
    options = parser(name).read(others)
    options.command = name
    return options


def overview() -> str:
    """What all commands are for, as --help prints it."""
    top = _top()
    listed = top.add_subparsers(metavar="COMMAND")
    for name in NAMES:
        listed.add_parser(name, help=command(name).HELP)
    return top.format_help()


def _top() -> Parser:
    """What may be written in place of a command."""
    top = Parser(
        prog=PROGRAM, description="How to turn a radius on a manual lathe: which method, what to set, and why."
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    return top


def _known() -> str:
    return f"Give one of {', '.join(NAMES)}. {PROGRAM} --help tells what they do."
