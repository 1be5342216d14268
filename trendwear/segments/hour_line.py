"""The hour line of a machine: running hours against dates.

Hours stated on readings, work and log rows are points of one line per machine, bridged
over meters (`trendwear.segments.meters`).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import pandas as pd

__all__ = ["HourLine", "dates_of", "days", "empty_line", "filled_in", "line_through"]

MONTH_DAYS: Final = 16.0
"""A date that may be off by so many days at most is known to the month."""
APART: Final = 4.0
"""A vague point counts where no firm one lies within so many times what it may be off."""

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
    vague : ndarray
        Days by which the day of each point may be off; empty where none is.
    """

    day: np.ndarray = field(default_factory=lambda: np.empty(0))
    hours: np.ndarray = field(default_factory=lambda: np.empty(0))
    notes: tuple[str, ...] = ()
    vague: np.ndarray = field(default_factory=lambda: np.empty(0))

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

    def vague_at(self, day: np.ndarray) -> np.ndarray:
        """Days by which the line may be off at ``day``, for dates known to a month or a year."""
        if not len(self.vague):
            return np.zeros(np.shape(day))
        return np.asarray(np.interp(day, self.day, self.vague))

    def mean_rate(self) -> float:
        """Hours a day from the first point to the last; 0 where there are not two."""
        if len(self.day) < 2:
            return 0.0
        return float((self.hours[-1] - self.hours[0]) / (self.day[-1] - self.day[0]))

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


def filled_in(line: HourLine, points: pd.DataFrame) -> HourLine:
    """Add hours whose dates are known to a month, or to a year where there is nothing better.

    Parameters
    ----------
    line : HourLine
        Through the firm dates.
    points : DataFrame
        ``day``, ``vague`` (days by which it may be off) and ``hours``.

    Returns
    -------
    HourLine
        With those points that lie far from every firm one and neither fall nor make the
        line fall; its notes say so.
    """
    monthly = points["vague"] <= MONTH_DAYS
    line = _joined(line, points[monthly], "the month")
    return line if len(line.day) > 1 else _joined(line, points[~monthly], "the year")


def _joined(line: HourLine, points: pd.DataFrame, known_to: str) -> HourLine:
    points = points.sort_values(["day", "hours"], kind="stable").drop_duplicates("day", keep="last")
    day, hours = points["day"].to_numpy(dtype=float), points["hours"].to_numpy(dtype=float)
    vague = points["vague"].to_numpy(dtype=float)
    after = np.searchsorted(line.day, day)
    edged = np.concatenate([[-np.inf], line.day, [np.inf]])
    between = np.concatenate([[-np.inf], line.hours, [np.inf]])
    near = np.minimum(day - edged[after], edged[after + 1] - day)
    fits = (hours >= between[after]) & (hours <= between[after + 1]) & (near > APART * vague)
    day, hours, vague = day[fits], hours[fits], vague[fits]
    rising = hours >= np.maximum.accumulate(hours) if len(hours) else fits[fits]
    if not rising.any():
        return line
    count = int(rising.sum())
    rows = "1 date" if count == 1 else f"{count} dates"
    merged = np.argsort(np.concatenate([line.day, day[rising]]), kind="stable")
    before = line.vague if len(line.vague) else np.zeros(len(line.day))

    def joined(old: np.ndarray, new: np.ndarray) -> np.ndarray:
        return np.asarray(np.concatenate([old, new[rising]])[merged])

    note = f"hour line rests on {rows} known only to {known_to}"
    return replace(
        line,
        day=joined(line.day, day),
        hours=joined(line.hours, hours),
        vague=joined(before, vague),
        notes=(*line.notes, note),
    )
