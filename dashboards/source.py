"""What the pages show.  Nothing else here asks the clock, or the store.

Answers are kept until the store's file changes.
"""

from __future__ import annotations

import datetime
import os
from pathlib import Path

import streamlit as st

from trendwear import outlook
from trendwear.dashboard_server import STORE_VARIABLE
from trendwear.outlook import ClearanceTrend, LimitForecast
from trendwear.store.history import signature


def today() -> datetime.date:
    """The day on which the page is looked at."""
    return datetime.date.today()


def store_path() -> Path:
    """Where the store is."""
    return Path(os.environ.get(STORE_VARIABLE, "trendwear.duckdb"))


def limit_forecast(as_of: datetime.date, horizon_hours: float | None) -> LimitForecast:
    """The limit-forecast table of the whole store."""
    path = store_path()
    return _limit_forecast(path, _stamp(path), as_of, horizon_hours)


def clearance_trend(
    names: tuple[str, str], as_of: datetime.date, horizon_hours: float | None
) -> ClearanceTrend:
    """All that is known of one clearance: ``names`` are its machine's and its own."""
    path = store_path()
    return _clearance_trend(path, _stamp(path), names, as_of, horizon_hours)


def _stamp(path: Path) -> tuple[tuple[int, int], ...]:
    # A store that is not there is for the outlook to report.
    return signature(path) if path.is_file() else ()


@st.cache_data(max_entries=8, show_spinner="Working out the forecast …")
def _limit_forecast(
    path: Path, stamp: object, as_of: datetime.date, horizon_hours: float | None
) -> LimitForecast:
    return outlook.limit_forecast(path, as_of=as_of, horizon_hours=horizon_hours)


@st.cache_data(max_entries=50, show_spinner="Fetching the readings …")
def _clearance_trend(
    path: Path,
    stamp: object,
    names: tuple[str, str],
    as_of: datetime.date,
    horizon_hours: float | None,
) -> ClearanceTrend:
    return outlook.clearance_trend(path, *names, as_of=as_of, horizon_hours=horizon_hours)
