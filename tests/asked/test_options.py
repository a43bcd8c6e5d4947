"""A name of a case file in one place: what is nothing but a value of its own follows everywhere from its row of options.toml."""

import dataclasses

import pytest

from advisor.answer import advice
from advisor.asked import callout as callouts
from advisor.asked import materials, options
from advisor.asked import shop as shops
from advisor.commands.on_a_callout import OPTIONS
from advisor.lists import listing
from advisor.page import labels
from advisor.show import as_json
from advisor.study import changes, mapping
from advisor.verify import random_callouts

SHOP = shops.read_shop("training-shop")
FIELDS = {"radius": "R6 ±0.1", "shape": "groove", "diameter": "40 mm", "width": "8 mm", "from_end": "20 mm"}
PLAIN = pytest.mark.parametrize("option", options.plain().values(), ids=lambda option: option.name)


def read(**more):
    return callouts.read_callout(FIELDS | more, materials=materials.materials())


def otherwise(option):
    """Another value than the usual one: as it is written, and as the callout has it."""
    if option.kind == "words":
        word = next(word for word in option.words if word != option.usual)
        return word, word
    return ("yes", True) if option.kind == "truth" else (f"{7:g} min" if option.dimension == "time" else "7", 7.0)


@PLAIN
def test_what_is_written_is_what_the_rules_are_given(option):
    text, value = otherwise(option)
    found = read(**{option.name: text})
    lathe = SHOP.lathes[0]
    assert getattr(found, option.name) == value != getattr(read(), option.name)
    given = advice.givens(found, SHOP, lathe)[option.name]
    assert given == value
    listed = listing.Reader(inch_tolerances=None).read({n: [t] for n, t in (FIELDS | {option.name: text}).items()}, 1)
    assert not listed.errors and listed.given[option.name][0] == option.code(value)
    at = mapping.given_at(found, {}, lambda check, rows: None)
    assert at[option.name] == option.code(value)


@PLAIN
def test_nothing_written_is_assumed_and_told(option):
    found = next(entry for entry in read().assumed if entry.name == option.name)
    assert found.origin == option.origin and found.value == (
        option.usual or (0.0 if option.kind == "number" else False)
    )


@PLAIN
def test_it_is_an_option_a_label_a_key_and_may_be_changed(option):
    said = option.name.replace("_", "-")
    assert option.help == OPTIONS[option.table][said] and labels.label(option.name) == option.label
    assert any(key.startswith(option.name) for key in as_json.answer(advice.advise(read(), SHOP))["callout"])
    assert option.name in (*changes.FACTS, *changes.WORDS)
    assert advice.alternatives(read(), option.name)


@PLAIN
def test_it_is_drawn_at_random_and_written_into_the_command(option):
    where = random_callouts.places([SHOP], advice.rule_base().givens)
    rows = random_callouts.draw(1, 400, where)
    values = set(rows[option.name].tolist())
    assert len(values) > 1
    said = f"--{option.name.replace('_', '-')} "
    drawn = [random_callouts.command(random_callouts.taken(rows, n), where) for n in range(len(rows["radius"]))]
    assert any(said in line for line in drawn)


def test_every_name_has_a_field_or_is_read_into_others():
    fields = {field.name for field in dataclasses.fields(callouts.Callout)}
    assert set(callouts.KEYS) - fields == {"shape"}
    assert set(options.plain()) <= fields
