"""Whether rows that speak of one thing agree, with each other and with what is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from trendwear.store.keys import comparable, differing, said
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.shelves import How, shelf

__all__ = ["Told", "agree", "first_said", "group_of", "looked_up"]

_BETWEEN = "\x1f"


@dataclass(frozen=True)
class Told:
    """Rows as read, and beside each what it says of a register row."""

    rows: pd.DataFrame
    told: pd.DataFrame
    stored: pd.DataFrame
    ledger: Ledger

    def without(self, bad: pd.Series, fault: Fault) -> Told:
        """Refuse the ``bad`` rows."""
        bad = bad.reindex(self.rows.index, fill_value=False)
        rows = self.ledger.keep_good(self.rows, bad, fault)
        return replace(self, rows=rows, told=self.told.loc[rows.index])


def group_of(rows: pd.DataFrame, columns: tuple[str, ...]) -> pd.Series:
    """Return one text for each row that is equal within a group; blanks are a group."""
    group = pd.Series("", index=rows.index, dtype="object")
    for column in columns:
        cells = rows[column]
        if pd.api.types.is_datetime64_any_dtype(cells):
            days = np.datetime_as_string(cells.to_numpy("datetime64[D]"))
            text = pd.Series(days, rows.index, dtype="object")
        else:
            text = cells.astype("object").where(cells.notna(), "").map(str)
        group = group + _BETWEEN + text
    return group


def looked_up(groups: pd.Series, table: pd.Series) -> pd.Series:
    """Return for each row what the table, indexed by group, says; missing where nothing."""
    return table.astype("object").reindex(groups).set_axis(groups.index)


def agree(hand: Told, column: str, columns: tuple[str, ...]) -> Told:
    """Refuse rows that differ in ``column`` within a group of the same ``columns``.

    What the register says counts; only where it says nothing must the rows agree
    among themselves, and if they do not, all that say something are refused.
    """
    how = _how(column)
    cells = hand.told[column]
    group = group_of(hand.told, columns)
    before = looked_up(group, _stored(hand.stored, column, columns)).astype(cells.dtype)
    against = differing(cells, before, how)
    hand = hand.without(
        against,
        Fault(
            said(column),
            "the register says " + before.map(lambda cell: _cell(cell, column)),
            "Write what the register says, leave it blank, or change the register's own sheet",
        ),
    )
    cells, group = hand.told[column], group.loc[hand.rows.index]
    variants = comparable(cells, how).groupby(group).transform("nunique")
    among = (variants > 1) & cells.notna() & before.loc[cells.index].isna()
    return hand.without(
        among,
        Fault(
            said(column),
            "the rows of this position differ from each other here",
            "Write the same in all rows of the position, or leave it blank in all but one",
        ),
    )


def first_said(hand: Told, columns: tuple[str, ...], wanted: list[str]) -> pd.DataFrame:
    """Return what was told with the blanks of ``wanted`` filled from the row's group.

    The register comes first, then the group's first row that says anything.
    """
    told = hand.told
    group = group_of(told, columns)
    cells = {}
    for column in wanted:
        own = told[column]
        before = looked_up(group, _stored(hand.stored, column, columns)).astype(own.dtype)
        filled = own.where(own.notna(), before)
        cells[column] = filled.where(filled.notna(), filled.groupby(group).transform("first"))
    return told.assign(**cells)


def _stored(stored: pd.DataFrame, column: str, columns: tuple[str, ...]) -> pd.Series:
    named = stored.dropna(subset=[column]).sort_values("entry")
    groups = group_of(named, columns)
    last = ~groups.duplicated(keep="last")
    return named.loc[last, column].astype("object").set_axis(groups[last])


def _how(column: str) -> How:
    for sheet in ("clearances", "machines"):
        if column in shelf(sheet).columns:
            return shelf(sheet).columns[column]
    raise KeyError(f"no register has a column {column}")


def _cell(cell: object, column: str) -> str:
    if cell is None or cell != cell:
        return "nothing"
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}"
    return f"{cell:.6g} mm" if column.endswith("_mm") else str(cell)
