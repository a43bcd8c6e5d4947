"""The same question gets the same answer: asked twice, in inches, with the rules in another order, in another
process."""

import json
import os
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import possible_callouts as callouts
import pytest
from command import CORNER

from advisor.answer import advice
from advisor.engine import generated
from advisor.rulebase import loading
from advisor.show.as_json import answer

ROOT = Path(__file__).parent.parent.parent
POSSIBLE = callouts.possible(60)
RULES_OF_THE_FILES = re.compile(r"(?m)^(?=\[\[(?:rule|step|caution)\]\])")


def summary(asked):
    """What an advice says, apart from the order in which rules stand."""
    return {
        "recommended": asked.recommended,
        "close call": asked.close_call,
        "fired": {rule.id for rule in asked.outcome.fired},
        "conclusions": {n: asked.values[n] for n, d in asked.rules.names.items() if d.kind == "conclusion"},
        **{name: (m.standing, m.rank, {f.rule_id for f in m.findings}) for name, m in asked.methods.items()},
    }


def numbers(asked):
    """The numbers of an advice that people act on."""
    found = {}
    for name, m in asked.methods.items():
        found |= {(name, part): value for part, value in m.minutes["batch"].items()}
        found |= {(name, part): getattr(m, part) for part in ("in_tolerance", "set_error", "piece_error", "holds")}
        found |= {(name, key): value for key, value in (m.setup or {}).items() if isinstance(value, float)}
    return found


def text(asked):
    return json.dumps(answer(asked), sort_keys=True)


def test_asked_twice_and_in_another_order():
    first = {seed: text(advice.advise(callout, shop)) for seed, callout, shop in POSSIBLE[:25]}
    for seed, callout, shop in random.Random(1).sample(POSSIBLE[:25], 25):
        assert text(advice.advise(callout, shop)) == first[seed]


def test_in_inches_and_in_millimetres():
    compared = 0
    for seed, callout, shop in POSSIBLE:
        lengths, words, name = callouts.written(seed)
        inch, _ = callouts.read(callouts.in_inches(lengths, words), name)
        one, other = (advice.advise(c, shop, executor=generated.run) for c in (callout, inch))
        assert summary(one) == summary(other)
        assert numbers(one) == pytest.approx(numbers(other), rel=1e-5, abs=1e-6, nan_ok=True)
        compared += 1
    assert compared == len(POSSIBLE)


@pytest.mark.parametrize("seed", range(3))
def test_with_the_rules_in_another_order(seed, tmp_path):
    draw = random.Random(seed)
    folder = tmp_path / "rules"
    shutil.copytree(ROOT / "rules", folder)
    moved = 0
    for path in sorted(folder.glob("*.toml")):
        head, *blocks = RULES_OF_THE_FILES.split(path.read_text(encoding="utf-8"))
        blocks = [block if block.endswith("\n") else f"{block}\n" for block in blocks]
        draw.shuffle(blocks)
        moved += len(blocks)
        path.write_text(head + "".join(blocks), encoding="utf-8")
    other = loading.load(folder, cache=False)
    assert moved > 80 and [r.id for r in other.rules] != [r.id for r in advice.rule_base().rules]
    for _, callout, shop in POSSIBLE:
        one = advice.advise(callout, shop, executor=generated.run)
        shuffled = advice.advise(callout, shop, rules=other, executor=generated.run)
        assert summary(one) == summary(shuffled)
        assert numbers(one) == pytest.approx(numbers(shuffled), rel=1e-12, nan_ok=True)
        for name, method in one.methods.items():
            assert [f.text for f in method.steps] == [f.text for f in shuffled.methods[name].steps]


def test_in_every_process():
    """Whatever order Python's hashes give sets and dictionaries."""
    answers = set()
    for seed in ("0", "1", "4242"):
        ran = subprocess.run(
            [sys.executable, "-m", "advisor.cli", "advise", *CORNER, "--json"],
            env=os.environ | {"PYTHONHASHSEED": seed}, cwd=ROOT, capture_output=True, check=True, timeout=60,
        )  # fmt: skip
        answers.add(ran.stdout)
    assert len(answers) == 1
