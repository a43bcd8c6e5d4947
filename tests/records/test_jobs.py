"""Jobs that are kept by a short number: what a sheet prints, and what record, correct, sheet, why and advise take."""

import hashlib
import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from command import CASE, CORNER, run

from advisor.records import job_records

GIVEN = ("--form", "convex", "--location", "corner", "--diameter", "40 mm")


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A file of records of its own, in a folder with a case."""
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "records.sqlite3"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "knob.toml").write_text(CASE, encoding="utf-8")
    return tmp_path / "records.sqlite3"


def fingerprint(folder):
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def test_a_sheet_gives_the_job_a_number_and_prints_it(place):
    ran = run("sheet", "knob.toml", "-o", "knob.html")
    assert ran.status == 0 and ran.out.endswith("Job 1.\n")
    page = (place.parent / "knob.html").read_text(encoding="utf-8")
    assert page.count('<code class="record">turn-radius record 1 --') == 1  # typed minutes go into this line
    assert "turn-radius record 1 --" in page and "turn-radius correct 1 --light __" in page and "Job 1." in page


def test_the_same_sheet_again_keeps_its_number_and_another_gets_the_next(place):
    methods = run("advise", "--case=knob.toml", "--json").data["methods"]
    other = next(name for name, method in methods.items() if method["standing"] == "usable")
    for number, more in ((1, []), (1, []), (2, ["--quantity=3"]), (3, [f"--method={other}"]), (1, [])):
        ran = run("sheet", "knob.toml", "-o", "knob.html", "--replace", *more)
        assert ran.out.endswith(f"Job {number}.\n"), ran.complaint
    assert [job.method for job in job_records.kept_in(place)][2] == other


def test_a_number_is_taken_for_the_whole_job(place):
    told = run("advise", *CORNER, "--quantity=7", "--keep", "--json").data
    assert told["job"] == 1
    again = run("advise", "1", "--json").data
    assert again["callout"] == told["callout"] and again["methods"] == told["methods"]
    assert run("advise", "1", "--quantity=2", "--json").data["callout"]["quantity"] == 2
    assert run("why", "1").out == run("why", *CORNER, "--quantity=7").out
    assert run("sheet", "1", "-o", "again.html").status == 0
    assert run("correct", "1", "--light=middle", "--json").data["method"] == told["recommended"]
    assert "7 off" in run("estimate", "1").out


def test_recorded_by_its_number(place):
    method = run("advise", *CORNER, "--quantity=7", "--keep", "--json").data["recommended"]
    assert run("record", "1", "--minutes=60").status == 0
    (job,) = job_records.jobs_in(place)
    assert (job.method, job.pieces, job.radius, job.minutes) == (method, 7, "R6 ±0.1", 60.0)
    assert run("record", "1", "--method=form tool", "--pieces=2", "--setup=20").status == 0
    assert {(job.method, job.pieces) for job in job_records.jobs_in(place)} == {(method, 7), ("form tool", 2)}


def test_a_bare_number_with_its_shape_is_a_radius(place):
    assert run("advise", "17", *GIVEN, "--json").data["callout"]["radius_mm"] == 17.0
    ran = run("advise", "17")
    assert ran.status == 2 and "17 is the number of no job that was kept here" in ran.complaint
    assert "form, location and diameter" in ran.complaint and not place.exists()


def test_reading_never_writes(place):
    assert run("records", "--kept").out.startswith("No job is kept yet")
    assert not place.exists()
    run("advise", *CORNER, "--keep")
    before = fingerprint(place.parent)
    for command in (
        ["advise", "1"],
        ["why", "1"],
        ["correct", "1", "--light=none"],
        ["estimate", "1"],
        ["records", "--kept"],
        ["advise", "9"],
    ):
        run(*command)
    assert fingerprint(place.parent) == before


def test_a_file_of_an_older_program_is_read_and_then_kept_in(place):
    import sqlite3

    connection = sqlite3.connect(place)
    for statements in job_records.MIGRATIONS[:2]:
        for statement in statements:
            connection.execute(statement)
    connection.execute(f"PRAGMA application_id = {job_records.APPLICATION}")
    connection.execute("PRAGMA user_version = 2")
    connection.commit()
    connection.close()
    assert job_records.kept_in(place) == ()
    assert run("advise", *CORNER, "--keep").out.endswith("Job 1.\n")
    assert [job.number for job in job_records.kept_in(place)] == [1]


def kept(n):
    return job_records.Kept(0, job_records.now(), "shop", "freehand", json.dumps({"radius": f"R{n}"}), f"R{n}", "test")


def test_two_at_once_never_get_one_number(place):
    with ThreadPoolExecutor(8) as pool:
        numbers = list(pool.map(lambda n: job_records.Records(place, wait=60).keep(kept(n)), range(1, 41)))
    assert sorted(numbers) == list(range(1, 41))
    assert {job.number: job.radius for job in job_records.kept_in(place)} == {
        number: f"R{n}" for n, number in zip(range(1, 41), numbers, strict=True)
    }


def test_two_programs_at_once_never_get_one_number(place):
    script = (
        "import sys; from advisor.records import job_records; import json\n"
        "for n in range(12):\n"
        "    job = job_records.Kept(0, job_records.now(), 's', 'freehand', json.dumps([sys.argv[2], n]), 'R1', 'test')\n"
        "    print(job_records.Records(sys.argv[1], wait=60).keep(job))\n"
    )
    started = [
        subprocess.Popen([sys.executable, "-c", script, str(place), name], stdout=subprocess.PIPE, text=True)
        for name in ("a", "b", "c")
    ]
    numbers = [int(line) for one in started for line in one.communicate()[0].split()]
    assert sorted(numbers) == list(range(1, 37))


def test_a_sheet_is_made_where_no_number_can_be_kept(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("TURN_RADIUS_RECORDS", str(tmp_path / "file" / "records.sqlite3"))
    ran = run("sheet", *CORNER, "-o", "page.html", "--without-records")
    assert ran.status == 0 and "No job number" in ran.complaint and "Job" not in ran.out
    assert "turn-radius record" in (tmp_path / "page.html").read_text(encoding="utf-8")


def test_a_shop_of_a_file_is_found_from_anywhere(place, monkeypatch, tmp_path_factory):
    (place.parent / "mine.toml").write_text('like = "training-shop"\nname = "mine"\n', encoding="utf-8")
    shop = run("advise", *CORNER, "--shop=mine.toml", "--keep")
    if shop.status == 2:
        pytest.skip(shop.complaint)  # a shop of its own needs more here
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert run("advise", "1", "--json").data["callout"]["shop"] == "mine"


# ---- figures that cannot be


@pytest.mark.parametrize(
    "figure, words", [(["--setup=900"], "times the"), (["--minutes=9000"], "times the"), (["--minutes=0.5"], "less than a tenth")]
)  # fmt: skip
def test_a_figure_ten_times_off_is_questioned(place, figure, words):
    case = [*CORNER, "--quantity=12", "--method=form tool"]
    ran = run("record", *case, *figure)
    assert ran.status == 2 and words in ran.complaint and "--yes" in ran.complaint and not place.exists()
    assert run("record", *case, *figure, "--yes").status == 0
    assert len(job_records.jobs_in(place)) == 1


def test_a_tool_that_lay_ready_is_not_questioned(place):
    assert run("record", *CORNER, "--method=form tool", "--tooling=0", "--setup=15").status == 0


@pytest.mark.parametrize("answer, stored", [("y\n", 1), ("n\n", 0), ("", 0)])
def test_whoever_sits_there_is_asked(place, monkeypatch, answer, stored):
    class Terminal:
        def isatty(self):
            return True

        def readline(self):
            return answer

    monkeypatch.setattr(sys, "stdin", Terminal())
    ran = run("record", *CORNER, "--method=form tool", "--setup=900")
    assert "Is it right?" in ran.out and len(job_records.jobs_in(place)) == stored
    assert ran.status == (0 if stored else 2)


def test_what_is_kept_is_listed(place):
    run("advise", *CORNER, "--keep")
    told = run("records", "--kept").out
    assert "1 job kept" in told and "R6 ±0.1" in told
    (one,) = run("records", "--kept", "--json").data
    assert one["number"] == 1 and one["fields"]["diameter"] == "40 mm"


def test_a_damaged_job_is_one_message(place):
    import sqlite3

    run("advise", *CORNER, "--keep")
    connection = sqlite3.connect(place)
    connection.execute("UPDATE kept SET fields = '[1'")
    connection.commit()
    connection.close()
    ran = run("advise", "1")
    assert ran.status == 2 and "is damaged: not as they were written are the kept 1" in ran.complaint


def test_whoever_is_asked_may_go_on_from_a_kept_job(place):
    run("advise", *CORNER, "--keep")
    assert run("ask", "1", "--json").status == run("ask", *CORNER, "--json").status
