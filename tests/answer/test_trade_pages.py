"""What one page tells: nothing that contradicts itself, nothing dangerous near the jaws, the order of operations, and the
constants of material and hardness."""

import re

import pytest
from test_rules import GROOVE, ask, cautions, corner, fired, lacking, live_answers, reasons, step_text, steps

from advisor.answer import advice
from advisor.asked import shop as shops
from advisor.asked.materials import find_material, material_values
from advisor.ground.methods import methods
from advisor.verify import contradictions, prove_rules, random_callouts

RULES = advice.rule_base()
ALL = [shops.read_shop(path.stem) for path in sorted(shops.SHOPS.glob("*.toml"))]


class Pages(prove_rules._Prover):
    """Only what one answer tells, over callouts drawn at random."""

    def clashes(self, count, seed):
        self.look(random_callouts.draw((seed, 0), count, self.where))
        return {failure.problem: failure.callout for failure in self.result.of("contradictions")}


# ---- contradictions


def test_item_7_no_page_contradicts_itself():
    found = Pages(RULES, random_callouts.places(ALL, RULES.givens), None).clashes(20_000, seed=3)
    assert not found, "\n".join(f"{problem}\n  {callout}" for problem, callout in found.items())


def test_item_7_one_answer_is_looked_at_as_columns_are():
    for answer in live_answers():
        assert not contradictions.clashes_of(answer)


def test_a_contradiction_that_is_put_in_is_found():
    """The bed is locked and moved: the same step told twice over."""
    answer = ask("R22 ±0.15", **GROOVE, diameter="60 mm", width="30 mm", from_end="10 mm", quantity=4)
    method = "pivot attachment"
    place = next(f.rule for f in answer.methods[method].steps if "lock the carriage" in f.rule.tells)
    told = place.tells
    try:
        place.tells = [*told, "feed along the bed"]
        clash = next(c for c in contradictions.clashes_of(answer, [method]) if c.one == c.other)
        assert (clash.one, clash.method) == (place.id, method)
        assert clash.pair.because == "A locked carriage does not move."
    finally:
        place.tells = told


def test_every_tell_is_half_of_a_contradiction():
    paired = {name for pair in RULES.contradictions for name in (pair.one, pair.other)}
    assert set(RULES.tells) == paired


# Words of which a text that uses them most likely tells something, and the texts that only speak of it.
TELLING = r"\b(rake|dwell\w*|flood|fluid|coolant|fil(?:e|es|ing)|cloth|faster|slower|exactly)\b"
ONLY_SPEAK = {
    "material.harder-than-usual": "a file as a test of hardness",
    "safety.highest-speed-of-an-unrated-chuck": "the file of the shop",
    "work.keyway": "what a keyway does to a file or a cloth",
    "pivot-attachment.step.place-end": "exactly under the axis",
    "swung-compound.step.place-end": "exactly under the axis",
    "work.lowest-speed-too-fast": "a slower lathe",
}


@pytest.mark.parametrize("rule", RULES.rules, ids=lambda rule: rule.id)
def test_a_text_that_tells_says_so(rule):
    texts = " ".join(effect.text for effect in rule.effects if effect.text)
    words = sorted(set(re.findall(TELLING, texts, re.IGNORECASE)))
    assert not words or rule.tells or rule.id in ONLY_SPEAK, words


def test_item_7_a_material_that_is_cut_dry_is_not_flooded():
    """Nylon is gummy and cut dry; cast iron on a lathe without a slow speed is cut dry as well."""
    nylon = corner(material="nylon")
    assert "material.gummy" in fired(nylon) and "material.gummy-under-fluid" not in fired(nylon)
    copper = corner(material="copper")
    assert "material.gummy-under-fluid" in fired(copper)
    iron = corner("R6", "60 mm", material="grey cast iron", at=lacking(spindle_speeds=(400.0, 800.0)))
    assert "work.lowest-speed-too-fast" in fired(iron)
    said = [f.text for f in iron.methods["freehand"].cautions if f.rule_id == "work.lowest-speed-too-fast"]
    assert len(said) == 1 and "flood" not in said[0]


def test_item_7_work_is_not_let_in_where_it_has_to_come_out():
    """A thin bar with a long waist that ends beside the jaws."""
    near = ask("R60 ±1", **GROOVE, diameter="3 mm", width="20 mm", from_end="0 mm", stickout="20.5 mm")
    assert {"work.shorten", "work.too-near-the-jaws"} <= fired(near) and "work.let-in" not in fired(near)
    far = corner("R1 ±0.1", "12 mm", stickout="60 mm")
    assert "work.let-in" in fired(far)


def test_item_7_the_centre_height_is_exact_or_has_an_allowance():
    for method, prefix in (("pivot attachment", "pivot"), ("swung compound", "compound")):
        text = step_text(ask("R15 ±0.1", "convex", "end", "30 mm"), method, "height")
        assert "exactly" not in text and "within" in text, prefix


def test_a_lathe_that_is_too_slow_says_nothing_of_the_form_tool():
    """A form tool runs at half speed: that the fastest is too slow is no matter of its own."""
    slow = corner("R2 ±0.1", "6 mm", at=lacking(spindle_speeds=(45.0, 90.0)), material="aluminium alloy")
    assert "work.lathe-too-slow" in cautions(slow, "freehand")
    assert "work.lathe-too-slow" not in cautions(slow, "form tool")


# ---- near the jaws. HSE EIS2 and SafeWork NSW: cloth in the tool post or on a backing board, never by hand; TC 9-524:
# no file near the jaws.


NO_FILES = lacking(files=shops.Files(handles=False))


@pytest.mark.parametrize("at, step", [("training-shop", "no-room-to-file"), (NO_FILES, "stone-near-the-jaws")])
def test_item_6_near_the_jaws_the_work_comes_out_or_the_spindle_stands(at, step):
    near = corner("R3 ±0.2", at=at, stickout="10 mm")
    text = step_text(near, "freehand", step)
    assert "stop the spindle" in text and "turning the chuck by hand" in text
    assert steps(near, "freehand")[:3] == ["let-out", "to-size-corner", "lay-out"]
    assert "safety.file" not in cautions(near, "freehand")


def test_item_6_cloth_is_nowhere_a_substitute_near_the_jaws():
    for answer in live_answers():
        if answer.values["jaw_gap"] < answer.values["filing_room"]:
            for finding in answer.methods["freehand"].steps:
                assert "cloth" not in finding.text, finding.rule_id


def test_item_6_cloth_is_held_by_the_tool_post_or_a_board():
    fine = corner(finish="Ra 0.4 um")
    polish = next(f.text for f in fine.methods["freehand"].cautions if f.rule_id == "accuracy.polish")
    assert "tool post" in polish and "backing board" in polish and "beside the jaws" in polish


# ---- constants


def speed(name, **more):
    row = find_material(name)
    values = {"hardness": float(row["hardness"]), "carbide": False} | more
    return material_values(row=row, **values)


def test_bearing_bronze_turns_at_40_to_60_m_min():
    """C93200 machines at 70 % of free-cutting brass, by the founders' sheets: 0.7 × 61 m/min is 43."""
    assert 40 <= speed("SAE 660")["rough_speed"] <= 60
    assert speed("SAE 660", hardness=65.0)["rough_speed"] == pytest.approx(0.7 * 61.0, rel=0.02)


def test_a_form_tool_starts_stainless_from_18_to_20_m_min():
    """T.O. 1-1A-9 table 2-8: 302, 304, 316 at 50 to 80 ft/min for 0.2 to 0.4 mm a turn; the middle is 19.8 m/min."""
    assert 18 <= speed("304")["straight_speed_hss"] <= 20
    assert speed("304")["finish_speed"] <= 80 * 0.3048 + 0.1


@pytest.mark.parametrize(
    "hardness, stands, hard", [("47 HRC", True, False), ("52 HRC", True, True), ("57 HRC", False, False)]
)
def test_carbide_takes_50_to_55_hrc_in_light_cuts(hardness, stands, hard):
    answer = ask("R15 ±0.2", "convex", "end", "30 mm", material="tool steel", hardness=hardness, tool="carbide")
    assert ("material.too-hard-for-carbide" not in fired(answer)) == stands
    assert ("material.hard-for-carbide" in fired(answer)) == hard
    told = "\n".join(f.text for f in answer.methods["freehand"].cautions)
    assert ("tool-post grinder" in told) == (hard or not stands)


@pytest.mark.parametrize(
    "hardness, filing",
    [("40 HRC", "files well"), ("46 HRC", "bites slowly"), ("50 HRC", "bites slowly"), ("55 HRC", "skates")],
)
def test_a_good_file_cuts_to_about_50_hrc(hardness, filing):
    """SAE J864: a file of 54 to 56 HRC cuts a prover of 53 and not one of 57."""
    assert corner("R3", "30 mm", material="tool steel", hardness=hardness, tool="carbide").values["filing"] == filing


def test_hard_work_is_turned_in_as_many_passes_as_light_cuts_take():
    """0.2 mm at a time where carbide stands 0.2, not the 0.75 of softer work: 1.5 mm are eight roughing passes."""
    soft, hard = (
        ask("R15 ±0.2", "convex", "end", "30 mm", material="tool steel", hardness=hardness, tool="carbide").values
        for hardness in ("30 HRC", "52 HRC")
    )
    assert hard["depth_of_cut"] == hard["light_hard_cut"] and soft["depth_of_cut"] == soft["hand_depth_of_cut"]
    assert (soft["stock_on_arc"], hard["stock_on_arc"]) == (1.5, 1.5)
    assert hard["swung_passes"] - hard["finishing_passes"] == 8
    assert soft["swung_passes"] - soft["finishing_passes"] == 2


def test_nothing_is_stoned_that_no_tool_has_roughed():
    too_hard = corner("R5 ±0.1", material="tool steel", hardness="60 HRC", tool="carbide")
    assert "freehand.file-skates" not in fired(too_hard)
    assert {"material.too-hard-for-carbide"} <= reasons(too_hard, "freehand")
    assert "material.too-hard-for-carbide" in cautions(too_hard, "freehand")


@pytest.mark.parametrize("finish, asked", [("Ra 0.4 um", "fine"), ("Ra 0.8 um", "turned"), ("Ra 1.6 um", "turned")])
def test_ra_0_8_is_turned_and_0_4_polished(finish, asked):
    assert corner(finish=finish).values["finish_asked"] == asked


def test_no_flats_binds_cr_and_not_sr():
    """ASME Y14.5M-1994, 2.15.2: a controlled radius is a fair curve without reversals; SR is a radius of a sphere."""
    assert "freehand.no-flats-allowed" in fired(corner("CR6 ±0.1"))
    assert "freehand.no-flats-allowed" not in fired(ask("SR15 ±0.1", "convex", "end", "30 mm"))


def test_ordinary_jaws_hold_under_half_the_chuck():
    chuck = corner().values["chuck_diameter"]
    for share, rules in ((0.4, set()), (0.6, {"work.reverse-the-jaws"}), (1.05, {"work.bigger-than-the-chuck"})):
        answer = corner("R6 ±0.5", f"{share * chuck:g} mm", stickout="60 mm")
        assert fired(answer) & {"work.reverse-the-jaws", "work.bigger-than-the-chuck"} == rules, share


# ---- common steps and holding


def test_every_method_begins_with_the_sizes_and_ends_without_burrs():
    dome = ask("R15 ±0.1", "convex", "end", "30 mm")
    for method in methods():
        said = steps(dome, method)
        if said:
            assert said[0] == "to-size-end" and "deburr" in said[-2:], method
    assert "deburr" not in steps(corner(), "freehand")  # an arc that runs out tangent leaves no sharp edge


@pytest.mark.parametrize(
    "callout, step",
    [
        (lambda: corner(), "to-size-corner"),
        (lambda: ask("R5", "concave", "corner", "30 mm", shoulder_height="40 mm"), "to-size-fillet"),
        (lambda: ask("R22", **GROOVE, diameter="60 mm", width="30 mm", from_end="10 mm"), "to-size-outside"),
    ],
)
def test_what_is_turned_to_size_first(callout, step):
    assert [said for said in steps(callout(), "freehand") if said != "let-out"][0] == step


def test_holding_is_told_where_the_callout_asks_for_it():
    assert "work.soft-jaws" in fired(corner(quantity=50))
    assert "work.soft-jaws" not in fired(corner(quantity=5))
    assert "work.true-to-an-indicator" in fired(corner("R6 ±0.04", quantity=2))
    between = {"stickout": "230 mm", "support": "tailstock"}
    long = ask("R6 ±0.2", **GROOVE, diameter="14 mm", width="10 mm", from_end="60 mm", **between)
    assert "work.steady-between" in fired(long)
    pip = ask("R20 ±0.2", "convex", "end", "30 mm", support="tailstock")
    needs = {f.rule.needs for f in pip.methods["freehand"].findings if f.kind == "rules_out"}
    assert any("pip" in text for text in needs)


def test_a_ball_is_told_what_to_do_beyond_its_front_half():
    ball = ask("SR15 ±0.1", "convex", "end", "30 mm")
    assert "work.ball-with-a-neck" in fired(ball)
    assert "work.ball-with-a-neck" not in fired(ask("R16 ±0.1", "convex", "end", "30 mm"))


def test_a_back_corner_asks_for_a_left_hand_tool():
    assert "work.back-corner" in fired(corner(places=2)) and "work.back-corner" not in fired(corner())
