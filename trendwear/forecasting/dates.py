"""From running hours to dates, with the spread of the duty itself."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.forecasting.crossing import Crossing

__all__ = ["planned_hours_at"]

Floats = NDArray[np.float64]

_NODES: Final = 7
_HALVINGS: Final = 24


def planned_hours_at(crossing: Crossing, spread: Floats, q: float) -> Floats:
    """Planned hours (n,) from now by which the chance past the limit reaches ``q``.

    The duty's spread is one factor common to all future time: a machine planned to
    run ``H`` hours runs ``f H``, with ``f`` of mean 1 and relative standard deviation
    ``spread``; the chance is averaged over it (7 Gauss-Hermite nodes).

    Parameters
    ----------
    crossing : Crossing
    spread : ndarray, shape (n,)
    q : float

    Returns
    -------
    ndarray, shape (n,)
        0 where the chance is reached already; NaN where it is not within reach.
    """
    sigma = np.sqrt(np.log1p(spread**2))
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights = weights / weights.sum()
    factors = np.exp(sigma[:, None] * nodes - sigma[:, None] ** 2 / 2)

    def chance(planned: Floats) -> Floats:
        parts = [
            weight * crossing.chance_at(crossing.run + planned * factors[:, node])
            for node, weight in enumerate(weights)
        ]
        return np.asarray(np.sum(parts, axis=0), dtype=float)

    reached = crossing.hours_at(q) - crossing.run
    # With every factor short of it the chance is below q; with every factor beyond, above.
    ahead = np.maximum(reached, 0.0)
    low, high = ahead / factors.max(axis=1), ahead / factors.min(axis=1)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        past = chance(middle) >= q
        low, high = np.where(past, low, middle), np.where(past, middle, high)
    return np.where(reached <= 0, 0.0, high)
