"""The answer on one screen: that it fits, says what has to be said on any screen, and names what it leaves out."""

import dataclasses
import itertools
import json
import re
from pathlib import Path
from unittest import mock

import possible_callouts
import pytest
import shown
from command import CORNER, run
from often import LONG, often

from advisor.answer import wording
from advisor.answer.advice import advise
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import InputError
from advisor.ground.folders import data_folder
from advisor.ground.methods import methods
from advisor.ground.units import in_ascii
from advisor.show import blocks, onescreen, rows, terminal

JUDGED = Path(__file__).parent.parent / "judged"
ESSENTIAL = ("eye protection", "gloves", "loose sleeves", "chuck key out", "by hand, power off", "manual", "--full")


def judged():
    """The advice on every judged callout that can be read."""
    for row in json.loads((JUDGED / "callouts.json").read_text(encoding="utf-8")):
        shop = shops.read_shop(str(JUDGED / "shops" / f"{row['shop']}.toml"))
        known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
        try:
            yield advise(callouts.read_callout(row["callout"], **known), shop, executor=generated.run)
        except InputError:
            continue


def drawn():
    """The advice on a random sample of callouts that can be."""
    for _, callout, shop in possible_callouts.possible(often(20, 60), first=40):
        yield advise(callout, shop, executor=generated.run)


def text_of(advice, columns=80):
    return shown.as_text(onescreen.screen(advice), columns)


def flat(text):
    """A screen as one line, each blank single."""
    return " ".join(text.split())


@pytest.fixture(scope="module")
def screens():
    """Of all three lists: (advice, its screen at 80 columns)."""
    found = [shown.worked(path) for path in shown.some(1)] + list(itertools.chain(judged(), drawn()))
    return [(advice, text_of(advice)) for advice in found]


def test_it_never_is_longer_than_a_screen(screens):
    assert len(screens) > often(90, 170)
    for advice, text in screens:
        lines = text.splitlines()
        assert len(lines) <= 40, (len(lines), advice.callout.text)
        assert max(map(len, lines)) <= 80, advice.callout.text


def test_what_has_to_be_said_stands_on_every_one(screens):
    for advice, text in screens:
        told = flat(text)
        for words in ESSENTIAL:
            assert words in told, (words, advice.callout.text)
        assert advice.shop.name in told
        if advice.best:
            assert advice.best.name.upper() in told and "in tolerance" in told
            assert "min for the " in told
        else:
            assert told.index("NO METHOD STANDS") < told.index("Why not") < told.index("Way out") < told.index("Care")


def test_every_number_is_there_or_is_named_as_left_out(screens):
    for advice, text in screens:
        if advice.shown is None or "the numbers to set for the nearest" in flat(text):
            assert not advice.best
            continue
        told, out = flat(text), flat(text).partition("Left out here: ")[2]
        for row in rows.setup_rows(advice.shown, advice):
            label, value = row.label.split()[0], flat(row.value)
            shown_here = value in told or all(word in told for word in value.split())
            assert (label in told and shown_here) or row.label.lower() in out, (row, text)


def test_a_caution_of_this_job_is_there_or_counted_as_left_out(screens):
    for advice, text in screens:
        method = advice.shown or advice.ranked[0]
        harm, paper, _ = wording.cautions_apart(method, advice)
        special, told = harm + paper, flat(text)
        missing = sum(flat(words) not in told for words in special)
        counted = re.search(r"(\d+ )?cautions?(?=[;.])", told.partition("Left out here: ")[2])
        assert missing == (int(counted[1] or 1) if counted else 0), text


def test_what_keeps_from_harm_stays_when_the_step_off_has_to_go():
    fields = {"radius": "R20", "form": "concave", "location": "end", "diameter": "60 mm", "width": "36 mm"}
    callout = callouts.read_callout(fields | {"material": "titanium alloy"}, materials=materials.materials())
    advice = advise(callout, shops.read_shop("training-shop"), executor=generated.run)
    told = flat(text_of(advice))
    assert "the step-off" in told.partition("Left out here: ")[2]
    for words in ("never with water", "never dwell", "The heel rubs", "eye protection"):
        assert words in told.partition("Left out here: ")[0]


def test_minutes_are_longer_and_money_is_dearer(screens):
    for advice, text in screens:
        assert not re.search(r"\bmin (dearer|cheaper)\b", flat(text))
        for method in advice.ranked:
            if method is advice.best or not method.rank or method.cost is None:
                continue
            more = method.cost - advice.best.cost
            words = wording.against(method, advice)
            assert " longer (" in words
            assert words.endswith("dearer") == (more >= 0.005) and words.endswith("cheaper") == (more <= -0.005)


def test_the_order_knows_every_row(screens):
    for advice, _ in screens:
        for method in advice.methods.values():
            known = methods()[method.name].order
            unknown = [row.label for row in rows.setup_rows(method, advice) if onescreen.kind(row) not in known]
            assert not unknown, f"{method.name}: say in rules/methods.toml where {unknown} are set"


def test_the_order_names_rows_that_there_are():
    for method in methods().values():
        there = {number.label for number in method.numbers}
        assert set(method.order) == there and set(method.aside) <= there
        assert len(set(method.order)) == len(method.order)


def test_numbers_stand_in_the_order_of_the_steps(screens):
    """What one step sets stands before what a later step sets, as far as the steps name it. How the hand goes about it
    (the way) and the metal turned away beforehand belong to several steps."""
    several = {"Way", "Straight turning", "Spindle", "Feed", "Other speeds"}
    for advice, _ in screens:
        method = advice.shown
        if method is None:
            continue
        order = {}
        for step in method.steps:
            for name in re.findall(r"\{(\w+)\}", step.rule.effects[0].text):
                order.setdefault(name, step.rule.order)
        found = []
        for row in onescreen.in_order(method, advice):
            at = [order[name] for name in row.names if name in order]
            if at and row.label not in several:
                found.append((min(at), row.label))
        assert [at for at, _ in found] == sorted(at for at, _ in found), (method.name, found)


def test_a_row_that_the_order_does_not_know_stays_where_it_was(monkeypatch):
    advice = shown.worked(next(path for path in shown.WORKED if path.stem == "knob-corner"))
    usual = onescreen.in_order(advice.best, advice)
    listed = rows.setup_rows(advice.best, advice)
    place = next(n for n, row in enumerate(listed) if row.label == "Feed in")
    more = [*listed[: place + 1], rows.Row("Something new", "1 mm"), *listed[place + 1 :]]
    monkeypatch.setattr(rows, "setup_rows", lambda method, advice: more)
    labels = [row.label for row in onescreen.in_order(advice.best, advice)]
    assert labels[labels.index("Feed in") + 1] == "Something new"
    assert [label for label in labels if label != "Something new"] == [row.label for row in usual]


def test_full_has_the_numbers_in_the_order_in_which_they_are_set():
    for path in shown.WORKED[::5]:
        advice = shown.worked(path)
        if advice.shown is None:
            continue
        with mock.patch.object(blocks, "READABLE", 400):
            told = shown.as_text(terminal.screen(advice), 400)
        told = told[told.index("\nSET") : told.index("\nSTEPS")]
        places = [told.index(f"  {row.label}  ") for row in onescreen.in_order(advice.shown, advice)]
        assert places == sorted(places), path.stem


def test_full_says_where_nothing_proves_it():
    advice = shown.worked(next(path for path in shown.WORKED if path.stem == "knob-corner"))
    unproved = dataclasses.replace(advice.best, checks=[])
    advice = dataclasses.replace(advice, methods=advice.methods | {advice.recommended: unproved})
    for screen in (terminal.screen(advice), onescreen.screen(advice)):
        assert "Nothing in this shop proves it." in shown.as_text(screen)


def test_full_has_more():
    one, full = run("advise", *CORNER), run("advise", *CORNER, "--full")
    assert one.status == full.status == 0
    for head in ("STEPS", "PROVE IT", "TAKE CARE", "THE OTHER METHODS", "ASSUMED"):
        assert head in full.out and head not in one.out
    assert len(full.out.splitlines()) > 2 * len(one.out.splitlines())


def test_plain_words_of_a_chance_are_never_far_off():
    for thousandth in range(10, 991):
        share = thousandth / 1000
        good, whole = map(int, wording.chance(share).removeprefix("over ").removeprefix("under ").split(" of "))
        assert abs(good / whole - share) <= 0.006 and 0 < good < whole


# ---- lines


@pytest.mark.parametrize("columns", [80, 133, 200, 300])
def test_prose_is_no_wider_than_reads_well(columns):
    advice = shown.worked(next(path for path in shown.WORKED if path.stem == "hub-cap-edge"))
    for screen in (onescreen.screen(advice), terminal.screen(advice)):
        for line in shown.as_text(screen, columns).splitlines():
            # What stands in one column of a table, apart from the next by two blanks at least.
            assert max(map(len, re.split(r" {2,}", line.strip()))) <= blocks.READABLE, line


def test_a_figure_stays_with_its_unit(screens):
    for _, text in screens:
        for line in text.splitlines():
            assert not re.match(r"\s*(mm|min|rpm|HB|%|EUR/h|m/min)\b", line), text


def test_columns_take_the_fewest_lines():
    made = [("a label of several words", "12 mm"), ("short", "a value that is as long as a line of the table")]
    lines = shown.as_text(blocks.Columns(made), 60).splitlines()
    assert len(lines) <= 3 and max(map(len, lines)) <= 60


# ---- where only the plainest characters are to be had


def test_plain_output_has_no_other_character_and_keeps_its_width():
    for path in shown.WORKED[:: often(19, 6)]:
        advice = shown.worked(path)
        for screen in (onescreen.screen(advice), terminal.screen(advice), shown.why.screen(advice, True)):
            text = in_ascii(shown.as_text(blocks.put(screen, in_ascii), 80))
            assert text.isascii() and "?" not in text.replace("cut? ", "").replace("hardened? ", ""), path.stem
            assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize("set_to", [{"LC_ALL": "C"}, {"PYTHONIOENCODING": "latin-1"}, {"PYTHONIOENCODING": "ascii"}])
def test_such_output_writes_plus_minus(set_to):
    import os

    from test_cli import process

    surroundings = {name: value for name, value in os.environ.items() if name not in ("PYTHONIOENCODING", "LC_ALL")}
    every = (("advise", *CORNER), ("advise", *CORNER, "--json"), ("advise", *CORNER[:-1], "±40 kg"))
    for words in every if LONG or "LC_ALL" in set_to else every[2:]:
        ran = process(*words, env=surroundings | set_to, encoding="latin-1")
        told = ran.stdout + ran.stderr
        assert told.isascii() and "?" not in told, told
        assert "+/-" in told or "\\u00b1" in told


def test_utf_8_keeps_its_characters():
    assert "±0.1 mm" in run("advise", *CORNER).out


# ---- cases by name


def test_a_case_is_reached_by_its_name_from_anywhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    named = run("advise", "knob-corner")
    assert named.status == 0 and named.out == run("advise", "--case", "knob-corner").out
    file = str(data_folder("cases") / "knob-corner.toml")
    assert run("advise", file).out == run("advise", "--case", file).out == named.out
    assert run("why", "knob-corner", "--instead", "pivot").status == 0
    assert run("estimate", "knob-corner", "--quantity", "1").status == 0


def test_a_file_goes_before_a_case_of_that_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text = (data_folder("cases") / "knob-corner.toml").read_text(encoding="utf-8")
    Path("knob-corner").write_text(text.replace("quantity = 12", "quantity = 7"), encoding="utf-8")
    assert "7 off" in run("advise", "--case", "knob-corner").out


@pytest.mark.parametrize(
    "words", [("advise", "knob-cornr"), ("advise", "--case", "knob-cornr"), ("sheet", "knob-cornr")]
)
def test_a_slip_in_the_name_is_told(words):
    ran = run(*words, *(("-o", "x.pdf") if words[0] == "sheet" else ()))
    assert ran.status == 2 and 'Did you mean "knob-corner"?' in ran.complaint


def test_every_case_is_listed():
    listed = run("cases")
    assert listed.status == 0
    for path in shown.WORKED:
        assert re.search(rf"(?m)^  {path.stem}  ", listed.out), path.stem
    assert max(map(len, listed.out.splitlines())) <= 80


def test_version_and_help():
    assert re.fullmatch(r"turn-radius \S+\n", run("--version").out)
    assert run("help").out == run("--help").out
    assert run("help", "advise").out == run("advise", "--help").out
    wrong = run("help", "advize")
    assert wrong.status == 2 and 'Did you mean "advise"?' in wrong.complaint


@pytest.mark.parametrize("word", ["pivot", "Pivot-Attachment", "rod", "compound", "swung", "freehand"])
def test_a_method_goes_by_a_short_word(word):
    assert run("why", "knob-corner", "--instead", word).status == 0


def test_derive_takes_what_the_screen_calls_it():
    filing = run("why", "hub-cap-edge", "--derive", "Filing")
    assert filing.status == 0 and "filing rpm = 160 rpm" in filing.out


@pytest.mark.parametrize(
    "callout, mark",
    [
        ({"radius": "R5.95 ±0.04", "form": "convex", "location": "corner", "units": "mm"}, "15/64 in"),
        ({"radius": "R.118 ±.002", "form": "convex", "location": "corner", "units": "inch"}, "3 mm"),
        ({"radius": "R6.35 ±0.1", "form": "concave", "location": "outside diameter", "width": "12.7 mm",
          "from_end": "20 mm", "units": "mm"}, "1/4 in"),
    ],
)  # fmt: skip
def test_gauges_are_named_as_they_are_marked(callout, mark):
    """15/64 in is 5.953 mm and 3 mm .1181 in: nobody finds a leaf of that. The size itself stays as it is."""
    shop = shops.read_shop("training-shop")
    known = {"materials": materials.materials(), "inch_tolerances": shop.inch_tolerances}
    advice = advise(callouts.read_callout(callout | {"diameter": "40 mm"}, **known), shop, executor=generated.run)
    method = advice.methods["form tool"]
    lines = [line for line, _ in rows.check_lines(method, advice)]
    assert f"Leaf of the radius gauge, against the light, {mark}" in lines
    (leaf,) = (check for check in method.checks if check["way"] == "leaf")
    assert leaf["size_mm"] == advice.values["leaf"]
    pins = [line for line in lines if line.startswith("Two pins")]
    assert all(", 5.8 mm, reads " in line for line in pins)
