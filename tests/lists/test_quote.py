"""A quote: money that adds up, questions by the money that hangs on them, and files that a spreadsheet program opens."""

import csv
import datetime
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path

import numpy
import pytest
from command import run

from advisor.ground import money
from advisor.ground.errors import CalloutError
from advisor.lists import files, pricing, quote
from advisor.show import quote as page

LISTS = Path(__file__).parent.parent / "lists"
HEAD = "Item,Radius,Feature,Dia,Material,Qty"


def quoted(path, shop="training-shop", **defaults):
    source = files.open_source(str(path))
    return quote.quote(source, pricing.order_for(source, shop=shop, defaults=defaults, by="cost"))


def lines(folder, *rows, head=HEAD):
    path = folder / "list.csv"
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def enquiry():
    return quoted(LISTS / "enquiry.xlsx")


def test_the_price_of_one_times_the_pieces_is_that_of_all(enquiry):
    prices = [price for line in enquiry.lines for price in line.prices]
    assert len(prices) == 26
    for price in prices:
        assert price.total == (price.each * price.pieces).quantize(Decimal("0.01")) and isinstance(price.each, Decimal)
        assert -price.total.as_tuple().exponent == 2 <= -price.each.as_tuple().exponent
    assert enquiry.smallest == sum(line.prices[0].total for line in enquiry.lines if line.prices)
    assert enquiry.largest == sum(line.prices[-1].total for line in enquiry.lines if line.prices)


@pytest.mark.parametrize("pieces", [1, 7, 99, 100, 999, 1000, 5000, 1_000_000])
def test_a_sum_is_rounded_once_and_the_price_of_one_follows_with_few_decimals(pieces):
    costs = (0.005, 1.0, 58.0669, 931.18461, 77777.777)
    found = [quote.price_of(cost, pieces) for cost in costs]
    for cost, (_, each, total) in zip(costs, found, strict=True):
        assert abs(total - Decimal(repr(cost))) <= Decimal("0.005") and total == round(total, 2)
        assert (each * pieces).quantize(Decimal("0.01")) == total
        fewer = round(each, -each.as_tuple().exponent - 1)
        assert each == round(each, 2) or abs(fewer * pieces - total) >= Decimal("0.005")
    totals, many = numpy.array([float(one.total) for one in found]), numpy.full(len(costs), float(pieces))
    assert money.each_of_many(totals, many).tolist() == [float(one.each) for one in found]


def test_quantities_stand_side_by_side(enquiry):
    line = next(line for line in enquiry.lines if line.reading.item == "30")
    assert [price.pieces for price in line.prices] == [10, 20, 50] and line.reading.line == 8
    assert line.prices[0].each > line.prices[1].each > line.prices[2].each


def test_a_price_is_what_the_list_costs(tmp_path):
    path = lines(tmp_path, "1,R6 ±0.1,rounded corner,40 mm,brass,12")
    run("batch", path, "-o", tmp_path / "out.csv")
    with open(tmp_path / "out.csv", encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    (line,) = quoted(path).lines
    assert (line.prices[0].total, line.prices[0].each) == (Decimal(row["cost_EUR"]), Decimal(row["cost_each_EUR"]))


def test_questions_go_by_the_money_that_hangs_on_them(tmp_path):
    path = lines(
        tmp_path,
        "1,R6,rounded corner,40,brass,12", "2,R6,fillet,40,,12", "3,R6 ±0.1,rounded corner,40,tool steel,12", "4,R6 ±0.1,fillet,40,brass,",
    )  # fmt: skip
    found = quoted(path)
    assert [question.hangs for question in found.questions] == sorted(
        (question.hangs for question in found.questions), reverse=True
    )
    by_key = {question.key: question for question in found.questions}
    assert by_key["general_tolerance"].lines == (2, 3) and by_key["material"].lines == (3,)
    assert by_key["hardness"].lines == (4,) and by_key["quantity"].lines == (5,)
    tolerance = by_key["general_tolerance"]
    assert [one.value for one in tolerance.tries] == ["ISO 2768-f", "±0.1 mm", "±0.05 mm"]
    for one in tolerance.tries:  # against a list in which it is written
        other = quoted(path, general_tolerance=one.value)
        priced = [line.prices[0].total for line in other.lines[:2] if line.prices]
        assert one.total == sum(priced) and one.unmade == 2 - len(priced)
    told = page.asked(tolerance, found)
    assert told.startswith("2 lines do not say: ") and f"as ±0.05 mm {tolerance.tries[-1].total:,.2f} EUR" in told


def test_a_line_that_cannot_be_read_is_asked_about_in_words_for_the_customer(tmp_path):
    path = lines(
        tmp_path,
        "1,R6,fillet,40,unobtainium,10/20", "2,R60,rounded corner,40,brass,1", "3,R6,fillet,900,brass,1", "4,,fillet,40,brass,1", "5,R6,blah,40,brass,1",
        "6,R6,fillet,40,brass,1.000",
    )  # fmt: skip
    found = quoted(path)
    asked = [line.asked for line in found.lines]
    assert asked[0] == "Material: unobtainium. Of which material is it, by its standard or a usual name?"
    assert asked[1].startswith("Radius: R60 is more than 20 mm, half the diameter. What is the radius")
    assert asked[2].startswith("We cannot make it") and asked[3].startswith("Radius: is missing. What is the radius")
    assert asked[4].startswith("Feature: blah. Is it a rounded corner, a fillet")
    assert "How many pieces" in asked[5] and "1000" in asked[5]
    for told in asked:
        assert not any(word in told for word in ("table", "known here", "lathe", "shop", "turn-radius"))


def test_what_the_user_says_is_no_question(tmp_path):
    path = lines(tmp_path, "2,R6,fillet,40,,12")
    assert {question.key for question in quoted(path, material="brass", general_tolerance="±0.1").questions} == set()


def test_money_in_several_currencies_is_not_quoted(tmp_path):
    path = lines(
        tmp_path,
        "1,R6 mm,fillet,40 mm,brass,1,training-shop",
        "2,R6 mm,fillet,40 mm,brass,1,jobbing-shop",
        head=HEAD + ",shop",
    )
    with pytest.raises(CalloutError, match="several currencies"):
        quoted(path)


def test_a_shop_without_a_rate_cannot_quote(tmp_path):
    text = (Path(__file__).parent.parent.parent / "cases/shops/training-shop.toml").read_text(encoding="utf-8")
    (tmp_path / "shed.toml").write_text(
        "".join(line for line in text.splitlines(True) if not line.startswith("hourly_rate"))
    )
    with pytest.raises(CalloutError, match="states no hourly rate"):
        quoted(lines(tmp_path, "1,R6,fillet,40,brass,1"), shop=str(tmp_path / "shed.toml"))


def test_the_workbook_holds_numbers_as_numbers(tmp_path, enquiry):
    openpyxl = pytest.importorskip("openpyxl")
    ran = run("quote", LISTS / "enquiry.xlsx", "-o", tmp_path / "quote.xlsx")
    assert ran.status == 1 and "Ask the customer".upper() in ran.out and "23 of 30 rows quoted" in ran.out
    book = openpyxl.load_workbook(tmp_path / "quote.xlsx", data_only=True)
    assert book.sheetnames == ["Quote", "Questions", "Assumed"]
    rows = list(book["Quote"].iter_rows(min_row=9, values_only=True))
    heads, found = rows[0], {row[1]: row for row in rows[1:] if row[1]}
    start = heads.index("Pieces 1")
    assert heads[start : start + 3] == ("Pieces 1", "Each 1 [EUR]", "Total 1 [EUR]")
    for line in enquiry.lines:
        row = found[line.reading.item]
        for place, price in enumerate(line.prices):
            assert row[start + 3 * place : start + 3 + 3 * place] == (
                price.pieces,
                float(price.each),
                float(price.total),
            )
    totals = [row[start + 2] for row in rows if str(row[start - 1]).startswith("Total")]
    assert totals == [float(enquiry.smallest), float(enquiry.largest)]
    asked = list(book["Questions"].iter_rows(min_row=2, values_only=True))
    assert asked[0][0] == enquiry.questions[0].ask and isinstance(asked[0][5], (int, float))
    assert sum(row[0] == "How is this meant?" for row in asked) == 7
    formula = openpyxl.load_workbook(tmp_path / "quote.xlsx")["Quote"]
    formulas = [cell.value for row in formula.iter_rows() for cell in row if cell.data_type == "f"]
    assert len(formulas) == 2  # both sums, and LibreOffice works them out below


def test_the_page_holds_every_line_and_question(tmp_path, enquiry):
    pypdf = pytest.importorskip("pypdf")
    assert run("quote", LISTS / "enquiry.xlsx", "-o", tmp_path / "quote.pdf").status == 1
    text = " ".join(" ".join(one.extract_text() for one in pypdf.PdfReader(tmp_path / "quote.pdf").pages).split())
    for line in enquiry.lines:
        for price in line.prices:
            assert f"{price.total:,.2f}" in text
    for question in enquiry.questions:
        assert question.ask in text
    assert "The material of the parts" in text and "Not quoted" in text


def test_what_is_given_of_the_head_is_filled_in_and_the_rest_stays_blank(tmp_path):
    openpyxl, pypdf = pytest.importorskip("openpyxl"), pytest.importorskip("pypdf")
    path = lines(tmp_path, "1,R6,fillet,40,brass,1")
    last = (datetime.date.today() + datetime.timedelta(30)).isoformat()
    given = ("--for", "=Dock & Sons", "--valid", "30 days")
    assert run("quote", path, "-o", tmp_path / "quote.xlsx", *given).status == 0
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx")["Quote"]
    told = {row[0].value: row[2] for row in sheet.iter_rows(min_row=2, max_row=7)}
    assert (told["To"].value, told["To"].data_type) == ("=Dock & Sons", "s")
    assert told["Valid until"].value == last and not told["Number"].value
    assert run("quote", path, "-o", tmp_path / "quote.pdf", *given, "--number", "Q 17").status == 0
    text = " ".join(pypdf.PdfReader(tmp_path / "quote.pdf").pages[0].extract_text().split())
    assert "=Dock & Sons" in text and last in text and "Q 17" in text


@pytest.mark.parametrize("valid", ["soon", "2020-01-31", "0x1", "", "99999 days"])
def test_a_quote_holds_to_a_day_that_is_yet_to_come(tmp_path, valid):
    ran = run("quote", LISTS / "enquiry.xlsx", "-o", tmp_path / "quote.pdf", f"--valid={valid}")
    assert ran.status == 2 and ran.complaint.startswith("--valid: ") and "30 days" in ran.complaint


def test_text_of_a_customer_is_no_formula(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    path = lines(tmp_path, "=1+1,R6,fillet,40,brass,1")
    assert run("quote", path, "-o", tmp_path / "quote.xlsx").status == 0
    cell = openpyxl.load_workbook(tmp_path / "quote.xlsx")["Quote"]["B10"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


@pytest.mark.skipif(not shutil.which("soffice"), reason="LibreOffice is not there")
def test_a_spreadsheet_program_opens_the_quote_and_the_priced_list(tmp_path, enquiry):
    run("quote", LISTS / "enquiry.xlsx", "-o", tmp_path / "quote.xlsx")
    run("batch", LISTS / "enquiry.xlsx", "-o", tmp_path / "priced.xlsx")
    home = f"-env:UserInstallation=file://{tmp_path}/home"
    names = [tmp_path / "quote.xlsx", tmp_path / "priced.xlsx"]
    command = [
        "soffice",
        home,
        "--headless",
        "--convert-to",
        "csv:Text - txt - csv (StarCalc):44,34,76",
        "--outdir",
        tmp_path / "out",
    ]
    subprocess.run([*command, *names], check=True, capture_output=True, timeout=240)
    with open(tmp_path / "out" / "quote.csv", encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    totals = [next(filter(None, row[8:])) for row in rows if row[0] == "" and any(c.startswith("Total, ") for c in row)]
    assert [Decimal(text.replace(",", "")) for text in totals] == [enquiry.smallest, enquiry.largest]
    with open(tmp_path / "out" / "priced.csv", encoding="utf-8", newline="") as file:
        priced = [row for row in csv.DictReader(file) if row["method"]]
    assert len(priced) == 26 and all(float(row["cost_EUR"]) > 0 for row in priced)


@pytest.mark.parametrize("target", ["quote.doc", "quote", "nowhere/quote.pdf"])
def test_a_quote_that_cannot_be_written_is_told_first(tmp_path, target):
    ran = run("quote", LISTS / "enquiry.xlsx", "-o", tmp_path / target)
    assert ran.status == 2 and not ran.out


def test_what_is_not_read_is_asked_about(tmp_path):
    openpyxl, pypdf = pytest.importorskip("openpyxl"), pytest.importorskip("pypdf")
    path = lines(
        tmp_path,
        "1,Knob,R6 ±0.1,rounded corner,40,brass,12,hardened 58 HRC after", "2,Pin,R6 ±0.1,rounded corner,40,brass,10/20,",
        ",Second batch,,,,,,", ",Total,,,,,,", "Item,Description,Radius,Feature,Dia,Material,Qty,Notes",
        head="Item,Description,Radius,Feature,Dia,Material,Qty,Notes",
    )  # fmt: skip
    found = quoted(path)
    assert found.remarks == [
        quote.Remark(2, "1", "Notes", "hardened 58 HRC after"),
        quote.Remark(4, "", "", "Second batch"),
    ]
    ran = run("quote", path, "-o", tmp_path / "quote.xlsx")
    assert "Line 2 (item 1), Notes: hardened 58 HRC after" in ran.out
    sheet = openpyxl.load_workbook(tmp_path / "quote.xlsx")["Questions"]
    asked = [row[:5] for row in sheet.iter_rows(values_only=True) if row[0] == page.REMARKS]
    assert asked[0][1::3] == ("Line 2 (item 1), Notes", "hardened 58 HRC after") and asked[1][4] == "Second batch"
    run("quote", path, "-o", tmp_path / "quote.pdf")
    text = " ".join(one.extract_text() for one in pypdf.PdfReader(tmp_path / "quote.pdf").pages)
    assert "hardened 58 HRC after" in " ".join(text.split())


def test_a_quote_takes_the_cheapest_method_and_says_so(tmp_path):
    rows = ("1,R6 ±0.1,rounded corner,40 mm,EN8,7", "2,R6 ±0.2,rounded corner,40 mm,brass,8")
    path, sums = lines(tmp_path, *rows), {}
    for name, by in (("usual", []), ("cost", ["--by", "cost"]), ("minutes", ["--by", "minutes"])):
        ran = run("quote", path, "-o", tmp_path / f"{name}.xlsx", *by)
        sums[name] = Decimal(ran.out.partition("quoted: ")[2].split()[0])
        assert ("the cheapest method" in " ".join(ran.out.split())) == (name != "minutes")
    assert sums["usual"] == sums["cost"] < sums["minutes"]


def test_quantities_are_alternatives_and_never_added(tmp_path):
    """A line at 10/20/50 comes to what the lists with 10 and with 50 come to, in a summary, against another shop and in worth."""
    rows = "1,R6 ±0.1,rounded corner,40 mm,EN8,7", "2,R12.5,dome,25 mm,EN8,{}"
    other = ["--shop", "training-shop-no-pivot"]
    told = {}
    for pieces in ("10/20/50", "10", "50"):
        path = lines(tmp_path, *(row.format(pieces) for row in rows))
        ran = run("batch", path, "-o", tmp_path / "out.csv", "--replace", *other, "--against", "training-shop")
        found = [line.split() for line in ran.out.splitlines()]
        whole = next(line for line in found if line[:1] == ["all"])
        there = next(line for line in found if line[:1] == ["training-shop"])
        found = run("worth", path, *other, "--json").data
        told[pieces] = whole, there, found, " ".join(ran.out.split())
    whole, there, found, text = told["10/20/50"]
    assert whole[1] == there[1] == "2" and found["lines"] == found["made"] == 2 and "alternatives and not added" in text
    for end, name in (("10", ""), ("50", "_at_largest")):
        alone = told[end]
        assert alone[0][-2] in whole and alone[1][-2] in there and "alternatives" not in alone[3]
        assert found[f"cost{name}"] == alone[2]["cost"] and found[f"minutes{name}"] == pytest.approx(
            alone[2]["minutes"]
        )
        saved = {one["what"]: one["saves_cost"] for one in alone[2]["worth"]}
        assert all(one[f"saves_cost{name}"] == saved[one["what"]] for one in found["worth"][:1])


def test_a_quote_is_fit_to_be_sent(tmp_path):
    """The customer's own words stand beside ours, blanks are left to be filled in, and nothing is said of the program."""
    openpyxl, pypdf = pytest.importorskip("openpyxl"), pytest.importorskip("pypdf")
    path = lines(
        tmp_path,
        "D-7,Knob,R6 ±0.1,rounded corner,40,Messing,12", "D-8,Pin,R6,rounded corner,40,Quux,10",
        "D-9,Bar,R5 ±.001,rounded corner,40,EN8,10",
        head="Item,Description,Radius,Feature,Dia,Material,Qty",
    )  # fmt: skip
    run("quote", path, "-o", tmp_path / "quote.xlsx")
    run("quote", path, "-o", tmp_path / "quote.pdf")
    book = openpyxl.load_workbook(tmp_path / "quote.xlsx")
    text = " ".join(str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if cell)
    paper = " ".join(one.extract_text() for one in pypdf.PdfReader(tmp_path / "quote.pdf").pages)
    for told in (text, " ".join(paper.split())):
        for word in (
            "Quotation",
            "training-shop",
            "To",
            "Number",
            "Valid until",
            "Knob",
            "Messing (free-cutting",
            "Quux",
        ):
            assert word in told
        for word in ("turn-radius", "journeyman", "this hand", "chuck", "your shop"):
            assert word not in told
    head = next(row for row in book["Quote"].iter_rows(values_only=True) if row[0] == "Line")
    assert head[:4] == ("Line", "Item", "Part", "Radius") and "Width" not in head
    bare = lines(tmp_path, "R6 ±0.1,fillet,40,brass,1", head="Radius,Feature,Dia,Material,Qty")
    run("quote", bare, "-o", tmp_path / "bare.xlsx")
    rows = openpyxl.load_workbook(tmp_path / "bare.xlsx")["Quote"].iter_rows(values_only=True)
    assert next(row for row in rows if row[0] == "Line")[:2] == ("Line", "Radius")
