"""Where things are: the data folders, in a checkout and in an installed copy, and the folders of the user."""

from __future__ import annotations

import functools
import os
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.ground.errors import RuleError

if TYPE_CHECKING:
    from typing import Any


PACKAGE = Path(__file__).resolve().parent.parent


MOST_DOTS = 500  # on a line; what the parser takes for a dotted key grows with the square of its parts


def toml(text: str) -> dict[str, Any]:
    """Tables of a TOML text. RecursionError where it is nested too deeply, ValueError where it is not TOML."""
    if any(line.count(".") > MOST_DOTS for line in text.split("\n")):
        raise RecursionError
    return tomllib.loads(text)


def data_folder(name: str) -> Path:
    """Folder of rules ("rules") or worked cases and shops ("cases"), as a path.

    An installed copy carries them inside the package, a checkout beside it.

    >>> data_folder("rules").name
    'rules'
    """
    installed = PACKAGE / "_data" / name
    return installed if installed.is_dir() else PACKAGE.parent / name


@functools.cache
def rule_tables(name: str) -> dict[str, Any]:
    """Tables of a file of rules/ that goes with the program, read once: whoever takes them leaves them as they are.
    Raises RuleError where it cannot be read."""
    try:
        return toml((data_folder("rules") / name).read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        raise RuleError(f"rules/{name}", "", f"cannot be read ({problem})", "Put the file right.") from None


# Of each kind of folder: its name in a user's Library, the variable that may name it, and where it is without one.
_KINDS = {
    "config": ("Application Support", "XDG_CONFIG_HOME", "~/.config"),
    "cache": ("Caches", "XDG_CACHE_HOME", "~/.cache"),
    "data": ("Application Support", "XDG_DATA_HOME", "~/.local/share"),
}


def user_folder(kind: str) -> Path | None:
    """The user's folder for "config", a "cache" or "data", as a path; None where the user has no home."""
    library, variable, home = _KINDS[kind]
    if sys.platform == "win32":
        root = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        root = os.path.expanduser(f"~/Library/{library}")
    else:
        root = os.environ.get(variable) or os.path.expanduser(home)
    return Path(root) if root and os.path.isabs(root) else None
