"""Where each number of a screen comes from: the names behind its rows, and the equations of what only a screen has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.formulas import gauging
from advisor.ground.errors import CalloutError, did_you_mean
from advisor.ground.methods import methods, own_module
from advisor.show import rows
from advisor.show.derived import line_of
from advisor.study import derive, equations

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.ground.methods import Number
    from advisor.study.derive import Derivation

# What the layout lines of each shape show, in their order: a name of the rule base, or an equation of chord w, diameter D
# and distance from the end e.
LINES = {
    ("corner", "convex"): ("radius", "radius"),
    ("corner", "concave"): ("radius", "radius"),
    ("end", "convex"): ("depth",),
    ("end", "concave"): ("chord", "(D − w)/2"),
    ("outside diameter", "convex"): ("from_end", "e + w/2", "e + w"),
    ("outside diameter", "concave"): ("from_end", "e + w/2", "e + w"),
}
MINUTES = (
    "tooling_likely", "tooling_mean", "setup_likely", "setup_mean", "piece_likely", "piece_mean", "in_tolerance",
    "miss_minutes", "wear_minutes", "rounds_set", "batch_mean", "batch_p80",
)  # fmt: skip


def setup_numbers(method: MethodAdvice, advice: Advice) -> list[tuple[str, list[Derivation]]]:
    """Every number that the setup screen shows for a method: list of (row label, list of Derivation)."""
    result, own = [], getattr(own_module("advisor.show.methods", method.prefix), "DERIVED", {})
    for row in rows.setup_rows(method, advice):
        if row.value == wording.NO_POSITION:
            continue
        key = row.number.key if row.number else ""
        if key == rows.LAYOUT:
            result.append((row.label, [_line(row.label, method, advice)]))
        elif key in own:
            result.append((row.label, [own[key](method, advice)]))
        else:
            result.append(
                (
                    row.label,
                    [derive.derivation(name, advice) for name in row.names if derive.tells(name, advice)],
                )
            )
    result += table_numbers(method, advice) + proof_numbers(method, advice)
    minutes = [derive.derivation(f"{method.prefix}_{name}", advice) for name in MINUTES]
    return [*result, ("Minutes", minutes)]


def _line(row: str, method: MethodAdvice, advice: Advice) -> Derivation:
    """A layout line: how the name that it shows came about, or its distance as an equation of such names."""
    v = advice.values
    lines = method.to_set["layout"]
    place = next(place for place, line in enumerate(lines) if f"{rows.LINE}{line['line']}" == row)
    shown = LINES[v["location"], v["form"]][place]
    if advice.callout.position_open:
        shown = shown.removeprefix("e + ")
    if shown in advice.rules.names:
        return derive.derivation(shown, advice)._replace(label=row)
    symbols = {"w": v["chord"], "D": v["diameter"], "e": v["from_end"]}
    tree = equations.parse(shown, set(symbols))
    return line_of("z", shown, tree, symbols, lines[place]["distance_mm"], row, advice)


def table_numbers(method: MethodAdvice, advice: Advice) -> list[tuple[str, list[Derivation]]]:
    """One row of the table on a screen, worked out as an example: list of (title, list of Derivation)."""
    own = own_module("advisor.show.methods", method.prefix)
    return own.table_numbers(method, advice) if own and hasattr(own, "table_numbers") else []


def proof_numbers(method: MethodAdvice, advice: Advice) -> list[tuple[str, list[Derivation]]]:
    """What each way of proving the radius reads and sees, worked out: list of (what with, list of Derivation)."""
    result = []
    for check in method.checks:
        if check["sees_mm"] is None:
            continue
        way, found = check["way"], []
        if check["reading_mm"] is not None:
            found.append(derive.derivation(gauging.READINGS[way], advice)._replace(label="reads"))
        found.append(derive.derivation(gauging.WAYS[way][0], advice)._replace(label="sees"))
        words = wording.how(way, advice.values)
        result.append((words[:1].upper() + words[1:], found))
    return result


# What screens call a number of every method otherwise than the rule base does after the method's name.
SAID = {
    "4 in 5": "batch p80", "four batches in five under": "batch p80", "misses": "miss minutes", "wear": "wear minutes",
    "each piece": "piece", "a piece": "piece", "would hold about": "holds",
}  # fmt: skip


def _by_label(numbers: Sequence[Number]) -> dict[str, tuple[str, ...]]:
    """The names of rows by label, in small letters; of a row of several numbers also by each part of its label."""
    found: dict[str, tuple[str, ...]] = {}
    table = {number.label: number.names for number in numbers if number.names}
    for label, names in table.items():
        parts = label.lower().split(", ")
        several = () if len(parts) < 2 else zip(parts, names, strict=False)
        found |= {part: (name,) for part, name in several if part not in found}
    return found | {label.lower(): names for label, names in table.items()}


def find(text: str, advice: Advice) -> str:
    """The name that a user means: a name of the rule base, with spaces or underscores, or a label of the setup
    screen."""
    spoken = " ".join(str(text).replace("_", " ").split()).lower()
    method = advice.best or advice.ranked[0]
    spoken = SAID.get(spoken, spoken)
    for name in (f"{method.prefix}_{spoken.replace(' ', '_')}{ending}" for ending in ("_mean", "")):
        if name in advice.rules.names:
            return name
    # What the screen shows goes before a name of the rule base that is the same word, and that before other methods' rows.
    own = _by_label(methods()[method.name].numbers)
    every = [number for each in methods().values() for number in each.numbers]
    any_row = _by_label(every)
    by_name = {word: (name,) for name in advice.rules.names for word in (derive.label(name), name.replace("_", " "))}
    for known in (own, by_name, any_row):
        names = known.get(spoken)
        if names:
            return names[0]
    known = [*map(derive.label, advice.rules.names), *(number.label.lower() for number in every)]
    fix = did_you_mean(spoken, known) + "Give a label of the setup, or a name as it stands in rules/vocabulary.toml."
    raise CalloutError("derive", str(text), "is no number of this advice", fix)
