"""What belongs to each step at the lathe: the part of the drawing that it is about, the numbers that are set in it, and
the cautions. Which part, and at which moment, stands with the step or caution in its file of rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.drawing.work import size
from advisor.language.expression import mentions
from advisor.show import onescreen, rows, sheet_content

if TYPE_CHECKING:
    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.page.state import State
    from advisor.rulebase.rulebook import Rule


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step. number: from 1; says: what is done; numbers: what is set in it, as sheet_content.Big; cautions: sentences,
    each standing one with the first step that it belongs to; still: those in a few words that were told with an earlier
    step; table: rows.Table that is worked by, None for none; view: "work" or "setup", the drawing that shows it; at: the
    moment of the work."""

    number: int
    says: str
    numbers: list[sheet_content.Big]
    cautions: list[str]
    still: str
    table: rows.Table | None
    view: str
    at: str


def steps(method: MethodAdvice, advice: Advice) -> list[Step]:
    """Every step of a method -> list of Step."""
    made, set_before, told_before = [], set(), set()
    for number, finding in enumerate(method.steps, 1):
        names = set(mentions(finding.text))
        listed = [
            one for one in onescreen.in_order(method, advice) if names & set(one.names) and one.label not in set_before
        ]
        set_before |= {one.label for one in listed}
        at = _at(finding.rule)
        here = [f for f in method.cautions if at in f.rule.at]
        own = [wording.spoken(f, advice) for f in here if f.rule.kind != "caution" or f.rule.id not in told_before]
        again = [wording.say(f.rule.brief, advice) for f in here if f.rule.id in told_before and f.rule.brief]
        told_before |= {f.rule.id for f in here if f.rule.kind == "caution"}
        table = rows.table_rows(method, advice) if finding.rule.table else None
        big = [sheet_content.numbered(one) for one in listed]
        made.append(
            Step(
                number=number,
                says=wording.spoken(finding, advice),
                numbers=big,
                cautions=list(dict.fromkeys(own)),
                still="; ".join(dict.fromkeys(again)),
                table=table,
                view=finding.rule.view,
                at=at,
            )
        )
    return made


def before(method: MethodAdvice, advice: Advice) -> tuple[list[str], list[str]]:
    """Cautions that stand before the first step: the standing ones, and what this job brings up that belongs to no one
    step."""
    ats = {_at(finding.rule) for finding in method.steps}
    kept = [f for f in method.cautions if not set(f.rule.at) & ats]
    special = [wording.spoken(f, advice) for f in kept if f.rule.kind != "caution"]
    standing = [wording.spoken(f, advice) for f in kept if f.rule.kind == "caution"]
    return list(dict.fromkeys(special)), list(dict.fromkeys(standing))


def _at(rule: Rule) -> str:
    """The moment at which a step is done."""
    return "".join(rule.at)


def lit(state: State, advice: Advice, method: MethodAdvice | None) -> tuple[str, ...]:
    """What stands out in the drawings of a step: names of pens, and sizes as the drawing has them."""
    number = int(state.more["lit"]) if state.more["lit"].isdecimal() else 0
    if method is None or not 1 <= number <= len(method.steps):
        return ()
    finding = method.steps[number - 1]
    found = ["heavy"] if finding.rule.arc else []
    for name in mentions(finding.text):
        declared = advice.rules.names.get(name)
        value = advice.values.get(name)
        if declared is not None and getattr(declared, "unit", "") == "mm" and isinstance(value, float):
            found.append(size(value, advice))
    return tuple(found)
