"""A workbook looked at before a library reads it: that it is one, and that it does not come to far more than it is.

A few bytes can unpack to gigabytes, and one cell in the last corner of a sheet makes a library lay out the whole sheet.
"""

from __future__ import annotations

import errno
import lzma
import zipfile
import zlib
from typing import TYPE_CHECKING
from xml.parsers import expat

from advisor.ground.errors import CalloutError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_CHUNK = 1 << 20
_DAMAGED = (zipfile.BadZipFile, zlib.error, lzma.LZMAError)
PAST_ALL = 10**9  # further than any sheet goes
SPARSE, GROWS = 4_000_000, 50  # a sheet may span so many cells, or so many times those that are written out in it


def check(path: Path, label: str, *, what: str, grows: int, unpacked: int, most: int) -> None:
    """Refuse a file that is no packed workbook, or comes to far more than it is.

    what: such as "an XLSX file"; grows, unpacked: how many times a part may grow once it is past so many bytes; most:
    cells that a sheet may span. Raises CalloutError.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            members = packed.infolist()
            sizes = [(one.file_size, one.compress_size) for one in members]
            if any(full > unpacked and full > grows * max(small, 1) for full, small in sizes):
                raise _too_large(label)
            for one in members:
                if one.filename.lower().endswith((".xml", ".xml.rels")) or "sheet" in one.filename.lower():
                    _look_through(packed, one, label, most)
    except (*_DAMAGED, ValueError, NotImplementedError, RuntimeError, EOFError, OSError) as problem:
        # A place before the start of the file, and a stream that does not unpack, are no fault of the disk.
        if isinstance(problem, CalloutError) or getattr(problem, "errno", None) not in (None, errno.EINVAL):
            raise
        fix = "Save the list as an Excel workbook (.xlsx)."
        raise CalloutError(label, "", f"is not {what}", fix) from problem


def _too_large(label: str) -> CalloutError:
    fix = "Copy the list into a new workbook."
    return CalloutError(label, "", "is far larger inside than any list that was written", fix)


def _look_through(packed: zipfile.ZipFile, member: zipfile.ZipInfo, label: str, most: int) -> None:
    """Refuse a sheet that spans more cells than `most`, and what is no XML."""
    counter = _Counter()
    parser = expat.ParserCreate()
    parser.StartElementHandler, parser.EndElementHandler = counter.start, counter.end
    parser.CharacterDataHandler = counter.text
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = counter.declared
    read = 0
    with packed.open(member) as file:
        try:
            while chunk := file.read(_CHUNK):
                read += len(chunk)
                parser.Parse(chunk, False)
                if read > member.file_size or counter.rows * counter.columns > most or counter.declares:
                    raise _too_large(label)
        except expat.ExpatError as problem:  # the library would read on, and nobody would know how far
            raise zipfile.BadZipFile(str(problem)) from problem
        except zlib.error as problem:
            raise zipfile.BadZipFile(str(problem)) from problem
    if counter.rows * counter.columns > max(SPARSE, GROWS * counter.cells):
        raise _too_large(label)


class _Counter:
    """The last row and the last column of a sheet in which anything is written."""

    def __init__(self) -> None:
        self.rows = self.columns = self.cells = 0
        self.row = self.column = 0
        self.repeated_row = 1
        self.repeated_cell: int | None = None
        self.declares = False

    def declared(self, *_: object) -> None:
        self.declares = True

    def start(self, name: str, attributes: Mapping[str, str]) -> None:
        local = name.rpartition(":")[2]
        if local == "c":
            self.cells += 1
            self.column += 1
            reference = attributes.get("r")
            if reference:
                self._at(reference)
            self.columns = max(self.columns, self.column)
            self.rows = max(self.rows, self.row)
        elif local == "row":
            self.row = _whole(attributes.get("r"), self.row + 1)
            self.column = 0
        elif local == "table-row":
            self.repeated_row = _repeated(attributes, "number-rows-repeated")
            self.row += 1
            self.column = 0
        elif local in ("table-cell", "covered-table-cell"):
            self.cells += 1
            self.repeated_cell = _repeated(attributes, "number-columns-repeated")
            if any(key.endswith(":value-type") for key in attributes):
                self._written(self.repeated_cell)
        elif local == "table":
            self.row = self.column = 0

    def end(self, name: str) -> None:
        local = name.rpartition(":")[2]
        if local in ("table-cell", "covered-table-cell"):
            self.column += self.repeated_cell or 1
            self.repeated_cell = None
        elif local == "table-row":
            self.row += self.repeated_row - 1

    def text(self, text: str) -> None:
        if self.repeated_cell is not None and not text.isspace():
            self._written(self.repeated_cell)

    def _written(self, columns: int) -> None:
        self.columns = max(self.columns, self.column + columns)
        self.rows = max(self.rows, self.row + self.repeated_row - 1)

    def _at(self, reference: str) -> None:
        letters = reference.rstrip("0123456789")
        column = 0
        for letter in letters[:4].upper():
            column = column * 26 + ord(letter) - 64
        self.column = max(column, 1) if len(letters) <= 4 else PAST_ALL
        self.row = max(self.row, _whole(reference[len(letters) :], self.row))


def _whole(text: str | None, default: int) -> int:
    """A number of rows or columns; PAST_ALL for one with more digits, which a library may take for any other."""
    if not text or not text.isdecimal():
        return default
    return int(text) if len(text) < 10 else PAST_ALL


def _repeated(attributes: Mapping[str, str], name: str) -> int:
    text = next((value for key, value in attributes.items() if key.rpartition(":")[2] == name), "1")
    return _whole(text, 1)
