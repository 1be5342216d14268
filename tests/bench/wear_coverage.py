"""How often the next reading falls into its band, on simulated fleets.

Over a grid of 12 cells (spread of the rates, noise of an interval, noise of the gauge)
and families of six sizes it prints how many of the next readings the 50, 80 and 90 %
bands held and the mean absolute error against that of the last interval's rate carried
on, with an oracle's error (true rate, true noise) beside it.  Then, apart, the same for
fleets that the model does not know: where the promise breaks, and how far.

Run it with ``python tests/bench/wear_coverage.py``; it takes some seconds.
"""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd
from fleets import Cell, Departure, Fleet, simulate
from scipy.special import ndtr

from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

RATE_CV = (0.2, 0.4, 0.6)
INTERVAL_NOISE = (0.1, 0.4)
GAUGE_NOISE = (0.02, 0.2)
CLEARANCES = {1: 900, 3: 900, 6: 900, 12: 960, 40: 1200, 200: 3000}
OUTSIDE = {
    "as the model has it": Cell(0.4, 0.25, 0.1),
    "interval noise 100 %": Cell(0.4, 1.0, 0.1),
    **{
        departure.value: Cell(0.4, 0.25, 0.1, departure)
        for departure in Departure
        if departure is not Departure.NONE
    },
}
OUTSIDE_SIZES = (6, 40, 200)
BANDS = (0.5, 0.8, 0.9)


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
    fleet = simulate(cell, CLEARANCES[size], size, seed)
    mean, place = place_in_band(wear_mixture(fit_wear(fleet.histories)), fleet)
    found = {f"held_{band:.0%}": float(np.mean(np.abs(place - 0.5) <= band / 2)) for band in BANDS}
    found["below_5%"], found["above_95%"] = np.mean(place < 0.05), np.mean(place > 0.95)
    error = float(np.mean(np.abs(fleet.next_value - mean)))
    by_two_points = float(np.mean(np.abs(fleet.next_value - fleet.two_point)))
    found["error_share"] = error / by_two_points
    found["oracle_share"] = float(np.mean(np.abs(fleet.next_value - fleet.oracle))) / by_two_points
    return found


def run(seed: int = 20240501) -> pd.DataFrame:
    """All cells and sizes, a row each."""
    cells = [Cell(*some) for some in itertools.product(RATE_CV, INTERVAL_NOISE, GAUGE_NOISE)]
    return pd.DataFrame(
        {
            "size": size,
            "rate_cv": cell.rate_cv,
            "interval": cell.interval_noise,
            "gauge": cell.gauge_noise,
            **run_cell(cell, size, seed + 100 * number + size),
        }
        for size in CLEARANCES
        for number, cell in enumerate(cells)
    )


def by_size(table: pd.DataFrame) -> pd.DataFrame:
    """Mean over the cells for each size of family, and the extremes of the 90 % band."""
    columns = [name for name in table.columns if name.startswith("held") or "share" in name]
    means = table.groupby("size")[columns].mean()
    means["least_90%"] = table.groupby("size")["held_90%"].min()
    means["most_90%"] = table.groupby("size")["held_90%"].max()
    error = np.where(means.index >= 40, 0.75, 0.80)
    held = means["held_90%"].between(0.88, 0.94)
    cells = (means["least_90%"] >= 0.80) & (means["most_90%"] <= 0.99)
    return means.assign(goals_met=held & cells & (means["error_share"] <= error))


def run_outside(seed: int = 20240601) -> pd.DataFrame:
    """Fleets the model does not know; the oracle does not know them either."""
    rows = [
        {"fleet": name, "size": size, **run_cell(cell, size, seed + 100 * number + size)}
        for number, (name, cell) in enumerate(OUTSIDE.items())
        for size in OUTSIDE_SIZES
    ]
    table = pd.DataFrame(rows).drop(columns="oracle_share")
    return table.assign(promise=np.where(table["held_90%"].between(0.85, 0.95), "holds", "breaks"))


def main() -> None:
    """Print the grid, its means for each size of family, and the fleets outside the model."""
    table = run()
    for frame in (table.set_index("size"), by_size(table), run_outside().set_index("fleet")):
        print(frame.to_string(float_format="{:.3f}".format), end="\n\n")


if __name__ == "__main__":
    main()
