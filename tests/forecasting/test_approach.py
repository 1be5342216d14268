"""The quick way to an hour, a date or a quantile gives what the slow way gives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.special import ndtr

from trendwear.forecasting.ahead import Ahead, plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import planned_hours_at
from trendwear.forecasting.mixtures import quantile
from trendwear.wear.state import WearMixture

Floats = NDArray[np.float64]

CLEARANCES = 400
COMPONENTS = 5


def believed(seed: int) -> WearMixture:
    """Mixtures as families give them, a few of nearly no wear, some parts of weight 0."""
    draw = np.random.default_rng(seed)
    shape = (CLEARANCES, COMPONENTS)
    size = 2e-5 * np.exp(0.8 * draw.standard_normal((CLEARANCES, 1)))
    rate = size * (1 + 0.1 * draw.standard_normal(shape))
    rate[::17] *= -0.2
    var_rate = (size * draw.uniform(0.05, 1.0, (CLEARANCES, 1))) ** 2 * draw.uniform(0.5, 2, shape)
    lag = draw.uniform(0, 9000, (CLEARANCES, 1))
    weight = draw.uniform(0, 1, shape) * (draw.random(shape) < 0.8)
    weight[:, 0] += 0.1
    nothing = np.full(CLEARANCES, np.nan)
    return WearMixture(
        weight=weight / weight.sum(axis=1, keepdims=True),
        level=draw.uniform(0.1, 0.9, (CLEARANCES, 1)) + 0.002 * draw.standard_normal(shape),
        rate=rate,
        var_level=draw.uniform(0.001, 0.03, shape) ** 2 + lag**2 * var_rate,
        cov_level_rate=lag * var_rate,
        var_rate=var_rate,
        var_wear=draw.uniform(0, 1e-8, shape),
        gauge_scale=np.ones(shape),
        has_level=np.ones(CLEARANCES, dtype=bool),
        own_share=np.ones(CLEARANCES),
        family_rate=nothing,
        family_rate_sd=nothing,
        tau=nothing,
    )


def bent(seed: int) -> Ahead:
    draw = np.random.default_rng(seed)
    power = draw.choice([0.7, 1.0, 1.5], CLEARANCES)
    return Ahead(
        age=draw.uniform(0, 5e4, CLEARANCES),
        per_hour=draw.uniform(1, 2, CLEARANCES),
        power=power,
        scale=3e4 ** (1 - power),
    )


def crossing(seed: int, side: float = 1.0) -> Crossing:
    draw = np.random.default_rng(1000 + seed)
    ahead = bent(seed) if seed % 2 else plain_hours(CLEARANCES)
    run = draw.uniform(0, 9000, CLEARANCES)
    return Crossing(believed(seed), np.full(CLEARANCES, 0.6), np.full(CLEARANCES, side), run, ahead)


def test_a_chance_reached_at_the_farthest_hour_is_reached() -> None:
    """Rounding must not tell apart what is asked in two ways."""
    one, nothing = np.ones((1, 1)), np.full(1, np.nan)
    wear = WearMixture(
        weight=one,
        level=0.2 * one,
        rate=1e-6 * one,
        var_level=0.03125**2 * one,
        cov_level_rate=0 * one,
        var_rate=1e-12 * one,
        var_wear=0 * one,
        gauge_scale=one,
        has_level=np.ones(1, dtype=bool),
        own_share=np.ones(1),
        family_rate=nothing,
        family_rate_sd=nothing,
        tau=nothing,
    )
    ahead = Crossing(wear, np.array([0.2 + 0.2]), np.ones(1), np.zeros(1), plain_hours(1))
    reached = ahead.chance_at(np.array([FARTHEST_HOURS]))[0] >= 0.5
    assert np.isfinite(ahead.hours_at(0.5)[0]) == reached


def by_small_steps(ahead: Crossing, hours: Floats, steps: int) -> Floats:
    """The greatest chance up to ``hours`` by evaluating it again and again."""
    greatest = np.zeros(len(hours))
    for share in np.linspace(0, 1, steps):
        mean, sd = ahead.true_clearance(share * hours)
        past = ahead.side[:, None] * (mean - ahead.limit[:, None])
        chance = (ahead.wear.weight * ndtr(past / sd)).sum(axis=1)
        greatest = np.maximum(greatest, chance)
    return greatest


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("seed", range(4))
def test_chances_agree_with_small_steps(seed: int, side: float) -> None:
    ahead = crossing(seed, side)
    hours = ahead.run + 20000
    quick, slow = ahead.chance_at(hours), by_small_steps(ahead, hours, 400)
    # a peak between two steps is missed by little
    np.testing.assert_allclose(quick, slow, atol=3e-3)
    rises = ahead.rises
    np.testing.assert_allclose(quick[rises], slow[rises], atol=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_most_clearances_only_come_nearer(seed: int) -> None:
    assert crossing(seed).rises.mean() > 0.5


@pytest.mark.parametrize("q", [0.05, 0.5, 0.95])
@pytest.mark.parametrize("seed", range(4))
def test_hours_have_their_chance_and_no_earlier_hour_has(seed: int, q: float) -> None:
    ahead = crossing(seed)
    hours = ahead.hours_at(q)
    found = np.flatnonzero(hours > 0)
    part, at = ahead.rows(found), hours[found]
    assert len(found) > CLEARANCES / 4
    np.testing.assert_allclose(part.chance_at(at), q, atol=1e-8)
    assert (part.chance_at(at * (1 - 1e-4)) < q).all()
    never = np.flatnonzero(np.isnan(hours))
    far = ahead.rows(never)
    assert (far.chance_at(FARTHEST_HOURS + far.run) < q).all()
    assert (ahead.chance_at(np.zeros(CLEARANCES))[hours == 0] >= q).all()


@pytest.mark.parametrize("q", [0.05, 0.5, 0.95])
@pytest.mark.parametrize("seed", range(2))
def test_planned_hours_have_their_average_chance(seed: int, q: float) -> None:
    ahead = crossing(seed)
    spread = np.full(CLEARANCES, 0.2)
    planned = planned_hours_at(ahead, spread, q)
    found = np.flatnonzero(planned > 0)
    part, hours = ahead.rows(found), planned[found]
    nodes, weights = np.polynomial.hermite_e.hermegauss(7)
    sigma = np.sqrt(np.log1p(0.2**2))
    factors = np.exp(sigma * nodes - sigma**2 / 2)
    chance = sum(
        weight * part.chance_at(part.run + hours * factor)
        for weight, factor in zip(weights / weights.sum(), factors, strict=True)
    )
    assert len(found) > CLEARANCES / 4
    np.testing.assert_allclose(chance, q, atol=1e-6)


@pytest.mark.parametrize("seed", [1, 3])
def test_exposure_turned_back_gives_the_hours(seed: int) -> None:
    ahead, hours = bent(seed), np.linspace(0, 1e5, CLEARANCES)
    np.testing.assert_allclose(ahead.hours_for(ahead.increment(hours)), hours, atol=1e-6)
    step = 1e-3
    rise = (ahead.increment(hours + 1 + step) - ahead.increment(hours + 1)) / step
    np.testing.assert_allclose(ahead.growth(hours + 1), rise, rtol=1e-4)


@given(
    q=st.floats(0.001, 0.999),
    sds=st.lists(st.sampled_from([0.0, 1e-9, 0.01, 1.0, 50.0]), min_size=3, max_size=3),
)
@example(q=0.43988013102279544, sds=[0.01, 1e-09, 1e-09])
@example(q=0.8361859416824846, sds=[0.01, 1e-09, 50.0])
def test_a_quantile_of_fixed_values_is_one_of_them_or_between(q: float, sds: list[float]) -> None:
    weight, mean = np.array([[0.2, 0.5, 0.3]]), np.array([[0.0, 1.0, 2.0]])
    sd = np.array([sds])
    at = quantile(weight, mean, sd, q)[0]

    def below(level: float) -> float:
        gap = level - mean[0]
        with np.errstate(divide="ignore", invalid="ignore"):
            z = np.where(sd[0] > 0, gap / sd[0], np.copysign(np.inf, gap))
        return float((weight[0] * ndtr(z)).sum())

    assert below(at - 1e-8) <= q + 1e-6
    assert below(at + 1e-8) >= q - 1e-6
