"""The record of past plans and bands, counted by hand on invented frames."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest

from trendwear import tables
from trendwear.hindsight.followed import IN_TIME, LATE, NO_PLAN, PLANS, UNTESTED
from trendwear.hindsight.found import FOUND
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.past_record import past_record
from trendwear.hindsight.score import scores
from trendwear.planning.deferral import BandRecord, PlanRecord


def plan_row(machine: str, risk: float, outcome: str, due: float) -> dict[str, object]:
    flat = {"opening_no": 1, "clearances": 1, "silent": 0, "apart": 0}
    return flat | {"machine": machine, "risk": risk, "outcome": outcome, "due": due}


def found_row(family: str, value: float, **other: object) -> dict[str, object]:
    row = {"machine": "M", "clearance": "a", "family": family, "unit": "mm", "position": 0}
    row |= {"sign": 1.0, "opening_no": 1, "found_mm": value, "at_least": False, "readings": 3}
    row |= {"first_run": False, "assumed": False}
    levels = ("05", "10", "25", "50", "75", "90", "95")
    bands = {f"forecast_p{q}_mm": 0.1 * number for number, q in enumerate(levels)}
    return row | bands | other


@pytest.fixture
def walked() -> Hindcast:
    plans = [
        plan_row("M", 0.1, LATE, 0.1),
        plan_row("M", 0.1, IN_TIME, 0.1),
        plan_row("M", 0.1, UNTESTED, 0.05),
        plan_row("M", 0.1, NO_PLAN, float("nan")),
        plan_row("N", 0.1, IN_TIME, 0.1),
        plan_row("M", 0.2, LATE, 0.2),
    ]
    found = [
        found_row("Ring A", 0.3),
        found_row("ring a", 0.9),  # above its band
        found_row("ring b", 0.0),  # its lower end belongs to the band
        found_row("ring b", 0.3, at_least=True),
        found_row("ring b", 0.3, forecast_p50_mm=float("nan")),
    ]
    frame = tables.conform(pd.DataFrame(found), FOUND)
    return Hindcast(
        as_of=dt.date(2020, 1, 1),
        found=frame,
        scores=scores(frame),
        plans=tables.conform(pd.DataFrame(plans), PLANS),
        openings=6,
        unplanned=0,
        unfollowed=0,
        undated=(),
    )


def test_plans_at_the_nearest_risk_that_is_kept(walked: Hindcast) -> None:
    record = past_record(walked, "M", {"ring A"}, 0.12)
    assert record.risk == 0.10
    assert record.of_machine == PlanRecord(3, 1, 1, 1, 1, pytest.approx(0.25))
    assert record.of_all == PlanRecord(4, 1, 2, 1, 1, pytest.approx(0.35))
    assert past_record(walked, "M", {"ring A"}, 0.3).risk == 0.20
    assert past_record(walked, "M", {"ring A"}, 0.0).risk == 0.05


def test_bands_of_its_families_however_they_are_spelt(walked: Hindcast) -> None:
    record = past_record(walked, "M", {"RING A"}, 0.1)
    assert record.bands_of_families == BandRecord(2, 1, 1, 2)
    assert record.bands_of_all == BandRecord(3, 2, 2, 3)


def test_nothing_to_judge(walked: Hindcast) -> None:
    record = past_record(walked, "Z", set(), 0.1)
    assert record.of_machine.made == 0
    assert record.bands_of_families == BandRecord(0, 0, 0, 0)
