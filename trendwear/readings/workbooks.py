"""Sheets of an XLSX or ODS workbook as rows of text."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import ParseError
from zipfile import BadZipFile, ZipFile

from python_calamine import (
    CalamineError,
    CalamineSheet,
    CalamineWorkbook,
    PasswordError,
    SheetVisibleEnum,
)

from trendwear.errors import InputProblem
from trendwear.readings.cell_marks import Marks
from trendwear.readings.cell_text import as_text
from trendwear.readings.header_row import Row
from trendwear.readings.open_document import open_document_marks
from trendwear.readings.tabs import Layout, Tab
from trendwear.readings.workbook_marks import sheet_marks, styles_shown
from trendwear.readings.workbook_scan import cells_spanned, sheet_parts

__all__ = ["workbook_tabs"]

_MOST_CELLS: Final = 20_000_000
_MOST_BYTES: Final = 1 << 30
_OLD_OR_LOCKED: Final = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_DAMAGED: Final = (
    BadZipFile,
    CalamineError,
    EOFError,
    KeyError,  # a part is missing
    ParseError,
    RuntimeError,  # a part is locked, or packed in a way not known
    ValueError,  # a name is no text, a number no number
    zlib.error,
)
_TWO_WAYS: Final = re.compile(r"\s*[1-9][0-9]{0,2}\.[0-9]{3}\s*")
"""Text that is one number or a thousand times that; a cell that holds a number is not text."""
_UNLOCK: Final = "Open it, take the password off and save it as .xlsx"


def workbook_tabs(path: Path) -> list[Tab]:
    """Return every sheet of a workbook.

    Raises
    ------
    InputProblem
        It is empty, protected by a password, damaged, or no workbook.
    """
    with path.open("rb") as file:
        start = file.read(len(_OLD_OR_LOCKED))
    if not start:
        raise InputProblem(path.name, "the file is empty", "Save the workbook again")
    if start == _OLD_OR_LOCKED:
        raise InputProblem(
            path.name, "it is protected by a password, or an old kind of workbook", _UNLOCK
        )
    try:
        marks = _scanned(path)
        book = CalamineWorkbook.from_path(path)
        seen = SheetVisibleEnum.Visible
        hidden = {sheet.name for sheet in book.sheets_metadata if sheet.visible != seen}
        return [
            _tab(book, name, replace(marks.get(name, Marks()), hidden=name in hidden))
            for name in book.sheet_names
        ]
    except PasswordError as problem:
        raise InputProblem(path.name, "it is protected by a password", _UNLOCK) from problem
    except _DAMAGED as problem:
        found = f"it is no workbook, or damaged ({_first_line(problem)})"
        raise InputProblem(path.name, found, "Open it and save it again as .xlsx") from problem


def _scanned(path: Path) -> dict[str, Marks]:
    """Return what is to be known of each sheet, after making sure it can be held in memory."""
    found: dict[str, Marks] = {}
    with ZipFile(path) as archive:
        if sum(part.file_size for part in archive.infolist()) > _MOST_BYTES:
            told = "it unpacks to more than a gigabyte"
            raise InputProblem(path.name, told, "Split it, or save the sheets as CSV")
        names, styles = sheet_parts(archive), styles_shown(archive)
        for part in archive.namelist():
            xml = archive.read(part) if part.endswith(".xml") else b""
            if cells_spanned(xml) > _MOST_CELLS:
                told = f"a sheet reaches further than {_MOST_CELLS // 10**6} million cells"
                do = "Delete the stray cell far right or far below, or save the sheet as CSV"
                raise InputProblem(path.name, told, do)
            if part in names:
                found[names[part]] = sheet_marks(archive, part, xml, styles)
            elif part == "content.xml":
                found |= open_document_marks(xml)
    return found


def _tab(book: CalamineWorkbook, name: str, marks: Marks) -> Tab:
    rows = _SheetRows(book.get_sheet_by_name(name), marks).rows
    return Tab(name, (Layout(rows, marks=marks),))


def _first_line(problem: Exception) -> str:
    return str(problem).splitlines()[0] if str(problem) else type(problem).__name__


@dataclass(frozen=True)
class _SheetRows:
    sheet: CalamineSheet
    marks: Marks

    def rows(self) -> Iterator[Row]:
        """Yield each row from the first one of the sheet."""
        by_row: dict[int, dict[int, str]] = {}
        for (row, column), text in self.marks.lacking.items():
            by_row.setdefault(row, {})[column] = text
        first_column = self.sheet.start[1] if self.sheet.start else 0
        number = 0
        for number, values in enumerate(self.sheet.iter_rows(), start=1):
            cells = [""] * first_column + [as_text(value) for value in values]
            self.note_typed(number, first_column, values)
            yield number, _with(cells, by_row.pop(number, {}))
        for row in sorted(by_row):
            yield row, _with([], by_row[row])

    def note_typed(self, row: int, first_column: int, values: Sequence[object]) -> None:
        """Keep in mind where a number that reads two ways was typed as text."""
        for column, value in enumerate(values, start=first_column):
            if isinstance(value, str) and _TWO_WAYS.fullmatch(value):
                self.marks.typed.add((row, column))


def _with(cells: list[str], standing: dict[int, str]) -> list[str]:
    for column, text in standing.items():
        cells.extend([""] * (column + 1 - len(cells)))
        cells[column] = text
    return cells
