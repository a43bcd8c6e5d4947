"""The interview: it asks for nothing that cannot change the answer, and stops when nothing can."""

import io
import json
import shlex
import statistics
from pathlib import Path

import numpy
import pytest
from command import run
from often import often
from test_words import EVERYDAY, in_plain_words

from advisor.answer import advice, wording
from advisor.asked import callout, materials, shop
from advisor.ground.errors import CalloutError
from advisor.lists import listing
from advisor.lists.pricing import Desk
from advisor.study import interview

WORKED = sorted((Path(__file__).parent.parent.parent / "cases").glob("*.toml"))
FIRST = ("radius", "places", "interrupted", "bore", "finish", "form", "location", "diameter", "units", "shop", "lathe")
PLAIN = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}


class Room:
    """A shop and what reads callouts in it."""

    def __init__(self, name=None):
        self.shop = shop.read_shop(name or shop.USUAL_SHOP)
        self.rules = Desk(self.shop, ()).rules

    def read(self, fields):
        return callout.read_callout(fields, materials=materials.materials(), inch_tolerances=self.shop.inch_tolerances)

    def step(self, talk, **options):
        return interview.step(talk, self.read, self.shop, self.rules, **options)


def talked(path):
    """An interview about a worked case, whose answers are what the case states and "don't know" for the rest: the room, the
    fields that were known at each step, and the steps."""
    fields = callout.open_case(path).fields
    room = Room(fields.get("shop"))
    talk = interview.begun({name: value for name, value in fields.items() if name in FIRST})
    steps, known = [room.step(talk)], [talk.fields]
    while steps[-1].question:
        question = steps[-1].question
        parts = [f"{name.replace('_', ' ')} {fields[name]}" for name in question.facts if name in fields]
        talk = interview.answer(talk, question, ", ".join(parts))
        steps.append(room.step(talk))
        known.append(talk.fields)
    return room, known, steps


@pytest.fixture(scope="module")
def worked():
    return {path.stem: talked(path) for path in WORKED[:: often(2, 1)]}


ROOM = Room()
PLAIN_OPTIONS = ("R6 ±0.1", "--form=convex", "--location=corner", "--diameter=40 mm")


# ---- what the interview promises


def test_two_questions_are_enough_in_the_median_of_the_worked_cases(worked):
    counts = [len(steps) - 1 for _, _, steps in worked.values()]
    assert statistics.median(counts) <= 2
    assert max(counts) <= 5


def test_no_question_is_dead(worked):
    """Every question names a fact of which two values give two answers, the rest alike: found anew with other completions,
    and held against the advice on a callout that states every fact in words."""
    for name, (room, known, steps) in list(worked.items())[::3]:
        for fields, step in zip(known[:-1], steps, strict=False):
            if step.outlook is None:
                continue
            live = [fact for fact in step.outlook.open if fact.name in step.question.facts]
            assert any(_turns(room, fields, step, fact) for fact in live), f"{name}: {step.question.name}"


def _turns(room, fields, step, fact):
    open_ = step.outlook.open
    bases, _ = interview.drawn(open_, 400, numpy.random.default_rng(7))
    every = {**{one.name: numpy.tile(bases[one.name], len(fact.codes)) for one in open_}}
    every[fact.name] = numpy.repeat(fact.codes, 400)
    found = interview.choices(interview.trial(step.callout, room.shop, room.rules, every, len(every[fact.name])))
    table = found.reshape(len(fact.codes), 400)
    possible = table != interview.IMPOSSIBLE
    for base in numpy.flatnonzero(possible.sum(axis=0) > 1):
        values = numpy.flatnonzero(possible[:, base])
        codes = table[values, base]
        other = numpy.flatnonzero(codes != codes[0])
        if len(other):
            pair = values[0], values[other[0]]
            said = [_advised(room, fields, every, int(value) * 400 + int(base)) for value in pair]
            assert said == [_method(room, table[value, base]) for value in pair]
            assert said[0] != said[1]
            return True
    return False


def _method(room, code):
    return room.rules.methods[code]["name"] if code >= 0 else None


def _advised(room, fields, completions, row):
    """The method advised for one completion, put into the words of a case file."""
    fields = dict(fields)
    table = list(materials.materials().values())
    for name, column in completions.items():
        value = column[row].item()
        if name in ("skill", "support"):
            fields[name] = listing.CODED[name][value]
        elif name == "material":
            fields[name] = table[value]["name"]
        elif name == "tool":
            fields[name] = "carbide" if value else "high-speed steel"
        elif name in ("quantity", "places"):
            fields[name] = int(value)
        elif name == "general_tolerance":
            fields[name] = f"±{value!r} mm"
        elif name == "minutes_in_piece":
            fields[name] = f"{value!r} min"
        elif name != "hardness" and value == value:
            fields[name] = f"{value!r} mm"
    if "hardness" in completions:
        row_of = materials.find_material(fields.get("material", "low-carbon steel"))
        low, high = materials.tried_hardness(row_of)
        fields["hardness"] = f"{min(max(row_of['hardness'] * completions['hardness'][row].item(), low), high)!r} HB"
    told = room.read(fields)
    return advice.recommended(room.rules, advice.givens(told, room.shop, advice.lathe_for(told, room.shop)))


def test_a_hundred_thousand_completions_agree_when_it_stops(worked):
    rng = numpy.random.default_rng(2026)
    for number, (name, (room, _, steps)) in enumerate(worked.items()):
        found = steps[-1].outlook
        count = 100_000 if number % 6 == 0 else 4_000
        completions, _ = interview.drawn(found.open, count, rng)
        if completions:
            codes = interview.choices(interview.trial(found.callout, room.shop, room.rules, completions, count))
            methods = {_method(room, code) for code in numpy.unique(codes[codes != interview.IMPOSSIBLE]).tolist()}
            assert methods == {found.choice}, name


def test_the_answer_at_the_end_is_the_advice_on_what_was_said(worked):
    for name, (room, known, steps) in list(worked.items())[::5]:
        told = advice.advise(room.read(known[-1]), room.shop)
        assert steps[-1].outlook.choice == told.recommended, name


def test_minutes_too_are_settled_where_they_are_asked_for():
    room = Room()
    talk = interview.begun(PLAIN | {"quantity": 12, "material": "brass"})
    assert room.step(talk).question is None
    step = room.step(talk, minutes_too=True)
    assert step.question
    while step.question:
        talk = interview.answer(talk, step.question, "-")
        step = room.step(talk, minutes_too=True)
    low, high = step.outlook.minutes
    assert high <= low * interview.MINUTES_APART


# ---- answers


def test_back_loses_nothing():
    room = Room()
    talk = interview.begun({})
    for text in ("R6 ±0.1, interrupted", "1", "40 mm", "12"):
        before = talk
        talk = interview.answer(talk, room.step(talk).question, text)
    assert interview.back(talk) == before._replace(said=talk.said)
    assert list(talk.said.values()) == ["R6 ±0.1, interrupted", "1", "40 mm", "12"]
    for _ in range(9):
        talk = interview.back(talk)
    assert talk.fields == {} and talk.said["radius"] == "R6 ±0.1, interrupted"


@pytest.mark.parametrize(
    "question, text, fields",
    [
        ("radius", "R6 ±0.1", {"radius": "R6 ±0.1"}),
        ("radius", "R6,5 ±0,1, 2 places, interrupted", {"radius": "R6,5 ±0,1", "places": "2", "interrupted": "yes"}),
        ("radius", "R6, bore 12 mm, Ra 0.8", {"radius": "R6", "bore": "12 mm", "finish": "Ra 0.8"}),
        ("place", "6", {"location": "outside diameter", "form": "concave"}),
        ("place", "Fillet", {"location": "corner", "form": "concave"}),
        ("width", "depth 2 mm", {"depth": "2 mm"}),
        ("job", "12, minutes in piece 30", {"quantity": "12", "minutes_in_piece": "30"}),
        ("material", "tool steel, 28 HRC", {"material": "tool steel", "hardness": "28 HRC"}),
        ("holding", "60 mm stickout", {"stickout": "60 mm"}),
        ("hand", "apprentice, carbide", {"skill": "apprentice", "tool": "carbide"}),
        ("hand", "I don't know", None),
        ("hand", "don't know", {}),
        ("hand", "", {}),
    ],
)
def test_answers_are_read_as_they_are_typed(question, text, fields):
    asked = interview.questions()[question]
    if fields is None:
        with pytest.raises(CalloutError):
            Room().step(interview.answer(interview.begun(PLAIN), asked, text))
        return
    talk = interview.answer(interview.begun({}), asked, text)
    assert talk.fields == fields
    assert set(asked.facts) <= set(talk.settled)


@pytest.mark.parametrize(
    "question, text", [("radius", "six"), ("radius", ""), ("place", "7"), ("diameter", "wide"), ("hand", "a, b, c")]
)
def test_an_answer_that_cannot_be_read_is_refused(question, text):
    with pytest.raises(CalloutError):
        interview.answer(interview.begun({}), interview.questions()[question], text)


def test_thin_work_far_out_is_asked_how_it_is_held():
    """What the chuck alone cannot hold is no error while nobody has said what holds it."""
    room = Room()
    fields = {"radius": "R3 ±0.2", "form": "concave", "location": "outside diameter", "diameter": "8 mm"}
    talk = interview.begun(fields | {"width": "4 mm", "from_end": "150 mm"})
    step = room.step(talk)
    assert step.question.name == "holding"
    assert room.step(interview.answer(talk, step.question, "tailstock")).outlook
    with pytest.raises(CalloutError, match="chuck alone"):
        room.step(interview.answer(talk, step.question, "don't know"))


def test_a_dish_is_asked_how_wide_it_is():
    """From edge to edge is taken where nobody says more, but it is asked: a rim may be left."""
    room = Room()
    talk = interview.begun({"radius": "R50 ±0.5", "form": "concave", "location": "end", "diameter": "40 mm"})
    step = room.step(talk)
    assert step.question.name == "width" and not step.question.needed
    assert room.step(interview.answer(talk, step.question, "30 mm")).callout.rim == 5
    whole = interview.answer(talk, step.question, "")
    assert room.step(whole).callout.width == 40 and room.step(whole).question.name != "width"


def test_work_that_no_lathe_takes_is_refused_at_its_diameter(monkeypatch):
    ran = typed(monkeypatch, "R6 ±0.1", "1", "2 m", "40 mm")
    assert "swing" in ran.out and "How many pieces?" in ran.out


# ---- the command


def typed(monkeypatch, *lines, options=()):
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
    return run("ask", *options)


def test_a_talk_with_two_questions(monkeypatch):
    ran = typed(monkeypatch, "R6 ±0.1", "1", "40 mm", "12", "brass")
    assert ran.status == 0
    assert "quantity  1: freehand; 5: pivot attachment; 25, 100, 500: form tool" in ran.out
    assert "Nothing that I have not asked can change the method." in ran.out
    assert "FORM TOOL" in ran.out
    command = ran.out.strip().splitlines()[-1]
    assert command == (
        "  turn-radius advise 'R6 ±0.1' --form convex --location corner --diameter '40 mm' --material brass --quantity 12"
    )
    again = run(*shlex.split(command)[1:])
    assert again.out.strip() in ran.out


def test_a_talk_without_a_question_stops_at_once(monkeypatch):
    known = ("--material", "low-carbon steel")
    ran = typed(monkeypatch, options=("--case", Path("cases") / "bollard-edge.toml", *known))
    assert ran.status == 0 and ">" not in ran.out.split("SET, in this order")[0]


def test_a_wrong_answer_is_asked_again_and_nothing_is_lost(monkeypatch):
    ran = typed(monkeypatch, "R6 ±0.1", "1", "4 mm", "40 mm", "twelve", "quit")
    assert "radius: R6 is more than 2 mm, half the diameter." in ran.out
    assert "quantity: twelve is not a whole number." in ran.out
    assert ran.out.count("How many pieces?") == 2
    assert ran.status == 1


@pytest.mark.parametrize("last", [("quit",), ()])
def test_who_stops_is_told_how_to_go_on(monkeypatch, last):
    ran = typed(monkeypatch, "R6 ±0.1", "1", "40 mm", "-", *last)
    assert ran.status == 1
    command = ran.out.strip().splitlines()[-1].strip()
    assert command.endswith("--diameter '40 mm' --unknown quantity,minutes_in_piece")
    data = run(*shlex.split(command)[1:], "--json").data
    assert data["unknown"] == ["quantity", "minutes_in_piece"]
    assert data["question"]["name"] != "job"


def test_what_was_not_known_and_matters_is_told(monkeypatch):
    ran = typed(monkeypatch, *("-",) * 9, options=("SR15 ±0.05", "--form=convex", "--location=end", "--diameter=30 mm"))
    assert "YOU DID NOT KNOW, AND IT MATTERS" in ran.out
    assert "quantity  1 is taken. 1: freehand; 5, 25, 100, 500: pivot attachment." in ran.out


def test_what_the_minutes_still_hang_on_is_told_with_numbers(monkeypatch):
    ran = typed(monkeypatch, options=(*PLAIN_OPTIONS, "--quantity=12", "--material=brass"))
    told = " ".join(ran.out.split())
    assert "The minutes still hang on skill: 49 to 80 min." in told
    assert "To be asked for that too: turn-radius ask 'R6 ±0.1'" in told and "--minutes R6" in told
    found = interview.step(
        interview.begun(PLAIN | {"quantity": 12, "material": "brass"}), ROOM.read, ROOM.shop, ROOM.rules
    )
    (low, high) = found.outlook.hang["skill"]
    each = []
    for skill in ("apprentice", "journeyman", "expert"):
        callout = ROOM.read(PLAIN | {"quantity": 12, "material": "brass", "skill": skill})
        each.append(advice.advise(callout, ROOM.shop).methods["form tool"].minutes["batch"]["mean"])
    assert (low, high) == pytest.approx((min(each), max(each))) and high > interview.MINUTES_APART * low
    asked = run("ask", *PLAIN_OPTIONS, "--quantity=12", "--material=brass", "--json").data
    assert asked["answer"]["minutes_hang_on"]["skill"] == pytest.approx([low, high])


def test_a_choice_that_hangs_on_what_nobody_said_is_told_in_how_many_ways(monkeypatch):
    dome = ("SR15 ±0.05", "--form=convex", "--location=end", "--diameter=30 mm")
    told = " ".join(typed(monkeypatch, *("-",) * 9, options=dome).out.split())
    said = advice.advise(
        ROOM.read({"radius": dome[0], "form": "convex", "location": "end", "diameter": "30 mm"}), ROOM.shop
    )
    share = wording.chance(interview.agreed(said))
    assert f"Freehand turning is the choice in {share} ways in which these and the rest may lie." in told
    full = " ".join(run("advise", *dome, "--full").out.split())
    assert "No close call" not in full
    plain = advice.advise(ROOM.read(PLAIN), ROOM.shop)
    told = " ".join(run("advise", *PLAIN_OPTIONS, "--full").out.split())
    share = interview.agreed(plain)
    assert 0 < share < 0.2 and f"The choice in {wording.chance(share)} ways in which what nobody stated" in told


def test_hardened_work_is_tried_and_a_centre_on_an_end_is_told(monkeypatch):
    fields = {"radius": "R30 ±0.3", "form": "convex", "location": "end", "diameter": "40 mm", "quantity": "30"}
    found = ROOM.step(interview.begun(fields | {"material": "tool steel"})).outlook
    (hardness,) = [fact for fact in found.open if fact.name == "hardness"]
    assert max(hardness.values) == 650 and found.values["hardness"][-1].method is None and "hardness" in found.live
    soft = fields | {"material": "brass", "skill": "journeyman", "tool": "hss", "minutes_in_piece": "0"}
    found = ROOM.step(interview.begun(soft)).outlook
    assert [value.value for value in found.beyond["support"]] == ["tailstock"]
    assert found.beyond["support"][0].method is None
    options = [
        word for name, value in soft.items() if name != "radius" for word in (f"--{name.replace('_', '-')}", value)
    ]
    told = typed(monkeypatch, options=(soft["radius"], *options)).out
    assert "support  tailstock: nothing stands" in told


def test_the_next_question_as_data():
    first = run("ask", "--json").data
    assert first["question"]["name"] == "radius" and first["answer"] is None and not first["settled"]
    place = run("ask", "R6 ±0.1", "--json").data["question"]
    assert [answer["shape"] for answer in place["answers"]][:2] == ["rounded corner", "fillet"]
    options = [word for name, value in PLAIN.items() if name != "radius" for word in (f"--{name}", value)]
    data = run("ask", PLAIN["radius"], *options, "--json").data
    question = data["question"]
    assert question["name"] == "job"
    quantity = question["facts"][0]
    assert [value["method"] for value in quantity["values"]][:2] == ["freehand", "pivot attachment"]
    assert all(sum(share["share"] for share in value["shares"]) == pytest.approx(1) for value in quantity["values"])
    assert set(data["live"]) <= {one["name"] for one in data["open"]}
    done = run("ask", PLAIN["radius"], *options, "--quantity=12", "--material=brass", "--json").data
    assert done["settled"] and done["question"] is None and done["answer"]["method"] == "form tool"
    json.dumps(done)


@pytest.mark.parametrize("case", WORKED[:: often(9, 4)], ids=lambda path: path.stem)
def test_every_word_of_the_interview_is_a_term_or_everyday(case, monkeypatch):
    monkeypatch.setenv("COLUMNS", "400")
    ran = typed(monkeypatch, *["-"] * 9, options=("--case", case, "--minutes"))
    told = ran.out.split("Shop ")[0].split("To go on from here")[0]
    assert not sorted(in_plain_words(told) - EVERYDAY)


def test_an_unknown_that_is_nothing_that_is_asked():
    ran = run("ask", "R6", "--unknown", "materiel")
    assert ran.status == 2 and 'Did you mean "material"?' in ran.complaint


def test_what_nobody_stated_and_would_turn_the_answer_is_told_in_advise():
    ran = run("advise", "SR15 ±0.05", "--form=convex", "--location=end", "--diameter=30 mm", "--json")
    assumed = {entry["name"]: entry for entry in ran.data["assumed"]}
    assert {"value": 25, "method": "pivot attachment"} in assumed["quantity"]["turns"]
    assert assumed["quantity"]["matters"] and not assumed["units"]["turns"] == []
