"""Fit every family of a site, and say what is believed of each clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.fit.family_data import FamilyData, family_data
from trendwear.fit.kept import NOTHING_KEPT, KeptFits, KeptText
from trendwear.fit.refit import refit
from trendwear.progress import Progress, silent
from trendwear.segments.histories import Histories
from trendwear.wear.exposure import Shape
from trendwear.wear.exposure_choice import ExposureChoice
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.search import WearFit
from trendwear.wear.state import WearMixture
from trendwear.wording import fold_column

__all__ = ["FamilyFit", "Given", "fit_families"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Given:
    """What a user fixes for a family; NaN where the readings are to say."""

    hours_per_start: dict[str, float]
    power: dict[str, float]


@dataclass(frozen=True)
class FamilyFit:
    """The fitted families, and each position's share in them.

    Attributes
    ----------
    data : FamilyData
    fit : WearFit
    choice : ExposureChoice
        What the readings say of starts and of a bend, by family.
    wear : WearMixture
        One row a position; NaN where a position has no segment.
    family : ndarray of int
        Code of each position's family.
    found : list of KeptText
        Fits that had to be searched, to be kept for the next time.
    starts_uncounted : ndarray of bool
        By family: what a start wears is given, but not every start was counted, so
        that it cannot be used.
    """

    data: FamilyData
    fit: WearFit
    choice: ExposureChoice
    wear: WearMixture
    family: NDArray[np.int64]
    found: list[KeptText]
    starts_uncounted: NDArray[np.bool_]

    @property
    def shape(self) -> Shape:
        """The exposure of each family."""
        return self.choice.shape

    @property
    def wears_at_starts(self) -> NDArray[np.bool_]:
        """By position: many starts, and nobody can say what one of them wears."""
        untold: NDArray[np.bool_] = self.choice.starts_untold[self.family]
        return untold


def fit_families(
    cut: Histories,
    events: pd.DataFrame,
    given: Given,
    kept: KeptFits = NOTHING_KEPT,
    progress: Progress = silent,
) -> FamilyFit:
    """Fit all families of ``cut`` at once; only those that are not kept are searched.

    Parameters
    ----------
    cut : Histories
    events : DataFrame
        `tables.EVENTS` on or before the day: a change of speed, material or alignment
        makes earlier wear another part's.
    given : Given
    kept : KeptFits, optional
        What was found before; the result is the same with it and without.
    progress : callable, optional
    """
    data = family_data(cut, events)
    names = data.families
    worth = np.array([given.hours_per_start.get(name, np.nan) for name in names])
    uncounted = (worth > 0) & _starts_missing(data)
    asked = (
        np.where(uncounted, np.nan, worth),
        np.array([given.power.get(name, np.nan) for name in names]),
    )
    fitted = refit(data, asked, kept, progress)
    codes = {name: code for code, name in enumerate(names)}
    family = fold_column(cut.positions["family"]).map(codes).to_numpy(dtype=np.int64)
    wear = _by_position(fitted.fit, data, len(cut.positions))
    # A rate by hours would be wrong where wear comes at starts that nobody can weigh.
    rate = np.where(fitted.choice.starts_untold[family][:, None], np.nan, wear.rate)
    return FamilyFit(
        data=data,
        fit=fitted.fit,
        choice=fitted.choice,
        wear=replace(wear, rate=rate),
        family=family,
        found=fitted.found,
        starts_uncounted=uncounted,
    )


def _starts_missing(data: FamilyData) -> NDArray[np.bool_]:
    """By family: whether the starts behind any of its readings or known starts are unknown."""
    histories, use = data.histories, data.use
    family = histories.family[histories.clearance]
    lost = np.isnan(use.starts)
    begun = ~np.isnan(use.begin_hours) & np.isnan(use.begin_starts)
    codes = np.concatenate([family[histories.segment][lost], family[begun]])
    missing: NDArray[np.bool_] = np.bincount(codes, minlength=len(data.families)) > 0
    return missing


def _by_position(fit: WearFit, data: FamilyData, count: int) -> WearMixture:
    """The mixtures of the parts now fitted, one row a position."""
    of_members = wear_mixture(fit)
    current = data.member[data.member["current"]]
    at = current["position"].to_numpy(dtype=np.int64)
    take = current.index.to_numpy(dtype=np.int64)
    spread = {}
    for name in WearMixture.__dataclass_fields__:
        values = getattr(of_members, name)
        empty = np.zeros if values.dtype == bool else _nothing
        # A site without a single segment has no components; nothing is said of one then.
        laid = empty((count, *(max(width, 1) for width in values.shape[1:])))
        if len(at):
            laid[at] = values[take]
        spread[name] = laid.astype(values.dtype)
    missing = np.setdiff1d(np.arange(count), at)
    spread["weight"][missing] = 1.0 / max(of_members.weight.shape[1], 1)
    return WearMixture(**spread)


def _nothing(shape: tuple[int, ...]) -> Floats:
    return np.full(shape, np.nan)
