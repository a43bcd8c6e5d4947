"""What the machine takes: no answer passes it, in shops with strange but stated limits either."""

import dataclasses

import pytest
from often import often
from rulebook_changes import without_rules

from advisor.answer import advice
from advisor.asked import callout, materials
from advisor.asked import shop as shops
from advisor.ground import dials
from advisor.ground.errors import InputError
from advisor.language import expression
from advisor.verify import hostile_shops, prove_rules, random_callouts

RULES = advice.rule_base()
# Rules without which an answer passes a bound in some shop -> the bounds that are then passed.
HELD_BY = {
    "work.no-speed-slow-enough": "burnt tool",
    "work.over-the-cross-slide": "swing over the cross slide",
    "work.swung-over-the-cross-slide": "what swings on the cross slide",
    "work.no-room-beside-the-jaws": "bed",
    "pivot-attachment.let-out-too-far": "let out for the attachment",
    "pivot-attachment.work-fouls-the-post": "post",
    "pivot-attachment.out-of-range": "attachment in reach",
    "swung-compound.let-out-too-far": "let out for the slide",
    "swung-compound.work-fouls-the-slide": "work over the slide",
    "swung-compound.out-of-reach": "compound in reach",
    "form-tool.past-the-motor": "motor",
    "form-tool.burns": "burnt edge",
    "form-tool.edge-wider-than-blank": "blank",
    "radius-rod.no-compound": "rod",
}


def in_strange_shops(rules, count):
    prover = prove_rules._Prover(rules, random_callouts.places([], rules.givens), None)
    prover._in_strange_shops(int(count / prove_rules.STRANGE_SHARE), 5)
    return prover.result


def test_no_answer_passes_a_limit_in_shops_drawn_at_random():
    result = in_strange_shops(RULES, often(8_000, 400_000))
    assert result.rows > 7_000
    assert not result.failures, "\n".join(f"{f.subject}: {f.problem}\n  {f.callout}" for f in result.failures)


def test_without_the_rules_that_hold_a_bound_it_is_passed():
    found = {failure.subject for failure in in_strange_shops(without_rules(RULES, HELD_BY), 12_000).of("bounds")}
    assert found >= set(HELD_BY.values())


def test_a_bound_speaks_of_what_the_numbers_to_set_are():
    """Every spindle speed that is worked out, and every stickout that the work is let out to, is held by some bound."""
    read = {name for bound in RULES.bounds for name in expression.names(bound.never)}
    speeds = {n.name for n in RULES.names.values() if n.unit == "rpm" and n.kind in ("formula", "expression")}
    let_out = {name for name in RULES.names if name.endswith("_stickout")}
    least_and_most = {"longest_stickout", "rod_shortest_stickout", "rod_stickout", "stiff_stickout"}
    assert speeds <= read | {"form_tool_rpm", "fastest_for_filing"} and "form_tool_set_rpm" in read
    assert let_out <= read | least_and_most


def test_strange_shops_are_shops_that_a_file_could_state():
    found = hostile_shops.drawn(60, 3)
    assert len(found) > 55 and hostile_shops.drawn(60, 3) == found
    lathes = [shop.lathes[0] for shop in found]
    assert min(lathe.swing_over_bed for lathe in lathes) < 80 and max(lathe.swing_over_bed for lathe in lathes) > 600
    assert any(len(lathe.spindle_speeds) == 1 for lathe in lathes)
    assert any(lathe.chuck_highest_speed == lathe.spindle_speeds[0] for lathe in lathes)
    assert any(lathe.compound is None for lathe in lathes) and any(shop.limits for shop in found)


# ---- one answer each


def answered(shop="training-shop", *, lathe=None, **fields):
    shop = shops.read_shop(shop)
    if lathe:
        shop = dataclasses.replace(shop, lathes=(dataclasses.replace(shop.lathes[0], **lathe),))
    read = callout.read_callout(fields, materials=materials.materials())
    return advice.advise(read, shop)


def out(answer, method):
    return {finding.rule_id for finding in answer.methods[method].findings if finding.kind == "rules_out"}


DOME = {"form": "convex", "location": "end"}


def test_thin_work_is_not_let_out_for_an_attachment_farther_than_a_chuck_holds_it():
    """R50 on 5 mm asks for 50 + 38 + 3 mm of stickout beside the post, and the chuck alone holds 60 mm."""
    answer = answered(radius="R50 ±0.5", **DOME, diameter="5 mm", stickout="30 mm")
    assert answer.values["pivot_stickout"] == pytest.approx(91) and answer.values["longest_stickout"] == 60
    assert "pivot-attachment.let-out-too-far" in out(answer, "pivot attachment")
    assert "swung-compound.let-out-too-far" in out(answer, "swung compound")


def test_a_dome_whose_rim_lies_behind_the_slide_wants_work_that_clears_it():
    """R150 on 240 mm is 60 mm deep, the tip reaches 35 mm, and the cross slide passes 205 mm."""
    answer = answered(radius="R150 ±1", **DOME, diameter="240 mm", stickout="150 mm")
    for method in ("form tool", "freehand"):
        assert "work.over-the-cross-slide" in out(answer, method)
    flat = answered(radius="R900 ±5", **DOME, diameter="240 mm", stickout="150 mm")
    assert "work.over-the-cross-slide" not in out(flat, "freehand")
    assert "work.reach-over-the-edge" in {f.rule_id for f in flat.methods["freehand"].cautions}


def test_no_next_speed_is_told_that_stalls_the_motor_or_burns_the_edge():
    fields = {"radius": "R6 ±0.2", "form": "convex", "location": "corner", "diameter": "40 mm"}
    assert answered(**fields).values["form_tool_rpm_up"] > 0
    leap = answered(**fields, lathe={"spindle_speeds": (100.0, 2000.0)})
    assert leap.values["form_tool_rpm"] == 100 and not leap.values["form_tool_rpm_up"] > 0


def test_a_chuck_that_nobody_rated_turns_no_faster_than_cast_iron_stands():
    """30 m/s at the rim of 200 mm is 2865 rpm."""
    fields = {"radius": "R1 ±0.1", "form": "convex", "location": "corner", "diameter": "4 mm", "stickout": "20 mm"}
    fast = {"spindle_speeds": (45.0, 500.0, 2800.0, 9000.0), "chuck_highest_speed": float("nan")}
    answer = answered(**fields, material="free-cutting brass", lathe=fast)
    assert answer.values["finish_rpm"] == 2800


def test_no_file_is_put_to_work_that_turns_too_fast_for_it():
    """160 rpm at 120 mm is 60 m/min, and a file stands 60 at most."""
    fields = {"radius": "R6 ±0.3", "form": "convex", "location": "corner", "diameter": "120 mm", "stickout": "80 mm"}
    fields["material"] = "free-cutting brass"
    answer = answered(**fields, lathe={"spindle_speeds": (160.0, 320.0)})
    told = {finding.rule_id for finding in answer.methods["freehand"].steps}
    assert "freehand.step.file" not in told and not answer.values["file_serves"]
    assert "freehand.too-fast-to-file" in {f.rule_id for f in answer.methods["freehand"].cautions}


def test_a_step_off_goes_along_the_bed_by_the_compound_only_as_far_as_that_travels():
    answer = answered(radius="R6 ±0.1", form="convex", location="corner", diameter="40 mm")
    points = [{"x_in_mm": 0.0, "z_in_mm": 0.0}, {"x_in_mm": 1.0, "z_in_mm": 30.0}]

    def slide(travel):
        lathe = answer.lathe
        lathe = dataclasses.replace(lathe, compound=dataclasses.replace(lathe.compound, travel=travel))
        return dials.step_off(points, dataclasses.replace(answer, lathe=lathe))[0][1].dial.name

    assert slide(30.0) == slide(float("nan")) == dials.COMPOUND and slide(29.9) == "carriage dial"


def test_the_reader_of_shop_files_still_knows_the_fastest_rim(tmp_path):
    path = tmp_path / "shop.toml"
    text = (shops.SHOPS / "training-shop.toml").read_text(encoding="utf-8")
    path.write_text(text.replace("spindle_speeds = [45, 63,", "spindle_speeds = [2900, 3000, 4000] #", 1))
    with pytest.raises(InputError, match="turns the rim of a 200 mm chuck past 30 m/s"):
        shops.read_shop(str(path))
