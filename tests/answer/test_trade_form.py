"""What a lathe hand found wrong with the form tool: each test one finding, failing on what was there before.

The tool is laid against the finished work as polygons, both seen from above in the plane of centre height, where a tool
without rake has its edge. Below that plane the work falls back from the tool, and the flanks fall back from the edge.
"""

import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from pytest import approx
from shapes import CROWN, DISH, DOME, FILLET, GROOVE, ROUND_CORNER

from advisor.answer.advice import advise, rule_base
from advisor.answer.wording import say
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.drawing import edge_profile as profiles
from advisor.engine import generated
from advisor.formulas import cutting, form_tool, in_the_lathe
from advisor.show import rows

shapely = pytest.importorskip("shapely")

LAND, PAST, FLARE, RELIEF = 0.5, 0.5, 4.0, 8.0
STRAY = 0.001  # mm: what the chords of the polyline may stray
FAR = 500.0


@cache
def shop(name):
    return shops.read_shop(name)


def ask(radius, form, location, diameter, *, at="training-shop", **more):
    where = shop(at)
    fields = {"radius": radius, "form": form, "location": location, "diameter": diameter, **more}
    read = callouts.read_callout(fields, materials=materials.materials(), inch_tolerances=where.inch_tolerances)
    return advise(read, where, executor=generated.run)


def fillet(radius, diameter="20 mm", **more):
    return ask(radius, "concave", "corner", diameter, shoulder_height="8 mm", **more)


def fired(advice):
    return {rule.id for rule in advice.outcome.fired}


def steps(advice):
    return {f.rule_id.rpartition(".")[2]: say(f.text, advice) for f in advice.methods["form tool"].steps}


def told(advice):
    """Everything that is said about the form tool: steps, cautions and the rows of what to set."""
    method = advice.methods["form tool"]
    texts = [say(f.text, advice) for f in (*method.steps, *method.cautions)]
    return " ".join([*texts, *(f"{row.label} {row.value}" for row in rows.setup_rows(method, advice))])


def reasons(advice):
    return {f.rule_id for f in advice.methods["form tool"].findings if f.kind == "rules_out"}


# ---- the tool against the finished work


def values_of(shape, radius, share, beside=20.0, rake=0.0):
    """Named values of one shape: share of the half circle, and how much work there is beside the arc [mm]."""
    chord = math.nan if shape["corner"] else 2 * radius * share
    depth = radius if shape["corner"] else radius - math.sqrt(radius**2 - (chord / 2) ** 2)
    diameter = chord if shape == DOME else (0 if shape["corner"] else chord) + 2 * depth + beside
    return {
        "radius": radius,
        "chord": chord,
        "depth": depth,
        "diameter": diameter,
        "edge_rake": rake,
        "form_relief": RELIEF,
        "form_tool_land": LAND,
        "form_tool_past_centre": PAST,
        "form_tool_flare": FLARE,
        **shape,
    }


def tool_body(values):
    _, face = profiles.edges(values)
    bottom = min(y for _, y in face) - profiles.SHANK
    return shapely.Polygon(profiles.with_shank(face, bottom, values))


def finished_part(shape, values, count=1500):
    """The work when it is done, with everything beside the arc that could be there: z along the edge, y = -depth."""
    radius, chord, depth = values["radius"], values["chord"], values["depth"]

    def arc(low, high):
        # Equal angles, both ends included.
        a, b = math.asin(low / radius), math.asin(high / radius)
        return [radius * math.sin(a + (b - a) * k / count) for k in range(count + 1)]

    if shape == ROUND_CORNER:  # the end face at z = 0, air in front of it
        line = [(radius + z, -math.sqrt(max(radius**2 - z**2, 0.0))) for z in arc(-radius, 0.0)]
        line = [(0.0, FAR), *line, (FAR, -radius), (FAR, FAR)]
    elif shape == FILLET:  # a shoulder as high as the tool is long, the small diameter behind
        line = [(radius + z, -radius + math.sqrt(max(radius**2 - z**2, 0.0))) for z in arc(-radius, 0.0)]
        line = [(-FAR, FAR), (-FAR, -FAR), (0.0, -FAR), *line, (FAR, 0.0), (FAR, FAR)]
    elif shape == DOME:  # both sides of the axis, air past the rim
        line = [(z, -(depth - radius + math.sqrt(max(radius**2 - z**2, 0.0)))) for z in arc(-chord / 2, chord / 2)]
        line = [(-chord / 2, FAR), *line, (chord / 2, FAR)]
    elif shape == CROWN:  # the smaller diameter going on at both ends
        line = [(z, -(depth - radius + math.sqrt(max(radius**2 - z**2, 0.0)))) for z in arc(-chord / 2, chord / 2)]
        line = [(-FAR, FAR), (-FAR, 0.0), *line, (FAR, 0.0), (FAR, FAR)]
    else:  # groove and dish, the diameter or the face going on at both sides
        line = [(z, -(radius - math.sqrt(max(radius**2 - z**2, 0.0)))) for z in arc(-chord / 2, chord / 2)]
        line = [(-FAR, FAR), (-FAR, -depth), *line, (FAR, -depth), (FAR, FAR)]
    return shapely.Polygon(line)


def eaten(shape, values):
    """Area of the finished work, less a skin of a micrometre, that the tool would stand in [mm²]."""
    work_left = finished_part(shape, values)
    # A chord of a hollow stands in the work by its own height, which a fine line keeps far under the skin.
    return tool_body(values).intersection(work_left.buffer(-STRAY, join_style="mitre")).area


EVERY_SHAPE = [ROUND_CORNER, FILLET, DOME, DISH, CROWN, GROOVE]
SIZES = [0.2, 0.4, 1.0, 3.0, 6.0, 12.7, 25.0, 60.0]


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("radius", SIZES)
@pytest.mark.parametrize("shape", EVERY_SHAPE, ids=["corner", "fillet", "dome", "dish", "crown", "groove"])
def test_item_1_no_point_of_the_tool_lies_in_the_finished_part(shape, radius, share):
    values = values_of(shape, radius, share)
    body = tool_body(values)
    assert body.is_valid and body.area > 0
    assert eaten(shape, values) == 0.0


@given(shape=some.sampled_from(EVERY_SHAPE), radius=some.floats(0.15, 80), share=some.floats(0.05, 1.0))
@settings(max_examples=60, deadline=None)
def test_item_1_at_any_size(shape, radius, share):
    assert eaten(shape, values_of(shape, radius, share)) == 0.0


def test_item_1_the_old_land_on_the_shoulder_did_cut_in():
    """The same check on the edge as it was, R + 2l: it has to see what was wrong."""
    values = values_of(FILLET, 5.0, 1.0)
    points = [(x, y) for x, _, y in profiles.edge_points(values)]
    first, last = points[0], points[-1]
    edge = [(first[0] - LAND, first[1]), *points, (last[0] + LAND, last[1])]
    body = shapely.Polygon([*edge, (edge[-1][0], -20.0), (edge[0][0], -20.0)])
    assert body.intersection(finished_part(FILLET, values).buffer(-STRAY)).area > 1.0


@pytest.mark.parametrize("shape", EVERY_SHAPE, ids=["corner", "fillet", "dome", "dish", "crown", "groove"])
@pytest.mark.parametrize("share", [0.3, 1.0])
def test_item_1_the_whole_arc_is_formed(shape, share):
    """What the tool leaves standing beyond the arc it forms is nothing: its edge lies on the arc from end to end."""
    values = values_of(shape, 6.0, share)
    _, face = profiles.edges(values)
    line = shapely.LineString(face)
    half = math.asin(share)
    for k in range(21):
        turn = k / 20
        if shape["corner"]:
            z = 6.0 * (1 - math.cos(turn * math.pi / 2))
        else:
            z = 6.0 * math.sin(half * (turn if shape["end"] else 2 * turn - 1))
        depth = form_tool.work_depth(
            radius=6.0, depth=values["depth"], convex=shape["convex"], corner=shape["corner"], z=z
        )
        assert line.distance(shapely.Point(z, -depth)) < STRAY


@pytest.mark.parametrize("shape", EVERY_SHAPE, ids=["corner", "fillet", "dome", "dish", "crown", "groove"])
@pytest.mark.parametrize("radius", SIZES)
@pytest.mark.parametrize("share", [0.02, 0.3, 1.0])
def test_item_1_width_of_the_edge_and_of_the_drawn_tool_agree(shape, radius, share):
    values = values_of(shape, radius, share)
    sweep = 90.0 if shape["corner"] else 2 * math.degrees(math.asin(share))
    width = form_tool.edge_width(
        radius=radius, chord=values["chord"], sweep=sweep, land=LAND, past=PAST, flare=FLARE, **shape
    )
    outline = profiles.edges(values)[0]
    # A fillet's edge falls away from the shoulder, so its blank, not its edge, begins at the tangent point.
    left = 0.0 if shape == FILLET else min(x for x, _ in outline)
    assert max(x for x, _ in outline) - left == approx(width)


def test_item_1_no_land_on_the_shoulder_side():
    before, after = form_tool.run_outs(
        radius=5.0, chord=math.nan, depth=5.0, land=LAND, flare=FLARE, convex=False, corner=True, end=False
    )
    assert after == [(5.5, 0.0)]  # the land, on the small diameter
    ((z, t),) = before
    assert (t, math.degrees(math.atan2(z, t - 5.0))) == approx((5.5, FLARE))


def test_item_1_a_corner_has_a_horn_deeper_than_r_and_both_run_outs_flare():
    before, after = form_tool.run_outs(
        radius=6.0, chord=math.nan, depth=6.0, land=LAND, flare=FLARE, convex=True, corner=True, end=False
    )
    assert min(t for _, t in before) == -0.5
    assert math.degrees(math.atan2(-before[-1][0], -before[-1][1])) == approx(FLARE)
    assert math.degrees(math.atan2(after[0][1] - 6.0, after[0][0] - 6.0)) == approx(FLARE)


def test_item_1_step_and_drawing_say_the_same():
    corner = ask("R6 ±0.1", "convex", "corner", "40 mm", quantity=12)
    hollow = ask("R6 ±0.1", "concave", "corner", "40 mm", shoulder_height="20 mm", quantity=12)
    assert "horn beside the face 0.5 mm deeper than R" in steps(corner)["grind-a-corner"]
    assert "side of the small diameter only" in steps(hollow)["grind-a-fillet"]
    for advice, words in ((corner, "horn 0.5 mm deeper than R"), (hollow, "0.5 mm of land on the small diameter")):
        assert any(words in text.words for text in profiles.profile(advice).texts)
    assert hollow.methods["form tool"].setup["edge_width_mm"] == approx(6.5)
    blank = next(o for o in profiles.profile(hollow).outlines if o.layer == "BLANK")
    assert min(x for x, _, _ in blank.points) >= 0.0


# ---- a tool at hand


def test_item_4_a_nose_right_on_the_limit_does_not_serve():
    """R2.95 ±0.05 with a nose of R3.00 true within 0.03: half of what it may be lies outside."""
    assert not fillet("R2.95 ±0.05").values["nose_tool"]
    assert fillet("R2.99 ±0.05").values["nose_tool"]  # 3.00 + 0.03 lies under 3.04
    assert not fillet("R3 MIN").values["nose_tool"]
    nose = {"nose_radii": (25.4 / 64, 1.5), "true_within": 0.03, "convex": False, "end": False}
    assert not in_the_lathe.nose_tool_serves(radius_low=0.0, radius_high=25.4 / 64, **nose)
    assert in_the_lathe.nose_tool_serves(radius_low=0.0, radius_high=25.4 / 64 + 0.03, **nose)


def test_item_4_the_tool_at_hand_is_counted_at_its_own_radius():
    advice = fillet("R3.09 ±0.2")
    assert advice.values["form_tool_aim_off"] == approx(0.09)
    assert advice.values["form_tool_tolerance_left"] == approx(0.11)
    setup = advice.methods["form tool"].setup
    assert (setup["edge_radius_mm"], setup["infeed_mm"]) == (3.0, None)  # turned along to the shoulder, not fed in
    assert fillet("R3.3 ±0.1").values["form_tool_aim_off"] == 0.0  # ground for the work
    assert not ask("R3 MIN", "concave", "outside diameter", "30 mm", width="5 mm", from_end="20 mm").values["nose_tool"]


def test_item_4_infeed_of_a_groove_by_the_radius_of_the_nose():
    # R3.1 across 5 gives 1.2668; R3.0 across 5 gives 3 - sqrt(9 - 6.25) = 1.3417.
    given = {"ready_tool": True, "ready_radius": 3.0, "depth": 1.2668, "chord": 5.0, "corner": False}
    given["fillet_turned"] = False
    assert form_tool.ready_infeed(**given) == approx(1.3417, abs=1e-4)
    assert form_tool.ready_infeed(**{**given, "chord": 6.1, "depth": 2.5}) == 2.5


def test_item_4_an_edge_that_nobody_checked_is_not_perfect():
    unchecked = ((4.0, True, 9.0, math.nan),)
    limits = {"radius_low": 4.0, "radius_high": 4.4, "convex": True, "width": 6.0, "tools": unchecked}
    assert form_tool.ready_tool_serves(**limits) and not form_tool.ready_tool_serves(**limits, unchecked=0.03)


# ---- spring, chatter, climbing, breaking off


def test_item_5_spring_is_no_error_of_profile_and_rules_nothing_out():
    """A slim spindle on a centre that springs by more than its tolerance: the form cuts free when it dwells."""
    spindle = ask(
        "R2 ±0.02",
        "concave",
        "outside diameter",
        "10 mm",
        width="3.6 mm",
        from_end="40 mm",
        stickout="120 mm",
        support="tailstock",
    )
    values = spindle.values
    assert values["form_tool_deflection"] > values["profile_tolerance"]
    assert not any("spring" in rule for rule in reasons(spindle))
    loose = ask("R3 ±0.1", "concave", "corner", "12 mm", length="5 mm", stickout="85 mm", shoulder_height="8 mm")
    assert loose.values["form_tool_deflection"] > loose.values["profile_tolerance"]
    assert "form-tool.dwell-out-the-spring" in fired(loose) and not reasons(loose)
    assert "bar" in told(loose) and "the work springs" not in told(loose)


def test_item_5_r3_fillet_on_a_long_12_mm_bar_is_crept_in():
    """F = kc f^(1-m) L; at 0.005 a turn the bar bends a third as far as at 0.02. Tailstock, else creep."""
    more = {"length": "5 mm", "stickout": "120 mm", "shoulder_height": "8 mm", "quantity": 3}
    alone = ask("R3.3 ±0.1", "concave", "corner", "12 mm", **more)
    assert "form-tool.creep-it-in" in fired(alone) and "form-tool.work-climbs" not in reasons(alone)
    further = ask("R3.3 ±0.1", "concave", "corner", "12 mm", **{**more, "stickout": "180 mm"})
    assert "form-tool.work-climbs" in reasons(further)
    held = ask("R3.3 ±0.1", "concave", "corner", "12 mm", support="tailstock", **more)
    assert not {"form-tool.creep-it-in", "form-tool.work-climbs"} & fired(held)


def test_item_5_stainless_is_not_crept():
    given = {"length": "5 mm", "stickout": "120 mm", "shoulder_height": "8 mm"}
    hard = ask("R3.3 ±0.1", "concave", "corner", "12 mm", material="austenitic stainless steel", **given)
    assert hard.values["form_tool_creep_deflection"] == hard.values["form_tool_deflection"]
    assert "form-tool.work-climbs" in reasons(hard)


def test_too_wide_for_the_core_breaks_the_work_off():
    def waist(width, diameter):
        return ask("R6 ±0.4", "concave", "outside diameter", diameter, width=width, from_end="5 mm", material="brass")

    # Depth of R6 across 11.5 is 4.286: cores of 4.43 and 3.63 carry 2.6 and 3.2 times their own width.
    assert "form-tool.may-break-the-work-off" in fired(waist("11.5 mm", "13 mm"))
    assert "form-tool.breaks-the-work-off" in reasons(waist("11.5 mm", "12.2 mm"))
    assert not {"form-tool.may-break-the-work-off"} & fired(waist("9 mm", "13 mm"))


def test_item_8_chatter_slow_the_speed_feed_harder_tighten():
    rules = {rule.id: rule for rule in rule_base().rules}
    long = ask("R10 ±0.2", "convex", "corner", "60 mm", quantity=12)
    assert "form-tool.contact-long" in fired(long)
    assert "slow the spindle, feed harder" in rules["form-tool.chatter"].effects[0].text
    assert "form-tool.chatter" in fired(long) and rules["form-tool.chatter"].source == "tc-9-524"
    assert "ease the feed" not in told(long) and "feed harder" in told(long)
    cures = " ".join(say(f.text, long) for f in long.methods["form tool"].findings if f.text)
    assert all(word in cures for word in ("spring tool", "upside down", "back gear")) and "gibs" in told(long)


def test_r10_groove_19_wide_is_formed_in_two_bites():
    groove = ask(
        "R10 ±0.1", "concave", "outside diameter", "25 mm", width="19 mm", from_end="20 mm", support="tailstock"
    )
    assert 1.5 < 25.06 / 15 and not reasons(groove)
    long = ask("R10 ±0.1", "concave", "outside diameter", "25 mm", width="19 mm", from_end="20 mm", stickout="60 mm")
    assert "form-tool.in-two-bites" in fired(long) and not reasons(long)


def test_r10_on_a_180_mm_disc_one_off_is_a_job_for_the_form_tool():
    disc = ask("R10 ±0.05", "convex", "corner", "180 mm", quantity=1)
    assert not {"form-tool.contact-far-too-long", "form-tool.burns", "form-tool.work-climbs"} & reasons(disc)


# ---- contradictions on one page


@pytest.mark.parametrize("material", ["copper", "soft aluminium"])
def test_item_7_rake_in_what_to_set_and_in_the_steps(material):
    raked = ask("R6 ±0.2", "convex", "corner", "40 mm", material=material, quantity=12)
    text = told(raked)
    assert raked.methods["form tool"].setup["rake_deg"] == 5 and "5° of top rake" in text
    assert "no rake" not in text.lower() and "zero rake" not in text
    level = told(ask("R6 ±0.2", "convex", "corner", "40 mm", quantity=12))
    assert "no rake" in level and "of top rake" not in level


def test_item_7_fast_already_and_then_no_faster():
    hot = ask("R10 ±0.2", "convex", "corner", "180 mm", quantity=3)
    assert "slowest-speed" in steps(hot) and "form-tool.faster" not in fired(hot)
    assert "torn" not in told(hot)
    assert "form-tool.faster" in fired(ask("R6 ±0.2", "convex", "corner", "40 mm", quantity=12))


def test_item_7_a_fragile_point_is_not_dwelt_on():
    groove = ask("R0.4 ±0.1", "concave", "outside diameter", "20 mm", width="0.7 mm", from_end="5 mm", at="bench-shop")
    assert "form-tool.fragile-point" in fired(groove)
    assert "dwell" not in steps(groove) and "no-dwell" in steps(groove)
    assert "cut free before" not in told(groove)


def test_item_7_cast_iron_is_not_flooded():
    hot = ask("R10 ±0.2", "convex", "corner", "160 mm", material="grey cast iron", quantity=3)
    assert "form-tool.runs-hot" in fired(hot)
    assert "flood" not in told(hot).lower() and "no fluid" in told(hot)


def test_item_7_no_exactly_within():
    for rule in rule_base().rules:
        if rule.id.startswith("form-tool."):
            texts = [effect.text or "" for effect in rule.effects]
            assert not any("xactly" in text and "within" in text for text in texts), rule.id


# ---- ends, small fillets, registering


def test_item_15_on_an_end_half_the_form_is_enough():
    ball = ask("SR1/2", "convex", "end", "1 in", units="inch", material="brass", quantity=25)
    assert ball.methods["form tool"].setup["edge_width_mm"] == approx(12.7 + 0.5 + 0.5)
    assert not reasons(ball) and ball.recommended == "form tool"
    assert ball.values["form_tool_feed"] == cutting.form_feed(width=13.7, hard=False, soft=True)
    table = ball.methods["form tool"].setup["profile"]
    assert [row["z_mm"] for row in table][0] == 0.0 and all(row["z_mm"] >= 0 for row in table)
    assert "half of the opposite form" in steps(ball)["grind-half-for-an-end"]


def test_item_18_a_small_fillet_is_turned_and_not_plunged():
    rules = {rule.id: rule for rule in rule_base().rules}
    small, large = fillet("R2.3 ±0.1", quantity=5), fillet("R6 ±0.2", "40 mm", quantity=5)
    assert "Do not plunge" in steps(small)["turn-a-fillet"] and "feed-a-fillet" not in steps(small)
    assert "fed along the work at" in steps(small)["turn-a-fillet"]
    setup, values = small.methods["form tool"].setup, small.values
    assert setup["infeed_mm"] is None and setup["feed_mm_rev"] == values["fillet_feed"] <= values["fillet_nose"] / 4
    assert setup["spindle_rpm"] == values["finish_rpm"] > values["form_tool_rpm"]
    assert "speed" not in steps(small) and "speed" in steps(large)
    shown = {row.label for row in rows.setup_rows(small.methods["form tool"], small)}
    assert not shown & {"Feed in", "From the touch", "Force, power", "Other speeds"}
    assert "to-size-fillet" not in steps(small)  # it is left short of size until the nose goes round
    assert rules["form-tool.step.turn-a-fillet"].source == "od1645"
    assert "feed-a-fillet" in steps(large) and "turn-a-fillet" not in steps(large)


def test_missing_12_tangents_are_blended_in_the_same_cut():
    small = steps(fillet("R2.3 ±0.1", quantity=5))
    assert "0.15 mm short of size on both" in small["rough-beside-a-fillet"]
    assert "face out with the cross slide in the same cut" in small["turn-a-fillet"]


def test_item_18_any_radius_up_to_max_costs_no_extra_minutes():
    most = fillet("R2.5 MAX")
    assert most.recommended == "form tool" and "form-tool.any-nose-inside" in fired(most)
    assert most.methods["form tool"].minutes["batch"]["mean"] < 1.0
    assert "takes no minutes of its own" in " ".join(
        say(f.text, most) for f in most.methods["form tool"].findings if f.text
    )
    assert "form-tool.any-nose-inside" not in fired(fillet("R2.4 ±0.2"))


def test_missing_4_the_tool_is_registered_before_it_is_fed():
    corner = ask("R6 ±0.1", "convex", "corner", "40 mm", quantity=12)
    found = steps(corner)
    assert list(found).index("touch-off-a-corner") < list(found).index("feed")
    assert "diameter behind the arc" in found["touch-off-a-corner"] and "flush" in found["touch-off-a-corner"]
    assert "Feed in 6.5 mm from the touch" in found["feed"] and "run-out just kisses" in found["kiss"]
    assert corner.values["feed_from_touch"] == approx(6.5)
    for form, location, more, step in (
        ("concave", "corner", {"shoulder_height": "20 mm"}, "touch-off-a-fillet"),
        ("concave", "outside diameter", {"width": "10 mm", "from_end": "20 mm"}, "touch-off-a-groove"),
        ("convex", "outside diameter", {"width": "10 mm", "from_end": "20 mm"}, "touch-off-a-crown"),
        ("concave", "end", {"width": "10 mm"}, "touch-off-a-dish"),
    ):
        assert step in steps(ask("R6 ±0.1", form, location, "40 mm", quantity=12, **more))
    assert "touch-off-a-dome" in steps(ask("SR6 ±0.2", "convex", "end", "12 mm", quantity=40))


def test_missing_4_a_horn_of_a_shallow_dome_reaches_less_far():
    # Rim of R50 across 20: asin(0.2) = 11.54 deg, tan = 0.2041; half a millimetre on, the horn is 0.1021 ahead.
    given = {"infeed": 1.0, "chord": 20.0, "radius": 50.0, "land": 0.5, "flare": 4.0, **DOME}
    assert form_tool.feed_from_touch(**given) == approx(1.1021, abs=1e-4)


# ---- constants


def test_stainless_gets_a_feed_that_cuts_and_the_speed_of_light_cuts():
    for width in (2.0, 6.0, 12.0, 25.0):
        feed = cutting.form_feed(width=width, hard=False, soft=False, stainless=True)
        assert 0.02 <= feed <= 0.04
    stainless = ask("R6 ±0.1", "convex", "corner", "40 mm", material="austenitic stainless steel", quantity=12)
    assert 18 <= stainless.values["straight_speed_hss"] <= 20  # 302 to 316: 50 to 80 ft/min in light cuts
    assert 0.02 <= stainless.values["form_tool_feed"] <= 0.04


def test_high_speed_steel_forms_to_about_330_and_carbide_form_tools_exist():
    soft = ask("R3 ±0.2", "convex", "corner", "40 mm", material="tool steel", hardness="320 HB")
    hard = ask("R3 ±0.2", "convex", "corner", "40 mm", material="tool steel", hardness="345 HB")
    assert "form-tool.work-too-hard" not in reasons(soft) and "form-tool.work-too-hard" in reasons(hard)
    needs = next(rule.needs for rule in rule_base().rules if rule.id == "form-tool.work-too-hard")
    assert "form tool of carbide" in needs


def test_a_drilled_edge_is_tilted_and_a_corner_has_a_flank_along_the_feed():
    tiny = ask("R1 ±0.2", "convex", "corner", "40 mm", quantity=20)
    advice = " ".join(say(f.text, tiny) for f in tiny.methods["form tool"].findings if f.text)
    assert "tilted by the relief angle of 8°" in advice
    assert "side relief" in steps(tiny)["side-relief"]
    assert "side-relief" in steps(fillet("R6 ±0.2", "40 mm", quantity=5))
