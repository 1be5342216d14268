"""Walk through the past openings of a site, and hold each against what was known before it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from trendwear import tables
from trendwear.forecasting.site import SiteRecord
from trendwear.hindsight.circumstances import Circumstances
from trendwear.hindsight.followed import PLANS, Follower, outcomes
from trendwear.hindsight.found import FOUND, as_found, beside_forecast
from trendwear.hindsight.past import Past, Then
from trendwear.hindsight.plans import machine_plan
from trendwear.hindsight.score import scores
from trendwear.hindsight.timeline import timeline
from trendwear.progress import Progress, silent
from trendwear.segments.histories import Histories, histories
from trendwear.segments.hour_line import dates_of
from trendwear.segments.positions import in_force, positions

__all__ = ["Hindcast", "hindcast"]


@dataclass(frozen=True)
class Hindcast:
    """The record of past forecasts.

    Attributes
    ----------
    as_of : date
    found : DataFrame
        `trendwear.hindsight.found.FOUND`: every as-found reading beside its forecast.
    scores : DataFrame
        `trendwear.hindsight.score.SCORES`.
    plans : DataFrame
        `trendwear.hindsight.followed.PLANS`: closings whose plan could be followed.
    openings : int
        Past openings walked through.
    unplanned : int
        Closings at which no limiting clearance had a forecast.
    unfollowed : int
        Closings after which nothing was read before the next work: still running, mostly.
    undated : tuple of str
        Machines without any date: walked through in order of their running hours.
    """

    as_of: dt.date
    found: pd.DataFrame
    scores: pd.DataFrame
    plans: pd.DataFrame
    openings: int
    unplanned: int
    unfollowed: int
    undated: tuple[str, ...]


def hindcast(site: SiteRecord, as_of: dt.date, progress: Progress = silent) -> Hindcast:
    """Forecast every past opening from what was known before it, and compare.

    Parameters
    ----------
    site : SiteRecord
    as_of : date
        Openings that ended on or before this day are walked through.
    progress : callable, optional

    Notes
    -----
    The running hours of an opening are taken from the opening itself: wear is judged,
    not the duty.  A reading is forecast from what was dated before the first day of its
    opening; a plan from what was dated on or before its last.
    """
    register = in_force(site.register, as_of)
    places = positions(register, site.machines)
    whole = histories(site.record, places, site.methods, as_of, site.duty_plan)
    walk = _Walk(site, as_of, whole)
    openings = walk.times.openings
    steps = sorted(_steps(openings), key=lambda step: step[:3])
    for number, (dated, before, stage, opening) in enumerate(steps):
        progress("going through past openings", number, len(steps))
        then = walk.past.at(before, dated=dated)
        if stage == _BEFORE:
            walk.judge(openings.loc[opening], then)
        elif then is not None:
            walk.plan(openings.loc[opening], then)
    progress("going through past openings", len(steps), len(steps))
    found = walk.found()
    dated_machines = walk.times.dated
    return Hindcast(
        as_of=as_of,
        found=found,
        scores=scores(found),
        plans=walk.plans(found),
        openings=len(openings),
        unplanned=walk.unplanned,
        unfollowed=walk.unfollowed,
        undated=tuple(name for name, by_date in dated_machines.items() if not by_date),
    )


_BEFORE: Final = 1
_AFTER: Final = 0


def _steps(openings: pd.DataFrame) -> Iterator[tuple[bool, float, int, int]]:
    """Moments at which the site is looked at: before each opening, and after it."""
    for row in openings.itertuples():
        yield bool(row.dated), float(row.before), _BEFORE, int(row.Index)
        yield bool(row.dated), float(row.after), _AFTER, int(row.Index)


class _Walk:
    """What was gathered on the way."""

    def __init__(self, site: SiteRecord, as_of: dt.date, whole: Histories) -> None:
        self.times = timeline(whole.chronicle)
        self.past = Past(site, as_of, self.times)
        self.whole = whole
        self.readings = as_found(whole)
        self.by_opening = self.readings.groupby(["machine", "opening_no"]).groups
        self.around = Circumstances(whole, site.events)
        self.follower = Follower(whole)
        self.judged: list[pd.DataFrame] = []
        self.planned: list[dict[str, Any]] = []
        self.unplanned = 0
        self.unfollowed = 0

    def judge(self, opening: pd.Series, then: Then | None) -> None:
        """Hold the as-found readings of an opening against their forecasts."""
        place = (opening["machine"], opening["opening_no"])
        if place not in self.by_opening:
            return
        found = beside_forecast(self.readings.loc[self.by_opening[place]], then, self.whole)
        if then is not None:
            last = then.last.loc[found["position"]].itertuples()
            rows = zip(found.itertuples(), last, strict=True)
            told = [
                self.around.of(row, before) if row.silent is None else "" for row, before in rows
            ]
            found["note"] = pd.Series(told, index=found.index, dtype="object").replace("", None)
        self.judged.append(found)

    def plan(self, opening: pd.Series, then: Then) -> None:
        """Make the plan of a machine just closed, and see what became of it."""
        closed = float(opening["hours"])
        plan = machine_plan(then, opening["machine"], closed)
        if plan is None:
            return
        if plan.members.empty:
            self.unplanned += 1
            return
        followed = self.follower.follow(plan, closed)
        if not followed.any:
            self.unfollowed += 1
            return
        place = {
            "machine": opening["machine"],
            "opening_no": opening["opening_no"],
            "day": opening["day"],
            "hours": closed,
        }
        self.planned += [place | told for told in outcomes(plan, followed)]

    def found(self) -> pd.DataFrame:
        """All readings that were judged, in order of time."""
        filled = [part for part in self.judged if len(part)]
        if not filled:
            return tables.empty(FOUND)
        return tables.conform(pd.concat(filled, ignore_index=True), FOUND)

    def plans(self, found: pd.DataFrame) -> pd.DataFrame:
        """All plans that could be followed, in order of time; notes are those of the reading."""
        if not self.planned:
            return tables.empty(PLANS)
        plans = pd.DataFrame(self.planned)
        plans = plans.reindex(columns=[*plans.columns, *set(PLANS) - set(plans.columns)])
        noted = found.dropna(subset="note")
        notes = dict(
            zip(
                zip(noted["machine"], noted["clearance"], noted["hours"].round(), strict=True),
                noted["note"],
                strict=True,
            )
        )
        past = (plans["hours"] + plans["found_past_hours"]).astype("float64").round()
        keys = zip(plans["machine"], plans["first_past"], past, strict=True)
        note = [notes.get(key) for key in keys]
        return tables.conform(plans.assign(date=dates_of(plans["day"]), note=note), PLANS)
