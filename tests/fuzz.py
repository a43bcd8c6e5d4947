"""Hostile files and texts, built by structure, and what has to hold of each: an answer or one clear error.

A Kind is a strategy that draws plans of inputs, a function that makes the input of a plan, and one that tries it: whatever
that one raises is a fault, and so is an input that takes longer than LONGEST or ends the process.

`pytest tests/test_fuzz.py` tries a few, the same every time, each the whole way, and every input that was once found to
break something (SEEDS). `make fuzz` looks for new ones, 100,000 of each kind:

- One plan in ten is drawn; the others are crossed from two that were drawn, each part of the plan from one or the other.
- All are tried in a process of this one, AT_A_TIME in each, with MOST_MEMORY for all of it. Where it ends before its time,
  the input that it was at is the fault, save that a library that reads a workbook or Parquet may fall: that input is then
  tried the whole way, and has to give one clear error.
- XLSX, ODS, Parquet: each is read by what the program runs in a process apart, here without that process; each hundredth
  the whole way, through it.
- A shop, a case: each is read; each tenth of those that are fine has to give advice too.
- CSV, rules, records to import, damaged databases, radii, expressions: each the whole way. Files are kept in memory where
  the system has a folder for that, so that nothing waits for a disk.

What breaks something is made smaller, told, and kept for SEEDS; the others are tried all the same.
"""

import argparse
import contextlib
import csv
import faulthandler
import functools
import io
import mmap
import os
import random
import resource
import signal
import struct
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock
from xml.sax.saxutils import escape, quoteattr

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE)] if __name__ == "__main__" else []

from advisor.answer import advice  # noqa: E402
from advisor.asked import callout as callouts  # noqa: E402
from advisor.asked import materials, radius_text  # noqa: E402
from advisor.asked import shop as shops  # noqa: E402
from advisor.engine import generated  # noqa: E402
from advisor.ground import apart  # noqa: E402
from advisor.ground.errors import InputError  # noqa: E402
from advisor.language import expression  # noqa: E402
from advisor.lists import files  # noqa: E402
from advisor.records import job_records, safekeeping  # noqa: E402
from advisor.rulebase import loading  # noqa: E402

LONGEST = 20.0  # seconds of processor for one input: ten on an ordinary machine, and here one may be half as quick
AT_A_TIME = 2000  # inputs, after which others are drawn anew
DRAWN = 10  # one plan in so many is drawn, the others are crossed
SMALLER = 60  # seconds in which an input that breaks something is made smaller
MOST_FAULTS = 5  # of a kind, after which it is given up
MOST_MEMORY = 3 << 30  # bytes of addresses for all of it
HEADS = ("radius", "form", "location", "diameter", "width", "from_end", "quantity", "material", "shop", "hardness", "R")
WORDS = (
    "R6 ±0.1", "R6", "6", "R1/4", "R.250 +.005/-.000", "convex", "concave", "corner", "end", "outside diameter", "dome",
    "40 mm", '1 1/2"', "1e308 mm", "-5 mm", "nan", "inf", "0", "12", "999999999999", "low-carbon steel", "4140", "30 HRC",
    "training-shop", "/etc/passwd", "=1+1", "'=x", "+1", "\ufeff", "\x00", "\u202e", "１２", "٣ mm", "R\u00a06", "-", "DITTO",
)  # fmt: skip
PIECES = (
    "R", "SR", "CR", "Ø", "S⌀", "(", ")", "[", "]", "MAX", "MIN", "max.", "FULL R", "TYP", "REF", "2X", "4 PL", "±", "+", "-",
    "/", "0.1", ".005", "6", "1/4", "1-1/2", "5 1/4", "6.", "6,5", "1.234,5", "mm", "in", '"', "″", "''", "µm", "m", "km", "H7",
    "ISO 2768-m", "0.2 A B", "⌓", "THRU", " ", "\t", "\n", "**", "9**9", "1e400", "1e-400", "0", "½", "²", "_", "%", "$", "\\", "{",
    "٦", "６",
)  # fmt: skip
TOKENS = (
    "radius", "diameter", "stickout", "width", "quantity", "form", "(", ")", "+", "-", "*", "/", "**", "%", "<", "<=", "==",
    "!=", ">", " and ", " or ", "not ", " is ", "known", " in ", ",", "[", "]", "{", "}", "'convex'", '"x"', "1", "0", "0.0",
    "1e308", "1e999", "6*mm", "mm", "inch", "deg", "min(", "max(", "sqrt(", "abs(", "lambda:", "x:=1", "__import__", ".real",
    ";", "#", "\\", "0x1f", "1_000", "1j", "None", "True", "if ", " else ", "for ", "...", "@", "\u202e", "é",
)  # fmt: skip
KEYS = (
    "name", "units", "lathe", "like", "without", "spindle_speeds", "swing_over_bed", "compound", "rod", "gauges", "form_tools",
    "limits", "callout", "radius", "form", "location", "diameter", "job", "quantity", "expect", "shop", "work", "material",
    "rule", "id", "when", "effects", "examples", "x y", "", "a.b", "é",
)  # fmt: skip

texts = st.one_of(st.sampled_from(WORDS), st.sampled_from(WORDS), st.text(max_size=12))
pieces = st.lists(st.one_of(st.sampled_from(PIECES), st.sampled_from(PIECES), st.text(max_size=3)), max_size=9)
values = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-(10**20), 10**20), st.floats(), texts, st.sampled_from(("10 mm", "0.2 mm", "45 deg")),
        st.sampled_from(("1979-05-27", "07:32:00", "1979-05-27T07:32:00Z")).map(lambda text: ("raw", text)),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(KEYS), inner, max_size=3)),
    max_leaves=6,
)  # fmt: skip
# Bytes that are changed at the end of it all: (place as a share of the length, what the byte becomes).
spoilt = st.one_of(st.just([]), st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), max_size=4))
seldom_spoilt = st.one_of(st.just([]), st.just([]), st.just([]), spoilt)  # where hardly any would be read any more


def mostly(usual, odd):
    """What a reader takes, for the greater part: else hardly any whole file would be read to its end."""
    return st.integers(0, 39).flatmap(lambda number: odd if number == 17 else usual)


def seldom(texts, usual):
    """What lays out a million rows or columns and takes seconds, now and then."""
    return st.integers(0, 9999).flatmap(lambda number: st.sampled_from(texts) if number == 1237 else usual)


def spoil(content, changes):
    """Bytes with some of them changed."""
    content = bytearray(content)
    for share, byte in changes:
        if content:
            content[min(int(share * len(content)), len(content) - 1)] = byte
    return bytes(content)


# ------------------------------------------------------------------------------------------------ lists

table = st.tuples(
    st.lists(st.one_of(st.sampled_from(HEADS), st.sampled_from(HEADS), texts), max_size=7),
    st.lists(st.lists(texts, max_size=8), max_size=4),
)


def read_list(content, ending, folder, whole=True):
    """Every row of a list is read, as `batch` and `check` read it; in a process apart only where it goes the whole way."""
    path = folder / f"list{ending}"
    path.write_bytes(content)
    with contextlib.nullcontext() if whole else mock.patch.object(apart, "items", items_here):
        try:
            source = files.open_source(str(path))
            for _ in source.blocks():
                pass
        except InputError:
            pass


def items_here(work):
    """apart.items without the process."""
    try:
        yield from work()
    except MemoryError:
        raise apart.Lost("takes more memory than a list may") from None


def csv_bytes(drawn):
    (heads, rows), delimiter, newline, quoting, encoding, changes = drawn
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=delimiter, lineterminator=newline, quoting=quoting, escapechar="\\")
    try:
        writer.writerows([heads, *rows])
    except csv.Error:  # it writes no lone empty cell without a quote: other programs do
        stream = io.StringIO(newline.join(delimiter.join(row) for row in [heads, *rows]))
    return spoil(stream.getvalue().encode(encoding, "replace"), changes)


csv_list = st.tuples(
    table, st.sampled_from(",;\t|"), st.sampled_from(("\n", "\r\n", "\r")), st.sampled_from((0, 1, 3)),
    st.sampled_from(("utf-8", "utf-8-sig", "cp1252", "utf-16")), spoilt,
)  # fmt: skip

DEFLATED = zipfile.ZIP_DEFLATED
WAYS = (zipfile.ZIP_STORED, DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA)
packing = mostly(st.just(DEFLATED), st.sampled_from(WAYS))
numbers = st.one_of(
    st.sampled_from(("6", "12.5", "0", "-1", "1e308", "1E-9", "45000.75", "0.1")), st.integers(-5, 10**9).map(str)
)
cell = st.tuples(
    mostly(
        st.one_of(
            st.tuples(st.sampled_from(("str", "inlineStr")), texts),
            st.tuples(st.sampled_from(("n", "")), numbers),
            st.tuples(st.just("s"), st.sampled_from(("0", "1"))),
            st.tuples(st.just("b"), st.sampled_from(("0", "1"))),
            st.tuples(
                st.just("d"), st.sampled_from(("2024-02-29", "2024-02-29T23:59:60", "1899-12-31T00:00:00Z", "12:30"))
            ),
        ),
        st.tuples(st.sampled_from(("n", "s", "str", "inlineStr", "b", "e", "d", "", "x")), st.one_of(texts, numbers)),
    ),
    mostly(
        seldom(("B1048576", "A1048576"), st.sampled_from((None, None, None, "A1", "B2", "C3"))),
        st.sampled_from(("XFD1", "B2000", "ZZZ9", "A0", "1", "$A$1", "a2", "A99999999999", "AAAAAAAA1")),
    ),
    mostly(st.sampled_from((None, None, "0", "1")), st.sampled_from(("999", "-1", "x"))),
)
sheet = st.tuples(
    st.lists(
        st.tuples(
            mostly(
                st.sampled_from((None, None, None, "1", "3", "20")),
                st.sampled_from(("0", "-2", "4294967297", "99999999999", "x", "1048577")),
            ),
            st.lists(cell, max_size=6),
        ),
        max_size=5,
    ),
    st.sampled_from(("", "A1:D4", "A1:XFD1048576", "x", "B2:A1")),
    st.lists(texts, max_size=4), mostly(st.sampled_from(("", "A1:B2", "A2:A3")), st.sampled_from(("A1:A1048576", "x:y", "B2:A1"))),
    seldom_spoilt, packing, seldom_spoilt,
)  # fmt: skip


def plain(text):
    return "".join(mark if mark.isprintable() else f"_x{ord(mark):04X}_" for mark in text)


def packed(parts, way, changes):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", way) as made:
        for name, content in parts.items():
            made.writestr(name, content)
    return spoil(stream.getvalue(), changes)


def xlsx_bytes(drawn):
    rows, dimension, shared, merged, inside, way, outside = drawn
    lines = []
    for number, cells in rows:
        made = []
        for (kind, text), place, style in cells:
            marks = "".join(
                f" {key}={quoteattr(value)}" for key, value in (("t", kind), ("r", place), ("s", style)) if value
            )
            written = escape(plain(text))
            made.append(
                f"<c{marks}><is><t>{written}</t></is></c>" if kind == "inlineStr" else f"<c{marks}><v>{written}</v></c>"
            )
        lines.append(f"<row{f' r={quoteattr(number)}' if number else ''}>{''.join(made)}</row>")
    ns = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    of = 'xmlns="http://schemas.openxmlformats.org/package/2006/relationships"'
    size = f"<dimension ref={quoteattr(dimension)}/>" if dimension else ""
    over = f"<mergeCells><mergeCell ref={quoteattr(merged)}/></mergeCells>" if merged else ""
    body = f"<worksheet {ns}>{size}<sheetData>{''.join(lines)}</sheetData>{over}</worksheet>"
    parts = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        "_rels/.rels": f'<Relationships {of}><Relationship Id="r" Type="{rel}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook {ns} xmlns:r="{rel}"><sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships {of}><Relationship Id="r1" Type="{rel}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="r2" Type="{rel}/sharedStrings" Target="sharedStrings.xml"/>'
        f'<Relationship Id="r3" Type="{rel}/styles" Target="styles.xml"/></Relationships>',
        "xl/styles.xml": f'<styleSheet {ns}><cellXfs><xf numFmtId="0"/><xf numFmtId="22"/></cellXfs></styleSheet>',
        "xl/sharedStrings.xml": f"<sst {ns}>{''.join(f'<si><t>{escape(plain(text))}</t></si>' for text in shared)}</sst>",
        "xl/worksheets/sheet1.xml": spoil(body.encode("utf-8", "replace"), inside),
    }
    return packed(parts, way, outside)


repeated = mostly(
    seldom(("1000000", "1048576"), st.sampled_from((None, None, None, "1", "2", "20"))),
    st.sampled_from(("2000", "16384", "-1", "x", "99999999999")),
)
ods_sheet = st.tuples(
    st.lists(
        st.tuples(
            repeated,
            st.lists(
                st.tuples(
                    mostly(
                        st.one_of(
                            st.tuples(st.sampled_from(("string", "")), texts),
                            st.tuples(st.sampled_from(("float", "percentage", "currency")), numbers),
                            st.tuples(st.just("boolean"), st.sampled_from(("true", "false"))),
                            st.tuples(st.just("date"), st.sampled_from(("2024-02-29", "2024-02-29T12:00:00", "2024-02-30"))),
                            st.tuples(st.just("time"), st.sampled_from(("PT12H30M00S", "PT999999H", "P1Y"))),
                        ),
                        st.tuples(st.sampled_from(("float", "date", "boolean", "time", "percentage", "x")), texts),
                    ),
                    repeated,
                ),
                max_size=6,
            ),
        ),
        max_size=5,
    ),
    seldom_spoilt, packing, seldom_spoilt,
)  # fmt: skip


def ods_bytes(drawn):
    rows, inside, way, outside = drawn
    lines = []
    for times, cells in rows:
        made = []
        for (kind, text), again in cells:
            marks = f' office:value-type="{kind}"' if kind else ""
            value = {"float": "value", "date": "date-value", "boolean": "boolean-value", "time": "time-value"}.get(
                kind, "value" if kind in ("percentage", "currency") else None
            )
            marks += f" office:{value}={quoteattr(plain(text))}" if value else ""
            marks += f' table:number-columns-repeated="{again}"' if again else ""
            made.append(f"<table:table-cell{marks}><text:p>{escape(plain(text))}</text:p></table:table-cell>")
        lines.append(
            f"<table:table-row{f' table:number-rows-repeated={quoteattr(times)}' if times else ''}>{''.join(made)}</table:table-row>"
        )
    spaces = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
    )
    body = (
        f"<office:document-content {spaces}><office:body><office:spreadsheet>"
        f'<table:table table:name="a">{"".join(lines)}</table:table></office:spreadsheet></office:body></office:document-content>'
    )
    parts = {
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
        "META-INF/manifest.xml": '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>',
        "content.xml": spoil(body.encode("utf-8", "replace"), inside),
    }
    return packed(parts, way, outside)


column = st.tuples(
    st.one_of(st.sampled_from(HEADS), texts),
    st.sampled_from(("string", "large_string", "binary", "int64", "uint8", "float64", "bool", "date32", "timestamp", "list", "null", "decimal", "coded")),
)  # fmt: skip
parquet_list = st.tuples(
    st.lists(column, max_size=6), st.lists(st.lists(texts, min_size=6, max_size=6), max_size=4), spoilt
)


def parquet_bytes(drawn):
    import pyarrow
    from pyarrow import parquet

    columns, rows, changes = drawn
    made = {}
    for place, (name, kind) in enumerate(columns):
        cells = [(row + [""] * len(columns))[place] for row in rows]  # crossed rows may be short
        numbers = [len(text) * 37 % 256 for text in cells]
        arrays = {
            "binary": lambda: pyarrow.array([text.encode("utf-16") for text in cells], pyarrow.binary()),
            "int64": lambda: pyarrow.array([number << 40 for number in numbers], pyarrow.int64()),
            "uint8": lambda: pyarrow.array(numbers, pyarrow.uint8()),
            "float64": lambda: pyarrow.array([float("nan") if not n else n / 7 for n in numbers], pyarrow.float64()),
            "bool": lambda: pyarrow.array([number % 2 == 0 for number in numbers], pyarrow.bool_()),
            "date32": lambda: pyarrow.array([number * 9_000_000 for number in numbers], pyarrow.int32()).cast(pyarrow.date32()),
            "timestamp": lambda: pyarrow.array([number << 50 for number in numbers], pyarrow.timestamp("ns")),
            "list": lambda: pyarrow.array([[number] for number in numbers], pyarrow.list_(pyarrow.int64())),
            "null": lambda: pyarrow.nulls(len(cells)),
            "decimal": lambda: pyarrow.array(numbers, pyarrow.int64()).cast(pyarrow.decimal128(38, 9)),
            "coded": lambda: pyarrow.array(cells, pyarrow.string()).dictionary_encode(),
            "large_string": lambda: pyarrow.array(cells, pyarrow.large_string()),
        }  # fmt: skip
        made[name] = arrays.get(kind, lambda: pyarrow.array(cells, pyarrow.string()))()
    stream = io.BytesIO()
    parquet.write_table(pyarrow.table(made), stream)
    return spoil(stream.getvalue(), changes)


# ------------------------------------------------------------------------------------------------ TOML


def toml_value(value):
    """A value as TOML writes it."""
    if isinstance(value, tuple):
        return value[1]
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return (
            '"'
            + "".join(f"\\u{ord(mark):04x}" if ord(mark) < 32 or mark in '"\\\x7f' else mark for mark in value)
            + '"'
        )
    if isinstance(value, list):
        return f"[{', '.join(map(toml_value, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml_value(key)} = {toml_value(one)}" for key, one in value.items()) + "}"
    return repr(value)


@functools.cache
def lines_of(path):
    return (HERE.parent / path).read_text(encoding="utf-8").splitlines()


hows = st.sampled_from(("value", "value", "value", "key", "out", "twice", "table", "tables"))
changed_lines = st.tuples(
    st.lists(st.tuples(st.floats(0, 1), hows, st.sampled_from(KEYS), values), min_size=1, max_size=5), seldom_spoilt
)


def toml_bytes(path, drawn):
    """A file of ours with some of its lines changed, taken out, doubled or moved, as bytes."""
    changes, spoils = drawn
    lines = list(lines_of(path))
    for share, how, key, value in changes:
        at = int(share * (len(lines) - 1))
        own = lines[at].partition("=")[0].strip() or "x"
        if how == "value":
            lines[at] = f"{own if '[' not in own else 'x'} = {toml_value(value)}"
        elif how == "key":
            lines.insert(at, f"{toml_value(key)} = {toml_value(value)}")
        elif how == "out":
            del lines[at]
        elif how == "twice":
            lines.insert(at, lines[at])
        else:
            lines.insert(at, f"[{'[' * (how == 'tables')}{toml_value(key)}{']' * (how == 'tables')}]")
    return spoil("\n".join(lines).encode("utf-8", "replace"), spoils)


@functools.cache
def a_callout():
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}
    return callouts.read_callout(fields, materials=materials.materials())


@functools.cache
def a_shop():
    return shops.read_shop("training-shop")


def read_shop(content, folder, whole=True):
    """What `check` calls fine gives advice."""
    path = folder / "shop.toml"
    path.write_bytes(content)
    try:
        shop = shops.read_shop(str(path))
        advice.rule_base().revalued(advice.overrides(shop), where=str(path))
        if whole:
            advice.advise(a_callout(), shop, executor=generated.run)
    except InputError:
        pass


def read_case(content, folder, whole=True):
    """A case is read, and gives advice where it can be."""
    path = folder / "case.toml"
    path.write_bytes(content)
    try:
        callout = callouts.read_case(str(path), materials=materials.materials())
        if whole:
            advice.advise(callout, a_shop(), executor=generated.run)
    except InputError:
        pass


def read_rules(content, folder, _=True):
    """A rule base with another file of rules loads, or says what is wrong."""
    if str(HERE / "small_rules") not in sys.path:
        sys.path.append(str(HERE / "small_rules"))
    base = folder / "rules"
    if not base.exists():
        base.mkdir()
        for file in (HERE / "small_rules").glob("*.toml"):
            (base / file.name).write_bytes(file.read_bytes())
    (base / RULES.name).write_bytes(content)
    try:
        loading.load(base, functions="crossing", cache=False)
    except InputError:
        pass


RULES = next(file for file in sorted((HERE / "small_rules").glob("*.toml")) if file.name != "vocabulary.toml")


# ------------------------------------------------------------------------------------------------ records, texts


@functools.cache
def exported():
    """A line of an export: (headings, cells)."""
    line = dict.fromkeys(job_records.CSV_COLUMNS, "") | {
        "id": "bcdfghjk", "recorded_at": "2024-05-31T14:05:00+00:00", "done_on": "2024-05-31", "shop": "training-shop",
        "method": "form tool", "radius": "R6 ±0.1", "callout": '{"form": "convex"}', "pieces": "12", "places": "1",
        "minutes": "96.0", "predicted_minutes": "80.0", "program": "0.1.0", "marks": '[["2024-06-01T00:00:00+00:00", false, "x"]]',
        "not_typical": "x",
    }  # fmt: skip
    return list(line), list(line.values())


def records_bytes(drawn):
    changes, spoils = drawn
    heads, cells = exported()
    lines = [list(heads), list(cells), list(cells)]
    lines[2][0] = "zzzzzzzz"
    for row, place, text in changes:
        lines[row][place % len(heads)] = text
    stream = io.StringIO()
    csv.writer(stream).writerows(lines)
    return spoil(stream.getvalue().encode("utf-8", "replace"), spoils)


records_list = st.tuples(
    st.lists(st.tuples(st.sampled_from((0, 1, 1, 2, 2)), st.integers(0, 40), st.one_of(texts, st.sampled_from(("[]", "[[1]]", "{", "1e999", "2024-02-30")))), max_size=4),
    spoilt,
)  # fmt: skip


def import_records(content, folder, _=True):
    """An import is taken over whole, and read back as it was, or not at all."""
    path, kept = folder / "jobs.csv", folder / "jobs.sqlite3"
    path.write_bytes(content)
    kept.unlink(missing_ok=True)
    try:
        jobs = job_records.read_csv(path)
    except InputError:
        return
    try:
        job_records.Records(kept).merge(jobs)
    except InputError:
        return
    assert {job.id for job in job_records.Records(kept).jobs()} == {job.id for _, job in jobs}


@functools.cache
def database():
    """The bytes of a file of records with some jobs in it."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "jobs.sqlite3"
        heads, cells = exported()
        for number in range(5):
            own = [f"bcdfghj{number}", *cells[1:]]
            job = job_records._job_of("", heads, own)
            job_records.Records(kept).merge([("", job)])
        return kept.read_bytes()


def read_database(changes, folder, _=True):
    """A damaged file is noticed or reads as it was written, and what a rescue saves is whole."""
    kept, saved = folder / "damaged.sqlite3", folder / "saved.sqlite3"
    saved.unlink(missing_ok=True)
    kept.write_bytes(spoil(database(), changes))
    good = [f"bcdfghj{number}" for number in range(5)]
    try:
        jobs = job_records.Records(kept).jobs()
        assert [job.id for job in jobs] in (good, []) and all(job.minutes == 96.0 for job in jobs)
    except InputError:
        pass
    safekeeping.verify(kept)
    try:
        safekeeping.rescue(kept, saved)
    except InputError:
        return
    assert not safekeeping.verify(saved).wrong
    assert {job.id for job in job_records.Records(saved).jobs()} <= set(good)


def read_radius(text, *_):
    """A radius is read, and its limits are in order."""
    for units in ("mm", "inch"):
        try:
            found = radius_text.read_radius(text, units=units)
        except InputError:
            continue
        assert 0 <= found.low <= found.high < 1e6, found  # a radius that is only "0.1 MAX" may be none


def read_expression(text, *_):
    """An expression is a tree, or says what is wrong."""
    try:
        expression.parse(text)
    except expression.ExpressionError:
        pass


def joined(parts):
    return "".join(parts)


class Kind(NamedTuple):
    """plans: strategy; made: function, plan -> input; tries: function (input, folder, whether the whole way); every: one input
    in so many goes the whole way; a_library: whether it may fall, so that the input counts when it gives a clear error."""

    plans: Any
    made: Any
    tries: Any
    every: int = 1
    a_library: bool = False


def of_lists(plans, made, ending, every=1):
    def tries(content, folder, whole=True):
        read_list(content, ending, folder, whole)

    return Kind(plans, made, tries, every, a_library=every > 1)


def of_toml(path, tries, every=1):
    return Kind(changed_lines, functools.partial(toml_bytes, path), tries, every)


KINDS = {
    "csv": of_lists(csv_list, csv_bytes, ".csv"),
    "xlsx": of_lists(sheet, xlsx_bytes, ".xlsx", every=100),
    "ods": of_lists(ods_sheet, ods_bytes, ".ods", every=100),
    "parquet": of_lists(parquet_list, parquet_bytes, ".parquet", every=100),
    "shop": of_toml("cases/shops/training-shop.toml", read_shop, every=10),
    "case": of_toml("cases/knob-corner.toml", read_case, every=10),
    "rules": of_toml(RULES.relative_to(HERE.parent), read_rules),
    "records": Kind(records_list, records_bytes, import_records),
    "database": Kind(st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=40), list, read_database),
    "radius": Kind(pieces, joined, read_radius),
    "expression": Kind(st.lists(st.sampled_from(TOKENS), max_size=12), joined, read_expression),
}  # fmt: skip
# What was once found to break something: (kind, input).
SEEDS = [
    ("database", [(0.109375, 128)]),
    ("expression", "1or 2"),
    ("ods", ods_bytes(([("1048576", [(("string", "R6"), "2"), (("string", "x"), None)])], [], DEFLATED, []))),
    ("csv", ",".join(f"c{number}" for number in range(100_000)).encode()),
    # A row so far down that a number of 32 bits runs over; a sheet that is no XML from some place on (once 77 GB); streams that
    # do not unpack; a first part that is packed in a way that nobody knows.
    ("xlsx", xlsx_bytes(([("99999999999", [(("str", "x"), None, None)])], "", [], "", [], DEFLATED, []))),
    ("xlsx", xlsx_bytes(([("1", [(("str", "x"), None, None), (("str", "y"), "XFD1048576", None)])], "", [], "", [(0.35, 0)], DEFLATED, []))),
    ("ods", ods_bytes(([(None, [(("string", "radius"), None)])], [], DEFLATED, [(0.077, 109), (0.145, 121)]))),
    # Two thousand columns that all say the same, and one past all letters.
    ("ods", ods_bytes(([("20", [(("float", "221"), "2000"), (("string", "¸*óá"), "2000")]), ("1", [(("string", "x"), None)])], [], DEFLATED, []))),
    ("xlsx", xlsx_bytes(([(None, [(("str", "x"), "A1", None), (("str", "x"), "AAAAAAAA1", None)])], "", [], "", [], DEFLATED, []))),
    ("ods", ods_bytes(([], [], zipfile.ZIP_BZIP2, [(0.134, 32), (0.255, 253)]))),
    ("ods", ods_bytes(([], [], DEFLATED, [])).replace(b"PK\1\2\x14\3\x14\0\0\0\x08", b"PK\1\2\x14\3\x14\0\0\0\x5a", 1)),
]  # fmt: skip


# ------------------------------------------------------------------------------------------------ trying


def crossed(one, other, chance):
    """A plan out of two of the same kind: each part of it from one or the other, each list the beginning of one and the
    end of the other. chance: random.Random."""
    if type(one) is not type(other):
        return chance.choice((one, other))
    if isinstance(one, tuple) and len(one) == len(other):
        return tuple([crossed(here, there, chance) for here, there in zip(one, other, strict=True)])
    if isinstance(one, list) and (one or other):
        cut = chance.randrange(len(one) + 1)
        kept, taken = one[:cut], other[chance.randrange(len(other) + 1) :] if chance.random() < 0.5 else one[cut:]
        both = [crossed(part, chance.choice(other), chance) if other else part for part in kept]
        return both + taken
    if type(one) is float and 0 <= one <= 1 and chance.random() < 0.5:  # a place: any other is as good
        return chance.random()
    return chance.choice((one, other))


def smaller(plan):
    """Plans that are a little smaller than one."""
    if isinstance(plan, (list, tuple)):
        for place, part in enumerate(plan):
            if isinstance(plan, list):
                yield plan[:place] + plan[place + 1 :]
            for less in smaller(part):
                yield type(plan)([*plan[:place], less, *plan[place + 1 :]])
    elif isinstance(plan, str) and len(plan) > 1:
        yield plan[:-1]


def processor():
    """Seconds of processor that this process and those that it waited for have taken."""
    own = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in own)


def attempt(kind, made, folder, *, whole=True):
    """Try one input; it may not take long either."""
    started = processor()
    KINDS[kind].tries(made, folder, whole)
    took = processor() - started
    assert took < LONGEST, f"took {took:.1f} s"


def fuzz(kind, count, folder, *, derandomize=False):
    """Draw so many inputs of a kind and try each the whole way -> their plans. Raises at the smallest that breaks
    something."""
    plans = []

    @drawing(kind, count, derandomize=derandomize)
    def one(plan):
        plans.append(plan)
        attempt(kind, KINDS[kind].made(plan), folder)

    one()
    return plans


def drawing(kind, count, *, derandomize=False):
    """A function of a plan that is called with so many."""

    def called(function):
        ways = settings(
            max_examples=count, deadline=None, derandomize=derandomize, database=None,
            suppress_health_check=list(HealthCheck),
            phases=settings.default.phases if derandomize else [Phase.explicit, Phase.generate],
        )  # fmt: skip
        return ways(given(KINDS[kind].plans)(function))

    return called


def some_plans(kind, count, chance, *, derandomize=False):
    """So many plans of a kind: one in DRAWN drawn, the others crossed."""
    plans = []
    drawing(kind, max(count // DRAWN, 2), derandomize=derandomize)(lambda plan: plans.append(plan))()
    drawn = list(plans)
    while len(plans) < count:
        plans.append(crossed(chance.choice(drawn), chance.choice(drawn), chance))
    return plans[:count]


class Fault(Exception):
    """What is wrong with an input, as text; where: the line that raised it."""

    def __init__(self, told, where=""):
        super().__init__(told)
        self.where = where


def try_apart(kind, plans, folder):
    """Try inputs of a kind in a process of this one -> (how many were tried, Fault of the last or None, how many of them
    made a library fall)."""
    done, felled = 0, 0
    while done < len(plans):
        more, fault, ended = _some_apart(kind, plans[done:], folder, done)
        done += more
        if ended and KINDS[kind].a_library and not fault:
            felled += 1
            try:
                attempt(kind, KINDS[kind].made(plans[done - 1]), folder)
            except Exception as problem:
                fault = told(problem)
        elif ended and not fault:
            fault = Fault(f"ends the process ({ended})", ended)
        if fault:
            return done, fault, felled
    return done, None, felled


def _some_apart(kind, plans, folder, first):
    """-> (how many were begun, Fault of the last or None, name of the signal that ended the process or "")"""
    here, there = os.pipe()
    place = mmap.mmap(-1, 8)
    child = os.fork()
    if not child:
        try:
            os.close(here)
            signal.signal(signal.SIGPROF, signal.SIG_DFL)
            warnings.simplefilter("ignore")
            faulthandler.disable()
            for number, plan in enumerate(plans):
                place[:8] = struct.pack("<q", number + 1)
                signal.setitimer(signal.ITIMER_PROF, LONGEST)
                try:
                    made = KINDS[kind].made(plan)
                    attempt(kind, made, folder, whole=(first + number) % KINDS[kind].every == 0)
                except BaseException as problem:
                    fault = told(problem)
                    os.write(there, f"{fault.where}\0{fault}"[:4000].encode("utf-8", "replace"))
                    break
            os._exit(0)
        finally:
            os._exit(1)
    os.close(there)
    with open(here, "rb") as stream:
        said = stream.read().decode()
    _, status = os.waitpid(child, 0)
    begun = struct.unpack("<q", place[:8])[0]
    if said:
        where, _, what = said.partition("\0")
        return begun, Fault(what, where), ""
    ended = signal.Signals(os.WTERMSIG(status)).name if os.WIFSIGNALED(status) else ""
    if ended == "SIGPROF":
        return begun, Fault(f"takes more than {LONGEST} s", ended), ""
    if not ended and (status or begun != len(plans)):
        return begun, Fault("ends the process without a word", "exit"), ""
    return begun, None, ended


def told(problem):
    """What is raised, as a Fault."""
    places = traceback.extract_tb(problem.__traceback__)
    where = f"{Path(places[-1].filename).name}:{places[-1].lineno}" if places else ""
    return Fault(f"{type(problem).__name__}: {problem} ({where})", where)


def smallest(kind, plan, fault, folder):
    """A plan that has the same fault and is as small as can be found in SMALLER seconds."""
    until = time.monotonic() + SMALLER
    while True:
        for less in smaller(plan):
            if time.monotonic() > until:
                return plan
            _, other, _ = try_apart(kind, [less], folder)
            if other and other.where == fault.where:
                plan = less
                break
        else:
            return plan


def hunt(kind, count, folder, *, until=None, say=print, seed=None):
    """Try so many inputs of a kind -> (how many were tried, made a library fall, faults). until: when to stop [monotonic s];
    seed: of what is drawn and crossed, which is new each time if None."""
    tried, felled, faults, chance = 0, 0, {}, random.Random(seed)
    while tried < count and len(faults) < MOST_FAULTS and (until is None or time.monotonic() < until):
        plans = some_plans(kind, min(AT_A_TIME, count - tried), chance, derandomize=seed is not None)
        while plans:
            done, fault, fell = try_apart(kind, plans, folder)
            tried, felled = tried + done, felled + fell
            if fault and fault.where not in faults:
                faults[fault.where] = fault
                say(f"{kind}: {fault}")
                made = KINDS[kind].made(smallest(kind, plans[done - 1], fault, folder))
                say(f"    {made!r}"[:100_000])
            plans = plans[done:]
    return tried, felled, faults


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("kinds", nargs="*", help=f"some of {', '.join(KINDS)}; all if left out")
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--minutes", type=float, help="no longer than so many for each kind")
    options = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    say = functools.partial(print, flush=True)
    failed = False
    for kind in options.kinds or KINDS:
        started, before = time.monotonic(), processor()
        until = None if options.minutes is None else started + 60 * options.minutes
        with tempfile.TemporaryDirectory(dir=memory) as folder:
            tried, felled, faults = hunt(kind, options.count, Path(folder), until=until, say=say)
        failed = failed or bool(faults)
        fell = f", {felled:,} felled the library" if felled else ""
        took = f"{processor() - before:.0f} s of processor, {time.monotonic() - started:.0f} s"
        say(f"{kind}: {tried:,} inputs, {len(faults) or 'no'} faults{fell}, {took}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
