"""Shared by all tests: a cache of their own, and golden text that `pytest --accept` rewrites."""

import difflib
import os

import pytest
from hypothesis import settings

# The same examples every time; `pytest --hypothesis-profile explore` looks for new ones.
settings.register_profile("same", deadline=None, derandomize=True)
settings.register_profile("explore", deadline=None, max_examples=2000)
settings.load_profile("same")


def pytest_addoption(parser):
    parser.addoption("--accept", action="store_true", help="rewrite golden text with what the program says now")


LONGEST = ("verify", "study", "engine", "rulebase", "records", "cli", "show", "drawing", "lists", "page")


def pytest_collection_modifyitems(items):
    """The folders that take longest first: a file goes to one process as a whole, and a long one that came last would keep
    one waiting for the other."""
    items.sort(key=lambda item: next((n for n, name in enumerate(LONGEST) if f"/tests/{name}/" in str(item.path)), 99))


@pytest.fixture(scope="session", autouse=True)
def own_surroundings(tmp_path_factory):
    """Tests, and the programs that they start, leave the user's cache, settings and records alone and know no terminal."""
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))
    os.environ["XDG_CONFIG_HOME"] = str(tmp_path_factory.mktemp("config"))
    os.environ["XDG_DATA_HOME"] = str(tmp_path_factory.mktemp("data"))
    os.environ["TURN_RADIUS_RECORDS"] = str(tmp_path_factory.mktemp("records") / "none.sqlite3")
    os.environ["PYTHONIOENCODING"] = "utf-8"
    for name in ("TURN_RADIUS_SHOP", "COLUMNS", "LINES", "NO_COLOR", "FORCE_COLOR"):
        os.environ.pop(name, None)


@pytest.fixture
def golden(request):
    """A function (path, text): the text has to be what the file holds, or becomes it with --accept."""

    def check(path, text):
        if request.config.getoption("--accept"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        assert path.exists(), f"{path.name} is missing: run pytest --accept and read what it wrote"
        held = path.read_text(encoding="utf-8")
        difference = "\n".join(
            difflib.unified_diff(held.splitlines(), text.splitlines(), str(path.name), "now", lineterm="")
        )
        assert not difference, f"{difference}\n\nIf that is as it should be: pytest --accept"

    return check
