"""What every command takes that counts the recorded jobs."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from advisor.commands.arguments import Parser

if TYPE_CHECKING:
    from collections.abc import Sequence

    from advisor.records.job_records import Job


def file_option(parser: Parser) -> None:
    """Which file of recorded jobs."""
    parser.add_argument(
        "--records",
        metavar="FILE",
        help="the file of recorded jobs, instead of $TURN_RADIUS_RECORDS or the one in your data folder",
    )


def options(parser: Parser) -> None:
    """Which file of recorded jobs, and whether they count."""
    file_option(parser)
    parser.add_argument("--without-records", action="store_true", help="starting values alone, whatever was recorded")


def recorded(options: Namespace) -> Sequence[Job]:
    """The jobs recorded in the file that the options, the environment or the user's data folder name; () where none
    is."""
    from advisor.records import job_records

    if options.records is None and job_records.nowhere():
        return ()
    return job_records.jobs_in(job_records.place(options.records), stated=options.records is not None)


def counting(options: Namespace) -> Sequence[Job]:
    """The recorded jobs that count: none with --without-records."""
    return () if options.without_records else recorded(options)
