"""Prints what `pip install --require-hashes --requirement` needs for the tests: each package with its version and hash.

The hashes are of the files that pip chooses on the machine that this runs on: another kind of machine makes its own list.
"""

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def locked(report):
    """The lines of a list from pip's report of an installation (as a dict).

    >>> one = {"metadata": {"name": "Rich", "version": "1"}, "download_info": {"archive_info": {"hashes": {"sha256": "0a"}}}}
    >>> locked({"install": [one, {"metadata": {"name": "own", "version": "1"}, "download_info": {"dir_info": {}}}]})
    ['rich==1 --hash=sha256:0a']
    """
    lines = []
    for one in report["install"]:
        hashes = one["download_info"].get("archive_info", {}).get("hashes", {})
        if hashes:
            marks = "".join(f" --hash={kind}:{mark}" for kind, mark in sorted(hashes.items()))
            lines.append(f"{one['metadata']['name'].lower()}=={one['metadata']['version']}{marks}")
    return sorted(lines)


def main():
    command = [sys.executable, "-m", "pip", "install", "--dry-run", "--ignore-installed", "--quiet", "--report", "-"]
    report = json.loads(subprocess.run([*command, f"{ROOT}[test]"], stdout=subprocess.PIPE, check=True).stdout)
    kind = f"Python {sys.version_info.major}.{sys.version_info.minor} on {sys.platform}"
    print(f"# Made by `make lock` for {kind}. The tests pass with these.")
    print("\n".join(locked(report)))


if __name__ == "__main__":
    main()
