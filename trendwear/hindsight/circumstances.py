"""What was different about a run that was forecast, as far as it is recorded.

These are circumstances, not causes: they say where to look.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from trendwear.forecasting.remarks import EXTRAPOLATED
from trendwear.segments.cutting import STEP
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import days
from trendwear.wording import fold

__all__ = ["Circumstances", "direction"]

_FEW = 2


def direction(row: pd.Series) -> str:
    """Which side of its 90 % band a reading lies on: "more worn", "less worn" or ""."""
    if pd.isna(row["forecast_p05_mm"]):
        return ""
    above = row["found_mm"] > row["forecast_p95_mm"]
    below = row["found_mm"] < row["forecast_p05_mm"]
    if not (above or below):
        return ""
    return "more worn" if above == (row["sign"] > 0) else "less worn"


class Circumstances:
    """Looks up what was recorded around a reading.

    Parameters
    ----------
    whole : Histories
        The full record, cut.
    events : DataFrame
        `tables.EVENTS`.
    """

    def __init__(self, whole: Histories, events: pd.DataFrame) -> None:
        points = whole.points[~whole.points["excluded"]]
        shows = points[points["state"].isin(["as-found", "not stated"])]
        shows = shows.sort_values("state", kind="stable")
        shows = shows.drop_duplicates(["position", "opening_no"])
        self._here = shows.set_index(["position", "opening_no"])[["segment", "method"]]
        self._segment = points.set_index("reading")["segment"].to_dict()
        self._cause = whole.segments.set_index(["position", "segment"])["cause"].to_dict()
        told = events.assign(day=days(events["date"]))
        self._events = {
            str(name): list(rows.itertuples()) for name, rows in told.groupby("machine")
        }

    def of(self, row: Any, last: Any) -> str:
        """Return the circumstances of a row of `FOUND`, joined by ``; ``.

        Parameters
        ----------
        row, last : named tuples
            Of `FOUND`, and of `trendwear.hindsight.past.Then.last` for its position.
        """
        here = self._here.loc[(row.position, row.opening_no)]
        words = [
            *self._steps(row, last, int(here["segment"])),
            *_methods(here["method"], last.method),
            *self._happened(row, last),
            *_footing(row),
        ]
        return "; ".join(words)

    def _steps(self, row: Any, last: Any, segment: int) -> Iterator[str]:
        before = self._segment.get(last.reading)
        cut = before is not None and before != segment
        if cut and self._cause.get((row.position, segment)) == STEP:
            yield "less worn than when last read: work that nobody recorded, or a misreading"

    def _happened(self, row: Any, last: Any) -> Iterator[str]:
        """Events on the machine between the last reading and this one."""
        if pd.isna(row.date):
            return
        day = (row.date - pd.Timestamp("1970-01-01")).days
        for event in self._events.get(row.machine, []):
            if not event.day <= day or event.day <= last.likely_day:
                continue
            meant = event.clearances
            if isinstance(meant, str) and fold(row.clearance) not in fold(meant):
                continue
            yield f"after {event.what}, {event.date:%Y-%m-%d}"


def _methods(here: Any, before: Any) -> Iterator[str]:
    if isinstance(here, str) and isinstance(before, str) and fold(here) != fold(before):
        yield f"read by {here}, the time before by {before}"


def _footing(row: Any) -> Iterator[str]:
    """How little the forecast had to stand on."""
    if row.first_run:
        yield "first run after a renewal"
    if row.assumed:
        yield "its start was assumed"
    if row.readings <= _FEW:
        count = "reading" if row.readings == 1 else "readings"
        yield f"only {row.readings} {count} of its own by then"
    if row.reach > EXTRAPOLATED:
        yield f"{row.reach:.1f} times the longest run measured by then"
