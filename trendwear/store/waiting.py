"""Rows that wait until the register knows their position: kept as read, tried at every load."""

from __future__ import annotations

import json
import re
from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.form import SHEETS, Holds, Sheet
from trendwear.store.cells import complete, read_columns
from trendwear.store.entries import Entries
from trendwear.store.ledger import Ledger
from trendwear.store.queries import query
from trendwear.store.shelves import PROVENANCE

__all__ = ["settle", "with_waiting"]

_DIGITS: Final = 15
# Cells that say nothing.  A quote within a text is written \", so ," begins a name only.
_BLANK: Final = re.compile(
    r',"[^"\\]+(?:":null|_plus_minus":false|_spread":0\.0|_spread_days":0\.0)(?=[,}])'
)


def with_waiting(sheets: dict[str, pd.DataFrame], entries: Entries) -> dict[str, pd.DataFrame]:
    """Return the rows of each sheet that has any, after those that wait from earlier loads.

    Waiting rows carry their entry in the column ``waiting``.  The rows are taken out of
    ``sheets``: there may be too many of them to be held twice.
    """
    kept = entries.connection.execute(query("all_waiting")).df()
    filled = [name for name, rows in sheets.items() if len(rows)]
    together = {name: complete(sheets.pop(name), SHEETS[name]) for name in filled}
    for name, rows in kept.groupby("kept_in"):
        sheet = SHEETS[str(name)]
        again = _from_json(rows, sheet)
        fresh = together.get(sheet.name)
        parts = [again] if fresh is None else [again, fresh]
        together[sheet.name] = pd.concat(parts, ignore_index=True)
    return {name: rows.reset_index(drop=True) for name, rows in together.items()}


def settle(entries: Entries, ledger: Ledger) -> int:
    """Store the rows that wait now, and end the waiting of the others; return what changed."""
    before = entries.connection.execute(query("waiting_entries")).df()
    waits = ledger.waiting()
    again = [rows.loc[rows["waiting"].notna(), ["waiting", "lacks"]] for rows in waits]
    still = pd.concat([pd.DataFrame({"waiting": [], "lacks": []}), *(r for r in again if len(r))])
    still = still.rename(columns={"waiting": "entry"}).astype({"entry": "int64", "lacks": "string"})
    entries.insert("still_lacks", still)
    done = before.loc[~before["entry"].isin(still["entry"])]
    entries.connection.register("incoming", done.astype("int64"))
    entries.connection.execute(query("keep_waited"), {"load": entries.load})
    entries.insert("end_waiting", done.astype("int64"))
    new = [rows[rows["waiting"].isna()] for rows in waits]
    return len(done) + _put(entries, [_as_json(rows) for rows in new if len(rows)])


def _put(entries: Entries, frames: list[pd.DataFrame]) -> int:
    """Store new waiting rows, unless the same row waits already; return how many."""
    if not frames:
        return 0
    fresh = pd.concat(frames, ignore_index=True).drop_duplicates(["kept_in", "content"])
    fresh = fresh.astype({c: "string" for c in fresh if c != "row"}).reset_index(drop=True)
    asked = fresh[["kept_in", "content"]].assign(place=range(len(fresh)))
    entries.connection.register("incoming", asked)
    places = [p for (p,) in entries.connection.execute(query("new_waiting")).fetchall()]
    added = fresh.loc[sorted(places)]
    if len(added):
        numbers = entries.numbers("waiting", len(added))
        entries.insert("add_waiting", added.assign(entry=numbers, load=entries.load))
    return len(added)


def _as_json(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows as text: what each says, in the order of the form, without its blanks."""
    sheet = SHEETS[rows["kept_in"].iloc[0]]
    columns = [name for column in sheet.all_columns for name in read_columns(column)]
    spoken = [name for name in dict.fromkeys(columns) if rows[name].notna().any()]
    lines = rows[spoken].to_json(
        orient="records", lines=True, date_format="iso", date_unit="us", double_precision=_DIGITS
    )
    position = rows.get("clearance")
    return pd.DataFrame(
        {
            "kept_in": sheet.name,
            "content": _BLANK.sub("", lines).strip("\n").split("\n"),
            "machine": rows["machine"].to_numpy(dtype="object"),
            "clearance": None if position is None else position.to_numpy(dtype="object"),
            "lacks": rows["lacks"].to_numpy(dtype="object"),
            **{c: rows[c].to_numpy() for c in PROVENANCE},
        }
    )


def _from_json(kept: pd.DataFrame, sheet: Sheet) -> pd.DataFrame:
    rows = pd.DataFrame([json.loads(line) for line in kept["content"]])
    rows.index = kept.index
    for column in sheet.all_columns:
        if column.holds is Holds.DATE and column.name in rows:
            rows[column.name] = pd.to_datetime(rows[column.name]).dt.as_unit("us")
        if column.holds is Holds.LENGTH and f"{column.name}_side" in rows:
            rows = _with_open_bounds(rows, column.name)
    for name in PROVENANCE:
        rows[name] = kept[name]
    rows["waiting"] = kept["entry"]
    return complete(rows, sheet)


def _with_open_bounds(rows: pd.DataFrame, column: str) -> pd.DataFrame:
    """Put back the open bound of a ``>``: JSON has no infinity."""
    upper = rows.get(f"{column}_upper", pd.Series(np.nan, rows.index)).astype("float64")
    return rows.assign(**{f"{column}_upper": upper.mask(rows[f"{column}_side"] == ">", np.inf)})
