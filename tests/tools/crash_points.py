"""Lets every call that writes be the last one, be cut in half, or fail, in turn, and looks at what is left on the disk.

Run with the library of faulty_calls.c laid before the C library: crash_points.py LIBRARY FOLDER RUNS SEED; RUNS 0 for every
place there is. Tells how many runs there were, for each kind of work, and whatever was lost, doubled or half written.
"""

import collections
import ctypes
import errno
import os
import random
import shutil
import sqlite3
import sys
from pathlib import Path

from advisor.ground import whole_files
from advisor.ground.errors import InputError
from advisor.records import job_records, safekeeping

KILLED, HALF = 0, -1
WAYS = {"killed": KILLED, "cut in half": HALF, "disk full": errno.ENOSPC, "disk broken": errno.EIO}
FAR = 100_000


def job(rng, number):
    return job_records.Job(
        id="".join(rng.choices("bcdfghjkmnpqrstvwxz", k=8)), recorded_at=job_records.now(), done_on="2024-05-31",
        shop="training-shop", method="form tool", radius="R6 ±0.1", callout="{}", pieces=10, places=1, tooling=60.0,
        setup=16.0, minutes=40.0, misses=0, note=f"{number}" + "x" * rng.choice((0, 30, 1500)), predicted_tooling=30.0,
        predicted_setup=8.0, predicted_minutes=20.0, predicted_in_tolerance=0.99, quoted=58.0, program="test",
    )  # fmt: skip


class Recording:
    """One job more in a file of records; base: how many are there before, None where there is no file."""

    def __init__(self, rng, folder, base=3, new=1, version=job_records.VERSION):
        self.file = folder / "records.sqlite3"
        self.base = [job(rng, number) for number in range(base)]
        self.new = [job(rng, f"new {number}") for number in range(new)]
        if base and version == job_records.VERSION:
            job_records.Records(self.file).merge([("", one) for one in self.base])
        elif base:
            self._old(version)
        self.before = {path.name for path in folder.iterdir()}

    def _old(self, version):
        with sqlite3.connect(self.file) as connection:
            for statements in job_records.MIGRATIONS[:version]:
                for statement in statements:
                    connection.execute(statement)
            places = ", ".join("?" * len(job_records.COLUMNS))
            for one in self.base:
                values = [getattr(one, name) for name in job_records.COLUMNS]
                connection.execute(f"INSERT INTO jobs VALUES ({places})", values)
            connection.execute(f"PRAGMA application_id = {job_records.APPLICATION}")
            connection.execute(f"PRAGMA user_version = {version}")
        connection.close()

    def work(self):
        if len(self.new) == 1:
            job_records.Records(self.file).add(self.new[0])
        else:
            job_records.Records(self.file).merge([("", one) for one in self.new])

    def wrong(self, told, excused):
        found = job_records.Records(self.file).jobs() if self.file.exists() else ()
        every, base = self.base + self.new, {one.id for one in self.base}
        ids = {one.id for one in found}
        if len(ids) != len(found) or ids not in (base, {one.id for one in every}):
            yield f"{len(found)} jobs where {len(base)} or {len(every)} were written"
        if told == "done" and ids == base:
            yield "what was acknowledged is lost"
        if told and told != "done" and "at the very end" not in told and ids != base:
            yield f"what was refused is there: {told}"
        if any(one != next(other for other in every if other.id == one.id) for one in found):
            yield "a job reads otherwise than it was written"
        if self.file.exists() and (wrong := safekeeping.verify(self.file).wrong):
            yield f"the file is damaged: {wrong[:2]}"
        if not excused:
            yield from self._left_over()
        for copy in self.file.parent.glob("*.version-*"):
            if copy.name.startswith("records") and {one.id for one in job_records.Records(copy).jobs()} != base:
                yield "the copy from before the migration is not whole"
        one = job(random.Random(str(ids)), "and it goes on")
        job_records.Records(self.file).add(one)
        if one.id not in {other.id for other in job_records.Records(self.file).jobs()}:
            yield "nothing can be recorded any more"

    def _left_over(self):
        allowed = self.before | {self.file.name, f"{self.file.name}-journal"}
        left = {path.name for path in self.file.parent.iterdir()} - allowed
        if any(".version-" not in name or name.startswith(".") for name in left):
            yield f"files are left behind: {sorted(left)}"


class Writing:
    """Files that take the place of others; pages: of each its new bytes."""

    def __init__(self, rng, folder, pages):
        self.folder, self.pages = folder, [rng.randbytes(size) for size in pages]
        self.path = folder / "out.bin"
        self.targets = [self.path, *(folder / f"out-{n}.bin" for n in range(2, len(pages) + 1))]
        for target in self.targets:
            target.write_bytes(b"old")

    def work(self):
        whole_files.write(self.path, self.pages, replace=True)

    def wrong(self, told, excused):
        found = [target.read_bytes() if target.exists() else None for target in self.targets]
        old, new = [b"old"] * len(found), self.pages
        if any(one not in (b"old", page) for one, page in zip(found, new, strict=True)):
            yield "a file is half written"
        if told == "done" and found != new:
            yield "what was acknowledged is not there"
        if told and told != "done" and found not in (old, new):
            yield f"what failed was written in part: {told}"
        if not excused and len(list(self.folder.iterdir())) != len(found):
            yield "files are left behind"


class Exporting(Writing):
    """Jobs as CSV over an older export."""

    def __init__(self, rng, folder):
        self.jobs = tuple(job(rng, number) for number in range(6))
        super().__init__(rng, folder, [1])
        job_records.export(folder / "wanted.csv", self.jobs)
        self.pages = [(folder / "wanted.csv").read_bytes()]
        (folder / "wanted.csv").unlink()
        self.path = folder / "out.csv"
        self.targets[0].rename(self.path)
        self.targets = [self.path]

    def work(self):
        job_records.export(self.path, self.jobs, replace=True)


KINDS = {
    "record": Recording,
    "first record": lambda rng, folder: Recording(rng, folder, base=0),
    "import": lambda rng, folder: Recording(rng, folder, new=20),
    "migration": lambda rng, folder: Recording(rng, folder, version=rng.choice((1, 3))),
    "export": Exporting,
    "one output": lambda rng, folder: Writing(rng, folder, [rng.choice((10, 200_000))]),
    "three outputs": lambda rng, folder: Writing(rng, folder, [10, 50_000, 10]),
}


def run(library, kind, way, nth, seed, folder):
    """Strike the nth call of some work -> (problems, whether it was reached)."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    task = KINDS[kind](random.Random(seed), folder)
    here, there = os.pipe()
    child = os.fork()
    if not child:
        told = ""
        try:
            library.arm(nth, WAYS[way])
            try:
                task.work()
                told = "done"
            except InputError as problem:
                told = str(problem)
            except BaseException as problem:
                told = f"fell: {type(problem).__name__}: {problem}"
            seen = library.counted()
            os.write(there, f"{seen} {told}".encode())
        finally:
            os._exit(0)
    os.close(there)
    with open(here, "rb") as pipe:
        seen, _, told = pipe.read().decode().partition(" ")
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status)
    # Whoever was killed, or could not take a file away, leaves one behind.
    problems = list(task.wrong(told, killed or WAYS[way] == errno.EIO))
    if told.startswith("fell"):
        problems.append(told)
    return problems, killed or int(seen) > nth


def main(path, folder, runs, seed):
    library = ctypes.CDLL(path)
    library.counted.restype = ctypes.c_long
    rng, tried, wrong = random.Random(seed), collections.Counter(), []

    def one(kind, way, nth):
        problems, reached = run(library, kind, way, nth, rng.random(), folder)
        tried[kind] += reached
        wrong.extend(f"{kind}, {way} at call {nth}: {problem}" for problem in problems)
        return reached

    if runs:
        most = {}
        while sum(tried.values()) < runs:
            kind, way = rng.choice(list(KINDS)), rng.choice(list(WAYS))
            nth = rng.randrange(most.get(kind, 60))
            if not one(kind, way, nth):
                most[kind] = max(nth, 1)
    else:
        for kind in KINDS:
            for way in WAYS:
                nth = 0
                while nth < FAR and one(kind, way, nth):
                    nth += 1
    print(", ".join(f"{kind} {count}" for kind, count in tried.items()), f"of {sum(tried.values())}")
    print(*wrong, sep="\n")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4])))
