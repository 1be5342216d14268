"""Proposed limits as a ``clearances`` sheet: to be read, accepted or struck out, and loaded."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.errors import UsageProblem
from trendwear.report.harmless import harmless
from trendwear.report.save import save

__all__ = ["check_sheet_suffix", "sheet_bytes", "write_sheet"]

_SUFFIXES: Final = (".csv", ".xlsx")
_WIDEST: Final = 70


def check_sheet_suffix(path: Path) -> None:
    """Raise `UsageProblem` where a sheet cannot be written with that ending."""
    if path.suffix.lower() not in _SUFFIXES:
        raise UsageProblem(
            f"file ending {path.suffix or '(none)'}",
            "a sheet of proposals cannot be written so",
            f"Let the file's name end in {' or '.join(_SUFFIXES)}",
        )


def write_sheet(sheet: pd.DataFrame, path: Path) -> None:
    """Write the sheet to ``path``; its ending says how.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    check_sheet_suffix(path)
    save(path, sheet_bytes(sheet, path.suffix))


def sheet_bytes(sheet: pd.DataFrame, suffix: str) -> bytes:
    """Return the sheet as the content of a file that ends in ``suffix``."""
    made = pd.DataFrame({str(name): sheet[name].map(_text) for name in sheet}, dtype="object")
    if suffix.lower() == ".csv":
        text: str = made.map(harmless).to_csv(index=False, lineterminator="\n")
        return text.encode("utf-8")
    return _workbook(made)


def _text(cell: object) -> str:
    if cell is None or cell is pd.NaT or cell != cell:
        return ""
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}"
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


def _workbook(sheet: pd.DataFrame) -> bytes:
    import xlsxwriter

    content = io.BytesIO()
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False}
    with xlsxwriter.Workbook(content, options) as book:
        bold = book.add_format({"bold": True})
        page = book.add_worksheet("clearances")
        for column, name in enumerate(sheet):
            longest = max([len(str(name)), *sheet[name].str.len()])
            page.set_column(column, column, min(longest + 2, _WIDEST))
            page.write_string(0, column, str(name), bold)
            for line, cell in enumerate(sheet[name], start=1):
                if cell:
                    page.write_string(line, column, cell)
        page.freeze_panes(1, 2)
    return content.getvalue()
