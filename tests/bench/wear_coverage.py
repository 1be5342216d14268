"""How often the next reading falls into its band, on simulated fleets.

The wear is not the model's own: increments are gamma distributed, each position's
noise grows with its rate, and rates are log-normal within a family.  Over a grid of
12 cells (spread of the rates, noise of an interval, noise of the gauge) and families
of six sizes it prints how many of the next readings the 50, 80 and 90 % bands held
and the mean absolute error against that of the last interval's rate carried on, with
an oracle's error (true rate, true noise) beside it.

Run it with ``python tests/bench/wear_coverage.py``; it takes about a minute.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr

from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Codes, Floats, Histories
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

RATE_CV = (0.2, 0.4, 0.6)
INTERVAL_NOISE = (0.1, 0.4)  # sd of an interval's wear over its mean
GAUGE_NOISE = (0.02, 0.2)  # sd of a reading over an interval's mean wear
SIZES = (1, 3, 6, 12, 40, 200)
CLEARANCES = {1: 900, 3: 900, 6: 900, 12: 960, 40: 1200, 200: 3000}
INTERVAL_HOURS = 8000.0
RATE = 2e-5  # mm per hour
MISSTATED = 1.25  # a family's true gauge noise is 1/1.25 to 1.25 times the stated one
BANDS = (0.5, 0.8, 0.9)


@dataclass(frozen=True)
class Cell:
    """One kind of fleet."""

    rate_cv: float
    interval_noise: float
    gauge_noise: float


@dataclass(frozen=True)
class Fleet:
    """What was read, what is read next, and the truth behind it."""

    histories: Histories
    next_exposure: Floats
    next_value: Floats
    two_point: Floats
    oracle: Floats
    stated_u: Floats


def simulate(cell: Cell, size: int, seed: int) -> Fleet:
    """Clearances with 3-8 readings, half of them renewed once, then two or more readings."""
    draw = np.random.default_rng(seed)
    n = CLEARANCES[size]
    family = np.arange(n) // size
    sigma = np.sqrt(np.log1p(cell.rate_cv**2))
    rate = RATE * np.exp(sigma * draw.standard_normal(n) - sigma**2 / 2)
    gauge = cell.gauge_noise * RATE * INTERVAL_HOURS
    true_u = (gauge * MISSTATED ** draw.uniform(-1, 1, family[-1] + 1))[family]
    lengths = [
        (first, int(draw.integers(2, 9 - first))) if renewed else (int(draw.integers(3, 9)),)
        for renewed, first in zip(
            draw.random(n) < 0.5, (int(f) for f in draw.integers(1, 5, n)), strict=True
        )
    ]
    # the next reading of the current segment is drawn with the others, then kept apart
    drawn = [(*some[:-1], some[-1] + 1) for some in lengths]
    length = np.array([count for some in drawn for count in some])
    clearance = np.repeat(np.arange(n), [len(some) for some in drawn])
    segment = np.repeat(np.arange(len(length)), length)
    first = np.concatenate([[0], np.cumsum(length)[:-1]])
    opens = np.zeros(len(segment), dtype=bool)
    opens[first] = True
    owner = clearance[segment]
    hours = np.where(opens, 0.0, INTERVAL_HOURS * draw.uniform(0.6, 1.4, len(segment)))
    shape = np.where(opens, 1.0, hours / INTERVAL_HOURS / cell.interval_noise**2)
    scale = rate[owner] * INTERVAL_HOURS * cell.interval_noise**2
    wear = np.where(opens, 0.0, draw.gamma(shape) * scale)
    exposure, worn = _within(hours, first, length), _within(wear, first, length)
    begin = 0.2 + 0.05 * draw.standard_normal(len(length))
    truth = begin[segment] + worn
    value = truth + true_u[owner] * draw.standard_normal(len(segment))
    ahead = np.zeros(len(segment), dtype=bool)
    final = np.searchsorted(owner, np.arange(n), "right") - 1
    ahead[final] = True
    kept = ~ahead
    histories = Histories(
        value=value[kept],
        exposure=exposure[kept],
        uncertainty=np.full(np.count_nonzero(kept), gauge),
        at_least=np.zeros(np.count_nonzero(kept), dtype=bool),
        segment=segment[kept],
        clearance=clearance,
        start_value=np.full(len(length), np.nan),
        start_exposure=np.full(len(length), np.nan),
        family=family,
        assumed_share=np.zeros(family[-1] + 1),
    )
    last, before = final - 1, final - 2
    slope = (value[last] - value[before]) / (exposure[last] - exposure[before])
    distance = exposure[final] - exposure[last]
    level = _oracle_level(
        value - rate[owner] * exposure,
        hours,
        (first, length),
        ((cell.interval_noise * rate[owner]) ** 2 * INTERVAL_HOURS, true_u[owner] ** 2),
    )
    return Fleet(
        histories=histories,
        next_exposure=distance,
        next_value=value[final],
        two_point=value[last] + slope * distance,
        oracle=level[last] + rate * exposure[final],
        stated_u=np.full(n, gauge),
    )


def _within(steps: Floats, first: Codes, length: Codes) -> Floats:
    """Cumulated steps, each segment from 0."""
    total = np.cumsum(steps)
    return total - np.repeat(total[first] - steps[first], length)


def _oracle_level(
    flat: Floats, hours: Floats, segments: tuple[Codes, Codes], noise: tuple[Floats, Floats]
) -> Floats:
    """Best linear guess of the level by one who knows the rate and both noises."""
    first, length = segments
    level = flat.copy()
    spread = noise[1].copy()
    for rank in range(1, int(length.max())):
        row = first[length > rank] + rank
        ahead = spread[row - 1] + noise[0][row] * hours[row]
        gain = ahead / (ahead + noise[1][row])
        level[row] = level[row - 1] + gain * (flat[row] - level[row - 1])
        spread[row] = gain * noise[1][row]
    return level


def place_in_band(mixture: WearMixture, fleet: Fleet) -> tuple[Floats, Floats]:
    """Expected next reading, and the forecast probability of one not larger than was read."""
    d = fleet.next_exposure[:, None]
    mean = mixture.level + mixture.rate * d
    variance = mixture.var_level + 2 * mixture.cov_level_rate * d + mixture.var_rate * d**2
    variance += mixture.var_wear * d + (mixture.gauge_scale * fleet.stated_u[:, None]) ** 2
    below = ndtr((fleet.next_value[:, None] - mean) / np.sqrt(variance))
    return (
        np.sum(mixture.weight * mean, axis=1),
        np.sum(mixture.weight * below, axis=1),
    )


def run_cell(cell: Cell, size: int, seed: int) -> dict[str, float]:
    """Fit one simulated fleet and hold it against what is read next."""
    fleet = simulate(cell, size, seed)
    mean, place = place_in_band(wear_mixture(fit_wear(fleet.histories)), fleet)
    found = {
        "size": float(size),
        "rate_cv": cell.rate_cv,
        "interval": cell.interval_noise,
        "gauge": cell.gauge_noise,
    }
    for band in BANDS:
        found[f"held_{band:.0%}"] = float(np.mean(np.abs(place - 0.5) <= band / 2))
    error = float(np.mean(np.abs(fleet.next_value - mean)))
    by_two_points = float(np.mean(np.abs(fleet.next_value - fleet.two_point)))
    found["error_share"] = error / by_two_points
    found["oracle_share"] = float(np.mean(np.abs(fleet.next_value - fleet.oracle))) / by_two_points
    return found


def run(seed: int = 20240501) -> pd.DataFrame:
    """All cells and sizes, a row each."""
    cells = [Cell(*some) for some in itertools.product(RATE_CV, INTERVAL_NOISE, GAUGE_NOISE)]
    return pd.DataFrame(
        run_cell(cell, size, seed + 100 * number + size)
        for size in SIZES
        for number, cell in enumerate(cells)
    )


def by_size(table: pd.DataFrame) -> pd.DataFrame:
    """Mean over the cells for each size of family, and the extremes of the 90 % band."""
    columns = [name for name in table.columns if name.startswith("held") or "share" in name]
    means = table.groupby("size")[columns].mean()
    means["least_90%"] = table.groupby("size")["held_90%"].min()
    means["most_90%"] = table.groupby("size")["held_90%"].max()
    wide, tight = (0.85, 0.95, 0.80), (0.88, 0.92, 0.75)
    goals = np.array([tight if size >= 200 else wide for size in means.index])
    goals[means.index >= 40, 2] = 0.75
    held = means["held_90%"].between(goals[:, 0], goals[:, 1])
    cells = (means["least_90%"] >= 0.80) & (means["most_90%"] <= 0.99)
    return means.assign(goals_met=held & cells & (means["error_share"] <= goals[:, 2]))


def main() -> None:
    """Print the table and, for each size of family, its mean over the cells."""
    table = run()
    print(table.to_string(index=False, float_format="{:.3f}".format))
    print(by_size(table).to_string(float_format="{:.3f}".format))


if __name__ == "__main__":
    main()
