"""Faster than it was: each last interval against the forecast made before it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from trendwear.trust.judge import judge
from trendwear.trust.pace import flag_site

Build = Callable[..., Any]


def _hasten(readings: list[dict[str, Any]], name: str, by: float) -> None:
    last = [row for row in readings if row["clearance"] == name][-1]
    last["value_mm"] += by


def test_a_steady_fleet_is_not_flagged(site: Build, rings: Build) -> None:
    made = site(*rings(count=20))
    told = judge(made.register, made.cut, made.families, made.events).pace
    assert len(told) == 20
    assert not told["flag"].any()
    assert told["last_per_1000h_mm"].median() == pytest.approx(0.005, rel=0.1)
    assert told["before_per_1000h_mm"].to_numpy() == pytest.approx(0.005, rel=0.3)
    assert (told["hours"] == 8000.0).all()


def test_the_one_that_hastens_is_flagged(site: Build, rings: Build) -> None:
    register, readings = rings(count=20)
    _hasten(readings, "ring 7", 0.05)
    made = site(register, readings)
    told = judge(made.register, made.cut, made.families, made.events).pace
    flagged = told[told["flag"]]
    assert list(made.cut.positions.loc[flagged["position"], "clearance"]) == ["ring 7"]
    row = flagged.iloc[0]
    assert row["last_per_1000h_mm"] > row["before_high_mm"] > row["before_per_1000h_mm"]
    assert row["words"].startswith("wore faster than before: 0.01")
    assert "mm per 1000 h in the last interval" in row["words"]


def test_a_whole_fleet_that_hastens_is_no_excuse(site: Build, rings: Build) -> None:
    """What is known before the last opening is all that counts: no member hides another."""
    register, readings = rings(count=12)
    for row in register:
        _hasten(readings, row["clearance"], 0.05)
    made = site(register, readings)
    told = judge(made.register, made.cut, made.families, made.events).pace
    assert told["flag"].sum() >= 10


def test_a_slip_is_not_taken_for_haste(site: Build, rings: Build) -> None:
    register, readings = rings(count=20)
    last = [row for row in readings if row["clearance"] == "ring 2"][-1]
    last["value_mm"] *= 10
    made = site(register, readings)
    trust = judge(made.register, made.cut, made.families, made.events)
    assert trust.readings["flag"].sum() == 1
    assert not trust.pace["flag"].any()


def test_renewed_at_the_last_opening_the_interval_before_counts(site: Build, rings: Build) -> None:
    register, readings = rings(count=12)
    readings.append(
        {"clearance": "ring 3", "run_hours": 41000.0, "value_mm": 0.30, "state": "as-left"}
    )
    made = site(register, readings, [{"clearance": "ring 3", "run_hours": 41000.0}])
    told = judge(made.register, made.cut, made.families, made.events).pace
    position = made.cut.positions.index[made.cut.positions["clearance"] == "ring 3"][0]
    row = told.set_index("position").loc[position]
    assert row["point"] == made.point("ring 3", 41000.0)
    assert 0.003 < row["last_per_1000h_mm"] < 0.007


def test_flags_of_benjamini_and_hochberg() -> None:
    """Their example of 15 hypotheses: four are rejected at 5 % (J. R. Statist. Soc. B 57, 1995)."""
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344]
    p += [0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
    assert flag_site(np.array([*p, np.nan])).sum() == 4
    assert not flag_site(np.array([])).any()
