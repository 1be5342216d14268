"""Duty: how many hours a machine will run until a date, and on which date it will have run them.

The plan counts where there is one, else the mean of the last three years of the hour
line, else the duty is unknown and no dates are given.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.segments.hour_line import HourLine, days

__all__ = ["Duty", "duty_of"]

Floats = NDArray[np.float64]

YEARS_OF_LOG: Final = 3.0
USUAL_SPREAD: Final = 0.15
"""Relative standard deviation of future hours where the record is under three years."""
DAYS_AHEAD: Final = 400 * 366
"""How far dates are sought; later ones are not given."""
_LAST_DAY: Final = 2_932_896.0  # 9999-12-31


@dataclass(frozen=True)
class Duty:
    """Planned running hours of one machine.

    Attributes
    ----------
    source : str
        "plan", "log" or "unknown".
    first_day : float
        Days since 1970 from which ``per_day`` counts.
    per_day : ndarray
        Running hours of each day from ``first_day`` on; the last ``cycle`` of them
        repeat for ever.
    before : float
        Running hours a day before ``first_day``.
    cycle : int
        How many of the last days repeat.
    spread : float
        Relative standard deviation of all future hours, one factor common to all.
    """

    source: str
    first_day: float = 0.0
    per_day: Floats = field(default_factory=lambda: np.zeros(1))
    before: float = 0.0
    cycle: int = 1
    spread: float = USUAL_SPREAD

    @property
    def known(self) -> bool:
        """Whether there is a plan or a record to go by."""
        return self.source != "unknown"

    def hours_between(self, start: float, end: float) -> float:
        """Planned hours from day ``start`` to day ``end`` (days since 1970); NaN if unknown."""
        return float(self.hours_since(start, np.array([end]))[0])

    def hours_since(self, start: float, day: Floats) -> Floats:
        """Planned hours from day ``start`` to each ``day`` (days since 1970); NaN if unknown."""
        if not self.known:
            return np.full(np.shape(day), np.nan)
        return np.asarray(self._total(day) - self._total(np.array([start]))[0], dtype=float)

    def day_after(self, start: float, hours: Floats) -> Floats:
        """The day on which ``hours`` more have been run since day ``start``.

        NaN where that day never comes, is beyond the calendar or the duty is unknown.
        """
        wanted = np.asarray(hours, dtype=float)
        if not self.known:
            return np.full(wanted.shape, np.nan)
        grid = start + np.arange(0.0, DAYS_AHEAD)
        total = self._total(grid) - self._total(np.array([start]))[0]
        # The first day on which so many hours have been run.
        place = np.searchsorted(total, wanted, side="left")
        inside = np.isfinite(wanted) & (place < len(total))
        place = np.minimum(place, len(total) - 1)
        before = np.maximum(place - 1, 0)
        step = total[place] - total[before]
        share = np.where(step > 0, (wanted - total[before]) / np.where(step > 0, step, 1.0), 0.0)
        day = np.where(wanted <= 0, start, grid[before] + share)
        return np.where(inside & (day <= _LAST_DAY), day, np.nan)

    def _total(self, day: Floats) -> Floats:
        """Hours run from ``first_day`` to ``day``, negative before it."""
        length = len(self.per_day)
        sums = np.concatenate([[0.0], np.cumsum(self.per_day)])
        ahead = day - self.first_day
        per_cycle = sums[-1] - sums[length - self.cycle]
        rounds = np.maximum(np.ceil((ahead - length) / self.cycle), 0.0)
        within = np.minimum(ahead - rounds * self.cycle, float(length))
        run = np.interp(np.maximum(within, 0.0), np.arange(length + 1.0), sums)
        return np.where(ahead < 0, ahead * self.before, run + rounds * per_cycle)


def duty_of(plan: pd.DataFrame, line: HourLine) -> Duty:
    """Return the duty of one machine.

    Parameters
    ----------
    plan : DataFrame
        The machine's rows of `tables.DUTY_PLAN`, not overlapping.
    line : HourLine
        Its hour line.
    """
    rate = _rate_of_record(line)
    spread = _spread_of_record(line)
    if len(plan):
        return _from_plan(plan, 0.0 if np.isnan(rate) else rate, spread)
    if np.isnan(rate):
        return Duty("unknown")
    return Duty("log", float(line.day[-1]), np.array([rate]), rate, 1, spread)


def _rate_of_record(line: HourLine) -> float:
    """Hours a day over the last three years of the hour line, NaN where it spans no time."""
    if len(line.day) < 2:
        return float("nan")
    start = max(line.day[-1] - YEARS_OF_LOG * 365.25, line.day[0])
    hours = line.hours[-1] - float(line.hours_at(np.array([start]))[0])
    return float(hours / (line.day[-1] - start))


def _spread_of_record(line: HourLine) -> float:
    yearly = line.yearly_hours()
    if len(yearly) < YEARS_OF_LOG or yearly.mean() <= 0:
        return USUAL_SPREAD
    return float(yearly.std(ddof=1) / yearly.mean())


def _from_plan(plan: pd.DataFrame, before: float, spread: float) -> Duty:
    """Lay the plan out day by day; gaps are 0 h, after the last row 12 months repeat."""
    rows = plan.sort_values("from")
    start = days(rows["from"])
    end = days(rows["to"]) + 1.0  # inclusive
    open_end = np.isnan(end)
    end[:-1] = np.where(open_end[:-1], start[1:], end[:-1])
    last_open = bool(open_end[-1])
    if last_open:
        end[-1] = start[-1] + 1.0
    per_day = np.zeros(int(end[-1] - start[0]))
    for first, past, hours in zip(start, end, rows["hours_per_day"], strict=True):
        per_day[int(first - start[0]) : int(past - start[0])] = hours
    cycle = 1 if last_open else min(365, len(per_day))
    stated = rows["spread"].dropna()
    return Duty(
        "plan",
        float(start[0]),
        per_day,
        before,
        cycle,
        float(stated.iloc[-1]) if len(stated) else spread,
    )
