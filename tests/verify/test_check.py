"""`turn-radius check`: files of every kind, fine and not, and the proof behind --prove."""

import shutil
from pathlib import Path

import pytest
from command import CASE, run

from advisor.ground.errors import CalloutError
from advisor.ground.folders import data_folder
from advisor.verify import check_files

SHOP = """
like = "training-shop"
[limits]
close_call_share = 0.3
[minutes]
pivot_setup_time = ["10 min", "12 min", "15 min"]
"""
LIST = "radius,form,location,diameter,quantity,drawing\nR6 ±0.1,convex,corner,40 mm,12,A-1\nR20 ±0.5,convex,end,30 mm,1,A-2\n"


@pytest.fixture
def written(tmp_path):
    """A function (name, text) that writes a file and checks it."""

    def write(name, text):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return check_files.check([path], shop="training-shop")[0]

    return write


def test_the_programs_own_files_are_fine():
    checked = check_files.check(shop="training-shop")
    assert all(one.fine for one in checked), [one for one in checked if not one.fine]
    assert [one.what for one in checked[:2]] == ["rules", "shop"]
    assert len([one for one in checked if one.what == "case"]) == len(list(data_folder("cases").glob("*.toml")))


@pytest.mark.parametrize(
    ("name", "text", "what", "holds"),
    [
        ("one.toml", CASE, "case", "form tool"),
        (
            "one.toml",
            CASE + '[expect]\nmethod = "form tool"\nclose_call = false\nrules = ["form-tool.duplicates"]\n',
            "case",
            "form tool, as expected",
        ),
        ("shop.toml", SHOP, "shop", "2 lathes, 2 figures of its own"),
        ("list.csv", LIST, "list", "2 lines"),
        ("list.tsv", LIST.replace(",", "\t"), "list", "2 lines"),
    ],
)
def test_files_that_are_fine(written, name, text, what, holds):
    one = written(name, text)
    assert (one.what, one.holds, one.problem) == (what, holds, "")


@pytest.mark.parametrize(
    ("name", "text", "what", "problem"),
    [
        ("a.toml", CASE.replace("40 mm", "40 kg"), "case", "diameter: 40 kg is a mass, not a length."),
        ("a.toml", CASE + 'shop = "nowhere"', "case", "shop: nowhere is not there."),
        (
            "a.toml",
            CASE + '[expect]\nmethod = "freehand"\n',
            "case",
            "[expect] method: freehand is not what comes out: it is form tool.",
        ),
        (
            "a.toml",
            CASE + '[expect]\nrules = ["work.keyway"]\n',
            "case",
            "[expect] rules: work.keyway is not what comes out: it does not fire.",
        ),
        (
            "a.toml",
            CASE + "[expect]\nclose_call = true\n",
            "case",
            "[expect] close_call: true is not what comes out: it is false.",
        ),
        (
            "a.toml",
            CASE + '[expect]\nruled_out = ["form tool"]\n',
            "case",
            "[expect] ruled_out: form tool is not what comes out: it is ",
        ),
        (
            "a.toml",
            CASE + '[expect]\nmethods = "form tool"\n',
            "case",
            '[expect] methods: this name is not known. Did you mean "method"?',
        ),
        ("a.toml", "[callout\n", "case", "is not valid TOML"),
        ("a.toml", 'title = "a title"\n', "unknown", "is neither a rule file, a shop, a case nor a list."),
        ("a.txt", "R6", "unknown", "is neither a rule file, a shop, a case nor a list."),
        (
            "shop.toml",
            SHOP.replace("close_call_share", "close_cal_share"),
            "shop",
            'unknown limit "close_cal_share". Did you mean "close_call_share"?',
        ),
        ("shop.toml", SHOP.replace("15 min", "15 mm"), "shop", "a length (mm) stands where a time (min) belongs."),
        ("shop.toml", SHOP + "[pivot]\n", "shop", "pivot is not a key known here."),
        ("list.csv", LIST.replace("location", "whither"), "list", '"location" is a column that the list lacks.'),
        (
            "list.csv",
            LIST.replace("30 mm", "30 apples"),
            "list",
            "list.csv, line 3 (item A-2), column diameter: 30 apples",
        ),
        (
            "list.csv",
            LIST.replace("30 mm", "900 mm").replace("R20", "R500"),
            "list",
            "900 mm does not swing over the bed",
        ),
        ("list.csv", "", "list", "list.csv: is empty."),
        ("rule.toml", '[[rule]]\nid = "rule.one"\n', "rules", "lies in a folder without vocabulary.toml."),
    ],
)
def test_the_first_error_is_told(written, name, text, what, problem):
    one = written(name, text)
    assert one.what == what and not one.fine
    assert problem in one.problem


def test_a_list_that_is_no_text(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(b"radius,form,location,diameter\n\x81\x8d")
    assert "UTF-8" in check_files.check([path], shop="training-shop")[0].problem


@pytest.fixture
def rules(tmp_path):
    return Path(shutil.copytree(data_folder("rules"), tmp_path / "rules"))


def test_a_rule_folder_or_a_file_of_it(rules):
    for path in (rules, rules / "work.toml", rules / "limits.toml"):
        one = check_files.check([path], shop="training-shop")[0]
        assert one.what == "rules" and one.fine
    assert check_files.check([rules / "materials.toml"], shop="training-shop")[0].what == "materials"


def test_a_rule_that_does_what_its_example_denies(rules):
    work = rules / "work.toml"
    text = work.read_text(encoding="utf-8")
    for truth, fires, says in (("true", "true", "false"), ("false", "false", "true")):
        text = text.replace(
            f"given = {{ interrupted = {truth} }}, fires = {fires}",
            f"given = {{ interrupted = {truth} }}, fires = {says}",
        )
    work.write_text(text, encoding="utf-8")
    one = check_files.check([rules], shop="training-shop")[0]
    assert one.problem.startswith("rules/work.toml: work.keyway: example 1 fires and says that it does not.")


def test_a_rule_file_that_is_broken(rules):
    (rules / "work.toml").write_text("[[rule]\n", encoding="utf-8")
    assert "rules/work.toml: is not TOML" in check_files.check([rules / "work.toml"], shop="training-shop")[0].problem
    assert "rules/work.toml: is not TOML" in check_files.check([rules], shop="training-shop")[0].problem


def test_a_folder_is_searched(tmp_path, rules):
    (tmp_path / "shops").mkdir()
    (tmp_path / "shops" / "mine.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "one.toml").write_text(CASE.replace("[job]", '[job]\nshop = "shops/mine.toml"'), encoding="utf-8")
    (tmp_path / "notes.txt").write_text("nothing", encoding="utf-8")
    checked = check_files.check([tmp_path], shop="training-shop")
    assert [(one.what, one.fine) for one in checked] == [("rules", True), ("case", True), ("shop", True)], checked


def test_what_is_not_there(tmp_path):
    for path in (tmp_path / "nothing.toml", tmp_path, "a\0b"):
        with pytest.raises(CalloutError):
            check_files.check([path], shop="training-shop")


# ---- the command


def test_the_command_tells_fine_and_wrong(tmp_path):
    (tmp_path / "good.toml").write_text(CASE, encoding="utf-8")
    assert run("check", tmp_path).status == 0
    (tmp_path / "wrong.toml").write_text(CASE.replace("convex", "convecks"), encoding="utf-8")
    ran = run("check", tmp_path)
    assert ran.status == 2 and not ran.complaint
    assert "1 of 2 not fine." in ran.out and "convecks" in ran.out


def test_the_command_proves_a_changed_rule_base(rules):
    work = rules / "work.toml"
    text = work.read_text(encoding="utf-8")
    fires, silent = (
        "{ given = { interrupted = true, diameter = 5 }, fires = true },",
        "{ given = { interrupted = true, diameter = 0 }, fires = false },",
    )
    text = text.replace('when = ["interrupted"]', 'when = ["interrupted", "diameter > 0*mm"]')
    work.write_text(text.replace("{ given = { interrupted = true }, fires = true },", fires + silent), encoding="utf-8")
    ran = run("check", rules, "--prove", "--sample", "5000")
    assert ran.status == 2
    assert 'work.keyway: "diameter > 0*mm" never decides by itself' in ran.out
    assert '\n    turn-radius advise "' in ran.out


@pytest.mark.parametrize("words", [("--sample", "5"), ("--prove", "--sample", "0"), ("nowhere.toml",)])
def test_the_command_refuses(words):
    ran = run("check", *words)
    assert ran.status == 2 and not ran.out and ran.complaint
