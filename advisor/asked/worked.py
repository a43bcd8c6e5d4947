"""The worked cases that travel with the program: found by name, and listed."""

from __future__ import annotations

import os
import tomllib
from typing import TYPE_CHECKING

from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.folders import data_folder
from advisor.ground.units import shown

if TYPE_CHECKING:
    from pathlib import Path


def names() -> dict[str, Path]:
    """Name -> path of every worked case, in the order of the names."""
    return {path.stem: path for path in sorted(data_folder("cases").glob("*.toml"))}


def case_path(written: str) -> str:
    """The path of the case that somebody names: of a file, or of a worked case by its name. Raises CalloutError."""
    if os.path.exists(written) or written.lower().endswith(".toml") or os.path.basename(written) != written:
        return written
    known = names()
    if written in known:
        return str(known[written])
    fix = f"{did_you_mean(written, known)}Give the path of a case file, or a name that turn-radius cases lists."
    raise CalloutError("case", shown(written), "is no case file here, and no worked case", fix)


def is_case(written: str) -> bool:
    """Whether a first argument is a case and no radius: a file, or the name of a worked case. Raises CalloutError where
    it is nearly such a name, and has no figure as a radius has."""
    if written.lower().endswith(".toml") or os.path.isfile(written):
        return True
    if any(character.isdigit() for character in written) or len(written) < 4:
        return False
    return written in names() or bool(did_you_mean(written, names())) and bool(case_path(written))


def listing() -> list[tuple[str | None, list[tuple[str, ...]]]]:
    """What each worked case asks, under the method that it is known to take: list of (method or None, lines); a line
    is (name, radius, form, place, diameter, pieces) as texts, as the case file writes them."""
    found: dict[str | None, list[tuple[str, ...]]] = {}
    for name, path in names().items():
        case = tomllib.loads(path.read_text(encoding="utf-8"))
        asks, quantity = case["callout"], case.get("job", {}).get("quantity", 1)
        line = (name, asks["radius"], asks["form"], asks["location"], str(asks["diameter"]), f"{quantity} off")
        found.setdefault(case["expect"].get("method"), []).append(line)
    return sorted(found.items(), key=lambda pair: (pair[0] is None, pair[0] or ""))
