"""On the bench: the steps one by one, the first piece corrected, and what the job took recorded."""

from __future__ import annotations

import dataclasses
import datetime
import secrets
import shlex
import time
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.answer.advice import advise
from advisor.asked import measured as given
from advisor.engine import generated
from advisor.ground.errors import CalloutError
from advisor.ground.version import version
from advisor.page import labels
from advisor.page import state as states
from advisor.page import steps as at_lathe
from advisor.page.lathe import settable
from advisor.page.made import Move, Screen
from advisor.records import job_records
from advisor.show import correct as words
from advisor.study import correction

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from advisor.answer.advice import MethodAdvice
    from advisor.page.made import Made
    from advisor.page.state import Records, State

MOST_MINUTES = 100_000
MOST_ROWS = 9_999
# What a way of gauging is called, by the names of correction.WAYS.
WAYS = {
    "leaf": "Radius gauge or template against the light",
    "radius": "The radius itself, by a comparator",
    "depth": "Depth over a width",
    "two depths": "Two depths over two widths",
    "diameters": "Diameter in the middle and at the edge",
    "slanting": "Micrometer across the ball and at 45°",
    "across": "Micrometer across the ball",
    "ball": "A ball laid into it, and a micrometer over it",
    "pins": "Two pins side by side",
    "middle": "What stands in the middle: dimple, point, nib or pip",
    "step": "A step cut into the diameter or face",
    "ridge": "An edge where arc and flat meet",
}


# ---- 6 at the lathe


def do(state: State, *, records: Records, **_: object) -> Made:
    """One step on one screen; before the first, what has to be thought of before anything turns."""
    advice = states.answer(state.without("lit"), records)
    method = settable(advice, state)
    made = at_lathe.steps(method, advice)
    if "began" not in state.flow:
        return Move(state.address("/lathe/do", began=int(time.time()), step=state.flow.get("step", "0")))
    number = _whole(state.flow.get("step", "0"), len(made))
    common: dict[str, Any] = {
        "asked": wording.callout_line(advice),
        "method": method.name,
        "count": len(made),
        "number": number,
        "back": state.address("/lathe/do", step=number - 1) if number else state.address("/lathe/answer"),
        "dots": [(n, state.address("/lathe/do", step=n)) for n in range(1, len(made) + 1)],
        "answer": state.address("/lathe/answer"),
        "first": state.address("/lathe/first"),
        "place": "lathe",
        "same": states.command(state),
    }
    if number == 0:
        special, standing = at_lathe.before(method, advice)
        begin = state.address("/lathe/do", step=1)
        return Screen("before.html", special=special, standing=standing, begin=begin, **common)
    step = made[number - 1]
    last = number == len(made)
    ticked = _ticked(state)
    if "tick" in state.more:
        row = _whole(state.more["tick"], MOST_ROWS)
        kept = ".".join(f"{step}-{n}" for step, n in sorted(ticked ^ {(number, row)} - {(number, 0)}))
        return Move(state.address("/lathe/do", ticked=kept) + f"#row{row}")
    lit = state.address(
        f"/drawing/{step.view}.svg", lit=number, step=None, ticked=None, began=None, good=None, ended=None
    )
    return Screen(
        "step.html",
        step=step,
        ticked={row for step_number, row in ticked if step_number == number},
        hidden=state.hidden("ticked") + [("ticked", state.flow.get("ticked", ""))],
        picture=lit,
        onward=state.address("/lathe/first") if last else state.address("/lathe/do", step=number + 1),
        last=last,
        view=f"The {step.view} with what this step is about: {step.says}",
        **common,
    )


def _ticked(state: State) -> set[tuple[int, int]]:
    """Rows that are done: set of (step, row). An address has them as 5-1.5-2."""
    pairs = [part.partition("-")[::2] for part in state.flow.get("ticked", "").split(".")]
    found = {(_whole(step, MOST_ROWS), _whole(row, MOST_ROWS)) for step, row in pairs}
    return {pair for pair in found if all(pair)}


def _whole(text: str | int, most: int) -> int:
    """A whole number of an address, kept between nothing and the most that there is."""
    text = str(text)
    return min(int(text[:12]), most) if text.isascii() and text.isdecimal() else 0


# ---- 7 the first piece


def first(state: State, *, records: Records, **_: object) -> Made:
    """What the first piece measured, and what to move."""
    names = tuple(given.OPTIONS)
    bare = state.without(*names, "way")
    advice = states.answer(bare, records)
    method = settable(advice, bare)
    shape = correction.shape_of(advice.values)
    fitting = {way: told for way, told in WAYS.items() if shape in correction.ON.get(way, (shape,))}
    way = state.more.get("way", "")
    told, sections, wrong = None, [], ()
    if way in fitting:
        needs, may = correction.WAYS[way]
        asked = [name.replace("_", "-") for name in (*needs, *may, "good_to")]
        texts = {name: state.more.get(name) for name in asked}
        if all(texts[name.replace("_", "-")] for name in needs):
            try:
                read = correction.read_measured({name: texts.get(name) for name in names}, units=advice.callout.units)
                told = correction.correct(advice, method.name, read)
                sections = words.sections(told, advice)
            except CalloutError as problem:
                wrong = problem.each
        fields = [_measured(name, state, needed=name.replace("-", "_") in needs) for name in asked]
    else:
        way, fields = "", []
    return Screen(
        "piece.html",
        400 if wrong else 200,
        asked=wording.callout_line(advice),
        method=method.name,
        ways=[(name, told, bare.address("/lathe/first", way=name)) for name, told in fitting.items()],
        way=way,
        way_words=fitting.get(way, ""),
        other=bare.address("/lathe/first"),
        fields=fields,
        wrong=wrong,
        elsewhere=labels.elsewhere(wrong, fields),
        sections=sections,
        verdict=told.verdict if told else "",
        unit="inches" if advice.callout.units == "inch" else "mm",
        hidden=[*bare.hidden(), ("way", way)],
        back=bare.address("/lathe/do", step=len(method.steps)),
        good=bare.address("/lathe/done", good=bare.flow.get("good", int(time.time()))),
        place="lathe",
        same=_correcting(bare, method, state, names),
    )


def _correcting(state: State, method: MethodAdvice, given_state: State, names: Iterable[str]) -> str:
    line = states.command(state, "correct")
    more = [f"--{name} {shlex.quote(given_state.more[name])}" for name in names if name in given_state.more]
    return " ".join([line, f"--method {shlex.quote(method.name)}", *more])


def _measured(name: str, state: State, *, needed: bool) -> dict[str, Any]:
    told = given.OPTIONS[name] + ("" if needed else "; may be left out")
    words = name.replace("-", " ").capitalize()
    field = labels.field(name, state.more.get(name, ""), label=words, told=told, big=needed)
    if name in given.WORDS:
        listed = [(word, word) for word in given.WORDS[name][1]]
        field |= {"type": "choice", "choices": listed if needed else [("", "not known"), *listed]}
    return field


# ---- 8 done


PARTS = ("setup", "minutes")


def done(state: State, *, records: Records, request: Request, form: FormData | None) -> Made:
    """What the setup and the pieces took, timed, to be confirmed and kept."""
    now = int(time.time())
    if form is not None:
        return _record(state, records, form)
    if "good" not in state.flow:
        return Move(state.address("/lathe/done", good=now))
    press = state.more.get("press")
    if press == "all":
        return Move(state.address("/lathe/done", ended=now))
    if press == "rest" and "left" not in state.flow:
        return Move(state.address("/lathe/done", left=now))
    if press == "go" and "left" in state.flow:
        away = _whole(state.flow.get("away", 0), 10**9) + max(now - _whole(state.flow["left"], 10**10), 0)
        return Move(state.address("/lathe/done", away=away, left=None))
    return _done(state.without("press", "tooling", "setup", "minutes", "misses", "pieces"), records, {}, ())


def _done(bare: State, records: Records, typed: Mapping[str, Any], wild: Sequence[tuple[str, float, float]]) -> Screen:
    """The screen on which it is confirmed. typed: what was typed before, name -> value; wild: figures to ask after."""
    advice = states.answer(bare, records)
    method = settable(advice, bare)
    timed = _timed(bare, int(time.time())) | {name: typed[name] for name in PARTS if typed.get(name) is not None}
    tooling = method.minutes["tooling"]["mean"] >= 0.05
    expected = {
        "setup": wording.minutes(method.minutes["setup"]["mean"] + method.minutes["resetting"]),
        "tooling": wording.minutes(method.minutes["tooling"]["mean"]),
        "minutes": wording.minutes(
            (method.minutes["per_piece"]["mean"] + method.minutes["misses"] + method.minutes["wear"])
            * method.minutes["arcs"]
        ),
    }
    return Screen(
        "done.html",
        400 if wild else 200,
        wild=[
            f"{name.capitalize()}: {wording.minutes(taken)} against {wording.minutes(expected)} that were expected."
            for name, taken, expected in wild
        ],
        typed={name: "" if typed.get(name) is None else typed[name] for name in ("tooling", "pieces", "misses")},
        asked=wording.callout_line(advice),
        method=method.name,
        running="ended" not in bare.flow,
        resting="left" in bare.flow,
        timed=timed,
        tooling=tooling,
        expected=expected,
        quantity=advice.callout.quantity,
        press={name: bare.address("/lathe/done", press=name) for name in ("all", "rest", "go")},
        hidden=bare.hidden("method"),
        method_name=method.name,
        once=typed.get("once") or secrets.token_hex(8),
        back=bare.address("/lathe/first"),
        place="lathe",
        same=_recording(bare, method, timed),
    )


def _recording(state: State, method: MethodAdvice, timed: Mapping[str, float]) -> str:
    line = f"{states.command(state, 'record')} --method {shlex.quote(method.name)}"
    return f"{line} --setup {timed['setup']} --minutes {timed['minutes']} --misses 0"


def _timed(state: State, now: int) -> dict[str, int]:
    """Minutes from the first step to the first good piece, and from there to the last, without rests: whole minutes."""
    began, good, ended, away, left = (
        _whole(state.flow.get(name, ""), 10**11) for name in ("began", "good", "ended", "away", "left")
    )
    ended = ended or left or now
    pieces = max(ended - (good or ended) - away, 0)
    setup = max((good or ended) - (began or good or ended), 0)
    return {"setup": min(round(setup / 60), MOST_MINUTES), "minutes": min(round(pieces / 60), MOST_MINUTES)}


_KEPT: dict[str, str] = {}  # what a form carries once -> the job that it made; a second press makes no second job


def _record(state: State, records: Records, form: FormData) -> Made:
    once = str(form.get("once", ""))[:32]
    onward = {name: state.fields[name] for name in state.fields}
    if once in _KEPT:
        return Move(states.join("/lathe/recorded", {**onward, "id": _KEPT[once]}))
    took = {name: job_records.minutes_of(state.more.get(name), name) for name in ("tooling", "setup", "minutes")}
    misses = job_records.count_of(state.more.get("misses"), "misses", least=0)
    pieces = job_records.count_of(state.more.get("pieces"), "pieces", least=1)
    if misses is None and all(value is None for value in took.values()):
        raise CalloutError("minutes", "", "are missing", "Give what the setup or the pieces took, or how many missed.")
    bare = states.State(state.fields, state.flow, {})
    advice = states.answer(bare, records)
    method = job_records.method_of(state.flow.get("method"))
    callout = dataclasses.replace(advice.callout, quantity=pieces or advice.callout.quantity)
    job = job_records.job_done(
        callout=callout,
        starting=advise(callout, advice.shop, executor=generated.run),
        quoted=advise(callout, advice.shop, executor=generated.run, records=records.jobs()),
        method=method,
        misses=misses,
        done_on=datetime.date.today().isoformat(),
        note=job_records.text_of(state.more.get("note"), "note"),
        program=version(),
        **took,
    )
    wild = job_records.tenfold_off(job)
    if wild and not state.more.get("yes"):
        return _done(bare, records, {**took, "pieces": pieces, "misses": misses, "once": once}, wild)
    job_records.Records(records.place()).add(job)
    if once:
        if len(_KEPT) > 1000:
            _KEPT.clear()
        _KEPT[once] = job.id
    return Move(states.join("/lathe/recorded", {**onward, "id": job.id}))


def recorded(state: State, *, records: Records, **_: object) -> Screen:
    """That a job was kept."""
    job = job_records.Records(records.place()).find(state.more.get("id", ""))
    told = [("Job", job.id), ("Radius", job.radius), ("Method", job.method), ("Pieces", str(job.pieces))]
    for name, took in (("Tooling", job.tooling), ("Setup", job.setup), ("All pieces", job.minutes)):
        if took is not None:
            told.append((name, wording.minutes(took)))
    if job.misses is not None:
        told.append(("Missed", str(job.misses)))
    told.append(("Expected", wording.minutes(job.quoted) if job.quoted is not None else "not known"))
    again = states.State(state.fields, {}, {})
    return Screen(
        "recorded.html",
        told=told,
        again=again.address("/lathe/answer"),
        new="/lathe",
        place="lathe",
        same="turn-radius records",
    )
