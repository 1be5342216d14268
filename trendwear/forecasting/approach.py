"""How near clearances are to their limits, component by component, over coming exposure.

After an exposure ``d`` a component of the mixture lies

    z(d) = (gap + rate d) / sqrt(var + slope d + bend d^2)

standard deviations past the limit.  The sign of ``z'(d)`` is that of ``s0 + s1 d`` with

    s0 = rate var - gap slope / 2,     s1 = rate slope / 2 - gap bend,

so one component turns at most once; and ``z(d) = c`` is a quadratic in ``d``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from trendwear.forecasting.mixtures import in_sds, standardised
from trendwear.forecasting.root import rising_root
from trendwear.wear.state import WearMixture

__all__ = ["Approach", "approach_of"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

_WIDER = 1e-6
"""A bracket of closed forms is widened by this share, for their rounding."""


@dataclass(frozen=True)
class Approach:
    """Mixtures (n, K) of normals on their way to a limit; past it is positive."""

    weight: Floats
    gap: Floats
    rate: Floats
    var: Floats
    slope: Floats
    bend: Floats

    def at(self, rows: Flags | NDArray[np.int64]) -> Approach:
        """The same for some of the clearances."""
        return Approach(
            self.weight[rows],
            self.gap[rows],
            self.rate[rows],
            self.var[rows],
            self.slope[rows],
            self.bend[rows],
        )

    def chance_and_slope(self, gained: Floats) -> tuple[Floats, Floats]:
        """Chance (n,) to be past the limit after so much exposure, and its growth with that."""
        d = gained[:, None]
        past, sd = self._moments(d)
        z = standardised(past, sd)
        chance = (self.weight * ndtr(z)).sum(axis=1)
        # z' = (rate - z sd') / sd,  2 sd sd' = slope + 2 bend d
        with np.errstate(divide="ignore", invalid="ignore"):
            turn = (self.rate - z * (0.5 * self.slope + self.bend * d) / sd) / sd
            density = np.exp(-0.5 * z * z) * turn
        grows = (self.weight * density).sum(axis=1) / np.sqrt(2 * np.pi)
        return np.asarray(chance, dtype=float), np.asarray(grows, dtype=float)

    def _moments(self, d: Floats) -> tuple[Floats, Floats]:
        past = self.rate * d
        past += self.gap
        var = self.bend * d
        var += self.slope
        var *= d
        var += self.var
        return past, np.sqrt(np.maximum(var, 0.0, out=var), out=var)

    def _turns(self) -> tuple[Floats, Floats]:
        half = 0.5 * self.slope
        return self.rate * self.var - self.gap * half, self.rate * half - self.gap * self.bend

    def only_rises(self) -> Flags:
        """Whether (n,) no component ever falls back."""
        first, further = self._turns()
        up: Flags = (((first >= 0) & (further >= 0)) | (self.weight == 0)).all(axis=1)
        return up

    def never_above_first(self, gained: Floats) -> Flags:
        """Whether (n,) no component comes past where it stands now, up to an exposure (n,)."""
        first, _ = self._turns()
        nothing = np.zeros((len(gained), 1))
        now = standardised(*self._moments(nothing))
        then = standardised(*self._moments(gained[:, None]))
        below: Flags = (((first <= 0) & (then <= now)) | (self.weight == 0)).all(axis=1)
        return below

    def exposure_at(self, q: float, farthest: Floats) -> Floats:
        """Exposure (n,) at which the chance comes to ``q``, where it only rises.

        The chance must be below ``q`` now and not below it at ``farthest`` (n,).
        """
        c = float(ndtri(q))
        each = np.clip(self._component_exposure(c), 0.0, farthest[:, None])
        # between the first and the last component, the mixture
        ignored = self.weight == 0
        low = np.where(ignored, np.inf, each).min(axis=1) * (1 - _WIDER)
        high = np.where(ignored, 0.0, each).max(axis=1) * (1 + _WIDER)
        with np.errstate(divide="ignore", invalid="ignore"):
            start = 1.0 / np.where(ignored, 0.0, self.weight / each).sum(axis=1)

        def of(gained: Floats, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
            mine = self if len(rows) == len(start) else self.at(rows)
            return in_sds(*mine.chance_and_slope(gained), c)

        return rising_root(of, (low, high), start, np.zeros(len(start)))

    def _component_exposure(self, c: float) -> Floats:
        """Where each component (n, K) comes to ``z = c``; inf where it never does."""
        square = self.rate**2 - c**2 * self.bend
        half = self.rate * self.gap - 0.5 * c**2 * self.slope
        rest = self.gap**2 - c**2 * self.var
        with np.errstate(divide="ignore", invalid="ignore"):
            root = -(half + np.copysign(np.sqrt(half**2 - square * rest), half))
            found = np.full(self.gap.shape, np.inf)
            for candidate in (root / square, rest / root):
                # squaring also solved z = -c
                right = (candidate > 0) & ((self.gap + self.rate * candidate) * c >= 0)
                found = np.where(right, np.minimum(found, candidate), found)
            if c == 0:
                found = np.where(self.rate > 0, -self.gap / self.rate, np.inf)
            begun = standardised(self.gap, np.sqrt(self.var)) >= c
        return np.where(begun, 0.0, found)


def approach_of(wear: WearMixture, limit: Floats, side: Floats) -> Approach:
    """Lay mixtures out against a limit (n,), past being above it (side 1) or below (-1)."""
    sign = side[:, None]
    return Approach(
        weight=wear.weight,
        gap=sign * (wear.level - limit[:, None]),
        rate=sign * wear.rate,
        var=wear.var_level,
        slope=2 * wear.cov_level_rate + wear.var_wear,
        bend=wear.var_rate,
    )
