"""Searches that need not be done twice: a family's result hangs on its own readings alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from trendwear.wear import rest, search
from trendwear.wear.exposure import Use
from trendwear.wear.exposure_choice import choose_exposure
from trendwear.wear.fit import KnownRests, fit_resting, fit_wear
from trendwear.wear.histories import Histories, of_families
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.priors import DEFAULT_NOISE
from trendwear.wear.version import MODEL_VERSION


def fleet(families: int, size: int = 6, readings: int = 6) -> Histories:
    """Clearances of one segment each, gamma wear; in every third family one reading is a bound."""
    draw = np.random.default_rng(5)
    n = families * size
    hours = draw.uniform(6, 10, (n, readings))
    rate = 0.02 * np.exp(0.4 * draw.standard_normal((n, 1)))
    wear = draw.gamma(hours / 8 / 0.2**2) * rate * 8 * 0.2**2
    hours[:, 0] = wear[:, 0] = 0.0
    worn = np.cumsum(wear, axis=1).ravel() + 0.01 * draw.standard_normal(n * readings)
    at_least = np.zeros((n, readings), dtype=bool)
    at_least[:: 3 * size, -1] = True
    # the members of the families stand mixed, as machines mix them
    return Histories(
        value=0.2 + worn,
        exposure=np.cumsum(hours, axis=1).ravel(),
        uncertainty=np.full(n * readings, 0.01),
        at_least=at_least.ravel(),
        segment=np.repeat(np.arange(n), readings),
        clearance=np.arange(n),
        start_value=np.full(n, np.nan),
        start_exposure=np.full(n, np.nan),
        family=np.arange(n) % families,
        assumed_share=np.zeros(families),
    )


def alone(histories: Histories, code: int) -> Histories:
    """Return one family."""
    return of_families(histories, np.arange(len(histories.assumed_share)) == code)


def test_families_searched_apart_rest_where_they_rest_together() -> None:
    histories = fleet(families=4)
    assert histories.at_least.any()
    together = rest.search_rests(histories, DEFAULT_NOISE, [None] * 4)
    for code in range(4):
        (apart,) = rest.search_rests(alone(histories, code), DEFAULT_NOISE, [None])
        assert apart.settled
        assert len(apart.stand_value) == alone(histories, code).at_least.sum()
        np.testing.assert_allclose(apart.mode, together[code].mode, atol=1e-9)
        np.testing.assert_allclose(apart.stand_value, together[code].stand_value, rtol=1e-9)


def test_known_rests_give_the_same_fit_without_a_search(monkeypatch: pytest.MonkeyPatch) -> None:
    histories = fleet(families=12)
    scratch = fit_resting(histories, KnownRests([None] * 12, lambda _: [None] * 12))
    assert scratch.fit.noise.learned_from == 12
    whole = wear_mixture(fit_wear(histories))
    monkeypatch.delattr(search, "find_mode")
    known = fit_resting(histories, KnownRests(scratch.first, lambda _: scratch.last))
    for name in ("x", "settled", "freedom", "log_restricted", "theta"):
        np.testing.assert_array_equal(getattr(known.fit, name), getattr(scratch.fit, name))
    np.testing.assert_array_equal(known.fit.curve.bend, scratch.fit.curve.bend)
    np.testing.assert_array_equal(wear_mixture(known.fit).rate, whole.rate)


def test_only_what_is_not_known_is_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    histories = fleet(families=5)
    rests = rest.search_rests(histories, DEFAULT_NOISE, [None] * 5)
    searched = []
    fit_at = rest.fit_at

    def counted(layout, *others):  # type: ignore[no-untyped-def]
        searched.append(layout.families)
        return fit_at(layout, *others)

    monkeypatch.setattr(rest, "fit_at", counted)
    known = [*rests[:2], None, *rests[3:]]
    again = rest.search_rests(histories, DEFAULT_NOISE, known)
    assert [*again[:2], *again[3:]] == [*rests[:2], *rests[3:]]
    np.testing.assert_allclose(again[2].mode, rests[2].mode, atol=1e-9)
    assert searched == [1]


def test_the_usual_noise_has_two_digits() -> None:
    share = fit_wear(fleet(families=12)).noise.share
    assert share == float(f"{share:.2g}")


def test_what_is_chosen_for_a_family_hangs_on_no_other() -> None:
    histories = replace(fleet(families=12, size=12, readings=4), at_least=np.zeros(576, dtype=bool))
    begin = np.zeros(144)
    starts = histories.exposure * (1 + histories.clearance[histories.segment] % 5)
    use = Use(histories.exposure, starts, begin, begin, np.ones(144, dtype=bool))
    histories = replace(histories, start_value=begin + 0.2, start_exposure=begin)
    free = np.full(12, np.nan)
    whole = choose_exposure(histories, use, free, free)
    assert np.isfinite(whole.power.gain).all()
    one = np.arange(12) == 7
    rows = one[histories.family[histories.segment]]
    part = Use(use.hours[rows], starts[rows], begin[:12], begin[:12], use.age_known[:12])
    by_itself = choose_exposure(of_families(histories, one), part, free[:1], free[:1])
    for name in ("value", "low", "high", "gain"):
        for profile in ("power", "hours_per_start"):
            np.testing.assert_allclose(
                getattr(getattr(by_itself, profile), name),
                getattr(getattr(whole, profile), name)[one],
                rtol=1e-9,
            )


# fmt: off
RECORDED = {
    2: (
        0.990805599, 0.0106819603, 0.00405980775,
        1.02610896, 0.0157970551, 0.00738116178,
        0.998743068, 0.0216148442, 0.0105477975,
        0.990947187, 0.0111375987, 0.00730021522,
        0.0186873947, 0.013634306, 0.0422803561, 0.031562199,
        6.58182651e-05, 0.000138847175, 0.000638655946, 0.000192260461,
        1.02297654,
    ),
}
# fmt: on
"""Theta of four families, rate and var_wear at one node of a member each, and a power."""


def test_the_version_is_raised_with_every_change_of_results() -> None:
    """Where this fails and the change is meant: raise MODEL_VERSION, and record the new numbers."""
    histories = fleet(families=4)
    fit = fit_wear(histories)
    begin = np.full(24, np.nan)
    use = Use(histories.exposure, histories.exposure / 100, begin, begin, np.ones(24, dtype=bool))
    bent = choose_exposure(
        replace(fleet(families=1, size=24), at_least=np.zeros(144, dtype=bool)),
        use,
        np.zeros(1),
        np.full(1, np.nan),
    )
    mixture = wear_mixture(fit)
    of_node = [*mixture.rate[:4, 0], *mixture.var_wear[:4, 0]]
    found = [*fit.theta.ravel(), *of_node, bent.power.value[0]]
    assert max(RECORDED) == MODEL_VERSION
    np.testing.assert_allclose(found, RECORDED[MODEL_VERSION], rtol=1e-6)
