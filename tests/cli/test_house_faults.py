"""One test a wrong result that came of the same thing being said in several places."""

import csv
import io

import numpy
import pytest
import some_callouts
from command import run

from advisor.answer.advice import advise, givens, lathe_for
from advisor.asked import callout as callouts
from advisor.asked import materials
from advisor.asked import shop as shops
from advisor.engine.generated import run as plainly
from advisor.ground import whole_files
from advisor.ground.errors import InputError
from advisor.lists import listing
from advisor.records import job_records
from advisor.show import numbers
from advisor.study import changes, mapping

SHOP = shops.read_shop("training-shop")
MATERIALS = materials.materials()


def read(fields):
    return callouts.read_callout(fields, materials=MATERIALS, inch_tolerances=SHOP.inch_tolerances)


def in_list(fields):
    """What the reader of lists makes of one callout: its given values, or its error."""
    found = listing.Reader(inch_tolerances=SHOP.inch_tolerances).read({k: [v] for k, v in fields.items()}, 1)
    return found.errors.get(0) or {name: numpy.ravel(value)[0] for name, value in found.given.items()}


def refused(fields):
    """The error of a callout, the same from both readers."""
    with pytest.raises(InputError) as alone:
        read(fields)
    together = in_list(fields)
    assert isinstance(together, InputError) and str(together) == str(alone.value)
    return str(together)


# ---- D1: lists have the bounds that one callout has


@pytest.mark.parametrize(
    ("field", "text", "problem"),
    [
        ("radius", "R6000 ±1", "is beyond 100 m"),
        ("radius", "R99999 ±1", "is beyond 100 m"),
        ("diameter", "99999", "is beyond 100 m"),
        ("stickout", "99999 in", "is beyond 100 m"),
        ("bore", "4000", "is beyond 100 m"),
        ("radius", "R.00001 ±.000005", "is less than 0.001 mm"),
    ],
)
def test_d1_a_list_refuses_what_one_callout_refuses(field, text, problem):
    fields = {"radius": "R2 ±.1", "form": "convex", "location": "end", "diameter": "1", "units": "inch"}
    assert problem in refused(fields | {field: text})


def test_d1_batch_prices_no_radius_beyond_100_m(tmp_path):
    listed = tmp_path / "list.csv"
    listed.write_text("radius,form,location,diameter,units\nR6000 ±1,convex,end,40 mm,inch\n", encoding="utf-8")
    done = run("batch", listed, "--without-records")
    (row,) = csv.DictReader(io.StringIO(done.out))
    assert "is beyond 100 m" in row["error"] and row["method"] == ""


def test_d1_both_readers_agree_on_what_is_possible():
    rows = [{k: v for k, v in row.items() if v} for row in some_callouts.rows(400, seed=11, bad=0.4)]
    columns = {key: [row.get(key) for row in rows] for key in callouts.KEYS}
    listed = listing.Reader(inch_tolerances=SHOP.inch_tolerances).read(columns, len(rows))
    for place, row in enumerate(rows):
        try:
            one = read(row)
        except InputError as problem:
            assert str(listed.errors[place]) == str(problem)
        else:
            assert place not in listed.errors, row
            alone = givens(one, SHOP, SHOP.lathes[0])
            for name in listing.GIVEN_LENGTHS:
                numpy.testing.assert_array_equal(listed.given[name][place], alone[name], err_msg=f"{name} of {row}")


# ---- D3: a change point is one that the reader takes


def rewritten(fields, callout, change):
    """The callout's own fields with a change written in."""
    size = f"{change.value!r} mm" if change.name in callouts.LENGTHS else str(change.value)
    if change.name == "radius":
        return fields | {"radius": f"R{change.value!r} ±{callout.tolerance!r}"}
    if change.name == "tolerance":
        return fields | {"radius": f"R{callout.radius!r} ±{change.value!r}"}
    if change.name == "width" and "width" not in fields:
        fields = {key: value for key, value in fields.items() if key != "depth"}
    return fields | {change.name: f"{change.value:g} HB" if change.name == "hardness" else size}


D3 = [
    {"radius": "R10 ±0.1", "form": "concave", "location": "outside diameter", "diameter": "40 mm", "depth": "6 mm",
     "material": "brass", "quantity": "5"},
    {"radius": "R10 ±0.1", "form": "concave", "location": "end", "diameter": "30 mm", "depth": "6 mm", "quantity": "5"},
    {"radius": "R10 ±0.1", "form": "convex", "location": "outside diameter", "diameter": "30 mm", "width": "12 mm",
     "bore": "12 mm", "from_end": "30 mm"},
    {"radius": "R5 ±0.05", "form": "convex", "location": "corner", "diameter": "12 mm", "length": "40 mm",
     "stickout": "50 mm"},
    {"radius": "R3 ±0.02", "form": "concave", "location": "corner", "diameter": "8 mm", "shoulder_height": "3.2 mm",
     "support": "tailstock", "stickout": "110 mm"},
    {"radius": "R20 ±0.2", "form": "convex", "location": "end", "diameter": "39 mm"},
]  # fmt: skip


@pytest.mark.parametrize("fields", D3, ids=lambda fields: f"{fields['radius']} {fields['location']}")
def test_d3_every_change_point_can_be_read(fields):
    one = read(fields)
    advice = advise(one, SHOP, executor=plainly)
    found = changes.changes(advice)
    for change in (*found.points, *found.words):
        again = read(rewritten(fields, one, change))
        assert lathe_for(again, SHOP)
        assert advise(again, SHOP, executor=plainly).recommended == change.method, change


def test_d3_no_radius_smaller_than_the_depth_of_its_groove():
    one = read(D3[0])
    for radius in (3.042, 5.999):
        assert changes.varied(one, "radius", radius) is None
    assert changes.varied(one, "radius", 6.0).width == pytest.approx(12.0)


# ---- D2: a layout line is told by its own equation, whatever other number happens to be alike

SHAPES = {
    "groove": {"radius": "R12.5 ±0.1", "form": "concave", "location": "outside diameter", "diameter": "40 mm",
               "width": "20 mm", "from_end": "5 mm"},
    "crown": {"radius": "R12.5 ±0.1", "form": "convex", "location": "outside diameter", "diameter": "40 mm",
              "width": "20 mm", "from_end": "20 mm"},
    "dish": {"radius": "R10 ±0.1", "form": "concave", "location": "end", "diameter": "30 mm", "width": "10 mm"},
    "dome": {"radius": "R20 ±0.2", "form": "convex", "location": "end", "diameter": "40 mm"},
    "corner": {"radius": "R10 ±0.1", "form": "convex", "location": "corner", "diameter": "20 mm"},
    "fillet": {"radius": "R10 ±0.1", "form": "concave", "location": "corner", "diameter": "20 mm"},
}  # fmt: skip


def lines_told(fields):
    """Layout lines of the first method that has them -> list of (line, Derivation), and their distances [mm]."""
    advice = advise(read(fields), SHOP, executor=plainly)
    method = next(m for m in advice.ranked if m.setup)
    told = [(label, found[0]) for label, found in numbers.setup_numbers(method, advice) if label.startswith("Line: ")]
    return told, [line["distance_mm"] for line in method.setup["layout"]]


def test_d2_a_groove_as_deep_as_it_is_far_from_the_end():
    (near, middle, far), _ = lines_told(SHAPES["groove"])  # its depth is 12.5 - 7.5 = 5 mm, as is the distance
    assert near[0] == "Line: near edge of the groove" and near[1].kind == "given" and near[1].name == "from_end"
    assert middle[1].lines == ["z = e + w/2 = 5 + 20 / 2 = 15.000 mm"]
    assert far[1].lines == ["z = e + w = 5 + 20 = 25.000 mm"]


@pytest.mark.parametrize("shape", SHAPES)
def test_d2_every_line_comes_to_its_distance(shape):
    told, distances = lines_told(SHAPES[shape])
    assert len(told) == len(distances) == len(numbers.LINES[SHAPES[shape]["location"], SHAPES[shape]["form"]])
    for (_, found), distance in zip(told, distances, strict=True):
        assert found.value.split()[0] == f"{distance:g}"


# ---- D4: one guard against what a spreadsheet would run

RUN = ["=1+1", "+cmd|'/c calc'!A1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1+1", "＋1+1", "－1+1", "＠A1"]


@pytest.mark.parametrize("text", RUN)
def test_d4_every_writer_guards_the_same_texts(text):
    from advisor.ground import spreadsheet

    assert spreadsheet.safe(text) == spreadsheet.as_cell(text) == f"'{text}"
    assert spreadsheet.from_cell(spreadsheet.as_cell(text)) == text


def test_d4_records_and_quotes_guard_full_width_marks_too(tmp_path):
    made = tmp_path / "records.sqlite3"
    words = ["R6 ±0.1", "--form", "convex", "--location", "corner", "--diameter", "40 mm", "--method", "freehand"]
    run("record", *words, "--minutes", "20", "--note", "＝1+1", "--records", made)
    run("records", "--export", tmp_path / "jobs.csv", "--records", made)
    (row,) = csv.DictReader((tmp_path / "jobs.csv").open(encoding="utf-8"))
    assert row["note"] == "'＝1+1"
    assert [job.note for _, job in job_records.read_csv(tmp_path / "jobs.csv")] == ["＝1+1"]


def test_d4_a_plain_number_is_no_formula():
    from advisor.ground import spreadsheet

    for text in ("-3.5", "+0,2", "-1e5"):
        assert spreadsheet.safe(text) == spreadsheet.as_cell(text) == text


# ---- D5: a map is written whole or not at all


@pytest.mark.parametrize("name", ["map.svg", "map.png"])
def test_d5_a_map_that_fails_leaves_the_old_one(tmp_path, monkeypatch, name):
    pytest.importorskip("matplotlib")
    old = tmp_path / name
    old.write_text("an older map")
    monkeypatch.setattr(mapping, "POINTS", 20)
    monkeypatch.setattr(whole_files.os, "fsync", full_disk)
    done = run(
        "map", "R6 ±0.1", "--form", "convex", "--location", "corner", "--diameter", "40 mm", "-o", old, "--replace"
    )
    assert done.status == 2 and "No space left" in done.complaint
    assert old.read_text() == "an older map" and list(tmp_path.iterdir()) == [old]


def full_disk(*_):
    raise OSError(28, "No space left on device")
