"""Diameters and numbers of pieces as people write them: `Ø40 h9`, `40 +0/-0.1`, `1,000`, `5 off`, `10/20/50`."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from advisor.asked import fits, trade_words
from advisor.asked.radius_text import MOST, read_radius
from advisor.ground.errors import CalloutError
from advisor.ground.units import LONGEST_TEXT, NUMBER, Unreadable, number_and_unit, plain, read_quantity, shown

if TYPE_CHECKING:
    from re import Match
    from typing import Any


_BEFORE = re.compile(r"^(?:[ø⌀∅]|(?P<word>[^\W\d]+)\.?(?=[ :=0-9.,ø]))\s*[:=]?\s*", re.IGNORECASE)
_AFTER = re.compile(r"\s*(?:[ø⌀∅]|(?<=[\s0-9.])(?P<word>[^\W\d]{2,})\.?)$", re.IGNORECASE)
_FIT = re.compile(rf"({NUMBER})(?: ?(mm))? ?\(?((?:js|JS|[a-zA-Z])[0-9]{{1,2}})\)?(?: ?(mm))?", re.ASCII)
_THOUSAND = re.compile(r"(?<![0-9.,])([0-9]{1,3})\.([0-9]{3})(?![0-9.,])")
_NO_GENERAL = "±0.001"  # of a size that has limits of its own, where it is not used


class Diameter(NamedTuple):
    """A diameter that was read [mm]. size: nominal, the middle of the limits where nothing else is written; low, high:
    its limits, both the size where none are written; fit: such as "h9", or ''.
    """

    size: float
    low: float
    high: float
    fit: str


def read_diameter(
    text: str, *, field: str, default_unit: str, positive: bool = True, at_least: float | None = None
) -> Diameter:
    """A diameter as a drawing or a list writes it -> Diameter.

    text: str, int or float; field: for the message; default_unit: "mm" | "in", of bare numbers. Raises CalloutError.

    >>> read_diameter("Ø40 h9", field="diameter", default_unit="mm")
    Diameter(size=40.0, low=39.938, high=40.0, fit='h9')
    >>> read_diameter("1.500/1.498", field="diameter", default_unit="in").size
    38.0746
    """
    how: dict[str, Any] = {"field": field, "dimension": "length", "default_unit": default_unit}
    if not isinstance(text, str) or len(text) > LONGEST_TEXT:
        size = read_quantity(text, positive=positive, at_least=at_least, **how)
        return Diameter(size, size, size, "")
    words = _without_sign(plain(text))
    found = _FIT.fullmatch(words)
    if found and found[3].lower() not in ("in", "mm"):
        return _with_fit(text, found, how)
    try:
        size = read_quantity(words, positive=positive, at_least=at_least, **how)
        return Diameter(size, size, size, "")
    except CalloutError as problem:
        limits = _with_limits(words, default_unit)
        if limits is None:
            what = problem.problem if words or not text.strip() else "has no number"
            raise CalloutError(field, shown(text), what, problem.fix) from None
    return limits


def _without_sign(words: str) -> str:
    """A diameter without its sign and words."""
    for pattern in (_BEFORE, _AFTER):
        found = pattern.search(words)
        if found and (found["word"] is None or _is_diameter(found["word"])):
            words = (words[: found.start()] + words[found.end() :]).strip()
    return words


@lru_cache(maxsize=200)
def _is_diameter(word: str) -> bool:
    return "diameter" in trade_words.headings().get(trade_words.bare(word), ())


def _with_fit(text: str, found: Match[str], how: dict[str, Any]) -> Diameter:
    try:
        if how["default_unit"] == "in" and not (found[2] or found[4]):
            raise Unreadable("has a metric fit on a drawing in inches", "Write mm behind it, or the limits.")
        size, _ = number_and_unit(found[1], "length")
        low, high = fits.limits(size, found[3])
    except Unreadable as wrong:
        raise CalloutError(how["field"], shown(text), wrong.problem, wrong.fix) from None
    return Diameter(float(size), float(low), float(high), found[3])


def _with_limits(words: str, default_unit: str) -> Diameter | None:
    """A diameter with limits of its own, which are written as those of a radius are; None where it has none.

    One deviation alone stands beside a nought, as drawings on the Continent write it: 40 -0.1 is 40 +0/-0.1.
    """
    first = re.match(NUMBER, words)
    if not first:
        return None
    behind = words[first.end() :]
    alone = "/-0" if "+" in behind else "/+0"
    for tried in (words, words + alone):
        try:
            read = read_radius(tried, units="inch" if default_unit == "in" else "mm", general_tolerance=_NO_GENERAL)
        except CalloutError:
            continue
        if read.general_tolerance or read.low <= 0:  # no limits of its own, or MAX alone
            return None
        size = read.radius
        if tried != words or re.search(r"[±+]|/ ?-", behind):  # deviations from the size in front of them
            unit = next(iter(re.findall(r"mm|inch|in|\"", behind)), default_unit)
            size = read_quantity(f"{first[0]} {unit}", field="", dimension="length", default_unit=default_unit)
        return Diameter(size, read.low, read.high, "")
    return None


# ---- pieces


def read_pieces(text: str, *, field: str = "quantity") -> tuple[int, ...]:
    """Numbers of pieces as written, in the order written -> tuple of ints, several where several are asked for.

    >>> read_pieces("1,000"), read_pieces("5 off"), read_pieces("10/20/50"), read_pieces("Stk. 20"), read_pieces(12.0)
    ((1000,), (5,), (10, 20, 50), (20,), (12,))
    >>> read_pieces("ca. 20"), read_pieces("min. 20 Stk")
    ((20,), (20,))
    """
    fix = f"Give a whole number from 1 to {MOST:,}."
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise CalloutError(field, shown(text), "is not a whole number", fix)
    if not isinstance(text, str):
        text = str(text).removesuffix(".0")
    if len(text) > 200 or any(unicodedata.decomposition(c).startswith("<fraction>") for c in text):
        raise CalloutError(field, shown(text), "is not a whole number", fix)
    found = []
    for part in re.split(r"\s*[/;|&]\s*|\s*,\s+|" + _between(), plain(text).strip()):
        number = _pieces(part)
        if number is None and (parted := _THOUSAND.search(part)):
            one = parted[1].lstrip("0") or "0"
            problem = f"is {one}{parted[2]} where a point parts thousands, and {one} where it marks decimals"
            raise CalloutError(
                field, shown(text), problem, f"Write {one}{parted[2]} or {one}: a whole number from 1 to {MOST:,}."
            )
        if number is None:
            raise CalloutError(field, shown(text), "is not a whole number", fix)
        if not 1 <= number <= MOST:
            raise CalloutError(field, shown(text), f"lies outside 1 to {MOST:,}", fix)
        if number not in found:
            found.append(number)
    return tuple(found)


@lru_cache(maxsize=1)
def _between() -> str:
    words = sorted(trade_words.listed("pieces", "between"), key=len, reverse=True)
    return "|".join(rf"\s+{re.escape(word)}\s+" for word in words)


def _pieces(part: str) -> int | None:
    """One number of pieces; None where it is none. Thousands may be parted by a comma, a blank or a stroke."""
    written = re.fullmatch(
        r"(?:([^\d+]*?)\s*)?(\+?[0-9]{1,3}(?:([,. '])[0-9]{3}(?:\3[0-9]{3})*)|\+?[0-9]{1,12})(?:[.,]0+(?![0-9]))?\s*(\D*)",
        part,
    )
    if not written:
        return None
    front, behind = (trade_words.bare(text or "") for text in (written[1], written[4]))
    if front in trade_words.listed("pieces", "least"):
        front = ""
    about, allowed = trade_words.listed("pieces", "about"), trade_words.listed("pieces")
    if not all(word in allowed or word in about for word in f"{front} {behind}".split()):
        return None
    if written[3] == "." and written[2].count(".") == 1:  # 1.000 is a thousand here and one with three decimals there
        return None
    return int(re.sub(r"[^0-9]", "", written[2]))


def says_about(cell: str) -> bool:
    """Whether a cell of pieces says that the number is not meant exactly.

    >>> says_about("ca. 20"), says_about("~20"), says_about("min. 20"), says_about("20 Stk")
    (True, True, True, False)
    """
    if not isinstance(cell, str) or cell.isdecimal():
        return False
    words = f" {trade_words.bare(cell)} "
    return any(mark in cell for mark in "~≈") or any(
        f" {word} " in words for key in ("about", "least") for word in trade_words.listed("pieces", key)
    )


def with_thousands(cell: str) -> str:
    """A cell of pieces of a list whose sizes have decimal commas: its points part thousands.

    >>> with_thousands("1.000/2.500 Stk")
    '1000/2500 Stk'
    """
    return _THOUSAND.sub(r"\1\2", cell) if isinstance(cell, str) and "." in cell else cell
