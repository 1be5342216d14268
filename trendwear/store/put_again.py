"""A load that was taken back, put in again as it was."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import duckdb
import pandas as pd

from trendwear.errors import NotOneRow
from trendwear.store.aside import from_content, put_back
from trendwear.store.entries import Entries
from trendwear.store.filled import refilled
from trendwear.store.queries import query
from trendwear.store.rests_on import Footing, loads_said
from trendwear.store.shelves import FACTS, PROVENANCE, REGISTERS
from trendwear.store.signed import Signed, correcting, trying
from trendwear.store.take_back import TakenBack, load_asked, rows_said

__all__ = ["preview_undo_take_back", "undo_take_back"]


def undo_take_back(store: Path | str, load: int, signed: Signed) -> TakenBack:
    """Put a load that was taken back in again.

    Raises
    ------
    UnknownName
        There is no such load.
    NotOneRow
        It is not taken back, or the store has changed so that it no longer fits.
    StoreProblem
    """
    with correcting(store) as connection:
        return _undo(connection, load, signed)


def preview_undo_take_back(store: Path | str, load: int, signed: Signed) -> TakenBack:
    """Return what `undo_take_back` would do, and store nothing; it refuses what that refuses."""
    with trying(store) as connection:
        return replace(_undo(connection, load, signed), tried=True)


def _undo(connection: duckdb.DuckDBPyConnection, load: int, signed: Signed) -> TakenBack:
    where = load_asked(connection, load)
    standing = connection.execute(query("taken_back"), {"load": load}).fetchall()
    if not standing:
        raise NotOneRow(where, "it is not taken back", "There is nothing to undo.")
    number = int(standing[0][0])
    entries = Entries(connection, load)
    before = Footing.of(entries)
    connection.execute(query("aside_with_their_own"), {"take_back": number, "load": load})
    aside = connection.execute(query("aside_of"), {"take_back": number}).df()
    lines = []
    for kept_in, rows in aside.groupby("kept_in", sort=False):
        lines.append(_again(entries, str(kept_in), rows, where))
    waits = connection.execute(query("reopened_by"), {"take_back": number}).df()
    for ended in ("end_waiting", "end_aside_waiting"):
        entries.insert(ended, waits.astype("int64"))
    connection.execute(query("unmark_reopened"), {"take_back": number})
    Footing.of(entries).refuse_lost(before, where)
    connection.execute(query("end_aside"), {"take_back": number})
    connection.execute(query("undo_take_back"), {"entry": number, **signed.bound})
    return TakenBack(load, undone=True, lines=(f"{where} is in again", *lines))


def _again(entries: Entries, kept_in: str, rows: pd.DataFrame, where: str) -> str:
    if kept_in in REGISTERS:
        _hold_again(entries, kept_in, rows, where)
    elif kept_in in FACTS:
        _facts_again(entries, kept_in, rows, where)
    elif kept_in == "waiting":
        put_back(entries, "waiting", rows["content"].tolist())
    else:
        return _fill_again(entries, kept_in.removeprefix("filled:"), rows, where)
    named = "what waits" if kept_in == "waiting" else kept_in
    return f"{rows_said(len(rows), named)} count{'s' if len(rows) == 1 else ''} again"


def _hold_again(entries: Entries, sheet: str, aside: pd.DataFrame, where: str) -> None:
    connection = entries.connection
    rows = _asked(entries, "rows_by_entry", sheet, aside[["entry"]])
    now = _asked(entries, "standing_keys", sheet, rows[["key"]])
    mine = rows.set_index("key")["entry"].reindex(now["key"])
    later = now[(now["entry"].to_numpy() > mine.to_numpy())]
    if len(later):
        said = loads_said(later["loaded_by"])
        found = f"{rows_said(len(later), sheet)} of {said} stand in its place"
        raise NotOneRow(where, found, f"Take {said} back first.")
    versions = _asked(entries, "rows_of_places", sheet, rows[["place"]])
    gone = connection.execute(query("aside_entries"), {"kept_in": sheet}).df()
    gone = gone[gone["load"] != entries.load]
    beneath = versions.merge(gone, on="entry").merge(
        rows[["place", "entry"]], on="place", suffixes=("", "_mine")
    )
    beneath = beneath[beneath["entry"] < beneath["entry_mine"]]
    if len(beneath):
        _refuse_beneath(where, f"{rows_said(len(beneath), sheet)} beneath its own", beneath["load"])
    ended = versions[versions["replaced_by"].isna()]
    entries.retire(sheet, ended["entry"].tolist())
    entries.hold_again(sheet, rows["entry"].tolist())


def _facts_again(entries: Entries, sheet: str, aside: pd.DataFrame, where: str) -> None:
    rows = from_content(aside["content"].tolist(), sheet)
    now = entries.same_key(sheet, rows["key"])
    if len(now):
        said = loads_said(now["loaded_by"])
        raise NotOneRow(
            where,
            f"{rows_said(len(now), sheet)} came in again with {said}",
            f"Take {said} back first.",
        )
    put_back(entries, sheet, aside["content"].tolist())


def _fill_again(entries: Entries, sheet: str, aside: pd.DataFrame, where: str) -> str:
    were = from_content(aside["content"].tolist(), sheet)
    rows = _asked(entries, "rows_by_entry", sheet, aside[["entry"]])
    if len(rows) < len(were):
        gone = entries.connection.execute(query("aside_entries"), {"kept_in": sheet}).df()
        loads = gone.loc[gone["entry"].isin(were["entry"]), "load"]
        _refuse_beneath(where, f"rows of {sheet} whose blanks it filled", loads)
    now = rows.set_index("entry").loc[were["entry"].astype("int64")]
    taken = sum(
        int((now[c].notna().to_numpy() & were[c].notna().to_numpy()).sum())
        for c in _shared(were, now)
    )
    if taken:
        raise NotOneRow(
            where,
            f"{taken} of the blanks of {sheet} that it filled were filled otherwise since",
            "Take the load that filled them back first.",
        )
    entries.put(sheet, refilled(rows, were))
    return f"blanks of {rows_said(len(were), sheet)} are filled again"


def _shared(were: pd.DataFrame, now: pd.DataFrame) -> list[str]:
    """Return the filled columns: those of the stored row that are not about where it was read."""
    return [c for c in were.columns if c in now.columns and c not in PROVENANCE]


def _refuse_beneath(where: str, found: str, loads: pd.Series) -> None:
    said = loads_said(loads)
    raise NotOneRow(where, f"{said}, taken back, brought {found}", f"Put {said} in again first.")


def _asked(entries: Entries, name: str, kept_in: str, incoming: pd.DataFrame) -> pd.DataFrame:
    entries.connection.register("incoming", incoming)
    return entries.connection.execute(query(name), {"kept_in": kept_in}).df()
