"""After the trial piece: what is moved, which way, on which dial, and what is not known.

Directions are trade facts and plain geometry, worked out beside each check; that the amounts come out is held by turning on
paper (test_correct_on_paper).
"""

import json
import math
import re

import pytest
from command import CORNER, run
from hypothesis import given
from hypothesis import strategies as st
from test_words import EVERYDAY, in_plain_words

from advisor.asked.measured import OPTIONS
from advisor.formulas import gauging, geometry, trial_piece

DOME = ("R50 ±0.5", "--form", "convex", "--location", "end", "--diameter", "40 mm")
DISH = ("R50 ±0.5", "--form", "concave", "--location", "end", "--diameter", "40 mm", "--width", "30 mm")
FILLET = ("R6 ±0.1", "--form", "concave", "--location", "corner", "--diameter", "30 mm")
GROOVE = ("R10 ±0.1", "--form", "concave", "--location", "outside diameter", "--diameter", "40 mm", "--width", "12 mm",
          "--from-end", "20 mm")  # fmt: skip


def correct(shape, method, **measured):
    """The JSON of a correction."""
    options = [f"--{name.replace('_', '-')}={value}" for name, value in measured.items()]
    ran = run("correct", *shape, "--method", method, *options, "--json")
    assert ran.out, ran.complaint
    return ran.data | {"status": ran.status}


def move(shape, method, **measured):
    (one,) = correct(shape, method, **measured)["moves"]
    return one


# ---- formulas against the same relations the other way round, which have sources of their own


@given(st.floats(2, 500), st.floats(0.05, 0.95))
def test_the_radius_comes_back_from_depth_and_width(radius, share):
    width = 2 * radius * share
    depth = geometry.depth_of_arc(radius=radius, chord=width)
    assert trial_piece.radius_of_depth(depth=depth, width=width) == pytest.approx(radius, rel=1e-9)
    up = trial_piece.radius_of_depth(depth=depth * 1.000001, width=width)
    assert (up - radius) / (depth * 1e-6) == pytest.approx(
        trial_piece.radius_per_depth(depth=depth, width=width), rel=1e-3, abs=1e-4
    )
    wider = trial_piece.radius_of_depth(depth=depth, width=width * 1.000001)
    assert (wider - radius) / (width * 1e-6) == pytest.approx(
        trial_piece.radius_per_width(depth=depth, width=width), rel=1e-3
    )


@given(st.floats(3, 30), st.floats(0.5, 0.99))
def test_the_radius_comes_back_from_a_ball_and_from_pins(radius, share):
    ball = 2 * radius * share
    reading = gauging.ball_reading(radius=radius, diameter=40.0, ball=ball)
    assert trial_piece.radius_over_ball(reading=reading, diameter=40.0, ball=ball) == pytest.approx(radius, rel=1e-9)
    pin = radius * share * 0.9
    rise = gauging.pair_reading(radius=radius, pin=pin)
    assert trial_piece.radius_over_pins(rise=rise, pin=pin) == pytest.approx(radius, rel=1e-9)


def test_a_dish_of_12_7_over_20_changes_as_the_review_worked_it_out():
    """dR/ds = -1.61 and dR/dw = 1.03 for R12.7 over 20, worked out by hand beforehand."""
    depth = geometry.depth_of_arc(radius=12.7, chord=20.0)
    assert trial_piece.radius_per_depth(depth=depth, width=20.0) == pytest.approx(-1.61, abs=0.005)
    assert trial_piece.radius_per_width(depth=depth, width=20.0) == pytest.approx(1.03, abs=0.005)


def test_a_leaf_of_6_on_corners_of_6_1_and_5_9():
    """0.0414 in the middle and 0.0293 at the flats: (√2 − 1) and (1 − √½) of a tenth."""
    assert trial_piece.corner_under_leaf(leaf=6, gap=0.0414, middle=True, convex=True) == pytest.approx(6.1, abs=1e-3)
    assert trial_piece.corner_under_leaf(leaf=6, gap=0.0293, middle=False, convex=True) == pytest.approx(5.9, abs=1e-3)
    assert trial_piece.corner_under_leaf(leaf=6, gap=0.0414, middle=True, convex=False) == pytest.approx(5.9, abs=1e-3)
    assert trial_piece.corner_under_leaf(leaf=6, gap=0.0293, middle=False, convex=False) == pytest.approx(6.1, abs=1e-3)


# ---- which way


@pytest.mark.parametrize("shape", [CORNER, FILLET], ids=["corner", "fillet"])
@pytest.mark.parametrize("reads, way", [("6.2", "toward"), ("5.8", "away")])
def test_the_tip_of_a_pivot_goes_to_the_pivot_where_the_radius_is_too_large(shape, reads, way):
    """Convex or concave, the radius is the distance of the tip from the pivot."""
    told = move(shape, "pivot", measured_radius=reads, good_to="0.02")
    assert (told["part"], told["way"]) == ("tip", way)
    assert told["amount_mm"] == pytest.approx(0.2)


@pytest.mark.parametrize(
    "shape, reads, way", [(CORNER, "6.2", "in"), (CORNER, "5.8", "out"), (FILLET, "6.2", "out"), (FILLET, "5.8", "in")]
)
def test_the_compound_goes_in_short_of_its_swivel_and_out_past_it(shape, reads, way):
    told = move(shape, "compound", measured_radius=reads, good_to="0.02")
    assert (told["part"], told["way"]) == ("slide", way)
    assert told["set_to_mm"] == pytest.approx(0.2, abs=0.006)


@pytest.mark.parametrize("shape", [DOME, DISH], ids=["dome", "dish"])
@pytest.mark.parametrize("reads, way", [("52", "shorter"), ("48", "longer")])
def test_a_rod_changes_the_radius_one_to_one(shape, reads, way):
    """R = L − n outside and L + n inside: either way one to one."""
    told = move(shape, "rod", measured_radius=reads, good_to="0.1")
    assert (told["part"], told["way"], told["amount_mm"]) == ("rod", way, pytest.approx(2.0))


@pytest.mark.parametrize(
    "shape, light, larger",
    [(CORNER, "middle", True), (CORNER, "both ends", False), (FILLET, "middle", False), (FILLET, "both ends", True)],
)
def test_light_says_on_which_side_the_radius_is(shape, light, larger):
    """A hollow leaf on a flatter corner touches at its ends; a round leaf in a wider hollow touches in its middle."""
    told = correct(shape, "pivot", light=light)
    assert told["verdict"] == "by halves" and told["radius_mm"] is None
    assert told["moves"][0]["way"] == ("toward" if larger else "away")
    assert told["moves"][0]["amount_mm"] == pytest.approx(abs(told["at_most_off_mm"]) / 2)


def test_what_was_set_is_what_the_next_halving_starts_from():
    """Half of 0.067 is 0.0335, and a dial of 0.01 steps is set to 0.04: what is left is no more than that."""
    told = correct(DISH, "pivot", middle="nib")
    set_to = told["moves"][0]["set_to_mm"]
    assert told["at_most_off_mm"] / 2 <= set_to <= told["at_most_off_mm"] / 2 + 0.01
    words = " ".join(run("correct", *DISH, "--method=pivot", "--middle=nib").out.split())
    assert f'--moved "{set_to:.3g} mm"' in words and f"cross dial {set_to:.3g} mm" in words


@pytest.mark.parametrize(
    "reads, first, piece",
    [("6.01", "LEAVE IT", "within its limits as it is."), ("6.05", "MOVE", "The move is for the pieces after it."),
     ("6.3", "SCRAP", "it is scrap, unless"), ("5.7", "MOVE", "it can be cut again"), ("7", "CHECK FIRST", "it is scrap")],
)  # fmt: skip
def test_what_to_do_stands_first(reads, first, piece):
    told = run("correct", *CORNER, "--method=pivot", f"--measured-radius={reads}", "--good-to=.02").out
    titles = re.findall(r"^[A-Z][A-Z ]+$", told, re.MULTILINE)
    assert titles[1] == first and piece in " ".join(told.split())
    assert ("MOVE" in titles) != ("LEAVE IT" in titles or "CHECK FIRST" in titles)


def test_by_hand_a_piece_whose_metal_is_gone_is_scrap():
    told = run("correct", *CORNER, "--method=freehand", "--light=middle", "--gap=.2").out
    assert "\nSCRAP\n" in told and "Take nothing more off" in told and "chase" not in told


def test_halving_goes_on_from_the_last_move():
    told = correct(CORNER, "pivot", light="middle", moved="0.06")
    assert told["at_most_off_mm"] == 0.06 and told["moves"][0]["amount_mm"] == 0.03


@pytest.mark.parametrize("shape", [CORNER, FILLET, GROOVE], ids=["corner", "fillet", "groove"])
@pytest.mark.parametrize("light", ["middle", "both ends"])
def test_an_edge_is_honed_where_the_work_shows_light(shape, light):
    """The edge is the work's negative and honing only takes metal off it, so the work keeps more there."""
    told = move(shape, "form tool", light=light, gap="0.1")
    assert (told["part"], told["way"]) == ("edge", light)


@pytest.mark.parametrize("shape, light, where", [(FILLET, "both ends", "middle"), (GROOVE, "middle", "both ends")])
def test_a_file_takes_off_where_the_gauge_touches(shape, light, where):
    told = correct(shape, "freehand", light=light, gap="0.2")
    assert told["moves"][0]["way"] == where and told["rounds"] >= 1


def test_nothing_is_filed_off_a_corner_whose_metal_is_gone():
    told = correct(CORNER, "freehand", light="middle", gap="0.2")
    assert told["moves"][0]["way"] == "nothing" and told["can_be_cut_again"] is False
    assert told["flats_down_mm"] == pytest.approx(0.2 * (1 - math.sqrt(0.5)) / (math.sqrt(2) - 1))


@pytest.mark.parametrize(
    "shape, stands, way",
    [(DOME, "dimple", "in"), (DOME, "point", "out"), (DISH, "nib", "in"), (DISH, "dimple", "out")],
)
@pytest.mark.parametrize("method", ["pivot", "compound"])
def test_what_stands_in_the_middle_says_where_the_centre_is(shape, stands, way, method):
    """The arc has its crest over its own centre. On the tool's side of the axis a dome falls off again before the middle,
    and a dish rises; beyond it both run into the middle still climbing or sinking."""
    told = move(shape, method, middle=stands)
    assert (told["part"], told["way"], told["dial"]["dial"]) == ("centre", way, "cross dial")


def test_the_seat_of_a_rod_has_no_dial():
    told = move(DOME, "rod", middle="point")
    assert (told["part"], told["way"], told["dial"]) == ("centre", "out", None)


def test_a_ring_tells_how_far():
    told = correct(DISH, "pivot", middle="nib", ring="1.2")
    assert told["verdict"] == "move" and told["moves"][0]["amount_mm"] == pytest.approx(0.6)
    assert run("correct", *DISH, "--method=pivot", "--middle=dimple", "--ring=1").status == 2


def test_a_pip_is_a_tip_off_centre_height():
    told = move(DOME, "pivot", middle="pip", pip="0.3")
    assert told["part"] == "height" and told["amount_mm"] == pytest.approx(0.15)


@pytest.mark.parametrize(
    "what, flat, way", [("step", "diameter", "out"), ("step", "face", "away"), ("ridge", "diameter", "in"), ("ridge", "face", "toward")]
)  # fmt: skip
def test_flats_of_a_corner_say_where_the_centre_is(what, flat, way):
    assert move(CORNER, "pivot", **{what: flat})["way"] == way
    assert move(FILLET, "pivot", **{what: "shoulder" if flat == "face" else flat})["way"] == way


def test_an_arc_that_starts_too_near_the_face():
    """R6, centre 0.2 too far from the axis: the arc crosses the diameter √(2·6·0.2 − 0.04) = 1.536 short of its place."""
    told = correct(CORNER, "pivot", ridge="diameter", starts=str(6 - math.sqrt(2 * 6 * 0.2 - 0.04)))
    assert told["moves"][0]["amount_mm"] == pytest.approx(0.2, abs=1e-6)


def test_a_form_tool_off_centre_height_would_make_the_radius_as_large():
    """Thin work: R3 over 4 is 0.764 deep; fed that deep into D8 an edge 0.9 off centre height, at √(16 − 0.81) = 3.897 of
    its own plane, leaves √(3.133² + 0.81) = 3.260 from the axis, which is 0.740."""
    shape = ("R3 ±0.1", "--form=concave", "--location=outside diameter", "--diameter=8", "--width=4", "--from-end=22")
    told = run(
        "correct", *shape, "--method=form tool", "--measured-depth=.74", "--measured-width=4", "--good-to=.001"
    ).out
    assert "0.896 mm off it would make R as large" in " ".join(told.split())


def test_ridges_and_steps_of_hand_work():
    assert move(CORNER, "freehand", ridge="diameter")["way"] == "ridge"
    assert move(CORNER, "freehand", step="diameter", gap="0.1")["way"] == "flat"


# ---- what cannot be known


@pytest.mark.parametrize(
    "shape, method, measured, why",
    [
        (CORNER, "pivot", {"light": "one end"}, "step or ridge"),
        (DOME, "pivot", {"light": "one end"}, "look at the middle"),
        (GROOVE, "pivot", {"light": "one end"}, "a swing leaves no such arc"),
        (FILLET, "pivot", {"ball": "12", "over_ball": "42"}, "behind the ball"),
        (FILLET, "pivot", {"ball": "6", "over_ball": "36"}, "ball at one point"),
        (("R20 ±0.1", *DOME[1:]), "pivot", {"measured_depth": "20", "measured_width": "40"}, "past the depth's sweep"),
    ],
)
def test_what_a_measurement_cannot_tell_is_not_told(shape, method, measured, why):
    told = correct(shape, method, **measured)
    assert (told["verdict"], told["why"], told["moves"], told["status"]) == ("unknown", why, [], 1)
    words = run("correct", *shape, "--method", method, *(f"--{k.replace('_', '-')}={v}" for k, v in measured.items()))
    assert "NOT KNOWN" in words.out


def test_a_ball_measured_across_alone_does_not_tell_radius_from_centre():
    """SØ1.000 reads 1.006 across: R .003 too large, or the swivel .003 short of the axis. At 45° the second would read
    2(1 − √½)·.003 = .0018 less, 1.0042."""
    ball = ("SØ1.000 ±.005", "--form=convex", "--location=end", "--diameter=1", "--units=inch")
    told = correct(ball, "compound", across="1.006")
    assert (told["verdict"], told["moves"], told["radius_mm"]) == ("unknown", [], None)
    assert told["radius_or_centre_off_mm"] == pytest.approx(0.003 * 25.4)
    words = " ".join(run("correct", *ball, "--method=compound", "--across=1.006").out.split())
    assert "--slanting" in words and "it reads .0018 in less" in words
    (radius,) = correct(ball, "compound", across="1.006", slanting="1.006")["moves"]
    (centre,) = correct(ball, "compound", across="1.006", slanting="1.0042")["moves"]
    assert (radius["part"], centre["part"], centre["way"]) == ("slide", "centre", "in")


def test_a_ball_does_not_lie_in_the_diameter():
    """On 30 a ball of 6 reads 36 at least. At 36, ±0.016 of two micrometer readings, it touches the diameter: R is no more
    than 3 + 0.016/(1 − √½) = 3.056."""
    ran = run("correct", *FILLET, "--method=pivot", "--ball=6", "--over-ball=35.97")
    assert ran.status == 2 and "is less than diameter and ball together, 36 mm" in ran.complaint
    assert correct(FILLET, "pivot", ball="6", over_ball="36")["radius_at_most_mm"] == pytest.approx(3.056, abs=0.001)
    assert run("correct", *FILLET, "--method=pivot", "--ball=6", "--over-ball=35.97", "--small-diameter=29").status == 0


def test_the_drawings_width_stands_in_for_a_measured_one():
    """R50 over 30 is 2.303 deep. dR/dw = w/4s = 3.26, so ±0.2 of the width, medium of ISO 2768-1 from 6 to 30, is ±0.65 of
    R and 0.75 19 times in 20, where a caliper's ±0.02 leaves 0.24 of the depth's."""
    guessed, measured = (
        correct(DISH, "pivot", measured_depth="2.36", **more) for more in ({}, {"measured_width": "30"})
    )
    assert guessed["radius_mm"] == measured["radius_mm"]
    assert guessed["width_taken_mm"] == 30 and measured["width_taken_mm"] is None
    more = math.sqrt(guessed["radius_within_mm"] ** 2 - measured["radius_within_mm"] ** 2)
    assert more == pytest.approx(2 / math.sqrt(3) * 30 / (4 * 2.36) * math.sqrt(0.2**2 - 0.02**2), rel=1e-3)
    assert "No width was measured: 30 mm of the drawing is taken" in " ".join(
        run("correct", *DISH, "--method=pivot", "--measured-depth=2.36").out.split()
    )


def test_a_small_error_is_left_alone():
    told = correct(CORNER, "pivot", measured_radius="6.01", good_to="0.03")
    assert (told["verdict"], told["moves"]) == ("leave", [])
    assert told["do_not_chase_less_than_mm"] > 0.01


def test_the_doubt_is_carried_through():
    """A coarser reading promises less, and by as much as it is coarser."""
    fine, coarse = (correct(CORNER, "pivot", measured_radius="6.5", good_to=good) for good in ("0.01", "0.1"))
    assert fine["moves"][0]["amount_mm"] == coarse["moves"][0]["amount_mm"]
    assert coarse["radius_within_mm"] == pytest.approx(10 * fine["radius_within_mm"])
    assert coarse["next_piece"]["radius_within_mm"] > 2 * fine["next_piece"]["radius_within_mm"]
    assert coarse["gauge_coarser_than_tolerance"] and not fine["gauge_coarser_than_tolerance"]


def test_no_light_under_the_right_leaf_is_right():
    told = correct(CORNER, "pivot", light="none")
    assert told["verdict"] == "right" and told["moves"] == []


def test_another_leaf_that_fits_tells_the_radius():
    told = correct(CORNER, "pivot", light="none", leaf="6.5")
    assert told["radius_mm"] == 6.5 and told["moves"][0]["amount_mm"] == pytest.approx(0.5)


# ---- dials


def test_a_dial_that_reads_the_diameter_is_turned_twice_as_far():
    """An invented inch lathe of the worked shops: its cross dial counts the diameter."""
    shape = ("R10 ±0.1", "--form=convex", "--location=corner", "--diameter=60 mm", "--units=mm", "--shop=jobbing-shop")
    told = move(shape, "pivot", step="diameter", gap="0.254", good_to="0.01")
    assert told["dial"]["counts"] == "diameter"
    assert told["dial"]["shows"] == pytest.approx(0.02) and told["set_to_mm"] == pytest.approx(0.254)


def test_a_dial_is_turned_to_half_a_line_and_the_rest_is_told():
    told = move(CORNER, "pivot", step="diameter", gap="0.104", good_to="0.01")
    line = told["dial"]["graduation_mm"]
    assert told["dial"]["reading_mm"] / (line / 2) == pytest.approx(round(told["dial"]["reading_mm"] / (line / 2)))
    assert told["dial"]["left_mm"] == pytest.approx(0.104 - told["dial"]["reading_mm"])


def test_the_slides_move_is_shown_in_the_dials_unit_and_the_drawings():
    shape = ("R.250 ±.004", "--units", "inch", "--form", "convex", "--location", "corner", "--diameter", "1.5 in")
    words = run("correct", *shape, "--method=pivot", "--step=diameter", "--gap=.010").out
    assert re.search(r"cross dial \d\.\d+ mm\s+\(\.\d+ in of the\s+slide\)", words)


# ---- what is asked for


@pytest.mark.parametrize(
    "measured, problem",
    [
        ([], "nothing measured"),
        (["--measured-depth=3"], "says nothing on a rounded corner"),
        (["--inner-depth=3"], "--measured-depth: is missing"),
        (["--measured-depth=3", "--measured-width=4"], "says nothing on a rounded corner"),
        (["--light=sideways"], "is not a word for it"),
        (["--light=middle", "--measured-radius=6"], "does not go with"),
        (["--measured-radius=6"], "--good-to: is missing"),
        (["--measured-radius=-6", "--good-to=0.1"], "measured-radius"),
        (["--ridge=diameter", "--gap=0.1"], "says nothing of such a ridge"),
        (["--ridge=diameter", "--starts=7"], "is not between"),
        (["--light=middle", "--leaf=6.5"], "does not say how far"),
        (["--method=glue", "--light=middle"], "is not a method"),
        (["--measured-radius=60", "--good-to=0.1"], "cannot be on such an arc"),
        (["--light=middle", "--gap=20"], "cannot be on such an arc"),
    ],
)
def test_what_cannot_be_used_is_one_message(measured, problem):
    more = [] if any(word.startswith("--method") for word in measured) else ["--method=pivot"]
    ran = run("correct", *CORNER, *more, *measured)
    assert (ran.status, ran.out) == (2, "") and problem in ran.complaint
    assert ran.complaint.count("\n") == 1


@pytest.mark.parametrize("pins, over", [("4.8", "1"), ("4.3", "1.5"), ("6", "1")])
def test_pins_on_the_edge_of_a_groove_are_refused(pins, over):
    """R6 by 8 wide: two of 4.8 touch at 4.000, on the edge. Two of 4.3 may stay, but not where they would have to touch
    at more than 4: 4.3 in R4.44 at 4.16."""
    shape = ("R6 ±0.2", "--form=concave", "--location=outside diameter", "--diameter=40", "--width=8", "--from-end=20")
    ran = run("correct", *shape, "--method=form tool", f"--pins={pins}", f"--over-pins={over}")
    assert ran.status == 2 and "--pins" in ran.complaint and "Take two of 4.3 mm" in ran.complaint
    assert run("correct", *shape, "--method=form tool", "--pins=4.3", "--over-pins=.5").status == 0


def test_an_error_past_any_correction_is_checked_first():
    """R.250 ±.010 over .375, two 3/16 pins, .060 over: R = .09375 + (.0036 + .0087891)/.12 = .1970. That is .053 off, five
    tolerances and a fifth of R: nobody hones that off. Over .375 it is .1366 deep for .0846: .052 of metal is gone."""
    shape = ("R.250 ±.010", "--form=concave", "--location=outside diameter", "--diameter=1.5", "--width=.375",
             "--from-end=1.2", "--units=inch")  # fmt: skip
    told = correct(shape, "form tool", pins="3/16", over_pins=".06")
    assert (told["verdict"], told["moves"], told["can_be_cut_again"]) == ("check", [], False)
    assert told["radius_mm"] / 25.4 == pytest.approx(0.1970, abs=5e-5)
    assert told["flats_down_mm"] / 25.4 == pytest.approx(0.1366 - 0.0846, abs=2e-4)
    words = " ".join(run("correct", *shape, "--method=form tool", "--pins=3/16", "--over-pins=.06").out.split())
    assert "CHECK FIRST" in words and "grind the edge anew" in words and "it is scrap" in words
    large = correct(GROOVE, "form tool", measured_radius="12", good_to=".01")
    assert (large["verdict"], large["can_be_cut_again"]) == ("check", True)
    assert correct(GROOVE, "form tool", measured_radius="10.4", good_to=".01")["verdict"] == "move"


def test_a_shop_says_what_its_people_do_not_overlook(tmp_path):
    """R3 over 4 in D8 that measures .74 deep would come of a tool .896 off centre height: not where .5 is seen."""
    shape = ("R3 ±0.1", "--form=concave", "--location=outside diameter", "--diameter=8", "--width=4", "--from-end=22",
             "--method=form tool", "--measured-depth=.74", "--measured-width=4", "--good-to=.001")  # fmt: skip
    shop = tmp_path / "keen.toml"
    shop.write_text('like = "training-shop"\nname = "keen"\n[limits]\noverlooked_height = "0.5 mm"\n', encoding="utf-8")
    assert "off it would make" in " ".join(run("correct", *shape).out.split())
    assert "off it would make" not in " ".join(run("correct", *shape, "--shop", shop).out.split())


def test_the_method_is_the_recommended_one_where_none_is_named():
    told = run("correct", *CORNER, "--light=middle", "--json").data
    assert told["method"] == json.loads(run("advise", *CORNER, "--json").out)["recommended"]


def test_every_option_is_told_in_the_help():
    told = " ".join(run("correct", "--help").out.split())
    assert all(f"--{name}" in told for name in OPTIONS)


SCREENS = [
    (CORNER, "pivot", "--measured-radius=6.3 --good-to=.02"),
    (CORNER, "pivot", "--measured-radius=6.01 --good-to=.05"),
    (CORNER, "compound", "--light=middle"),
    (CORNER, "compound", "--light=none"),
    (CORNER, "form tool", "--light=middle --gap=0.1"),
    (CORNER, "form tool", "--light=middle"),
    (CORNER, "freehand", "--light=middle"),
    (CORNER, "freehand", "--light=middle --gap=0.2"),
    (CORNER, "pivot", "--light=one-end"),
    (CORNER, "pivot", "--step=face"),
    (CORNER, "form tool", "--step=diameter --gap=0.3"),
    (CORNER, "form tool", "--ridge=diameter"),
    (FILLET, "freehand", "--light=middle"),
    (FILLET, "pivot", "--ball=12 --over-ball=42"),
    (FILLET, "pivot", "--ball=6 --over-ball=36"),
    (FILLET, "pivot", "--ball=12 --over-ball=42.3"),
    (DOME, "rod", "--measured-depth=4.3 --measured-width=40"),
    (DOME, "rod", "--measured-depth=4.05 --measured-width=40"),
    (DOME, "rod", "--middle=point"),
    (DISH, "pivot", "--measured-depth=2.36"),
    (DOME, "pivot", "--middle=dimple"),
    (DOME, "pivot", "--middle=pip --pip=.3"),
    (DOME, "pivot", "--light=one-end"),
    (DOME, "compound", "--measured-depth=4.3 --measured-width=40 --inner-depth=1.1 --inner-width=20"),
    (DISH, "compound", "--middle=nib --ring=1"),
    (("SR20 ±0.1", "--form=convex", "--location=end", "--diameter=40"), "pivot", "--across=40.4"),
    (("SR20 ±0.1", "--form=convex", "--location=end", "--diameter=40"), "pivot", "--across=39.6"),
    (GROOVE, "pivot", "--light=one-end"),
    (GROOVE, "form tool", "--light=one-end --gap=0.1"),
    (GROOVE, "freehand", "--light=one-end"),
    (CORNER, "freehand", "--step=diameter --gap=.1"),
    (CORNER, "pivot", "--measured-radius=7 --good-to=.02"),
    (GROOVE, "form tool", "--measured-radius=12 --good-to=.02"),
    (GROOVE, "form tool", "--measured-radius=8 --good-to=.02"),
    (CORNER, "freehand", "--ridge=face"),
    (GROOVE, "form tool", "--pins=6.7 --over-pins=1"),
    (GROOVE, "freehand", "--light=middle --gap=0.2"),
]


@pytest.mark.parametrize("shape, method, measured", SCREENS)
def test_every_word_of_a_correction_is_a_term_or_everyday(shape, method, measured):
    told = run("correct", *shape, "--method", method, *measured.split())
    assert told.status in (0, 1) and "nan" not in told.out and "None" not in told.out, told.complaint
    strange = in_plain_words(re.sub(r"--[a-z-]+", " ", told.out)) - EVERYDAY
    assert not strange
    assert max(map(len, told.out.splitlines())) <= 80
