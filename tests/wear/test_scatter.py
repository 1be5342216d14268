"""A fast clearance's wear scatters more than a slow one's of the same family."""

from __future__ import annotations

import numpy as np
import pytest

from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats, Histories, lay_out
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.scatter import scatter_of
from trendwear.wear.state import WearMixture

INTERVALS = 6


def family_of(rate: Floats, noise: float, seed: int = 3) -> Histories:
    """Clearances of gamma wear, an interval's scatter over its wear ``noise``; exact gauges."""
    draw = np.random.default_rng(seed)
    count = len(rate)
    shape = noise**-2.0
    wear = rate[:, None] / shape * draw.gamma(shape, size=(count, INTERVALS))
    worn = np.cumsum(np.column_stack([np.zeros(count), wear]), axis=1)
    return Histories(
        value=0.2 + worn.ravel(),
        exposure=np.tile(np.arange(INTERVALS + 1.0), count),
        uncertainty=np.full(worn.size, 1e-3 * float(rate.mean())),
        at_least=np.zeros(worn.size, dtype=bool),
        segment=np.repeat(np.arange(count), INTERVALS + 1),
        clearance=np.arange(count),
        start_value=np.full(count, np.nan),
        start_exposure=np.full(count, np.nan),
        family=np.zeros(count, dtype=np.int64),
        assumed_share=np.zeros(1),
    )


def told(mixture: WearMixture) -> Floats:
    """Expected variance of wear of each clearance."""
    found: Floats = np.sum(mixture.weight * mixture.var_wear, axis=1)
    return found


def test_fast_clearances_are_given_the_scatter_they_have() -> None:
    """Quarters of a family, by true rate, against the variance that made their wear."""
    rate = 0.02 * np.exp(0.5 * np.random.default_rng(1).standard_normal(300))
    noise = 0.3
    fit = fit_wear(family_of(rate, noise))
    variance = told(wear_mixture(fit))
    slow, _, fast, fastest = np.array_split(np.argsort(rate), 4)
    for quarter in (fast, fastest):
        true = np.mean((noise * rate[quarter]) ** 2)
        assert variance[quarter].mean() == pytest.approx(true, rel=0.25)
    as_fitted = fit.theta[0, 1] ** 2
    assert np.mean((noise * rate[fastest]) ** 2) > 2 * as_fitted
    np.testing.assert_allclose(variance[slow], as_fitted, rtol=0.05)


def test_scatter_goes_with_the_square_of_the_rate() -> None:
    """Members as well read as each other: the plain mean of the squares is what is typical."""
    layout = lay_out(family_of(np.full(4, 0.02), 0.3))
    share = scatter_of(layout, np.array([1.0, 4.0, 9.0, 16.0]))
    np.testing.assert_allclose(share, np.array([7.5, 7.5, 9.0, 16.0]) / 7.5)


def test_a_clearance_on_its_own_is_as_fitted() -> None:
    fit = fit_wear(family_of(np.array([0.02]), 0.3))
    nodes = wear_mixture(fit)
    middle = np.argmax(nodes.weight[0])
    assert nodes.var_wear[0, middle] == pytest.approx(fit.theta[0, 1] ** 2)


def test_shares_stay_within_bounds() -> None:
    layout = lay_out(family_of(np.full(200, 0.02), 0.3))
    square = np.full(200, 1.0)
    square[0], square[1] = 0.0, 1e9
    share = scatter_of(layout, square)
    assert share[0] == 1.0
    assert share[1] == 16.0


def test_readings_count_for_what_is_typical_of_a_family() -> None:
    """Of two clearances, one with two readings and one with seven: one interval against six."""
    whole = family_of(np.full(2, 0.02), 0.3)
    keep = np.arange(len(whole.value)) >= INTERVALS - 1
    layout = lay_out(
        Histories(
            value=whole.value[keep],
            exposure=whole.exposure[keep],
            uncertainty=whole.uncertainty[keep],
            at_least=whole.at_least[keep],
            segment=whole.segment[keep],
            clearance=whole.clearance,
            start_value=whole.start_value,
            start_exposure=whole.start_exposure,
            family=whole.family,
            assumed_share=whole.assumed_share,
        )
    )
    share = scatter_of(layout, np.array([3.0, 1.0]))
    np.testing.assert_allclose(share, np.array([3.0 / ((3 + 6) / 7), 1.0]))


def test_where_no_rate_is_told_nothing_is_added() -> None:
    layout = lay_out(family_of(np.full(2, 0.02), 0.3))
    np.testing.assert_array_equal(scatter_of(layout, np.full(2, np.nan)), np.ones(2))
    np.testing.assert_array_equal(scatter_of(layout, np.zeros(2)), np.ones(2))
