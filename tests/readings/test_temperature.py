"""Temperatures as people write them."""

from __future__ import annotations

import pytest

from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.temperature import Temperature, read_temperature, scale_named


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("20 °C", 20.0, "°C"),
        ("68F", 68.0, "°F"),
        ("21.5 deg C", 21.5, "°C"),
        ("21,5 °C", 21.5, "°C"),
        ("-3 °C", -3.0, "°C"),
        ("−3 ℃", -3.0, "°C"),
        ("72 degrees Fahrenheit", 72.0, "°F"),
        ("20", 20.0, None),
    ],
)
def test_what_is_read(text: str, value: float, unit: str | None) -> None:
    assert read_temperature(text) == Temperature(value, unit)


@pytest.mark.parametrize(
    "text", ["warm", "293 K", "20-25 °C", "1,234 °C", "20 °", "°C", "20 C in the bore"]
)
def test_what_is_refused(text: str) -> None:
    assert isinstance(read_temperature(text), Refusal)


def test_a_decimal_comma_of_the_file() -> None:
    assert read_temperature("21,5", Decimal.COMMA) == Temperature(21.5, None)
    assert isinstance(read_temperature("21,5"), Refusal)


def test_scales_of_headings() -> None:
    assert [scale_named(text) for text in ("°C", "deg F", "F", "mm", "K")] == [
        "°C",
        "°F",
        "°F",
        None,
        None,
    ]
