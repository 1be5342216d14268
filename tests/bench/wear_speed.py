"""How long a fleet takes, against drawing a line for each clearance.

Fits 20,000 clearances of 6 to 10 readings in families of 4, 10 and 200, works out
their mixtures and the 5, 50 and 95 % quantiles of the wear at a horizon, and
compares with a loop of array OLS with its prediction frame (timed on 500
clearances, scaled).  One thread: ``OMP_NUM_THREADS=1 python tests/bench/wear_speed.py``.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pandas as pd
import statsmodels.api as sm
from scipy.special import ndtr

from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats, Histories
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

CLEARANCES = 20_000
LOOPED = 500
SIZES = (4, 10, 200)
HORIZON_HOURS = 8000.0
HALVINGS = 24


def fleet(size: int) -> Histories:
    """Gamma wear, log-normal rates, one segment a clearance."""
    draw = np.random.default_rng(size)
    length = draw.integers(6, 11, CLEARANCES)
    segment = np.repeat(np.arange(CLEARANCES), length)
    opens = np.zeros(len(segment), dtype=bool)
    first = np.cumsum(length) - length
    opens[first] = True
    hours = np.where(opens, 0.0, draw.uniform(6000, 10000, len(segment)))
    rate = 2e-5 * np.exp(0.4 * draw.standard_normal(CLEARANCES))
    shape = np.where(opens, 1.0, hours / 8000 / 0.2**2)
    wear = np.where(opens, 0.0, draw.gamma(shape) * rate[segment] * 8000 * 0.2**2)
    worn, exposure = (
        np.cumsum(steps) - np.repeat(np.cumsum(steps)[first], length) for steps in (wear, hours)
    )
    families = -(-CLEARANCES // size)
    nothing = np.full(CLEARANCES, np.nan)
    return Histories(
        value=0.2 + worn + 0.01 * draw.standard_normal(len(segment)),
        exposure=exposure,
        uncertainty=np.full(len(segment), 0.01),
        at_least=np.zeros(len(segment), dtype=bool),
        segment=segment,
        clearance=np.arange(CLEARANCES),
        start_value=nothing,
        start_exposure=nothing,
        family=np.arange(CLEARANCES) // size,
        assumed_share=np.zeros(families),
    )


def quantiles(mixture: WearMixture, hours: float) -> list[Floats]:
    """Quantiles of the true clearance after so many more hours, by halving."""
    mean = mixture.level + mixture.rate * hours
    variance = mixture.var_level + 2 * mixture.cov_level_rate * hours
    variance += mixture.var_rate * hours**2 + mixture.var_wear * hours
    root = np.sqrt(variance)
    found = []
    for at in (0.05, 0.5, 0.95):
        low, high = (mean - 6 * root).min(axis=1), (mean + 6 * root).max(axis=1)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            short = np.sum(mixture.weight * ndtr((middle[:, None] - mean) / root), axis=1) < at
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        found.append(0.5 * (low + high))
    return found


def draw_lines(histories: Histories) -> None:
    """A line for each of the first clearances, with its prediction frame."""
    for clearance in range(LOOPED):
        rows = histories.segment == clearance
        exposure = histories.exposure[rows] / 1000
        design = np.column_stack([np.ones(len(exposure)), exposure])
        ahead = np.array([[1.0, exposure[-1] + HORIZON_HOURS / 1000]])
        sm.OLS(histories.value[rows], design).fit().get_prediction(ahead).summary_frame()


def seconds(work: Callable[[], object]) -> float:
    """Time the better of two runs."""
    took = []
    for _ in range(2):
        begin = time.perf_counter()
        work()
        took.append(time.perf_counter() - begin)
    return min(took)


def main() -> None:
    """Print one row for each size of family."""
    rows = []
    for size in SIZES:
        histories = fleet(size)
        loop = seconds(lambda histories=histories: draw_lines(histories)) * CLEARANCES / LOOPED
        fit = fit_wear(histories)
        mixture = wear_mixture(fit)
        fitting = seconds(lambda histories=histories: fit_wear(histories))
        mixing = seconds(lambda fit=fit: wear_mixture(fit))
        bands = seconds(lambda mixture=mixture: quantiles(mixture, HORIZON_HOURS))
        rows.append(
            {
                "size": size,
                "fit_s": fitting,
                "mixture_s": mixing,
                "quantiles_s": bands,
                "ols_loop_s": loop,
                "faster_fit": loop / (fitting + mixing),
                "faster_all": loop / (fitting + mixing + bands),
                "settled": fit.settled.mean(),
            }
        )
    print(pd.DataFrame(rows).to_string(index=False, float_format="{:.3f}".format))


if __name__ == "__main__":
    main()
