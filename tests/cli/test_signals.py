"""Every command that writes: stopped by a signal it leaves no half file and no process behind, and it never writes over
what it reads."""

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from often import LONG, often
from test_faults import COMMAND, run

from advisor.records import job_records, safekeeping

ROOT = Path(__file__).parent.parent.parent
LIST = "radius,form,location,diameter\n" + "R6 ±0.1,convex,corner,40 mm\n" * 40_000
# A command that writes, with the ending of what it writes; {in} is what it reads and {out} what it writes.
WRITES = {
    "batch": (["batch", "list.csv", "-o", "{out}.csv"], "list.csv"),
    "batch to XLSX": (["batch", "list.csv", "-o", "{out}.xlsx"], "list.csv"),
    "batch --keep": (["batch", "list.csv", "-o", "other.csv", "--keep", "{out}.toml"], None),
    "quote": (["quote", "few.csv", "-o", "{out}.xlsx"], None),
    "sheet": (["sheet", "case.toml", "-o", "{out}.pdf"], None),
    "profile": (["profile", "case.toml", "-o", "{out}.dxf"], None),
    "map": (["map", "case.toml", "-o", "{out}.svg"], None),
    "why --picture": (["why", "case.toml", "--picture", "-o", "{out}.svg"], None),
    "records --export": (["records", "--records", "records.sqlite3", "--export", "{out}.csv"], None),
}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("list.csv").write_text(LIST, encoding="utf-8")
    Path("few.csv").write_text(LIST[:200].rpartition("\n")[0], encoding="utf-8")
    shutil.copy(ROOT / "cases" / "knob-corner.toml", "case.toml")
    shutil.copy(ROOT / "cases" / "shops" / "training-shop.toml", "shop.toml")
    done = run(
        "record", "case.toml", "--method", "freehand", "--minutes", "90", "--records", "records.sqlite3", "--yes"
    )
    assert done.status == 0, done
    return tmp_path


def mine(pid):
    """Processes that a process started."""
    return Path(f"/proc/{pid}/task/{pid}/children").read_text().split()


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")
@pytest.mark.parametrize("name", ["SIGHUP", "SIGTERM", "SIGINT"])
@pytest.mark.parametrize("command", ["batch", "batch to XLSX"])
def test_a_signal_in_mid_write_leaves_no_half_file_and_nobody_behind(folder, command, name):
    if (command, name) != ("batch", "SIGHUP") and not LONG:
        pytest.skip("the others with TURN_RADIUS_LONG=1: they take half a minute")
    arguments = [part.format(out="written") for part in WRITES[command][0]]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    started = subprocess.Popen(
        [*COMMAND, *arguments], env=environment, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
    )
    beside = []
    while started.poll() is None and not beside:
        beside = [path for path in folder.iterdir() if path.name.startswith(".") and path.stat().st_size]
        time.sleep(0.005)
    others = mine(started.pid) if started.poll() is None else []
    number = getattr(signal, name)
    started.send_signal(number)
    status = started.wait(30)
    assert status in (128 + number, -number) or (folder / arguments[-1]).exists()
    written = list(folder.glob("written*"))
    assert not written or status == 0
    deadline = time.monotonic() + 10
    while any(Path(f"/proc/{one}").exists() and "Z" not in state(one) for one in others):
        assert time.monotonic() < deadline, others
        time.sleep(0.02)


def state(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return "Z"


@pytest.mark.skipif(sys.platform == "win32", reason="links")
@pytest.mark.parametrize("command", WRITES)
def test_no_output_is_an_input(folder, command):
    """Each of the files that stand here, under a name with the right ending that leads to it."""
    arguments, _ = WRITES[command]
    ending = next(part for part in arguments if part.startswith("{out}")).removeprefix("{out}")
    for read in ("list.csv", "few.csv", "case.toml", "records.sqlite3", "shop.toml"):
        own = [*arguments, "--records", "records.sqlite3"] if "--records" not in arguments else arguments
        own = own if command != "profile" else arguments
        own = [*own, "--shop", "shop.toml"] if not command.startswith("records") else own
        if read not in own:
            continue
        before = Path(read).read_bytes()
        Path(f"link{ending}").unlink(missing_ok=True)
        Path(f"link{ending}").symlink_to(read)
        done = run(*[part.format(out="link") for part in own], "--replace")
        assert done.status == 2 and "itself" in done.complaint, (read, done)
        assert Path(read).read_bytes() == before


# ---- every command that writes or takes long, at some moment

STARTED = "import os, sys; from advisor.cli import main; os.write(int(sys.argv.pop(1)), b'.'); sys.exit(main())"
MOMENTS = often(1, 12)
STOPS = {"SIGTERM": 143, "SIGINT": 130, "SIGHUP": 129}  # by which signal, and the exit status then
# What is run: arguments, the file that it writes ("" where none), and seconds in which some moment is taken.
TAKES_LONG = {
    "quote": (["quote", "some.csv", "-o", "written.xlsx"], "written.xlsx", 2.0),
    "map": (["map", "case.toml", "-o", "written.svg"], "written.svg", 2.0),
    "record": (["record", "case.toml", "--method", "freehand", "--minutes", "80", "--yes"], "", 0.5),
    "records --import": (["records", "--import", "jobs.csv"], "", 0.6),
    "sheet": (["sheet", "case.toml", "-o", "written.pdf"], "written.pdf", 1.5),
    "shop new": (["shop", "new", "written.toml", "--units", "mm"], "written.toml", 0.3),
    "page": (["page", "--port", "0", "--no-browser"], "", 1.5),
    "check --prove": (["check", "--prove", "--sample", "5000"], "", 3.0),
    "practise": (["practise", "--count", "3", "--seed", "1", "--score", "score.json"], "", 1.0),
}
WAITS = ("page", "practise")  # for somebody, until it is stopped
SLOW = ("map", "check --prove", "sheet")  # to the end


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """A folder with what the commands read, and what they write when nobody stops them, by name of the command."""
    folder = tmp_path_factory.mktemp("whole")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("TURN_RADIUS_RECORDS", str(folder / "records.sqlite3"))
        Path("some.csv").write_text("".join(LIST.splitlines(keepends=True)[:80]), encoding="utf-8")
        shutil.copy(ROOT / "cases" / "knob-corner.toml", "case.toml")
        assert run("record", "case.toml", "--method", "freehand", "--minutes", "90", "--yes").status == 0
        assert run("records", "--export", "jobs.csv").status == 0
        head, line = Path("jobs.csv").read_text(encoding="utf-8").splitlines()
        own = line.partition(",")[2]
        letters = "bcdfghjk"
        ids = [f"zz{a}{b}{c}zzz" for a in letters for b in letters for c in letters]
        Path("jobs.csv").write_text("\n".join([head, *(f"{one},{own}" for one in ids)]) + "\n", encoding="utf-8")
        given = {path.name: path.read_bytes() for path in folder.iterdir()}
        made = {}
        for command, (arguments, written, _) in TAKES_LONG.items():
            if written and (LONG or command not in SLOW):
                assert run(*arguments).status in (0, 1)
                made[command] = Path(written).read_bytes()
    return given, made


def started(arguments, folder, mark, **options):
    """The program in a process of its own, once it has come to its first line -> process."""
    here, there = os.pipe()
    (folder / "aside").mkdir()
    own = {
        "PYTHONPATH": str(ROOT),
        "TURN_RADIUS_RECORDS": str(folder / "records.sqlite3"),
        "TMPDIR": str(folder / "aside"),
    }
    process = subprocess.Popen(
        [sys.executable, "-c", STARTED, str(there), *arguments],
        env=os.environ | own | {"TURN_RADIUS_MARK": mark}, cwd=folder, pass_fds=[there], stdin=subprocess.PIPE,
        stderr=subprocess.PIPE, **options,
    )  # fmt: skip
    os.close(there)
    with open(here, "rb") as told:
        told.read(1)
    return process


def stopped(process, number):
    """Send a signal, again where it was lost, until the program has ended -> what it complained of."""
    for _ in range(12):
        process.send_signal(number)
        try:
            return process.communicate(timeout=10)[1]
        except subprocess.TimeoutExpired:
            pass
    process.kill()
    raise AssertionError(f"{process.args} does not end")


def of_mark(mark):
    """Processes that a run with this mark has left."""
    found = []
    for path in Path("/proc").glob("[0-9]*/environ"):
        try:
            if f"TURN_RADIUS_MARK={mark}\0".encode() in path.read_bytes() and state(path.parent.name) != "Z":
                found.append(path.parent.name)
        except OSError:
            pass
    return found


def nothing_is_left(folder, given, command, complaint, mark, made):
    """Nobody is left, no half file, no file aside; what was read is as it was."""
    # A signal in the middle of a callback of the interpreter is told by itself, and lost.
    told = b"Traceback" in complaint and not complaint.startswith(b"Exception ignored in")
    assert not told and b"fault in the program" not in complaint, complaint
    deadline = time.monotonic() + 10
    while left := of_mark(mark):
        assert time.monotonic() < deadline, left
        time.sleep(0.02)
    assert not list((folder / "aside").iterdir())
    written = TAKES_LONG[command][1]
    names = {path.name for path in folder.iterdir()} - {"aside"}
    assert names - given.keys() <= {written, "score.json"} - {""}
    for name, content in given.items():
        assert name == "records.sqlite3" or (folder / name).read_bytes() == content
    if written in names and command in made:
        assert (folder / written).read_bytes() == made[command]
    if "score.json" in names:
        json.loads((folder / "score.json").read_bytes())
    kept = folder / "records.sqlite3"
    assert not safekeeping.verify(kept).wrong
    jobs = len(job_records.Records(kept).jobs())
    assert jobs in {"record": (1, 2), "records --import": (1, 513)}.get(command, (1,))
    return jobs


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")
@pytest.mark.parametrize("name", STOPS)
@pytest.mark.parametrize("command", TAKES_LONG)
def test_stopped_at_some_moment_it_leaves_nothing_half_done(whole, command, name, tmp_path):
    given, made = whole
    if not LONG and list(STOPS)[list(TAKES_LONG).index(command) % len(STOPS)] != name:
        pytest.skip("the other signals with TURN_RADIUS_LONG=1")
    for number in range(MOMENTS):
        moment = random.Random() if LONG else random.Random(f"{command} {name}")
        wait = 0.1 + moment.random() * TAKES_LONG[command][2]
        folder, mark = tmp_path / str(number), f"{os.getpid()}-{command}-{name}-{number}"
        folder.mkdir()
        for file, content in given.items():
            (folder / file).write_bytes(content)
        process = started(TAKES_LONG[command][0], folder, mark, stdout=subprocess.DEVNULL)
        time.sleep(wait)
        complaint = stopped(process, getattr(signal, name))
        # Where its work was done, or not begun, the signal ends it in the system's own way.
        allowed = {STOPS[name], -getattr(signal, name), 0, 1}
        if command in WAITS and (command, name) != ("practise", "SIGINT"):
            allowed -= {0, 1}
        assert process.returncode in allowed, (wait, process.returncode, complaint)
        nothing_is_left(folder, given, command, complaint, mark, made)


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")
@pytest.mark.parametrize("command", TAKES_LONG)
def test_where_nobody_reads_on_the_work_is_done_all_the_same(whole, command, tmp_path):
    if command in SLOW and not LONG:
        pytest.skip("with TURN_RADIUS_LONG=1: it takes seconds to its end")
    given, made = whole
    for file, content in given.items():
        (tmp_path / file).write_bytes(content)
    reads, writes = os.pipe()
    os.close(reads)
    mark = f"{os.getpid()}-{command}-pipe"
    process = started(TAKES_LONG[command][0], tmp_path, mark, stdout=writes)
    os.close(writes)
    if command in WAITS:
        time.sleep(1.5)
        process.stdin.close()
        process.stdin = None
        if command == "page":
            process.send_signal(signal.SIGTERM)
    _, complaint = process.communicate(timeout=120)
    wrong = (2,) if command == "check --prove" else ()  # over so few callouts some rules never fire
    assert process.returncode in ((143,) if command == "page" else (0, 1, *wrong)), complaint
    jobs = nothing_is_left(tmp_path, given, command, complaint, mark, made)
    assert not TAKES_LONG[command][1] or (tmp_path / TAKES_LONG[command][1]).exists()
    assert jobs == {"record": 2, "records --import": 513}.get(command, 1)
