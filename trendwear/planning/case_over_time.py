"""How one machine's chances rise today and in a case, for a chart that shows both."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd

from trendwear.forecasting.site import SiteForecast
from trendwear.planning.case_compare import Comparison
from trendwear.planning.over_time import OverTime, over_time

__all__ = ["BothOverTime", "both_over_time"]


@dataclass(frozen=True)
class BothOverTime:
    """One machine's chances over time, as planned and in a case.

    Attributes
    ----------
    today, case : OverTime
        Where the case renews parts of the machine, its curve falls on the day of the renewal.
    renewed_on : Timestamp or None
        That day.
    """

    today: OverTime
    case: OverTime
    renewed_on: pd.Timestamp | None = None


def both_over_time(told: SiteForecast, compared: Comparison, machine: str) -> BothOverTime:
    """Return how the chances of one machine rise today and in a case.

    Parameters
    ----------
    told : SiteForecast
        The forecast that the case stands beside.
    compared : Comparison
    machine : str

    Raises
    ------
    UnknownName
        The register has no such machine.
    """
    today = over_time(told, [compared.today], machine)
    case = over_time(compared.told, [compared.then], machine)
    for one in compared.renewed:
        if machine in one.machines:
            day = pd.Timestamp(one.day).as_unit("us")
            after = over_time(one.told, [one.plan], machine)
            return BothOverTime(today, _joined(case, after, day), day)
    return BothOverTime(today, case)


def _joined(before: OverTime, after: OverTime, day: pd.Timestamp) -> OverTime:
    """The one curve up to a day, the other from it on; hours go on counting."""
    first = before.curve[before.curve["date"] <= day]
    # The days between the last point shown and the renewal belong to the first curve too.
    run = first.groupby("heading", sort=False).tail(1).assign(date=day)
    so_far = first["hours"].max() if len(first) else 0.0
    rest = after.curve.assign(hours=after.curve["hours"] + so_far)
    curve = pd.concat([first, run, rest], ignore_index=True)
    until = before.until if after.until is None else after.until
    return replace(before, curve=curve, until=until)
