"""Fits against published tables of limits."""

import pytest

from advisor.asked import fits
from advisor.asked.written import read_diameter, read_pieces
from advisor.ground.errors import CalloutError
from advisor.ground.units import Unreadable

# JIS B 0401 (1999), dimensional tolerances of regularly used shaft fits, as printed in a tool maker's handbook: µm.
PUBLISHED = [
    (2, "b9", -140, -165), (2, "js6", 3, -3), (2, "k6", 6, 0), (2, "r6", 16, 10), (2, "u6", 24, 18), (5, "c9", -70, -100),
    (5, "d8", -30, -48), (5, "e7", -20, -32), (5, "k5", 6, 1), (5, "m6", 12, 4), (5, "n6", 16, 8), (5, "p6", 20, 12),
    (8, "d9", -40, -76), (8, "e9", -25, -61), (8, "f6", -13, -22), (8, "g5", -5, -11), (8, "s6", 32, 23), (12, "f8", -16, -43),
    (12, "g6", -6, -17), (12, "m5", 15, 7), (16, "u6", 44, 33), (20, "f7", -20, -41), (20, "h7", 0, -21), (20, "u6", 54, 41),
    (28, "u6", 61, 48), (35, "c9", -120, -182), (45, "c9", -130, -192), (35, "h9", 0, -62), (35, "k5", 13, 2), (35, "n6", 33, 17),
    (35, "p6", 42, 26), (35, "r6", 50, 34), (35, "s6", 59, 43), (45, "u6", 86, 70), (60, "d9", -100, -174), (60, "e7", -60, -90),
    (60, "r6", 60, 41), (60, "s6", 72, 53), (60, "u6", 106, 87), (70, "b9", -200, -274), (70, "c9", -150, -224), (70, "r6", 62, 43),
    (60, "js7", 15, -15),
]  # fmt: skip
# Shaft tolerances h1 to h9, table of a tool maker's catalogue: lower limits in mm, upper 0, by the end of the range.
H_SHAFTS = {
    3: (0.0008, 0.0012, 0.002, 0.003, 0.004, 0.006, 0.010, 0.014, 0.025),
    10: (0.001, 0.0015, 0.0025, 0.004, 0.006, 0.009, 0.015, 0.022, 0.036),
    30: (0.0015, 0.0025, 0.004, 0.006, 0.009, 0.013, 0.021, 0.033, 0.052),
    80: (0.002, 0.003, 0.005, 0.008, 0.013, 0.019, 0.030, 0.046, 0.074),
    180: (0.0035, 0.005, 0.008, 0.012, 0.018, 0.025, 0.040, 0.063, 0.100),
    315: (0.006, 0.008, 0.012, 0.016, 0.023, 0.032, 0.052, 0.081, 0.130),
    500: (0.008, 0.010, 0.015, 0.020, 0.027, 0.040, 0.063, 0.097, 0.155),
}


@pytest.mark.parametrize(("size", "fit", "upper", "lower"), PUBLISHED)
def test_limits_are_those_of_the_published_table(size, fit, upper, lower):
    assert fits.limits(size, fit) == pytest.approx((size + lower / 1000, size + upper / 1000), abs=1e-9)


@pytest.mark.parametrize("size", H_SHAFTS)
def test_h_shafts_up_to_the_end_of_each_range(size):
    for grade, width in enumerate(H_SHAFTS[size], start=1):
        assert fits.limits(size, f"h{grade}") == pytest.approx((size - width, size), abs=1e-9)


def test_holes_lie_the_other_way_up():
    # H7 of 30 to 50 mm is +25/0 and F8 of 18 to 30 mm is +53/+20 (ISO 286-2; from memory)
    assert fits.limits(40, "H7") == pytest.approx((40, 40.025)) and fits.limits(25, "F8") == pytest.approx(
        (25.02, 25.053)
    )


@pytest.mark.parametrize(("size", "fit"), [(40, "h17"), (40, "q6"), (501, "h9"), (40, "K7"), (40, "Js7"), (40, "h99")])
def test_what_is_not_in_the_tables_is_refused(size, fit):
    with pytest.raises(Unreadable):
        fits.limits(size, fit)


def test_tables_rise_with_the_size():
    tables = fits._tables()
    for table in ("grades", "shafts"):
        for key, row in tables[table].items():
            assert len(row) == len(tables[table]["up_to"]) and row == sorted(row), (table, key)
    for at in range(len(tables["grades"]["up_to"])):
        widths = [tables["grades"][str(grade)][at] for grade in range(1, 17)]
        assert widths == sorted(widths)


@pytest.mark.parametrize(
    ("text", "size", "low", "high"),
    [
        ("Ø40 h9", 40, 39.938, 40), ("40js6", 40, 39.992, 40.008), ("25 (h6)", 25, 24.987, 25), ("40 dia", 40, 40, 40),
        ("DIA 40", 40, 40, 40), ("Durchm. 40", 40, 40, 40), ("40 ±0.1", 40, 39.9, 40.1), ("40 +0/-0.1", 40, 39.9, 40),
        ("40 0/-0,1", 40, 39.9, 40), ("40 -0.1", 40, 39.9, 40), ("30 +0,2", 30, 30, 30.2), ("40.0/39.9", 39.95, 39.9, 40),
        ("39,9-40", 39.95, 39.9, 40), ('1-1/2" dia', 38.1, 38.1, 38.1), ("1.5 in ±.002", 38.1, 38.0492, 38.1508), (40, 40, 40, 40),
    ],
)  # fmt: skip
def test_diameters_as_people_write_them(text, size, low, high):
    found = read_diameter(text, field="diameter", default_unit="mm")
    assert (found.size, found.low, found.high) == pytest.approx((size, low, high))


@pytest.mark.parametrize("text", ["R40", "40 kg", "Ø", "40 q9", "", "40 h9 h9", "40 x 50"])
def test_what_is_no_diameter_is_refused(text):
    with pytest.raises(CalloutError, match="^diameter: "):
        read_diameter(text, field="diameter", default_unit="mm")


def test_a_metric_fit_on_an_inch_drawing_is_asked_about():
    with pytest.raises(CalloutError, match="metric fit on a drawing in inches"):
        read_diameter("1.500 h9", field="diameter", default_unit="in")
    assert read_diameter("40 mm h9", field="diameter", default_unit="in").low == pytest.approx(39.938)


@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("1,000", (1000,)), ("5 off", (5,)), ("10/20/50", (10, 20, 50)), ("10, 20, 50", (10, 20, 50)), ("Stk. 20", (20,)),
        ("10 und 20", (10, 20)), (12.0, (12,)), ("12.00", (12,)), ("1 000 pcs", (1000,)), ("50/50", (50,)), ("1.000.000", (1_000_000,)),
        ("ca. 20", (20,)), ("approx 20", (20,)), ("~20", (20,)), ("20 Stk", (20,)), ("min. 20", (20,)), ("at least 1,000 off", (1000,)), ("env. 10/20", (10, 20)),
    ],
)  # fmt: skip
def test_pieces_as_people_write_them(text, pieces):
    assert read_pieces(text) == pieces


@pytest.mark.parametrize(
    "text", ["1.000", "12,5", "0", "x", "5-10", "2,000,000", "", True, "1.5", "10 kg", "1" * 300, "20 min", "min", "~"]
)
def test_what_is_no_number_of_pieces_is_refused(text):
    with pytest.raises(CalloutError, match="^quantity: "):
        read_pieces(text)
