"""Words of the trade: terms.toml read and looked up."""

import functools
from typing import NamedTuple

from advisor.ground.errors import CalloutError, RuleError, did_you_mean
from advisor.ground.folders import rule_tables


class Term(NamedTuple):
    """One word of the trade. also: other forms of it; see: other terms; picture: lines of characters or ''; source:
    key."""

    name: str
    means: str
    also: tuple
    see: tuple
    picture: str
    source: str


@functools.cache
def terms() -> dict[str, Term]:
    """Every term by its name, in the order of the file."""
    found = {}
    for name, table in rule_tables("terms.toml").items():
        unknown = set(table) - {"means", "also", "see", "picture", "source"}
        if unknown or not {"means", "source"} <= set(table):
            fix = "Give means and source, and also, see and picture where they help."
            raise RuleError(
                "rules/terms.toml", name, "has other keys than a term has" if unknown else "is not complete", fix
            )
        also, see = tuple(table.get("also", ())), tuple(table.get("see", ()))
        found[name] = Term(name, table["means"], also, see, table.get("picture", "").strip("\n"), table["source"])
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
