"""The hour line of a machine: running hours against dates.

Hours stated on readings, work and log rows are points of one line per machine, bridged
over meters (`trendwear.segments.meters`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

__all__ = ["HourLine", "dates_of", "days", "empty_line", "line_through"]

_EPOCH = np.datetime64("1970-01-01", "us")
_DAY_US = 86_400_000_000


def days(dates: pd.Series) -> np.ndarray:
    """Return dates as days since 1970-01-01, NaN where there is none."""
    since = (dates.to_numpy(dtype="datetime64[us]") - _EPOCH).astype("timedelta64[us]")
    count = since.astype("int64") / _DAY_US
    return np.where(np.isnat(since), np.nan, count)


def dates_of(day: pd.Series) -> pd.Series:
    """Return the dates of days since 1970-01-01, NaT where there is none."""
    number = day.to_numpy(dtype=float)
    known = np.isfinite(number)
    dates = np.full(len(number), np.datetime64("NaT"), dtype="datetime64[us]")
    whole = np.floor(number[known]).astype("int64")
    dates[known] = whole.astype("datetime64[D]").astype("datetime64[us]")
    return pd.Series(dates, index=day.index)


@dataclass(frozen=True)
class HourLine:
    """Running hours of one machine, rising with the date.

    Attributes
    ----------
    day : ndarray
        Days since 1970-01-01, rising strictly.
    hours : ndarray
        Running hours at those days, counted over all meters, never falling.
    notes : tuple of str
        What was odd about the record, in words.
    """

    day: np.ndarray = field(default_factory=lambda: np.empty(0))
    hours: np.ndarray = field(default_factory=lambda: np.empty(0))
    notes: tuple[str, ...] = ()

    def hours_at(self, day: np.ndarray) -> np.ndarray:
        """Interpolate hours at ``day``; NaN before the first point and after the last."""
        if not len(self.day):
            return np.full(np.shape(day), np.nan)
        return np.asarray(np.interp(day, self.day, self.hours, left=np.nan, right=np.nan))

    def day_at(self, hours: np.ndarray) -> np.ndarray:
        """Interpolate the day at ``hours``; NaN outside the line.

        Where the machine stood at them, the first such day; it runs on from the last.
        """
        if not len(self.day):
            return np.full(np.shape(hours), np.nan)
        known, first = np.unique(self.hours, return_index=True)
        last = np.append(first[1:], len(self.hours)) - 1
        stops = np.column_stack([known, np.nextafter(known, np.inf)]).ravel()
        when = np.column_stack([self.day[first], self.day[last]]).ravel()
        return np.asarray(np.interp(hours, stops, when, left=np.nan, right=np.nan))

    def yearly_hours(self) -> np.ndarray:
        """Hours run in each whole year back from the last point, the latest first."""
        if len(self.day) < 2:
            return np.empty(0)
        years = int((self.day[-1] - self.day[0]) // 365.25)
        marks = self.day[-1] - 365.25 * np.arange(years + 1)
        return -np.diff(self.hours_at(marks))


def empty_line() -> HourLine:
    """Return the line of a machine with no hours at all."""
    return HourLine()


def line_through(day: np.ndarray, hours: np.ndarray, notes: tuple[str, ...] = ()) -> HourLine:
    """Return the line through these points; of several on one day the highest counts."""
    known = np.isfinite(day) & np.isfinite(hours)
    points = pd.DataFrame({"day": day[known], "hours": hours[known]})
    points = points.groupby("day", sort=True)["hours"].max()
    return HourLine(points.index.to_numpy(dtype=float), points.cummax().to_numpy(), notes)
