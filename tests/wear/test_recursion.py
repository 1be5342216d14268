"""The recursion against a joint normal written out in full."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trendwear.wear.fit import WearFit, fit_wear
from trendwear.wear.histories import Floats, Histories
from trendwear.wear.likelihood import THETA_OF_X, Curve
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.state import WearMixture

THETA = np.array([1.3, 4e-4, 6e-6])  # phi, sigma_w, tau


@pytest.fixture
def histories() -> Histories:
    """Two families: five clearances, free and known starts, segments of 0 to 5 readings."""
    draw = np.random.default_rng(11)
    segment = np.repeat([0, 1, 2, 3, 5, 6, 7], [4, 3, 5, 1, 2, 1, 4])
    clearance = np.array([0, 0, 1, 2, 2, 3, 4, 4])  # segment 4 is empty, with a known start
    exposure = np.concatenate(
        [np.sort(draw.uniform(1000, 40000, n)) for n in (4, 3, 5, 1, 2, 1, 4)]
    )
    value = 0.2 + 2e-5 * exposure + 0.03 * draw.standard_normal(len(exposure))
    start = np.full(8, np.nan)
    start[[1, 4, 7]] = 0.18, 0.21, 0.15
    start_exposure = np.where(np.isnan(start), np.nan, 0.0)
    return Histories(
        value=value,
        exposure=exposure,
        uncertainty=draw.uniform(0.005, 0.02, len(exposure)),
        at_least=np.zeros(len(exposure), dtype=bool),
        segment=segment,
        clearance=clearance,
        start_value=start,
        start_exposure=start_exposure,
        family=np.array([0, 0, 0, 1, 1]),
        assumed_share=np.zeros(2),
    )


def at_theta(histories: Histories, theta: Floats) -> WearFit:
    """A fit that stands at ``theta`` as if it were known."""
    fit = fit_wear(histories)
    families = len(histories.assumed_share)
    x = np.tile(np.linalg.solve(THETA_OF_X, np.log(theta)), (families, 1))
    sharp = np.tile(1e20 * np.eye(3), (families, 1, 1))
    return replace(fit, x=x, curve=Curve(fit.curve.value, fit.curve.slope, sharp))


def written_out(histories: Histories, family: int, theta: Floats) -> tuple[float, Floats, Floats]:
    """Restricted log-likelihood, means and covariance of (level, rate) by full matrices."""
    phi, sigma, tau = theta
    clearance_of = histories.clearance[histories.segment]
    rows = np.nonzero(histories.family[clearance_of] == family)[0]
    seg, owner = histories.segment[rows], clearance_of[rows]
    start = np.nan_to_num(histories.start_value)[seg]
    start_exposure = np.nan_to_num(histories.start_exposure)[seg]
    e = histories.exposure[rows]
    same = seg[:, None] == seg[None]
    # Brownian wear counted from the known start, or from 0 with a free intercept
    shared = np.minimum(e[:, None], e[None]) - start_exposure[:, None]
    run = e - start_exposure
    cov = np.diag((phi * histories.uncertainty[rows]) ** 2)
    cov = cov + sigma**2 * same * shared
    cov = cov + tau**2 * (owner[:, None] == owner[None]) * run[:, None] * run[None]
    free = [s for s in np.unique(seg) if np.isnan(histories.start_value[s])]
    design = np.column_stack([(seg == s).astype(float) for s in free] + [run])
    y = histories.value[rows] - start
    inverse = np.linalg.inv(cov)
    middle = design.T @ inverse @ design
    coefficients = np.linalg.solve(middle, design.T @ inverse @ y)
    rest = y - design @ coefficients
    log_likelihood = -0.5 * (
        np.linalg.slogdet(cov)[1]
        + np.linalg.slogdet(middle)[1]
        + rest @ inverse @ rest
        + (len(y) - design.shape[1]) * np.log(2 * np.pi)
    )
    means, covariances = [], []
    for clearance in np.nonzero(histories.family == family)[0]:
        last = np.nonzero(histories.clearance == clearance)[0][-1]
        inside = seg == last
        end = e[inside].max() if inside.any() else histories.start_exposure[last]
        begin = np.nan_to_num(histories.start_exposure[last])
        own = owner == clearance
        to_rate = tau**2 * own * run
        to_level = to_rate * (end - begin) + sigma**2 * inside * (np.minimum(end, e) - begin)
        cross = np.stack([to_level, to_rate])
        level_rate = tau**2 * (end - begin)
        prior = np.array(
            [
                [tau**2 * (end - begin) ** 2 + sigma**2 * (end - begin), level_rate],
                [level_rate, tau**2],
            ]
        )
        aim = np.zeros((2, design.shape[1]))
        aim[:, -1] = end - begin, 1.0
        if last in free:
            aim[0, free.index(last)] = 1.0
        mean = aim @ coefficients + cross @ inverse @ rest
        mean[0] += np.nan_to_num(histories.start_value[last])
        gap = aim - cross @ inverse @ design
        spread = prior - cross @ inverse @ cross.T + gap @ np.linalg.solve(middle, gap.T)
        means.append(mean)
        covariances.append(spread)
    return float(log_likelihood), np.array(means), np.array(covariances)


def first_node(mixture: WearMixture, name: str) -> Floats:
    """Values at one theta: all nodes of a collapsed grid agree."""
    values: Floats = getattr(mixture, name)
    np.testing.assert_allclose(values, values[:, :1] * np.ones(values.shape[1]), rtol=1e-7)
    return values[:, 0]


@pytest.mark.parametrize("theta", [THETA, np.array([0.7, 9e-5, 2e-5])])
def test_restricted_likelihood_equals_full_matrices(histories: Histories, theta: Floats) -> None:
    found = at_theta(histories, theta).log_restricted
    for family in (0, 1):
        expected, _, _ = written_out(histories, family, theta)
        assert found[family] == pytest.approx(expected, abs=1e-9)


def test_level_and_rate_equal_full_matrices(histories: Histories) -> None:
    mixture = wear_mixture(at_theta(histories, THETA))
    means, spreads = (
        np.concatenate([written_out(histories, family, THETA)[part] for family in (0, 1)])
        for part in (1, 2)
    )
    np.testing.assert_allclose(first_node(mixture, "level"), means[:, 0], rtol=1e-9)
    np.testing.assert_allclose(first_node(mixture, "rate"), means[:, 1], rtol=1e-9)
    np.testing.assert_allclose(first_node(mixture, "var_level"), spreads[:, 0, 0], rtol=1e-8)
    np.testing.assert_allclose(
        first_node(mixture, "cov_level_rate"), spreads[:, 0, 1], rtol=1e-8, atol=1e-18
    )
    np.testing.assert_allclose(first_node(mixture, "var_rate"), spreads[:, 1, 1], rtol=1e-8)


def test_own_share_is_the_pull_of_the_own_slope(histories: Histories) -> None:
    """Tilting one clearance's readings by d moves its rate by own_share x d."""
    tilt = 1e-6
    clearance_of = histories.clearance[histories.segment]
    shares = wear_mixture(at_theta(histories, THETA)).own_share
    before = first_node(wear_mixture(at_theta(histories, THETA)), "rate")
    for clearance in range(5):
        own = clearance_of == clearance
        start = np.nan_to_num(histories.start_exposure)[histories.segment]
        value = histories.value + tilt * own * (histories.exposure - start)
        tilted = replace(histories, value=value)
        after = first_node(wear_mixture(at_theta(tilted, THETA)), "rate")
        moved = (after - before)[clearance] / tilt
        assert shares[clearance] == pytest.approx(moved, abs=1e-6)


def test_order_of_families_and_segments_is_irrelevant(histories: Histories) -> None:
    fit = fit_wear(histories)
    swapped = fit_wear(
        replace(
            histories,
            family=1 - histories.family,
            assumed_share=histories.assumed_share[::-1].copy(),
        )
    )
    np.testing.assert_allclose(fit.theta, swapped.theta[::-1], rtol=1e-7)
