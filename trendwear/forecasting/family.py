"""One family's members side by side, so that the one that wears faster is seen."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.fit.family_fit import FamilyFit
from trendwear.forecasting.mixtures import quantile
from trendwear.segments.histories import Histories
from trendwear.wording import fold, fold_column

__all__ = ["FamilyView", "family_names", "family_view"]


@dataclass(frozen=True)
class FamilyView:
    """A family and its members.

    Attributes
    ----------
    family : str
    unit : str
        The unit most of its members are kept in.
    as_of : date
    members : DataFrame
        `tables.FAMILY_MEMBERS`, the fastest first.
    rate, rate_low, rate_high : float
        The family's mean rate and its 5-95 % band, mm per 1000 h of exposure; NaN where
        none of its members tells one.
    spread : float
        How far the members' true rates differ: one standard deviation, same unit.
    power : tuple of float
        The bend p of its wear with the ends of its 95 % interval; 1 where it is straight;
        the ends NaN where it was not estimated.
    hours_per_start : tuple of float
        Hours of wear that one start is worth, with its interval, likewise.
    """

    family: str
    unit: str
    as_of: dt.date
    members: pd.DataFrame
    rate: float
    rate_low: float
    rate_high: float
    spread: float
    power: tuple[float, float, float]
    hours_per_start: tuple[float, float, float]


def family_names(cut: Histories) -> list[str]:
    """Names of all families, as first spelt."""
    return list(cut.positions["family"].loc[~fold_column(cut.positions["family"]).duplicated()])


def family_view(families: FamilyFit, cut: Histories, family: str, as_of: dt.date) -> FamilyView:
    """Return the family of that name.

    Raises
    ------
    KeyError
        There is no family of that name.
    """
    mine = np.flatnonzero(cut.positions["family"].map(fold) == fold(family))
    if not len(mine):
        raise KeyError(family)
    code = int(families.family[mine[0]])
    places = cut.positions.loc[mine]
    wear = families.wear
    sd = np.sqrt(wear.var_rate[mine])
    fitted = cut.points[cut.points["fitted"]].groupby("position").size()
    members = pd.DataFrame(
        {
            "machine": places["machine"],
            "clearance": places["clearance"],
            "unit": places["unit"],
            "readings": fitted.reindex(mine, fill_value=0),
            "rate_mm_per_1000h": 1000 * (wear.weight[mine] * wear.rate[mine]).sum(axis=1),
            "rate_low": 1000 * quantile(wear.weight[mine], wear.rate[mine], sd, 0.05),
            "rate_high": 1000 * quantile(wear.weight[mine], wear.rate[mine], sd, 0.95),
            "own_share": wear.own_share[mine],
        }
    )
    members = members.sort_values("rate_mm_per_1000h", ascending=False, kind="stable")
    mean, error = 1000 * wear.family_rate[mine[0]], 1000 * wear.family_rate_sd[mine[0]]
    shape, choice = families.shape, families.choice
    return FamilyView(
        family=str(places["family"].iloc[0]),
        unit=str(places["unit"].mode().iloc[0]),
        as_of=as_of,
        members=tables.conform(members.reset_index(drop=True), tables.FAMILY_MEMBERS),
        rate=float(mean),
        rate_low=float(mean - 1.645 * error),
        rate_high=float(mean + 1.645 * error),
        spread=float(1000 * wear.tau[mine[0]]),
        power=(shape.power[code], choice.power.low[code], choice.power.high[code]),
        hours_per_start=(
            shape.hours_per_start[code],
            choice.hours_per_start.low[code],
            choice.hours_per_start.high[code],
        ),
    )
