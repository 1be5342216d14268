"""The usual slips, undone one by one: a factor, or two positions swapped.

A slip explains a reading when, undone, the reading is what all others expect.  That
these are the usual ones is common practice, no source: a radius for a diameter, a
decimal point one place off, inches for millimetres, micrometres for millimetres.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.trust.belief import FAR, explains
from trendwear.trust.swaps import swapped_pairs
from trendwear.wear.histories import Floats

__all__ = ["FACTORS", "explain", "guess", "label"]

_TIMES: Final = (2.0, 10.0, 25.4, 1000.0 / 25.4, 1000.0)
FACTORS: Final[Floats] = np.array([*_TIMES, *(1 / times for times in _TIMES)])
"""A slip made the reading so many times what it should be."""

_LABELS: Final = {
    2.0: ("twice", "half"),
    10.0: ("ten times", "a tenth of"),
    25.4: ("25.4 times", "1/25.4 of"),
    1000.0 / 25.4: ("39.4 times", "1/39.4 of"),
    1000.0: ("1000 times", "a thousandth of"),
}
_OTHERWISE: Final = {
    10.0: ": a decimal point one place off?",
    25.4: ": converted from inches wrongly?",
    1000.0: ": a decimal point three places off?",
}
_BY_BASIS: Final = {
    ("diametral", 2.0): ": a diametral reading doubled?",
    ("diametral", 0.5): ": a radial reading in a diametral column?",
    ("radial", 2.0): ": a diametral reading in a radial column?",
    ("radial", 0.5): ": a radial reading halved?",
}


def label(factor: float) -> str:
    """Name a factor.

    >>> label(2.0), label(1 / 25.4)
    ('twice', '1/25.4 of')
    """
    times = min(_TIMES, key=lambda usual: abs(np.log(usual) - abs(np.log(factor))))
    return _LABELS[times][0 if factor > 1 else 1]


def guess(factor: float, unit: str, basis: str) -> str:
    """Say what may have made a reading so many times too large, as a question.

    >>> guess(25.4, "in", "radial"), guess(0.5, "mm", "diametral"), guess(2.0, "mm", "axial")
    (': mm taken for in?', ': a radial reading in a diametral column?', '')
    """
    for other, per_unit in MM_PER_UNIT.items():
        if other != unit and np.isclose(MM_PER_UNIT[unit] / per_unit, factor):
            return f": {other} taken for {unit}?"
    times = factor if factor > 1 else 1 / factor
    for usual, words in _OTHERWISE.items():
        if np.isclose(times, usual):
            return words
    return _BY_BASIS.get((basis, round(factor, 9)), "")


def explain(seen: pd.DataFrame) -> pd.DataFrame:
    """Try the usual slips on every reading that is far from what the others expect.

    Parameters
    ----------
    seen : DataFrame
        As `trendwear.trust.seen.seen_readings`, with ``mean``, ``true_variance``
        (mm, mm^2, worn), ``phi`` and ``residual``.

    Returns
    -------
    DataFrame
        Index as ``seen``: ``factor`` (NaN: none explains it) and ``partner`` (index of
        the reading it was swapped with, -1: none).
    """
    told = pd.DataFrame({"factor": np.nan, "partner": -1}, index=seen.index)
    far = seen[(seen["residual"].abs() > FAR) & ~seen["at_least"]]
    told.loc[far.index, "factor"] = _factors(far)
    pairs = swapped_pairs(seen.assign(usual_spread_mm=_spread(seen)), far.index)
    told.loc[pairs["one"], "partner"] = pairs["other"].to_numpy()
    told.loc[pairs["other"], "partner"] = pairs["one"].to_numpy()
    told.loc[told["partner"] >= 0, "factor"] = np.nan
    return told


def _factors(far: pd.DataFrame) -> Floats:
    """The factor that brings each reading nearest to what is expected; NaN where none does."""
    worn = far["sign"].to_numpy()[:, None] * far["value_mm"].to_numpy()[:, None] / FACTORS
    away = worn + far["shift_mm"].to_numpy()[:, None] - far["mean"].to_numpy()[:, None]
    residual = np.abs(away) / _spread(far).to_numpy()[:, None]
    best = residual.argmin(axis=1) if len(far) else np.zeros(0, dtype=int)
    least = residual[np.arange(len(far)), best]
    return np.where(explains(least, far["residual"].abs().to_numpy()), FACTORS[best], np.nan)


def _spread(seen: pd.DataFrame) -> pd.Series:
    """Standard deviation of a reading taken as carefully as usual."""
    return np.sqrt(seen["true_variance"] + (seen["phi"] * seen["usual_u_mm"]) ** 2)
