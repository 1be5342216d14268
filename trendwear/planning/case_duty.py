"""Other running hours ahead: a duty plan rewritten day by day, then told in rows again."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear import tables
from trendwear.errors import TrendwearError, UnknownName, UsageProblem
from trendwear.forecasting.clock import DAYS_A_MONTH
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.case_changes import HOURS_A_DAY, OtherDuty
from trendwear.planning.windows import ahead_of, planned_hours
from trendwear.segments.hour_line import dates_of
from trendwear.segments.running_hours import Duty, duty_of
from trendwear.tables import DUTY_PLAN
from trendwear.wording import fold

__all__ = ["duty_misfits", "duty_remarks", "with_duty"]

Floats = NDArray[np.float64]

_FARTHEST_YEARS = 50
_LEAST_HOURS = 1.0


def duty_misfits(told: SiteForecast, change: OtherDuty) -> Iterator[TrendwearError]:
    """Yield why other running hours cannot be supposed of a site."""
    clocks = told.basis.clocks
    if change.machine is not None and _known(told, change.machine) is None:
        offered = "It has: " + ", ".join(clocks)
        yield UnknownName(
            f"duty: machine {change.machine}",
            "the register has no clearance of such a machine",
            offered,
        )
        return
    if change.end is not None and change.end < told.as_of:
        yield UsageProblem(
            str(change),
            f"that time is over on {told.as_of:%Y-%m-%d}; hours already run stay as they are",
            "Give days that are still to come.",
        )
        return
    last = change.end or change.start or told.as_of
    if last.year > told.as_of.year + _FARTHEST_YEARS:
        yield UsageProblem(
            str(change), f"{last:%Y-%m-%d} is too far off", "Leave the end out: from then on."
        )
        return
    able = [name for name in _meant(told, change) if _can(told, name, change)]
    if not able:
        yield UsageProblem(
            str(change),
            "the hours planned before are not known",
            "Give hours a day from today on, without an end.",
        )
    for name in able:
        most = float(_hours(told, name, change).max())
        if most > HOURS_A_DAY:
            yield UsageProblem(
                str(change), f"{name} would run {most:.3g} h a day", "Give a smaller factor."
            )
            return


def duty_remarks(told: SiteForecast, then: SiteForecast, change: OtherDuty) -> Iterator[str]:
    """Say whom a change cannot reach, and which windows it now runs into.

    Parameters
    ----------
    told, then : SiteForecast
        As things are, and as the case has them.
    change : OtherDuty
    """
    meant = _meant(told, change)
    left = [name for name in meant if not _can(told, name, change)]
    if left:
        yield "running hours not known, so left as they are: " + ", ".join(left)
    coming = ahead_of(then.site.planning.outages, pd.Timestamp(told.as_of).as_unit("us"))
    after = coming["end"] + pd.Timedelta(days=1)
    run = []
    for forecast in (told, then):
        clocks = [forecast.basis.clocks[name] for name in meant if name not in left]
        run.append(planned_hours(clocks, after) - planned_hours(clocks, coming["start"]))
    # A machine that runs through a window today was never to be opened in it.
    into = ~(run[0] >= _LEAST_HOURS) & (run[1] >= _LEAST_HOURS)
    running = coming.loc[into.any(axis=0), "outage"]
    if len(running):
        yield (
            f"{change}: that is within {', '.join(running)}; if the window is to wait for it, "
            "move the window too"
        )


def with_duty(told: SiteForecast, plan: pd.DataFrame, change: OtherDuty) -> pd.DataFrame:
    """Return a duty plan (`tables.DUTY_PLAN`) in which a change holds.

    Only days from ``told.as_of`` on are changed, and only those from the change's start to
    its end: what repeats after the plan's last row repeats as it did before.  Starts per
    running hour stay as planned; so does the spread.

    Parameters
    ----------
    told : SiteForecast
        Gives the day, and the record that stands in where a machine has no plan.
    plan : DataFrame
    change : OtherDuty
        One that `duty_misfits` finds nothing against.
    """
    meant = [name for name in _meant(told, change) if _can(told, name, change)]
    others = plan[~plan["machine"].isin(meant)]
    told_anew = [_rows(told, name, plan[plan["machine"] == name], change) for name in meant]
    parts = [part for part in (others, *told_anew) if len(part)]
    return tables.conform(pd.concat(parts, ignore_index=True), DUTY_PLAN)


def _meant(told: SiteForecast, change: OtherDuty) -> list[str]:
    if change.machine is None:
        return list(told.basis.clocks)
    name = _known(told, change.machine)
    return [] if name is None else [name]


def _known(told: SiteForecast, machine: str) -> str | None:
    spelt = {fold(name): name for name in told.basis.clocks}
    return spelt.get(fold(machine))


def _can(told: SiteForecast, name: str, change: OtherDuty) -> bool:
    """Whether the hours before and after the change, and those it multiplies, are known."""
    if told.basis.clocks[name].duty.known:
        return True
    from_now = change.start is None or change.start <= told.as_of
    return change.hours_per_day is not None and change.end is None and from_now


def _hours(told: SiteForecast, name: str, change: OtherDuty) -> Floats:
    """Hours of each day from today on, until the change has shown all that it does."""
    _, hours, _ = _laid_out(told, told.basis.clocks[name].duty, change)
    return hours


def _rows(told: SiteForecast, name: str, plan: pd.DataFrame, change: OtherDuty) -> pd.DataFrame:
    duty = duty_of(plan, told.cut.chronicle.line(name))
    first, hours, is_open = _laid_out(told, duty, change)
    begins = np.flatnonzero(np.diff(hours, prepend=np.nan) != 0)
    ends = np.append(begins[1:], len(hours)) - 1
    rows = pd.DataFrame(
        {
            "machine": name,
            "from": dates_of(pd.Series(first + begins)),
            "to": dates_of(pd.Series(first + ends)),
            "hours_per_day": hours[begins],
        }
    )
    if is_open:
        rows.loc[rows.index[-1], "to"] = pd.NaT
    starts = told.basis.clocks[name].starts_per_hour
    if plan["starts_per_month"].notna().any() and np.isfinite(starts):
        rows["starts_per_month"] = starts * rows["hours_per_day"] * DAYS_A_MONTH
    stated = plan.sort_values("from")["spread"].dropna()
    if len(stated):
        rows["spread"] = stated.iloc[-1]
    return tables.conform(rows, DUTY_PLAN)


def _laid_out(told: SiteForecast, duty: Duty, change: OtherDuty) -> tuple[float, Floats, bool]:
    """First day, hours of every day from it on, and whether the last goes on for good."""
    today = _number(told.as_of)
    planned = duty.source == "plan"
    first = min(duty.first_day, today) if planned else today
    start = max(today, _number(change.start) if change.start else today)
    past = np.inf if change.end is None else _number(change.end) + 1.0
    told_until = duty.first_day + len(duty.per_day) if planned else today
    shown = start if change.end is None else past
    # One whole round beyond the change, so that what repeats is told in full.
    last = max(told_until, shown) + duty.cycle
    day = np.arange(first, last)
    hours = _on(duty, day)
    held = (day >= start) & (day < past)
    hours[held] = (
        change.hours_per_day
        if change.hours_per_day is not None
        else hours[held] * (change.factor or 1.0)
    )
    return first, hours, duty.cycle == 1


def _on(duty: Duty, day: Floats) -> Floats:
    """Planned running hours of each day (days since 1970)."""
    length = len(duty.per_day)
    place = np.floor(day - duty.first_day).astype(np.int64)
    around = length - duty.cycle + np.mod(place - length, duty.cycle)
    within = duty.per_day[np.clip(np.where(place < length, place, around), 0, length - 1)]
    return np.where(place < 0, duty.before, within)


def _number(day: dt.date) -> float:
    return float((np.datetime64(day, "D") - np.datetime64("1970-01-01")).astype(int))
