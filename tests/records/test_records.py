"""Records through kills, crowds, damage and old files; and what estimates make of them."""

import csv
import dataclasses
import json
import math
import os
import random
import re
import signal
import sqlite3
import subprocess
import sys
import textwrap
import threading
import time
from pathlib import Path

import numpy
import pytest
from command import CORNER, run
from hypothesis import given
from hypothesis import strategies as st
from often import often
from scipy import stats

from advisor.answer import advice as advices
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground import spreadsheet
from advisor.ground.errors import InputError
from advisor.records import experience, job_records

HOUSE = Path(__file__).parent.parent.parent
SCREENS = Path(__file__).parent.parent / "screens"
BASE = {"record_scatter": 0.35, "record_doubt": 0.25, "record_prior_arcs": 30.0}


@pytest.fixture
def file(tmp_path):
    return tmp_path / "records.sqlite3"


def job(**changes):
    """A job that took twice as long as expected, with fields changed."""
    plain_job = job_records.Job(
        id=job_records.new_id(), recorded_at=job_records.now(), done_on="2024-05-31", shop="training-shop", method="form tool",
        radius="R6 ±0.1", callout="{}", pieces=10, places=1, tooling=60.0, setup=16.0, minutes=40.0, misses=0, note="",
        predicted_tooling=30.0, predicted_setup=8.0, predicted_minutes=20.0, predicted_in_tolerance=0.99, quoted=58.0,
        program="test",
    )  # fmt: skip
    return dataclasses.replace(plain_job, **changes)


def kept(file):
    return job_records.Records(file).jobs()


def record(file, *more, method="form tool", **took):
    took = {"tooling": 60, "setup": 16, "minutes": 60, "misses": 0} | took
    options = [f"--{name}={value}" for name, value in took.items() if value is not None]
    return run("record", *CORNER, "--quantity=12", f"--method={method}", *options, f"--records={file}", *more)


# ------------------------------------------------------------------------------------------------ kept as recorded


def test_what_is_recorded_is_there_to_the_last_digit(file):
    one = job(tooling=0.1 + 0.2, note='a "note", with = and ü', misses=None, quoted=None)
    job_records.Records(file).add(one)
    assert kept(file) == (one,)


def test_a_job_keeps_what_was_expected_of_it_without_records(file):
    assert record(file, "--pieces=10", "--date=2024-05-31", "--note", "soft  wheel").status == 0
    (one,) = kept(file)
    known = {"materials": materials.materials()}
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 10}
    told = advices.advise(
        callouts.read_callout(fields, **known), shops.read_shop("training-shop"), executor=generated.run
    )
    minutes = told.methods["form tool"].minutes
    assert one.predicted_tooling == minutes["tooling"]["mean"]
    assert one.predicted_setup == minutes["setup"]["mean"] + minutes["resetting"]
    assert one.predicted_minutes == pytest.approx(10 * (minutes["per_piece"]["mean"] + minutes["wear"]))  # none missed
    assert one.quoted == minutes["batch"]["mean"]
    assert (one.pieces, one.done_on, one.note, one.shop) == (10, "2024-05-31", "soft wheel", "training-shop")
    assert json.loads(one.callout)["diameter"] == 40.0
    record(file)
    first, second = kept(file)
    assert second.predicted_setup == pytest.approx(first.predicted_setup)  # from starting values again
    assert second.quoted > first.quoted  # though the quote drew on the first job


def test_a_case_file_is_recorded_by_its_path(file):
    case = HOUSE / "cases" / "knob-corner.toml"
    ran = run(
        "record",
        case,
        "--method",
        "form tool",
        "--tooling",
        "35",
        "--setup",
        "20",
        "--pieces",
        "12",
        "--minutes",
        "96",
        "--misses",
        "1",
        "--records",
        file,
    )
    assert ran.status == 0, ran.complaint
    (one,) = kept(file)
    assert (one.tooling, one.setup, one.pieces, one.minutes, one.misses) == (35.0, 20.0, 12, 96.0, 1)
    assert one.id in ran.out and one.id in run("records", "--records", file).out


WRONG = [
    ({"method": "form tol"}, [], "method", "form tool"),
    ({"tooling": "-1"}, [], "tooling", "0"),
    ({"setup": "soon"}, [], "setup", "time"),
    ({"minutes": "3 mm"}, [], "minutes", "time"),
    ({"misses": "1.5"}, [], "misses", "whole number"),
    ({}, ["--pieces=0"], "pieces", "whole number from 1"),
    ({}, ["--date=2999-01-01"], "date", "day on which"),
    ({}, ["--date=31.5.2024"], "date", "2024-05-31"),
    ({}, ["--note", "x" * 3000], "note", "shorter"),
    ({"tooling": None, "setup": None, "minutes": None, "misses": None}, [], "minutes", "--tooling"),
]


@pytest.mark.parametrize(("took", "more", "field", "fix"), WRONG)
def test_what_cannot_be_recorded_is_refused_and_nothing_is_written(file, took, more, field, fix):
    ran = record(file, *more, **took)
    assert ran.status == 2 and ran.complaint.startswith(f"{field}: ") and fix in ran.complaint
    assert not file.exists()


def test_short_names_of_methods(file):
    assert record(file, method="pivot").status == 0
    assert kept(file)[0].method == "pivot attachment"


# ------------------------------------------------------------------------------------------------ kills and crowds

WRITER = """
    import sys
    sys.path[:0] = {path!r}
    from test_records import job
    from advisor.records import job_records
    store = job_records.Records({file!r}, wait=60)
    print("ready", flush=True)
    for number in range({count}):
        one = job(note="{name} " + str(number))
        store.add(one)
        print(one.id, flush=True)
"""


def writer(file, name, count=100_000):
    code = textwrap.dedent(WRITER).format(path=sys.path, file=str(file), name=name, count=count)
    return subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)


def sound(file):
    with sqlite3.connect(file) as connection:
        return connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_two_writers_at_once_lose_nothing(file):
    writers = [writer(file, name, 30) for name in ("one", "other")]
    told = [process.communicate(timeout=60)[0].split() for process in writers]
    assert [process.returncode for process in writers] == [0, 0]
    ids = {one.id for one in kept(file)}
    assert len(ids) == 60 and set(told[0][1:]) | set(told[1][1:]) == ids
    assert sound(file)


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
@pytest.mark.parametrize("seed", range(often(2, 6)))
def test_a_kill_in_mid_write_loses_nothing_that_was_told(file, seed):
    process = writer(file, "killed")
    assert process.stdout.readline() == "ready\n"
    time.sleep(random.Random(seed).uniform(0.0, 0.12))
    process.send_signal(signal.SIGKILL)
    told = process.communicate()[0].splitlines()
    whole = [line for line in told if re.fullmatch("[a-z]{8}", line)]
    found = [one.id for one in kept(file)] if file.exists() else []
    assert set(whole) <= set(found) and len(found) <= len(whole) + 1
    assert not file.exists() or sound(file)
    job_records.Records(file).add(job())  # and it goes on
    assert len(kept(file)) == len(found) + 1


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_a_kill_inside_a_transaction_undoes_all_of_it(file, tmp_path):
    job_records.Records(file).add(job())
    code = f"""
        import sys, os, signal
        sys.path[:0] = {sys.path!r}
        from test_records import job
        from advisor.records import job_records
        store = job_records.Records({str(file)!r})
        def half():
            for number in range(4000):
                yield f"line {{number}}", job(note="x" * 1000)
            os.kill(os.getpid(), signal.SIGKILL)  # pages have long been written to the file by now
        with store._open(write=True) as connection:
            connection.execute("PRAGMA cache_size = 10")
            for where, one in half():
                store._insert(connection, one)
    """
    process = subprocess.run([sys.executable, "-c", textwrap.dedent(code)], timeout=60)
    assert process.returncode == -signal.SIGKILL
    assert Path(f"{file}-journal").exists()
    assert len(kept(file)) == 1 and sound(file)


def test_a_reader_waits_for_a_writer_and_a_second_writer_is_told(file):
    job_records.Records(file).add(job())
    holder = sqlite3.connect(file, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    assert len(kept(file)) == 1
    with pytest.raises(InputError, match="in use by another program.*Nothing was changed"):
        job_records.Records(file, wait=0.05).add(job())
    holder.execute("ROLLBACK")
    holder.close()
    job_records.Records(file).add(job())
    assert len(kept(file)) == 2


def test_many_start_the_same_file_at_once(file):
    errors = []

    def add():
        try:
            job_records.Records(file, wait=30).add(job())
        except Exception as problem:
            errors.append(problem)

    threads = [threading.Thread(target=add) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not errors and len(kept(file)) == 8


# ------------------------------------------------------------------------------------------------ versions


def old_file(file, one):
    """A file as version 1 wrote it."""
    with sqlite3.connect(file) as connection:
        for statement in job_records.MIGRATIONS[0]:
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {job_records.APPLICATION}")
        connection.execute("PRAGMA user_version = 1")
        values = [getattr(one, name) for name in job_records.COLUMNS]
        connection.execute(
            f"INSERT INTO jobs ({', '.join(job_records.COLUMNS)}) VALUES ({', '.join('?' * len(values))})", values
        )
    connection.close()


def test_an_old_file_is_brought_up_to_date_and_keeps_its_jobs(file):
    one = job()
    old_file(file, one)
    assert kept(file) == (one,)
    job_records.Records(file).mark(one.id, typical=False, why="power cut")
    assert kept(file)[0].not_typical == "power cut"
    with sqlite3.connect(file) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (job_records.VERSION,)


def test_a_new_file_is_the_same_as_one_brought_up_to_date(tmp_path):
    fresh, old = tmp_path / "fresh.sqlite3", tmp_path / "old.sqlite3"
    job_records.Records(fresh).add(job())
    old_file(old, job())
    job_records.Records(old).merge([])  # what writes first brings it up to date
    schemas = []
    for file in (fresh, old):
        with sqlite3.connect(file) as connection:
            schemas.append(connection.execute("SELECT name, sql FROM sqlite_master ORDER BY name").fetchall())
    assert schemas[0] == schemas[1]


def test_a_newer_file_is_left_alone(file):
    job_records.Records(file).add(job())
    with sqlite3.connect(file) as connection:
        connection.execute(f"PRAGMA user_version = {job_records.VERSION + 1}")
    before = file.read_bytes()
    for attempt in (lambda: kept(file), lambda: job_records.Records(file).add(job())):
        with pytest.raises(InputError, match="newer program"):
            attempt()
    assert file.read_bytes() == before


# ------------------------------------------------------------------------------------------------ files that cannot be
# used


def foreign(file):
    with sqlite3.connect(file) as connection:
        connection.execute("CREATE TABLE theirs (x)")


def damaged(file):
    for number in range(40):
        job_records.Records(file).add(job(note="x" * 500))
    content = bytearray(file.read_bytes())
    content[4096:12288] = b"\xff" * 8192
    file.write_bytes(content)


SPOILT = {
    "text": lambda file: file.write_text("not a database at all, but long enough to be taken for one" * 20),
    "foreign": foreign,
    "damaged": damaged,
    "cut short": lambda file: (damaged(file), file.write_bytes(file.read_bytes()[:6000])),
    "folder": lambda file: file.mkdir(),
}


@pytest.mark.parametrize("spoil", SPOILT)
@pytest.mark.parametrize("command", ["advise", "estimate", "record", "records"])
def test_a_file_that_cannot_be_used_is_one_clear_error_and_stays_as_it_is(file, spoil, command):
    SPOILT[spoil](file)
    before = None if file.is_dir() else file.read_bytes()
    ran = {
        "advise": lambda: run("advise", *CORNER, "--records", file),
        "estimate": lambda: run("estimate", *CORNER, "--records", file),
        "record": lambda: record(file),
        "records": lambda: run("records", "--records", file),
    }[command]()
    assert ran.status == 2 and ran.complaint.count("\n") == 1 and ran.complaint.startswith("records: "), ran
    assert before is None or file.read_bytes() == before


def test_advice_is_to_be_had_without_the_records(file):
    SPOILT["text"](file)
    assert run("advise", *CORNER, "--records", file, "--without-records").status == 0


def test_a_file_that_was_named_has_to_be_there(file):
    for command in (["advise", *CORNER], ["estimate", *CORNER], ["records"]):
        ran = run(*command, "--records", file)
        assert ran.status == 2 and "is not there" in ran.complaint
    assert not file.exists()


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_file_that_may_not_be_written_can_be_read(file):
    record(file)
    file.chmod(0o444)
    file.parent.chmod(0o555)
    try:
        assert len(kept(file)) == 1
        assert "may not be written" in record(file).complaint
    finally:
        file.parent.chmod(0o755)


def test_a_file_that_opens_for_reading_only(file, monkeypatch):
    record(file)
    monkeypatch.setattr(job_records.os, "access", lambda *_: False)
    assert len(kept(file)) == 1


def test_the_library_is_not_loaded_where_nothing_is_recorded(monkeypatch, tmp_path):
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "none.sqlite3"))
    code = "import sys; from advisor import cli; cli.main(sys.argv[1:]); print(*{'sqlite3', 'statistics', 'numpy'} & set(sys.modules), file=sys.stderr)"
    for _ in range(2):  # the first run checks the rules, which takes more
        ran = subprocess.run([sys.executable, "-c", code, "advise", *CORNER], cwd=HOUSE, capture_output=True, text=True)
    assert ran.returncode == 0 and ran.stderr.split() == []


# ------------------------------------------------------------------------------------------------ marks


def test_a_mark_is_kept_and_so_is_its_end(file):
    record(file)
    job_id = kept(file)[0].id
    assert run("records", "--not-typical", job_id[:4], "--why", "the power failed", "--records", file).status == 0
    (one,) = kept(file)
    assert not one.typical and one.not_typical == "the power failed"
    assert "not typical: the power failed" in run("records", "--records", file).out
    assert run("records", "--typical", job_id, "--records", file).status == 0
    (one,) = kept(file)
    assert one.typical and [mark.why for mark in one.marks] == ["the power failed", ""]


def test_a_mark_needs_a_job_and_a_reason(file):
    record(file)
    job_id = kept(file)[0].id
    for options, field in (
        (["--not-typical", job_id], "why"),
        (["--not-typical", job_id, "--why", "  "], "why"),
        (["--not-typical", "zzzz", "--why", "x"], "job"),
        (["--not-typical", "", "--why", "x"], "job"),
        (["--typical", job_id], "job"),
        (["--why", "x"], "--why"),
        (["--typical", job_id, "--export", "x.csv"], "records"),
    ):
        ran = run("records", *options, "--records", file)
        assert ran.status == 2 and ran.complaint.startswith(f"{field}: "), (options, ran)
    assert kept(file)[0].marks == ()


# ------------------------------------------------------------------------------------------------ CSV


def filled(file):
    store = job_records.Records(file)
    for one in (
        job(),
        job(note="=HYPERLINK(1)", misses=None, tooling=None),
        job(note="'quoted'", predicted_in_tolerance=1e-12),
    ):
        store.add(one)
    store.mark(kept(file)[1].id, typical=False, why="@home")
    return kept(file)


def test_export_and_import_give_the_very_same(file, tmp_path):
    before = filled(file)
    sheet = tmp_path / "jobs.csv"
    assert run("records", "--export", sheet, "--records", file).status == 0
    other = tmp_path / "other.sqlite3"
    assert "3 jobs added, 0 were there already" in run("records", "--import", sheet, "--records", other).out
    assert kept(other) == before
    assert (
        "0 jobs added, 3 were there already, 0 marks added" in run("records", "--import", sheet, "--records", other).out
    )
    assert kept(other) == before


def test_marks_from_two_places_are_joined(file, tmp_path):
    filled(file)
    sheet, other = tmp_path / "jobs.csv", tmp_path / "other.sqlite3"
    run("records", "--export", sheet, "--records", file)
    run("records", "--import", sheet, "--records", other)
    first = kept(file)[0].id
    job_records.Records(other).mark(first, typical=False, why="learner")
    run("records", "--export", sheet, "--replace", "--records", other)
    assert "3 were there already, 1 marks added" in run("records", "--import", sheet, "--records", file).out
    assert kept(file) == kept(other)


def test_no_cell_of_an_export_is_a_formula(file, tmp_path):
    filled(file)
    sheet = tmp_path / "jobs.csv"
    run("records", "--export", sheet, "--records", file)
    cells = [cell for row in csv.reader(sheet.open(encoding="utf-8", newline="")) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r"))]


@given(st.text())
def test_texts_come_back_from_a_sheet(text):
    assert spreadsheet.from_cell(spreadsheet.as_cell(text)) == text


BAD_LINES = {
    "method": ("method", "form tool", "lathe"),
    "pieces": ("pieces", "10", "ten"),
    "tooling": ("tooling", "60.0", "-3"),
    "minutes": ("minutes", "40.0", "nan"),
    "done_on": ("done_on", "2024-05-31", "May"),
    "callout": ("callout", "{}", "[]"),
    "shop": ("shop", "training-shop", " "),
    "predicted_in_tolerance": ("predicted_in_tolerance", "0.99", "1.2"),
}


@pytest.mark.parametrize("column", BAD_LINES)
def test_an_import_is_all_or_nothing_and_names_the_line(file, tmp_path, column):
    job_records.Records(file).add(job())
    sheet = tmp_path / "jobs.csv"
    job_records.export(sheet, [job(), job(note="two\nlines"), job(), job()])
    rows = list(csv.reader(sheet.open(encoding="utf-8", newline="")))
    name, good, bad = BAD_LINES[column]
    for line in (3, 4):
        assert rows[line][rows[0].index(name)] == good
        rows[line][rows[0].index(name)] = bad
    csv.writer(sheet.open("w", encoding="utf-8", newline="")).writerows(rows)
    ran = run("records", "--import", sheet, "--records", file)
    assert ran.status == 2 and len(kept(file)) == 1
    assert f"jobs.csv: line 5: {name}: " in ran.complaint  # the note of the second job takes two lines
    assert "2 lines in all cannot be used. Nothing was taken over." in ran.complaint


@pytest.mark.parametrize(
    ("content", "told"),
    [
        ("", "no column"),
        ("id,shop\n", "no column"),
        ("id,idd\n", "line 1: idd is not a column"),
        ("id,id\n", "stands twice"),
        (b"\xff\xfe\x00", "is not text in UTF-8"),
        (",".join(job_records.COLUMNS) + "\n1,2\n", "line 2: has 2 values for"),
    ],
)
def test_a_sheet_that_is_none(file, tmp_path, content, told):
    sheet = tmp_path / "jobs.csv"
    sheet.write_bytes(content if isinstance(content, bytes) else content.encode())
    ran = run("records", "--import", sheet, "--records", file)
    assert ran.status == 2 and told in ran.complaint and not file.exists()


def test_the_same_id_with_other_figures_is_refused(file, tmp_path):
    one = job()
    job_records.Records(file).add(one)
    sheet = tmp_path / "jobs.csv"
    job_records.export(sheet, [job(), dataclasses.replace(one, minutes=41.0)])
    ran = run("records", "--import", sheet, "--records", file)
    assert ran.status == 2 and "line 3: minutes: 41.0 differs from the recorded job" in ran.complaint
    assert kept(file) == (one,)


def test_one_id_twice_in_a_sheet_is_refused(file, tmp_path):
    one = job()
    sheet = tmp_path / "jobs.csv"
    job_records.export(sheet, [one, one])
    assert "line 3: id: " in run("records", "--import", sheet, "--records", file).complaint


def test_an_export_into_nowhere_leaves_nothing(file, tmp_path):
    record(file)
    assert run("records", "--export", tmp_path / "none" / "x.csv", "--records", file).status == 2
    assert run("records", "--export", tmp_path, "--records", file).status == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == [file.name]


# ------------------------------------------------------------------------------------------------ what they are worth


def test_the_weight_is_that_of_a_normal_mean_with_a_normal_prior():
    """Against the posterior integrated numerically: prior N(0, d²), jobs N(θ, s²), k = s²/d²."""
    scatter, doubt, ratios = 0.35, 0.25, [1.3, 1.5, 0.9, 1.8]
    logs = numpy.log(ratios)
    theta = numpy.linspace(-3, 3, 20001)
    density = stats.norm.pdf(theta, 0, doubt) * numpy.prod([stats.norm.pdf(y, theta, scatter) for y in logs], axis=0)
    posterior = (theta * density).sum() / density.sum()
    weight, _ = experience.shrunk(ratios=ratios, k=scatter**2 / doubt**2)
    assert weight == pytest.approx(4 / (4 + 1.96)) and weight * logs.mean() == pytest.approx(posterior, abs=1e-6)


def test_the_chance_of_a_miss_is_the_beta_binomial_mean():
    prior, q, arcs, misses = 30, 0.05, 48, 9
    posterior = stats.beta(prior * q + misses, prior * (1 - q) + arcs - misses).mean()
    _, factor = experience.spread_factor(misses=misses, arcs=arcs, expected=q * arcs, prior_arcs=prior)
    wider = stats.norm.ppf(1 - q / 2) / factor  # the limits, in the widened standard deviations
    assert 2 * stats.norm.sf(wider) == pytest.approx(posterior)


def drawn(*jobs, shop="training-shop"):
    return experience.drawn(jobs, shop=shop, constants=BASE)


def figure(found, element, method="form tool"):
    return next(f for f in found.figures if (f.method, f.element) == (method, element))


def test_jobs_as_expected_change_nothing():
    same = {"tooling": 30.0, "setup": 8.0, "minutes": 20.0}
    for count in (1, 5):
        assert all(
            f.factor == 1.0 for f in drawn(*(job(**same) for _ in range(count))).figures if f.element != "spread"
        )


@given(st.lists(st.floats(0.2, 5.0), min_size=1, max_size=12))
def test_a_figure_lies_between_the_starting_value_and_the_shops_own(ratios):
    found = figure(drawn(*(job(setup=8.0 * ratio) for ratio in ratios)), "setup")
    low, high = sorted([1.0, found.ratio])
    assert low - 1e-9 <= found.factor <= high + 1e-9 and 0 < found.weight < 1 and found.jobs == len(ratios)


def test_more_jobs_weigh_more_and_end_at_the_shops_own_mean():
    weights = [figure(drawn(*(job() for _ in range(n))), "setup").weight for n in (1, 2, 4, 8, 100)]
    assert weights == sorted(weights) and weights[0] == pytest.approx(1 / 2.96)
    chance = numpy.random.default_rng(3)
    many = [job(setup=8.0 * 1.4 * float(r)) for r in chance.lognormal(-(0.3**2) / 2, 0.3, 3000)]  # of mean 1.4
    assert figure(drawn(*many), "setup").factor == pytest.approx(1.4, rel=0.02)


def test_a_shop_that_scatters_is_believed_later():
    steady = drawn(*(job(setup=12.0) for _ in range(6)))
    wild = drawn(*(job(setup=setup) for setup in (3.0, 40.0, 8.0, 30.0, 4.0, 36.0)))
    assert figure(steady, "setup").weight > figure(wild, "setup").weight


def test_what_says_nothing_is_left_out_and_counted():
    found = drawn(
        job(tooling=0.0, setup=None),
        job(predicted_tooling=0.0),
        job(shop="elsewhere"),
        job(marks=(job_records.Mark("2024", False, "x"),)),
    )
    assert (found.jobs, found.left_out) == (2, 1)
    assert figure(found, "setup").jobs == 1 and figure(found, "piece").jobs == 2
    assert not [f for f in found.figures if f.element == "tooling"]
    assert drawn(job(shop="elsewhere")) is None


def test_misses_are_not_taken_for_slowness(file):
    record(file, minutes=60, misses=0)
    record(file, minutes=60, misses=6)
    without, with_misses = kept(file)
    assert with_misses.predicted_minutes > without.predicted_minutes


# ------------------------------------------------------------------------------------------------ what advice makes of
# them


def told(file, *more, command="advise"):
    return run(command, *CORNER, "--quantity=12", "--records", file, *more)


def slow(file, jobs=4):
    for _ in range(jobs):
        record(file, tooling=75, setup=20, minutes=66, misses=1)


def test_the_first_screen_says_that_the_choice_changed(file):
    slow(file)
    for command in ("advise", "estimate"):
        head = told(file, command=command).out[:900]
        assert "YOUR RECORDS CHANGE THE CHOICE. Without these 4 jobs it would be the form tool." in head
        plainly = told(file, "--without-records", command=command).out
        assert "FORM TOOL" in plainly[:300] and "RECORDS" not in plainly[:900]
    data = told(file, "--json").data["records"]
    assert data["changed_choice"] and data["changed_order"] and data["order_without_records"][0] == "form tool"
    assert run("advise", *CORNER, "--json").data["records"] is None


def test_the_first_screen_says_that_figures_changed(file):
    record(file, tooling=40, setup=9, minutes=25)
    assert "Figures drawn from 1 job of this shop's own records" in told(file).out[:900]
    assert "RECORDS" not in run("advise", *CORNER).out[:900].upper()


def test_the_order_of_the_others_is_told(file):
    shop = shops.read_shop("training-shop")
    fields = {"radius": "R25 ±0.5", "form": "convex", "location": "end", "diameter": "40 mm", "quantity": 1}
    callout = callouts.read_callout(fields, materials=materials.materials())
    before = advices.advise(callout, shop, executor=generated.run)
    assert len(before.order) > 2
    second = before.order[1]
    heavy = [job(method=second, setup=8.0 * 30, tooling=None, minutes=20.0 * 30) for _ in range(20)]
    after = advices.advise(callout, shop, executor=generated.run, records=heavy)
    from advisor.show import records as shown

    assert after.order_without_records == before.order and after.recommended == before.recommended
    assert shown.notice(after)[0][0].startswith("YOUR RECORDS CHANGE THE ORDER")


def test_the_engine_and_the_plain_run_take_the_same_records():
    shop, jobs = shops.read_shop("training-shop"), [job() for _ in range(3)]
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 12}
    callout = callouts.read_callout(fields, materials=materials.materials())
    one, other = (advices.advise(callout, shop, executor=executor, records=jobs) for executor in (None, generated.run))
    assert one.order == other.order
    assert {m.name: m.minutes for m in one.ranked} == {m.name: m.minutes for m in other.ranked}
    starting = advices.advise(callout, shop, executor=generated.run)
    factors = one.experience.factors
    for element in ("tooling", "setup"):
        ratio = (
            one.methods["form tool"].minutes[element]["mean"] / starting.methods["form tool"].minutes[element]["mean"]
        )
        assert ratio == pytest.approx(factors[f"form_tool_{element}_record"])
    assert one.methods["freehand"].minutes == starting.methods["freehand"].minutes
    assert one.order_without_records == starting.order


def test_misses_widen_the_spread_of_that_method_alone():
    shop = shops.read_shop("training-shop")
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 12}
    callout = callouts.read_callout(fields, materials=materials.materials())
    bad = [job(misses=5, tooling=None, setup=None, minutes=None) for _ in range(4)]
    before = advices.advise(callout, shop, executor=generated.run)
    after = advices.advise(callout, shop, executor=generated.run, records=bad)
    assert after.methods["form tool"].in_tolerance < before.methods["form tool"].in_tolerance
    assert after.methods["form tool"].holds > before.methods["form tool"].holds
    assert after.methods["pivot attachment"].in_tolerance == before.methods["pivot attachment"].in_tolerance


def test_the_estimate_shows_jobs_weights_and_the_difference(file):
    slow(file)
    out = told(file, command="estimate").out
    block = out[out.index("THE SHOP'S OWN RECORDS") :]
    found = drawn(*kept(file))
    for f in found.figures:
        assert re.search(rf"form tool +\w.* {f.jobs} .* {f.weight:.2f} +x {f.factor:.2f}", block), f
    assert "n/(n + k)" in block and "without   with records" in block
    left = told(file, "--without-records", command="estimate").out
    assert "WITH THE RECORDS THAT WERE LEFT OUT" in left
    data = told(file, "--json", command="estimate").data
    assert (
        len(data["records"]["figures"]) == 4
        and data["without_records"]["form tool"] < data["prices"]["methods"]["form tool"]["minutes"]["batch"]["mean"]
    )
    assert max(len(line) for line in (out + left).splitlines()) <= 80


@pytest.mark.parametrize("width", [80, 120])
def test_golden_screens(width, golden, monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.chdir(tmp_path)
    taken = [("bcdfghjk", 75.0, 0), ("cdfghjkm", 62.0, 1), ("dfghjkmn", 88.0, 0), ("fghjkmnp", 240.0, 9)]
    for job_id, tooling, misses in taken:
        job_records.Records("shop.sqlite3").add(job(id=job_id, tooling=tooling, minutes=66.0, misses=misses, pieces=12))
    job_records.Records("shop.sqlite3").mark("fghj", typical=False, why="a learner on a strange lathe")
    golden(SCREENS / f"records-{width}.txt", run("records", "--records", "shop.sqlite3").out)
    golden(SCREENS / f"estimate-with-records-{width}.txt", told("shop.sqlite3", command="estimate").out)
    golden(
        SCREENS / f"estimate-without-records-{width}.txt",
        told("shop.sqlite3", "--without-records", command="estimate").out,
    )


def test_a_job_that_is_not_typical_is_left_out_and_said_so(file):
    slow(file, jobs=2)
    run("records", "--not-typical", kept(file)[0].id, "--why", "learner", "--records", file)
    assert "1 job marked as not typical left out." in " ".join(told(file, command="estimate").out.split())
    run("records", "--not-typical", kept(file)[1].id, "--why", "learner", "--records", file)
    assert "none of this shop's jobs counts" in told(file).out


def test_records_of_another_shop_say_nothing_here(file):
    for _ in range(4):
        record(file, "--shop", "bench-shop", tooling=90)
    data = told(file, "--json").data
    assert data["records"] is None and data["recommended"] == "form tool"


def test_the_list_at_eighty_columns(file):
    slow(file)
    record(file, "--note", "first go", "--date", "2024-05-31", method="swung compound", tooling=None)
    out = run("records", "--records", file).out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "5 jobs in" in out and "first go" in out and out.count("form tool") == 4
    listed = run("records", "--records", file, "--json").data
    assert [one["id"] for one in listed] == [one.id for one in kept(file)]


def test_nothing_recorded_yet(monkeypatch, file):
    monkeypatch.setenv(job_records.ENVIRONMENT, str(file))
    ran = run("records")
    assert ran.status == 0 and "Nothing is recorded yet" in ran.out
    assert run("records", "--json").data == []


def test_where_records_are_kept(monkeypatch, tmp_path):
    monkeypatch.delenv(job_records.ENVIRONMENT)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if sys.platform == "linux":
        assert job_records.place() == tmp_path / "turn-radius" / "records.sqlite3"
    monkeypatch.setenv(job_records.ENVIRONMENT, "elsewhere.sqlite3")
    assert job_records.place() == Path("elsewhere.sqlite3")
    assert job_records.place("named.sqlite3") == Path("named.sqlite3")
    assert math.isfinite(len(str(job_records.place())))
