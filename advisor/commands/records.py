"""`records`: the recorded jobs listed, handed on, and marked."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands import into_a_file, with_records
from advisor.commands.arguments import Parser
from advisor.commands.door import DONE, REFUSED, Door
from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from pathlib import Path

HELP = "list, export, import and mark what was recorded"


def options(parser: Parser) -> None:
    with_records.file_option(parser)
    parser.add_argument("--export", metavar="FILE", help="write every job to a CSV file")
    into_a_file.replace_option(parser)
    parser.add_argument("--import", metavar="FILE", dest="take", help="take over jobs from such a file, all or none")
    parser.add_argument("--not-typical", metavar="ID", help="keep a job but leave it out of the averages; needs --why")
    parser.add_argument("--typical", metavar="ID", help="let a job count again")
    parser.add_argument("--put-aside", metavar="ID", help="neither list, count nor export a job; needs --why")
    parser.add_argument("--take-back", metavar="ID", help="take back a job that was put aside")
    parser.add_argument("--why", metavar="TEXT", help="the reason for a mark, or for putting a job aside")
    parser.add_argument("--verify", action="store_true", help="look through the whole file for damage")
    parser.add_argument("--rescue", metavar="FILE", help="save what can be read of a damaged file into a new one")
    parser.add_argument("--kept", action="store_true", help="list the jobs that were kept, by number")
    parser.add_argument("--json", action="store_true", help="print the list as JSON")


def run(options: Namespace, door: Door) -> int:
    """The one thing that is asked for, or the list."""
    from advisor.records import job_records

    asks = ("export", "take", "not_typical", "typical", "put_aside", "take_back", "rescue")
    asked = [name for name in asks if getattr(options, name) is not None]
    if len(asked) + options.kept + options.verify > 1:
        raise CalloutError("records", "", "is asked for several things at once", "Ask for one at a time.")
    if options.why is not None and not set(asked) & {"not_typical", "typical", "put_aside", "take_back"}:
        fix = "Give it with --not-typical ID, --typical ID or --put-aside ID."
        raise CalloutError("--why", options.why, "marks nothing", fix)
    place = job_records.place(options.records)
    if options.verify or options.rescue is not None:
        return _looked_through(options, place, door)
    if options.put_aside is not None or options.take_back is not None:
        aside = options.put_aside is not None
        started = options.put_aside if aside else options.take_back
        job = job_records.Records(place).put_aside(started, why=options.why, aside=aside)
        door.confirm(f"{job} is put aside: neither listed, counted nor exported." if aside else f"{job} is taken back.")
    elif options.take is not None:
        added, marked, known = job_records.Records(place).merge(job_records.read_csv(options.take))
        door.confirm(f"{added} jobs added, {known} were there already, {marked} marks added, in {place}.")
    elif options.kept:
        _list_kept(options, place, door)
    elif options.export is not None:
        jobs = job_records.jobs_in(place, stated=options.records is not None)
        job_records.export(options.export, jobs, records=place, replace=options.replace)
        door.confirm(f"{len(jobs)} jobs written to {options.export}.")
    elif asked:
        job_records.jobs_in(place, stated=options.records is not None)  # refuses a file that is not there
        typical = asked[0] == "typical"
        marked_job = job_records.Records(place).mark(getattr(options, asked[0]), typical=typical, why=options.why)
        door.confirm(
            f"{marked_job.id} counts again." if typical else f"{marked_job.id} is kept, and left out of the averages."
        )
    else:
        _list_jobs(options, place, door)
    return DONE


def _list_kept(options: Namespace, place: Path, door: Door) -> None:
    from advisor.records import job_records
    from advisor.show.records import kept_data, kept_listing

    kept = job_records.kept_in(place)
    if options.json:
        door.data(kept_data(kept))
    else:
        door.show(kept_listing(kept, place) if kept else f"No job is kept yet in {place}.")


def _list_jobs(options: Namespace, place: Path, door: Door) -> None:
    from advisor.records import job_records
    from advisor.show.records import jobs_data, listing

    jobs = job_records.jobs_in(place, stated=options.records is not None)
    if options.json:
        door.data(jobs_data(jobs))
    else:
        aside = job_records.Records(place).aside() if place.exists() else ()
        door.show(listing(jobs, place, aside) if jobs or aside else f"Nothing is recorded yet in {place}.")


def _looked_through(options: Namespace, place: Path, door: Door) -> int:
    """Look for damage in the file of records, or save what can be read of it."""
    from advisor.records import safekeeping
    from advisor.show import records as tables

    if options.verify:
        report = safekeeping.verify(place)
        door.say(tables.found_out(report))
        return REFUSED if report.wrong else DONE
    saved = safekeeping.rescue(place, options.rescue)
    door.say(tables.saved(saved, options.rescue))
    return DONE
