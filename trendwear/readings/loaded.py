"""What one load did: the record that the store returns and the report shows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

__all__ = ["LoadReport", "SheetCount"]


@dataclass(frozen=True)
class SheetCount:
    """What became of the rows of one sheet."""

    sheet: str
    added: int = 0
    filled: int = 0
    """Rows that were stored before and got blanks filled."""
    replaced: int = 0
    """Register rows that took the place of an older version."""
    unchanged: int = 0
    """Rows equal to what is stored, or to another row of the same load."""


@dataclass(frozen=True)
class LoadReport:
    """What one load did, or would do."""

    store: Path
    files: tuple[str, ...]
    """The files read, by name."""
    counts: tuple[SheetCount, ...]
    """One for each sheet that came in, in the order of the form."""
    waiting: pd.DataFrame
    """Everything that waits after the load: machine, clearance, sheet, lacks, rows."""
    faults: pd.DataFrame
    """Rows refused by this load: file, sheet, row, column, written, reason, instead, cell."""
    notes: tuple[str, ...]
    """What was accepted but deserves a look."""
    changed: bool
    """Whether anything was stored that was not there before."""
    rehearsed: bool = False
    """Whether the load was only tried: nothing was stored."""

    def count_of(self, sheet: str) -> SheetCount:
        """Return what became of the rows of one sheet; all 0 where none came in."""
        found = {count.sheet: count for count in self.counts}
        return found.get(sheet, SheetCount(sheet))

    @property
    def clean(self) -> bool:
        """Whether no row was refused."""
        return len(self.faults) == 0
