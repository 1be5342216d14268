"""Several clearances together: the chance that any of them is past its limit.

With ``P_i(h)`` the chance that clearance i is past its limit after ``h`` running hours from
now, and ``f_j``, ``w_j`` the nodes of the duty's one factor common to all future time,

    P_any(H) = sum_j w_j (1 - prod_i (1 - P_i(f_j H)))

after ``H`` planned hours.  The product stands inside the average: a machine that runs more
than planned wears all its clearances more.

A clearance limited both ways is one part: past the upper and past the lower limit exclude
each other, so its chance is the sum of both.  Each of the two only rises (wear does not
heal), so what was past one way early on still counts, and is counted once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import duty_factors, duty_weights

__all__ = ["Together", "none_of"]

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]

_HALVINGS: Final = 40


@dataclass(frozen=True)
class Together:
    """``n`` clearances in ``m`` groups, each group looked at as one.

    Attributes
    ----------
    crossing : Crossing
        Of the clearances, all with a level, a rate and a limit; ``run`` holds the hours
        since each one's last reading, as of now.
    group : ndarray of int, shape (n,)
        The group of each, 0 to m - 1.
    factors : ndarray, shape (m, nodes)
        What the planned hours of a group are multiplied by to give those really run.
    weights : ndarray, shape (nodes,)
    part : ndarray, shape (n,), optional
        What names the part of each: rows of one group and part are the ways in which one
        clearance is limited.  By default each row is a part of its own.
    """

    crossing: Crossing
    group: Codes
    factors: Floats
    weights: Floats
    part: Codes | None = None

    @classmethod
    def in_hours(cls, crossing: Crossing, group: Codes, groups: int) -> Together:
        """Count in hours really run: no spread of the duty."""
        return cls(crossing, group, np.ones((groups, 1)), np.ones(1))

    @classmethod
    def as_planned(cls, crossing: Crossing, group: Codes, spread: Floats) -> Together:
        """Count in planned hours; ``spread`` (m,) is the duty's relative standard deviation."""
        return cls(crossing, group, duty_factors(spread), duty_weights())

    def by_part(self, part: ArrayLike) -> Together:
        """The same, with the part of each row told."""
        return replace(self, part=np.asarray(part, dtype=np.int64))

    def at_nodes(self, hours: Floats) -> Floats:
        """Chance (n, nodes) of each clearance past its limit after ``hours`` (m,)."""
        run = self.crossing.run
        each = [self._chance(run + (hours * factor)[self.group]) for factor in self.factors.T]
        return np.stack(each, axis=1)

    def each(self, hours: Floats) -> Floats:
        """Chance (n,) of each clearance past its limit after ``hours`` (m,), averaged."""
        return np.asarray(self.at_nodes(hours) @ self.weights, dtype=float)

    def any(self, hours: Floats) -> Floats:
        """Chance (m,) that any clearance of a group is past its limit after ``hours`` (m,)."""
        none = none_of(self.at_nodes(hours), self.group, len(self.factors), self.part)
        return np.asarray((1.0 - none) @ self.weights, dtype=float)

    def latest(self, risk: Floats) -> Floats:
        """Last hours (m,) from now at which the chance of any does not exceed ``risk`` (m,).

        NaN where it does so now; `FARTHEST_HOURS` or more where it never does within reach.
        """
        plain = self._plain
        groups = len(self.factors)
        now, far = np.zeros(groups), np.full(groups, FARTHEST_HOURS)
        above, never = ~(plain.any(now) <= risk), plain.any(far) <= risk
        low, high = plain._between(risk, now, far)
        if self.factors.shape[1] > 1:
            low, high = self._between(
                risk, low / self.factors.max(axis=1), high / self.factors.min(axis=1)
            )
        return np.where(above, np.nan, np.where(never, FARTHEST_HOURS, low))

    def _between(self, risk: Floats, low: Floats, high: Floats) -> tuple[Floats, Floats]:
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            held = self.any(middle) <= risk
            low, high = np.where(held, middle, low), np.where(held, high, middle)
        return low, high

    @property
    def _plain(self) -> Together:
        if self.factors.shape[1] == 1:
            return self
        factors, weights = np.ones((len(self.factors), 1)), np.ones(1)
        return replace(self, factors=factors, weights=weights)

    def _chance(self, hours: Floats) -> Floats:
        """Chance (n,) of each, ``hours`` (n,) after its last reading."""
        chance = np.empty(len(hours))
        rising, falling = self._parts
        rises = self.crossing.rises
        if rising is not None:
            chance[rises] = rising.chance_at(hours[rises])
        if falling is not None:
            chance[~rises] = falling.chance_by_steps(hours[~rises])
        return chance

    @cached_property
    def _parts(self) -> tuple[Crossing | None, Crossing | None]:
        """Clearances whose chance only rises, and those whose chance may fall back."""
        rises = self.crossing.rises
        parts = [
            self.crossing.rows(np.flatnonzero(which)) if which.any() else None
            for which in (rises, ~rises)
        ]
        return parts[0], parts[1]


def none_of(chances: Floats, group: Codes, groups: int, part: Codes | None = None) -> Floats:
    """Return the chance (groups, nodes) that none of a group's things happens.

    Parameters
    ----------
    chances : ndarray, shape (n, nodes)
        Parts are independent of one another at each node; what shares group and part
        excludes each other, and adds up.
    group : ndarray of int, shape (n,)
    groups : int
    part : ndarray of int, shape (n,), optional
        By default each row is a part of its own.
    """
    if part is not None:
        chances, group = _parts_of(chances, group, part)
    with np.errstate(divide="ignore"):
        logs = np.log1p(-np.minimum(chances, 1.0))
    return np.exp(_sums(logs, group, groups))


def _parts_of(chances: Floats, group: Codes, part: Codes) -> tuple[Floats, Codes]:
    """Chances (parts, nodes) of the parts of each group, and the group of each part."""
    both = np.column_stack([group, part])
    kinds, code = np.unique(both, axis=0, return_inverse=True)
    if len(kinds) == len(both):
        return chances, group
    return _sums(chances, code.ravel(), len(kinds)), kinds[:, 0]


def _sums(values: Floats, code: Codes, count: int) -> Floats:
    """Sums (count, nodes) of the rows (n, nodes) of each code."""
    each = [np.bincount(code, weights=column, minlength=count) for column in values.T]
    return np.stack(each, axis=1)
