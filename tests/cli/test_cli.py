"""The command line as a program: exit status, output streams, options, closed pipes and full disks."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from command import CASE, CORNER, advise, run

from advisor.commands.on_a_callout import OPTIONS

ROOT = Path(__file__).parent.parent.parent


def process(*words, **options):
    """`turn-radius` as a process of its own."""
    keywords = {"capture_output": True, "text": True, "encoding": "utf-8", "cwd": ROOT} | options
    return subprocess.run([sys.executable, "-m", "advisor.cli", *words], timeout=60, **keywords)


# ---- status and streams


def test_advice_is_status_0_on_the_output():
    ran = run("advise", *CORNER)
    assert ran.status == 0 and not ran.complaint
    assert "R6" in ran.out


def test_no_method_is_status_1_and_says_why():
    ran = advise(radius="R6 ±0.0001")
    assert ran.status == 1 and not ran.complaint
    assert "no method stands" in ran.out.lower()


def test_no_method_as_json():
    ran = advise("--json", radius="R6 ±0.0001")
    assert ran.status == 1
    assert ran.data["recommended"] is None
    assert {m["standing"] for m in ran.data["methods"].values()} == {"ruled out"}
    assert all(m["rank"] is None for m in ran.data["methods"].values())


def test_bad_input_is_status_2_on_the_error_output():
    ran = advise(diameter="40 kg")
    assert ran.status == 2 and not ran.out
    assert ran.complaint.startswith("diameter: 40 kg is a mass, not a length.")
    assert ran.complaint.count("\n") == 1


def test_bad_input_as_json_has_four_fields():
    ran = advise("--json", diameter="40 kg")
    assert ran.status == 2 and not ran.complaint
    assert ran.data.keys() == {"error", "errors"}
    error = ran.data["error"]
    assert ran.data["errors"] == [error]
    assert error["field"] == "diameter" and error["value"] == "40 kg"
    assert error["problem"] == "is a mass, not a length" and error["fix"]


@pytest.mark.parametrize("words", [("--help",), ("advise", "--help")])
def test_help(words):
    ran = run(*words)
    assert ran.status == 0 and "turn-radius" in ran.out and not ran.complaint


def test_the_process_has_the_status_and_nothing_but_json():
    ran = process("advise", *CORNER, "--json")
    assert ran.returncode == 0 and not ran.stderr
    assert json.loads(ran.stdout)["recommended"]
    assert process("advise", *CORNER[:-1], "40 kg").returncode == 2


# ---- options


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "command: is missing. Give one of advise"),
        (("advize",), 'command: advize is not a command. Did you mean "advise"?'),
        (("advise", "R6", "--diametre", "40"), '--diametre: is not an option of advise. Did you mean "--diameter"?'),
        (("advise", "R6", "--diam=40"), '--diam: is not an option of advise. Did you mean "--diameter"?'),
        (("advise", "R6", "--zzz"), "--zzz: is not an option of advise. See turn-radius advise --help."),
        (("advise", "R6", "-form", "convex"), '-form: is not an option of advise. Did you mean "--form"?'),
        (("advise", "R6", "—form", "convex"), '—form: is not an option of advise. Did you mean "--form"?'),
        (
            ("--case", "x", "advise"),
            "--case: stands before the command. Write the command first, such as turn-radius advise.",
        ),
        (("advise", "R6", "±0.1"), "command line: ±0.1 is one word too many. Put quotes round what has spaces"),
        (("advise", "-R6"), "command line: -R6 begins with a minus. Write the radius as on the drawing"),
        (("advise", "R6", "--form"), "--form: has no value. Write one after it: convex or concave."),
        (("advise", "R6", "--json=yes"), "--json: yes is more than this option takes. Write --json alone."),
        (
            ("advise", "R6", "--form", "convex", "--form", "concave"),
            "--form: concave is given a second time, after convex. Give it once.",
        ),
    ],
)
def test_the_command_line_complains_in_our_words(words, says):
    ran = run(*words)
    assert ran.status == 2 and not ran.out
    assert ran.complaint.startswith(says)
    assert ran.complaint.count("\n") == 1


def test_a_value_may_begin_with_a_minus():
    assert run("advise", *CORNER, "--bore", "-5 mm").complaint.startswith("bore: -5 mm is less than 0 mm")


def test_every_option_is_a_name_of_a_case_file_and_the_other_way_round():
    from advisor.asked.callout import KEYS

    options = {name.replace("-", "_") for names in OPTIONS.values() for name in names}
    assert options | {"radius"} == set(KEYS)


def test_options_stand_anywhere():
    assert run("advise", *CORNER[1:], CORNER[0]).out == run("advise", *CORNER).out


# ---- cases


@pytest.fixture
def case(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(CASE, encoding="utf-8")
    return path


def test_a_case_file_is_the_same_as_its_options(case):
    assert run("advise", "--case", case).out == run("advise", *CORNER, "--quantity", "12").out


def test_options_override_a_case_file(case):
    ran = run("advise", "--case", case, "--quantity", "3", "--json")
    assert ran.data["callout"]["quantity"] == 3


def test_an_error_in_a_case_file_names_the_file(case):
    case.write_text(CASE.replace("40 mm", "40 kg"), encoding="utf-8")
    assert run("advise", "--case", case).complaint.startswith(f"{case}: diameter: 40 kg is a mass")
    ran = run("advise", "--case", case, "--diameter", "50 kg")
    assert ran.complaint.startswith("diameter: 50 kg is a mass")


def test_a_shop_beside_the_user(tmp_path, monkeypatch):
    text = (ROOT / "cases" / "shops" / "bench-shop.toml").read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    ran = run("advise", *CORNER, "--shop", "mine.toml", "--json")
    assert ran.status in (0, 1)
    assert ran.data["methods"] == run("advise", *CORNER, "--shop", "bench-shop", "--json").data["methods"]


# ---- streams that fail

posix = pytest.mark.skipif(os.name != "posix", reason="needs a POSIX system")


@posix
def test_a_reader_that_has_read_enough():
    program = subprocess.Popen(
        [sys.executable, "-m", "advisor.cli", "advise", *CORNER, "--json"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    program.stdout.close()
    complaint = program.stderr.read()
    program.stderr.close()
    assert program.wait(timeout=60) == 0 and not complaint


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_one_message():
    with open("/dev/full", "w") as full:
        ran = process("advise", *CORNER, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert ran.returncode == 2
    assert ran.stderr.startswith("output: fails (") and ran.stderr.count("\n") == 1


@posix
@pytest.mark.parametrize("closed", ["1>&-", "2>&-", "0<&-"])
def test_a_stream_that_is_closed(closed):
    command = f'"$0" -m advisor.cli advise "$@" {closed}'
    ran = subprocess.run(
        ["sh", "-c", command, sys.executable, *CORNER], cwd=ROOT, capture_output=True, timeout=60, check=False
    )
    assert ran.returncode == 0 and b"Traceback" not in ran.stderr


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_an_output_that_cannot_show_every_sign(encoding):
    for more in ((), ("--json",)):
        ran = process("advise", *CORNER, *more, encoding=encoding, env=os.environ | {"PYTHONIOENCODING": encoding})
        assert ran.returncode == 0 and not ran.stderr


@posix
def test_arguments_that_are_not_text():
    ran = process("advise", b"R6 \xff\xfe", *CORNER[1:], encoding="utf-8", errors="replace")
    assert ran.returncode == 2 and ran.stderr.startswith("radius: ")
