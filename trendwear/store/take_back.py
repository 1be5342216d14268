"""A whole load taken back: its rows no longer count, and stay readable.

::

    register rows   end with their own load; the version before holds again
    facts           stand aside as they were kept
    filled blanks   are blank again
    what waited     until this load waits again

Nothing is deleted: `trendwear.store.put_again` brings it all back.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import duckdb
import pandas as pd

from trendwear.errors import NotOneRow, UnknownName
from trendwear.store.aside import as_content, from_content, put_aside
from trendwear.store.entries import Entries
from trendwear.store.filled import blanked, stored_columns
from trendwear.store.queries import query
from trendwear.store.rests_on import Footing, refuse
from trendwear.store.shelves import FACTS, REGISTERS
from trendwear.store.signed import Signed, correcting, trying

__all__ = ["TakenBack", "load_asked", "named", "preview_take_back", "rows_said", "take_back"]


@dataclass(frozen=True)
class TakenBack:
    """What taking a load back, or putting it in again, did or would do."""

    load: int
    undone: bool
    """Whether the load was put in again."""
    lines: tuple[str, ...]
    """What changed, a sentence each."""
    tried: bool = False
    """Whether nothing was stored."""


def take_back(store: Path | str, load: int, signed: Signed) -> TakenBack:
    """Take a whole load back; its rows stay in the record.

    Parameters
    ----------
    store
        The store file.
    load : int
        The number of the load (`trendwear.store.loads.loads` lists them).
    signed : Signed
        Who says so, and why.

    Raises
    ------
    UnknownName
        There is no such load.
    NotOneRow
        It is taken back already, or a later load rests on it.
    StoreProblem
    """
    with correcting(store) as connection:
        return _take_back(connection, load, signed)


def preview_take_back(store: Path | str, load: int, signed: Signed) -> TakenBack:
    """Return what `take_back` would do, and store nothing; it refuses what that refuses."""
    with trying(store) as connection:
        return replace(_take_back(connection, load, signed), tried=True)


def load_asked(connection: duckdb.DuckDBPyConnection, load: int) -> str:
    """Return how messages name a load; refuse one that is not there.

    Raises
    ------
    UnknownName
    """
    found = connection.execute(query("load_number"), {"load": load}).fetchall()
    if not found:
        numbers = [str(n) for n, _ in connection.execute(query("load_numbers")).fetchall()]
        kept = f"It has {', '.join(numbers)}" if numbers else "It holds no load yet"
        raise UnknownName(
            f"load {load}", "the store has no such load", f"{kept}: trendwear history --loads"
        )
    return named(load, found[0][1])


def named(load: int, loaded_at: object) -> str:
    """Return a load as messages name it."""
    return f"load {load} of {pd.Timestamp(str(loaded_at)):%Y-%m-%d %H:%M}"


def rows_said(count: int, sheet: str) -> str:
    """Return ``3 rows of work``."""
    return f"{count} row{'' if count == 1 else 's'} of {sheet}"


def _take_back(connection: duckdb.DuckDBPyConnection, load: int, signed: Signed) -> TakenBack:
    where = load_asked(connection, load)
    standing = connection.execute(query("taken_back"), {"load": load}).fetchall()
    if standing:
        _, by, why, made_at = standing[0]
        raise NotOneRow(
            where,
            f"{by} took it back on {made_at:%Y-%m-%d} already: {why}",
            "To put it in again, use --undo.",
        )
    entries = Entries(connection, load)
    before = Footing.of(entries)
    [(number,)] = connection.execute(query("next_take_back")).fetchall()
    act = _Act(entries, int(number), where)
    lines = [*act.registers(), *act.fills(), *act.facts(), *act.waiting()]
    Footing.of(entries).refuse_worse(before, where)
    connection.execute(query("add_take_back"), {"entry": act.number, "load": load, **signed.bound})
    return TakenBack(load, undone=False, lines=(f"{where} is taken back", *lines))


@dataclass(frozen=True)
class _Act:
    """One load being taken back."""

    entries: Entries
    number: int
    where: str

    def asked(self, name: str, **bound: object) -> pd.DataFrame:
        found = self.entries.connection.execute(query(name), {"load": self.entries.load, **bound})
        return found.df()

    def registers(self) -> list[str]:
        lines = []
        for sheet in REGISTERS:
            rows = self.asked("rows_of_load", kept_in=sheet)
            later = rows[rows["replaced_by"].notna() & (rows["replaced_by"] != self.entries.load)]
            if len(later):
                found = f"{rows_said(len(later), sheet)} took the place of its rows"
                refuse(self.where, found, later["replaced_by"])
            ended = rows[rows["replaced_by"].isna()]
            former = self.asked("rows_ended_by", kept_in=sheet)
            if ended.empty:
                continue
            put_aside(self.entries, self.number, sheet, ended, None)
            self.entries.retire(sheet, ended["entry"].tolist())
            self.entries.hold_again(sheet, former["entry"].tolist())
            again = f"; of {len(former)} the version before holds again" if len(former) else ""
            lines.append(_no_longer(len(ended), sheet) + again)
        return lines

    def fills(self) -> list[str]:
        """Make blank again what the load filled in rows of others."""
        lines = []
        filled = self.asked("fills_of_load")
        for sheet, cells in filled.groupby("kept_in"):
            rows = self._by_entry(str(sheet), cells["entry"])
            rows = rows[rows["loaded_by"] != self.entries.load]
            own = cells[cells["entry"].isin(rows["entry"])]
            if own.empty:
                continue
            were = stored_columns(str(sheet), own, rows)
            put_aside(self.entries, self.number, f"filled:{sheet}", were, as_content(were))
            self.entries.put(str(sheet), blanked(rows, were))
            lines.append(
                f"{len(own)} blank{'' if len(own) == 1 else 's'} of {sheet} that it filled "
                f"{'is' if len(own) == 1 else 'are'} blank again"
            )
        return lines

    def facts(self) -> list[str]:
        lines = []
        for sheet in FACTS:
            parts = [
                self.asked("rows_of_load", kept_in=sheet),
                self.asked("settled_of_load", kept_in=sheet),
            ]
            parts = [part for part in parts if len(part)]
            if not parts:
                continue
            rows = pd.concat(parts, ignore_index=True)
            self._refuse_filled(sheet, rows)
            corrected = self._corrected(rows) if sheet == "readings" else 0
            put_aside(self.entries, self.number, sheet, rows, as_content(rows))
            self.entries.insert(f"put_aside_{sheet}", _entries(rows))
            also = f"; {corrected} of them bear a correction, kept too" if corrected else ""
            lines.append(_no_longer(len(rows), sheet) + also)
        self._mark("aside_of_settled")
        return lines

    def waiting(self) -> list[str]:
        """Set aside what waits of the load; let wait again what waited until it."""
        lines = []
        own = self.asked("waiting_of_load")
        if len(own):
            put_aside(self.entries, self.number, "waiting", own, as_content(own))
            self.entries.insert("end_waiting", _entries(own))
            lines.append(_no_longer(len(own), "what waits"))
        again = self.asked("reopened")
        for number, rows in again[again["take_back"].notna()].groupby("take_back"):
            own_aside = rows.drop(columns="take_back")
            put_aside(self.entries, int(number), "waiting", own_aside, as_content(own_aside))
        waits = again[again["take_back"].isna()].drop(columns="take_back")
        if len(waits):
            self.entries.insert("add_waiting", from_content(as_content(waits), "waiting"))
            verb = "waits" if len(waits) == 1 else "wait"
            count = f"{len(waits)} row{'' if len(waits) == 1 else 's'}"
            lines.append(f"{count} of other loads {verb} for the register again")
        self.entries.connection.register("incoming", _entries(again))
        self._mark("mark_reopened")
        return lines

    def _mark(self, name: str) -> None:
        bound = {"load": self.entries.load, "take_back": self.number}
        self.entries.connection.execute(query(name), bound)

    def _by_entry(self, sheet: str, numbers: pd.Series) -> pd.DataFrame:
        self.entries.connection.register("incoming", pd.DataFrame({"entry": numbers}))
        bound = {"kept_in": sheet}
        return self.entries.connection.execute(query("rows_by_entry"), bound).df()

    def _refuse_filled(self, sheet: str, rows: pd.DataFrame) -> None:
        self.entries.connection.register("incoming", _entries(rows))
        later = self.asked("later_fills", kept_in=sheet)
        if len(later):
            count = later["entry"].nunique()
            refuse(
                self.where, f"blanks of {rows_said(count, sheet)} of it were filled", later["load"]
            )

    def _corrected(self, rows: pd.DataFrame) -> int:
        self.entries.connection.register("incoming", _entries(rows))
        found = self.entries.connection.execute(query("corrections_of_entries")).fetchall()
        return int(found[0][0])


def _entries(rows: pd.DataFrame) -> pd.DataFrame:
    return rows[["entry"]].astype("int64")


def _no_longer(count: int, sheet: str) -> str:
    return f"{rows_said(count, sheet)} no longer count{'s' if count == 1 else ''}"
