"""The stored rows of one machine as items of its history, those set aside included."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import duckdb
import pandas as pd

from trendwear.history_tables import KINDS
from trendwear.store.aside import from_content
from trendwear.store.history_words import place, read_as, says, size_read, told_apart, was
from trendwear.store.queries import query
from trendwear.store.shelves import FACTS, REGISTERS
from trendwear.wording import fold

__all__ = ["Asked", "Item", "items"]

SHEET_OF: Final = {
    "machine": "machines",
    "register": "clearances",
    "reading": "readings",
    "dimension": "dimensions",
    "work": "work",
    "event": "events",
    "run log": "run_log",
    "duty plan": "duty_plan",
    "due date": "due_dates",
    "concession": "concessions",
}
_DAY: Final = {"register": "limit_from", "duty plan": "from", "due date": "due"}


@dataclass(frozen=True)
class Asked:
    """Which machine, and which clearance of it where one was named; as they compare."""

    machine_key: str
    clearance_key: str | None


@dataclass(frozen=True)
class Item:
    """One stored row."""

    kind: str
    sheet: str
    entry: int
    loads: tuple[int, ...]
    """The load it came with, and the one it was taken back with where that is another."""
    aside: bool
    """Whether it lies aside with a load that was taken back."""
    line: dict[str, Any]
    """Its first line (`trendwear.history_tables.HISTORY`)."""


def items(connection: duckdb.DuckDBPyConnection, asked: Asked) -> Iterator[Item]:
    """Yield the stored rows, kind after kind, each kind by clearance and day."""
    basis = dict(connection.execute(query("bases_of"), _bound(asked)).fetchall())
    groups = _groups(connection, asked)
    for kind in (kind for kind in KINDS if kind in SHEET_OF):
        rows = _rows(connection, SHEET_OF[kind], asked)
        versions: dict[object, dict[str, Any]] = {}
        for cells in _of_clearance(rows, kind, asked, groups).to_dict("records"):
            row = {str(name): cell for name, cell in cells.items()}
            item = _item(kind, row, basis)
            if "place" in row:
                former = versions.get(row["place"])
                item.line["former"] = former and was(former, row, item.sheet)
                versions[row["place"]] = row
            yield item


def _rows(connection: duckdb.DuckDBPyConnection, sheet: str, asked: Asked) -> pd.DataFrame:
    bound = {"kept_in": sheet, "machine_key": asked.machine_key}
    rows = connection.execute(query("rows_of_machine"), bound).df()
    told = connection.execute(query("aside_of_table"), {"kept_in": sheet}).df()
    gone = told.set_index("entry")["load"]
    rows = rows.assign(aside=rows["entry"].isin(gone.index))
    held = told[told["content"].notna()]
    mine = [json.loads(text).get("machine_key") == asked.machine_key for text in held["content"]]
    if sheet in FACTS and any(mine):
        away = from_content(held.loc[mine, "content"].tolist(), sheet).assign(aside=True)
        together = [part for part in (rows, away.reindex(columns=list(rows))) if len(part)]
        rows = pd.concat([part.astype("object") for part in together], ignore_index=True)
    return rows.assign(taken_back_with=rows["entry"].map(gone))


def _of_clearance(
    rows: pd.DataFrame, kind: str, asked: Asked, groups: frozenset[str]
) -> pd.DataFrame:
    """Return the rows about the clearance asked for; work on its set, or on all, among them."""
    if "clearance_key" in rows:
        about = rows["clearance_key"].astype("object")
        if asked.clearance_key is not None:
            wanted = {asked.clearance_key} | (groups if kind == "work" else frozenset())
            rows = rows[about.isin(wanted)]
        return rows.sort_values(_order(kind, rows), kind="stable", na_position="last")
    if asked.clearance_key is not None:
        return rows.iloc[:0]
    return rows.sort_values(_order(kind, rows), kind="stable", na_position="last")


def _order(kind: str, rows: pd.DataFrame) -> list[str]:
    day = _DAY.get(kind, "date")
    by = ["clearance_key"] if "clearance_key" in rows and kind != "work" else []
    by += ["moves", "place"] if kind == "register" else []
    by += [day] if day in rows and kind != "register" else []
    by += ["run_hours"] if "run_hours" in rows else []
    return [*by, "entry"]


def _groups(connection: duckdb.DuckDBPyConnection, asked: Asked) -> frozenset[str]:
    """Return what work may call the clearance beside its name: its set, and ``*``."""
    found = connection.execute(query("sets_of"), _bound(asked)).fetchall()
    return frozenset({fold("*"), *(fold(name) for (name,) in found)})


def _item(kind: str, row: dict[str, Any], basis: dict[str, str]) -> Item:
    sheet = SHEET_OF[kind]
    day = row.get(_DAY.get(kind, "date"))
    reading, measured = kind == "reading", kind == "dimension"
    line = {
        "kind": kind,
        "machine": row["machine"],
        "clearance": row.get("clearance"),
        "date": None if day is None or pd.isna(day) else day,
        "what": told_apart(row) if reading or measured else says(row, sheet),
        "written": row["written"] if reading or measured else None,
        "read": _read(row, kind, basis),
        "by": row.get("by"),
        "load": row["loaded_by"],
        "counts": _counts(row, sheet),
        **place(row),
    }
    loads = dict.fromkeys([int(row["loaded_by"])])
    if not pd.isna(row["taken_back_with"]):
        loads[int(row["taken_back_with"])] = None
    return Item(kind, sheet, int(row["entry"]), tuple(loads), bool(row["aside"]), line)


def _read(row: dict[str, Any], kind: str, basis: dict[str, str]) -> str | None:
    if kind == "reading":
        return read_as(row, basis.get(row["clearance_key"]))
    return size_read(row) if kind == "dimension" else None


def _counts(row: dict[str, Any], sheet: str) -> str:
    if row["aside"]:
        return f"no: taken back with load {row['taken_back_with']:.0f}"
    if sheet in REGISTERS and not pd.isna(row["replaced_by"]):
        return f"until load {row['replaced_by']:.0f} replaced it"
    return "yes"


def _bound(asked: Asked) -> dict[str, str | None]:
    return {"machine_key": asked.machine_key, "clearance_key": asked.clearance_key}
