"""Writes tests/lists/enquiry.xlsx, a customer's enquiry as it comes: invented, thirty lines, awkward on purpose. Run it after a
change: python tests/lists/make_enquiry.py
"""

import datetime
from pathlib import Path

import openpyxl

HEADING = ["Pos", "Drg. No.", "Feature", "Rad.", "Tol.", "Ø", "Groove width", "Mat'l", "Qty", "U/M", "Remarks"]
# fmt: off
LINES = [
    [10, "K-100", "Rounded corner", "R6", "±0.1", "40 h9", None, "Low carbon steel", "1,000", "mm", None],
    [20, "K-101", "Fillet", "R3", "+0.2/-0", "Ø25 k6", None, "Low carbon steel", "5 off", "mm", "shoulder Ø60"],
    [30, "K-102", "Groove", "R 5", 0.1, "50 mm", 8, "brass", "10/20/50", "mm", "rope groove"],
    [40, "K-103", "Dome", "SR 25", "±0.2", "DIA 40", None, "brass", 12, "mm", None],
    [50, "K-104", "Dish", "R30", "±0.15", "45 +0/-0.1", None, "aluminium alloy", 4, "mm", None],
    "To the line shaft, second order:",
    [60, "K-105", "Crown", "R80", "±0.5", "Ø 60", 25, "low carbon steel", "25 pcs", "mm", None],
    [70, "K-106", "Corner radius", "2X R4", "m", "32 dia", None, None, 40, "mm", None],
    [80, "K-107", "Inside corner", "R2.5", None, "18 js6", None, None, 8, "mm", None],
    [90, "K-108", "Edge radius", "R.125", "±.005", "1.500", None, "1018", "100", "inch", "inch drawing"],
    [100, "K-109", "Fillet", "R.062", None, "Ø .750 +.000/-.002", None, "1018", "20", "inch", None],
    [110, "K-110", "Groove", "R1/4", "±.010", '1-1/2"', ".375", "brass", 6, "inch", None],
    [None] * 11,
    [120, "K-111", "Rounded corner", "R8", "±0.2", "63 g6", None, "tool steel", 3, "mm", "annealed"],
    [130, "K-112", "Fillet radius", "R1.5", "±0.1", "30 f7", None, "tool steel", "2 off", "mm", None],
    [140, "K-113", "Dome", "SR 12.5", "±0.1", "25 h6", None, "low carbon steel", "60", "mm", None],
    [150, "K-114", "Ball end", "R20", "+0/-0.2", "40", None, "brass", "1", "mm", None],
    [160, "K-115", "Groove", "R4", "±0.05", "36 h11", 7, "low carbon steel", "250", "mm", "2 grooves, one priced"],
    [170, "K-116", "Neck", "R6", "±0.2", "28 -0.1", 10, "low carbon steel", "30", "mm", None],
    [180, "K-117", "Dish", "R50", "±0.3", "80 mm DIA.", None, "brass", "2", "mm", None],
    "Lines 190 to 260: all as drawing K-12, rev. C",
    [190, "K-118", "Outside corner", "R10", "c", "75 d9", None, "low carbon steel", "15", "mm", None],
    [200, "K-119", "Rounded corner", "R0.8", "±0.1", "12 m6", None, "low carbon steel", "5000", "mm", None],
    [210, "K-120", "Fillet", "R5", "f", "50 h7", None, "low carbon steel", "9", "mm", None],
    [220, "K-121", "Barrel", "R150", "±1", "90", 60, "low carbon steel", "4", "mm", None],
    [230, "K-122", "Rounded corner", "R5", "±0.1", "40 kg", None, "low carbon steel", "10", "mm", "typing mistake in Ø"],
    [240, "K-123", "Chamfer", "R2", "±0.1", "30", None, "low carbon steel", "10", "mm", "no radius at all"],
    [250, "K-124", "Groove", "R12", "±0.2", "Ø100 ±0.2", "15", "brass", "50 / 100", "mm", None],
    [260, "K-125", "Corner radius", "R7", "±0.25", "Ø56", None, "unobtainium", "20", "mm", None],
    [270, "K-126", "Groove", "R3", "±0.1", "42/41.9", 5, "brass", "7 ea", "mm", None],
    [280, "K-127", "Rounded end", "R45", "±0.5", "60 h11", None, "aluminium alloy", "11", "mm", None],
    [290, "K-128", "Fillet", None, "±0.1", "22", None, "brass", "11", "mm", "radius to follow"],
    [300, "K-129", "Corner radius", "R2", "±0.1", "16 h9", None, "brass", "2,500", "mm", None],
]
# fmt: on


def make(path):
    """The workbook: a sheet of terms in front, title rows, notes between the lines, a total below them."""
    book = openpyxl.Workbook()
    terms = book.active
    terms.title = "Terms"
    for text in ("Terms of purchase", "Payment 30 days net.", "Radius and diameter as drawn; all goods inspected."):
        terms.append([text])
    sheet = book.create_sheet("Parts list")
    sheet.append(["Enquiry for turned parts"])
    sheet.append(["Date", datetime.date(2025, 3, 14), None, "Please quote by", datetime.date(2025, 3, 28)])
    sheet.append(["Tolerances where none are given: ISO 2768-m. Burrs off."])
    sheet.append([])
    sheet.append(HEADING)
    for line in LINES:
        sheet.append([None, line] if isinstance(line, str) else line)
        if isinstance(line, str):
            sheet.merge_cells(start_row=sheet.max_row, end_row=sheet.max_row, start_column=2, end_column=8)
    first = next(row for row in range(6, sheet.max_row) if sheet.cell(row, 1).value == 270)
    sheet.cell(first, 8).value = "brass"
    sheet.append([None, "Total", None, None, None, None, None, None, 9999])
    sheet.append(["Signed for the purchasing department"])
    book.save(path)


if __name__ == "__main__":
    make(Path(__file__).parent / "enquiry.xlsx")
