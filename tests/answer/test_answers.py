"""The answers to the worked cases in full: a change of the rules shows here what it moves, and is read before it is
accepted."""

from answers import GOLDEN, answers

from advisor.answer.advice import rule_base


def test_answers_to_the_worked_cases(golden):
    golden(GOLDEN, answers(rule_base()))
