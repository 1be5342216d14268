"""Starts of a machine against its running hours, as far as they were counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["StartLine", "start_lines"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class StartLine:
    """Counted starts of one machine; ``hours`` rise strictly, ``starts`` never fall."""

    hours: Floats
    starts: Floats

    def at(self, hours: Floats) -> Floats:
        """Starts by ``hours``; NaN outside what was counted."""
        return np.asarray(np.interp(hours, self.hours, self.starts, left=np.nan, right=np.nan))

    def per_hour(self) -> float:
        """Mean starts per running hour, NaN where two counts are wanting."""
        if len(self.hours) < 2:
            return float("nan")
        return float((self.starts[-1] - self.starts[0]) / (self.hours[-1] - self.hours[0]))


def start_lines(rows: pd.DataFrame) -> dict[str, StartLine]:
    """Return the start line of every machine that counted starts.

    Parameters
    ----------
    rows : DataFrame
        ``machine``, ``hours`` (on the hour line) and ``starts`` of readings and log
        rows; rows that lack either are passed over, and counts that fall.
    """
    counted = rows.dropna(subset=["hours", "starts"]).sort_values(["machine", "hours", "starts"])
    lines = {}
    for machine, points in counted.groupby("machine"):
        rising = points[points["starts"] >= points["starts"].cummax()]
        rising = rising.drop_duplicates("hours", keep="last")
        lines[str(machine)] = StartLine(
            rising["hours"].to_numpy(dtype=float), rising["starts"].to_numpy(dtype=float)
        )
    return lines
