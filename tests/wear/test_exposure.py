"""The shape of the exposure: found where the data show it, left alone where not."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
import pytest

from trendwear.bundled import bundled_folder
from trendwear.wear.exposure import Use, expose, only_segments, shape_of, straight
from trendwear.wear.exposure_choice import choose_exposure
from trendwear.wear.fit import fit_wear
from trendwear.wear.histories import Floats, Histories
from trendwear.wear.mixture import wear_mixture

FREE = np.array([np.nan])


@dataclass(frozen=True)
class Truth:
    """How a simulated fleet really wears."""

    power: float = 1.0
    hours_per_start: float = 0.0
    clearances: int = 14
    starts_vary: float = 1.0


def fleet(truth: Truth, seed: int = 1) -> tuple[Histories, Use]:
    """One family, each clearance renewed at 0 h and read five times, some starts on top."""
    draw = np.random.default_rng(seed)
    n, each = truth.clearances, 5
    segment = np.repeat(np.arange(n), each)
    hours = np.cumsum(draw.uniform(4000, 9000, (n, each)), axis=1).ravel()
    per_hour = 0.01 * np.exp(truth.starts_vary * draw.uniform(-1, 1, n))
    starts = np.round(hours * per_hour[segment])
    run = (hours + truth.hours_per_start * starts) / 20000
    rate = 0.4 * np.exp(0.2 * draw.standard_normal(n))
    worn = rate[segment] * run**truth.power
    histories = Histories(
        value=0.2 + worn + 0.01 * draw.standard_normal(len(hours)),
        exposure=hours,
        uncertainty=np.full(len(hours), 0.01),
        at_least=np.zeros(len(hours), dtype=bool),
        segment=segment,
        clearance=np.arange(n),
        start_value=np.full(n, 0.2),
        start_exposure=np.zeros(n),
        family=np.zeros(n, dtype=np.int64),
        assumed_share=np.zeros(1),
    )
    begin = np.zeros(n)
    return histories, Use(hours, starts, begin, begin, np.ones(n, dtype=bool))


@pytest.mark.parametrize("power", [0.55, 1.5])
def test_a_bend_is_found(power: float) -> None:
    histories, use = fleet(Truth(power=power))
    choice = choose_exposure(histories, use, np.zeros(1), FREE)
    assert choice.power.accepted[0]
    assert choice.shape.power[0] == pytest.approx(power, abs=0.08)
    assert choice.power.low[0] < choice.power.value[0] < choice.power.high[0]


def test_straight_wear_stays_straight() -> None:
    found = [choose_exposure(*fleet(Truth(), seed), FREE, FREE).shape.power[0] for seed in range(6)]
    assert found == [1.0] * 6


def test_wear_at_starts_is_found() -> None:
    histories, use = fleet(Truth(hours_per_start=60.0, clearances=25))
    choice = choose_exposure(histories, use, FREE, FREE)
    assert choice.hours_per_start.accepted[0]
    assert choice.hours_per_start.low[0] < 60.0 < choice.hours_per_start.high[0]
    assert choice.shape.power[0] == 1.0


def test_starts_that_do_not_vary_tell_nothing() -> None:
    histories, use = fleet(Truth(starts_vary=0.02))
    many = replace(use, starts=use.starts * 10)
    for starts, untold in ((use, False), (many, True)):
        choice = choose_exposure(histories, starts, FREE, np.ones(1))
        assert np.isnan(choice.hours_per_start.gain[0])
        assert choice.shape.hours_per_start[0] == 0.0
        assert choice.starts_untold[0] == untold
    given = choose_exposure(histories, many, np.array([5.0]), np.ones(1))
    assert given.shape.hours_per_start[0] == 5.0
    assert not given.starts_untold[0]


def test_few_segments_or_unknown_age_do_not_speak_for_a_bend() -> None:
    few = fleet(Truth(power=0.5, clearances=9))
    assert np.isnan(choose_exposure(*few, np.zeros(1), FREE).power.gain[0])
    histories, use = fleet(Truth(power=0.5))
    unknown = replace(use, age_known=np.arange(len(use.age_known)) < 9)
    assert np.isnan(choose_exposure(histories, unknown, np.zeros(1), FREE).power.gain[0])


def test_given_values_are_kept() -> None:
    histories, use = fleet(Truth(power=0.5))
    choice = choose_exposure(histories, use, np.array([3.0]), np.array([0.8]))
    assert (choice.shape.power[0], choice.shape.hours_per_start[0]) == (0.8, 3.0)
    assert np.isnan(choice.power.gain[0])


def spans(histories: Histories) -> Floats:
    """Exposure of each segment, all of which start at 0 and have five readings."""
    return histories.exposure[4::5]


@pytest.mark.parametrize(("power", "worth"), [(0.5, 0.0), (1.7, 0.0), (1.0, 40.0), (0.6, 20.0)])
def test_the_median_segment_keeps_its_length(power: float, worth: float) -> None:
    histories, use = fleet(Truth())
    shape = shape_of(histories, use, np.array([worth]), np.array([power]))
    shaped = expose(histories, use, shape)
    assert np.median(spans(shaped)) == pytest.approx(np.median(spans(histories)))
    assert np.array_equal(expose(histories, use, straight(1)).exposure, histories.exposure)


def test_only_segments_keeps_rows_and_families_together() -> None:
    histories, use = fleet(Truth())
    keep = np.arange(14) % 3 == 0
    kept, kept_use = only_segments(histories, use, keep)
    assert len(kept.family) == 5
    assert np.array_equal(kept.value, histories.value[keep[histories.segment]])
    assert np.array_equal(kept_use.hours, use.hours[keep[histories.segment]])
    assert fit_wear(kept).settled.all()


def test_published_sliding_wear_bends() -> None:
    """Meeker & Escobar (1998): wear of a sliding pair runs in.

    Power laws of the single units have powers near 0.2: the strongest bend on offer is
    taken, and misses the last reading by less than half of what a straight line does.
    """
    sheet = pd.read_csv(bundled_folder("data") / "sliding_wear" / "readings.csv")
    read = sheet[sheet["state"] == "as-found"]
    clearance, names = pd.factorize(read["machine"])
    n = len(names)
    hours = read["run_hours"].to_numpy(dtype=float)
    histories = Histories(
        value=read["value"].to_numpy(dtype=float) / 1000,
        exposure=hours,
        uncertainty=np.full(len(hours), 0.0003),
        at_least=np.zeros(len(hours), dtype=bool),
        segment=clearance,
        clearance=np.arange(n),
        start_value=np.zeros(n),
        start_exposure=np.zeros(n),
        family=np.zeros(n, dtype=np.int64),
        assumed_share=np.ones(1),
    )
    use = Use(hours, np.zeros(len(hours)), np.zeros(n), np.zeros(n), np.ones(n, dtype=bool))
    choice = choose_exposure(histories, use, np.zeros(1), FREE)
    assert choice.power.accepted[0]
    assert choice.shape.power[0] == 0.4
    missed = [
        _last_missed(histories, use, shape_of(histories, use, np.zeros(1), np.array([power])))
        for power in (1.0, choice.shape.power[0])
    ]
    assert missed[1] < 0.5 * missed[0]


def _last_missed(histories: Histories, use: Use, shape: object) -> float:
    """Mean error of each unit's last reading, forecast from its readings before."""
    shaped = expose(histories, use, shape)
    final = np.searchsorted(shaped.segment, np.arange(len(shaped.family)), "right") - 1
    before = np.setdiff1d(np.arange(len(shaped.value)), final)
    known = replace(
        shaped,
        **{
            name: getattr(shaped, name)[before]
            for name in ("value", "exposure", "uncertainty", "at_least", "segment")
        },
    )
    mixture = wear_mixture(fit_wear(known))
    ahead = shaped.exposure[final] - shaped.exposure[final - 1]
    mean = np.sum(mixture.weight * (mixture.level + mixture.rate * ahead[:, None]), axis=1)
    return float(np.mean(np.abs(shaped.value[final] - mean)))
