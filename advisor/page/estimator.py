"""At the desk: a customer's list as it is read and priced, and one job at several quantities and in several shops."""

from __future__ import annotations

import atexit
import json
import secrets
import shutil
import subprocess
import sys
import tempfile
import threading
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.asked import callout as callouts
from advisor.ground.errors import CalloutError, InputError, together
from advisor.page import state as states
from advisor.page.guard import FILE_BYTES
from advisor.page.labels import label
from advisor.page.made import File, Move, Screen
from advisor.show import estimate as pages
from advisor.study import estimate as estimates

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from advisor.page.made import Made
    from advisor.page.state import Records, State

KEPT = 12  # lists that are kept until the server stops
SECONDS = 150
ENDINGS = ("csv", "tsv", "txt", "xlsx", "ods", "parquet")
QUANTITIES = "1,5,25,100"
GIVEN = {"priced.csv": "text/csv; charset=utf-8", "quote.pdf": "application/pdf",
         "quote.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"}  # fmt: skip
MEANINGS = (*callouts.KEYS, "item")
_ROOT: list[Path] = []
_LISTS: dict[str, tuple[str, str, dict[str, Any]]] = {}  # key -> name, name of the file, what was told of it
_LOCK = threading.Lock()


def _root() -> Path:
    """A folder of this run of the server, which goes with it."""
    with _LOCK:
        if not _ROOT:
            _ROOT.append(Path(tempfile.mkdtemp(prefix="turn-radius-page-")))
            atexit.register(shutil.rmtree, _ROOT[0], ignore_errors=True)
    return _ROOT[0]


# ---- the list


def lists(state: State, *, records: Records, request: Request, form: FormData | None) -> Made:
    """A list is sent here, or asked for."""
    if form is not None:
        return _sent(form)
    return Screen(
        "list.html",
        endings=", ".join(f".{ending}" for ending in ENDINGS),
        place="list",
        same="turn-radius quote list.xlsx --output quote.xlsx",
    )


def _sent(form: FormData) -> Move:
    sent = form.get("list")
    name = Path(str(getattr(sent, "filename", "") or "").replace("\\", "/")).name[:80]
    ending = name.rpartition(".")[2].lower()
    if not name or not hasattr(sent, "file"):
        raise CalloutError("list", "", "is missing", "Choose a file, such as a workbook that the customer sent.")
    if ending not in ENDINGS:
        raise CalloutError("list", name, "is no list that can be read", f"Send one of {', '.join(ENDINGS)}.")
    key = secrets.token_urlsafe(9)
    folder = _root() / key
    folder.mkdir()
    with open(folder / f"list.{ending}", "wb") as file:
        shutil.copyfileobj(sent.file, file, FILE_BYTES)
    with _LOCK:
        _LISTS[key] = (name, f"list.{ending}", {})
        while len(_LISTS) > KEPT:
            gone = next(iter(_LISTS))
            del _LISTS[gone]
            shutil.rmtree(_root() / gone, ignore_errors=True)
    return Move(states.join("/list/read", {"list": key}))


def _asked(state: State) -> dict[str, Any]:
    """What the address says of a list: its key, and how it is to be read."""
    columns = state.more.get("columns", "")
    given = [
        f"{name.removeprefix('is.')}={text.removesuffix('*')}"
        for name, text in state.more.items()
        if name.startswith("is.")
    ]
    every = {name: text for name, text in state.fields.items() if name not in ("shop", "radius")}
    return {
        "columns": ", ".join(filter(None, [columns, *given])),
        "every": every,
        "shop": state.fields.get("shop", ""),
        "by": "cost" if state.more.get("by") == "cost" else "minutes",
    }


def _told(state: State) -> tuple[dict[str, Any], Path]:
    """What the child says of a list, and its folder. Raises InputError."""
    key = state.more.get("list", "")
    if key not in _LISTS:
        fix = "Send it again: lists are kept only until the server stops, and the last dozen of them."
        raise CalloutError("list", "", "is not here any more", fix)
    name, file, kept = _LISTS[key]
    asked = _asked(state)
    if asked["shop"]:
        states.shop_called(asked["shop"])
    asked["shop"] = asked["shop"] or states.usual_name()
    asked |= {"name": name, "file": file}
    again = json.dumps(asked, sort_keys=True)
    if again not in kept:
        kept.clear()
        kept[again] = _worked_out(_root() / key, asked)
    told = kept[again]
    if "wrong" in told and "columns" not in told:
        raise together([CalloutError(*one) for one in told["wrong"]])
    return told, _root() / key


def _worked_out(folder: Path, asked: Mapping[str, Any]) -> dict[str, Any]:
    for name in ("told.json", *GIVEN):
        (folder / name).unlink(missing_ok=True)
    (folder / "asked.json").write_text(json.dumps(asked), encoding="utf-8")
    try:
        subprocess.run(
            [sys.executable, "-m", "advisor.page.child", str(folder)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=SECONDS,
            check=False,
        )
        return json.loads((folder / "told.json").read_text(encoding="utf-8"))
    except subprocess.TimeoutExpired:
        problem = f"took more than {SECONDS} s"
    except (OSError, ValueError):
        problem = "cannot be read here"
    return {"wrong": [["list", asked["name"], problem, "Price a part of it, or use turn-radius batch."]]}


def read(state: State, *, records: Records, **_: object) -> Screen:
    """How a list is read, what is to be asked, and what it comes to."""
    told, _ = _told(state)
    wrong = [CalloutError(*one) for one in told.get("wrong", ())]
    nothing: dict[str, Any] = {
        "lines": [],
        "priced": {},
        "prices": {},
        "totals": [],
        "questions": [],
        "no_quote": "",
        "misspelt": [],
        "every_line": [],
        "count": 0,
        "failed": 0,
        "row": "row",
    }
    told = nothing | told
    rows, seen = [], set()
    for line in told["lines"]:
        number = str(line["line"])
        if number in seen:  # a further quantity of a line that stands there
            continue
        seen.add(number)
        priced = told["priced"].get(number, [{}])
        rows.append(
            line
            | {
                "method": priced[0].get("method", ""),
                "minutes": _minutes(priced[0].get("minutes")),
                "safe": _minutes(priced[0].get("p80_minutes")),
                "unread": line["problem"],
                "problem": line["problem"] or priced[0].get("error", ""),
                "prices": told["prices"].get(number, []),
                "job": _job_address(line, state),
            }
        )
    # Quantities of a line are counted apart; a list that is shown whole is counted by its lines.
    everything = told["count"] <= len(told["lines"])
    whole = len(rows) if everything else told["count"]
    unread = sum(bool(line["unread"]) for line in rows) if everything else told["failed"]
    key = state.more["list"]
    return Screen(
        "read.html",
        400 if wrong else 200,
        wrong=wrong,
        told=told,
        whole=f"{whole:,}",
        readable=f"{whole - unread:,}",
        rows=rows,
        meanings=[
            ("", "not read"),
            *((name, label(name)) for name in MEANINGS if name not in ("units", "shop", "lathe")),
        ],
        files=[
            (name, states.join(f"/list/{name}", _parameters(state)))
            for name in GIVEN
            if rows and (name == "priced.csv" or not told["no_quote"])
        ],
        shops=[("", "the usual one"), *((name, name) for name in states.shop_names())],
        shop=state.fields.get("shop", ""),
        by=state.more.get("by", ""),
        key=key,
        place="list",
        same=f"turn-radius quote {told['label']} --output quote.xlsx",
    )


def _parameters(state: State) -> dict[str, str]:
    return {
        **state.fields,
        **{n: t for n, t in state.more.items() if n in ("list", "columns", "by") or n.startswith("is.")},
    }


def _minutes(text: str | None) -> str:
    try:
        return "" if text is None else wording.minutes(float(text.replace(",", ".")))
    except ValueError:
        return ""


def _job_address(line: Mapping[str, Any], state: State) -> str:
    if line["problem"]:
        return ""
    known = {
        "radius": line["radius"],
        "shape": line["shape"],
        "diameter": line["diameter"].split(" (")[0],
        "material": line["material"],
    }
    pieces = line["pieces"].replace(",", "").split(" x ")
    known["quantity"] = pieces[0]
    return states.join("/list/job", known | ({"shop": state.fields["shop"]} if "shop" in state.fields else {}))


def given(state: State, *, request: Request, **_: object) -> File:
    """A file that came of a list."""
    name = request.url.path.rpartition("/")[2]
    _, folder = _told(state)
    path = folder / name
    if name not in GIVEN or not path.is_file():
        raise CalloutError("list", name, "was not made", "Look at the list for what is missing.")
    return File(path.read_bytes(), GIVEN[name], name)


# ---- one job


def job(state: State, *, records: Records, **_: object) -> Screen:
    """One job at several quantities side by side, from where another method is better, and in several shops."""
    quantities = estimates.read_quantities(state.more.get("quantities", QUANTITIES))
    shop = states.shop_called(state.fields.get("shop"))
    callout = states.reader(shop)(state.fields)
    found = estimates.estimate(callout, shop, quantities=quantities, records=records.jobs())
    currency = shop.currency or ""
    table = []
    for one in found.table:
        best = next((price for price in one.prices if price.method == one.recommended), None)
        table.append(
            {
                "pieces": f"{one.pieces:,}",
                "method": one.recommended or "nothing stands",
                "minutes": wording.minutes(best.mean) if best else "",
                "safe": wording.minutes(best.p80) if best else "",
                "each": f"{best.quoted[1]} {currency}" if best and best.cost is not None else "",
                "total": f"{best.quoted[0]} {currency}" if best and best.cost is not None else "",
                "cheapest": one.cheapest or "",
            }
        )
    return Screen(
        "job.html",
        asked=wording.callout_line(found.advice),
        table=table,
        changes=pages.change_lines(found),
        shops=_shops(state, callout.units, records),
        quantities=",".join(map(str, quantities)),
        hidden=[(name, value) for name, value in state.fields.items()],
        answer=states.State(state.fields, {}, {}).address("/lathe/answer"),
        place="list",
        same=f"{states.command(state, 'estimate')} --quantities {','.join(map(str, quantities))}",
    )


def _shops(state: State, units: str, records: Records) -> list[dict[str, str]]:
    """The same job in every shop: list of rows. units: in which it was read."""
    rows = []
    for name in states.shop_names():
        try:
            advice = states.answer(state.having(shop=name, units=units), records)
        except InputError as problem:
            rows.append(
                {"name": name, "method": "not here", "minutes": "", "total": "", "told": problem.each[0].problem}
            )
            continue
        best = advice.best
        rows.append(
            {
                "name": name,
                "method": best.name if best else "nothing stands",
                "minutes": wording.minutes(best.minutes["batch"]["mean"]) if best else "",
                "total": wording.money(best.cost, advice) if best else "",
                "told": "",
            }
        )
    return rows
