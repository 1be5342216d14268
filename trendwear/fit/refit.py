"""Fit families anew only where nothing is kept of them: the result is the same either way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trendwear.fit.family_choice import choice_of, choose_unknown
from trendwear.fit.family_data import FamilyData
from trendwear.fit.fingerprints import fingerprints
from trendwear.fit.kept import KeptFit, KeptFits, KeptText
from trendwear.progress import Progress
from trendwear.wear.exposure import expose
from trendwear.wear.exposure_choice import ExposureChoice
from trendwear.wear.fit import KnownRests, fit_resting, widen
from trendwear.wear.rest import Rest
from trendwear.wear.search import WearFit

__all__ = ["Refit", "refit"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Refit:
    """Families fitted, and what of it was not known before.

    Attributes
    ----------
    choice : ExposureChoice
    fit : WearFit
    found : list of KeptText
        Fits that were not kept yet.
    """

    choice: ExposureChoice
    fit: WearFit
    found: list[KeptText]


def refit(
    data: FamilyData, given: tuple[Floats, Floats], kept: KeptFits, progress: Progress
) -> Refit:
    """Fit all families, and search only those that are not kept.

    Parameters
    ----------
    data : FamilyData
    given : pair of ndarray, shape (F,)
        Hours per start and power that a user gives; NaN where the readings are to say.
    kept : KeptFits
    progress : callable
    """
    prints = fingerprints(data, given)
    before = [kept.any_noise(one) for one in prints]
    chosen = choose_unknown(
        data, given, [None if one is None else one.chosen for one in before], progress
    )
    choice = choice_of(chosen)
    progress("fitting families", 0, len(prints))
    rested = fit_resting(
        widen(expose(data.histories, data.use, choice.shape), data.exposure_error),
        KnownRests(
            first=[None if one is None else one.first for one in before],
            under=lambda noise: [_last(kept.under(mark, noise.share)) for mark in prints],
        ),
    )
    share = rested.fit.noise.share
    progress("fitting families", len(prints), len(prints))
    fits = map(KeptFit, chosen, rested.first, rested.last)
    found = [
        KeptText(family, mark, share, one.text())
        for family, mark, one in zip(data.families, prints, fits, strict=True)
        if not kept.has(mark, share)
    ]
    return Refit(choice, rested.fit, found)


def _last(known: KeptFit | None) -> Rest | None:
    return None if known is None else known.last
