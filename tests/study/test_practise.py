"""Practice: a ladder in which each method is right about equally often, choices judged by the advice itself, a score kept."""

import io
import json
import math
from collections import Counter

import pytest
from command import run
from shown import as_text
from test_words import EVERYDAY, in_plain_words

from advisor.answer import advice
from advisor.asked import callout, materials, shop
from advisor.ground.errors import CalloutError
from advisor.rulebase import glossary
from advisor.show import practise as screens
from advisor.study import changes, practise


@pytest.fixture(scope="module")
def ladders():
    return [practise.ladder(seed, 10) for seed in range(6)]


def test_the_same_seed_draws_the_same_ladder(ladders):
    assert [one.callout for one in practise.ladder(3, 10)] == [one.callout for one in ladders[3]]
    assert len({one.callout.text for ladder in ladders for one in ladder}) > 30


def test_each_method_is_right_about_equally_often(ladders):
    right = Counter(one.right for ladder in ladders for one in ladder)
    counts = [right[name] for name in practise.method_names()]
    assert min(counts) >= 7 and max(counts) <= 13
    assert 3 <= right[None] <= 10


def test_a_ladder_goes_from_plain_to_hard_and_has_close_calls(ladders):
    for ladder in ladders:
        rungs = [one.rung for one in ladder]
        assert rungs == sorted(rungs) and rungs[0] == 1 and rungs[-1] == practise.RUNGS
        assert len({id(one.callout) for one in ladder}) == len(ladder)
    close = [one for ladder in ladders for one in ladder if len(one.accepted) > 1]
    assert len(close) >= len(ladders)


def test_what_is_right_is_the_advice(ladders):
    for one in ladders[0] + ladders[1]:
        advised = advice.advise(one.callout, one.shop)
        assert advised.recommended == one.right
        assert advised.close_call == (len(one.accepted) > 1)
        assert one.right is None or one.right == one.accepted[0]


def test_the_next_ladder_leans_to_what_went_wrong():
    wrong = practise.Score({"radius rod": [0, 4], **{name: [4, 4] for name in practise.method_names()[:3]}}, {}, 1)
    right = Counter(one.right for one in practise.ladder(5, 12, wrong))
    assert right["radius rod"] > right["form tool"]


def test_close_calls_accept_both(ladders):
    one = next(one for ladder in ladders for one in ladder if len(one.accepted) > 1)
    told = practise.advice_on(one)
    assert all(practise.judged(one, told, name).right for name in one.accepted)


def test_a_wrong_choice_would_be_right_after_the_change_that_is_named(ladders):
    """The advice is worked out again with the change."""
    seen = 0
    for one in (ladders[0] + ladders[2])[::2]:
        told = practise.advice_on(one)
        wrong = next(m.name for m in told.ranked if m.name not in one.accepted)
        found = practise.judged(one, told, wrong)
        assert not found.right and found.mistake
        if isinstance(found.change, changes.Change):
            assert changes.choice_at(told, found.change.name, found.change.value) == wrong
            seen += 1
    assert seen >= 2


@pytest.mark.parametrize(
    "text, choice",
    [
        ("1", ("form tool", "")), ("form tool", ("form tool", "")), ("rod", ("radius rod", "")),
        ("Pivot", ("pivot attachment", "")), ("freehand because it is one piece", ("freehand", "it is one piece")),
        ("none", (None, "")), ("6", (None, "")), ("swung-compound", ("swung compound", "")),
    ],
)  # fmt: skip
def test_choices_are_read_as_they_are_typed(text, choice):
    assert practise.read_choice(text) == choice


@pytest.mark.parametrize("text", ["7", "chisel", "tool and rod", "0"])
def test_a_choice_that_is_none_is_refused(text):
    with pytest.raises(CalloutError):
        practise.read_choice(text)


def test_numbers_to_set_are_those_of_the_setup(ladders):
    asked = 0
    for one in (one for ladder in ladders for one in ladder):
        told = practise.advice_on(one)
        name = practise.setting(one, told)
        assert name is None or told.best
        if name:
            asked += 1
            assert "What do you set" in as_text(screens.set_question(name, told))
            assert as_text(screens.set_result(name, told, True)).strip().startswith("Right: ")
            assert practise.set_right(told.values[name], told.values[name])
            assert not practise.set_right(1.1 * told.values[name] + 0.1, told.values[name])
    assert asked > 30


def test_what_is_wound_is_asked_as_the_dial_reads_it():
    """On a dial that reads the diameter a groove 2 mm deep takes 4 mm of dial; the rest stands as it is."""
    fields = {
        "radius": "R4 ±0.1",
        "form": "concave",
        "location": "outside diameter",
        "diameter": "30 mm",
        "width": "4 mm",
    }
    for name in ("training-shop", "jobbing-shop"):
        held = shop.read_shop(name)
        told = advice.advise(callout.read_callout(fields | {"quantity": 50}, materials=materials.materials()), held)
        deep = 4 - math.sqrt(4**2 - 2**2)
        twice = 2 if told.lathe.dials == "diameter" else 1
        assert practise.reading("form_tool_infeed", told) == pytest.approx(twice * deep)
        assert practise.reading("edge_width", told) == told.values["edge_width"]


def test_numbers_are_asked_oftener_where_they_go_wrong_most():
    assert [practise.asks_number(place, practise.Score({}, {}, 0)) for place in (1, 2, 3)] == [False, True, False]
    wrong = practise.Score({}, {practise.NUMBER: 3, "will not do": 1}, 1)
    assert practise.asks_number(1, wrong)


# ---- the command


def practised(tmp_path, answers, *options):
    return run("practise", "--seed=4", "--score", tmp_path / "score.json", "--answers", answers, *options)


def test_a_round_told_ahead(tmp_path):
    ladder = practise.ladder(4, 3)
    right = [one.right or "none" for one in ladder]
    ran = practised(tmp_path, f"{right[0]} because I say so; {right[1]}; ; {right[2]}", "--count=3")
    assert ran.status == 0
    assert ran.out.count("\nRight") == 3 and "You said: I say so." in ran.out
    kept = json.loads((tmp_path / "score.json").read_text(encoding="utf-8"))
    assert kept["rounds"] == 1 and sum(asked for _, asked in kept["methods"].values()) == 3
    assert sum(got for got, _ in kept["methods"].values()) == 3 and not kept["mistakes"]


def test_a_wrong_choice_shows_the_right_word_and_what_would_make_it_right(tmp_path):
    one = practise.ladder(4, 1)[0]
    wrong = next(name for name in practise.method_names() if name not in one.accepted)
    ran = practised(tmp_path, wrong, "--count=1")
    assert "The program takes" in ran.out and "right" in ran.out
    assert glossary.find(one.right).means[:30] in " ".join(ran.out.split())
    kept = json.loads((tmp_path / "score.json").read_text(encoding="utf-8"))
    assert sum(kept["mistakes"].values()) == 1


def test_the_score_is_kept_when_somebody_stops(tmp_path, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("chisel\n1\n"))
    ran = run("practise", "--seed=4", "--score", tmp_path / "score.json")
    assert ran.status == 0 and "choice: chisel is none of the methods." in ran.out and "YOUR SCORE" in ran.out
    assert json.loads((tmp_path / "score.json").read_text(encoding="utf-8"))["rounds"] == 1

    def interrupted(terminal):
        raise KeyboardInterrupt

    monkeypatch.setattr("advisor.cli.Terminal.typed", interrupted)
    ran = run("practise", "--seed=4", "--score", tmp_path / "score.json")
    assert ran.status == 0 and "YOUR SCORE" in ran.out


@pytest.mark.parametrize("content", ["", "{}", "[1]", '{"methods": {"freehand": [2, 1]}, "mistakes": {}, "rounds": 1}'])
def test_a_file_that_is_no_score_is_refused_and_left_alone(tmp_path, content):
    (tmp_path / "score.json").write_text(content)
    ran = practised(tmp_path, "1")
    assert ran.status == 2 and "is not a score" in ran.complaint
    assert (tmp_path / "score.json").read_text() == content


@pytest.mark.parametrize("option", ["--count=0", "--count=1000", "--count=many", "--seed=-1"])
def test_options_that_cannot_be(tmp_path, option):
    assert run("practise", option, "--score", tmp_path / "score.json").status == 2


def test_every_word_of_practice_is_a_term_or_everyday(tmp_path, monkeypatch):
    monkeypatch.setenv("COLUMNS", "400")
    ran = practised(tmp_path, "; ".join(["1", "2", "1 mm", "3", "4", "2 mm", "5", "6", ""] * 2))
    assert not sorted(in_plain_words(ran.out.split("Kept in")[0]) - EVERYDAY)


def test_what_the_shop_has_is_told_and_the_reason_is_judged_by_what_decides(tmp_path):
    """A dozen alike go under a form tool for their number, not for the material; the facts are those of the shop."""
    read = callout.read_callout(
        {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm", "quantity": 12},
        materials=materials.materials(), inch_tolerances=shop.read_shop("training-shop").inch_tolerances,
    )  # fmt: skip
    advised = advice.advise(read, shop.read_shop("training-shop"))
    facts = practise.shop_facts(advised)
    assert facts["widest_blank"] == 20.0 and facts["nearest_leaf"] == 6.0 and facts["pivot_convex_max"] > 6.0
    against = changes.compare(advised, "form tool", "freehand")
    assert practise.deciding_reasons(advised, against)[0] == "the quantity"
    assert practise.named_reasons("there are a dozen pieces") == ["the quantity"]
    assert practise.named_reasons("the steel is tough") == ["the material"]
    one = practise.Exercise("", read, shop.read_shop("training-shop"), "form tool", ("form tool",), 1, False)
    judged = practise.judged(one, advised, "freehand")
    told = as_text(screens.result(one, advised, "freehand", judged, "the steel is tough"))
    assert "not the material" in told and "FORM TOOL" in told and "FREEHAND\n" not in told
    assert "That is what decides" in as_text(screens.result(one, advised, "freehand", judged, "there are a dozen"))
    done = run(
        "practise", "--count", "1", "--seed", "4", "--answers", "?; quit", "--score", str(tmp_path / "score.json")
    )
    assert "Add your reason" in done.out
