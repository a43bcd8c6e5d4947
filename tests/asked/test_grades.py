"""Materials, hardness and holding as drawings write them. Equivalents: the published cross-reference named at each row of
rules/grades.toml; what is marked from memory there is from memory here."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.asked.callout import read_callout
from advisor.asked.grades import names, read_material, solid
from advisor.asked.materials import materials
from advisor.formulas.hardness import brinell
from advisor.ground.errors import CalloutError
from advisor.ground.folders import rule_tables
from advisor.ground.units import hardness_limits, read_quantity
from advisor.lists import listing

TABLE = materials()

# text, material, hardness that the name tells
WRITTEN = [
    ("SAE 660", "tin bronze", None), ("C360 brass", "free-cutting brass", None), ("bronze C932", "tin bronze", None),
    ("O1 annealed", "tool steel", None), ("4140 alloy steel", "alloy steel", None), ("6061 aluminium", "aluminium alloy", None),
    ("304 stainless", "austenitic stainless steel", None), ("SS304", "austenitic stainless steel", None),
    ("SST 316L", "austenitic stainless steel", None), ("303 stainless steel", "free-machining stainless steel", None),
    ("CRS", "low-carbon steel", None), ("HRS", "low-carbon steel", None), ("C1018", "low-carbon steel", None),
    ("1018 CRS bar", "low-carbon steel", None), ("mild steel, bright", "low-carbon steel", None),
    ("4140 PH", "alloy steel", "28-32 HRC"), ("4140HT", "alloy steel", "28-32 HRC"), ("42CrMo4+QT", "alloy steel", "28-32 HRC"),
    ("EN24T", "alloy steel", "248-302 HB"), ("708M40T", "alloy steel", "248-302 HB"), ("EN 24", "alloy steel", None),
    ("EN8", "medium-carbon steel", None), ("Delrin", "acetal", None), ("titanium", "pure titanium", None),
    ("Ti-6Al-4V", "titanium alloy", None), ("Inconel 718", "nickel superalloy", None),
    ("718 annealed", "nickel superalloy", "250 HB"), ("Inconel 625", "nickel superalloy", "200 HB"),
    ("Monel 400", "nickel-copper alloy", None), ("17-4PH H900", "martensitic stainless steel", "375 HB"),
    ("17-4 PH", "martensitic stainless steel", "30-35 HRC"), ("W.-Nr. 1.4301", "austenitic stainless steel", None),
    ("UNS S30300", "free-machining stainless steel", None), ("JIS SUS420J2", "martensitic stainless steel", None),
    ("EN AW-6082 T6", "aluminium alloy", None), ("aluminum 7075-T651", "aluminium alloy", None),
    ("1050 aluminium", "soft aluminium", None), ("1050", "medium-carbon steel", None), ("A2", "tool steel", None),
    ("A2 stainless", "austenitic stainless steel", None), ("brass bar", "free-cutting brass", None),
    ("SCM435", "alloy steel", None), ("1144 stress relieved", "resulphurised medium-carbon steel", None),
    ("4340 normalised", "alloy steel", None), ("P20", "tool steel", "28-34 HRC"), ("PEEK", "PEEK", None),
    ("UHMW", "polyethylene", None), ("Teflon", "PTFE", None), ("DIN 1.7225", "alloy steel", None),
    ("AISI 12L14 CD", "leaded low-carbon steel", None), ("class 30 iron", "grey cast iron", None),
]  # fmt: skip


@pytest.mark.parametrize(("text", "material", "hardness"), WRITTEN, ids=[row[0] for row in WRITTEN])
def test_materials_as_drawings_write_them(text, material, hardness):
    found = read_material(text, TABLE)
    assert (found.material, found.hardness) == (material, hardness)


@pytest.mark.parametrize("turn", [lambda words: words[::-1], lambda words: [word.upper() for word in words]])
@pytest.mark.parametrize("text", ["C360 brass", "4140 PH", "304 stainless", "17-4PH H900", "6061 aluminium T6"])
def test_grade_and_family_in_any_order(text, turn):
    assert read_material(" ".join(turn(text.split())), TABLE)[::3] == read_material(text, TABLE)[::3]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("304 brass", "does not go together"), ("1018 4140", "not the same"), ("4140 foo", '"foo" in it'),
        ("O1 hardened", "does not tell how hard"), ("cheese", "is not a material"), ("", "is not a material"),
        ("low-carbn steel", 'Did you mean "low-carbon steel"?'),
    ],
)  # fmt: skip
def test_what_is_not_clear_is_asked(text, says):
    with pytest.raises(CalloutError) as caught:
        read_material(text, TABLE)
    assert says in str(caught.value)


def test_a_condition_need_not_tell_a_hardness_that_is_stated():
    assert read_material("O1 hardened", TABLE, hardness_stated=True).material == "tool steel"


@given(
    st.one_of(
        st.text(max_size=60),
        st.lists(st.sampled_from([w for t, *_ in WRITTEN for w in t.split()]), max_size=5).map(" ".join),
    )
)
def test_any_material_is_read_or_refused(text):
    try:
        assert read_material(text, TABLE).material in TABLE
    except CalloutError as error:
        assert error.field in ("material", "hardness") and error.fix


def test_every_grade_is_of_a_material_and_every_hardness_is_one():
    data = rule_tables("grades.toml")
    sources = rule_tables("sources.toml")
    for row in data["grade"]:
        assert row["material"] in TABLE and row["source"] in sources
        assert read_hardness(row) is not None
    for row in data["condition"]:
        assert row["source"] in sources and (row.get("hardness") == "ask" or read_hardness(row) is not None)
    for letter, band in data["bs_970"].items():
        assert letter in ("source", "from_memory") or band[0] <= band[1]


def read_hardness(row):
    return hardness_limits(row["hardness"], field="hardness") if "hardness" in row else ()


def test_no_name_stands_for_two_materials():
    places = {}
    for row in rule_tables("grades.toml")["grade"]:
        for name in row["names"]:
            assert places.setdefault(solid(name), row["material"]) == row["material"], name
    for material, row in TABLE.items():
        for name in (material, *row["aliases"]):
            assert places.get(solid(name), material) == material, name
    assert len(names(TABLE)) > 900


def callout(**fields):
    return read_callout({"radius": "R6 ±0.1", "shape": "fillet", "diameter": "40 mm"} | fields, materials=TABLE)


def test_the_callout_takes_the_hardness_that_the_name_tells():
    one = callout(material="4140 PH")
    assert (one.material, one.hardness, one.hardness_text) == ("alloy steel", 286.0, "28-32 HRC")
    assert ("hardness", "28-32 HRC, usual for 4140 PH") in {(entry.name, entry.origin) for entry in one.assumed}
    assert callout(material="4140 PH", hardness="35 HRC").hardness == brinell(35.0, "HRC")
    assert callout(material="O1 hardened", hardness="60 HRC").hardness == 654.0
    read = {
        entry.name: entry.value
        for entry in callout(hardness="300 HV", material="C1018", finish="N7", support="collet").read
    }
    assert read["hardness"] == "284 HB" and read["material"] == "low-carbon steel"
    assert read["finish"] == "Ra 1.6 um" and read["support"] == "chuck"


@pytest.mark.parametrize(
    ("word", "support"), [("collet", "chuck"), ("between centres", "tailstock"), ("Between Centers", "tailstock")]
)
def test_words_for_holding(word, support):
    assert callout(support=word).support == support


def test_a_list_reads_the_same():
    rows = [
        {"radius": "R6 ±0.1", "diameter": "40 mm", "shape": "fillet", "material": text} for text, _, hardness in WRITTEN
    ]
    rows += [
        {"radius": "R.250 FILLET", "diameter": "1.5"}, {"radius": "FULL R", "shape": "groove", "width": "10 mm", "diameter": "40 mm"},
        {"radius": "SO 1.250 in", "shape": "ball", "diameter": "1.25 in"}, {"radius": "R6", "form": "groove", "diameter": "40", "width": "8"},
        {"radius": "R6 ±0.1", "shape": "rounded corner", "diameter": '2"', "hardness": "300 HV"}, {"radius": "R6 mm", "diameter": "2 in", "location": "face"},
        {"radius": "R1", "diameter": '3"', "shape": "dome"}, {"radius": "R.5 [12.7]", "shape": "crown", "diameter": "2 in", "width": ".3 in"},
        {"radius": "R1/4", "diameter": "2", "shape": "fillet", "hardness": "28-32 HRC", "material": "O1 hardened", "finish": "125 RMS"},
    ]  # fmt: skip
    for shop_units in (None, "mm", "inch"):
        reader = listing.Reader(inch_tolerances=None, shop_units=shop_units)
        columns = {key: [row.get(key) for row in rows] for key in {key for row in rows for key in row}}
        read = reader.read(columns, len(rows))
        for n, row in enumerate(rows):
            try:
                one = read_callout(row, materials=TABLE, shop_units=shop_units)
            except CalloutError as error:
                assert str(read.errors[n]) == str(error), row
                continue
            assert n not in read.errors, (row, read.errors.get(n))
            for name, value in reader._values(one).items():
                assert read.given[name][n] == pytest.approx(value, nan_ok=True), (row, name)


PIECES = st.lists(
    st.sampled_from(
        ["28", "32", "95", "300", "7", "125", "1.6", "-", "/", " to ", " ", "HRC", "HRB", "HB", "HV10", "Rc", "N", "RMS", "Ra",
         "AA", "um", "uin", "max", "MIN", ".", "10/3000", "W"]
    ),
    max_size=7,
).map("".join)  # fmt: skip


@given(st.one_of(st.text(max_size=40), PIECES))
def test_any_hardness_is_read_or_refused_and_told_back_the_same(text):
    try:
        low, high, scale = hardness_limits(text, field="hardness")
    except CalloutError as error:
        assert error.field == "hardness" and error.fix
        return
    told = f"{low:g} {scale}" if low == high else f"{low:g}-{high:g} {scale}"
    *again, same = hardness_limits(told, field="hardness")
    assert again == pytest.approx([low, high], rel=1e-5) and same == scale
    assert 3 <= brinell((low + high) / 2, scale) <= 750


@given(st.one_of(st.text(max_size=40), PIECES), st.sampled_from(["um", "uin"]))
def test_any_roughness_is_read_or_refused(text, unit):
    try:
        value = read_quantity(text, field="finish", dimension="roughness", default_unit=unit, positive=True)
        assert 0 < value <= 1000
    except CalloutError as error:
        assert error.field == "finish" and error.fix


@pytest.mark.parametrize(
    ("text", "english"),
    [
        ("Messing", "brass"), ("laiton", "brass"), ("latón", "brass"), ("bronce", "bronze"), ("Rotguss", "tin bronze"),
        ("acier doux", "mild steel"), ("Baustahl", "mild steel"), ("acero F-1140", "C45"), ("Edelstahl 1.4301", "304"),
        ("inox", "stainless steel"), ("inoxidable 304", "304"), ("Acero inoxidable", "stainless steel"), ("Kupfer", "copper"),
        ("alu 2017A", "aluminium 2017"), ("fonte", "cast iron"), ("Grauguss", "grey cast iron"), ("laiton CuZn39Pb3", "CuZn39Pb3"),
        ("Messing, rund", "brass"), ("AUTOMATENSTAHL", "free-machining steel"), ("Titane", "titanium"),
    ],
)  # fmt: skip
def test_a_word_of_another_language_means_what_the_english_one_does(text, english):
    assert read_material(text, materials()).material == read_material(english, materials()).material


@pytest.mark.parametrize(
    "text", ["Vergütungsstahl", "Kunststoff", "acier rapide", "Messingguss", "laiton 304", "Weißmetall"]
)
def test_a_word_that_is_not_known_is_never_guessed(text):
    with pytest.raises(CalloutError):
        read_material(text, materials())
