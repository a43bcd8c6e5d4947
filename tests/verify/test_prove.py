"""The proof of the rule base: what it must find in bases that are broken on purpose, and that it finds nothing in
ours."""

import shlex
import shutil
import tomllib
from pathlib import Path

import numpy
import pytest
from command import CORNER, run
from often import often

from advisor.answer import advice
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.commands import register
from advisor.commands.on_a_callout import read_job
from advisor.engine import generated
from advisor.ground.folders import data_folder
from advisor.rulebase import loading
from advisor.verify import prove_rules, random_callouts

BASES = sorted((Path(__file__).parent.parent / "bad_bases").glob("*.toml"))
BROKEN = [path for path in BASES if path.stem != "good"]
TOLD = {path: tomllib.loads(path.read_text(encoding="utf-8")) for path in BASES}
SOME = [shops.read_shop(name) for name in ("training-shop", "bench-shop")]
RULES = advice.rule_base()


# A fault that hides another one's when both are made: what it gives two values is given them by the other rule already.
ALONE = "contradiction-on-a-boundary"


def changed(told, folder):
    """The rule base with the changes that some files tell."""
    shutil.copytree(data_folder("rules"), folder)
    for change in (change for one in told for change in one["change"]):
        file = folder / change["file"]
        text = file.read_text(encoding="utf-8")
        if "find" in change:
            assert text.count(change["find"]) == 1, change["find"]
            text = text.replace(change["find"], change["replace"])
        file.write_text(text + "\n" + change.get("append", ""), encoding="utf-8")
    return loading.load(folder, cache=False)


def proof_of(told, folder, count=8_000):
    """Proof of a rule base with such changes, over the rules that were changed."""
    rules = changed(told, folder / "rules")
    return prove_rules.prove(rules, SOME, count=count, only=set(rules.by_id) - set(RULES.by_id))


@pytest.fixture(scope="module")
def proof_of_all(tmp_path_factory):
    """One proof in which every fault but one has to be found, among all the others."""
    told = [TOLD[path] for path in BROKEN if path.stem != ALONE]
    return proof_of(told, tmp_path_factory.mktemp("base"))


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_what_is_broken_is_found(path, proof_of_all, tmp_path):
    told = TOLD[path]
    proof = proof_of([told], tmp_path) if path.stem == ALONE else proof_of_all
    found = [failure for failure in proof.of(told["check"]) if failure.subject == told["subject"]]
    assert found, [failure for failure in proof.failures if failure.subject == told["subject"]]
    assert any(told["says"] in failure.problem for failure in found), found


def test_nothing_is_said_of_a_good_rule(tmp_path):
    told = TOLD[next(path for path in BASES if path.stem == "good")]
    proof = proof_of([told], tmp_path, count=often(10_000, 30_000))
    assert not [failure for failure in proof.failures if failure.subject == told["subject"]]
    assert proof.claims["lines"] == 3 and proof.claims["boundaries"] == 1


def test_our_own_rule_base_is_proved(monkeypatch):
    """By the command, and what it found."""
    proofs, prove = [], prove_rules.prove

    def kept(*given, **more):
        proofs.append(prove(*given, **more))
        return proofs[-1]

    monkeypatch.setattr(prove_rules, "prove", kept)
    ran = run("check", "--prove", "--sample", "200000")
    (proof,) = proofs
    assert not proof.failures, "\n".join(f"{f.check}: {f.subject}: {f.problem}\n  {f.callout}" for f in proof.failures)
    assert proof.rows > 200_000 and all(proof.claims.values())
    assert ran.status == 0 and "no conclusion is given two values" in " ".join(ran.out.split())


# ---- the sample


WHERE = random_callouts.places(SOME, RULES.givens)


def test_the_sample_is_spread_evenly():
    rows = random_callouts.draw(5, 6000, WHERE)
    shape = numpy.bincount(rows["location"] * 2 + rows["form"], minlength=6)
    assert (abs(shape - 1000) < 30).all()
    assert len(numpy.unique(rows["material"])) == len(materials.materials())
    assert set(rows["place"]) == set(range(len(WHERE)))
    assert rows["tolerance"].max() > 100 * rows["tolerance"].min() and rows["quantity"].max() > 500


def test_the_sample_is_the_same_every_time():
    one, other = (random_callouts.draw(7, 500, WHERE) for _ in range(2))
    assert all(numpy.array_equal(one[name], other[name], equal_nan=True) for name in one)


def test_rows_are_callouts_that_can_be_written_down():
    """The command line of a row is read as the very callout, and the rules are given the same."""
    rows = random_callouts.draw(11, 250, WHERE)
    seen = 0
    for number in range(len(rows["place"])):
        row = random_callouts.taken(rows, [number])
        place = WHERE[rows["place"][number]]
        if place.otherwise:
            continue
        options = register.read(
            shlex.split(random_callouts.command({name: column[0] for name, column in row.items()}, WHERE))[1:]
        )
        callout, shop = read_job(options)
        given = advice.givens(callout, shop, advice.lathe_for(callout, shop))
        drawn = random_callouts.givens(row, WHERE, RULES)
        for name, value in given.items():
            mine = drawn[name]
            mine = mine if isinstance(mine, (tuple, str, bool, float)) else numpy.ravel(mine)[0]
            if RULES.names[name].holds == "words" and not isinstance(mine, str):
                mine = RULES.names[name].values[int(mine)]
            assert mine == value or (mine != mine and value != value) or mine == pytest.approx(value, rel=1e-12), name
        seen += 1
    assert seen > 80


# ---- taken apart


def test_a_condition_is_taken_apart():
    rule = next(rule for rule in RULES.rules if any(tree[0] == "or" for tree in rule.when))
    condition = prove_rules.Condition(rule)
    for number in condition.numbers:
        held = [bool(number >> bit & 1) for bit in range(len(condition.parts))]
        assert condition.number([numpy.array([part]) for part in held])[0] == number
    assert condition.fires.any() and not condition.fires.all()


def test_switches_leave_the_answer_alone():
    switched, things, _ = prove_rules.switched(RULES)
    assert len(things) > len([rule for rule in RULES.rules if rule.kind == "rule"]) / 2
    callout, shop = read_job(register.read(["advise", *CORNER]))
    given = advice.givens(callout, shop, advice.lathe_for(callout, shop))
    one, other = generated.run(RULES, given), generated.run(switched, given)
    for name, value in one.values.items():
        assert other.values[name] == value or value != value or other.values[name] == pytest.approx(value, rel=1e-12), (
            name
        )
    corner = RULES.rule("pivot-attachment.corner-needs-two-settings").number
    _, _, switch, changed_number = next(thing for thing in things if thing[0] == corner)
    less = generated.run(switched, given | {switch: False})
    assert less.values["pivot_setup_mean"] < one.values["pivot_setup_mean"]
    assert changed_number not in {rule.number for rule in less.fired}
