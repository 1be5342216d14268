"""What an ODS workbook says of its cells beside their values.

Elements: OASIS OpenDocument 1.3, part 3.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final
from xml.etree import ElementTree

from trendwear.readings.cell_marks import Marks, Range
from trendwear.readings.cell_names import CellPlace
from trendwear.readings.number_formats import Shown, shown_behind

__all__ = ["open_document_marks"]

_TABLE: Final = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE: Final = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT: Final = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_TELLING: Final = (
    b'value-type="error"',
    b"-spanned=",
    b"annotation",
    b"table:visibility=",
    b"percentage",
)
"""What a document holds that says anything beside values; without any it is not parsed."""
_SHOWN: Final = re.compile(
    rb'value-type="float"[^>]*>\s*<text:p>(?:[^<]*[^0-9.,\s<-][^<]*)</text:p>'
)
"""A number with anything beside it."""
_NUMBER: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_THOUSANDS: Final = (1_000, 1_000_000)
_BEHIND: Final = re.compile(r"[^0-9]*[0-9][0-9.,\s]*(.*)", re.DOTALL)
_MOST: Final = 1000
"""A hidden row or column that is repeated more often than this is the empty rest of a sheet."""


def open_document_marks(xml: bytes) -> dict[str, Marks]:
    """Return what each sheet says of its cells, by the name of the sheet."""
    if not any(sign in xml for sign in _TELLING) and not _SHOWN.search(xml):
        return {}
    tables = ElementTree.fromstring(xml).iter(f"{_TABLE}table")
    return {table.get(f"{_TABLE}name", ""): _marks(table) for table in tables}


def _marks(table: ElementTree.Element) -> Marks:
    lacking: dict[CellPlace, str] = {}
    comments: dict[CellPlace, str] = {}
    shown: dict[CellPlace, Shown] = {}
    merged = []
    for place, cell in _cells(table):
        kind = next((v for name, v in cell.attrib.items() if name.endswith("}value-type")), "")
        kinds = {v for name, v in cell.attrib.items() if name.endswith("}value-type")}
        if "error" in kinds:
            lacking[place] = "".join(cell.itertext()).strip() or "#ERROR!"
        note = cell.find(f"{_OFFICE}annotation")
        if note is not None:
            comments[place] = " ".join("".join(p.itertext()) for p in note.iter(f"{_TEXT}p"))
        beside = _shown(kind, cell)
        if beside:
            shown[place] = beside
        down = int(cell.get(f"{_TABLE}number-rows-spanned", "1"))
        right = int(cell.get(f"{_TABLE}number-columns-spanned", "1"))
        if (down, right) != (1, 1):
            merged.append(Range(*place, place[0] + down - 1, place[1] + right - 1))
    rows = tuple(_hidden(table, "row", 1))
    columns = tuple(_hidden(table, "column", 0))
    return Marks(lacking, tuple(merged), shown, comments, rows, columns)


def _cells(table: ElementTree.Element) -> Iterator[tuple[CellPlace, ElementTree.Element]]:
    """Yield each cell that is not covered by a merged one, repeated ones once."""
    row = 1
    for line in table.iter(f"{_TABLE}table-row"):
        column = 0
        for cell in line:
            yield (row, column), cell
            column += int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
        row += int(line.get(f"{_TABLE}number-rows-repeated", "1"))


def _shown(kind: str, cell: ElementTree.Element) -> Shown | None:
    if kind == "percentage":
        return Shown(percent=True)
    if kind != "float":
        return None
    text = "".join("".join(p.itertext()) for p in cell.findall(f"{_TEXT}p"))
    number, value = _NUMBER.fullmatch(text), float(cell.get(f"{_OFFICE}value", "0"))
    if number and any(float(text) * many == value != 0 for many in _THOUSANDS):
        return Shown(doubt=text)
    found = _BEHIND.fullmatch(text)
    return shown_behind(found[1]) if found and found[1].strip() else None


def _hidden(table: ElementTree.Element, what: str, first: int) -> Iterator[int]:
    place = first
    for line in table.iter(f"{_TABLE}table-{what}"):
        times = int(line.get(f"{_TABLE}number-{what}s-repeated", "1"))
        if line.get(f"{_TABLE}visibility") in ("collapse", "filter") and times <= _MOST:
            yield from range(place, place + times)
        place += times
