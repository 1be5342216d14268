"""Counts, their bands and errors, reckoned another way."""

from __future__ import annotations

from math import comb

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear import tables
from trendwear.hindsight.found import FOUND, quantile_columns
from trendwear.hindsight.rules import RULES
from trendwear.hindsight.score import (
    ALL,
    FIRST_RUNS,
    LATER_RUNS,
    SCORES,
    coverage_band,
    due_band,
    scores,
)


def up_to(count: int, readings: int, share: float) -> float:
    """Chance of at most ``count`` inside, term by term."""
    return sum(
        comb(readings, k) * share**k * (1 - share) ** (readings - k) for k in range(count + 1)
    )


@given(st.integers(1, 60), st.sampled_from([50, 80, 90]))
def test_an_honest_band_holds_so_many(readings: int, band: int) -> None:
    low, high = due_band(readings, band)
    share = band / 100
    assert up_to(int(low), readings, share) >= 0.05 - 1e-12
    assert up_to(int(low) - 1, readings, share) < 0.05 + 1e-12
    assert up_to(int(high), readings, share) >= 0.95 - 1e-12
    assert up_to(int(high) - 1, readings, share) < 0.95 + 1e-12


@given(st.integers(0, 40), st.integers(1, 40))
def test_interval_of_a_share_solves_its_definition(inside: int, readings: int) -> None:
    inside = min(inside, readings)
    low, high = coverage_band(inside, readings)
    assert low <= inside / readings <= high
    if inside:
        assert 1 - up_to(inside - 1, readings, low) == pytest.approx(0.05, rel=1e-6)
    if inside < readings:
        assert up_to(inside, readings, high) == pytest.approx(0.05, rel=1e-6)


def table(values: list[float], **other: object) -> pd.DataFrame:
    """Readings whose forecast is 0 with band ends 1, 2, 3; the rules are twice as wide."""
    ends = np.array([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0])
    rows = pd.DataFrame({"found_mm": values, "sign": 1.0, "unit": "mm", "family": "rings"})
    rows = rows.assign(position=0, opening_no=0, readings=3, at_least=False, first_run=False)
    rows["assumed"] = False
    for number, rule in enumerate(RULES):
        rows[quantile_columns(rule)] = ends * (1 + number)
    return tables.conform(rows.assign(**other), FOUND)


def of(scored: pd.DataFrame, group: str, rule: str = "forecast") -> pd.Series:
    rows = scored[(scored["group"] == group) & (scored["rule"] == rule)]
    assert len(rows) == 1
    return rows.iloc[0]


def test_readings_are_counted_by_hand() -> None:
    scored = scores(table([0.5, -0.5, 1.5, 2.5, 3.5, -3.0]))
    tables.check(scored, SCORES)
    row = of(scored, ALL)
    assert (row["inside_50"], row["inside_80"], row["inside_90"], row["readings"]) == (2, 3, 5, 6)
    assert row["mean_error_mm"] == pytest.approx(4.5 / 6)
    assert row["mean_abs_error_mm"] == pytest.approx(11.5 / 6)
    wide = of(scored, ALL, "last interval's rate")
    assert (wide["inside_50"], wide["inside_90"]) == (3, 6)
    assert wide["forecast_abs_error_mm"] == wide["rule_abs_error_mm"] == pytest.approx(11.5 / 6)


def test_rules_are_compared_on_the_readings_both_speak_of() -> None:
    rows = table([1.0, 2.0, 4.0])
    rows.loc[2, quantile_columns("own-data line")] = np.nan
    row = of(scores(rows), ALL, "own-data line")
    assert (row["readings"], row["both"]) == (2, 2)
    assert row["forecast_abs_error_mm"] == row["rule_abs_error_mm"] == 1.5


def test_a_closing_gap_is_more_worn_where_it_is_smaller() -> None:
    assert of(scores(table([-1.0], sign=-1.0)), ALL)["mean_error_mm"] == 1.0


def test_first_runs_stand_apart_and_bounds_are_not_judged() -> None:
    rows = pd.concat(
        [table([0.0, 9.0], first_run=True), table([0.0]), table([9.0], at_least=True)],
        ignore_index=True,
    )
    scored = scores(rows)
    assert (of(scored, FIRST_RUNS)["readings"], of(scored, LATER_RUNS)["readings"]) == (2, 1)
    assert of(scored, ALL)["readings"] == 3
    assert of(scored, "rings")["inside_90"] == 2


def test_units_that_differ_are_told_in_millimetres() -> None:
    rows = pd.concat([table([0.0], unit="mil"), table([0.0], unit="in")], ignore_index=True)
    assert of(scores(rows), ALL)["unit"] == "mm"
    assert of(scores(table([0.0], unit="mil")), ALL)["unit"] == "mil"


def test_nothing_found_is_nothing_scored() -> None:
    scored = scores(tables.empty(FOUND))
    assert (scored["readings"] == 0).all()
    assert set(scored["group"]) == {ALL, FIRST_RUNS, LATER_RUNS}
