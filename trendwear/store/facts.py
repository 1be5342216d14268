"""Readings, work, events and log rows coming in: added once, never changed by a load.

A row whose key is stored already may fill blanks; a changed cell is a conflict.
"""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.store.amended import as_amended
from trendwear.store.entries import Entries
from trendwear.store.keys import alone, differing, key_of, place_in_file, said
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.shelves import PROVENANCE, Shelf, shelf

__all__ = ["take_facts"]

_AMEND: Final = "Correct the sheet if it is wrong; if the stored row is wrong, use trendwear amend"


def take_facts(rows: pd.DataFrame, sheet: str, entries: Entries, ledger: Ledger) -> None:
    """Take rows, as they are kept, into the store.

    Parameters
    ----------
    rows : frame
        The stored columns of the sheet, its ``…_key`` columns and provenance, and
        ``value_written`` (or the like) for the messages.
    """
    books = shelf(sheet)
    rows = rows.assign(key=key_of(rows, books.sheet))
    ledger.see(sheet, rows["key"])
    good = alone(rows, books, ledger)
    stored = entries.same_key(sheet, good["key"]).set_index("key")
    known = good["key"].isin(stored.index)
    old = stored.reindex(good.loc[known, "key"]).set_axis(good.index[known])
    if sheet == "readings":
        old = as_amended(old, good[known], entries)
    agreeing = _without_conflicts(good[known], old, books, ledger)
    old = old.loc[agreeing.index]
    fills = pd.DataFrame(
        {c: old[c].isna() & agreeing[c].notna() for c in books.compared}, index=agreeing.index
    )
    filling = fills.any(axis="columns")
    if filling.any():
        _fill(
            agreeing[filling].assign(entry=old.loc[filling, "entry"]),
            fills[filling],
            sheet,
            entries,
        )
    fresh = good[~known] if known.any() else good
    entries.add(sheet, fresh, [*_own_columns(books, fresh), "key", *PROVENANCE])
    ledger.count(sheet, "added", len(fresh))
    ledger.count(sheet, "filled", int(filling.sum()))
    ledger.count(sheet, "unchanged", int((~filling).sum()))


def _own_columns(books: Shelf, rows: pd.DataFrame) -> list[str]:
    keys = [c for c in ("machine_key", "clearance_key") if c in rows]
    return [*books.columns, *keys]


def _without_conflicts(
    rows: pd.DataFrame, old: pd.DataFrame, books: Shelf, ledger: Ledger
) -> pd.DataFrame:
    conflict = pd.DataFrame(
        {c: differing(old[c], rows[c], books.columns[c]) for c in books.compared}, index=rows.index
    )
    for column in books.compared:
        bad = conflict[column].reindex(rows.index)
        if not bad.any():
            continue
        marked = rows.assign(**{f"{said(column)}_written": _shown(rows, column)})
        reason = _reason(old.loc[rows.index[bad]], column).reindex(rows.index)
        fault = Fault(said(column), reason, _AMEND)
        rows = ledger.keep_good(marked, bad, fault)
    return rows


def _reason(stored: pd.DataFrame, column: str) -> pd.Series:
    place = place_in_file(stored)
    return (
        f"the store holds this row already with {said(column)} "
        + _shown(stored, column)
        + " ("
        + place
        + ")"
    )


def _shown(rows: pd.DataFrame, column: str) -> pd.Series:
    """Return the cells of a column as a person reads them; of a reading what was written."""
    cells = rows["written"] if said(column) == "value" else rows[column]
    return cells.astype("object").map(lambda cell: _text(cell, column))


def _text(cell: object, column: str) -> str:
    if cell is None or cell is pd.NaT or cell is pd.NA or cell != cell:
        return ""
    if isinstance(cell, float):
        return f"{cell:.6g} mm" if column.endswith("_mm") else f"{cell:.10g}"
    return str(cell)


def _fill(rows: pd.DataFrame, fills: pd.DataFrame, sheet: str, entries: Entries) -> None:
    entries.fill(sheet, rows[["entry", *fills.columns]])
    record = []
    for column in fills:
        took = rows[fills[column]]
        record.append(
            pd.DataFrame(
                {
                    "load": entries.load,
                    "kept_in": sheet,
                    "entry": took["entry"],
                    "column": said(str(column)),
                    "kept_column": str(column),
                    "value": took[column].map(lambda cell, c=column: _text(cell, str(c))),
                    **{name: took[name] for name in PROVENANCE},
                }
            )
        )
    entries.insert("add_filled", pd.concat(record, ignore_index=True))
