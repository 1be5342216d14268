"""The evidence for and against overhauling one machine at a later date.

Nothing here says whether to run: it gathers what is known, and what is not, for the people who
decide.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.forecasting.clock import Clock
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.deferral_chances import (
    Moments,
    chances_at,
    clearances_at,
    of_machine,
    together_at,
)
from trendwear.planning.deferral_evidence import due_before, events_since, past_today, rests_on
from trendwear.planning.deferral_question import Question
from trendwear.planning.over_time import OverTime, over_time
from trendwear.planning.overhaul import Limiting, limiting_of
from trendwear.planning.plan import plan_site
from trendwear.planning.windows import planned_hours
from trendwear.planning_tables import OUTAGES

__all__ = ["BandRecord", "Deferral", "Duty", "PastRecord", "PlanRecord", "deferral", "families_of"]


@dataclass(frozen=True)
class PlanRecord:
    """What became of past plans.

    Attributes
    ----------
    made : int
        Plans that could be followed.
    late, in_time, untested : int
        A limit was passed before the date; none was; opened or not read before it.
    above : int
        Closings that had no plan: the chance was above the risk already.
    late_expected : float
        Late ones to be expected, had the chances been right.
    """

    made: int
    late: int
    in_time: int
    untested: int
    above: int
    late_expected: float


@dataclass(frozen=True)
class BandRecord:
    """Past as-found readings beside the 90 % bands forecast the day before.

    Attributes
    ----------
    readings, inside : int
    low, high : int
        How many lie inside an honest band, nine times in ten.
    """

    readings: int
    inside: int
    low: int
    high: int


@dataclass(frozen=True)
class PastRecord:
    """The record of this store's own past plans and forecasts.

    Attributes
    ----------
    risk : float
        Of the plans; the nearest to the accepted one at which past plans were made.
    of_machine, of_all : PlanRecord
    bands_of_families, bands_of_all : BandRecord
        Of the families of the machine's limiting clearances, and of all.
    """

    risk: float
    of_machine: PlanRecord
    of_all: PlanRecord
    bands_of_families: BandRecord
    bands_of_all: BandRecord


@dataclass(frozen=True)
class Duty:
    """How many hours the machine is taken to run.

    Attributes
    ----------
    source : str
        "plan", "log" or "unknown".
    hours_per_day : float
        Mean from now to the later date; NaN where unknown.
    spread : float
        Relative standard deviation of the hours to come.
    plan_ends : Timestamp or NaT
        Last day of the duty plan; NaT where it is open or there is none.
    """

    source: str
    hours_per_day: float
    spread: float
    plan_ends: pd.Timestamp


@dataclass(frozen=True)
class Deferral:
    """Everything that the sheet says.

    Attributes
    ----------
    question : Question
    as_of : Timestamp
    machine_facts : dict
        The machine's row of `trendwear.tables.MACHINES`; empty where it has none.
    hours_now : float
        Running hours today.
    at : Moments
        Planned running hours from now to both dates.
    duty : Duty
    chances : DataFrame
        `trendwear.planning.deferral_chances.CHANCES`.
    without_past : dict of str to float
        The chance of all together but those past today; empty where none is past.
    clearances : DataFrame
        `trendwear.planning.deferral_chances.AT_DATES`.
    rests_on : DataFrame
        `trendwear.planning.deferral_evidence.RESTS_ON`, the forecast ones in the order of
        ``clearances``.
    past : DataFrame
        `PAST`: clearances past their limit today.
    silent : tuple of str
        Limiting clearances without a forecast.
    events : DataFrame
        `EVENTS_SINCE`.
    due : DataFrame
        `DUE`: due dates before the later date.
    orders : DataFrame
        `trendwear.planning_tables.ORDERS` for an opening at the later date.
    windows_then : DataFrame
        The machine's rows of `trendwear.planning_tables.WINDOWS` that hold the later date.
    over_time : OverTime
    record : PastRecord
    method_version : str
    """

    question: Question
    as_of: pd.Timestamp
    machine_facts: dict[str, Any]
    hours_now: float
    at: Moments
    duty: Duty
    chances: pd.DataFrame
    without_past: dict[str, float]
    clearances: pd.DataFrame
    rests_on: pd.DataFrame
    past: pd.DataFrame
    silent: tuple[str, ...]
    events: pd.DataFrame
    due: pd.DataFrame
    orders: pd.DataFrame
    windows_then: pd.DataFrame
    over_time: OverTime
    record: PastRecord
    method_version: str


def deferral(told: SiteForecast, asked: Question, record: PastRecord) -> Deferral:
    """Gather the evidence for and against a later date.

    Parameters
    ----------
    told : SiteForecast
    asked : Question
        Of that forecast.
    record : PastRecord
    """
    machine, as_of = asked.machine, pd.Timestamp(told.as_of).as_unit("us")
    clock = told.basis.clocks[machine]
    at = _moments(clock, asked)
    limiting = limiting_of(told)
    mine = of_machine(limiting, machine)
    standing = mine.only(~mine.rows["past"].to_numpy(dtype=bool))
    known = evidence(told.basis.cut).loc[mine.rows["position"]]
    sign = told.cut.positions["sign"].loc[mine.rows["position"]]
    clearances = clearances_at(
        mine, known["u_mm"].to_numpy(dtype=float), sign.to_numpy(dtype=float), at
    )
    rests, past = rests_on(told, machine), past_today(told, machine)
    facts = told.site.machines[told.site.machines["machine"] == machine]
    return Deferral(
        question=asked,
        as_of=as_of,
        machine_facts=facts.iloc[0].to_dict() if len(facts) else {},
        hours_now=clock.hours,
        at=at,
        duty=_duty(told, machine, at, asked.to),
        chances=chances_at(
            mine, asked.accepted, told.site.planning.risks, at, _read_past_only(past, mine)
        ),
        without_past=together_at(standing, at) if len(past) else {},
        clearances=clearances,
        rests_on=_in_order(rests, clearances),
        past=past,
        silent=tuple(limiting.silent.get(machine, [])),
        events=events_since(told, machine, rests),
        due=due_before(told, machine, asked.to),
        orders=_orders(told, asked),
        windows_then=_windows_then(asked),
        over_time=over_time(told, [asked.plan], machine, _both_dates(asked, as_of)),
        record=record,
        method_version=told.limit_forecast().method_version,
    )


def _read_past_only(past: pd.DataFrame, mine: Limiting) -> pd.Series:
    """Consequences of what was read past its limit and cannot be forecast."""
    lone = past[past["read"] & ~past["clearance"].isin(mine.rows["clearance"])]
    return lone["consequence"]


def families_of(told: SiteForecast, machine: str) -> set[str]:
    """Return the families of the limiting clearances of a machine."""
    rows = told.rows[(told.rows["machine"] == machine) & told.rows["limiting"].astype(bool)]
    return set(rows["family"].dropna())


def _moments(clock: Clock, asked: Question) -> Moments:
    dates = pd.Series([asked.planned, asked.to], dtype="datetime64[us]")
    planned, to = planned_hours([clock], dates)[0]
    return Moments(float(np.maximum(planned, 0.0)), float(to))


def _duty(told: SiteForecast, machine: str, at: Moments, to: pd.Timestamp) -> Duty:
    duty = told.basis.clocks[machine].duty
    rows = told.site.duty_plan[told.site.duty_plan["machine"] == machine]
    ends = rows.sort_values("from")["to"].iloc[-1] if len(rows) else pd.NaT
    days = (to - pd.Timestamp(told.as_of)).days
    return Duty(duty.source, at.to / days, duty.spread, ends)


def _in_order(rests: pd.DataFrame, clearances: pd.DataFrame) -> pd.DataFrame:
    """Those with a forecast first, in the order of the other table."""
    first = pd.Index(clearances["clearance"].unique())
    place = first.get_indexer(rests["clearance"])
    place = np.where(place < 0, len(first), place)
    return rests.iloc[np.argsort(place, kind="stable")].reset_index(drop=True)


def _windows_then(asked: Question) -> pd.DataFrame:
    windows = asked.plan.windows
    holds = (windows["start"] <= asked.to) & (asked.to <= windows["end"])
    return windows[(windows["machine"] == asked.machine) & holds].reset_index(drop=True)


def _both_dates(asked: Question, as_of: pd.Timestamp) -> pd.DataFrame:
    rows = [{"date": asked.to, "words": f"asked {asked.to:%Y-%m-%d}"}]
    if pd.notna(asked.planned) and asked.planned > as_of:
        rows.insert(0, {"date": asked.planned, "words": f"planned {asked.planned:%Y-%m-%d}"})
    return pd.DataFrame(rows)


def _orders(told: SiteForecast, asked: Question) -> pd.DataFrame:
    """What an opening of this machine alone on the later date would need."""
    machine = asked.machine
    opening = pd.DataFrame({"outage": [f"{asked.to:%Y-%m-%d}"], "start": [asked.to]})
    register = told.site.machines
    days = register.loc[register["machine"] == machine, "open_days"].max()
    length = pd.Timedelta(days=max(float(np.nan_to_num(days)), 1.0))
    opening["end"] = (opening["start"] + length).astype("datetime64[us]")
    later = told.site.planning.outages
    later = later[later["start"] > opening["end"].iloc[0]]
    outages = tables.conform(pd.concat([opening, later], ignore_index=True), OUTAGES)
    planning = replace(told.site.planning, outages=outages)
    mine = told.basis.register[told.basis.register["machine"] == machine]
    alone = replace(
        told,
        site=replace(told.site, planning=planning),
        basis=replace(told.basis, register=mine),
    )
    return plan_site(alone, asked.accepted).orders
