"""The file of records in a hostile world: looked through, rescued, put aside, never run, never written by reading."""

import random
import sqlite3
import time

import pytest
from rich.console import Console
from test_faults import run
from test_records import job, old_file

from advisor.ground.errors import InputError
from advisor.records import job_records, safekeeping
from advisor.show import records as shown


@pytest.fixture
def file(tmp_path):
    return tmp_path / "jobs.sqlite3"


@pytest.fixture
def five(file):
    """A file with five jobs, a mark and a kept job -> its path and the jobs."""
    jobs = [job(note=f"number {number}" + "x" * 450 * number) for number in range(5)]
    store = job_records.Records(file)
    store.merge([("here", one) for one in jobs])
    store.mark(jobs[2].id, typical=False, why="power cut")
    store.keep(job_records.Kept(0, job_records.now(), "training-shop", "form tool", '{"radius": "R6"}', "R6", "1"))
    return file, jobs


def changed(file, statement):
    with sqlite3.connect(file) as connection:
        connection.execute(statement)
    connection.close()


# ------------------------------------------------------------------------------------------------ verify


def test_a_whole_file_is_called_whole(five):
    file, _ = five
    ran = run("records", "--verify", "--records", file)
    assert ran.status == 0 and "whole. 5 jobs, 1 marks, 1 kept jobs" in ran.out


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("UPDATE jobs SET minutes = 8.0 WHERE note LIKE 'number 3x%'", "does not read as it was written"),
        ("DELETE FROM jobs WHERE note LIKE 'number 3x%'", "is lost"),
        ("UPDATE marks SET typical = 1", "does not read as it was written"),
        ("DELETE FROM marks", "is lost"),
        ("UPDATE kept SET fields = '{}'", "does not read as it was written"),
        ("INSERT INTO jobs SELECT 'zzz', recorded_at, done_on, shop, method, radius, callout, pieces, places, tooling, "
         "setup, minutes, misses, note, 1, 1, 1, 1, 1, program FROM jobs LIMIT 1", "does not read as it was written"),
    ],
)  # fmt: skip
def test_fault_25_what_was_not_written_so_is_noticed(five, statement, told):
    file, _ = five
    changed(file, statement)
    ran = run("records", "--verify", "--records", file)
    assert ran.status == 2 and told in ran.out, ran
    with pytest.raises(InputError, match="damaged"):
        store = job_records.Records(file)
        store.jobs(), store.kept()


def test_fault_25_no_flipped_bit_is_read_as_other_data(five, tmp_path):
    """Every bit flipped in turn would take minutes: some drawn at random, from all pages."""
    file, jobs = five
    good, draw = file.read_bytes(), random.Random(25)
    before, kept = job_records.Records(file).jobs(), job_records.Records(file).kept()
    noticed = 0
    for _ in range(150):
        content = bytearray(good)
        content[draw.randrange(len(good))] ^= 1 << draw.randrange(8)
        file.write_bytes(content)
        try:
            assert job_records.Records(file).jobs() == before and job_records.Records(file).kept() == kept
        except InputError:
            noticed += 1
    assert noticed > 10  # the rest hit unused bytes, indexes that are not read, or counters


# ------------------------------------------------------------------------------------------------ rescue


def rescued(file, tmp_path, name="saved.sqlite3"):
    ran = run("records", "--rescue", tmp_path / name, "--records", file)
    return ran, (job_records.Records(tmp_path / name).jobs() if (tmp_path / name).exists() else ())


def test_a_whole_file_is_rescued_whole(five, tmp_path):
    file, _ = five
    before = file.read_bytes()
    ran, saved = rescued(file, tmp_path)
    assert ran.status == 0 and saved == job_records.Records(file).jobs()
    assert job_records.Records(tmp_path / "saved.sqlite3").kept() == job_records.Records(file).kept()
    assert file.read_bytes() == before
    assert run("records", "--verify", "--records", tmp_path / "saved.sqlite3").status == 0


def test_a_file_without_its_first_page_is_rescued(five, tmp_path):
    file, jobs = five
    content = bytearray(file.read_bytes())
    content[:4096] = b"\0" * 4096
    file.write_bytes(content)
    assert run("records", "--records", file).status == 2
    ran, saved = rescued(file, tmp_path)
    assert ran.status == 0 and {one.id for one in saved} == {one.id for one in jobs}
    assert [one.not_typical for one in saved if one.id == jobs[2].id] == ["power cut"]


def test_a_job_that_reads_otherwise_is_saved_and_put_aside(five, tmp_path):
    file, jobs = five
    changed(file, f"UPDATE jobs SET minutes = 8.0 WHERE id = '{jobs[3].id}'")
    ran, saved = rescued(file, tmp_path)
    assert "Put aside" in ran.out and jobs[3].id in ran.out
    assert {one.id for one in saved} == {one.id for one in jobs} - {jobs[3].id}
    assert [one.job for one in job_records.Records(tmp_path / "saved.sqlite3").aside()] == [jobs[3].id]


def test_every_page_that_is_left_is_read(tmp_path, file):
    jobs = [job(note=f"number {number}") for number in range(300)]
    job_records.Records(file).merge([("here", one) for one in jobs])
    content = bytearray(file.read_bytes())
    content[8 * 4096 : 10 * 4096] = b"\xff" * 8192
    file.write_bytes(content)
    ran, saved = rescued(file, tmp_path)
    known = {one.id: one for one in jobs}
    assert len(saved) > 200 and all(one == known[one.id] for one in saved)
    assert "Lost: " in ran.out or len(saved) == 300


def test_a_rescue_writes_over_nothing(five, tmp_path):
    file, _ = five
    before = file.read_bytes()
    (tmp_path / "there.sqlite3").write_text("mine")
    for target in (file, tmp_path / "there.sqlite3"):
        ran = run("records", "--rescue", target, "--records", file)
        assert ran.status == 2 and "is there already" in ran.complaint
    assert file.read_bytes() == before and (tmp_path / "there.sqlite3").read_text() == "mine"


@pytest.mark.parametrize("content", [b"", b"\0" * 5000, b"SQLite format 3\0" * 600, random.Random(1).randbytes(40_000)])
def test_nothing_to_rescue_is_said(tmp_path, file, content):
    file.write_bytes(content)
    ran, saved = rescued(file, tmp_path)
    assert ran.status == 2 and "nothing that can be read" in ran.complaint and not saved
    assert not (tmp_path / "saved.sqlite3").exists()


# ------------------------------------------------------------------------------------------------ put aside


def test_a_job_is_put_aside_and_taken_back(five, tmp_path):
    file, jobs = five
    one = jobs[1]
    ran = run("records", "--put-aside", one.id, "--why", "wrong drawing", "--records", file)
    assert ran.status == 0 and one.id in ran.out
    listed = run("records", "--records", file).out
    assert listed.startswith("4 jobs") and "put aside, neither listed nor counted: wrong drawing" in listed
    run("records", "--export", tmp_path / "jobs.csv", "--records", file)
    assert one.id not in (tmp_path / "jobs.csv").read_text()
    assert run("records", "--take-back", one.id, "--records", file).status == 0
    assert set(job_records.Records(file).jobs()) >= {one}


def test_a_damaged_job_can_be_put_aside(five):
    file, jobs = five
    changed(file, f"UPDATE jobs SET radius = 'R6 [/x]' WHERE id = '{jobs[1].id}'")
    refused = run("records", "--records", file)
    assert refused.status == 2 and jobs[1].id in refused.complaint and "--put-aside" in refused.complaint
    assert run("records", "--put-aside", jobs[1].id[:5], "--why", "damaged", "--records", file).status == 0
    assert run("records", "--records", file).out.startswith("4 jobs")


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["--put-aside", "zzzz", "--why", "x"], "is no recorded job"),
        (["--put-aside", "", "--why", "x"], "is no recorded job"),
        (["--take-back", "ID"], "is not put aside"),
        (["--put-aside", "ID"], "why: is missing"),
    ],
)
def test_what_cannot_be_put_aside(five, more, told):
    file, jobs = five
    ran = run("records", *[jobs[0].id if word == "ID" else word for word in more], "--records", file)
    assert ran.status == 2 and told in ran.complaint


# ------------------------------------------------------------------------------------------------ a stranger's file

HOSTILE = {
    "trigger": "CREATE TRIGGER t AFTER INSERT ON jobs BEGIN DELETE FROM jobs; END",
    "view": "CREATE VIEW v AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT * FROM n",
    "index": "CREATE INDEX i ON jobs (abs(pieces))",
    "table": "CREATE TABLE more (x)",
}


@pytest.mark.parametrize("statement", HOSTILE.values(), ids=HOSTILE)
def test_fault_25_nothing_in_a_strangers_file_runs(five, statement):
    file, _ = five
    changed(file, statement)
    before = file.read_bytes()
    for command in (["records"], ["records", "--verify"], ["records", "--put-aside", "a", "--why", "b"]):
        ran = run(*command, "--records", file)
        assert ran.status == 2 and "that this program did not make" in ran.complaint + ran.out
    with pytest.raises(InputError, match="did not make"):
        job_records.Records(file).add(job())
    assert file.read_bytes() == before


def test_fault_25_an_endless_view_in_place_of_a_table(file):
    with sqlite3.connect(file) as connection:
        columns = ", ".join(f"x AS {name}" for name in job_records.COLUMNS)
        connection.execute(
            f"CREATE VIEW jobs AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT {columns} FROM n"
        )
        connection.execute(f"PRAGMA application_id = {job_records.APPLICATION}")
        connection.execute("PRAGMA user_version = 1")
    connection.close()
    started = time.perf_counter()
    assert run("records", "--records", file).status == 2
    assert time.perf_counter() - started < 5


# ------------------------------------------------------------------------------------------------ reading, versions


def test_reading_writes_nothing(five, tmp_path):
    file, _ = five
    old = tmp_path / "old.sqlite3"
    old_file(old, job())
    for path in (file, old):
        before, folder = path.read_bytes(), sorted(tmp_path.iterdir())
        for command in ("--json", "--verify", "--kept"):
            assert run("records", command, "--records", path).status == 0
        assert path.read_bytes() == before and sorted(tmp_path.iterdir()) == folder


def test_a_file_is_kept_as_it_was_before_it_is_brought_up_to_date(file):
    one = job()
    old_file(file, one)
    job_records.Records(file).add(job())
    kept = file.with_name("jobs.sqlite3.version-1")
    assert job_records.Records(kept).jobs() == (one,)
    with sqlite3.connect(kept) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (1,)
    connection.close()
    assert safekeeping.verify(file).wrong == ()


def test_an_old_file_says_that_nothing_tells(file, tmp_path):
    old_file(file, job())
    assert "No line has a checksum" in run("records", "--verify", "--records", file).out
    ran, saved = rescued(file, tmp_path)
    assert len(saved) == 1 and "Look them over" in ran.out


# ------------------------------------------------------------------------------------------------ many


def test_fault_25_twenty_thousand_jobs_are_laid_out_in_a_second(tmp_path):
    jobs = [job(note="late" if number % 9 == 0 else "") for number in range(20_000)]
    console = Console(width=100, file=(tmp_path / "out").open("w"))
    started = time.process_time()
    console.print(shown.listing(jobs, "jobs.sqlite3"))
    assert time.process_time() - started < 2.0  # 0.6 s where nothing else runs


@pytest.mark.parametrize("width", [80, 100, 132])
def test_a_long_list_looks_like_a_short_one(monkeypatch, width):
    jobs = [
        job(note="late", radius="R6 ±0.1, then " * (number % 3) + "R6", places=1 + number % 2) for number in range(20)
    ]
    seen = []
    for quick_from in (1, 1000):
        monkeypatch.setattr(shown, "QUICK_FROM", quick_from)
        console = Console(width=width)
        with console.capture() as captured:
            console.print(shown.listing(jobs, "jobs.sqlite3"))
        seen.append([line.rstrip() for line in captured.get().splitlines()])
    assert seen[0] == seen[1]
