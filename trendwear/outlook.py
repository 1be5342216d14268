"""The only join of store and mathematics: forecasts and trends from a store file.

The command line and the dashboard both call this, so they cannot disagree.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.errors import UnknownName, UsageProblem
from trendwear.fit.assumed_start import assume_starts
from trendwear.fit.family_fit import Given, fit_families
from trendwear.fit.members import shares_of
from trendwear.fit.own_lines import OwnLines, own_lines
from trendwear.forecasting.ahead import ahead_of
from trendwear.forecasting.clock import Clock, clocks, interval_hours
from trendwear.forecasting.evidence import gauge_decimals
from trendwear.forecasting.family import FamilyView, family_names, family_view
from trendwear.forecasting.limit_forecast import Basis, LimitForecast, forecast_rows
from trendwear.forecasting.remarks import remarks
from trendwear.forecasting.trend import ClearanceTrend, trend_of
from trendwear.lengths import MM_PER_UNIT
from trendwear.segments.chronicle import Record
from trendwear.segments.histories import Histories, histories
from trendwear.segments.positions import in_force, positions
from trendwear.store import history
from trendwear.store.database import reader
from trendwear.wording import fold

__all__ = [
    "ClearanceTrend",
    "FamilyView",
    "LimitForecast",
    "clearance_trend",
    "family",
    "forecast",
    "limit_forecast",
]


@dataclass(frozen=True)
class _Stored:
    """What the store holds, as frames of `trendwear.tables`."""

    machines: pd.DataFrame
    register: pd.DataFrame
    record: Record
    events: pd.DataFrame
    duty_plan: pd.DataFrame
    methods: pd.DataFrame


@dataclass(frozen=True)
class _Outlook:
    """Everything computed once for one store and day."""

    stored: _Stored
    cut: Histories
    own: OwnLines
    basis: Basis
    table: pd.DataFrame
    decimals: pd.Series


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
    return limit_forecast(Path(store), as_of=as_of, horizon_hours=horizon_hours).table


def limit_forecast(
    store: Path,
    *,
    as_of: dt.date,
    horizon_hours: float | None = None,
    machine: str | None = None,
) -> LimitForecast:
    """Return the limit-forecast table with decimals and method.

    Parameters as `forecast`; ``machine`` narrows the table to one machine, whose
    clearances are still fitted beside all others.

    Raises
    ------
    UnknownName
        The register has no such machine.
    """
    outlook = _outlook(_read(store), as_of, horizon_hours)
    table, decimals = outlook.table, outlook.decimals
    if machine is not None:
        mine = table["machine"].map(fold) == fold(machine)
        if not mine.any():
            raise _unknown(f"machine {machine}", table["machine"].unique())
        table, decimals = table[mine], decimals[mine]
    return LimitForecast(table=table[list(tables.LIMIT_FORECAST)], decimals=decimals, as_of=as_of)


def _unknown(what: str, known: Iterable[str]) -> UnknownName:
    names = list(known)
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return UnknownName(
        what,
        "the register does not have it",
        "It has: " + ", ".join(names[:12]) + more if names else "It is empty: load a register.",
    )


def clearance_trend(
    store: Path,
    machine: str,
    clearance: str,
    *,
    as_of: dt.date,
    horizon_hours: float | None = None,
) -> ClearanceTrend:
    """Return everything that the page of one clearance shows.

    Raises
    ------
    UnknownName
        The register has no such machine or clearance.
    """
    outlook = _outlook(_read(store), as_of, horizon_hours)
    places = outlook.cut.positions
    same = (places["machine"].map(fold) == fold(machine)) & (
        places["clearance"].map(fold) == fold(clearance)
    )
    if not same.any():
        known = places["machine"].map(fold) == fold(machine)
        offered = places.loc[known, "clearance"] if known.any() else places["machine"].unique()
        raise _unknown(f"clearance {clearance} of machine {machine}", offered)
    position = int(places.index[same][0])
    mine = outlook.table["position"] == position
    events = outlook.stored.events
    return trend_of(
        position,
        outlook.basis,
        outlook.own,
        outlook.table[mine],
        decimals=int(outlook.decimals[mine].iloc[0]),
        shares=shares_of(outlook.basis.families, position),
        events=events[events["machine"] == places.at[position, "machine"]],
        readings=outlook.stored.record.readings,
    )


def family(
    store: Path, name: str, *, as_of: dt.date, horizon_hours: float | None = None
) -> FamilyView:
    """Return the members of one family side by side.

    Raises
    ------
    UnknownName
        No clearance belongs to a family of that name.
    """
    outlook = _outlook(_read(store), as_of, horizon_hours)
    try:
        return family_view(outlook.basis.families, outlook.cut, name, as_of)
    except KeyError:
        raise _unknown(f"family {name}", family_names(outlook.cut)) from None


def _read(store: Path) -> _Stored:
    with reader(store) as connection:
        return _Stored(
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


def _outlook(stored: _Stored, as_of: dt.date, horizon_hours: float | None) -> _Outlook:
    if horizon_hours is not None and not horizon_hours > 0:
        raise UsageProblem("horizon hours", f"{horizon_hours}", "Give running hours above 0.")
    register = in_force(stored.register, as_of)
    places = positions(register, stored.machines)
    cut = histories(stored.record, places, stored.methods, as_of)
    own = own_lines(cut)
    events = stored.events[~(stored.events["date"] > pd.Timestamp(as_of))]
    families = fit_families(cut, events, Given({}, {}))
    wear, assumed = assume_starts(families.wear, cut)
    standing = clocks(cut, stored.duty_plan, as_of)
    basis = Basis(
        register=register,
        cut=cut,
        families=families,
        wear=wear,
        ahead=ahead_of(families, cut, standing),
        last_hours=own.states["last_hours"],
        assumed=assumed,
        clocks=standing,
        horizon_hours=_horizons(cut, standing, horizon_hours),
    )
    table = forecast_rows(basis, pd.Timestamp(as_of).as_unit("us"))
    table["notes"] = remarks(table, basis, events, own.bounds_used)
    per_unit = cut.positions["unit"].map(MM_PER_UNIT)
    decimals = table["position"].map(gauge_decimals(cut, per_unit))
    return _Outlook(stored, cut, own, basis, table, decimals)


def _horizons(
    cut: Histories, standing: dict[str, Clock], horizon_hours: float | None
) -> dict[str, float]:
    if horizon_hours is not None:
        return dict.fromkeys(standing, float(horizon_hours))
    usual = interval_hours(cut)
    return {machine: usual.get(machine, np.nan) for machine in standing}
