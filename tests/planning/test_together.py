"""Several clearances as one: the chance of any, and the last hours at which it holds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import duty_factors, duty_weights, planned_hours_at
from trendwear.planning.together import Together, none_of
from trendwear.wear.state import WearMixture

LEVEL, RATE, SD_RATE = 0.20, 2e-5, 4e-6


def crossing(*limits: float) -> Crossing:
    """Clearances known exactly now, with one uncertain rate each."""
    count = len(limits)
    ones, none = np.ones((count, 1)), np.zeros((count, 1))
    wear = WearMixture(
        weight=ones,
        level=ones * LEVEL,
        rate=ones * RATE,
        var_level=none,
        cov_level_rate=none,
        var_rate=ones * SD_RATE**2,
        var_wear=none,
        gauge_scale=ones,
        has_level=np.ones(count, dtype=bool),
        own_share=np.ones(count),
        family_rate=np.full(count, RATE),
        family_rate_sd=np.zeros(count),
        tau=np.zeros(count),
    )
    return Crossing(wear, np.array(limits), np.ones(count), np.zeros(count), plain_hours(count))


def past(limit: float, hours: float) -> float:
    """The chance by hand: P(level + rate h > limit)."""
    return float(norm.sf((limit - LEVEL) / hours, RATE, SD_RATE))


def one(*limits: float, spread: float = 0.0) -> Together:
    group = np.zeros(len(limits), dtype=np.int64)
    if spread:
        return Together.as_planned(crossing(*limits), group, np.array([spread]))
    return Together.in_hours(crossing(*limits), group, 1)


def test_the_chance_of_any_is_that_of_not_none() -> None:
    hours = 9000.0
    by_hand = 1 - (1 - past(0.4, hours)) * (1 - past(0.45, hours))
    assert one(0.4, 0.45).any(np.array([hours]))[0] == pytest.approx(by_hand)


def test_the_product_stands_inside_the_average_over_the_duty() -> None:
    hours, spread = 9000.0, 0.3
    factors, weights = duty_factors(np.array([spread]))[0], duty_weights()
    inside = sum(
        w * (1 - (1 - past(0.4, hours * f)) * (1 - past(0.45, hours * f)))
        for f, w in zip(factors, weights, strict=True)
    )
    both = one(0.4, 0.45, spread=spread)
    assert both.any(np.array([hours]))[0] == pytest.approx(inside)
    each = both.each(np.array([hours]))
    # The product of averages would be another, and here a higher, number.
    assert inside < 1 - (1 - each[0]) * (1 - each[1]) - 0.01


@pytest.mark.parametrize("spread", [0.0, 0.2])
@pytest.mark.parametrize("risk", [0.05, 0.1, 0.2, 0.6])
def test_the_last_hours_put_back_give_the_risk(risk: float, spread: float) -> None:
    together = one(0.4, 0.45, 0.6, spread=spread)
    assert together.any(together.latest(np.array([risk])))[0] == pytest.approx(risk, abs=1e-6)


def test_one_clearance_alone_is_planned_as_its_own_forecast() -> None:
    alone, spread = one(0.4, spread=0.2), np.array([0.2])
    hours = planned_hours_at(crossing(0.4), spread, 0.1)
    assert alone.latest(np.array([0.1]))[0] == pytest.approx(hours[0], rel=1e-5)


@given(st.floats(0.001, 0.9), st.floats(0.001, 0.9))
def test_a_stricter_risk_is_never_later(first: float, second: float) -> None:
    low, high = sorted((first, second))
    hours = [one(0.4, 0.45).latest(np.array([risk]))[0] for risk in (low, high)]
    assert hours[0] <= hours[1]


@given(st.floats(0.21, 3.0))
def test_one_clearance_more_is_never_later(limit: float) -> None:
    risk = np.array([0.1])
    assert one(0.5, limit).latest(risk)[0] <= one(0.5).latest(risk)[0] + 1e-6


def test_exceeded_now_and_never_exceeded() -> None:
    assert np.isnan(one(0.1, 0.5).latest(np.array([0.2]))[0])
    assert one(50.0).latest(np.array([0.2]))[0] == FARTHEST_HOURS
    assert one(0.4).latest(np.array([1.0]))[0] == FARTHEST_HOURS


def test_groups_are_looked_at_apart() -> None:
    group = np.array([0, 1, 1])
    both = Together.in_hours(crossing(0.4, 0.45, 0.5), group, 2)
    risk = np.array([0.1, 0.1])
    apart = [one(0.4).latest(risk[:1])[0], one(0.45, 0.5).latest(risk[:1])[0]]
    assert both.latest(risk) == pytest.approx(apart)


def both_ways(low: float, high: float) -> Crossing:
    """One clearance whose rate is unsure either way, against a lower and an upper limit."""
    upper = crossing(high, low)
    wear = replace(upper.wear, rate=np.zeros((2, 1)), var_rate=np.full((2, 1), 1e-5**2))
    return replace(upper, wear=wear, side=np.array([1.0, -1.0]))


def test_past_the_upper_and_past_the_lower_limit_exclude_each_other() -> None:
    hours, spread = 12000.0, 0.2
    two = both_ways(0.10, 0.35)
    draw = np.random.default_rng(5)
    rates, runs = draw.normal(0.0, 1e-5, 400_000), draw.standard_normal(400_000)
    sigma = np.sqrt(np.log1p(spread**2))
    worn = LEVEL + rates * hours * np.exp(sigma * runs - sigma**2 / 2)
    counted = np.mean((worn > 0.35) | (worn < 0.10))
    group = np.zeros(2, dtype=np.int64)
    together = Together.as_planned(two, group, np.array([spread])).by_part(group)
    asked = np.array([hours])
    assert together.any(asked)[0] == pytest.approx(counted, abs=0.003)
    assert together.any(asked)[0] == pytest.approx(together.each(asked).sum())
    # Two risks independent of each other would be told for a lower chance.
    assert replace(together, part=None).any(asked)[0] < counted - 0.02
    found = together.latest(np.array([0.3]))
    assert together.any(found)[0] == pytest.approx(0.3, abs=1e-6)


def test_parts_are_told_apart_by_group() -> None:
    chances = np.array([[0.2], [0.3], [0.4], [0.7], [0.6]])
    group, part = np.array([0, 0, 1, 1, 0]), np.array([7, 7, 7, 7, 2])
    none = none_of(chances, group, 2, part)
    assert none[:, 0] == pytest.approx([(1 - 0.5) * (1 - 0.6), 0.0])
