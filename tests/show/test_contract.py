"""What `--json` promises to other programs: every key, its kind of value and its unit, for every method and shape."""

import math

import pytest
from command import SHAPES, advise

from advisor.formulas import geometry
from advisor.ground.methods import methods

NUMBER, WORD, TRUTH, LIST, TABLE = (int, float), str, bool, list, dict

ESTIMATE = {"low": NUMBER, "likely": NUMBER, "high": NUMBER, "mean": NUMBER}
GEOMETRY = {
    "depth_mm": NUMBER, "chord_mm": NUMBER, "arc_length_mm": NUMBER, "sweep_deg": NUMBER, "removed_mm3": NUMBER,
    "centre_from_axis_mm": NUMBER, "centre_from_face_mm": NUMBER, "tolerance_mm": NUMBER, "depth_tolerance_mm": NUMBER,
}  # fmt: skip
METHOD = {
    "standing": WORD, "rank": int, "minutes": TABLE, "set_error_mm": NUMBER, "piece_error_mm": NUMBER, "in_tolerance": NUMBER,
    "cost": NUMBER, "reasons": LIST, "setup": TABLE, "steps": LIST, "checks": LIST, "cautions": LIST,
}  # fmt: skip
CALLOUT = {
    "text": WORD, "symbol": WORD, "radius_mm": NUMBER, "tolerance_mm": NUMBER, "radius_low_mm": NUMBER, "radius_high_mm": NUMBER,
    "tolerance_from": WORD, "form": WORD, "location": WORD, "diameter_mm": NUMBER, "width_mm": NUMBER, "depth_mm": NUMBER,
    "from_end_mm": NUMBER, "shoulder_height_mm": NUMBER, "length_mm": NUMBER, "rim_mm": NUMBER, "bore_mm": NUMBER, "units": WORD,
    "general_tolerance": WORD, "finish_um": NUMBER, "material": WORD, "hardness_hb": NUMBER, "stickout_mm": NUMBER, "support": WORD,
    "interrupted": TRUTH, "tool": WORD, "quantity": int, "places": int, "skill": WORD, "minutes_in_piece_min": NUMBER,
    "shop": WORD, "lathe": WORD,
}  # fmt: skip
SETUP = {"spindle_rpm": NUMBER, "surface_speed_m_min": NUMBER, "straight_turning_rpm": NUMBER, "layout": LIST}
SETUPS = {
    "form tool": {
        "edge_radius_mm": NUMBER, "edge_form": WORD, "edge_width_mm": NUMBER, "contact_length_mm": NUMBER, "infeed_mm": NUMBER,
        "relief_deg": NUMBER, "rake_deg": NUMBER, "profile": LIST, "feed_mm_rev": NUMBER, "force_n": NUMBER, "power_kw": NUMBER,
        "deflection_mm": NUMBER,
    },
    "freehand": {
        "nose_radius_mm": NUMBER, "chamfer_leg_mm": NUMBER, "facets": LIST, "step_off": LIST, "cusp_mm": NUMBER, "filing_rpm": NUMBER,
    },
    "pivot attachment": {
        "tip_to_pivot_mm": NUMBER, "tip_side": WORD, "post_reading_mm": NUMBER, "pivot_from_axis_mm": NUMBER,
        "pivot_from_face_mm": NUMBER, "sweep_deg": NUMBER, "passes": int, "height_allowance_mm": NUMBER, "offset_allowance_mm": NUMBER,
    },
    "radius rod": {
        "rod_between": WORD, "nose_radius_mm": NUMBER, "seat_to_seat_mm": NUMBER, "overall_mm": NUMBER, "tilt_deg": NUMBER,
        "carriage_travel_mm": NUMBER, "cross_travel_mm": NUMBER, "passes": int, "offset_allowance_mm": NUMBER,
    },
    "swung compound": {
        "tip_to_swivel_mm": NUMBER, "tip_side": WORD, "sweep_deg": NUMBER, "passes": int, "height_allowance_mm": NUMBER,
        "offset_allowance_mm": NUMBER,
    },
}  # fmt: skip
ROWS = {
    "layout": {"line": WORD, "from": WORD, "distance_mm": NUMBER},
    "profile": {"z_mm": NUMBER, "work_depth_mm": NUMBER, "face_depth_mm": NUMBER, "flank_depth_mm": NUMBER},
    "facets": {"angle_deg": NUMBER, "standing_mm": NUMBER},
    "step_off": {"x_in_mm": NUMBER, "z_in_mm": NUMBER},
}
CHECK = {"how": WORD, "size_mm": NUMBER, "reading_mm": NUMBER, "sees_mm": NUMBER, "proves": TRUTH}
REASON = {"rule": WORD, "effect": TABLE, "because": WORD, "source": WORD, "facts": TABLE}

# Where a key may hold null. In setups: by shape, or what the shop has to have for it.
NULL_GEOMETRY = {"chord_mm": ("corner", "fillet")}
NULL_CALLOUT = {
    "width_mm", "depth_mm", "from_end_mm", "shoulder_height_mm", "length_mm", "rim_mm", "general_tolerance", "finish_um", "hardness_hb",
}  # fmt: skip
NULL_SETUP = {
    ("freehand", "chamfer_leg_mm"): ("fillet", "dome", "dish", "groove", "crown"),
    ("pivot attachment", "offset_allowance_mm"): ("groove", "crown"),
    ("swung compound", "offset_allowance_mm"): ("groove",),
}
NEEDS = {
    ("pivot attachment", "post_reading_mm"): "training-shop",
    ("radius rod", "overall_mm"): "training-shop",
}  # fmt: skip
NO_SETUP = {"radius rod": ("corner", "fillet", "groove", "crown"), "swung compound": ("crown",)}


def assert_holds(table, keys, null=(), more=()):
    """A table has exactly these keys, beside what `more` allows, each with its kind of value."""
    assert set(keys) <= set(table) and set(table) - set(keys) <= set(more)
    for key, kind in keys.items():
        value = table[key]
        if value is None:
            assert key in null, key
        else:
            assert isinstance(value, kind) and (kind is TRUTH or not isinstance(value, bool)), (key, value)
            assert not isinstance(value, float) or math.isfinite(value)


@pytest.fixture(
    scope="module",
    params=[(shape, shop) for shape in SHAPES for shop in ("training-shop", "bench-shop", "jobbing-shop")],
    ids="-".join,
)
def answered(request):
    """One shape in one shop: its name, the shop's, and the answer."""
    shape, shop = request.param
    ran = advise("--json", shop=shop, units="mm", **SHAPES[shape])
    assert ran.status in (0, 1) and not ran.complaint
    return shape, shop, ran.data


def test_the_parts_of_an_answer(answered):
    shape, _, data = answered
    assert set(data) >= {"callout", "assumed", "geometry", "recommended", "chosen_by", "close_call", "methods"}
    assert_holds(data["callout"], CALLOUT, null=NULL_CALLOUT, more=("count", "hardness_text"))
    assert_holds(data["geometry"], GEOMETRY, null=[key for key, shapes in NULL_GEOMETRY.items() if shape in shapes])
    assert isinstance(data["close_call"], bool)
    for entry in data["assumed"]:
        assert set(entry) == {"name", "value", "from", "matters", "turns"}
        assert bool(entry["turns"]) == entry["matters"]
        assert isinstance(entry["name"], str) and isinstance(entry["from"], str) and isinstance(entry["matters"], bool)


def test_the_methods_are_there_and_their_standings_agree_with_the_recommendation(answered):
    methods, recommended = answered[2]["methods"], answered[2]["recommended"]
    assert set(methods) >= set(SETUPS)
    assert {name for name, m in methods.items() if m["standing"] == "recommended"} == (
        {recommended} if recommended else set()
    )
    for method in methods.values():
        assert method["standing"] in ("recommended", "usable", "ruled out")
        assert (method["rank"] is None) == (method["standing"] == "ruled out")
        assert (method["rank"] == 1) == (method["standing"] == "recommended")
    standing = sorted((m for m in methods.values() if m["rank"]), key=lambda m: m["rank"])
    means = [m["minutes"]["batch"]["mean"] for m in standing]
    assert means == sorted(means)


@pytest.mark.parametrize("name", SETUPS)
def test_a_method(answered, name):
    _, _, data = answered
    method = data["methods"][name]
    assert_holds(method, METHOD, null=("rank", "cost", "setup"), more=("holds_mm", "dials"))
    assert_holds(
        method["minutes"], dict.fromkeys(("tooling", "setup", "per_piece", "batch"), TABLE), more=method["minutes"]
    )
    for part in ("tooling", "setup", "per_piece"):
        assert_holds(method["minutes"][part], ESTIMATE)
        low, likely, high, mean = (method["minutes"][part][key] for key in ESTIMATE)
        assert 0 <= low <= likely <= high and mean == pytest.approx((low + 4 * likely + high) / 6)
    assert_holds(method["minutes"]["batch"], {"mean": NUMBER, "p80": NUMBER})
    assert method["minutes"]["batch"]["mean"] <= method["minutes"]["batch"]["p80"]
    assert 0 <= method["in_tolerance"] <= 1
    for check in method["checks"]:
        assert_holds(check, CHECK, null=("size_mm", "reading_mm"))
    for reason in method["reasons"]:
        assert_holds(reason, REASON)
        assert "{" not in reason["because"]
    for words in (*method["steps"], *method["cautions"]):
        assert isinstance(words, str) and "{" not in words and "nan" not in words.split()


@pytest.mark.parametrize("name", SETUPS)
def test_a_setup(answered, name):
    shape, shop, data = answered
    setup = data["methods"][name]["setup"]
    if shape in NO_SETUP.get(name, ()):
        assert setup is None
        return
    keys = SETUP | SETUPS[name]
    null = {key for (method, key), shapes in NULL_SETUP.items() if method == name and shape in shapes}
    null |= {key for (method, key), needed in NEEDS.items() if method == name and shop != needed}
    declared = {key for number in methods()[name].numbers for key in number.sets}  # a number that is new since
    assert_holds(setup, keys, null=null, more=declared)
    for key, row in ROWS.items():
        for line in setup.get(key, ()):
            assert_holds(line, row)


def test_lengths_are_millimetres_and_are_not_rounded():
    data = advise("--json", radius="R5/16 ±.001", diameter="2-1/8", units="inch").data
    assert data["callout"]["radius_mm"] == pytest.approx(25.4 * 5 / 16, rel=1e-15)
    assert data["callout"]["diameter_mm"] == pytest.approx(25.4 * 17 / 8, rel=1e-15)
    assert data["geometry"]["arc_length_mm"] == pytest.approx(25.4 * 5 / 16 * math.pi / 2, rel=1e-15)
    assert data["methods"]["pivot attachment"]["setup"]["tip_to_pivot_mm"] == pytest.approx(25.4 * 5 / 16, rel=1e-6)


def test_geometry_is_that_of_the_shape():
    data = advise("--json", **SHAPES["groove"]).data["geometry"]
    depth = geometry.depth_of_arc(radius=6.0, chord=10.0)
    assert data["depth_mm"] == depth and data["chord_mm"] == 10.0
    assert data["sweep_deg"] == pytest.approx(2 * math.degrees(math.asin(10 / 12)))
    assert data["centre_from_axis_mm"] == pytest.approx(20 - depth + 6) and data["centre_from_face_mm"] == 25.0


def test_what_was_assumed_is_listed_and_what_was_stated_is_not():
    bare = {entry["name"] for entry in advise("--json").data["assumed"]}
    assert {"units", "material", "quantity", "skill", "stickout"} <= bare
    stated = advise("--json", units="mm", material="brass", quantity="3", skill="expert", stickout="60 mm").data[
        "assumed"
    ]
    assert not {entry["name"] for entry in stated} & {"units", "material", "quantity", "skill", "stickout"}


def test_what_is_said_to_matter_does():
    """Try the other values that `matters` speaks of: the choice changes just where it says so."""
    data = advise("--json", quantity="12").data
    matters = {entry["name"]: entry["matters"] for entry in data["assumed"]}
    others = {"skill": ("apprentice", "expert"), "support": ("tailstock", "steady rest"), "tool": ("carbide",)}
    for name, words in others.items():
        changed = {advise("--json", quantity="12", **{name: word}).data["recommended"] for word in words}
        assert matters[name] == (changed != {data["recommended"]})
