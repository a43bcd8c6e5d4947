"""Each command in the module of its name, and nothing of the others in a run of it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from command import run

from advisor.commands import register

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.parametrize("name", register.NAMES)
def test_a_command_has_help_options_and_work(name):
    command = register.command(name)
    assert command.HELP and register.parser(name).prog == f"turn-radius {name}"
    assert callable(command.run) and command.__doc__.startswith(f"`{name}`: ")


@pytest.mark.parametrize("words", [["word", "crown"], ["batch"], ["help", "sheet"]], ids=" ".join)
def test_only_the_command_that_is_asked_for_is_imported(words):
    code = (
        "import sys; from advisor import cli; cli.main(sys.argv[1:]); from advisor.commands import register\n"
        "print(*[n for n in register.NAMES if f'advisor.commands.{n}' in sys.modules], file=sys.stderr)"
    )
    ran = subprocess.run([sys.executable, "-c", code, *words], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert set(ran.stderr.splitlines()[-1].split()) == {words[0], *words[1:]} & set(register.NAMES)


@pytest.mark.parametrize(
    ("words", "meaning"),
    [
        (("batch", "--keep"), "keep what the columns of this customer mean"),
        (("sheet", "-o"), "the page, by its ending"),
        (("quote", "--by"), "choose methods by minutes or by cost; cost if left out"),
    ],
)
def test_an_option_without_a_value_is_told_as_its_own_command_means_it(words, meaning):
    assert f"has no value. Write one after it: {meaning}" in run(*words).complaint


def test_a_value_with_a_minus_belongs_to_the_option_of_its_own_command():
    assert run("records", "--why", "-x").complaint.startswith("--why: -x marks nothing.")


def test_help_is_given_in_the_plainest_characters_where_there_are_no_others():
    options = {"cwd": ROOT, "env": os.environ | {"PYTHONIOENCODING": "ascii"}, "capture_output": True, "timeout": 60}
    ran = subprocess.run([sys.executable, "-m", "advisor.cli", "advise", "--help"], **options)
    assert ran.returncode == 0 and ran.stdout.isascii() and b"'R6 +/-0.1'" in ran.stdout
