"""Where each machine stands on its hour line as of a day, and how long its interval is."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear.segments.histories import Histories
from trendwear.segments.running_hours import Duty, duty_of
from trendwear.wording import fold_column

DAYS_A_MONTH = 365.25 / 12

__all__ = ["Clock", "clocks", "interval_hours"]


@dataclass(frozen=True)
class Clock:
    """One machine as of a day.

    Attributes
    ----------
    day : float
        The day, as days since 1970.
    hours : float
        Running hours by then: bridged from the last known hours by the duty; the last
        known hours themselves where the duty is unknown; NaN where there are none.
    duty : Duty
    bridged : bool
        Whether hours were added by the duty.
    starts_per_hour : float
        Planned starts per running hour, else those of the record; NaN where unknown.
    notes : tuple of str
    """

    day: float
    hours: float
    duty: Duty
    bridged: bool
    starts_per_hour: float
    notes: tuple[str, ...]


def clocks(cut: Histories, duty_plan: pd.DataFrame, as_of: dt.date) -> dict[str, Clock]:
    """Return the clock of every machine that has a clearance."""
    day = float((np.datetime64(as_of, "D") - np.datetime64("1970-01-01")).astype(int))
    plans = dict(list(duty_plan.groupby("machine")))
    none = duty_plan.iloc[:0]
    furthest = cut.points.groupby("machine")["hours"].max()
    found = {}
    for machine in cut.positions["machine"].unique():
        line = cut.chronicle.line(machine)
        duty = duty_of(plans.get(machine, none), line)
        notes = list(line.notes)
        if not duty.known:
            notes.append("duty unknown: hours without dates")
        hours = float(line.hours[-1]) if len(line.day) else float(furthest.get(machine, np.nan))
        since = duty.hours_between(float(line.day[-1]), day) if len(line.day) else np.nan
        bridged = bool(since > 0)
        if not duty.known and np.isfinite(hours):
            notes.append("counted to the last known hours")
        counted = cut.chronicle.starts.get(machine)
        notes.extend(counted.notes if counted else ())
        planned = _planned_starts(plans.get(machine, none))
        found[machine] = Clock(
            day=day,
            hours=hours + since if bridged else hours,
            duty=duty,
            bridged=bridged,
            starts_per_hour=counted.per_hour() if counted and np.isnan(planned) else planned,
            notes=tuple(notes),
        )
    return found


def _planned_starts(plan: pd.DataFrame) -> float:
    """Starts per running hour over the whole plan; NaN where it tells none."""
    told = plan.dropna(subset="starts_per_month")
    hours = (told["hours_per_day"] * DAYS_A_MONTH).sum()
    return float(told["starts_per_month"].sum() / hours) if hours > 0 else float("nan")


def interval_hours(cut: Histories) -> dict[str, float]:
    """Median hours between openings of each machine; its class's where it has but one."""
    openings = cut.chronicle.openings.dropna(subset="hours").sort_values(["machine", "hours"])
    gaps = openings.assign(gap=openings.groupby("machine")["hours"].diff()).dropna(subset="gap")
    gaps = gaps[gaps["gap"] > 0]
    own = gaps.groupby("machine")["gap"].median()
    classes = cut.positions.drop_duplicates("machine").set_index("machine")["class"]
    classes = fold_column(classes)
    of_class = gaps.groupby(gaps["machine"].map(classes))["gap"].median()
    by_class = classes.map(of_class).astype("float64")
    return {machine: float(own.get(machine, by_class[machine])) for machine in classes.index}
