"""Every command that writes: stopped by a signal it leaves no half file and no process behind, and it never writes over
what it reads."""

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from often import LONG
from test_faults import COMMAND, run

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
    started.send_signal(getattr(signal, name))
    status = started.wait(30)
    assert (
        status in (130, -signal.SIGTERM, -signal.SIGHUP, -signal.SIGINT) or (folder / WRITES[command][0][-1]).exists()
    )
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
