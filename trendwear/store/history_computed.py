"""Readings that were computed of measured sizes, as lines of a machine's history."""

from __future__ import annotations

import math
from typing import Any

import duckdb
import pandas as pd

from trendwear.history_tables import LOADED
from trendwear.lengths import MM_PER_UNIT
from trendwear.store.computed import computed_readings
from trendwear.store.history_items import Asked
from trendwear.store.history_words import place, read_as
from trendwear.wording import fold_column

__all__ = ["computed_lines"]


def computed_lines(
    connection: duckdb.DuckDBPyConnection, asked: Asked, items: int
) -> list[dict[str, Any]]:
    """Return one line for each reading that sizes make, and for those that make none.

    Parameters
    ----------
    connection
        A reader's.
    asked : Asked
        The machine, and perhaps one clearance of it.
    items : int
        How many items the history has before them.
    """
    told = computed_readings(connection)
    lines = [
        {
            "what": f"{row['state']}, {row['method']}",
            "written": row["written"],
            "read": _read(row),
            "counts": "yes",
            **_common(row),
        }
        for row in _asked_for(told.readings, asked)
    ]
    lines += [
        {
            "what": row["state"],
            "written": f"no clearance computed, {row['why']}",
            "counts": f"no: {row['why']}",
            **_common(row),
        }
        for row in _asked_for(told.not_computed, asked)
    ]
    return [{**line, "item": number} for number, line in enumerate(lines, start=items + 1)]


def _asked_for(rows: pd.DataFrame, asked: Asked) -> list[dict[str, Any]]:
    rows = rows[fold_column(rows["machine"]) == asked.machine_key]
    if asked.clearance_key is not None:
        rows = rows[fold_column(rows["clearance"]) == asked.clearance_key]
    return [{str(name): cell for name, cell in row.items()} for row in rows.to_dict("records")]


def _common(row: dict[str, Any]) -> dict[str, Any]:
    named = {name: row.get(name) for name in ("machine", "clearance", "date", "by")}
    return {"kind": "computed", "happened": LOADED, **named, **place(row)}


def _read(row: dict[str, Any]) -> str:
    """The value, to a tenth of what it may be off, how uncertain it is, and what else is known."""
    per_unit, u = MM_PER_UNIT[row["unit"]], row["stated_mm"]
    places = max(0, 1 - math.floor(math.log10(u / per_unit)))
    value = round(row["value_mm"] / per_unit, places) * per_unit
    told = read_as({**row, "value_mm": value, "lower_mm": value, "upper_mm": value})
    off = f"standard uncertainty {u / per_unit:.2g} {row['unit']}"
    return "; ".join(filter(None, (f"{told}, {off}", row["note"])))
