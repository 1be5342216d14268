"""What the store knows, as the frames of `trendwear.tables`."""

from __future__ import annotations

from pathlib import Path

import duckdb
import pandas as pd

from trendwear import tables
from trendwear.planning_tables import (
    CONCESSIONS,
    DUE_DATES,
    OUTAGES,
    PARTS,
    RISKS,
    PlanningSheets,
)
from trendwear.store.computed import dimensions, materials, with_computed
from trendwear.store.methods import all_methods, default_methods
from trendwear.store.queries import query

__all__ = [
    "clearances",
    "default_methods",
    "dimensions",
    "duty_plan",
    "events",
    "families",
    "machines",
    "materials",
    "methods",
    "planning_sheets",
    "readings",
    "run_log",
    "signature",
    "work",
]

Connection = duckdb.DuckDBPyConnection


def machines(connection: Connection) -> pd.DataFrame:
    """Return every machine (`tables.MACHINES`), those only clearances name included."""
    return _frame(connection, "machines", tables.MACHINES)


def clearances(connection: Connection) -> pd.DataFrame:
    """Return every limit (`tables.CLEARANCES`), limits in sequence included.

    In the order the register was loaded.  A clearance with a limit may set the
    overhaul (``limiting``) unless the register says otherwise.
    """
    rows = connection.execute(query("clearances")).df()
    limiting = rows["limiting"].astype("boolean").fillna(rows["limit_mm"].notna())
    return tables.conform(rows.assign(limiting=limiting.astype(bool)), tables.CLEARANCES)


def readings(connection: Connection) -> pd.DataFrame:
    """Return every reading (`tables.READINGS`), by position and date, as corrected.

    A reading that says worn through is at least the limit that held on its day, else
    at least the reading before; with neither it is kept out of the fit.  Methods stand in
    one spelling each.  Readings that were computed of measured sizes are among them: their
    number is negative, and ``written`` says how they were made.
    """
    return with_computed(connection, _frame(connection, "readings", tables.READINGS))


def work(connection: Connection) -> pd.DataFrame:
    """Return all recorded work (`tables.WORK`), by machine and date."""
    return _frame(connection, "work", tables.WORK)


def events(connection: Connection) -> pd.DataFrame:
    """Return all recorded events (`tables.EVENTS`), by machine and date."""
    return _frame(connection, "events", tables.EVENTS)


def run_log(connection: Connection) -> pd.DataFrame:
    """Return the hour-meter log (`tables.RUN_LOG`), by machine and date."""
    return _frame(connection, "run_log", tables.RUN_LOG)


def duty_plan(connection: Connection) -> pd.DataFrame:
    """Return the duty plans that hold (`tables.DUTY_PLAN`), by machine and first day."""
    return _frame(connection, "duty_plan", tables.DUTY_PLAN)


def families(connection: Connection) -> pd.DataFrame:
    """Return what a person fixed of how families wear (`tables.FAMILIES`)."""
    return _frame(connection, "families", tables.FAMILIES)


def planning_sheets(connection: Connection) -> PlanningSheets:
    """Return outages by their start, due dates, accepted risks, parts and concessions."""
    return PlanningSheets(
        outages=_frame(connection, "outages", OUTAGES),
        due_dates=_frame(connection, "due_dates", DUE_DATES),
        risks=_frame(connection, "risks", RISKS),
        parts=_frame(connection, "parts", PARTS),
        concessions=_frame(connection, "concessions", CONCESSIONS),
    )


def methods(connection: Connection) -> pd.DataFrame:
    """Return every way of measuring (`tables.METHODS`): the user's own, then the starting values.

    A method of the user's own takes the place of the starting value of that name.
    """
    return all_methods(connection)


def signature(store: Path | str) -> tuple[tuple[int, int], ...]:
    """Return (mtime_ns, size) of the store and of its ``.wal``: it changes with every load.

    Raises
    ------
    FileNotFoundError
        There is no store there.
    """
    path = Path(store)
    beside = path.with_name(f"{path.name}.wal")
    files = [path, beside] if beside.exists() else [path]
    stats = [file.stat() for file in files]
    return tuple((stat.st_mtime_ns, stat.st_size) for stat in stats)


def _frame(connection: Connection, name: str, columns: tables.Columns) -> pd.DataFrame:
    return tables.conform(connection.execute(query(name)).df(), columns)
