"""On the bench beside the master: choose first, then see; what goes wrong; the words."""

from __future__ import annotations

import shlex
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.answer import wording
from advisor.asked.options import plain as plain_options
from advisor.drawing.error_pictures import pictures, together
from advisor.ground.errors import CalloutError
from advisor.page import state as states
from advisor.page import svg, words_in
from advisor.page.lathe import settable
from advisor.page.made import File, Move, Screen
from advisor.rulebase import glossary
from advisor.show import practise as words
from advisor.study import practise

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from advisor.answer.advice import Advice, MethodAdvice
    from advisor.drawing.error_pictures import Wrong
    from advisor.page.made import Made
    from advisor.page.state import Records, State
    from advisor.study.practise import Exercise

COUNT, MOST_SEED = 8, 1_000_000
ROOM = (120.0, 84.0)  # mm of paper for what goes wrong


# ---- which would you choose


def learn(state: State, **_: object) -> Made:
    """One exercise of a ladder, and what may be chosen."""
    seed, number = _place(state)
    if seed is None:
        return Move(states.join("/learn", {"seed": practise.read_score(practise.place()).rounds, "n": 1}))
    one, advice = _exercise(seed, number)
    return Screen(
        "learn.html",
        number=number,
        count=COUNT,
        asked=wording.callout_line(advice),
        work=words.work(advice),
        methods=practise.method_names(),
        nothing=practise.NOTHING,
        picture=states.join("/drawing/work.svg", _fields(one, advice)),
        hidden=[("seed", seed), ("n", number)],
        wrong_address=states.join("/learn/wrong", _fields(one, advice)),
        place="learn",
        same=f"turn-radius practise --count {COUNT} --seed {seed}",
    )


def _place(state: State) -> tuple[int, int] | tuple[None, int]:
    seed, number = state.more.get("seed", ""), state.more.get("n", "1")
    if not seed.isdecimal() or not number.isdecimal():
        return None, 1
    return min(int(seed[:7]), MOST_SEED), min(max(int(number[:3]), 1), COUNT)


@lru_cache(maxsize=4)
def _ladder(seed: int) -> list[Exercise]:
    return practise.ladder(seed, COUNT)


def _exercise(seed: int, number: int) -> tuple[Exercise, Advice]:
    one = _ladder(seed)[number - 1]
    return one, _advice(seed, number)


@lru_cache(maxsize=32)
def _advice(seed: int, number: int) -> Advice:
    return practise.advice_on(_ladder(seed)[number - 1])


def _fields(one: Exercise, advice: Advice) -> dict[str, str]:
    """The callout of an exercise as an address has it."""
    c = one.callout
    fields = {"radius": c.text, "form": c.form, "location": c.location, "units": c.units, "shop": _shop_name(one)}
    for name in ("diameter", "width", "from_end", "shoulder_height", "length", "bore", "stickout"):
        value = getattr(c, name)
        if value and not (name == "width" and c.location == "end" and c.form == "convex"):
            fields[name] = f"{value:.6g} mm"
    fields |= {"material": c.material, "quantity": str(c.quantity), "places": str(c.places)}
    for name, option in plain_options().items():
        value = getattr(c, name)
        if value != option.usual and value is not False or option.kind == "words":
            fields[name] = "yes" if value is True else f"{value:g}" if option.kind == "number" else value
    fields |= {"support": c.support, "tool": c.tool}
    if c.hardness:
        fields["hardness"] = f"{c.hardness:.4g} HB"
    if c.general_tolerance:
        fields["general_tolerance"] = c.general_tolerance
    return fields


def _shop_name(one: Exercise) -> str:
    """The name by which the page knows the shop of an exercise."""
    return next((name for name in states.shop_names() if states.shop_called(name).name == one.shop.name), "")


def choose(state: State, *, request: Request, form: FormData | None, **_: object) -> Made:
    """His choice beside the program's, and the reason that decides."""
    seed, number = _place(state)
    if seed is None:
        return Move("/learn")
    one, advice = _exercise(seed, number)
    text = state.more.get("choice", "")
    known = [*practise.method_names(), practise.NOTHING]
    if text not in known:
        raise CalloutError("choice", text, "is no method", f"Give one of {', '.join(known)}.")
    choice = None if text == practise.NOTHING else text
    judged = practise.judged(one, advice, choice)
    if request.method == "POST":
        path = practise.place()
        if path is not None:
            score = practise.read_score(path)
            practise.keep(practise.scored(score, one, judged)._replace(rounds=score.rounds + (number == COUNT)), path)
        return Move(states.join("/learn/choose", {"seed": seed, "n": number, "choice": text}))
    path = practise.place()
    score = practise.read_score(path)
    named = advice.recommended if judged.right or choice is None or advice.best is None else choice
    onward = {"seed": seed, "n": number + 1} if number < COUNT else {"seed": score.rounds}
    return Screen(
        "judged.html",
        asked=wording.callout_line(advice),
        verdict=words.verdict(one, advice, choice, judged),
        right=judged.right,
        beside=words.beside(judged) if judged.comparison else None,
        reasons=words.reasons(advice, choice, judged),
        term=glossary.find(named) if named else None,
        score=[(name, right, asked) for name, (right, asked) in score.methods.items()],
        onward=states.join("/learn", {name: str(value) for name, value in onward.items()}),
        last=number == COUNT,
        map_address=states.join("/learn/map", _fields(one, advice)),
        wrong_address=states.join("/learn/wrong", _fields(one, advice)),
        answer=states.join("/lathe/answer", _fields(one, advice)),
        place="learn",
        same=f"turn-radius practise --count {COUNT} --seed {seed}",
    )


# ---- what goes wrong


def _wrongs(state: State, records: Records) -> tuple[MethodAdvice, Advice, list[Wrong]]:
    advice = states.answer(state, records)
    method = settable(advice, state)
    return method, advice, pictures(method, advice)


def wrong(state: State, *, records: Records, **_: object) -> Screen:
    """Picture first, then what was set wrong, then the answer."""
    method, advice, found = _wrongs(state, records)
    shown = [
        {
            "title": one.title,
            "says": one.says,
            "picture": state.address("/drawing/wrong.svg", which=n),
        }
        for n, one in enumerate(found)
    ]
    return Screen(
        "wrong.html",
        asked=wording.callout_line(advice),
        method=method.name,
        shown=shown,
        answer=state.address("/lathe/answer"),
        place="learn",
        same=f"{states.command(state)} --picture",
    )


def wrong_picture(state: State, *, records: Records, **_: object) -> File:
    _, _, found = _wrongs(state.without("which"), records)
    which = state.more.get("which", "0")
    one = found[min(int(which), len(found) - 1) if which.isdecimal() and len(which) < 4 else 0]
    picture = together([one], room=ROOM)
    # The title would tell what was set wrong before anybody has thought about it.
    picture.labels[:] = [
        label for label in picture.labels if not label.words.startswith(one.title.upper()) and label.words != one.title
    ]
    return File(
        svg.drawn(picture, says="The arc as it should be and as it comes out, the error drawn much too large").encode(),
        "image/svg+xml",
        keep=True,
    )


# ---- words


def word(state: State, *, request: Request, **_: object) -> Screen:
    """A word of the trade with its sketch, or all of them."""
    asked = request.path_params.get("word") or state.more.get("name")
    terms = [(name, words_in.address(name)) for name in sorted(glossary.terms(), key=str.lower)]
    term = words_in.of_address(asked) or glossary.find(asked) if asked else None
    see = [(name, words_in.address(glossary.find(name).name)) for name in term.see] if term else []
    return Screen(
        "word.html",
        term=term,
        see=see,
        terms=terms,
        place="learn",
        same=f"turn-radius word {shlex.quote(term.name) if term else ''}".strip(),
    )
