"""Fit the wear rates and variances of families of clearances."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from trendwear.wear.histories import Floats, Histories, lay_out
from trendwear.wear.one_sided import moved, no_sites, stand_in
from trendwear.wear.priors import DEFAULT_NOISE, typical_rate
from trendwear.wear.search import WearFit, fit_at, fit_layout

__all__ = ["fit_wear", "widen"]

_ROUNDS: Final = 40
_STILL: Final = 1e-4


def fit_wear(histories: Histories) -> WearFit:
    """Fit all families of ``histories`` at once.

    One-sided readings are replaced, round by round, by readings that say the same;
    between rounds all families are fitted again.  `wear_mixture` turns the fit into
    what is believed of each clearance.

    >>> import numpy as np
    >>> from trendwear.wear.mixture import wear_mixture
    >>> histories = Histories(
    ...     value=np.array([0.20, 0.31, 0.42, 0.22, 0.30]),
    ...     exposure=np.array([0.0, 8000.0, 16000.0, 0.0, 8000.0]),
    ...     uncertainty=np.full(5, 0.01),
    ...     at_least=np.zeros(5, dtype=bool),
    ...     segment=np.array([0, 0, 0, 1, 1]),
    ...     clearance=np.array([0, 1]),
    ...     start_value=np.full(2, np.nan),
    ...     start_exposure=np.full(2, np.nan),
    ...     family=np.array([0, 0]),
    ...     assumed_share=np.array([0.0]),
    ... )
    >>> mixture = wear_mixture(fit_wear(histories))
    >>> np.round(1000 * np.sum(mixture.weight * mixture.rate, axis=1), 4)
    array([0.0134, 0.0108])
    """
    fit = fit_layout(lay_out(histories), no_sites(len(histories.assumed_share)))
    if not histories.at_least.any():
        return fit
    for _ in range(_ROUNDS):
        stand = stand_in(histories, fit)
        change = moved(fit.layout.histories, stand.histories)
        fit = fit_at(lay_out(stand.histories), stand.sites, fit.noise, fit.x)
        if np.max(change) < _STILL:
            break
    return fit


def widen(histories: Histories, exposure_error: Floats) -> Histories:
    """Add to each reading's uncertainty what an uncertain exposure makes of it.

    Parameters
    ----------
    histories : Histories
        Readings whose exposure is not exactly known.
    exposure_error : ndarray, shape (m,)
        One standard deviation of each exposure, 0 where it is known.  It counts at
        the typical rate of the reading's family.
    """
    if not exposure_error.any():
        return histories
    rate = typical_rate(lay_out(histories), DEFAULT_NOISE)
    of_reading = rate[histories.family[histories.clearance[histories.segment]]]
    return replace(
        histories, uncertainty=np.hypot(histories.uncertainty, of_reading * exposure_error)
    )
