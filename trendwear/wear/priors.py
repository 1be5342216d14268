"""Weak priors of the variances, from the size of a family's own wear."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from trendwear.wear.histories import Floats, Layout
from trendwear.wear.likelihood import Priors, evidence, pool

__all__ = ["DEFAULT_NOISE", "Noise", "noise_share", "priors_of", "typical_rate"]

_GAUGE_SD: Final = (0.35, 0.7)  # of log phi: uncertainties stated, mostly assumed
_WEAR_SD: Final = 0.7
_TAU_SD: Final = 0.5
_TAU_SHARE: Final = 0.35  # tau over rate


@dataclass(frozen=True)
class Noise:
    """Prior centre of the wear noise."""

    share: float
    """Sigma_w over rate x sqrt(median exposure since a segment's start)."""
    learned_from: int
    """How many families it was learned from; 0: it is the default."""


DEFAULT_NOISE: Final = Noise(0.2, 0)


def priors_of(layout: Layout, noise: Noise) -> Priors:
    """Log-normal priors of every family: phi near 1, sigma_w and tau near shares of its rate."""
    rate = typical_rate(layout, noise)
    wear = noise.share * rate * np.sqrt(layout.median_run)
    centre = np.log(np.stack([np.ones_like(rate), wear, _TAU_SHARE * rate], axis=1))
    mostly_assumed = layout.histories.assumed_share > 0.5
    sd = np.empty_like(centre)
    sd[:, 0] = np.where(mostly_assumed, _GAUGE_SD[1], _GAUGE_SD[0])
    sd[:, 1:] = _WEAR_SD, _TAU_SD
    return Priors(centre, sd, np.zeros(layout.families))


def noise_share(layout: Layout, sigma_w: Floats) -> Floats:
    """Fitted wear noise (F,) as `Noise.share` counts it."""
    share: Floats = sigma_w / (typical_rate(layout, DEFAULT_NOISE) * np.sqrt(layout.median_run))
    return share


def typical_rate(layout: Layout, noise: Noise) -> Floats:
    """Size of each family's weighted mean rate, not less than its standard error.

    First with steady and equal wear, then twice more with the variances that the
    rate before leads to.
    """
    run = layout.median_run
    steady = np.full(layout.families, -np.inf)
    rate = _rate_size(layout, steady, steady)
    for _ in range(2):
        log_wear = np.log(noise.share * rate * np.sqrt(run))
        rate = _rate_size(layout, log_wear, np.log(_TAU_SHARE * rate))
    return rate


def _rate_size(layout: Layout, log_wear: Floats, log_tau: Floats) -> Floats:
    """Size of the mean rate at phi = 1, floored at its standard error; 1 where unknown."""
    pooled = pool(layout, evidence(layout, log_wear[None]), log_tau)
    weight = pooled.weight[0]
    error = np.where(weight > 0, 1.0 / np.sqrt(np.where(weight > 0, weight, 1.0)), 1.0)
    size: Floats = np.maximum(np.abs(pooled.mean[0]), error)
    return size
