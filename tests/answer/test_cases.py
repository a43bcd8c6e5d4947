"""The worked cases: each gives the method and the rules that it names; the same in any order, unit or repetition."""

import random
import re
from collections import Counter
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from advisor.answer.advice import advise, rule_base
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.methods import methods
from advisor.rulebase import loading

HOUSE = Path(__file__).parent.parent.parent
CASES = sorted((HOUSE / "cases").glob("*.toml"))
LENGTHS = ("diameter", "width", "depth", "from_end", "shoulder_height", "length", "rim", "stickout", "bore")
SHAPES = {(place, form) for place in ("corner", "end", "outside diameter") for form in ("convex", "concave")}


def named(path):
    return path.stem


@cache
def case(path):
    return callouts.open_case(path)


def shop_of(path):
    return shops.read_shop(case(path).fields.get("shop", "training-shop"))


def read(path, fields=None):
    shop = shop_of(path)
    fields = case(path).fields if fields is None else fields
    return callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)


@cache
def answer(path):
    """What the chain says of a case."""
    return advise(read(path), shop_of(path))


def quick(path, fields=None, rules=None):
    return advise(read(path, fields), shop_of(path), rules=rules, executor=generated.run)


def said(advice):
    """What has to be the same: method, close call, who is out, and the rules that fired."""
    out = tuple(sorted(m.name for m in advice.methods.values() if m.rank is None))
    return advice.recommended, advice.close_call, out, frozenset(rule.id for rule in advice.outcome.fired)


@pytest.mark.parametrize("path", CASES, ids=named)
def test_case(path):
    expect, advice = case(path).expect, answer(path)
    assert expect.keys() <= {"method", "ruled_out", "rules", "close_call", "stands"}
    stands = expect.get("stands", True)
    assert (advice.recommended is not None) == stands
    assert advice.recommended == (expect["method"] if stands else None)
    out = {m.name for m in advice.methods.values() if m.rank is None}
    assert out == set(expect.get("ruled_out", () if stands else advice.methods))
    assert set(expect.get("rules", ())) <= {rule.id for rule in advice.outcome.fired}
    assert advice.close_call == expect.get("close_call", False)


@pytest.mark.parametrize("path", CASES, ids=named)
def test_a_case_says_in_a_line_what_it_is_about(path):
    assert re.match(r"# .{20,}\n\n\[callout\]\n", path.read_text())


def test_the_demonstration_is_there():
    demo = HOUSE / "cases" / "knob-corner.toml"
    assert answer(demo).recommended == "form tool" and answer(demo).callout.quantity == 12


def test_the_cases_cover_the_trade():
    answers = [answer(path) for path in CASES]
    wins = Counter(advice.recommended for advice in answers)
    out = Counter(m.name for advice in answers for m in advice.methods.values() if m.rank is None)
    assert len(CASES) >= 34
    assert all(wins[method] >= 3 and out[method] >= 2 for method in methods())
    assert wins[None] >= 2
    assert sum(advice.close_call for advice in answers) >= 4
    assert {(advice.callout.location, advice.callout.form) for advice in answers} == SHAPES
    assert {advice.callout.units for advice in answers} == {"mm", "inch"}
    assert {advice.shop.name for advice in answers} == {path.stem for path in (HOUSE / "cases/shops").glob("*.toml")}


@pytest.mark.parametrize("path", CASES, ids=named)
def test_the_same_case_twice_gives_the_same_answer(path):
    first, again = answer(path), advise(read(path), shop_of(path))
    assert said(again) == said(first)
    assert [m.minutes for m in again.ranked] == [m.minutes for m in first.ranked]


@pytest.fixture(scope="module", params=[7, 2024])
def shuffled(request, tmp_path_factory):
    """The rule base with the rules, steps and cautions of every file in another order."""
    folder = tmp_path_factory.mktemp("rules")
    lot = random.Random(request.param)
    for source in sorted((HOUSE / "rules").glob("*.toml")):
        head, *blocks = re.split(r"(?m)^(?=\[\[(?:rule|step|caution)\]\])", source.read_text())
        lot.shuffle(blocks)
        (folder / source.name).write_text(head + "\n".join(blocks))
    return loading.load(folder, cache=False)


def test_the_order_of_the_rules_changes_nothing(shuffled):
    assert [rule.id for rule in shuffled.rules] != [rule.id for rule in rule_base().rules]
    for path in CASES:
        other, first = quick(path, rules=shuffled), answer(path)
        assert said(other) == said(first), path.stem
        for name, method in first.methods.items():
            there = other.methods[name]
            assert there.minutes["batch"]["mean"] == pytest.approx(method.minutes["batch"]["mean"], rel=1e-9)
            assert [s.rule_id for s in there.steps] == [s.rule_id for s in method.steps]


def inches_as_mm(text):
    """A length in inches as a person writes it, such as 1-1/4 in, in millimetres: exact."""
    whole, _, part = text.removesuffix(" in").rpartition("-")
    inches = Fraction(whole or 0) + Fraction(part)
    return f"{float(inches * Fraction('25.4'))!r} mm"


INCH = [path for path in CASES if case(path).fields.get("units") == "inch"]


@pytest.mark.parametrize("path", INCH, ids=named)
def test_an_inch_case_in_millimetres_gives_the_same_answer(path):
    fields, first = dict(case(path).fields), answer(path)
    for name in LENGTHS:
        if name in fields:
            fields[name] = inches_as_mm(fields[name])
    c = first.callout
    fields["radius"] = f"{c.symbol}{c.radius!r} ±{c.tolerance!r} mm"
    fields["units"] = "mm"
    there, here = said(quick(path, fields)), said(first)
    assert there[:3] == here[:3]
    assert without_general_tolerance(there[3]) == without_general_tolerance(here[3])


METRIC = [path for path in CASES if path not in INCH]


@pytest.mark.parametrize("path", METRIC, ids=named)
def test_a_metric_case_on_an_inch_drawing_gives_the_same_answer(path):
    """The lengths keep their unit, so they convert exactly; whatever is shown is then in inches."""
    c = read(path)
    fields = dict(case(path).fields) | {"units": "inch", "radius": f"{c.symbol}{c.radius!r} ±{c.tolerance!r} mm"}
    assert all(str(fields[name]).endswith("mm") for name in LENGTHS if name in fields)
    there, here = said(quick(path, fields)), said(answer(path))
    assert there[:3] == here[:3]
    assert without_general_tolerance(there[3]) == without_general_tolerance(here[3])


def without_general_tolerance(ids):
    """The tolerance of these is written out, so rules that speak of a general tolerance have nothing to say."""
    return {i for i in ids if not i.startswith("accuracy.general-tolerance")}
