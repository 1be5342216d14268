"""Limits of one clearance that follow one another: from which day and hours each holds."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable
from typing import Any

import numpy as np
import pandas as pd

from trendwear.forecasting.clock import Clock
from trendwear.lengths import MM_PER_UNIT
from trendwear.limit_steps import LIMIT_STEPS
from trendwear.segments.hour_line import HourLine, days
from trendwear.tables import conform

__all__ = ["limits_in_sequence", "with_coming_limits"]


def limits_in_sequence(
    rows: pd.DataFrame, as_of: dt.date, line: HourLine, clock: Clock
) -> pd.DataFrame:
    """Return every limit of a clearance (`LIMIT_STEPS`), by the way of wearing and the day.

    Parameters
    ----------
    rows : DataFrame
        Its register rows, `trendwear.tables.CLEARANCES`.
    as_of : date
        The day the forecast speaks of.
    line, clock
        The machine's hour line, and where it stands: days after the line are placed by
        the duty.
    """
    ordered = rows.sort_values(["moves", "limit_from"], na_position="first", kind="stable")
    day = days(ordered["limit_from"])
    past = line.hours_at(day) if len(line.day) else np.full(len(day), np.nan)
    if len(line.day):
        # A limit that held before the first log row holds from the chart's left end.
        past = np.where(day < line.day[0], line.hours[0], past)
    later = [_hours_after(at, clock) for at in day]
    hours = np.where(np.isnan(past), later, past)
    steps = pd.DataFrame(
        {
            "moves": ordered["moves"],
            "limit_mm": ordered["limit_mm"],
            "date": ordered["limit_from"],
            "hours": hours,
            "source": ordered["limit_source"],
            "ahead": ordered["limit_from"] > pd.Timestamp(as_of),
        }
    )
    return conform(steps.reset_index(drop=True), LIMIT_STEPS)


def with_coming_limits(rows: pd.DataFrame, register: pd.DataFrame, as_of: dt.date) -> pd.Series:
    """Return the notes of forecast rows, with the next limit that is known to follow.

    Parameters
    ----------
    rows : DataFrame
        Rows of the forecast with their ``notes``, by machine, clearance and ``moves``.
    register : DataFrame
        `trendwear.tables.CLEARANCES`, limits in sequence included.
    """
    key = ["machine", "clearance", "moves"]
    ahead = register[register["limit_from"] > pd.Timestamp(as_of)]
    first = ahead.sort_values("limit_from", kind="stable").drop_duplicates(key)
    told = {tuple(row[name] for name in key): _coming(row) for row in first.to_dict("records")}
    notes = []
    for note, *place in rows[["notes", *key]].itertuples(index=False):
        coming = told.get(tuple(place))
        notes.append(f"{note}; {coming}" if note and coming else coming or note)
    return pd.Series(notes, rows.index, dtype="object")


def _coming(row: dict[Hashable, Any]) -> str:
    source = f" ({row['limit_source']})" if isinstance(row["limit_source"], str) else ""
    unit = row["unit"]
    limit = (
        "no limit"
        if pd.isna(row["limit_mm"])
        else (f"limit {row['limit_mm'] / MM_PER_UNIT[unit]:.6g} {unit}")
    )
    return f"from {row['limit_from']:%Y-%m-%d} {limit}{source}, not counted here"


def _hours_after(day: float, clock: Clock) -> float:
    """Hours on a day after the last of the hour line; NaN before it, or without a duty."""
    if np.isnan(day) or not clock.duty.known:
        return np.nan
    if day <= clock.day:
        return clock.hours
    return clock.hours + clock.duty.hours_between(clock.day, day)
