"""Pivot attachment, radius rod and swung compound as a lathe hand would have them: one test an item of the trade
review, held against geometry that is drawn or worked out here anew."""

import math
import shutil
from dataclasses import replace

import numpy as np
import pytest
from pytest import approx
from shapely.affinity import rotate
from shapely.geometry import Point, box

from advisor.answer.advice import advise, rule_base
from advisor.answer.wording import say
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked.shop import read_shop
from advisor.asked.sizes import usual_stickout
from advisor.drawing import error_pictures
from advisor.engine import generated
from advisor.formulas import in_the_lathe, rod, swung_gear
from advisor.ground.errors import InputError
from advisor.ground.folders import data_folder
from advisor.rulebase import loading
from advisor.verify import prove_rules, random_callouts

NAN = math.nan


def ask(radius, form, location, diameter, *, at="training-shop", **more):
    """Advice on a callout; `at` is a shop, or the name of one."""
    shop = read_shop(at) if isinstance(at, str) else at
    fields = {"radius": radius, "form": form, "location": location, "diameter": diameter, **more}
    read = callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
    return advise(read, shop, executor=generated.run)


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
    allowed = rod.offset_allowance(length=250.4, tilt=11.537, tolerance=1.0, profile_tolerance=profile, share=0.25)
    assert allowed == approx(0.0257, abs=2e-4)
    spent = dome_depth(250, 50, 0) - dome_depth(250, 50, allowed)
    assert spent * math.cos(math.radians(11.537)) == approx(0.25 * profile, rel=1e-3)  # square to the surface


def test_item_3_a_seat_too_high_still_spends_the_tolerance_on_the_radius():
    # Seats y apart in height: a rod of L works as one of sqrt(L^2 - y^2).
    allowed = rod.offset_allowance(length=250.0, tilt=1.0, tolerance=0.0004, profile_tolerance=1.0, share=0.25)
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
        in_the_lathe.face_to_far_side(radius=5.0, chord=NAN, from_end=NAN, length=NAN, convex=False, corner=True)
    )
    unknown = ask("R5 ±0.5", "concave", "corner", "110 mm", at="bench-shop", stickout="60 mm")
    assert "work.over-the-cross-slide" in reasons(unknown, "freehand")


def test_constants_placing_a_swivel_takes_twenty_to_sixty_minutes():
    values = ask("R10 ±0.2", "convex", "corner", "40 mm").values
    assert [values[f"compound_setup_time_{end}"] for end in ("low", "likely", "high")] == [20.0, 35.0, 60.0]


def test_constants_a_carriage_pushed_by_hand_repeats_to_two_or_three_hundredths():
    values = ask("R250 ±2", "convex", "end", "100 mm").values
    # The range of eight pieces is 2.847 standard deviations (d2 of control charts, from memory).
    between_eight = 2.847 * values["rod_piece_error"] / values["rod_piece_spread_factor"]
    assert 0.02 <= between_eight <= 0.03


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


# ---- nothing stands whose reach is not known


def one_sided(side):
    """The training shop with rod seats, attachment and compound on one side only: what is left out is that side's."""
    shop = read_shop("training-shop")
    engine = shop.lathes[0]
    rod, slide = {"convex": ("headstock", "short"), "concave": ("tailstock", "past")}[side]
    gone = {name: dict.fromkeys((f"{name}_min", f"{name}_max"), NAN) for name in (rod, side, f"tip_{slide}")}
    lathe = replace(
        engine, rod=replace(engine.rod, **gone[rod]), compound=replace(engine.compound, **gone[f"tip_{slide}"])
    )
    arm = replace(shop.pivot_attachment, **gone[side])
    return replace(shop, lathes=(lathe, *shop.lathes[1:]), pivot_attachment=arm)


@pytest.mark.parametrize("side, seat", [("convex", "headstock"), ("concave", "tailstock")])
def test_item_11_a_side_that_the_shop_file_leaves_out_is_not_stood_on(side, seat):
    more = {"width": "90 mm"} if side == "concave" else {}
    advice = ask("R300 ±4", side, "end", "100 mm", at=one_sided(side), **more)
    assert reasons(advice, "radius rod") == {f"radius-rod.no-seat-on-the-{seat}"}
    assert "pivot-attachment.not-this-form" in reasons(advice, "pivot attachment")
    assert "swung-compound.not-this-form" in reasons(advice, "swung compound")
    other_form = "concave" if side == "convex" else "convex"
    more = {"width": "90 mm"} if other_form == "concave" else {}
    assert not reasons(ask("R300 ±4", other_form, "end", "100 mm", at=one_sided(side), **more), "radius rod")


def test_item_11_the_sample_leaves_out_each_key_of_a_shop_file():
    shops = [read_shop(name) for name in ("training-shop", "jobbing-shop")]
    told = {place.otherwise for place in random_callouts.places(shops, rule_base().givens)}
    for keys in ("headstock_min and headstock_max", "tailstock_min and tailstock_max", "convex_min and convex_max",
                 "concave_min and concave_max", "tip_short_min and tip_short_max", "tip_past_min and tip_past_max",
                 "chuck_highest_speed", "nose_radii", "front", "half_width", "largest_work_over", "widths"):  # fmt: skip
        assert any(otherwise.startswith(f"without {keys} under") for otherwise in told), keys


def test_item_11_the_proof_finds_a_rod_that_stands_on_seats_nobody_knows(tmp_path):
    folder = tmp_path / "rules"
    shutil.copytree(data_folder("rules"), folder)
    file = folder / "radius_rod.toml"
    rules = file.read_text(encoding="utf-8").split("[[rule]]")
    kept = [rule for rule in rules if "radius-rod.no-seat-on-the" not in rule]
    assert len(rules) - len(kept) == 2
    file.write_text("[[rule]]".join(kept), encoding="utf-8")
    broken = loading.load(folder, cache=False)
    found = prove_rules.prove(broken, [read_shop("training-shop")], count=20_000, only=()).of("unknown")
    assert any(f.subject == "radius rod" and "rod_low is not known" in f.problem for f in found)
    assert any(f.subject == "radius-rod.too-short" and "puts nothing out" in f.problem for f in found)


# ---- what swings, and what it swings into


def test_item_14_the_compound_swings_in_grooves_and_not_on_crowns():
    groove = ask("R20 ±0.3", "concave", "outside diameter", "60 mm", width="20 mm")
    assert groove.methods["swung compound"].setup and not reasons(groove, "swung compound")
    # its swivel stands nearer to the axis than that of a fillet on the same diameter
    fillet = ask("R20 ±0.3", "concave", "corner", "60 mm", length="60 mm", stickout="90 mm")
    assert groove.values["compound_from_axis"] < fillet.values["compound_from_axis"]
    crown = ask("R20 ±0.3", "convex", "outside diameter", "60 mm", width="20 mm")
    assert "swung-compound.not-on-crowns" in reasons(crown, "swung compound")
    assert crown.methods["swung compound"].setup is None


@pytest.mark.parametrize(
    "radius, form, more, extension, overhang",
    [("R62 ±0.3", "convex", {}, -2.0, 23.0), ("R47 ±0.3", "concave", {"width": "60 mm"}, 2.0, 27.0)],
)
def test_item_19_a_near_miss_stands_with_the_tool_clamped_elsewhere(radius, form, more, extension, overhang):
    advice = ask(radius, form, "end", "70 mm", **more)
    assert not reasons(advice, "pivot attachment")
    words = said(advice, "pivot attachment")
    assert advice.values["pivot_extension"] == approx(extension)
    step = words["pivot-attachment.step.further-out" if extension > 0 else "pivot-attachment.step.further-in"]
    assert f"{abs(extension):g} mm further" in step and f"{overhang:g} mm from its holder" in step
    assert f"{overhang:g} mm out" in words["pivot-attachment.near-miss"]
    far = ask("R80 ±2", "convex", "end", "90 mm")
    assert "pivot-attachment.out-of-range" in reasons(far, "pivot attachment")


@pytest.mark.parametrize("radius, sweep, shank", [(10.0, 100.0, 8.0), (10.0, 143.0, 10.0), (10.0, 152.0, 10.0),
                                                  (6.0, 120.0, 8.0), (20.0, 170.0, 6.0), (20.0, 95.0, 10.0)])  # fmt: skip
def test_item_20_room_at_the_far_rim_as_drawn(radius, sweep, shank):
    """The part of the shank behind the centre, with the tip at one rim, against the work beyond the other."""
    half = math.radians(sweep / 2)
    level = radius * math.cos(half)
    work_left = box(-20 * radius, level, -radius * math.sin(half), level + 20 * radius)
    work_left = work_left.difference(Point(0, 0).buffer(radius, quad_segs=4000))
    behind = box(-shank / 2, -20 * radius, shank / 2, 0)
    behind = rotate(behind, -math.degrees(half), origin=(0, 0))  # from pointing inward to the rim on the right
    room = swung_gear.far_rim_room(radius=radius, sweep=sweep)
    if room > shank / 2:
        assert behind.intersection(work_left).area < 1e-6
    else:
        assert behind.intersection(work_left).area > 1e-3


@pytest.mark.parametrize("sweep", [40.0, 90.0, 130.0])
def test_item_20_the_overhang_that_keeps_the_holder_off_as_drawn(sweep):
    half, radius, wide = math.radians(sweep / 2), 10.0, 12.0
    overhang = swung_gear.overhang_in_groove(sweep=sweep, half_width=wide, clearance=1.0)
    holder = rotate(box(-wide, -99, wide, radius - overhang), -math.degrees(half), origin=(0, 0))
    surface = radius * math.cos(half)  # the work is what lies beyond
    assert surface - max(y for _, y in holder.exterior.coords) == approx(1.0)


def test_item_20_a_groove_is_ruled_out_by_what_would_foul_and_not_by_its_sweep():
    # 19.9 wide leaves 10 sin 169° = 1.9 beside the far rim; 18 wide leaves 10 sin 128° = 7.8 for half a 10 mm tool.
    deep = ask("R10 ±0.2", "concave", "outside diameter", "40 mm", width="19.9 mm", stickout="60 mm")
    assert "pivot-attachment.shank-fouls-the-groove" in reasons(deep, "pivot attachment")
    open_groove = ask("R10 ±0.2", "concave", "outside diameter", "40 mm", width="18 mm", stickout="60 mm")
    assert not reasons(open_groove, "pivot attachment")
    assert open_groove.values["pivot_groove_overhang"] <= 25
    narrow = ask("R10 ±0.2", "concave", "outside diameter", "40 mm", width="19 mm", stickout="60 mm")
    assert reasons(narrow, "pivot attachment") == {"pivot-attachment.shank-fouls-the-groove"}  # 5.9 of 6 needed
    wider = ask("R12 ±0.2", "concave", "outside diameter", "40 mm", width="22.8 mm", stickout="60 mm")
    assert not reasons(wider, "pivot attachment")
    assert "33.6" in said(wider, "pivot attachment")["pivot-attachment.overhang-for-a-groove"]


def test_item_21_a_pivot_off_its_place_only_moves_a_groove_or_a_crown():
    for form in ("concave", "convex"):
        advice = ask("R20 ±0.3", form, "outside diameter", "60 mm", width="20 mm")
        method = advice.methods["pivot attachment"]
        assert method.setup["offset_allowance_mm"] is None
        assert not [wrong for wrong in error_pictures.pictures(method, advice) if "off its place" in wrong.title]
    corner = ask("R12 ±0.1", "convex", "corner", "40 mm")
    # a quarter of the profile: 0.25 of 0.414 of 0.1
    assert corner.methods["pivot attachment"].setup["offset_allowance_mm"] == approx(0.25 * 0.041421, rel=1e-4)


@pytest.mark.parametrize("front, wide, swing", [(72, 45, 90), (72, 45, 20), (72, 45, 33), (30, 50, 90), (60, 38, 0)])
def test_item_22_the_front_of_the_slide_comes_round_to_the_chuck_as_drawn(front, wide, swing):
    """A slide swung about its swivel at (0, 0) from lying along the bed, its front to the chuck (left), to the rim."""
    slide = box(-front, -wide, 0, wide)
    turned = [rotate(slide, angle, origin=(0, 0)) for angle in [swing * k / 2000 for k in range(2001)]]
    nearest = max(-part.bounds[0] for part in turned)
    assert swung_gear.slide_in_front(front=front, half_width=wide, swing=swing) == approx(nearest, abs=1e-3)


def test_item_22_the_slide_is_the_one_of_the_shop_file_or_a_usual_one():
    measured = ask("R10 ±0.2", "convex", "corner", "40 mm")
    assert measured.values["compound_stickout"] == approx(10 + math.hypot(72, 45) + 3)
    engine = read_shop("training-shop").lathes[0]
    unknown = dict.fromkeys(("front", "half_width", "largest_work_over"), NAN)
    usual = ask("R10 ±0.2", "convex", "corner", "40 mm", at=other(compound=replace(engine.compound, **unknown)))
    assert 60 <= usual.values["slide_front"] <= 90 and usual.values["work_over_compound"] == approx(0.4 * 205)
    tall = other(compound=replace(engine.compound, largest_work_over=39.0))
    low = ask("R10 ±0.2", "convex", "corner", "40 mm", at=tall)
    assert "swung-compound.work-fouls-the-slide" in reasons(low, "swung compound")


def test_item_23_a_rod_for_a_dish_asks_for_quill_and_seat_and_not_for_a_chuck():
    advice = ask("R172 ±2", "concave", "end", "100 mm", width="90 mm")
    of_the_rod = [f for f in advice.outcome.findings if f.rule_id.startswith("radius-rod")]
    words = " ".join(say(f.text or f.rule.because, advice) for f in of_the_rod)
    assert "radius-rod.just-misses-on-a-dish" in fired(advice)
    assert "quill" in words and "thinner chuck" not in words


# ---- how it finds its place


@pytest.mark.parametrize("nose, aside, turned", [(0.4, 0.5, 6.02), (0.4, 1.0, 6.08)])
def test_constants_a_nose_beside_the_line_turns_a_larger_radius(nose, aside, turned):
    # The centre of the nose, R + r from the pivot along the line, runs on a circle of hypot(R + r, a).
    assert math.hypot(6 + nose, aside) - nose == approx(turned, abs=0.005)
    for convex in (True, False):
        allowed = swung_gear.aside_allowance(radius=6.0, nose_radius=nose, tolerance=0.1, share=0.25, convex=convex)
        side = 1 if convex else -1
        assert math.hypot(6 + side * nose, allowed) - side * nose == approx(6.025)


SHAPES = [
    ("R12 ±0.2", "convex", "corner", "40 mm", {}),
    ("R8 ±0.2", "concave", "corner", "30 mm", {"length": "40 mm", "stickout": "60 mm"}),
    ("R20 ±0.2", "convex", "end", "30 mm", {}),
    ("R15 ±0.2", "convex", "end", "30 mm", {}),
    ("R20 ±0.2", "concave", "end", "40 mm", {"width": "30 mm"}),
    ("R20 ±0.2", "concave", "outside diameter", "60 mm", {"width": "20 mm"}),
    ("R20 ±0.2", "convex", "outside diameter", "60 mm", {"width": "20 mm"}),
]


@pytest.mark.parametrize("radius, form, location, diameter, more", SHAPES)
def test_missing_2_touching_off_with_the_tip_puts_the_centre_where_it_belongs(radius, form, location, diameter, more):
    """The pivot follows from the touches: with the tip square to the axis on the diameter, parallel on the face."""
    advice = ask(radius, form, location, diameter, **more)
    v = advice.values
    r, half, outward = v["pivot_radius"], v["diameter"] / 2, -1 if form == "convex" else 1
    square = half + outward * r  # where the pivot stands with the tip on the diameter
    words = said(advice, "pivot attachment")
    assert not any("within 0.012" in text for text in words.values())
    if location == "end":
        way = v["pivot_wind_to_axis"]  # out, away from the axis, for a dome; in for a dish
        assert square - outward * way == approx(0, abs=1e-9)
        parallel = outward * -r  # from the face, positive into the work, with the tip on the face
        depth = 0 if form == "convex" else v["depth"]
        assert parallel + depth == approx(v["pivot_from_face"])
        assert {"work.step.touch-the-face", "work.step.touch-the-face-of-a-dish"} & set(words)
    elif location == "corner":
        assert square == approx(v["pivot_from_axis"])
        assert v["pivot_from_face"] == approx(r)
        assert {"pivot-attachment.step.place", "pivot-attachment.step.place-at-a-shoulder"} & set(words)
    else:
        depth = v["depth"] if form == "concave" else 0
        assert square - depth == approx(v["pivot_from_axis"])
        assert {"work.step.touch-beside-a-groove", "pivot-attachment.step.place-on-a-crown"} & set(words)


def test_missing_3_the_centre_of_the_swivel_is_found_by_half_a_turn():
    words = said(ask("R12 ±0.2", "convex", "corner", "40 mm"), "swung compound")
    order = list(words)
    find, set_radius, place = (f"swung-compound.step.{step}" for step in ("find-the-swivel", "radius-convex", "place"))
    assert "180°" in words[find] and "half the difference" in words[find]
    assert order.index(find) < order.index(set_radius) < order.index(place)


@pytest.mark.parametrize("method, step", [("pivot attachment", "pivot-attachment.step.rough-end"),
                                          ("swung compound", "swung-compound.step.turn-end")])  # fmt: skip
def test_missing_5_on_ends_the_carriage_is_locked_before_each_swing(method, step):
    text = said(ask("R20 ±0.2", "convex", "end", "30 mm"), method)[step]
    assert "stop" in text and "lock it before each swing" in text


def test_missing_11_the_heel_in_a_dish_as_drawn():
    """Straight front clearance that just clears the sphere down to the bottom of the tool, or to the rim."""
    for radius, chord, deep in ((12.7, 24.0, 10.0), (20.0, 30.0, 10.0), (60.0, 12.0, 10.0)):
        angle = math.radians(swung_gear.heel_clearance(radius=radius, chord=chord, tool_below_edge=deep))
        below = [min(deep, chord / 2) * k / 200 for k in range(1, 201)]
        gaps = [y * math.tan(angle) - (radius - math.sqrt(radius**2 - y**2)) for y in below]
        assert min(gaps) == approx(0, abs=1e-9)
    small = ask("R12.7 ±0.2", "concave", "end", "30 mm", width="24 mm")
    assert "26°" in said(small, "freehand")["work.heel-in-a-dish"]
    large = ask("R300 ±2", "concave", "end", "100 mm", width="90 mm")
    assert "work.heel-in-a-dish" not in fired(large)


# ---- what swings under the work beside a hollow


def hangs_over(disc, centre, bodies):
    """Diameter of the work over a disc, by sampling it: bodies are (along from, along to, radius), axis at across 0."""
    lowest = 0.0
    for ring in np.linspace(0.0, disc, 200):
        for turn in np.linspace(0.0, 2 * math.pi, 720):
            across, along = centre[0] + ring * math.cos(turn), centre[1] + ring * math.sin(turn)
            for start, end, radius in bodies:
                if start < along < end and abs(across) < radius:
                    lowest = max(lowest, math.sqrt(radius**2 - across**2))
    return 2 * lowest


@pytest.mark.parametrize("disc", [5.0, 38.0, 72.0, 120.0])
@pytest.mark.parametrize("radius", [10.0, 30.0])
def test_a_hollow_is_cleared_by_what_hangs_over_the_base(disc, radius):
    """Against the work as bodies of revolution and a disc full of points, to a hundredth of the disc."""
    near = max(0.02 * disc, 1.0)
    small, shoulder = 90.0, 90.0 + radius
    given = {"radius": radius, "diameter": 2 * small, "convex": False, "disc": disc}
    fillet = in_the_lathe.work_over_hollow(
        **given, depth=radius, swung_diameter=2 * shoulder, centre_from_axis=small + radius, corner=True, end=False
    )
    bodies = [(-500.0, 0.0, shoulder), (0.0, 500.0, small)]
    assert fillet == approx(hangs_over(disc, (small + radius, radius), bodies), abs=8 * math.sqrt(near))
    if disc > 1.2 * radius:  # far enough under the shoulder that the samples see it
        assert fillet == approx(hangs_over(disc, (small + radius, radius), bodies), rel=0.03)
    groove = in_the_lathe.work_over_hollow(
        **given, depth=3.0, swung_diameter=2 * small, centre_from_axis=small + radius - 3.0, corner=False, end=False
    )
    assert groove == approx(hangs_over(disc, (small + radius - 3.0, 0.0), [(-500.0, 500.0, small)]), rel=0.03)
    dish = in_the_lathe.work_over_hollow(
        **given, depth=3.0, swung_diameter=2 * small, centre_from_axis=0.0, corner=False, end=True
    )
    assert dish == approx(hangs_over(disc, (0.0, radius - 3.0), [(-500.0, 0.0, small)]), rel=0.03)
    assert (
        in_the_lathe.work_over_hollow(
            **{**given, "convex": True},
            depth=3.0,
            swung_diameter=2 * small,
            centre_from_axis=0.0,
            corner=True,
            end=False,
        )
        == 0.0
    )


@pytest.mark.parametrize(
    "callout",
    [
        ("R40 ±0.3", "concave", "end", "160 mm", {"width": "50 mm"}),
        ("R10 ±0.05", "concave", "corner", "180 mm", {}),
        ("R15 ±0.1", "concave", "outside diameter", "190 mm", {"width": "16 mm", "from_end": "40 mm"}),
    ],
)
def test_large_work_beside_a_hollow_fouls_the_base(callout):
    radius, form, location, diameter, more = callout
    advice = ask(radius, form, location, diameter, **more)
    assert "pivot-attachment.hollow-fouls-the-base" in fired(advice)
    assert advice.recommended != "pivot attachment"
    small = ask("R15 ±0.1", "concave", "outside diameter", "60 mm", width="16 mm", from_end="40 mm")
    assert "pivot-attachment.hollow-fouls-the-base" not in fired(small)


@pytest.mark.parametrize("method", ["pivot attachment", "swung compound"])
def test_the_tool_is_run_clear_of_the_work_before_it_is_moved_to_the_axis(method):
    """Common practice: from the touch on the diameter of a dish the way to the axis leads through the work."""
    advice = ask("R40 ±0.3", "concave", "end", "60 mm", width="50 mm")
    step = next(say(f.text, advice) for f in advice.methods[method].steps if f.rule_id.endswith("place-dish"))
    assert step.index("clear in front of the face") < step.index("wind the cross slide")


def test_nobody_is_told_to_set_a_tip_a_millimetre_off_centre():
    advice = ask("R30 ±0.5", "concave", "corner", "120 mm")
    assert advice.values["pivot_height_allowance"] == 0.25
