"""The table of materials: published figures, common sense of the shop floor, names, and what a bad file is told."""

import math
import tomllib

import numpy
import pytest
from pytest import approx

from advisor.asked.materials import GROUPS, HARDENING_STEELS, find_material, material_values, materials, read_materials
from advisor.ground.errors import CalloutError, RuleError
from advisor.ground.folders import data_folder

FOOT = 0.3048  # m
NAN = math.nan
each_material = pytest.mark.parametrize("name", materials())


def values(name, hardness=NAN, carbide=False):
    return material_values(row=find_material(name), hardness=hardness, carbide=carbide)


# Recommended cutting speeds for turning with high-speed steel, ft/min, in the pattern of the older Machinery's
# Handbook: material, then speeds at the middle of each Brinell band.
TURNING_SPEEDS = [
    ("1213", {125: 150, 175: 160}),
    ("12L14", {125: 140, 175: 145, 225: 110}),
    ("1144", {200: 120, 300: 75, 350: 50, 400: 40}),
    ("1018", {112.5: 120, 150: 110, 200: 90, 250: 70}),
    ("1045", {150: 100, 200: 85, 250: 70, 300: 60, 350: 40, 400: 30}),
    ("1095", {150: 100, 200: 80, 250: 65, 300: 50, 350: 35, 400: 30}),
    ("4140 resulphurised", {187.5: 110, 225: 90, 275: 65, 337.5: 50, 400: 40}),
]


@pytest.mark.parametrize(
    "name, hardness, feet", [(name, hb, feet) for name, table in TURNING_SPEEDS for hb, feet in table.items()]
)
def test_published_turning_speeds(name, hardness, feet):
    assert values(name, float(hardness))["rough_speed"] / FOOT == approx(feet, abs=0.2)


# Ft/min: U.S. Technical Order 1-1A-9, table 2-8, high-speed steel and carbide, rough and finish.
STAINLESS = [
    ("304", (20, 40), (50, 80), (150, 200), (150, 300)),
    ("416", (30, 60), (75, 120), (225, 300), (225, 450)),
    ("303", (25, 55), (65, 105), (175, 240), (195, 350)),
    ("420", (20, 40), (55, 90), (165, 220), (165, 330)),
]


@pytest.mark.parametrize("name, rough, finish, carbide_rough, carbide_finish", STAINLESS)
def test_published_speeds_of_stainless(name, rough, finish, carbide_rough, carbide_finish):
    """The roughing speeds go with feeds of 0.5 to 1 mm, heavier than any here: both of ours lie in the lighter band."""
    for carbide, key, (low, high) in [
        (False, "rough_speed", (rough[1], finish[1])),
        (False, "finish_speed", finish),
        (True, "rough_speed", carbide_rough),
        (True, "finish_speed", carbide_finish),
    ]:
        assert low <= values(name, carbide=carbide)[key] / FOOT <= high + 0.05, key


# High-speed steel, m/min: a course data sheet "Design tables and coefficients" (17, table 2) and F. D. Jones, Turning
# and Boring. Stainless stands in the Technical Order above.
SPEED_BANDS = [
    ("aluminium alloy", 60, 150),
    ("soft aluminium", 60, 150),
    ("free-cutting brass", 45, 120),
    ("grey cast iron", 22, 30),
    ("low-carbon steel", 25, 45),
    ("tin bronze", 40, 60),  # C93200 at 70 % of free-cutting brass, which the founders' sheets give
    ("aluminium bronze", 35 * FOOT, 80.1 * FOOT),
]


@pytest.mark.parametrize("name, low, high", SPEED_BANDS)
def test_published_speed_bands(name, low, high):
    assert low <= values(name)["rough_speed"] <= high


@each_material
def test_carbide_is_three_to_six_times_as_fast(name):
    """The same course data sheet. Stainless has figures of its own, from the Technical Order."""
    row = find_material(name)
    if row["sources"]["carbide"] == "course-data-sheet":
        assert 3 <= values(name, carbide=True)["rough_speed"] / values(name)["rough_speed"] <= 6


# Roughing speed in m/min that a hand at the lathe would call about right with high-speed steel: common practice.
SHOP_HAND = {
    "free-machining steel": (35, 55),
    "leaded low-carbon steel": (35, 50),
    "low-carbon steel": (25, 40),
    "medium-carbon steel": (20, 32),
    "resulphurised medium-carbon steel": (25, 40),
    "high-carbon steel": (18, 28),
    "tool steel": (12, 24),
    "alloy steel": (18, 30),
    "resulphurised alloy steel": (22, 34),
    "austenitic stainless steel": (9, 22),
    "free-machining stainless steel": (14, 30),
    "free-machining martensitic stainless steel": (15, 33),
    "martensitic stainless steel": (10, 28),
    "grey cast iron": (18, 32),
    "ductile iron": (15, 30),
    "free-cutting brass": (45, 120),
    "tin bronze": (18, 60),
    "aluminium bronze": (12, 35),
    "aluminium alloy": (60, 180),
    "soft aluminium": (60, 180),
    "copper": (20, 60),
    "acetal": (60, 180),
    "nylon": (50, 150),
    "titanium alloy": (8, 20),
    "pure titanium": (15, 40),
    "nickel superalloy": (3, 10),
    "nickel-copper alloy": (8, 25),
    "PTFE": (40, 150),
    "polyethylene": (50, 180),
    "polypropylene": (50, 180),
    "PEEK": (40, 150),
    "polycarbonate": (50, 150),
    "ABS": (40, 150),
    "acrylic": (40, 120),
    "PVC": (40, 150),
}


@each_material
def test_a_shop_hand_would_nod(name):
    low, high = SHOP_HAND[name]
    cuts = values(name)
    assert low <= cuts["rough_speed"] <= high
    # Finishing is 1.2 to 1.5 times roughing, sometimes twice: NAVEDTRA 14076, chapter 9.
    assert 1.15 <= cuts["finish_speed"] / cuts["rough_speed"] <= 2
    assert cuts["straight_speed_hss"] == cuts["rough_speed"]
    assert 8 <= cuts["form_relief"] <= 12
    assert 0 <= cuts["form_rake"] <= cuts["rake"]


@each_material
def test_form_tool_speed_does_not_follow_the_turning_tool(name):
    assert values(name, carbide=True)["straight_speed_hss"] == values(name)["straight_speed_hss"]


def test_enough_materials():
    assert len(materials()) >= 16
    assert {row["group"] for row in materials().values()} == set(GROUPS)


@each_material
def test_harder_is_slower_and_takes_more_force(name):
    """But for resulphurised and leaded steel up to 175 HB, published a little faster than soft bar."""
    row = find_material(name)
    low, high = row["hardness_range"]
    start = 175 if row["name"] in ("free-machining steel", "leaded low-carbon steel") else low
    hardness = numpy.linspace(start, high, 200)
    for carbide in (False, True):
        cuts = material_values(row=row, hardness=hardness, carbide=carbide)
        assert (numpy.diff(cuts["rough_speed"]) <= 0).all()
        assert (numpy.diff(cuts["finish_speed"]) <= 0).all()
    if row["group"] in HARDENING_STEELS:
        assert (numpy.diff(cuts["cutting_force_1"]) > 0).all()


# Unit power Kp, hp per in³/min, by Brinell hardness: Machinery's Handbook, 31st edition, p. 1147, table 1b.
UNIT_POWER = [
    ("low-carbon steel", {110: 0.66, 130: 0.69, 150: 0.74, 170: 0.78, 190: 0.82, 210: 0.85, 230: 0.89, 270: 0.95}),
    ("medium-carbon steel", {190: 0.82, 290: 1.00, 350: 1.14}),
    ("resulphurised medium-carbon steel", {190: 0.51, 250: 0.62}),
    ("free-machining steel", {110: 0.41, 190: 0.50}),
    ("alloy steel", {190: 0.69, 210: 0.72, 250: 0.80, 290: 0.87, 350: 1.00}),
    ("alloy steel", {150: 0.56, 210: 0.65, 290: 0.80}),  # 8620 and 4130
]


@pytest.mark.parametrize("name, table", UNIT_POWER)
def test_force_grows_with_hardness_as_published(name, table):
    first, *rest = table
    for hardness in rest:
        grown = values(name, float(hardness))["cutting_force_1"] / values(name, float(first))["cutting_force_1"]
        assert grown == approx(table[hardness] / table[first], rel=0.06)


# kc1.1 [MPa] and mc as commonly tabulated for Kienzle's law; from memory, not verified.
KIENZLE = [
    ("11SMn30", 1200, 0.18),
    ("S235", 1780, 0.17),
    ("C45", 2220, 0.14),
    ("35S20", 1420, 0.17),
    ("C60", 2130, 0.18),
    ("34CrMo4", 2240, 0.21),
    ("X5CrNi18-10", 2350, 0.21),
    ("GG25", 1160, 0.26),
    ("brass", 780, 0.18),
]


@pytest.mark.parametrize("name, force_1, slope", KIENZLE)
def test_cutting_force_constants_from_memory(name, force_1, slope):
    cuts = values(name)
    assert (cuts["cutting_force_1"], cuts["cutting_force_slope"]) == (force_1, slope)
    assert "force" in find_material(name)["from_memory"]


def test_force_of_chrome_molybdenum_steel():
    """A tool maker's technical data, Cr-Mo steel at .1, .2, .3, .4, .6 mm: 3610, 3200, 2880, 2700, 2500 MPa."""
    cuts = values("34CrMo4")
    for feed, pressure in [(0.1, 3610), (0.2, 3200), (0.3, 2880), (0.4, 2700), (0.6, 2500)]:
        assert cuts["cutting_force_1"] * feed ** -cuts["cutting_force_slope"] == approx(pressure, rel=0.03)


# Machine-shop text, appendix I, table A-I-1, p. 484: front relief and side rake [deg] of high-speed steel tools. The
# book prints 5 to 4 for brass and bronze, where a minus sign is probably lost: anything from -5 to 5 will do.
TOOL_ANGLES = [
    ("aluminium alloy", 8, (16, 16)),
    ("brass", 8, (-5, 5)),
    ("bronze", 8, (-5, 5)),
    ("cast iron", 8, (12, 12)),
    ("copper", 10, (20, 20)),
    ("mild steel", 8, (12, 18)),
    ("tool steel", 8, (12, 12)),
    ("304", 8, (15, 20)),
]


@pytest.mark.parametrize("name, relief, rake", TOOL_ANGLES)
def test_published_tool_angles(name, relief, rake):
    cuts = values(name)
    assert cuts["relief"] == relief
    assert rake[0] <= cuts["rake"] <= rake[1]


@pytest.mark.parametrize("name", ["free-cutting brass", "grey cast iron"])
def test_form_tools_for_brass_and_cast_iron(name):
    """No rake (from memory), 8 degrees of relief (shop-class slides)."""
    assert values(name)["form_rake"] == 0
    assert values(name)["form_relief"] == 8


def test_elasticity():
    """Handbook values, from memory: steel 205 GPa, aluminium 69, brass 97, copper 117."""
    for name, modulus in [("1018", 205_000), ("6061", 69_000), ("brass", 97_000), ("copper", 117_000)]:
        assert values(name)["modulus"] == modulus


@pytest.mark.parametrize(
    "written, name",
    [
        ("mild steel", "low-carbon steel"),
        ("Low carbon steel", "low-carbon steel"),
        ("1018", "low-carbon steel"),
        ("AISI 1018", "low-carbon steel"),
        ("12l14", "leaded low-carbon steel"),
        ("SAE 4140", "alloy steel"),
        ("SAE 660", "tin bronze"),
        ("303", "free-machining stainless steel"),
        ("304", "austenitic stainless steel"),
        ("C45", "medium-carbon steel"),
        ("11SMn30", "free-machining steel"),
        ("CW614N", "free-cutting brass"),
        ("6061 T6", "aluminium alloy"),
        (" aluminum ", "aluminium alloy"),
        ("POM", "acetal"),
    ],
)
def test_names(written, name):
    assert find_material(written)["name"] == name


def test_unknown_material():
    with pytest.raises(CalloutError, match='low-carbn steel is not a material in the table. Did you mean "low-carbon'):
        find_material("low-carbn steel")
    with pytest.raises(CalloutError, match="turn-radius materials lists"):
        find_material("cheese")


def test_hardness_that_is_not_given_is_the_rows_own():
    assert values("4140") == values("4140", 210.0)


@each_material
def test_arrays_agree_with_numbers(name):
    row = find_material(name)
    hardness = numpy.array([*numpy.linspace(5, 500, 40), NAN])
    carbide = numpy.arange(41) % 2 == 0
    together = material_values(row=row, hardness=hardness, carbide=carbide)
    for index in range(41):
        alone = material_values(row=row, hardness=hardness[index].item(), carbide=bool(carbide[index]))
        for key, value in alone.items():
            assert numpy.broadcast_to(together[key], 41)[index] == approx(value), key


def test_every_source_is_known():
    sources = tomllib.loads((data_folder("rules") / "sources.toml").read_text(encoding="utf-8"))
    used = {key for row in materials().values() for key in row["sources"].values()}
    assert used <= set(sources)


GOOD_ROW = """
[[material]]
name = "test bar"
aliases = ["bar"]
group = "steel"
hardness = 150
hardness_range = [100, 200]
rough_speed = [[100, 150, 40.0], [150, 200, 30.0]]
finish_factor = 1.2
carbide_rough_speed = 120
carbide_finish_speed = 160
cutting_force_1 = 1780
cutting_force_slope = 0.17
modulus = 205000
density = 7850
rake = 14
relief = 8
form_rake = 0
form_relief = 8
abrasive = false
gummy = false
chip = "curly"
sources = { speed = "a", finish = "a", carbide = "a", force = "a", elasticity = "a", angles = "a", form_angles = "a" }
from_memory = []
"""

BAD_ROWS = [
    ("modulus = 205000", "", '"modulus" is missing'),
    ("modulus = 205000", "modulus = 205", "modulus: 205 cannot be right. Give a number from 500 to 500000."),
    ("modulus = 205000", 'modulus = "205 GPa"', "modulus: 205 GPa cannot be right"),
    ("modulus = 205000", "modulus = nan", "modulus: nan cannot be right"),
    ("modulus = 205000", "modulus = true", "modulus: True cannot be right"),
    ("density = 7850", "densty = 7850\ndensity = 7850", '"densty" is not a known key. Did you mean "density"'),
    ('group = "steel"', 'group = "metal"', "group: metal is not a known word"),
    ("gummy = false", "gummy = 0", "gummy: 0 is not a truth value"),
    ("[100, 200]\nrough", "[160, 200]\nrough", "Give two numbers with the hardness 150 between them."),
    ("[150, 200, 30.0]", "[140, 200, 30.0]", "Give rows of [HB from, HB to, m/min], softest first, without overlap."),
    ("[150, 200, 30.0]", "[150, 200]", "rough_speed: [150, 200] is not a row"),
    ("[[100, 150, 40.0], [150, 200, 30.0]]", "[]", "rough_speed: [] is not a table"),
    ("[[100, 150, 40.0], [150, 200, 30.0]]", "40", "rough_speed: 40 is not a table"),
    ('speed = "a", ', "", "sources: {"),
    ("from_memory = []", 'from_memory = ["taste"]', "from_memory: taste is not a group"),
    ('aliases = ["bar"]', "aliases = [1018]", "aliases: [1018] is not a list of names"),
    ('name = "test bar"', "", "material 1: has no name"),
    ("[[material]]", "[[materials]]", "bad.toml: has no materials"),
    ("[[material]]", "[[material", "bad.toml: is not TOML"),
]


@pytest.mark.parametrize("good, bad, message", BAD_ROWS, ids=[message for _, _, message in BAD_ROWS])
def test_a_bad_row_is_told_what_is_wrong(tmp_path, good, bad, message):
    assert good in GOOD_ROW
    file = tmp_path / "bad.toml"
    file.write_text(GOOD_ROW.replace(good, bad), encoding="utf-8")
    with pytest.raises(RuleError) as told:
        read_materials(file)
    assert str(told.value).startswith("rules/bad.toml")
    assert message in str(told.value)


def test_a_good_row_is_taken(tmp_path):
    file = tmp_path / "good.toml"
    file.write_text(GOOD_ROW, encoding="utf-8")
    assert list(read_materials(file)) == ["test bar"]


@pytest.mark.parametrize("second", ["test bar", "BAR"])
def test_a_name_stands_for_one_material(tmp_path, second):
    file = tmp_path / "twice.toml"
    file.write_text(GOOD_ROW + GOOD_ROW.replace("test bar", second), encoding="utf-8")
    with pytest.raises(RuleError, match="is a name of test bar too"):
        read_materials(file)


def test_a_missing_file(tmp_path):
    with pytest.raises(RuleError, match="none.toml: cannot be read"):
        read_materials(tmp_path / "none.toml")
