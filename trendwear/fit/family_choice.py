"""What the readings of one family say of starts and of a bend, apart from all others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trendwear.fit.family_data import FamilyData
from trendwear.progress import Progress, silent
from trendwear.wear.exposure import Shape, only_families
from trendwear.wear.exposure_choice import ExposureChoice, Profile, choose_exposure

__all__ = ["Chosen", "choice_of", "choose_unknown"]

Floats = NDArray[np.float64]

_OF_PROFILE = ("value", "low", "high", "gain")


@dataclass(frozen=True)
class Chosen:
    """The exposure of one family (`trendwear.wear.exposure.Shape`), and why."""

    hours_per_start: float
    power: float
    scale: float
    starts_untold: bool
    worth: tuple[float, ...]
    """Profile of hours per start: value, low, high, gain; NaN where it was not tried."""
    bend: tuple[float, ...]
    """Profile of the power alike."""


def choose_unknown(
    data: FamilyData,
    given: tuple[Floats, Floats],
    known: Sequence[Chosen | None],
    progress: Progress = silent,
) -> list[Chosen]:
    """Choose the exposure of the families that are not ``known``.

    Parameters
    ----------
    data : FamilyData
    given : pair of ndarray, shape (F,)
        Hours per start and power that a user gives; NaN where the readings are to say.
    known : sequence of Chosen or None, length F
        Returned as they are.
    progress : callable, optional
    """
    wanted = np.array([chosen is None for chosen in known], dtype=bool)
    if not wanted.any():
        return [chosen for chosen in known if chosen is not None]
    histories, use = only_families(data.histories, data.use, wanted)
    choice = choose_exposure(histories, use, given[0][wanted], given[1][wanted], progress)
    found = iter(_apart(choice))
    return [next(found) if chosen is None else chosen for chosen in known]


def choice_of(chosen: Sequence[Chosen]) -> ExposureChoice:
    """Put what was chosen for each family together."""
    return ExposureChoice(
        shape=Shape(
            np.array([one.hours_per_start for one in chosen], dtype=np.float64),
            np.array([one.power for one in chosen], dtype=np.float64),
            np.array([one.scale for one in chosen], dtype=np.float64),
        ),
        hours_per_start=_profile([one.worth for one in chosen]),
        power=_profile([one.bend for one in chosen]),
        starts_untold=np.array([one.starts_untold for one in chosen], dtype=bool),
    )


def _apart(choice: ExposureChoice) -> list[Chosen]:
    worth, bend = (
        np.stack([getattr(profile, name) for name in _OF_PROFILE], axis=1).tolist()
        for profile in (choice.hours_per_start, choice.power)
    )
    shape = choice.shape
    return [
        Chosen(
            hours_per_start=float(shape.hours_per_start[code]),
            power=float(shape.power[code]),
            scale=float(shape.scale[code]),
            starts_untold=bool(choice.starts_untold[code]),
            worth=tuple(worth[code]),
            bend=tuple(bend[code]),
        )
        for code in range(len(shape.power))
    ]


def _profile(rows: Sequence[tuple[float, ...]]) -> Profile:
    value, low, high, gain = np.array(rows, dtype=np.float64).reshape(len(rows), 4).T
    return Profile(value, low, high, gain)
