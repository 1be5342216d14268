"""Readings that were computed of measured sizes, as lines of a machine's history."""

from __future__ import annotations

from typing import Any

import duckdb

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
    """Return one line for each reading that sizes make: how it was made, and of what.

    Parameters
    ----------
    connection
        A reader's.
    asked : Asked
        The machine, and perhaps one clearance of it.
    items : int
        How many items the history has before them.
    """
    made = computed_readings(connection).readings
    made = made[fold_column(made["machine"]) == asked.machine_key]
    if asked.clearance_key is not None:
        made = made[fold_column(made["clearance"]) == asked.clearance_key]
    return [
        {
            "item": number,
            "kind": "computed",
            "machine": row["machine"],
            "clearance": row["clearance"],
            "date": row["date"],
            "what": f"{row['state']}, {row['method']}",
            "happened": LOADED,
            "written": row["written"],
            "read": _read(row),
            "by": row["by"],
            "counts": "yes",
            **place(row),
        }
        for number, row in enumerate(made.to_dict("records"), start=items + 1)
    ]


def _read(row: dict[str, Any]) -> str:
    """The value to a tenth of the step written, how uncertain it is, and what else is known."""
    finest = row["step_mm"] / 10
    value = round(row["value_mm"] / finest) * finest
    told = read_as({**row, "value_mm": value, "lower_mm": value, "upper_mm": value})
    u = f"standard uncertainty {row['stated_mm'] / MM_PER_UNIT[row['unit']]:.2g} {row['unit']}"
    return "; ".join(filter(None, (f"{told}, {u}", row["note"])))
