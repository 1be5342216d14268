"""The planner's own choice: a machine opened in a window of his, each part renewed or left.

By the same reckoning as the plan's own recommendation, for one machine at a time.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.errors import UnknownName
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.around import TODAY, Around, with_today
from trendwear.planning.intervals import Choices, intervals
from trendwear.planning.opening_choice import USUAL_INTERVAL
from trendwear.planning.overhaul import Limiting, limiting_of
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Openings, renewals_at
from trendwear.planning.renewed import renewed_crossing
from trendwear.planning.shares import first_shares
from trendwear.planning.spares import OrderRules
from trendwear.planning.together import Together, none_of
from trendwear.planning.windows import ahead_of
from trendwear.segments.hour_line import days
from trendwear.tables import Columns
from trendwear.wording import fold_column

__all__ = ["BY_HEADING", "Consequence", "OpenMachine", "open_at"]

Floats = NDArray[np.float64]

BY_HEADING: Final[Columns] = {
    "heading": "text",  # the consequence whose risk is accepted, or "any limit"
    "risk": "number",  # accepted
    "chance": "number",  # that some limit under it is passed before the following opening
    "holds": "flag",
}


@dataclass(frozen=True)
class Consequence:
    """What becomes of a machine that is opened with some parts renewed and the rest left.

    Attributes
    ----------
    renewed : frozenset of str
        The clearances renewed.
    lines : DataFrame
        `trendwear.planning_tables.RENEWALS` with ``renew`` as chosen, and ``chance``: to pass
        its limit before the following opening as chosen.
    by_heading : DataFrame
        `BY_HEADING`, one row a heading.
    interval_hours : float
        Running hours from the opening until an accepted risk is exceeded; 0 where it is at
        once, `FARTHEST_HOURS` where it never is, NaN where it cannot be told.
    interval_date : Timestamp or NaT
        The day by which so many hours have been run at the planned duty.
    governs : Series of float
        Shares of the clearances that then make most of the chance.
    orders : DataFrame
        `trendwear.planning_tables.ORDERS` of the machine.
    split_sets : list of str
        Sets of which some parts are renewed and others left.
    """

    renewed: frozenset[str]
    lines: pd.DataFrame
    by_heading: pd.DataFrame
    interval_hours: float
    interval_date: pd.Timestamp
    governs: pd.Series
    orders: pd.DataFrame
    split_sets: list[str]


@dataclass(frozen=True)
class OpenMachine:
    """One machine as it will lie open in a window.

    Attributes
    ----------
    machine : str
    outage : str
        The window; `TODAY` where it is opened now.
    following : str or None
        The next chance to open it.
    until, until_following : float
        Planned running hours from now until each; NaN where unknown.
    table : DataFrame
        `trendwear.planning_tables.RENEWALS` as recommended for this window; clearances whose
        chance is not known have no place in it.
    too_long : float
        The chance that remains where no renewal keeps every accepted risk; else 0.
    """

    machine: str
    outage: str
    following: str | None
    until: float
    until_following: float
    table: pd.DataFrame
    too_long: float
    _mine: Limiting
    _fresh: Crossing
    _around: Around

    @property
    def recommended(self) -> frozenset[str]:
        """The clearances that the plan would renew."""
        return frozenset(self.table.loc[self.table["renew"], "clearance"])

    def consequence(self, renewed: Collection[str]) -> Consequence:
        """Return what follows if these clearances are renewed and all others left.

        A part limited both ways is renewed for both.

        Raises
        ------
        UnknownName
            One of them is no limiting clearance of the machine.
        """
        rows = self._mine.rows
        for name in renewed:
            if name not in set(rows["clearance"]):
                offered = "It has: " + ", ".join(rows["clearance"].drop_duplicates())
                raise UnknownName(
                    f"clearance {name} of machine {self.machine}", "it limits nothing", offered
                )
        new = rows["clearance"].isin(renewed).to_numpy(dtype=bool)
        hours = self._interval(new)
        lines = self.table.assign(renew=self.table["clearance"].isin(renewed))
        lines["chance"] = lines["chance_left"].where(~lines["renew"], lines["chance_renewed"])
        return Consequence(
            renewed=frozenset(renewed),
            lines=lines,
            by_heading=self._by_heading(new),
            interval_hours=hours,
            interval_date=self._date(hours),
            governs=self._governs(new, hours),
            orders=self._around.orders(lines.drop(columns="chance"), self.machine),
            split_sets=_split_sets(rows, new),
        )

    def _by_heading(self, new: NDArray[np.bool_]) -> pd.DataFrame:
        rows, accepted = self._mine.rows, self._around.accepted
        code, names = pd.factorize(accepted.heading(rows["consequence"]))
        spread = self._mine.spread
        every = np.zeros(len(rows), dtype=np.int64)
        old = Together.as_planned(self._mine.crossing, every, spread)
        left = old.at_nodes(np.array([self.until_following]))
        fresh = Together.as_planned(self._fresh, every, spread)
        renewed = np.nan_to_num(fresh.at_nodes(np.array([self.until_following - self.until])))
        chances = np.where(new[:, None], renewed, left)
        none = none_of(chances, code.astype(np.int64), len(names), self._parts)
        chance = np.asarray((1.0 - none) @ old.weights, dtype=float)
        risk = np.array([accepted.risk(name) for name in names], dtype=float)
        table = {"heading": names, "risk": risk, "chance": chance, "holds": chance <= risk}
        return tables.conform(pd.DataFrame(table), BY_HEADING)

    def _interval(self, new: NDArray[np.bool_]) -> float:
        if not np.isfinite(self.until):
            return float("nan")
        place = np.where(new, 1, 2).astype(np.int64)
        asked = pd.DataFrame({"code": [0], "renewed": [1]})
        choices = Choices(self._mine.rows, self._then, self._fresh, place)
        return float(intervals(choices, self._around.accepted, asked)[0])

    @property
    def _parts(self) -> NDArray[np.int64]:
        """What is limited both ways is one part."""
        return np.asarray(self._mine.rows["position"], dtype=np.int64)

    @property
    def _then(self) -> Crossing:
        """The clearances as they are at the opening, left alone."""
        old = self._mine.crossing
        return replace(old, run=old.run + np.nan_to_num(self.until))

    def _governs(self, new: NDArray[np.bool_], hours: float) -> pd.Series:
        """Shares under the heading whose risk is reached first, at the interval's end."""
        if not hours < FARTHEST_HOURS:
            return pd.Series(dtype="float64")
        rows, accepted = self._mine.rows, self._around.accepted
        old, fresh = self._then, self._fresh
        left = old.chance_at(old.run + hours)
        chances = np.where(new, np.nan_to_num(fresh.chance_at(fresh.run + hours)), left)
        code, names = pd.factorize(accepted.heading(rows["consequence"]))
        none = none_of(chances[:, None], code.astype(np.int64), len(names), self._parts)
        any_of = 1.0 - none[:, 0]
        risk = np.array([accepted.risk(name) for name in names], dtype=float)
        over = any_of / np.maximum(risk, 1e-12)
        mine = code == int(np.argmax(over))
        return first_shares(rows["clearance"][mine], chances[mine])

    def _date(self, hours: float) -> pd.Timestamp:
        clock = self._around.clock
        start = days(pd.Series([self._around.start]))[0]
        if not hours < FARTHEST_HOURS or not clock.duty.known:
            return pd.NaT
        day = float(clock.duty.day_after(float(start), np.array([hours]))[0])
        if not np.isfinite(day):
            return pd.NaT
        return pd.Timestamp("1970-01-01").as_unit("us") + pd.Timedelta(days=int(day))


def open_at(
    told: SiteForecast,
    plan: SitePlan,
    machine: str,
    outage: str,
    rules: OrderRules | None = None,
) -> OpenMachine:
    """Return a machine as it will lie open in a window.

    Parameters
    ----------
    told : SiteForecast
    plan : SitePlan
        Of that forecast.
    machine : str
    outage : str
        A coming window, whether the plan would choose it or not; or `TODAY`.
    rules : OrderRules, optional
        Those of the plan.

    Raises
    ------
    UnknownName
        There is no such machine, or no such window ahead.
    """
    limiting = limiting_of(told)
    place = int(limiting.machines.get_indexer([machine])[0])
    if place < 0:
        offered = "It has: " + ", ".join(limiting.machines)
        raise UnknownName(f"machine {machine}", "the register does not have it", offered)
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    windows = plan.windows[plan.windows["machine"] == machine].reset_index(drop=True)
    start, until, end = as_of, 0.0, as_of
    if outage != TODAY:
        here = windows[windows["outage"] == outage]
        if here.empty:
            offered = "On offer: " + (", ".join(windows["outage"]) or "none")
            raise UnknownName(f"outage {outage}", "no such window lies ahead", offered)
        start, until, end = here[["start", "hours_until", "end"]].iloc[0]
    after = windows[windows["hindrance"].isna() & (windows["start"] > end)]
    usual = told.basis.horizon_hours[machine]
    following: str | None
    if len(after):
        following, until_following = after[["outage", "hours_until"]].iloc[0]
    else:
        following = USUAL_INTERVAL if np.isfinite(usual) else None
        until_following = until + usual
    whole = limiting.only((limiting.rows["code"] == place).to_numpy())
    mine = replace(
        whole,
        machines=limiting.machines[[place]],
        rows=whole.rows.assign(code=0),
        spread=limiting.spread[[place]],
    )
    openings = Openings(
        [outage], [following], np.array([float(until)]), np.array([float(until_following)])
    )
    renewals = renewals_at(told.basis, mine, plan.accepted, openings)
    fresh, _ = renewed_crossing(told.basis, mine.rows)
    coming = with_today(ahead_of(told.site.planning.outages, as_of), as_of)
    clock = told.basis.clocks[machine]
    around = Around(told, plan, limiting, coming, rules or OrderRules(), clock, start)
    return OpenMachine(
        machine=machine,
        outage=outage,
        following=following,
        until=float(until),
        until_following=float(until_following),
        table=renewals.table,
        too_long=renewals.too_long.get(machine, 0.0),
        _mine=mine,
        _fresh=fresh,
        _around=around,
    )


def _split_sets(rows: pd.DataFrame, new: NDArray[np.bool_]) -> list[str]:
    stated = rows.assign(new=new, key=fold_column(rows["set"])).dropna(subset="set")
    some = stated.groupby("key", sort=False).agg(
        name=("set", "first"), any=("new", "any"), all=("new", "all")
    )
    return list(some.loc[some["any"] & ~some["all"], "name"])
