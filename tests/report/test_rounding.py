from __future__ import annotations

import math

import pandas as pd
import pytest

from trendwear.report.rounding import (
    NONE,
    Grain,
    chance_text,
    date_text,
    grain_of,
    hours_text,
    length_text,
    limit_decimals,
    percent_text,
    rate_decimals,
)

NAN = math.nan


@pytest.mark.parametrize(
    ("hours", "text"),
    [(0.0, "0 h"), (0.4, "0 h"), (87.4, "87 h"), (987.0, "987 h"), (1234.0, "1,230 h"),
     (12345.6, "12,300 h"), (199_999.0, "200,000 h"), (NAN, NONE)],
)  # fmt: skip
def test_hours_keep_three_figures(hours, text):
    assert hours_text(hours) == text


@pytest.mark.parametrize(
    ("chance", "text"),
    [(0.0, "<1 %"), (0.004, "<1 %"), (0.0051, "1 %"), (0.34, "34 %"), (1.0, ">99 %"), (NAN, NONE)],
)
def test_a_chance_is_never_none_and_never_certain(chance, text):
    assert chance_text(chance) == text


def test_numbers_that_are_not_there_are_dashes():
    assert length_text(NAN, 2) == percent_text(NAN) == date_text(pd.NaT, Grain.DAY) == NONE


@pytest.mark.parametrize(
    ("limit", "decimals", "shown"), [(0.3, 2, 2), (0.125, 2, 3), (9.8425197, 1, 3), (NAN, 2, 2)]
)
def test_a_limit_shows_up_to_two_decimals_more_than_the_gauge(limit, decimals, shown):
    assert limit_decimals(limit, decimals) == shown


@pytest.mark.parametrize(
    ("low", "high", "decimals", "shown"),
    [(0.0031, 0.0053, 2, 4), (0.02, 0.9, 2, 2), (1e-9, 2e-9, 2, 5), (NAN, NAN, 2, 3)],
)
def test_a_rate_is_as_fine_as_its_band(low, high, decimals, shown):
    assert rate_decimals(low, high, decimals) == shown


@pytest.mark.parametrize(
    ("early", "late", "grain", "text"),
    [
        ("2027-05-09", "2028-05-09", Grain.DAY, "2027-05-09"),
        ("2027-05-09", "2028-05-11", Grain.MONTH, "2027-05"),
        ("2027-05-09", "2031-01-01", Grain.QUARTER, "2027 Q2"),
        ("2027-05-09", None, Grain.QUARTER, "2027 Q2"),
    ],
)
def test_dates_more_than_a_year_apart_are_not_told_to_the_day(early, late, grain, text):
    first, last = pd.Timestamp(early), pd.Timestamp(late)
    assert grain_of(first, last) is grain
    assert date_text(first, grain) == text
