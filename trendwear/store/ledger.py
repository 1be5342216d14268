"""What one load has done so far: rows refused, rows that wait, notes and counts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from trendwear.readings.loaded import SheetCount

__all__ = ["FAULT_COLUMNS", "Fault", "Ledger", "listing"]

FAULT_COLUMNS: Final = [
    "file", "sheet", "row", "column", "written", "reason", "instead", "cell", "sha256"
]  # fmt: skip
_EXAMPLES: Final = 5


@dataclass(frozen=True)
class Fault:
    """Why rows are refused: in which column, the reason, and what to write instead."""

    column: str
    reason: str | pd.Series
    """One reason for all rows, or one each."""
    instead: str


class Ledger:
    """Collects what one load did; the rows themselves go to the store."""

    def __init__(self) -> None:
        self.notes: list[str] = []
        self.touched: set[str] = set()
        """Machines (as they compare) that this load said something about."""
        self._faults: list[pd.DataFrame] = []
        self._waiting: list[pd.DataFrame] = []
        self._seen: list[pd.DataFrame] = []
        self._counts: dict[str, SheetCount] = {}

    def keep_good(self, rows: pd.DataFrame, bad: pd.Series, fault: Fault) -> pd.DataFrame:
        """Refuse the ``bad`` rows and return the others."""
        if not bad.any():
            return rows
        refused = rows[bad]
        reason = fault.reason[bad] if isinstance(fault.reason, pd.Series) else fault.reason
        self._faults.append(
            pd.DataFrame(
                {
                    "file": refused["file"],
                    "sheet": refused["sheet"],
                    "row": refused["row"],
                    "column": fault.column,
                    "written": _as_written(refused, fault.column),
                    "reason": reason,
                    "instead": fault.instead,
                    "cell": refused["cell"],
                    "sha256": refused["sha256"],
                }
            )
        )
        return rows[~bad]

    def wait(self, rows: pd.DataFrame, kept_in: str) -> None:
        """Let rows wait; their column ``lacks`` says what the register must first know."""
        if len(rows):
            self._waiting.append(rows.assign(kept_in=kept_in))

    def note(self, text: str) -> None:
        """Add a note."""
        self.notes.append(text)

    def see(self, sheet: str, keys: pd.Series) -> None:
        """Remember the keys that came in, whatever became of their rows."""
        self._seen.append(pd.DataFrame({"kept_in": sheet, "key": keys.astype("string")}))

    def seen(self) -> pd.DataFrame:
        """Return the keys that came in: ``kept_in``, ``key``."""
        nothing = pd.DataFrame({"kept_in": [], "key": []}, dtype="string")
        return pd.concat([nothing, *self._seen], ignore_index=True).astype("string")

    def count(self, sheet: str, what: str, rows: int) -> None:
        """Count rows of a sheet as ``added``, ``filled``, ``replaced`` or ``unchanged``."""
        so_far = self._counts.setdefault(sheet, SheetCount(sheet))
        self._counts[sheet] = replace(so_far, **{what: getattr(so_far, what) + rows})

    @property
    def counts(self) -> dict[str, SheetCount]:
        """The counts of each sheet so far."""
        return dict(self._counts)

    def faults(self) -> pd.DataFrame:
        """Return all refused rows, in the order of their files and rows."""
        if not self._faults:
            return pd.DataFrame(columns=FAULT_COLUMNS)
        together = pd.concat(self._faults, ignore_index=True)
        return together.sort_values(["file", "sheet", "row"], kind="stable", ignore_index=True)

    def waiting(self) -> list[pd.DataFrame]:
        """Return the rows that wait, a frame for each time they were put there."""
        return list(self._waiting)


def listing(names: list[str], limit: int = _EXAMPLES) -> str:
    """Return the first names and how many more there are.

    >>> listing(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    shown = ", ".join(names[:limit])
    return shown if len(names) <= limit else f"{shown} and {len(names) - limit} more"


def _as_written(rows: pd.DataFrame, column: str) -> pd.Series:
    # Readings as they are kept call the cell of their value `written`.
    kept = ["written"] if column == "value" else []
    for name in (f"{column}_written", column, *kept):
        if name in rows:
            cells = rows[name].astype("object")
            return cells.where(cells.notna(), "").map(str)
    return pd.Series("", index=rows.index)
