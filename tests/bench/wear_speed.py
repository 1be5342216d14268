"""How long a fleet takes, against drawing a line for each clearance.

Fits 20,000 clearances of 6 to 10 readings in families of 4, 10 and 200 and works out
all that a forecast shows of them: the mixtures, the hours of 5, 50 and 95 % chance, the
chances now and at a horizon, and the quantiles of the reading one would take there.
Beside it stand loops over clearances, timed on a few hundred and scaled:

- a formula's OLS of statsmodels, fitted and no more;
- an array's OLS of statsmodels with its prediction frame at the horizon.

Apart: what it costs to let the readings say how wear bends and what starts wear (here
every family of ten or more is asked both), what dates with an uncertain duty cost, and
the cost of a clearance from 2,000 to 200,000 of them with the peak memory.

One thread, processor seconds: ``python tests/bench/wear_speed.py``; about two minutes.
"""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable
from dataclasses import dataclass

os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
import pandas as pd
import statsmodels.api as sm
import statsmodels.formula.api as smf

from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.dates import planned_hours_at
from trendwear.wear.exposure import Use
from trendwear.wear.exposure_choice import choose_exposure
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats, Histories
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

CLEARANCES = 20_000
LOOPED = 400
SIZES = (4, 10, 200)
SCALES = (2_000, 20_000, 200_000)
HORIZON_HOURS = 8000.0
QUANTILES = (0.05, 0.5, 0.95)
DUTY_SPREAD = 0.15
GAUGE = 0.01
MOST_MEGABYTES = 2000


def fleet(clearances: int, size: int) -> Histories:
    """Gamma wear, log-normal rates, one segment a clearance."""
    draw = np.random.default_rng(size)
    length = draw.integers(6, 11, clearances)
    segment = np.repeat(np.arange(clearances), length)
    opens = np.zeros(len(segment), dtype=bool)
    first = np.cumsum(length) - length
    opens[first] = True
    hours = np.where(opens, 0.0, draw.uniform(6000, 10000, len(segment)))
    rate = 2e-5 * np.exp(0.4 * draw.standard_normal(clearances))
    shape = np.where(opens, 1.0, hours / 8000 / 0.2**2)
    wear = np.where(opens, 0.0, draw.gamma(shape) * rate[segment] * 8000 * 0.2**2)
    worn, exposure = (
        np.cumsum(steps) - np.repeat(np.cumsum(steps)[first], length) for steps in (wear, hours)
    )
    nothing = np.full(clearances, np.nan)
    return Histories(
        value=0.2 + worn + GAUGE * draw.standard_normal(len(segment)),
        exposure=exposure,
        uncertainty=np.full(len(segment), GAUGE),
        at_least=np.zeros(len(segment), dtype=bool),
        segment=segment,
        clearance=np.arange(clearances),
        start_value=nothing,
        start_exposure=nothing,
        family=np.arange(clearances) // size,
        assumed_share=np.zeros(-(-clearances // size)),
    )


def crossing_of(histories: Histories, wear: WearMixture) -> Crossing:
    """Limits from half an interval's wear below to five above the present clearance."""
    count = len(wear.weight)
    away = np.random.default_rng(count).uniform(-0.5, 5.0, count) * 2e-5 * HORIZON_HOURS
    limit = (wear.weight * wear.level).sum(axis=1) + away
    return Crossing(wear, limit, np.ones(count), np.zeros(count), plain_hours(count))


@dataclass(frozen=True)
class Took:
    """Processor seconds of each part of the work."""

    fit: float
    mixture: float
    hours: float
    chances: float
    found: float
    dates: float

    @property
    def forecast(self) -> float:
        """Everything but dates, which need a duty."""
        return self.fit + self.mixture + self.hours + self.chances + self.found


def run_fleet(histories: Histories) -> Took:
    """Fit and forecast."""
    count = len(histories.family)
    ahead, u = np.full(count, HORIZON_HOURS), np.full(count, GAUGE)
    clock = Stopwatch()
    fit = fit_wear(histories)
    fitting = clock.lap()
    wear = wear_mixture(fit)
    mixing = clock.lap()
    crossing = crossing_of(histories, wear)
    clock.lap()
    for q in QUANTILES:
        crossing.hours_at(q)
    hours = clock.lap()
    for at in (np.zeros(count), ahead):
        crossing.chance_at(at)
    chances = clock.lap()
    for q in QUANTILES:
        crossing.found_at(ahead, u, q)
    found = clock.lap()
    for q in QUANTILES:
        planned_hours_at(crossing, np.full(count, DUTY_SPREAD), q)
    return Took(fitting, mixing, hours, chances, found, clock.lap())


class Stopwatch:
    """Processor seconds since the last lap."""

    def __init__(self) -> None:
        self.begun = time.process_time()

    def lap(self) -> float:
        now = time.process_time()
        took, self.begun = now - self.begun, now
        return took


def best_of_two(work: Callable[[], Took]) -> Took:
    """The quicker of two runs: the first one warms the memory."""
    return min((work(), work()), key=lambda took: took.forecast)


def loops(histories: Histories) -> tuple[float, float]:
    """Seconds for a formula's OLS, and an array's OLS with its prediction, for a whole fleet."""
    rows = [histories.segment == clearance for clearance in range(LOOPED)]
    lines = [(histories.exposure[mine] / 1000, histories.value[mine]) for mine in rows]
    ahead = HORIZON_HOURS / 1000
    clock = Stopwatch()
    for exposure, value in lines:
        smf.ols("value ~ hours", pd.DataFrame({"hours": exposure, "value": value})).fit()
    by_formula = clock.lap()
    for exposure, value in lines:
        design = np.column_stack([np.ones(len(exposure)), exposure])
        there = np.array([[1.0, exposure[-1] + ahead]])
        sm.OLS(value, design).fit().get_prediction(there).summary_frame()
    by_array = clock.lap()
    scale = CLEARANCES / LOOPED
    return by_formula * scale, by_array * scale


def by_size() -> pd.DataFrame:
    """One row for each size of family."""
    rows = []
    for size in SIZES:
        histories = fleet(CLEARANCES, size)
        formula, array = loops(histories)
        took = best_of_two(lambda histories=histories: run_fleet(histories))
        rows.append(
            {
                "size": size,
                **{name: getattr(took, name) for name in Took.__dataclass_fields__},
                "forecast": took.forecast,
                "formula_loop": formula,
                "array_loop": array,
                "faster_than_formula": formula / took.forecast,
                "faster_than_array": array / took.forecast,
                "choosing": choosing(histories),
            }
        )
    table = pd.DataFrame(rows)
    met = (table["faster_than_formula"] >= 20) & (table["faster_than_array"] >= 5)
    return table.assign(goals_met=met)


def choosing(histories: Histories) -> float:
    """Seconds to let every family say how its wear bends and what its starts wear."""
    draw = np.random.default_rng(1)
    families, segments = len(histories.assumed_share), len(histories.clearance)
    per_hour = draw.uniform(0.005, 0.02, segments)[histories.segment]
    use = Use(
        hours=histories.exposure,
        starts=per_hour * histories.exposure,
        begin_hours=np.full(segments, np.nan),
        begin_starts=np.full(segments, np.nan),
        age_known=np.ones(segments, dtype=bool),
    )
    nothing: Floats = np.full(families, np.nan)
    clock = Stopwatch()
    choose_exposure(histories, use, nothing, nothing)
    return clock.lap()


def by_scale() -> pd.DataFrame:
    """Cost of a clearance in families of 10, and peak memory so far, the largest fleet last."""
    rows = []
    for count in SCALES:
        histories = fleet(count, 10)
        took = best_of_two(lambda histories=histories: run_fleet(histories))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        each = 1e6 / count
        rows.append(
            {
                "clearances": count,
                **{f"{name}_us": getattr(took, name) * each for name in Took.__dataclass_fields__},
                "forecast_us": took.forecast * each,
                "peak_mb": peak,
                "goal_met": peak < MOST_MEGABYTES,
            }
        )
    return pd.DataFrame(rows)


def main() -> None:
    """Print the comparison and the scaling."""
    for table in (by_size(), by_scale()):
        print(table.T.to_string(header=False, float_format="{:.3f}".format), end="\n\n")


if __name__ == "__main__":
    main()
