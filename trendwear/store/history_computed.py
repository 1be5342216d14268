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
            "what": ", ".join(filter(None, (row["state"], row["method"], row["note"]))),
            "happened": LOADED,
            "written": row["written"],
            "read": f"{read_as(row)}, standard uncertainty "
            f"{row['stated_mm'] / MM_PER_UNIT[row['unit']]:.2g} {row['unit']}",
            "by": row["by"],
            "counts": "yes",
            **place(row),
        }
        for number, row in enumerate(made.to_dict("records"), start=items + 1)
    ]
