"""Prints what `pip install --requirement` needs for the oldest versions that pyproject.toml allows, those of the tests included:
a line each. `make oldest` runs the everyday part of the tests and those of the page with them."""

import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
WITH = ("tables", "test")  # the extras that the tests need
BESIDE = "httpx<1"  # the test client of the oldest starlette asks for it, newer ones for httpx2


def oldest(project):
    """The oldest versions of all that a project needs (the table [project] as a dict), its extras WITH included.

    What only the tests ask for in a newer version is taken in that one.

    >>> oldest({"dependencies": ["a>=1.2", "b==3"], "optional-dependencies": {"tables": ["c.d>=4"], "test": ["a>=1.10"]}})
    ['a==1.10', 'b==3', 'c.d==4']
    """
    extras = project["optional-dependencies"]
    found = {}
    for line in (*project["dependencies"], *(line for name in WITH for line in extras[name])):
        name, version = re.fullmatch(r"([A-Za-z0-9._-]+)[>=]=([0-9.]+)", line).groups()
        found[name] = max(found.get(name, version), version, key=lambda text: [int(part) for part in text.split(".")])
    return [f"{name}=={version}" for name, version in sorted(found.items())]


def main():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    print("\n".join([*oldest(project), BESIDE]))


if __name__ == "__main__":
    sys.exit(main())
