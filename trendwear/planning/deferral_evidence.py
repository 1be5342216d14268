"""What the forecasts of one machine rest on, and how weak it is: readings, events, due dates."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.site import SiteForecast
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning.limiting import against_limits, crossing_of, may_limit
from trendwear.planning.overhaul import LIKELY_PAST
from trendwear.segments.hour_line import dates_of, days
from trendwear.tables import Columns
from trendwear.wording import fold, fold_column

__all__ = [
    "DUE",
    "EVENTS_SINCE",
    "PAST",
    "RESTS_ON",
    "due_before",
    "events_since",
    "past_today",
    "rests_on",
]

RESTS_ON: Final[Columns] = {
    "clearance": "text",
    "unit": "text",
    "decimals": "count",  # that the gauge carries
    "last_date": "date",
    "last_reading": "number",
    "hours_since": "number",  # since the last reading, or the work where nothing was read since
    "days_since": "number",
    "state": "text",
    "method": "text",
    "u": "number",  # one standard uncertainty
    "u_from": "text",  # "stated", "method" or "written resolution"
    "at_least": "flag",
    "in_run": "count",  # readings since the last work
    "readings": "count",  # fitted, in all
    "assumed": "flag",  # the start was not measured: its family's as-left is taken
    "notes": "text",  # what the limit forecast notes beside it
}
"""One row a limiting clearance; lengths in its own unit."""

PAST: Final[Columns] = {
    "clearance": "text",
    "consequence": "text",
    "unit": "text",
    "decimals": "count",
    "limit": "number",
    "limit_meaning": "text",
    "read": "flag",  # read past its limit; else it is so by forecast
    "since": "date",  # found past, or reckoned to have had an even chance of it
    "reading": "number",  # that found it so
    "chance": "number",
}

EVENTS_SINCE: Final[Columns] = {
    **dict.fromkeys(("what", "severity", "by", "note", "accepted_by", "accepted_why"), "text"),
    "date": "date",
    "touched": "count",  # limiting clearances last read before it
    "of": "count",
}

DUE: Final[Columns] = {
    "what": "text",
    "due": "date",
    "authority": "text",
    "tolerance_days": "number",
    "overdue": "flag",
}


def _limiting_rows(told: SiteForecast, machine: str) -> pd.DataFrame:
    """The register rows of a machine that may limit it, forecast or not, against their limits."""
    basis = told.basis
    rows = basis.register[may_limit(basis.register) & (basis.register["machine"] == machine)]
    hours = np.full(len(rows), basis.clocks[machine].hours)
    return against_limits(basis, rows, evidence(basis.cut), hours)


def past_today(told: SiteForecast, machine: str) -> pd.DataFrame:
    """Return the machine's clearances past their limit today, and since when (`PAST`)."""
    rows = _limiting_rows(told, machine)
    can = rows["told"].to_numpy(dtype=bool)
    crossing = crossing_of(told.basis, rows[can])
    chance, half = np.full(len(rows), np.nan), np.full(len(rows), np.nan)
    chance[can], half[can] = crossing.chance_at(crossing.run), crossing.hours_at(LIKELY_PAST)
    past = []
    for row, likely, after in zip(rows.to_dict("records"), chance, half, strict=True):
        if not (row["measured_past"] or likely >= LIKELY_PAST):
            continue
        unit = MM_PER_UNIT[row["unit"]]
        since = _read_past(told, row) if row["measured_past"] else _likely_past(told, row, after)
        past.append(
            {
                "clearance": row["clearance"],
                "consequence": row["consequence"],
                "unit": row["unit"],
                "decimals": _decimals(told, row),
                "limit": row["limit_mm"] / unit,
                "limit_meaning": row["limit_meaning"],
                "read": row["measured_past"],
                "chance": likely,
                "since": since[0],
                "reading": since[1] / unit,
            }
        )
    return tables.conform(pd.DataFrame(past, columns=[*PAST]), PAST)


def _read_past(told: SiteForecast, row: dict[Any, Any]) -> tuple[pd.Timestamp, float]:
    """Date and value (mm) of the first of the last readings that are all past the limit."""
    points = _current_run(told, row["position"])
    beyond = points["worn_mm"] * row["side"] > row["worn_limit_mm"] * row["side"]
    beyond |= points["at_least"] & (points["worn_mm"] >= row["worn_limit_mm"])
    within = np.flatnonzero(~beyond.to_numpy(dtype=bool))
    first = points.iloc[within[-1] + 1 if len(within) else 0]
    return dates_of(pd.Series([first["likely_day"]])).iloc[0], float(first["value_mm"])


def _likely_past(
    told: SiteForecast, row: dict[Any, Any], hours: float
) -> tuple[pd.Timestamp, float]:
    """The day on which the chance of being past the limit came to one half."""
    clock = told.basis.clocks[row["machine"]]
    at = float(told.basis.last_hours[row["position"]]) + hours
    line = told.cut.chronicle.line(row["machine"])
    if not len(line.day):
        return pd.NaT, np.nan
    day = float(line.day_at(np.array([at]))[0])
    if np.isnan(day):
        span = [float(line.hours[-1]), max(clock.hours, float(line.hours[-1]))]
        day = float(np.interp(at, span, [float(line.day[-1]), clock.day]))
    return dates_of(pd.Series([np.floor(day)])).iloc[0], np.nan


def _current_run(told: SiteForecast, position: int) -> pd.DataFrame:
    """The fitted readings since the last work, in order of time."""
    cut = told.cut
    segments = cut.segments[cut.segments["position"] == position]
    points = cut.points[(cut.points["position"] == position) & cut.points["fitted"]]
    points = points[points["segment"] == segments["segment"].max()]
    return points.sort_values("hours", kind="stable")


def rests_on(told: SiteForecast, machine: str) -> pd.DataFrame:
    """Return what each limiting clearance of a machine rests on (`RESTS_ON`)."""
    rows = _limiting_rows(told, machine).drop_duplicates("clearance")
    forecast = told.rows[told.rows["machine"] == machine]
    notes = forecast.groupby("clearance")["notes"].agg(lambda some: "; ".join(some.dropna()))
    first = forecast.drop_duplicates("clearance").set_index("clearance")
    day = told.basis.clocks[machine].day
    found = []
    for row in rows.to_dict("records"):
        run, known = _current_run(told, row["position"]), first.loc[row["clearance"]]
        last = run.iloc[-1].to_dict() if len(run) else {}
        date = known["last_reading_date"]
        found.append(
            {
                "clearance": row["clearance"],
                "unit": row["unit"],
                "decimals": _decimals(told, row),
                "last_date": date,
                "last_reading": known["last_reading"],
                "hours_since": row["run"],
                "days_since": day - days(pd.Series([date]))[0] if pd.notna(date) else np.nan,
                "state": last.get("state"),
                "method": last.get("method"),
                "u": last.get("u_mm", np.nan) / MM_PER_UNIT[row["unit"]],
                "u_from": last.get("u_from"),
                "at_least": bool(last.get("at_least", False)),
                "in_run": len(run),
                "readings": int(known["readings"]),
                "assumed": bool(known["assumed"]),
                "notes": notes[row["clearance"]] or None,
            }
        )
    return tables.conform(pd.DataFrame(found, columns=[*RESTS_ON]), RESTS_ON)


def _decimals(told: SiteForecast, row: dict[Any, Any]) -> int:
    return int(told.decimals[told.rows["position"] == row["position"]].iloc[0])


def events_since(told: SiteForecast, machine: str, rests: pd.DataFrame) -> pd.DataFrame:
    """Return what happened to a machine after the last readings (`EVENTS_SINCE`), newest first.

    Parameters
    ----------
    told : SiteForecast
    machine : str
    rests : DataFrame
        `RESTS_ON` of the machine.
    """
    events = told.site.events
    mine = events[(events["machine"] == machine) & ~(events["date"] > pd.Timestamp(told.as_of))]
    found = []
    for event in mine.to_dict("records"):
        named = event["clearances"]
        meant = rests
        if isinstance(named, str):
            meant = rests[[fold(name) in fold(named) for name in rests["clearance"]]]
        before = meant["last_date"].isna() | ~(meant["last_date"] >= event["date"])
        if before.any():
            found.append({**event, "touched": int(before.sum()), "of": len(rests)})
    table = tables.conform(pd.DataFrame(found, columns=[*EVENTS_SINCE]), EVENTS_SINCE)
    return table.sort_values("date", ascending=False, kind="stable").reset_index(drop=True)


def due_before(told: SiteForecast, machine: str, to: pd.Timestamp) -> pd.DataFrame:
    """Return the due dates of a machine still to be kept that lie before a date (`DUE`).

    A date in the past counts as kept where a later one for the same thing is known.
    """
    due = told.site.planning.due_dates
    rows = due[(due["machine"] == machine) & due["due"].notna()]
    rows = rows.assign(
        thing=fold_column(rows["what"]), overdue=rows["due"] < pd.Timestamp(told.as_of)
    )
    newest = rows.groupby("thing", dropna=False)["due"].transform("max")
    rows = rows[(~rows["overdue"] | (rows["due"] == newest)) & (rows["due"] < to)]
    return tables.conform(rows.sort_values("due", kind="stable").reset_index(drop=True), DUE)
