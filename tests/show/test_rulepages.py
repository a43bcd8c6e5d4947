"""The rule base to read: every topic and rule has a page, and the cases that a rule is said to decide do turn without
it."""

import pytest
from command import run
from shown import as_text

from advisor.ground.errors import CalloutError
from advisor.show import rulepages
from advisor.study import changes

RULES = rulepages.base().rules


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_every_rule_has_a_page(rule):
    text = as_text(rulepages.one(rule), 80)
    assert rule.id in text and rule.source in text.replace("\n", " ") and "{" not in text
    assert max(map(len, text.splitlines())) <= 80
    if rule.kind == "rule":
        assert "EXAMPLES" in text and "fires" in text and "does not" in text
        assert rulepages.does(rule) or "favours" in {effect.kind for effect in rule.effects}, rule.id


def test_every_topic_lists_all_its_rules():
    listed = run("rules").out
    for topic in {rulepages.topic_of(rule) for rule in RULES}:
        assert topic in listed
        page = run("rules", topic)
        assert page.status == 0
        for rule in RULES:
            assert (rulepages.topic_of(rule) != topic) or rule.id in page.out


def test_cases_that_a_rule_decides_turn_without_it():
    advice = dict(rulepages.worked())
    deciding = 0
    for rule in RULES:
        for case, words in rulepages.decided(rule):
            if words.startswith("decides"):
                deciding += 1
                left = changes.best(changes.without(advice[case], [rule]))
                assert left != advice[case].recommended
                assert (
                    words
                    == f"decides: {advice[case].recommended or 'nothing stands'}; without it {left or 'nothing stands'}"
                )
    assert deciding > 20


def test_a_rule_and_a_topic_are_found_and_nothing_else():
    assert run("rules", "form-tool.edge-wider-than-blank").status == 0
    assert run("rules", "form-tool").out.startswith("FORM TOOL")
    with pytest.raises(CalloutError, match='Did you mean "form tool"'):
        rulepages.page("fromtool")
    assert run("rules", "no-such.rule").status == 2


def test_one_of_a_kind_is_told_as_one():
    listed = run("rules").out
    assert ", 1 caution\n" in listed and " 1 cautions" not in listed
