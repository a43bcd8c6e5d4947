"""A customer's list as it comes: headings by meaning, notes and totals, several quantities, what is told of it, and workbooks
made to do harm.
"""

import csv
import datetime
import io
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from command import run

from advisor.asked import trade_words
from advisor.ground.errors import CalloutError
from advisor.lists import customer, files, headings, pricing, quote
from advisor.show import batch as page

LISTS = Path(__file__).parent.parent / "lists"


def lines(*rows, folder, name="list.csv"):
    path = folder / name
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def rows_of(path):
    text = path.read_text(encoding="utf-8")
    mark = ";" if text.partition("\n")[0].count(";") > 3 else ","
    return list(csv.DictReader(io.StringIO(text), delimiter=mark))


# ---- a whole enquiry


def test_an_enquiry_is_priced_as_it_comes(tmp_path):
    ran = run("batch", LISTS / "enquiry.xlsx", "-o", tmp_path / "priced.csv")
    told = " ".join(ran.out.split())
    assert 'Heading in row 5 of sheet "Parts list"; 3 lines above it left out' in told
    assert (
        "Pos = item, Feature = shape, Rad. = radius, Tol. = tolerance, Ø = diameter" in told
        and "Qty = quantity" in told
    )
    assert "Not read Drg. No. (the line has a number already), Remarks" in told
    assert "1 empty, 4 with text alone" in told
    rows = [row for row in rows_of(tmp_path / "priced.csv") if row["Pos"].isdigit()]
    by_item = {}
    for row in rows:
        by_item.setdefault(row["Pos"], []).append(row)
    assert len(by_item) == 30
    # the same lines before headings had a meaning: none, for the list had no column "radius"
    assert [row["pieces"] for row in by_item["10"]] == ["1000"] and [row["pieces"] for row in by_item["20"]] == ["5"]
    assert [row["pieces"] for row in by_item["30"]] == ["10", "20", "50"] and by_item["30"][0]["line"] == "8"
    assert (
        by_item["20"][0]["tolerance_mm"] == "0.1" and by_item["70"][0]["tolerance_mm"] == "0.5"
    )  # ISO 2768-m, 3 to 6 mm
    assert by_item["90"][0]["tolerance_mm"] == "0.127"  # .005 in
    assert by_item["100"][0]["tolerance_mm"] == "0.1"  # ISO 2768-m, as the rows above the heading say
    assert "general tolerance ISO 2768-m (by the rows above the heading)" in told
    assert "low-carbon steel" in by_item["70"][0]["assumed"]
    unread = {item for item, found in by_item.items() if found[0]["error"]}
    assert unread == {"150", "230", "240", "260", "290"}
    for item, column in (("230", "Ø"), ("240", "Feature"), ("260", "Mat'l"), ("290", "Rad.")):
        assert f"(item {item}), column {column}: " in by_item[item][0]["error"]
        assert f"(item {item}): {column}: " in told
    assert all(found[0]["method"] for item, found in by_item.items() if item not in unread | {"60", "220"})


def test_the_parts_of_a_price_add_up_as_they_stand(tmp_path):
    run("batch", LISTS / "enquiry.xlsx", "-o", tmp_path / "priced.csv")
    for row in rows_of(tmp_path / "priced.csv"):
        if row["method"]:
            parts = sum(
                round(float(row[name]) * 100) for name in ("tooling_minutes", "setup_minutes", "pieces_minutes")
            )
            assert parts == round(float(row["minutes"]) * 100)
            whole, each = Decimal(row["cost_EUR"]), Decimal(row["cost_each_EUR"])
            assert (each * int(row["pieces"])).quantize(Decimal("0.01")) == whole


def test_a_german_list_of_lots(tmp_path):
    ran = run("batch", LISTS / "anfrage.csv", "-o", tmp_path / "priced.csv")
    assert ran.status == 0, ran
    rows = [row for row in rows_of(tmp_path / "priced.csv") if row["method"]]
    assert [row["pieces"] for row in rows] == ["10", "50", "100", "1000000", "25", "12"]
    assert "7 of 7" not in ran.out and "6 of 6 lines priced" in ran.out and "," in rows[0]["minutes"]


def test_a_dry_run_shows_how_each_line_is_read_and_writes_nothing(tmp_path):
    ran = run("batch", LISTS / "enquiry.xlsx", "--dry-run", "-o", tmp_path / "priced.csv")
    told = " ".join(ran.out.split())
    assert ran.status == 1 and not list(tmp_path.iterdir())
    assert "39.938 to" in told and "Nothing was priced or written." in told
    assert "row 31 (item 230): column Ø: 40 kg is a mass" in told and "low-carbon steel" in told
    assert "EUR" not in told and "min " not in told


def test_a_line_that_fails_is_told_once_whatever_its_quantities(tmp_path):
    head = "radius,feature,dia,material,qty"
    path = lines(head, "R6,fillet,40,unobtainium,10/20/50", "R6,fillet,40,brass,10/20", folder=tmp_path)
    ran = run("batch", path, "--dry-run")
    told = " ".join(ran.out.split())
    assert told.count("unobtainium is not") == 1 and "1 line cannot be read" in told
    assert "1 of 2 lines can be read" in told
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    told = " ".join(ran.out.split())
    assert told.count("unobtainium is not") == 1 and "1 line without a price" in told and "2 of 3 lines priced" in told


@pytest.mark.parametrize(
    ("description", "ball"),
    [
        ("Kugel", True), ("Kugel Ø40 für Hebel", True), ("ball", True), ("Lever ball, brass", True), ("Ball 40 mm dia", True), ("Boule de manoeuvre", True),
        ("Bola de palanca Ø 40", True), ("Ball screw", False), ("Kugellager", False), ("Válvula de bola", False), ("Steel ball bearing", False),
    ],
)  # fmt: skip
def test_a_ball_in_a_description_is_a_shape_and_told_to_be_half(tmp_path, description, ball):
    head, row = "Description,Radius,Dia,Qty", f'"{description}",R20 ±0.2 mm,40 mm,1'
    path = lines(head, row, '"Dome",R20 ±0.2 mm,40 mm,1', folder=tmp_path)
    run("batch", path, "-o", tmp_path / "out.csv")
    found = rows_of(tmp_path / "out.csv")
    assert bool(found[0]["method"]) == ball and ("half the ball only" in found[0]["assumed"]) == ball
    assert found[1]["method"] and "half the ball only" not in found[1]["assumed"]


def test_pieces_that_are_not_meant_exactly_are_told(tmp_path):
    head = "radius,feature,dia,material,qty"
    path = lines(
        head, "R6 ±0.1 mm,fillet,40 mm,brass,ca. 20", "R6 ±0.1 mm,fillet,40 mm,brass,min. 10/20", folder=tmp_path
    )
    run("batch", path, "-o", tmp_path / "out.csv")
    rows = rows_of(tmp_path / "out.csv")
    assert [row["pieces"] for row in rows] == ["20", "10", "20"]
    assert all("just the quantity that is named" in row["assumed"] for row in rows)
    path = lines(head, "R6 ±0.1 mm,fillet,40 mm,brass,20 Stk", folder=tmp_path)
    run("batch", path, "-o", tmp_path / "out.csv", "--replace")
    assert "quantity" not in rows_of(tmp_path / "out.csv")[0]["assumed"]


def test_a_point_parts_thousands_where_commas_mark_decimals(tmp_path):
    head = "Radius;Merkmal;Durchmesser;Werkstoff;Menge"
    rows = (
        "R2,5;Hohlkehle;40;brass;1.000",
        "R2,5;Hohlkehle;40;brass;1.000/2.500 Stk",
        "R2,5;Hohlkehle;40;brass;12,000",
    )
    run("batch", lines(head, *rows, folder=tmp_path), "-o", tmp_path / "out.csv")
    with open(tmp_path / "out.csv", encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file, delimiter=";"))
    assert [row["pieces"] for row in found] == ["1000", "1000", "2500", ""]
    assert (
        "12,000 is 12 where a comma marks decimals, as in this list's sizes, and 12000 elsewhere" in found[3]["error"]
    )
    path = lines(head, "R3;Hohlkehle;40;brass;1.000", folder=tmp_path)
    ran = run("batch", path, "-o", tmp_path / "out.csv", "--replace")
    assert "1.000 is 1000 where a point parts thousands" in " ".join(ran.out.split())


# ---- headings


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_every_word_of_a_language_means_what_it_is_listed_for(language):
    for name, words in trade_words.tables()["names"].items():
        for word in words.get(language, ()):
            assert name in trade_words.meaning(word)[0], (name, word)


@pytest.mark.parametrize(
    ("heading", "means"),
    [
        ("Radius,Dia,Qty,Feature,Mat'l", ["radius", "diameter", "quantity", "shape", "material"]),
        ("Rayon;Ø ext.;Qté;Élément;Matière", ["radius", "diameter", "quantity", "shape", "material"]),
        ("Radio;Diámetro;Cantidad;Elemento;Material", ["radius", "diameter", "quantity", "shape", "material"]),
        ("Radius [mm];Außen-Ø;Stückzahl;Merkmal;Werkstoff", ["radius", "diameter", "quantity", "shape", "material"]),
        (
            "R min,R max,Finished Dia. (mm),No. off,Shape",
            ["radius_least", "radius_largest", "diameter", "quantity", "shape"],
        ),
        ("Rad.,Tol +,Tol -,OD,Type", ["radius", "upper_deviation", "lower_deviation", "diameter", "shape"]),
        ("Part No.,Radius,Remarks,Cost,Diameter", ["item", "radius", None, None, "diameter"]),
    ],
)
def test_headings_by_meaning(heading, means):
    header = heading.split(";" if ";" in heading else ",")
    assert [column.name for column in headings.columns_of(header, label="x")] == means


def test_a_heading_that_may_mean_two_things_is_told_by_its_cells():
    header = ["Position", "Radius"]
    for cells, name in ((["corner", "end"], "location"), ([10, 20], "item"), ([], "item")):
        found = headings.columns_of(header, label="x", sample=[[cell, "R6"] for cell in cells])
        assert found[0].name == name


def test_the_tolerance_beside_the_radius_is_the_radius_s():
    found = headings.columns_of(["Dia", "Tol", "Radius", "Tol."], label="x")
    assert [column.name for column in found] == ["diameter", None, "radius", "tolerance"] and "another size" in found[
        1
    ].why


def test_two_columns_that_mean_the_same_are_asked_about(tmp_path):
    path = lines("radius,form,location,Dia,OD", "R6,convex,corner,40,41", folder=tmp_path)
    ran = run("batch", path)
    assert ran.status == 2 and 'say which counts: --columns "Dia=diameter, OD="' in ran.complaint
    assert run("batch", path, "--columns", "OD=diameter,Dia=").status == 0


def test_a_heading_of_two_rows(tmp_path):
    path = lines("Radius,,Diameter,form,location", "min,max,mm,,", "5.9,6.1,40,convex,corner", folder=tmp_path)
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    (row,) = rows_of(tmp_path / "out.csv")
    assert ran.status == 0 and row["tolerance_mm"] == "0.1" and row["Diameter mm"] == "40" and row["line"] == "3"


def test_columns_are_kept_for_a_customer(tmp_path):
    path = lines("Krümmung,Maß,Was,Losgr.", "R6 ±0.1,40,Hohlkehle,12", folder=tmp_path)
    assert run("batch", path).status == 2
    said = "Krümmung=radius, Maß=diameter, Was=shape, Losgr.=quantity"
    first = run(
        "batch",
        path,
        "--columns",
        said,
        "--keep",
        tmp_path / "acme.toml",
        "-o",
        tmp_path / "1.csv",
        "--material",
        "brass",
    )
    assert first.status == 0, first
    second = run("batch", path, "--columns", tmp_path / "acme.toml", "-o", tmp_path / "2.csv")
    assert second.status == 0 and (tmp_path / "1.csv").read_bytes() == (tmp_path / "2.csv").read_bytes()
    assert "brass (as you say)" in " ".join(second.out.split())


@pytest.mark.parametrize(
    ("said", "complaint"),
    [
        ("Dia", "does not say what a column means"), ("Dia=width across", "is no name that a column can have"),
        ("Nowhere=diameter", "has none of the columns that --columns names"), ("nowhere.toml", "is not there"),
    ],
)  # fmt: skip
def test_columns_that_cannot_be_used(tmp_path, said, complaint):
    ran = run("batch", lines("radius,form,location,Dia", "R6,convex,corner,40", folder=tmp_path), "--columns", said)
    assert ran.status == 2 and complaint in ran.complaint


@pytest.mark.parametrize(
    "text", ["x", "[columns]\nDia = 3", "[colums]", "sheet = 3", "[every_line]\nmateriel = 'brass'"]
)
def test_a_kept_file_that_cannot_be_used(tmp_path, text):
    (tmp_path / "acme.toml").write_text(text, encoding="utf-8")
    path = lines("radius,form,location,Dia", "R6,convex,corner,40", folder=tmp_path)
    ran = run("batch", path, "--columns", tmp_path / "acme.toml")
    assert ran.status == 2 and "acme.toml" in ran.complaint and "Traceback" not in ran.complaint


# ---- cells


@pytest.mark.parametrize(
    ("cells", "text"),
    [
        (("R6", None, None, "±0.1", None, None), "R6 ±0.1"), (("R6", None, None, 0.1, None, None), "R6 ±0.1"),
        (("R6", None, None, "+0.2/-0", None, None), "R6 +0.2/-0"), (("R6 ±0.3", None, None, "±0.1", None, None), "R6 ±0.3"),
        ((None, 5.9, 6.1, None, None, None), "R5.9-6.1"), ((None, None, "R6", None, None, None), "R6 MAX"),
        ((6, None, None, None, 0.2, None), "6 +0.2/-0"), (("R6", None, None, None, "+0,1", "-0,3"), "R6 +0,1/-0,3"),
        (("R6", None, None, "as drawing", None, None), "R6"), ((None, None, None, "±0.1", None, None), None),
    ],
)  # fmt: skip
def test_a_radius_in_several_columns(cells, text):
    assert customer.radius_text(*cells, None, "mm") == (text, None)


@pytest.mark.parametrize("word", ["m", "mittel", "ISO 2768-m", "moyenne", "medio"])
def test_a_tolerance_by_its_class(word):
    found = customer.radius_text("R6", None, None, word, None, None, None, "mm")
    assert found == ("R6", "ISO 2768-m")


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ((None, None, "Fillet"), ("concave", "corner")), ((None, None, "Rundung"), ("convex", "corner")),
        (("konvex", "Stirnseite", None), ("convex", "end")), ((None, None, "gorge"), ("concave", "outside diameter")),
        (("groove", None, None), ("concave", "outside diameter")), ((None, None, "Fillet at the shoulder"), ("concave", "corner")),
        (("convex", "corner", "rough"), ("convex", "corner")), (("round", None, "Dome"), ("round", "end")),
    ],
)  # fmt: skip
def test_shapes_in_the_words_of_customers(cells, said):
    assert customer.form_and_location(*cells) == said


@pytest.mark.parametrize("cells", [(None, None, "Chamfer"), ("convex", None, "Fillet"), (None, "end", "groove")])
def test_shapes_that_cannot_be_are_an_error(cells):
    assert isinstance(customer.form_and_location(*cells), CalloutError)


def test_the_unit_of_a_heading_holds_for_its_bare_numbers(tmp_path):
    path = lines(
        "R (in),Dia. (mm),form,location", ".250,40,convex,corner", '.250,"1.5 in",convex,corner', folder=tmp_path
    )
    ran = run("batch", path, "--dry-run")
    told = " ".join(ran.out.split())
    assert "R (in) = radius [inch], Dia. (mm) = diameter [mm]" in told and "sizes in inch, by the headings" in told
    assert "1.5748 in" in told and "1.5000 in" in told


def test_several_columns_of_quantities_are_each_priced(tmp_path):
    path = lines(
        "radius,form,location,dia,Qty,Qty.", "R6,convex,corner,40,5,50", "R6,convex,corner,40,7,", folder=tmp_path
    )
    assert run("batch", path, "-o", tmp_path / "out.csv").status == 0
    assert [(row["line"], row["pieces"]) for row in rows_of(tmp_path / "out.csv")] == [
        ("2", "5"),
        ("2", "50"),
        ("3", "7"),
    ]
    assert run("batch", tmp_path / "out.csv", "-o", tmp_path / "again.csv").status == 0
    assert [row["pieces"] for row in rows_of(tmp_path / "again.csv")] == ["5", "50", "7"]


def test_notes_totals_and_the_heading_once_more_are_no_lines(tmp_path):
    head = "item,radius,form,location,diameter,qty"
    path = lines(
        head,
        "1,R6,convex,corner,40,5",
        "see drawing,,,,,",
        head,
        "2,R6,convex,corner,40,5",
        ",,,,,",
        "Total,,,,,10",
        ",,,,,3",
        folder=tmp_path,
    )
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    rows = rows_of(tmp_path / "out.csv")
    assert "2 of 3 lines priced, 1 empty, 3 with text alone." in " ".join(ran.out.split())
    assert len(rows) == 7 and [bool(row["error"]) for row in rows] == [False] * 6 + [True]


def test_columns_of_the_customer_may_have_the_names_of_results(tmp_path):
    path = lines("radius,form,location,diameter,method,error", "R6,convex,corner,40,mill,none", folder=tmp_path)
    assert run("batch", path, "-o", tmp_path / "out.csv").status == 0
    (row,) = rows_of(tmp_path / "out.csv")
    assert row["method"] == "mill" and row["method (priced)"] == "freehand" and row["error"] == "none"
    assert run("batch", tmp_path / "out.csv", "-o", tmp_path / "again.csv").status == 0
    assert (tmp_path / "again.csv").read_bytes() == (tmp_path / "out.csv").read_bytes()


# ---- workbooks


def test_cells_made_one_hold_for_every_row_that_they_take(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    for row in (["Radius", "Feature", "Dia", "Material"], ["R6", "fillet", 40, "brass"], ["R5", "fillet", 40, None]):
        book.active.append(row)
    book.active.merge_cells("D2:D3")
    book.save(tmp_path / "list.xlsx")
    run("batch", tmp_path / "list.xlsx", "-o", tmp_path / "out.csv")
    assert [row["Material"] for row in rows_of(tmp_path / "out.csv")] == ["brass", "brass"]


def test_a_hidden_sheet_is_left_alone_and_a_named_one_is_taken(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    heads = ["radius", "form", "location", "diameter", "qty", "material"]
    for sheet, rows in ((book.active, heads[:4]), (book.create_sheet("old"), heads)):
        sheet.append(rows)
        sheet.append(["R6", "convex", "corner", 40, 5, "brass"][: len(rows)])
    book["old"].sheet_state = "hidden"
    book.save(tmp_path / "list.xlsx")
    assert 'sheet "Sheet"' in run("batch", tmp_path / "list.xlsx", "--dry-run").out
    (tmp_path / "acme.toml").write_text('sheet = "old"\n', encoding="utf-8")
    assert 'sheet "old"' in run("batch", tmp_path / "list.xlsx", "--dry-run", "--columns", tmp_path / "acme.toml").out


def harmful(path, *, sheet, kind="xlsx"):
    """A workbook whose first sheet holds this."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    book.active.append(["radius"])
    book.save(path.with_suffix(".good"))
    with zipfile.ZipFile(path.with_suffix(".good")) as good, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bad:
        for one in good.infolist():
            bad.writestr(one.filename, sheet if one.filename == "xl/worksheets/sheet1.xml" else good.read(one))
    return path


NS = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
CORNER = f'<worksheet {NS}><sheetData><row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>'


@pytest.mark.parametrize(
    "sheet",
    [
        CORNER,
        CORNER.replace('"', "'"),
        CORNER.replace("XFD1048576", "XF&#68;1048576"),
        f'<!DOCTYPE w [<!ENTITY a "aaaa">]><worksheet {NS}><sheetData><row><c><v>&a;</v></c></row></sheetData></worksheet>',
        f'<worksheet {NS}><sheetData>' + f'<row r="{10**9}"/>' + '<row r="1048576"><c r="ZZ1048576"><v>1</v></c></row></sheetData></worksheet>',
    ],
)  # fmt: skip
def test_a_sheet_that_spans_more_than_any_list_is_refused(tmp_path, sheet):
    ran = run("batch", harmful(tmp_path / "list.xlsx", sheet=sheet), "--dry-run")
    assert ran.status == 2 and "is far larger inside than any list that was written" in ran.complaint


def test_an_open_sheet_with_a_cell_far_down_is_read(tmp_path):
    sheet = (
        CORNER.replace("XFD1048576", "B1048576")
        .replace("<v>1</v>", "<is><t>radius</t></is>")
        .replace("<c ", '<c t="inlineStr" ')
    )
    ran = run("batch", harmful(tmp_path / "list.xlsx", sheet=sheet), "--dry-run")
    assert ran.status == 2 and "is a column that the list lacks" in ran.complaint


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04rubbish", b"\0" * 5000])
@pytest.mark.parametrize("name", ["list.xlsx", "list.ods", "list.xlsm"])
def test_rubbish_in_a_workbook_is_told(tmp_path, content, name):
    (tmp_path / name).write_bytes(content)
    ran = run("batch", tmp_path / name, "--dry-run")
    assert ran.status == 2 and "is not an" in ran.complaint and "Traceback" not in ran.complaint + ran.out


ODS = """<?xml version="1.0" encoding="UTF-8"?><office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
office:version="1.2"><office:body><office:spreadsheet><table:table table:name="Parts">{}</table:table></office:spreadsheet></office:body>
</office:document-content>"""


def ods(path, rows):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("META-INF/manifest.xml", "<manifest/>")
        packed.writestr("content.xml", ODS.format(rows))
    return path


def cell(text, more=""):
    return f'<table:table-cell office:value-type="string" {more}><text:p>{text}</text:p></table:table-cell>'


def test_an_ods_list_is_read(tmp_path):
    heads = "".join(map(cell, ("Radius", "Feature", "Ø", "Qty")))
    line = "".join(map(cell, ("R6 ±0.1", "fillet", "40 h9", "10/20")))
    empty = '<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="1024"/></table:table-row>'
    rows = "".join(f"<table:table-row>{cells}</table:table-row>" for cells in (cell("Enquiry"), heads, line)) + empty
    ran = run("batch", ods(tmp_path / "list.ods", rows), "-o", tmp_path / "out.csv")
    assert ran.status == 0, ran
    assert [row["pieces"] for row in rows_of(tmp_path / "out.csv")] == ["10", "20"]


def test_an_ods_list_of_endless_repeats_is_refused(tmp_path):
    many = cell("R6", 'table:number-columns-repeated="16384"')
    rows = f'<table:table-row table:number-rows-repeated="1048576">{many}</table:table-row>'
    ran = run("batch", ods(tmp_path / "list.ods", rows), "--dry-run")
    assert ran.status == 2 and "is far larger inside" in ran.complaint


def test_the_quick_way_and_the_plain_way_agree_on_a_customer_s_words(tmp_path, monkeypatch):
    pytest.importorskip("pyarrow")
    rows = [
        f"{n},R{3 + n % 5},±0.{1 + n % 3},{20 + n % 9} h9,fillet,{'10/20' if n % 7 == 0 else n % 50 + 1}"
        for n in range(3000)
    ]
    path = lines("Pos,Rad,Tol,Ø,Feature,Qty", *rows, folder=tmp_path)

    def price(out):
        source = files.open_source(str(path))
        order = pricing.order_for(source, shop="training-shop")
        with files.open_target(str(out), order, replace=True) as target:
            pricing.price_list(source, target, order, workers=1)
        return out.read_bytes()

    monkeypatch.setattr(files, "QUICK_FROM", 1)
    quick = price(tmp_path / "quick.csv")
    monkeypatch.setattr(files, "_quick_rows", lambda block, order: None)
    assert price(tmp_path / "slow.csv") == quick and quick.count(b"\n") == 3001 + 429


# ---- money


def money_of(path, out, *options):
    """Hundredths in every column of money of a priced list, and what was printed in one line."""
    ran = run("batch", path, "-o", out, "--replace", *options)
    return [row for row in rows_of(out) if row["method"]], " ".join(ran.out.split())


def test_sums_add_up_to_the_hundredth(tmp_path):
    rows, told = money_of(LISTS / "enquiry.xlsx", tmp_path / "out.csv")
    by_line = {}
    for row in sorted(rows, key=lambda row: int(row["pieces"])):
        by_line.setdefault(row["line"], []).append(round(float(row["cost_EUR"]) * 100))
    smallest, largest = (sum(costs[end] for costs in by_line.values()) / 100 for end in (0, -1))
    assert f"{smallest:,.2f} EUR to {largest:,.2f} EUR" in told.partition("all ")[2].partition("Tightest")[0]


@pytest.mark.parametrize(("shop", "word"), [("training-shop-no-pivot", "takes"), ("training-shop", "saves")])
def test_what_another_shop_saves_has_the_signs_of_minutes_and_of_money(tmp_path, shop, word):
    other = {"training-shop": "training-shop-no-pivot"}.get(shop, "training-shop")
    rows, told = money_of(LISTS / "enquiry.xlsx", tmp_path / "out.csv", "--shop", other, "--against", shop)
    both = [row for row in rows if row["against_method"]]
    saved = sum(round(float(row["saves_cost_EUR"]) * 100) for row in both)
    for row in both:
        here, there, saves = (round(float(row[n]) * 100) for n in ("cost_EUR", "against_cost_EUR", "saves_cost_EUR"))
        assert here - there == saves
    more = "" if saved >= 0 else " more"
    assert f"{shop} {word} " in told
    assert f"{'saves' if saved >= 0 else 'costs'} {abs(saved) / 100:,.2f} EUR{more}" in told


def test_minutes_and_money_may_have_different_signs(tmp_path):
    """A shop that is quicker and has a dearer hour saves minutes and costs money."""
    (tmp_path / "dear.toml").write_text('like = "training-shop"\nhourly_rate = 99.0\n', encoding="utf-8")
    path = lines("radius,form,location,diameter,qty", "R6 ±0.1,concave,corner,40,50", folder=tmp_path)
    _, told = money_of(
        path, tmp_path / "out.csv", "--shop", "training-shop-no-pivot", "--against", tmp_path / "dear.toml"
    )
    assert " saves " in told and " and costs " in told and " EUR more" in told


def test_currencies_are_never_added(tmp_path):
    head, good = "radius,form,location,diameter,shop", "R6 ±0.1 mm,convex,corner,40 mm"
    path = lines(head, f"{good},training-shop", f"{good},jobbing-shop", folder=tmp_path)
    rows, told = money_of(path, tmp_path / "out.csv", "--against", "training-shop")
    eur, usd = (float(row["cost"]) for row in rows)
    assert (
        f"{eur:,.2f} EUR and {usd:,.2f} USD" in told and rows[0]["currency"] == "EUR" and rows[1]["currency"] == "USD"
    )
    assert rows[0]["saves_cost"] == "0" and rows[1]["saves_cost"] == "" and "the currencies differ" in told


def test_chosen_by_cost(tmp_path):
    """R6 on 40 mm, 7 off: the form tool takes fewer minutes, the pivot attachment costs less, for no blank is bought."""
    path = lines("radius,form,location,diameter,qty", "R6 ±0.1,convex,corner,40 mm,7", folder=tmp_path)
    (quick,), _ = money_of(path, tmp_path / "1.csv")
    (cheap,), _ = money_of(path, tmp_path / "2.csv", "--by", "cost")
    assert (quick["method"], cheap["method"]) == ("form tool", "pivot attachment")
    assert float(cheap["cost_EUR"]) < float(quick["cost_EUR"]) and float(cheap["minutes"]) > float(quick["minutes"])
    assert cheap["reason"].startswith("Next best is the form tool, about ") and cheap["reason"].endswith(" EUR dearer.")
    assert run("batch", path, "--by", "weight").status == 2


def test_a_shop_without_a_rate_gives_minutes_alone(tmp_path):
    text = (Path(__file__).parent.parent.parent / "cases/shops/training-shop.toml").read_text(encoding="utf-8")
    (tmp_path / "shed.toml").write_text(
        "".join(line for line in text.splitlines(True) if not line.startswith("hourly_rate"))
    )
    rows, told = money_of(
        LISTS / "enquiry.xlsx", tmp_path / "out.csv", "--shop", tmp_path / "shed.toml", "--by", "cost"
    )
    assert rows[0]["minutes"] and "no hourly rate, so there is no cost" in told and " EUR" not in told
    assert not any(value for row in rows for name, value in row.items() if "cost" in name)


def test_a_list_is_never_written_over_itself(tmp_path):
    path = lines("radius,form,location,diameter", "R6,convex,corner,40", folder=tmp_path)
    before = path.read_bytes()
    ran = run("batch", path, "-o", tmp_path / "." / "list.csv", "--replace")
    assert ran.status == 2 and "is the list itself" in ran.complaint and path.read_bytes() == before


def test_one_unit_of_time_in_a_table():
    assert page._hours(180.0, 12345.0) == "3 h" and page._hours(180.0, 500.0) == "180 min"


def test_what_the_title_rows_say_holds_for_every_line(tmp_path):
    rows = ["Enquiry 12", '"All dimensions in inches, ISO 2768-fH where none are given"', "radius,feature,dia"]
    path = lines(*rows, ".25,fillet,1.5", ".25 ±.002,fillet,38 mm", folder=tmp_path)
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    told = " ".join(ran.out.split())
    assert "general tolerance ISO 2768-f (by the rows above the heading)" in told
    assert "units inch (by the rows above the heading)" in told
    rows = rows_of(tmp_path / "out.csv")
    assert [row["tolerance_mm"] for row in rows] == ["0.1", "0.0508"]  # ISO 2768-f, hollow, over 6 up to 30 mm; .002 in
    assert "as you say" in run("batch", path, "--units", "mm", "-o", tmp_path / "out.csv", "--replace").out


def test_titles_that_say_two_things_say_nothing():
    assert headings.titles(["ISO 2768-m", "or ISO 2768-f, in mm or in inches"]) == {}
    assert headings.titles(["Delivery in May, radius in general", "DIN ISO 2768 - mK"]) == {
        "general_tolerance": "ISO 2768-m"
    }


def test_ditto_is_what_stands_above(tmp_path):
    head = "item,radius,feature,dia,material"
    path = lines(head, "1,R6,fillet,40,brass", "2,R5,ditto,dto.,ditto", "3,R4,〃,30,wie oben", folder=tmp_path)
    told = run("batch", path, "--dry-run").out
    assert "3 of 3 lines can be read" in told and told.count("brass") == 4 - 1 and told.count("fillet") == 3


def test_a_question_mark_is_a_question_and_never_what_stands_above(tmp_path):
    head = "item,radius,feature,dia,material,qty"
    path = lines(
        head, "1,R6,rounded corner,40,brass,50", "2,R6,rounded corner,40,?,TBC", "3,R6,?,40,-,?", folder=tmp_path
    )
    told = run("batch", path, "--dry-run").out
    assert told.count("brass") == 1 and "1 piece; low-carbon steel" in told.replace("\n", " ")
    assert "line 4 (item 3)" in told and "2 of 3 lines can be read" in told  # a shape that is not known is asked for
    source = files.open_source(str(path))
    quoted = quote.quote(source, pricing.order_for(source, shop="training-shop"))
    asked = {question.key: question.lines for question in quoted.questions}
    assert asked["material"] == (3,) and asked["quantity"] == (3,)


def test_two_diameters_with_a_slash_are_never_a_fraction_of_an_inch(tmp_path):
    rows = (
        "R3 ±0.1,fillet,30/42",
        "R3 ±0.1,fillet,Ø42/Ø30",
        "R3 ±0.1,rounded corner,30/42",
        "R3 ±0.1,fillet,39.9/40.0",
    )
    path = lines("radius,feature,dia", *rows, folder=tmp_path)
    run("batch", path, "-o", tmp_path / "out.csv")
    small, turned, refused, limits = rows_of(tmp_path / "out.csv")
    assert small["minutes"] == turned["minutes"] and 0 < float(small["minutes"]) < 60  # was 8,284 minutes in inches
    assert "no fraction of an inch" in refused["error"] and refused["method"] == "" and limits["method"]
    assert customer.fillet_diameters('1/2"', None, "concave", "corner") == ('1/2"', None)
    plain = lines("radius,feature,dia,shoulder height", "R3 ±0.1,fillet,30,6", folder=tmp_path, name="plain.csv")
    run("batch", plain, "-o", tmp_path / "plain_out.csv")
    assert rows_of(tmp_path / "plain_out.csv")[0]["minutes"] == small["minutes"]  # (42 - 30) / 2 = 6


def test_a_fraction_beside_a_large_bare_size_is_asked_about(tmp_path):
    head = "Radius,Shape,Dia,Material,Qty"
    path = lines(head, "R1/4,rounded corner,12,EN8,12", "R1/4,rounded corner,1.5,EN8,12", folder=tmp_path)
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    asked, inches = rows_of(tmp_path / "out.csv")
    assert asked["method"] == "" and "12 would be large in inches" in asked["error"]
    assert inches["method"] and "in a line with 1/4 or .25: inches" in " ".join(ran.out.split())
    run("batch", path, "--units", "inch", "-o", tmp_path / "out.csv", "--replace")
    assert rows_of(tmp_path / "out.csv")[0]["method"]  # who says inches is believed


@pytest.mark.parametrize(
    ("title", "material"),
    [
        ("Material EN8 unless stated", "EN8"),
        ("Allgemeintoleranz ISO 2768-m; Werkstoff: C45 wenn nicht anders angegeben", "C45"),
        ("Matière : C45 sauf indication contraire.", "C45"),
        ("All material Unobtainium 7 unless otherwise stated", "Unobtainium 7"),
        ("Material: brass. Delivery in May", "brass"),
        ("Material certificates with every delivery", None),
        ("Free issue material", None),
    ],
)
def test_a_material_above_the_heading_is_that_of_every_line_that_says_none(tmp_path, title, material):
    assert headings.titles([title]).get("material") == material
    rows = ("1,R6 ±0.1,rounded corner,40,brass,12", "2,R6 ±0.1,rounded corner,40,,12")
    path = lines(f'"{title}"', "item,radius,feature,dia,material,qty", *rows, folder=tmp_path)
    ran = run("batch", path, "-o", tmp_path / "out.csv")
    named, blank = rows_of(tmp_path / "out.csv")
    told = f"material {material} where a line says none (by the rows above the heading)"
    assert (told in " ".join(ran.out.split())) == (material is not None)
    assert "low-carbon" not in named["assumed"] and ("low-carbon" in blank["assumed"]) == (material is None)
    assert ("is not a material" in blank["error"]) == (material == "Unobtainium 7")


def test_a_date_in_a_size_is_called_a_date_and_skipped_rows_are_told(tmp_path):
    xlsxwriter = pytest.importorskip("xlsxwriter")
    book = xlsxwriter.Workbook(tmp_path / "list.xlsx")
    sheet, day = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd"})
    sheet.write_row(0, 0, ["Radius", "Feature", "Dia", "Material", "Qty"])
    sheet.write_row(1, 1, ["fillet", 40, "brass", 12])
    sheet.write_datetime(1, 0, datetime.datetime(2026, 3, 8), day)
    sheet.write_row(2, 0, ["R6", "fillet", 40, "brass"])
    sheet.write_datetime(2, 4, datetime.datetime(2026, 10, 20), day)
    sheet.write_row(3, 0, [None, None, None, "Second batch"])
    sheet.write_row(4, 0, ["R6", "fillet", 40, "brass", 12])
    book.close()
    told = " ".join(run("batch", tmp_path / "list.xlsx", "--dry-run").out.split())
    assert "column Radius: 2026-03-08 is a date" in told and "column Qty: 2026-10-20 is a date" in told
    assert "the heading again: row 4." in told and "1 of 3 lines can be read" in told


@pytest.mark.parametrize(
    ("text", "shape"),
    [
        ("Knob, outside corner radius", "convex corner"), ("dome on end", "convex end"), ("Welle, Hohlkehle", "concave corner"),
        ("Pomo, canto redondeado", "convex corner"), ("Knopf, Eckenradius außen", "convex corner"),
        ("Radio de acuerdo en el escalón", "concave corner"), ("Bouton, arrondi d'angle", "convex corner"),
        ("Congé d'épaulement", "concave corner"), ("Gorge", "concave outside diameter"), ("Rille", "concave outside diameter"),
        ("Hex nut M12", None), ("Crown wheel", None), ("Bracket", None), ("Knob, dome and fillet", None), (None, None),
    ],
)  # fmt: skip
def test_a_description_says_the_shape(text, shape):
    assert customer.described_shape(text) == shape


def test_the_shape_is_read_from_descriptions_where_no_column_says_it(tmp_path):
    head = "Item,Description,Radius,Dia,Material,Qty"
    rows = (
        "1,Knob outside corner radius,R6 ±0.1,40,brass,12",
        '2,"Shaft, fillet",R3 ±0.1,30,brass,12',
        "3,Hex nut,R3,20,brass,5",
        ",Total,,,,29",
    )
    told = " ".join(run("batch", lines(head, *rows, folder=tmp_path), "--dry-run").out.split())
    assert "Description = shape" in told and "2 of 3 lines can be read" in told and "form: is missing" in told
    path = lines(head.replace("Description", "Part"), "1,Bush,R6,40,brass,12", folder=tmp_path, name="other.csv")
    complaint = " ".join(run("batch", path, "--dry-run").complaint.split())
    assert (
        'Where "Part" says it: --columns "Part=shape"' in complaint
        and "Where all lines are alike: --shape" in complaint
    )
    assert 'Read were "Item", "Radius", "Dia", "Material", "Qty"' in complaint


def test_a_column_that_is_said_to_be_the_shape_may_describe_the_part(tmp_path):
    """As a message proposes it where no column is called a shape."""
    rows = ("Benennung,Radius,Ø", '"Welle, Hohlkehle",R4 mm,30 mm', '"Bolzen, Ecke außen gerundet",R2 mm,20 mm')
    path = lines(*rows, "Kuppe,R30 mm,30 mm", "Scheibe,R3 mm,60 mm", folder=tmp_path)
    ran = run("batch", path, "--columns", "Benennung=shape", "-o", tmp_path / "out.csv")
    with open(tmp_path / "out.csv", encoding="utf-8", newline="") as file:
        told = list(csv.DictReader(file))
    assert [bool(row["method"]) for row in told] == [True, True, True, False] and ran.status == 1
    assert "Scheibe is no shape" in told[3]["error"]
