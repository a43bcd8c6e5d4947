"""What the screens call the names of a case file and the methods, and what a field of a form is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.asked.options import options

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from typing import Any

    from advisor.ground.errors import InputError

_OPTION = re.compile(r'(?<![\w-])--([a-z]+(?:-[a-z]+)*)(?: "([^"]*)")?')
LABELS = {name: (option.label, option.like) for name, option in options().items()}


def label(name: str) -> str:
    """What a name is called: the screens' word for it, or the name in words."""
    return LABELS.get(name, (name.replace("_", " ").capitalize(), ""))[0]


def like(name: str) -> str:
    """Such an answer."""
    return LABELS.get(name, ("", ""))[1]


def in_labels(sentence: object) -> str:
    """A sentence in which what a command line calls an option is called as its field here.

    >>> in_labels('halve again with --moved "0.021 mm", or give --general-tolerance.')
    'halve again with “Moved” 0.021 mm, or give “General tolerance in the title block”.'
    """

    def named(found: re.Match[str]) -> str:
        return f"“{label(found[1].replace('-', '_'))}”" + (f" {found[2]}" if found[2] else "")

    return _OPTION.sub(named, str(sentence))


def field(name: str, value: str = "", **more: Any) -> dict[str, Any]:
    """A field of a form, as parts.html shows it.

    more: label; like: such an answer; told: a line under it; choices: as (value, words); big; slide: its stops, as a
    where_each_wins.Slide, with moves: what slides; type: text, count (a whole number), list (text with suggestions), choice
    or radios.
    """
    known = {
        "label": label(name),
        "like": like(name),
        "type": "text",
        "told": "",
        "choices": (),
        "big": False,
        "slide": None,
    }
    return {"name": name, "value": value} | known | more


def css(method: str | None) -> str:
    """The end of the class of a method's colour and hatch; "" stands for no method.

    >>> css("form tool"), css("")
    ('form-tool', 'no-method-stands')
    """
    return (method or "no method stands").replace(" ", "-")


def elsewhere(errors: Iterable[InputError], fields: Iterable[Mapping[str, Any]]) -> list[InputError]:
    """Errors that are told at none of some fields of a form."""
    names = {one["name"] for one in fields}
    return [error for error in errors if error.field not in names]
