"""Duty: hours until a date, and the date of an hour."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear import tables
from trendwear.segments.hour_line import HourLine
from trendwear.segments.running_hours import Duty, duty_of


def day(text: str) -> float:
    return (pd.Timestamp(text) - pd.Timestamp("1970-01-01")).days


def plan(*rows: tuple[str, str | None, float]) -> pd.DataFrame:
    frame = pd.DataFrame(
        [
            {
                "machine": "M",
                "from": pd.Timestamp(a),
                "to": pd.NaT if b is None else pd.Timestamp(b),
            }
            | {"hours_per_day": hours}
            for a, b, hours in rows
        ]
    )
    return tables.conform(frame, tables.DUTY_PLAN)


SEASON = plan(("2026-05-01", "2026-10-31", 20.0), ("2026-11-01", "2027-04-30", 0.0))


def test_from_and_to_are_inclusive() -> None:
    duty = duty_of(plan(("2026-05-01", "2026-05-10", 24.0), ("2026-05-11", None, 0.0)), HourLine())
    assert duty.hours_between(day("2026-04-01"), day("2026-07-01")) == 240.0


def test_a_gap_runs_nothing() -> None:
    duty = duty_of(plan(("2026-05-01", "2026-05-10", 24.0), ("2026-06-01", None, 10.0)), HourLine())
    assert duty.hours_between(day("2026-05-11"), day("2026-06-01")) == 0.0
    assert duty.hours_between(day("2026-05-11"), day("2026-06-02")) == 10.0


def test_a_blank_end_holds_until_the_next_row() -> None:
    duty = duty_of(plan(("2026-05-01", None, 24.0), ("2026-05-11", None, 1.0)), HourLine())
    assert duty.hours_between(day("2026-05-01"), day("2026-05-13")) == 242.0


def test_after_the_last_row_twelve_months_repeat() -> None:
    duty = duty_of(SEASON, HourLine())
    first = duty.hours_between(day("2026-05-01"), day("2027-05-01"))
    assert first == 184 * 20.0
    assert duty.hours_between(day("2027-05-01"), day("2028-04-30")) == first
    assert duty.hours_between(day("2030-05-01"), day("2031-04-29")) == pytest.approx(first, abs=60)


def test_the_date_of_an_hour_lies_in_the_season() -> None:
    duty = duty_of(SEASON, HourLine())
    start = day("2026-11-01")
    found = duty.day_after(start, np.array([0.0, 10.0, 3680.0, 3681.0]))
    assert found[0] == start
    assert day("2027-05-01") <= found[1] < day("2027-05-02")
    assert day("2027-10-30") < found[2] <= day("2027-11-01")
    assert found[3] >= day("2028-04-29")


def test_a_machine_that_never_runs_has_no_dates() -> None:
    duty = duty_of(plan(("2026-05-01", None, 0.0)), HourLine())
    found = duty.day_after(day("2026-11-01"), np.array([0.0, 1.0]))
    assert found[0] == day("2026-11-01")
    assert np.isnan(found[1])


def test_the_record_counts_where_there_is_no_plan() -> None:
    days = np.array([day("2020-01-01"), day("2022-01-01"), day("2024-01-01"), day("2025-01-01")])
    line = HourLine(days, np.array([0.0, 8000.0, 12000.0, 16000.0]))
    duty = duty_of(SEASON.iloc[:0], line)
    assert duty.source == "log"
    start = days[-1] - 3 * 365.25
    earlier = np.interp(start, days, line.hours)
    assert duty.per_day[0] == pytest.approx((16000 - earlier) / (3 * 365.25))
    assert duty.spread > 0.1


def test_no_plan_and_no_record_is_unknown() -> None:
    duty = duty_of(SEASON.iloc[:0], HourLine(np.array([1.0]), np.array([100.0])))
    assert not duty.known
    assert np.isnan(duty.hours_between(0.0, 10.0))
    assert np.isnan(duty.day_after(0.0, np.array([0.0]))).all()


def test_before_the_plan_the_record_counts() -> None:
    line = HourLine(np.array([day("2025-01-01"), day("2026-01-01")]), np.array([0.0, 3650.0]))
    duty = duty_of(SEASON, line)
    assert duty.hours_between(day("2026-01-01"), day("2026-01-11")) == pytest.approx(100.0)


@given(hours=st.floats(0.1, 150_000), start=st.integers(20_000, 22_000))
def test_so_many_hours_are_run_by_the_date_given(hours: float, start: int) -> None:
    duty = duty_of(SEASON, HourLine())
    found = duty.day_after(float(start), np.array([hours]))[0]
    assert duty.hours_between(float(start), found) == pytest.approx(hours, abs=1e-6)


def test_a_stated_spread_counts() -> None:
    rows = SEASON.assign(spread=0.3)
    assert duty_of(rows, HourLine()).spread == 0.3
    assert isinstance(duty_of(SEASON, HourLine()), Duty)
