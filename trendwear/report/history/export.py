"""A machine's history, or the list of loads, as a file: CSV or a workbook."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any, Final

import pandas as pd

from trendwear.errors import UsageProblem
from trendwear.report.harmless import harmless
from trendwear.report.save import save

__all__ = ["check_history_suffix", "history_bytes", "write_history"]

_WIDEST: Final = 60
_SUFFIXES: Final = (".csv", ".xlsx")
_DAYS: Final = ("date",)


def write_history(table: pd.DataFrame, path: Path) -> None:
    """Write a history or the loads to ``path``; its ending says how.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    check_history_suffix(path)
    save(path, history_bytes(table, path.suffix))


def check_history_suffix(path: Path) -> None:
    """Raise `UsageProblem` where a history cannot be written with that ending."""
    if path.suffix.lower() not in _SUFFIXES:
        raise UsageProblem(
            f"file ending {path.suffix or '(none)'}",
            "a history cannot be written so",
            f"Let the file's name end in {' or '.join(_SUFFIXES)}",
        )


def history_bytes(table: pd.DataFrame, suffix: str) -> bytes:
    """Return the table as the content of a file that ends in ``suffix``, every column of it."""
    made = pd.DataFrame({str(name): _texts(table[name]) for name in table})
    if suffix.lower() == ".csv":
        text: str = made.map(_safe).to_csv(index=False, lineterminator="\n")
        return text.encode("utf-8")
    return _workbook(made)


def _texts(column: pd.Series) -> pd.Series:
    """Return days and times as text, whole numbers as such; the rest as it is."""
    if pd.api.types.is_datetime64_any_dtype(column):
        shape = "%Y-%m-%d" if column.name in _DAYS else "%Y-%m-%d %H:%M"
        written = column.dt.strftime(shape).astype("object")
        return written.where(column.notna(), None)
    if pd.api.types.is_float_dtype(column):
        return column.astype("Int64").astype("object").where(column.notna(), None)
    return column.astype("object").where(column.notna(), None)


def _safe(cell: object) -> object:
    return harmless(cell) if isinstance(cell, str) else cell


def _workbook(table: pd.DataFrame) -> bytes:
    import xlsxwriter

    content = io.BytesIO()
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False}
    with xlsxwriter.Workbook(content, options) as book:
        heading = book.add_format({"bold": True, "valign": "top"})
        wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        sheet = book.add_worksheet("history")
        for column, name in enumerate(table):
            longest = max([len(str(name)), *table[name].dropna().astype(str).str.len()])
            sheet.set_column(column, column, min(longest + 2, _WIDEST))
            sheet.write_string(0, column, str(name), heading)
            for line, cell in enumerate(table[name], start=1):
                _write(sheet, (line, column), cell, wrapped)
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, max(len(table), 1), max(table.shape[1] - 1, 0))
        sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.repeat_rows(0)
    return content.getvalue()


def _write(sheet: Any, place: tuple[int, int], cell: object, look: Any) -> None:
    if cell is None or cell is pd.NA:
        return
    if isinstance(cell, str):
        sheet.write_string(*place, cell, look)
    else:
        sheet.write_number(*place, float(str(cell)), look)
