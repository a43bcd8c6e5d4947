"""A method in one place: what the program knows of a method stands in rules/methods.toml and in the method's own modules."""

import ast
from pathlib import Path

import pytest

from advisor.answer import advice
from advisor.ground.methods import methods, own_module

PROGRAM = Path(__file__).parent.parent.parent / "advisor"
# Modules that are about one method, beside those that bear its prefix.
OWN = {"drawing/edge_profile.py": "form_tool", "formulas/swung_gear.py": "pivot"}
# Names of the rule base that begin as those of a method, where they say something else: the gear that a shop file states,
# what a shop could be without, and parts of an answer that only hand work has.
ELSEWHERE = {
    "asked/shop.py": "gear as the shop file states it",
    "study/changes.py": "gear that a shop may lack",
    "study/practise.py": "facts of a shop, and what a reason may stand for",
    "study/derive.py": "labels that are shorter than the name",
    "show/as_json.py": "how the hand goes about it",
    "verify/hostile_shops.py": "limits that a shop may have of its own",
    "show/correct.py": "a rod that came from the shelf",
}


def own(path):
    """Whether a module is a method's own."""
    name = path.relative_to(PROGRAM).as_posix()
    return name in OWN or path.stem in {method.prefix for method in methods().values()}


def words(path):
    """What stands in a module as text, docstrings left aside: list of (line, text)."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    found = [node for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    return [(node.lineno, node.value) for node in found if id(node) not in told]


OF_METHODS = {
    name for name in advice.rule_base().names if name.startswith(tuple(f"{m.prefix}_" for m in methods().values()))
}
MODULES = sorted(path for path in PROGRAM.rglob("*.py") if not own(path))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PROGRAM).as_posix())
def test_no_method_stands_by_name_outside_its_own_modules(path):
    """Neither its name, nor the prefix of its names: what holds for one method is a key of its row."""
    banned = set(methods()) | {method.prefix for method in methods().values() if "_" in method.prefix}
    if path.relative_to(PROGRAM).as_posix() not in ELSEWHERE:
        banned = banned | OF_METHODS
    strange = [(line, text) for line, text in words(path) if text in banned]
    assert not strange, f"{path}: {strange}: write it into rules/methods.toml, or into the method's own module"


def test_every_exception_is_still_one():
    for name in ELSEWHERE:
        found = {text for _, text in words(PROGRAM / name)}
        assert any(text.startswith(tuple(f"{m.prefix}_" for m in methods().values())) for text in found), name


@pytest.mark.parametrize("method", methods().values(), ids=lambda method: method.name)
def test_every_number_is_written_by_its_pattern_or_by_its_own_function(method):
    said = own_module("advisor.show.methods", method.prefix)
    for number in method.own:
        assert bool(number.shows) != hasattr(said, number.key), f"{method.name}: {number.label}"


@pytest.mark.parametrize("method", methods().values(), ids=lambda method: method.name)
def test_every_method_has_formulas_and_a_drawing(method):
    assert callable(own_module("advisor.formulas", method.prefix).setup)
    assert own_module("advisor.drawing.methods", method.prefix).Setup
