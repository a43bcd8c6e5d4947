"""Practice on a terminal: the callout, what the choice was worth and why, and the score."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.rulebase import glossary
from advisor.show import rows, why
from advisor.show.blocks import asked, grid, head, indented, paragraph, table
from advisor.study import changes, derive, practise

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import RenderableType

    from advisor.answer.advice import Advice
    from advisor.show.rows import Row
    from advisor.study.changes import Change, Comparison, Gain
    from advisor.study.practise import Exercise, Judged, Score

HOW = "A number or a name, and if you like: because ... Enter to pass; ? for help; quit."
HELP = (
    "Type the number or the name of a method: 1, or form tool.",
    "Add your reason, and it is judged too: form tool because there are many pieces.",
    "Enter passes to the answer. quit ends the round and shows your score.",
    "A number to set is typed with or without its unit: 6, or 6 mm.",
)


def help_text() -> Group:
    """What may be answered, a line each."""
    return Group(*(Text(f"  {line}") for line in HELP))


def exercise(number: int, count: int, advice: Advice) -> Group:
    """The callout, and what may be chosen."""
    names = [*practise.method_names(), practise.NOTHING]
    made = grid({"justify": "right"}, {})
    for place, name in enumerate(names, 1):
        made.add_row(str(place), name)
    title = Text(f"\n{number} of {count}", style="bold")
    return Group(title, asked(advice), paragraph(work(advice)), Text("Which would you choose?", style="bold"), indented(made),
                 Text(f"  {HOW}", style="dim"))  # fmt: skip


def work(advice: Advice) -> str:
    """How it is held and by whom, and what the shop has for it."""
    c, shop, units = advice.callout, advice.shop, advice.callout.units
    held = f"{c.support}, {wording.length(c.stickout or 0.0, units).split(' (')[0]} out"
    facts = practise.shop_facts(advice)
    grinding = shop.form_tools.grinding
    has = [
        "a pivot attachment" if shop.pivot_attachment else "no pivot attachment",
        "nothing to grind form tools with" if grinding == "none" else f"a {grinding} for form tools",
    ]
    told = "; ".join(f"{derive.label(name)} {derive.value(name, advice)}" for name in facts)
    return f"{c.skill.capitalize()}; {c.tool}; {held}. The shop has {' and '.join(has)}. Its {told}."


def result(one: Exercise, advice: Advice, choice: str | None, judged: Judged, reason: str) -> Group:
    """His choice beside the program's, the reason that decides, what would have made his right, the word and the sketch."""
    parts: list[RenderableType] = [Text(f"\n{verdict(one, advice, choice, judged)}", style="bold")]
    if reason:
        parts.append(paragraph(_reason_judged(reason, judged, advice)))
    if judged.comparison:
        parts.append(_beside(judged, advice))
    parts += [paragraph(text) for text in reasons(advice, choice, judged)]
    return Group(*parts, *_would_help(advice), *_word(advice.recommended))


def _reason_judged(reason: str, judged: Judged, advice: Advice) -> str:
    """His reason, and whether the fact that it names is the one that decides, as far as that can be said."""
    said = f"You said: {reason}."
    named = practise.named_reasons(reason)
    decides = practise.deciding_reasons(advice, judged.comparison) if judged.comparison else []
    if not named or not decides:
        return said
    if set(named) & set(decides):
        return f"{said} That is what decides."
    return f"{said} Here it is {' and '.join(decides)}, not {' or '.join(named)}."


def _would_help(advice: Advice) -> list[RenderableType]:
    gain = practise.help_by_shop(advice)
    if gain is None:
        return []
    return [
        paragraph(
            f"What would help: with {gain.what} {wording.the(gain.method)} takes {wording.minutes(gain.measure)}."
        )
    ]


def passed(advice: Advice) -> Group:
    """The answer where nobody chose."""
    told = Text(f"\nThe program takes {wording.the(advice.winner.name) if advice.best else 'nothing'}.", style="bold")
    return Group(
        told, *(paragraph(text) for text in wording.why(advice)), *_would_help(advice), *_word(advice.recommended)
    )


def _decides(found: Comparison, advice: Advice) -> str:
    """The reason that decides between two methods: the rule that puts the other out or turns the choice, or else where the
    time goes."""
    if found.obstacles:
        first = wording.because(found.obstacles[0], advice)
        told = why.verdict(found, advice)
        return told if told.startswith(first) else f"{first} {told}"
    if any(weight.flips for weight in found.weights):
        return why.verdict(found, advice)
    return f"{wording.the(found.theirs.name).capitalize()}: {wording.why_not(found.theirs, advice)}"


def verdict(one: Exercise, advice: Advice, choice: str | None, judged: Judged) -> str:
    """Whether a choice is right, in a sentence."""
    if judged.right and len(one.accepted) > 1:
        *others, last = one.accepted
        count = "both count" if len(one.accepted) == 2 else "all count"
        return f"Right. A close call: {', '.join(others)} and {last} {count}."
    if judged.right:
        return f"Right: {advice.recommended or practise.NOTHING}."
    if choice is None:
        return f"Something stands after all: {wording.the(advice.winner.name)}."
    mine = wording.the(choice)
    return f"The program takes {wording.the(advice.winner.name) if advice.best else 'nothing'}, not {mine}."


def reasons(advice: Advice, choice: str | None, judged: Judged) -> list[str]:
    """What decides, and what would have made the choice right: sentences."""
    if judged.comparison:
        told = [_decides(judged.comparison, advice)]
    elif advice.best is None:
        told = [f"{name}: {wording.why_not(m, advice)}" for name, m in advice.methods.items()]
    else:
        told = wording.why(advice)
    if not judged.right and choice is not None:
        told = [*told, _would_be_right(choice, judged.change, advice)]
    return told


def beside(judged: Judged) -> tuple[list[str], list[tuple[str, ...]]]:
    """The two methods side by side: headings and rows of words."""
    found = judged.comparison
    lines: list[tuple[str, ...]] = []
    for method in (found.ours, found.theirs) if found else ():
        if method is None:
            continue
        m = method.minutes
        stands = "" if method.rank else " (will not do)"
        lines.append(
            (
                method.name + stands,
                wording.minutes(m["batch"]["mean"]),
                wording.minutes(m["tooling"]["mean"] + m["setup"]["mean"]),
                wording.minutes(m["per_piece"]["mean"]),
                wording.chance(method.in_tolerance),
            )
        )
    return ["", "batch", "tool, setup", "a piece", "in tolerance"], lines


def _beside(judged: Judged, advice: Advice) -> RenderableType:
    heads, lines = beside(judged)
    made = table(*((head, "left" if head in ("", "in tolerance") else "right") for head in heads))
    for line in lines:
        made.add_row(*line)
    return indented(made)


def _would_be_right(choice: str, change: Change | Gain | None, advice: Advice) -> str:
    if change is None:
        return f"No single change makes {wording.the(choice)} right here."
    if isinstance(change, changes.Gain):
        return f"{wording.the(choice).capitalize()} would be right with {change.what}."
    return f"{wording.the(choice).capitalize()} would be right with {change.name} {why.flip_text(change, advice)}."


def _word(method: str | None) -> list[RenderableType]:
    """What the method is, with its sketch."""
    if method is None:
        return []
    term = glossary.find(method)
    picture = [indented(Text("\n" + term.picture, no_wrap=True))] if term.picture else []
    return [head(term.name), paragraph(term.means), *picture]


def set_question(name: str, advice: Advice) -> Group:
    """A number to set."""
    row = _row(name, advice)
    unit = "inch" if advice.callout.units == "inch" else "mm"
    label = wording.lower(row.label) if row else derive.label(name)
    label += ", by the cross dial" if name in practise.WOUND else ""
    asks = f"\n{wording.the(advice.winner.name).capitalize()}. What do you set: {label}, in {unit}?"
    return Group(Text(asks, style="bold"), Text("  Enter to pass; quit.", style="dim"))


def _row(name: str, advice: Advice) -> Row | None:
    """The row of the setup that shows a number, None where it has none of its own."""
    shown = rows.setup_rows(advice.winner, advice)
    return next((row for row in shown if name in row.names), None)


def set_result(name: str, advice: Advice, right: bool) -> Group:
    """The number derived, and what the dial reads where it is set by one."""
    row = _row(name, advice)
    value = derive.value(name, advice)
    dial = f"; {row.dial}" if row and row.dial else ""
    told = Text(f"\n{'Right' if right else 'It is'}: {value}{dial}.", style="bold")
    return Group(told, Text(), *why.steps_down(advice, name, 1))


def score_table(score: Score, path: Path | None) -> Group:
    """What went right by method, and what went wrong by kind."""
    made = table(("", "left"), ("right", "right"), ("asked", "right"))
    for name in [*practise.method_names(), practise.NOTHING, practise.NUMBER]:
        if name in score.methods:
            made.add_row(name, *map(str, score.methods[name]))
    parts = [head("Your score"), indented(made) if score.methods else paragraph("Nothing answered yet.")]
    if score.mistakes:
        kinds = sorted(score.mistakes.items(), key=lambda pair: -pair[1])
        parts.append(paragraph(f"What went wrong: {', '.join(f'{kind} {count}' for kind, count in kinds)}."))
    if path is not None:
        parts.append(Text(f"  Kept in {path}.", style="dim"))
    return Group(*parts)
