"""The door for small text files, which may be anybody's: only plain files are opened, and no more is read than fits."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    pass


LARGEST = 1_000_000  # bytes; a file that somebody wrote is a page long


class Unreadable(Exception):
    """A file that is not read. Its text: what is wrong, as the rest of a sentence."""


class TooLarge(Unreadable):
    """A file with more bytes than may be read."""


def content(path: Path | str, most: int = LARGEST) -> bytes:
    """The bytes of a plain file. Raises Unreadable.

    A pipe would be waited for, and a device has no end: neither is read. most: bytes that it may have.
    """
    try:
        if "\0" in str(path):
            raise Unreadable("is no name of a file")
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except FileNotFoundError:
        raise Unreadable("is not there") from None
    except OSError as problem:
        why = "is a folder" if Path(path).is_dir() else f"cannot be read ({problem.strerror})"
        raise Unreadable(why) from None
    try:
        kind = os.fstat(handle).st_mode
        if not stat.S_ISREG(kind):
            raise Unreadable("is a folder" if stat.S_ISDIR(kind) else "is not a file")
        with open(handle, "rb", closefd=False) as file:
            found = file.read(most + 1)
    except OSError as problem:
        raise Unreadable(f"cannot be read ({problem.strerror})") from None
    finally:
        os.close(handle)
    if len(found) > most:
        raise TooLarge(f"is larger than {_size(most)}")
    return found


def text(path: Path | str, most: int = LARGEST) -> str:
    """The text of a plain file in UTF-8, with or without a mark of it at the start. Raises Unreadable."""
    try:
        return content(path, most).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Unreadable("is not text in UTF-8") from None


def _size(most: int) -> str:
    """
    >>> _size(262144), _size(1_000_000), _size(64 << 20)
    ('256 KiB', '1 MB', '64 MiB')
    """
    if most % 1_000_000 == 0:
        return f"{most // 1_000_000} MB"
    return f"{most // 1024} KiB" if most < 1 << 20 else f"{most // (1 << 20)} MiB"
