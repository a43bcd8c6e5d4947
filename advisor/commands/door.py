"""What a command talks through. cli.py stands behind it: nothing else prints, reads what somebody types, or exits."""

from __future__ import annotations

from typing import TYPE_CHECKING, BinaryIO, Protocol

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

DONE, NO_METHOD, REFUSED, FAULT, STOPPED = 0, 1, 2, 3, 130  # exit statuses


class Door(Protocol):
    """The two streams out and the one in, on which no words of others act."""

    def say(self, text: object, *, exactly: bool = False) -> None:
        """Print a text. exactly: data for another program, as it stands and without a line end of its own."""

    def show(self, renderable: RenderableType, *, aside: bool = False) -> None:
        """Print something as wide as the terminal is, or as plain lines. aside: to standard error."""

    def data(self, found: object) -> None:
        """Print plain data as JSON."""

    def confirm(self, text: str) -> None:
        """Say what was stored for good, on one stream or the other."""

    def complain(self, problem: object) -> None:
        """Print to standard error."""

    def typed(self) -> str | None:
        """A line that somebody types, or None at the end of the input."""

    def agreed(self, question: str) -> bool | None:
        """Whether somebody says yes to a question; None where nobody is there to answer."""

    def listed(self) -> BinaryIO | None:
        """Standard input as bytes, or None where it is closed."""

    def written(self) -> BinaryIO:
        """Standard output as bytes."""

    def beside(self) -> Console:
        """Standard error, for a bar that moves."""

    def columns(self) -> int:
        """How wide the terminal is, or what takes its place."""

    def ascii_only(self) -> bool:
        """Whether the output takes nothing but the plainest characters for sure."""
