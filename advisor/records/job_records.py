"""What jobs really took, kept in one SQLite file of the user. Nothing in it is ever changed or taken out.

Beside every line of the file stands its checksum: a flipped bit, a lost line and a line that somebody else wrote are
noticed. `safekeeping` looks a whole file through and saves what can be read of a damaged one. Reading never writes, save
that it undoes what a killed writer left half done.

Jobs are written once. That one is not typical, or is again, is a further line with its reason, so that this too is
kept.
Every write is one transaction of a rollback journal, forced to the disk before it counts; a writer waits for another
one.
That keeps the file whole through a kill at any time, and works in a folder that several machines share, where a
write-ahead log would not. The library is loaded only where there is a file to open.
"""

from __future__ import annotations

import datetime
import functools
import hashlib
import json
import math
import os
import time
from contextlib import contextmanager
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground import strangers
from advisor.ground.errors import InputError, did_you_mean
from advisor.ground.folders import user_folder
from advisor.ground.methods import methods
from advisor.ground.spreadsheet import as_cell, from_cell
from advisor.ground.units import read_quantity, shown

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from sqlite3 import Connection
    from types import ModuleType
    from typing import Any

    from advisor.asked.callout import Callout
    from advisor.asked.radius_text import ToleranceFrom


ENVIRONMENT = "TURN_RADIUS_RECORDS"
APPLICATION = 0x7452_6164  # "tRad": tells our files from other SQLite files
WAIT = 5.0  # seconds that a writer waits for another one
LONGEST = 2000  # characters of a note or a reason
MOST_MINUTES = 1_000_000.0
MOST_PIECES = 1_000_000
_LETTERS = "bcdfghjkmnpqrstvwxz"  # an id spells no word, and no spreadsheet takes it for a number

# The columns of every table whose lines have a checksum; the first of them names the line.
CHECKED = {
    "jobs": (
        "id", "recorded_at", "done_on", "shop", "method", "radius", "callout", "pieces", "places", "tooling", "setup",
        "minutes", "misses", "note", "predicted_tooling", "predicted_setup", "predicted_minutes",
        "predicted_in_tolerance", "quoted", "program",
    ),
    "marks": ("job", "at", "typical", "why"),
    "kept": ("number", "kept_at", "shop", "method", "fields", "radius", "program"),
    "aside": ("number", "job", "at", "aside", "why"),
}  # fmt: skip
# What each version of the file added. Version n is reached by the statements up to the nth.
MIGRATIONS = (
    (
        """CREATE TABLE jobs (
            id TEXT PRIMARY KEY CHECK (id <> ''), recorded_at TEXT NOT NULL, done_on TEXT NOT NULL, shop TEXT NOT NULL,
            method TEXT NOT NULL, radius TEXT NOT NULL, callout TEXT NOT NULL, pieces INTEGER NOT NULL,
            places INTEGER NOT NULL, tooling REAL, setup REAL, minutes REAL, misses INTEGER, note TEXT NOT NULL,
            predicted_tooling REAL, predicted_setup REAL, predicted_minutes REAL, predicted_in_tolerance REAL,
            quoted REAL, program TEXT NOT NULL)""",
    ),
    (
        """CREATE TABLE marks (
            job TEXT NOT NULL REFERENCES jobs (id), at TEXT NOT NULL, typical INTEGER NOT NULL, why TEXT NOT NULL,
            PRIMARY KEY (job, at, typical, why))""",
    ),
    (
        """CREATE TABLE kept (
            number INTEGER PRIMARY KEY CHECK (number > 0), kept_at TEXT NOT NULL, shop TEXT NOT NULL, method TEXT NOT NULL,
            fields TEXT NOT NULL, radius TEXT NOT NULL, program TEXT NOT NULL)""",
    ),
    (
        """CREATE TABLE aside (
            number INTEGER PRIMARY KEY CHECK (number > 0), job TEXT NOT NULL, at TEXT NOT NULL, aside INTEGER NOT NULL,
            why TEXT NOT NULL)""",
        "CREATE TABLE sums (line TEXT NOT NULL, checksum TEXT NOT NULL, PRIMARY KEY (line, checksum)) WITHOUT ROWID",
        *(
            f"INSERT INTO sums SELECT '{table} ' || {columns[0]}, checksum_of('{table}', {', '.join(columns)}) FROM {table}"
            for table, columns in CHECKED.items()
        ),
    ),
)
VERSION = len(MIGRATIONS)
SUMMED = 4  # the version from which every line has a checksum
LONGEST_LOOK = 60.0  # seconds that a file is read for; a file that was made to be endless is given up
LONGEST_VALUE = 1 << 24  # bytes of one value of a file
LARGEST_IMPORT = 100_000_000  # bytes


class RecordError(InputError):
    """The file of records, or what is to be recorded, cannot be used."""


class Mark(NamedTuple):
    """When somebody said whether a job is typical, and why."""

    at: str
    typical: bool
    why: str


@dataclass(frozen=True, kw_only=True)
class Job:
    """One job as it was. Minutes; None where nobody noted it.

    done_on: date; radius: as on the drawing; callout: the whole callout as JSON; pieces, places: as made; tooling:
    making the tool before the first trial; setup: up to the first good piece, corrections included; minutes: for all
    pieces, rework and remakes included; misses: arcs out of tolerance. predicted_*: starting values at the time,
    whatever the records said then; predicted_minutes: for these pieces with these misses; quoted: expected batch
    minutes as the estimate gave them then; program: its version; marks: oldest first.
    """

    id: str
    recorded_at: str
    done_on: str
    shop: str
    method: str
    radius: str
    callout: str
    pieces: int
    places: int
    tooling: float | None
    setup: float | None
    minutes: float | None
    misses: int | None
    note: str
    predicted_tooling: float | None
    predicted_setup: float | None
    predicted_minutes: float | None
    predicted_in_tolerance: float | None
    quoted: float | None
    program: str
    marks: tuple = ()

    @property
    def typical(self) -> bool:
        """Whether the job counts in averages: what was said last."""
        return self.marks[-1].typical if self.marks else True

    @property
    def not_typical(self) -> str:
        """Why the job does not count; '' where it does."""
        return "" if self.typical else self.marks[-1].why


COLUMNS = tuple(field.name for field in fields(Job) if field.name != "marks")


class Aside(NamedTuple):
    """A job that is put aside: kept in the file, but neither listed, counted nor exported."""

    job: str
    at: str
    why: str


class Kept(NamedTuple):
    """A job that was kept by a short number, to be recorded, corrected or asked again.

    kept_at: moment; shop: as it is named or the path of its file; method: that the answer or the sheet was for; fields:
    what was stated of the callout, the work and the job, as JSON; radius: as on the drawing; program: its version.
    """

    number: int
    kept_at: str
    shop: str
    method: str
    fields: str
    radius: str
    program: str


# ------------------------------------------------------------------------------------------------ where


def default_file() -> Path | None:
    """Where records are kept unless somebody says otherwise: the user's data folder. None where the user has no
    home."""
    root = user_folder("data")
    return root and root / "turn-radius" / "records.sqlite3"


def nowhere() -> bool:
    """Whether nobody says where records are: no variable, and a user without a home."""
    return not os.environ.get(ENVIRONMENT) and default_file() is None


def place(stated: str | None = None) -> Path:
    """The file of records: the one stated, or that of the environment, or the user's own."""
    if stated is not None and not stated.strip():
        raise RecordError("records", "", "no file is named", "Give the path of a file.")
    named = stated or os.environ.get(ENVIRONMENT)
    found = Path(named) if named else default_file()
    if found is None or "\0" in str(found):
        raise RecordError("records", shown(named or "", 300), "is no place for a file", "Name a file with --records.")
    return found


def jobs_in(path: Path, *, stated: bool = False) -> tuple[Job, ...]:
    """Every recorded job in a file, oldest first. No file is no jobs, unless it was asked for by name."""
    if not _is_there(path):
        if stated:
            raise RecordError("records", shown(path, 300), "is not there", "Record a job first, or name another file.")
        return ()
    return Records(path).jobs()


def kept_in(path: Path) -> tuple[Kept, ...]:
    """Every job that was kept in a file, by its number; none where there is no file."""
    return Records(path).kept() if _is_there(path) else ()


def kept_job(path: Path, number: int) -> tuple[Kept, dict[str, str]]:
    """The job of that number in a file, and what was stated of it (name -> text). Raises RecordError where none has it."""
    jobs = kept_in(path)
    for job in jobs:
        if job.number == number:
            return job, _kept_fields(job)
    known = f"Kept are 1 to {jobs[-1].number}" if jobs else "None is kept yet; a sheet and advise --keep give one"
    fix = f"{known}. Where it is meant as a radius, give form, location and diameter with it."
    raise RecordError("job", str(number), "is the number of no job that was kept here", fix)


def job_to_keep(*, advice: Any, method: str, fields: Mapping[str, Any], program: str) -> Kept:
    """The Kept of an answer, its number left out. method: name of the one that it is for; fields: what was stated, name of a
    case file -> text, with the shop as it is named or the path of its file; program: its version."""
    fields = {name: text for name, text in fields.items() if text is not None}
    if advice.by != "minutes":
        fields["by"] = advice.by
    if any(mark in str(fields["shop"]) for mark in "/\\") or str(fields["shop"]).endswith(".toml"):
        fields["shop"] = os.path.abspath(fields["shop"])
    return Kept(
        number=0,
        kept_at=now(),
        shop=advice.shop.name,
        method=method,
        fields=json.dumps(fields, ensure_ascii=False, sort_keys=True),
        radius=advice.callout.text,
        program=program,
    )


def _kept_fields(job: Kept) -> dict[str, str]:
    try:
        fields = json.loads(job.fields)
    except (ValueError, RecursionError):
        fields = None
    if not isinstance(fields, dict):
        fix = "Give the callout itself in place of the number."
        raise RecordError(f"job {job.number}", "", "is damaged in the file of records", fix)
    return fields


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError as problem:
        raise RecordError(
            "records", shown(path, 300), "cannot be looked up", "Give a shorter or a plainer path."
        ) from problem


# ------------------------------------------------------------------------------------------------ the file


# Jobs stand by the day that somebody gave; all else, and jobs of one day, in the order in which they were written, by the
# running number of the database: a clock may go back.
_ORDER = {"jobs": "done_on, rowid", "marks": "rowid", "kept": "number", "aside": "number"}
_SINCE = {"jobs": 1, "marks": 2, "kept": 3, "aside": 4}  # the version that brought a table
_SAME = ("shop", "method", "fields", "radius")  # what makes a job the same as one that was kept today already


class Records:
    """A file of records. Made when something is first written to it. Raises RecordError for whatever goes wrong."""

    def __init__(self, path: Path, *, wait: float = WAIT) -> None:
        self.path = Path(path)
        self.wait = wait

    def jobs(self) -> tuple[Job, ...]:
        """Every job with its marks, oldest first, without those that are put aside: tuple of Job."""
        with self._open() as connection:
            version = self._version(connection)  # older files are read as they are, and a new one is empty yet
            if version == 0:
                return ()
            aside = {one.job for one in self._aside(connection, version)}
            rows = self._lines(connection, version, "jobs", aside)
            marks: dict[str, list[Mark]] = {}
            for job, *mark in self._lines(connection, version, "marks", aside):
                marks.setdefault(job, []).append(Mark(mark[0], bool(mark[1]), mark[2]))
            return tuple(Job(**dict(zip(COLUMNS, row)), marks=tuple(marks.get(row[0], ()))) for row in rows)

    def aside(self) -> tuple[Aside, ...]:
        """Every job that is put aside: tuple of Aside."""
        with self._open() as connection:
            return self._aside(connection, self._version(connection))

    def _aside(self, connection: Connection, version: int) -> tuple[Aside, ...]:
        last: dict[str, Aside] = {}
        for _, job, at, aside, why in self._lines(connection, version, "aside"):
            last.pop(job, None)
            if aside:
                last[job] = Aside(job, at, why)
        return tuple(last.values())

    def _lines(
        self, connection: Connection, version: int, table: str, aside: Collection[str] = ()
    ) -> list[tuple[Any, ...]]:
        """Every line of a table in its order; RecordError where one is not as it was written.

        aside: ids of jobs that are left out.
        """
        if version < _SINCE[table]:
            return []
        columns = CHECKED[table]
        rows = connection.execute(f"SELECT {', '.join(columns)} FROM {table} ORDER BY {_ORDER[table]}").fetchall()
        if version >= SUMMED:
            start, end = f"{table} ", f"{table}!"
            sums = set(connection.execute("SELECT line, checksum FROM sums WHERE line >= ? AND line < ?", (start, end)))
            found = {(f"{table} {row[0]}", checksum(table, row)) for row in rows}
            wrong = {line.removeprefix(start) for line, _ in sums ^ found} - set(aside)
            if wrong:
                raise self._unlike(table, sorted(wrong))
        return [row for row in rows if row[0] not in aside] if aside else rows

    def _unlike(self, table: Any, wrong: Any) -> Any:
        named = f"{', '.join(shown(one) for one in wrong[:3])}{' and others' if len(wrong) > 3 else ''}"
        fix = (
            "Put a copy back, or save what can be read with turn-radius records --rescue FILE. "
            'turn-radius records --put-aside ID --why "damaged" leaves one job out.'
        )
        return self._refused(f"is damaged: not as they were written are the {table} {named}", fix)

    def add(self, job: Job) -> None:
        """Record one job."""
        with self._open(write=True) as connection:
            self._insert(connection, job)

    def find(self, started: str) -> Job:
        """The one job whose id starts like that."""
        jobs = {job.id: job for job in self.jobs()}
        return jobs[self._one(jobs, started)]

    def mark(self, started: str, *, typical: bool, why: str | None) -> Job:
        """Say of a job, by the beginning of its id, whether it is typical, and why. Returns the Job as it was
        before."""
        why = text_of(why, "why")
        if not typical and not why:
            raise RecordError("why", "", "is missing", 'Say why the job is not typical, such as --why "power cut".')
        job = self.find(started)
        if job.typical == typical:
            told = "counts already" if typical else f"is marked already: {job.not_typical}"
            raise RecordError("job", job.id, told, "Nothing was changed.")
        with self._open(write=True) as connection:
            self._insert_mark(connection, job.id, Mark(_after(job.marks), typical, why))
        return job

    def keep(self, job: Kept) -> int:
        """Keep a job (Kept, its number left out) by the next number, or by the one that the very same has of today.
        Returns the number."""
        with self._open(write=True) as connection:
            same = " AND ".join(f"{name} = ?" for name in _SAME)
            values = [*(getattr(job, name) for name in _SAME), f"{job.kept_at[:10]}%"]
            before = connection.execute(f"SELECT number FROM kept WHERE {same} AND kept_at LIKE ?", values).fetchone()
            if before:
                return before[0]
            number = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM kept").fetchone()[0]
            self._write(connection, "kept", job._replace(number=number))
            return number

    def kept(self) -> tuple[Kept, ...]:
        """Every job that was kept, by its number: tuple of Kept."""
        with self._open() as connection:
            return tuple(Kept(*row) for row in self._lines(connection, self._version(connection), "kept"))

    def put_aside(self, started: str, *, why: str | None, aside: bool = True) -> str:
        """Put a job aside, or take it back, by the beginning of its id, and say why. Returns the id.

        Works in a file in which that job is damaged, too.
        """
        why = text_of(why, "why")
        if aside and not why:
            raise RecordError("why", "", "is missing", 'Say why the job is put aside, such as --why "damaged".')
        with self._open(write=True) as connection:
            now_aside = {one.job for one in self._aside(connection, VERSION)}
            ids = [row[0] for row in connection.execute("SELECT id FROM jobs")]
            job = self._one(ids, started)
            if (job in now_aside) == aside:
                told = "is put aside already" if aside else "is not put aside"
                raise RecordError("job", job, told, "Nothing was changed.")
            number = connection.execute("SELECT coalesce(max(number), 0) + 1 FROM aside").fetchone()[0]
            self._write(connection, "aside", (number, job, now(), int(aside), why))
        return job

    @staticmethod
    def _one(ids: Collection[str], started: str) -> str:
        """The one id that starts like that."""
        sought = started.strip().lower()
        found = [one for one in ids if str(one).startswith(sought)] if sought else []
        exact = [one for one in found if one == sought]
        if len(exact or found) != 1:
            problem = "is no recorded job" if not found else f"begins the ids of {len(found)} jobs"
            raise RecordError("job", shown(started), problem, "Give the id of a job as turn-radius records lists it.")
        return (exact or found)[0]

    def merge(self, jobs: Iterable[tuple[str, Job]]) -> tuple[int, int, int]:
        """Take over jobs from elsewhere, all or none: (added, marks added, already there).

        jobs: list of (place for messages, Job). A job that is here already must be the very same; its marks are joined.
        """
        added = marked = known = 0
        with self._open(write=True) as connection:
            for where, job in jobs:
                row = connection.execute(f"SELECT {', '.join(COLUMNS)} FROM jobs WHERE id = ?", (job.id,)).fetchone()
                if row is None:
                    self._insert(connection, job)
                    added += 1
                else:
                    self._same(where, job, dict(zip(COLUMNS, row, strict=True)))
                    known += 1
                for mark in job.marks:
                    marked += self._insert_mark(connection, job.id, mark)
        return added, marked, known

    @staticmethod
    def _same(where: str, job: Job, kept: dict[str, Any]) -> None:
        for name in COLUMNS:
            if getattr(job, name) != kept[name]:
                problem = f"differs from the recorded job {job.id}, which has {shown(kept[name])}"
                fix = "What is recorded is never changed. Give a new job an id of its own."
                raise RecordError(f"{where}: {name}", shown(getattr(job, name)), problem, fix)

    @classmethod
    def _insert(cls, connection: Connection, job: Job) -> None:
        cls._write(connection, "jobs", [getattr(job, name) for name in COLUMNS])

    @classmethod
    def _insert_mark(cls, connection: Connection, job: str, mark: Mark) -> int:
        return cls._write(connection, "marks", (job, mark.at, int(mark.typical), mark.why), known="OR IGNORE")

    @staticmethod
    def _write(connection: Connection, table: str, values: Sequence[Any], known: str = "") -> int:
        """Add a line to a table, and its checksum -> lines that were added."""
        columns = CHECKED[table]
        places = ", ".join("?" * len(columns))
        added = connection.execute(
            f"INSERT {known} INTO {table} ({', '.join(columns)}) VALUES ({places})", tuple(values)
        ).rowcount
        if added:
            line = (f"{table} {values[0]}", checksum(table, values))
            connection.execute("INSERT OR IGNORE INTO sums (line, checksum) VALUES (?, ?)", line)
        return added

    @contextmanager
    def _open(self, write: bool = False) -> Iterator[Connection]:
        """A connection inside one transaction, which counts as a whole or not at all."""
        import sqlite3

        ending = False
        try:
            connection = self._connect(sqlite3, write)
            try:
                connection.execute("BEGIN IMMEDIATE" if write else "BEGIN")
                yield connection
                ending = write
                connection.execute("COMMIT")
                ending = False
            finally:
                ending = ending and not connection.in_transaction
                connection.close()  # what was not committed is undone
        except sqlite3.Error as problem:
            if ending:  # it may have failed after it was done
                fix = "Look with turn-radius records whether it is there before you try again."
                raise self._refused("failed at the very end of writing", fix) from problem
            raise self._refusal(sqlite3, problem) from problem
        except UnicodeDecodeError as problem:  # a flipped bit in a name or in a text
            fix = "Put a copy back, or save what can be read with turn-radius records --rescue FILE."
            raise self._refused("is damaged", fix) from problem
        except OSError as problem:
            raise self._refused("cannot be opened", "Look at the folder and who may use it.") from problem

    def _connect(self, sqlite3: ModuleType, write: bool) -> Connection:
        if self.path.is_dir():
            raise self._refused("is a folder", "Give the path of a file.")
        if _is_there(self.path) and not self.path.is_file():
            raise self._refused("is not a file", "Give the path of a file.")
        if write and not _is_there(self.path):
            self.path.parent.mkdir(parents=True, exist_ok=True)
        mode = "rwc" if write else "ro"
        if not write and Path(f"{self.path}-journal").exists() and os.access(self.path, os.W_OK):
            mode = "rw"  # what a killed writer left half done has to be undone first
        address = f"{self.path.absolute().as_uri()}?mode={mode}"
        connection = sqlite3.connect(address, uri=True, timeout=self.wait, isolation_level=None)
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = FULL")
            _guard(sqlite3, connection)
            if write:
                self._bring_up(connection)
        except BaseException:
            connection.close()
            raise
        return connection

    def _bring_up(self, connection: Connection) -> None:
        """See that the file is ours, and bring it to the version of this program."""
        connection.execute("BEGIN")  # what is read here has to be of one moment: another program may be making the file
        version = self._version(connection)
        connection.execute("COMMIT")
        if version == VERSION:
            return
        connection.execute("BEGIN IMMEDIATE")
        version = self._version(connection)  # another program may have been quicker
        if 0 < version < VERSION:
            self._back_up(version)
        for statements in MIGRATIONS[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")

    def _back_up(self, version: int) -> None:
        """Keep the file as it is beside itself, before it is brought to another version."""
        import sqlite3

        from advisor.ground import whole_files

        for number in range(1, 100):
            name = f"{self.path.name}.version-{version}" + (f"-{number}" if number > 1 else "")
            target = self.path.with_name(name)
            if not os.path.lexists(target):
                break
        with whole_files.place_for(target, replace=False) as place:
            source = sqlite3.connect(f"{self.path.absolute().as_uri()}?mode=ro", uri=True)
            copy = sqlite3.connect(place)
            try:
                copy.execute("PRAGMA journal_mode = OFF")  # it takes its place only when it is whole
                source.backup(copy)
            finally:
                copy.close()
                source.close()

    def _version(self, connection: Connection) -> int:
        version = connection.execute("PRAGMA user_version").fetchone()[0]
        owner = connection.execute("PRAGMA application_id").fetchone()[0]
        empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
        if owner != APPLICATION and not (empty and version == 0 and owner == 0):
            raise self._refused("is a database, but not one of ours", "Name another file with --records.")
        if version > VERSION:
            problem = f"was written by a newer program (its version is {version}, this one reads {VERSION})"
            raise self._refused(problem, "Use the newer program. Nothing was changed.")
        strange = set(connection.execute(_PARTS)) - _parts_of(version)
        if strange:
            kind, name = sorted(strange)[0][:2]
            problem = f"has a {kind} {shown(name)} that this program did not make"
            raise self._refused(
                problem, "Nothing was run and nothing was changed. Put a copy back, or name another file."
            )
        return version

    def _refused(self, problem: str, fix: str) -> RecordError:
        return RecordError("records", shown(self.path, 300), problem, fix)

    def _refusal(self, sqlite3: ModuleType, problem: Exception) -> RecordError:
        """Our error for one of the library's; none of its words."""
        code = (getattr(problem, "sqlite_errorcode", None) or 0) & 0xFF
        if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            return self._refused(
                f"is in use by another program; waited {self.wait:g} s", "Try again. Nothing was changed."
            )
        if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
            return self._refused(
                "may not be written", "Look at who may use the file and its folder. Nothing was changed."
            )
        if code == sqlite3.SQLITE_FULL:
            return self._refused("does not fit on the disk", "Make room. Nothing was changed.")
        if code == sqlite3.SQLITE_CANTOPEN:
            return self._refused("cannot be opened", "Look at the folder and who may use it. Nothing was changed.")
        if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT):
            fix = "Nothing was changed. Put a copy back, name another file with --records, or use --without-records."
            return self._refused("is not a file of records, or is damaged", fix)
        return self._refused(
            "cannot be used", "Nothing was changed. Put a copy back, or name another file with --records."
        )


# A file may be anybody's. It is read only where all of its parts are the very ones that this program makes, so nothing
# in it can run: no trigger, no view, no computed column.
_PARTS = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"


@functools.cache
def _parts_of(version: int) -> frozenset[tuple[str, str, str]]:
    """Tables of a file of that version: set of (type, name, statement)."""
    import sqlite3

    connection = sqlite3.connect(":memory:")
    try:
        _guard(sqlite3, connection)
        for statements in MIGRATIONS[:version]:
            for statement in statements:
                connection.execute(statement)
        return frozenset(connection.execute(_PARTS))
    finally:
        connection.close()


def _guard(sqlite3: ModuleType, connection: Connection) -> None:
    """Let nothing in a file run, be endless or be larger than anything that is kept here."""
    connection.create_function("checksum_of", -1, lambda table, *values: checksum(table, values), deterministic=True)
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE)
    until = time.monotonic() + LONGEST_LOOK
    connection.set_progress_handler(lambda: time.monotonic() > until, 1_000_000)


def checksum(table: str, values: Sequence[int | str] | Kept) -> str:
    """Checksum of a line of a table, as text: 64 bits of BLAKE2b over its name and values.

    >>> checksum("marks", ("a", "b", 1, "")) == checksum("marks", ("a", "b", 1.0, "")) != checksum("marks", ("a", "b", 0, ""))
    True
    """
    plain = [float(value) if type(value) is int else value for value in values]
    return hashlib.blake2b(repr((table, plain)).encode("utf-8", "surrogatepass"), digest_size=8).hexdigest()


# ------------------------------------------------------------------------------------------------ one job


def now() -> str:
    """This moment as text, to the microsecond, in UTC."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="microseconds")


def _after(marks: Any) -> Any:
    """This moment, or one just past the last of some marks where the clock has been set back since."""
    moment = datetime.datetime.now(datetime.UTC)
    if marks:
        last = datetime.datetime.fromisoformat(marks[-1].at)
        last = last if last.tzinfo else last.replace(tzinfo=datetime.UTC)
        moment = max(moment, last + datetime.timedelta(microseconds=1))
    return moment.isoformat(timespec="microseconds")


def new_id() -> str:
    """An id that no other job has: eight letters."""
    import secrets

    return "".join(secrets.choice(_LETTERS) for _ in range(8))


def minutes_of(written: str | None, field: str) -> float | None:
    """Minutes as somebody wrote them: a number from 0, or a time such as "1.5 h"; None where nothing is written."""
    if written is None or written == "":
        return None
    return read_quantity(written, field=field, dimension="time", error=RecordError, at_least=0.0, at_most=MOST_MINUTES)


def count_of(written: str | None, field: str, *, least: int) -> int | None:
    """A whole number; None where nothing is written."""
    if written is None or written == "":
        return None
    text = str(written).strip()
    if not (text.isascii() and text.isdecimal()) or len(text) > 9 or not least <= int(text) <= MOST_PIECES:
        fix = f"Give a whole number from {least} to {MOST_PIECES:,}."
        raise RecordError(field, shown(written), "is not such a number", fix)
    return int(text)


def date_of(written: str, field: str, *, kept: bool = False) -> str:
    """A day as 2024-05-31; today where nothing is written. Not later than tomorrow, unless it was `kept` already: the
    clock may have been wrong then."""
    today = datetime.date.today()
    if not written:
        return today.isoformat()
    try:
        day = datetime.date.fromisoformat(written.strip())
    except ValueError:
        raise RecordError(field, shown(written), "is not a day", "Write it as 2024-05-31.") from None
    if not kept and day > today + datetime.timedelta(days=1):
        raise RecordError(field, shown(written), "is yet to come", "Give the day on which the job was done.")
    return day.isoformat()


def text_of(written: str | None, field: str) -> str:
    """Words on one line, not too many."""
    text = " ".join((written or "").split())
    if len(text) > LONGEST:
        raise RecordError(field, shown(text), f"is longer than {LONGEST} characters", "Say it shorter.")
    if not text.isprintable():
        raise RecordError(field, shown(text), "has characters that cannot be shown", "Write plain text.")
    return text


def method_of(written: str | None, field: str = "method") -> str:
    """The name of a method, also from the short name that the rule base has for it ("pivot", "rod", "compound")."""
    from advisor.records.experience import method_named

    found = method_named(written)
    if found:
        return found
    hint = did_you_mean(str(written), [*methods(), *(method.prefix for method in methods().values())])
    raise RecordError(field, shown(written), "is not a method", f"{hint}Give {', '.join(methods())}.")


def job_done(
    *,
    callout: Callout,
    starting: Any,
    quoted: Any,
    method: str,
    tooling: float | None,
    setup: float | None,
    minutes: float | None,
    misses: int | None,
    done_on: str,
    note: str,
    program: str,
) -> Job:
    """The Job that is to be recorded.

    callout: with the pieces that were made as its quantity; starting: Advice for it without records; quoted: Advice as
    the shop's records made it; the rest as in Job.
    """
    told = starting.methods[method]
    v, prefix = starting.values, told.prefix
    return Job(
        id=new_id(),
        recorded_at=now(),
        done_on=done_on,
        shop=text_of(starting.shop.name, "shop"),
        method=method,
        radius=text_of(callout.text, "radius"),
        callout=json.dumps(_stated(callout), ensure_ascii=False, sort_keys=True),
        pieces=callout.quantity,
        places=callout.places,
        tooling=tooling,
        setup=setup,
        minutes=minutes,
        misses=misses,
        note=note,
        predicted_tooling=_known(told.minutes["tooling"]["mean"]),
        predicted_setup=_known(told.minutes["setup"]["mean"] + told.minutes["resetting"]),
        predicted_minutes=_known(
            piece_minutes(
                arcs=v["arcs"],
                misses=v["arcs"] * (1 - v[f"{prefix}_in_tolerance"]) if misses is None else misses,
                piece=told.minutes["per_piece"]["mean"],
                wear=told.minutes["wear"],
                rework_share=v["rework_share"],
                scrap_share=v[f"{prefix}_scrap_share"],
            )
        ),
        predicted_in_tolerance=_known(told.in_tolerance),
        quoted=_known(quoted.methods[method].minutes["batch"]["mean"]),
        program=program,
    )


TENFOLD = 10.0  # from what was expected: a slip of the pen, or something to tell
LEAST_DOUBT = 5.0  # minutes; under it a figure that is ten times off does no harm


def tenfold_off(job: Job) -> list[tuple[str, float, float]]:
    """Figures of a job that are ten times off what was expected of them: list of (field, taken, expected) [min]."""
    pairs = [(name, getattr(job, name), getattr(job, f"predicted_{name}")) for name in ("tooling", "setup", "minutes")]
    return [
        (name, taken, expected)
        for name, taken, expected in pairs
        if taken and expected and abs(taken - expected) > LEAST_DOUBT
        if max(taken / expected, expected / taken) >= TENFOLD
    ]


def piece_minutes(
    *, arcs: float, misses: float, piece: float, wear: float, rework_share: float, scrap_share: float
) -> float:
    """Minutes to be expected for all pieces when so many arcs missed [min].

    piece (arcs + misses ((1 − s) w + s)) + arcs wear: a miss takes a share w of an arc's minutes to put right, or with
    the share s a whole arc on a new piece. Told by the misses that there were, so that they do not count as slowness
    too.

    >>> piece_minutes(arcs=10, misses=2, piece=3.0, wear=0.5, rework_share=0.5, scrap_share=0.0)
    38.0
    """
    return piece * (arcs + misses * ((1 - scrap_share) * rework_share + scrap_share)) + arcs * wear


def _stated(callout: Callout) -> dict[str, float | ToleranceFrom | str]:
    left = ("assumed", "expect")
    return {field.name: getattr(callout, field.name) for field in fields(callout) if field.name not in left}


def _known(number: float) -> float | None:
    return number if math.isfinite(number) else None


# ------------------------------------------------------------------------------------------------ CSV

CSV_COLUMNS = (*COLUMNS, "not_typical", "marks")


def export(path: str, jobs: Iterable[Job], *, records: Path | None = None, replace: bool = False) -> None:
    """Write jobs to a CSV file, which is there as a whole or not at all.

    records: the file that the jobs are from, which is never written over; replace: whether a file that is there may be.
    """
    import csv
    import io

    from advisor.ground import whole_files

    target = whole_files.check(path, replace=replace or _same_file(path, records), field="export", error=RecordError)
    if _same_file(target, records):
        problem = "is the file of records itself"
        raise RecordError("export", shown(target, 300), problem, "Give another name, such as jobs.csv.")
    try:
        with whole_files.whole(target, replace=replace) as file:
            stream = io.TextIOWrapper(file, encoding="utf-8", newline="")
            writer = csv.writer(stream)
            writer.writerow(CSV_COLUMNS)
            for job in jobs:
                marks = json.dumps([list(mark) for mark in job.marks], ensure_ascii=False) if job.marks else ""
                row = [*(getattr(job, name) for name in COLUMNS), job.not_typical, marks]
                writer.writerow(as_cell(value) for value in row)
            stream.flush()
            stream.detach()
    except (OSError, ValueError) as problem:
        if isinstance(problem, InputError):
            raise
        raise RecordError(
            "export", shown(target, 300), "cannot be written", "Look at the folder and who may use it."
        ) from problem


def _same_file(path: Path | str, records: Path | None) -> bool:
    """Whether a path leads to the file of records."""
    try:
        return records is not None and os.path.samefile(path, records)
    except (OSError, ValueError):
        return False


def read_csv(path: Path | str) -> list[tuple[str, Job]]:
    """The jobs of a CSV file as (place for messages, Job); RecordError names the first line that cannot be used, and
    how many."""
    import csv
    import io

    name = shown(path, 300)
    try:
        with io.StringIO(strangers.text(path, LARGEST_IMPORT), newline="") as stream:
            reader = csv.reader(stream, strict=True)
            heads = next(reader, [])
            _check_heads(name, heads)
            found: list[tuple[str, Job]] = []
            wrong: list[InputError] = []
            first_line: dict[str, str] = {}
            start = reader.line_num + 1
            for row in reader:
                where, start = f"{name}: line {start}", reader.line_num + 1
                if not row:
                    continue
                try:
                    job = _job_of(where, heads, row)
                    if job.id in first_line:
                        raise RecordError(
                            f"{where}: id", job.id, f"stands already in {first_line[job.id]}", "Give each job once."
                        )
                    first_line[job.id] = where.rpartition(": ")[2]
                    found.append((where, job))
                except InputError as problem:
                    wrong.append(problem)
    except InputError:
        raise
    except strangers.Unreadable as problem:
        raise RecordError(
            name, "", str(problem), "Give a file as --export writes it. Nothing was taken over."
        ) from problem
    except csv.Error as problem:
        raise RecordError(
            name, "", "is not a CSV file in UTF-8", "Give a file as --export writes it. Nothing was taken over."
        ) from problem
    except (OSError, ValueError) as problem:
        raise RecordError(name, "", "cannot be read", "Give the path of a CSV file.") from problem
    if wrong:
        more = f" {len(wrong)} lines in all cannot be used." if len(wrong) > 1 else ""
        raise RecordError(
            wrong[0].field, wrong[0].value, wrong[0].problem, f"{wrong[0].fix}{more} Nothing was taken over."
        )
    return found


def _check_heads(name: str, heads: Sequence[str]) -> None:
    for head in heads:
        if head not in CSV_COLUMNS:
            raise RecordError(
                f"{name}: line 1",
                shown(head),
                "is not a column",
                f"{did_you_mean(head, CSV_COLUMNS)}Columns are {', '.join(CSV_COLUMNS)}.",
            )
        if heads.count(head) > 1:
            raise RecordError(f"{name}: line 1", shown(head), "stands twice", "Give each column once.")
    for column in COLUMNS:
        if column not in heads:
            raise RecordError(
                f"{name}: line 1", "", f'has no column "{column}"', "Give a file with the columns that --export writes."
            )


def _job_of(where: str, heads: Sequence[str], row: Sequence[str]) -> Job:
    if len(row) != len(heads):
        raise RecordError(
            where,
            "",
            f"has {len(row)} values for {len(heads)} columns",
            "Give each column its value, or leave it empty between commas.",
        )
    cells = {head: from_cell(cell) for head, cell in zip(heads, row, strict=True)}

    def at(column: str) -> str:
        return f"{where}: {column}"

    job_id = cells["id"].strip().lower()
    if not (job_id.isascii() and job_id.isalnum() and len(job_id) <= 32):
        raise RecordError(
            at("id"), shown(cells["id"]), "is not an id", "Give each job letters and digits of its own, up to 32."
        )
    for column in ("shop", "radius"):
        if not cells[column].strip():
            raise RecordError(at(column), "", "is empty", "Say which one.")
    if not cells["done_on"]:
        raise RecordError(at("done_on"), "", "is empty", "Write the day as 2024-05-31.")
    texts: dict[str, Any] = {name: text_of(cells[name], at(name)) for name in ("shop", "radius", "note", "program")}
    minutes: dict[str, Any] = {name: _number(cells[name], at(name), most=MOST_MINUTES) for name in _MINUTES}
    return Job(
        id=job_id,
        recorded_at=_moment(cells["recorded_at"], at("recorded_at")),
        done_on=date_of(cells["done_on"], at("done_on"), kept=True),
        method=method_of(cells["method"], at("method")),
        callout=_json(cells["callout"], dict, at("callout")),
        pieces=_required(count_of(cells["pieces"], at("pieces"), least=1), at("pieces")),
        places=_required(count_of(cells["places"], at("places"), least=1), at("places")),
        misses=count_of(cells["misses"], at("misses"), least=0),
        predicted_in_tolerance=_number(cells["predicted_in_tolerance"], at("predicted_in_tolerance"), most=1.0),
        marks=_marks(cells.get("marks", ""), cells.get("not_typical", ""), at("marks")),
        **texts,
        **minutes,
    )


_MINUTES = ("tooling", "setup", "minutes", "predicted_tooling", "predicted_setup", "predicted_minutes", "quoted")


def _number(text: str, where: str, *, most: float) -> float | None:
    """A number from 0 to the most that it may be; None where nothing is written."""
    if not text.strip():
        return None
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0 <= number <= most:
        raise RecordError(
            where,
            shown(text),
            "is not a number that can stand there",
            f"Give a number from 0 to {most:,.0f}, or nothing.",
        )
    return number


def _required(value: int | None, where: str) -> int:
    if value is None:
        raise RecordError(where, "", "is empty", "Give a whole number from 1.")
    return value


def _moment(text: str, where: str) -> str:
    try:
        datetime.datetime.fromisoformat(text)
    except ValueError:
        raise RecordError(where, shown(text), "is not a moment", "Write it as 2024-05-31T14:05:00+00:00.") from None
    return text


def _json(text: str, kind: type, where: str) -> str:
    try:
        if isinstance(json.loads(text), kind):
            return text
    except (ValueError, RecursionError):
        pass
    raise RecordError(where, shown(text), "is not what --export writes there", "Leave this column as it was exported.")


def _marks(text: str, not_typical: str, where: str) -> tuple[Mark, ...]:
    marks = []
    for mark in json.loads(_json(text, list, where)) if text else []:
        if not (isinstance(mark, list) and len(mark) == 3 and isinstance(mark[1], bool) and isinstance(mark[2], str)):
            raise RecordError(
                where, shown(text), "is not what --export writes there", "Leave this column as it was exported."
            )
        marks.append(Mark(_moment(str(mark[0]), where), mark[1], text_of(mark[2], where)))
    marks.sort()
    if (not marks or marks[-1].typical) and not_typical.strip():
        problem = "is not among the marks of this job"
        raise RecordError(
            where.replace("marks", "not_typical"),
            shown(not_typical),
            problem,
            "Mark jobs with turn-radius records --not-typical.",
        )
    return tuple(marks)
