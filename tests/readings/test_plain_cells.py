"""Cells other than lengths and dates, and the words that stand for readings."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear.readings.cell_text import as_text
from trendwear.readings.cells import (
    Hours,
    read_count,
    read_hours,
    read_number,
    read_unit,
    read_word,
    read_yes_no,
)
from trendwear.readings.columns import ACTIONS, STATES
from trendwear.readings.decimals import Decimal, decimal_shown, read_decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.value_words import word_known, work_named


@pytest.mark.parametrize(
    ("written", "hours", "spread"),
    [
        ("32000", 32000.0, 0.0),
        ("32000.5", 32000.5, 0.0),
        ("32000 h", 32000.0, 0.0),
        ("32000 hours", 32000.0, 0.0),
        ("~32000 ±3000", 32000.0, 3000.0),
        ("32000 ± 3000", 32000.0, 3000.0),
        ("32000 +/- 3000 h", 32000.0, 3000.0),
    ],
)
def test_hours(written: str, hours: float, spread: float) -> None:
    assert read_hours(written) == Hours(hours, spread)


@pytest.mark.parametrize(
    ("written", "word"),
    [
        ("~32000", "uncertain"),
        ("about 32000", "uncertain"),
        ("32,000", "thousands"),
        ("32 000", "thousands"),
        ("1,234,567", "thousands"),
        ("32,5", "comma"),
        ("-5", "negative"),
        ("1987-08-11", "date"),
        ("32000:00:00", "time of day"),
        ("99999999", "thousand years"),
        ("=A1", "formula"),
        ("n/a", "no plain number"),
        ("032000", "nought"),
    ],
)
def test_hours_refused(written: str, word: str) -> None:
    read = read_hours(written)
    assert isinstance(read, Refusal)
    assert word in read.reason


def test_a_grouped_number_stays_refused_where_commas_are_decimal_marks() -> None:
    assert isinstance(read_hours("32,000", Decimal.COMMA), Refusal)
    assert isinstance(read_hours("32.000", Decimal.COMMA), Refusal)
    assert read_hours("32000,5", Decimal.COMMA) == Hours(32000.5)


@pytest.mark.parametrize(
    ("written", "hours", "spread"),
    [
        ("11.000", 11_000.0, 0.0),
        ("31.000,5", 31_000.5, 0.0),
        ("1.250.000 h", 1_250_000.0, 0.0),
        ("32,000", 32.0, 0.0),
        ("~32.000 ±3.000", 32_000.0, 3_000.0),
    ],
)
def test_hours_where_the_comma_is_stated(written: str, hours: float, spread: float) -> None:
    assert read_hours(written, Decimal.COMMA_STATED) == Hours(hours, spread)


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        ("1.000", "write 1000 or 1, or"),
        ("110.000", "write 110000 or 110, or"),
        ("1.250", "write 1250 or 1.25, or"),
        ("1.125", "write 1125 or 1.1250, or"),
    ],
)
def test_what_to_write_for_a_number_read_two_ways(written: str, instead: str) -> None:
    read = read_number(written, Decimal.POINT_TAKEN)
    assert isinstance(read, Refusal)
    assert read.instead.startswith(instead)
    one_way = instead.split()[3].rstrip(",")
    assert read_number(one_way, Decimal.POINT_TAKEN) == float(written)
    assert read_number("0.125", Decimal.POINT_TAKEN) == 0.125


@pytest.mark.parametrize(
    ("written", "decimal", "unit"),
    [
        ("1,250", Decimal.POINT, "mm"),
        ("1.250", Decimal.COMMA_STATED, "mm"),
        ("1,250", Decimal.COMMA_STATED, "in"),
    ],
)
def test_what_is_stated_is_not_advised_again(written: str, decimal: Decimal, unit: str) -> None:
    read = read_decimal(written, decimal, unit)
    assert isinstance(read, Refusal)
    assert "headings file" not in read.instead


def test_numbers_and_counts() -> None:
    assert read_number("0.15") == 0.15
    assert read_number("1.5E+06") == 1_500_000.0
    assert read_count("12.0") == 12.0
    for written in ("12.5", "-1", "twelve", "1,000", "inf", "nan", "1e999"):
        assert isinstance(read_count(written), Refusal), written


def test_yes_no_and_units() -> None:
    assert (read_yes_no("Yes"), read_yes_no("FALSE")) == (True, False)
    assert isinstance(read_yes_no("maybe"), Refusal)
    assert (read_unit("Thou"), read_unit("µm"), read_unit('"')) == ("mil", "um", "in")
    assert isinstance(read_unit("furlong"), Refusal)


@pytest.mark.parametrize(
    ("written", "words", "word"),
    [
        ("As  Found", STATES, "as-found"),
        ("AS_LEFT", STATES, "as-left"),
        ("Not-stated", STATES, "not stated"),
        ("rebabbitted", ACTIONS, "re-babbitted"),
        ("Partner renewed", ACTIONS, "partner renewed"),
    ],
)
def test_set_words(written: str, words: tuple[str, ...], word: str) -> None:
    assert read_word(written, words) == word


def test_an_unknown_word_is_told_the_known_ones() -> None:
    read = read_word("seen", STATES)
    assert isinstance(read, Refusal)
    assert read.instead == "write as-found, as-left, check or not stated"


@pytest.mark.parametrize(
    ("written", "action"),
    [
        ("Renewed", "renewed"),
        ("rebabbitted", "re-babbitted"),
        ("scraped", "dressed"),
        ("shimmed", "shimmed"),
        ("6.5", None),
        ("half life", None),
    ],
)
def test_words_that_name_work(written: str, action: str | None) -> None:
    assert work_named(written) == action
    assert action is None or action in ACTIONS


def test_words_that_stand_for_no_number() -> None:
    for word in ("N/A", "-", "—", "not taken", "No Go", "OK", "same", "worn"):
        assert word_known(word), word
    for text in ("half life", "std", "worn through", "6", '"', "="):
        assert not word_known(text), text


@pytest.mark.parametrize(
    ("texts", "shown"),
    [
        (["0,16", "1,250"], Decimal.COMMA),
        (["6,5", "32000"], Decimal.COMMA),
        ([".0065"], Decimal.POINT),
        (["6.5"], Decimal.POINT),
        (["6.5", "6,5"], Decimal.MIXED),
        (["1,250", "1.250", "7"], Decimal.UNCLEAR),
        (["1,2,3", "as found"], Decimal.UNCLEAR),
        (["0,160"], Decimal.COMMA),
        (["1234,567"], Decimal.COMMA),
    ],
)
def test_only_numbers_that_can_be_read_one_way_show_the_mark(
    texts: list[str], shown: Decimal
) -> None:
    assert decimal_shown(texts) is shown


@given(st.text(max_size=30))
def test_law_no_text_crashes(text: str) -> None:
    assert isinstance(read_hours(text), Hours | Refusal)
    assert isinstance(read_number(text), float | Refusal)
    assert isinstance(read_word(text, STATES), str | Refusal)
    assert work_named(text) is None or not word_known(text)


@given(st.floats(0, 1e9).map(lambda number: float(f"{number:.15g}")))
def test_law_a_number_of_a_workbook_reads_back(number: float) -> None:
    text = as_text(number)
    assert "e" not in text
    assert float(text) == number
