"""The hour line of a machine: running hours against dates, bridged over meters.

Hours stated on readings, work and log rows are points of one line per machine.
A ``replaced`` log row is the new meter's first reading; between the old meter's
last row and it no hours are counted.  Hours that fall without such a row are
unknown, and so are hours that could belong to either of two meters.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

__all__ = ["HourLine", "bridge_meters", "dates_of", "days", "empty_line", "line_through"]

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


def bridge_meters(points: pd.DataFrame) -> pd.DataFrame:
    """Count hours over all meters of one machine.

    Parameters
    ----------
    points : DataFrame
        Rows of one machine: ``day`` (NaN where unknown), ``vague`` (days by which the
        day may be off), ``run_hours`` (as on the meter; NaN where not stated),
        ``rough`` (flag: the hours have a spread) and ``meter`` ("replaced" or missing).

    Returns
    -------
    DataFrame
        The same index with ``hours`` (bridged; NaN where unknown) and ``doubt``
        (why they are unknown, in words; missing where they are known or were not stated).
    """
    bridged, notes = _over_meters(points)
    doubt = pd.Series(notes, index=points.index, dtype="object")
    fallen = _falling(points, bridged)
    doubt[fallen] = "hours fall and no meter was replaced"
    return pd.DataFrame({"hours": bridged.mask(fallen), "doubt": doubt})


def _over_meters(points: pd.DataFrame) -> tuple[pd.Series, list[str | None]]:
    """Hours counted over all meters, and why a row's hours cannot be told."""
    hours = points["run_hours"].astype("float64").copy()
    doubt: list[str | None] = [None] * len(points)
    changes = points[(points["meter"] == "replaced") & points["run_hours"].notna()]
    if changes.empty:
        return hours, doubt
    day, run = points["day"].to_numpy(), points["run_hours"].to_numpy()
    is_change = points.index.isin(changes.index)
    meter = np.zeros(len(points), dtype=int)
    unsure = np.zeros(len(points), dtype=bool)
    offset = 0.0
    offsets = [0.0]
    for number, (_, change) in enumerate(changes.sort_values("day").iterrows(), start=1):
        on_old = (meter == number - 1) & (day <= change["day"]) & ~is_change & np.isfinite(run)
        same_day = on_old & (day == change["day"])
        # On the day itself a row belongs to the meter whose reading it is nearer to.
        earlier = on_old & ~same_day
        old_last = run[earlier].max() if earlier.any() else run[same_day].max(initial=0.0)
        is_new = same_day & (abs(run - change["run_hours"]) < abs(run - old_last))
        stays = on_old & ~is_new
        old_last = run[stays].max() if stays.any() else 0.0
        offset += old_last - change["run_hours"]
        offsets.append(offset)
        vague = points["vague"].to_numpy()
        unsure |= np.isnan(day) | ((vague > 0) & (abs(day - change["day"]) <= vague))
        newer = (day > change["day"]) | is_new | (points.index == change.name)
        meter[newer] = number
    unsure &= np.isfinite(run) & ~is_change
    hours = hours + np.asarray(offsets)[meter]
    for row in np.flatnonzero(unsure):
        doubt[row] = "a meter was replaced and the row's date does not tell which meter it is on"
    return hours.mask(unsure), doubt


def _falling(points: pd.DataFrame, hours: pd.Series) -> pd.Series:
    """Rows with a firm date whose hours are fewer than an earlier row's."""
    firm = hours.notna() & points["day"].notna() & (points["vague"] == 0) & ~points["rough"]
    order = pd.DataFrame({"day": points["day"], "hours": hours})[firm]
    order = order.sort_values(["day", "hours"], kind="stable")
    falls = order["hours"] < order["hours"].cummax() - 1e-9
    return falls.reindex(points.index, fill_value=False).astype(bool)


def line_through(day: np.ndarray, hours: np.ndarray, notes: tuple[str, ...] = ()) -> HourLine:
    """Return the line through these points; of several on one day the highest counts."""
    known = np.isfinite(day) & np.isfinite(hours)
    points = pd.DataFrame({"day": day[known], "hours": hours[known]})
    points = points.groupby("day", sort=True)["hours"].max()
    return HourLine(points.index.to_numpy(dtype=float), points.cummax().to_numpy(), notes)
