"""Words that customers write in their lists, in several languages: `rules/headings.toml` looked up."""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from typing import TYPE_CHECKING

from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from typing import Any


_SAME = str.maketrans(
    {"〃": "ditto", "⌀": "ø", "∅": "ø", "Ø": "ø", "−": "-", "–": "-", "µ": "u", "μ": "u", "ß": "ss", "″": '"'}
)


def tables() -> dict[str, Any]:
    """The tables of headings.toml."""
    return rule_tables("headings.toml")


@lru_cache(maxsize=20_000)
def bare(text: str) -> str:
    """A word without what does not count: capitals, accents, dots, hyphens and further blanks.

    >>> bare("Außen-Ø [mm]"), bare("Qté."), bare("Tol. +"), bare("N° de plan")
    ('aussen ø mm', 'qte', 'tol +', 'n de plan')
    """
    text = text.translate(_SAME).casefold()
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    text = re.sub(r"(?<=\w)-(?=\w)", " ", text)
    return " ".join(re.sub(r"[^\w\s+\-±/øØ\"]|_", " ", text).split())


def _spellings(word: str) -> set[str]:
    """A word as `bare` gives it, with its umlauts written as two letters too."""
    two = word.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return {bare(word), bare(two)}


def _flat(table: Mapping[str, list[str]]) -> dict[str, str]:
    """Each spelling of each word of a table of lists -> its key; the first one stands."""
    found: dict[str, str] = {}
    for key, words in table.items():
        for word in words:
            for spelling in _spellings(word):
                found.setdefault(spelling, key)
    return found


@lru_cache(maxsize=1)
def headings() -> dict[str, list[str]]:
    """Each spelling of each heading -> the names it may mean, most likely first."""
    found: dict[str, list[str]] = {}
    for key, languages in tables()["names"].items():
        for word in (key.replace("_", " "), *(word for words in languages.values() for word in words)):
            for spelling in _spellings(word):
                if key not in found.setdefault(spelling, []):
                    found[spelling].append(key)
    return found


@cache
def cells(key: str) -> dict[str, str]:
    """Each spelling of each word in the cells of a column -> what a case file says for it."""
    return _flat(tables()["cells"].get(key, {}))


@cache
def listed(table: str, key: str = "words") -> frozenset[str]:
    """The spellings of a plain list of words."""
    return frozenset(spelling for word in tables()[table][key] for spelling in _spellings(word))


@cache
def initials(table: str, key: str = "words") -> frozenset[str]:
    """The first letters of a plain list of words."""
    return frozenset(word[:1].casefold() for word in (*listed(table, key), *tables()[table][key]))


@lru_cache(maxsize=1)
def _not_known() -> frozenset[str]:
    return frozenset(word.translate(_SAME).casefold() for word in tables()["unknown"]["words"])


@lru_cache(maxsize=1)
def _first_of_unknown() -> frozenset[str]:
    return frozenset(word[:1] for word in _not_known())


def is_unknown(cell: str, column: str) -> bool:
    """Whether a cell of a column says that the customer does not know.

    >>> is_unknown(" ? ", "material"), is_unknown("TBC", "quantity"), is_unknown("-", "tolerance"), is_unknown("brass", "material")
    (True, True, False, False)
    """
    if not isinstance(cell, str) or len(cell) > 40:
        return False
    first = cell[:1]  # most cells are told by their first letter or digit
    if first.isalnum() and first.casefold() not in _first_of_unknown():
        return False
    text = " ".join(cell.translate(_SAME).casefold().rstrip(". ").split())
    return text in _not_known() and bare(cell) not in (cells(column).keys() - {""})


@lru_cache(maxsize=1)
def units() -> dict[str, str]:
    """Each spelling of a unit behind a heading -> the unit."""
    return _flat(tables()["units"])


@lru_cache(maxsize=1)
def beside() -> list[str]:
    """Words that a heading may have more than what it means, longest first."""
    words = {spelling for word in tables()["beside"] for spelling in _spellings(word)}
    return sorted(words, key=len, reverse=True)


def meaning(heading: str) -> tuple[list[Any], str]:
    """The names that a heading may mean and its unit ('' where it has none): ([name, ...], unit).

    >>> meaning("Finished Dia. (mm)"), meaning("Stückzahl"), meaning("Remarks")
    ((['diameter'], 'mm'), (['quantity'], ''), ([], ''))
    >>> meaning("R in inch"), meaning("Ra [µm]")[0], meaning("Radius/mm")
    ((['radius'], 'inch'), ['finish'], (['radius'], 'mm'))
    """
    written = bare(heading)
    for text, unit in _with_and_without_unit(written):
        names = headings().get(text)
        if names is None and len(text) > 2:
            names = headings().get(_without_beside(text))
        if names:
            return list(names), unit
    return [], ""


def _with_and_without_unit(text: str) -> Iterator[tuple[str, str]]:
    yield text, ""
    if not text.endswith(tuple(units())):  # most do not, and a wide list has many
        return
    for spelling, unit in sorted(units().items(), key=lambda pair: -len(pair[0])):
        for between in (" in ", " / ", "/", " "):
            if text.endswith(between + spelling) and len(text) > len(between + spelling):
                yield text.removesuffix(between + spelling), unit
                break


def _without_beside(text: str) -> str:
    words = f" {text} "
    for spelling in beside():
        words = words.replace(f" {spelling} ", " ")
    return " ".join(words.split())
