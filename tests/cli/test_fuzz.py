"""A few hostile inputs of every kind, the same every time, and every one that once broke something. See fuzz.py."""

import fuzz
import pytest

# The slow ones: each of them makes a file, or an answer, each time.
FEWER = {"shop": 40, "case": 40, "rules": 40, "database": 15, "xlsx": 60}


@pytest.mark.parametrize("kind", fuzz.KINDS)
def test_hostile_input_gives_an_answer_or_one_clear_error(kind, tmp_path):
    if kind == "parquet":
        pytest.importorskip("pyarrow")
    assert fuzz.fuzz(kind, FEWER.get(kind, 100), tmp_path, derandomize=True)


@pytest.mark.parametrize(("kind", "drawn"), fuzz.SEEDS, ids=[f"{kind}-{n}" for n, (kind, _) in enumerate(fuzz.SEEDS)])
def test_what_once_broke_something(kind, drawn, tmp_path):
    fuzz.attempt(kind, drawn, tmp_path)
