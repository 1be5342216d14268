"""Let the readings say whether starts wear, and whether wear bends in time.

Each is tried by its profile likelihood, and only where the data can say something;
it is accepted where it gains 4 or more in the corrected information criterion
(Hurvich & Tsai, Biometrika 76 (1989) 297-307), with the restricted degrees of
freedom as sample size.  Families are tried under the default noise, so that what is
chosen for one never hangs on another.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import count
from typing import Final

import numpy as np

from trendwear.progress import Progress, silent
from trendwear.wear.exposure import Shape, Use, expose, only_segments, shape_of
from trendwear.wear.fit import fit_by_default
from trendwear.wear.histories import Flags, Floats, Histories

__all__ = ["ExposureChoice", "Profile", "choose_exposure"]

_POWERS: Final = np.array([0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0])
_START_SHARES: Final = np.array([0.0, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0])  # of wear by hours
_SEGMENTS_FOR_POWER: Final = 10
_READINGS_FOR_POWER: Final = 3
_STARTS_VARY: Final = 0.2  # standard deviation of starts per hour over their mean
_MACHINES_FOR_STARTS: Final = 10  # clearances that start differently often
_MANY_STARTS: Final = 1 / 24  # an hour; common practice, no source
_MOST_TRIALS: Final = 2 * (len(_POWERS) + 2) + len(_START_SHARES) + 2
_GAIN: Final = 4.0
_PLAIN_PARAMETERS: Final = 4  # three variances and the mean rate
_FAR: Final = 1.96  # root of the deviance at the ends of a 95 % profile interval

Likelihood = Callable[[Floats], tuple[Floats, Floats]]
"""Restricted log-likelihood and degrees of freedom of each family at its value (F,)."""


@dataclass(frozen=True)
class Profile:
    """One parameter's profile for every family; NaN where the data cannot say anything."""

    value: Floats
    """(F,) most likely value."""
    low: Floats
    """(F,) lower end of the 95 % profile interval, not below the end of the grid."""
    high: Floats
    """(F,) upper end, not above the end of the grid."""
    gain: Floats
    """(F,) gain in the corrected information criterion over doing without."""

    @property
    def accepted(self) -> Flags:
        """(F,) whether the gain is large enough."""
        enough: Flags = np.nan_to_num(self.gain) >= _GAIN
        return enough


@dataclass(frozen=True)
class ExposureChoice:
    """The exposure that the data speak for, and how clearly."""

    shape: Shape
    hours_per_start: Profile
    power: Profile
    starts_untold: Flags
    """(F,) starts are many, but what one wears can be neither estimated nor is it given."""


def choose_exposure(
    histories: Histories,
    use: Use,
    hours_per_start: Floats,
    power: Floats,
    progress: Progress = silent,
) -> ExposureChoice:
    """Choose each family's exposure.

    Parameters
    ----------
    histories : Histories
        Their exposure is not used: it is counted anew from ``use``.
    use : Use
        Hours and starts behind each reading.
    hours_per_start, power : ndarray, shape (F,)
        Values that a user gives; NaN where the data are to say.  Left to the data,
        starts count for nothing and wear is straight until shown otherwise.
    progress : callable, optional
    """
    data = _Data(histories, use, progress)
    starts, bent = np.nan_to_num(hours_per_start), np.where(np.isnan(power), 1.0, power)
    per_hour, varies = _starts_per_hour(histories, use)
    try_power = np.isnan(power) & _enough_segments(histories, use)
    try_starts = np.isnan(hours_per_start) & varies

    def by_power(value: Floats) -> tuple[Floats, Floats]:
        # a segment of unknown age cannot speak for a bend, nor against it
        return data.likelihood((try_power, use.age_known), starts, value)

    def by_starts(value: Floats) -> tuple[Floats, Floats]:
        straight = (bent == 1)[histories.family[histories.clearance]]
        return data.likelihood((try_starts, use.age_known | straight), value, bent)

    powers = _profile(by_power, _POWERS[:, None], (try_power, 1.0))
    bent = np.where(powers.accepted, powers.value, bent)
    shares = _START_SHARES[:, None] / np.where(try_starts, per_hour, 1.0)
    worth = _profile(by_starts, shares, (try_starts, 0.0))
    starts = np.where(worth.accepted, worth.value, starts)
    again = try_power & worth.accepted
    if again.any():
        # what looked like a bend may have been starts
        powers = _profile(by_power, _POWERS[:, None], (try_power, 1.0))
        bent = np.where(try_power, np.where(powers.accepted, powers.value, 1.0), bent)
    return ExposureChoice(
        shape=shape_of(histories, use, starts, bent),
        hours_per_start=worth,
        power=powers,
        starts_untold=np.isnan(hours_per_start) & ~varies & (per_hour > _MANY_STARTS),
    )


@dataclass(frozen=True)
class _Data:
    histories: Histories
    use: Use
    progress: Progress
    trial: Iterator[int] = field(default_factory=lambda: count(1))

    def likelihood(
        self, among: tuple[Flags, Flags], hours_per_start: Floats, power: Floats
    ) -> tuple[Floats, Floats]:
        """Fit the families (F,) and segments (S,) marked in ``among``."""
        self.progress("trying starts and bends", next(self.trial), _MOST_TRIALS)
        families, segments = among
        keep = families[self.histories.family[self.histories.clearance]] & segments
        histories, use = only_segments(self.histories, self.use, keep)
        shape = shape_of(histories, use, hours_per_start, power)
        fit = fit_by_default(expose(histories, use, shape))
        return fit.log_restricted, fit.freedom


def _enough_segments(histories: Histories, use: Use) -> Flags:
    """Whether ten or more segments of known age have three or more readings."""
    segments = len(histories.clearance)
    readings = np.bincount(histories.segment, minlength=segments)
    long = (readings + ~np.isnan(use.begin_hours) >= _READINGS_FOR_POWER) & use.age_known
    family = histories.family[histories.clearance][long]
    count = np.bincount(family, minlength=len(histories.assumed_share))
    enough: Flags = count >= _SEGMENTS_FOR_POWER
    return enough


def _starts_per_hour(histories: Histories, use: Use) -> tuple[Floats, Flags]:
    """Mean starts per hour of each family, and whether they vary enough to tell their wear."""
    segments, families = len(histories.clearance), len(histories.assumed_share)
    length = np.bincount(histories.segment, minlength=segments)
    first = np.cumsum(length) - length
    read = np.nonzero(length > 0)[0]
    begun = ~np.isnan(use.begin_hours[read])
    last = (first + length - 1)[read]
    hours, starts = (
        at_reading[last] - np.where(begun, at_begin[read], at_reading[first[read]])
        for at_reading, at_begin in ((use.hours, use.begin_hours), (use.starts, use.begin_starts))
    )
    family = histories.family[histories.clearance[read]]
    uncounted = np.bincount(family, np.isnan(starts), families) > 0
    some = (hours > 0) & np.isfinite(starts)
    family, rate = family[some], starts[some] / hours[some]
    count = np.maximum(np.bincount(family, minlength=families), 1)
    mean = np.bincount(family, rate, families) / count
    own, of_own = np.unique(histories.clearance[read][some], return_inverse=True)
    own_mean = np.bincount(of_own, rate) / np.bincount(of_own)
    own_family = histories.family[own]
    # A few machines may differ in much besides their starts: then only what varies within a
    # clearance tells starts apart; many machines tell them apart among themselves too.
    distinct = np.unique(np.column_stack([own_family, np.round(own_mean, 6)]), axis=0)[:, 0]
    many = np.bincount(distinct.astype(np.int64), minlength=families) >= _MACHINES_FOR_STARTS
    around = np.where(many[family], mean[family], own_mean[of_own])
    freedom = count - np.where(many, 1, np.bincount(own_family, minlength=families))
    squares = np.bincount(family, (rate - around) ** 2, families)
    spread = np.sqrt(np.divide(squares, freedom, out=np.zeros(families), where=freedom > 0))
    return mean, (mean > 0) & (spread >= _STARTS_VARY * mean) & ~uncounted


def _profile(likelihood: Likelihood, grid: Floats, tried: tuple[Flags, float]) -> Profile:
    """Profile over a grid (G, F) or (G, 1), its best point refined once by a parabola."""
    which, plain = tried
    nothing = np.full(len(which), np.nan)
    if not which.any():
        return Profile(nothing, nothing, nothing, nothing)
    grid = np.broadcast_to(grid, (len(grid), len(which)))
    without, freedom = likelihood(np.full(len(which), plain))
    values = np.array([likelihood(at)[0] for at in grid])
    refined = _vertex(grid, values)
    whole = np.concatenate([grid, refined[None]])
    values = np.concatenate([values, likelihood(refined)[0][None]])
    order = np.argsort(whole, axis=0, kind="stable")
    whole, values = (np.take_along_axis(some, order, axis=0) for some in (whole, values))
    best = values.argmax(axis=0)
    columns = np.arange(len(which))
    low, high = _interval(whole, values)
    gain = 2 * (values[best, columns] - without)
    gain += _penalty(freedom, _PLAIN_PARAMETERS) - _penalty(freedom, _PLAIN_PARAMETERS + 1)
    return Profile(
        value=np.where(which, whole[best, columns], np.nan),
        low=np.where(which, low, np.nan),
        high=np.where(which, high, np.nan),
        gain=np.where(which, gain, np.nan),
    )


def _penalty(freedom: Floats, parameters: int) -> Floats:
    """What the criterion charges for parameters; without end where data are too few."""
    left = freedom - parameters - 1
    correction = 2 * parameters * (parameters + 1) / np.where(left > 0, left, 1.0)
    penalty: Floats = np.where(left > 0, 2 * parameters + correction, 1e6 * parameters)
    return penalty


def _vertex(grid: Floats, values: Floats) -> Floats:
    """Top of the parabola through the best point of each column and its neighbours."""
    best = np.clip(values.argmax(axis=0), 1, len(grid) - 2)
    columns = np.arange(grid.shape[1])
    x0, x1, x2 = (grid[best + step, columns] for step in (-1, 0, 1))
    y0, y1, y2 = (values[best + step, columns] for step in (-1, 0, 1))
    up, down = (x1 - x0) * (y1 - y2), (x1 - x2) * (y1 - y0)
    bend = up - down
    peaked = bend > 0
    shift = ((x1 - x0) * up - (x1 - x2) * down) / np.where(peaked, 2 * bend, 1.0)
    top: Floats = np.where(peaked, np.clip(x1 - shift, x0, x2), x1)
    return top


def _interval(grid: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Ends of the 95 % profile interval, by the root of the deviance: nearly a straight line."""
    low, high = np.empty((2, grid.shape[1]))
    root = np.sqrt(2 * (values.max(axis=0) - values))
    for column in range(grid.shape[1]):
        x, far = grid[:, column], root[:, column]
        best = int(far.argmin())
        low[column] = _crossing(x[best::-1], far[best::-1])
        high[column] = _crossing(x[best:], far[best:])
    return low, high


def _crossing(x: Floats, far: Floats) -> float:
    """First place along ``x`` farther than `_FAR`; the last one where none is."""
    beyond = np.nonzero(far > _FAR)[0]
    if not len(beyond):
        return float(x[-1])
    at = int(beyond[0])
    share = (_FAR - far[at - 1]) / (far[at] - far[at - 1])
    return float(x[at - 1] + share * (x[at] - x[at - 1]))
