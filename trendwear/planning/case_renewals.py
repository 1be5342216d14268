"""Clearances renewed on a day to come: their machines planned anew from that day on."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import pandas as pd

from trendwear.fit.kept import KeptFits
from trendwear.forecasting.site import SiteForecast, forecast_site
from trendwear.planning.accepted import Accepted
from trendwear.planning.case_changes import OtherRenewal
from trendwear.planning.case_register import renewal_day, with_renewals
from trendwear.planning.cases import Case
from trendwear.planning.overhaul import Answer
from trendwear.planning.plan import SitePlan, only_machines, plan_dates
from trendwear.planning.spares import OrderRules
from trendwear.wording import fold

__all__ = ["Renewed", "after_renewals", "with_renewed"]

_ALREADY: Final = (Answer.PAST.value, Answer.ABOVE.value)


@dataclass(frozen=True)
class Renewed:
    """Machines after their supposed renewals.

    Attributes
    ----------
    machines : tuple of str
    clearances : tuple of (machine, clearance)
    day : date
        Of the last renewal of these machines; all counts from it.
    told : SiteForecast
        As of ``day``.
    plan : SitePlan
        As of ``day``, of these machines.
    """

    machines: tuple[str, ...]
    clearances: tuple[tuple[str, str], ...]
    day: dt.date
    told: SiteForecast
    plan: SitePlan


def after_renewals(
    told: SiteForecast, case: Case, by: tuple[Accepted, OrderRules | None], kept: KeptFits
) -> list[Renewed]:
    """Forecast and plan the machines of a case's renewals, as of the day of the last of each.

    Until that day a machine runs by its planned hours.  A renewed part starts from what its
    family's as-left readings after renewals say; where there are none it has no forecast
    until it is read, and the plan says so.

    Parameters
    ----------
    told : SiteForecast
        As the case has it, renewals left out.
    case : Case
    by : pair
        Accepted risks of the case, and how orders are judged.
    kept : KeptFits
    """
    outages = told.site.planning.outages
    changes = [change for change in case.changes if isinstance(change, OtherRenewal)]
    spelt = {fold(name): name for name in told.basis.register["machine"].unique()}
    dated = [(spelt[fold(one.machine)], renewal_day(outages, one), one) for one in changes]
    last: dict[str, dt.date] = {}
    for machine, day, _ in dated:
        last[machine] = max(day, last.get(machine, day))
    found = []
    for end in sorted(set(last.values())):
        machines = tuple(name for name, day in last.items() if day == end)
        record = told.site.record
        mine = [(day, one) for name, day, one in dated if name in machines]
        for day in sorted({day for day, _ in mine}):
            record = with_renewals(told, record, [one for when, one in mine if when == day], day)
        site = replace(told.site, record=record)
        then = forecast_site(site, end, kept=kept)
        plan = only_machines(plan_dates(then, *by), machines)
        names = tuple((spelt[fold(one.machine)], one.clearance) for _, one in mine)
        found.append(Renewed(machines, names, end, then, plan))
    return found


def with_renewed(plan: SitePlan, after: Renewed) -> tuple[SitePlan, list[str]]:
    """Return a plan in which machines are planned after their renewals, and what to say of it.

    Windows up to the renewal keep the chances they have without it.  A machine that is past
    what is accepted even after its renewal keeps the answer that it has without.
    """
    start = pd.Timestamp(after.day)
    before = plan.windows[plan.windows["start"] <= start]
    remarks: list[str] = []
    kept_answer = []
    for machine in after.machines:
        (old,) = plan.overhaul[plan.overhaul["machine"] == machine].to_dict("records")
        (new,) = after.plan.overhaul[after.plan.overhaul["machine"] == machine].to_dict("records")
        remarks += _until_then(machine, old, after, before)
        if new["outcome"] in _ALREADY:
            kept_answer.append(machine)
            remarks.append(_not_enough(machine, new, after))
    answers = after.plan.overhaul[~after.plan.overhaul["machine"].isin(kept_answer)]
    stays = plan.overhaul[plan.overhaul["machine"].isin(kept_answer)]
    without = before[before["machine"].isin(after.machines)]
    merged = replace(
        plan,
        overhaul=_put(plan.overhaul, after, [stays, answers]),
        windows=_put(plan.windows, after, [without, after.plan.windows]),
        renewals=replace(
            plan.renewals, table=_put(plan.renewals.table, after, [after.plan.renewals.table])
        ),
        orders=_put(plan.orders, after, [after.plan.orders]),
    )
    return merged, remarks


def _not_enough(machine: str, new: dict[str, object], after: Renewed) -> str:
    governs = f" ({new['governed_by']})" if new["governed_by"] else ""
    return (
        f"{machine}: the renewal is not enough, other clearances are past what is accepted on "
        f"{after.day:%Y-%m-%d}{governs}; its date is the one without the renewal"
    )


def _until_then(
    machine: str, old: dict[str, object], after: Renewed, before: pd.DataFrame
) -> Iterable[str]:
    """What must be known of the time up to the renewal."""
    when = f"{after.day:%Y-%m-%d}"
    yield (
        f"{machine}: dates and chances after {when} count from the renewal; parts for it are not "
        "in the order-by date"
    )
    latest = old["latest_date"]
    if isinstance(latest, pd.Timestamp) and latest < pd.Timestamp(after.day):
        mine = before[before["machine"] == machine]
        here = mine.loc[mine["start"] == pd.Timestamp(after.day), "chance_before"]
        chance = f": {100 * here.iloc[0]:.0f} % by then" if here.notna().any() else ""
        yield (
            f"{machine}: the accepted risk does not hold until the renewal on {when} "
            f"(latest overhaul without it {latest:%Y-%m-%d}{chance})"
        )


def _put(table: pd.DataFrame, after: Renewed, fresh: list[pd.DataFrame]) -> pd.DataFrame:
    """Put rows of the renewed machines in place of those that stood there, in their order."""
    order = {name: place for place, name in enumerate(table["machine"].drop_duplicates())}
    others = table[~table["machine"].isin(after.machines)]
    parts = [part for part in (others, *fresh) if len(part)]
    if not parts:
        return others
    whole = pd.concat(parts, ignore_index=True)
    place = whole["machine"].map(order).fillna(len(order))
    return whole.loc[place.sort_values(kind="stable").index].reset_index(drop=True)
