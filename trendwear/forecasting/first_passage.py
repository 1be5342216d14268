"""First passage of steady wear with scatter, and the interval of a crossing point.

Two classical results beside the forecast: a Wiener process with drift first reaches a
level after an inverse Gaussian time (Chhikara & Folks, *The Inverse Gaussian
Distribution*, 1989), and the exposure at which a fitted line crosses a level has the
interval of Fieller (J. R. Statist. Soc. B 16 (1954) 175-185), which need not be finite.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats
from scipy.special import log_ndtr

__all__ = [
    "CrossingInterval",
    "Reaches",
    "crossing_interval",
    "first_passage_chance",
    "first_passage_quantile",
]


def first_passage_chance(
    time: ArrayLike, distance: float, rate: float, var_wear: float
) -> NDArray[np.float64]:
    """Chance that wear has passed ``distance`` at least once by ``time``.

    ``F(t) = Phi((rate t - a)/(s sqrt t)) + exp(2 rate a/s^2) Phi(-(rate t + a)/(s sqrt t))``
    with ``a`` the distance and ``s^2`` = ``var_wear`` per unit of time; the second term
    is taken in logarithms, since ``exp(2 rate a/s^2)`` overflows for small scatter.

    Parameters
    ----------
    time : array_like
        Times above 0.
    distance, rate, var_wear : float
        Distance to the level (above 0), wear per unit of time, variance per unit of time.
    """
    t = np.asarray(time, dtype=float)
    root = np.sqrt(var_wear * t)
    ahead = stats.norm.cdf((rate * t - distance) / root)
    back = np.exp(2 * rate * distance / var_wear + log_ndtr(-(rate * t + distance) / root))
    return np.asarray(ahead + back, dtype=float)


def first_passage_quantile(q: float, distance: float, rate: float, var_wear: float) -> float:
    """Time by which the chance of first passage is ``q``; ``rate`` above 0."""
    mean, shape = distance / rate, distance**2 / var_wear
    return float(stats.invgauss.ppf(q, mean / shape, scale=shape))


class Reaches(Enum):
    """What the interval of a crossing point looks like."""

    BETWEEN = "between low and high"
    OUTSIDE = "below low or above high"
    ANYWHERE = "anywhere: the rate cannot be told from none"


@dataclass(frozen=True)
class CrossingInterval:
    """Where a line may cross a level.  ``low`` and ``high`` are NaN for `Reaches.ANYWHERE`."""

    reaches: Reaches
    low: float
    high: float
    g: float
    """``t^2 var(rate)/rate^2``: the interval is finite below 1."""


def crossing_interval(
    line: tuple[float, float],
    cov: ArrayLike,
    level: tuple[float, float],
    quantile: float,
) -> CrossingInterval:
    """Interval of the exposure at which ``intercept + rate x`` equals a level.

    Parameters
    ----------
    line : (intercept, rate)
    cov : array_like, shape (2, 2)
        Covariance of intercept and rate.
    level : (value, variance)
        The level and its own variance: 0 for a limit, ``s^2/m`` for the mean of m
        readings to be traced back through the line.
    quantile : float
        Two-sided quantile of Student's t or of the normal.

    Returns
    -------
    CrossingInterval
        Solves ``(a + b x - y)^2 = q^2 (var(a) + 2 x cov(a, b) + x^2 var(b) + var(y))``.
    """
    intercept, rate = line
    value, var_value = level
    matrix = np.asarray(cov, dtype=float)
    q2 = quantile**2
    square = rate**2 - q2 * matrix[1, 1]
    half = rate * (intercept - value) - q2 * matrix[0, 1]
    constant = (intercept - value) ** 2 - q2 * (matrix[0, 0] + var_value)
    g = q2 * matrix[1, 1] / rate**2 if rate else np.inf
    inside = half**2 - square * constant
    if inside < 0 or square == 0:
        return CrossingInterval(Reaches.ANYWHERE, np.nan, np.nan, float(g))
    root = np.sqrt(inside)
    low, high = sorted(((-half - root) / square, (-half + root) / square))
    reaches = Reaches.BETWEEN if square > 0 else Reaches.OUTSIDE
    return CrossingInterval(reaches, float(low), float(high), float(g))
