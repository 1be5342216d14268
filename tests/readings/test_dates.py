"""Dates: a day, a month or a year; nothing that can be read two ways."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear.readings.dates import DateOrder, Day, read_date
from trendwear.readings.faults import Refusal


@pytest.mark.parametrize(
    "written",
    [
        "2025-04-03",
        "2025-04-03T10:00",
        "2025-04-03 10:00:00",
        "2025-04-03T10:00:00.5Z",
        "2025-04-03T10:00+02:00",
    ],
)
def test_a_day(written: str) -> None:
    assert read_date(written) == Day(datetime(2025, 4, 3))


@pytest.mark.parametrize(
    ("written", "middle", "spread"),
    [
        ("1998-05", datetime(1998, 5, 16), 15.0),
        ("1998-04", datetime(1998, 4, 15, 12), 14.5),
        ("1998", datetime(1998, 7, 2), 182.0),
        ("2000", datetime(2000, 7, 1, 12), 182.5),
    ],
)
def test_a_month_or_year_is_its_middle(written: str, middle: datetime, spread: float) -> None:
    assert read_date(written) == Day(middle, spread)


@pytest.mark.parametrize(
    ("written", "word"),
    [
        ("03/04/2025", "day or month"),
        ("25/12/2025", "day or month"),
        ("3.4.2025", "day or month"),
        ("03/04/25", "two digits"),
        ("45000", "bare number"),
        ("7", "bare number"),
        ("45000.5", "bare number"),
        ("20250403", "bare number"),
        ("1900-01-05", "spreadsheet"),
        ("1899-12-31", "spreadsheet"),
        ("1929-12-31", "spreadsheet"),
        ("2025-02-30", "no such day"),
        ("2025-13", "no such"),
        ("0000-01", "no such"),
        ("2025-04-03T99:99", "no date in a form"),
        ("0065", "no year"),
        ("9999", "no year"),
        ("=TODAY()", "formula"),
        ("spring", "no date in a form"),
        ("4 March 2019", "no date in a form"),
        ("4-Mar-19", "no date in a form"),
        ("2019/03-04", "no date in a form"),
        ("2019/13/04", "no such day"),
        ("12:00:00", "no date in a form"),
        ("٢٠٢٥-٠٤-٠٣", "no date in a form"),
    ],
)
def test_refused_with_its_reason(written: str, word: str) -> None:
    read = read_date(written)
    assert isinstance(read, Refusal)
    assert word in read.reason


@pytest.mark.parametrize("written", ["2019/03/04", "2019/3/4", "2019-3-4", "2019-03-4"])
@pytest.mark.parametrize("order", DateOrder)
def test_a_date_that_begins_with_its_year(written: str, order: DateOrder) -> None:
    assert read_date(written, order) == Day(datetime(2019, 3, 4))


def test_a_month_in_words_is_told_how_to_write_the_date() -> None:
    read = read_date("4 March 2019")
    assert isinstance(read, Refusal)
    assert "write it as 2019-03-04" in read.instead
    assert "leave the cell blank where it is unknown (hours given)" in read.instead


def test_the_order_is_what_the_headings_file_says() -> None:
    assert read_date("03/04/2025", DateOrder.DAY_FIRST) == Day(datetime(2025, 4, 3))
    assert read_date("3.4.2025", DateOrder.DAY_FIRST) == Day(datetime(2025, 4, 3))
    assert read_date("03/04/2025", DateOrder.MONTH_FIRST) == Day(datetime(2025, 3, 4))
    assert isinstance(read_date("13/14/2025", DateOrder.DAY_FIRST), Refusal)
    assert isinstance(read_date("03-04/2025", DateOrder.DAY_FIRST), Refusal)


def test_the_future_is_kept() -> None:
    assert read_date("2999-01-01") == Day(datetime(2999, 1, 1))
    assert read_date("9999-12-31") == Day(datetime(9999, 12, 31))


@given(st.dates(date(1930, 1, 1)), st.sampled_from(DateOrder))
def test_law_every_iso_date_reads_back(day: date, order: DateOrder) -> None:
    read = read_date(day.isoformat(), order)
    assert read == Day(datetime(day.year, day.month, day.day))


@given(st.integers(1930, 2199), st.integers(1, 12))
def test_law_the_spread_reaches_the_first_and_the_last_day(year: int, month: int) -> None:
    read = read_date(f"{year}-{month:02}")
    assert isinstance(read, Day)
    spread = timedelta(days=read.spread_days)
    assert read.day - spread == datetime(year, month, 1)
    assert read.day + spread == datetime(year, month, monthrange(year, month)[1])


@given(st.one_of(st.text(max_size=30), st.text("0123456789-/.T: ", max_size=20)))
def test_law_no_text_crashes(text: str) -> None:
    read = read_date(text)
    assert isinstance(read, Day | Refusal)
