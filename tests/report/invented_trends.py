"""Invented forecasts and trends, as the mathematics would hand them over."""

from __future__ import annotations

import datetime

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.family import FamilyView
from trendwear.forecasting.limit_forecast import LimitForecast
from trendwear.forecasting.trend import ClearanceTrend

AS_OF = datetime.date(2026, 3, 1)
HOURS_PER_DAY = 20.0


def day(hours_from_now: float) -> pd.Timestamp:
    """The day on which so many more hours are run."""
    when = pd.Timestamp(AS_OF) + pd.Timedelta(days=round(hours_from_now / HOURS_PER_DAY))
    return when.as_unit("us")


STEADY = {
    "machine": "PT-101",
    "clearance": "brg 2",
    "kind": "sleeve bearing",
    "basis": "diametral",
    "moves": "opens",
    "unit": "mm",
    "as_of": pd.Timestamp(AS_OF),
    "run_hours": 41200.0,
    "last_reading_date": pd.Timestamp("2025-04-12"),
    "last_reading": 0.1651,
    "clearance_now": 0.1873,
    "limit": 0.25,
    "limit_source": "manual, page 12",
    "allowance_used": 58.4,
    "rate_per_1000h": 0.00421,
    "rate_low": 0.00312,
    "rate_high": 0.00532,
    "own_share": 0.82,
    "hours_to_limit_p05": 9400.0,
    "hours_to_limit_p50": 14890.0,
    "hours_to_limit_p95": 21010.0,
    "date_p05": day(9400),
    "date_p50": day(14890),
    "date_p95": day(21010),
    "chance_past_now": 0.001,
    "horizon_hours": 20000.0,
    "chance_past_horizon": 0.34,
    "found_p05": 0.221,
    "found_p50": 0.244,
    "found_p95": 0.268,
    "readings": 9,
    "segments": 2,
    "family": "pump turbine sleeve bearing",
    "reach": 1.1,
    "outcome": "reaches limit",
    "notes": "steady wear only: an upset is not in this band",
}
"""A clearance of which everything is known."""

NOTHING = dict.fromkeys(
    (
        "last_reading", "clearance_now", "limit", "allowance_used", "rate_per_1000h", "rate_low",
        "rate_high", "own_share", "hours_to_limit_p05", "hours_to_limit_p50",
        "hours_to_limit_p95", "chance_past_now", "horizon_hours", "chance_past_horizon",
        "found_p05", "found_p50", "found_p95", "reach",
    ),
    np.nan,
) | dict.fromkeys(("last_reading_date", "date_p05", "date_p50", "date_p95"), pd.NaT)  # fmt: skip
"""What stands where nothing is known."""


def table_of(*rows: dict) -> pd.DataFrame:
    """A limit-forecast table: each row is the steady one with some cells changed."""
    return tables.conform(pd.DataFrame([STEADY | row for row in rows]), tables.LIMIT_FORECAST)


def forecast_of(*rows: dict, decimals: int = 3) -> LimitForecast:
    table = table_of(*rows)
    places = pd.Series([decimals] * len(table), index=table.index, dtype="int64")
    limiting = table["limit"].notna()
    return LimitForecast(table, places, limiting, AS_OF, "1")


def every_outcome() -> LimitForecast:
    """One row of every outcome, and some awkward ones."""
    hours = ("hours_to_limit_p05", "hours_to_limit_p50", "hours_to_limit_p95")
    dates = ("date_p05", "date_p50", "date_p95")
    now = pd.Timestamp(AS_OF)
    past = {"chance_past_now": 1.0, "allowance_used": 108.0, **dict.fromkeys(hours, 0.0)}
    return forecast_of(
        {"clearance": "brg 10"},
        {"clearance": "brg 2"},
        {
            "clearance": "gland ring 3",
            "kind": "carbon ring",
            **past,
            **dict.fromkeys(dates, now),
            "outcome": "measured past limit",
            "last_reading": 0.262,
        },
        {
            "clearance": "gland ring 4",
            "kind": "carbon ring",
            "outcome": "past limit",
            "chance_past_now": 0.71,
            "hours_to_limit_p05": 0.0,
            "hours_to_limit_p50": 0.0,
            "hours_to_limit_p95": 2400.0,
            "date_p05": now,
            "date_p50": now,
            "date_p95": day(2400),
        },
        {
            "machine": "PT-102",
            "clearance": "thrust float",
            "basis": "axial",
            "outcome": "beyond horizon",
            "hours_to_limit_p50": np.nan,
            "hours_to_limit_p95": np.nan,
            "date_p50": pd.NaT,
            "date_p95": pd.NaT,
            "notes": None,
        },
        {
            "machine": "PT-102",
            "clearance": "nozzle gap",
            "moves": "closes",
            "unit": "in",
            "limit": 0.0125,
            "outcome": "no measurable wear",
            "rate_low": -0.0004,
        },
        {
            "machine": "PT-103",
            "clearance": "=1+1",
            **NOTHING,
            "limit": 0.25,
            "outcome": "too few readings",
            "readings": 0,
            "segments": 0,
            "notes": "+ see the sheet | page 2",
        },
        {
            "machine": "PT-103",
            "clearance": "land 1",
            **NOTHING,
            "last_reading": 0.31,
            "clearance_now": 0.33,
            "outcome": "no limit",
        },
        {"machine": "PT-104", **dict.fromkeys(dates, pd.NaT)},
    )


def steady_trend() -> ClearanceTrend:
    """Two runs with a renewal between them, one reading of every sort, a forecast."""
    hours = np.array([0.0, 9000, 18000, 18000, 26500, 30200, 33800, 33800, 37000])
    dates = [day(h - 41200.0) for h in hours]
    value = np.array([0.110, 0.152, 0.205, 0.112, 0.141, 0.158, 0.155, 0.158, 0.1651])
    states = [
        "as-left", "as-found", "as-found", "as-left", "as-found", "check", "not stated", "as-left",
        "as-found",
    ]  # fmt: skip
    points = pd.DataFrame(
        {
            "date": dates,
            "hours": hours,
            "hours_from": ["stated"] * 4 + ["interpolated"] + ["stated"] * 4,
            "value_mm": value,
            "u_mm": 0.004,
            "u_from": "method",
            "at_least": [False, False, True, False, False, False, False, False, False],
            "state": states,
            "segment": [1, 1, 1, 2, 2, 2, 2, 2, 2],
            "fitted": [True] * 6 + [False, True, True],
            "remark": [None] * 6
            + ["state not stated, work recorded: drawn, not fitted", None, None],
            "method": "bore gauge",
            "written": [f'{v / 25.4:.4f}"' for v in value],
            "file": "openings.xlsx",
            "sheet": "readings",
            "row": range(2, 11),
        }
    )
    points["doubt"] = [None] * 7 + ["fell by 0.003 with no work recorded; likely misread", None]
    points.loc[len(points)] = points.iloc[4].to_dict() | {"hours": np.nan, "hours_from": "unknown"}
    segments = pd.DataFrame(
        {
            "segment": [1, 2],
            "cause": ["first reading", "renewed"],
            "start_date": [dates[0], dates[3]],
            "start_hours": [0.0, 18000.0],
            "end_date": [dates[2], dates[8]],
            "end_hours": [18000.0, 37000.0],
            "readings": [3, 5],
        }
    )
    work = pd.DataFrame(
        {
            "date": [dates[3], dates[3], dates[6]],
            "hours": [18000.0, 18000.0, 33800.0],
            "action": ["renewed", "partner renewed", "dressed"],
        }
    )
    events = pd.DataFrame(
        {"machine": ["PT-101"], "date": [day(-9000.0)], "what": ["wet steam"], "row": [2]}
    )
    readings = pd.DataFrame(
        {
            "reading": range(1, 10),
            "machine": "PT-101",
            "clearance": "brg 2",
            "date": dates,
            "run_hours": hours,
            "state": states,
            "value_mm": value,
            "at_least": points["at_least"].iloc[:9],
            "excluded": False,
            "unit": "in",
            "written": points["written"].iloc[:9],
            "file": "openings.xlsx",
            "sheet": "readings",
            "row": range(2, 11),
        }
    )
    ahead = np.linspace(37000, 64000, 28)
    centre = 0.166 + 0.00421e-3 * (ahead - 37000)
    half = 0.006 + 0.0011e-3 * (ahead - 37000)
    lines = pd.DataFrame(
        {
            "segment": [1, 1, 2, 2, 2, 2, *([2] * len(ahead))],
            "stretch": ["fitted"] * 4 + ["own line"] * 2 + ["forecast"] * len(ahead),
            "hours": [0.0, 18000, 18000, 37000, 37000, 64000, *ahead],
            "fit_mm": [0.109, 0.204, 0.110, 0.166, 0.166, 0.29, *centre],
            "low_mm": [np.nan] * 6 + list(centre - half),
            "high_mm": [np.nan] * 6 + list(centre + half),
        }
    )
    lines["date"] = [day(h - 41200.0) for h in lines["hours"]]
    return ClearanceTrend(
        "PT-101",
        "brg 2",
        "mm",
        3,
        AS_OF,
        table_of({}),
        tables.conform(points, tables.TREND_POINTS),
        tables.conform(segments, tables.TREND_SEGMENTS),
        tables.conform(work, tables.TREND_WORK),
        tables.conform(events, tables.EVENTS),
        tables.conform(lines, tables.TREND_LINES),
        shares_of({"PT-101 brg 2": 0.66, "PT-101 brg 2 before": 0.12, "PT-102 brg 1": 0.22}),
        tables.conform(readings, tables.READINGS),
    )


def shares_of(shares: dict[str, float]) -> pd.DataFrame:
    """Whose readings a rate rests on: *machine clearance* to share, *before* for a former part."""
    rows = [
        {
            "machine": name.split(" ", 1)[0],
            "clearance": name.split(" ", 1)[1].removesuffix(" before"),
            "former_part": name.endswith(" before"),
            "share": share,
        }
        for name, share in shares.items()
    ]
    return tables.conform(pd.DataFrame(rows), tables.TREND_SHARES)


FAMILIES = {"pump turbine sleeve bearing": 5, "pump turbine land": 60}
"""Invented families and how many members each has."""


def family_view(count: int = 5) -> FamilyView:
    """Like clearances: the first far faster than the rest, the last with no rate yet."""
    rate = np.array([0.0080, *np.linspace(0.0046, 0.0034, count - 2), np.nan])
    members = pd.DataFrame(
        {
            "machine": [f"PT-{101 + n % 7}" for n in range(count)],
            "clearance": [f"brg {n + 1}" for n in range(count)],
            "unit": "mm",
            "readings": [9] * (count - 1) + [1],
            "rate_mm_per_1000h": rate,
            "rate_low": rate - 0.0012,
            "rate_high": rate + 0.0012,
            "own_share": [0.8] * (count - 1) + [np.nan],
        }
    )
    return FamilyView(
        "pump turbine sleeve bearing",
        "mm",
        AS_OF,
        tables.conform(members, tables.FAMILY_MEMBERS),
        rate=0.0042,
        rate_low=0.0036,
        rate_high=0.0048,
        spread=0.0011,
        power=(1.0, np.nan, np.nan),
        hours_per_start=(0.0, np.nan, np.nan),
    )


def bare_trend() -> ClearanceTrend:
    """A position of the register that nobody has read yet."""
    row = {**NOTHING, "limit": 0.25, "run_hours": np.nan, "outcome": "too few readings"}
    return ClearanceTrend(
        "PT-103",
        "land 1",
        "mm",
        2,
        AS_OF,
        table_of(row | {"machine": "PT-103", "clearance": "land 1", "readings": 0, "segments": 0}),
        tables.empty(tables.TREND_POINTS),
        tables.empty(tables.TREND_SEGMENTS),
        tables.empty(tables.TREND_WORK),
        tables.empty(tables.EVENTS),
        tables.empty(tables.TREND_LINES),
        tables.empty(tables.TREND_SHARES),
        tables.empty(tables.READINGS),
    )
