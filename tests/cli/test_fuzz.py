"""A few hostile inputs of every kind, the same every time, and every one that once broke something. See fuzz.py."""

import os
import random
import signal

import fuzz
import pytest

# The slow ones: each of them makes a file, or an answer, each time.
FEWER = {"shop": 40, "case": 40, "rules": 40, "database": 15, "xlsx": 60}


@pytest.mark.parametrize("kind", fuzz.KINDS)
def test_hostile_input_gives_an_answer_or_one_clear_error(kind, tmp_path):
    if kind == "parquet":
        pytest.importorskip("pyarrow")
    plans = fuzz.fuzz(kind, FEWER.get(kind, 100), tmp_path, derandomize=True)
    chance = random.Random(1)
    more = [fuzz.crossed(chance.choice(plans), chance.choice(plans), chance) for _ in plans]
    done, fault, _ = fuzz.try_apart(kind, more, tmp_path)
    assert fault is None and done == len(plans), (fault, fuzz.KINDS[kind].made(more[done - 1]))


@pytest.mark.parametrize(("kind", "drawn"), fuzz.SEEDS, ids=[f"{kind}-{n}" for n, (kind, _) in enumerate(fuzz.SEEDS)])
def test_what_once_broke_something(kind, drawn, tmp_path):
    fuzz.attempt(kind, drawn, tmp_path)


def falls(way):
    """What tries an input, and falls at one with an x before a y, on a way."""

    def tries(text, _, whole=True):
        if "x" not in text.partition("y")[0] or "y" not in text:
            return
        if way == "raises":
            raise ValueError("x")
        if way == "hangs":
            while True:
                pass
        if way == "falls here and not apart" and whole:
            return
        os.kill(os.getpid(), signal.SIGSEGV if way != "is ended" else signal.SIGKILL)

    return tries


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize(
    ("way", "told"), [("raises", "ValueError: x"), ("hangs", "takes more than 0.2 s"), ("is ended", "SIGKILL"), ("falls", "SIGSEGV")]
)  # fmt: skip
def test_the_hunt_finds_what_falls_and_goes_on(way, told, tmp_path, monkeypatch):
    monkeypatch.setattr(fuzz, "LONGEST", 0.2)
    plans = fuzz.st.lists(fuzz.st.sampled_from("xyz"), max_size=6)
    monkeypatch.setitem(fuzz.KINDS, "made up", fuzz.Kind(plans, "".join, falls(way)))
    monkeypatch.setattr(fuzz, "SMALLER", 5)
    said = []
    tried, felled, faults = fuzz.hunt("made up", 60, tmp_path, say=said.append, seed=3)
    assert (tried, felled, len(faults)) == (60, 0, 1)
    assert told in said[0] and said[1].strip() == "'xy'"


def test_a_library_may_fall_where_that_gives_a_clear_error(tmp_path, monkeypatch):
    plans = fuzz.st.lists(fuzz.st.sampled_from("xyz"), max_size=6)
    kind = fuzz.Kind(plans, "".join, falls("falls here and not apart"), every=1000, a_library=True)
    monkeypatch.setitem(fuzz.KINDS, "made up", kind)
    tried, felled, faults = fuzz.hunt("made up", 200, tmp_path, say=print)
    assert tried == 200 and felled > 0 and not faults


def test_a_plan_that_makes_no_input_is_told(tmp_path, monkeypatch):
    plans = fuzz.st.lists(fuzz.st.integers(0, 3), min_size=1, max_size=6)
    monkeypatch.setitem(fuzz.KINDS, "made up", fuzz.Kind(plans, lambda plan: 1 / min(plan), lambda *_: None))
    _, fault, _ = fuzz.try_apart("made up", [[1], [2, 0], [3]], tmp_path)
    assert "ZeroDivisionError" in str(fault)
