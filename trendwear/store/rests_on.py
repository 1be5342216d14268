"""What rests on a load, so that the load cannot be taken back before it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.errors import NotOneRow
from trendwear.store.entries import Entries
from trendwear.store.ledger import listing
from trendwear.store.positions import is_in, read_register
from trendwear.store.queries import query

__all__ = ["Footing", "loads_said", "refuse"]

_MARK: Final = ["kept_in", "entry"]


@dataclass(frozen=True)
class Footing:
    """Rows that lack a footing in the register: no machine, no position, another unit."""

    lost: pd.DataFrame
    other_unit: pd.DataFrame

    @staticmethod
    def of(entries: Entries) -> Footing:
        """Return the rows of a store that lack a footing now."""
        rows = entries.connection.execute(query("placed_rows")).df()
        register = read_register(entries)
        known = register.clearances[["machine_key", "clearance_key"]]
        of_work = pd.concat([known, register.sets()])
        named = rows["clearance_key"].notna()
        placed = is_in(rows, known).mask(rows["kept_in"] == "work", is_in(rows, of_work))
        lost = ~rows["machine_key"].isin(register.machines) | (named & ~placed)
        other = entries.connection.execute(query("units_gone")).df()
        return Footing(rows[lost], other)

    def refuse_worse(self, before: Footing, where: str) -> None:
        """Raise where rows lack a footing that had one before."""
        lost = _new(self.lost, before.lost)
        if len(lost):
            refuse(
                where,
                f"{_rows(lost)} at {_places(lost)}, which only it names in the register",
                lost["loaded_by"],
            )
        other = _new(self.other_unit, before.other_unit)
        if len(other):
            refuse(
                where,
                f"{_rows(other)} at {_places(other)} took the unit that its register says",
                other["loaded_by"],
            )

    def refuse_lost(self, before: Footing, where: str) -> None:
        """Raise where rows that come back find no machine or position."""
        lost = _new(self.lost, before.lost)
        if len(lost):
            raise NotOneRow(
                where,
                f"{_rows(lost)} at {_places(lost)}, which the register does not name now",
                "Put the load that named it in again, or load its register row, first.",
            )


def refuse(where: str, found: str, loads: pd.Series) -> None:
    """Say what stands in the way, and of which loads.

    Raises
    ------
    NotOneRow
    """
    said = loads_said(loads)
    raise NotOneRow(where, f"{said} {_rests(said)} on it: {found}", f"Take {said} back first.")


def loads_said(loads: pd.Series) -> str:
    """Return numbers of loads as words: ``load 3``, ``loads 3, 5``."""
    numbers = sorted({int(load) for load in loads})
    return f"load{'' if len(numbers) == 1 else 's'} {', '.join(map(str, numbers))}"


def _rests(said: str) -> str:
    return "rest" if said.startswith("loads") else "rests"


def _new(after: pd.DataFrame, before: pd.DataFrame) -> pd.DataFrame:
    known = pd.MultiIndex.from_frame(before[_MARK])
    return after[~pd.MultiIndex.from_frame(after[_MARK]).isin(known)]


def _rows(rows: pd.DataFrame) -> str:
    counts = rows.groupby("kept_in", sort=False)["entry"].nunique()
    return ", ".join(
        f"{count} row{'' if count == 1 else 's'} of {s}" for s, count in counts.items()
    )


def _places(rows: pd.DataFrame) -> str:
    said = rows["machine"] + rows["clearance"].map(
        lambda c: f" / {c}" if isinstance(c, str) else ""
    )
    return listing(list(dict.fromkeys(said)))
