"""What the reader of workbooks does not say: how far a sheet reaches, and cells without value.

A formula whose result was never stored and a cell that shows an error both read
as blank; here they are found, so that they are refused instead of lost.
Part names and elements: ECMA-376, Office Open XML, part 1 (SpreadsheetML).
"""

from __future__ import annotations

import html
import re
from typing import Final
from xml.etree import ElementTree
from zipfile import ZipFile

from trendwear.readings.cell_names import CellPlace, column_number

__all__ = ["cells_spanned", "sheet_parts", "valueless_cells"]

_FILLED: Final = re.compile(rb'<(?:\w+:)?c [^>]*?\br="([A-Z]{1,3})([0-9]+)"[^>]*(?<!/)>')
_CELL: Final = re.compile(rb"<(?:\w+:)?c ([^>]*)(?<!/)>(.*?)</(?:\w+:)?c>", re.DOTALL)
_PLACE: Final = re.compile(rb'\br="([A-Z]{1,3})([0-9]+)"')
_TYPE: Final = re.compile(rb'\bt="(\w+)"')
_VALUE: Final = re.compile(rb"<(?:\w+:)?v(?: [^>]*)?>([^<]*)</")
_FORMULA: Final = re.compile(rb"<(?:\w+:)?f\b[^>]*?(?:/>|>([^<]*)</)")


def sheet_parts(archive: ZipFile) -> dict[str, str]:
    """Return the name of the sheet that each part of the archive holds."""
    if "xl/workbook.xml" not in archive.namelist():
        return {}
    relations = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    targets = {item.get("Id"): item.get("Target", "") for item in relations}
    parts = {}
    for sheet in ElementTree.fromstring(archive.read("xl/workbook.xml")).findall(".//{*}sheet"):
        relation = next((v for name, v in sheet.attrib.items() if name.endswith("}id")), "")
        target = targets.get(relation, "")
        parts[target[1:] if target[:1] == "/" else f"xl/{target}"] = sheet.get("name", "")
    return parts


def cells_spanned(xml: bytes) -> int:
    """Return the cells of the rectangle from A1 to the last filled row and column."""
    filled = _FILLED.findall(xml)
    if not filled:
        return 0
    columns = max(column_number(one.decode()) for one in {letters for letters, _ in filled})
    return (columns + 1) * max(map(int, {row for _, row in filled}))


def valueless_cells(xml: bytes) -> dict[CellPlace, str]:
    """Return what stands in cells that show an error or whose formula has no stored result."""
    if b't="e"' not in xml and not _FORMULA.search(xml):
        return {}
    found = {}
    for attributes, content in _CELL.findall(xml):
        place = _PLACE.search(attributes)
        text = _standing(attributes, content)
        if place and text:
            found[int(place[2]), column_number(place[1].decode())] = text
    return found


def _standing(attributes: bytes, content: bytes) -> str | None:
    kind, value = _TYPE.search(attributes), _VALUE.search(content)
    stored = value[1] if value else b""
    if kind and kind[1] == b"e":
        return stored.decode("utf-8", "replace") or "#ERROR!"
    formula = _FORMULA.search(content)
    if formula is None or stored or (kind and kind[1] == b"str" and value):
        return None
    return "=" + html.unescape((formula[1] or b"").decode("utf-8", "replace"))
