"""The choice against that of people who were asked first.

`judged/callouts.json` holds seventy callouts over five invented shops (`judged/shops`), `judged/worked_cases.json` the
worked cases; each was judged twice, from the drawing and the shop alone, before the program was asked. They are
opinions of the trade and no measurements, so that what is held is how often the choice is one that a judge would make,
or call sound, and that it is never one that both call wrong.
"""

import json
from pathlib import Path

import pytest

from advisor.answer.advice import advise
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import InputError

HERE = Path(__file__).parent.parent
JUDGED = HERE / "judged"
CALLOUTS = json.loads((JUDGED / "callouts.json").read_text(encoding="utf-8"))
WORKED = json.loads((JUDGED / "worked_cases.json").read_text(encoding="utf-8"))


def chosen(fields, shop):
    """The method recommended; None where nothing stands or the callout is refused."""
    try:
        callout = callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
        return advise(callout, shop, executor=generated.run).recommended
    except InputError:
        return None


@pytest.fixture(scope="module")
def answers():
    """Of both lists: (name, the judges, the method)."""
    found = {"callouts": [], "worked cases": []}
    for row in CALLOUTS:
        shop = shops.read_shop(str(JUDGED / "shops" / f"{row['shop']}.toml"))
        found["callouts"].append((row["id"], row["judges"], chosen(row["callout"], shop)))
    for row in WORKED:
        case = callouts.open_case(HERE.parent / "cases" / f"{row['case']}.toml")
        shop = shops.read_shop(case.fields.get("shop", "training-shop"))
        found["worked cases"].append((row["case"], row["judges"], chosen(case.fields, shop)))
    return found


@pytest.mark.parametrize(("where", "sound", "best"), [("callouts", 66, 57), ("worked cases", 53, 47)])
def test_the_choice_is_one_that_somebody_would_make(answers, where, sound, best):
    agreed = [n for n, judges, method in answers[where] if any(method in (j["best"], *j["also"]) for j in judges)]
    same = [n for n, judges, method in answers[where] if any(method == j["best"] for j in judges)]
    names = [name for name, _, _ in answers[where]]
    assert len(agreed) >= sound, [name for name in names if name not in agreed]
    assert len(same) >= best, [name for name in names if name not in same]


def test_hardly_anything_is_chosen_that_both_call_wrong(answers):
    for where, most in (("callouts", 2), ("worked cases", 1)):
        wrong = [n for n, judges, method in answers[where] if method and all(method in j["wrong"] for j in judges)]
        assert len(wrong) <= most, wrong
