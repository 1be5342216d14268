"""Fit every family of a site, and say what is believed of each clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.fit.family_data import FamilyData, family_data
from trendwear.segments.histories import Histories
from trendwear.wear.exposure import Shape, expose
from trendwear.wear.exposure_choice import ExposureChoice, choose_exposure
from trendwear.wear.fit import fit_wear, widen
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
    """

    data: FamilyData
    fit: WearFit
    choice: ExposureChoice
    wear: WearMixture
    family: NDArray[np.int64]

    @property
    def shape(self) -> Shape:
        """The exposure of each family."""
        return self.choice.shape

    @property
    def wears_at_starts(self) -> NDArray[np.bool_]:
        """By position: many starts, and nobody can say what one of them wears."""
        untold: NDArray[np.bool_] = self.choice.starts_untold[self.family]
        return untold


def fit_families(cut: Histories, events: pd.DataFrame, given: Given) -> FamilyFit:
    """Fit all families of ``cut`` at once.

    Parameters
    ----------
    cut : Histories
    events : DataFrame
        `tables.EVENTS` on or before the day: a change of speed, material or alignment
        makes earlier wear another part's.
    given : Given
    """
    data = family_data(cut, events)
    names = data.families
    choice = choose_exposure(
        data.histories,
        data.use,
        np.array([given.hours_per_start.get(name, np.nan) for name in names]),
        np.array([given.power.get(name, np.nan) for name in names]),
    )
    exposed = expose(data.histories, data.use, choice.shape)
    fit = fit_wear(widen(exposed, data.exposure_error))
    codes = {name: code for code, name in enumerate(names)}
    family = fold_column(cut.positions["family"]).map(codes).to_numpy(dtype=np.int64)
    wear = _by_position(fit, data, len(cut.positions))
    # A rate by hours would be wrong where wear comes at starts that nobody can weigh.
    rate = np.where(choice.starts_untold[family][:, None], np.nan, wear.rate)
    return FamilyFit(data, fit, choice, replace(wear, rate=rate), family)


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
        laid = empty((count, *values.shape[1:]))
        laid[at] = values[take]
        spread[name] = laid.astype(values.dtype)
    missing = np.setdiff1d(np.arange(count), at)
    spread["weight"][missing] = 1.0 / max(of_members.weight.shape[1], 1)
    return WearMixture(**spread)


def _nothing(shape: tuple[int, ...]) -> Floats:
    return np.full(shape, np.nan)
