"""What would have been planned at each past closing: the latest overhaul at an accepted risk.

With ``P_i(h)`` the chance that clearance i is past its limit ``h`` running hours after the
closing, ``P_any(h) = 1 - prod(1 - P_i(h))`` over the limiting clearances of the machine;
the latest overhaul is the last ``h`` at which it does not exceed the risk.  It is counted
in running hours, so that a machine that ran more or less than planned is not held
against the forecast.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.crossing import Crossing
from trendwear.hindsight.past import Then
from trendwear.planning.limiting import against_limits, crossing_of, may_limit
from trendwear.planning.shares import named_shares
from trendwear.planning.together import Together, none_of

__all__ = ["RISKS", "MachinePlan", "any_of", "machine_plan"]

Floats = NDArray[np.float64]

RISKS: Final = (0.05, 0.10, 0.20)


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
    silent : list of str
        Limiting clearances without a forecast.
    apart : list of str
        Limiting clearances past their limit when the machine was closed.
    """

    members: pd.DataFrame
    crossing: Crossing
    silent: list[str]
    apart: list[str]

    @property
    def run(self) -> Floats:
        """Hours run since each member's last reading at the closing."""
        return self.crossing.run

    def chances(self, hours: Floats) -> Floats:
        """Chance (n,) of each member past its limit ``hours`` (n,) after the closing."""
        return self.crossing.chance_at(self.run + hours)

    def latest_hours(self, risk: float) -> float:
        """Last hours after the closing at which the chance of any does not exceed ``risk``.

        NaN where it does so at the closing already; `FARTHEST_HOURS` where it never does.
        """
        return float(self._together.latest(np.array([risk]))[0])

    def governed_by(self, hours: float) -> str:
        """Name the clearances that make most of the chance after ``hours``, with their shares."""
        return named_shares(self.members["clearance"], self._together.each(np.array([hours])))

    @cached_property
    def _together(self) -> Together:
        group = np.zeros(len(self.members), dtype=np.int64)
        return Together.in_hours(self.crossing, group, 1).by_part(self.members["position"])


def any_of(chances: Floats, part: NDArray[np.int64]) -> float:
    """Return the chance of any of several things; those of one part exclude each other."""
    group = np.zeros(len(chances), dtype=np.int64)
    return float(1.0 - none_of(chances[:, None], group, 1, part)[0, 0])


def machine_plan(then: Then, machine: str, hours: float) -> MachinePlan | None:
    """Return the plan of a machine closed at ``hours``; None where nothing limits it."""
    register = then.basis.register
    rows = register[(register["machine"] == machine) & may_limit(register)]
    if rows.empty:
        return None
    rows = against_limits(then.basis, rows, then.evidence, np.full(len(rows), hours))
    last = then.last["reading"].reindex(rows["position"]).to_numpy()
    rows = rows.assign(limit_mm=rows["worn_limit_mm"], last_reading=last)
    past, told = rows["measured_past"], rows["told"]
    members = rows[told & ~past]
    return MachinePlan(
        members=members[["position", "clearance", "limit_mm", "side", "last_reading"]],
        crossing=crossing_of(then.basis, members),
        silent=list(rows.loc[~told & ~past, "clearance"]),
        apart=list(rows.loc[past, "clearance"]),
    )
