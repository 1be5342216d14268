"""Outage windows and accepted risks that are supposed to be otherwise."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pandas as pd

from trendwear import tables
from trendwear.errors import TrendwearError, UnknownName, UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.case_changes import CancelledWindow, NewWindow, OtherMove, OtherRisk
from trendwear.planning_tables import OUTAGES
from trendwear.wording import fold, fold_column

__all__ = ["risk_misfits", "window_misfits", "with_risk", "with_window"]

OfWindow = OtherMove | CancelledWindow | NewWindow


def window_misfits(told: SiteForecast, change: OfWindow) -> Iterator[TrendwearError]:
    """Yield why another window cannot be supposed of a site."""
    outages = told.site.planning.outages
    here = outages[_named(outages, change.window)]
    if isinstance(change, NewWindow):
        if len(here):
            yield UsageProblem(
                f"new window {change.window}",
                "there is a window of that name already",
                "Give another name, or move the one there is.",
            )
    elif here.empty:
        coming = outages.loc[outages["start"] > pd.Timestamp(told.as_of), "outage"]
        offered = "Those to come: " + ", ".join(coming) if len(coming) else "There is none to come."
        yield UnknownName(f"window {change.window}", "there is no such window", offered)
        return
    elif not here["start"].iloc[0] > pd.Timestamp(told.as_of):
        yield UsageProblem(
            f"window {change.window}",
            f"it has begun or is over by {told.as_of:%Y-%m-%d}",
            "Take one that is still to come.",
        )
        return
    if not isinstance(change, CancelledWindow) and change.start <= told.as_of:
        yield UsageProblem(
            f"window {change.window}",
            f"it would start on {change.start:%Y-%m-%d}, not after {told.as_of:%Y-%m-%d}",
            "Give a start after the day that the plan counts from.",
        )


def with_window(outages: pd.DataFrame, change: OfWindow) -> pd.DataFrame:
    """Return outages (`OUTAGES`) in which a change holds."""
    here = _named(outages, change.window)
    if isinstance(change, CancelledWindow):
        return outages[~here].reset_index(drop=True)
    if isinstance(change, NewWindow):
        row = {
            "outage": change.window.strip(),
            "start": _at(change.start),
            "end": _at(change.end),
            "site": change.site,
            "scope": change.scope,
        }
        fresh = tables.conform(pd.DataFrame([row]), OUTAGES)
        return pd.concat([outages, fresh], ignore_index=True) if len(outages) else fresh
    moved = outages.copy()
    by = _at(change.start) - moved.loc[here, "start"]
    moved.loc[here, "freeze"] += by
    moved.loc[here, "end"] = moved.loc[here, "end"] + by if change.end is None else _at(change.end)
    moved.loc[here, "start"] = _at(change.start)
    return moved


def risk_misfits(
    told: SiteForecast, accepted: Accepted, change: OtherRisk
) -> Iterator[TrendwearError]:
    """Yield why another accepted risk cannot be supposed beside the accepted ones."""
    if change.consequence is None:
        return
    known = {*told.site.register["consequence"].dropna(), *told.site.planning.risks["consequence"]}
    if fold(change.consequence) not in {fold(name) for name in known}:
        yield UnknownName(
            f"accepted risk of {change.consequence}",
            "no clearance has such a consequence",
            "There are: " + ", ".join(sorted(known)) if known else "None has any.",
        )
    elif accepted.for_all is not None:
        yield UsageProblem(
            str(change),
            "the plan beside it has one accepted risk for all limits together",
            "Change that one, or plan by the accepted risks of the risks sheet.",
        )


def with_risk(accepted: Accepted, change: OtherRisk) -> Accepted:
    """Return accepted risks of which one is another."""
    if change.consequence is None:
        return accepted_for_all(change.accepted)
    risks = {**accepted.by_consequence, fold(change.consequence): float(change.accepted)}
    return Accepted(by_consequence=risks)


def _named(outages: pd.DataFrame, window: str) -> pd.Series:
    return fold_column(outages["outage"]) == fold(window)


def _at(day: dt.date) -> pd.Timestamp:
    return pd.Timestamp(day).as_unit("us")
