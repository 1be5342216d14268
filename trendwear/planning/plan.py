"""A site's plan: for each machine its latest overhaul, its window, what to renew and order."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import pandas as pd

from trendwear.errors import UnknownName
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import (
    SHOWN_WITHOUT_CHOICE,
    Accepted,
    accepted_by_sheet,
    accepted_for_all,
)
from trendwear.planning.answers import Answers, answers_of
from trendwear.planning.concessions import with_last_days
from trendwear.planning.cost_plan import PlanCosts, costs_of_plan
from trendwear.planning.due import due_dates_open
from trendwear.planning.needs import orders_at
from trendwear.planning.opening_choice import choose_windows
from trendwear.planning.overhaul import Limiting, limiting_of
from trendwear.planning.overhaul_rows import Surroundings, overhaul_rows
from trendwear.planning.renewals import Renewals, renewals_at
from trendwear.planning.spares import OrderRules
from trendwear.planning.windows import (
    ahead_of,
    hindrance,
    planned_hours,
    running_now,
    windows_of,
)
from trendwear.planning.worth_a_look import Offered, looks_of
from trendwear.planning_tables import LOOKS
from trendwear.tables import empty
from trendwear.wording import fold

__all__ = ["SitePlan", "accepted_risks", "joined", "only_machines", "plan_dates", "plan_site"]


@dataclass(frozen=True)
class SitePlan:
    """The plan of a site as of a day at one set of accepted risks.

    Attributes
    ----------
    as_of : date
    accepted : Accepted
    overhaul : DataFrame
        `trendwear.planning_tables.OVERHAUL`, one row a machine.
    windows : DataFrame
        `WINDOWS`: every coming window for every machine.
    renewals : Renewals
    orders : DataFrame
        `ORDERS`.
    costs : PlanCosts
        What intervals and openings cost; empty where no costs are given.
    looks : DataFrame
        `LOOKS`: what one more reading of a clearance may change.
    """

    as_of: dt.date
    accepted: Accepted
    overhaul: pd.DataFrame
    windows: pd.DataFrame
    renewals: Renewals
    orders: pd.DataFrame
    costs: PlanCosts = field(default_factory=PlanCosts)
    looks: pd.DataFrame = field(default_factory=lambda: empty(LOOKS))


def plan_site(told: SiteForecast, accepted: Accepted, rules: OrderRules | None = None) -> SitePlan:
    """Plan a site's overhauls at accepted risks.

    Parameters
    ----------
    told : SiteForecast
        ``told.site.planning`` holds outages, due dates and parts.
    accepted : Accepted
        As `accepted_for_all` or `accepted_by_sheet` give it.
    rules : OrderRules, optional
        How orders are judged.
    """
    plan, worked = _dates(told, accepted, rules)
    tables = (plan.windows, plan.renewals.table)
    costs = costs_of_plan(told, worked.limiting, worked.answers, accepted, tables)
    looks = looks_of(told, worked.limiting, accepted, worked.collected, worked.offered)
    return replace(plan, costs=costs, looks=looks)


def plan_dates(told: SiteForecast, accepted: Accepted, rules: OrderRules | None = None) -> SitePlan:
    """Plan as `plan_site` does, without costs and without what one more reading may change.

    For plans that are worked out while somebody waits.
    """
    return _dates(told, accepted, rules)[0]


@dataclass(frozen=True)
class _Worked:
    """What costs and looks are reckoned from, beside the plan."""

    limiting: Limiting
    answers: Answers
    collected: pd.DataFrame
    offered: Offered


def _dates(
    told: SiteForecast, accepted: Accepted, rules: OrderRules | None
) -> tuple[SitePlan, _Worked]:
    limiting = limiting_of(told)
    clocks = [told.basis.clocks[str(machine)] for machine in limiting.machines]
    answers = answers_of(limiting, accepted, clocks, told.as_of)
    as_of = pd.Timestamp(told.as_of).as_unit("us")
    coming = ahead_of(told.site.planning.outages, as_of)
    windows = windows_of(answers.standing, accepted, coming, clocks)
    hindrances = _hindrances(told, answers.table, limiting, coming)
    told_why = [word or None for some in hindrances for word in some]
    windows["hindrance"] = pd.Series(told_why, index=windows.index, dtype="object")
    dated = with_last_days(told.site.planning.due_dates, limiting.concessions)
    due = due_dates_open(dated, as_of).reindex(limiting.machines)
    not_after = pd.concat([answers.table["latest_date"], due["due"]], axis=1).min(axis=1)
    chosen = choose_windows(coming, hindrances, list(not_after))
    planned = planned_hours(clocks, coming["start"])
    usual = [told.basis.horizon_hours[str(machine)] for machine in limiting.machines]
    openings = chosen.openings(coming, planned, usual)
    renewals = renewals_at(told.basis, limiting, accepted, openings)
    orders = orders_at(told, limiting, renewals, coming, rules or OrderRules())
    collected = answers.table.assign(
        due_date=due["due"],
        due_what=due["what"],
        **{name: due[name] for name in ("tolerance_days", "authority", "overdue")},
        not_after=not_after,
        as_of=as_of,
        running=_running(told, answers.table, limiting, as_of),
    )
    around = Surroundings(limiting, accepted, windows, chosen, renewals, orders)
    table = overhaul_rows(collected, around)
    plan = SitePlan(told.as_of, accepted, table, windows, renewals, orders)
    return plan, _Worked(limiting, answers, collected, Offered(coming, chosen, planned))


def _running(
    told: SiteForecast, answers: pd.DataFrame, limiting: Limiting, as_of: pd.Timestamp
) -> list[list[str]]:
    """The windows that run today in which each machine can be opened, with their last days."""
    begun = running_now(told.site.planning.outages, as_of)
    names = [f"{row.outage} runs today, until {row.end:%Y-%m-%d}" for row in begun.itertuples()]
    rest = begun.assign(start=as_of)
    return [
        [name for name, why in zip(names, some, strict=True) if not why]
        for some in _hindrances(told, answers, limiting, rest)
    ]


def _hindrances(
    told: SiteForecast, answers: pd.DataFrame, limiting: Limiting, coming: pd.DataFrame
) -> list[list[str]]:
    """Why each machine cannot be opened in each window; empty where it can."""
    register = told.site.machines.drop_duplicates("machine").set_index("machine")
    windows = coming.to_dict("records")
    rows = limiting.rows
    found = []
    for machine, answer in answers.iterrows():
        mine = rows[(rows["machine"] == machine)]
        governs = mine["clearance"].isin([*answer["governs"].index, *answer["past"]])
        access = set(mine.loc[governs, "access"].dropna())
        facts = register.loc[machine].to_dict() if machine in register.index else {}
        found.append([hindrance(facts, window, access) for window in windows])
    return found


def accepted_risks(told: SiteForecast, risk: float | None) -> list[Accepted]:
    """Return the accepted risks to plan with: the one given, else the sheet's.

    Where neither says any, the risks at which a plan is shown for the reader to choose.

    Raises
    ------
    UsageProblem
        ``risk`` is not a chance from 0 to 1.
    """
    if risk is not None:
        return [accepted_for_all(risk)]
    by_sheet = accepted_by_sheet(told.site.planning.risks)
    if by_sheet.given:
        return [by_sheet]
    return [accepted_for_all(shown) for shown in SHOWN_WITHOUT_CHOICE]


def only_machines(plan: SitePlan, machines: Sequence[str]) -> SitePlan:
    """Return what a plan says of some machines, however they are spelt; all where none is named.

    Raises
    ------
    UnknownName
        The register has no such machine.
    """
    if not machines:
        return plan
    known = {fold(name): name for name in plan.overhaul["machine"]}
    for name in machines:
        if fold(name) not in known:
            offered = "It has: " + ", ".join(known.values())
            raise UnknownName(f"machine {name}", "the register does not have it", offered)
    wanted = {known[fold(name)] for name in machines}

    def mine(table: pd.DataFrame) -> pd.DataFrame:
        return table[table["machine"].isin(wanted)].reset_index(drop=True)

    return replace(
        plan,
        overhaul=mine(plan.overhaul),
        windows=mine(plan.windows),
        renewals=replace(plan.renewals, table=mine(plan.renewals.table)),
        orders=mine(plan.orders),
        costs=plan.costs.of(wanted),
        looks=mine(plan.looks),
    )


def joined(plans: Sequence[SitePlan]) -> pd.DataFrame:
    """Return the overhaul tables of several accepted risks as one, by machine."""
    tables = [plan.overhaul for plan in plans]
    if len(tables) == 1:
        return tables[0]
    whole = pd.concat(tables, ignore_index=True)
    order = {name: place for place, name in enumerate(tables[0]["machine"])}
    place = whole["machine"].map(order)
    return (
        whole.assign(place=place)
        .sort_values(["place", "risk"], kind="stable")
        .drop(columns="place")
    )
