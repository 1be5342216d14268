"""From running hours to dates, with the spread of the duty itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.mixtures import in_sds
from trendwear.forecasting.root import rising_root

__all__ = ["duty_factors", "duty_weights", "planned_hours_at"]

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

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
    planned = np.maximum(crossing.hours_at(q) - crossing.run, 0.0)
    unsure = (planned > 0) & (spread > 0)

    def averaged(part: Crossing, rows: Rows) -> Floats:
        search = _by_newton if part.rises.all() else _by_halving
        return search(_Duty(part, duty_factors(spread[rows])), planned[rows], q)

    for alike in (unsure & crossing.rises, unsure & ~crossing.rises):
        planned = np.where(alike, crossing.in_blocks(alike, averaged), planned)
    return planned


def duty_weights() -> Floats:
    """Weights (nodes,) of `duty_factors`; they sum to 1."""
    _, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    return np.asarray(weights / weights.sum(), dtype=float)


def duty_factors(spread: Floats) -> Floats:
    """Factors (n, nodes) of the duty, log-normal with mean 1."""
    nodes, _ = np.polynomial.hermite_e.hermegauss(_NODES)
    sigma = np.sqrt(np.log1p(spread**2))[:, None]
    factors: Floats = np.exp(sigma * nodes - sigma**2 / 2)
    return factors


@dataclass(frozen=True)
class _Duty:
    """Clearances of machines that run each factor times the hours planned."""

    crossing: Crossing
    factors: Floats

    def bracket(self, hours: Floats) -> tuple[Floats, Floats]:
        """Where no factor brings ``hours`` (n,) yet, and where every one does."""
        return hours / self.factors.max(axis=1), hours / self.factors.min(axis=1)

    def chance(self, planned: Floats) -> Floats:
        """Chance (n,) past the limit, averaged over the factors."""
        run = self.crossing.run
        parts = [
            weight * self.crossing.chance_by_steps(run + planned * factor)
            for weight, factor in zip(duty_weights(), self.factors.T, strict=True)
        ]
        return np.asarray(np.sum(parts, axis=0), dtype=float)

    def chance_and_slope(self, planned: Floats) -> tuple[Floats, Floats]:
        """The same with its slope, where the chance only rises."""
        ahead, run = self.crossing.ahead, self.crossing.run
        chance, slope = np.zeros((2, len(planned)))
        for weight, factor in zip(duty_weights(), self.factors.T, strict=True):
            hours = run + planned * factor
            at, grows = self.crossing.approach.chance_and_slope(ahead.increment(hours))
            chance += weight * at
            slope += weight * grows * ahead.growth(hours) * factor
        return chance, slope

    def at(self, rows: Rows) -> _Duty:
        """The same for some of the clearances."""
        return _Duty(self.crossing.rows(rows), self.factors[rows])


def _by_newton(duty: _Duty, hours: Floats, q: float) -> Floats:
    c = float(ndtri(q))

    def of(planned: Floats, rows: Rows) -> tuple[Floats, Floats]:
        mine = duty if len(rows) == len(hours) else duty.at(rows)
        return in_sds(*mine.chance_and_slope(planned), c)

    return rising_root(of, duty.bracket(hours), hours, np.zeros(len(hours)))


def _by_halving(duty: _Duty, hours: Floats, q: float) -> Floats:
    low, high = duty.bracket(hours)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        past = duty.chance(middle) >= q
        low, high = np.where(past, low, middle), np.where(past, middle, high)
    return high
