"""The rule base over columns: the same assignments as engine/generated.py, each worked out for all callouts at once.

Numbers are float64, truth values bool, words int8: the place of the word in the list that the vocabulary declares, -1
where there is none. Whoever calls cuts long columns into pieces of some ten thousand rows, which stay in the cache.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy

from advisor.engine import generated
from advisor.language import expression
from advisor.rulebase.rulebook import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence, Set
    from typing import Any

    from advisor.formulas.numeric import Flags, Values
    from advisor.rulebase.rulebook import Effect, Rule, Rulebook


class Columns:
    """What one run gave.

    values: name -> array, or a single value where it is the same for all; findings: rule id -> truth value of each row;
    conflicts: name -> truth value of each row, where rules disagree anywhere; errors: as in Outcome; rows: how many.
    """

    def __init__(
        self,
        rulebook: Rulebook,
        values: dict[str, Any],
        fired: Mapping[int, Any],
        errors: list[tuple[str, str]],
        rows: int,
    ) -> None:
        self.rulebook = rulebook
        self.values = values
        self.fired = fired
        self.errors = errors
        self.rows = rows

    @property
    def findings(self) -> dict[str, Flags]:
        return {
            self.rulebook.rules[number].id: numpy.broadcast_to(holds, self.rows) for number, holds in self.fired.items()
        }

    @property
    def conflicts(self) -> dict[str, Flags]:
        found = {}
        for name, declared in self.rulebook.names.items():
            effects = [pair for pair in self.rulebook.affecting(name) if pair[0].number in self.fired]
            if declared.kind == "conclusion" and len(effects) > 1 and name in self.values:
                disputed = self._disputed(name, effects)
                if disputed.any():
                    found[name] = disputed
        return found

    def _disputed(self, name: str, effects: Iterable[tuple[Rule, Effect]]) -> Flags:
        """Rows in which some rule that fired concluded another value than the one that stands."""
        stands = self.values[name]
        disputed = numpy.zeros(self.rows, dtype=bool)
        for rule, effect in effects:
            with numpy.errstate(all="ignore"):
                value = expression.worked_out(effect.amount or (), self.values)
            disputed |= self.fired[rule.number] & (value != stands) & ((value == value) | (stands == stands))
        return disputed

    def row(self, index: int) -> Outcome:
        """The Outcome of one row, with words as words."""
        values = {name: self._at(name, value, index) for name, value in self.values.items()}
        fired = [
            self.rulebook.rules[number]
            for number, holds in self.fired.items()
            if numpy.broadcast_to(holds, self.rows)[index]
        ]
        outcome = Outcome(values, fired, errors=self.errors)
        outcome.conflicts = outcome.conclusions_in_dispute()
        return outcome

    def _at(self, name: str, value: Any, index: Any) -> Any:
        if isinstance(value, tuple):
            return value
        value = numpy.broadcast_to(value, self.rows)[index].item()
        declared = self.rulebook.names[name]
        if declared.holds == "words":
            return declared.values[value] if value >= 0 else ""
        return value


def run(
    rulebook: Rulebook,
    givens: Values,
    constants: Values | None = None,
    findings: bool | Iterable[int] = True,
    want: Set[str] | None = None,
) -> Columns:
    """Work out many callouts.

    givens: name -> array of as many values as there are rows, or one value for all: floats, bools, words or their
    codes; constants, want: as plain.run. findings: say which rules fired where: True all that were worked out, False
    none, or the numbers of those to say it of. Returns Columns.
    """
    reported = () if findings is False and want is not None else findings
    program = generated.prepared(rulebook, want, findings=reported, arrays=True)
    encoded = {name: encode(rulebook, name, value) for name, value in givens.items() if name in rulebook.givens}
    inputs = rulebook.inputs(givens, constants)
    for name in inputs:
        if rulebook.names[name].holds == "words" and name not in encoded:
            encoded[name] = encode(rulebook, name, inputs[name])
    values = inputs | encoded
    errors: list[tuple[str, str]] = []
    rows = max((len(value) for value in values.values() if isinstance(value, numpy.ndarray) and value.ndim), default=1)
    with numpy.errstate(all="ignore"):
        try:
            fired = program.function(values)
        except Exception:
            values = inputs | encoded
            fired, errors = program.guarded(values)
    return Columns(rulebook, values, fired if findings else {}, errors, rows)


def encode(rulebook: Rulebook, name: str, value: Any) -> Any:
    """A given as the columns hold it: float64 or bool array, codes of words, or a single value as it is."""
    declared = rulebook.names[name]
    if declared.holds == "words":
        return _codes(declared.values, value)
    if not isinstance(value, (numpy.ndarray, list)) or declared.holds == "list":
        return value
    return numpy.asarray(value, dtype=bool if declared.holds == "truth" else float)


def _codes(words: Sequence[str], value: Any) -> Any:
    if isinstance(value, str):
        return numpy.int8(words.index(value) if value in words else -1)
    if isinstance(value, (int, numpy.integer)):
        return numpy.int8(value)
    array = numpy.asarray(value)
    if array.dtype.kind in "iu":
        return array.astype(numpy.int8, copy=False)
    codes = numpy.full(array.shape, -1, dtype=numpy.int8)
    for code, word in enumerate(words):
        codes[array == word] = code
    return codes


def decode(rulebook: Any, name: str, codes: Any) -> Any:
    """The words behind their codes, as an array of text."""
    words = numpy.array([*rulebook.names[name].values, ""])
    return words[numpy.asarray(codes)]
