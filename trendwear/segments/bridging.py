"""Hours of rows that state none: on the hour line, and after its last point by the duty.

Between two points of the line hours are interpolated.  After the last one they are those
the machine is taken to have run since: by its plan, else by the mean of its record, the
same that counts its hours up to the day of a forecast.  Before the first point there is
nothing to go by, for a plan says what will be run, not what was: those hours stay unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.segments.hour_line import HourLine
from trendwear.segments.openings import NO_OPENING
from trendwear.segments.running_hours import Duty, duty_of

__all__ = ["Bridge", "placed_by"]

Floats = NDArray[np.float64]
_SQRT3: Final = float(np.sqrt(3.0))


@dataclass(frozen=True)
class Bridge:
    """The hour line of one machine, and its duty after the last point.

    Attributes
    ----------
    line : HourLine
    plan : DataFrame
        The machine's rows of `tables.DUTY_PLAN`.
    """

    line: HourLine
    plan: pd.DataFrame

    @cached_property
    def duty(self) -> Duty:
        """What the machine runs after the last point of its line."""
        return duty_of(self.plan, self.line)

    def run_since(self, day: Floats) -> Floats:
        """Hours run from the last point of the line to ``day``; NaN up to it, or if unknown."""
        run = np.full(np.shape(day), np.nan)
        if not len(self.line.day):
            return run
        after = day > self.line.day[-1]
        if after.any():
            run[after] = self.duty.hours_since(float(self.line.day[-1]), day[after])
        return run

    def hours_after(self, day: Floats) -> Floats:
        """Hours at days after the last point of the line; NaN up to it, or if unknown."""
        run = self.run_since(day)
        return run + self.line.hours[-1] if len(self.line.hours) else run

    def error_of(self, day: Floats, vague: Floats) -> Floats:
        """Half-width of the hours at ``day``, known to within ``vague`` days.

        By half the hours that are run within those days, and by those within the days that
        the line itself may be off; after its last point by the spread of the duty too, a
        relative standard deviation (half-width: times sqrt(3)).
        """
        error = self.line.vague_at(day) * self.line.mean_rate()
        unsure = vague > 0
        if unsure.any():
            error[unsure] += self._run_within(day[unsure], vague[unsure])
        run = self.run_since(day)
        bridged = np.isfinite(run)
        if bridged.any():
            error[bridged] += _SQRT3 * self.duty.spread * run[bridged]
        return error

    def _run_within(self, day: Floats, vague: Floats) -> Floats:
        """Half the hours run from ``vague`` days before to as many after each day."""
        at = self._hours_at(day)
        # Where the line does not reach that far, as much as on the mean of it.
        usual = self.line.mean_rate() * vague
        before, after = at - self._hours_at(day - vague), self._hours_at(day + vague) - at
        sides = np.where(np.isnan(before), usual, before) + np.where(np.isnan(after), usual, after)
        return np.asarray(sides / 2, dtype=float)

    def _hours_at(self, day: Floats) -> Floats:
        on_line = self.line.hours_at(day)
        return np.where(np.isnan(on_line), self.hours_after(day), on_line)


def placed_by(rows: pd.DataFrame, bridge: Bridge) -> pd.DataFrame:
    """Hours of rows that state none, and where they come from.

    An opening stands at one hour: that of its first date.  Work after the last known hours
    of a machine whose duty is unknown is counted there, as everything of that machine is;
    a reading is not, for it would be fitted at hours that are too few.

    Parameters
    ----------
    rows : DataFrame
        Rows of one machine: ``day``, ``opening_no``, ``source``.
    bridge : Bridge

    Returns
    -------
    DataFrame
        The same index with ``hours`` (NaN where unknown) and ``hours_from``:
        "interpolated", "by the duty", "last known" or "unknown".
    """
    day = rows["day"].to_numpy(dtype=float)
    on_line = _at_first_date(rows, bridge.line.hours_at(day))
    after = _at_first_date(rows, bridge.hours_after(day))
    hours = on_line.fillna(after)
    last = np.full(len(rows), np.nan)
    if len(bridge.line.day):
        at_end = (day > bridge.line.day[-1]) & (rows["source"] == "work").to_numpy()
        last = np.where(at_end, bridge.line.hours[-1], np.nan)
    source = np.select(
        [on_line.notna(), after.notna(), np.isfinite(last)],
        ["interpolated", "by the duty", "last known"],
        "unknown",
    )
    return pd.DataFrame({"hours": hours.fillna(pd.Series(last, rows.index)), "hours_from": source})


def _at_first_date(rows: pd.DataFrame, hours: Floats) -> pd.Series:
    """Hours of each row; within an opening those of its first date."""
    own = pd.Series(hours, index=rows.index)
    in_opening = rows["opening_no"] != NO_OPENING
    return own.where(~in_opening, own.groupby(rows["opening_no"]).transform("min"))
