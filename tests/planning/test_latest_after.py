"""One more reading: what it would show and move, held against readings drawn at random."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.crossing import FARTHEST_HOURS, Crossing
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.chance_curves import ChanceCurves, chances_along
from trendwear.planning.latest_after import SHARES, latest_after
from trendwear.planning.one_reading import after_reading, as_of_now, readings_expected
from trendwear.planning.overhaul import Limiting
from trendwear.planning.together import Together
from trendwear.wear.state import WearMixture, rows_of

U = 0.01
RUN = 6000.0


def wear(count: int) -> WearMixture:
    """Two components: little scatter of wear and a fine gauge, or much and a coarse one."""
    ones = np.ones((count, 1))
    return WearMixture(
        weight=ones * [0.7, 0.3],
        level=ones * [0.20, 0.21],
        rate=ones * [2e-5, 2.3e-5],
        var_level=ones * [1e-4, 2e-4],
        cov_level_rate=ones * [8e-9, 1e-8],
        var_rate=ones * [1.6e-11, 4e-11],
        var_wear=ones * [1e-9, 6e-9],
        gauge_scale=ones * [1.0, 1.6],
        has_level=np.ones(count, dtype=bool),
        own_share=np.ones(count),
        family_rate=np.full(count, 2e-5),
        family_rate_sd=np.zeros(count),
        tau=np.zeros(count),
    )


def crossing(limits: list[float], power: float = 1.0) -> Crossing:
    count = len(limits)
    ones = np.ones(count)
    age, scale = (0.0, 1.0) if power == 1.0 else (9000.0, 2.0)
    ahead = Ahead(ones * age, ones, ones * power, ones * scale)
    return Crossing(wear(count), np.array(limits), ones, ones * RUN, ahead)


def drawn_now(count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Component, clearance now, rate and reading, from the last reading on, by chance alone."""
    draw = np.random.default_rng(11)
    one = wear(1)
    which = (draw.random(count) < one.weight[0, 1]).astype(int)
    corner = one.cov_level_rate[0]
    spread = np.array([[one.var_level[0], corner], [corner, one.var_rate[0]]])
    roots = np.linalg.cholesky(np.moveaxis(spread, 2, 0))
    both = np.einsum("nij,nj->ni", roots[which], draw.standard_normal((count, 2)))
    rate = one.rate[0, which] + both[:, 1]
    wandered = draw.standard_normal(count) * np.sqrt(one.var_wear[0, which] * RUN)
    now = one.level[0, which] + both[:, 0] + rate * RUN + wandered
    error = draw.standard_normal(count) * U * one.gauge_scale[0, which]
    return which, now, rate, now + error


def test_the_readings_to_be_expected_are_those_drawn() -> None:
    *_, reading = drawn_now(400_000)
    told = readings_expected(as_of_now(crossing([0.5])).wear, np.array([U]), SHARES)
    assert told[0] == pytest.approx(np.quantile(reading, SHARES), abs=4e-4)


@pytest.mark.parametrize("place", [1, 10, 18])
def test_what_is_believed_after_a_reading_is_what_such_draws_have_in_common(place: int) -> None:
    which, now, rate, reading = drawn_now(4_000_000)
    state = as_of_now(crossing([0.5])).wear
    asked = readings_expected(state, np.array([U]), SHARES)[:, place]
    told = after_reading(state, np.array([U]), asked)
    alike = np.abs(reading - asked[0]) < 0.0006
    assert told.weight[0, 1] == pytest.approx(which[alike].mean(), abs=0.02)
    for k in range(2):
        some = alike & (which == k)
        assert told.level[0, k] == pytest.approx(now[some].mean(), abs=6e-4)
        assert told.rate[0, k] == pytest.approx(rate[some].mean(), abs=2e-7)
        assert np.sqrt(told.var_level[0, k]) == pytest.approx(now[some].std(), rel=0.04)
        assert np.sqrt(told.var_rate[0, k]) == pytest.approx(rate[some].std(), rel=0.04)


def test_nothing_is_lost_by_counting_from_now() -> None:
    for power in (1.0, 1.3):
        then = crossing([0.45], power)
        now = as_of_now(then)
        for hours in (0.0, 500.0, 8000.0):
            asked = np.array([hours])
            assert now.chance_at(asked) == pytest.approx(then.chance_at(RUN + asked), abs=1e-12)


def test_curves_through_knots_are_the_chances_between_them() -> None:
    sharp = crossing([0.45])
    sharp = replace(sharp, wear=replace(sharp.wear, var_rate=sharp.wear.var_rate * 1e-4))
    for one in (crossing([0.45]), crossing([2.0]), sharp):
        hours = np.linspace(0.0, 60000.0, 241)
        exact = one.rows(np.zeros(241, dtype=np.int64)).chance_at(RUN + hours)
        told = ChanceCurves(chances_along(one)).at(hours[:, None], np.zeros(241, dtype=np.int64))
        assert told[:, 0] == pytest.approx(exact, abs=0.003)


def machine(limits: list[float], consequences: list[str], spread: float = 0.15) -> Limiting:
    rows = pd.DataFrame(
        {"position": np.arange(len(limits)), "code": 0, "consequence": consequences}
    )
    names = pd.Index(["M"])
    return Limiting(names, rows, crossing(limits), np.array([spread]), {}, set())


def by_hand(limits: list[float], accepted: list[tuple[list[int], float]], reading: float) -> float:
    """Latest overhaul after a reading of the first, by planning the machine anew with it."""
    now = as_of_now(crossing(limits))
    first = rows_of(now.wear, np.array([0]))
    told = after_reading(first, np.array([U]), np.array([reading]))
    joined = {
        name: np.concatenate([getattr(told, name), getattr(now.wear, name)[1:]])
        for name in told.__dataclass_fields__
    }
    whole = replace(now, wear=WearMixture(**joined))
    hours = []
    for members, risk in accepted:
        some = whole.rows(np.array(members))
        group = np.zeros(len(members), dtype=np.int64)
        together = Together.as_planned(some, group, np.array([0.15]))
        hours.append(float(together.latest(np.array([risk]))[0]))
    return float(np.min(np.nan_to_num(hours)))


def test_the_latest_overhaul_after_a_reading_by_one_risk() -> None:
    limits = [0.42, 0.47, 0.6]
    after = latest_after(
        machine(limits, ["leak"] * 3), accepted_for_all(0.1), np.array([0]), np.array([U])
    )
    for place in (0, 5, 10, 15, 19):
        expected = by_hand(limits, [([0, 1, 2], 0.1)], after.reading[0, place])
        assert after.planned[0, place] == pytest.approx(expected, rel=0.004, abs=20)
    assert (np.diff(after.planned[0]) <= 0).all()
    assert np.ptp(after.planned[0]) > 2000


def test_the_latest_overhaul_after_a_reading_by_several_risks() -> None:
    limits, risks = [0.42, 0.47, 0.6], {"leak": 0.2, "damage": 0.05}
    site = machine(limits, ["leak", "damage", "leak"])
    accepted = Accepted(by_consequence=risks)
    after = latest_after(site, accepted, np.array([0, 1]), np.array([U, U]))
    for place in (0, 10, 19):
        expected = by_hand(limits, [([0, 2], 0.2), ([1], 0.05)], after.reading[0, place])
        assert after.planned[0, place] == pytest.approx(expected, rel=0.004, abs=20)
    # However well the first is known, the second sets the date.
    alone = Together.as_planned(
        site.crossing.rows(np.array([1])), np.array([0]), np.array([0.15])
    ).latest(np.array([0.05]))[0]
    assert after.planned[0].max() == pytest.approx(alone, rel=0.004)


def test_the_range_of_the_date_is_that_of_readings_drawn() -> None:
    limits = [0.42, 0.47]
    after = latest_after(
        machine(limits, ["leak"] * 2), accepted_for_all(0.1), np.array([0]), np.array([U])
    )
    *_, reading = drawn_now(1000)
    hours = [by_hand(limits, [([0, 1], 0.1)], float(one)) for one in reading[:300]]
    told = np.quantile(after.planned[0], [0.1, 0.5, 0.9], method="hazen")
    assert told == pytest.approx(np.quantile(hours, [0.1, 0.5, 0.9]), rel=0.06)


def test_a_clearance_limited_both_ways_is_read_once() -> None:
    two = crossing([0.45, 0.05])
    two = replace(two, side=np.array([1.0, -1.0]))
    rows = pd.DataFrame({"position": [4, 4], "code": 0, "consequence": "leak"})
    site = Limiting(pd.Index(["M"]), rows, two, np.array([0.15]), {}, set())
    after = latest_after(site, accepted_for_all(0.1), np.array([4]), np.array([U]))
    assert after.planned.shape == (1, len(SHARES))
    upper = latest_after(
        machine([0.45], ["leak"]), accepted_for_all(0.1), np.array([0]), np.array([U])
    )
    assert after.planned == pytest.approx(upper.planned, rel=0.001)


def test_a_limit_far_away_is_not_reached_whatever_is_read() -> None:
    after = latest_after(
        machine([90.0], ["leak"]), accepted_for_all(0.1), np.array([0]), np.array([U])
    )
    assert (after.planned == FARTHEST_HOURS).all()


def test_what_is_known_exactly_is_not_known_better_by_an_exact_reading() -> None:
    site = machine([0.42], ["leak"])
    none = np.zeros((1, 2))
    exact = replace(site.crossing.wear, var_level=none, cov_level_rate=none)
    fresh = replace(site.crossing, wear=exact, run=np.zeros(1))
    site = replace(site, crossing=fresh)
    after = latest_after(site, accepted_for_all(0.1), np.array([0]), np.zeros(1))
    assert np.isfinite(after.planned).all()
    assert after.reading[0] == pytest.approx(np.where(SHARES < 0.7, 0.20, 0.21), abs=1e-6)
