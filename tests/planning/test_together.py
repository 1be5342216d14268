"""Several clearances as one: the chance of any, and the last hours at which it holds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from trendwear.forecasting.ahead import plain_hours
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.forecasting.dates import duty_factors, duty_weights, planned_hours_at
from trendwear.planning.together import Together
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
