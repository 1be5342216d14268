"""When a clearance passes its limit: chances over running hours, and their quantiles.

At ``h`` hours after the last reading, with exposure increment ``d``, the true clearance
has, given one component of the mixture,

    mean      m = level + rate d
    variance  v = var_level + 2 cov d + var_rate d^2 + var_wear d

and the chance past the limit is ``P(h) = sum_k w_k Phi(side (m_k - L)/sqrt(v_k))``,
made non-decreasing in ``h``: wear does not heal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.approach import Approach, approach_of
from trendwear.forecasting.mixtures import chance_above, quantile
from trendwear.wear.state import WearMixture, rows_of

__all__ = ["FARTHEST_HOURS", "Crossing"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.int64]

FARTHEST_HOURS: Final = 200_000.0
"""Beyond this many hours from now nothing is said."""

_BLOCK: Final = 2048
_STEPS: Final = 96
_HALVINGS: Final = 40


@dataclass(frozen=True)
class Crossing:
    """Forecasts of ``n`` clearances against a limit each.

    Attributes
    ----------
    wear : WearMixture
        What is known at each last reading.
    limit : ndarray, shape (n,)
        Limits in mm, worn-positive; NaN where there is none.
    side : ndarray, shape (n,)
        1 where past is above the limit, -1 where it is below.
    run : ndarray, shape (n,)
        Hours run since the last reading.
    ahead : Ahead
        Exposure that coming hours bring.
    """

    wear: WearMixture
    limit: Floats
    side: Floats
    run: Floats
    ahead: Ahead

    def true_clearance(self, hours: Floats) -> tuple[Floats, Floats]:
        """Mean and standard deviation (n, K), mm, of the true clearance at ``hours`` (n,).

        Hours count from the last reading.  NaN where there is no level; where there is
        no rate, only hours 0 has an answer.
        """
        hours = np.asarray(hours, dtype=float)
        ahead = self.ahead.increment(hours)[:, None]
        wear = self.wear
        with np.errstate(invalid="ignore"):
            mean = wear.level + wear.rate * ahead
            variance = (
                wear.var_level
                + 2 * wear.cov_level_rate * ahead
                + wear.var_rate * ahead**2
                + wear.var_wear * ahead
            )
        at_reading = (hours[:, None] == 0) & np.isfinite(wear.level)
        mean = np.where(at_reading, wear.level, mean)
        variance = np.where(at_reading, wear.var_level, variance)
        return mean, np.sqrt(np.maximum(variance, 0.0))

    def chance_at(self, hours: Floats) -> Floats:
        """Chance (n,) that the true clearance is past the limit by ``hours`` (n,) of running.

        Non-decreasing: the greatest chance of any earlier hour counts.  NaN where it
        cannot be told.
        """
        hours = np.asarray(hours, dtype=float)
        every = np.ones(len(hours), dtype=bool)
        chance = self.in_blocks(every, lambda part, rows: part._raw(hours[rows]))
        may_fall = (hours > 0) & np.isfinite(chance) & ~self.rises
        greatest = self.in_blocks(
            may_fall, lambda part, rows: part._greatest_of(hours[rows], chance[rows])
        )
        return np.where(may_fall, greatest, chance)

    def hours_at(self, q: float) -> Floats:
        """Hours (n,) from the last reading at which the chance reaches ``q``.

        NaN where it does not within `FARTHEST_HOURS` of now, or cannot be told.
        """
        first = self._first_chance
        ahead = (first < q) & self._told
        rising = self.in_blocks(ahead & self.rises, lambda part, _: part._hours_of_rising(q))
        others = self.in_blocks(ahead & ~self.rises, lambda part, _: part._hours_by_steps(q))
        return np.where(first >= q, 0.0, np.where(self.rises, rising, others))

    def rows(self, rows: Rows | slice) -> Crossing:
        """The same for some of the clearances."""
        return Crossing(
            rows_of(self.wear, rows),
            self.limit[rows],
            self.side[rows],
            self.run[rows],
            self.ahead.at(rows),
        )

    def in_blocks(self, these: Flags, work: Callable[[Crossing, Rows], Floats]) -> Floats:
        """Work on the clearances marked, so many at once as the processor's cache holds.

        Parameters
        ----------
        these : ndarray of bool, shape (n,)
        work : callable
            Takes some of the clearances and their rows here, returns a number for each.

        Returns
        -------
        ndarray, shape (n,)
            NaN for those that are not marked.
        """
        found = np.full(len(these), np.nan)
        marked = np.flatnonzero(these)
        for first in range(0, len(marked), _BLOCK):
            rows = marked[first : first + _BLOCK]
            gapless = int(rows[-1]) + 1 - int(rows[0]) == len(rows)
            part = self.rows(slice(int(rows[0]), int(rows[-1]) + 1) if gapless else rows)
            found[rows] = work(part, rows)
        return found

    @cached_property
    def approach(self) -> Approach:
        """The clearances on their way to their limits."""
        return approach_of(self.wear, self.limit, self.side)

    @cached_property
    def rises(self) -> Flags:
        """Whether (n,) the chance can be told for any hour, and never falls back."""
        only = self.in_blocks(self._told, lambda part, _: part.approach.only_rises().astype(float))
        rises: Flags = only == 1.0
        return rises

    @cached_property
    def _told(self) -> Flags:
        """Whether (n,) there is a limit, a level, a rate and an exposure ahead."""
        wear = self.wear
        told = np.isfinite(self.limit) & np.isfinite(self.ahead.increment(self._farthest))
        told &= np.isfinite(wear.level[:, 0]) & np.isfinite(wear.rate[:, 0])
        return told

    @cached_property
    def _first_chance(self) -> Floats:
        """Chance (n,) at the last reading."""
        every = np.ones(len(self.limit), dtype=bool)
        return self.in_blocks(every, lambda part, rows: part._raw(np.zeros(len(rows))))

    @property
    def _farthest(self) -> Floats:
        return np.asarray(FARTHEST_HOURS + np.nan_to_num(self.run), dtype=float)

    def chance_by_steps(self, hours: Floats) -> Floats:
        """`chance_at` for chances that may fall back: the greatest at any earlier step counts."""
        passed = (self._steps <= hours[:, None]).sum(axis=1) - 1
        before = self._greatest[np.arange(len(hours)), np.maximum(passed, 0)]
        return np.asarray(np.maximum(before, self._raw(hours)), dtype=float)

    def _greatest_of(self, hours: Floats, chance: Floats) -> Floats:
        """The greatest chance (n,) up to ``hours`` (n,), at which it is ``chance`` (n,)."""
        never = self.approach.never_above_first(self.ahead.increment(hours))
        greatest = np.where(never, self._first_chance, chance)
        left = np.flatnonzero(~never)
        if len(left):
            greatest[left] = self.rows(left).chance_by_steps(hours[left])
        return greatest

    def _hours_of_rising(self, q: float) -> Floats:
        farthest = self.ahead.increment(self._farthest)
        found = np.full(len(farthest), np.nan)
        rows = np.flatnonzero(self._raw(self._farthest) >= q)
        gained = self.approach.at(rows).exposure_at(q, farthest[rows])
        found[rows] = self.ahead.at(rows).hours_for(gained)
        return found

    def _hours_by_steps(self, q: float) -> Floats:
        steps, reached = self._steps, self._greatest >= q
        first = reached.argmax(axis=1)
        rows = np.arange(len(steps))
        high = steps[rows, first]
        low = steps[rows, np.maximum(first - 1, 0)]
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            past = self._raw(middle) >= q
            low, high = np.where(past, low, middle), np.where(past, middle, high)
        return np.where(reached.any(axis=1), high, np.nan)

    def found_at(self, hours: Floats, uncertainty: Floats, q: float) -> Floats:
        """``q`` quantile (n,) of the reading one would take after ``hours`` (n,)."""
        every = np.ones(len(self.limit), dtype=bool)

        def found(part: Crossing, rows: Rows) -> Floats:
            mean, sd = part.true_clearance(hours[rows])
            gauge = part.wear.gauge_scale * uncertainty[rows][:, None]
            return quantile(part.wear.weight, mean, np.hypot(sd, gauge), q)

        return self.in_blocks(every, found)

    def wear_per_hour(self, over: Floats, q: float) -> Floats:
        """``q`` quantile (n,) of the mean wear per hour over the next ``over`` hours."""
        gained = self.ahead.increment(over)
        with np.errstate(divide="ignore", invalid="ignore"):
            variance = self.wear.var_rate + self.wear.var_wear / gained[:, None]
        return quantile(self.wear.weight, self.wear.rate, np.sqrt(variance), q) * gained / over

    def mean_wear_per_hour(self, over: Floats) -> Floats:
        """Mean (n,) of the same."""
        rate = (self.wear.weight * self.wear.rate).sum(axis=1)
        return np.asarray(rate * self.ahead.increment(over) / over, dtype=float)

    def chance_that_it_wears(self) -> Floats:
        """Chance (n,) that the rate is towards the limit."""
        zero = np.zeros(len(self.limit))
        flipped = self.wear.rate * self.side[:, None]
        return chance_above(self.wear.weight, flipped, np.sqrt(self.wear.var_rate), zero)

    def _raw(self, hours: Floats) -> Floats:
        """The marginal chance, not yet made non-decreasing."""
        mean, sd = self.true_clearance(hours)
        side = self.side[:, None]
        chance = chance_above(self.wear.weight, side * mean, sd, self.side * self.limit)
        return np.where(np.isfinite(self.limit), chance, np.nan)

    @cached_property
    def _steps(self) -> Floats:
        """Hours (n, steps) from the last reading to the farthest, close together at first."""
        share = np.concatenate([[0.0], np.geomspace(1e-5, 1.0, _STEPS)])
        return np.asarray(self._farthest[:, None] * share, dtype=float)

    @cached_property
    def _greatest(self) -> Floats:
        """The greatest chance (n, steps) up to each step; NaN from where it cannot be told."""
        steps = self._steps
        width = max(1, _BLOCK // len(steps))
        chances = []
        for first in range(0, steps.shape[1], width):
            hours = steps[:, first : first + width]
            many = self.rows(np.repeat(np.arange(len(steps)), hours.shape[1]))
            chances.append(many._raw(hours.ravel()).reshape(hours.shape))
        return np.maximum.accumulate(np.concatenate(chances, axis=1), axis=1)
