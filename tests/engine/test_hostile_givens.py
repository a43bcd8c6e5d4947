"""Every given in turn missing, zero, infinite or huge: no executor raises, and all three come to the same."""

import functools

import numpy
import pytest
from command import SHAPES
from often import often

from advisor.answer import advice
from advisor.asked import callout, materials
from advisor.asked import shop as shops
from advisor.engine import columns, generated
from advisor.engine.chaining import Chain

RULES = advice.rule_base()
HOSTILE = (float("nan"), 0.0, float("inf"), 1e300)
BOUND = 1e-9  # share by which columns may differ: they sum in another order


@functools.cache
def givens_of(shape):
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"} | SHAPES[shape]
    shop = shops.read_shop("training-shop")
    one = callout.read_callout(fields, materials=materials.materials())
    return advice.givens(one, shop, advice.lathe_for(one, shop))


def numbers(given):
    return [name for name, value in given.items() if type(value) is float]


def same(one, other):
    if isinstance(one, float) and isinstance(other, float):
        near = abs(one - other) <= BOUND * max(abs(one), abs(other)) if abs(one) < 1e307 else abs(other) > 1e306
        return one == other or (one != one and other != other) or near
    return one == other


@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # arrays overflow with a word of warning
@pytest.mark.parametrize("shape", SHAPES)
def test_fault_29_no_given_makes_an_executor_fall_or_differ(shape):
    given, chain = givens_of(shape), Chain(RULES)
    names = numbers(given)
    tried = [(name, value) for name in names for value in HOSTILE]
    tried = tried[list(SHAPES).index(shape) % often(3, 1) :: often(3, 1)]
    spread = {name: numpy.full(len(tried), value) if name in names else value for name, value in given.items()}
    for place, (name, value) in enumerate(tried):
        spread[name][place] = value
    held = columns.run(RULES, spread)
    for place, (name, value) in enumerate(tried):
        plain = generated.run(RULES, given | {name: value})
        row = held.row(place)
        assert [rule.id for rule in row.fired] == [rule.id for rule in plain.fired], (name, value)
        unlike = {
            one: (found, row.values[one]) for one, found in plain.values.items() if not same(found, row.values[one])
        }
        assert not unlike, (name, value, unlike)
        if place % often(31, 61) == 0:
            led = chain.run(given | {name: value})
            assert all(repr(found) == repr(led.values[one]) for one, found in plain.values.items()), (name, value)


def others(name, value):
    """What a word, a truth value or a list may be instead: none of the known, the other, empty."""
    return {"words": "", "truth": not value, "list": ()}[RULES.names[name].holds]


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize(("place", "shape"), tuple(enumerate(SHAPES)))
def test_no_word_list_or_truth_that_is_missing_makes_an_executor_fall_or_differ(place, shape):
    """Each given of another kind than a number, in one of the shapes."""
    given = givens_of(shape)
    for name in sorted(given.keys() - set(numbers(given)))[place :: len(SHAPES)]:
        changed = given | {name: others(name, given[name])}
        plain, row = generated.run(RULES, changed), columns.run(RULES, changed).row(0)
        assert [rule.id for rule in row.fired] == [rule.id for rule in plain.fired], name
        unlike = {
            one: (found, row.values[one]) for one, found in plain.values.items() if not same(found, row.values[one])
        }
        assert not unlike, (name, unlike)
