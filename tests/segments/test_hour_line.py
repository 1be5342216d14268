from __future__ import annotations

import numpy as np
import pytest

from trendwear.segments.hour_line import line_through

OPEN = line_through(np.array([0.0, 100.0, 200.0, 300.0]), np.array([0.0, 1000.0, 1000.0, 2000.0]))
"""A machine that stands open from day 100 to day 200."""


@pytest.mark.parametrize(
    ("hours", "day"), [(0, 0), (500, 50), (1000, 100), (1001, 200.1), (1500, 250), (2000, 300)]
)
def test_hours_run_on_from_the_day_the_machine_was_closed(hours, day):
    assert OPEN.day_at(np.array([hours])) == pytest.approx([day])


def test_the_day_of_hours_never_reached_is_unknown():
    assert np.isnan(OPEN.day_at(np.array([-1.0, 2001.0]))).all()
    assert np.isnan(line_through(np.array([]), np.array([])).day_at(np.array([5.0]))).all()


def test_day_and_hours_are_each_others_inverse_while_it_runs():
    hours = np.array([10.0, 990.0, 1010.0, 1990.0])
    assert OPEN.hours_at(OPEN.day_at(hours)) == pytest.approx(hours)
