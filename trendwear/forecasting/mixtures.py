"""Chances and quantiles of small mixtures of normals, for many clearances at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

__all__ = ["chance_above", "quantile"]

Floats = NDArray[np.float64]


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
    gap = mean - level[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(sd > 0, gap / sd, np.copysign(np.inf, gap))
    z = np.where(np.isnan(gap), np.nan, z)
    return np.asarray((weight * ndtr(z)).sum(axis=1), dtype=float)


def quantile(weight: Floats, mean: Floats, sd: Floats, q: float) -> Floats:
    """Return the ``q`` quantile of each row of mixtures, by bisection to 1e-12 of its span.

    Parameters as in `chance_above`; rows of NaN give NaN.
    """
    z = ndtri(q)
    low = (mean + z * sd).min(axis=1)
    high = (mean + z * sd).max(axis=1)
    # The quantile of a mixture lies between the least and the greatest of its components'.
    for _ in range(48):
        middle = (low + high) / 2
        above = 1.0 - chance_above(weight, mean, sd, middle) < q
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return np.asarray((low + high) / 2, dtype=float)
