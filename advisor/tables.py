"""Lists as files: CSV, XLSX and Parquet, read in blocks of rows and written whole or not at all.

A kind of file is a class with two functions that worker processes call: `cells`, from a block to columns of what is
written, and `encoded`, from columns and results to what the target writes. The libraries for XLSX and Parquet are loaded
only for such a file. Text that a spreadsheet would take for a formula leaves as text.
"""

import csv
import datetime
import decimal
import io
import os
import re
from contextlib import contextmanager
from pathlib import Path

import numpy

from advisor.batch import NUMBERS, decimals, result_columns
from advisor.errors import CalloutError

BLOCK_BYTES = 1 << 20
BLOCK_ROWS = 8192
LONGEST_ROW = 1 << 24  # bytes; a longer one is a quote that nobody closed
MOST_XLSX_ROWS = 1_048_576
KINDS = {".csv": "csv", ".txt": "csv", ".tsv": "csv", ".xlsx": "xlsx", ".parquet": "parquet"}
FORMULA_MARKS = frozenset("=+-@＝＋－＠\t\r\n")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)
_UNPRINTED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


def kind_of(path):
    """The kind of file that an ending means: "csv", "xlsx" or "parquet"; "csv" for "-". Raises CalloutError."""
    if path == "-":
        return "csv"
    ending = Path(path).suffix.lower()
    if ending not in KINDS:
        raise CalloutError(path, "", "has an ending that is no kind of list", "Give a file named .csv, .xlsx or .parquet.")
    return KINDS[ending]


def library(name, kind):
    """A library that only some files need. Raises CalloutError where it is not installed."""
    import importlib

    try:
        return importlib.import_module(name)
    except ImportError:
        package = name.partition(".")[0]
        fix = "Install it with: pip install 'turn-radius[tables]', or use CSV."
        raise CalloutError(kind, "", f"needs the library {package}, which is not installed", fix) from None


def safe(text):
    """Text for a CSV file: with an apostrophe in front where a spreadsheet would take it for a formula.

    >>> safe("=1+1"), safe("-3.5"), safe("+0.2/-0"), safe("R6 ±0.1")
    ("'=1+1", '-3.5', "'+0.2/-0", 'R6 ±0.1')
    """
    return f"'{text}" if text[:1] in FORMULA_MARKS and not _NUMBER.fullmatch(text) else text


def for_text(cell):
    """A cell of any file as the text of a CSV file."""
    if cell is None:
        return ""
    if isinstance(cell, (datetime.datetime, datetime.date)):
        return cell.isoformat(" ") if isinstance(cell, datetime.datetime) else cell.isoformat()
    if isinstance(cell, bool):
        return str(cell).lower()
    return str(cell)


def open_source(path, stream=None):
    """A list to read: its header, kind, and blocks. path: of a file, or "-" for the binary stream. Raises CalloutError."""
    kind = kind_of(path)
    label = "standard input" if path == "-" else Path(path).name
    if path == "-":
        return CsvSource(stream, label, None)
    where = Path(path)
    if not where.exists():
        raise CalloutError(path, "", "is not there", "Give the path of a list.")
    if not where.is_file():
        raise CalloutError(path, "", "is not a file", "Give the path of a list.")
    return {"csv": _csv_file, "xlsx": XlsxSource, "parquet": ParquetSource}[kind](where, label)


def _csv_file(path, label):
    return CsvSource(path.open("rb"), label, path.stat().st_size)


# ---- CSV


class Csv:
    """Blocks are (text, number of its first line, delimiter); the target writes bytes."""

    @staticmethod
    def cells(block, order):
        """Columns of texts, line of each row, and row -> what is wrong with it as a row."""
        text, first_line, delimiter = block
        csv.field_size_limit(LONGEST_ROW)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        rows, lines, before = [], [], first_line
        for row in reader:
            if row:
                rows.append(row)
                lines.append(before)
            before = first_line + reader.line_num
        width, strays = len(order.header), {}
        for place, row in enumerate(rows):
            if len(row) != width:
                strays[place] = f"has {len(row)} fields where the heading has {width}"
                rows[place] = (row + [""] * width)[:width]
        return [list(column) for column in zip(*rows)] if rows else [[] for _ in order.header], lines, strays

    @staticmethod
    def encoded(block, cells, strays, results, order):
        """The rows with their results, as the bytes of CSV lines."""
        lines = None if strays or not cells else _lines_as_they_are(block, len(cells[0]), order)
        columns = [lines] if lines else [_field_texts(cells[place], order.delimiter) for place in order.carried]
        for name, column in results.items():
            columns.append(_number_texts(name, column, order) if name in NUMBERS else _field_texts(column, order.delimiter))
        return _csv_lines(columns, order)


def _csv_lines(columns, order):
    lines = order.newline.join(map(order.delimiter.join, zip(*columns)))
    return (lines + order.newline).encode("utf-8") if lines else b""


def _lines_as_they_are(block, count, order):
    """The lines of a CSV block where each is one row and nothing in them has to be made safe; None elsewhere."""
    text, delimiter = block[0], order.delimiter
    if not isinstance(text, str) or order.carried != tuple(range(len(order.header))) or text[:1] in FORMULA_MARKS:
        return None
    lines = text.removesuffix(order.newline).split(order.newline)
    if len(lines) != count or any(mark in text for mark in "\r\v\f" if mark not in order.newline):
        return None
    before = (delimiter, "\n", '"')
    risky = any(start + mark in text for mark in FORMULA_MARKS - {"\r", "\n"} for start in before)
    return None if risky or f"{delimiter}\r" in text.replace("\r\n", "\n") else lines


def _field_texts(cells, delimiter):
    """A column of cells as fields of a CSV file: safe, and in quotes where it has to be. Most columns need neither."""
    texts = cells if set(map(type, cells)) <= {str} else [for_text(cell) for cell in cells]
    joined = "\0" + "\0".join(texts)
    if any(f"\0{mark}" in joined for mark in FORMULA_MARKS):
        texts = [safe(text) if text[:1] in FORMULA_MARKS else text for text in texts]
    if any(mark in joined for mark in '"\n\r'):
        marks = re.compile(f'[{delimiter}"\n\r]')
        texts = ['"' + text.replace('"', '""') + '"' if marks.search(text) else text for text in texts]
    elif delimiter in joined:
        texts = [f'"{text}"' if delimiter in text else text for text in texts]
    return texts


def _number_texts(name, values, order):
    """A column of numbers as fields of a CSV file, empty where not known."""
    texts = numpy.full(len(values), "", dtype=object)
    known = numpy.flatnonzero(values == values)
    form = f".{decimals(name)}f"
    written = [format(value, form) for value in values[known].tolist()]
    if order.delimiter == ";":  # where the semicolon divides, a comma marks the decimals
        written = [text.replace(".", ",") for text in written]
    texts[known] = written
    return texts.tolist()


class CsvSource:
    """A CSV file or stream in UTF-8, divided by commas, semicolons or tabs."""

    kind = Csv
    row = "line"

    def __init__(self, stream, label, size):
        self.stream, self.label, self.total = stream, label, size
        self.done = 0
        self.line = 1
        self.rest = ""
        first = self._more()
        self.newline = "\r\n" if first.partition("\n")[0].endswith("\r") else "\n"
        self.delimiter = _delimiter(first)
        self.rest = first
        self.header = self._take_header()
        self.about_rows = None if size is None else size // 40

    def _take_header(self):
        reader = csv.reader(io.StringIO(self.rest, newline=""), delimiter=self.delimiter)
        header = next((row for row in reader if row), [])
        lines = io.StringIO(self.rest, newline="")
        length = sum(len(lines.readline()) for _ in range(reader.line_num))
        self.line += reader.line_num
        self.rest = self.rest[length:]
        return tuple(header)

    def _more(self):
        """The next lines as text, about a block; '' at the end."""
        data = self.stream.read(BLOCK_BYTES)
        if data and not data.endswith(b"\n"):
            data += self.stream.readline()
        start, self.done = self.done, self.done + len(data)
        if start == 0:
            if data.startswith((b"\xff\xfe", b"\xfe\xff")):
                raise CalloutError(self.label, "", "is in UTF-16", 'Save the list as "CSV UTF-8".')
            data = data.removeprefix(b"\xef\xbb\xbf")
        try:
            return data.decode("utf-8")
        except UnicodeDecodeError as wrong:
            line = self.line + self.rest.count("\n") + data[: wrong.start].count(b"\n")
            problem = "has a character that is not UTF-8"
            raise CalloutError(f"{self.label}, line {line}", "", problem, 'Save the list as "CSV UTF-8".') from None

    def blocks(self):
        """Blocks of whole rows; one without rows where the list has none."""
        sent = False
        while True:
            more = self._more()
            text = self.rest + more
            if not more and (sent and not text):
                return
            length = len(text) if not more else _whole_rows(text, self.delimiter)
            if length == 0 and more and len(text) > LONGEST_ROW:
                problem, fix = "opens a quote that is never closed", "Close it, or take it out."
                raise CalloutError(f"{self.label}, line {self.line}", "", problem, fix)
            block, self.rest = text[:length], text[length:]
            if block or not more:
                yield block, self.line, self.delimiter
                sent = True
            self.line += block.count("\n") + block.count("\r") - block.count("\r\n")
            if not more:
                return


def _delimiter(text):
    """What divides the fields of the heading: a comma, a semicolon or a tab."""
    heading = re.sub(r'"[^"]*"', "", text.lstrip().partition("\n")[0])
    return max(",;\t", key=lambda mark: (heading.count(mark), mark == ","))


def _whole_rows(text, delimiter):
    """How much of a text that ends with a line is whole rows: all but a last one whose quote is still open."""
    outside = text.split('"')
    if len(outside) % 2:  # what is written in quotes lies between; a doubled quote leaves an empty part
        edges, parts = delimiter + "\r\n", outside[::2]
        starts = all(part[0] in edges for part in parts[1:] if part)
        if starts and all(part[-1] in edges for part in parts[:-1] if part):
            return len(text)
    lines = io.StringIO(text, newline="").readlines()
    ended = []

    def feed():
        yield from lines
        ended.append(True)

    csv.field_size_limit(1 << 30)
    reader = csv.reader(feed(), delimiter=delimiter)
    whole = 0
    for _ in reader:
        if ended:
            break
        whole = reader.line_num
    return sum(map(len, lines[:whole]))


class CsvTarget:
    """Writes CSV to a binary stream."""

    kind = Csv

    def __init__(self, stream, order, against):
        self.stream = stream
        heading = [str(order.header[place]) for place in order.carried] + result_columns(against=against)
        self.stream.write(_csv_lines([_field_texts([name], order.delimiter) for name in heading], order))

    def write(self, lines):
        """The lines of one block."""
        self.stream.write(lines)

    def finish(self):
        """Nothing is left to write."""


# ---- XLSX


class Xlsx:
    """Blocks are (rows, number of the first row); the target writes rows."""

    @staticmethod
    def cells(block, order):
        rows, first = block
        width, strays = len(order.header), {}
        kept, lines = [], []
        for place, row in enumerate(rows):
            if any(cell is not None for cell in row[width:]):
                strays[place] = f"has more cells than the {width} of the heading"
            kept.append((*row, *(None,) * width)[:width])
            lines.append(first + place)
        return [list(column) for column in zip(*kept)] if kept else [[] for _ in order.header], lines, strays

    @staticmethod
    def encoded(block, cells, strays, results, order):
        columns = [cells[place] for place in order.carried]
        for name, column in results.items():
            columns.append([value if value == value else None for value in column.tolist()] if name in NUMBERS else column)
        return list(zip(*columns))


class XlsxSource:
    """The sheet of an XLSX file that was last in front; formulas count as the values that were saved with them."""

    kind = Xlsx
    row = "row"
    delimiter, newline = ",", "\n"

    def __init__(self, path, label):
        openpyxl = library("openpyxl", "XLSX")
        self.label, self.done, self.total = label, 0, None
        try:
            book = openpyxl.load_workbook(path, read_only=True, data_only=True)
            sheet = book.active or book.worksheets[0]
            sheet.reset_dimensions()
            self.rows = sheet.iter_rows(values_only=True)
            header = list(next(self.rows, ()))
        except OSError:
            raise
        except Exception as problem:  # the library lets many kinds of error out
            raise CalloutError(label, "", "is not an XLSX file", "Save the list as an Excel workbook (.xlsx).") from problem
        while header and header[-1] is None:
            header.pop()
        self.header = tuple("" if name is None else str(name) for name in header)
        self.about_rows = path.stat().st_size // 10
        self.total = None

    def blocks(self):
        """Blocks of rows; one without rows where the sheet has none."""
        rows, first = [], 2
        for row in self.rows:
            rows.append(row)
            if len(rows) == BLOCK_ROWS:
                yield rows, first
                first += len(rows)
                self.done += len(rows)
                rows = []
        if rows or first == 2:
            yield rows, first
            self.done += len(rows)


class XlsxTarget:
    """Writes one sheet to an XLSX file. Text is written as text, whatever it begins with."""

    kind = Xlsx

    def __init__(self, stream, order, against):
        openpyxl = library("openpyxl", "XLSX")
        self.stream, self.written = stream, 0
        self.book = openpyxl.Workbook(write_only=True)
        self.sheet = self.book.create_sheet("priced")
        self.sheet.freeze_panes = "A2"
        self.cell = openpyxl.cell.WriteOnlyCell
        self.write([[*(order.header[place] for place in order.carried), *result_columns(against=against)]])

    def write(self, rows):
        """The rows of one block."""
        for row in rows:
            self.written += 1
            if self.written > MOST_XLSX_ROWS:
                fix = "Write CSV or Parquet instead."
                raise CalloutError("XLSX", "", f"takes {MOST_XLSX_ROWS:,} rows at most", fix)
            self.sheet.append([self._cell(value) for value in row])

    def _cell(self, value):
        if isinstance(value, (decimal.Decimal, int, float, bool, type(None))):
            return value
        if isinstance(value, (datetime.datetime, datetime.date, datetime.time)):
            return value.replace(tzinfo=None) if getattr(value, "tzinfo", None) else value
        text = _UNPRINTED.sub("", str(value))
        if not text.startswith("="):
            return text or None
        cell = self.cell(self.sheet, value=text)
        cell.data_type = "s"
        return cell

    def finish(self):
        """Write the file."""
        self.book.save(self.stream)


# ---- Parquet


class Parquet:
    """Blocks are (record batch, number of its first row); the target writes tables."""

    @staticmethod
    def cells(block, order):
        batch, first = block
        return [column.to_pylist() for column in batch.columns], list(range(first, first + batch.num_rows)), {}

    @staticmethod
    def encoded(block, cells, strays, results, order):
        arrow = library("pyarrow", "Parquet")
        names, arrays = [], []
        own = block[0] if hasattr(block[0], "columns") else None
        for place in order.carried:
            name = str(order.header[place]).strip() or f"column {place + 1}"
            names.append(name if own is None else order.header[place])
            column = own.columns[place] if own is not None else [None if c in (None, "") else for_text(c) for c in cells[place]]
            arrays.append(column if own is not None else arrow.array(column, type=arrow.string()))
        for name, column in results.items():
            names.append(name)
            if name in NUMBERS:
                arrays.append(arrow.array(column, type=arrow.float64(), from_pandas=True))
            else:
                arrays.append(arrow.array([cell or None for cell in column], type=arrow.string()))
        return arrow.table(arrays, names=names)


class ParquetSource:
    """A Parquet file."""

    kind = Parquet
    row = "row"
    delimiter, newline = ",", "\n"

    def __init__(self, path, label):
        library("pyarrow", "Parquet")
        parquet = library("pyarrow.parquet", "Parquet")
        self.label, self.done = label, 0
        try:
            self.file = parquet.ParquetFile(path)
        except OSError:
            raise
        except Exception as problem:  # the library lets several kinds of error out
            raise CalloutError(label, "", "is not a Parquet file", "Give a Parquet file.") from problem
        self.header = tuple(self.file.schema_arrow.names)
        self.total = self.about_rows = self.file.metadata.num_rows

    def blocks(self):
        """Blocks of rows; one without rows where the file has none."""
        arrow = library("pyarrow", "Parquet")
        first = 1
        for batch in self.file.iter_batches(batch_size=BLOCK_ROWS):
            yield batch, first
            first += batch.num_rows
            self.done += batch.num_rows
        if first == 1:
            schema = self.file.schema_arrow
            yield arrow.RecordBatch.from_arrays([arrow.array([], type=field.type) for field in schema], schema=schema), 1


class ParquetTarget:
    """Writes a Parquet file, a row group a block."""

    kind = Parquet

    def __init__(self, stream, order, against):
        self.parquet = library("pyarrow.parquet", "Parquet")
        self.stream, self.writer = stream, None

    def write(self, table):
        """The rows of one block."""
        if self.writer is None:
            self.writer = self.parquet.ParquetWriter(self.stream, table.schema)
        self.writer.write_table(table)

    def finish(self):
        """Write the end of the file."""
        if self.writer is not None:
            self.writer.close()


TARGETS = {"csv": CsvTarget, "xlsx": XlsxTarget, "parquet": ParquetTarget}


@contextmanager
def open_target(path, order, *, against, replace, stream=None):
    """A list to write, in a `with`: it takes its place when all is written, and where it fails the old file is left.

    path: of a file, or "-" for the binary stream; replace: whether a file that is there may be replaced. Raises CalloutError.
    """
    target = TARGETS[kind_of(path)]
    if path == "-":
        yield target(stream, order, against)
        stream.flush()
        return
    where = Path(os.path.realpath(path))
    _may_write(where, path, replace)
    beside = where.with_name(f".{where.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as file:
            opened = target(file, order, against)
            yield opened
            opened.finish()
            file.flush()
            os.fsync(file.fileno())
        _may_write(where, path, replace)
        os.replace(beside, where)
    finally:
        beside.unlink(missing_ok=True)


def _may_write(where, path, replace):
    if where.is_dir():
        raise CalloutError(path, "", "is a folder", "Give the name of a file.")
    if not where.parent.is_dir():
        raise CalloutError(path, "", "lies in a folder that is not there", "Make the folder first.")
    if where.exists() and not replace:
        raise CalloutError(path, "", "is there already", "Give another name, or --replace.")
