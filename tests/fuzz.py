"""Hostile files and texts, built by structure, and what has to hold of each: an answer or one clear error.

`make fuzz` tries 100,000 of each kind and looks for new ones; `pytest tests/test_fuzz.py` tries a few, the same every time,
and every input that was once found to break something (SEEDS). A kind is a strategy and a function that takes what it
draws and a folder to write in; whatever that function raises is a fault.
"""

import argparse
import collections
import csv
import functools
import io
import resource
import sys
import tempfile
import time
import zipfile
from pathlib import Path
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
from advisor.ground.errors import InputError  # noqa: E402
from advisor.language import expression  # noqa: E402
from advisor.lists import files  # noqa: E402
from advisor.records import job_records, safekeeping  # noqa: E402
from advisor.rulebase import loading  # noqa: E402

LONGEST = 10.0  # seconds of processor for one input
AT_A_TIME = 500  # inputs, after which others are drawn anew
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
joined = st.lists(st.one_of(st.sampled_from(PIECES), st.sampled_from(PIECES), st.text(max_size=3)), max_size=9)
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


def read_list(content, ending, folder):
    """Every row of a list is read, as `batch` and `check` read it."""
    path = folder / f"list{ending}"
    path.write_bytes(content)
    try:
        source = files.open_source(str(path))
        for _ in source.blocks():
            pass
    except InputError as problem:
        FELLED.update([ending] if "makes the library" in str(problem) else [])


FELLED = collections.Counter()  # inputs at which a library fell, by the ending of the file


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
).map(csv_bytes)  # fmt: skip

cell = st.tuples(
    st.sampled_from(("n", "s", "str", "inlineStr", "b", "e", "d", "", "x")),
    st.one_of(texts, st.integers(-5, 10**9).map(str)),
    st.one_of(st.none(), st.sampled_from(("A1", "XFD1", "B1048576", "ZZZ9", "A0", "1", "$A$1", "B2"))),
    st.one_of(st.none(), st.sampled_from(("0", "1", "999", "-1", "x"))),
)
sheet = st.tuples(
    st.lists(st.tuples(st.one_of(st.none(), st.sampled_from(("1", "3", "0", "-2", "99999999999", "x"))), st.lists(cell, max_size=6)), max_size=5),
    st.sampled_from(("", "A1:D4", "A1:XFD1048576", "x", "B2:A1")),
    st.lists(texts, max_size=4), st.sampled_from(("", "A1:B2", "A1:A1048576", "x:y")), spoilt, spoilt,
)  # fmt: skip


def plain(text):
    return "".join(mark if mark.isprintable() else f"_x{ord(mark):04X}_" for mark in text)


def packed(parts, changes):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as made:
        for name, content in parts.items():
            made.writestr(name, content)
    return spoil(stream.getvalue(), changes)


def xlsx_bytes(drawn):
    rows, dimension, shared, merged, inside, outside = drawn
    lines = []
    for number, cells in rows:
        made = []
        for kind, text, place, style in cells:
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
        f'<Relationship Id="r2" Type="{rel}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/sharedStrings.xml": f"<sst {ns}>{''.join(f'<si><t>{escape(plain(text))}</t></si>' for text in shared)}</sst>",
        "xl/worksheets/sheet1.xml": spoil(body.encode("utf-8", "replace"), inside),
    }
    return packed(parts, outside)


repeated = st.sampled_from((None, None, "1", "2", "1000000", "1048576", "-1", "x", "99999999999"))
ods_sheet = st.tuples(
    st.lists(
        st.tuples(repeated, st.lists(st.tuples(st.sampled_from(("string", "float", "date", "boolean", "time", "percentage", "x", "")), texts, repeated), max_size=6)),
        max_size=5,
    ),
    spoilt, spoilt,
)  # fmt: skip


def ods_bytes(drawn):
    rows, inside, outside = drawn
    lines = []
    for times, cells in rows:
        made = []
        for kind, text, again in cells:
            marks = f' office:value-type="{kind}"' if kind else ""
            value = {"float": "value", "date": "date-value", "boolean": "boolean-value", "time": "time-value"}.get(kind)
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
    return packed(parts, outside)


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
        cells = [row[place] for row in rows]
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


def changed_toml(path):
    """A file of ours with some of its lines changed, taken out, doubled or moved, as bytes."""

    def change(drawn):
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

    hows = st.sampled_from(("value", "value", "value", "key", "out", "twice", "table", "tables"))
    changes = st.lists(st.tuples(st.floats(0, 1), hows, st.sampled_from(KEYS), values), min_size=1, max_size=5)
    return st.tuples(changes, spoilt).map(change)


@functools.cache
def a_callout():
    fields = {"radius": "R6 ±0.1", "form": "convex", "location": "corner", "diameter": "40 mm"}
    return callouts.read_callout(fields, materials=materials.materials())


def read_shop(content, folder):
    """What `check` calls fine gives advice."""
    path = folder / "shop.toml"
    path.write_bytes(content)
    try:
        shop = shops.read_shop(str(path))
        advice.rule_base().revalued(advice.overrides(shop), where=str(path))
        advice.advise(a_callout(), shop, executor=generated.run)
    except InputError:
        pass


def read_case(content, folder):
    """A case is read, and gives advice where it can be."""
    path = folder / "case.toml"
    path.write_bytes(content)
    try:
        callout = callouts.read_case(str(path), materials=materials.materials())
        advice.advise(callout, shops.read_shop("training-shop"), executor=generated.run)
    except InputError:
        pass


def read_rules(content, folder):
    """A rule base with another file of rules loads, or says what is wrong."""
    if str(HERE / "small_rules") not in sys.path:
        sys.path.append(str(HERE / "small_rules"))
    for file in (HERE / "small_rules").glob("*.toml"):
        (folder / file.name).write_bytes(file.read_bytes())
    (folder / RULES.name).write_bytes(content)
    try:
        loading.load(folder, functions="crossing", cache=False)
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
).map(records_bytes)  # fmt: skip


def import_records(content, folder):
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


def read_database(changes, folder):
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


def read_radius(text, _=None):
    """A radius is read, and its limits are in order."""
    for units in ("mm", "inch"):
        try:
            found = radius_text.read_radius(text, units=units)
        except InputError:
            continue
        assert 0 <= found.low <= found.high < 1e6, found  # a radius that is only "0.1 MAX" may be none


@functools.cache
def quick_rules():
    return loading.load(HERE / "small_rules", functions="crossing", cache=False)


def read_expression(text, _=None):
    """An expression is a tree, or says what is wrong."""
    try:
        expression.parse(text)
    except expression.ExpressionError:
        pass


KINDS = {
    "csv": (csv_list, lambda content, folder: read_list(content, ".csv", folder)),
    "xlsx": (sheet.map(xlsx_bytes), lambda content, folder: read_list(content, ".xlsx", folder)),
    "ods": (ods_sheet.map(ods_bytes), lambda content, folder: read_list(content, ".ods", folder)),
    "parquet": (parquet_list.map(parquet_bytes), lambda content, folder: read_list(content, ".parquet", folder)),
    "shop": (changed_toml("cases/shops/training-shop.toml"), read_shop),
    "case": (changed_toml("cases/knob-corner.toml"), read_case),
    "rules": (changed_toml(RULES.relative_to(HERE.parent)), read_rules),
    "records": (records_list, import_records),
    "database": (st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=40), read_database),
    "radius": (joined.map("".join), read_radius),
    "expression": (st.lists(st.sampled_from(TOKENS), max_size=12).map("".join), read_expression),
}
# What was once found to break something: (kind, input).
SEEDS = [
    ("database", [(0.109375, 128)]),
    ("expression", "1or 2"),
    ("ods", ods_bytes(([("1048576", [("string", "R6", "2"), ("string", "x", None)])], [], []))),
    ("csv", ",".join(f"c{number}" for number in range(100_000)).encode()),
]


def attempt(kind, drawn, folder):
    """Try one input; it may not take long either."""
    started = time.process_time()
    KINDS[kind][1](drawn, folder)
    took = time.process_time() - started
    assert took < LONGEST, f"took {took:.1f} s"


def fuzz(kind, count, folder, *, derandomize=False):
    """Try so many inputs of a kind -> how many were tried. Raises at the smallest that breaks something."""
    tried = 0

    @settings(
        max_examples=count,
        deadline=None,
        derandomize=derandomize,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=settings.default.phases if derandomize else [Phase.explicit, Phase.generate],
    )
    @given(KINDS[kind][0])
    def one(drawn):
        nonlocal tried
        tried += 1
        attempt(kind, drawn, folder)

    one()
    return tried


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kinds", nargs="*", help=f"some of {', '.join(KINDS)}; all if left out")
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--minutes", type=float, help="no longer than so many for each kind")
    options = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    failed = []
    for kind in options.kinds or KINDS:
        started = time.monotonic()
        with tempfile.TemporaryDirectory() as folder:
            try:
                tried = 0
                while tried < options.count and (
                    not options.minutes or time.monotonic() - started < 60 * options.minutes
                ):
                    tried += fuzz(kind, min(AT_A_TIME, options.count - tried), Path(folder))
                fell = f", {FELLED[f'.{kind}']} felled the library" if FELLED[f".{kind}"] else ""
                took = time.monotonic() - started
                print(f"{kind}: {tried:,} inputs, none broke anything{fell}, {took:.0f} s", flush=True)
            except Exception as problem:
                failed.append(kind)
                print(f"{kind}: {type(problem).__name__}: {problem}", flush=True)
                print("\n".join(getattr(problem, "__notes__", [])), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
