"""The whole rule base before outside judges: CLIPS runs the same rules, the engine and plain Python run the same
graph."""

import functools
import math

import possible_callouts as callouts
import pytest
from often import often

from advisor.answer import advice
from advisor.engine import generated
from advisor.engine.chaining import Chain

MANY = often(150, 1000)
SOME = often(40, 150)


@functools.cache
def possible():
    return callouts.possible(MANY)


def given(callout, shop):
    """What the rule base is given for a callout, and what the shop values otherwise."""
    return advice.givens(callout, shop, advice.lathe_for(callout, shop)), advice.overrides(shop)


def assert_same(one, other, *, close):
    """The same rules fired and every name has the same value; numbers to twelve digits where `close`."""
    assert {rule.id for rule in one.fired} == {rule.id for rule in other.fired}
    assert one.values.keys() == other.values.keys()
    differing = {n: (v, other.values[n]) for n, v in one.values.items() if not _same(v, other.values[n], close)}
    assert not differing


def _same(a, b, close):
    if isinstance(a, float) and isinstance(b, float):
        return (a != a and b != b) or a == b or (close and math.isclose(a, b, rel_tol=1e-12))
    return a == b


def test_clips_agrees_on_random_callouts():
    """Same conclusions, same findings with the same amounts: CLIPS evaluates every condition and every amount
    itself."""
    clips_judge = pytest.importorskip("clips_judge")
    judge = clips_judge.Judge(advice.rule_base())
    for _, callout, shop in possible():
        givens, constants = given(callout, shop)
        assert_same(generated.run(advice.rule_base(), givens, constants), judge.run(givens, constants), close=True)


def test_the_engine_agrees_with_plain_python_on_every_value():
    chain = Chain(advice.rule_base())
    for _, callout, shop in possible()[:SOME]:
        givens, constants = given(callout, shop)
        one, other = generated.run(advice.rule_base(), givens, constants), chain.run(givens, constants)
        assert [rule.id for rule in one.fired] == [rule.id for rule in other.fired]
        assert_same(one, other, close=False)


def test_a_search_sees_the_same_choice_as_the_whole_advice():
    for _, callout, shop in possible()[:SOME]:
        whole = advice.advise(callout, shop, executor=generated.run)
        assert advice.choice(callout, shop, whole.rules) == whole.recommended


def test_no_two_rules_contradict_each_other():
    for _, callout, shop in possible():
        outcome = generated.run(advice.rule_base(), *given(callout, shop))
        assert not outcome.conflicts and not outcome.errors


def test_every_method_that_is_ruled_out_has_a_reason_and_every_other_a_number():
    for _, callout, shop in possible()[:300]:
        whole = advice.advise(callout, shop, executor=generated.run)
        for method in whole.methods.values():
            reasons = [finding for finding in method.findings if finding.kind == "rules_out"]
            assert bool(reasons) == (method.standing == "ruled out")
            if method.rank:
                assert math.isfinite(method.minutes["batch"]["mean"]) and 0 <= method.in_tolerance <= 1
                assert method.setup is not None and method.steps
        ranks = sorted(method.rank for method in whole.methods.values() if method.rank)
        assert ranks == list(range(1, len(ranks) + 1))


def test_the_draw_reaches_every_shape_shop_and_most_methods():
    assert {(c.location, c.form) for _, c, _ in possible()} == set(callouts.SHAPES)
    assert {shop.name for _, _, shop in possible()} == set(callouts.SHOPS)
    chosen = {advice.choice(callout, shop, advice.rule_base()) for _, callout, shop in possible()}
    assert {"form tool", "freehand", "pivot attachment", "swung compound", None} <= chosen
