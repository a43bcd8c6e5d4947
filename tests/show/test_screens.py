"""The screen: golden text without colour at two widths, and what holds of every screen."""

import os
import re
import subprocess
import sys
from pathlib import Path

import possible_callouts
import pytest
from command import run
from often import often

from advisor.answer import advice
from advisor.cli import Terminal
from advisor.engine import generated
from advisor.show import onescreen
from advisor.show import terminal as whole

ROOT = Path(__file__).parent.parent.parent
SCREENS = Path(__file__).parent.parent / "screens"
JOBS = {
    "knobs-in-millimetres": ("--case", "cases/knob-corner.toml"),
    "knobs-in-full": ("knob-corner", "--full"),
    "nothing-stands-in-full": (
        "R6 ±0.004", "--form=concave", "--location=corner", "--diameter=40 mm", "--shoulder-height=8 mm", "--full",
    ),
    "dome-in-inches": ("SR1-1/2 ±.010", "--form=convex", "--location=end", "--diameter=2-1/4", "--units=inch", "--shop=jobbing-shop"),
    "groove-on-the-bench": (
        "R4 ±0.3", "--form=concave", "--location=outside diameter", "--diameter=22 mm", "--width=7 mm", "--from-end=12 mm",
        "--material=brass", "--quantity=30", "--shop=bench-shop",
    ),
    "corner-by-hand": ("R5", "--form=convex", "--location=corner", "--diameter=30 mm", "--skill=expert", "--general-tolerance=ISO 2768-c"),
    "nothing-stands": ("R6 ±0.004", "--form=concave", "--location=corner", "--diameter=40 mm", "--shoulder-height=8 mm"),
}  # fmt: skip


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("job", JOBS)
def test_golden_screens(job, width, golden, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.chdir(ROOT)
    ran = run("advise", *JOBS[job])
    assert ran.status in (0, 1) and not ran.complaint
    golden(SCREENS / f"{job}-{width}.txt", ran.out)


def test_every_screen_keeps_to_its_width(monkeypatch, capsys):
    for _, callout, shop in possible_callouts.possible(often(12, 25), first=7):
        found = advice.advise(callout, shop, executor=generated.run)
        for width in (60, 80, 133):
            monkeypatch.setenv("COLUMNS", str(width))
            Terminal().show(whole.screen(found))
            Terminal().show(onescreen.screen(found))
            for line in capsys.readouterr().out.splitlines():
                assert len(line) <= width
                assert line == line.rstrip()
                assert line.isprintable()
                assert not re.search(r"\{|\}|\bnan\b|\bNone\b|\binf\b|<|>|  \.(?!\d)| ,|\.\.", line), line


def test_a_width_that_cannot_be_is_passed_over(monkeypatch):
    expected = run("advise", *JOBS["dome-in-inches"]).out
    for width in ("", "0", "12", "-80", "wide", "99999", "80.5"):
        monkeypatch.setenv("COLUMNS", width)
        assert run("advise", *JOBS["dome-in-inches"]).out == expected


def in_a_terminal(**environment):
    """What the program writes to a terminal of 80 columns."""
    pty = pytest.importorskip("pty")
    fcntl, termios, struct = (pytest.importorskip(name) for name in ("fcntl", "termios", "struct"))
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    words = [sys.executable, "-m", "advisor.cli", "advise", *JOBS["corner-by-hand"]]
    program = subprocess.Popen(
        words, cwd=ROOT, stdout=theirs, stderr=theirs, env=os.environ | {"TERM": "xterm-256color"} | environment
    )
    os.close(theirs)
    written = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        written += piece
    os.close(ours)
    assert program.wait(timeout=60) == 0
    return written.decode()


def plain(text):
    """Text without escapes and without blanks at the ends of lines."""
    return "\n".join(line.rstrip() for line in re.sub(r"\x1b\[[0-9;]*m", "", text).replace("\r\n", "\n").split("\n"))


def test_a_terminal_shows_the_same_words():
    ran = run("advise", *JOBS["corner-by-hand"])
    assert "\x1b" not in ran.out
    assert plain(in_a_terminal()).strip() == ran.out.strip()


def test_no_colour_where_none_is_wanted():
    colours = re.compile(r"\x1b\[[0-9;]*(3[0-8]|4[0-8]|9[0-7]|10[0-7])[;m]")
    for environment in ({"NO_COLOR": "1"}, {"TERM": "dumb"}):
        assert not colours.search(in_a_terminal(**environment))
    assert "\x1b" not in run("advise", *JOBS["corner-by-hand"]).out
