"""The history of one machine: what was loaded from where, and every change since."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import duckdb
import pandas as pd

from trendwear import tables
from trendwear.history_tables import HISTORY, LOADED
from trendwear.store.entries import Entries
from trendwear.store.history_computed import computed_lines
from trendwear.store.history_items import Asked, Item, items
from trendwear.store.history_words import place, read_as
from trendwear.store.positions import read_register, with_keys
from trendwear.store.queries import query

__all__ = ["record"]

Lines = Iterator[dict[str, Any]]


def record(
    connection: duckdb.DuckDBPyConnection, machine: str, clearance: str | None = None
) -> pd.DataFrame:
    """Return all that is stored of a machine, or of one of its clearances, however it is spelt.

    Returns
    -------
    DataFrame
        `trendwear.history_tables.HISTORY`: each stored row, followed by its changes in
        the order in which they were made.  Rows of loads that were taken back are there too.
    """
    asked = _asked(connection, machine, clearance)
    found = list(items(connection, asked))
    changes = _Changes.read(connection, found)
    lines = []
    for number, item in enumerate(found, start=1):
        first = {**item.line, "happened": LOADED, "at": changes.loaded_at(item.line["load"])}
        after = sorted(changes.of(item), key=lambda line: line["at"])
        if any(line["happened"] == "excluded" and not line["ended"] for line in after):
            first["counts"] = "no: excluded" if first["counts"] == "yes" else first["counts"]
        named = {name: first[name] for name in ("kind", "machine", "clearance", "date", "what")}
        lines += [{**line, "item": number} for line in (first, *({**named, **a} for a in after))]
    lines += computed_lines(connection, asked, len(found))
    if not lines:
        return tables.empty(HISTORY)
    return tables.conform(pd.DataFrame(lines), HISTORY)


def _asked(connection: duckdb.DuckDBPyConnection, machine: str, clearance: str | None) -> Asked:
    entries = Entries(connection, 0)
    named = pd.DataFrame({"machine": [machine], "clearance": [clearance]})
    row = with_keys(named, read_register(entries), entries.current("names")).iloc[0]
    return Asked(row["machine_key"], row["clearance_key"])


class _Changes:
    """What was done to the rows of a history after they were loaded."""

    def __init__(self, frames: dict[str, pd.DataFrame]) -> None:
        self._loads = frames["loads"].drop_duplicates("load").set_index("load")
        self._taken_back = frames["loads"].dropna(subset=["taken_back_at"])
        self._of = {
            name: dict(list(frames[name].groupby(["kept_in", "entry"])))
            for name in ("corrections", "acceptances", "fills")
        }

    @staticmethod
    def read(connection: duckdb.DuckDBPyConnection, found: list[Item]) -> _Changes:
        """Look up the changes of these items."""
        rows = [{"kept_in": item.sheet, "entry": item.entry} for item in found]
        frame = pd.DataFrame(rows, columns=["kept_in", "entry"])
        connection.register("incoming", frame.astype({"kept_in": "string", "entry": "int64"}))
        asked = {
            "corrections": "corrections_of_items",
            "acceptances": "acceptances_of_items",
            "fills": "fills_of_items",
        }
        frames = {name: connection.execute(query(what)).df() for name, what in asked.items()}
        return _Changes({**frames, "loads": connection.execute(query("loads")).df()})

    def loaded_at(self, load: float) -> Any:
        """Return when a load was made."""
        return self._loads["loaded_at"].get(load)

    def of(self, item: Item) -> Lines:
        """Yield what was done to one stored row."""
        for name, say in (
            ("corrections", self._correction),
            ("acceptances", self._acceptance),
            ("fills", self._fill),
        ):
            rows = self._of[name].get((item.sheet, item.entry))
            for row in [] if rows is None else rows.to_dict("records"):
                yield from say({str(key): cell for key, cell in row.items()})
        for load in item.loads:
            yield from self._back(load)

    def _correction(self, row: dict[str, Any]) -> Lines:
        amended = row["what"] == "amended"
        yield {
            **_signed(row, row["what"]),
            "former": row["former"],
            "written": row["written"] if amended else None,
            "read": read_as(row) if amended else None,
        }
        yield from _undone(row, f"{row['what']} on {row['made_at']:%Y-%m-%d}")

    def _acceptance(self, row: dict[str, Any]) -> Lines:
        yield _signed(row, "accepted")
        yield from _undone(row, f"accepted on {row['made_at']:%Y-%m-%d}")

    def _fill(self, row: dict[str, Any]) -> Lines:
        load = int(row["load"])
        told = f"{row['column']}: {row['value']}"
        at = self.loaded_at(load)
        yield {"happened": "filled", "at": at, "written": told, "load": load, **place(row)}
        for line in self._back(load):
            yield {**line, "former": told}

    def _back(self, load: int) -> Lines:
        """Yield when a load was taken back, and put in again."""
        mine = self._taken_back[self._taken_back["load"] == load]
        for row in mine.to_dict("records"):
            told = {
                "by": row["taken_back_by"],
                "why": row["taken_back_why"],
                "at": row["taken_back_at"],
            }
            yield {"happened": "taken back", "load": load, "ended": False, **told}
            if not pd.isna(row["undone_at"]):
                told = {"by": row["undone_by"], "why": row["undone_why"], "at": row["undone_at"]}
                yield {"happened": "put in again", "load": load, **told}


def _signed(row: dict[str, Any], what: str) -> dict[str, Any]:
    told = {"by": row["by"], "why": row["why"], "at": row["made_at"]}
    return {"happened": what, "ended": not pd.isna(row["undone_at"]), **told}


def _undone(row: dict[str, Any], former: str) -> Lines:
    if not pd.isna(row["undone_at"]):
        told = {"by": row["undone_by"], "why": row["undone_why"], "at": row["undone_at"]}
        yield {"happened": "undone", "former": former, **told}
