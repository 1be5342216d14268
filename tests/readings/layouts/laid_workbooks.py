"""Writes workbooks as shops lay them out, and compares what was read of them."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import openpyxl
import pandas as pd
import xlsxwriter
from openpyxl.comments import Comment

from trendwear.readings.sheet import Incoming


@dataclass(frozen=True)
class Cell:
    """A cell with more than a value."""

    value: object
    shown: str | None = None
    """Its number format."""
    comment: str | None = None


@dataclass(frozen=True)
class Page:
    """One sheet of a workbook."""

    name: str
    rows: Sequence[Sequence[object]]
    merged: tuple[str, ...] = ()
    hidden_rows: tuple[int, ...] = ()
    hidden_columns: tuple[str, ...] = ()
    hidden: bool = False


@dataclass(frozen=True)
class Case:
    """A workbook, the layout that a person confirmed, and what must come of it."""

    name: str
    pages: tuple[Page, ...]
    layout: str
    """A headings file."""
    rows: tuple[str, ...] = ()
    """``cell machine|clearance|date|hours|state|value as written|unit`` of each reading."""
    refused: tuple[tuple[str | None, str], ...] = ()
    """The cell of each fault, and a part of its reason."""
    notes: tuple[str, ...] = ()
    """Parts of notes that must be there."""
    other: tuple[str, ...] = ()
    """``cell machine|what`` of work and events."""
    asks: tuple[str, ...] = ()
    """Parts of the questions that the program asks of it."""
    proposed: bool = False
    """Whether the layout that the program proposes reads the same."""
    ending: str = ".xlsx"
    by_openpyxl: bool = False
    """Whether another library writes it: its XML has other habits."""


def write_case(case: Case, folder: Path) -> Path:
    """Write the workbook of a case: ODS by hand, merged or commented ones by another library."""
    path = folder / f"{case.name.replace(' ', '-')}{case.ending}"
    if case.ending == ".ods":
        _write_ods(path, case.pages)
    elif case.by_openpyxl:
        _write_openpyxl(path, case.pages)
    else:
        _write_xlsxwriter(path, case.pages)
    return path


def rows_read(incoming: Incoming) -> list[str]:
    """Return readings as a case writes them."""
    told = []
    for row in incoming.sheets["readings"].itertuples():
        day = "" if pd.isna(row.date) else _day(row.date, row.date_spread_days)
        hours = "" if pd.isna(row.run_hours) else f"{row.run_hours:g}"
        unit = row.value_unit or row.unit or ""
        told.append(
            f"{row.cell} {row.machine}|{row.clearance}|{day}|{hours}|{row.state}|"
            f"{row.value_written}|{unit}"
        )
    return told


def others_read(incoming: Incoming) -> list[str]:
    """Return work and events as a case writes them."""
    work, events = incoming.sheets["work"], incoming.sheets["events"]
    return [
        f"{row.cell} {row.machine}|{row.clearance}: {row.action}" for row in work.itertuples()
    ] + [f"{row.cell} {row.machine}|{row.what}" for row in events.itertuples()]


def _day(day: pd.Timestamp, spread: float) -> str:
    return f"{day:%Y-%m-%d}" if not spread else f"{day:%Y}"


def _write_xlsxwriter(path: Path, pages: Sequence[Page]) -> None:
    with xlsxwriter.Workbook(path) as book:
        for page in pages:
            sheet = book.add_worksheet(page.name)
            for place in page.merged:
                sheet.merge_range(place, "")
            for number, row in enumerate(page.rows):
                for column, cell in enumerate(row):
                    _put(book, sheet, (number, column), cell)
            for number in page.hidden_rows:
                sheet.set_row(number - 1, None, None, {"hidden": True})
            for letter in page.hidden_columns:
                sheet.set_column(f"{letter}:{letter}", None, None, {"hidden": True})
            if page.hidden:
                sheet.hide()


def _put(
    book: xlsxwriter.Workbook,
    sheet: xlsxwriter.workbook.Worksheet,
    at: tuple[int, int],
    cell: object,
) -> None:
    cell = cell if isinstance(cell, Cell) else Cell(cell)
    shown = book.add_format({"num_format": cell.shown}) if cell.shown else None
    if cell.value is None:
        return
    if isinstance(cell.value, datetime):
        sheet.write_datetime(*at, cell.value, shown or book.add_format({"num_format": "d-mmm"}))
    elif isinstance(cell.value, str) and cell.value.startswith("="):
        sheet.write_formula(*at, cell.value, shown, "")
    elif isinstance(cell.value, str):
        sheet.write_string(*at, cell.value, shown)
    else:
        sheet.write_number(*at, cell.value, shown)
    if cell.comment:
        sheet.write_comment(*at, cell.comment)


def _write_openpyxl(path: Path, pages: Sequence[Page]) -> None:
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for page in pages:
        sheet = book.create_sheet(page.name)
        for number, row in enumerate(page.rows, start=1):
            for column, cell in enumerate(row, start=1):
                cell = cell if isinstance(cell, Cell) else Cell(cell)
                if cell.value is not None:
                    made = sheet.cell(number, column, cell.value)
                    made.number_format = cell.shown or made.number_format
                    made.comment = Comment(cell.comment, "shop") if cell.comment else None
        for place in page.merged:
            sheet.merge_cells(place)
    book.save(path)


_DOCUMENT = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content
 xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">
<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>
</office:document-content>"""
_KIND = "application/vnd.oasis.opendocument.spreadsheet"


def _write_ods(path: Path, pages: Sequence[Page]) -> None:
    tables = "".join(_ods_table(page) for page in pages)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("mimetype", _KIND)
        archive.writestr(
            "META-INF/manifest.xml",
            '<?xml version="1.0"?><manifest:manifest '
            'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{_KIND}"/>'
            "</manifest:manifest>",
        )
        archive.writestr("content.xml", _DOCUMENT.format(tables=tables))


def _ods_table(page: Page) -> str:
    spans = dict(_span(place) for place in page.merged)
    lines = []
    for number, row in enumerate(page.rows, start=1):
        hidden = ' table:visibility="collapse"' if number in page.hidden_rows else ""
        cells = "".join(
            _ods_cell(cell, spans.get((number, column))) for column, cell in enumerate(row)
        )
        lines.append(f"<table:table-row{hidden}>{cells}</table:table-row>")
    return f"<table:table table:name={quoteattr(page.name)}>{''.join(lines)}</table:table>"


def _span(place: str) -> tuple[tuple[int, int], tuple[int, int]]:
    left, top, right, bottom = openpyxl.utils.range_boundaries(place)
    return (top, left - 1), (bottom - top + 1, right - left + 1)


def _ods_cell(cell: object, span: tuple[int, int] | None) -> str:
    cell = cell if isinstance(cell, Cell) else Cell(cell)
    kind = ""
    if isinstance(cell.value, int | float):
        kind = f' office:value-type="float" office:value="{cell.value}"'
    elif isinstance(cell.value, str):
        kind = ' office:value-type="string"'
    wide = ""
    if span:
        down, right = span
        wide = f' table:number-rows-spanned="{down}" table:number-columns-spanned="{right}"'
    note = (
        f"<office:annotation><text:p>{escape(cell.comment)}</text:p></office:annotation>"
        if cell.comment
        else ""
    )
    text = (
        ""
        if cell.value is None
        else f"<text:p>{escape(str(cell.value) + (cell.shown or ''))}</text:p>"
    )
    return f"<table:table-cell{kind}{wide}>{note}{text}</table:table-cell>"
