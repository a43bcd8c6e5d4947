"""`record`: what a job really took, kept for later estimates."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING, Any

from advisor.commands import on_a_callout, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, Door
from advisor.ground.errors import CalloutError
from advisor.ground.version import version

if TYPE_CHECKING:
    from collections.abc import Iterable

HELP = "keep what a job really took, for later estimates"
TOOK = {
    "method": "the method that the job was done with",
    "tooling": "minutes to make the tool before the first trial; 0 where it lay ready",
    "setup": "minutes to set up, corrections after trial pieces included",
    "pieces": "good pieces made; the quantity of the case if left out",
    "minutes": "minutes for all pieces together, rework and remakes included",
    "misses": "arcs that came out of tolerance, put right or scrapped",
    "date": "day on which it was done, such as 2024-05-31; today if left out",
    "note": "anything worth remembering",
}


def options(parser: Parser) -> None:
    on_a_callout.options(parser)
    for name, meaning in TOOK.items():
        parser.add_argument(f"--{name}", metavar="TEXT", help=meaning)
    parser.add_argument("--yes", action="store_true", help="keep figures that are ten times off what was expected")
    with_records.file_option(parser)


def run(options: Namespace, door: Door) -> int:
    """Keep one job."""
    import dataclasses

    from advisor.answer.advice import advise
    from advisor.engine import generated
    from advisor.records import job_records

    callout, shop = on_a_callout.read_job(options)
    if options.method is None:
        raise CalloutError("method", "", "is missing", "Say how the job was done, such as --method freehand.")
    took: dict[str, Any] = {
        name: job_records.minutes_of(getattr(options, name), name) for name in ("tooling", "setup", "minutes")
    }
    misses = job_records.count_of(options.misses, "misses", least=0)
    if misses is None and all(value is None for value in took.values()):
        raise CalloutError(
            "minutes", "", "are missing", "Give --tooling, --setup, --minutes or --misses: what you know."
        )
    method = job_records.method_of(options.method)
    told: dict[str, Any] = {
        "done_on": job_records.date_of(options.date, "date"),
        "note": job_records.text_of(options.note, "note"),
    }
    pieces = job_records.count_of(options.pieces, "pieces", least=1)
    callout = dataclasses.replace(callout, quantity=pieces or callout.quantity)
    place = job_records.place(options.records)
    job = job_records.job_done(
        callout=callout,
        starting=advise(callout, shop, executor=generated.run),
        quoted=advise(callout, shop, executor=generated.run, records=job_records.jobs_in(place)),
        method=method,
        misses=misses,
        program=version(),
        **took,
        **told,
    )
    if not options.yes:
        _question(job_records.tenfold_off(job), door)
    job_records.Records(place).add(job)
    door.confirm(
        f"Recorded {job.id} in {place}: {job.radius}, {job.pieces} off by {job.method}, "
        f"done {job.done_on}, in {job.shop}."
    )
    return DONE


def _question(figures: Iterable[tuple[str, float, float]], door: Door) -> None:
    """Ask after figures that are ten times off what was expected; where nobody can answer, they are refused.

    figures: (field, taken, expected) [min].
    """
    from advisor.answer import wording
    from advisor.records.job_records import RecordError

    for name, taken, expected in figures:
        times = f"{wording.number(taken / expected, 0)} times" if taken > expected else "less than a tenth of"
        problem = f"is {times} the {wording.minutes(expected)} that were expected"
        agreed = door.agreed(f"{name}: {wording.minutes(taken)} {problem}. Is it right? (y or n) ")
        if agreed is None:
            raise RecordError(name, wording.minutes(taken), problem, "Give --yes if it is right. Nothing was recorded.")
        if not agreed:
            raise RecordError(name, wording.minutes(taken), "is not right", "Give it again. Nothing was recorded.")
