"""The user's settings: the shop and the unit that count where neither an option nor a case says otherwise."""

import os
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path

from advisor.ground import strangers, whole_files
from advisor.ground.errors import InputError, did_you_mean
from advisor.ground.folders import toml, user_folder
from advisor.ground.toml_text import quoted
from advisor.ground.units import shown

NAME = "settings.toml"
SHOP_VARIABLE = "TURN_RADIUS_SHOP"
UNITS = ("mm", "inch")
NOWHERE = "Set HOME, or XDG_CONFIG_HOME, to a folder of yours."


@dataclass(frozen=True)
class Settings:
    """What is kept: shop, the name or whole path of one; units, "mm" or "inch"; "" where nothing is."""

    shop: str = ""
    units: str = ""


def place() -> Path | None:
    """Path of the settings, whether it is there or not; None where the user has no home."""
    folder = user_folder("config")
    return folder and folder / "turn-radius" / NAME


def read() -> Settings:
    """The Settings that are kept; empty ones where none are. Raises InputError where they cannot be used."""
    path = place()
    try:
        tables = toml(strangers.text(path)) if path and path.exists() else {}
    except (OSError, ValueError, RecursionError, strangers.Unreadable) as wrong:
        reason = getattr(wrong, "strerror", None) or "it is damaged"
        fix = "Put it right, or take it away and choose again with turn-radius shop use."
        raise InputError(shown(str(path), 300), "", f"cannot be read ({reason})", fix) from None
    known = [entry.name for entry in fields(Settings)]
    for name, value in tables.items():
        where = f"{shown(str(path), 300)}: {shown(name)}"
        if name not in known:
            hint = did_you_mean(name, known) or f"It may have {' and '.join(known)}."
            raise InputError(where, "", "is not known here", hint.strip())
        if not isinstance(value, str) or (name == "units" and value not in ("", *UNITS)):
            what = '"mm" or "inch"' if name == "units" else "the name of a shop in quotes"
            raise InputError(where, shown(value), "cannot be used", f"Give {what}.")
    return Settings(**tables)


def keep(**changed: str) -> Path:
    """Keep some settings, as a whole or not at all, and leave the others -> the path of the file. Raises InputError."""
    path = place()
    if path is None:
        raise InputError("settings", "", "have no place to lie in", NOWHERE)
    lines = [f"{name} = {quoted(value)}" for name, value in asdict(replace(read(), **changed)).items() if value]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        whole_files.check(path, replace=True, field="settings", error=InputError)
        with whole_files.whole(path, replace=True) as file:
            file.write(("\n".join(lines) + "\n").encode())
    except OSError as wrong:
        where = shown(str(wrong.filename or path), 300)
        raise InputError("settings", where, f"cannot be written ({wrong.strerror})", NOWHERE) from None
    return path


def usual_shop(fallback: str) -> tuple[str, str]:
    """The shop that counts where nobody names one, and who chose it: the environment, the settings, or the program."""
    named = os.environ.get(SHOP_VARIABLE, "")
    if named.strip():
        return named, f"${SHOP_VARIABLE}"
    kept = read().shop
    return (kept, "your settings") if kept else (fallback, "used where none is named")


def lasting(name: str) -> str:
    """A shop as the settings keep it: a bare name as it is, a path from wherever one is."""
    bare = not any(sign in name for sign in "/\\") and not name.endswith(".toml")
    return name if bare else str(Path(name).resolve())
