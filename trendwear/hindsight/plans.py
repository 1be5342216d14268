"""What would have been planned at each past closing: the latest overhaul at an accepted risk.

With ``P_i(h)`` the chance that clearance i is past its limit ``h`` running hours after the
closing, ``P_any(h) = 1 - prod(1 - P_i(h))`` over the limiting clearances of the machine;
the latest overhaul is the last ``h`` at which it does not exceed the risk.  It is counted
in running hours, so that a machine that ran more or less than planned is not held
against the forecast.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.hindsight.past import Then
from trendwear.wear.state import rows_of

__all__ = ["RISKS", "MachinePlan", "machine_plan"]

Floats = NDArray[np.float64]

RISKS: Final = (0.05, 0.10, 0.20)
_HALVINGS: Final = 40
_NAMED: Final = 3
_LEAST_NAMED: Final = 0.05


@dataclass(frozen=True)
class MachinePlan:
    """One machine at one closing.

    Attributes
    ----------
    members : DataFrame
        Register rows of the plan: ``position``, ``clearance``, ``limit_mm`` and ``side``
        (worn-positive: past is ``side worn > side limit``), ``last_reading`` (its number).
    crossing : Crossing
        Of the members; hours count from each one's last reading.
    run : ndarray
        Hours run since each member's last reading at the closing.
    silent : list of str
        Limiting clearances without a forecast.
    apart : list of str
        Limiting clearances past their limit when the machine was closed.
    """

    members: pd.DataFrame
    crossing: Crossing
    run: Floats
    silent: list[str]
    apart: list[str]

    def chances(self, hours: Floats) -> Floats:
        """Chance (n,) of each member past its limit ``hours`` (n,) after the closing."""
        return self.crossing.chance_at(self.run + hours)

    def chance_of_any(self, hours: float) -> float:
        """Chance that any member is past its limit ``hours`` after the closing."""
        return any_of(self.chances(np.full(len(self.run), hours)))

    def latest_hours(self, risk: float) -> float:
        """Last hours after the closing at which the chance of any does not exceed ``risk``.

        NaN where it does so at the closing already; `FARTHEST_HOURS` where it never does.
        """
        if self.chance_of_any(0.0) > risk:
            return float("nan")
        if self.chance_of_any(FARTHEST_HOURS) <= risk:
            return FARTHEST_HOURS
        low, high = 0.0, FARTHEST_HOURS
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self.chance_of_any(middle) > risk else (middle, high)
        return low

    def governed_by(self, hours: float) -> str:
        """Name the clearances that make most of the chance after ``hours``, with their shares."""
        chances = self.chances(np.full(len(self.run), hours))
        if not chances.sum() > 0:
            return ""
        shares = pd.Series(chances / chances.sum(), index=self.members["clearance"])
        first = shares.groupby(level=0).sum().sort_values(ascending=False, kind="stable")
        named = first[first >= _LEAST_NAMED].head(_NAMED)
        return "; ".join(f"{name} {100 * share:.0f} %" for name, share in named.items())


def any_of(chances: Floats) -> float:
    """Return the chance that any of several independent things happens."""
    return float(1.0 - np.prod(1.0 - chances))


def machine_plan(then: Then, machine: str, hours: float) -> MachinePlan | None:
    """Return the plan of a machine closed at ``hours``; None where nothing limits it."""
    basis = then.basis
    register = basis.register
    rows = register[
        (register["machine"] == machine) & register["limiting"] & register["limit_mm"].notna()
    ]
    if rows.empty:
        return None
    key = pd.MultiIndex.from_frame(basis.cut.positions[["machine", "clearance"]])
    at = key.get_indexer(pd.MultiIndex.from_frame(rows[["machine", "clearance"]]))
    sign = basis.cut.positions["sign"].to_numpy(dtype=float)[at]
    last = then.last.iloc[at]
    rows = rows.assign(
        position=at,
        side=np.where(rows["moves"] == "opens", 1.0, -1.0) * sign,
        limit_mm=rows["limit_mm"].to_numpy() * sign,
        last_reading=last["reading"].to_numpy(),
    )
    side, limit = rows["side"].to_numpy(), rows["limit_mm"].to_numpy()
    measured = last["worn_mm"].to_numpy()
    bound = last["at_least"].eq(other=True).to_numpy() & (side > 0)
    past = (measured * side > limit * side) | (bound & (measured >= limit))
    told = basis.wear.has_level[at] & np.isfinite(basis.wear.rate[at, 0])
    run = np.maximum(hours - basis.last_hours.to_numpy(dtype=float)[at], 0.0)
    told &= np.isfinite(run)
    use = np.flatnonzero(told & ~past)
    crossing = Crossing(
        wear=rows_of(basis.wear, at[use]),
        limit=limit[use],
        side=side[use],
        run=run[use],
        ahead=basis.ahead.at(at[use]),
    )
    return MachinePlan(
        members=rows.iloc[use][["position", "clearance", "limit_mm", "side", "last_reading"]],
        crossing=crossing,
        run=run[use],
        silent=list(rows["clearance"].to_numpy()[~told & ~past]),
        apart=list(rows["clearance"].to_numpy()[past]),
    )
