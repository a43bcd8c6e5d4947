"""Files of strangers: every command opens them by one door, which waits for no pipe and has an end."""

import os
import resource
import sys
import threading
import zipfile

import pytest
from often import LONG
from test_faults import run

from advisor.ground import strangers

K = "cases/knob-corner.toml"
READ = {
    "advise --shop": lambda path: ["advise", K, "--shop", path],
    "advise": lambda path: ["advise", path],
    "check": lambda path: ["check", path],
    "batch": lambda path: ["batch", path],
    "batch --columns": lambda path: ["batch", "list.csv", "--columns", path],
    "records --import": lambda path: ["records", "--import", path],
    "records": lambda path: ["records", "--records", path],
    "records --verify": lambda path: ["records", "--verify", "--records", path],
    "records --rescue": lambda path: ["records", "--rescue", "saved.sqlite3", "--records", path],
    "practise --score": lambda path: ["practise", "--score", path],
}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("radius,form,location,diameter\nR6,convex,corner,40 mm\n")
    return tmp_path


@pytest.mark.skipif(sys.platform == "win32", reason="pipes and devices")
@pytest.mark.parametrize("how", READ.values(), ids=READ)
def test_no_command_waits_for_a_pipe_or_reads_without_end(folder, how):
    names = ["pipe.toml", "zero.toml"]
    if how("x")[0] == "batch" and len(how("x")) == 2:
        names = ["pipe.csv", "zero.csv", "zero.xlsx", "zero.parquet", "zero.ods"]
    for name in names:
        if name.startswith("pipe"):
            os.mkfifo(folder / name)
        else:
            os.symlink("/dev/zero", folder / name)
        ended = []
        thread = threading.Thread(target=lambda n=name: ended.append(run(*how(str(folder / n)))), daemon=True)
        thread.start()
        thread.join(20)
        assert ended and ended[0].status == 2, (name, ended)
        assert "fault in the program" not in ended[0].complaint and not (folder / "saved.sqlite3").exists()


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (lambda path: None, "is not there"),
        (lambda path: path.mkdir(), "is a folder"),
        (lambda path: path.write_bytes(b"x" * 1_000_001), "is larger than 1 MB"),
        (lambda path: path.write_bytes(b"\xff\xfe"), "is not text in UTF-8"),
    ],
)
def test_what_the_door_refuses(tmp_path, made, told):
    made(tmp_path / "file")
    with pytest.raises(strangers.Unreadable, match=told):
        strangers.text(tmp_path / "file")


def test_a_mark_at_the_start_is_no_part_of_the_text(tmp_path):
    (tmp_path / "file").write_bytes(b"\xef\xbb\xbfa = 1")
    assert strangers.text(tmp_path / "file") == "a = 1"


def test_a_pipe_among_the_rules(tmp_path):
    (tmp_path / "vocabulary.toml").write_text("")
    os.mkfifo(tmp_path / "rules.toml")
    assert run("check", tmp_path).status == 2


BOMBS = {
    "fields.csv": lambda: "radius,form,location,diameter\n" + "," * 400_000 + "\n",
    "heading.csv": lambda: ",".join(f"c{n}" for n in range(400_000)) + "\n",
    "wide.csv": lambda: ",".join(["radius", "form", "location", "diameter", *(f"c{n}" for n in range(3_000))]) + "\n",
    "quote.csv": lambda: 'radius,form,location,diameter\n"' + "x,\n" * 1_000_000,
    "dots.toml": lambda: "[callout]\n" + ".".join(["a"] * 60_000) + " = 1\n",
    "nested.toml": lambda: "a = " + "[" * 100_000 + "]" * 100_000,
    "tables.toml": lambda: "[[gauges.set]]\nleaves = ['1 mm']\n" * 8_000,
    "lathes.toml": lambda: "[[lathe]]\nname = 'x'\n" * 9_000,
    "keys.toml": lambda: "[callout]\n" + "".join(f"k{n} = 1\n" for n in range(60_000)),
}


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process")
@pytest.mark.parametrize("name", BOMBS)
def test_fault_9_a_bomb_takes_ten_seconds_and_a_gigabyte_at_most(tmp_path, name):
    import subprocess

    (tmp_path / name).write_text(BOMBS[name]())

    def limits():
        resource.setrlimit(resource.RLIMIT_CPU, (10, 10))
        resource.setrlimit(
            resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000)
        )  # addresses, of which libraries take many

    both = [["check"], ["batch"]]
    commands = both[:1] if name.endswith("toml") else both if LONG else [both[list(BOMBS).index(name) % 2]]
    for command in commands:
        ran = subprocess.run(
            [sys.executable, "-m", "advisor.cli", *command, tmp_path / name],
            preexec_fn=limits, capture_output=True, text=True, timeout=120,
        )  # fmt: skip
        assert ran.returncode in (0, 1, 2) and "Traceback" not in ran.stderr, (
            ran.returncode,
            ran.stderr[-300:],
        )
        assert "fault in the program" not in ran.stderr, ran.stderr


@pytest.mark.parametrize("way", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_a_workbook_whose_stream_does_not_unpack_is_one_error(way, ending, tmp_path):
    path = tmp_path / f"list.{ending}"
    with zipfile.ZipFile(path, "w", way) as packed:
        packed.writestr("content.xml", "<a>" + "radius " * 400 + "</a>")
    content = bytearray(path.read_bytes())
    start = 30 + len("content.xml")  # the local header of a ZIP archive, then the stream
    content[start + 2 : start + 40] = bytes(b ^ 0x5A for b in content[start + 2 : start + 40])
    path.write_bytes(content)
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    assert ran.status == 2 and len(ran.complaint.splitlines()) == 1 and "list." in ran.complaint, ran.complaint
