"""The limit-forecast table as a workbook: typed cells, the short table, what each column says."""

from __future__ import annotations

import datetime
import io
import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Final

import pandas as pd
import xlsxwriter

from trendwear.report.cautions import CAUTIONS
from trendwear.report.columns import COLUMN_MEANINGS, OUTCOME_MEANINGS
from trendwear.report.limit_table import PAST, governing, headings_of, in_order, limit_table
from trendwear.report.rounding import Grain, grain_of, limit_decimals, rate_decimals
from trendwear.report.units import LENGTHS
from trendwear.tables import LIMIT_FORECAST

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = ["workbook_bytes"]

_A3: Final = 8
_A4: Final = 9
_RATES: Final = ("rate_per_1000h", "rate_low", "rate_high")
_CHANCES: Final = ("chance_past_now", "chance_past_horizon")
_REACHED: Final = ("date_p05", "date_p50", "date_p95")
_WIDEST: Final = 60
_LINE_HEIGHT: Final = 15.0
_MARGINS: Final = (0.4, 0.4, 0.5, 0.6)
"""Of the paper, in inches: left, right, top, bottom."""
_PAGES_ACROSS: Final = 4
_OVERVIEW_WIDTHS: Final = (11, 27, 23, 13, 11, 30, 13, 13, 19, 9, 21, 52)
_SHARE_FORMAT: Final = "0%"
_CHANCE_FORMAT: Final = f'[<0.005]"<1%";[>0.995]">99%";{_SHARE_FORMAT}'
_SHARE_PLACES: Final = 3


def workbook_bytes(forecast: LimitForecast) -> bytes:
    """Return an XLSX workbook of ``forecast``.

    Sheets
    ------
    limit forecast
        Every column of `trendwear.tables.LIMIT_FORECAST`, the most pressing row first;
        lengths rounded to the gauge, dates as dates.
    overview
        The twelve columns for people, set up to be printed.
    governing
        The same, of the clearance of each machine that is first to pass its limit.
    columns
        What each column and each outcome says.
    about
        The day it speaks of, how it was made, and the cautions.
    """
    content = io.BytesIO()
    with xlsxwriter.Workbook(content, {"in_memory": True, "strings_to_numbers": False}) as book:
        looks = _Looks(book)
        _full_sheet(book, looks, forecast)
        overview = limit_table(forecast)
        _overview_sheet(book.add_worksheet("overview"), looks, overview)
        first = governing(forecast).index
        _overview_sheet(book.add_worksheet("governing"), looks, overview.loc[first])
        _columns_sheet(book, looks, headings_of(forecast))
        _about_sheet(book, looks, forecast)
    return content.getvalue()


class _Looks:
    """Cell formats, each made once."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._numbers: dict[str, Any] = {}
        self.heading = book.add_format(
            {"bold": True, "text_wrap": True, "valign": "top", "bottom": 1, "bg_color": "#E8ECEF"}
        )
        self.text = book.add_format({"valign": "top"})
        self.wrapped = book.add_format({"valign": "top", "text_wrap": True})
        self.past = book.add_format({"bold": True, "bg_color": "#F4C7AB", "font_color": "#5A1E00"})
        self.unknown = book.add_format({"italic": True, "bg_color": "#E3E3E3"})

    def number(self, num_format: str) -> Any:
        """Return the cell format that shows numbers as ``num_format`` says."""
        if num_format not in self._numbers:
            self._numbers[num_format] = self._book.add_format(
                {"num_format": num_format, "valign": "top"}
            )
        return self._numbers[num_format]


def _full_sheet(book: Any, looks: _Looks, forecast: LimitForecast) -> None:
    sheet = book.add_worksheet("limit forecast")
    names = list(LIMIT_FORECAST)
    table = in_order(forecast.table)[names]
    for column, name in enumerate(names):
        sheet.write_string(0, column, name, looks.heading)
        sheet.set_column(column, column, _width(name, table[name]))
    records = table.to_dict("records")
    for line, (row, decimals) in enumerate(
        zip(records, forecast.decimals.loc[table.index], strict=True), start=1
    ):
        for column, name in enumerate(names):
            _write(
                sheet, (line, column), row[name], _number_format(name, row, int(decimals)), looks
            )
        _heighten(sheet, line, [str(row["notes"] or "")], (_WIDEST,))
    _heighten(sheet, 0, names, [_width(name, table[name]) for name in names])
    _finish(sheet, len(table), len(names))
    sheet.repeat_columns(0, 1)
    sheet.fit_to_pages(_PAGES_ACROSS, 0)
    _mark_outcomes(sheet, looks, names.index("outcome"), len(table))
    sheet.set_paper(_A3)


def _write(sheet: Any, cell: tuple[int, int], value: Any, num_format: str, looks: _Looks) -> None:
    if value is None or pd.isna(value):
        return
    if isinstance(value, str):
        sheet.write_string(*cell, value, looks.wrapped if len(value) > _WIDEST else looks.text)
    elif isinstance(value, datetime.datetime):
        sheet.write_datetime(*cell, value, looks.number(num_format))
    else:
        rounded = round(float(value), _places(num_format))
        sheet.write_number(*cell, rounded, looks.number(num_format))


def _places(num_format: str) -> int:
    if num_format.endswith("%"):
        return _SHARE_PLACES
    return len(num_format.partition(".")[2])


def _number_format(name: str, row: dict[Any, Any], decimals: int) -> str:
    if LIMIT_FORECAST[name] == "date":
        coarse = name in _REACHED and grain_of(row["date_p05"], row["date_p95"]) is not Grain.DAY
        return "yyyy-mm" if coarse else "yyyy-mm-dd"
    if name in _RATES:
        return _fixed(rate_decimals(row["rate_low"], row["rate_high"], decimals))
    if name == "limit":
        return _fixed(limit_decimals(row["limit"], decimals))
    if name in LENGTHS:
        return _fixed(decimals)
    if name in _CHANCES:
        return _CHANCE_FORMAT
    if name == "own_share":
        return _SHARE_FORMAT
    return "0.0" if name == "reach" else "#,##0"


def _fixed(decimals: int) -> str:
    return f"0.{'0' * decimals}" if decimals else "0"


def _width(name: str, column: pd.Series) -> float:
    if LIMIT_FORECAST[name] != "text":
        return max(11, min(len(name), 18))
    longest = max((len(str(cell)) for cell in column.dropna()), default=0)
    return min(max(longest, len(name)) + 2, _WIDEST)


def _finish(sheet: Any, rows: int, columns: int) -> None:
    sheet.freeze_panes(1, 2)
    sheet.autofilter(0, 0, max(rows, 1), columns - 1)
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.set_margins(*_MARGINS)
    sheet.set_footer("&L&A&RPage &P of &N")


def _heighten(sheet: Any, line: int, texts: Iterable[str], widths: Sequence[float]) -> None:
    """Make a row as high as its longest text needs: not every program does so by itself."""
    lines = (
        len(textwrap.wrap(text, max(1, int(width))))
        for text, width in zip(texts, widths, strict=True)
    )
    sheet.set_row(line, _LINE_HEIGHT * max(1, *lines))


def _mark_outcomes(sheet: Any, looks: _Looks, column: int, rows: int) -> None:
    # The cell says it in words; the colour only makes it quicker to find.
    marks = [*((word, looks.past) for word in PAST), ("too few readings", looks.unknown)]
    for word, look in marks:
        sheet.conditional_format(
            1,
            column,
            max(rows, 1),
            column,
            {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": look},
        )


def _overview_sheet(sheet: Any, looks: _Looks, table: pd.DataFrame) -> None:
    for column, (name, width) in enumerate(zip(table.columns, _OVERVIEW_WIDTHS, strict=True)):
        sheet.write_string(0, column, name, looks.heading)
        sheet.set_column(column, column, width)
    for line, row in enumerate(table.itertuples(index=False), start=1):
        for column, text in enumerate(row):
            sheet.write_string(line, column, text, looks.wrapped)
        _heighten(sheet, line, row, _OVERVIEW_WIDTHS)
    _heighten(sheet, 0, table.columns, _OVERVIEW_WIDTHS)
    _finish(sheet, len(table), len(table.columns))
    sheet.conditional_format(
        1,
        len(table.columns) - 1,
        max(len(table), 1),
        len(table.columns) - 1,
        {"type": "text", "criteria": "begins with", "value": "PAST LIMIT", "format": looks.past},
    )
    sheet.set_paper(_A4)


def _columns_sheet(book: Any, looks: _Looks, headings: dict[str, str]) -> None:
    sheet = book.add_worksheet("columns")
    rows = [
        *((name, meaning.says, meaning.unit) for name, meaning in COLUMN_MEANINGS.items()),
        ("", "", ""),
        *((f"outcome: {word}", says, "") for word, says in OUTCOME_MEANINGS.items()),
        ("", "", ""),
        *((f"overview: {name}", says, "") for name, says in headings.items()),
    ]
    _text_sheet(sheet, looks, [("column", "what it says", "unit"), *rows], (32, 90, 26))


def _about_sheet(book: Any, looks: _Looks, forecast: LimitForecast) -> None:
    sheet = book.add_worksheet("about")
    rows = [
        ("", "About this workbook"),
        ("as of", f"{forecast.as_of:%Y-%m-%d}"),
        ("method", forecast.method_version),
        ("rows", str(len(forecast.table))),
        *(("caution", caution) for caution in CAUTIONS),
    ]
    _text_sheet(sheet, looks, rows, (12, 110))


def _text_sheet(
    sheet: Any, looks: _Looks, rows: Iterable[tuple[str, ...]], widths: tuple[int, ...]
) -> None:
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    for line, row in enumerate(rows):
        for column, text in enumerate(row):
            sheet.write_string(line, column, text, looks.wrapped if line else looks.heading)
        _heighten(sheet, line, row, widths)
    sheet.freeze_panes(1, 0)
    sheet.repeat_rows(0)
    sheet.fit_to_pages(1, 0)
