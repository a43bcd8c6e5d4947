"""Work done in a process of its own: what it yields and what becomes of it when it falls, hangs or eats memory."""

import datetime
import os
import signal
import sys

import pytest

from advisor.asked.callout import CalloutError
from advisor.ground import apart
from advisor.ground.errors import InputError, together
from advisor.lists import files

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="a process of its own needs fork")


def raises(problem):
    def work():
        yield b"first"
        raise problem

    return work


def test_what_is_made_there_arrives_here_whole_and_in_order():
    sent = [b"", b"a" * 3_000_000, b"last"]
    assert list(apart.items(lambda: iter(sent))) == sent
    assert next(apart.items(lambda: iter([str(os.getpid()).encode()]))) != str(os.getpid()).encode()


def test_errors_arrive_as_they_were():
    several = together([CalloutError("list", "x", "is wrong", "Give y."), InputError("row 2", "", "too", "Z.")])
    found = apart.items(raises(several))
    assert next(found) == b"first"
    with pytest.raises(CalloutError) as told:
        next(found)
    assert str(told.value) == str(several) and len(told.value.each) == 2
    with pytest.raises(FileNotFoundError, match="no.xlsx"):
        list(apart.items(raises(FileNotFoundError(2, "No such file", "no.xlsx"))))
    with pytest.raises(RuntimeError, match="KeyError: 'q'"):
        list(apart.items(raises(KeyError("q"))))


def falls():
    yield b"first"
    os.kill(os.getpid(), signal.SIGSEGV)


def eats():
    yield b"first"
    yield bytes(apart.MOST_MEMORY + (1 << 30))


def is_killed():
    yield b"first"
    os.kill(os.getpid(), signal.SIGKILL)


def hangs():
    yield b"first"
    while True:
        pass


@pytest.mark.parametrize(
    ("work", "told"),
    [
        (falls, "library that reads it fall"),
        (eats, "more memory than a list"),
        (is_killed, "more memory than there is"),
    ],
)
def test_one_that_falls_or_eats_memory_ends_alone(work, told):
    found = apart.items(work)
    assert next(found) == b"first"
    with pytest.raises(apart.Lost, match=told):
        next(found)


def test_one_that_hangs_ends_with_its_time(monkeypatch):
    monkeypatch.setattr(apart, "MOST_SECONDS", 1)
    with pytest.raises(apart.Lost, match="more than 1 s"):
        list(apart.items(hangs))


def test_none_is_left_behind_by_whoever_stops_listening():
    found = apart.items(lambda: iter([str(os.getpid()).encode()] * 2))
    number = int(next(found))
    found.close()
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


@pytest.mark.parametrize("ending", ["xlsx", "parquet"])
def test_a_list_whose_library_falls_gives_one_error(tmp_path, monkeypatch, ending):
    path = tmp_path / f"list.{ending}"
    path.write_bytes(b"PK")

    def fallen(*_, **__):
        os.kill(os.getpid(), signal.SIGSEGV)

    pytest.importorskip("pyarrow.parquet")
    if ending == "xlsx":
        monkeypatch.setattr(files.workbook_size, "check", fallen)
    else:
        monkeypatch.setattr(sys.modules["pyarrow.parquet"], "ParquetFile", fallen)
    with pytest.raises(CalloutError) as told:
        files.open_source(str(path))
    problem = "makes the library that reads it fall. Save the list anew, or as CSV."
    assert str(told.value) == f"list.{ending}: {problem}"


def test_cells_come_through_as_what_they_are():
    row = [
        None, "R6", 12, 12.5, True, float("inf"), datetime.datetime(2024, 5, 31, 12, 1), datetime.date(2024, 5, 31),
        datetime.time(7, 30), datetime.timedelta(days=1, seconds=2, microseconds=3),
    ]  # fmt: skip
    ((first, read),) = files._apart(lambda: iter([(1, [row])]), "list")
    assert first == 1 and read == [row] and list(map(type, read[0])) == list(map(type, row))
