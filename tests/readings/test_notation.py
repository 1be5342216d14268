"""Lengths as people write them: read as what they say, or refused."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trendwear.lengths import UNIT_SPELLINGS
from trendwear.readings.columns import Takes
from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.notation import Length, read_length

ONE_NUMBER = [
    # written, value, finest step, unit
    ("6.5", 6.5, 0.1, None),
    ("6", 6.0, 1.0, None),
    ("0", 0.0, 1.0, None),
    ("0.000", 0.0, 0.001, None),
    (".0065", 0.0065, 0.0001, None),
    ("0.160", 0.16, 0.001, None),
    ('.0065"', 0.0065, 0.0001, "in"),
    ("0.0065 in", 0.0065, 0.0001, "in"),
    ("0.0065 IN.", 0.0065, 0.0001, "in"),
    ("6.5 mils", 6.5, 0.1, "mil"),
    ("6.5mil", 6.5, 0.1, "mil"),
    ("65 Thou", 65.0, 1.0, "mil"),
    ("160 µm", 160.0, 1.0, "um"),
    ("160 μm", 160.0, 1.0, "um"),
    ("0.16 mm", 0.16, 0.01, "mm"),
    ("0,16 mm", 0.16, 0.01, "mm"),
    ("160,5 µm", 160.5, 0.1, "um"),
    ("12,50 mm", 12.5, 0.01, "mm"),
    ("1/16", 0.0625, 0.0625, None),
    ('1/16"', 0.0625, 0.0625, "in"),
    ("1 1/16", 1.0625, 0.0625, None),
    ("1-1/16", 1.0625, 0.0625, None),
    ('1-1/16"', 1.0625, 0.0625, "in"),
    ("6-1/2", 6.5, 0.5, None),
    ("6½ thou", 6.5, 0.5, "mil"),
    ("6 ½", 6.5, 0.5, None),
    ("½", 0.5, 0.5, None),
    ("1⁄16", 0.0625, 0.0625, None),
    ('3/4"', 0.75, 0.25, "in"),
    ("6 3/4", 6.75, 0.25, None),
    ("  6.5 \u00a0mil ", 6.5, 0.1, "mil"),
    ("0.25 mm (0.010 in)", 0.25, 0.01, "mm"),
    ("19 mils = 0.48 mm", 19.0, 1.0, "mil"),
    ('1/16" (1.6 mm)', 0.0625, 0.0625, "in"),
    ('.0050" / .1270 mm', 0.005, 0.0001, "in"),
    ("0.166666666666667", 0.166666666666667, 1e-5, None),
]

BOUNDS = [
    # written, lower, upper, finest step, unit
    ("10-15 thou", 10.0, 15.0, 1.0, "mil"),
    ("10–15 thou", 10.0, 15.0, 1.0, "mil"),
    ('0.011" - 0.013"', 0.011, 0.013, 0.001, "in"),
    ("0.080 to 0.100", 0.08, 0.1, 0.001, None),
    ("3-4", 3.0, 4.0, 1.0, None),
    ("6-6.5", 6.0, 6.5, 0.1, None),
    ("6-1/2 - 7", 6.5, 7.0, 0.5, None),
    ('1/16-1/8"', 0.0625, 0.125, 0.0625, "in"),
    ("10,5-15,5 µm", 10.5, 15.5, 0.1, "um"),
    ("in 0.006, no-go 0.007", 0.006, 0.007, 0.001, None),
    ("in 0.006 in, no-go 0.007 in", 0.006, 0.007, 0.001, "in"),
    ("go .006 no-go .007", 0.006, 0.007, 0.001, None),
    ("Go 6 / No Go 7 mil", 6.0, 7.0, 1.0, "mil"),
    (".006 go, .007 no-go", 0.006, 0.007, 0.001, None),
]

REFUSED = [
    # written, a word of the reason or of what to write instead
    ("1,250", "thousands"),
    ("1,250 mm", "thousands"),
    ("0,16", "comma"),
    ("0,001-0,002 inches", "inches"),
    ("19 mils = 0.49 mm", "19 mil is 0.4826 mm"),
    (".0080 in (.0635 mm)", "is 0.2032 mm"),
    ('1/32" = 0.03 mm', "is 0.7937 mm"),
    ("0.25 mm (0,010 in)", "inches"),
    ("6.5 mil / 7 mil", "two lengths"),
    ("0.010 in / 0.25", "one way only"),
    ('1/32" (0,030")', "several"),
    ("0.6250 (18.875)", "several"),
    ("6.5/7.0 (0/90)", "several"),
    ("3.9955 / 4.0020", "several"),
    ("6/7", "two readings"),
    ("3/4", "two readings"),
    ("7/8 mil", "two readings"),
    ("6/8", "two readings"),
    ("1/0", "two readings"),
    ("01/16", "two readings"),
    ("10 mil - 0.5 mm", "same unit"),
    ("5 in - 6", "same unit"),
    ("0.006 in, 0.007 no-go", "one way only"),
    ("in 0.007, no-go 0.006", "smaller"),
    ("13-11", "smaller"),
    ("1 - 1/16", "smaller"),
    ("6-6", "smaller"),
    ("-5", "negative"),
    ("−5 mil", "negative"),
    ("60 ± 70", "larger than the value"),
    ("± 20 thou", "without a value"),
    ("2 tenths", "tenth"),
    ("half life", "no number"),
    ("std", "no number"),
    ("2026-01-16", "date"),
    ("2026-01-16T00:00:00", "date"),
    ("16-Jan", "date"),
    ("Jan-16", "date"),
    ("4-Mar", "date"),
    ("01/16/2026", "date"),
    ("1998-05", "nought"),
    ("=1+1", "formula"),
    ("#REF!", "error"),
    ("#DIV/0!", "error"),
    ('"', "ditto"),
    ("”", "ditto"),
    ("Q.00", "letter"),
    ("O.006", "letter"),
    ("l5 mil", "letter"),
    ("0.01s", "one way only"),
    ("a022", "one way only"),
    ("065", "nought"),
    ("0065", "nought"),
    ("6.", "missing"),
    ("inf", "no number"),
    ("nan", "no number"),
    ("1e-3", "power of ten"),
    ("1 250", "one number or several"),
    ("1,2,3", "not one number"),
    ("1.2.3", "not one number"),
    ("10 %", "percentage"),
    ("<0", "never less"),
    (".", "one way only"),
    ("", "one way only"),
    ("٣", "one way only"),
    ("6 furlong", "one way only"),
    ("6 mm mm", "one way only"),
    ("6-7-8", "one way only"),
    ("9" * 30, "not one number"),
    ("6" * 100_000, "one way only"),
    ("6 " * 100_000, "one way only"),
]


@pytest.mark.parametrize(("written", "value", "step", "unit"), ONE_NUMBER)
def test_one_number(written: str, value: float, step: float, unit: str | None) -> None:
    read = read_length(written)
    assert read == Length(value, value, value, 0.0, step, unit)


@pytest.mark.parametrize(("written", "lower", "upper", "step", "unit"), BOUNDS)
def test_two_bounds(
    written: str, lower: float, upper: float, step: float, unit: str | None
) -> None:
    read = read_length(written)
    assert isinstance(read, Length)
    assert (read.lower, read.upper, read.step, read.unit) == (lower, upper, step, unit)
    assert read.value == pytest.approx((lower + upper) / 2)
    assert read.half_width == pytest.approx((upper - lower) / 2)
    assert (read.side, read.plus_minus) == (None, False)


@pytest.mark.parametrize(("written", "word"), REFUSED)
def test_refused_with_its_reason(written: str, word: str) -> None:
    read = read_length(written)
    assert isinstance(read, Refusal)
    assert word in f"{read.reason} {read.instead}"
    assert read.instead


def test_a_bound_below() -> None:
    assert read_length(">.040") == Length(0.04, 0.04, math.inf, 0.0, 0.001, None, side=">")
    assert read_length('≥ 0.040"') == Length(0.04, 0.04, math.inf, 0.0, 0.001, "in", side=">")


def test_a_bound_above_lies_between_it_and_nothing() -> None:
    assert read_length("<0.002") == Length(0.001, 0.0, 0.002, 0.001, 0.001, None, side="<")


@pytest.mark.parametrize(
    "written", ["60 ± 20 thou", "60±20 thou", "60 +/- 20 thou", "60 +- 20thou"]
)
def test_plus_minus_is_a_half_width(written: str) -> None:
    assert read_length(written) == Length(60.0, 40.0, 80.0, 20.0, 1.0, "mil", plus_minus=True)


def test_the_step_of_a_plus_minus_is_that_of_the_value() -> None:
    read = read_length("6.5 ± 0.25 mil")
    assert isinstance(read, Length)
    assert read.step == 0.1


@pytest.mark.parametrize("written", ["10-15 thou", ">.040", "60 ± 20 thou", "go 6, no-go 7"])
@pytest.mark.parametrize("takes", [Takes.SIZE, Takes.SHIFT, Takes.SPREAD])
def test_only_a_reading_may_be_an_interval(written: str, takes: Takes) -> None:
    assert isinstance(read_length(written, takes), Refusal)


@pytest.mark.parametrize(
    ("written", "value"), [("-5 mil", -5.0), ("+5 mil", 5.0), ("5 mil", 5.0), ("− 5 mil", -5.0)]
)
def test_a_shift_has_a_sign(written: str, value: float) -> None:
    assert read_length(written, Takes.SHIFT) == Length(value, value, value, 0.0, 1.0, "mil")


@pytest.mark.parametrize("takes", [Takes.READING, Takes.SIZE, Takes.SPREAD])
def test_nothing_else_has_a_sign(takes: Takes) -> None:
    assert isinstance(read_length("-5 mil", takes), Refusal)
    assert isinstance(read_length("+5 mil", takes), Refusal)


def test_an_uncertainty_may_be_a_lone_half_width() -> None:
    read = read_length("±0.5 mil", Takes.SPREAD)
    assert read == Length(0.5, 0.5, 0.5, 0.5, 0.1, "mil", plus_minus=True)
    assert read_length("0.5 mil", Takes.SPREAD) == Length(0.5, 0.5, 0.5, 0.0, 0.1, "mil")


def test_a_comma_is_what_the_file_says_it_is() -> None:
    shown = read_length("1,250", Takes.READING, Decimal.COMMA)
    assert isinstance(shown, Length)
    assert (shown.value, shown.step) == (1.25, 0.001)
    assert isinstance(read_length("1.250", Takes.READING, Decimal.COMMA), Refusal)
    assert isinstance(read_length("1.250", Takes.READING, Decimal.UNCLEAR), Refusal)
    assert isinstance(read_length("0,16", Takes.READING, Decimal.MIXED), Refusal)
    assert isinstance(read_length("0,160 in", Takes.READING, Decimal.COMMA), Refusal)


spellings = st.sampled_from(sorted(UNIT_SPELLINGS))
decimals = st.builds(
    lambda whole, places: f"{whole}.{places}" if places else str(whole),
    st.integers(0, 99_999),
    st.text("0123456789", max_size=5),
)


@given(decimals, spellings, st.sampled_from(["", " "]))
def test_law_every_number_with_its_unit_reads_back(number: str, unit: str, gap: str) -> None:
    read = read_length(number + gap + unit)
    assert isinstance(read, Length)
    assert read.value == read.lower == read.upper == float(number)
    assert read.unit == UNIT_SPELLINGS[unit]
    assert read.step == pytest.approx(10.0 ** -len(number.partition(".")[2]))


@given(st.integers(1, 99), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_law_every_mixed_number_reads_back(whole: int, below: int, data: st.DataObject) -> None:
    above = data.draw(st.integers(0, below // 2 - 1)) * 2 + 1
    for written in (f"{whole}-{above}/{below}", f"{whole} {above}/{below}"):
        read = read_length(written)
        assert isinstance(read, Length)
        assert read.value == float(whole + Fraction(above, below))
        assert read.step == 1 / below


@given(decimals, decimals, spellings)
def test_law_an_interval_holds_its_midpoint(first: str, second: str, unit: str) -> None:
    read = read_length(f"{first} - {second} {unit}")
    if float(first) < float(second):
        assert isinstance(read, Length)
        assert (read.lower, read.upper) == (float(first), float(second))
        assert read.lower <= read.value <= read.upper
    else:
        assert isinstance(read, Refusal)


awkward = st.text("0123456789.,/-–±<>~\"” ½in mlghouµ'()=+eEx", max_size=14)


@given(st.one_of(st.text(max_size=40), awkward), st.sampled_from(Takes), st.sampled_from(Decimal))
def test_law_no_text_crashes_or_gets_a_unit_that_it_does_not_name(
    text: str, takes: Takes, decimal: Decimal
) -> None:
    read = read_length(text, takes, decimal)
    if isinstance(read, Refusal):
        assert read.reason
        assert read.instead
        return
    assert math.isfinite(read.value)
    assert any(digit in text for digit in "0123456789½¼¾⅛⅜⅝⅞")
    assert read.step > 0
    assert takes is Takes.SHIFT or read.lower >= 0
    assert read.unit is None or any(
        spelling in text.casefold()
        for spelling, unit in UNIT_SPELLINGS.items()
        if unit == read.unit
    )
