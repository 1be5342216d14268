"""Deletion forecasts and one-sided readings against matrices and exact likelihoods."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import norm

from trendwear.wear.deletion import expect_each
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats, Histories, lay_out
from trendwear.wear.likelihood import posterior
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.one_sided import no_sites
from trendwear.wear.search import WearFit, fit_at


@pytest.fixture
def histories() -> Histories:
    """One family: four clearances of 5, 3, 2 and 4 readings, the third from a known start."""
    draw = np.random.default_rng(5)
    lengths = [5, 3, 2, 4]
    exposure = np.concatenate([7000.0 * np.arange(1, n + 1) for n in lengths])
    value = 0.2 + 2e-5 * exposure + 0.02 * draw.standard_normal(len(exposure))
    start = np.array([np.nan, np.nan, 0.2, np.nan])
    return Histories(
        value=value,
        exposure=exposure,
        uncertainty=np.full(len(exposure), 0.012),
        at_least=np.zeros(len(exposure), dtype=bool),
        segment=np.repeat(np.arange(4), lengths),
        clearance=np.arange(4),
        start_value=start,
        start_exposure=np.where(np.isnan(start), np.nan, 0.0),
        family=np.zeros(4, dtype=np.int64),
        assumed_share=np.zeros(1),
    )


def deleted_by_matrices(histories: Histories, theta: Floats) -> tuple[Floats, Floats]:
    """Leave-one-out residuals and their variances from the projected precision."""
    phi, sigma, tau = theta
    seg = histories.segment
    begin = np.nan_to_num(histories.start_exposure)[seg]
    run = histories.exposure - begin
    same = seg[:, None] == seg[None]
    cov = np.diag((phi * histories.uncertainty) ** 2)
    cov = cov + same * (sigma**2 * np.minimum(run[:, None], run[None]))
    cov = cov + same * tau**2 * run[:, None] * run[None]
    free = np.nonzero(np.isnan(histories.start_value))[0]
    design = np.column_stack([(seg == s).astype(float) for s in free] + [run])
    inverse = np.linalg.inv(cov)
    middle = design.T @ inverse @ design
    projected = inverse - inverse @ design @ np.linalg.solve(middle, design.T @ inverse)
    y = histories.value - np.nan_to_num(histories.start_value)[seg]
    return projected @ y / np.diag(projected), 1 / np.diag(projected)


def test_deletion_equals_full_matrices(histories: Histories) -> None:
    fit = fit_wear(histories)
    expected = expect_each(fit)
    residual, variance = deleted_by_matrices(histories, fit.theta[0])
    np.testing.assert_allclose(histories.value - expected.mean, residual, rtol=1e-8, atol=1e-12)
    np.testing.assert_allclose(expected.reading_variance, variance, rtol=1e-8)
    np.testing.assert_allclose(
        expected.residual(histories.value), residual / np.sqrt(variance), rtol=1e-8, atol=1e-12
    )


def test_lone_readings_are_expected_by_nobody(histories: Histories) -> None:
    first = histories.segment != 1
    first[5] = True  # the second clearance keeps one reading
    kept = replace(
        histories,
        **{
            name: getattr(histories, name)[first]
            for name in ("value", "exposure", "uncertainty", "at_least", "segment")
        },
    )
    residual = expect_each(fit_wear(kept)).residual(kept.value)
    assert np.isnan(residual[5])
    assert np.isfinite(np.delete(residual, 5)).all()


def exact_mode(histories: Histories, row: int, fit: WearFit) -> Floats:
    """Mode of (likelihood of the other readings) x (chance of one at least as far as read)."""
    keep = np.arange(len(histories.value)) != row
    others = replace(
        histories,
        **{
            name: getattr(histories, name)[keep]
            for name in ("value", "exposure", "uncertainty", "at_least", "segment")
        },
    )
    layout, whole = lay_out(others), lay_out(histories)
    start = fit_at(whole, no_sites(1), fit.noise)

    def objective(x: Floats) -> float:
        seen = replace(start, x=x[None])
        expected = expect_each(seen)
        spread = np.sqrt(expected.reading_variance[row])
        z = (expected.mean[row] - histories.value[row]) / spread
        return float(posterior(layout, fit.priors, x[None]).value[0] - norm.logcdf(z))

    found = minimize(objective, fit.x[0], method="Nelder-Mead", options={"xatol": 1e-6})
    return np.asarray(found.x)


@pytest.mark.parametrize("row", [2, 4, 9, 13])
@pytest.mark.parametrize("further", [-0.2, 0.0, 0.06])
def test_one_sided_reading_has_its_exact_likelihood(
    histories: Histories, row: int, further: float
) -> None:
    at_least = np.arange(len(histories.value)) == row
    value = histories.value + further * at_least
    seen = replace(histories, value=value, at_least=at_least)
    fit = fit_wear(seen)
    without_pull = replace(fit, priors=replace(fit.priors, pull=np.zeros(1)))
    np.testing.assert_allclose(fit.x[0], exact_mode(seen, row, without_pull), atol=2e-3)


def test_worn_at_least_so_far_raises_the_rate(histories: Histories) -> None:
    """Leaving out the worst wear would flatter every rate; taking it as exact, too."""
    row = 4
    value = histories.value.copy()
    value[row] = value[3] + 0.5
    at_least = np.arange(len(value)) == row
    one_sided = wear_mixture(fit_wear(replace(histories, value=value, at_least=at_least)))
    as_exact = wear_mixture(fit_wear(replace(histories, value=value)))
    plain = wear_mixture(fit_wear(histories))
    rate = [float(np.sum(m.weight[0] * m.rate[0])) for m in (plain, as_exact, one_sided)]
    assert rate[0] < rate[2]
    level = [float(np.sum(m.weight[0] * m.level[0])) for m in (as_exact, one_sided)]
    assert level[1] > level[0]


def test_a_bound_far_behind_says_nothing(histories: Histories) -> None:
    """*At least 0* on a clearance known to be near 0.3 changes nothing."""
    row = 2
    value = histories.value.copy()
    value[row] = -5.0
    at_least = np.arange(len(value)) == row
    keep = ~at_least
    without = replace(
        histories,
        **{
            name: getattr(histories, name)[keep]
            for name in ("value", "exposure", "uncertainty", "at_least", "segment")
        },
    )
    bounded = fit_wear(replace(histories, value=value, at_least=at_least))
    plain = fit_wear(without)
    np.testing.assert_allclose(bounded.curve.slope, 0.0, atol=1e-4)
    np.testing.assert_allclose(bounded.theta, plain.theta, rtol=0.02)
    np.testing.assert_allclose(
        wear_mixture(bounded).level[:, 13], wear_mixture(plain).level[:, 13], rtol=1e-2
    )
