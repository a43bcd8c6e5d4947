"""Words of the trade in what the screens say: each a link to its own screen, with what it means beside it."""

from __future__ import annotations

import functools
import re
from html import escape
from typing import TYPE_CHECKING

from markupsafe import Markup

from advisor.rulebase import glossary

if TYPE_CHECKING:
    from advisor.rulebase.glossary import Term


def address(name: str) -> str:
    """Where a word is told.

    >>> address("round-nose tool")
    '/word/round-nose-tool'
    """
    return f"/word/{_bare(name)}"


def _bare(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


@functools.cache
def _by_address() -> dict[str, Term]:
    return {_bare(name): term for name, term in glossary.terms().items()}


def of_address(text: str) -> Term | None:
    """The Term of the last part of such an address, None where there is none."""
    return _by_address().get(text)


class Words:
    """The words of one screen: each is a link where it is said first. Called with a sentence, it gives that sentence for
    a template."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def __call__(self, sentence: object) -> Markup:
        return Markup("".join(self._part(text, term) for text, term in glossary.in_parts(str(sentence))))

    def _part(self, text: str, term: Term | None) -> str:
        if term is None or term.name in self._told:
            return escape(text)
        self._told.add(term.name)
        return f'<a class="word" href="{address(term.name)}" title="{escape(term.means)}">{escape(text)}</a>'
