"""One clearance's trend: its readings, segments, lines and band, ready to be drawn."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.fit.own_lines import OwnLines
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.limit_forecast import Basis
from trendwear.forecasting.limits_in_sequence import limits_in_sequence
from trendwear.forecasting.mixtures import quantile
from trendwear.limit_steps import LIMIT_STEPS
from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import HourLine
from trendwear.wear.state import rows_of

__all__ = ["ClearanceTrend", "trend_of"]

Floats = NDArray[np.float64]

_POINTS_AHEAD: Final = 61


@dataclass(frozen=True)
class ClearanceTrend:
    """What is shown of one clearance.  Frames are those of `trendwear.tables`.

    Attributes
    ----------
    forecast : DataFrame
        One row, two where it is limited both ways.
    points, segments, work, lines, shares : DataFrame
        `TREND_POINTS`, `TREND_SEGMENTS`, `TREND_WORK`, `TREND_LINES`, `TREND_SHARES`.
    events : DataFrame
        `EVENTS` of its machine.
    readings : DataFrame
        `READINGS`: every row behind the points, and those not used.
    limits : DataFrame
        `LIMIT_STEPS`: every limit in sequence, those that held before among them.
    """

    machine: str
    clearance: str
    unit: str
    decimals: int
    as_of: dt.date
    forecast: pd.DataFrame
    points: pd.DataFrame
    segments: pd.DataFrame
    work: pd.DataFrame
    events: pd.DataFrame
    lines: pd.DataFrame
    shares: pd.DataFrame
    readings: pd.DataFrame
    limits: pd.DataFrame = field(default_factory=lambda: tables.empty(LIMIT_STEPS))


@dataclass(frozen=True)
class Beside:
    """What the page shows of a clearance beside its forecast.

    Attributes
    ----------
    decimals : int
        That the gauge carries.
    shares : DataFrame
        As `trendwear.fit.members.shares_of` gives it.
    doubts : Series of str
        Why readings are hard to believe, by their row in ``cut.points``.
    events : DataFrame
        `EVENTS` of the machine.
    readings : DataFrame
        `READINGS` of the site.
    register : DataFrame
        `CLEARANCES` of the site, limits in sequence included.
    """

    decimals: int
    shares: pd.DataFrame
    doubts: pd.Series
    events: pd.DataFrame
    readings: pd.DataFrame
    register: pd.DataFrame


def trend_of(
    position: int, basis: Basis, own: OwnLines, rows: pd.DataFrame, beside: Beside
) -> ClearanceTrend:
    """Return the trend of the clearance at ``position`` of ``basis.cut.positions``."""
    cut = basis.cut
    place = cut.positions.loc[position]
    points = cut.points[cut.points["position"] == position]
    segments = cut.segments[cut.segments["position"] == position]
    work = cut.work[cut.work["position"] == position]
    line = cut.chronicle.line(place["machine"])
    as_of = rows["as_of"].iloc[0].date()
    readings = beside.readings
    mine = _of_place(readings, place)
    limits = beside.register[_of_place(beside.register, place)]
    return ClearanceTrend(
        machine=place["machine"],
        clearance=place["clearance"],
        unit=place["unit"],
        decimals=beside.decimals,
        as_of=as_of,
        forecast=rows[list(tables.LIMIT_FORECAST)],
        points=_points(points.assign(doubt=beside.doubts.reindex(points.index))),
        segments=_segments(segments, points, line),
        work=tables.conform(
            work.assign(date=work["date"].fillna(_as_dates(work["likely_day"]))), tables.TREND_WORK
        ),
        events=beside.events,
        lines=_lines(position, basis, own, rows),
        shares=_shares(beside.shares, cut),
        readings=readings[mine],
        limits=limits_in_sequence(limits, as_of, line, basis.clocks[place["machine"]]),
    )


def _of_place(rows: pd.DataFrame, place: pd.Series) -> pd.Series:
    return (rows["machine"] == place["machine"]) & (rows["clearance"] == place["clearance"])


def _shares(shares: pd.DataFrame, cut: Histories) -> pd.DataFrame:
    """Whose readings the rate rests on, the most first; those that add nothing left out."""
    places = cut.positions.loc[shares["position"], ["machine", "clearance"]]
    named = places.reset_index(drop=True).assign(
        former_part=~shares["current"].to_numpy(dtype=bool), share=shares["share"].to_numpy()
    )
    told = named[named["share"] > 0].sort_values("share", ascending=False, kind="stable")
    return tables.conform(told.reset_index(drop=True), tables.TREND_SHARES)


def _as_dates(day: pd.Series | Floats) -> pd.Series:
    """Days since 1970 as dates, NaT where unknown."""
    known = pd.Series(day).astype("float64")
    dates = pd.to_datetime(known.round(), unit="D", errors="coerce")
    return dates.astype("datetime64[us]")


def _points(points: pd.DataFrame) -> pd.DataFrame:
    shown = points.assign(date=points["date"].fillna(_as_dates(points["likely_day"])))
    return tables.conform(shown.reset_index(drop=True), tables.TREND_POINTS)


def _segments(segments: pd.DataFrame, points: pd.DataFrame, line: HourLine) -> pd.DataFrame:
    fitted = points[points["fitted"]].groupby("segment")
    ends = fitted.agg(end_hours=("hours", "max"), end_day=("likely_day", "max"))
    first = fitted["likely_day"].min()
    shown = segments.join(ends, on="segment")
    start = pd.Series(line.day_at(segments["start_hours"].to_numpy()), index=segments.index)
    if len(line.day):
        # Work after the last log row has its own day, and hours by the duty.
        start = start.fillna(segments["start_order"])
    shown["start_date"] = _as_dates(start.fillna(segments["segment"].map(first)))
    shown["end_date"] = _as_dates(shown["end_day"])
    return tables.conform(shown.reset_index(drop=True), tables.TREND_SEGMENTS)


def _lines(position: int, basis: Basis, own: OwnLines, rows: pd.DataFrame) -> pd.DataFrame:
    """The fitted line of each segment, and the forecast after the last reading."""
    cut = basis.cut
    sign = float(cut.positions.at[position, "sign"])
    machine = cut.positions.at[position, "machine"]
    parts = [_fitted(position, own, cut, sign)]
    if np.isfinite(basis.wear.rate[position, 0]) and basis.wear.has_level[position]:
        ahead = _ahead(position, basis, rows, sign)
        parts += [_own_ahead(position, own, ahead, sign), ahead]
    lines = pd.concat([part for part in parts if len(part)] or parts[:1], ignore_index=True)
    on_line = _line_dates(lines["hours"], cut.chronicle.line(machine), basis.clocks[machine])
    lines["date"] = _as_dates(lines["day"]).fillna(on_line)
    return tables.conform(lines, tables.TREND_LINES)


def _fitted(position: int, own: OwnLines, cut: Histories, sign: float) -> pd.DataFrame:
    """Each segment's own-data line, at every reading: by date it bends where the duty changed."""
    found: list[pd.DataFrame] = []
    line = own.lines.get(position)
    points = cut.points[(cut.points["position"] == position) & cut.points["fitted"]]
    if line is not None and line.has_rate:
        for segment, inside in points.groupby("segment"):
            along = inside.sort_values("hours", kind="stable")[["hours", "likely_day"]]
            mean, _ = line.predict(along["hours"], int(segment))
            told = {"segment": segment, "stretch": "fitted", "fit_mm": sign * mean}
            found.append(along.rename(columns={"likely_day": "day"}).assign(**told))
    if not found:
        return pd.DataFrame(columns=["segment", "stretch", "hours", "day", "fit_mm"])
    return pd.concat(found, ignore_index=True)


def _own_ahead(position: int, own: OwnLines, ahead: pd.DataFrame, sign: float) -> pd.DataFrame:
    """The own-data line drawn on over the same hours, beside the forecast."""
    line = own.lines.get(position)
    segment = int(ahead["segment"].iloc[0])
    if line is None or not line.has_rate or segment not in line.segments:
        return ahead.iloc[:0]
    mean, _ = line.predict(ahead["hours"].to_numpy(), segment)
    told = ahead[["segment", "hours", "day"]]
    return told.assign(stretch="own line", fit_mm=sign * mean)


def _ahead(position: int, basis: Basis, rows: pd.DataFrame, sign: float) -> pd.DataFrame:
    """The forecast with its 5-95 % band, as far as a reader wants to see."""
    last = float(basis.last_hours[position])
    run = rows["run_since"].iloc[0]
    reach = _reach_of_chart(rows, run)
    hours = np.linspace(0.0, reach, _POINTS_AHEAD)
    one = np.full(len(hours), position)
    many = Crossing(
        wear=rows_of(basis.wear, one),
        limit=np.full(len(hours), np.nan),
        side=np.ones(len(hours)),
        run=np.zeros(len(hours)),
        ahead=basis.ahead.at(one),
    )
    mean, sd = many.true_clearance(hours)
    weight = many.wear.weight
    low, high = quantile(weight, mean, sd, 0.05), quantile(weight, mean, sd, 0.95)
    ends = np.sort(np.column_stack([sign * low, sign * high]), axis=1)
    segments = basis.cut.segments
    begun = segments[segments["position"] == position].iloc[-1]
    current = int(begun["segment"])
    points = basis.cut.points
    read = points[(points["position"] == position) & (points["hours"] <= last)]
    day = np.full(len(hours), np.nan)
    # A machine stands while it is open: the last day at those hours, fitted or not, not the first.
    day[0] = read["likely_day"].max()
    if len(basis.cut.chronicle.line(basis.cut.positions.at[position, "machine"]).day):
        # With no reading yet the forecast begins at the work.
        day[0] = np.fmax(day[0], begun["start_order"])
    return pd.DataFrame(
        {
            "segment": current,
            "day": day,
            "stretch": "forecast",
            "hours": last + hours,
            "fit_mm": sign * (weight * mean).sum(axis=1),
            "low_mm": ends[:, 0],
            "high_mm": ends[:, 1],
        }
    )


def _reach_of_chart(rows: pd.DataFrame, run: float) -> float:
    """Hours from the last reading to where the drawn forecast ends."""
    usual = np.nanmax([rows["horizon_hours"].max(), 8000.0])
    at_limit = rows["hours_to_limit_p95"].fillna(1.5 * rows["hours_to_limit_p50"]).min()
    wanted = run + (1.15 * at_limit if pd.notna(at_limit) else usual)
    longest = run + 6.0 * usual
    return float(np.clip(wanted, run + usual / 2, longest))


def _line_dates(hours: pd.Series, line: HourLine, clock: Clock) -> pd.Series:
    """Dates of hours: on the hour line where it reaches, by the duty after it."""
    at = hours.to_numpy(dtype=float)
    past = line.day_at(at)
    ahead = clock.duty.day_after(clock.day, np.maximum(at - clock.hours, 0.0))
    if len(line.day):
        # Between the last log row and the day of the forecast the bridged hours count.
        between = clock.duty.day_after(float(line.day[-1]), np.maximum(at - line.hours[-1], 0.0))
        ahead = np.where(at <= clock.hours, np.fmin(between, clock.day), ahead)
    return _as_dates(np.where(np.isnan(past), ahead, past)).set_axis(hours.index)
