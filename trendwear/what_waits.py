"""What waits in a store until the register knows its position, and the way out, in words."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from trendwear.store.draft_sources import waiting_positions

__all__ = ["Waits", "nothing_registered", "what_waits"]


@dataclass(frozen=True)
class Waits:
    """Rows that wait, and of how many positions."""

    rows: int
    positions: int

    def __str__(self) -> str:
        """What waits, in one sentence."""
        rows = "1 row waits" if self.rows == 1 else f"{self.rows} rows wait"
        of = "1 position" if self.positions == 1 else f"{self.positions} positions"
        return f"{rows} until the register knows {of}"


def what_waits(store: Path) -> Waits:
    """Return what waits.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    waiting = waiting_positions(store)
    positions = waiting[["machine", "clearance"]].drop_duplicates()
    return Waits(int(waiting["rows"].sum()), len(positions))


def nothing_registered(store: Path) -> list[str]:
    """Return what to say of a store whose register has no clearance yet."""
    waits = what_waits(store)
    if not waits.rows:
        return [
            f"{store} holds no clearances yet. Bring sheets in: trendwear load PATH",
            "A blank workbook to start with: trendwear template --out sheets.xlsx",
        ]
    return [
        f"The register of {store} has no clearances yet: {waits}.",
        "What it lacks is proposed, for you to check, by:",
        f"  trendwear draft --store {store} --out register.xlsx",
    ]
