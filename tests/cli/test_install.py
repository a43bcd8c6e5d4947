"""An installed wheel works from any folder, with nothing but what it declares, and carries its rules and cases
inside."""

import ast
import importlib.metadata
import json
import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from command import CORNER
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from advisor.ground import folders

ROOT = Path(__file__).parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SOURCES = ("advisor", "rules", "cases", "pyproject.toml", "README.md")


USED_BY_OTHERS = {"python-multipart"}  # Starlette reads forms with it


def in_wheel(name):
    """Whether a path of the checkout belongs into the wheel."""
    return name.startswith(("advisor/", "rules/", "cases/")) and (
        name.endswith((".py", ".toml", "/py.typed")) or "/templates/" in name or "/static/" in name
    )


@pytest.fixture(scope="module")
def checkout(tmp_path_factory):
    """A copy of the sources alone."""
    folder = tmp_path_factory.mktemp("checkout")
    for name in SOURCES:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif source.exists():
            shutil.copy(source, folder / name)
    return folder


@pytest.fixture(scope="module")
def wheel(checkout, tmp_path_factory):
    """The wheel of these sources."""
    folder = tmp_path_factory.mktemp("wheel")
    build = "from setuptools import build_meta; import sys; build_meta.build_wheel(sys.argv[1])"
    subprocess.run([sys.executable, "-c", build, folder], cwd=checkout, capture_output=True, check=True, timeout=120)
    return next(folder.glob("*.whl"))


def declared(name, found=None):
    """Names of a distribution and of all that it needs to run, extras left aside."""
    found = set() if found is None else found
    requires = PROJECT["project"]["dependencies"] if name is None else importlib.metadata.requires(name) or []
    for text in requires:
        requirement = Requirement(text)
        other = canonicalize_name(requirement.name)
        if other not in found and (requirement.marker is None or requirement.marker.evaluate({"extra": ""})):
            declared(other, found | {other})
            found |= {other} | declared(other, found | {other})
    return found


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """A fresh virtual environment with the wheel and what it declares, and nothing else: the path of its program
    folder."""
    folder = tmp_path_factory.mktemp("fresh")
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", folder], check=True, timeout=120)
    python = next(folder.glob("[bS]*/python*"))
    site = Path(_said(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip())
    for name in declared(None):
        distribution = importlib.metadata.distribution(name)
        for top in {
            Path(file).parts[0] for file in distribution.files if Path(file).parts[0] not in ("..", "__pycache__")
        }:
            (site / top).exists() or (site / top).symlink_to(distribution.locate_file(top))
    with zipfile.ZipFile(wheel) as content:
        content.extractall(site)
    return python


def _said(python, *words, **options):
    clean = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")} | {
        "PYTHONIOENCODING": "utf-8"
    }
    ran = subprocess.run(
        [python, *map(str, words)], capture_output=True, text=True, encoding="utf-8", env=clean, timeout=60, **options
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def test_every_package_and_every_file_is_in_the_wheel(checkout, wheel):
    with zipfile.ZipFile(wheel) as content:
        held = {name for name in content.namelist() if ".dist-info/" not in name}
    files = {path.relative_to(checkout).as_posix() for path in checkout.rglob("*") if path.is_file()}
    expected = {name if name.startswith("advisor/") else f"advisor/_data/{name}" for name in files if in_wheel(name)}
    assert held == {name for name in expected if "egg-info" not in name}


def test_the_wheel_advises_from_any_folder(installed, tmp_path):
    out = _said(installed, "-m", "advisor.cli", "advise", *CORNER, "--json", cwd=tmp_path)
    assert json.loads(out)["recommended"]
    where = "from advisor.ground.folders import data_folder; print(data_folder('rules'))"
    assert _said(installed, "-c", where, cwd=tmp_path).strip().endswith(str(Path("advisor", "_data", "rules")))


def test_the_wheel_knows_every_shop(installed, tmp_path):
    for path in (ROOT / "cases" / "shops").glob("*.toml"):
        words = ("advise", "R3 ±0.3 mm", *CORNER[1:-1], "20 mm", "--shop", path.stem, "--json")
        assert json.loads(_said(installed, "-m", "advisor.cli", *words, cwd=tmp_path))["callout"]["shop"] == path.stem


def test_the_program_is_installed_under_its_name(wheel):
    with zipfile.ZipFile(wheel) as content:
        name = next(name for name in content.namelist() if name.endswith("entry_points.txt"))
        assert "turn-radius = advisor.cli:main" in content.read(name).decode()


def test_a_folder_that_cannot_be_written_changes_nothing(installed, tmp_path):
    """The checked rules are then not kept: the answer is the same."""
    (tmp_path / "a-file").write_text("")
    words = ("-m", "advisor.cli", "advise", *CORNER, "--json")
    here = os.environ["XDG_CACHE_HOME"]
    try:
        os.environ["XDG_CACHE_HOME"] = str(tmp_path / "a-file")
        without = _said(installed, *words, cwd=tmp_path)
    finally:
        os.environ["XDG_CACHE_HOME"] = here
    assert without == _said(installed, *words, cwd=tmp_path)


def test_every_import_of_the_program_is_declared_and_everything_declared_is_used():
    texts = [path.read_text(encoding="utf-8") for path in (ROOT / "advisor").rglob("*.py")]
    trees = [ast.parse(text) for text in texts]
    imported = set().union(*map(packages_imported, trees))
    optional = set().union(*(packages_imported(part) for tree in trees for part in ast.walk(tree) if tried(part)))
    named = {canonicalize_name(Requirement(text).name) for text in PROJECT["project"]["dependencies"]}
    # experta pins frozendict; the program imports it first, to put right what that version expects.
    assert "frozendict" in declared(None)
    assert imported - sys.stdlib_module_names - optional - {"advisor", "frozendict"} <= named
    for name in named - imported:  # found by its name where it holds no program
        assert name in USED_BY_OTHERS or any(name.replace("-", "_") in text for text in texts), name


def packages_imported(tree):
    """Names of the packages that a piece of a program imports where it runs: what only its types name is left out."""
    found, typed = set(), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            typed |= {part for line in node.body for part in ast.walk(line)}
    for node in set(ast.walk(tree)) - typed:
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level:
            found.add(node.module.partition(".")[0])
    return found


def tried(node):
    """Whether a piece of a program does without what it cannot import."""
    return isinstance(node, ast.Try) and any("ImportError" in ast.unparse(h.type) for h in node.handlers if h.type)


def test_a_checkout_uses_its_own_rules():
    assert folders.data_folder("rules") == ROOT / "rules"
    assert folders.data_folder("cases") == ROOT / "cases"
