"""Tables as the sheets of a workbook: formats by column, rows that stand out, set up for print."""

from __future__ import annotations

import io
import math
import textwrap
from typing import Any, Final

import numpy as np
import pandas as pd

__all__ = ["workbook_of"]

_A3: Final = 8
_FONT: Final[dict[str, Any]] = {"font_name": "Arial", "font_size": 10, "valign": "top"}
_LINE_HEIGHT: Final = 13.5
_WIDEST: Final = 30
_WIDEST_OF: Final = {"notes": 60, "note": 60, "missing": 40, "what it says": 90}
_ALONE: Final = 110
"""Of a sheet with one column, which holds sentences."""
_PAGE_WIDTH: Final = 290
"""Characters of column width that can be read across one page."""
_MARGINS: Final = (0.4, 0.4, 0.5, 0.6)
"""Of the paper, in inches: left, right, top, bottom."""

_CHANCE: Final = '[<0.005]"<1%";[>0.995]">99%";0%'
_FORMATS: Final = {
    "risk": "0.0%",
    "accepted": "0.0%",
    "price": "#,##0.00",
    "reach": "0.0",
    "expected_past": "0.0",
    "date": "yyyy-mm-dd",
    **dict.fromkeys(("quantity", "from_stock", "to_order"), "General"),
    **dict.fromkeys(("uncertainty", "reading_p05", "reading_p95", "reading_later"), "0.0###"),
}
_TEXT: Final[dict[str, Any]] = {"text_wrap": True, "align": "left", "indent": 1}
_DATE: Final[dict[str, Any]] = {"num_format": _FORMATS["date"], "align": "center"}
_STANDS_OUT: Final = {
    "late": (True, "past"),
    "latest overhaul": ("already", "past"),
    "hindrance": (str, "quiet"),
    "dearer_by": (0.0, "best"),
}
"""Rows that stand out: where the column holds this value (or any text), and how they look."""
_LOOKS: Final[dict[str, dict[str, Any]]] = {
    "plain": {},
    "past": {"bg_color": "#F4C7AB", "font_color": "#5A1E00"},
    "quiet": {"italic": True, "font_color": "#6B6B6B"},
    "best": {"bold": True, "bg_color": "#D6EFE6"},
}


def workbook_of(sheets: dict[str, pd.DataFrame]) -> bytes:
    """Return an XLSX workbook of tables: headings, dates and chances formatted, filters on.

    Numbers in columns whose names begin with *chance* are shown in percent, money per
    1000 h with one decimal.  Late orders, machines past a limit and the cheapest opening
    stand out; so do rows that cannot be had, by their grey.
    """
    import xlsxwriter

    content = io.BytesIO()
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False}
    with xlsxwriter.Workbook(content, options) as book:
        looks = _Looks(book)
        for name, table in sheets.items():
            _sheet(book.add_worksheet(name), looks, table)
    return content.getvalue()


class _Looks:
    """Cell formats, each made once."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[str, str], Any] = {}
        head = {"bold": True, "bottom": 1, "bg_color": "#E8ECEF"}
        self.heading = book.add_format({**_FONT, **_TEXT, **head})

    def of(self, num_format: str, look: str) -> Any:
        """Return the format that shows numbers as ``num_format`` says, in one of `_LOOKS`."""
        key = (num_format, look)
        if key not in self._made:
            shown = {"@": _TEXT, _FORMATS["date"]: _DATE}.get(
                num_format, {"num_format": num_format}
            )
            self._made[key] = self._book.add_format({**_FONT, **shown, **_LOOKS[look]})
        return self._made[key]


def _sheet(sheet: Any, looks: _Looks, table: pd.DataFrame) -> None:
    names = [str(name) for name in table.columns]
    widths = [_width(name, table.iloc[:, place]) for place, name in enumerate(names)]
    if len(names) == 1:
        widths = [_ALONE]
    for column, name in enumerate(names):
        sheet.set_column(column, column, widths[column])
        sheet.write_string(0, column, name, looks.heading)
    sheet.set_row(0, _height(names, widths))
    for line, row in enumerate(table.itertuples(index=False), start=1):
        look = _look_of(dict(zip(names, row, strict=True)))
        for column, value in enumerate(row):
            _cell(sheet, (line, column), value, (looks, _format(names[column]), look))
        sheet.set_row(line, _height(row, widths))
    sheet.freeze_panes(1, 1 if len(names) > 1 else 0)
    if len(names) > 1:
        sheet.autofilter(0, 0, max(len(table), 1), len(names) - 1)
        sheet.repeat_columns(0, 0)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.set_paper(_A3)
    sheet.set_margins(*_MARGINS)
    sheet.fit_to_pages(math.ceil(sum(widths) / _PAGE_WIDTH), 0)
    sheet.set_footer("&L&A&RPage &P of &N")


def _width(name: str, column: pd.Series) -> int:
    # A heading of the full tables is one word: it must stand whole.
    heading = max(len(word) for word in name.split()) + 5
    if pd.api.types.is_datetime64_any_dtype(column) or pd.api.types.is_numeric_dtype(column):
        return max(12, heading)
    longest = max((len(str(cell)) for cell in column.dropna()), default=0)
    return max(min(longest + 4, _WIDEST_OF.get(name, _WIDEST)), heading)


def _height(row: Any, widths: list[int]) -> float:
    lines = [
        len(textwrap.wrap(text, max(width - 1, 1)))
        for text, width in zip(row, widths, strict=True)
        if isinstance(text, str)
    ]
    return _LINE_HEIGHT * max([1, *lines]) + 2.0


def _look_of(row: dict[str, Any]) -> str:
    for name, (marked, look) in _STANDS_OUT.items():
        value = row.get(name)
        if marked is str and isinstance(value, str):
            return look
        if type(value) is type(marked) and value == marked:
            return look
    return "plain"


def _format(name: str) -> str:
    if name.startswith("chance"):
        return _CHANCE
    return _FORMATS.get(name, "#,##0.0" if name.endswith("_per_1000h") else "#,##0")


def _cell(sheet: Any, place: tuple[int, int], value: Any, how: tuple[_Looks, str, str]) -> None:
    looks, num_format, look = how
    if value is None or pd.isna(value):
        sheet.write_blank(*place, None, looks.of("@", look))
    elif isinstance(value, str):
        sheet.write_string(*place, value, looks.of("@", look))
    elif isinstance(value, bool | np.bool_):
        sheet.write_string(*place, "yes" if value else "no", looks.of("@", look))
    elif isinstance(value, pd.Timestamp):
        sheet.write_datetime(*place, value.to_pydatetime(), looks.of(_FORMATS["date"], look))
    else:
        sheet.write_number(*place, float(value), looks.of(num_format, look))
