"""The answers to the worked cases in full: a change of the rules shows here what it moves, and is read before it is
accepted."""

from answers import CASES, answers

from advisor.answer.advice import rule_base


def test_answers_to_the_worked_cases(golden):
    for file, text in answers(rule_base()):
        golden(file, text)


def test_every_answer_beside_the_cases_belongs_to_one():
    assert {path.stem for path in CASES[0].parent.glob("*.txt")} == {path.stem for path in CASES}
