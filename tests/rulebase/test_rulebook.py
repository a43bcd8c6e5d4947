"""Loading the rule base: what it accepts and refuses, and in which words; templates, limits, examples, the cache."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.engine import chaining, generated
from advisor.ground.errors import RuleError
from advisor.rulebase import loading, reading, rulebook

HERE = Path(__file__).parent.parent
SMALL = HERE / "small_rules"
BAD = sorted((HERE / "bad_rules").glob("*.toml"))


@pytest.fixture(autouse=True)
def small_functions(monkeypatch, tmp_path):
    monkeypatch.syspath_prepend(str(SMALL))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def folder(tmp_path):
    copy = tmp_path / "small_rules"
    shutil.copytree(SMALL, copy)
    return copy


def loaded(folder=SMALL, **options):
    return loading.load(folder, functions="crossing", **{"cache": False} | options)


@pytest.mark.parametrize("bad", BAD, ids=lambda path: path.stem)
def test_bad_rules_give_one_clear_error(bad, folder):
    """Each file is added to the end of the file of the small rule base that its name begins with."""
    text = bad.read_text()
    head, _, content = text.partition("\n")
    target = folder / f"{bad.name.split('.')[0]}.toml"
    before = target.read_text() if target.exists() else ""
    target.write_text(before + "\n" + content)
    with pytest.raises(RuleError) as error:
        loaded(folder)
    assert str(error.value) == head.removeprefix("# says: ")


def test_a_missing_vocabulary_is_said(tmp_path):
    with pytest.raises(RuleError, match="vocabulary.toml: is missing"):
        loaded(tmp_path)


def test_an_unknown_id_names_the_nearest():
    with pytest.raises(RuleError, match='Did you mean "sea.choppy"'):
        loaded().rule("sea.chopy")


def test_examples_come_out_as_they_say():
    rules = loaded()
    for rule in rules.rules:
        for example in rules.examples(rule.id):
            assert rules.example_fires(rule.id, example) is example["fires"], (rule.id, example)


def test_templates_are_written_out_for_every_method():
    rules = loaded()
    assert {f"{prefix}_minutes" for prefix in ("ferry", "rowing", "road")} <= set(rules.names)
    assert rules.names["rowing_minutes"].meaning == "likely minutes with the rowing boat"
    assert [rule.id for rule in rules.rules[:3]] == [
        f"coast-road.winter-{prefix}" for prefix in ("ferry", "rowing", "road")
    ]


def test_three_values_become_three_names_and_reach_three_tallies():
    rules = loaded()
    assert [rules.base[f"ferry_boarding_{part}"] for part in ("low", "likely", "high")] == [5, 8, 15]
    hurry = {effect.target: effect.amount for effect in rules.rule("ferry.hurry").effects if effect.kind == "adds"}
    assert hurry == {f"ferry_extra_{part}": ("name", f"ferry_boarding_{part}") for part in ("low", "likely", "high")}
    dawdle = [effect.amount for effect in rules.rule("ferry.dawdle").effects if effect.kind == "adds"]
    assert dawdle == [("number", 1.0), ("number", 2.0), ("number", 3.0)]


def test_effects_know_their_methods():
    rules = loaded()
    assert [effect.methods for effect in rules.rule("ferry.rough").effects] == [["ferry"], ["rowing boat"]]
    assert rules.rule("rowing-boat.long").effects[0].methods == ["rowing boat"]
    assert rules.rule("sea.dangerous-drift").effects[1].methods == []
    assert {effect.methods[0] for effect in rules.rule("sea.foul-wind").effects if effect.kind == "scales"} == {
        "ferry",
        "coast road",
    }


def test_limits_can_be_given_other_values():
    rules = loaded(
        overrides={"rough_sea": "200 mm", "ferry_boarding": ["1 min", "2 min", "0.05 hour"], "strong_wind": 100}
    )
    assert rules.base["rough_sea"] == 0.2
    assert rules.base["ferry_boarding_high"] == 3
    assert rules.base["strong_wind"] == 100
    assert loaded().base["rough_sea"] == 1.5


@pytest.mark.parametrize(
    ("overrides", "message"),
    [
        ({"rugh_sea": "1 m"}, 'shop: unknown limit "rugh_sea". Did you mean "rough_sea"?'),
        ({"wave_height": "1 m"}, 'shop: unknown limit "wave_height".'),
        ({"rough_sea": "1 min"}, "shop: rough_sea: a time (min) stands where a length (m) belongs. Give it in m."),
        ({"rough_sea": "high"}, 'shop: rough_sea: "high" is not a number with a unit. Write one such as 5 m.'),
        ({"rough_sea": True}, 'shop: rough_sea: "True" is not a number. Write a number in m.'),
        ({"fjord_is_sheltered": 1}, 'shop: fjord_is_sheltered: "1" is neither true nor false.'),
    ],
)
def test_wrong_values_for_limits_are_refused(overrides, message):
    with pytest.raises(RuleError) as error:
        loaded().revalued(overrides, where="shop")
    assert str(error.value).startswith(message)


def test_levels_rise_with_every_conclusion():
    rules = loaded()
    assert rules.names["distance"].stage == 0
    assert [rules.rule(i).stage for i in ("sea.rough", "sea.foul", "sea.dangerous", "rowing-boat.danger")] == [
        0,
        1,
        2,
        3,
    ]


def test_everything_stands_after_what_it_reads():
    rules = loaded()
    place = {node: i for i, node in enumerate(rules.order)}
    for rule in rules.rules:
        for name in (*rule.names, *rule.mentions):
            assert place[name] < place[rule.number]
        for effect in rule.effects:
            if effect.target:
                assert place[rule.number] < place[effect.target]


def test_every_process_finds_the_cache_of_another():
    program = "from advisor.rulebase import loading;print(loading._key({'x': b'y'}, 'rules', 'advisor.formulas'))"
    keys = {
        subprocess.run(
            [sys.executable, "-c", program],
            cwd=HERE.parent,
            env=os.environ | {"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in "0123456"
    }
    assert len(keys) == 1


def test_a_cached_rule_base_is_the_same():
    first = loaded(cache=True)
    kept = list(loading.cache_folder("crossing").glob("*.json"))
    assert len(kept) == 1
    again = loaded(cache=True)
    assert _fields(again) == _fields(first) == _fields(loaded())
    assert again.base == first.base
    assert again.examples("sea.choppy") == first.examples("sea.choppy")


def _fields(rules):
    """Everything in a rule base, tuples and lists alike."""
    names = [name.fields() for name in rules.names.values()]
    parts = [
        [[e.fields() for e in rule.effects] if slot == "effects" else getattr(rule, slot) for slot in rule.__slots__]
        for rule in rules.rules
    ]
    return json.loads(json.dumps([names, parts, rules.order, rules.methods]))


def test_a_start_from_the_cache_reads_no_toml_and_no_units(monkeypatch):
    loaded(cache=True)
    monkeypatch.setattr("advisor.rulebase.reading.read", lambda *a, **k: pytest.fail("read the files again"))
    loaded(cache=True)


@pytest.mark.parametrize("damage", ["empty", "cut", "altered", "not json", "other key"])
def test_a_damaged_cache_changes_nothing(damage):
    want = _fields(loaded(cache=True))
    kept = next(loading.cache_folder("crossing").glob("*.json"))
    text = kept.read_text()
    kept.write_text(
        {
            "empty": "",
            "cut": text[: len(text) // 2],
            "altered": text.replace('"number",1.0', '"number",9.0', 1),
            "not json": "{}\n",
            "other key": "0" * 64 + text[64:],
        }[damage]
    )
    assert _fields(loaded(cache=True)) == want
    assert kept.read_text() == text


def test_a_changed_file_is_read_again(folder):
    assert loaded(folder, cache=True).base["ferry_speed"] == 300
    practice = folder / "practice.toml"
    practice.write_text(practice.read_text().replace('"300 m/min"', '"400 m/min"'))
    assert loaded(folder, cache=True).base["ferry_speed"] == 400


def test_a_cache_folder_that_cannot_be_written_is_no_matter(monkeypatch, tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked))
    assert loaded(cache=True).names


def test_old_caches_are_forgotten(tmp_path):
    rules = loaded()
    for number in range(12):
        loading.save(rules, tmp_path / "kept" / f"{number}.json", str(number))
    assert len(list((tmp_path / "kept").glob("*"))) == 8


def test_a_forged_cache_cannot_smuggle_code():
    """Names and operators of a kept rule base go through the same closed lists as those of the files."""
    from advisor.engine import generated

    rules = loaded()
    rules.rule("sea.rough").when = [
        ["compare", "x", "> __import__('os').abort() >", ["number", 1.0], ["number", 2.0], ""]
    ]
    with pytest.raises(ValueError):
        generated.prepared(rules).function({})
    rules = loaded()
    rules.rule("sea.rough").when = [["name", "x = __import__('os')"]]
    with pytest.raises(ValueError):
        generated.prepared(rules).function({})


def test_facts_and_comparisons_of_a_rule():
    rules = loaded()
    rule = rules.rule("sea.choppy")
    assert rule.comparisons({"wave_height": 1.0, "choppy_sea": 0.5, "rough_sea": 1.5}) == [
        ("choppy_sea <= wave_height", 0.5, 1.0, True, "m"),
        ("wave_height <= rough_sea", 1.0, 1.5, True, "m"),
    ]


def test_an_effect_is_a_row(folder, monkeypatch):
    """A new kind of effect, and a new way to combine amounts: read, and worked out alike by two executors."""
    monkeypatch.setitem(rulebook.KINDS, "mentions", rulebook.Kind(speaks=True))
    monkeypatch.setitem(rulebook.KINDS, "takes", rulebook.Kind(combine="rest", counts=True))
    monkeypatch.setitem(rulebook.COMBINATIONS, "rest", rulebook.Combination("number", 0.0, "-", " − "))
    monkeypatch.setattr(reading, "_THEN", (*reading._THEN, "mentions", "takes"))
    with (folder / "vocabulary.toml").open("a") as file:
        file.write('\n[left]\nunit = "min"\nmeaning = "what is taken off"\ncombine = "rest"\n')
    with (folder / "sea.toml").open("a") as file:
        for place in (1, 2):
            file.write(
                f'\n[[rule]]\nid = "sea.row-{place}"\nwhen = ["has_boat"]\nbecause = "There is a boat."\nsource = "estimate"\n'
                f'then = {{ mentions = "Row.", takes = {{ left = {place}.5 }} }}\n'
                "examples = [{ given = { has_boat = true }, fires = true }, { given = { has_boat = false }, fires = false }]\n"
            )
    rules = loaded(folder)
    given = {name: rules.base[name] for name in rules.givens} | {"has_boat": True}
    for run in (generated.run, chaining.run):
        done = run(rules, given)
        assert done.values["left"] == -4.0
        assert [finding.text for finding in done.findings if finding.kind == "mentions"] == ["Row.", "Row."]
