"""The part of a setup that every method shares: speeds and layout lines."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from advisor.formulas.numeric import NAN

if TYPE_CHECKING:
    from typing import Any

    from advisor.formulas.numeric import Numeric, Values


def plain(value: Numeric) -> Numeric | None:
    """A number for the answer: None where it is not known.

    >>> plain(2.5), plain(NAN)
    (2.5, None)
    """
    return value if math.isfinite(value) else None


def whole(value: float) -> int | None:
    """A count for the answer: None where it is not known.

    >>> whole(7.0), whole(NAN)
    (7, None)
    """
    return round(value) if math.isfinite(value) else None


def speeds_and_layout(values: Values, prefix: str) -> dict[str, Any]:
    """Spindle speed [rpm], surface speed [m/min], plain-turning speed [rpm] and layout lines [mm].

    values: named numbers and truth values; prefix: the method's own, as in <prefix>_rpm.
    """
    return {
        "spindle_rpm": plain(values.get(f"{prefix}_rpm", NAN)),
        "surface_speed_m_min": plain(values.get(f"{prefix}_surface_speed", NAN)),
        "straight_turning_rpm": plain(values.get("straight_rpm", NAN)),
        "layout": layout(values),
    }


def layout(values: Values) -> list[dict[str, Numeric | str | None]]:
    """Lines to scribe before the arc is cut: what the line is, from where, how far [mm].

    A corner is laid out by its two tangent points, a dome by its depth on the diameter, a dish by its
    mouth, a groove or crown by its edges and its middle.

    >>> for line in layout({"radius": 6.0, "convex": True, "corner": True, "end": False}):
    ...     print(line["line"], "|", line["from"], "|", line["distance_mm"])
    end of the radius, along the work | end face | 6.0
    start of the radius, on the face | outside diameter | 6.0
    """
    radius, chord, convex = values["radius"], values.get("chord", NAN), values["convex"]
    if values["corner"]:
        if convex:
            return [
                _line("end of the radius, along the work", "end face", radius),
                _line("start of the radius, on the face", "outside diameter", radius),
            ]
        return [
            _line("end of the fillet, along the work", "shoulder", radius),
            _line("top of the fillet, on the shoulder", "small diameter", radius),
        ]
    if values["end"]:
        if convex:
            return [_line("rim of the dome, along the diameter", "end face", values["depth"])]
        return [
            _line("mouth of the dish, across it", "one side to the other", chord),
            _line("mouth of the dish", "outside diameter", (values["diameter"] - chord) / 2),
        ]
    what = "crown" if convex else "groove"
    start = values.get("from_end", NAN)
    if math.isfinite(start):
        return [
            _line(f"near edge of the {what}", "end face", start),
            _line(f"middle of the {what}", "end face", start + chord / 2),
            _line(f"far edge of the {what}", "end face", start + chord),
        ]
    return [
        _line(f"near edge of the {what}", "end face", NAN),  # nobody knows, and it has to be marked all the same
        _line(f"middle of the {what}", f"near edge of the {what}", chord / 2),
        _line(f"far edge of the {what}", f"near edge of the {what}", chord),
    ]


def _line(line: str, start: str, distance: Numeric) -> dict[str, Numeric | str | None]:
    return {"line": line, "from": start, "distance_mm": plain(distance)}
