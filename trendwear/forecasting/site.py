"""A whole site as of a day: from the frames of its record to every forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.errors import UnknownName, UsageProblem
from trendwear.fit.assumed_start import assume_starts
from trendwear.fit.family_fit import Given, fit_families
from trendwear.fit.kept import NOTHING_KEPT, KeptFits, KeptText
from trendwear.fit.members import shares_of
from trendwear.fit.own_lines import OwnLines, own_lines
from trendwear.forecasting.ahead import ahead_of
from trendwear.forecasting.clock import Clock, clocks, interval_hours
from trendwear.forecasting.evidence import gauge_decimals
from trendwear.forecasting.family import FamilyView, family_names, family_view
from trendwear.forecasting.limit_forecast import Basis, LimitForecast, forecast_rows
from trendwear.forecasting.limits_in_sequence import with_coming_limits
from trendwear.forecasting.remarks import remarks
from trendwear.forecasting.trend import Beside, ClearanceTrend, trend_of
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning_tables import PlanningSheets
from trendwear.progress import Progress, silent
from trendwear.segments.chronicle import Record
from trendwear.segments.histories import Histories, histories
from trendwear.segments.positions import in_force, positions
from trendwear.trust.judge import Trust, judge, trust_notes
from trendwear.wording import fold, fold_column

__all__ = ["Known", "SiteForecast", "SiteRecord", "basis_of", "forecast_site", "given_by"]


@dataclass(frozen=True)
class SiteRecord:
    """What is recorded of a site, as frames of `trendwear.tables`."""

    machines: pd.DataFrame
    register: pd.DataFrame
    """`tables.CLEARANCES`, all limits in sequence."""
    record: Record
    events: pd.DataFrame
    duty_plan: pd.DataFrame
    methods: pd.DataFrame
    families: pd.DataFrame
    """`tables.FAMILIES`: what a person fixed of how families wear."""
    planning: PlanningSheets = field(default_factory=PlanningSheets)


@dataclass(frozen=True)
class SiteForecast:
    """Everything worked out once for a site and a day.

    Attributes
    ----------
    site : SiteRecord
    as_of : date
    cut : Histories
    own : OwnLines
    basis : Basis
    trust : Trust
        What is hard to believe in it.
    rows : DataFrame
        The limit-forecast table with the columns `forecast_rows` adds.
    decimals : Series of int
        Decimals that the gauge carries, in each row's own unit.
    """

    site: SiteRecord
    as_of: dt.date
    cut: Histories
    own: OwnLines
    basis: Basis
    trust: Trust
    rows: pd.DataFrame
    decimals: pd.Series

    def limit_forecast(self, machine: str | None = None) -> LimitForecast:
        """Return the limit-forecast table, of one machine or of all.

        Raises
        ------
        UnknownName
            The register has no such machine.
        """
        rows, decimals = self.rows, self.decimals
        if machine is not None:
            mine = rows["machine"].map(fold) == fold(machine)
            if not mine.any():
                raise _unknown(f"machine {machine}", rows["machine"].unique())
            rows, decimals = rows[mine], decimals[mine]
        return LimitForecast(
            table=rows[list(tables.LIMIT_FORECAST)],
            decimals=decimals,
            limiting=rows["limiting"].astype(bool),
            as_of=self.as_of,
        )

    def clearance_trend(self, machine: str, clearance: str) -> ClearanceTrend:
        """Return everything that the page of one clearance shows.

        Raises
        ------
        UnknownName
            The register has no such machine or clearance.
        """
        places = self.cut.positions
        here = places["machine"].map(fold) == fold(machine)
        same = here & (places["clearance"].map(fold) == fold(clearance))
        if not same.any():
            offered = places.loc[here, "clearance"] if here.any() else places["machine"].unique()
            raise _unknown(f"clearance {clearance} of machine {machine}", offered)
        position = int(places.index[same][0])
        mine = self.rows["position"] == position
        events = self.site.events
        return trend_of(
            position,
            self.basis,
            self.own,
            self.rows[mine],
            Beside(
                decimals=int(self.decimals[mine].iloc[0]),
                shares=shares_of(self.basis.families, position),
                doubts=self.trust.doubts,
                events=events[events["machine"] == places.at[position, "machine"]],
                readings=self.site.record.readings,
                register=self.site.register,
            ),
        )

    @property
    def found(self) -> list[KeptText]:
        """Fits of families that had to be searched, to be kept for the next time."""
        return self.basis.families.found

    @property
    def families(self) -> list[str]:
        """Names of all families."""
        return family_names(self.cut)

    def family(self, name: str) -> FamilyView:
        """Return the members of one family side by side.

        Raises
        ------
        UnknownName
            No clearance belongs to a family of that name.
        """
        try:
            return family_view(self.basis.families, self.cut, name, self.as_of)
        except KeyError:
            raise _unknown(f"family {name}", self.families) from None


def _unknown(what: str, known: Iterable[str]) -> UnknownName:
    names = list(known)
    if not names:
        return UnknownName(what, "the register is empty", "Load a register first.")
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    offered = "It has: " + ", ".join(names[:12]) + more
    return UnknownName(what, "the register does not have it", offered)


def forecast_site(
    site: SiteRecord,
    as_of: dt.date,
    horizon_hours: float | None = None,
    kept: KeptFits = NOTHING_KEPT,
    progress: Progress = silent,
) -> SiteForecast:
    """Work out every clearance of a site from what was recorded on or before a day.

    Parameters
    ----------
    site : SiteRecord
    as_of : date
        The day from which hours, dates and chances count; later rows are not used.
    horizon_hours : float, optional
        Overhaul interval in running hours; without it each machine's own.
    kept : KeptFits, optional
        Fits from before; `SiteForecast.found` holds those that were not among them.
    progress : callable, optional

    Raises
    ------
    UsageProblem
        ``horizon_hours`` is not above 0.
    """
    if horizon_hours is not None and not horizon_hours > 0:
        raise UsageProblem("horizon hours", f"{horizon_hours}", "Give running hours above 0.")
    day = dt.date(as_of.year, as_of.month, as_of.day)
    register = in_force(site.register, day)
    progress("cutting histories", 0, 0)
    places = positions(register, site.machines)
    cut = histories(site.record, places, site.methods, day, site.duty_plan)
    progress("drawing own lines", 0, 0)
    own = own_lines(cut)
    events = site.events[~(site.events["date"] > pd.Timestamp(day))]
    standing = clocks(cut, site.duty_plan, day)
    known = Known(register, cut, own, events, given_by(site.families))
    basis = basis_of(known, standing, horizon_hours, kept, progress)
    progress("working out dates", 0, 0)
    rows = forecast_rows(basis, pd.Timestamp(day).as_unit("us"))
    progress("judging readings", 0, 0)
    trust = judge(register, cut, basis.families, events)
    doubts = trust_notes(trust, cut, rows)
    rows["notes"] = remarks(rows, basis, events, doubts, own.bounds_used)
    rows["notes"] = with_coming_limits(rows, site.register, day)
    per_unit = cut.positions["unit"].map(MM_PER_UNIT)
    decimals = rows["position"].map(gauge_decimals(cut, per_unit))
    return SiteForecast(site, day, cut, own, basis, trust, rows, decimals)


@dataclass(frozen=True)
class Known:
    """What was known of a site on a day, cut into histories.

    Attributes
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force.
    cut : Histories
    own : OwnLines
    events : DataFrame
        `tables.EVENTS` on or before the day.
    given : Given
        What a person fixed of how families wear.
    """

    register: pd.DataFrame
    cut: Histories
    own: OwnLines
    events: pd.DataFrame
    given: Given


def given_by(families: pd.DataFrame) -> Given:
    """Return what a person fixed (`tables.FAMILIES`), by the family's name as it compares."""
    names = fold_column(families["family"])
    worth = families["hours_per_start"].set_axis(names).dropna()
    return Given(worth.to_dict(), families["power"].set_axis(names).dropna().to_dict())


def basis_of(
    known: Known,
    standing: dict[str, Clock],
    horizon_hours: float | None,
    kept: KeptFits = NOTHING_KEPT,
    progress: Progress = silent,
) -> Basis:
    """Fit the families, and say what every clearance's forecast stands on."""
    cut = known.cut
    families = fit_families(cut, known.events, known.given, kept, progress)
    wear, assumed = assume_starts(families.wear, cut)
    return Basis(
        register=known.register,
        cut=cut,
        families=families,
        wear=wear,
        ahead=ahead_of(families, cut, standing),
        last_hours=known.own.states["last_hours"],
        assumed=assumed,
        clocks=standing,
        horizon_hours=_horizons(cut, standing, horizon_hours),
    )


def _horizons(
    cut: Histories, standing: dict[str, Clock], horizon_hours: float | None
) -> dict[str, float]:
    if horizon_hours is not None:
        return dict.fromkeys(standing, float(horizon_hours))
    usual = interval_hours(cut)
    return {machine: usual.get(machine, np.nan) for machine in standing}
