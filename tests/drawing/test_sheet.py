"""The setup sheet: one page, nothing over anything, true to scale, and clear words where it cannot be made.

`TURN_RADIUS_LONG=1 pytest` makes every sheet of every worked case; without it a handful stands for them.
"""

import functools
import io
import math
import os
import re

import pytest
from command import CORNER, run
from test_drawing import CASES, advice_of, overlapping

from advisor.answer import wording
from advisor.answer.advice import advise
from advisor.commands import register
from advisor.commands.on_a_callout import read_job
from advisor.drawing.work import drawing_of_work
from advisor.engine import generated
from advisor.ground import whole_files
from advisor.ground.folders import data_folder
from advisor.show import sheet_content as sheets
from advisor.show import sheet_pages as page
from advisor.show import typeset

pdfminer = pytest.importorskip("pdfminer.high_level")
extract_text = pdfminer.extract_text
LONG = bool(os.environ.get("TURN_RADIUS_LONG"))
WORKED = sorted(path.name for path in data_folder("cases").glob("*.toml"))
FEW = [name for name in ("knob-corner.toml", "mirror-lap.toml", "pump-rod-shoulder.toml") if name in WORKED]
POINTS = 72 / 25.4  # a millimetre on paper


@functools.cache
def advice_of_case(name):
    options = register.read(["advise", "--case", str(data_folder("cases") / name)])
    return advise(*read_job(options), executor=generated.run)


def letters(layout):
    """Every letter of a page with the box of its ink, about."""
    from pdfminer.layout import LTChar, LTContainer

    for item in layout:
        if isinstance(item, LTChar):
            if item.get_text().strip():
                x, y, x2, y2 = item.bbox
                turned = item.matrix[1] != 0
                across, up = (0.25, 0.28) if not turned else (0.28, 0.25)
                # Letters that are set close reach into one another's boxes; their ink does not.
                yield (
                    item.get_text(),
                    (x + across * (x2 - x), y + up * (y2 - y), x2 - across * (x2 - x), y2 - up * (y2 - y)),
                )
        elif isinstance(item, LTContainer):
            yield from letters(item)


def faults(pdf):
    """Letters that leave the page or lie over others, in a PDF."""
    found = []
    for leaf in pdfminer.extract_pages(io.BytesIO(pdf), laparams=None):
        cells = {}
        for letter, box in letters(leaf):
            if box[0] < 12 or box[1] < 12 or box[2] > leaf.width - 12 or box[3] > leaf.height - 12:
                found.append(f"{letter} at {box} leaves the page")
            corners = {(int(x) // 12, int(y) // 12) for x in (box[0], box[2]) for y in (box[1], box[3])}
            for other, place in {entry for corner in corners for entry in cells.get(corner, ())}:
                if place[0] < box[2] and box[0] < place[2] and place[1] < box[3] and box[1] < place[3]:
                    found.append(f"{letter} over {other} at {box}")
            for corner in corners:
                cells.setdefault(corner, []).append((letter, box))
    return found


BROKEN = re.compile(r"\d[ ]?\n(?:mm|in|%|min|rpm|kW|N|lbf)\b(?! \d)")


def plain_spaces(words):
    return " ".join(words.replace("\u00a0", " ").split())


def check_sheet(advice, method, paper):
    made = sheets.sheet(advice, paper=paper, method=method)
    for drawing, width, height in made.figures:
        assert not drawing.crowded and not overlapping(drawing)
        x, y, x2, y2 = drawing.box
        assert x >= -0.01 and y >= -0.01 and x2 <= width + 0.01 and y2 <= height + 0.01
    pdf = page.rendered(made, "pdf")[0]
    pages = [extract_text(io.BytesIO(pdf), page_numbers=[n]) for n in range(3)]
    assert not pages[2].strip(), "two pages at most, and the second is only to be filled in"
    assert "STEPS" in pages[0] and "CAUTIONS" in pages[0] and "PROVE IT" in pages[0] + pages[1]
    if pages[1].strip():
        assert made.title in pages[1] and made.method in pages[1] and "page 2 of 2" in plain_spaces(pages[1])
        assert "page 1 of 2" in plain_spaces(pages[0]) and "MINUTES" in pages[1]
    assert faults(pdf) == []
    for words in pages:
        assert not BROKEN.search(words), "a figure has parted from its unit"


@pytest.mark.parametrize("name", WORKED if LONG else FEW)
def test_sheets_of_worked_cases(name):
    advice = advice_of_case(name)
    for method in advice.ranked if LONG else advice.ranked[:1]:
        if method.rank:
            for paper in ("a4", "letter") if LONG else ("a4",):
                check_sheet(advice, method.name, paper)


@pytest.mark.parametrize("name", CASES if LONG else ["smallest", "inch groove", "largest"])
def test_sheets_of_every_shape(name):
    advice = advice_of(name)
    for method in advice.ranked if LONG else advice.ranked[:1]:
        if method.rank:
            check_sheet(advice, method.name, "letter" if advice.callout.units == "inch" else "a4")


def test_drawing_at_full_size_is_full_size_in_the_pdf():
    from pdfminer.layout import LTCurve

    advice = advice_of("corner")
    drawing = drawing_of_work(advice, room=(76.0, 86.0))
    assert drawing.scale == 1
    pdf = page.rendered(sheets.sheet(advice), "pdf")[0]
    leaf = next(iter(pdfminer.extract_pages(io.BytesIO(pdf), laparams=None)))
    wide = [
        item for item in leaf if isinstance(item, LTCurve) and item.linewidth == pytest.approx(0.5 * POINTS, abs=0.01)
    ]
    lines = [item for item in wide if len(item.pts) == 2]
    # The diameter: the two longest outlines along the spindle on the left of the page lie 40 mm apart.
    level = [item for item in lines if abs(item.pts[0][1] - item.pts[1][1]) < 0.01 and item.x1 < leaf.width * 0.45]
    heights = sorted(item.pts[0][1] / POINTS for item in level)
    assert heights[-1] - heights[0] == pytest.approx(40.0, abs=0.01)
    # The arc: the curve with most points there is a quarter of R6.
    arc = max((item for item in wide if item.x1 < leaf.width * 0.45), key=lambda item: len(item.pts))
    (x, y), (x2, y2) = arc.pts[0], arc.pts[-1]
    assert abs(x2 - x) / POINTS == pytest.approx(6.0, abs=0.01)
    assert abs(y2 - y) / POINTS == pytest.approx(6.0, abs=0.01)


def test_scale_is_printed():
    made = sheets.sheet(advice_of("corner"))
    words = [label.words for drawing, _, _ in made.figures for label in drawing.labels]
    assert any(re.fullmatch(r"WORK \d+:\d+", text) for text in words)
    assert any(re.fullmatch(r"SETUP FROM ABOVE \d+:\d+", text) for text in words)


def test_fonts_are_embedded_and_letters_are_there():
    pdf = page.rendered(sheets.sheet(advice_of("corner")), "pdf")[0]
    pypdf = pytest.importorskip("pypdf")
    fonts = pypdf.PdfReader(io.BytesIO(pdf)).pages[0]["/Resources"]["/Font"]
    for font in fonts.values():
        descendant = font.get_object()["/DescendantFonts"][0].get_object()
        descriptor = descendant["/FontDescriptor"].get_object()
        assert any(key.startswith("/FontFile") for key in descriptor)
    shown = pdfminer.extract_text(io.BytesIO(pdf))
    for sign in "±°⌀":
        assert sign in shown


def test_dial_reading_and_limits_are_on_the_sheet():
    made = sheets.sheet(advice_of("corner"), method="form tool")
    assert ("R", "5.9 mm to 6.1 mm") in made.asks
    # by hand: 6 mm and 0.5 mm of horn are 6.5 mm, 325 lines of 0.02, of which 200 make a turn
    dial = {row.label: row.dial for row in made.big}
    assert dial["From the touch"] == "cross dial 6.50 mm = 1 turn + 125 divisions" and dial["Feed in"] == ""
    assert [element.option for element in made.minutes if element.option] == ["tooling", "setup", "minutes"]


@pytest.mark.parametrize("ending", page.ENDINGS)
def test_every_ending(tmp_path, ending):
    target = tmp_path / f"sheet.{ending}"
    made = run("sheet", *CORNER, "-o", target, "--why")
    assert made.status == 0, made.complaint
    start = {"pdf": b"%PDF", "png": b"\x89PNG", "svg": b"<svg", "html": b"<!doctype html>"}[ending]
    assert target.read_bytes().startswith(start)
    second = tmp_path / f"sheet-2.{ending}"
    assert second.exists() == (ending in ("png", "svg"))
    assert made.out.splitlines()[0].split() == [
        "Wrote",
        *([f"{target},", str(second)] if second.exists() else [str(target)]),
    ]


def test_html_stands_alone(tmp_path):
    target = tmp_path / "sheet.html"
    run("sheet", *CORNER, "-o", target)
    text = target.read_text(encoding="utf-8")
    made = sheets.sheet(advice_of("corner"))
    assert text.count('type="checkbox"') == len(made.steps)
    # a blank for every part but the sum, for the pieces missed, and for what was measured and moved
    assert text.count('type="text"') == len(made.minutes) - 1 + 1 + sheets.CORRECTIONS * len(made.corrections)
    assert text.count("<script>") == 1 and "localStorage" in text
    assert "<svg" in text and "http" not in re.sub(r'xmlns(:\w+)?="[^"]*"', "", text)


def test_words_cannot_become_markup(tmp_path):
    made = sheets.sheet(advice_of("corner"), case='a"#panic("x").toml')
    assert page.rendered(made, "pdf")[0].startswith(b"%PDF")
    assert "&quot;#panic" in page.page(made)


def test_reasons_have_the_formulas_with_numbers():
    why = sheets.sheet(advice_of("corner"), why=True).why
    assert [reason.heading for reason in why] == [
        "Why",
        "What counted",
        "Why not the others",
        "Where the numbers come from",
    ]
    assert any("6" in line and "=" in line for line in why[-1].lines)


def test_letter_for_inches():
    assert sheets.paper_named(None, inch=True) == "letter"
    made = run("sheet", *CORNER, "--paper", "A5", "-o", "x.pdf")
    assert made.status == 2 and made.complaint.startswith("paper: ")


# ---- what cannot be written


def refused(*words):
    made = run("sheet", *CORNER, *words)
    assert made.status == 2 and made.out == ""
    assert made.complaint.count("\n") == 1 and "Traceback" not in made.complaint
    return made.complaint


def test_bad_outputs(tmp_path):
    assert "is missing" in refused()
    assert "no kind of file" in refused("-o", tmp_path / "sheet.docx")
    assert "has no ending" in refused("-o", tmp_path / "sheet")
    assert "folder that is not there" in refused("-o", tmp_path / "none" / "sheet.pdf")
    (tmp_path / "is.pdf").mkdir()
    assert "is a folder" in refused("-o", tmp_path / "is.pdf")
    assert [path.name for path in tmp_path.iterdir()] == ["is.pdf"]


def test_a_file_that_is_there_stays_unless_it_may_be_replaced(tmp_path):
    target = tmp_path / "sheet.png"
    second = tmp_path / "sheet-2.png"
    second.write_bytes(b"mine")
    assert "is there already" in refused("-o", target, "--why")
    assert not target.exists() and second.read_bytes() == b"mine"
    assert run("sheet", *CORNER, "-o", target, "--why", "--replace").status == 0
    assert second.read_bytes() != b"mine"


def test_a_write_that_fails_leaves_nothing(tmp_path, monkeypatch):
    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(whole_files.os, "fsync", fail)
    assert "No space left" in refused("-o", tmp_path / "sheet.svg")
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_written_to(tmp_path, monkeypatch):
    monkeypatch.setattr(whole_files.os, "access", lambda *_: False)
    assert "cannot be written to" in refused("-o", tmp_path / "sheet.pdf")


def test_a_missing_library_is_one_sentence(tmp_path, monkeypatch):
    typeset._typesetter.cache_clear()
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    assert "typst, which is not installed. Run: pip install typst" in refused("-o", tmp_path / "sheet.pdf")
    typeset._typesetter.cache_clear()
    assert not list(tmp_path.iterdir())


def test_no_method_and_a_method_that_does_not_stand(tmp_path):
    complaint = refused("-o", tmp_path / "a.pdf", "--method", "radius rod")
    assert "radius rod" in complaint and re.search("Methods that stand: .*form tool", complaint)
    assert "Did you mean" in refused("-o", tmp_path / "a.pdf", "--method", "radius-rot")
    made = run(
        "sheet",
        "R500 ±1",
        "--form=convex",
        "--location=end",
        "--diameter=60 mm",
        "--shop=bench-shop",
        "-o",
        tmp_path / "a.pdf",
    )
    # where nothing stands the sheet is that of the method that comes nearest, and says so
    assert made.status == 1 and not made.complaint and [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


def test_a_case_file_first(tmp_path):
    case = data_folder("cases") / WORKED[0]
    target = tmp_path / "sheet.svg"
    assert run("sheet", case, "-o", target).status in (0, 2)


def minutes_of(words):
    return float(words.removesuffix(" min").replace(",", ""))


@pytest.mark.parametrize("name", CASES)
def test_minutes_add_up_to_the_batch(name):
    """Every part has its row: what a reader adds up is the batch, but for the last figures that are rounded away."""
    advice = advice_of(name)
    for method in advice.methods.values():
        if method.rank:
            *parts, whole = sheets.sheet(advice, method=method.name).minutes
            assert whole.name == "Together" and whole.expected == wording.minutes(method.minutes["batch"]["mean"])
            said = sum(minutes_of(part.expected) for part in parts)
            assert said == pytest.approx(minutes_of(whole.expected), abs=0.5 * (len(parts) + 1) + 0.01)
            corrected = any(part.name == "Correcting the first trial" for part in parts)
            assert corrected == (method.minutes["resetting"] >= 0.05)


@pytest.mark.parametrize("name", CASES)
def test_two_numbers_decide_and_stand_first(name):
    advice = advice_of(name)
    for method in advice.methods.values():
        if method.rank:
            made = sheets.sheet(advice, method=method.name)
            assert 1 <= sum(row.deciding for row in made.big) <= 2 and made.big[0].deciding
            assert len({row.label for row in made.big}) == len(made.big)


def test_the_swing_is_the_same_in_the_drawing_and_among_the_numbers():
    """A dome R60 over 50 mm: half of it is asin(25/60) = 24.6 deg, and that is what the tool is swung through."""
    made = sheets.sheet(advice_of("dome"), method="pivot attachment")
    swing = next(row for row in made.big if row.label == "Swing")
    half = math.degrees(math.asin(advice_of("dome").values["half_diameter"] / 60))
    assert swing.number == f"{half:.1f}°"
    assert f"swing {swing.number}" in [label.words for drawing, _, _ in made.figures for label in drawing.labels]


def test_the_same_job_has_the_same_identity_and_another_another():
    one, same, other = (sheets.sheet(advice_of(name)).identity for name in ("corner", "corner", "dome"))
    assert one == same != other and re.fullmatch("[0-9a-f]{16}", one)


def test_no_step_to_tick_is_a_condition():
    """A box is ticked for what was done; what holds only if something happens is a caution or an advice."""
    for name in CASES:
        for method in advice_of(name).methods.values():
            for step in method.steps:
                assert not re.match(r"(If|Where|Should|When|In case)\b", step.text), step.text


def test_a_record_line_takes_the_options_that_there_are():
    made = sheets.sheet(advice_of("dome"), method="pivot attachment")
    assert "--setup __" in made.record and "-- __" not in made.record
