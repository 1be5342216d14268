"""When a clearance passes its limit: laws of the forecast."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import planned_hours_at
from trendwear.forecasting.mixtures import chance_above, quantile
from trendwear.wear.state import WearMixture

QUANTILES = (0.05, 0.5, 0.95)


def mixture(
    level: float = 0.3,
    rate: float = 1e-5,
    sd: tuple[float, float] = (0.005, 1e-6),
    var_wear: float = 0.0,
    scales: tuple[float, ...] = (1.0,),
) -> WearMixture:
    """One clearance; each scale is a component whose spreads are that much wider."""
    wide = np.array(scales)[None, :]
    one = np.ones_like(wide)
    return WearMixture(
        weight=one / wide.size,
        level=level * one,
        rate=rate * one,
        var_level=sd[0] ** 2 * wide**2,
        cov_level_rate=0.0 * one,
        var_rate=sd[1] ** 2 * wide**2,
        var_wear=var_wear * wide,
        gauge_scale=one,
        has_level=np.array([True]),
        own_share=np.array([1.0]),
        family_rate=np.array([np.nan]),
        family_rate_sd=np.array([np.nan]),
        tau=np.array([np.nan]),
    )


def crossing(wear: WearMixture, limit: float, run: float = 0.0, side: float = 1.0) -> Crossing:
    return Crossing(wear, np.array([limit]), np.array([side]), np.array([run]), plain_hours(1))


wears = st.builds(
    mixture,
    level=st.floats(0.0, 1.0),
    rate=st.floats(1e-6, 1e-4),
    sd=st.tuples(st.floats(1e-4, 0.05), st.floats(1e-8, 3e-5)),
    var_wear=st.floats(0.0, 1e-7),
    scales=st.sampled_from([(1.0,), (1.0, 2.0), (0.5, 1.0, 4.0)]),
)


@given(wear=wears, gap=st.floats(0.001, 1.0))
def test_at_the_hour_given_the_chance_is_the_one_asked_for(wear: WearMixture, gap: float) -> None:
    ahead = crossing(wear, float(wear.level[0, 0]) + gap)
    for q in QUANTILES:
        hours = ahead.hours_at(q)
        if np.isnan(hours[0]):
            assert ahead.chance_at(np.array([FARTHEST_HOURS]))[0] < q
        elif hours[0] > 0:
            assert ahead.chance_at(hours)[0] == pytest.approx(q, abs=1e-6)


@given(wear=wears, gap=st.floats(-0.1, 1.0), hours=st.lists(st.floats(0, 2e5), min_size=2))
def test_chances_never_fall(wear: WearMixture, gap: float, hours: list[float]) -> None:
    ahead = crossing(wear, float(wear.level[0, 0]) + gap)
    chances = [ahead.chance_at(np.array([hour]))[0] for hour in sorted(hours)]
    assert all(later >= earlier - 1e-9 for earlier, later in pairwise(chances))


@given(wear=wears, gap=st.floats(0.01, 1.0))
def test_a_tighter_limit_is_never_later(wear: WearMixture, gap: float) -> None:
    level = float(wear.level[0, 0])
    far, near = crossing(wear, level + gap), crossing(wear, level + gap / 2)
    for q in QUANTILES:
        late, early = far.hours_at(q)[0], near.hours_at(q)[0]
        assert np.isnan(late) or early <= late + 1e-6


@given(wear=wears, gap=st.floats(0.001, 1.0))
def test_more_certain_is_never_sooner(wear: WearMixture, gap: float) -> None:
    ahead = crossing(wear, float(wear.level[0, 0]) + gap)
    hours = [ahead.hours_at(q)[0] for q in QUANTILES]
    known = [hour for hour in hours if np.isfinite(hour)]
    assert known == sorted(known)
    assert np.isfinite(hours[: len(known)]).all()


def test_without_any_doubt_the_line_decides() -> None:
    sure = mixture(level=0.2, rate=1e-5, sd=(0.0, 0.0))
    ahead = crossing(sure, 0.5)
    for q in QUANTILES:
        assert ahead.hours_at(q)[0] == pytest.approx(30000, abs=0.01)


def test_even_chance_is_where_the_line_meets_the_limit() -> None:
    assert crossing(mixture(), 0.5).hours_at(0.5)[0] == pytest.approx(20000, abs=0.01)


def test_scatter_of_wear_widens_the_band_but_not_its_middle() -> None:
    steady, unsteady = crossing(mixture(), 0.5), crossing(mixture(var_wear=1e-8), 0.5)
    assert unsteady.hours_at(0.05) < steady.hours_at(0.05)
    assert unsteady.hours_at(0.95) > steady.hours_at(0.95)
    assert unsteady.hours_at(0.5) == pytest.approx(steady.hours_at(0.5))


def test_a_rate_that_may_be_none_never_reaches_for_sure() -> None:
    ahead = crossing(mixture(rate=1e-6, sd=(0.005, 2e-6)), 0.32)
    assert np.isfinite(ahead.hours_at(0.05)[0])
    assert np.isnan(ahead.hours_at(0.95)[0])


def test_no_level_says_nothing() -> None:
    ahead = crossing(mixture(level=np.nan), 0.5)
    assert np.isnan(ahead.hours_at(0.5)[0])
    assert np.isnan(ahead.chance_at(np.array([0.0]))[0])


def test_duty_known_for_sure_gives_the_hours_themselves() -> None:
    ahead = crossing(mixture(), 0.5, run=5000)
    planned = planned_hours_at(ahead, np.array([0.0]), 0.5)
    assert planned[0] == pytest.approx(15000, abs=0.1)


def test_uncertain_duty_makes_the_early_date_earlier() -> None:
    ahead = crossing(mixture(), 0.5, run=5000)
    sure, unsure = (planned_hours_at(ahead, np.array([sd]), 0.05)[0] for sd in (0.0, 0.3))
    assert unsure < sure


def test_uncertain_duty_agrees_with_drawing_lots() -> None:
    ahead = crossing(mixture(), 0.5, run=5000)
    planned = planned_hours_at(ahead, np.array([0.2]), 0.05)[0]
    draws = np.random.default_rng(1)
    sigma = np.sqrt(np.log1p(0.2**2))
    factor = np.exp(sigma * draws.standard_normal(400_000) - sigma**2 / 2)
    hours = 5000 + planned * factor
    sd = np.sqrt(0.005**2 + (1e-6 * hours) ** 2)
    assert stats.norm.cdf((0.3 + 1e-5 * hours - 0.5) / sd).mean() == pytest.approx(0.05, abs=0.002)


@given(q=st.floats(0.001, 0.999), scale=st.floats(0.01, 10))
def test_a_quantile_put_back_gives_its_chance(q: float, scale: float) -> None:
    weight = np.array([[0.2, 0.5, 0.3]])
    mean, sd = np.array([[0.0, 1.0, 2.0]]), scale * np.array([[1.0, 0.5, 2.0]])
    at = quantile(weight, mean, sd, q)
    assert 1 - chance_above(weight, mean, sd, at)[0] == pytest.approx(q, abs=1e-9)
