"""Rows of a CSV file, with exact line numbers, in whatever encoding and with any separator.

A byte-order mark says UTF-8 or UTF-16; without one the file is UTF-8 if all of it
is, else Windows-1252, which is noted.
"""

from __future__ import annotations

import codecs
import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final, TextIO

from trendwear.errors import InputProblem
from trendwear.readings.header_row import Row
from trendwear.readings.tabs import Layout, Tab

__all__ = ["csv_encoding", "csv_tab", "swallowed_rows"]

_SEPARATORS: Final = (",", ";", "\t")
_BLOCK: Final = 1 << 20
_LONGEST_LINE: Final = 1 << 20
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SAVE_AGAIN: Final = "Save it again as CSV in UTF-8"


def csv_tab(path: Path) -> Tab:
    """Return the one sheet of a CSV file, for each separator that may part its cells.

    Raises
    ------
    InputProblem
        It is empty or no text.
    """
    text = _Text(path, csv_encoding(path))
    layouts = (Layout(partial(text.rows, separator), separator) for separator in _SEPARATORS)
    remarks: tuple[str, ...] = ()
    if text.encoding == "cp1252":
        remarks = (f"{path.name}: it is not UTF-8 and was read as Windows-1252",)
    return Tab(path.stem, tuple(layouts), remarks)


def csv_encoding(path: Path) -> str:
    """Return the encoding of a text file: ``utf-8-sig``, ``utf-16`` or ``cp1252``.

    Raises
    ------
    InputProblem
        It is empty, or no text.
    """
    with path.open("rb") as file:
        block = file.read(_BLOCK)
        if not block.strip():
            raise InputProblem(path.name, "the file is empty", "Write the sheet into it")
        for mark, encoding in _MARKS:
            if block.startswith(mark):
                return encoding
        utf8 = codecs.getincrementaldecoder("utf-8")()
        encoding = "utf-8-sig"
        while block:
            if b"\0" in block:
                raise InputProblem(path.name, "the file is no text", _SAVE_AGAIN)
            if encoding != "cp1252" and not _decodes(utf8, block):
                encoding = "cp1252"
            block = file.read(_BLOCK)
    return encoding if encoding == "cp1252" or _ends(utf8) else "cp1252"


def swallowed_rows(cells: list[str], separator: str) -> bool:
    """Return whether a quotation mark was left open, so that a cell holds whole rows.

    >>> swallowed_rows(["6", "\\n7,mm,x\\n", "a"], ","), swallowed_rows(["6", "two\\nlines"], ",")
    (True, False)
    """
    fewest = max(1, len(cells) - 1)
    return any(
        line.count(separator) >= fewest for cell in cells if "\n" in cell or "\r" in cell
        for line in cell.splitlines()
    )  # fmt: skip


def _decodes(decoder: codecs.IncrementalDecoder, block: bytes) -> bool:
    try:
        decoder.decode(block)
    except UnicodeDecodeError:
        return False
    return True


def _ends(decoder: codecs.IncrementalDecoder) -> bool:
    try:
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


@dataclass(frozen=True)
class _Text:
    path: Path
    encoding: str

    def rows(self, separator: str) -> Iterator[Row]:
        """Yield each row with the number of the line in which it begins."""
        end = 0
        with self.path.open(encoding=self.encoding, newline="") as file:
            reader = csv.reader(self.lines(file), delimiter=separator)
            try:
                for cells in reader:
                    start, end = end + 1, reader.line_num
                    yield start, cells
            except csv.Error as problem:
                found = f"a cell that begins near line {end + 1} does not end ({problem})"
                do = "Look for a quotation mark that is not closed there"
                raise InputProblem(self.path.name, found, do) from problem
            except UnicodeError as problem:
                found = f"near line {end + 1} there are bytes that are no text"
                raise InputProblem(self.path.name, found, _SAVE_AGAIN) from problem

    def lines(self, file: TextIO) -> Iterator[str]:
        while line := file.readline(_LONGEST_LINE):
            if len(line) == _LONGEST_LINE:
                found = "a line is longer than a million characters"
                raise InputProblem(self.path.name, found, "Give each row a line of its own")
            if "\0" in line:
                raise InputProblem(self.path.name, "the file is no text", _SAVE_AGAIN)
            yield line
