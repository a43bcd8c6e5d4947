"""Words of the trade: terms.toml read and looked up, and found in a sentence."""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground.errors import CalloutError, RuleError, did_you_mean
from advisor.ground.folders import rule_tables

if TYPE_CHECKING:
    from typing import Any


class Term(NamedTuple):
    """One word of the trade. also: other forms of it; see: other terms; picture: lines of characters or ''; source: key;
    plain: whether a sentence needs no link to it."""

    name: str
    means: str
    also: tuple
    see: tuple
    picture: str
    source: str
    plain: bool = False


@functools.cache
def terms() -> dict[str, Term]:
    """Every term by its name, in the order of the file."""
    found = {}
    for name, table in rule_tables("terms.toml").items():
        unknown = set(table) - {"means", "also", "see", "picture", "source", "plain"}
        if unknown or not {"means", "source"} <= set(table):
            fix = "Give means and source, and also, see, picture and plain where they help."
            raise RuleError(
                "rules/terms.toml", name, "has other keys than a term has" if unknown else "is not complete", fix
            )
        also, see = tuple(table.get("also", ())), tuple(table.get("see", ()))
        found[name] = Term(
            name,
            table["means"],
            also,
            see,
            table.get("picture", "").strip("\n"),
            table["source"],
            table.get("plain", False),
        )
    return found


@functools.cache
def _forms() -> dict[str, Term]:
    """Every form of every term, in small letters -> Term; a term's own name goes before another's form."""
    forms = {form.lower(): term for term in terms().values() for form in term.also}
    return forms | {name.lower(): term for name, term in terms().items()}


def find(text: str) -> Term:
    """The term that a text names, by its name or another form of it. Raises CalloutError with the nearest."""
    spoken = " ".join(str(text).replace("_", " ").split()).lower()
    for form in (spoken, spoken.removesuffix("s"), spoken.replace("-", " "), spoken.replace(" ", "-")):
        if form in _forms():
            return _forms()[form]
    fix = did_you_mean(spoken, list(_forms())) + "turn-radius word lists them all."
    raise CalloutError("word", text, "has no entry", fix)


@functools.cache
def _in_sentences() -> Any:
    """A pattern of what is found in sentences, and its forms in small letters -> Term: the name of a term that is not plain,
    its plural, and other forms of several words that share one with it. Any other form may mean something else there, and
    what a drawing writes in capitals, such as MIN, is no word of a sentence."""
    forms = {}
    for name, term in terms().items():
        if term.plain or name.isupper():
            continue
        own = set(re.findall(r"\w+", name.lower()))
        for form in (*term.also, name):
            words = re.findall(r"\w+", form.lower())
            if form == name or form.lower() == f"{name.lower()}s" or len(words) > 1 and own & set(words):
                forms[form.lower()] = term
    longest = sorted(map(re.escape, forms), key=len, reverse=True)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(longest)})(?![\w-])", re.IGNORECASE), forms


def in_parts(sentence: Any) -> Any:
    """A sentence cut at the words of the trade in it: list of (text, its Term or None).

    >>> [(text, term and term.name) for text, term in in_parts("Take the chuck key out.")]
    [('Take the ', None), ('chuck key', 'chuck'), (' out.', None)]
    """
    pattern, forms = _in_sentences()
    parts, end = [], 0
    for found in pattern.finditer(sentence):
        parts += [(sentence[end : found.start()], None), (found[0], forms[found[0].lower()])]
        end = found.end()
    return [part for part in (*parts, (sentence[end:], None)) if part[0]]
