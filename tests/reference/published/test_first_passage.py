"""First passage of a drifting Wiener process: the inverse Gaussian distribution.

Chhikara and Folks, *The Inverse Gaussian Distribution* (1989); the numbers of
``expected.csv`` were computed twice, and once more by 20,000 simulated paths.
"""

from __future__ import annotations

import numpy as np
import pytest

from trendwear.forecasting.first_passage import first_passage_chance, first_passage_quantile

DISTANCE, RATE, VAR_WEAR = 1.0, 1e-4, 2e-6
CHECK = "first_passage_a=1_mu=1e-4_s2=2e-6"


@pytest.mark.parametrize("hours", [8000, 10000, 15000])
def test_chance(expect, hours: int) -> None:
    chance = float(first_passage_chance(float(hours), DISTANCE, RATE, VAR_WEAR))
    assert chance == expect(CHECK)(f"F({hours})")


@pytest.mark.parametrize("percent", [10, 50, 90])
def test_quantile(expect, percent: int) -> None:
    hours = first_passage_quantile(percent / 100, DISTANCE, RATE, VAR_WEAR)
    assert hours == expect(CHECK)(f"q{percent}_h")


def test_mean_and_variance(expect) -> None:
    """Mean a/mu and variance a s2/mu^3, from the chances alone."""
    hours = np.linspace(0.0, 60_000.0, 600_001)
    chance = np.concatenate([[0.0], first_passage_chance(hours[1:], DISTANCE, RATE, VAR_WEAR)])
    mean = np.trapezoid(1.0 - chance, hours)
    second = np.trapezoid(2 * hours * (1.0 - chance), hours)
    assert mean == expect(CHECK)("mean_h")
    assert second - mean**2 == pytest.approx(2e6, abs=0.1)
    assert expect(CHECK)("var_h2") == 2e6


def test_small_noise_does_not_overflow() -> None:
    """exp(2 mu a / s2) is far beyond a double here; nearly all pass close to a / mu."""
    around = np.array([9_900.0, 10_000.0, 10_100.0])
    chance = first_passage_chance(around, DISTANCE, RATE, 1e-10)
    assert chance[0] < 1e-6
    assert chance[1] == pytest.approx(0.5, abs=0.01)
    assert chance[2] > 1 - 1e-6
