"""Rows of the store's tables as frames, and frames into its tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import duckdb
import pandas as pd

from trendwear.store.queries import query
from trendwear.store.shelves import REGISTERS, Shelf, as_stored, shelf

__all__ = ["Entries"]

_ROWS_AT_ONCE: Final = 50_000
"""So many rows stand in memory a second time, as the store takes them."""


class Entries:
    """The tables of one store during one load.

    Parameters
    ----------
    connection
        A writer's connection.
    load : int
        The number of this load.
    """

    def __init__(self, connection: duckdb.DuckDBPyConnection, load: int) -> None:
        self.connection = connection
        self.load = load
        rows = connection.execute(query("last_entries")).fetchall()
        self._last: dict[str, int] = dict(rows)
        for table, last in connection.execute(query("last_aside")).fetchall():
            self._last[table] = max(self._last.get(table, 0), last)

    def current(self, sheet: str) -> pd.DataFrame:
        """Return the register rows that hold now."""
        return self.connection.execute(query(f"current_{sheet}")).df()

    def same_key(self, sheet: str, keys: pd.Series) -> pd.DataFrame:
        """Return what is stored of a sheet under these keys."""
        return self._with("incoming", pd.DataFrame({"key": keys}), f"same_key_{sheet}").df()

    def add(self, sheet: str, rows: pd.DataFrame, columns: Sequence[str] | None = None) -> None:
        """Add rows, of all columns or these; register rows keep the ``place`` they bring along."""
        for start in range(0, len(rows), _ROWS_AT_ONCE):
            some = rows.iloc[start : start + _ROWS_AT_ONCE]
            self._add(sheet, some[list(columns)] if columns else some)

    def _add(self, sheet: str, rows: pd.DataFrame) -> None:
        numbered = rows.assign(entry=self.numbers(sheet, len(rows)), loaded_by=self.load)
        if sheet in REGISTERS:
            place = numbered["place"] if "place" in numbered else numbered["entry"]
            numbered["place"] = place.fillna(numbered["entry"]).astype("int64")
        self.insert(f"add_{sheet}", self._stored(numbered, shelf(sheet)))

    def insert(self, name: str, rows: pd.DataFrame) -> None:
        """Run the query of that name on ``incoming``."""
        self._with("incoming", rows, name)

    def retire(self, sheet: str, entries: Sequence[int]) -> None:
        """End register rows with this load."""
        frame = pd.DataFrame({"entry": pd.Series(list(entries), dtype="int64")})
        self._with("retired", frame, f"retire_{sheet}", {"load": self.load})

    def hold_again(self, sheet: str, entries: Sequence[int]) -> None:
        """Let register rows hold that had ended."""
        frame = pd.DataFrame({"entry": pd.Series(list(entries), dtype="int64")})
        self._with("retired", frame, f"retire_{sheet}", {"load": None})

    def put(self, sheet: str, rows: pd.DataFrame) -> None:
        """Give the cells of stored rows, found by ``entry``, what stands in ``rows``."""
        self._with("filling", self._stored(rows, shelf(sheet)), f"put_{sheet}")

    def fill(self, sheet: str, rows: pd.DataFrame) -> None:
        """Fill blanks of stored rows, found by ``entry``."""
        self._with("filling", self._stored(rows, shelf(sheet)), f"fill_{sheet}")

    def numbers(self, table: str, count: int) -> range:
        """Return the next entry numbers of a table."""
        first = self._last[table] + 1
        self._last[table] += count
        return range(first, first + count)

    def _stored(self, rows: pd.DataFrame, kept: Shelf) -> pd.DataFrame:
        return as_stored(rows, kept.columns)

    def _with(
        self, view: str, rows: pd.DataFrame, name: str, bound: dict[str, object] | None = None
    ) -> duckdb.DuckDBPyConnection:
        self.connection.register(view, rows)
        return self.connection.execute(query(name), bound or {})
