"""Chances over running hours, drawn once through a few knots and read off anywhere."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.special import ndtr, ndtri

from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.planning.together import Together

__all__ = ["ChanceCurves", "chances_along", "hours_of", "place_of"]

Floats = NDArray[np.float64]

_KNOTS: Final = 48
_FIRST_HOURS: Final = 100.0
"""Knots lie this close together at first, then in steps of one sixth of the hours run."""
_LEAST: Final = 1e-12
_END: Final = float(np.log1p(FARTHEST_HOURS / _FIRST_HOURS))
_PLACES: Final = np.linspace(0.0, _END, _KNOTS)


def place_of(hours: Floats) -> Floats:
    """Where hours lie on the scale of the knots: straight at first, then logarithmic."""
    return np.asarray(np.log1p(hours / _FIRST_HOURS), dtype=float)


def hours_of(place: Floats) -> Floats:
    """The hours of places on that scale."""
    return np.asarray(_FIRST_HOURS * np.expm1(place), dtype=float)


def chances_along(crossing: Crossing) -> Floats:
    """Chance (n, knots) of each clearance past its limit at the knots, counted from now."""
    count = len(crossing.limit)
    each = Together.in_hours(crossing, np.arange(count), count)
    return np.stack([each.each(np.full(count, hours)) for hours in hours_of(_PLACES)], axis=1)


class ChanceCurves:
    """``n`` curves of chance over hours.

    Between the knots a cubic that keeps the rise (Fritsch & Butland 1984, as scipy's
    `PchipInterpolator`) runs through the chances' normal quantiles: of normal wear these are
    nearly straight, however sharply the chance itself rises.

    Parameters
    ----------
    chances : ndarray, shape (n, knots)
        As `chances_along` gives them, or made of such.
    """

    def __init__(self, chances: Floats) -> None:
        kept = np.clip(chances, _LEAST, 1.0 - _LEAST)
        self._cubics: Floats = PchipInterpolator(_PLACES, ndtri(kept), axis=1).c

    def at(self, hours: Floats, curves: NDArray[np.int64]) -> Floats:
        """Chance (m, nodes) of some curves (m,) at hours (m, nodes)."""
        place = np.minimum(place_of(hours), _END)
        piece = np.minimum((place * ((_KNOTS - 1) / _END)).astype(np.int64), _KNOTS - 2)
        along = place - _PLACES[piece]
        cubic = self._cubics[:, piece, curves[:, None]]
        value = cubic[0]
        for factor in cubic[1:]:
            value = value * along + factor
        return np.asarray(ndtr(value), dtype=float)
