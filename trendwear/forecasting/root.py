"""Roots of many rising functions at once: Newton's method inside brackets."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["rising_root"]

Floats = NDArray[np.float64]
Rows = NDArray[np.int64]

Rising = Callable[[Floats, Rows], tuple[Floats, Floats]]
"""Value and slope of some rows' functions, each at its own place."""

_ROUNDS: Final = 100
_SMALL_STEP: Final = 1e-6  # of the scale: Newton's next step would be its square
_SMALL_VALUE: Final = 1e-4  # a short step alone may be one along a cliff
_NARROW: Final = 1e-11  # of the scale


def rising_root(
    of: Rising, bracket: tuple[Floats, Floats], start: Floats, least_scale: Floats
) -> Floats:
    """Return where each of ``n`` rising functions passes 0.

    A step of Newton's that leaves the bracket, or follows one that did not halve the
    value, is replaced by halving the bracket.

    Parameters
    ----------
    of : callable
        Takes places (m,) and the numbers (m,) of the functions meant.
    bracket : tuple of ndarray, shape (n,)
        Places not above and not below the roots.
    start : ndarray, shape (n,)
        First places to try; NaN where nothing is asked.
    least_scale : ndarray, shape (n,)
        Roots are sought to a share of their size, or of this where it is more.

    Returns
    -------
    ndarray, shape (n,)
        NaN where ``start`` is.
    """
    place = np.clip(start, *bracket)
    low, high = bracket[0].copy(), bracket[1].copy()
    before = np.full(len(place), np.inf)
    going = np.flatnonzero(np.isfinite(place))
    for _ in range(_ROUNDS):
        here = place[going]
        value, slope = of(here, going)
        low[going] = np.where(value < 0, here, low[going])
        high[going] = np.where(value < 0, high[going], here)
        left, right = low[going], high[going]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            there = here - value / slope
        size = np.abs(value)
        newton = (there >= left) & (there <= right) & (size <= 0.5 * before[going])
        there = np.where(newton, there, 0.5 * (left + right))
        before[going] = np.where(newton, size, np.inf)
        place[going] = there
        scale = np.maximum(np.abs(there), least_scale[going])
        done = newton & (np.abs(there - here) <= _SMALL_STEP * scale) & (size <= _SMALL_VALUE)
        done |= right - left <= _NARROW * scale
        going = going[~done]
        if not len(going):
            break
    return place
