"""The only join of store and mathematics: a site's forecasts from its store file.

The command line and the dashboard both call this, so they cannot disagree.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.bench.expected import PlannedWork
from trendwear.bench.inspection import Inspection, inspection, machine_with_positions
from trendwear.errors import StoreBusy, StoreFull, StoreNotWritable
from trendwear.fit.kept import KEPT_BY, NOTHING_KEPT, KeptFits, KeptText
from trendwear.forecasting.limit_forecast import LimitForecast
from trendwear.forecasting.site import SiteForecast, SiteRecord, forecast_site
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.hindcast import hindcast as walk_through
from trendwear.hindsight.past_record import past_record
from trendwear.planning.deferral import Deferral, deferral, families_of
from trendwear.planning.deferral_question import Request, check_request, question
from trendwear.planning.next_opening import next_openings
from trendwear.planning.plan import accepted_risks, joined, plan_dates, plan_site
from trendwear.progress import Progress, silent
from trendwear.segments.chronicle import Record
from trendwear.store import history
from trendwear.store.database import Connection, reader, writer
from trendwear.store.kept_fits import keep_fits, kept_fits

__all__ = [
    "defer",
    "forecast",
    "hindcast",
    "inspection_sheet",
    "limit_forecast",
    "look",
    "plan",
    "put_off",
    "read_site",
    "site_and_fits",
]

_PATIENCE_TO_KEEP_S: Final = 1.0
"""Seconds to wait for a store in use before fits are let go: they can be found again."""


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


def plan(store: Path | str, *, as_of: dt.date, risk: float | None = None) -> pd.DataFrame:
    """Return the overhaul table of a store.

    Parameters
    ----------
    store : path
        The store file.
    as_of : date
        The day from which hours, dates and chances count.
    risk : float, optional
        Accepted chance of passing a limit, 0 to 1, in place of the ``risks`` sheet's.
        Where neither gives one there are rows for 5, 10 and 20 %, to choose from.

    Returns
    -------
    DataFrame
        Columns of `trendwear.planning_tables.OVERHAUL`, one row a machine and risk.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    UsageProblem
        ``risk`` is not within 0 and 1.
    """
    told = look(store, as_of=as_of)
    plans = [plan_site(told, accepted) for accepted in accepted_risks(told, risk)]
    return joined(plans)


def look(
    store: Path | str,
    *,
    as_of: dt.date,
    horizon_hours: float | None = None,
    progress: Progress = silent,
) -> SiteForecast:
    """Work out every clearance of a store; parameters and errors as `forecast`.

    Families whose readings are as they were the last time are not searched again: what
    was found is kept in the store.
    """
    site, kept = site_and_fits(store)
    told = forecast_site(site, as_of, horizon_hours, kept, progress)
    _keep(store, told.found)
    return told


def site_and_fits(store: Path | str) -> tuple[SiteRecord, KeptFits]:
    """Read what a store holds, and the fits of families that were kept in it.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        site = _site_in(connection)
        kept = NOTHING_KEPT.and_also(KeptText(*row) for row in kept_fits(connection, KEPT_BY))
    return site, kept


def limit_forecast(told: SiteForecast, machine: str | None = None) -> LimitForecast:
    """Return the limit-forecast table, with the next outage of each clearance beside it.

    Parameters
    ----------
    told : SiteForecast
        As `look` gives it.
    machine : str, optional
        Only this one, however it is spelt.

    Raises
    ------
    UnknownName
        The register has no such machine.
    """
    return replace(told.limit_forecast(machine), next_openings=next_openings(told))


def _keep(store: Path | str, found: Sequence[KeptText]) -> None:
    if not found:
        return
    rows = [(one.family, one.fingerprint, one.noise_share, one.result) for one in found]
    # A store that may not or cannot be written to now has been read, and its forecast
    # holds: the next one takes a little longer, that is all.
    with (
        suppress(StoreBusy, StoreFull, StoreNotWritable),
        writer(store, patience_s=_PATIENCE_TO_KEEP_S) as connection,
    ):
        keep_fits(connection, KEPT_BY, rows)


def hindcast(store: Path | str, *, as_of: dt.date, progress: Progress = silent) -> Hindcast:
    """Hold past openings against what would have been forecast before them.

    Parameters
    ----------
    store : path
        The store file.
    as_of : date
        Openings that ended on or before this day are walked through.
    progress : callable, optional

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    return walk_through(read_site(store), as_of, progress)


def defer(
    store: Path | str, machine: str, *, to: dt.date, as_of: dt.date, risk: float | None = None
) -> Deferral:
    """Return the evidence for and against overhauling a machine at a later date.

    Parameters
    ----------
    store : path
        The store file.
    machine : str
    to : date
        The later date asked for.
    as_of : date
        The day from which hours, dates and chances count.
    risk : float, optional
        Accepted chance of passing a limit, 0 to 1, in place of the ``risks`` sheet's.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    UnknownName
        The register has no such machine.
    UsageProblem
        The date is not after ``as_of`` and the planned date; nobody has accepted a risk.
    """
    return put_off(store, Request(machine, to, as_of, risk=risk))


def put_off(store: Path | str, request: Request, progress: Progress = silent) -> Deferral:
    """Return the evidence for and against a request; errors as `defer`."""
    check_request(request)
    told = look(store, as_of=request.as_of, progress=progress)
    asked = question(told, request)
    walked = walk_through(told.site, request.as_of, progress)
    record = past_record(walked, asked.machine, families_of(told, asked.machine), asked.risk)
    return deferral(told, asked, record)


def inspection_sheet(
    store: Path | str, machine: str, *, as_of: dt.date, progress: Progress = silent
) -> Inspection:
    """Return the sheet to take to the bench when a machine is opened.

    What a plan recommends stands on it where accepted risks are in the store.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    UnknownName
        The register does not have the machine, or gives it no positions.
    """
    name = machine_with_positions(read_site(store), machine)
    told = look(store, as_of=as_of, progress=progress)
    accepted = accepted_risks(told, None)
    if len(accepted) > 1:
        return inspection(told, name)
    return inspection(told, name, PlannedWork.out_of(plan_dates(told, accepted[0]), name))


def read_site(store: Path | str) -> SiteRecord:
    """Read what a store holds.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        return _site_in(connection)


def _site_in(connection: Connection) -> SiteRecord:
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
        families=history.families(connection),
        planning=history.planning_sheets(connection),
    )
