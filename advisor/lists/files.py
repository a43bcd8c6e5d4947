"""Lists as files: CSV, XLSX, ODS and Parquet, read in blocks of rows and written whole or not at all.

A kind of file is a class with two functions that worker processes call: `rows`, from a block to columns of what is
written, and `encoded`, from columns and results to what the target writes. The libraries for XLSX and Parquet are
loaded only for such a file. Text that a spreadsheet would take for a formula leaves as text.
"""

from __future__ import annotations

import codecs
import csv
import datetime
import decimal
import functools
import io
import json
import re
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import numpy

from advisor.ground import apart, whole_files
from advisor.ground.errors import CalloutError
from advisor.ground.spreadsheet import MARKS, safe
from advisor.ground.units import shown
from advisor.lists import headings, workbook_size
from advisor.lists.headings import Told
from advisor.lists.listing import Coded
from advisor.lists.pricing import Rows

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from typing import Any, BinaryIO

    from advisor.formulas.numeric import Column as Numbers
    from advisor.lists.headings import Cell, Found
    from advisor.lists.pricing import Order, Results

    Merged = list[tuple[tuple[int, int], tuple[int, int]]]  # first and last cell of those that were made one

BLOCK_BYTES = 1 << 21
BLOCK_ROWS = 8192
QUICK_FROM = 100_000  # characters; loading the quick way takes longer than a short list
LONGEST_ROW = 1 << 24  # bytes; a longer one is a quote that nobody closed
MOST_XLSX_ROWS = 1_048_576
DATED = datetime.datetime(2000, 1, 1)  # in an XLSX file, which has to have a date: the same list is the same file
MOST_COLUMNS = 16_384  # as many as an XLSX sheet has
LONGEST_CELL = 32_767  # characters of a text in a Parquet file, as many as an XLSX cell takes
# What an XLSX file may come to when it is unpacked: a file that grows more than so many times and past so many bytes is
# none that was ever typed.
GROWS, UNPACKED = 200, 64 << 20
MOST_CELLS = 24_000_000  # that a sheet may span: a million rows of two dozen columns
KINDS = {".csv": "csv", ".txt": "csv", ".tsv": "csv", ".xlsx": "xlsx", ".parquet": "parquet"}
READ = KINDS | {".xlsm": "xlsx", ".ods": "xlsx"}
NAMES = {".xlsx": "an XLSX file", ".xlsm": "an XLSM file", ".ods": "an ODS file"}
_UNPRINTED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")


class Encoder(Protocol):
    """What worker processes do for a target."""

    @staticmethod
    def encoded(rows: Rows, results: Results, order: Order, /) -> Any:
        """The rows with their results, as the target writes them."""


class Kind(Encoder, Protocol):
    """What worker processes do with a kind of file."""

    @staticmethod
    def rows(block: Any, order: Order, /) -> Rows:
        """The block as Rows."""


class Source(Protocol):
    """A list that is read. header: texts; sample: rows below the heading; above: texts of the rows above it; place: where
    the heading is, "" where it is the first row; row: what it calls a row; about_rows: how many, None where nobody knows;
    total: of what `done` counts."""

    @property
    def kind(self) -> Kind: ...

    row: str
    label: str
    told: Told
    header: tuple[str, ...]
    sample: list[list[Any]]
    above: list[str]
    place: str
    delimiter: str
    newline: str
    about_rows: int | None
    total: int | None
    done: int

    def blocks(self) -> Iterator[Any]:
        """Blocks of rows, as its kind takes them."""


class Sink(Protocol):
    """What takes a priced list."""

    @property
    def kind(self) -> Encoder: ...

    def write(self, made: Any, /) -> None:
        """The rows of one block, as its kind makes them."""


class Target(Sink, Protocol):
    """A list that is written."""

    def finish(self) -> None:
        """Write the end."""


def kind_of(path: str, kinds: Mapping[str, str] = KINDS) -> str:
    """The kind of file that an ending means: "csv", "xlsx" or "parquet"; "csv" for "-". Raises CalloutError.

    kinds: ending -> kind, of files to write or, with READ, to read.
    """
    if path == "-":
        return "csv"
    ending = Path(path).suffix.lower()
    if ending not in kinds:
        named = [ending for ending in (".csv", ".xlsx", ".ods", ".parquet") if ending in kinds]
        fix = f"Give a file named {', '.join(named[:-1])} or {named[-1]}."
        raise CalloutError(path, "", "has an ending that is no kind of list", fix)
    return kinds[ending]


def delimiter_for(path: str, source: Source) -> str:
    """What divides the fields of a priced list: a tab where its ending says so, or else what divides those of the
    list.
    """
    return "\t" if Path(path).suffix.lower() == ".tsv" else source.delimiter


def library(name: str, kind: str) -> Any:
    """A library that only some files need. Raises CalloutError where it is not installed."""
    import importlib

    try:
        return importlib.import_module(name)
    except ImportError:
        package = name.partition(".")[0]
        fix = "Install it with: pip install 'turn-radius[tables]', or use CSV or XLSX."
        if kind == "XLSX":
            fix = f"Install it with: pip install {package}, or use CSV."
        raise CalloutError(kind, "", f"needs the library {package}, which is not installed", fix) from None


def for_text(cell: Cell) -> str:
    """A cell of any file as the text of a CSV file."""
    if cell is None:
        return ""
    if isinstance(cell, (datetime.datetime, datetime.date)):
        return cell.isoformat(" ") if isinstance(cell, datetime.datetime) else cell.isoformat()
    if isinstance(cell, bool):
        return str(cell).lower()
    return str(cell)


def open_source(path: str, stream: BinaryIO | None = None, told: Told = Told()) -> Source:
    """A list to read: its header, kind, and blocks. path: of a file, or "-" for the binary stream; told: what the user
    says of its columns (headings.Told). Raises CalloutError.
    """
    kind = kind_of(path, READ)
    label = "standard input" if path == "-" else Path(path).name
    if path == "-":
        if stream is None:
            raise CalloutError("standard input", "", "is closed", "Give the path of a list.")
        return CsvSource(stream, label, None, told)
    where = Path(path)
    if not where.exists():
        raise CalloutError(path, "", "is not there", "Give the path of a list.")
    if not where.is_file():
        raise CalloutError(path, "", "is not a file", "Give the path of a list.")
    opened: dict[str, Callable[[Path, str, Told], Source]] = {
        "csv": _csv_file,
        "xlsx": XlsxSource,
        "parquet": ParquetSource,
    }
    return opened[kind](where, label, told)


def _csv_file(path: Path, label: str, told: Told) -> CsvSource:
    return CsvSource(path.open("rb"), label, path.stat().st_size, told)


def _told_texts(rows: Iterable[Iterable[Cell]]) -> list[str]:
    """Rows above a heading as texts, for the account: those in which something is written."""
    texts = [" ".join(" ".join(for_text(cell).split()) for cell in row if cell not in (None, "")) for row in rows]
    return [text for text in texts if text]


# ---- CSV


class Csv:
    """Blocks are (text, number of its first line, delimiter); the target writes bytes."""

    @staticmethod
    def rows(block: tuple[str, int, str], order: Order) -> Rows:
        """The block as Rows; own: columns of texts, or _Lines where nothing in the lines has to be changed."""
        quick = _quick_rows(block, order)
        if quick:
            return quick
        text, first_line, delimiter = block
        csv.field_size_limit(LONGEST_ROW)
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        found, numbers, before = [], [], first_line
        try:
            for row in reader:
                if row:
                    found.append(row)
                    numbers.append(before)
                before = first_line + reader.line_num
        except csv.Error:
            raise _unreadable_line(order.label, before) from None
        width, strays = len(order.header), {}
        for place, row in enumerate(found):
            if len(row) != width:
                if any(cell and not cell.isspace() for cell in row):
                    strays[place] = f"has {len(row)} fields where the heading has {width}"
                found[place] = (row + [""] * width)[:width]
        columns = [list(column) for column in zip(*found)] if found else [[] for _ in order.header]
        return Rows.of(columns, numbers, strays, order)

    @staticmethod
    def encoded(rows: Rows, results: Results, order: Order) -> bytes:
        """The rows with their results, as the bytes of CSV lines."""
        if isinstance(rows.own, _Lines):
            return rows.own.encoded(results, order)
        columns = [_field_texts(texts_of(column), order.delimiter) for column in carried(rows, order)]
        for column in results.values():
            columns.append(
                _number_texts(column, order)
                if isinstance(column, numpy.ndarray)
                else _in_quotes(texts_of(column), order.delimiter)
            )
        return _csv_lines(columns, order)


def _unreadable_line(label: str, line: int) -> CalloutError:
    """The error of a line that is no row of a CSV file."""
    fix = "Look for a quote that nobody closed, and write each cell shorter than 16 MB."
    return CalloutError(f"{label}, line {line}", "", "is too long to be a row", fix)


def carried(rows: Rows, order: Order) -> list[list[Any]]:
    """The columns that are carried through, as lists of cells."""
    if isinstance(rows.own, _Lines):
        rows.own = [column.to_pylist() for column in rows.own.table.columns]
    columns = rows.own
    if hasattr(rows.own, "schema"):
        cells = _OnDemand(rows.own, order)
        columns = [cells[place] for place in range(rows.own.num_columns)]
    return [columns[place] for place in order.carried]


def texts_of(column: Sequence[Any] | Coded) -> list[str]:
    """A column of cells as texts."""
    if isinstance(column, Coded):
        return column.cells()
    return list(column) if set(map(type, column)) <= {str} else [for_text(cell) for cell in column]


def _csv_lines(columns: Iterable[Sequence[str]], order: Order) -> bytes:
    lines = order.newline.join(map(order.delimiter.join, zip(*columns)))
    return (lines + order.newline).encode("utf-8") if lines else b""


def _field_texts(texts: Sequence[str], delimiter: str) -> Sequence[str]:
    """Texts of others as fields of a CSV file: safe, and in quotes where they have to be."""
    return _in_quotes([safe(text) if text[:1] in MARKS else text for text in texts], delimiter)


def _in_quotes(texts: Sequence[str], delimiter: str) -> Sequence[str]:
    """Texts as fields of a CSV file, in quotes where they have to be. Most columns need none."""
    joined = "".join(texts)
    if any(mark in joined for mark in '"\n\r'):
        marks = re.compile(f'[{delimiter}"\n\r]')
        texts = ['"' + text.replace('"', '""') + '"' if marks.search(text) else text for text in texts]
    elif delimiter in joined:
        texts = [f'"{text}"' if delimiter in text else text for text in texts]
    return texts


def _number_texts(values: Numbers, order: Order) -> list[str]:
    """Rounded numbers as fields of a CSV file, empty where not known."""
    texts = numpy.full(len(values), "", dtype=object)
    known = numpy.flatnonzero(values == values)
    written = [repr(value).removesuffix(".0") for value in values[known].tolist()]
    if order.delimiter == ";":  # where the semicolon divides, a comma marks the decimals
        written = [text.replace(".", ",") for text in written]
    texts[known] = written
    return texts.tolist()


# Long lists of tidy lines go the quick way, through pyarrow where it is installed, to the very same bytes.


def _quick_rows(block: tuple[str, int, str], order: Order) -> Rows | None:
    """Rows of a block whose every line is one row that can stay as it is; None for any other block."""
    text, first_line, delimiter = block
    if order.carried != tuple(range(len(order.header))) or text[:1] in MARKS or len(text) < QUICK_FROM:
        return None
    if delimiter != order.delimiter:
        return None
    if not text.endswith(order.newline) or not _well_quoted(text, delimiter):
        return None
    lines = text.removesuffix(order.newline).split(order.newline)
    returns = len(lines) if "\r" in order.newline else 0
    if (text.count("\n"), text.count("\r")) != (len(lines), returns) or any(
        "\n" in part for part in text.split('"')[1::2]
    ):
        return None
    data = text.encode("utf-8")
    if _has_formulas(text, data, delimiter):
        return None
    table = _arrow_table(text, data, delimiter)
    if table is None or table.num_rows != len(lines) or table.num_columns != len(order.header):
        return None
    keyed = {key: _arrow_coded(table.column(place)) for key, place in order.keys.items()}
    if "radius" not in keyed or None in keyed["radius"].distinct:
        return None
    if order.header[order.keys["radius"]] in keyed["radius"].distinct:  # the heading once more
        return None
    numbers = range(first_line, first_line + len(lines))
    nothing = numpy.zeros(len(lines), dtype=bool)
    return Rows(numbers, keyed, {}, nothing, _Lines(lines, table), nothing)


def _has_formulas(text: str, data: bytes, delimiter: str) -> bool:
    """Whether some field, in quotes or not, may begin with one of MARKS."""
    starts, marks = numpy.zeros(256, dtype=bool), numpy.zeros(256, dtype=bool)
    starts[list(f'{delimiter}\n"'.encode())] = True
    marks[[ord(mark) for mark in MARKS if mark.isascii() and mark not in "\r\n"]] = True
    held = numpy.frombuffer(data, dtype=numpy.uint8)
    return any(mark in text for mark in MARKS if not mark.isascii()) or bool(
        (starts[held[:-1]] & marks[held[1:]]).any()
    )


def _arrow_table(text: str, data: bytes, delimiter: str) -> Any:
    """A block of CSV as a table of texts; None without pyarrow, or where it cannot read the block."""
    try:
        import pyarrow
        from pyarrow import csv as arrow_csv
    except ImportError:
        return None
    names = [f"f{place}" for place in range(text.partition("\n")[0].count(delimiter) + 1)]
    try:
        return arrow_csv.read_csv(
            pyarrow.BufferReader(data),
            read_options=arrow_csv.ReadOptions(
                use_threads=False, autogenerate_column_names=True, block_size=len(data) + 1
            ),
            parse_options=arrow_csv.ParseOptions(delimiter=delimiter),
            convert_options=arrow_csv.ConvertOptions(
                column_types=dict.fromkeys(names, pyarrow.string()), strings_can_be_null=False
            ),
        )
    except pyarrow.ArrowInvalid:
        return None


def _arrow_coded(column: Any) -> Coded:
    column = column.combine_chunks().dictionary_encode()
    distinct = [text if text and not text.isspace() else None for text in column.dictionary.to_pylist()]
    return Coded(column.indices.to_numpy(), distinct)


class _Lines:
    """The lines of a block as they stand in the file, and the table of their cells."""

    def __init__(self, lines: Sequence[str], table: Any) -> None:
        self.lines = lines
        self.table = table

    def encoded(self, results: Results, order: Order) -> bytes:
        """The lines with their results behind them, as bytes."""
        import pyarrow
        from pyarrow import compute

        columns = [pyarrow.array(self.lines)]
        for column in results.values():
            if isinstance(column, numpy.ndarray):
                if order.delimiter != ";" and not (numpy.abs(column) >= 1e10).any():
                    columns.append(pyarrow.array(column, from_pandas=True).cast(pyarrow.string()))
                else:
                    columns.append(pyarrow.array(_number_texts(column, order)))
            elif isinstance(column, Coded):
                distinct = pyarrow.array(_in_quotes(column.distinct, order.delimiter))
                columns.append(distinct.take(pyarrow.array(column.codes)))
            else:
                columns.append(pyarrow.array(_in_quotes(column, order.delimiter)))
        columns[-1] = compute.binary_join_element_wise(columns[-1], "", order.newline)
        joined = compute.binary_join_element_wise(
            *columns, order.delimiter, null_handling="replace", null_replacement=""
        )
        return joined.buffers()[2].to_pybytes() if len(joined) else b""


class CsvSource:
    """A CSV file or stream in UTF-8, Windows-1252 or UTF-16, divided by commas, semicolons or tabs."""

    kind = Csv
    row = "line"

    def __init__(self, stream: BinaryIO, label: str, size: int | None, told: Told = Told()) -> None:
        self.stream, self.label, self.total, self.told = stream, label, size, told
        self.decoder: codecs.IncrementalDecoder | None = None
        self.encoding, self.tail = "UTF-8", ""
        self.done = 0
        self.line = 1
        self.rest = ""
        first = self._more()
        self.newline = "\r\n" if first.partition("\n")[0].endswith("\r") else "\n"
        self.delimiter = _delimiter(first)
        self.rest = first
        self.header = self._take_header()
        self.about_rows = None if size is None else size // 40

    def _take_header(self) -> tuple[str, ...]:
        """Take the heading and what stands above it off the text that was read."""
        self.delimiter, rows, ends = min(
            (self._first_rows(mark) for mark in dict.fromkeys((self.delimiter, *",;\t"))),
            key=lambda found: -_names_in(found[1], self.told),
        )
        found = headings.find(rows, self.told)
        self.above, self.sample, self.place = [], [], ""
        if found is None:
            lines = self.rest.count("\n")
            self.line, self.rest = self.line + lines, ""
            return ()
        last = found.row + found.depth - 1
        header = rows[found.row] if found.depth == 1 else list(found.header)
        above = _told_texts(rows[: found.row])
        if above:
            self.above, self.place = above, f"line {ends[found.row - 1] + 1 if found.row else 1}"
        self.sample = rows[last + 1 : last + 1 + headings.SAMPLE]
        lines = io.StringIO(self.rest, newline="")
        length = sum(len(lines.readline()) for _ in range(ends[last]))
        self.line += ends[last]
        self.rest = self.rest[length:]
        return tuple(header)

    def _first_rows(self, delimiter: str) -> tuple[str, list[list[str]], list[int]]:
        """The rows at the top, divided by a mark -> (mark, rows, number of the line with which each ends)."""
        csv.field_size_limit(LONGEST_ROW)
        reader = csv.reader(io.StringIO(self.rest, newline=""), delimiter=delimiter)
        rows, ends = [], []
        try:
            for row in reader:
                _check_columns(f"{self.label}, line {reader.line_num}", row)  # before anything looks for words in it
                rows.append(row)
                ends.append(reader.line_num)
                if len(rows) >= headings.LOOKED_AT + headings.SAMPLE:
                    break
        except csv.Error:
            if not any(rows):
                raise _unreadable_line(self.label, 1) from None
        return delimiter, rows, ends

    def _more(self) -> str:
        """The next lines as text, about a block; '' at the end."""
        data = self.stream.read(BLOCK_BYTES)
        if self.done == 0:
            self._tell_encoding(data)
        if self.decoder is not None:
            return self._decoded(data, self.decoder)
        if data and not data.endswith(b"\n"):
            data += self.stream.readline(LONGEST_ROW)
            if len(data) >= LONGEST_ROW:
                raise _unreadable_line(self.label, self.line + self.rest.count("\n") + data.count(b"\n"))
        start, self.done = self.done, self.done + len(data)
        if start == 0:
            data = data.removeprefix(b"\xef\xbb\xbf")
        try:
            return data.decode("utf-8")
        except UnicodeDecodeError as wrong:
            line = self.line + self.rest.count("\n") + data[: wrong.start].count(b"\n")
            problem = "has a character that is not UTF-8"
            raise CalloutError(f"{self.label}, line {line}", "", problem, 'Save the list as "CSV UTF-8".') from None

    def _tell_encoding(self, data: bytes) -> None:
        """How the text of a list is written: UTF-8, or as spreadsheet programs save it elsewhere, told by its beginning."""
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            self.encoding = "UTF-16"
        else:
            try:
                codecs.getincrementaldecoder("utf-8")().decode(data)  # a letter may be cut at the end
                return
            except UnicodeDecodeError:
                self.encoding = "Windows-1252"
        self.decoder = codecs.getincrementaldecoder(self.encoding)()

    def _decoded(self, data: bytes, decoder: codecs.IncrementalDecoder) -> str:
        """The next lines of a list that is not in UTF-8."""
        self.done += len(data)
        while True:
            try:
                text = self.tail + decoder.decode(data, final=not data)
            except UnicodeDecodeError:
                line = self.line + self.rest.count("\n") + self.tail.count("\n") + data.count(b"\n") // 2
                problem = f"has a character that is neither UTF-8 nor {self.encoding}"
                fix = 'Save the list as "CSV UTF-8".'
                raise CalloutError(f"{self.label}, about line {line}", "", problem, fix) from None
            whole = len(text) if not data else text.rfind("\n") + 1
            if whole or not data:
                self.tail = text[whole:]
                return text[:whole]
            if len(text) > LONGEST_ROW:
                raise _unreadable_line(self.label, self.line + self.rest.count("\n"))
            self.tail = text
            data = self.stream.read(BLOCK_BYTES)
            self.done += len(data)

    def blocks(self) -> Iterator[tuple[str, int, str]]:
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


def _names_in(rows: Sequence[Sequence[str]], told: Told) -> int:
    """How many names the heading has that is found in rows."""
    found = headings.find(rows, told)
    return 0 if found is None else len(headings.names_in(found.header, told))


def _check_columns(label: str, header: Sequence[Cell]) -> None:
    """Refuse a heading, or a row near it, with more columns than any list has."""
    if len(header) > MOST_COLUMNS:
        problem = f"has {len(header):,} columns"
        raise CalloutError(label, "", problem, f"Give a list of at most {MOST_COLUMNS:,}.")


def _delimiter(text: str) -> str:
    """What divides the fields of the heading: a comma, a semicolon or a tab."""
    heading = re.sub(r'"[^"]*"', "", text.lstrip().partition("\n")[0])
    return max(",;\t", key=lambda mark: (heading.count(mark), mark == ","))


def _well_quoted(text: str, delimiter: str) -> bool:
    """True where every quote stands round a whole field, and the last one is closed."""
    outside = text.split('"')[::2]  # what is written in quotes lies between; a doubled quote leaves an empty part
    edges = delimiter + "\r\n"
    if text.count('"') % 2:
        return False
    return all(part[0] in edges for part in outside[1:] if part) and all(
        part[-1] in edges for part in outside[:-1] if part
    )


def _whole_rows(text: str, delimiter: str) -> int:
    """How much of a text that ends with a line is whole rows: all but a last one whose quote is still open."""
    if _well_quoted(text, delimiter):
        return len(text)
    lines = io.StringIO(text, newline="").readlines()
    ended = []

    def feed() -> Iterator[str]:
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

    def __init__(self, stream: BinaryIO, order: Order) -> None:
        self.stream = stream
        heading = [str(order.header[place]) for place in order.carried] + order.results
        self.stream.write(_csv_lines([_field_texts([name], order.delimiter) for name in heading], order))

    def write(self, lines: bytes) -> None:
        """The lines of one block."""
        self.stream.write(lines)

    def finish(self) -> None:
        """Nothing is left to write."""


# ---- XLSX


class Xlsx:
    """Blocks are (rows, number of the first row); the target writes rows."""

    @staticmethod
    def rows(block: tuple[Sequence[Sequence[Cell]], int], order: Order) -> Rows:
        """The block as Rows; own: columns of cells."""
        found, first = block
        width, strays, kept = len(order.header), {}, []
        for place, row in enumerate(found):
            if any(cell is not None for cell in row[width:]):
                strays[place] = f"has more cells than the {width} of the heading"
            kept.append((*row, *(None,) * width)[:width])
        columns = [list(column) for column in zip(*kept)] if kept else [[] for _ in order.header]
        return Rows.of(columns, range(first, first + len(kept)), strays, order)

    @staticmethod
    def encoded(rows: Rows, results: Results, order: Order) -> list[tuple[Cell, ...]]:
        """The rows with their results."""
        columns = carried(rows, order)
        for column in results.values():
            columns.append(
                [value if value == value else None for value in column.tolist()]
                if isinstance(column, numpy.ndarray)
                else texts_of(column)
            )
        return list(zip(*columns))


class XlsxSource:
    """The sheet of an XLSX or ODS file that has the heading of a list; formulas count as the values that were saved with
    them. Cells that were made one keep their text in each row that they take.
    """

    kind = Xlsx
    row = "row"
    delimiter, newline = ",", "\n"

    def __init__(self, path: Path, label: str, told: Told = Told()) -> None:
        library("python_calamine", "XLSX")
        self.label, self.told, self.done = label, told, 0
        self.total: int | None = None
        what = NAMES.get(path.suffix.lower(), "an XLSX file")
        self._items = _apart(functools.partial(_workbook, path, label, what, told), label)
        found = next(self._items)
        self.header, self.sheet = tuple(found["header"]), found["sheet"]
        self.above, self.sample, self.place = found["above"], found["sample"], found["place"]
        self.about_rows: int | None = found["rows"]

    def blocks(self) -> Iterator[tuple[list[list[Cell]], int]]:
        """Blocks of rows; one without rows where the sheet has none."""
        for start, part in self._items:
            yield part, start
            self.done += len(part)


def _apart(work: Callable[[], Iterable[Any]], label: str) -> Iterator[Any]:
    """What a reader yields, made in a process of its own, as plain data; dates and times stay what they are."""
    made = apart.items(lambda: (json.dumps(item, default=_written).encode() for item in work()))
    try:
        for item in made:
            yield json.loads(item, object_hook=_read)
    except apart.Lost as problem:
        raise _lost(problem, label) from problem


def _lost(problem: apart.Lost, label: str) -> CalloutError:
    return CalloutError(label, "", str(problem), "Save the list anew, or as CSV.")


_TIMES: dict[str, Any] = {kind.__name__: kind for kind in (datetime.datetime, datetime.date, datetime.time)}


def _written(cell: datetime.date | datetime.time | datetime.timedelta) -> dict[str, Any]:
    if isinstance(cell, datetime.timedelta):
        return {"timedelta": [cell.days, cell.seconds, cell.microseconds]}
    return {type(cell).__name__: cell.isoformat()}


def _read(table: dict[str, Any]) -> Any:
    if len(table) != 1:
        return table
    ((kind, value),) = table.items()
    if kind == "timedelta":
        return datetime.timedelta(*value)
    return _TIMES[kind].fromisoformat(value) if kind in _TIMES else table


def _workbook(path: Path, label: str, what: str, told: Told) -> Iterator[Any]:
    """A workbook, for another process: what is told of it first, then blocks as (number of the first row, rows)."""
    calamine = library("python_calamine", "XLSX")
    workbook_size.check(path, label, what=what, grows=GROWS, unpacked=UNPACKED, most=MOST_CELLS)
    try:
        book = calamine.CalamineWorkbook.from_path(str(path))
        shown_ones = [
            one.name
            for one in book.sheets_metadata
            if one.visible == calamine.SheetVisibleEnum.Visible and one.typ == calamine.SheetTypeEnum.WorkSheet
        ]
        name, where, rows, merged = _best_sheet(book, shown_ones or book.sheet_names, label, told)
    except BaseException as problem:  # the library lets many kinds of error out, panics among them
        if isinstance(problem, (KeyboardInterrupt, SystemExit, MemoryError, CalloutError)):
            raise
        if getattr(problem, "errno", None):  # of the disk; what does not unpack is told without a number
            raise
        raise CalloutError(label, "", f"is not {what}", "Save the list as an Excel workbook (.xlsx).") from problem
    header = list(where.header) if where else []
    while header and not header[-1]:
        header.pop()
    _check_columns(f"{label}, heading", header)
    first = where.row + where.depth + 1 if where else 1
    place = "" if where is None or where.row == 0 else f"row {where.row + 1}"
    if len(book.sheet_names) > 1:
        place += (" of " if place else "") + f'sheet "{name}"'
    yield {
        "header": header,
        "sheet": name,
        "above": _told_texts(rows[: where.row]) if where else [],
        "sample": rows[first - 1 : first - 1 + headings.SAMPLE],
        "place": place,
        "rows": len(rows),
    }
    over = _merged_over(merged, len(header), len(rows))
    for start in range(first - 1, max(len(rows), first), BLOCK_ROWS):
        part = [list(map(_cell, row)) for row in rows[start : start + BLOCK_ROWS]]
        for row, column, top in over:
            if start <= row < start + len(part):
                part[row - start][column] = _cell(rows[top][column])
        yield start + 1, part


def _best_sheet(
    book: Any, names: Sequence[str], label: str, told: Told
) -> tuple[str, Found | None, list[list[Any]], Merged | None]:
    """The sheet with the best heading, or that which the user names -> (name, Found, rows, merged cells)."""
    if told.sheet is not None:
        if told.sheet not in book.sheet_names:
            fix = "Its sheets are " + ", ".join(f'"{shown(name)}"' for name in names) + "."
            raise CalloutError(label, shown(told.sheet), "is no sheet of this file", fix)
        names = [told.sheet]
    best = None
    for name in names:
        sheet = book.get_sheet_by_name(name)
        rows = list(sheet.iter_rows())
        found = headings.find([list(map(_cell, row)) for row in rows[: headings.LOOKED_AT]], told)
        count = len(headings.names_in(found.header, told)) if found else -1
        if best is None or count > best[0]:
            best = (count, name, found, rows, sheet.merged_cell_ranges)
    return best[1:] if best else ("", None, [], None)


def _merged_over(merged: Merged | None, width: int, height: int) -> list[tuple[int, int, int]]:
    """Cells under the first one of cells that were made one: list of (row, column, row of the first).

    width, height: columns and rows that the list has.
    """
    found = []
    for (top, left), (bottom, _) in merged or ():
        if left < width:
            found += [(row, left, top) for row in range(top + 1, min(bottom + 1, height))]
            if len(found) > MOST_XLSX_ROWS:
                break
    return found


def _cell(cell: Cell) -> Cell:
    """A cell as a list has it: None where it is empty, and whole numbers as such."""
    if cell == "":
        return None
    if type(cell) is float and cell.is_integer() and abs(cell) < 1e15:
        return int(cell)
    return cell


class XlsxTarget:
    """Writes one sheet to an XLSX file. Text is written as text, whatever it begins with."""

    kind = Xlsx

    def __init__(self, stream: BinaryIO, order: Order) -> None:
        xlsxwriter = library("xlsxwriter", "XLSX")
        self.stream, self.written = stream, 0
        self.book = xlsxwriter.Workbook(stream, {"constant_memory": True, "nan_inf_to_errors": True})
        self.book.set_properties({"created": DATED})
        self.sheet = self.book.add_worksheet("priced")
        self.sheet.freeze_panes(1, 0)
        self.bold = self.book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        self.dates = {
            kind: self.book.add_format({"num_format": form})
            for kind, form in (("date", "yyyy-mm-dd"), ("datetime", "yyyy-mm-dd hh:mm"), ("time", "hh:mm"))
        }
        heading = [*(order.header[place] for place in order.carried), *order.results]
        for column, name in enumerate(heading):
            self._put(0, column, str(name), self.bold)
        self.written = 1

    def write(self, rows: Iterable[Iterable[Cell]]) -> None:
        """The rows of one block."""
        for row in rows:
            if self.written >= MOST_XLSX_ROWS:
                fix = "Write CSV or Parquet instead."
                raise CalloutError("XLSX", "", f"takes {MOST_XLSX_ROWS:,} rows at most", fix)
            for column, value in enumerate(row):
                if value is not None and value != "":
                    self._put(self.written, column, value)
            self.written += 1

    def _put(self, row: int, column: int, value: Cell | decimal.Decimal, form: Any = None) -> None:
        kind = type(value)
        if kind is float or kind is int:
            self.sheet.write_number(row, column, value, form)
        elif kind is bool:
            self.sheet.write_boolean(row, column, value, form)
        elif isinstance(value, (decimal.Decimal, int, float)):
            self.sheet.write_number(row, column, float(value), form)
        elif isinstance(value, (datetime.datetime, datetime.date, datetime.time)):
            if not isinstance(value, datetime.datetime | datetime.time):
                pass
            elif value.tzinfo:
                value = value.replace(tzinfo=None)
            self.sheet.write_datetime(row, column, value, self.dates[type(value).__name__])
        else:
            text = _UNPRINTED.sub("", str(value))[:LONGEST_CELL]
            if text:
                self.sheet.write_string(row, column, text, form)

    def finish(self) -> None:
        """Write the file."""
        self.book.close()


# ---- Parquet


class Parquet:
    """Blocks are (record batch, number of its first row); the target writes tables."""

    @staticmethod
    def rows(block: tuple[Any, int], order: Order) -> Rows:
        """The block as Rows; own: the record batch."""
        batch, first = block
        columns = _OnDemand(batch, order)
        found = Rows.of(columns, range(first, first + batch.num_rows), {}, order)
        found.own = batch
        return found

    @staticmethod
    def encoded(rows: Rows, results: Results, order: Order) -> Any:
        """The rows with their results, as a table; own columns of a Parquet file keep their types, all others are
        texts.
        """
        arrow = library("pyarrow", "Parquet")
        names, arrays = [], []
        typed = hasattr(rows.own, "schema")
        cells = [] if typed else carried(rows, order)
        for number, place in enumerate(order.carried):
            name = str(order.header[place])
            names.append(name if typed else name.strip() or f"column {place + 1}")
            texts = None if typed else [for_text(cell) or None for cell in cells[number]]
            arrays.append(rows.own.column(place) if typed else arrow.array(texts, type=arrow.string()))
        for name, column in results.items():
            names.append(order.heading(name))
            if isinstance(column, numpy.ndarray):
                arrays.append(arrow.array(column, type=arrow.float64(), from_pandas=True))
            else:
                arrays.append(arrow.array([cell or None for cell in texts_of(column)], type=arrow.string()))
        return arrow.table(arrays, names=names)


class _OnDemand:
    """The columns of a record batch as lists of cells, each made when it is asked for."""

    def __init__(self, batch: Any, order: Order) -> None:
        self.batch, self.order = batch, order

    def __getitem__(self, place: int) -> list[Any]:
        try:
            return self.batch.column(place).to_pylist()
        except Exception as problem:  # times without a counterpart, texts that are none, whatever a file may hold
            where, name = f"{self.order.label}, column", shown(str(self.order.header[place]))
            fix = "Write it as text or as plain numbers."
            raise CalloutError(where, name, "holds values that cannot be read", fix) from problem


class ParquetSource:
    """A Parquet file."""

    kind = Parquet
    row = "row"
    delimiter, newline = ",", "\n"

    def __init__(self, path: Path, label: str, told: Told = Told()) -> None:
        library("pyarrow", "Parquet")
        library("pyarrow.parquet", "Parquet")
        self.label, self.told, self.done = label, told, 0
        self.sample: list[list[Any]] = []
        self.above: list[str] = []
        self.place = ""
        self._items = apart.items(functools.partial(_parquet, path, label))
        self.total: int | None = int(self._next() or 0)
        self.about_rows: int | None = self.total
        self.schema = self._table().schema
        self.header = tuple(self.schema.names)
        _check_columns(f"{label}, heading", self.header)

    def _next(self) -> bytes | None:
        try:
            return next(self._items, None)
        except apart.Lost as problem:
            raise _lost(problem, self.label) from problem

    def _table(self) -> Any:
        """The next table, None after the last."""
        from pyarrow import ipc

        item = self._next()
        return None if item is None else ipc.open_stream(item).read_all()

    def blocks(self) -> Iterator[tuple[Any, int]]:
        """Blocks of rows; one without rows where the file has none."""
        arrow = library("pyarrow", "Parquet")
        schema, first = self.schema, 1
        while (table := self._table()) is not None:
            for batch in table.to_batches():
                yield batch, first
                first += batch.num_rows
                self.done += batch.num_rows
        if first == 1:
            nothing = [arrow.array([], type=field.type) for field in schema]
            yield arrow.RecordBatch.from_arrays(nothing, schema=schema), 1


def _parquet(path: Path, label: str) -> Iterator[bytes]:
    """A Parquet file, for another process: how many rows it has, its schema, and its batches, as bytes."""
    arrow, parquet = library("pyarrow", "Parquet"), library("pyarrow.parquet", "Parquet")
    try:
        with parquet.ParquetFile(path) as looked_at:
            schema = looked_at.schema_arrow
        texts = [field.name for field in schema if str(field.type) in ("string", "large_string")]
        file = parquet.ParquetFile(path, read_dictionary=texts)
        yield str(file.metadata.num_rows).encode()
        yield _table_bytes(schema)
    except Exception as problem:  # the library lets several kinds of error out
        if getattr(problem, "errno", None):
            raise
        raise CalloutError(label, "", "is not a Parquet file", "Give a Parquet file.") from problem
    row = 1
    try:
        for batch in file.iter_batches(batch_size=BLOCK_ROWS):
            columns = [_written_out(field, column, label) for field, column in zip(schema, batch.columns, strict=True)]
            yield _table_bytes(schema, arrow.RecordBatch.from_arrays(columns, schema=schema))
            row += batch.num_rows
    except (CalloutError, GeneratorExit):
        raise
    except Exception as problem:
        if getattr(problem, "errno", None):
            raise
        fix = "Write the list anew as a Parquet file."
        raise CalloutError(f"{label}, after row {row - 1}", "", "cannot be read", fix) from problem


def _written_out(field: Any, column: Any, label: str) -> Any:
    """A column with each text written out, which is looked at before."""
    import pyarrow
    from pyarrow import compute

    if not pyarrow.types.is_dictionary(column.type) or pyarrow.types.is_dictionary(field.type):
        return column
    longest = compute.max(compute.binary_length(column.dictionary)).as_py() or 0
    if longest > 4 * LONGEST_CELL:
        problem = f"holds a text of {longest:,} bytes"
        fix = f"Give texts of at most {LONGEST_CELL:,} characters."
        raise CalloutError(f"{label}, column", shown(field.name), problem, fix)
    return column.cast(field.type)


def _table_bytes(schema: Any, batch: Any = None) -> bytes:
    """A schema, and the rows of one batch, as bytes for another process."""
    import pyarrow
    from pyarrow import ipc

    sink = pyarrow.BufferOutputStream()
    with ipc.new_stream(sink, schema) as writer:
        if batch is not None:
            writer.write_batch(batch)
    return sink.getvalue().to_pybytes()


class ParquetTarget:
    """Writes a Parquet file, a row group a block."""

    kind = Parquet

    def __init__(self, stream: BinaryIO, order: Order) -> None:
        self.parquet = library("pyarrow.parquet", "Parquet")
        self.stream = stream
        self.writer: Any = None

    def write(self, table: Any) -> None:
        """The rows of one block."""
        if self.writer is None:
            self.writer = self.parquet.ParquetWriter(self.stream, table.schema)
        self.writer.write_table(table)

    def finish(self) -> None:
        """Write the end of the file."""
        if self.writer is not None:
            self.writer.close()


TARGETS: dict[str, Callable[[BinaryIO, Order], Target]] = {
    "csv": CsvTarget,
    "xlsx": XlsxTarget,
    "parquet": ParquetTarget,
}


@contextmanager
def open_target(path: str, order: Order, *, replace: bool, stream: BinaryIO | None = None) -> Iterator[Target]:
    """A list to write, in a `with`: it takes its place when all is written, and where it fails the old file is left.

    path: of a file, or "-" for the binary stream; replace: whether a file that is there may be replaced. Raises
    CalloutError.
    """
    target = TARGETS[kind_of(path)]
    if path == "-":
        if stream is None:
            raise CalloutError("standard output", "", "is closed", "Give the path of a file.")
        yield target(stream, order)
        stream.flush()
        return
    whole_files.check(path, replace=replace)
    with whole_files.whole(path, replace=replace) as file:
        opened = target(file, order)
        yield opened
        opened.finish()
