"""What makes two rows the same one, and where two such rows differ."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.form import Holds, Sheet
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.shelves import How, Shelf
from trendwear.wording import fold_column

__all__ = ["alone", "comparable", "differing", "key_of", "place_in_file", "said"]

_BETWEEN: Final = "\x1f"  # stands in no cell
_TOLERANCE: Final = 1e-9  # relative; the same number written in another way


def key_of(rows: pd.DataFrame, sheet: Sheet) -> pd.Series:
    """Return the key of each row as one text: folded names, dates, words.

    Of a reading without a date the hours stand in its place.
    """
    parts = [_part(rows, sheet, column) for column in sheet.key]
    key = parts[0]
    for part in parts[1:]:
        key = key + _BETWEEN + part
    return key


def _part(rows: pd.DataFrame, sheet: Sheet, column: str) -> pd.Series:
    if f"{column}_key" in rows:
        return rows[f"{column}_key"].fillna("")
    if sheet.column(column).holds is not Holds.DATE:
        return fold_column(rows[column]).astype("object").fillna("")
    dates = pd.Series(
        np.datetime_as_string(rows[column].to_numpy("datetime64[s]")), rows.index, dtype="object"
    ).where(rows[column].notna(), "")
    if "run_hours" in rows and column == "date":
        return dates.where(dates != "", rows["run_hours"].map("{:.3f} h".format))
    return dates


def comparable(column: pd.Series, how: How) -> pd.Series:
    """Return the cells of a column in the form in which they compare; blanks stay missing."""
    if how is How.NAME:
        return fold_column(column).astype("object")
    if how is How.TEXT:
        return column.astype("object").where(column.notna(), None).map(_trimmed)
    if how is How.NUMBER:
        return column.astype("float64")
    if how is How.FLAG:
        return column.astype("boolean").astype("float64")
    return column


def _trimmed(cell: object) -> object:
    return " ".join(cell.split()) if isinstance(cell, str) else cell


def differing(one: pd.Series, other: pd.Series, how: How) -> pd.Series:
    """Whether two cells both say something and not the same."""
    left, right = comparable(one, how), comparable(other, how)
    both = left.notna() & right.notna()
    if how in (How.NUMBER, How.FLAG):
        same = np.isclose(left.to_numpy(), right.to_numpy(), rtol=_TOLERANCE, atol=1e-12)
    else:
        same = (left == right).to_numpy(bool)
    return both & ~pd.Series(same, index=one.index)


def alone(rows: pd.DataFrame, shelf: Shelf, ledger: Ledger) -> pd.DataFrame:
    """Return rows of which each key is there once.

    Equal rows count as one; rows of the same key that are not equal are refused.
    """
    twice = rows["key"].duplicated(keep=False)
    if not twice.any():
        return rows
    doubled = rows.loc[twice]
    cells = pd.DataFrame({c: comparable(doubled[c], shelf.columns[c]) for c in shelf.compared})
    varied = cells.groupby(doubled["key"]).nunique(dropna=False) > 1
    unlike = varied.any(axis="columns")
    where = varied.idxmax(axis="columns").map(said)
    bad = rows["key"].isin(unlike[unlike].index)
    reason = (
        "another row of this load has the same key and another "
        + rows["key"].map(where).fillna("")
        + " ("
        + rows["key"].map(_places(doubled)).fillna("")
        + ")"
    )
    first = "" if "value" not in shelf.sheet.names else "value"
    good = ledger.keep_good(
        rows,
        bad,
        Fault(
            first or shelf.sheet.key[0],
            reason,
            "Tell them apart by opening, plane, angle or repeat, or keep the right one"
            if first
            else "Keep the right one",
        ),
    )
    once = good.drop_duplicates("key")
    ledger.count(shelf.sheet.name, "unchanged", len(good) - len(once))
    return once


def place_in_file(rows: pd.DataFrame) -> pd.Series:
    """Return where each row was read: ``log.xlsx, T-101 F12``, else ``log.csv row 12``."""
    told = [
        f"{file}, {sheet} {cell}" if isinstance(cell, str) else f"{file} row {row:.0f}"
        for file, sheet, row, cell in zip(
            *(rows[name] for name in ("file", "sheet", "row", "cell")), strict=True
        )
    ]
    return pd.Series(told, rows.index, dtype="object")


def _places(doubled: pd.DataFrame) -> pd.Series:
    where = place_in_file(doubled)
    return where.groupby(doubled["key"]).agg(lambda places: ", ".join(places.head(4)))


def said(column: str) -> str:
    """Return a stored column's name in the words of the form.

    >>> said("limit_mm"), said("hours_spread")
    ('limit', 'run_hours')
    """
    inside = {
        "lower_mm": "value",
        "upper_mm": "value",
        "half_width_mm": "value",
        "at_least": "value",
        "worn_through": "value",
        "stated_mm": "uncertainty",
        "hours_spread": "run_hours",
        "date_spread_days": "date",
    }
    return inside.get(column, column.removesuffix("_mm"))
