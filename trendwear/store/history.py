"""What the store knows, as the frames of `trendwear.tables`."""

from __future__ import annotations

from dataclasses import dataclass
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
from trendwear.store.methods import all_methods, as_method_named, default_methods
from trendwear.store.queries import query
from trendwear.wording import fold

__all__ = [
    "Record",
    "clearances",
    "default_methods",
    "duty_plan",
    "events",
    "families",
    "machines",
    "methods",
    "planning_sheets",
    "readings",
    "record",
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
    one spelling each.
    """
    own = connection.execute(query("own_methods")).df()["method"]
    rows = _frame(connection, "readings", tables.READINGS)
    return rows.assign(method=as_method_named(rows["method"], own))


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


@dataclass(frozen=True)
class Record:
    """Everything stored about one machine or clearance, with file, sheet, row and load."""

    register: pd.DataFrame
    """Every version of its register rows; ``replaced`` marks the old ones."""
    readings: pd.DataFrame
    work: pd.DataFrame
    fills: pd.DataFrame
    """Blanks that a later load filled: ``kept_in``, ``entry``, ``column``, ``value``."""
    corrections: pd.DataFrame
    """Readings excluded or amended: what, by whom, why, when, and when taken back."""
    acceptances: pd.DataFrame
    """Events of the machine that a person answers for."""
    concessions: pd.DataFrame
    """Clearances past their limit that a person let run on; ``replaced`` marks old rows."""


def record(connection: Connection, machine: str, clearance: str | None = None) -> Record:
    """Return what is stored of a machine, or of one of its clearances, however it is spelt."""
    bound = {
        "machine_key": fold(machine),
        "clearance_key": None if clearance is None else fold(clearance),
    }

    def asked(name: str) -> pd.DataFrame:
        return connection.execute(query(f"record_of_{name}"), bound).df()

    return Record(
        asked("register"),
        asked("readings"),
        asked("work"),
        asked("fills"),
        asked("corrections"),
        asked("acceptances"),
        asked("concessions"),
    )


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
