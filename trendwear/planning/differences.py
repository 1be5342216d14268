"""Where two states of one frame differ: rows that are new, gone or changed, by their keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import pandas as pd

from trendwear.tables import Columns
from trendwear.wording import fold_column

__all__ = ["CHANGED", "GONE", "NEW", "Difference", "changed_cells", "differences", "keys_of"]

NEW: Final = "new"
GONE: Final = "gone"
CHANGED: Final = "changed"
_BESIDE: Final = ("file", "sheet", "row", "cell", "reading")
"""Where a row came from says nothing about what it says."""


@dataclass(frozen=True)
class Difference:
    """One row that is not in both states alike.

    Attributes
    ----------
    kind : str
        `NEW`, `GONE` or `CHANGED`.
    row : dict
        As it is now; as it was where it is gone.
    cells : dict of str to (was, is)
        What changed in it.
    """

    kind: str
    row: dict[str, Any]
    cells: dict[str, tuple[Any, Any]] = field(default_factory=dict)


def differences(
    was: pd.DataFrame, now: pd.DataFrame, key: Sequence[str], columns: Columns
) -> list[Difference]:
    """Return how ``now`` differs from ``was``: new and changed rows in its order, then those gone.

    Parameters
    ----------
    was, now : DataFrame
        Of these columns.
    key : sequence of str
        What makes a row the same row; text compares as names do.
    columns : dict
        Column names and what they hold, in the manner of `trendwear.tables`.
    """
    old = was.set_index(keys_of(was, key, columns))
    new = now.set_index(keys_of(now, key, columns))
    added = ~new.index.isin(old.index)
    compared = [name for name in columns if name not in (*key, *_BESIDE)]
    cells = changed_cells(old.reindex(new.index[~added]), new[~added], compared)
    found = [Difference(NEW, row) for row in new[added].to_dict("records")]
    some = cells.any(axis=1).to_numpy()
    rows = zip(
        old.reindex(new.index[~added])[some].to_dict("records"),
        new[~added][some].to_dict("records"),
        cells[some].to_dict("records"),
        strict=True,
    )
    found += [
        Difference(CHANGED, after, {n: (before[n], after[n]) for n in compared if differs[n]})
        for before, after, differs in rows
    ]
    gone = old[~old.index.isin(new.index)]
    return found + [Difference(GONE, row) for row in gone.to_dict("records")]


def changed_cells(was: pd.DataFrame, now: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Return which cells of rows that stand in the same order differ; two empty ones do not."""
    told = {}
    for name in columns:
        before, after = was[name], now[name]
        both_empty = before.isna().to_numpy() & after.isna().to_numpy()
        told[name] = (before.to_numpy() != after.to_numpy()) & ~both_empty
    return pd.DataFrame(told, index=now.index, columns=list(columns), dtype=bool)


def keys_of(frame: pd.DataFrame, key: Sequence[str], columns: Columns) -> pd.Index:
    """Return one text a row that says which row it is; a second of the same key is told apart."""
    parts = []
    for name in key:
        column = frame[name]
        text = fold_column(column) if columns[name] == "text" else column.astype("string")
        parts.append(text.astype("object").where(column.notna(), "").astype(str))
    whole = parts[0]
    for part in parts[1:]:
        whole = whole + "\x1f" + part
    again = whole.groupby(whole, sort=False).cumcount()
    return pd.Index(whole + "\x1f" + again.astype(str))
