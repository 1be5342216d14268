"""When clearances really pass their limits, against when they were forecast to.

Simulated fleets as in ``wear_coverage.py``; each clearance has a limit from a third of
an interval's wear to five intervals' wear above its last reading, and wears on along a
path of gamma increments until it passes it or `FARTHEST_HOURS` are over.  Printed are

- how many true crossings fell between the hours of 5 and 95 % chance.  Where the chance
  never comes to 95 % the band is open: it holds any later hour and never.  What has not
  crossed within reach counts as later than any hour;
- how often the limit was passed by the horizon (one and two intervals), by tenths of
  the forecast chance;
- the Brier score of that chance (mean squared difference from 0 or 1) beside those of
  two simpler rules: the last interval's rate carried on (which says yes or no) and the
  own-data line with its standard error.

Run it with ``python tests/bench/crossing_coverage.py``; it takes half a minute.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import pandas as pd
from fleets import INTERVAL_HOURS, RATE, Cell, Fleet, coming_wear, simulate
from scipy import stats

from trendwear.fit.own_line import fit_line
from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Flags, Floats, Histories
from trendwear.wear.mixture import wear_mixture

RATE_CV = (0.2, 0.4, 0.6)
INTERVAL_NOISE = (0.1, 0.4)
GAUGE_NOISE = (0.02, 0.2)
SIZES = (1, 6, 40, 200)
CLEARANCES = 600
NEAREST, FARTHEST = 0.33, 5.0  # limits above the last reading, in mean intervals' wear
PATH_HOURS = np.linspace(100.0, FARTHEST_HOURS, 2000)
HORIZONS = (INTERVAL_HOURS, 2 * INTERVAL_HOURS)
TENTHS = 10


@dataclass(frozen=True)
class Outcome:
    """What came of one fleet: a row a clearance, chances a row a clearance and horizon."""

    early: Flags
    late: Flags
    open_band: Flags
    never: Flags
    chances: pd.DataFrame
    """``chance``, ``two_point``, ``own_line`` that the limit was passed; ``passed``."""


def run_cell(cell: Cell, size: int, seed: int) -> Outcome:
    """Forecast one fleet's crossings and let it wear on."""
    clearances = -(-CLEARANCES // size) * size
    fleet = simulate(cell, clearances, size, seed)
    draw = np.random.default_rng(seed + 1)
    above = RATE * INTERVAL_HOURS * draw.uniform(NEAREST, FARTHEST, clearances)
    limit = fleet.last_value + above
    crossing = Crossing(
        wear=wear_mixture(fit_wear(fleet.histories)),
        limit=limit,
        side=np.ones(clearances),
        run=np.zeros(clearances),
        ahead=plain_hours(clearances),
    )
    worn = coming_wear(fleet, cell, PATH_HOURS, seed + 2)
    truth = fleet.last_truth[:, None] + worn
    crossed = _first_crossing(truth, fleet.last_truth, limit)
    low, high = crossing.hours_at(0.05), crossing.hours_at(0.95)
    return Outcome(
        early=crossed < np.where(np.isnan(low), np.inf, low),
        late=crossed > np.where(np.isnan(high), np.inf, high),
        open_band=np.isnan(high),
        never=np.isinf(crossed),
        chances=pd.concat(
            [_chances(fleet, crossing, truth, horizon) for horizon in HORIZONS], ignore_index=True
        ),
    )


def _first_crossing(truth: Floats, begin: Floats, limit: Floats) -> Floats:
    """Hours (n,) to the limit along the path; inf where it is not passed within reach."""
    past = truth > limit[:, None]
    at = past.argmax(axis=1)
    rows = np.arange(len(limit))
    after = truth[rows, at]
    before = np.where(at > 0, truth[rows, np.maximum(at - 1, 0)], begin)
    step = PATH_HOURS[1] - PATH_HOURS[0]
    share = np.clip((limit - before) / np.maximum(after - before, 1e-12), 0.0, 1.0)
    hours = np.maximum(PATH_HOURS[at] - step * (1 - share), 0.0)
    hours = np.where(begin > limit, 0.0, hours)
    return np.where(past.any(axis=1), hours, np.inf)


def _chances(fleet: Fleet, crossing: Crossing, truth: Floats, horizon: float) -> pd.DataFrame:
    limit = crossing.limit
    carried = fleet.last_value + fleet.two_point_rate * horizon
    return pd.DataFrame(
        {
            "horizon": horizon,
            "chance": crossing.chance_at(np.full(len(limit), horizon)),
            "two_point": (carried > limit).astype(float),
            "own_line": _own_line_chances(fleet.histories, limit, horizon),
            "passed": truth[:, np.searchsorted(PATH_HOURS, horizon)] > limit,
        }
    )


def _own_line_chances(histories: Histories, limit: Floats, horizon: float) -> Floats:
    """What each clearance's own-data line says of its chance."""
    owner = histories.clearance[histories.segment]
    bounds = np.searchsorted(owner, np.arange(len(limit) + 1))
    chances = np.empty(len(limit))
    for clearance, (first, stop) in enumerate(itertools.pairwise(bounds)):
        rows = slice(first, stop)
        segment, exposure = histories.segment[rows], histories.exposure[rows]
        line = fit_line(exposure, histories.value[rows], histories.uncertainty[rows], segment, {})
        mean, error = line.predict(exposure[-1:] + horizon, int(segment[-1]))
        z = (mean[0] - limit[clearance]) / error[0]
        chances[clearance] = stats.t.cdf(z, line.t_dof) if line.dof > 0 else stats.norm.cdf(z)
    return chances


def bands(outcomes: pd.Series) -> pd.DataFrame:
    """How many true crossings each size of family's and each cell's bands held."""
    rows = [
        {
            "held": 1 - np.mean(found.early | found.late),
            "early": np.mean(found.early),
            "late": np.mean(found.late),
            "band_open": np.mean(found.open_band),
            "never_crossed": np.mean(found.never),
        }
        for found in outcomes
    ]
    table = pd.DataFrame(rows, index=outcomes.index)
    means = table.groupby("size").mean()
    means["least"] = table.groupby("size")["held"].min()
    means["most"] = table.groupby("size")["held"].max()
    return means.assign(goal_met=means["held"].between(0.85, 0.95))


def reliability(chances: pd.DataFrame) -> pd.DataFrame:
    """How often the limit was passed, by tenths of the forecast chance."""
    tenth = np.minimum((chances["chance"] * TENTHS).astype(int), TENTHS - 1)
    table = chances.groupby(tenth).agg(
        forecasts=("chance", "size"), said=("chance", "mean"), happened=("passed", "mean")
    )
    error = np.sqrt(table["said"] * (1 - table["said"]) / table["forecasts"])
    table["off_in_sds"] = (table["happened"] - table["said"]) / error
    table.index = [f"{tenth / TENTHS:.0%}-{(tenth + 1) / TENTHS:.0%}" for tenth in table.index]
    return table


def brier(chances: pd.DataFrame) -> pd.DataFrame:
    """Brier scores for each size of family and horizon; less is better."""
    keys = ["size", "horizon"]
    rules = ["chance", "two_point", "own_line"]
    scored = chances[keys].copy()
    for rule in rules:
        scored[rule] = (chances[rule] - chances["passed"]) ** 2
    usual = chances.groupby(keys)["passed"].transform("mean")
    scored["share_of_all"] = (usual - chances["passed"]) ** 2
    table = scored.groupby(keys).mean()
    return table.assign(
        goal_met=(table["chance"] < table["two_point"]) & (table["chance"] < table["own_line"])
    )


def run(seed: int = 20240701) -> tuple[pd.Series, pd.DataFrame]:
    """All cells and sizes: outcomes, and all their chances in one frame."""
    cells = [Cell(*some) for some in itertools.product(RATE_CV, INTERVAL_NOISE, GAUGE_NOISE)]
    keys = pd.MultiIndex.from_product([SIZES, range(len(cells))], names=["size", "cell"])
    outcomes = pd.Series(
        [run_cell(cells[cell], size, seed + 1000 * cell + size) for size, cell in keys], index=keys
    )
    chances = pd.concat(
        [found.chances.assign(size=size) for (size, _), found in outcomes.items()],
        ignore_index=True,
    )
    return outcomes, chances


def main() -> None:
    """Print the bands, the reliability of the chances, and the scores."""
    outcomes, chances = run()
    for table in (bands(outcomes), reliability(chances), brier(chances)):
        print(table.to_string(float_format="{:.4f}".format), end="\n\n")


if __name__ == "__main__":
    main()
