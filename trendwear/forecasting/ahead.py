"""How much exposure the coming hours bring, at the planned starts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trendwear.fit.family_fit import FamilyFit
from trendwear.forecasting.clock import Clock
from trendwear.segments.histories import Histories

__all__ = ["Ahead", "ahead_of", "plain_hours"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Ahead:
    """Exposure of ``n`` clearances after their last readings.

    ``d(h) = scale ((age + per_hour h)^power - age^power)``

    Attributes
    ----------
    age : ndarray, shape (n,)
        Hours since renewal at the last reading, with what its starts were worth.
    per_hour : ndarray, shape (n,)
        Hours of wear that one coming hour brings: 1 + k starts per hour.
    power, scale : ndarray, shape (n,)
        Shape of the family's wear; 1 and 1 where it is straight.
    """

    age: Floats
    per_hour: Floats
    power: Floats
    scale: Floats

    def increment(self, hours: Floats) -> Floats:
        """Exposure (n,) or (n, m) gained ``hours`` after the last reading."""
        wide = (slice(None), *([None] * (np.ndim(hours) - 1)))
        age, power = self.age[wide], self.power[wide]
        run = self.per_hour[wide] * hours
        # Straight wear without taking one large number from another.
        bent = (age + run) ** power - age**power
        gained = np.where(power == 1.0, run, bent)
        return np.asarray(self.scale[wide] * gained, dtype=float)

    def growth(self, hours: Floats) -> Floats:
        """Exposure (n,) per hour, ``hours`` (n,) after the last reading."""
        with np.errstate(divide="ignore"):
            bent = self.power * (self.age + self.per_hour * hours) ** (self.power - 1.0)
        straight = self.power == 1.0
        return np.asarray(self.scale * self.per_hour * np.where(straight, 1.0, bent), dtype=float)

    def hours_for(self, gained: Floats) -> Floats:
        """Hours (n,) after the last reading that bring so much exposure (n,)."""
        unscaled = gained / self.scale
        bent = (self.age**self.power + unscaled) ** (1.0 / self.power) - self.age
        run = np.where(self.power == 1.0, unscaled, bent)
        return np.asarray(run / self.per_hour, dtype=float)

    def at(self, rows: NDArray[np.int64] | slice) -> Ahead:
        """The same for some of the clearances."""
        return Ahead(self.age[rows], self.per_hour[rows], self.power[rows], self.scale[rows])


def plain_hours(count: int) -> Ahead:
    """Exposure in running hours themselves."""
    one = np.ones(count)
    return Ahead(np.zeros(count), one, one, one)


def ahead_of(families: FamilyFit, cut: Histories, clocks: dict[str, Clock]) -> Ahead:
    """Return the exposure ahead of every position, in the shape of its family's wear."""
    shape, family = families.shape, families.family
    worth = shape.hours_per_start[family]
    last = families.data.last
    starts = np.where(worth > 0, worth * last["starts"].to_numpy(dtype=float), 0.0)
    planned = np.array([clocks[machine].starts_per_hour for machine in cut.positions["machine"]])
    return Ahead(
        age=last["hours"].fillna(0.0).to_numpy(dtype=float) + starts,
        per_hour=1.0 + np.where(worth > 0, worth * planned, 0.0),
        power=shape.power[family],
        scale=shape.scale[family],
    )
