"""Readings that do not fit are flagged and the slip that would explain them is named."""

from __future__ import annotations

import runpy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear.trust.readings import check_readings
from trendwear.trust.swaps import swapped_pairs

Build = Callable[..., Any]


def _put(readings: list[dict[str, Any]], name: str, run: int, **changed: object) -> float:
    """Change one reading; return what it was."""
    hours = 1000.0 + 8000.0 * run
    (row,) = [r for r in readings if r["clearance"] == name and r["run_hours"] == hours]
    before = row["value_mm"]
    row |= changed
    return float(before)


def test_good_readings_are_not_flagged(site: Build, rings: Build) -> None:
    made = site(*rings())
    told = check_readings(made.register, made.cut, made.families)
    assert not told["flag"].any()
    assert told["words"].isna().all()
    assert list(told["point"]) == list(made.cut.points.index)


@pytest.mark.parametrize("run", [0, 2, 3, 5])
@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (2.0, "twice the expected: a diametral reading doubled?"),
        (0.5, "half the expected: a radial reading in a diametral column?"),
        (10.0, "ten times the expected: a decimal point one place off?"),
        (0.1, "a tenth of the expected: a decimal point one place off?"),
        (25.4, "25.4 times the expected: converted from inches wrongly?"),
        (1 / 25.4, "1/25.4 of the expected: in taken for mm?"),
        (1000 / 25.4, "39.4 times the expected: mil taken for mm?"),
        (1000.0, "1000 times the expected: um taken for mm?"),
        (0.001, "a thousandth of the expected: a decimal point three places off?"),
    ],
)
def test_each_slip_is_named(site: Build, rings: Build, factor: float, words: str, run: int) -> None:
    register, readings = rings()
    good = readings[[r["clearance"] for r in readings].index("ring 4") + run]["value_mm"]
    _put(readings, "ring 4", run, value_mm=good * factor)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("ring 4", 1000.0 + 8000.0 * run)
    assert list(told.index[told["flag"]]) == [point]
    assert told.at[point, "factor"] == pytest.approx(factor)
    assert told.at[point, "words"].startswith(words)
    assert told.at[point, "expected_mm"] == pytest.approx(good, abs=0.03)


def test_a_slip_is_said_in_the_words_of_its_column(site: Build, rings: Build) -> None:
    register, readings = rings()
    for row in register:
        row["basis"] = "radial"
    good = _put(readings, "ring 2", 2, unit="in")
    _put(readings, "ring 2", 2, value_mm=25.4 * good)
    better = _put(readings, "ring 5", 3)
    _put(readings, "ring 5", 3, value_mm=2 * better)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    in_inches = told.at[made.point("ring 2", 17000.0), "words"]
    assert in_inches.startswith("25.4 times the expected: mm taken for in?")
    doubled = told.at[made.point("ring 5", 25000.0), "words"]
    assert doubled.startswith("twice the expected: a diametral reading in a radial column?")


@pytest.mark.parametrize("factor", [2.0, 0.5])
def test_a_reading_that_alone_makes_a_step_is_named(
    site: Build, rings: Build, factor: float
) -> None:
    register, readings = rings()
    good = _put(readings, "ring 3", 2)
    _put(readings, "ring 3", 2, value_mm=factor * good)
    made = site(register, readings)
    causes = made.cut.segments["cause"]
    assert (causes == "unexplained step").sum() == 1
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("ring 3", 17000.0)
    assert list(told.index[told["flag"]]) == [point]
    assert told.at[point, "makes_step"]
    assert told.at[point, "words"].endswith("Without it there is no unexplained step here")
    # nothing is dropped by it
    assert made.cut.points.at[point, "fitted"]


def test_unwritten_work_is_no_slip(site: Build, rings: Build) -> None:
    register, readings = rings()
    for run, value in ((3, 0.21), (4, 0.25), (5, 0.29)):
        _put(readings, "ring 1", run, value_mm=value)
    made = site(register, readings)
    assert (made.cut.segments["cause"] == "unexplained step").sum() == 1
    told = check_readings(made.register, made.cut, made.families)
    assert not told["flag"].any()


def test_a_slip_cannot_hide_in_a_family_of_one(site: Build) -> None:
    values = (0.20, 0.24, 0.28, 0.64, 0.37, 0.40)
    readings = [
        {"clearance": "a", "run_hours": 8000.0 * run, "value_mm": value}
        for run, value in enumerate(values)
    ]
    made = site([{"clearance": "a"}], readings)
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("a", 24000.0)
    assert list(told.index[told["flag"]]) == [point]
    assert told.at[point, "factor"] == 2.0


def test_two_swapped_positions_are_named(site: Build, rings: Build) -> None:
    register, readings = rings()
    low, high = _put(readings, "ring 1", 3), _put(readings, "ring 7", 3)
    _put(readings, "ring 1", 3, value_mm=high)
    _put(readings, "ring 7", 3, value_mm=low)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    one, other = made.point("ring 1", 25000.0), made.point("ring 7", 25000.0)
    assert sorted(told.index[told["flag"]]) == sorted([one, other])
    assert told.at[one, "partner"] == other
    assert told.at[other, "partner"] == one
    assert told.at[one, "words"].startswith("swapped with ring 7? Each fits the other's place")


@pytest.mark.parametrize(("apart", "found"), [(3.9, 0), (4.1, 1)])
def test_a_swap_is_tried_only_beyond_four_spreads(apart: float, found: int) -> None:
    seen = pd.DataFrame(
        {
            **dict.fromkeys(("machine", "kind", "register_basis", "state"), "same"),
            "visit": 1.0,
            "sign": 1.0,
            "shift_mm": 0.0,
            "value_mm": [0.30 + 0.01 * apart, 0.30],
            "mean": [0.30, 0.30 + 0.01 * apart],
            "usual_spread_mm": 0.01,
            "residual": [apart, -apart],
            "at_least": False,
        }
    )
    pairs = swapped_pairs(seen, seen.index)
    assert len(pairs) == found


def test_what_no_slip_explains_is_still_flagged(site: Build, rings: Build) -> None:
    register, readings = rings()
    good = _put(readings, "ring 6", 5)
    _put(readings, "ring 6", 5, value_mm=good + 0.15)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("ring 6", 41000.0)
    assert told.at[point, "words"] == "more worn than all other readings expect"
    assert np.isnan(told.at[point, "factor"])


def test_a_bound_is_not_judged(site: Build, rings: Build) -> None:
    register, readings = rings()
    _put(readings, "ring 6", 5, value_mm=0.01, at_least=True)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("ring 6", 41000.0)
    assert np.isnan(told.at[point, "residual"])
    assert not told.at[point, "flag"]


@pytest.mark.parametrize(
    ("value", "factor"),
    [(0.2, None), (0.45, None), (5.1, 25.4), (0.0079, 1 / 25.4), (200.0, 1000.0), (2.1, 10.0)],
)
def test_first_load_is_held_against_its_design(
    site: Build, value: float, factor: float | None
) -> None:
    register = [{"clearance": "a", "design_min_mm": 0.18, "design_max_mm": 0.22, "limit_mm": 0.5}]
    made = site(register, [{"clearance": "a", "run_hours": 100.0, "value_mm": value}])
    told = check_readings(made.register, made.cut, made.families).iloc[0]
    assert np.isnan(told["residual"])
    assert told["flag"] == (factor is not None)
    if factor is not None:
        assert told["factor"] == pytest.approx(factor)
        assert "what design and limit allow" in told["words"]


def test_what_a_person_excluded_is_left_alone(site: Build) -> None:
    register = [{"clearance": "a", "design_min_mm": 0.18, "design_max_mm": 0.22, "limit_mm": 0.5}]
    reading = {"clearance": "a", "run_hours": 100.0, "value_mm": 5.1, "excluded": True}
    made = site(register, [reading | {"excluded_why": "taken for another"}])
    told = check_readings(made.register, made.cut, made.families)
    assert len(told) == 1
    assert not told["flag"].any()


def test_a_whole_column_in_another_unit_is_seen(site: Build, rings: Build) -> None:
    register, readings = rings(count=2)
    for row in readings:
        row["value_mm"] = row["value_mm"] * 25.4
        row["stated_mm"] = 0.1
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    assert told["flag"].all()
    assert told["factor"].to_numpy() == pytest.approx(25.4)


def test_worn_past_its_limit_is_no_slip_where_its_history_vouches(
    site: Build, rings: Build
) -> None:
    register, readings = rings()
    for row in register:
        row["limit_mm"] = row["design_max_mm"] + 0.05
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    assert not told["flag"].any()


def test_a_gap_that_closes(site: Build, rings: Build) -> None:
    register, readings = rings()
    for row in register:
        row |= {"moves": "closes", "limit_mm": 0.5, "design_min_mm": 1.0, "design_max_mm": 2.0}
    for row in readings:
        row["value_mm"] = 2.0 - row["value_mm"]
    good = _put(readings, "ring 2", 2)
    _put(readings, "ring 2", 2, value_mm=good / 2)
    made = site(register, readings)
    told = check_readings(made.register, made.cut, made.families)
    point = made.point("ring 2", 17000.0)
    assert list(told.index[told["flag"]]) == [point]
    assert told.at[point, "factor"] == 0.5
    assert told.at[point, "expected_mm"] == pytest.approx(good, abs=0.03)
    assert told.at[point, "residual"] > 0


def test_slips_on_simulated_sites_are_caught_and_named() -> None:
    bench = runpy.run_path(str(Path(__file__).parents[1] / "bench" / "trust_slips.py"))
    told = bench["summary"](bench["run"]())
    assert told["slips"] > 150
    assert told["caught"] >= 0.9, told
    assert told["named right"] >= 0.9, told
    assert told["false alarms"] < 0.03, told
