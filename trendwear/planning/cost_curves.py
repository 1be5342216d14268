"""Cost of the intervals of machines that are renewed: the standing interval.

Age replacement speaks of what is renewed: ``F`` is the chance that one of the clearances an
overhaul renews passes its limit within so many running hours from the renewal.  The other
clearances wear on and are not in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.forecasting.limit_forecast import Basis
from trendwear.planning.accepted import Accepted
from trendwear.planning.cost import CostCurve, Costs, cost_of_intervals
from trendwear.planning.overhaul import Limiting, latest_overhauls
from trendwear.planning.renewed import renewed_crossing
from trendwear.planning.together import Together

__all__ = ["Renewed", "curves_of", "renewed_machines"]

Floats = NDArray[np.float64]

_POINTS: Final = 120
_LOOKED_AT: Final = 0.99
"""Intervals are looked at up to this chance of a limit passed: beyond it nothing changes."""


@dataclass(frozen=True)
class Renewed:
    """Machines just renewed.

    Attributes
    ----------
    machines : list of str
    hours : ndarray, shape (machines, points)
        Running hours from the renewal, 0 to the longest looked at.
    none_past : ndarray, shape (machines, points)
        Chance that no limit of what was renewed is passed within them.
    risk_hours : Series
        By machine: hours until an accepted risk is reached; NaN where it is at once, or never.
    startless : dict of str to list of str
        Clearances renewed whose start is not known, left out.
    """

    machines: list[str]
    hours: Floats
    none_past: Floats
    risk_hours: pd.Series
    startless: dict[str, list[str]]


def renewed_machines(basis: Basis, renewing: Limiting, accepted: Accepted) -> Renewed:
    """Return the chances of machines just renewed.

    Parameters
    ----------
    basis : Basis
    renewing : Limiting
        Only the clearances that are renewed.
    accepted : Accepted
    """
    fresh, _ = renewed_crossing(basis, renewing.rows)
    known = np.flatnonzero(fresh.wear.has_level)
    without = renewing.rows[~fresh.wear.has_level].groupby("machine")["clearance"]
    rows = renewing.rows.iloc[known].reset_index(drop=True)
    anew = Limiting(renewing.machines, rows, fresh.rows(known), renewing.spread, {}, set())
    group, names = pd.factorize(rows["machine"])
    machines = [str(name) for name in names]
    together = Together.in_hours(anew.crossing, group.astype(np.int64), len(machines))
    together = together.by_part(rows["position"])
    longest = together.latest(np.full(len(machines), _LOOKED_AT)) if machines else np.empty(0)
    longest = np.maximum(np.nan_to_num(longest), 1.0)
    hours = longest[:, None] * np.linspace(0.0, 1.0, _POINTS)
    past = [together.any(column) for column in hours.T] if machines else []
    none_past = 1.0 - np.array(past, dtype=float).reshape(_POINTS, len(machines)).T
    reached = latest_overhauls(anew, accepted)["hours"] if machines else pd.Series(dtype=float)
    return Renewed(
        machines,
        hours,
        np.minimum.accumulate(none_past, axis=1),
        reached.where(reached < FARTHEST_HOURS),
        {str(name): list(some.unique()) for name, some in without},
    )


def curves_of(renewed: Renewed, costs: pd.DataFrame) -> dict[str, CostCurve]:
    """Return the cost of the intervals of every machine whose costs are known.

    Parameters
    ----------
    renewed : Renewed
    costs : DataFrame
        Indexed by machine: ``planned`` and ``past_limit``; NaN where not known.
    """
    curves = {}
    for machine, hours, none_past in zip(
        renewed.machines, renewed.hours, renewed.none_past, strict=True
    ):
        if machine not in costs.index or np.isnan(costs.at[machine, "past_limit"]):
            continue
        ends = Costs(*costs.loc[machine, ["planned", "past_limit"]].astype(float))
        curves[machine] = cost_of_intervals(
            PchipInterpolator(hours, none_past), ends, float(hours[-1])
        )
    return curves
