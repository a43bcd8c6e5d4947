"""What belongs to each step at the lathe: the part of the drawing that it is about, the numbers that are set in it, and
the cautions. Which part and which cautions stands in rules/at_the_lathe.toml."""

import functools
from dataclasses import dataclass

from advisor.answer import wording
from advisor.drawing.work import size
from advisor.ground.folders import rule_tables
from advisor.language.expression import mentions
from advisor.show import onescreen, rows, sheet_content


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step. number: from 1; says: what is done; numbers: what is set in it, as sheet_content.Big; cautions: sentences,
    each standing one with the first step that it belongs to; still: those in a few words that were told with an earlier
    step; table: rows.Table that is worked by, None for none; view: "work" or "setup", the drawing that shows it; at: the
    moment of the work."""

    number: int
    says: str
    numbers: list
    cautions: list
    still: str
    table: object
    view: str
    at: str


@functools.cache
def _told():
    """Rule id of a step -> its row of at_the_lathe.toml, and moment -> cautions' rule ids."""
    tables = rule_tables("at_the_lathe.toml")
    found = {}
    for row in tables["moment"]:
        for rule in row["of"]:
            found[rule] = row
    return found, {rule: row["at"] for row in tables["with"] for rule in row["of"]}


def steps(method, advice):
    """Every step of a method -> list of Step."""
    told, moments = _told()
    made, set_before, told_before = [], set(), set()
    cautions = {id(finding): moments.get(finding.rule.id, []) for finding in method.cautions}
    for number, finding in enumerate(method.steps, 1):
        row = told.get(finding.rule.id, {})
        names = set(mentions(finding.text))
        listed = [
            one for one in onescreen.in_order(method, advice) if names & set(one.names) and one.label not in set_before
        ]
        set_before |= {one.label for one in listed}
        at = row.get("at", "")
        here = [f for f in method.cautions if at in cautions[id(f)]]
        own = [wording.spoken(f, advice) for f in here if f.rule.kind != "caution" or f.rule.id not in told_before]
        again = [wording.say(f.rule.brief, advice) for f in here if f.rule.id in told_before and f.rule.brief]
        told_before |= {f.rule.id for f in here if f.rule.kind == "caution"}
        table = rows.table_rows(method, advice) if row.get("table") else None
        big = [sheet_content.numbered(one) for one in listed]
        made.append(
            Step(
                number=number,
                says=wording.spoken(finding, advice),
                numbers=big,
                cautions=list(dict.fromkeys(own)),
                still="; ".join(dict.fromkeys(again)),
                table=table,
                view=row.get("view", "setup"),
                at=at,
            )
        )
    return made


def before(method, advice):
    """Cautions that stand before the first step: the standing ones, and what this job brings up that belongs to no one
    step."""
    told, moments = _told()
    ats = {told.get(finding.rule.id, {}).get("at", "") for finding in method.steps}
    kept = [f for f in method.cautions if not set(moments.get(f.rule.id, [])) & ats]
    special = [wording.spoken(f, advice) for f in kept if f.rule.kind != "caution"]
    standing = [wording.spoken(f, advice) for f in kept if f.rule.kind == "caution"]
    return list(dict.fromkeys(special)), list(dict.fromkeys(standing))


def lit(state, advice, method):
    """What stands out in the drawings of a step: names of pens, and sizes as the drawing has them."""
    number = int(state.more["lit"]) if state.more["lit"].isdecimal() else 0
    if method is None or not 1 <= number <= len(method.steps):
        return ()
    finding = method.steps[number - 1]
    row = _told()[0].get(finding.rule.id, {})
    found = ["heavy"] if row.get("arc") else []
    for name in mentions(finding.text):
        declared = advice.rules.names.get(name)
        value = advice.values.get(name)
        if declared is not None and getattr(declared, "unit", "") == "mm" and isinstance(value, float):
            found.append(size(value, advice))
    return tuple(found)
