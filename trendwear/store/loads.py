"""Every load: when, which files, how many rows of which sheet, and what became of them."""

from __future__ import annotations

import duckdb
import pandas as pd

from trendwear.store.queries import query
from trendwear.store.shelves import FACTS, REGISTERS

__all__ = ["loads"]


def loads(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Return one row a load, and one more each time it was taken back again.

    Returns
    -------
    DataFrame
        ``load``, ``loaded_at``, ``version``, ``files``, ``rows`` (``12 readings,
        3 work``), ``rows_now`` (how many count now), ``taken_back_by``, ``taken_back_why``,
        ``taken_back_at``, ``undone_by``, ``undone_why``, ``undone_at``.
    """
    told = connection.execute(query("loads")).df()
    counts = pd.concat(
        [_of_sheet(connection, name) for name in (*FACTS, *REGISTERS)]
        + [connection.execute(query("waiting_by_load")).df().assign(sheet="what waits")]
    )
    brought = counts[counts["rows"] > 0]
    words = brought["rows"].astype(str) + " " + brought["sheet"]
    said = words.groupby(brought["load"]).agg(", ".join)
    now = brought.groupby("load")["counting"].sum()
    places = list(told).index("files") + 1
    told.insert(places, "rows", told["load"].map(said).fillna("none"))
    told.insert(places + 1, "rows_now", told["load"].map(now).fillna(0).astype("int64"))
    return told


def _of_sheet(connection: duckdb.DuckDBPyConnection, sheet: str) -> pd.DataFrame:
    name = "registers_by_load" if sheet in REGISTERS else "facts_by_load"
    parts = [
        connection.execute(query(asked), {"kept_in": sheet}).df()
        for asked in (name, "aside_by_load")
    ]
    together = pd.concat(parts).groupby("load", as_index=False)[["rows", "counting"]].sum()
    return together.assign(sheet=sheet)
