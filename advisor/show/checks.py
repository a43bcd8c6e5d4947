"""What checking and proving found, as tables. Builds rich renderables; cli.py prints them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.table import Table
from rich.text import Text

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from advisor.verify.check_files import Checked
    from advisor.verify.prove_rules import Proof


def files(checked: Sequence[Checked]) -> Group:
    """A line for each file: what it is, and what is in it or the first thing that is wrong with it."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading, width in (("file", 34), ("is", None), ("", None), ("holds, or what is wrong", None)):
        table.add_column(heading, overflow="fold", max_width=width)
    for one in checked:
        told = Text(one.holds) if one.fine else Text(_first_wrong(one.problem), style="bold")
        table.add_row(_shortened(one.path), one.what, "fine" if one.fine else Text("wrong", style="bold reverse"), told)
    several = [line for one in checked for line in one.problem.split("\n") if "\n" in one.problem]
    wrong = sum(not one.fine for one in checked)
    end = f"{wrong} of {len(checked)} not fine." if wrong else f"{len(checked)} checked, all fine."
    return Group(table, *map(Text, ["", *several] if several else []), Text(f"\n{end}", style="bold"))


def _first_wrong(problem: str) -> str:
    """What is wrong with a file, or how much is where that takes lines of its own."""
    lines = problem.split("\n")
    return problem if len(lines) == 1 else f"{len(lines)} things, told below"


def _shortened(path: str) -> str:
    """The last two parts of a path, which tell files apart."""
    return "/".join(path.replace("\\", "/").split("/")[-2:])


def proof(proved: Proof, claims: Mapping[str, str]) -> Group:
    """A line for each thing that is proved. proved: prove.Proof; claims: prove.CHECKS."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(f"proved over {proved.rows:,} callouts", overflow="fold")
    table.add_column("claims", justify="right")
    table.add_column("fail", justify="right")
    for check, text in claims.items():
        failed = len(proved.of(check))
        table.add_row(
            text,
            f"{proved.claims[check]:,}",
            Text(str(failed) if failed else "-", style="bold reverse" if failed else ""),
        )
    return Group(Text(), table)


def failures(proved: Proof, claims: Mapping[str, str]) -> str:
    """Every failure, with the callout that shows it on a line of its own that can be copied: plain text."""
    lines = []
    for check, text in claims.items():
        if found := proved.of(check):
            lines += ["", f"NOT SO: {text}"]
            for failure in found:
                lines += [
                    f"  {failure.subject}: {failure.problem}",
                    *([f"    {failure.callout}"] if failure.callout else []),
                ]
    return "\n".join(lines) if lines else "\nProved."
