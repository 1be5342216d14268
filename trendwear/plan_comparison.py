"""An issued plan held against what the store says now: what moved each date, and by what."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pandas as pd

from trendwear import __version__, outlook, tables
from trendwear.errors import UsageProblem
from trendwear.forecasting.site import forecast_site
from trendwear.issued_plans import issued_plan
from trendwear.planning.issued import PLACED, Frozen, IssuedPlan, placed_table, scope_of
from trendwear.planning.moved import Moved, compared, moves_of, scope_changes
from trendwear.planning.plan import SitePlan, only_machines, plan_site
from trendwear.planning.site_plan import place_site
from trendwear.planning.spelling import respelt, spelt_otherwise
from trendwear.planning.steps import State, Step, accepted_since, steps_between
from trendwear.progress import Progress, silent
from trendwear.report.issued.tables import compared_file
from trendwear.wear.version import MODEL_VERSION
from trendwear.wording import fold, fold_column

__all__ = ["compare", "moved_since"]


def compare(
    store: Path | str, name: str, *, as_of: dt.date, number: int | None = None
) -> pd.DataFrame:
    """Return an issued plan beside the plan of another day, one row a machine.

    Parameters and errors as `moved_since`, which holds every step too.

    Returns
    -------
    DataFrame
        Columns of `trendwear.report.issued.tables.COMPARED_FILE`: ``…_issued`` and ``…_now``
        of the latest date, window, order-by date and what to renew, ``days`` (later is
        positive) and ``moved_by`` in words.
    """
    return compared_file(moved_since(store, name, as_of=as_of, number=number))


def moved_since(
    store: Path | str,
    name: str,
    *,
    as_of: dt.date,
    number: int | None = None,
    progress: Progress = silent,
) -> Moved:
    """Hold an issued plan against what the store says now, and say what moved each date.

    What the plan was worked out from is taken over from now one group at a time, in a fixed
    order (`trendwear.planning.steps.Group`), and the plan worked out again after each: a
    step's share is what it adds to those before it, and all steps add up to the whole move.

    Parameters
    ----------
    store : path
        The store file.
    name : str
        Of an issued plan, however it is spelt.
    as_of : date
        The day of the plan that it is held against.
    number : int, optional
        Which issue; the latest if left.
    progress : callable, optional

    Returns
    -------
    Moved
        ``table`` (`trendwear.planning.moved.COMPARED`), ``moves``, ``scope``, ``steps``.

    Raises
    ------
    UnknownName
        No such plan was issued.
    UsageProblem
        ``as_of`` lies before the day of the plan.
    StoreProblem
        The store cannot be read.
    """
    told = issued_plan(store, name, number)
    if as_of < told.issue.as_of:
        raise UsageProblem(
            f"as of {as_of:%Y-%m-%d}",
            f"plan {told.issue.name} was issued as of {told.issue.as_of:%Y-%m-%d}",
            "Give that day or a later one",
        )
    site, kept = outlook.site_and_fits(store)
    alike = respelt(told.frozen, site.machines, site.register)
    begin = State(alike.site, told.issue.as_of, alike.plan.accepted)
    end = State(site, as_of, accepted_since(alike.plan.accepted, site.planning.risks))
    steps = list(steps_between(begin, end))
    plans = []
    for place, step in enumerate(steps):
        progress("working out one step after another", place, len(steps))
        forecast = forecast_site(step.state.site, step.state.as_of, kept=kept)
        kept = kept.and_also(forecast.found)
        plans.append(plan_site(forecast, step.state.accepted, alike.rules))
    whole = replace(told, frozen=alike)
    return replace(_moved(whole, end, steps, plans), respelt=spelt_otherwise(told.frozen, alike))


def _moved(issued: IssuedPlan, end: State, steps: list[Step], plans: list[SitePlan]) -> Moved:
    """Hold the issued plan against the last of the plans, those of its machines alone."""
    frozen, site = issued.frozen, end.site
    placed = tables.empty(PLACED)
    if len(frozen.placed) and len(plans[-1].windows):
        placed = placed_table(place_site(plans[-1], site.machines, site.planning.outages))
    mine = [_only(plan, frozen) for plan in plans]
    scope = scope_of(mine[-1], site.machines, site.planning.outages)
    return Moved(
        issued=issued,
        as_of=end.as_of,
        now=mine[-1],
        steps=steps,
        moves=moves_of(frozen.plan, steps, mine),
        table=compared(frozen.plan, mine[-1], (frozen.placed, placed)),
        scope=scope_changes(frozen.scope, scope, end.as_of),
        method_now=MODEL_VERSION,
        program_now=__version__,
    )


def _only(plan: SitePlan, frozen: Frozen) -> SitePlan:
    """The machines that the plan was issued for; all, those new since too, where none was named."""
    known = set(fold_column(plan.overhaul["machine"]))
    named = [name for name in frozen.machines if fold(name) in known]
    return only_machines(plan, named) if frozen.machines else plan
