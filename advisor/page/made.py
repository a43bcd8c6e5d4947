"""What a view makes: a screen to be filled in, an address to go on to, or a file."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from typing import Any


class Screen:
    """What a view makes: the name of a template and what is put into it. status: of the answer."""

    def __init__(self, template: str, status: int = 200, **values: Any) -> None:
        self.template, self.status, self.values = template, status, values


class Move:
    """What a view makes to go on elsewhere: an address."""

    def __init__(self, address: str) -> None:
        self.address = address


class File:
    """What a view makes to give a file: its bytes and its kind; name: under which it is kept, "" to be shown."""

    def __init__(self, data: bytes, kind: str, name: str = "", *, keep: bool = False) -> None:
        self.data, self.kind, self.name, self.keep = data, kind, name, keep


Made = Screen | Move | File
