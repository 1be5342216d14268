"""Starts against hours, as far as they were counted."""

from __future__ import annotations

import pandas as pd
import pytest

from trendwear.segments.starts import StartLine, start_lines


def line(*rows: tuple[float, float, str | None]) -> StartLine:
    """Rows of one machine: hours on the line, starts and what the log says of the meter."""
    frame = pd.DataFrame(rows, columns=["hours", "starts", "meter"])
    day = pd.Timestamp("2014-01-01") + pd.to_timedelta(frame.index * 100, unit="D")
    return start_lines(frame.assign(machine="M", order=frame.index.astype(float), date=day))["M"]


def test_a_counter_replaced_with_the_meter_goes_on():
    counted = line((0, 10, None), (900, 40, None), (900, 0, "replaced"), (1800, 25, None))
    assert list(counted.starts) == [10, 40, 65]
    assert counted.per_hour() == pytest.approx(55 / 1800)
    assert counted.notes == ()


def test_a_counter_kept_when_the_meter_was_replaced_counts_as_it_stands():
    counted = line((0, 10, None), (900, 40, None), (900, 40, "replaced"), (1800, 70, None))
    assert list(counted.starts) == [10, 40, 70]


def test_counts_that_fall_are_not_used_and_are_named():
    counted = line((0, 10, None), (900, 40, None), (1500, 5, None), (1800, 70, None))
    assert list(counted.starts) == [10, 40, 70]
    assert counted.notes == (
        "starts fall on 2014-07-20 and no counter was replaced: 1 count not used",
    )


def test_rows_of_old_records_without_starts_are_passed_over():
    counted = line((0, float("nan"), None), (900, 40, None), (1800, 70, None))
    assert list(counted.hours) == [900, 1800]
