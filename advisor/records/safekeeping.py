"""A file of records looked through to the last line, and what can be read of a damaged one saved into a new file.

The rescue reads the pages of the file itself, without the library that wrote them: a damaged index, a damaged first page
or a missing end keeps none of the other pages from being read. What a line says is trusted as far as its checksum goes.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from advisor.ground import whole_files
from advisor.ground.errors import InputError
from advisor.ground.units import shown
from advisor.records import job_records
from advisor.records.job_records import CHECKED, Kept, Mark, RecordError, Records, checksum

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path
    from sqlite3 import Connection
    from typing import Any

    from advisor.records.job_records import Job


LARGEST_FILE = 1 << 30  # bytes that a rescue reads
DAMAGED = "does not read as it was written"


class Report(NamedTuple):
    """What a look through a file found. held: list of (name of lines, how many); wrong: list of sentences, none where the
    file is whole; unsummed: whether it is older than checksums."""

    path: Path
    held: tuple
    wrong: tuple
    unsummed: bool


class Rescued(NamedTuple):
    """What a rescue saved. jobs, kept: how many; doubtful: ids of jobs that were saved and put aside, for they do not
    read as they were written; unreadable: what was found and could not be saved, as sentences; lost: names of lines of
    which only the checksum was left; unsummed: whether the file is older than checksums.
    """

    jobs: int
    kept: int
    doubtful: tuple
    unreadable: tuple
    lost: tuple
    unsummed: bool


# ------------------------------------------------------------------------------------------------ verify


def verify(path: Path) -> Report:
    """The Report of a file of records. Raises RecordError where there is none, or it cannot be opened at all."""
    path = Path(path)
    if not path.is_file():
        raise RecordError("records", shown(path, 300), "is not there", "Record a job first, or name another file.")
    wrong, held, version = [], [], 0
    store = Records(path)
    try:
        with store._open() as connection:
            version = store._version(connection)
            for (told,) in connection.execute("PRAGMA integrity_check(5)"):
                if told != "ok":
                    wrong.append("Its pages do not hang together.")
                    break
            for table in CHECKED:
                if 0 < version >= job_records._SINCE[table]:
                    held.append((_NAMES[table], _looked_through(connection, version, table, wrong)))
    except RecordError as problem:
        wrong.append(f"{problem.field}: {problem.value} {problem.problem}.")
    return Report(path, tuple(held), tuple(wrong), 0 < version < job_records.SUMMED)


_NAMES = {"jobs": "jobs", "marks": "marks", "kept": "kept jobs", "aside": "put aside"}


def _looked_through(connection: Connection, version: int, table: str, wrong: list[str]) -> int:
    """Look at every line of a table -> how many there are. wrong: list that is added to."""
    rows = connection.execute(f"SELECT {', '.join(CHECKED[table])} FROM {table}").fetchall()
    if version >= job_records.SUMMED:
        sums = set(connection.execute("SELECT line, checksum FROM sums WHERE line GLOB ?", (f"{table} *",)))
        found = {(f"{table} {row[0]}", checksum(table, row)) for row in rows}
        unlike = {line for line, _ in found - sums}
        wrong += [f"{shown(line)} {DAMAGED}." for line in sorted(unlike)]
        wrong += [f"{shown(line)} is lost." for line in sorted({line for line, _ in sums - found} - unlike)]
    if table == "jobs":
        for row in rows:
            try:
                job_of(row)
            except InputError as problem:
                wrong.append(f"jobs {_told(row, problem)}")
    return len(rows)


def _told(row: Sequence[Any], problem: InputError) -> str:
    return f"{shown(row[0])}: {str(problem.field).removeprefix(': ')} {problem.value} {problem.problem}."


def job_of(values: Sequence[Any]) -> Job:
    """A line of the table of jobs as a Job that an export could be read back from. Raises RecordError."""
    row = dict(zip(job_records.COLUMNS, values))
    cells: list[Any] = ["" if value is None else str(value) for value in row.values()]
    read = job_records._job_of("", list(row), [str(job_records.as_cell(cell)) for cell in cells])
    for name, value in row.items():
        whole = name in ("pieces", "places", "misses")
        known = (
            type(value) in ((int,) if whole else (int, float))
            if isinstance(getattr(read, name), (int, float))
            else True
        )
        if not known or getattr(read, name) != value:
            raise RecordError(name, shown(value), "cannot stand there", "Put a copy back.")
    return read


# ------------------------------------------------------------------------------------------------ rescue


def rescue(path: Path, target: str) -> Rescued:
    """Save what can be read of a file of records into a new one, which is there as a whole or not at all -> Rescued.

    The damaged file is only read. Raises RecordError where there is nothing to save, or the target is there already.
    """
    path = Path(path)
    target = whole_files.check(target, replace=False, field="rescue", error=RecordError)
    content = _content(path)
    lines, sums = _lines_in(content)
    jobs, doubtful, unreadable = _chosen(lines["jobs"], sums)
    kept, bad = _chosen_kept(lines["kept"], sums)
    unreadable += bad
    if not jobs and not kept and not unreadable:
        fix = "Put a copy back. Nothing was written."
        raise RecordError("records", shown(path, 300), "holds nothing that can be read as a job", fix)
    marks = [row for row in lines["marks"] if _sound(sums, "marks", row) is not False and row[0] in jobs]
    asides = sorted(row for row in lines["aside"] if _sound(sums, "aside", row) is not False and row[1] in jobs)
    try:
        with whole_files.place_for(target, replace=False) as place:
            _write(Records(place), jobs, kept, marks, asides, doubtful)
    except OSError as problem:
        raise RecordError(
            "rescue", shown(target, 300), "cannot be written", "Look at the folder and the disk."
        ) from problem
    found = {f"{table} {row[0]}" for table in CHECKED for row in lines[table]}
    lost = sorted({line for line, _ in sums} - found)
    return Rescued(len(jobs), len(kept), tuple(sorted(doubtful)), tuple(unreadable), tuple(lost), not sums)


def _write(store: Any, jobs: Any, kept: Any, marks: Any, asides: Any, doubtful: Any) -> None:
    with store._open(write=True) as connection:
        for job in jobs.values():
            store._insert(connection, job)
        for job, at, typical, why in marks:
            store._insert_mark(connection, job, Mark(at, bool(typical), why))
        for one in kept.values():
            store._write(connection, "kept", one)
        out: dict[Any, Any] = {}
        for _, job, at, aside, why in asides:
            out.pop(job, None)
            if aside:
                out[job] = (at, why)
        out |= {job: (job_records.now(), DAMAGED) for job in doubtful}
        for number, (job, (at, why)) in enumerate(out.items(), start=1):
            store._write(connection, "aside", (number, job, at, 1, why))


def _content(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise RecordError("records", shown(path, 300), "is not there", "Name the file with --records.")
        if Path(f"{path}-journal").exists():  # what a killed writer left half done is undone first, where that can be
            try:
                Records(path).jobs()
            except RecordError:
                pass
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as problem:
        raise RecordError("records", shown(path, 300), "cannot be read", "Look at who may read it.") from problem
    if len(content) > LARGEST_FILE:
        raise RecordError("records", shown(path, 300), "is larger than 1 GB", "Name a file of records.")
    return content


def _sound(sums: Any, table: str, row: Sequence[Any]) -> bool | None:
    """Whether a line reads as it was written; None where no line of the file has a checksum."""
    return (f"{table} {row[0]}", checksum(table, row)) in sums if sums else None


def _chosen(rows: Iterable[Any], sums: Any) -> tuple[dict[str, Job], set[str], list[str]]:
    """Jobs to save: (id -> Job, ids of those that do not read as they were written, what cannot be saved)."""
    jobs: dict[str, Job] = {}
    doubtful: set[str] = set()
    unreadable: list[str] = []
    for row in sorted(rows, key=lambda row: _sound(sums, "jobs", row) is False):  # the sound ones first
        if row[0] in jobs:  # an older copy of a page, or the same twice
            continue
        try:
            jobs[row[0]] = job_of(row)
        except InputError as problem:
            unreadable.append(f"Not saved is the job {_told(row, problem)}")
            continue
        if _sound(sums, "jobs", row) is False:
            doubtful.add(row[0])
    return jobs, doubtful, unreadable


def _chosen_kept(rows: Iterable[Any], sums: Any) -> tuple[dict[int, Kept], list[str]]:
    """Kept jobs to save, those that read as they were written, and what is told of the others: (jobs by number, list)."""
    kept: dict[int, Kept] = {}
    bad = []
    for row in rows:
        if _sound(sums, "kept", row) is False or not all(isinstance(text, str) for text in row[1:]):
            bad.append(row[0])
        else:
            kept.setdefault(row[0], Kept(*row))
    return kept, [f"The kept job {shown(number)} {DAMAGED}." for number in bad if number not in kept]


# ---- the pages, as https://www.sqlite.org/fileformat2.html tells them


_LEAF, _INDEX_LEAF, _INDEX_INNER = 0x0D, 0x0A, 0x02
_FIXED = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 7: 8, 8: 0, 9: 0}  # bytes of a value by its serial type


def _lines_in(content: bytes) -> tuple[dict[str, list[Any]], set[tuple[str, ...]]]:
    """Every line in every page that can be read: (table -> list of tuples, set of (line, checksum))."""
    told = int.from_bytes(content[16:18], "big")
    size = 65536 if told == 1 else told if told in (512, 1024, 2048, 4096, 8192, 16384, 32768) else 4096
    lines: dict[str, list[Any]] = {table: [] for table in CHECKED}
    sums: set[tuple[str, ...]] = set()
    tables = {len(columns): table for table, columns in CHECKED.items()}
    for start in range(0, len(content), size):
        for kind, number, values in _cells(content, start, size):
            if kind != _LEAF:
                if len(values) == 2 and all(isinstance(value, str) for value in values):
                    sums.add(tuple(values))
            elif len(values) in tables:
                table = tables[len(values)]
                if table in ("kept", "aside"):  # their number stands in place of a value
                    values = (number, *values[1:])
                if _fits(table, values):
                    lines[table].append(_as_kept(table, values))
    return lines, {(line, told) for line, told in sums if line.partition(" ")[0] in CHECKED and len(told) == 16}


def _fits(table: str, values: Sequence[Any]) -> bool:
    """Whether the values of a line are of the kinds of that table."""
    if table in ("jobs", "marks"):
        return isinstance(values[0], str) and all(isinstance(value, str) for value in values[1:2])
    return isinstance(values[0], int) and values[0] > 0 and isinstance(values[1], str)


def _as_kept(table: str, values: Sequence[Any]) -> tuple[Any, ...]:
    """The values as the library gives them: a column of numbers holds a whole one in fewer bytes."""
    if table != "jobs":
        return tuple(values)
    whole = ("pieces", "places", "misses")
    columns = CHECKED["jobs"]
    return tuple(
        float(value) if type(value) is int and name not in whole else value for name, value in zip(columns, values)
    )


def _cells(content: bytes, start: int, size: int) -> Iterator[tuple[int, int | None, list[Any]]]:
    """Cells of one page: yields (kind of page, row number, list of values). What does not hold together is left out."""
    head = start + (100 if start == 0 else 0)
    if head + 8 > len(content):
        return
    kind = content[head]
    if kind not in (_LEAF, _INDEX_LEAF, _INDEX_INNER):
        return
    count = int.from_bytes(content[head + 3 : head + 5], "big")
    pointers = head + (12 if kind == _INDEX_INNER else 8)
    for place in range(pointers, min(pointers + 2 * count, start + size, len(content)) - 1, 2):
        at = start + int.from_bytes(content[place : place + 2], "big")
        try:
            yield kind, *_cell(content, at, size, kind)
        except (IndexError, ValueError, struct.error):
            continue


def _cell(content: bytes, at: int, size: int, kind: int) -> Any:
    if kind == _INDEX_INNER:
        at += 4  # the page to its left
    length, at = _varint(content, at)
    number = 0
    if kind == _LEAF:
        number, at = _varint(content, at)
    if length > job_records.LONGEST_VALUE:
        raise ValueError
    return number, _values(_payload(content, at, length, size, kind))


def _payload(content: bytes, at: int, length: int, size: int, kind: int) -> bytes:
    """The bytes of a line, those on further pages included."""
    most = size - 35 if kind == _LEAF else (size - 12) * 64 // 255 - 23
    if length <= most:
        return content[at : at + length]
    least = (size - 12) * 32 // 255 - 23
    here = least + (length - least) % (size - 4)
    here = here if here <= most else least
    parts, left = [content[at : at + here]], length - here
    page = int.from_bytes(content[at + here : at + here + 4], "big")
    while left > 0:
        start = (page - 1) * size
        if page < 2 or start + 4 > len(content):
            raise ValueError
        parts.append(content[start + 4 : start + 4 + min(left, size - 4)])
        left -= size - 4
        page = int.from_bytes(content[start : start + 4], "big")
    return b"".join(parts)


def _values(payload: bytes) -> list[Any]:
    """The values of a line."""
    end, at = _varint(payload, 0)
    types = []
    while at < end:
        kind, at = _varint(payload, at)
        types.append(kind)
    values = []
    for kind in types:
        long = _FIXED.get(kind, (kind - 12) // 2 if kind >= 12 else 0)
        raw = payload[at : at + long]
        if len(raw) != long:
            raise ValueError
        at += long
        values.append(_value(kind, raw))
    return values


def _value(kind: int, raw: bytes) -> Any:
    if kind == 0:
        return None
    if kind == 7:
        return struct.unpack(">d", raw)[0]
    if kind <= 6:
        return int.from_bytes(raw, "big", signed=True)
    if kind in (8, 9):
        return kind - 8
    return raw if kind % 2 == 0 else raw.decode("utf-8", "replace")


def _varint(content: bytes, at: int) -> tuple[int, int]:
    value = 0
    for place in range(9):
        byte = content[at + place]
        if place == 8:
            return value << 8 | byte, at + 9
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + place + 1
    raise ValueError
