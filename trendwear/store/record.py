"""The record a load leaves: its time, its files, what it refused, what a file no longer holds."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

import duckdb
import pandas as pd

from trendwear.readings.faults import FAULTS
from trendwear.store.entries import Entries
from trendwear.store.ledger import FAULT_COLUMNS, Ledger, listing
from trendwear.store.queries import query
from trendwear.tables import conform

if TYPE_CHECKING:
    from trendwear.readings.sheet import Incoming

__all__ = [
    "all_faults",
    "as_told",
    "gone_rows",
    "next_load",
    "time_of_load",
    "write_load",
    "write_refused",
]


def next_load(connection: duckdb.DuckDBPyConnection) -> int:
    """Return the number of the load that begins."""
    return int(_one(connection, "next_load"))


def time_of_load(connection: duckdb.DuckDBPyConnection, loaded_at: datetime | None) -> pd.Timestamp:
    """Return the given time, or the clock's as the engine sees it."""
    return pd.Timestamp(_one(connection, "now") if loaded_at is None else loaded_at)


def all_faults(incoming: Incoming, ledger: Ledger) -> pd.DataFrame:
    """Return the faults found in reading and those found against the register."""
    marks = {source.name: source.sha256 for source in incoming.files}
    read = incoming.faults.assign(sha256=incoming.faults["file"].map(marks).astype("object"))
    parts = [part for part in (read[FAULT_COLUMNS], ledger.faults()) if len(part)]
    together = pd.concat(parts, ignore_index=True) if parts else read[FAULT_COLUMNS]
    return together.sort_values(["file", "sheet", "row"], kind="stable", ignore_index=True)


def as_told(faults: pd.DataFrame) -> pd.DataFrame:
    """Return the faults as the report carries them."""
    return conform(faults, FAULTS)


def write_refused(entries: Entries, faults: pd.DataFrame) -> int:
    """Store refused rows that were not refused before; return how many."""
    if faults.empty:
        return 0
    texts = {column: "string" for column in FAULT_COLUMNS if column != "row"}
    rows = faults.astype({**texts, "row": "Int64"}).assign(load=entries.load)
    entries.insert("add_refused", rows)
    return int(_one(entries.connection, "refused_by", {"load": entries.load}))


def write_load(entries: Entries, incoming: Incoming, when: pd.Timestamp, version: str) -> None:
    """Store the load itself and the files it read."""
    entries.connection.execute(
        query("add_load"),
        {"load": entries.load, "loaded_at": when.to_pydatetime(), "version": version},
    )
    files = [
        {"load": entries.load, "name": f.name, "path": str(f.path), "sha256": f.sha256}
        for f in incoming.files
    ]
    if files:
        entries.insert("add_source_files", pd.DataFrame(files))


def gone_rows(entries: Entries, incoming: Incoming, ledger: Ledger) -> list[str]:
    """Say which stored rows of a file are not in its new version any more."""
    files = pd.DataFrame(
        [{"file": f.name, "sha256": f.sha256} for f in incoming.files], columns=["file", "sha256"]
    )
    entries.connection.register("keys", ledger.seen())
    entries.connection.register("incoming", files.astype("string"))
    gone = entries.connection.execute(query("gone_from_file")).df()
    notes = []
    for (sheet, file), rows in gone.groupby(["kept_in", "file"]):
        names = [_named(row) for row in rows.head(5).itertuples(index=False)]
        names += [""] * (len(rows) - len(names))
        notes.append(
            f"{file}: {len(rows)} row{'' if len(rows) == 1 else 's'} of {sheet} that it held "
            f"before {'is' if len(rows) == 1 else 'are'} not in it now or refused; the store keeps "
            f"{'it' if len(rows) == 1 else 'them'}: {listing(names)}"
        )
    return notes


def _named(row: Any) -> str:
    parts = [str(part) for part in (row.machine, row.clearance) if isinstance(part, str)]
    if isinstance(row.date, pd.Timestamp):
        parts.append(f"{row.date:%Y-%m-%d}")
    return " / ".join(parts)


def _one(
    connection: duckdb.DuckDBPyConnection, name: str, bound: dict[str, object] | None = None
) -> Any:
    [(cell,)] = connection.execute(query(name), bound or {}).fetchall()
    return cell
