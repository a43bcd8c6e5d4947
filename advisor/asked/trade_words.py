"""Words that customers write in their lists, in several languages: `rules/headings.toml` looked up."""

import re
import unicodedata
from functools import cache, lru_cache

from advisor.ground.folders import rule_tables

_SAME = str.maketrans(
    {"〃": "ditto", "⌀": "ø", "∅": "ø", "Ø": "ø", "−": "-", "–": "-", "µ": "u", "μ": "u", "ß": "ss", "″": '"'}
)


def tables():
    """The tables of headings.toml."""
    return rule_tables("headings.toml")


@lru_cache(maxsize=20_000)
def bare(text):
    """A word without what does not count: capitals, accents, dots, hyphens and further blanks.

    >>> bare("Außen-Ø [mm]"), bare("Qté."), bare("Tol. +"), bare("N° de plan")
    ('aussen ø mm', 'qte', 'tol +', 'n de plan')
    """
    text = text.translate(_SAME).casefold()
    text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    text = re.sub(r"(?<=\w)-(?=\w)", " ", text)
    return " ".join(re.sub(r"[^\w\s+\-±/øØ\"]|_", " ", text).split())


def _spellings(word):
    """A word as `bare` gives it, with its umlauts written as two letters too."""
    two = word.casefold().translate(str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"}))
    return {bare(word), bare(two)}


def _flat(table):
    """Each spelling of each word of a table of lists -> its key; the first one stands."""
    found = {}
    for key, words in table.items():
        for word in words:
            for spelling in _spellings(word):
                found.setdefault(spelling, key)
    return found


@lru_cache(maxsize=1)
def headings():
    """Each spelling of each heading -> the names it may mean, most likely first."""
    found = {}
    for key, languages in tables()["names"].items():
        for word in (key.replace("_", " "), *(word for words in languages.values() for word in words)):
            for spelling in _spellings(word):
                if key not in found.setdefault(spelling, []):
                    found[spelling].append(key)
    return found


@cache
def cells(key):
    """Each spelling of each word in the cells of a column -> what a case file says for it."""
    return _flat(tables()["cells"].get(key, {}))


@cache
def listed(table, key="words"):
    """The spellings of a plain list of words."""
    return frozenset(spelling for word in tables()[table][key] for spelling in _spellings(word))


@cache
def initials(table, key="words"):
    """The first letters of a plain list of words."""
    return frozenset(word[:1].casefold() for word in (*listed(table, key), *tables()[table][key]))


@lru_cache(maxsize=1)
def _not_known():
    return frozenset(word.translate(_SAME).casefold() for word in tables()["unknown"]["words"])


def is_unknown(cell, column):
    """Whether a cell of a column says that the customer does not know.

    >>> is_unknown(" ? ", "material"), is_unknown("TBC", "quantity"), is_unknown("-", "tolerance"), is_unknown("brass", "material")
    (True, True, False, False)
    """
    if not isinstance(cell, str) or len(cell) > 40:
        return False
    text = " ".join(cell.translate(_SAME).casefold().rstrip(". ").split())
    return text in _not_known() and bare(cell) not in (cells(column).keys() - {""})


@lru_cache(maxsize=1)
def units():
    """Each spelling of a unit behind a heading -> the unit."""
    return _flat(tables()["units"])


@lru_cache(maxsize=1)
def beside():
    """Words that a heading may have more than what it means, longest first."""
    words = {spelling for word in tables()["beside"] for spelling in _spellings(word)}
    return sorted(words, key=len, reverse=True)


def meaning(heading):
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


def _with_and_without_unit(text):
    yield text, ""
    for spelling, unit in sorted(units().items(), key=lambda pair: -len(pair[0])):
        for between in (" in ", " / ", "/", " "):
            if text.endswith(between + spelling) and len(text) > len(between + spelling):
                yield text.removesuffix(between + spelling), unit
                break


def _without_beside(text):
    words = f" {text} "
    for spelling in beside():
        words = words.replace(f" {spelling} ", " ")
    return " ".join(words.split())
