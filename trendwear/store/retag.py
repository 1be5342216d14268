"""What was stored under a former tag counts for the machine it means."""

from __future__ import annotations

from typing import Any, Final

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.keys import key_of
from trendwear.store.ledger import Ledger
from trendwear.store.queries import query
from trendwear.store.shelves import FACTS, REGISTERS, shelf
from trendwear.store.tags import former_tags, machine_keys, present_tags, tags_of

__all__ = ["retag"]

_QUERIES: Final = {
    "readings": ("tags_of_readings", "under_tags_readings", "retag_readings"),
    "work": ("tags_of_work", "under_tags_work", "retag_work"),
    "events": ("tags_of_events", "under_tags_events", "retag_events"),
    "run_log": ("tags_of_run_log", "under_tags_run_log", "retag_run_log"),
}
"""Of each sheet: its tags, the rows under some of them, and the change of their keys."""


def retag(entries: Entries, ledger: Ledger) -> None:
    """Bring stored rows under the machine that their tag means by the ``names`` sheet.

    Register rows of a tag given up for ever are carried over, where the present tag has
    none of that key, and stay readable under the old one.  Of a tag that another machine
    bears since, only what was written until then is carried over, with the clearances it
    needs.  The tag as written stays beside every row.
    """
    names = entries.current("names")
    moved = {sheet: _facts(sheet, names, entries, ledger) for sheet in FACTS}
    _goals(names, entries)
    for tag in tags_of(names).itertuples():
        for sheet in REGISTERS:
            rows = entries.current(sheet)
            if "machine_key" in rows:
                rows = rows[rows["machine_key"] == tag.tag]
                _register(sheet, rows, tag, entries, moved)
    for new, count in _counted(moved).items():
        ledger.touched.add(new)
        was = "row" if count == 1 else "rows"
        ledger.note(f"names: {count} stored {was} under a former tag now count for {new}")


def _facts(sheet: str, names: pd.DataFrame, entries: Entries, ledger: Ledger) -> pd.DataFrame:
    """Give rows of one sheet the key of the machine that their tag means."""
    spelt_by, under, change = _QUERIES[sheet]
    spelt = entries.connection.execute(query(spelt_by)).df()
    meant = machine_keys(spelt["machine"], None, names)
    dated = set(tags_of(names)["tag"])
    asked = spelt[(meant != spelt["machine_key"]) | spelt["machine_key"].isin(dated)]
    if asked.empty:
        return asked.assign(new=None, entry=0)
    entries.connection.register("asked", asked)
    rows = entries.connection.execute(query(under)).df()
    rows = rows.assign(new=machine_keys(rows["machine"], rows["date"], names))
    rows = rows[rows["new"] != rows["machine_key"]]
    rest = [key[len(old) :] for key, old in zip(rows["key"], rows["machine_key"], strict=True)]
    rows = rows.assign(new_key=rows["new"] + pd.Series(rest, index=rows.index, dtype="object"))
    there = entries.same_key(sheet, rows["new_key"])["key"]
    twice = rows["new_key"].isin(set(there)) | rows["new_key"].duplicated()
    if twice.any():
        ledger.note(
            f"{sheet}: {int(twice.sum())} rows are stored under a former tag and under the "
            "present one; those under the present one count"
        )
    rows = rows[~twice]
    if len(rows):
        texts = {"new": "string", "new_key": "string"}
        entries.insert(change, rows[["entry", "new", "new_key"]].astype(texts))
    return rows


def _goals(names: pd.DataFrame, entries: Entries) -> None:
    """Let parts have gone to the machine that the tag in ``to_machine`` means."""
    if tags_of(names).empty:
        return
    rows = entries.connection.execute(query("goals_of_work")).df()
    keys = machine_keys(rows["to_machine"], rows["date"], names)
    goals = rows.rename(columns={"to_machine": "machine"}).assign(machine_key=keys)
    now = present_tags(goals, names)
    changed = now != rows["to_machine"]
    if changed.any():
        told = rows[["entry"]].assign(to_machine=now.astype("string"))
        entries.insert("retag_goals", told[changed])


def _register(
    sheet: str, rows: pd.DataFrame, tag: Any, entries: Entries, moved: dict[str, pd.DataFrame]
) -> None:
    """Carry register rows of a tag over to the machine it means."""
    given_up = pd.isna(tag.until)
    if sheet == "names":
        rows = rows[~former_tags(rows)]
    if not given_up:
        needed = _places_moved(moved, tag.machine_key)
        rows = rows[rows["clearance_key"].isin(needed)] if sheet == "clearances" else rows.iloc[:0]
    if rows.empty:
        return
    there = rows.assign(machine=tag.machine, machine_key=tag.machine_key)
    there = there.assign(key=key_of(there, shelf(sheet).sheet))
    there = there[~there["key"].isin(set(entries.current(sheet)["key"]))]
    if given_up:
        entries.retire(sheet, rows["entry"].astype(int).tolist())
    entries.add(sheet, there.drop(columns=["entry", "loaded_by", "replaced_by"]))


def _places_moved(moved: dict[str, pd.DataFrame], machine_key: str) -> set[str]:
    found: set[str] = set()
    for rows in moved.values():
        if "clearance_key" in rows and len(rows):
            found |= set(rows.loc[rows["new"] == machine_key, "clearance_key"])
    return found


def _counted(moved: dict[str, pd.DataFrame]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for rows in moved.values():
        for new, count in rows.groupby("new").size().items() if len(rows) else ():
            counts[str(new)] = counts.get(str(new), 0) + int(count)
    return counts
