"""One more reading of a clearance today: what it would show, and what would then be believed.

Given one component of a `WearMixture` the true clearance now ``x`` and the rate ``b`` are
jointly normal, and a reading ``y = x + e`` of variance ``r = (gauge_scale u)^2`` makes of them

    S    = var x + r                     y ~ N(mean x, S) before it is taken
    mean = mean + (var x, cov) (y - mean x) / S
    cov  = cov - (var x, cov)(var x, cov)^T / S

while the weight of the component is multiplied by the density of ``y`` under it.  That is
exact over the grid of variances.  What the reading says of the other members of the family,
through the family's mean rate and its variances, is left out.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.mixtures import quantile
from trendwear.wear.state import WearMixture

__all__ = ["after_reading", "as_of_now", "readings_expected"]

Floats = NDArray[np.float64]

_LEAST_SD_MM: Final = 1e-9
"""Of a reading: what is known exactly, read without any error, still is no division by 0."""


def as_of_now(crossing: Crossing) -> Crossing:
    """Return forecasts that count from now instead of from the last reading: ``run`` is 0."""
    wear, ahead, run = crossing.wear, crossing.ahead, crossing.run
    gained = ahead.increment(run)[:, None]
    mean, sd = crossing.true_clearance(run)
    moved = replace(
        wear,
        level=mean,
        var_level=sd**2,
        cov_level_rate=wear.cov_level_rate + wear.var_rate * gained,
    )
    older = Ahead(ahead.age + ahead.per_hour * run, ahead.per_hour, ahead.power, ahead.scale)
    return Crossing(moved, crossing.limit, crossing.side, np.zeros(len(run)), older)


def readings_expected(wear: WearMixture, uncertainty: Floats, shares: Floats) -> Floats:
    """Return quantiles (n, q), worn-positive mm, of the reading one would take now.

    Parameters
    ----------
    wear : WearMixture
        As of now (`as_of_now`).
    uncertainty : ndarray, shape (n,)
        Standard uncertainty of the reading, mm.
    shares : ndarray, shape (q,)
    """
    sd = np.sqrt(_variance(wear, uncertainty))
    each = [quantile(wear.weight, wear.level, sd, float(share)) for share in shares]
    return np.stack(each, axis=1)


def after_reading(wear: WearMixture, uncertainty: Floats, reading: Floats) -> WearMixture:
    """Return what is believed once ``reading`` (n,), worn-positive mm, has been taken now."""
    variance = _variance(wear, uncertainty)
    surprise = reading[:, None] - wear.level
    with np.errstate(divide="ignore", invalid="ignore"):
        log_weight = np.log(wear.weight) - 0.5 * (np.log(variance) + surprise**2 / variance)
        of_level = wear.var_level / variance
        of_rate = wear.cov_level_rate / variance
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    return replace(
        wear,
        weight=weight / weight.sum(axis=1, keepdims=True),
        level=wear.level + of_level * surprise,
        rate=wear.rate + of_rate * surprise,
        var_level=wear.var_level * (1.0 - of_level),
        cov_level_rate=wear.cov_level_rate * (1.0 - of_level),
        var_rate=np.maximum(wear.var_rate - of_rate * wear.cov_level_rate, 0.0),
    )


def _variance(wear: WearMixture, uncertainty: Floats) -> Floats:
    """Variance (n, K) of a reading taken now."""
    variance = wear.var_level + (wear.gauge_scale * uncertainty[:, None]) ** 2
    return np.maximum(variance, _LEAST_SD_MM**2)
