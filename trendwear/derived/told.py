"""Sizes in figures, as finely as they were written and in their own unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from trendwear.derived.partners import Row, Size
from trendwear.lengths import MM_PER_UNIT

__all__ = ["Figures"]

_MOST: Final = 6


@dataclass(frozen=True)
class Figures:
    """The unit and the decimals in which the sizes of one opening are told."""

    unit: str
    decimals: int

    @classmethod
    def of(cls, rows: list[Row]) -> Figures:
        """Return the figures in which these rows were written; they share a unit."""
        unit = str(rows[0]["unit"])
        steps = [float(row["step_mm"]) / MM_PER_UNIT[unit] for row in rows]
        return cls(unit, max(_decimals(step) for step in steps))

    def size(self, size: Size) -> str:
        """Return a size as it was measured, without its unit."""
        whole = sum(row["value_mm"] for row in size.rows) / len(size.rows)
        return f"{whole / MM_PER_UNIT[self.unit]:.{self.decimals}f}"

    def length(self, length_mm: float) -> str:
        """Return a length with its unit."""
        return f"{length_mm / MM_PER_UNIT[self.unit]:.{self.decimals}f} {self.unit}"


def _decimals(step: float) -> int:
    """Return the fewest decimals that tell a step, as of 0.0005 or 1/64.

    >>> _decimals(0.0005), _decimals(1 / 64), _decimals(1.0)
    (4, 6, 0)
    """
    for decimals in range(_MOST):
        if abs(step - round(step, decimals)) < step * 1e-6:
            return decimals
    return _MOST
