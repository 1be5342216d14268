"""Readings computed of measured sizes, put among those that were read."""

from __future__ import annotations

import duckdb
import pandas as pd

from trendwear import tables
from trendwear.derived.clearances import Computed, computed
from trendwear.derived.expansion import built_in_materials
from trendwear.derived.pairs_in_cells import pairs_in_cells
from trendwear.dimension_tables import DIMENSIONS, MATERIALS
from trendwear.store.ledger import Ledger, listing
from trendwear.store.methods import all_methods, as_method_named
from trendwear.store.queries import query
from trendwear.wording import fold_column

__all__ = ["computed_readings", "dimensions", "materials", "note_not_computed", "with_computed"]

Connection = duckdb.DuckDBPyConnection


def dimensions(connection: Connection) -> pd.DataFrame:
    """Return the measured sizes that count (`DIMENSIONS`), methods in one spelling each."""
    rows = tables.conform(connection.execute(query("dimensions")).df(), DIMENSIONS)
    return rows.assign(method=as_method_named(rows["method"], _own(connection)))


def materials(connection: Connection) -> pd.DataFrame:
    """Return how materials grow (`MATERIALS`): the site's own, then those built in."""
    own = connection.execute(query("own_materials")).df()
    per_c = own["expansion"] * own["degree"].map({"C": 1.0, "F": 1.8}).astype("float64")
    given = built_in_materials()
    own = tables.conform(own.assign(per_c=per_c), MATERIALS)
    return pd.concat([own, given], ignore_index=True) if len(own) else given


def computed_readings(connection: Connection) -> Computed:
    """Return the clearances that the store's measured sizes make, and what they do not."""
    sizes = dimensions(connection)
    return computed(sizes, all_methods(connection), materials(connection))


def with_computed(connection: Connection, readings: pd.DataFrame) -> pd.DataFrame:
    """Return readings as they count, computed ones among them.

    Parameters
    ----------
    readings : DataFrame
        `tables.READINGS`, by position and date.
    """
    methods = all_methods(connection)
    rows = readings.assign(method=as_method_named(readings["method"], _own(connection)))
    rows = pairs_in_cells(rows, methods)
    made = computed_readings(connection).readings
    if made.empty:
        return rows
    together = pd.concat([rows, made], ignore_index=True) if len(rows) else made
    place = pd.DataFrame(
        {
            "machine": fold_column(together["machine"]),
            "clearance": fold_column(together["clearance"]),
            "date": together["date"],
            "run_hours": together["run_hours"],
        }
    ).sort_values(["machine", "clearance", "date", "run_hours"], kind="stable")
    return together.loc[place.index].reset_index(drop=True)


def note_not_computed(connection: Connection, ledger: Ledger) -> None:
    """Note the measured sizes, of machines this load speaks of, that make no clearance."""
    left = computed_readings(connection).not_computed
    left = left[fold_column(left["machine"]).isin(ledger.touched)]
    for why, rows in left.groupby("why", sort=False):
        places = [
            f"{row.machine} / {row.clearance}"
            + (f", {row.date:%Y-%m-%d}" if pd.notna(row.date) else "")
            + f", {row.state} ({row.file} row {row.row})"
            for row in rows.itertuples()
        ]
        ledger.note(f"dimensions: no clearance is computed, {why}: {listing(places)}")


def _own(connection: Connection) -> pd.Series:
    return connection.execute(query("own_methods")).df()["method"]
