"""The chronicle of each machine: its hour line, its openings, and every row's place on them.

This is where dates and hours of readings and work are settled, once, before any
clearance is looked at.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.segments.arrivals import with_arrivals
from trendwear.segments.bridging import Bridge, placed_by
from trendwear.segments.hour_line import HourLine, days, empty_line, filled_in, line_through
from trendwear.segments.meters import REPLACED, bridge_meters
from trendwear.segments.openings import NO_OPENING, number_openings
from trendwear.segments.starts import StartLine, start_lines
from trendwear.wording import fold_column

__all__ = ["Chronicle", "Record", "chronicle"]

LONGEST_OPENING_DAYS: Final = 365.0
"""Rows of one opening further apart than this are named."""
LONG_GAP_DAYS: Final = 7.0
"""Between an old meter's last reading and the new one's first: longer is noted."""


@dataclass(frozen=True)
class Record:
    """What was written down: frames `tables.READINGS`, `tables.WORK`, `tables.RUN_LOG`."""

    readings: pd.DataFrame
    work: pd.DataFrame
    run_log: pd.DataFrame


@dataclass(frozen=True)
class Chronicle:
    """What is known of all machines as of a day.

    Attributes
    ----------
    readings, work : DataFrame
        The rows on or before the day, each with ``likely_day`` (days since 1970, from
        the hours where no date was written, NaN unknown), ``hours`` (bridged over
        meters, NaN unknown), ``hours_from`` ("stated", "opening", or as
        `trendwear.segments.bridging.placed_by` says), ``hours_error`` (half-width),
        ``doubt`` (why stated hours are unknown), ``opening_no`` (-1: none), ``order``
        (rises with time within the machine).  Work on parts that went elsewhere stands
        at both places (``work_row``, ``arrives``: `trendwear.segments.arrivals`).
    openings : DataFrame
        ``machine``, ``opening_no``, ``day``, ``last_day``, ``hours``.
    lines : dict
        `HourLine` by machine.
    starts : dict
        `StartLine` of the machines that counted starts.
    """

    readings: pd.DataFrame
    work: pd.DataFrame
    openings: pd.DataFrame
    lines: dict[str, HourLine]
    starts: dict[str, StartLine]

    def line(self, machine: str) -> HourLine:
        """Return the machine's hour line, an empty one where it has none."""
        return self.lines.get(machine, empty_line())


def chronicle(record: Record, as_of: dt.date, duty_plan: pd.DataFrame | None = None) -> Chronicle:
    """Settle hours and openings from the rows dated on or before ``as_of``.

    An opening counts by its last date: one that goes on after ``as_of`` is left
    out as a whole.  After a machine's last stated hours its duty gives them: by
    ``duty_plan`` (`tables.DUTY_PLAN`), without one by the machine's own record.
    """
    plan = tables.empty(tables.DUTY_PLAN) if duty_plan is None else duty_plan
    names = pd.concat([record.readings["machine"], record.work["machine"]]).dropna().unique()
    record = replace(record, work=with_arrivals(record.work, names))
    rows = _stack(record)
    day_limit = (np.datetime64(as_of, "D") - np.datetime64("1970-01-01")).astype(int) + 1.0
    if (rows["day"] >= day_limit).any():
        settled = _settle(rows, plan)
        # An undated row beyond the dated ones is as late as its hours at the earliest allow.
        dated = settled["day"].notna() & settled["hours"].notna()
        has_dates = dated.groupby(settled["machine"]).transform("any")
        when = settled["likely_day"].fillna(settled["order"].where(has_dates))
        by_opening = when.groupby([settled["machine"], settled["opening_no"]]).transform("max")
        later = when.where(settled["opening_no"] == NO_OPENING, by_opening) >= day_limit
        rows = rows[~later.reindex(rows.index)]
    settled = _settle(rows, plan)
    return _as_chronicle(record, settled)


def _stack(record: Record) -> pd.DataFrame:
    """Lay readings, work and log rows under one another, with what places them in time."""
    shared = ["machine", "date", "run_hours"]
    parts = []
    for source, frame in (
        ("reading", record.readings),
        ("work", record.work),
        ("log", record.run_log),
    ):
        part = frame[shared].copy()
        part["source"] = source
        part["source_index"] = frame.index
        part["day"] = days(frame["date"])
        part["vague"] = _or_zero(frame, "date_spread_days")
        part["spread"] = _or_zero(frame, "hours_spread")
        part["meter"] = frame.get("meter")
        part["name"] = fold_column(frame["opening"]) if "opening" in frame else None
        part["starts"] = frame.get("starts", np.nan)
        part["is_check"] = frame["state"].eq("check") if "state" in frame else source == "log"
        parts.append(part)
    rows = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    rows["rough"] = rows["spread"] > 0
    return rows


def _or_zero(frame: pd.DataFrame, column: str) -> pd.Series:
    if column in frame:
        return frame[column].fillna(0.0).astype("float64")
    return pd.Series(0.0, index=frame.index)


def _settle(rows: pd.DataFrame, duty_plan: pd.DataFrame) -> pd.DataFrame:
    """Give every row of every machine its hours, opening and order."""
    if rows.empty:
        placed = {"hours": 0.0, "hours_from": "", "hours_error": 0.0, "opening_no": 0, "order": 0.0}
        return rows.assign(**placed, likely_day=0.0, doubt=None, machine_line=None)
    plans = dict(list(duty_plan.groupby("machine")))
    none = duty_plan.iloc[:0]
    return pd.concat(
        [
            _settle_machine(part, plans.get(machine, none))
            for machine, part in rows.groupby("machine", sort=False)
        ]
    )


def _settle_machine(rows: pd.DataFrame, plan: pd.DataFrame) -> pd.DataFrame:
    bridged = bridge_meters(rows)
    rows = rows.assign(hours=bridged["hours"], doubt=bridged["doubt"])
    rows["opening_no"] = number_openings(rows)
    stated = rows["hours"].notna()
    opening = rows[rows["opening_no"] != NO_OPENING].groupby("opening_no")
    in_opening = rows["opening_no"].map(opening["hours"].min())
    placed = rows["hours"].where(in_opening.isna(), in_opening)
    line = _line(rows, placed)
    guess = rows["hours"].isna() & placed.isna() & rows["doubt"].isna()
    rows["hours_from"] = np.select([stated, in_opening.notna()], ["stated", "opening"], "unknown")
    rows["hours_error"] = rows["spread"]
    if guess.any():
        bridge = Bridge(line, plan)
        guessed = placed_by(rows, bridge)
        placed = placed.where(~guess, guessed["hours"])
        rows["hours_from"] = rows["hours_from"].where(~guess, guessed["hours_from"])
        error = _error_of_guess(rows[guess & placed.notna()], bridge)
        rows["hours_error"] += error.reindex(rows.index, fill_value=0.0)
    rows["hours_from"] = rows["hours_from"].mask(rows["doubt"].notna(), "unknown")
    rows["hours"] = placed.mask(rows["doubt"].notna())
    on_line = pd.Series(line.day_at(rows["hours"].to_numpy()), index=rows.index)
    rows["likely_day"] = rows["day"].fillna(on_line)
    rows["order"] = _order(rows)
    rows["machine_line"] = [line] * len(rows)
    return rows


def _line(rows: pd.DataFrame, placed: pd.Series) -> HourLine:
    """The line through log rows and stated hours; the machine stands during an opening."""
    firm = rows["day"].notna() & (rows["vague"] == 0) & ~rows["rough"]
    standing = firm & (rows["opening_no"] != NO_OPENING)
    points = firm & (rows["hours"].notna() | standing)
    notes = (*_gaps_at_new_meters(rows), *_openings_too_long(rows))
    line = line_through(rows.loc[points, "day"].to_numpy(), placed[points].to_numpy(), notes)
    vague = rows["day"].notna() & (rows["vague"] > 0) & ~rows["rough"] & rows["hours"].notna()
    return filled_in(line, rows.loc[vague, ["day", "vague", "hours"]]) if vague.any() else line


def _openings_too_long(rows: pd.DataFrame) -> tuple[str, ...]:
    """Openings whose rows lie more than a year apart: the hour meter hardly moved, or is wrong."""
    firm = rows[(rows["opening_no"] != NO_OPENING) & (rows["vague"] == 0) & rows["day"].notna()]
    notes = []
    for _, opening in firm.groupby("opening_no"):
        if opening["day"].max() - opening["day"].min() > LONGEST_OPENING_DAYS:
            first, last = opening["date"].min(), opening["date"].max()
            notes.append(
                f"look at the hours: rows of {first:%Y-%m-%d} and {last:%Y-%m-%d} lie within 24 h "
                "and count as one opening"
            )
    return tuple(notes)


def _gaps_at_new_meters(rows: pd.DataFrame) -> tuple[str, ...]:
    """Meters that were replaced long after the old one was last read."""
    notes: list[str] = []
    replaced = rows["meter"] == REPLACED
    if not replaced.any():
        return ()
    read = rows.loc[rows["run_hours"].notna() & ~replaced, "day"]
    for change in rows[replaced].itertuples():
        days_since = change.day - read[read <= change.day].max()
        if days_since > LONG_GAP_DAYS:
            notes.append(
                f"hour meter replaced {change.date:%Y-%m-%d}, {days_since:.0f} days after the "
                "old one was last read: no hours counted between"
            )
    return tuple(notes)


def _error_of_guess(rows: pd.DataFrame, bridge: Bridge) -> pd.Series:
    """Half-width of hours that were not stated."""
    error = bridge.error_of(rows["day"].to_numpy(), rows["vague"].to_numpy())
    return pd.Series(error, index=rows.index)


def _order(rows: pd.DataFrame) -> pd.Series:
    """A number that rises with time: the firm day, else the day at those hours, else the hours."""
    hours, day = rows["hours"].to_numpy(), rows["day"].to_numpy()
    dated = np.isfinite(day) & np.isfinite(hours)
    if not dated.any():
        return pd.Series(np.where(np.isnan(day), hours, day), index=rows.index)
    known = pd.DataFrame({"hours": hours[dated], "day": day[dated]}).sort_values(["hours", "day"])
    known = known.groupby("hours")["day"].mean().cummax()
    first, last = known.index[0], known.index[-1]
    beyond = np.minimum(hours - first, 0.0) + np.maximum(hours - last, 0.0)
    at_hours = np.interp(hours, known.index, known.to_numpy()) + beyond / 24.0
    seek = np.isnan(day) | ((rows["vague"].to_numpy() > 0) & np.isfinite(hours))
    order = pd.Series(np.where(seek, at_hours, day), index=rows.index)
    in_opening = rows["opening_no"] != NO_OPENING
    first_row = order.groupby(rows["opening_no"]).transform("min")
    return order.where(~in_opening, first_row)


def _as_chronicle(record: Record, rows: pd.DataFrame) -> Chronicle:
    places = ["likely_day", "hours", "hours_from", "hours_error", "opening_no", "order", "doubt"]

    def back(source: str, frame: pd.DataFrame) -> pd.DataFrame:
        part = rows[rows["source"] == source].set_index("source_index")[places]
        return frame.loc[part.index].join(part)

    opened = rows[rows["opening_no"] != NO_OPENING]
    openings = (
        opened.groupby(["machine", "opening_no"], sort=True)
        .agg(day=("day", "min"), last_day=("day", "max"), hours=("hours", "min"))
        .reset_index()
    )
    lines = rows.groupby("machine")["machine_line"].first().to_dict() if len(rows) else {}
    return Chronicle(
        readings=back("reading", record.readings),
        work=back("work", record.work),
        openings=openings,
        lines=lines,
        starts=start_lines(rows),
    )
