"""Kills and faults at every call that writes: nothing acknowledged is lost, nothing doubled, nothing half written.

Some places, the same every time; all of them, and 10,000 more of new ones, with TURN_RADIUS_LONG=1 (`make thorough`).
"""

import os
import secrets
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from often import often

TOOLS = Path(__file__).parent.parent / "tools"
ROOT = TOOLS.parent.parent
COMPILER = shutil.which("cc")


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    built = tmp_path_factory.mktemp("library") / "faulty_calls.so"
    source = TOOLS / "faulty_calls.c"
    made = subprocess.run([COMPILER, "-shared", "-fPIC", "-w", "-o", built, source, "-ldl"], capture_output=True)
    if made.returncode:
        pytest.skip("the compiler makes no library")
    return str(built)


def struck(library, folder, runs, seed):
    """What the tool tells of so many runs: status and lines."""
    tool = [sys.executable, str(TOOLS / "crash_points.py"), library, str(folder), str(runs), str(seed)]
    environment = os.environ | {"LD_PRELOAD": library, "PYTHONPATH": str(ROOT)}
    ran = subprocess.run(tool, env=environment, capture_output=True, text=True)
    assert not ran.stderr, ran.stderr
    return ran.returncode, ran.stdout.splitlines()


pytestmark = pytest.mark.skipif(sys.platform != "linux" or not COMPILER, reason="a library laid before that of Linux")


def test_a_strike_at_any_call_that_writes_loses_doubles_and_halves_nothing(library, tmp_path):
    for runs in often((60,), (0, 10_000)):
        status, told = struck(library, tmp_path / "work", runs, often(1, secrets.randbelow(10**9)))
        assert status == 0, "\n".join(told)
        assert int(told[0].rpartition(" ")[2]) >= (runs or 300)
        print(told[0])


def test_what_a_strike_breaks_is_found(library, tmp_path):
    """The tool itself: without a transaction of its own an import is halved by some strike."""
    broken = tmp_path / "tool"
    broken.mkdir()
    shutil.copy(TOOLS / "crash_points.py", broken)
    text = (broken / "crash_points.py").read_text()
    careless = "for one in self.new:\n                job_records.Records(self.file).add(one)"
    text = text.replace('job_records.Records(self.file).merge([("", one) for one in self.new])', careless)
    assert careless in text
    (broken / "crash_points.py").write_text(
        text.replace("KINDS = {", 'KINDS = {"import": lambda rng, folder: Recording(rng, folder, new=20)}\n_ = {')
    )
    tool = [sys.executable, str(broken / "crash_points.py"), library, str(tmp_path / "work"), "12", "5"]
    ran = subprocess.run(
        tool, env=os.environ | {"LD_PRELOAD": library, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True
    )
    assert ran.returncode == 1 and "jobs where 3 or 23 were written" in ran.stdout
