"""Chances and quantiles of small mixtures of normals, for many clearances at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from trendwear.forecasting.root import rising_root

__all__ = ["chance_above", "in_sds", "quantile", "standardised"]

Floats = NDArray[np.float64]

_BLOCK = 2048
"""Rows taken at once: what they need stays in the processor's cache."""


def standardised(gap: Floats, sd: Floats) -> Floats:
    """Return ``gap / sd``; infinite, with the sign of ``gap``, where ``sd`` is 0."""
    with np.errstate(divide="ignore", invalid="ignore"):
        z = gap / sd
    fixed = sd == 0
    if fixed.any():
        z = np.where(fixed & ~np.isnan(gap), np.copysign(np.inf, gap), z)
    return np.asarray(z, dtype=float)


def in_sds(chance: Floats, slope: Floats, c: float) -> tuple[Floats, Floats]:
    """Return a chance as its normal quantile less ``c``, and its slope: nearly a straight line."""
    at = ndtri(chance)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return at - c, slope * np.sqrt(2 * np.pi) * np.exp(0.5 * at * at)


def chance_above(weight: Floats, mean: Floats, sd: Floats, level: Floats) -> Floats:
    """Return P(X > level) for each row of mixtures.

    Parameters
    ----------
    weight, mean, sd : ndarray, shape (n, K)
        Components; a component with ``sd`` 0 is a fixed value.
    level : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
        NaN where the mean is.
    """
    z = standardised(mean - level[:, None], sd)
    return np.asarray((weight * ndtr(z)).sum(axis=1), dtype=float)


def quantile(weight: Floats, mean: Floats, sd: Floats, q: float) -> Floats:
    """Return the ``q`` quantile of each row of mixtures.

    Parameters as in `chance_above`; rows of NaN give NaN.
    """
    found = np.empty(len(mean))
    for first in range(0, len(mean), _BLOCK):
        rows = slice(first, first + _BLOCK)
        found[rows] = _quantile(weight[rows], mean[rows], sd[rows], q)
    return found


def _quantile(weight: Floats, mean: Floats, sd: Floats, q: float) -> Floats:
    c = float(ndtri(q))
    each = mean + c * sd

    def of(place: Floats, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
        mine = slice(None) if len(rows) == len(mean) else rows
        z = standardised(place[:, None] - mean[mine], sd[mine])
        with np.errstate(divide="ignore", invalid="ignore"):
            density = np.exp(-0.5 * z * z) / sd[mine]
        chance = (weight[mine] * ndtr(z)).sum(axis=1)
        slope = (weight[mine] * density).sum(axis=1) / np.sqrt(2 * np.pi)
        return in_sds(chance, slope, c)

    # The quantile of a mixture lies between the least and the greatest of its components'.
    bracket = each.min(axis=1), each.max(axis=1)
    return rising_root(of, bracket, (weight * each).sum(axis=1), sd.max(axis=1))
