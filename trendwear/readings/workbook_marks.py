"""What an XLSX workbook says of its cells beside their values.

Part names and elements: ECMA-376, Office Open XML, part 1 (SpreadsheetML).  Sheets are
searched by patterns, not parsed: they may hold a hundred thousand rows.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator
from typing import Final
from xml.etree import ElementTree
from zipfile import ZipFile

from trendwear.readings.cell_marks import Marks, Range
from trendwear.readings.cell_names import CellPlace, column_number, place_named
from trendwear.readings.number_formats import PERCENT_FORMATS, Shown, shown_by
from trendwear.readings.workbook_scan import valueless_cells

__all__ = ["Styles", "sheet_marks", "styles_shown"]

Styles = dict[bytes, Shown]
"""The number of a cell style, and what it shows beside a number."""

_STYLES: Final = "xl/styles.xml"
_MERGED: Final = re.compile(rb'<(?:\w+:)?mergeCell [^>]*?\bref="([A-Z]+)([0-9]+):([A-Z]+)([0-9]+)"')
_HIDDEN_ROW: Final = re.compile(
    rb'<(?:\w+:)?row (?=[^>]*\bhidden="(?:1|true)")[^>]*?\br="([0-9]+)"'
)
_COLUMN: Final = re.compile(rb"<(?:\w+:)?col ([^>]*)>")
_FIRST: Final = re.compile(rb'\bmin="([0-9]+)"')
_LAST: Final = re.compile(rb'\bmax="([0-9]+)"')
_MOST_COLUMNS: Final = 16_384


def styles_shown(archive: ZipFile) -> Styles:
    """Return what the cell styles of a workbook show beside numbers; others are left out."""
    if _STYLES not in archive.namelist():
        return {}
    sheet = ElementTree.fromstring(archive.read(_STYLES))
    codes = dict(PERCENT_FORMATS)
    for item in sheet.findall(".//{*}numFmts/{*}numFmt"):
        codes[int(item.get("numFmtId", "0"))] = item.get("formatCode", "")
    by_number = {number: shown_by(code) for number, code in codes.items()}
    styles: Styles = {}
    for place, style in enumerate(sheet.findall(".//{*}cellXfs/{*}xf")):
        shown = by_number.get(int(style.get("numFmtId", "0")))
        if shown:
            styles[str(place).encode()] = shown
    return styles


def sheet_marks(archive: ZipFile, part: str, xml: bytes, styles: Styles) -> Marks:
    """Return what one sheet says of its cells."""
    return Marks(
        lacking=valueless_cells(xml),
        merged=tuple(
            Range(int(top), column_number(left.decode()), int(low), column_number(right.decode()))
            for left, top, right, low in _MERGED.findall(xml)
        ),
        shown=_shown(xml, styles),
        comments=_comments(archive, part),
        hidden_rows=tuple(map(int, _HIDDEN_ROW.findall(xml))) if b"hidden=" in xml else (),
        hidden_columns=tuple(_hidden_columns(xml)),
    )


def _shown(xml: bytes, styles: Styles) -> dict[CellPlace, Shown]:
    if not styles:
        return {}
    numbers = b"|".join(styles)
    cell = re.compile(
        rb'<(?:\w+:)?c (?=[^>]*\bs="(' + numbers + rb')")(?![^>]*\bt="(?!n"))'
        rb'[^>]*?\br="([A-Z]+)([0-9]+)"[^>]*(?<!/)>'
    )
    return {
        (int(row), column_number(letters.decode())): styles[style]
        for style, letters, row in cell.findall(xml)
    }


def _hidden_columns(xml: bytes) -> Iterator[int]:
    for attributes in _COLUMN.findall(xml[: xml.find(b"<sheetData") + 1 or None]):
        first, last = _FIRST.search(attributes), _LAST.search(attributes)
        hidden = b'hidden="1"' in attributes or b'hidden="true"' in attributes
        if hidden and first and last and int(last[1]) < _MOST_COLUMNS:
            yield from range(int(first[1]) - 1, int(last[1]))


def _comments(archive: ZipFile, part: str) -> dict[CellPlace, str]:
    folder, name = posixpath.split(part)
    relations = f"{folder}/_rels/{name}.rels"
    if relations not in archive.namelist():
        return {}
    found = {}
    for relation in ElementTree.fromstring(archive.read(relations)):
        if not relation.get("Type", "").endswith("/comments"):
            continue
        target = relation.get("Target", "")
        path = target[1:] if target[:1] == "/" else posixpath.normpath(f"{folder}/{target}")
        for comment in ElementTree.fromstring(archive.read(path)).iterfind(".//{*}comment"):
            place = place_named(comment.get("ref", ""))
            if place:
                found[place] = "".join(t.text or "" for t in comment.iterfind(".//{*}t"))
    return found
