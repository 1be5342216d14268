"""Simulated fleets whose wear is not the model's own, and what is read of them.

Increments are gamma distributed, each position's noise grows with its rate, and rates
are log-normal within a family.  Departures take a fleet further from the model: what
hardly wears, an upset that all share, hours written down wrongly, wear by starts that
nobody counted.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from trendwear.wear.histories import Codes, Flags, Floats, Histories

__all__ = ["INTERVAL_HOURS", "RATE", "Cell", "Departure", "Fleet", "coming_wear", "simulate"]

INTERVAL_HOURS = 8000.0
RATE = 2e-5  # mm per hour
MISSTATED = 1.25  # a family's true gauge noise is 1/1.25 to 1.25 times the stated one

HARDLY = 0.01  # of the usual rate
UPSET = 2.0  # mean intervals' wear at one blow
WRONG_HOURS = 0.2  # standard deviation of log hours written over log hours run
BY_STARTS = 0.5  # share of the wear that comes from starts
STARTS_VARY = 0.6  # standard deviation of log starts of an interval


class Departure(Enum):
    """What the model does not know of a fleet."""

    NONE = "none"
    HARDLY_WEARS = "hardly wears"
    UPSET_BEFORE = "shared upset before the last reading"
    UPSET_AFTER = "shared upset after the last reading"
    WRONG_HOURS = "20 % wrong hours"
    STARTS_IGNORED = "half the wear by uncounted starts"


@dataclass(frozen=True)
class Cell:
    """One kind of fleet."""

    rate_cv: float
    interval_noise: float
    """Standard deviation of an interval's wear over its mean."""
    gauge_noise: float
    """Standard deviation of a reading over an interval's mean wear."""
    departure: Departure = Departure.NONE


@dataclass(frozen=True)
class Fleet:
    """What was read, what is read next, and the truth behind it; arrays are (n,)."""

    histories: Histories
    rate: Floats
    last_value: Floats
    last_truth: Floats
    next_exposure: Floats
    """After the last reading."""
    next_value: Floats
    two_point_rate: Floats
    """That of the last interval."""
    oracle: Floats
    """Next reading as one expects it who knows the rate and both noises."""
    stated_u: Floats

    @property
    def two_point(self) -> Floats:
        """Next reading, the last interval's rate carried on."""
        carried: Floats = self.last_value + self.two_point_rate * self.next_exposure
        return carried


@dataclass(frozen=True)
class _Frame:
    """Readings in segments in clearances: who owns what, and where each begins and ends."""

    clearance: Codes
    segment: Codes
    first: Codes
    length: Codes
    final: Codes
    """(n,) row of each clearance's next reading, drawn with the others."""

    @property
    def opens(self) -> Flags:
        opens = np.zeros(len(self.segment), dtype=bool)
        opens[self.first] = True
        return opens

    @property
    def owner(self) -> Codes:
        return self.clearance[self.segment]

    def within(self, steps: Floats) -> Floats:
        """Cumulated steps, each segment from 0."""
        total = np.cumsum(steps)
        summed: Floats = total - np.repeat(total[self.first] - steps[self.first], self.length)
        return summed


def simulate(cell: Cell, clearances: int, size: int, seed: int) -> Fleet:
    """Clearances with 3-8 readings, half of them renewed once, then two or more readings."""
    draw = np.random.default_rng(seed)
    family = np.arange(clearances) // size
    sigma = np.sqrt(np.log1p(cell.rate_cv**2))
    usual = RATE * (HARDLY if cell.departure is Departure.HARDLY_WEARS else 1.0)
    rate = usual * np.exp(sigma * draw.standard_normal(clearances) - sigma**2 / 2)
    gauge = cell.gauge_noise * RATE * INTERVAL_HOURS
    true_u = (gauge * MISSTATED ** draw.uniform(-1, 1, family[-1] + 1))[family]
    frame = _frame(draw, clearances)
    owner, opens = frame.owner, frame.opens
    hours = np.where(opens, 0.0, INTERVAL_HOURS * draw.uniform(0.6, 1.4, len(owner)))
    shape = np.where(opens, 1.0, hours / INTERVAL_HOURS / cell.interval_noise**2)
    scale = rate[owner] * INTERVAL_HOURS * cell.interval_noise**2
    wear = np.where(opens, 0.0, draw.gamma(shape) * scale)
    begin = 0.2 + 0.05 * draw.standard_normal(len(frame.length))
    noise = true_u[owner] * draw.standard_normal(len(owner))
    wear, written = _depart(
        cell.departure, (wear, hours), frame, np.random.default_rng(~seed % 2**32)
    )
    exposure = frame.within(written)
    truth = begin[frame.segment] + frame.within(wear)
    value = truth + noise
    last, before = frame.final - 1, frame.final - 2
    level = _oracle_level(
        value - rate[owner] * exposure,
        written,
        frame,
        ((cell.interval_noise * rate[owner]) ** 2 * INTERVAL_HOURS, true_u[owner] ** 2),
    )
    return Fleet(
        histories=_histories(frame, value, exposure, (family, gauge)),
        rate=rate,
        last_value=value[last],
        last_truth=truth[last],
        next_exposure=exposure[frame.final] - exposure[last],
        next_value=value[frame.final],
        two_point_rate=(value[last] - value[before]) / (exposure[last] - exposure[before]),
        oracle=level[last] + rate * exposure[frame.final],
        stated_u=np.full(clearances, gauge),
    )


def coming_wear(fleet: Fleet, cell: Cell, hours: Floats, seed: int) -> Floats:
    """True wear (n, len(hours)) after the last reading, on a path of gamma increments."""
    draw = np.random.default_rng(seed)
    steps = np.diff(hours, prepend=0.0)
    shape = steps / INTERVAL_HOURS / cell.interval_noise**2
    scale = fleet.rate[:, None] * INTERVAL_HOURS * cell.interval_noise**2
    worn: Floats = np.cumsum(
        draw.standard_gamma(np.broadcast_to(shape, (len(fleet.rate), len(steps)))) * scale, axis=1
    )
    return worn


def _frame(draw: np.random.Generator, clearances: int) -> _Frame:
    lengths = [
        (first, int(draw.integers(2, 9 - first))) if renewed else (int(draw.integers(3, 9)),)
        for renewed, first in zip(
            draw.random(clearances) < 0.5,
            (int(f) for f in draw.integers(1, 5, clearances)),
            strict=True,
        )
    ]
    # the next reading of the current segment is drawn with the others, then kept apart
    drawn = [(*some[:-1], some[-1] + 1) for some in lengths]
    length = np.array([count for some in drawn for count in some])
    clearance = np.repeat(np.arange(clearances), [len(some) for some in drawn])
    segment = np.repeat(np.arange(len(length)), length)
    first = np.cumsum(length) - length
    final = np.searchsorted(clearance[segment], np.arange(clearances), "right") - 1
    return _Frame(clearance, segment, first, length, final)


def _depart(
    departure: Departure,
    steps: tuple[Floats, Floats],
    frame: _Frame,
    draw: np.random.Generator,
) -> tuple[Floats, Floats]:
    """Wear and written hours of each interval, where the model is wrong of them."""
    wear, hours = steps
    if departure is Departure.WRONG_HOURS:
        return wear, hours * np.exp(WRONG_HOURS * draw.standard_normal(len(hours)))
    if departure is Departure.STARTS_IGNORED:
        starts = np.exp(STARTS_VARY * draw.standard_normal(len(hours)) - STARTS_VARY**2 / 2)
        return wear * (1 - BY_STARTS + BY_STARTS * starts), hours
    struck = {Departure.UPSET_BEFORE: frame.final - 1, Departure.UPSET_AFTER: frame.final}
    if departure in struck:
        wear = wear.copy()
        blow = np.exp(0.3 * draw.standard_normal(len(frame.final)))
        wear[struck[departure]] += UPSET * RATE * INTERVAL_HOURS * blow
    return wear, hours


def _histories(
    frame: _Frame, value: Floats, exposure: Floats, stated: tuple[Codes, float]
) -> Histories:
    """All readings but the next ones."""
    family, gauge = stated
    kept = np.ones(len(value), dtype=bool)
    kept[frame.final] = False
    readings = int(np.count_nonzero(kept))
    return Histories(
        value=value[kept],
        exposure=exposure[kept],
        uncertainty=np.full(readings, gauge),
        at_least=np.zeros(readings, dtype=bool),
        segment=frame.segment[kept],
        clearance=frame.clearance,
        start_value=np.full(len(frame.length), np.nan),
        start_exposure=np.full(len(frame.length), np.nan),
        family=family,
        assumed_share=np.zeros(family[-1] + 1),
    )


def _oracle_level(
    flat: Floats, hours: Floats, frame: _Frame, noise: tuple[Floats, Floats]
) -> Floats:
    """Best linear guess of the level by one who knows the rate and both noises."""
    level = flat.copy()
    spread = noise[1].copy()
    for rank in range(1, int(frame.length.max())):
        row = frame.first[frame.length > rank] + rank
        ahead = spread[row - 1] + noise[0][row] * hours[row]
        gain = ahead / (ahead + noise[1][row])
        level[row] = level[row - 1] + gain * (flat[row] - level[row - 1])
        spread[row] = gain * noise[1][row]
    return level
