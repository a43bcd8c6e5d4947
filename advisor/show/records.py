"""What the shop's records changed, and the list of them: words and tables for the terminal, plain data for JSON."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from rich.console import Group
from rich.text import Text

from advisor.answer import wording
from advisor.show import blocks
from advisor.show.as_json import plain

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path
    from typing import Any

    from rich.console import JustifyMethod
    from rich.padding import Padding

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.records.job_records import Aside, Job, Kept
    from advisor.records.safekeeping import Report, Rescued
    from advisor.show.blocks import Prose


ELEMENTS = {"tooling": "tooling", "setup": "setup", "piece": "each piece", "spread": "misses"}


def notice(advice: Advice) -> list[tuple[str, bool]]:
    """What the first screen has to say of the records: list of (sentence, whether it is to be said loudly)."""
    drawn = advice.experience
    if not drawn:
        return []
    if not drawn.figures:
        return [("Records: none of this shop's jobs counts, so the figures are starting values.", False)]
    jobs = counted(drawn.jobs, "job")
    if advice.order == advice.order_without_records:
        return [
            (
                f"Figures drawn from {jobs} of this shop's own records; the order of the methods is the same without.",
                False,
            )
        ]
    before = advice.order_without_records[0] if advice.order_without_records else None
    if before != advice.recommended:
        without = f"it would be {wording.the(before)}" if before else "no method would stand"
        return [(f"YOUR RECORDS CHANGE THE CHOICE. Without these {jobs} {without}.", True)]
    order = ", ".join(advice.order_without_records)
    return [(f"YOUR RECORDS CHANGE THE ORDER of the methods. Without these {jobs} it would be {order}.", True)]


def notice_lines(advice: Advice) -> list[Prose]:
    """The same as lines of a terminal."""
    return [blocks.Prose(sentence, lead="", style="bold reverse" if loud else "") for sentence, loud in notice(advice)]


def counted(number: int, word: str) -> str:
    """
    >>> counted(1, "job"), counted(3, "job")
    ('1 job', '3 jobs')
    """
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def figures(advice: Advice) -> Group:
    """Which figures draw on how many jobs, with what weight."""
    table = blocks.table(
        ("", "left"),
        ("figure", "left"),
        ("jobs", "right"),
        ("they took", "right"),
        ("weight", "right"),
        ("taken", "right"),
    )
    experience = advice.experience
    for f in experience.figures if experience else ():
        took = f"{f.misses} of {f.arcs} missed" if f.ratio is None else f"x {f.ratio:.2f}"
        table.add_row(f.method, ELEMENTS[f.element], str(f.jobs), took, f"{f.weight:.2f}", f"x {f.factor:.2f}")
    left_out = experience.left_out if experience else 0
    out = f" {counted(left_out, 'job')} marked as not typical left out." if left_out else ""
    doubt, prior = (wording.number(advice.rules.base[name]) for name in ("record_doubt", "record_prior_arcs"))
    words = (
        "Multiples of the starting value. Weight n/(n + k) for n jobs, k = s²/d²: s scatter of a job, d = "
        f"{doubt} (credibility, Bühlmann 1967). Misses: arcs/(arcs + {prior}), as a multiple of the spread.{out}"
    )
    return Group(blocks.indented(table), blocks.paragraph(words))


def difference(without: Advice, drawn: Advice) -> Padding:
    """Each method's batch from starting values and with the records, both Advice of the same job."""
    table = blocks.table(("", "left"), ("without", "right"), ("with records", "right"), ("", "right"))
    for method in drawn.ranked:
        before, after = without.methods[method.name], method
        if before.minutes["batch"]["mean"] == after.minutes["batch"]["mean"] and before.rank == after.rank:
            continue
        more = after.minutes["batch"]["mean"] - before.minutes["batch"]["mean"]
        table.add_row(method.name, _batch(before), _batch(after), f"{more:+.0f} min")
    return blocks.indented(table)


def _batch(method: MethodAdvice) -> str:
    mark = " chosen" if method.rank == 1 else " ruled out" if method.rank is None else ""
    return wording.minutes(method.minutes["batch"]["mean"]) + mark


QUICK_FROM = 200  # jobs; laying a long table out cell by cell takes longer than anybody waits


def listing(jobs: Sequence[Job], path: Path | str, aside: Sequence[Aside] = ()) -> Group:
    """Every recorded job: minutes as they were, and in brackets as they were expected. aside: those put aside."""
    heads: list[tuple[str, JustifyMethod]] = [("id", "left"), ("done", "left"), ("method", "left"), ("radius", "left")]
    heads += [(head, "right") for head in ("off", "tooling", "setup", "pieces", "missed")]
    rows = [_row(job) for job in jobs]
    if len(jobs) >= QUICK_FROM:
        table = blocks.LongTable(heads, rows, folds=3)
    else:
        table = blocks.table(*heads, gap=1)
        for column in (*table.columns[:3], *table.columns[4:]):
            column.no_wrap = True
        for row in rows:
            table.add_row(*row)
    told = f"{counted(len(jobs), 'job')} in {path}. Minutes taken, and in brackets as first expected."
    notes = [f"{job.id}  not typical: {job.not_typical}" for job in jobs if not job.typical]
    notes += [f"{job.id}  {job.note}" for job in jobs if job.note]
    notes += [f"{one.job}  put aside, neither listed nor counted: {one.why}" for one in aside]
    below = [blocks.LongTable([("", "left")], [[note] for note in notes], folds=0, headed=False)]
    if len(notes) < QUICK_FROM:
        below = [Text(note) for note in notes]
    return Group(Text(told), Text(), table, *([Text(), *below] if notes else []))


def _row(job: Job) -> list[str]:
    made = str(job.pieces) if job.places == 1 else f"{job.pieces}x{job.places}"
    pairs = [(getattr(job, name), getattr(job, f"predicted_{name}")) for name in ("tooling", "setup", "minutes")]
    missed = "-" if job.misses is None else str(job.misses)
    return [job.id, job.done_on, job.method, job.radius, made, *(_pair(*pair) for pair in pairs), missed]


def found_out(report: Report) -> str:
    """What a look through a file of records found (safekeeping.Report)."""
    held = ", ".join(f"{number} {name}" for name, number in report.held)
    good = f"{report.path}: whole. {held}. Every line is as it was written."
    if report.unsummed and not report.wrong:
        good = f"{report.path}: whole. {held}. No line has a checksum: an older program wrote the file."
    if not report.wrong:
        return good
    return "\n".join([f"{report.path}: damaged.", *(f"  {wrong}" for wrong in report.wrong)])


def saved(rescued: Rescued, path: str) -> str:
    """What a rescue saved (safekeeping.Rescued), and what not."""
    kept = f" and {rescued.kept} kept by number" if rescued.kept else ""
    lines = [f"{counted(rescued.jobs, 'job')}{kept} saved in {path}. The damaged file was left as it is."]
    if rescued.unsummed:
        lines.append("No line had a checksum, so nothing tells whether they read as they were written. Look them over.")
    if rescued.doubtful:
        ids = ", ".join(rescued.doubtful)
        lines.append(f"Put aside, for they do not read as they were written: {ids}. --take-back ID lets one count.")
    lines += rescued.unreadable
    if rescued.lost:
        lines.append(f"Lost: {', '.join(rescued.lost)}.")
    return "\n".join(lines)


def _pair(taken: float | None, expected: float) -> str:
    if taken is None:
        return "-"
    return wording.number(taken, 0) + ("" if expected is None else f" ({wording.number(expected, 0)})")


def kept_listing(jobs: Sequence[Kept], path: Path) -> Group:
    """Every job that was kept by a number, the newest last."""
    table = blocks.table(("job", "right"), ("kept", "left"), ("method", "left"), ("radius", "left"), ("shop", "left"))
    for job in jobs:
        table.add_row(str(job.number), job.kept_at[:10], job.method, job.radius, job.shop)
    return Group(Text(f"{counted(len(jobs), 'job')} kept in {path}."), Text(), table)


def kept_data(jobs: Sequence[Kept]) -> list[dict[str, Any]]:
    """The same as plain data."""
    return plain([job._asdict() | {"fields": json.loads(job.fields)} for job in jobs])


def jobs_data(jobs: Sequence[Job]) -> list[dict[str, Any]]:
    """Every job as plain data."""
    listed = []
    for job in jobs:
        fields = {name: getattr(job, name) for name in job.__dataclass_fields__ if name != "marks"}
        fields |= {
            "typical": job.typical,
            "not_typical": job.not_typical,
            "marks": [mark._asdict() for mark in job.marks],
        }
        listed.append(fields)
    return plain(listed)
