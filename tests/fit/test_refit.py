"""Families fitted anew only where something changed, with the same result as all anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from trendwear.fit import family_choice
from trendwear.fit.family_data import FamilyData
from trendwear.fit.fingerprints import fingerprints
from trendwear.fit.kept import NOTHING_KEPT
from trendwear.fit.refit import Refit, refit
from trendwear.progress import silent
from trendwear.wear import rest
from trendwear.wear.exposure import Use
from trendwear.wear.histories import Histories
from trendwear.wear.mixture import wear_mixture

FAMILIES, SIZE, READINGS = 12, 10, 5
BOUNDED = 2
"""Family that holds a reading which only says *at least*."""


def site() -> FamilyData:
    """Clearances of known age, the members of families mixed; starts vary between them."""
    draw = np.random.default_rng(3)
    n = FAMILIES * SIZE
    m = n * READINGS
    hours = draw.uniform(6000, 10000, (n, READINGS))
    rate = 2e-5 * np.exp(0.4 * draw.standard_normal((n, 1)))
    worn = 0.2 + (draw.gamma(hours / 8000 / 0.2**2) * rate * 8000 * 0.2**2).cumsum(axis=1)
    hours = hours.cumsum(axis=1)
    starts = hours / 100 * draw.uniform(0.3, 2.0, (n, 1))
    family = np.arange(n) % FAMILIES
    at_least = np.zeros((n, READINGS), dtype=bool)
    at_least[BOUNDED, -1] = True
    histories = Histories(
        value=(worn + 0.01 * draw.standard_normal(worn.shape)).ravel(),
        exposure=hours.ravel(),
        uncertainty=np.full(m, 0.01),
        at_least=at_least.ravel(),
        segment=np.repeat(np.arange(n), READINGS),
        clearance=np.arange(n),
        start_value=np.full(n, 0.2),
        start_exposure=np.zeros(n),
        family=family,
        assumed_share=np.zeros(FAMILIES),
    )
    return FamilyData(
        histories=histories,
        use=Use(hours.ravel(), starts.ravel(), np.zeros(n), np.zeros(n), np.ones(n, dtype=bool)),
        families=[f"family {code}" for code in range(FAMILIES)],
        member=pd.DataFrame({"position": np.arange(n), "era": 0, "current": True}),
        rows=np.arange(m),
        exposure_error=np.where(np.arange(m) % 7 == 0, 50.0, 0.0),
        last=pd.DataFrame(),
    )


FREE = (np.full(FAMILIES, np.nan), np.full(FAMILIES, np.nan))


def changed(data: FamilyData, row: int, by_mm: float) -> FamilyData:
    """The same site with one reading changed."""
    value = data.histories.value.copy()
    value[row] += by_mm
    return replace(data, histories=replace(data.histories, value=value))


def family_of(data: FamilyData, row: int) -> int:
    return int(data.histories.family[data.histories.segment[row]])


@pytest.fixture
def searched(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """Grows by what is searched, and how many families at once."""
    told: list[tuple[str, int]] = []
    fit_at, choose = rest.fit_at, family_choice.choose_exposure

    def fit(layout, *others):  # type: ignore[no-untyped-def]
        told.append(("fit", layout.families))
        return fit_at(layout, *others)

    def choice(histories, *others):  # type: ignore[no-untyped-def]
        told.append(("choice", len(histories.assumed_share)))
        return choose(histories, *others)

    monkeypatch.setattr(rest, "fit_at", fit)
    monkeypatch.setattr(family_choice, "choose_exposure", choice)
    return told


def assert_same(left: Refit, right: Refit) -> None:
    one, other = wear_mixture(left.fit), wear_mixture(right.fit)
    for name in type(one).__dataclass_fields__:
        np.testing.assert_allclose(
            getattr(one, name), getattr(other, name), rtol=1e-9, err_msg=name
        )
    for name in ("hours_per_start", "power"):
        for part in ("value", "low", "high", "gain"):
            np.testing.assert_allclose(
                getattr(getattr(left.choice, name), part),
                getattr(getattr(right.choice, name), part),
                rtol=1e-9,
            )
    assert left.fit.noise == right.fit.noise


def test_nothing_is_searched_twice(searched: list[tuple[str, int]]) -> None:
    data = site()
    first = refit(data, FREE, NOTHING_KEPT, silent)
    assert first.fit.noise.learned_from == FAMILIES
    assert [one.family for one in first.found] == data.families
    assert ("choice", FAMILIES) in searched
    searched.clear()
    second = refit(data, FREE, NOTHING_KEPT.and_also(first.found), silent)
    assert searched == []
    assert second.found == []
    assert_same(second, first)


@pytest.mark.parametrize("row", [READINGS * 5 + 2, READINGS * BOUNDED])
def test_one_changed_reading_has_its_family_fitted_anew(
    searched: list[tuple[str, int]], row: int
) -> None:
    data = site()
    kept = NOTHING_KEPT.and_also(refit(data, FREE, NOTHING_KEPT, silent).found)
    later = changed(data, row, 0.003)
    searched.clear()
    again = refit(later, FREE, kept, silent)
    assert {count for _, count in searched} == {1}
    assert [one.family for one in again.found] == [data.families[family_of(data, row)]]
    assert_same(again, refit(later, FREE, NOTHING_KEPT, silent))


def test_another_noise_has_all_fitted_anew_but_nothing_chosen(
    searched: list[tuple[str, int]],
) -> None:
    data = site()
    first = refit(data, FREE, NOTHING_KEPT, silent)
    other = [replace(one, noise_share=0.5) for one in first.found]
    searched.clear()
    again = refit(data, FREE, NOTHING_KEPT.and_also(other), silent)
    assert searched[0] == ("fit", FAMILIES)
    assert {what for what, _ in searched} == {"fit"}
    assert again.found == first.found


def test_a_family_is_known_wherever_it_stands() -> None:
    """The fingerprints of the others do not move when a family comes or goes."""
    data = site()
    before = fingerprints(data, FREE)
    keep = np.arange(FAMILIES) != 4
    of_member = keep[data.histories.family]
    of_row = of_member[data.histories.segment]
    histories, use = family_choice.only_families(data.histories, data.use, keep)
    fewer = replace(
        data,
        histories=histories,
        use=use,
        families=[name for name, stays in zip(data.families, keep, strict=True) if stays],
        exposure_error=data.exposure_error[of_row],
    )
    given = (FREE[0][keep], FREE[1][keep])
    assert fingerprints(fewer, given) == [one for one, s in zip(before, keep, strict=True) if s]


def with_history(name: str) -> Callable[[FamilyData], FamilyData]:
    def change(data: FamilyData) -> FamilyData:
        values = getattr(data.histories, name).copy()
        values[0] = ~values[0] if values.dtype == bool else values[0] * 0.99 + 0.001
        return replace(data, histories=replace(data.histories, **{name: values}))

    return change


def with_use(name: str) -> Callable[[FamilyData], FamilyData]:
    def change(data: FamilyData) -> FamilyData:
        values = getattr(data.use, name).copy()
        values[0] = ~values[0] if values.dtype == bool else values[0] + 1.0
        return replace(data, use=replace(data.use, **{name: values}))

    return change


def with_error(data: FamilyData) -> FamilyData:
    return replace(data, exposure_error=data.exposure_error + (np.arange(600) == 0))


def with_a_segment_split(data: FamilyData) -> FamilyData:
    """The first clearance's last reading becomes a segment of its own."""
    old, use = data.histories, data.use
    segment = old.segment + 1
    segment[: READINGS - 1] = 0

    def twice(values: np.ndarray) -> np.ndarray:
        return np.concatenate([values[:1], values])

    histories = replace(
        old,
        segment=segment,
        clearance=twice(old.clearance),
        start_value=twice(old.start_value),
        start_exposure=twice(old.start_exposure),
    )
    use = replace(
        use,
        begin_hours=twice(use.begin_hours),
        begin_starts=twice(use.begin_starts),
        age_known=twice(use.age_known),
    )
    return replace(data, histories=histories, use=use)


@pytest.mark.parametrize(
    "change",
    [
        *map(with_history, ("value", "uncertainty", "at_least", "start_value", "assumed_share")),
        *map(with_use, ("hours", "starts", "begin_hours", "begin_starts", "age_known")),
        with_error,
        with_a_segment_split,
    ],
)
def test_whatever_enters_the_fit_moves_the_fingerprint_of_its_family(
    change: Callable[[FamilyData], FamilyData],
) -> None:
    data = site()
    before, after = fingerprints(data, FREE), fingerprints(change(data), FREE)
    assert [one != other for one, other in zip(before, after, strict=True)] == [
        True,
        *[False] * (FAMILIES - 1),
    ]


def test_what_a_person_fixed_moves_the_fingerprint() -> None:
    data = site()
    before = fingerprints(data, FREE)
    for which in (0, 1):
        given = [values.copy() for values in FREE]
        given[which][3] = 1.0
        after = fingerprints(data, (given[0], given[1]))
        assert [code for code in range(FAMILIES) if before[code] != after[code]] == [3]
