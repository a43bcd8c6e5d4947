"""Text on its way into a spreadsheet: what it would take for a formula leaves as text."""

import re

MARKS = frozenset("=+-@＝＋－＠\t\r\n")  # a cell that begins with one of these may be run
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)


def formula(text: str) -> bool:
    """Whether a spreadsheet would take a text for a formula: it begins like one and is no plain number.

    >>> formula("=1+1"), formula("+0.2/-0"), formula("-3.5"), formula("R6 ±0.1")
    (True, True, False, False)
    """
    return text[:1] in MARKS and not _NUMBER.fullmatch(text)


def safe(text: str) -> str:
    """A text for a cell, with an apostrophe in front where a spreadsheet would take it for a formula.

    >>> safe("=1+1"), safe("-3.5"), safe("+0.2/-0"), safe("R6 ±0.1")
    ("'=1+1", '-3.5', "'+0.2/-0", 'R6 ±0.1')
    """
    return f"'{text}" if formula(text) else text


def as_cell(value: float | str | None) -> float | str:
    """A value for a cell that `from_cell` reads back: texts safe, and one that begins with an apostrophe given another.

    >>> as_cell("=1+1"), as_cell("R6"), as_cell(None), as_cell(2.5), as_cell("'=1")
    ("'=1+1", 'R6', '', 2.5, "''=1")
    """
    if value is None:
        return ""
    if not isinstance(value, str):
        return value
    return f"'{value}" if value.startswith("'") else safe(value)


def from_cell(text: str) -> str:
    """The text that `as_cell` made a cell of.

    >>> from_cell("'=1+1"), from_cell("''=1"), from_cell("'s Gravenhage"), from_cell("-3.5")
    ('=1+1', "'=1", "'s Gravenhage", '-3.5')
    """
    return text[1:] if text.startswith("'") and text[1:2] in {"'", *MARKS} else text
