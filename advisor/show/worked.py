"""The worked cases as a list on a terminal. cli.py prints it."""

from rich.console import Group, RenderableType

from advisor.asked import worked
from advisor.show.blocks import Columns, Prose, head


def listing() -> Group:
    """Every worked case under the method that it takes."""
    parts: list[RenderableType] = [
        Prose("A case goes by its name, with any command: turn-radius advise knob-corner", lead="")
    ]
    for method, lines in worked.listing():
        parts += [head(method or "no method stands"), Columns(lines, fixed=5)]
    return Group(*parts)
