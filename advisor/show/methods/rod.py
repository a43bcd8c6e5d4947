"""The numbers of the radius rod in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.show.rows import Rows


def seat_to_seat_mm(r: Rows) -> str:
    """The length of the rod, and what one from the shelf turns."""
    shelf = f", from the shelf: turns R {r.length(r.values['rod_radius'])}" if r.values["rod_on_shelf"] else ""
    return f"{r.length(r.setup['seat_to_seat_mm'])}{shelf}"
