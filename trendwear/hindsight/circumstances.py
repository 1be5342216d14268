"""What was different about a reading that no forecast had foreseen, as far as it is recorded.

These are circumstances, not causes: they say where to look.
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from trendwear.forecasting.remarks import EXTRAPOLATED
from trendwear.hindsight.past import Then
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
        self._points = whole.points
        self._cause = whole.segments.set_index(["position", "segment"])["cause"]
        self._events = events.assign(day=days(events["date"]))

    def of(self, row: pd.Series, then: Then) -> str:
        """Return the circumstances of one row of `FOUND`, joined by ``; ``."""
        last = then.last.loc[row["position"]]
        words = [
            *self._steps(row, last),
            *self._methods(row, last),
            *self._happened(row, last),
            *_footing(row),
        ]
        return "; ".join(words)

    def _here(self, row: pd.Series) -> pd.Series:
        """The row of the reading in the full record."""
        points = self._points
        same = (points["position"] == row["position"]) & (points["opening_no"] == row["opening_no"])
        found = points[same & points["state"].isin(["as-found", "not stated"])]
        return found.sort_values("state", kind="stable").iloc[0]

    def _steps(self, row: pd.Series, last: pd.Series) -> Iterator[str]:
        segment = self._here(row)["segment"]
        before = self._points.loc[self._points["reading"] == last["reading"], "segment"]
        cause = self._cause.get((row["position"], segment))
        if cause == STEP and len(before) and int(before.iloc[0]) != segment:
            yield "less worn than when last read: work that nobody recorded, or a misreading"

    def _methods(self, row: pd.Series, last: pd.Series) -> Iterator[str]:
        here = self._here(row)["method"]
        then = last.get("method")
        if isinstance(here, str) and isinstance(then, str) and fold(here) != fold(then):
            yield f"read by {here}, the time before by {then}"

    def _happened(self, row: pd.Series, last: pd.Series) -> Iterator[str]:
        """Events on the machine between the last reading and this one."""
        if pd.isna(row["date"]):
            return
        told = self._events[self._events["machine"] == row["machine"]]
        day = days(pd.Series([row["date"]]))[0]
        told = told[(told["day"] <= day) & ~(told["day"] <= last["likely_day"])]
        for event in told.itertuples():
            meant = event.clearances
            if isinstance(meant, str) and fold(row["clearance"]) not in fold(meant):
                continue
            yield f"after {event.what}, {event.date:%Y-%m-%d}"


def _footing(row: pd.Series) -> Iterator[str]:
    """How little the forecast had to stand on."""
    if row["first_run"]:
        yield "first run after a renewal"
    if row["assumed"]:
        yield "its start was assumed"
    if row["readings"] <= _FEW:
        count = "reading" if row["readings"] == 1 else "readings"
        yield f"only {row['readings']} {count} of its own by then"
    if row["reach"] > EXTRAPOLATED:
        yield f"{row['reach']:.1f} times the longest run measured by then"
