"""Why, why not, and where each number comes from: told from the trace, worked out again, and shown on screens that
fit."""

import dataclasses
import json
import math
import re
from pathlib import Path

import pytest
from command import run
from often import often
from shown import WORKED, as_text, worked

from advisor.answer import wording
from advisor.answer.advice import givens, measured
from advisor.ground.errors import CalloutError
from advisor.language import expression
from advisor.show import numbers, rows, why
from advisor.study import changes, derive, equations

SOME = WORKED[::4]
SCREENS = Path(__file__).parent.parent / "screens"
CORNER = ("R6 ±0.1", "--form", "convex", "--location", "corner", "--diameter", "40 mm", "--quantity", "12")
# Read off a table or a list: no equation gives these, and the vocabulary says what they are.
LOOKED_UP = {
    "cutting.form_feed", "form_tool.plain_arc_error", "minutes.least", "minutes.second_least", "numeric.nearest", "numeric.next_below",
    "numeric.known", "numeric.otherwise", "form_tool.ready_tool_serves", "freehand.nose_for", "in_the_lathe.form_next_speed_up",
    "gauging.leaf_within", "gauging.finest", "freehand.cusp_of_steps", "minutes.four_in_five", "in_the_lathe.turning_nose_within",
    "freehand.steps_needed", "gauging.pair_of_pins", "in_the_lathe.next_speed_up", "in_the_lathe.nose_tool_serves", "in_the_lathe.ready_radius", "in_the_lathe.rod_on_shelf",
    "in_the_lathe.shelf_tool_radius", "in_the_lathe.template_gap", "in_the_lathe.turning_nose",
}  # fmt: skip


# ---- equations


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_the_equations_in_docstrings_give_what_the_formulas_give(case):
    advice = worked(case)
    for name in advice.rules.names.values():
        value = advice.values[name.name]
        if (
            name.kind != "formula"
            or name.function in LOOKED_UP
            or (isinstance(value, float) and not math.isfinite(value))
        ):
            continue
        arguments = {parameter: expression.evaluate(tree, advice.values) for parameter, tree in name.arguments}
        found = equations.work_out(advice.rules.function(name.name), arguments, value)
        slowest = found == [] and name.unit == "rpm" and value == advice.values["spindle_speeds"][0]
        assert found or slowest, f"{name.name}: no equation of {name.function} comes to {value}"


def test_every_formula_states_its_source():
    rules = worked(WORKED[0]).rules
    for name in rules.names.values():
        if name.kind == "formula" and name.function not in LOOKED_UP:
            about = equations.described(rules.function(name.name))
            assert about.source and about.equations, name.function


def test_an_equation_is_shown_with_its_symbols_its_numbers_and_its_answer():
    advice = worked(next(path for path in WORKED if path.stem == "cup-washer-dish"))
    radius, chord = advice.values["radius"], advice.values["chord"]
    line = derive.derivation("depth", advice).lines[0]
    squares = f"{equations.figure(radius**2)} − {equations.figure(chord**2 / 4)}"
    assert line == f"s = R − √(R² − c²/4) = {equations.figure(radius)} − √({squares}) = {advice.values['depth']:.3f} mm"


@pytest.mark.parametrize(
    ("text", "values", "written", "value"),
    [
        ("R − √(R² − w²/4)", {"R": 10.0, "w": 12.0}, "10 − √(100 − 36)", 2.0),
        ("2 asin(c/(2R))", {"c": 20.0, "R": 20.0}, "2 × asin(20 / (2 × 20))", 60.0),
        ("⌈t / d⌉ + f", {"t": 2.4, "d": 0.5, "f": 2.0}, "⌈2.4 / 0.5⌉ + 2", 7.0),
        ("|a − b|", {"a": 1.0, "b": 3.0}, "|1 − 3|", 2.0),
        ("r₁ cos γ", {"r₁": 2.0, "γ": 60.0}, "2 × cos(60)", 1.0),
        ("−(R − s)", {"R": 3.0, "s": -1.0}, "−(3 − (−1))", -4.0),
        ("2^(−2) k", {"k": 4.0}, "2^(−2) × 4", 1.0),
    ],
)
def test_equations_are_read_written_and_worked_out(text, values, written, value):
    tree = equations.parse(text, set(values))
    assert equations.value(tree, values) == pytest.approx(value)
    assert (
        equations.written(tree, values).replace(" ", "") == written.replace(" ", "")
        or equations.written(tree, values) == "1"
    )


@pytest.mark.parametrize("text", ["R −", "(R", "R + q", "R ) R", "sin", "import os", "R.__class__", "√"])
def test_what_is_no_equation_is_refused(text):
    with pytest.raises(equations.Unreadable):
        equations.parse(text, {"R"})


# ---- numbers


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_every_number_of_the_setup_is_derived(case):
    advice = worked(case)
    for method in advice.methods.values():
        if method.setup is None:
            continue
        shown = {row.label for row in rows.setup_rows(method, advice)}
        told = dict(numbers.setup_numbers(method, advice))
        assert shown <= set(told)
        for label in shown - {"Rod between"}:
            assert told[label], label
            for found in told[label]:
                assert found.lines and (found.source or found.kind != "formula" or found.name in advice.rules.names)
        assert len([row for row in told if row not in shown]) >= 1 + len(
            [check for check in method.checks if check["sees_mm"]]
        )


@pytest.mark.parametrize("case", SOME[:: often(5, 2)], ids=lambda path: path.stem)
def test_every_name_can_be_derived(case):
    advice = worked(case)
    for name in advice.rules.names:
        found = derive.derivation(name, advice)
        assert found.lines and all(isinstance(line, str) and line for line in found.lines), name


def test_a_number_is_followed_down_to_what_was_stated():
    told = run("why", *CORNER, "--derive", "edge width", "--levels", "5")
    assert "b = R + 2l = 6 + 2 × 0.5 = 7.000 mm" in told.out
    assert re.search(r"R +radius +6 mm +on the drawing", told.out)
    assert re.search(r"l +form tool land +0\.5 mm +limit, common practice", told.out)
    deep = run("why", *CORNER, "--derive", "batch", "--levels", "9").out
    assert deep.count("\n") < 800
    assert "assumed: no number of places is stated" in " ".join(deep.split())


def test_a_value_says_whether_it_was_assumed_or_is_the_shops_own():
    advice = worked(next(path for path in WORKED if path.stem.startswith("bench-")))
    assert derive.origin("form_tool_regrind", advice) == "limit, this shop's own"
    assert derive.origin("grind_loose", advice) == "limit, estimate"
    assert derive.origin("post_diameter", advice) == "shop file"


def test_a_label_that_is_not_known_names_the_nearest():
    with pytest.raises(CalloutError, match='Did you mean "edge width"'):
        numbers.find("edg width", worked(WORKED[0]))


# ---- reasons


def every_reason(reasons):
    for reason in reasons:
        yield reason
        if not isinstance(reason, int):
            yield from every_reason(reason.because)


@pytest.mark.parametrize("case", WORKED, ids=lambda path: path.stem)
def test_reasons_fired_and_are_told_once(case):
    advice = worked(case)
    if advice.best is None:
        return
    fired = {rule.id for rule in advice.outcome.fired}
    told = [
        r for _, reasons in derive.why_this(advice.best, advice, derive.Reasons(advice)) for r in every_reason(reasons)
    ]
    first = [r for r in told if not isinstance(r, int)]
    assert {r.rule.id for r in first} <= fired
    assert len({r.rule.id for r in first}) == len(first)
    assert {r for r in told if isinstance(r, int)} <= {r.number for r in first}
    scaled = {f.rule_id for f in advice.best.findings if f.kind in ("scales", "adds")}
    assert scaled <= {r.rule.id for r in first}


def told_rules(advice):
    told = derive.why_this(advice.best, advice, derive.Reasons(advice))
    return [reason.rule for _, reasons in told for reason in every_reason(reasons) if not isinstance(reason, int)]


def test_reasons_are_what_the_engine_noted():
    advice = worked(next(path for path in WORKED if path.stem == "knob-corner"))
    line = next(line for line in advice.trace if line.rule in told_rules(advice))
    assert all(advice.values[name] == value for name, value in line.facts.items())
    less = dataclasses.replace(advice)
    less.__dict__["trace"] = [other for other in advice.trace if other is not line]
    assert line.rule not in told_rules(less)


@pytest.mark.parametrize("case", SOME, ids=lambda path: path.stem)
def test_conditions_are_shown_as_they_compare(case):
    advice = worked(case)
    for rule in advice.outcome.fired:
        for tree in rule.when:
            assert derive.compared(tree, advice), rule.id
    for method in advice.methods.values():
        for rule, failed in derive.not_ruled_out(method, advice):
            assert failed, rule.id


def test_a_comparison_carries_its_values():
    advice = worked(next(path for path in WORKED if path.stem == "knob-corner"))
    assert "edge width 7 mm ≤ widest blank 20 mm" in as_text(why.screen(advice), 120)


# ---- screens


@pytest.mark.parametrize("case", SOME[:: often(3, 1)], ids=lambda path: path.stem)
def test_screens_fit_and_lose_no_word(case):
    advice = worked(case)
    screens = [why.screen(advice, True)]
    screens += [why.instead(advice, name) for name in advice.methods if name != advice.recommended]
    for screen in screens:
        wide = sorted(re.sub(r"[│├└─\s]", "", as_text(screen, 400)))
        for columns in (80, 120):
            text = as_text(screen, columns)
            assert max(map(len, text.splitlines())) <= columns
            assert sorted(re.sub(r"[│├└─\s]", "", text)) == wide


GOLDEN = {
    "why": (),
    "why-instead": ("--instead", "pivot attachment"),
    "why-derive": ("--derive", "Edge in the cut"),
    "why-numbers": ("--numbers",),
}


@pytest.mark.parametrize("width", [80, 120])
@pytest.mark.parametrize("screen", GOLDEN)
def test_screens_read_as_they_did(screen, width, golden, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    golden(SCREENS / f"{screen}-{width}.txt", run("why", *CORNER, *GOLDEN[screen]).out)


def test_why_says_what_it_promises():
    told = run("why", *CORNER)
    assert told.status == 0 and not told.complaint
    for head in ("WHY THE FORM TOOL", "WHY NOT ANOTHER", "WHAT WOULD CHANGE IT"):
        assert head in told.out
    assert "WHERE EACH NUMBER" not in told.out and "WHERE EACH NUMBER" in run("why", *CORNER, "--numbers").out


def test_instead_puts_two_methods_side_by_side():
    told = run("why", *CORNER, "--instead", "pivot attachment").out
    for head in ("INSTEAD OF THE FORM TOOL", "WHAT SEPARATES THEM", "WHAT DECIDES"):
        assert head in told
    for row in ("tooling", "setup", "12 pieces", "batch", "in tolerance"):
        assert re.search(rf"^  {row} ", told, re.MULTILINE), row
    out = run("why", *CORNER, "--instead", "radius rod").out
    assert "WHAT RULES IT OUT" in out and "Needs: " in out


def test_the_side_by_side_minutes_add_up():
    advice = worked(next(path for path in WORKED if path.stem == "knob-corner"))
    for method in advice.methods.values():
        whole = sum(value for _, value in wording.parts(method, method.minutes["arcs"]))
        assert whole == pytest.approx(method.minutes["batch"]["mean"])
        rows_ = dict(why._ROWS)
        assert sum(of(method) for words, of in rows_.items() if words != "batch") == pytest.approx(
            rows_["batch"](method)
        )


def test_the_data_say_the_same():
    data = run("why", *CORNER, "--json", "--numbers").data
    assert data["recommended"] == "form tool" and set(data["others"]) == {
        "freehand",
        "pivot attachment",
        "radius rod",
        "swung compound",
    }
    assert data["changes"]["points"] and data["numbers"] and data["because"]
    rod = data["others"]["radius rod"]
    assert rod["ruled_out_by"][0]["rule"] == "radius-rod.ends-only" and rod["dearer_min"] is None
    one = run("why", *CORNER, "--json", "--instead", "swung compound").data
    assert one["verdict"] and one["minutes"][0]["element"] == "tooling"
    number = run("why", *CORNER, "--json", "--derive", "edge_width").data
    assert number["derivations"][0]["lines"][0].startswith("b = R + 2l")


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        (("--instead", "form tool"), "instead"),
        (("--instead", "lathe"), "instead"),
        (("--derive", "nonsense"), "derive"),
        (("--levels", "3"), "--levels"),
        (("--derive", "batch", "--levels", "many"), "--levels"),
        (("--derive", "batch", "--numbers"), "--numbers"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_one_line(asked, field):
    told = run("why", *CORNER, *asked)
    assert told.status == 2 and told.complaint.startswith(f"{field}: ") and told.complaint.count("\n") == 1


def test_where_nothing_stands_the_exit_says_so():
    told = run("why", "R30 ±0.005", "--form", "convex", "--location", "end", "--diameter", "50 mm")
    assert told.status == 1 and "WHY NOTHING STANDS" in told.out
    assert (
        run(
            "why", "R30 ±0.005", "--form", "convex", "--location", "end", "--diameter", "50 mm", "--instead", "freehand"
        ).status
        == 1
    )


# ---- what if


def test_what_if_stands_beside_the_answer():
    ran = run("why", "--case", "cases/knob-corner.toml", "--if", "quantity 2")
    assert ran.status == 0
    assert re.search(r"form tool +> 70 min +50 min", ran.out) and re.search(r"freehand +171 min +> 32 min", ran.out)
    assert "Freehand turning instead of the form tool: quicker there" in ran.out


def test_what_if_names_the_rule_that_flips():
    data = run("why", "--case", "cases/knob-corner.toml", "--if", "stickout 130 mm", "--json").data
    assert data["now"]["recommended"] == "form tool" and data["then"]["recommended"] == "pivot attachment"
    assert data["cause"] == "begins" and data["rule"] == "form-tool.contact-long"


def test_what_if_the_method_stays_what_is_set_otherwise_is_shown():
    out = run("why", "--case", "cases/knob-corner.toml", "--if", "material brass").out
    assert "The method stays: the form tool" in out
    assert re.search(r"Spindle +125 rpm.* 180 rpm", out)


def test_what_if_takes_several_values_and_a_shop():
    data = run(
        "why", "--case", "cases/lever-ball.toml", "--if", "shop training-shop-no-pivot, quantity 2", "--json"
    ).data
    assert data["if"] == {"shop": "training-shop-no-pivot", "quantity": "2"}
    assert data["then"]["batch_min"]["pivot attachment"] is None


@pytest.mark.parametrize("text", ["", "quantty 2", "quantity two", "quantity 2, quantity 3", "radius"])
def test_what_if_that_cannot_be_read(text):
    assert run("why", "--case", "cases/knob-corner.toml", f"--if={text}").status == 2


def test_other_facts_that_change_the_choice_are_named_with_their_rule():
    """Held against the advice on a callout that states them."""
    data = run("why", "--case", "cases/wide-hub.toml", "--json").data["changes"]["facts"]
    assert data
    for fact in data:
        value = (
            {True: "yes", False: "no"}.get(fact["value"], fact["value"])
            if fact["name"] == "interrupted"
            else fact["value"]
        )
        ran = run("advise", "--case", "cases/wide-hub.toml", f"--{fact['name'].replace('_', '-')}={value}", "--json")
        assert ran.data["recommended"] == fact["method"], fact


# ---- what one method gives for another


def test_the_sum_between_two_methods_is_told_and_pays_where_it_says():
    """A dozen corners: 37 min of grinding against some twelve minutes saved on every piece decide, and the batch from
    which that pays is found by asking again."""
    advice = worked(next(path for path in WORKED if path.stem == "knob-corner"))
    for other in ("freehand", "pivot attachment"):
        traded = changes.trade(advice, "form tool", other)
        ours, theirs = (advice.methods[name].minutes["batch"]["mean"] for name in ("form tool", other))
        assert theirs - ours == pytest.approx(traded.each * 12 - traded.once)
        assert traded.once > 0 and traded.each > 0 and 1 < traded.first <= 12 and traded.last is None
        for quantity, pays in ((traded.first, True), (traded.first - 1, False)):
            there = changes.varied(advice.callout, "quantity", quantity)
            minutes = measured(advice.rules, givens(there, advice.shop, advice.lathe))
            assert (minutes["form tool"] <= minutes[other]) is pays, (other, quantity)
        told = why.verdict(changes.compare(advice, "form tool", other), advice)
        assert told.startswith("The form tool costs ") and f"pays from {traded.first} pieces (now 12)" in told


def test_another_tolerance_is_asked_about_by_its_name():
    """Half the tolerance: the form tool is longer in the making and the guided tool takes over, as asking anew says."""
    asked = json.loads(run("why", *CORNER, "--if", "tolerance 0.05", "--json").out)
    anew = json.loads(run("advise", "R6 ±0.05", *CORNER[1:], "--json").out)
    assert asked["then"]["recommended"] == anew["recommended"] != asked["now"]["recommended"]
    assert "radius: " in run("why", *CORNER, "--if", "tolerance 9").complaint


@pytest.mark.parametrize(
    ("label", "name"),
    [("4 in 5", "form_tool_batch_p80"), ("in tolerance", "form_tool_in_tolerance"), ("Force", "form_tool_force"), ("power", "form_tool_power")],
)  # fmt: skip
def test_any_label_of_a_screen_finds_its_number(label, name):
    advice = worked(next(path for path in WORKED if path.stem == "knob-corner"))
    assert numbers.find(label, advice) == name
