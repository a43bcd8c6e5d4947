"""Reads and prices a list that somebody sent, in a process of its own, which ends with it: python -m advisor.page.child
FOLDER. What is asked stands in asked.json there, what comes of it in told.json, priced.csv, quote.xlsx and quote.pdf."""

from __future__ import annotations

import csv
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

    from advisor.ground.errors import InputError
    from advisor.lists.files import Source
    from advisor.lists.headings import Column
    from advisor.lists.pricing import Order

MOST_SHOWN = 1000  # lines that are shown on the page; the files have all
MOST_MEMORY = 3_000_000_000  # bytes
MOST_SECONDS = 120


def _bound() -> None:
    """Give this process no more than a list may take."""
    try:
        import resource
    except ImportError:  # not on Windows; the time is bounded from outside
        return
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))


def told(folder: Path) -> dict[str, Any]:
    """What is to be told of the list in a folder -> plain data. Raises InputError."""
    from advisor.ground.errors import InputError
    from advisor.lists import files, headings, pricing
    from advisor.show import batch

    asked = json.loads((folder / "asked.json").read_text(encoding="utf-8"))
    said = headings.read_columns(asked["columns"] or None)

    def opened() -> Source:
        return files.open_source(str(folder / asked["file"]), None, said)

    source = opened()
    given = {"defaults": asked["every"], "by": asked["by"]}
    heading = {"label": asked["name"], "place": source.place, "above": list(source.above[:8])}
    try:
        order = pricing.order_for(source, shop=asked["shop"], **given)
    except InputError as problem:  # a column that is not known for what it is can be told on the page
        columns = headings.columns_of(source.header, label=source.label, told=source.told, sample=source.sample)
        return heading | {"columns": _columns(columns, source), "wrong": _parts(problem)}
    readings = pricing.read_list(source, order, most=MOST_SHOWN)
    data = heading | {
        "row": source.row,
        "columns": _columns(order.columns, source),
        "every_line": batch.every_line(order),
        "misspelt": pricing.misspelt([order.columns[place] for place in order.carried]),
        "lines": [line._asdict() for line in readings.lines[:MOST_SHOWN]],
        "count": readings.count,
        "failed": readings.failed,
        "currency": order.currency or "",
    }
    source = opened()
    with files.open_target(str(folder / "priced.csv"), order, replace=True) as target:
        pricing.price_list(source, target, order, workers=1)
    data["priced"] = _priced(folder / "priced.csv", order)
    return data | _quoted(folder, opened(), order)


def _columns(columns: Iterable[Column], source: Source) -> list[dict[str, Any]]:
    sample = [[str(cell)[:40] for cell in row] for row in list(source.sample)[:3]]
    found = []
    for place, column in enumerate(columns):
        cells = [row[place] for row in sample if place < len(row) and row[place]]
        if column.heading:
            found.append(
                {
                    "heading": column.heading,
                    "name": column.name or "",
                    "unit": column.unit or "",
                    "why": column.why or "",
                    "sample": cells,
                }
            )
    return found


def _priced(path: Path, order: Order) -> dict[str, list[dict[str, str]]]:
    """Line number -> list of what the priced list says of it, a quantity each."""
    found: dict[str, list[dict[str, str]]] = {}
    names = ("line", "method", "minutes", "p80_minutes", "cost_each", "cost", "assumed", "error", "pieces")
    with open(path, encoding="utf-8-sig", newline="") as file:
        for row in csv.DictReader(file, delimiter=order.delimiter):
            one = {name: row.get(order.heading(name), "") for name in names}
            found.setdefault(one["line"], []).append(one)
            if len(found) >= MOST_SHOWN:
                break
    return found


def _quoted(folder: Path, source: Source, order: Order) -> dict[str, Any]:
    """The quote's own words, or why there is none."""
    import datetime

    from advisor.ground.errors import InputError
    from advisor.lists import quote as quotes
    from advisor.show import batch
    from advisor.show import quote as page

    every_line = batch.every_line(order, sent=True)
    try:
        made = quotes.quote(source, order)
        above = quotes.Letterhead(datetime.date.today())
        for ending in page.ENDINGS:
            pages = page.rendered(made, ending, every_line=every_line, above=above)
            (folder / f"quote.{ending}").write_bytes(pages[0])
    except InputError as problem:
        return {"totals": [], "questions": [], "prices": {}, "no_quote": str(problem)}
    return {
        "totals": page.totals(made),
        "questions": [[one.ask, page.asked(one, made), list(one.lines[:40])] for one in made.questions],
        "prices": {
            str(line.reading.line): [[price.pieces, page.each(price), f"{price.total:,.2f}"] for price in line.prices]
            for line in made.lines[:MOST_SHOWN]
        },
        "no_quote": "",
    }


def _parts(problem: InputError) -> list[list[str]]:
    return [[str(one.field), str(one.value), one.problem, one.fix] for one in problem.each]


def main(folder: str) -> None:
    """Do what is asked, and write what comes of it; what is wrong is written too."""
    from advisor.ground.errors import InputError

    _bound()
    folder = Path(folder)
    try:
        data = told(folder)
    except InputError as problem:
        data = {"wrong": _parts(problem)}
    except (MemoryError, RecursionError):
        data = {
            "wrong": [["list", "", "is more than this page reads", "Price a part of it, or use turn-radius batch."]]
        }
    (folder / "told.json").write_text(json.dumps(data), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
