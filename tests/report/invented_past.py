"""An invented record of past forecasts."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.hindsight.followed import IN_TIME, LATE, PLANS, UNTESTED
from trendwear.hindsight.found import FOUND, quantile_columns
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.plans import RISKS
from trendwear.hindsight.rules import LEVELS, RULES
from trendwear.hindsight.score import scores

SPREAD = np.array(LEVELS) - 0.5
"""Quantiles of a forecast as wide as 0.9 mm at 90 %."""


def invented_past(
    readings: int = 40,
    closings: int = 4,
    *,
    shift: float = 0.0,
    scatter: float = 1.0,
    outcome: str | None = None,
) -> Hindcast:
    """Readings spread evenly over a uniform forecast, moved by ``shift`` mm."""
    found = _found(readings, shift, scatter)
    return Hindcast(
        as_of=dt.date(2026, 3, 1),
        found=found,
        scores=scores(found),
        plans=_plans(closings, outcome),
        openings=readings,
        unplanned=1 if closings else 0,
        unfollowed=0,
        undated=(),
    )


def _found(count: int, shift: float, scatter: float) -> pd.DataFrame:
    if not count:
        return tables.empty(FOUND)
    place = scatter * (np.arange(count) + 0.5) / count - 0.5 * scatter
    rows = pd.DataFrame({"found_mm": 5.0 + place + shift})
    rows = rows.assign(
        machine="PT-101",
        clearance=[f"brg {1 + number % 3}" for number in range(count)],
        family="steam turbine / sleeve bearing",
        unit="mil",
        position=0,
        sign=1.0,
        opening_no=range(count),
        date=pd.Timestamp("2010-03-01") + pd.to_timedelta(np.arange(count) * 90, unit="D"),
        hours=1000.0 * np.arange(count),
        run_hours=1000.0,
        u_mm=0.01,
        at_least=False,
        readings=4,
        first_run=False,
        assumed=False,
        reach=1.0,
    )
    for number, rule in enumerate(RULES):
        rows[quantile_columns(rule)] = 5.0 + SPREAD * (1 + number)
    first = rows.head(2).assign(silent="first reading of this clearance", found_mm=5.0)
    for rule in RULES:
        first[quantile_columns(rule)] = np.nan
    return tables.conform(pd.concat([rows, first], ignore_index=True), FOUND)


def _plans(closings: int, outcome: str | None) -> pd.DataFrame:
    if not closings:
        return tables.empty(PLANS)
    came = [LATE, IN_TIME, IN_TIME, UNTESTED]
    rows = []
    for closing in range(closings):
        for risk, latest in zip(RISKS, (8000.0, 9000.0, 10_000.0), strict=True):
            became = outcome or came[closing % 4]
            row = {
                "machine": "PT-101",
                "opening_no": closing,
                "date": pd.Timestamp("2010-03-01") + pd.Timedelta(days=700 * closing),
                "hours": 16_000.0 * closing,
                "risk": risk,
                "latest_hours": latest,
                "governed_by": "brg 2 80 %; brg 1 20 %",
                "clearances": 3,
                "silent": 0,
                "apart": 0,
                "outcome": became,
                "due": risk,
                "followed_hours": 16_000.0,
            }
            if became == LATE:
                row |= {"first_past": "brg 2", "crossed_hours": 7000.0}
                row |= {"found_past_hours": 16_000.0, "note": "after wet steam, 2011-05-01"}
            rows.append(row)
    return tables.conform(pd.DataFrame(rows), PLANS)
