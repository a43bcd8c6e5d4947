"""What holds of every page of advice: conditions are no steps, and what must be known is told in its order."""

import re

import pytest

from advisor.answer.advice import rule_base

STEPS = [rule for rule in rule_base().rules if rule.kind == "step"]


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.id)
def test_a_step_is_something_to_do_and_no_condition(step):
    told = step.effects[0].text
    assert not re.match(r"(If|When|Where|Should|In case|Or)\b", told), told
    assert told.endswith(".")
