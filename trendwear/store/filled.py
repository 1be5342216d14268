"""Blanks that a later load filled in stored rows: which cells, and made blank again."""

from __future__ import annotations

import pandas as pd

from trendwear.store.keys import said
from trendwear.store.shelves import PROVENANCE, shelf

__all__ = ["blanked", "refilled", "stored_columns"]


def stored_columns(sheet: str, cells: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Return what a load filled: for each stored row the filled cells, the others blank.

    Parameters
    ----------
    cells : frame
        Rows of the table ``filled``: ``entry``, ``column``, ``kept_column`` and where
        they were read.
    rows : frame
        The stored rows, as they are now.
    """
    of_row = rows.set_index("entry")
    told = []
    for entry, own in cells.groupby("entry"):
        columns = [name for cell in own.to_dict("records") for name in _columns(sheet, cell)]
        first = own.iloc[0]
        where = {name: first[name] for name in PROVENANCE}
        told.append({"entry": entry, **of_row.loc[entry, columns].to_dict(), **where})
    return pd.DataFrame(told)


def _columns(sheet: str, cell: dict[str, object]) -> list[str]:
    kept = cell["kept_column"]
    if isinstance(kept, str):
        return [kept]
    return [c for c in shelf(sheet).compared if said(c) == cell["column"]]


def blanked(rows: pd.DataFrame, were: pd.DataFrame) -> pd.DataFrame:
    """Return stored rows with the filled cells blank."""
    filled = were.set_index("entry").notna()
    made = rows.astype("object").set_index("entry")
    for column in filled.columns.intersection(list(rows.columns)).difference(list(PROVENANCE)):
        entries = filled.index[filled[column]]
        made.loc[entries, column] = None
    return made.reset_index()


def refilled(rows: pd.DataFrame, were: pd.DataFrame) -> pd.DataFrame:
    """Return stored rows with the filled cells as they were; `blanked` the other way round."""
    cells = were.astype("object").set_index("entry").drop(columns=list(PROVENANCE), errors="ignore")
    made = rows.astype("object").set_index("entry")
    for column in cells:
        known = cells[column].dropna()
        made.loc[known.index, column] = known
    return made.reset_index()
