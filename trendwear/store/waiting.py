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
    """Return each sheet's rows after those that wait from earlier loads.

    Waiting rows carry their entry in the column ``waiting``.
    """
    kept = entries.connection.execute(query("all_waiting")).df()
    together = {name: complete(rows, SHEETS[name]) for name, rows in sheets.items()}
    for name, rows in kept.groupby("kept_in"):
        sheet = SHEETS[str(name)]
        again = _from_json(rows, sheet)
        fresh = together.get(sheet.name)
        parts = [again] if fresh is None or fresh.empty else [again, fresh]
        together[sheet.name] = pd.concat(parts, ignore_index=True)
    return {name: rows.reset_index(drop=True) for name, rows in together.items()}


def settle(entries: Entries, ledger: Ledger) -> int:
    """Store the rows that wait now, and end the waiting of the others; return what changed."""
    before = entries.connection.execute(query("all_waiting")).df()
    waits = [_as_json(rows) for rows in ledger.waiting()]
    now = pd.concat(waits, ignore_index=True) if waits else _nothing()
    still = now[now["waiting"].notna()]
    entries.insert(
        "still_lacks",
        pd.DataFrame(
            {"entry": still["waiting"].astype("int64"), "lacks": still["lacks"].astype("string")}
        ),
    )
    done = before.loc[~before["entry"].isin(still["waiting"]), ["entry"]]
    entries.insert("end_waiting", done.astype("int64"))
    fresh = now[now["waiting"].isna()].drop_duplicates(["kept_in", "content"])
    fresh = fresh.reset_index(drop=True)
    asked = fresh[["kept_in", "content"]].astype("string").assign(place=range(len(fresh)))
    entries.connection.register("incoming", asked)
    places = [p for (p,) in entries.connection.execute(query("new_waiting")).fetchall()]
    fresh = fresh.loc[sorted(places)].drop(columns="waiting")
    texts = {c: "string" for c in fresh if c != "row"}
    added = fresh.astype(texts).assign(
        entry=entries.numbers("waiting", len(fresh)), load=entries.load
    )
    if len(added):
        entries.insert("add_waiting", added)
    return len(done) + len(added)


def _nothing() -> pd.DataFrame:
    columns = ["kept_in", "content", "machine", "clearance", "lacks", *PROVENANCE, "waiting"]
    return pd.DataFrame({c: pd.Series(dtype="object") for c in columns})


def _as_json(rows: pd.DataFrame) -> pd.DataFrame:
    sheet = SHEETS[rows["kept_in"].iloc[0]]
    columns = [name for column in sheet.all_columns for name in read_columns(column)]
    lines = rows[list(dict.fromkeys(columns))].to_json(
        orient="records", lines=True, date_format="iso", date_unit="us", double_precision=_DIGITS
    )
    clearance = (
        rows["clearance"] if "clearance" in rows else pd.Series(None, rows.index, dtype="object")
    )
    return pd.DataFrame(
        {
            "kept_in": sheet.name,
            "content": _BLANK.sub("", lines).splitlines(),
            "machine": rows["machine"].to_numpy(dtype="object"),
            "clearance": clearance.to_numpy(dtype="object"),
            "lacks": rows["lacks"].to_numpy(dtype="object"),
            **{c: rows[c].to_numpy() for c in PROVENANCE},
            "waiting": rows["waiting"].to_numpy(),
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
