"""The one kind of error that a user sees: the field, what was written, what is wrong, what would be right."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any


LONGEST_WORD = 100  # characters that are looked at for a near word; the search grows with their square


class InputError(ValueError):
    """Something that a user wrote cannot be used.

    field: name of the option or key; value: what was written; problem: what is wrong with it, as the
    rest of a sentence; fix: a sentence that says what would be right; also: other errors that were found with it, which
    its text gives on lines of their own.

    >>> print(InputError("width", "14 mm", "is wider than the 12 mm circle of R6", "Give at most 12 mm."))
    width: 14 mm is wider than the 12 mm circle of R6. Give at most 12 mm.
    """

    def __init__(self, field: object, value: object, problem: str, fix: str) -> None:
        self.field = field
        self.value = value
        self.problem = problem
        self.fix = fix
        shown = f"{value} {problem}" if str(value) else problem
        super().__init__(f"{field}: {shown}. {fix}")

        self.also: tuple[InputError, ...] = ()

    def __str__(self) -> str:
        return "\n".join([super().__str__(), *map(str, self.also)])

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.field, self.value, self.problem, self.fix), {"also": self.also}

    @property
    def each(self) -> tuple[InputError, ...]:
        """This error and those that were found with it, each alone: at least one."""
        return (type(self)(self.field, self.value, self.problem, self.fix), *self.also)


class CalloutError(InputError):
    """The callout, the case file or an option of the command line cannot be used."""


class ShopError(InputError):
    """A shop file cannot be used."""


class RuleError(InputError):
    """A file of the rule base cannot be used."""


def together(errors: Iterable[InputError]) -> InputError:
    """One error for several of one kind, in their order: the first, with the others in `also`.

    >>> print(together([InputError("a", "1", "is small", "Give 2."), InputError("b", "", "is missing", "Give b.")]))
    a: 1 is small. Give 2.
    b: is missing. Give b.
    """
    alone = [one for error in errors for one in error.each]
    alone[0].also = tuple(alone[1:])
    return alone[0]


def did_you_mean(word: object, known: Iterable[str]) -> str:
    """'Did you mean "x"? ' for the nearest known word, or '' when none is near."""
    written = str(word)[:LONGEST_WORD].lower()
    near = difflib.get_close_matches(written, [k.lower() for k in known], n=1, cutoff=0.6)
    for candidate in known:
        if near and candidate.lower() == near[0]:
            return f'Did you mean "{candidate}"? '
    return ""
