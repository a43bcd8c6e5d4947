"""The numbers of the pivot attachment in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.show.rows import Rows


def post_reading_mm(r: Rows) -> tuple[str, str]:
    """From the post to the tip, or from the far side of a post that the tip stands over: words and dial."""
    reading = r.setup["post_reading_mm"]
    if reading is None:
        return "", ""
    thimble = r.dial("post_reading" if reading > 0 else "post_far_reading", only_otherwise=True)
    if reading > 0:
        return r.length(reading) + ("" if thimble else " by depth micrometer"), thimble
    return f"{r.length(r.values['post_far_reading'])} from its far side: the tip stands over it", thimble
