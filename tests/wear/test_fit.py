"""The search for the variances: derivatives, priors, odd fleets, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trendwear.wear.deletion import expect_each
from trendwear.wear.fit import fit_wear, widen
from trendwear.wear.histories import Histories, lay_out
from trendwear.wear.likelihood import THETA_OF_X, posterior
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.priors import DEFAULT_NOISE, priors_of, typical_rate


def fleet(families: int, size: int, readings: int, seed: int = 0) -> Histories:
    """Clearances of one segment each, gamma wear, rates of 0.02 mm per 1000 h."""
    draw = np.random.default_rng(seed)
    n = families * size
    segment = np.repeat(np.arange(n), readings)
    hours = draw.uniform(6, 10, (n, readings))
    rate = 0.02 * np.exp(0.4 * draw.standard_normal((n, 1)))
    wear = draw.gamma(hours / 8 / 0.2**2) * rate * 8 * 0.2**2
    hours[:, 0] = wear[:, 0] = 0.0
    worn = np.cumsum(wear, axis=1).ravel() + 0.01 * draw.standard_normal(n * readings)
    return Histories(
        value=0.2 + worn,
        exposure=np.cumsum(hours, axis=1).ravel(),
        uncertainty=np.full(n * readings, 0.01),
        at_least=np.zeros(n * readings, dtype=bool),
        segment=segment,
        clearance=np.arange(n),
        start_value=np.full(n, np.nan),
        start_exposure=np.full(n, np.nan),
        family=np.arange(n) // size,
        assumed_share=np.zeros(families),
    )


def test_derivatives_agree_with_differences() -> None:
    layout = lay_out(fleet(families=4, size=5, readings=4))
    priors = priors_of(layout, DEFAULT_NOISE)
    x = np.linalg.solve(THETA_OF_X, priors.centre.T).T + 0.3
    there = posterior(layout, priors, x)
    for axis in range(3):
        step = np.zeros(3)
        step[axis] = 1e-4
        after, before = posterior(layout, priors, x + step), posterior(layout, priors, x - step)
        slope = (after.value - before.value) / 2e-4
        np.testing.assert_allclose(there.slope[:, axis], slope, atol=1e-4)
        bend = (after.slope - before.slope) / 2e-4
        np.testing.assert_allclose(there.bend[:, axis], bend, atol=1e-4)


def test_the_mode_is_flat_and_a_maximum() -> None:
    fit = fit_wear(fleet(families=6, size=4, readings=5))
    assert fit.settled.all()
    np.testing.assert_allclose(fit.curve.slope, 0.0, atol=1e-5)
    assert np.all(np.linalg.eigvalsh(fit.curve.bend) > 0)


def test_a_large_family_shows_its_variances() -> None:
    """200 clearances: rates differ by 0.4 in the log, wear noise is 20 % of 8000 h."""
    phi, sigma_w, tau = fit_wear(fleet(families=1, size=200, readings=8)).theta[0]
    rate = 0.02 * np.exp(0.4**2 / 2)
    assert phi == pytest.approx(1.0, abs=0.25)
    assert sigma_w == pytest.approx(0.2 * rate * np.sqrt(8), rel=0.2)
    assert tau == pytest.approx(rate * np.sqrt(np.expm1(0.4**2)), rel=0.2)


def test_ten_rich_families_tell_the_others_what_noise_is_usual() -> None:
    nine = fit_wear(fleet(families=9, size=6, readings=6))
    assert (nine.noise.learned_from, nine.noise.share) == (0, 0.2)
    ten = fit_wear(fleet(families=10, size=6, readings=6))
    assert ten.noise.learned_from == 10
    assert ten.noise.share != 0.2


def test_mostly_assumed_uncertainties_leave_phi_more_room() -> None:
    histories = fleet(families=1, size=1, readings=4)
    assumed = replace(histories, assumed_share=np.array([0.6]))
    stated, guessed = (fit_wear(some).priors.sd[0, 0] for some in (histories, assumed))
    assert (stated, guessed) == (0.35, 0.7)


def test_the_unit_of_exposure_changes_nothing() -> None:
    histories = fleet(families=3, size=4, readings=5)
    thousand = replace(histories, exposure=1000 * histories.exposure)
    left, right = wear_mixture(fit_wear(histories)), wear_mixture(fit_wear(thousand))
    np.testing.assert_allclose(left.rate, 1000 * right.rate, rtol=1e-6)
    np.testing.assert_allclose(left.level, right.level, rtol=1e-8)
    np.testing.assert_allclose(left.var_wear, 1000 * right.var_wear, rtol=1e-5)
    np.testing.assert_allclose(left.weight, right.weight, atol=1e-7)


def test_uncertain_hours_widen_the_reading() -> None:
    histories = fleet(families=2, size=3, readings=4)
    error = np.zeros(len(histories.value))
    assert widen(histories, error) is histories
    error[5] = 2.0
    widened = widen(histories, error)
    rate = typical_rate(lay_out(histories), DEFAULT_NOISE)[0]
    assert rate == pytest.approx(0.02, rel=0.5)
    assert widened.uncertainty[5] == pytest.approx(np.hypot(0.01, 2.0 * rate))
    assert np.array_equal(np.delete(widened.uncertainty, 5), np.delete(histories.uncertainty, 5))


@pytest.mark.parametrize("seed", range(40))
def test_odd_fleets_settle_and_stay_finite(seed: int) -> None:
    """Empty segments, ties, no wear at all, slips, closing signs, any unit, one-sided readings."""
    draw = np.random.default_rng(seed)
    families, clearances = 3, 9
    segments_each = draw.integers(1, 4, clearances)
    clearance = np.repeat(np.arange(clearances), segments_each)
    lengths = draw.integers(0, 6, len(clearance))
    segment = np.repeat(np.arange(len(clearance)), lengths)
    unit = 10.0 ** draw.uniform(0, 5)
    tied = [np.sort(np.round(draw.uniform(0, 5, count))) for count in lengths]
    exposure = np.concatenate(tied) * unit
    noise = 0.02 * draw.standard_normal(len(segment))
    slips = 10.0 * (draw.random(len(segment)) < 0.1)
    wear = 0.1 * exposure / unit
    value = (wear + noise, noise, wear + slips, 0 * wear, -wear + noise)[seed % 5]
    start = np.where(draw.random(len(clearance)) < 0.3, 0.0, np.nan)
    histories = Histories(
        value=value,
        exposure=exposure,
        uncertainty=np.full(len(value), 10.0 ** draw.uniform(-6, 0)),
        at_least=draw.random(len(value)) < (0.2 if seed % 2 else 0.0),
        segment=segment,
        clearance=clearance,
        start_value=start,
        start_exposure=start,
        family=draw.permutation(np.arange(clearances) % families),
        assumed_share=draw.random(families),
    )
    fit = fit_wear(histories)
    mixture = wear_mixture(fit)
    assert fit.settled.all()
    np.testing.assert_allclose(mixture.weight.sum(axis=1), 1.0)
    rated = np.isfinite(mixture.family_rate)
    for name in ("rate", "var_rate", "var_wear", "gauge_scale", "own_share", "tau"):
        assert np.isfinite(getattr(mixture, name)[rated]).all()
    both = rated & mixture.has_level
    assert np.isfinite(mixture.level[both]).all()
    assert (mixture.var_level[both] >= 0).all()
    assert ((mixture.own_share[rated] > -1e-9) & (mixture.own_share[rated] < 1 + 1e-9)).all()
    # level and rate are jointly normal: no correlation beyond 1
    most = np.sqrt(mixture.var_level[both] * mixture.var_rate[both])
    assert (np.abs(mixture.cov_level_rate[both]) <= most * (1 + 1e-9)).all()
    assert len(expect_each(fit).mean) == len(value)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"uncertainty": np.zeros(4)}, "uncertainty above 0"),
        ({"uncertainty": np.ones(3)}, "one entry for each of 4"),
        ({"value": np.array([0.1, np.nan, 0.2, 0.3])}, "a value and an exposure"),
        ({"exposure": np.array([5.0, 0.0, 1.0, 2.0])}, "falls within a segment"),
        ({"segment": np.array([1, 0, 0, 0])}, "sorted by segment"),
        ({"segment": np.array([0, 0, 1, 2])}, "in no segment"),
        ({"clearance": np.array([0, 2])}, "needs a segment"),
        ({"family": np.array([0, 1])}, "in no family"),
        ({"start_value": np.array([0.1, np.nan])}, "both its value and its exposure"),
        ({"start_value": np.array([0.1])}, "one for each of 2 segments"),
        (
            {"start_value": np.array([0.1, np.nan]), "start_exposure": np.array([9.0, np.nan])},
            "before the known start",
        ),
    ],
)
def test_arrays_that_do_not_fit_are_refused(change: dict[str, object], message: str) -> None:
    histories = fleet(families=1, size=2, readings=2)
    with pytest.raises(ValueError, match=message):
        replace(histories, **change)
