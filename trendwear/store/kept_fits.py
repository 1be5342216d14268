"""Fits of families, kept in the store: written down by who made them, read back by none else."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from typing import Final

import duckdb
import pandas as pd

from trendwear.store.queries import query

__all__ = ["COLUMNS", "MOST", "keep_fits", "kept_fits"]

Connection = duckdb.DuckDBPyConnection
Row = tuple[str, str, float, str]

COLUMNS: Final = ("family", "fingerprint", "noise_share", "result")

MOST: Final = 4
"""Fits kept of one family: as many days as the dashboard keeps answers of."""


def kept_fits(connection: Connection, made_by: str) -> list[Row]:
    """Return what was kept by ``made_by``, a row of `COLUMNS` each.

    A row that is not word for word what was written is left out: it is fitted again.
    """
    rows = connection.execute(query("kept_fits"), {"made_by": made_by}).fetchall()
    return [tuple(row) for *row, seal in rows if seal == _seal(made_by, tuple(row))]


def keep_fits(connection: Connection, made_by: str, rows: Sequence[Row]) -> None:
    """Keep rows of `COLUMNS`, and of each family the newest `MOST`."""
    fresh = pd.DataFrame(rows, columns=list(COLUMNS))
    fresh["seal"] = [_seal(made_by, row) for row in rows]
    connection.register("fresh_fits", fresh)
    connection.execute(query("keep_fits"), {"made_by": made_by})
    connection.unregister("fresh_fits")
    connection.execute(query("drop_old_fits"), {"made_by": made_by, "most": MOST})


def _seal(made_by: str, row: Row) -> str:
    return hashlib.sha256("\n".join([made_by, *map(str, row)]).encode()).hexdigest()
