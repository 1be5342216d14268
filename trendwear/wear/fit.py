"""Fit the wear rates and variances of families of clearances."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from trendwear.wear.histories import Floats, Histories, lay_out
from trendwear.wear.priors import DEFAULT_NOISE, Noise, typical_rate
from trendwear.wear.rest import Rest, search_rests, stand_at
from trendwear.wear.search import WearFit, usual_noise

__all__ = ["KnownRests", "Rested", "fit_by_default", "fit_resting", "fit_wear", "widen"]


@dataclass(frozen=True)
class KnownRests:
    """What is known of ``F`` families from before; None where nothing is."""

    first: Sequence[Rest | None]
    """Under the default noise."""
    under: Callable[[Noise], Sequence[Rest | None]]
    """Under the noise that the site's families have taught."""


@dataclass(frozen=True)
class Rested:
    """A fit, and where its searches came to rest, by family."""

    fit: WearFit
    first: list[Rest]
    """Under the default noise."""
    last: list[Rest]
    """Under the noise of the fit."""


def fit_wear(histories: Histories) -> WearFit:
    """Fit all families of ``histories`` at once.

    First under the default noise; then again where enough families teach another one
    (`usual_noise`).  One-sided readings are replaced, round by round, by readings that
    say the same; between rounds their families are fitted again.  `wear_mixture` turns the fit into
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
    nothing = [None] * len(histories.assumed_share)
    return fit_resting(histories, KnownRests(nothing, lambda _: nothing)).fit


def fit_resting(histories: Histories, known: KnownRests) -> Rested:
    """Fit all families as `fit_wear` does, and search only those that are not ``known``."""
    first = search_rests(histories, DEFAULT_NOISE, known.first)
    fit = stand_at(histories, DEFAULT_NOISE, first)
    noise = usual_noise(fit)
    if noise.share == DEFAULT_NOISE.share:
        return Rested(replace(fit, noise=noise), first, first)
    last = search_rests(histories, noise, known.under(noise), first)
    return Rested(stand_at(histories, noise, last), first, last)


def fit_by_default(histories: Histories) -> WearFit:
    """Fit each family as if it stood alone: under the default noise."""
    nothing = [None] * len(histories.assumed_share)
    return stand_at(histories, DEFAULT_NOISE, search_rests(histories, DEFAULT_NOISE, nothing))


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
