"""Whole lists: what stands in the priced list, every kind of file, what is wrong with a list, and what a kill
leaves.
"""

import csv
import datetime
import io
import os
import signal
import subprocess
import sys
import time

import pytest
import some_callouts
from command import run

from advisor.answer import advice, column_advice, wording
from advisor.asked import callout, materials
from advisor.asked import shop as shops
from advisor.engine import generated
from advisor.ground.errors import CalloutError, InputError
from advisor.lists import files, pricing

HEADING = "radius,form,location,diameter,quantity,part"
GOOD = "R6 ±0.1,convex,corner,40 mm,12,A-1"
NAMES = ["part", *(key for key in callout.KEYS if key not in ("shop", "lathe")), "note"]


def written(folder, *lines, name="list.csv", encoding="utf-8", end="\n"):
    """A list of these lines in a file."""
    path = folder / name
    path.write_bytes((end.join(lines) + end).encode(encoding))
    return path


def priced(path, *options, status=0, out=None):
    """The rows of a priced list, as dicts, and what was printed."""
    out = out or path.with_name("priced.csv")
    ran = run("batch", path, "-o", out, "--replace", *options)
    assert ran.status == status, ran
    with open(out, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file)), ran


def refused(*lines, folder, options=(), **how):
    ran = run("batch", written(folder, *lines, **how), *options)
    assert ran.status == 2 and not ran.out
    return ran.complaint.strip()


# ---- the answer


def test_a_priced_row_is_what_advise_answers(tmp_path):
    (row,), ran = priced(written(tmp_path, HEADING, GOOD))
    fields = dict(zip(HEADING.split(",")[:5], GOOD.split(",")))
    shop = shops.read_shop("training-shop")
    alone = advice.advise(callout.read_callout(fields, materials=materials.materials()), shop, executor=generated.run)
    assert row["part"] == "A-1" and row["radius"] == "R6 ±0.1" and row["error"] == ""
    assert row["method"] == alone.recommended
    assert float(row["minutes"]) == round(alone.best.minutes["batch"]["mean"], 2)
    assert float(row["p80_minutes"]) == round(alone.best.minutes["batch"]["p80"], 2)
    assert float(row["cost_EUR"]) == round(alone.best.cost, 2)
    assert float(row["in_tolerance"]) == round(alone.best.in_tolerance, 4)
    assert float(row["spindle_rpm"]) == alone.best.setup["spindle_rpm"]
    assert {name: row[name.replace(" ", "_")] for name in alone.methods} == {
        n: m.standing for n, m in alone.methods.items()
    }
    assert "1 of 1 line priced." in ran.out


def test_the_reason_is_told_as_the_single_answer_tells_it(tmp_path):
    lines = some_callouts.rows(300, seed=6)
    path = tmp_path / "list.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, NAMES, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(lines)
    rows, _ = priced(path, status=1)
    shop = shops.read_shop("training-shop")
    rules = {rule.id: rule for rule in column_advice.rules_for(shop).rules}
    seen = set()
    for row, line in zip(rows, lines, strict=True):
        if row["error"]:
            continue
        fields = {key: text for key, text in line.items() if text and key in NAMES}
        one = callout.read_callout(fields, materials=materials.materials(), inch_tolerances=shop.inch_tolerances)
        alone = advice.advise(one, shop, executor=generated.run)
        begins = row["reason"].split(". ")[0].split(";")[0]
        if row["rule"]:
            told = wording.say(rules[row["rule"]].because, alone)
            assert row["reason"].endswith((told, wording.lower(told)))
            name = next(m for m in alone.methods.values() if wording.the(m.name) in row["reason"].lower())
            assert name.rank is None
        else:
            assert row["reason"].startswith("Next best is ") and row["reason"].split(", about")[0] in " ".join(
                wording.why(alone)
            )
        seen.add(begins.split(" ")[0])
    assert {"Next", "No", "Nothing"} <= seen


def test_short_ways_to_write_lengths_are_those_of_the_answer():
    import numpy

    values = [
        0.0,
        6.0,
        6.35,
        12.7,
        25.4,
        0.0004,
        12.34567,
        -3.5,
        -0.0001,
        1e10,
        float("nan"),
        float("inf"),
        3.175,
        40.0,
    ]
    for inch in (False, True):
        texts = pricing._lengths(numpy.array(values), numpy.full(len(values), inch))
        assert texts == [wording.length(value, "inch" if inch else "mm") for value in values]


def test_each_row_may_name_its_shop_and_its_lathe(tmp_path):
    path = written(
        tmp_path,
        HEADING + ",shop,lathe",
        GOOD + ",bench-shop,",
        GOOD + ",,toolroom lathe",
        GOOD + ",nowhere,",
        GOOD + ",,no such lathe",
        GOOD.replace("±0.1", "±0.1 mm") + ",jobbing-shop,",
    )
    rows, ran = priced(path, status=1)
    assert [bool(row["method"]) for row in rows] == [True, True, False, False, True]
    assert rows[2]["error"].startswith("list.csv, line 4, column shop: nowhere is not there.")
    assert rows[3]["error"].startswith("list.csv, line 5, column lathe: no such lathe is no lathe of training-shop.")
    assert rows[1]["pivot_attachment"] == "ruled out"  # it does not fit the toolroom lathe
    assert " EUR and " in ran.out and " USD" in ran.out


def test_options_stand_in_for_what_a_row_leaves_out(tmp_path):
    path = written(tmp_path, "radius,form,diameter,material", "R.250 ±.005,convex,1.5,", "R.250 ±.005,convex,1.5,brass")
    rows, _ = priced(path, "--location", "corner", "--units", "inch", "--material", "tool steel")
    assert float(rows[0]["minutes"]) > float(rows[1]["minutes"])


def test_work_that_no_lathe_swings_is_told_by_row(tmp_path):
    rows, _ = priced(written(tmp_path, HEADING, "R6 ±0.1,convex,corner,600 mm,1,x"), status=1)
    assert "does not swing over the bed" in rows[0]["error"] and "column diameter" in rows[0]["error"]


def test_prices_in_another_shop_line_by_line_and_in_sum(tmp_path):
    heading = HEADING.replace("part", "width")
    wide, groove = "R50 ±0.5,convex,outside diameter,50 mm,5,20", "R10 ±0.1,concave,outside diameter,60 mm,5,18"
    path = written(tmp_path, heading, wide, groove)
    rows, ran = priced(path, "--shop", "training-shop-no-pivot", "--against", "training-shop", status=1)
    only, row = rows
    for saved, here, there in (
        ("saves_minutes", "minutes", "against_minutes"),
        ("saves_cost_EUR", "cost_EUR", "against_cost_EUR"),
    ):
        assert (
            float(row[saved]) == pytest.approx(float(row[here]) - float(row[there]), abs=0.011)
            and float(row[saved]) > 0
        )
    assert not only["method"] and only["against_method"] == "pivot attachment" and not only["saves_minutes"]
    assert "1 line can only be made in training-shop." in ran.out


def test_savings_in_another_currency_are_not_made_up(tmp_path):
    rows, _ = priced(written(tmp_path, HEADING, GOOD), "--against", "jobbing-shop")
    assert rows[0]["saves_minutes"] and not rows[0]["saves_cost_EUR"]


def test_the_summary_tells_methods_tightest_lines_and_what_failed(tmp_path):
    path = written(
        tmp_path, HEADING, GOOD, "R6,oval,corner,40,1,x", "R6 ±0.001,convex,corner,40,1,y", "R3,concave,corner,20,5,z"
    )
    rows, ran = priced(path, status=1)
    assert "2 of 4 lines priced." in ran.out and "Tightest lines" in ran.out
    assert "line 3: form: oval is not a word for form." in " ".join(ran.out.split())
    assert "line 4: No method stands." in ran.out and "2 lines without a price" in ran.out
    assert rows[2]["reason"].startswith("No method stands. Nearest is ") and rows[2]["rule"] and not rows[2]["error"]


# ---- columns


def test_own_columns_go_through_in_order_and_untouched(tmp_path):
    path = written(
        tmp_path,
        "  remark ,radius,note,form,location,Diameter",
        ' two  blanks ,R3,"a ""quoted"", one",convex,corner,40',
    )
    rows, _ = priced(path)
    assert list(rows[0])[:6] == ["  remark ", "radius", "note", "form", "location", "Diameter"]
    assert rows[0]["  remark "] == " two  blanks " and rows[0]["note"] == 'a "quoted", one'


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "\t=1", "＝1"])
def test_what_a_spreadsheet_would_run_leaves_as_text(tmp_path, text):
    rows, _ = priced(written(tmp_path, HEADING, GOOD.replace("A-1", text)))
    assert rows[0]["part"] == f"'{text}"


@pytest.mark.parametrize("text", ["-3.5", "+4", "-1,5e3", "R-5", "a=b", "", "'=1"])
def test_numbers_and_plain_text_stay_as_they_are(tmp_path, text):
    rows, _ = priced(written(tmp_path, HEADING, GOOD.replace("A-1", f'"{text}"')))
    assert rows[0]["part"] == text


def test_a_list_that_was_priced_can_be_priced_again(tmp_path):
    first, _ = priced(written(tmp_path, HEADING, GOOD))
    again, _ = priced(tmp_path / "priced.csv", out=tmp_path / "again.csv")
    assert again == first


def test_an_own_column_that_looks_like_a_name_written_wrong_is_told(tmp_path):
    _, ran = priced(written(tmp_path, HEADING.replace("quantity", "quantitty"), GOOD))
    assert 'The column "quantitty" is carried through unread. Did you mean "quantity"?' in " ".join(ran.out.split())


# ---- wrong lists


def test_a_bad_row_is_told_and_does_not_stop_the_rest(tmp_path):
    lines = [
        HEADING,
        GOOD,
        "R6 ±0.1,convex,corner,40 kg,12,x",
        "R6,convex",
        "R6,convex,corner,40,1,p,q",
        "",
        ",,,,,",
        GOOD,
    ]
    rows, ran = priced(written(tmp_path, *lines), status=1)
    assert len(rows) == 6  # a line without anything is no row
    assert [bool(row["method"]) for row in rows] == [True, False, False, False, False, True]
    assert (
        rows[1]["error"]
        == "list.csv, line 3, column diameter: 40 kg is a mass, not a length. Give a length such as 40 mm or 1-1/2 in."
    )
    assert rows[2]["error"] == "list.csv, line 4: has 2 fields where the heading has 6"
    assert rows[3]["error"] == "list.csv, line 5: has 7 fields where the heading has 6"
    assert rows[4]["error"] == ""
    assert "2 of 5 lines priced, 1 empty." in ran.out and "3 lines without a price" in ran.out


def test_lines_are_counted_as_an_editor_counts_them(tmp_path):
    rows, _ = priced(
        written(tmp_path, HEADING, 'R6 ±0.1,convex,corner,40 mm,12,"two\nlines"', "R6,oval,corner,40,1,x"), status=1
    )
    assert rows[0]["part"] == "two\nlines" and rows[1]["error"].startswith("list.csv, line 4,")


def test_an_inch_mark_in_a_bare_field_is_text(tmp_path):
    rows, _ = priced(
        written(tmp_path, "part,radius,form,location,diameter", 'bar 3/8" round,"R3/16"" ±.01",convex,corner,1 in')
    )
    assert rows[0]["part"] == 'bar 3/8" round' and rows[0]["radius"] == 'R3/16" ±.01' and rows[0]["method"]


def test_semicolons_with_decimal_commas(tmp_path):
    lines = (HEADING.replace(",", ";"), "R6,5 ±0,1;convex;corner;40,5;12;x;y".replace(";x;y", ";x"))
    path = written(tmp_path, *lines, end="\r\n")
    assert run("batch", path, "-o", tmp_path / "out.csv").status == 0
    data = (tmp_path / "out.csv").read_bytes()
    (row,) = csv.DictReader(io.StringIO(data.decode("utf-8"), newline=""), delimiter=";")
    assert "," in row["minutes"] and "." not in row["minutes"] and data.count(b"\r\n") == data.count(b"\n") == 2


def test_tabs_and_a_byte_order_mark(tmp_path):
    path = written(tmp_path, HEADING.replace(",", "\t"), GOOD.replace(",", "\t"), encoding="utf-8-sig")
    assert run("batch", path, "-o", tmp_path / "out.csv").status == 0
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").startswith("radius\tform")


def test_the_ending_of_the_priced_list_says_what_divides_its_fields(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "QUICK_FROM", 1)
    assert run("batch", written(tmp_path, HEADING, GOOD), "-o", tmp_path / "out.tsv").status == 0
    heading, line = (tmp_path / "out.tsv").read_text(encoding="utf-8").splitlines()
    assert (
        heading.startswith("radius\tform\t")
        and line.startswith("R6 ±0.1\tconvex\t")
        and line.count("\t") == heading.count("\t")
    )


@pytest.mark.parametrize(
    ("lines", "complaint"),
    [
        (["", ""], "list.csv: is empty. Give a list whose first line names its columns."),
        (
            ["radius,form,location"],
            'list.csv, heading: "diameter" is a column that the list lacks. Give the diameter of the work',
        ),
        (["radius,form,location,diamter"], 'is a column that the list lacks. Did you mean "diamter"?'),
        (["radius,form,location,diameter,form"], 'list.csv, heading: "form" stands twice. Rename or remove'),
        (["radius,form,location,diameter,x,x"], 'list.csv, heading: "x" stands twice.'),
        (
            ["radius,form,location,diameter,from_end,From-End"],
            'list.csv, heading: "From-End" means the same as "from_end".',
        ),
    ],
)
def test_a_list_that_cannot_be_priced_at_all(tmp_path, lines, complaint):
    assert complaint in refused(*lines, folder=tmp_path)


def test_text_that_is_not_utf_8_is_told_with_its_line(tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(f"{HEADING}\nR6,convex,corner,40,1,x\n".encode() * 400_000 + GOOD.encode("latin-1"))
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    assert ran.status == 2 and "has a character that is not UTF-8" in ran.complaint and "line 800001" in ran.complaint


@pytest.mark.parametrize(
    ("encoding", "name"), [("cp1252", "Windows-1252"), ("utf-16", "UTF-16"), ("utf-16-be", "UTF-16")]
)
def test_a_list_as_spreadsheet_programs_save_it_elsewhere(tmp_path, encoding, name, monkeypatch):
    monkeypatch.setattr(files, "BLOCK_BYTES", 64)
    text = "\r\n".join([HEADING, *[GOOD.replace("A-1", f"Stück {n}") for n in range(50)]]) + "\r\n"
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    (tmp_path / "list.csv").write_bytes(mark + text.encode(encoding))
    rows, ran = priced(tmp_path / "list.csv")
    assert f"The list is in {name}." in ran.out
    assert [row["part"] for row in rows] == [f"Stück {n}" for n in range(50)] and all(row["method"] for row in rows)


@pytest.mark.parametrize("data", [b"radius\x81\x8d\n", b"\xff\xfer\x00a", b"\xff\xfe\x00\xd8\n\x00\n\x00"])
def test_text_in_no_encoding_is_told(tmp_path, data):
    (tmp_path / "list.csv").write_bytes(data)
    ran = run("batch", tmp_path / "list.csv", "-o", tmp_path / "out.csv")
    assert ran.status == 2 and "Traceback" not in ran.complaint


def test_a_quote_that_is_never_closed(tmp_path, monkeypatch):
    monkeypatch.setattr(files, "LONGEST_ROW", 1 << 16)
    monkeypatch.setattr(files, "BLOCK_BYTES", 1 << 14)
    lines = HEADING, GOOD.replace("A-1", '"A-1'), *[GOOD] * 4000
    ran = run("batch", written(tmp_path, *lines), "-o", tmp_path / "out.csv")
    complaint = ran.complaint.strip()
    assert (
        ran.status == 2
        and complaint == "list.csv, line 2: opens a quote that is never closed. Close it, or take it out."
    )


@pytest.mark.parametrize(
    ("source", "target", "complaint"),
    [
        ("nothing.csv", "out.csv", "is not there"),
        (".", "out.csv", "has an ending that is no kind of list"),
        ("list.csv", "out.doc", "has an ending that is no kind of list"),
        ("list.csv", "list.csv", "is the list itself. Give what is written a name of its own."),
        ("list.csv", "no/folder/out.csv", "lies in a folder that is not there"),
    ],
)
def test_files_that_cannot_be_used(tmp_path, source, target, complaint):
    written(tmp_path, HEADING, GOOD)
    ran = run("batch", tmp_path / source, "-o", tmp_path / target)
    assert ran.status == 2 and complaint in ran.complaint


def test_a_shop_that_cannot_be_read_is_told_before_anything_is_written(tmp_path):
    path = written(tmp_path, HEADING, GOOD)
    for option in ("--shop", "--against"):
        assert run("batch", path, "-o", tmp_path / "out.csv", option, "nowhere").status == 2
    assert not (tmp_path / "out.csv").exists() and list(tmp_path.iterdir()) == [path]


# ---- kinds of file


ROWS = [
    ["R6 ±0.1", "convex", "corner", 40, 12, "=x", datetime.date(2024, 5, 31)],
    ["R3", "concave", "corner", 20.5, 5.0, None, None],
    ["R6", "oval", "corner", 40, None, "-7", None],
]
OWN = ["radius", "form", "location", "diameter", "quantity", "part", "due"]


def workbook(path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in [OWN, *ROWS]:
        book.active.append(row)
    for cell in book.active["F"]:
        cell.data_type = "s" if isinstance(cell.value, str) else cell.data_type
    book.save(path)


def parquet(path):
    pyarrow = pytest.importorskip("pyarrow")
    from pyarrow import parquet as files

    columns = [list(column) for column in zip(*ROWS)]
    columns[3] = [float(value) for value in columns[3]]
    files.write_table(pyarrow.table(dict(zip(OWN, columns))), path)


def results_of(shop):
    """The headings of the results, those of money with the currency of a shop."""
    currency = shops.read_shop(shop).currency
    return [f"{name}_{currency}" if name in pricing.MONEY else name for name in pricing.result_columns(against=False)]


MAKERS = {"list.xlsx": workbook, "list.parquet": parquet}


def rows_of(path):
    """Heading and rows of any kind of list."""
    if path.suffix == ".csv":
        with path.open(encoding="utf-8", newline="") as file:
            found = list(csv.reader(file))
        return found[0], found[1:]
    if path.suffix == ".xlsx":
        import openpyxl

        found = [list(row) for row in openpyxl.load_workbook(path).active.iter_rows(values_only=True)]
        return found[0], found[1:]
    from pyarrow import parquet as files

    table = files.read_table(path)
    return table.column_names, [list(row) for row in zip(*(column.to_pylist() for column in table.columns))]


@pytest.mark.parametrize("target", ["out.csv", "out.xlsx", "out.parquet"])
@pytest.mark.parametrize("source", MAKERS)
def test_every_kind_of_list_into_every_other(tmp_path, source, target):
    pytest.importorskip("pyarrow"), pytest.importorskip("openpyxl")
    MAKERS[source](tmp_path / source)
    ran = run("batch", tmp_path / source, "-o", tmp_path / target)
    assert ran.status == 1, ran
    heading, rows = rows_of(tmp_path / target)
    assert heading == [*OWN, *results_of("training-shop")]
    first, _, last = (dict(zip(heading, row)) for row in rows)
    assert first["method"] == "form tool" and float(first["minutes"]) > 0 and not first["error"]
    line = {"list.xlsx": 4, "list.parquet": 3}[source]
    assert last["error"].startswith(f"{source}, row {line}, column form: oval is not a word for form.")
    if target == "out.csv":
        assert (first["part"], last["part"], first["due"][:10]) == ("'=x", "-7", "2024-05-31")
    else:
        assert (first["part"], last["part"]) == ("=x", "-7")
    if source.split(".")[1] == target.split(".")[1]:
        due = first["due"]
        assert (due.date() if isinstance(due, datetime.datetime) else due) == datetime.date(2024, 5, 31)
        assert first["diameter"] == 40 and rows[1][3] == 20.5


def test_a_formula_leaves_an_xlsx_as_text(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    path = written(tmp_path, HEADING, GOOD.replace("A-1", "=1+1"))
    assert run("batch", path, "-o", tmp_path / "out.xlsx").status == 0
    cell = openpyxl.load_workbook(tmp_path / "out.xlsx").active["F2"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


@pytest.mark.parametrize("name", ["list.xlsx", "list.parquet"])
def test_a_file_that_is_not_what_its_name_says(tmp_path, name):
    pytest.importorskip("pyarrow"), pytest.importorskip("openpyxl")
    ran = run("batch", written(tmp_path, HEADING, GOOD, name=name), "-o", tmp_path / "out.csv")
    assert ran.status == 2 and f"{name}: is not" in ran.complaint and "Traceback" not in ran.complaint


@pytest.mark.parametrize(("name", "library"), [("list.xlsx", "xlsxwriter"), ("list.parquet", "pyarrow")])
def test_a_library_that_is_missing_is_told(tmp_path, monkeypatch, name, library):
    monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.setitem(sys.modules, {"xlsxwriter": "python_calamine"}.get(library, library), None)
    path = written(tmp_path, HEADING, GOOD)
    read = library if library == "pyarrow" else "python_calamine"
    for missing, ran in (
        (library, run("batch", path, "-o", tmp_path / name)),
        (read, run("batch", written(tmp_path, "x", name=name))),
    ):
        assert ran.status == 2
        assert f"needs the library {missing}, which is not installed. Install it with: pip install" in ran.complaint


@pytest.mark.parametrize("name", ["list.xlsx", "list.parquet"])
def test_lists_without_rows(tmp_path, name):
    source = written(tmp_path, HEADING)
    pytest.importorskip({"list.xlsx": "openpyxl", "list.parquet": "pyarrow"}[name])
    assert run("batch", source, "-o", tmp_path / name).status == 0
    assert rows_of(tmp_path / name) == ([*HEADING.split(","), *results_of("training-shop")], [])
    assert run("batch", tmp_path / name, "-o", tmp_path / "again.csv").status == 0


# ---- long lists


def long_list(path, count, *, seed=1):
    lines = some_callouts.rows(400, seed=seed, bad=0.1)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, NAMES, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        for number in range(count):
            writer.writerow(lines[number % len(lines)] | {"part": number, "note": 'a "note"' if number % 3 else ""})
    return path


def price_file(path, out, **how):
    source = files.open_source(str(path))
    order = pricing.order_for(source, shop="training-shop")
    with files.open_target(str(out), order, replace=True) as target:
        return pricing.price_list(source, target, order, **how)


def test_blocks_processes_and_the_quick_way_change_nothing(tmp_path, monkeypatch):
    """One block after another by the plain way, against small blocks in two processes by the quick way."""
    pytest.importorskip("pyarrow")
    path = long_list(tmp_path / "list.csv", 3000)
    monkeypatch.setattr(files, "QUICK_FROM", 1)
    quick = price_file(path, tmp_path / "quick.csv", workers=1)
    monkeypatch.setattr(files, "BLOCK_BYTES", 20_000)
    blocks = price_file(path, tmp_path / "blocks.csv", workers=1)
    both = price_file(path, tmp_path / "both.csv", workers=2)
    monkeypatch.setattr(files, "_quick_rows", lambda block, order: None)
    slow = price_file(path, tmp_path / "slow.csv", workers=1)
    data = (tmp_path / "quick.csv").read_bytes()
    assert all((tmp_path / f"{name}.csv").read_bytes() == data for name in ("blocks", "both", "slow"))
    for tally in (blocks, both, slow):
        assert (tally.lines, tally.priced, tally.unread, tally.unmade, tally.tightest) == (
            quick.lines, quick.priced, quick.unread, quick.unmade, quick.tightest
        )  # fmt: skip
        assert tally.by_method.keys() == quick.by_method.keys()
    rows, _ = rows_of(tmp_path / "quick.csv")[1], None
    assert [row[0] for row in rows] == [str(number) for number in range(3000)]


def test_each_distinct_text_is_read_once(tmp_path, monkeypatch):
    read = []
    whole = callout.read_radius

    def counted(text, **how):
        read.append(text)
        return whole(text, **how)

    monkeypatch.setattr("advisor.lists.listing.read_radius", counted)
    monkeypatch.setattr("advisor.lists.listing._short_radius", lambda text, inch: None)
    lines = [f"R{size} ±0.2,convex,corner,40 mm,1,x" for size in (4, 5, 6)] * 200
    price_file(written(tmp_path, HEADING, *lines), tmp_path / "out.csv", workers=1)
    assert sorted(read) == ["R4 ±0.2", "R5 ±0.2", "R6 ±0.2"]


@pytest.mark.parametrize(
    ("text", "whole"),
    [("a,b\nc,d\n", 8), ('a,"b\n', 0), ('x,y\na,"b\nc', 4), ('a,"b\nc",d\n', 10), ('a,3/8"\nb,c\n', 11), ('a,"b""\n', 0), ('3/8",x,"y\n', 0)],
)  # fmt: skip
def test_a_block_ends_with_a_whole_row(text, whole):
    assert files._whole_rows(text, ",") == whole


PROGRAM = """
import sys
from advisor import cli
from advisor.lists import files, pricing
files.BLOCK_BYTES = 4000
pricing.SERIAL_UP_TO = 10**9
whole = files.CsvTarget.write
def slowly(self, lines):
    import time
    whole(self, lines)
    self.stream.flush()
    print("written", flush=True)
    time.sleep(0.2)
files.CsvTarget.write = slowly
sys.exit(cli.main(sys.argv[1:]))
"""


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_a_kill_leaves_the_old_file(tmp_path, how):
    path, out = long_list(tmp_path / "list.csv", 2000), tmp_path / "out.csv"
    out.write_text("the old one")
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    arguments = [sys.executable, "-c", PROGRAM, "batch", str(path), "-o", str(out), "--replace"]
    process = subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=environment)
    assert "written\n" in iter(process.stdout.readline, "")
    time.sleep(0.1)
    process.send_signal(how)
    process.wait(timeout=30)
    assert out.read_text() == "the old one"
    if how == signal.SIGINT:
        assert process.returncode == 130 and sorted(p.name for p in tmp_path.iterdir()) == ["list.csv", "out.csv"]


def test_what_fails_half_way_leaves_the_old_file(tmp_path, monkeypatch):
    path, out = long_list(tmp_path / "list.csv", 500), tmp_path / "out.csv"
    out.write_text("the old one")
    monkeypatch.setattr(files, "BLOCK_BYTES", 4000)
    calls = []

    def fails(self, lines):
        calls.append(lines)
        if len(calls) == 3:
            raise CalloutError("disk", "", "is full", "Make room.")

    monkeypatch.setattr(files.CsvTarget, "write", fails)
    with pytest.raises(InputError, match="is full"):
        price_file(path, out, workers=1)
    assert out.read_text() == "the old one" and sorted(p.name for p in tmp_path.iterdir()) == ["list.csv", "out.csv"]


# ---- pipes


def test_from_standard_input_to_standard_output():
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path), "PYTHONIOENCODING": "utf-8"}
    arguments = [sys.executable, "-m", "advisor.cli", "batch", "-"]
    ran = subprocess.run(arguments, input=f"{HEADING}\n{GOOD}\n".encode(), capture_output=True, env=environment)
    lines = ran.stdout.decode("utf-8").splitlines()
    assert ran.returncode == 0 and len(lines) == 2 and lines[1].startswith(GOOD)
    told = ran.stderr.decode("utf-8")
    assert "1 of 1 line priced." in told and "Pricing" not in told and "\x1b" not in told


def test_a_bar_on_a_terminal_and_nothing_in_a_pipe():
    from rich.console import Console

    from advisor.show.batch import progress

    for terminal in (True, False):
        out = io.StringIO()
        with progress(Console(file=out, force_terminal=terminal, width=80), 10) as tell:
            tell(5)
        assert ("Pricing" in out.getvalue()) == terminal
