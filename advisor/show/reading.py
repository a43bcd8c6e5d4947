"""How a callout was read, in words: what each thing was taken for, and why."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.ground.folders import rule_tables
from advisor.ground.units import show_length

if TYPE_CHECKING:
    from typing import Any

    from advisor.asked.callout import Callout, Read


_REASONS = {
    "shop": "your shop's unit",
    "elsewhere": "like the other sizes",
    "inch writing": "as inch drawings write it",
    "mm writing": "as drawings in mm write it",
    "none": "since no unit is stated",
    "stated": "the unit that was stated",
    "marked": "as written",
    "written": "as written",
    "word": "what the word means",
    "steel": "as steel converts (ASTM E140)",
}


def reason(entry: Read) -> str:
    """Why something was read as it was, in words. entry: callout.Read."""
    return reason_for(entry.why)


def reason_for(why: str) -> str:
    """The words of a reason of callout.Read."""
    return _REASONS[why]


@lru_cache(maxsize=1)
def _texts() -> dict[str, Any]:
    data = rule_tables("callouts.toml")
    told = {f"told.{name}": text for name, text in data["told"].items()}
    return told | {f"meaning.{name}": row["says"] for name, row in data["meaning"].items() if "says" in row}


def notes(callout: Callout) -> list[str]:
    """What is to be told of what stands at the radius: sentences."""
    values = {
        "text": callout.text,
        "percent": f"{round(100 * callout.tolerance / callout.radius)} %",
        "high": show_length(callout.radius_high, callout.units),
    }
    return [_texts()[name].format(**values) for name in callout.notes]


def sentence(callout: Callout) -> str:
    """What was read and why, in one sentence: "Read as R.250 in, your shop's unit".

    Says nothing of a thing that says all of itself.
    """
    parts = []
    for entry in callout.read:
        if entry.name == "radius":
            why = "" if entry.why == "written" else f", {reason(entry)}"
            parts.append(f"{entry.value}{why}")
        else:
            parts.append(f"{entry.written} as {entry.value}")
    return f"Read as {'; '.join(parts)}."
