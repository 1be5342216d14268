"""What an overhaul interval costs per running hour: age replacement.

With ``R(T)`` the chance that no limit is passed within an interval ``T`` and ``F = 1 - R``,

    C(T) = (c_p R(T) + c_f F(T)) / integral_0^T R(t) dt

(Barlow & Proschan, *Mathematical Theory of Reliability*, 1965).  ``F`` is the chance of
passing a *limit*, not of breaking down: ``c_f`` must be the cost of that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from trendwear.errors import UsageProblem

__all__ = ["CostCurve", "Costs", "cost_of_intervals"]

Floats = NDArray[np.float64]

_PANELS: Final = 500
_POINTS: Final = 8
FLAT: Final = 0.05
"""Intervals whose cost is within this share of the least are called as good."""


@dataclass(frozen=True)
class Costs:
    """What an interval ends with.

    Attributes
    ----------
    planned : float
        Cost of an overhaul in time.
    past_limit : float
        Cost where a limit was passed first, the overhaul included.
    """

    planned: float
    past_limit: float


@dataclass(frozen=True)
class CostCurve:
    """Cost per running hour over the interval.

    Attributes
    ----------
    hours : ndarray
        Intervals, rising.
    cost : ndarray
        Expected cost per running hour of each.
    best_hours : float
        The cheapest interval; the longest looked at where longer is still cheaper.
    best_cost : float
    flat_from, flat_to : float
        Intervals between these cost at most 5 % more.
    at_the_end : bool
        The least lies at the longest interval: opening earlier never pays.
    """

    hours: Floats
    cost: Floats
    best_hours: float
    best_cost: float
    flat_from: float
    flat_to: float
    at_the_end: bool

    def cost_at(self, hours: float) -> float:
        """Cost per running hour of an interval; NaN beyond those looked at."""
        return float(np.interp(hours, self.hours, self.cost, left=np.nan, right=np.nan))


def cost_of_intervals(
    none_past: Callable[[Floats], Floats], costs: Costs, longest_hours: float
) -> CostCurve:
    """Return the cost of every interval, the cheapest one, and how flat the cost is around it.

    Parameters
    ----------
    none_past : callable
        Chance (n,) that no limit is passed within intervals (n,).
    costs : Costs
    longest_hours : float
        Intervals up to this are looked at.

    Raises
    ------
    UsageProblem
        A cost is not above 0, or passing a limit costs less than an overhaul in time.
    """
    if not (costs.planned > 0 and costs.past_limit >= costs.planned and longest_hours > 0):
        raise UsageProblem(
            "costs of an interval",
            f"overhaul {costs.planned:g}, past a limit {costs.past_limit:g}",
            "Give an overhaul cost above 0, and at least as much for passing a limit.",
        )
    edges = np.linspace(0.0, longest_hours, _PANELS + 1)
    summed = np.concatenate([[0.0], np.cumsum(_integral(none_past, edges[:-1], edges[1:]))])

    def cost_at(hours: Floats) -> Floats:
        panel = np.clip(np.searchsorted(edges, hours, side="right") - 1, 0, _PANELS - 1)
        running = summed[panel] + _integral(none_past, edges[panel], hours)
        kept = none_past(hours)
        return np.asarray((costs.planned * kept + costs.past_limit * (1.0 - kept)) / running)

    hours = edges[1:]
    cost = cost_at(hours)
    place = int(np.argmin(cost))
    around = (edges[max(place, 0)], edges[min(place + 2, _PANELS)])
    found = minimize_scalar(
        lambda at: float(cost_at(np.array([at]))[0]),
        bounds=(max(around[0], edges[1] * 1e-6), around[1]),
        method="bounded",
        options={"xatol": 1e-10 * longest_hours},
    )
    at_the_end = place == _PANELS - 1
    best = (longest_hours, float(cost[-1])) if at_the_end else (float(found.x), float(found.fun))
    flat = np.flatnonzero(cost <= best[1] * (1.0 + FLAT))
    return CostCurve(
        hours=hours,
        cost=cost,
        best_hours=best[0],
        best_cost=best[1],
        flat_from=float(hours[flat[0]]),
        flat_to=float(hours[flat[-1]]),
        at_the_end=at_the_end,
    )


def _integral(of: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Integral (n,) from ``low`` to ``high`` (n,) by Gauss-Legendre points."""
    nodes, weights = np.polynomial.legendre.leggauss(_POINTS)
    half = (high - low)[:, None] / 2
    places = low[:, None] + half * (1.0 + nodes)
    values = of(places.ravel()).reshape(places.shape)
    return np.asarray((values * weights).sum(axis=1) * half[:, 0], dtype=float)
