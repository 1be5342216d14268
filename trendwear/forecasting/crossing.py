"""When a clearance passes its limit: chances over running hours, and their quantiles.

At ``h`` hours after the last reading, with exposure increment ``d``, the true clearance
has, given one component of the mixture,

    mean      m = level + rate d
    variance  v = var_level + 2 cov d + var_rate d^2 + var_wear d

and the chance past the limit is ``P(h) = sum_k w_k Phi(side (m_k - L)/sqrt(v_k))``,
made non-decreasing in ``h``: wear does not heal.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.mixtures import chance_above, quantile
from trendwear.wear.state import WearMixture

__all__ = ["FARTHEST_HOURS", "Crossing"]

Floats = NDArray[np.float64]

FARTHEST_HOURS: Final = 200_000.0
"""Beyond this many hours from now nothing is said."""

_STEPS: Final = 96
_HALVINGS: Final = 40


@dataclass(frozen=True)
class Crossing:
    """Forecasts of ``n`` clearances against a limit each.

    Attributes
    ----------
    wear : WearMixture
        What is known at each last reading.
    limit : ndarray, shape (n,)
        Limits in mm, worn-positive; NaN where there is none.
    side : ndarray, shape (n,)
        1 where past is above the limit, -1 where it is below.
    run : ndarray, shape (n,)
        Hours run since the last reading.
    ahead : Ahead
        Exposure that coming hours bring.
    """

    wear: WearMixture
    limit: Floats
    side: Floats
    run: Floats
    ahead: Ahead

    def true_clearance(self, hours: Floats) -> tuple[Floats, Floats]:
        """Mean and standard deviation (n, K), mm, of the true clearance at ``hours`` (n,).

        Hours count from the last reading.  NaN where there is no level; where there is
        no rate, only hours 0 has an answer.
        """
        hours = np.asarray(hours, dtype=float)
        ahead = self.ahead.increment(hours)[:, None]
        wear = self.wear
        with np.errstate(invalid="ignore"):
            mean = wear.level + wear.rate * ahead
            variance = (
                wear.var_level
                + 2 * wear.cov_level_rate * ahead
                + wear.var_rate * ahead**2
                + wear.var_wear * ahead
            )
        at_reading = (hours[:, None] == 0) & np.isfinite(wear.level)
        mean = np.where(at_reading, wear.level, mean)
        variance = np.where(at_reading, wear.var_level, variance)
        return mean, np.sqrt(np.maximum(variance, 0.0))

    def chance_at(self, hours: Floats) -> Floats:
        """Chance (n,) that the true clearance is past the limit by ``hours`` (n,) of running.

        Non-decreasing: the greatest chance of any earlier hour counts.  NaN where it
        cannot be told.
        """
        steps, greatest = self._steps, self._greatest
        passed = (steps <= hours[:, None]).sum(axis=1) - 1
        before = greatest[np.arange(len(steps)), np.maximum(passed, 0)]
        return np.asarray(np.maximum(before, self._raw(hours)), dtype=float)

    def hours_at(self, q: float) -> Floats:
        """Hours (n,) from the last reading at which the chance reaches ``q``.

        NaN where it does not within `FARTHEST_HOURS` of now, or cannot be told.
        """
        steps, reached = self._steps, self._greatest >= q
        first = reached.argmax(axis=1)
        rows = np.arange(len(steps))
        high = steps[rows, first]
        low = steps[rows, np.maximum(first - 1, 0)]
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            past = self._raw(middle) >= q
            low, high = np.where(past, low, middle), np.where(past, middle, high)
        return np.where(reached.any(axis=1), high, np.nan)

    def found_at(self, hours: Floats, uncertainty: Floats, q: float) -> Floats:
        """``q`` quantile (n,) of the reading one would take after ``hours`` (n,)."""
        mean, sd = self.true_clearance(hours)
        return quantile(
            self.wear.weight, mean, np.hypot(sd, self.wear.gauge_scale * uncertainty[:, None]), q
        )

    def wear_per_hour(self, over: Floats, q: float) -> Floats:
        """``q`` quantile (n,) of the mean wear per hour over the next ``over`` hours."""
        gained = self.ahead.increment(over)
        with np.errstate(divide="ignore", invalid="ignore"):
            variance = self.wear.var_rate + self.wear.var_wear / gained[:, None]
        return quantile(self.wear.weight, self.wear.rate, np.sqrt(variance), q) * gained / over

    def mean_wear_per_hour(self, over: Floats) -> Floats:
        """Mean (n,) of the same."""
        rate = (self.wear.weight * self.wear.rate).sum(axis=1)
        return np.asarray(rate * self.ahead.increment(over) / over, dtype=float)

    def chance_that_it_wears(self) -> Floats:
        """Chance (n,) that the rate is towards the limit."""
        zero = np.zeros(len(self.limit))
        flipped = self.wear.rate * self.side[:, None]
        return chance_above(self.wear.weight, flipped, np.sqrt(self.wear.var_rate), zero)

    def _raw(self, hours: Floats) -> Floats:
        """The marginal chance, not yet made non-decreasing."""
        mean, sd = self.true_clearance(hours)
        side = self.side[:, None]
        chance = chance_above(self.wear.weight, side * mean, sd, self.side * self.limit)
        return np.where(np.isfinite(self.limit), chance, np.nan)

    @cached_property
    def _steps(self) -> Floats:
        """Hours (n, steps) from the last reading to the farthest, close together at first."""
        share = np.concatenate([[0.0], np.geomspace(1e-5, 1.0, _STEPS)])
        farthest = FARTHEST_HOURS + np.nan_to_num(self.run)
        return np.asarray(farthest[:, None] * share, dtype=float)

    @cached_property
    def _greatest(self) -> Floats:
        """The greatest chance (n, steps) up to each step; NaN from where it cannot be told."""
        chances = [self._raw(self._steps[:, column]) for column in range(self._steps.shape[1])]
        return np.maximum.accumulate(np.stack(chances, axis=1), axis=1)
