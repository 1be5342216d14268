"""Temperatures as people write them; a bare number names no scale and stays without one."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from trendwear.readings.decimals import DIGITS, Decimal, read_decimal
from trendwear.readings.faults import Refusal

__all__ = ["CELSIUS", "FAHRENHEIT", "Temperature", "read_temperature", "scale_named"]

CELSIUS: Final = "°C"
FAHRENHEIT: Final = "°F"
_SCALES: Final = {
    "c": CELSIUS,
    "celsius": CELSIUS,
    "centigrade": CELSIUS,
    "f": FAHRENHEIT,
    "fahrenheit": FAHRENHEIT,
}
_WRITTEN: Final = re.compile(rf"([+-]?)\s*({DIGITS})\s*(\D*)")


@dataclass(frozen=True)
class Temperature:
    """A temperature as written."""

    value: float
    """In the scale written."""
    unit: str | None
    """``°C`` or ``°F``; None where the text names none."""


def scale_named(text: str) -> str | None:
    """Return the scale that ``text`` names, or None.

    >>> scale_named("deg F"), scale_named("℃"), scale_named("K")
    ('°F', '°C', None)
    """
    plain = text.casefold().replace("℃", "c").replace("℉", "f")
    plain = re.sub(r"°|º|degrees|deg\.?|[\s.]", "", plain)
    return _SCALES.get(plain)


def read_temperature(text: str, decimal: Decimal = Decimal.POINT) -> Temperature | Refusal:
    """Read one temperature.

    >>> read_temperature("68 °F")
    Temperature(value=68.0, unit='°F')
    """
    found = _WRITTEN.fullmatch(text.strip().replace("−", "-"))
    if found is None:
        return Refusal("this is no temperature", "write it as 20 °C or 68 °F")
    scale = scale_named(found[3])
    if found[3].strip() and scale is None:
        return Refusal("its scale is not known here", "write it as 20 °C or 68 °F")
    number = read_decimal(found[2], decimal, scale)
    if isinstance(number, Refusal):
        return number
    value = float(number.value)
    return Temperature(-value if found[1] == "-" else value, scale)
