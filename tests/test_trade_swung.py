"""Pivot attachment, radius rod and swung compound as a lathe hand would have them: one test an item of the trade
review, held against geometry that is drawn or worked out here anew."""

import math
from dataclasses import replace

import pytest
from pytest import approx

from advisor import callout as callouts
from advisor import geometry, materials, plain, work
from advisor.advice import advise
from advisor.errors import InputError
from advisor.explain import say
from advisor.shop import read_shop
from advisor.sizes import usual_stickout

NAN = math.nan


def ask(radius, form, location, diameter, *, at="training-shop", **more):
    """Advice on a callout; `at` is a shop, or the name of one."""
    shop = read_shop(at) if isinstance(at, str) else at
    fields = {"radius": radius, "form": form, "location": location, "diameter": diameter, **more}
    read = callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    return advise(read, shop, executor=plain.run)


def other(at="training-shop", **changes):
    """A shop in which something of its first lathe is otherwise."""
    shop = read_shop(at)
    return replace(shop, lathes=(replace(shop.lathes[0], **changes), *shop.lathes[1:]))


def fired(advice):
    return {rule.id for rule in advice.outcome.fired}


def reasons(advice, method):
    """Rules that rule a method out."""
    return {f.rule_id for f in advice.methods[method].findings if f.kind == "rules_out"}


def said(advice, method):
    """Steps and cautions of a method in their order, as they are read: rule -> words."""
    of = advice.methods[method]
    return {f.rule_id: say(f.text, advice) for f in (*of.steps, *of.cautions)}


def dome_depth(radius, half, offset):
    """Depth from the middle to the rim of a dome swung about a centre `offset` off the axis."""
    return math.sqrt(radius**2 - offset**2) - math.sqrt(radius**2 - (half - offset) ** 2)


def test_item_3_rod_line_up_spends_the_profile_tolerance():
    # R250 ±1 on D100: the depth may be off by 5.0510 - depth at R251 = 0.0206.
    profile = dome_depth(250, 50, 0) - dome_depth(251, 50, 0)
    assert dome_depth(250, 50, 0) == approx(5.0510, abs=5e-5)
    assert dome_depth(250, 50, 0.1) == approx(5.0306, abs=6e-5)  # all of it gone with the seat 0.1 off
    allowed = work.rod_offset_allowance(
        rod_length=250.4, rod_tilt=11.537, tolerance=1.0, profile_tolerance=profile, share=0.25, pip=0.1
    )
    assert allowed == approx(0.0257, abs=2e-4)
    spent = dome_depth(250, 50, 0) - dome_depth(250, 50, allowed)
    assert spent * math.cos(math.radians(11.537)) == approx(0.25 * profile, rel=1e-3)  # square to the surface


def test_item_3_a_seat_too_high_still_spends_the_tolerance_on_the_radius():
    # Seats y apart in height: a rod of L works as one of sqrt(L^2 - y^2).
    allowed = work.rod_offset_allowance(
        rod_length=250.0, rod_tilt=1.0, tolerance=0.0004, profile_tolerance=1.0, share=0.25, pip=9.0
    )
    assert 250.0 - math.sqrt(250.0**2 - allowed**2) == approx(0.25 * 0.0004)


def test_item_16_speed_of_a_fillet_comes_from_the_cut_and_not_from_the_shoulder():
    low = ask("R5 ±0.2", "concave", "corner", "30 mm", shoulder_height="5 mm", length="40 mm", stickout="60 mm")
    high = ask("R5 ±0.2", "concave", "corner", "30 mm", shoulder_height="50 mm", length="40 mm", stickout="60 mm")
    assert low.values["largest_diameter"] == high.values["largest_diameter"] == 40.0  # D + 2R is cut
    assert low.values["finish_rpm"] == high.values["finish_rpm"]
    assert high.values["swung_diameter"] == 130.0  # but the shoulder has to swing


def test_item_16_a_dish_swings_with_its_whole_diameter():
    # 400 mm work does not swing over a 340 mm bed, however small the dish.
    with pytest.raises(InputError):
        ask("R60 ±1", "concave", "end", "400 mm", width="40 mm")


def test_item_17_a_corner_at_the_end_of_large_work_is_reached_over_the_edge():
    # D110 does not pass the 105 mm of the cross slide; the arc ends 12 mm from the face and the tool reaches 25.
    cap = ask("R12 ±0.5", "convex", "corner", "110 mm", at="bench-shop", stickout="30 mm")
    assert "work.over-the-cross-slide" not in fired(cap)
    assert not reasons(cap, "freehand") and "work.reach-over-the-edge" in said(cap, "freehand")
    assert "work.swung-over-the-cross-slide" in reasons(cap, "swung compound")
    far = ask("R12 ±0.5", "concave", "corner", "110 mm", at="bench-shop", length="90 mm", stickout="120 mm")
    assert "work.over-the-cross-slide" in reasons(far, "freehand") & reasons(far, "form tool")


def test_item_17_a_shoulder_at_no_stated_place_is_not_taken_as_reached():
    assert math.isnan(
        work.face_to_far_side(radius=5.0, chord=NAN, from_end=NAN, length=NAN, convex=False, corner=True)
    )
    unknown = ask("R5 ±0.5", "concave", "corner", "110 mm", at="bench-shop", stickout="60 mm")
    assert "work.over-the-cross-slide" in reasons(unknown, "freehand")


def test_constants_placing_a_swivel_takes_twenty_to_sixty_minutes():
    values = ask("R10 ±0.2", "convex", "corner", "40 mm").values
    assert [values[f"compound_setup_time_{end}"] for end in ("low", "likely", "high")] == [20.0, 35.0, 60.0]


def test_constants_a_carriage_pushed_by_hand_repeats_to_two_or_three_hundredths():
    values = ask("R250 ±2", "convex", "end", "100 mm").values
    widest = 2 * values["rod_piece_error"] / values["rod_piece_spread_factor"]  # two standard deviations
    assert 0.02 <= widest <= 0.03


def test_constants_thick_work_is_not_let_out_by_its_diameter():
    assert usual_stickout(diameter=180.0, far_side=10.0) == 80.0  # not 270
    assert usual_stickout(diameter=40.0, far_side=6.0) == 60.0
    assert usual_stickout(diameter=10.0, far_side=30.0) == 45.0


def test_constants_a_large_motor_does_not_make_a_small_lathe_heavy():
    small = ask("R3 ±0.2", "convex", "corner", "20 mm", at=other("bench-shop", motor_power=6.0))
    weak = ask("R3 ±0.2", "convex", "corner", "20 mm", at=other("jobbing-shop", motor_power=0.7))
    middle = ask("R3 ±0.2", "convex", "corner", "20 mm", at=other(motor_power=6.0))
    assert [advice.values["lathe_class"] for advice in (small, weak, middle)] == ["light", "light", "medium"]
    assert ask("R3 ±0.2", "convex", "corner", "20 mm", at="jobbing-shop").values["lathe_class"] == "heavy"
