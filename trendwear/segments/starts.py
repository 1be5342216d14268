"""Starts of a machine against its running hours, as far as they were counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.segments.meters import REPLACED

__all__ = ["StartLine", "start_lines"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class StartLine:
    """Counted starts of one machine; ``hours`` rise strictly, ``starts`` never fall."""

    hours: Floats
    starts: Floats
    notes: tuple[str, ...] = ()
    """What was odd about the counts, in words."""

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

    A counter that was replaced with the hour meter goes on from where the old one stood.

    Parameters
    ----------
    rows : DataFrame
        ``machine``, ``date``, ``hours`` (on the hour line), ``order``, ``meter`` and
        ``starts`` of readings and log rows; rows that lack hours or starts are passed over,
        and counts that fall, which are noted.
    """
    counted = rows.dropna(subset=["hours", "starts"])
    counted = counted.assign(new=counted["meter"] == REPLACED)
    counted = counted.sort_values(["machine", "hours", "new", "order", "starts"], kind="stable")
    return {str(machine): _line(points) for machine, points in counted.groupby("machine")}


def _line(points: pd.DataFrame) -> StartLine:
    """The start line through the counts of one machine, in order of time."""
    fall = points["starts"].shift() - points["starts"]
    lost = fall.where(points["new"] & (fall > 0), 0.0).cumsum()
    total = points["starts"] + lost
    rising = total >= total.cummax()
    kept = points.assign(total=total)[rising].drop_duplicates("hours", keep="last")
    return StartLine(
        kept["hours"].to_numpy(dtype=float),
        kept["total"].to_numpy(dtype=float),
        _falls(points[~rising]),
    )


def _falls(fallen: pd.DataFrame) -> tuple[str, ...]:
    if fallen.empty:
        return ()
    first = fallen.iloc[0]
    when = (
        f"on {first['date']:%Y-%m-%d}" if pd.notna(first["date"]) else f"at {first['hours']:.0f} h"
    )
    return (f"starts fall {when} and no counter was replaced: {_counts(len(fallen))} not used",)


def _counts(number: int) -> str:
    return "1 count" if number == 1 else f"{number} counts"
