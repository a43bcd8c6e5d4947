"""The same question gives the same bytes: from run to run, with other hash seeds, time zones and locales, at another moment."""

import os
import subprocess
import sys

import pytest
from test_faults import ROOT

CASE = "cases/knob-corner.toml"
LIST = "radius,form,location,diameter,own\nR6 ±0.1,convex,corner,40 mm,1.50\nR3,concave,corner,25 mm,ä\n"
SCRIPT = """
import datetime, os, sys, time
sys.path.insert(0, {root!r})
out, later = sys.argv[1], float(sys.argv[2])
now = time.time
time.time = lambda: now() + later
from advisor import cli
def run(*arguments):
    try:
        cli.main(list(arguments))
    except SystemExit:
        pass
for name in ("advise", "advise --json", "estimate --csv"):
    with open(os.path.join(out, name.replace(" ", "")), "w") as sys.stdout:
        run(*name.split()[:1], {case!r}, *name.split()[1:])
        sys.stdout.flush()
sys.stdout = open(os.devnull, "w")
run("profile", {case!r}, "-o", os.path.join(out, "edge.dxf"))
for ending in ("svg", "pdf"):
    run("why", {case!r}, "--picture", "-o", os.path.join(out, "why." + ending))
for ending in ("html", "pdf"):
    os.environ["TURN_RADIUS_RECORDS"] = os.path.join(out, "records-" + ending)
    run("sheet", {case!r}, "-o", os.path.join(out, "sheet." + ending))
    os.unlink(os.environ["TURN_RADIUS_RECORDS"])
for ending in ("csv", "xlsx", "parquet"):
    run("batch", os.path.join(out, "list.csv"), "-o", os.path.join(out, "priced." + ending))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="time zones by variable")
def test_fault_28_same_in_same_out(tmp_path):
    surroundings = {
        "one": {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8"},
        "other": {"PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "LC_ALL": "POSIX", "PYTHONUTF8": "1"},
    }
    started = []
    for name, more in surroundings.items():
        (tmp_path / name).mkdir()
        (tmp_path / name / "list.csv").write_text(LIST, encoding="utf-8")
        code = SCRIPT.format(root=str(ROOT), case=CASE)
        later = "0" if name == "one" else "3700"
        command = [sys.executable, "-c", code, str(tmp_path / name), later]
        started.append(subprocess.Popen(command, cwd=ROOT, env=os.environ | more, stderr=subprocess.PIPE))
    for process in started:
        assert process.communicate(timeout=120)[1] == b"" or process.returncode == 0
    made = {name: {file.name: file.read_bytes() for file in (tmp_path / name).iterdir()} for name in surroundings}
    assert {"advise", "advise--json", "edge.dxf", "why.pdf", "sheet.pdf", "priced.xlsx"} <= set(made["one"])
    assert set(made["one"]) == set(made["other"])
    unlike = [name for name, content in made["one"].items() if content != made["other"][name] or not content]
    assert not unlike
