"""Age replacement against published and recomputed values."""

from __future__ import annotations

import numpy as np
import pytest

from trendwear.errors import UsageProblem
from trendwear.planning.cost import Costs, cost_of_intervals

# Weibull lives of scale 1, overhaul 1: shape, cost past a limit, best interval, its cost.
# Computed twice, by the optimality condition h(T) int R - F = c_p/(c_f - c_p) and by search.
WEIBULL = [
    (2, 5, 0.510655234, 4.085241794),
    (2, 10, 0.336451191, 6.056121443),
    (3, 5, 0.502609582, 3.031396704),
    (3, 10, 0.382455533, 3.949350299),
]


def uniform_40_000(hours: np.ndarray) -> np.ndarray:
    return np.clip(1.0 - hours / 40_000.0, 0.0, 1.0)


def test_jardine_and_tsang() -> None:
    # Jardine & Tsang, Maintenance, Replacement, and Reliability, ch. 2, problem 2: life uniform
    # on (0, 40 000) km, preventive 100, failure 200; their grid answer is 30 000 km.
    curve = cost_of_intervals(uniform_40_000, Costs(100.0, 200.0), 40_000.0)
    at = np.interp([10_000, 20_000, 30_000, 40_000], curve.hours, curve.cost)
    assert at.round(4) == pytest.approx([0.0143, 0.0100, 0.0093, 0.0100])
    assert curve.best_hours == pytest.approx(40_000 * (np.sqrt(3) - 1), rel=1e-6)
    assert curve.best_cost == pytest.approx(0.00933013, rel=1e-6)
    assert curve.flat_from < 30_000 < curve.flat_to
    assert not curve.at_the_end


@pytest.mark.parametrize(("shape", "past", "best", "cost"), WEIBULL)
def test_weibull_lives(shape: float, past: float, best: float, cost: float) -> None:
    curve = cost_of_intervals(lambda t: np.exp(-(t**shape)), Costs(1.0, past), 3.0)
    assert curve.best_hours == pytest.approx(best, abs=2e-7)
    assert curve.best_cost == pytest.approx(cost, abs=1e-8)


def test_weibull_of_scale_ten() -> None:
    # Shape 3, scale 10, overhaul 1, past a limit 6: T* = 4.661, C = 0.3259.
    curve = cost_of_intervals(lambda t: np.exp(-((t / 10.0) ** 3)), Costs(1.0, 6.0), 30.0)
    assert (curve.best_hours, curve.best_cost) == (
        pytest.approx(4.661, abs=5e-4),
        pytest.approx(0.3259, abs=5e-5),
    )


def test_without_wear_opening_early_never_pays() -> None:
    # A constant rate of passing: the longer the interval, the cheaper.
    curve = cost_of_intervals(lambda t: np.exp(-t), Costs(1.0, 5.0), 4.0)
    assert curve.at_the_end
    assert curve.best_hours == 4.0
    assert curve.best_cost == curve.cost.min()


@pytest.mark.parametrize("costs", [Costs(0.0, 5.0), Costs(2.0, 1.0), Costs(float("nan"), 1.0)])
def test_costs_that_mean_nothing_are_refused(costs: Costs) -> None:
    with pytest.raises(UsageProblem, match="at least as much"):
        cost_of_intervals(uniform_40_000, costs, 40_000.0)
