"""The interview on a terminal and as data: a question with what hangs on it, and what is left open at the end."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.asked import callout as callouts
from advisor.show.as_json import plain
from advisor.show.blocks import grid, head, indented, paragraph
from advisor.study import interview

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from rich.console import RenderableType

    from advisor.asked.callout import Callout
    from advisor.show.blocks import Prose
    from advisor.study.interview import Outlook, Question, Step, Talk, Value

HOW = "Enter if you do not know; back; quit."
HOW_NEEDED = "back; quit."
RADIUS = (
    "Behind commas whatever else it shows there: places, bore, Ra, and interrupted for a keyway, a flat or a cross hole. "
    "What you do not write is taken not to be there."
)


def hangs(name: str, values: Sequence[Value], callout: Callout) -> str:
    """What each value of a fact makes of the choice, everything else as assumed: one line; "" where all make the same."""
    if len({one.method for one in values}) < 2:
        return ""
    return wording.leads_to(name, [(one.value, one.method) for one in values], callout.units)


def asked(step: Step, talk: Talk) -> Group:
    """A question, what hangs on it, and how to answer."""
    question, found = step.question, step.outlook
    if question is None:
        raise ValueError("nothing is left to ask")
    parts: list[RenderableType] = [Text(f"\n{question.asks}", style="bold")]
    if question.name == "radius":
        parts.append(paragraph(RADIUS))
    if question.name == "place":
        made = grid({"justify": "right"}, {}, {})
        for number, (name, place) in enumerate(interview.SHAPES.items(), 1):
            made.add_row(f"{number}", name, Text(f"{place['form']}, {place['location']}", style="dim"))
        parts.append(indented(made))
    if found:
        if not talk.past or talk.past[-1][0].needed:
            parts.insert(0, _as_read(found.callout))
        parts += _what_hangs(question, found)
    inch = callouts.as_spoken(str(talk.fields.get("units") or "mm")) not in ("mm", "millimetre", "metric")
    if question.like and not (inch and " mm" in question.like):
        parts.append(paragraph(f"Such as {question.like}."))
    kept = talk.said.get(question.name)
    how = (
        HOW_NEEDED
        if question.needed
        else f"Enter for {question.none}; back; quit."
        if question.name == "width"
        else HOW
    )
    if kept:
        how = f"Enter keeps {kept}; {'' if question.needed else '- if you do not know; '}back; quit."
    parts.append(indented(Text(how, style="dim")))
    return Group(*parts)


def _as_read(callout: Callout) -> Prose:
    """The drawing as it was read, once, before anything else is asked."""
    low, high = (wording.bare(size, callout.units) for size in (callout.radius_low, callout.radius_high))
    unit = "in" if callout.units == "inch" else "mm"
    return paragraph(f"\nRead: {low} to {high} {unit}, from {callout.tolerance_from}.")


def _what_hangs(question: Question, found: Outlook) -> list[RenderableType]:
    live = [name for name in question.facts if name in found.live]
    parts: list[RenderableType] = []
    made = grid({"no_wrap": True}, {"overflow": "fold"})
    for name in live:
        line = hangs(name, found.values[name], found.callout)
        share = wording.chance(found.live[name])
        if not line:
            line = f"turns the choice in {share} ways in which the rest may lie"
        made.add_row(name.replace("_", " "), line)
    if made.row_count:
        parts.append(indented(made))
    if found.choice is not None:
        so_far = f"So far: {found.choice}, which is the choice in {wording.chance(found.agreed)} ways tried."
    else:
        so_far = "So far: nothing stands."
    parts.append(indented(Text(so_far, style="dim")))
    return parts


def ranges(found: Outlook) -> list[tuple[str, str]]:
    """What was tried of each open fact: list of (name, words)."""
    open_ = {fact.name for fact in found.open}
    told = []
    for fact in found.open:
        span = interview.span(fact)
        if fact.name == "hardness" and "material" in open_:
            words = f"of each as sold, and {min(fact.codes):g} to {max(fact.codes):g} times that as far as it is turned or hardened"
        elif span:
            words = " to ".join(_value(fact.name, end, found.callout) for end in span)
        else:
            words = ", ".join(_value(fact.name, value, found.callout) for value in fact.values)
        told.append((fact.name, words))
    return told


def _value(name: str, value: Any, callout: Callout) -> str:
    return wording.fact_value(name, value, callout.units).split(" (")[0]


def _outlook(step: Step) -> Outlook:
    """What is known of the answer, once nothing is missing. Raises ValueError before."""
    if step.outlook is None:
        raise ValueError("something is missing still")
    return step.outlook


def settled(step: Step, talk: Talk, *, minutes_too: bool) -> Group:
    """What is said when nothing is left to ask: what was tried, what the minutes still hang on and how to be asked for that
    too, what was not tried, and what the user did not know."""
    found = _outlook(step)
    what = "the method or, by more than a fifth, the minutes" if minutes_too else "the method"
    parts: list[RenderableType] = [Text(f"\nNothing that I have not asked can change {what}.", style="bold")]
    open_ = ranges(found)
    if open_:
        parts.append(paragraph(f"Tried in {found.tried:,} ways, within these ranges only:"))
        made = grid({"no_wrap": True}, {"overflow": "fold"})
        for name, words in open_:
            made.add_row(name.replace("_", " "), words)
        parts.append(indented(indented(made)))
    told = "" if minutes_too else minutes_hang(found)
    if told:
        parts += [paragraph(told), paragraph(f"To be asked for that too: {command(talk, name='ask')} --minutes")]
    if found.beyond:
        parts.append(paragraph("Not tried, since it is seldom so, but it would change the method:"))
        made = grid({"no_wrap": True}, {"overflow": "fold"})
        for name, values in found.beyond.items():
            pairs = [(one.value, one.method) for one in values]
            made.add_row(name.replace("_", " "), wording.leads_to(name, pairs, found.callout.units))
        parts.append(indented(indented(made)))
    parts += _not_known(step)
    return Group(*parts)


def minutes_hang(found: Outlook) -> str:
    """What the minutes of the batch still hang on, by more than a fifth, in one sentence; "" where nothing moves them so
    far. found: interview.Outlook."""
    if len(found.minutes) < 2 or found.minutes[1] <= interview.MINUTES_APART * found.minutes[0]:
        return ""
    each = [
        f"{name.replace('_', ' ')} ({_from_to(ends)})" if len(found.hang) > 1 else name.replace("_", " ")
        for name, ends in found.hang.items()
    ]
    if len(found.hang) == 1:
        return f"The minutes still hang on {each[0]}: {_from_to(*found.hang.values())}."
    on = f"{', '.join(each)}; together" if each else "these together"
    return f"The minutes still hang on {on}: {_from_to(found.minutes)}."


def _from_to(ends: Iterable[float]) -> str:
    """
    >>> _from_to((35.2, 120.4))
    '35 to 120 min'
    """
    return " to ".join(wording.minutes(end) for end in ends).replace(" min to", " to")


def _not_known(step: Step) -> list[RenderableType]:
    """What the user did not know, and what it would turn."""
    found = _outlook(step)
    lines = []
    for name, values in found.unknown.items():
        line = hangs(name, values, found.callout)
        taken = _value(name, values[0].value, found.callout) if values else ""
        if line:
            lines.append((name.replace("_", " "), f"{taken} is taken. {line}."))
    if not lines:
        return []
    made = grid({"no_wrap": True}, {"overflow": "fold"})
    for line in lines:
        made.add_row(*line)
    share = wording.chance(found.at_large)
    what = wording.the(found.choice).capitalize() if found.choice else "That nothing stands"
    how = f"{what} is the choice" if found.choice else f"{what} is so"
    whole = f"{how} in {share} ways in which these and the rest may lie."
    return [head("You did not know, and it matters"), indented(made), paragraph(whole)]


def command(talk: Talk, *, name: str = "advise") -> str:
    """The command line that asks for the same, or that goes on from here."""
    return shlex.join(interview.command(talk, name=name))


def state(step: Step, talk: Talk, *, minutes_too: bool = False) -> dict[str, Any]:
    """Where the interview stands, as plain data: the next question with its possible answers and what hangs on each, the
    live facts, what was tried, and the answer so far."""
    found, question = step.outlook, step.question
    data = {
        "known": {name: value for name, value in talk.fields.items() if value is not None},
        "unknown": list(step.unknown),
        "settled": question is None,
        "until": "minutes" if minutes_too else "method",
        "question": question and _question(question, found),
        "live": found.live if found else {},
        "open": _open(found) if found else [],
        "answer": _so_far(found) if found else None,
        "tried": found.tried if found else 0,
        "command": command(talk) if found else command(talk, name="ask"),
    }
    return plain(data)


def _question(question: Question, found: Outlook | None) -> dict[str, Any]:
    data = {"name": question.name, "asks": question.asks, "needed": question.needed, "like": question.like}
    if question.name == "place":
        data["answers"] = [{"shape": name, **place} for name, place in interview.SHAPES.items()]
    data["facts"] = [_fact(name, found) for name in question.facts if found is None or name in found.values]
    return data


def _fact(name: str, found: Outlook | None) -> dict[str, Any]:
    if found is None:
        return {"name": name}
    return {"name": name, "live": found.live.get(name, 0.0), "values": _values(name, found.values[name], found.callout)}


def _values(name: str, values: Sequence[Value], callout: Callout) -> list[dict[str, Any]]:
    return [
        {
            "value": one.value,
            "shown": _value(name, one.value, callout),
            "method": one.method,
            "shares": [{"method": method, "share": share} for method, share in one.shares.items()],
        }
        for one in values
    ]


def _open(found: Outlook) -> list[dict[str, str]]:
    told = dict(ranges(found))
    return [{"name": fact.name, "tried": told[fact.name]} for fact in found.open]


def _so_far(found: Outlook) -> dict[str, Any]:
    return {
        "method": found.choice,
        "agreed": found.agreed,
        "batch_min": list(found.minutes) or None,
        "minutes_hang_on": {name: list(ends) for name, ends in found.hang.items()},
        "agreed_with_unknown_otherwise": found.at_large,
        "not_tried": {name: _values(name, values, found.callout) for name, values in found.beyond.items()},
        "not_known": {name: _values(name, values, found.callout) for name, values in found.unknown.items()},
    }
