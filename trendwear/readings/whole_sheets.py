"""The rows of all files of one sheet, brought together with every column of the form."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from trendwear.readings.columns import Sheet
from trendwear.readings.typed_cells import blank_columns
from trendwear.wording import fold_column

__all__ = ["whole_sheet", "without_repeated_work"]

_PROVENANCE = {
    "file": "object", "sheet": "object", "row": "int64", "cell": "object", "sha256": "object"
}  # fmt: skip


def whole_sheet(sheet: Sheet, frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Return rows of several files with all columns of the sheet.

    Columns of the registers are there where a file carries any; ``by_word`` says
    which rows of `work` and `events` come from a word in a reading or a log row.
    """
    columns = [
        column
        for column in sheet.all_columns
        if column in sheet.columns or any(column.name in frame for frame in frames)
    ]
    filled = []
    for frame in frames:
        cells: dict[str, pd.Series] = {}
        for column in columns:
            for name, blank in blank_columns(column, len(frame)).items():
                cell = frame[name].reset_index(drop=True) if name in frame else blank
                cells[name] = cell.astype(blank.dtype)
        for name, dtype in _PROVENANCE.items():
            cells[name] = frame[name].reset_index(drop=True).astype(dtype)
        cells["by_word"] = frame["by_word"].reset_index(drop=True)
        filled.append(pd.DataFrame(cells))
    if filled:
        return pd.concat(filled, ignore_index=True)
    blanks = [blank_columns(column, 0) for column in columns]
    nothing = {name: cells for blank in blanks for name, cells in blank.items()}
    nothing |= {name: pd.Series([], dtype=dtype) for name, dtype in _PROVENANCE.items()}
    return pd.DataFrame({**nothing, "by_word": pd.Series([], dtype="bool")})


def without_repeated_work(work: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Return work without rows that a word repeats, and a note on those.

    A word in a reading that says no more than another row for the same clearance,
    day and action is told once.
    """
    told = work.assign(
        machine=fold_column(work["machine"]), clearance=fold_column(work["clearance"])
    ).sort_values("by_word", kind="stable")
    again = told.duplicated(["machine", "clearance", "date", "action"]) & told["by_word"]
    again = again.reindex(work.index)
    repeated = work[again]
    notes = [
        f"{file}, {tab}: the work is told already, counted once: "
        f"row {', '.join(map(str, rows['row']))}"
        for (file, tab), rows in repeated.groupby(["file", "sheet"], sort=False)
    ]
    return work[~again].reset_index(drop=True), notes
