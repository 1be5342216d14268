"""Wear rates before and after an event."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear.trust.judge import judge

Build = Callable[..., Any]


def _bent(rate_after: float) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Four rings, 0.005 mm per 1000 h until 24,000 h and another rate after it."""
    draw = np.random.default_rng(2)
    register = [{"clearance": f"ring {n}", "limit_mm": 2.0} for n in range(4)]
    readings = []
    for row in register:
        for hours in np.arange(7) * 8000.0:
            worn = 0.2 + 0.005e-3 * min(hours, 24000.0) + rate_after * max(hours - 24000.0, 0.0)
            value = round(worn + 0.003 * draw.standard_normal(), 3)
            readings.append({"clearance": row["clearance"], "run_hours": hours, "value_mm": value})
    return register, readings


def _event(hours: float, **other: object) -> dict[str, object]:
    date = pd.Timestamp("2000-01-01") + pd.Timedelta(days=hours / 20)
    return {"date": date, "what": "wet steam"} | other


def test_a_rate_that_doubles_is_said(site: Build) -> None:
    made = site(*_bent(1.2e-5), events=[_event(24000.0)])
    told = judge(made.register, made.cut, made.families, made.events).events
    assert len(told) == 4
    assert told["before_mm"].to_numpy() == pytest.approx(0.005, abs=0.001)
    assert told["after_mm"].to_numpy() == pytest.approx(0.012, abs=0.001)
    assert (told["before_low_mm"] < told["before_mm"]).all()
    assert (told["after_high_mm"] > told["after_mm"]).all()
    assert told["flag"].all()
    words = told["words"].iloc[0]
    assert words.startswith("wet steam, 2003-04-15: 0.01")
    assert words.endswith("before: faster")


def test_a_rate_that_stays_is_no_change(site: Build) -> None:
    made = site(*_bent(0.5e-5), events=[_event(24000.0)])
    told = judge(made.register, made.cut, made.families, made.events).events
    assert len(told) == 4
    assert not told["flag"].any()
    assert told["words"].str.endswith("no clear change").all()


def test_the_interval_it_falls_into_counts_for_neither_side(site: Build) -> None:
    register, readings = _bent(1.2e-5)
    within = site(register, readings, events=[_event(28000.0)])
    told = judge(within.register, within.cut, within.families, within.events).events
    assert told["before_mm"].to_numpy() == pytest.approx(0.005, abs=0.001)
    assert told["after_mm"].to_numpy() == pytest.approx(0.012, abs=0.001)
    late = site(register, readings, events=[_event(46000.0)])
    assert judge(late.register, late.cut, late.families, late.events).events.empty


def test_only_the_clearances_it_names(site: Build) -> None:
    made = site(*_bent(1.2e-5), events=[_event(24000.0, clearances="ring 2")])
    told = judge(made.register, made.cut, made.families, made.events).events
    assert list(made.cut.positions.loc[told["position"], "clearance"]) == ["ring 2"]


def test_an_event_without_a_date_or_of_another_machine_says_nothing(site: Build) -> None:
    events = [_event(24000.0, machine="other"), {"date": pd.NaT, "what": "trip"}]
    made = site(*_bent(1.2e-5), events=events)
    assert judge(made.register, made.cut, made.families, made.events).events.empty


def test_a_vague_date_takes_only_what_is_surely_on_one_side(site: Build) -> None:
    made = site(*_bent(1.2e-5), events=[_event(28000.0, date_spread_days=500.0)])
    told = judge(made.register, made.cut, made.families, made.events).events
    assert told["before_mm"].to_numpy() == pytest.approx(0.005, abs=0.0015)
    assert told["after_mm"].to_numpy() == pytest.approx(0.012, abs=0.0015)
