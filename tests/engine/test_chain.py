"""The three executors: that they give the same in any order of the rules, and what happens when something fails."""

import logging
import math
import random
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.engine import columns, generated
from advisor.engine.chaining import Chain
from advisor.ground.errors import RuleError
from advisor.rulebase import loading

SMALL = Path(__file__).parent.parent / "small_rules"
sys.path.insert(0, str(SMALL))


def loaded(folder=SMALL):
    return loading.load(folder, functions="crossing", cache=False)


RULES = loaded()
CHAIN = Chain(RULES)
DAY = {
    "distance": 4000.0, "wave_height": 1.7, "swell": 100.0, "wind": 650.0, "party": 9.0, "luggage": 300.0, "season": "winter",
    "rower": "strong", "fog": True, "has_boat": True, "time_of_day": 700.0, "departures": (600.0, 705.0, 800.0),
}  # fmt: skip


def near(*limits):
    """Numbers on, just beside and between limits, and one that is not known."""
    around = [limit * factor for limit in limits for factor in (1, 1 + 1e-15, 1 - 1e-15, 0.5, 2)]
    return st.sampled_from([0.0, math.nan, *around])


days = st.fixed_dictionaries(
    {
        "distance": near(1000, 3000, 10000),
        "wave_height": near(0.5, 1.5),
        "swell": near(500, 1500),
        "wind": near(100, 600),
        "party": st.sampled_from([1.0, 2.0, 6.0, 8.0, 12.0]),
        "luggage": near(20, 120, 300),
        "season": st.sampled_from(["summer", "autumn", "winter", ""]),
        "rower": st.sampled_from(["beginner", "practised", "strong"]),
        "fog": st.booleans(),
        "has_boat": st.booleans(),
        "time_of_day": near(350, 1200),
        "departures": st.just((350.0, 360.0, 700.0)),
    }
)


def same(a, b):
    return a == b or (a != a and b != b)


def assert_alike(one, other):
    assert [rule.id for rule in one.fired] == [rule.id for rule in other.fired]
    differing = {
        name: (one.values[name], other.values[name])
        for name in one.values
        if not same(one.values[name], other.values[name])
    }
    assert not differing
    assert repr(one.conflicts) == repr(other.conflicts)


def shuffled(folder, tmp_path, seed):
    """The same rule base with its rules in another order."""
    draw = random.Random(seed)
    copy = tmp_path / f"small_rules_{seed}"
    shutil.copytree(folder, copy)
    for file in ("sea.toml", "ferry.toml", "rowing_boat.toml", "coast_road.toml"):
        blocks = (copy / file).read_text().split("\n\n[[")
        blocks = [block if block.startswith("[[") else "[[" + block for block in blocks]
        draw.shuffle(blocks)
        (copy / file).write_text("\n\n".join(blocks))
    return loaded(copy)


# --------------------------------------------------------------------------------------- alike


@settings(max_examples=150, deadline=None)
@given(st.lists(days, min_size=1, max_size=4))
def test_chain_plain_and_columns_agree(rows):
    held = {name: [row[name] for row in rows] for name in rows[0] if name != "departures"}
    many = columns.run(RULES, held | {"departures": rows[0]["departures"]})
    for index, row in enumerate(rows):
        one = generated.run(RULES, row)
        assert_alike(one, CHAIN.run(row))
        assert_alike(one, many.row(index))
        for name, disputed in many.conflicts.items():
            assert disputed[index] == any(conflict.name == name for conflict in one.conflicts)


@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_rules_changes_no_value(tmp_path, seed):
    """Apart from `pace` and `rowing_pace`, which rules of this base dispute, and which a peaceful day leaves alone."""
    other = shuffled(SMALL, tmp_path, seed)
    chain = Chain(other)
    assert [r.id for r in other.rules] != [r.id for r in RULES.rules]
    for draw in range(40):
        day = some_day(draw)
        one = generated.run(RULES, day)
        if one.conflicts:
            continue
        for outcome in (generated.run(other, day), chain.run(day)):
            assert sorted(r.id for r in outcome.fired) == sorted(r.id for r in one.fired)
            assert all(same(outcome.values[name], one.values[name]) for name in one.values)


def some_day(seed):
    draw = random.Random(seed)
    return DAY | {
        "distance": draw.uniform(100, 9000), "wave_height": draw.uniform(0, 3), "wind": draw.uniform(0, 900), "party": draw.randint(1, 10),
        "luggage": draw.uniform(0, 200), "season": draw.choice(["summer", "autumn", "winter"]), "time_of_day": draw.uniform(300, 1300),
        "rower": draw.choice(["beginner", "practised", "strong"]), "fog": draw.random() < 0.5, "has_boat": draw.random() < 0.5,
    }  # fmt: skip


def test_an_outside_judge_agrees():
    clips_judge = pytest.importorskip("clips_judge")
    judge = clips_judge.Judge(RULES)
    for draw in range(200):
        assert_alike_but_conflicts(generated.run(RULES, some_day(draw)), judge.run(some_day(draw)))


def assert_alike_but_conflicts(one, other):
    other.conflicts = one.conflicts
    assert_alike(one, other)


# --------------------------------------------------------------------------------------- chaining


def test_the_trace_tells_what_led_to_what():
    outcome = CHAIN.run(DAY)
    ids = [line.rule_id for line in outcome.trace]
    assert ids.index("sea.rough") < ids.index("sea.foul") < ids.index("rowing-boat.danger")
    rough = next(line for line in outcome.trace if line.rule_id == "sea.rough")
    assert rough.facts == {"wettest": 1.7, "rough_sea": 1.5}
    assert rough.followed == [("concludes", "sea", "rough"), ("adds", "stops", 1.0)]
    assert {line.rule_id for line in outcome.trace if line.rule} == {
        rule.id for rule in outcome.fired if rule.kind != "step"
    }


def test_the_trace_tells_what_was_taken_as_default():
    defaults = [
        line.followed
        for line in CHAIN.run(DAY | {"wave_height": 0.1, "wind": 0.0, "fog": False}).trace
        if not line.rule
    ]
    assert [("default", "sea", "calm")] in defaults and [("default", "weather", "fair")] in defaults


def test_two_rules_that_disagree_are_reported_and_the_first_stands():
    for outcome in (generated.run(RULES, DAY), CHAIN.run(DAY), columns.run(RULES, DAY).row(0)):
        assert outcome.values["pace"] == "hurry"
        assert ("pace", "ferry.hurry", "hurry", "ferry.dawdle", "dawdle") in [tuple(c) for c in outcome.conflicts]


def test_two_rules_that_agree_are_no_conflict():
    outcome = CHAIN.run(DAY)
    assert {"sea.foul", "sea.foul-wind"} <= {rule.id for rule in outcome.fired}
    assert not [conflict for conflict in outcome.conflicts if conflict.name == "weather"]


def test_every_run_is_the_same():
    first = CHAIN.run(DAY)
    CHAIN.run(some_day(3))
    again, other = CHAIN.run(DAY), Chain(RULES).run(DAY)
    for outcome in (again, other):
        assert_alike(first, outcome)
        assert repr(outcome.trace) == repr(first.trace)


def test_every_process_is_the_same():
    program = (
        f"import sys; sys.path[:0] = [{str(SMALL)!r}, {str(SMALL.parent.parent)!r}];"
        "from advisor.rulebase import loading; from advisor.engine.chaining import Chain;"
        f"rules = loading.load({str(SMALL)!r}, functions='crossing', cache=False);"
        f"print(Chain(rules).run({DAY!r}).trace)"
    )
    runs = {
        subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
        for _ in range(3)
    }
    assert runs == {f"{CHAIN.run(DAY).trace}\n"}


def test_findings_tell_facts_and_amounts():
    outcome = generated.run(RULES, DAY)
    group = [finding for finding in outcome.findings if finding.rule_id == "ferry.group"]
    assert [(f.kind, f.target, f.amount) for f in group][3] == ("adds", "stops", 2.0)
    assert group[-1].text == "Book for {party}." and group[-1].facts["party"] == 9
    assert group[0].methods == ["ferry"] and group[0].text == "Groups board last."


# --------------------------------------------------------------------------------------- less, and other, than all


def test_only_what_is_wanted_is_worked_out():
    everything = generated.run(RULES, DAY)
    some = generated.run(RULES, DAY, want={"rowing_minutes", "weather"}, values_only=True)
    assert some.values["rowing_minutes"] == everything.values["rowing_minutes"]
    assert some.values["weather"] == everything.values["weather"]
    assert "ferry_minutes" not in some.values
    many = columns.run(RULES, DAY | {"distance": numpy.array([4000.0, 10.0])}, want={"rowing_minutes"}, findings=False)
    assert many.values["rowing_minutes"][0] == everything.values["rowing_minutes"]
    assert not many.findings


def test_limits_for_one_run():
    higher = {"rough_sea": "1.8 m", "fjord_is_sheltered": True, "ferry_boarding": [1, 2, 3]}
    for outcome in (generated.run(RULES, DAY, higher), CHAIN.run(DAY, higher), columns.run(RULES, DAY, higher).row(0)):
        assert outcome.values["sea"] == "choppy" and outcome.values["off_line"] == 0
        assert outcome.values["ferry_extra_high"] == generated.run(RULES, DAY).values["ferry_extra_high"] - 12
    assert CHAIN.run(DAY).values["sea"] == "rough"
    many = columns.run(RULES, DAY, {"rough_sea": numpy.array([1.5, 1.8])})
    assert list(columns.decode(RULES, "sea", many.values["sea"])) == ["rough", "choppy"]
    assert list(many.findings["sea.rough"]) == [True, False]


@pytest.mark.parametrize(
    "run",
    [
        lambda g, **k: generated.run(RULES, g, **k),
        lambda g, **k: CHAIN.run(g, **k),
        lambda g, **k: columns.run(RULES, g, **k),
    ],
)
def test_unknown_names_are_refused(run):
    with pytest.raises(RuleError, match='Did you mean "distance"'):
        run(DAY | {"distanse": 3})
    with pytest.raises(RuleError, match="is not a name that can be given"):
        run(DAY | {"weather": "foul"})
    with pytest.raises(RuleError, match="is given nothing"):
        run(DAY | {"distance": None})
    with pytest.raises(RuleError, match="unknown limit"):
        run(DAY, constants={"rough_see": 1})


def test_unknown_wants_are_refused():
    with pytest.raises(RuleError, match='Did you mean "weather"'):
        generated.run(RULES, DAY, want={"wether"})


def test_what_is_not_given_is_unknown():
    for outcome in (generated.run(RULES, {}), CHAIN.run({}), columns.run(RULES, {}).row(0)):
        assert (
            math.isnan(outcome.values["distance"])
            and outcome.values["season"] == ""
            and outcome.values["sea"] == "calm"
        )
        assert "ferry.gone" in {rule.id for rule in outcome.fired}


def test_words_go_in_as_text_or_as_codes():
    text = columns.run(RULES, DAY | {"season": numpy.array(["winter", "summer", "?"]), "rower": ["strong"] * 3})
    codes = columns.run(RULES, DAY | {"season": numpy.array([2, 0, -1]), "rower": numpy.int8([2, 2, 2])})
    assert text.findings.keys() == codes.findings.keys()
    assert all((text.findings[i] == codes.findings[i]).all() for i in text.findings)
    assert list(columns.decode(RULES, "season", codes.values["season"])) == ["winter", "summer", ""]


# --------------------------------------------------------------------------------------- when something fails


@pytest.fixture
def failing(monkeypatch):
    """A rule base of its own in which one formula fails for long distances."""
    rules = loaded()
    duration = rules.function("ferry_base")

    def fails(*, distance, speed, slack=1.0):
        if numpy.any(numpy.asarray(distance) > 5000):
            raise ArithmeticError("too far")
        return duration(distance=distance, speed=speed, slack=slack)

    rules.functions["ferry_base"] = fails
    return rules


def test_a_formula_that_fails_is_unknown_and_told(failing):
    chain = Chain(failing)
    far = DAY | {"distance": 6000.0}
    for outcome in (generated.run(failing, far), chain.run(far), columns.run(failing, far).row(0)):
        assert outcome.errors == [("ferry_base", "ArithmeticError: too far")]
        assert math.isnan(outcome.values["ferry_minutes"])
        assert outcome.values["rowing_base"] == generated.run(RULES, far).values["rowing_base"]
    for outcome in (generated.run(failing, DAY), chain.run(DAY), columns.run(failing, DAY).row(0)):
        assert not outcome.errors
        assert_alike(outcome, generated.run(RULES, DAY))


def test_a_formula_that_gives_nothing_is_unknown_and_told(failing):
    failing.functions["group"] = lambda *, party: None
    for outcome in (generated.run(failing, DAY), Chain(failing).run(DAY)):
        if outcome.errors:
            assert outcome.errors == [("group", "TypeError: gave NoneType")]
        assert not outcome.values["group"]


def test_a_failure_in_the_engine_does_not_poison_the_next_case():
    rules = loaded()
    chain = Chain(rules)
    whole = chain.run(DAY)
    rule = rules.rule("sea.foul")
    when, rule.when = rule.when, [("compare", "broken", "<", ("name", "season"), ("number", 1.0), "")]
    broken = chain.run(DAY)
    assert broken.errors and broken.errors[0][0] == "sea.foul"
    rule.when = when
    assert_alike(chain.run(DAY), whole)
    assert not chain.run(DAY).errors


def test_an_interruption_throws_the_engine_away():
    rules = loaded()
    chain = Chain(rules)
    chain.run(DAY)

    def interrupt(*, party):
        raise KeyboardInterrupt

    group = rules.function("group")
    rules.functions["group"] = interrupt
    with pytest.raises(KeyboardInterrupt):
        chain.run(some_day(1))
    rules.functions["group"] = group
    assert_alike(chain.run(DAY), generated.run(rules, DAY))


def test_each_thread_has_an_engine_of_its_own():
    wrong = []

    def work(seed):
        for draw in range(seed, seed + 5):
            outcome, expected = CHAIN.run(some_day(draw)), generated.run(RULES, some_day(draw))
            if [r.id for r in outcome.fired] != [r.id for r in expected.fired]:
                wrong.append(draw)

    threads = [threading.Thread(target=work, args=(10 * number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong


def test_the_engine_leaves_logging_as_it_was():
    program = (
        f"import sys; sys.path.insert(0, {str(SMALL.parent.parent)!r}); import logging, collections;"
        "import advisor.engine.experta_door;"
        "print(logging.root.handlers, logging.root.level, hasattr(collections, 'Mapping'))"
    )
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert ran.stdout == f"[] {logging.WARNING} False\n"


# --------------------------------------------------------------------------------------- time


def test_speed_is_of_the_right_order():
    """Ten times slower than measured would fail."""

    def seconds(run, times):
        run()
        start = time.perf_counter()
        for _ in range(times):
            run()
        return (time.perf_counter() - start) / times

    rows = {name: numpy.full(10000, value) if isinstance(value, float) else value for name, value in DAY.items()}
    assert seconds(lambda: generated.run(RULES, DAY), 50) < 0.002
    assert seconds(lambda: CHAIN.run(DAY), 10) < 0.05
    assert seconds(lambda: columns.run(RULES, rows), 3) < 0.1
