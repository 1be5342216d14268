"""The only join of store and mathematics: a site's forecasts from its store file.

The command line and the dashboard both call this, so they cannot disagree.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd

from trendwear.forecasting.site import SiteForecast, SiteRecord, forecast_site
from trendwear.segments.chronicle import Record
from trendwear.store import history
from trendwear.store.database import reader

__all__ = ["forecast", "look", "read_site"]


def forecast(
    store: Path | str,
    *,
    as_of: dt.date,
    horizon_hours: float | None = None,
) -> pd.DataFrame:
    """Return the limit-forecast table of a store.

    Parameters
    ----------
    store : path
        The store file.
    as_of : date
        The day from which hours, dates and chances count; later rows are not used.
    horizon_hours : float, optional
        Overhaul interval in running hours; without it each machine's own.

    Returns
    -------
    DataFrame
        Columns of `trendwear.tables.LIMIT_FORECAST`, one row a register row.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    UsageProblem
        ``horizon_hours`` is not above 0.
    """
    return look(store, as_of=as_of, horizon_hours=horizon_hours).limit_forecast().table


def look(store: Path | str, *, as_of: dt.date, horizon_hours: float | None = None) -> SiteForecast:
    """Work out every clearance of a store; parameters and errors as `forecast`."""
    return forecast_site(read_site(store), as_of, horizon_hours)


def read_site(store: Path | str) -> SiteRecord:
    """Read what a store holds.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        return SiteRecord(
            machines=history.machines(connection),
            register=history.clearances(connection),
            record=Record(
                history.readings(connection),
                history.work(connection),
                history.run_log(connection),
            ),
            events=history.events(connection),
            duty_plan=history.duty_plan(connection),
            methods=history.methods(connection),
        )
