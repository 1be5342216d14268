"""A length as it was written: its bounds, the finest step written, its unit and basis."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from trendwear.lengths import UNIT_SPELLINGS, unit_named
from trendwear.readings.decimals import DIGITS, Decimal, Number, read_decimal
from trendwear.readings.faults import Refusal

__all__ = ["NUMBER", "ONE", "UNITS", "Length", "named", "read_number", "span"]

_FINEST_STEP: Final = 1e-5
"""No gauge shows more decimals than these, in any unit: further ones were computed."""


@dataclass(frozen=True)
class Length:
    """A length as written, in the unit as written."""

    value: float
    """The midpoint; of ``>`` the bound itself; of ``<`` half the bound."""
    lower: float
    upper: float
    """The bounds that were written; equal where one number was."""
    half_width: float
    step: float
    """The finest step of the numbers written: 0.0001 for .0065, 1/16 for 3/16."""
    unit: str | None
    """``mm``, ``um``, ``mil`` or ``in`` as in the text; None where it names none."""
    side: str | None = None
    """``>`` or ``<`` where one bound was written; ``worn through`` where words say so and
    there is no number."""
    plus_minus: bool = False
    """Whether the half-width was written with ±."""
    basis: str | None = None
    """``diametral``, ``radial``, ``axial`` or `trendwear.readings.said_basis.TOTAL` as in the
    text; None where it names none."""


UNITS: Final = "|".join(re.escape(u) for u in sorted(UNIT_SPELLINGS, key=len, reverse=True))
"""Every spelling of a unit, as part of a regular expression."""
NUMBER: Final = rf"(?:(?:[0-9]+(?:\s+|-))?[0-9]+/[0-9]+|{DIGITS})"
"""Digits, a fraction, or a whole number with a fraction."""
ONE: Final = rf"({NUMBER})\s*({UNITS})?"
"""A number and perhaps its unit: two groups."""

_FRACTION: Final = re.compile(r"(?:([0-9]+)[\s-]+)?([0-9]+)/([0-9]+)")


def named(unit: str | None) -> str | None:
    """Return the unit's own name, None where none was written."""
    return unit_named(unit) if unit else None


def read_number(text: str, decimal: Decimal, unit: str | None) -> Number | Refusal:
    """Read what `NUMBER` matches.

    Parameters
    ----------
    text : str
    decimal : Decimal
        What the marks in this file's numbers mean.
    unit : str or None
        The unit that stands in the same cell.
    """
    parts = _FRACTION.fullmatch(text)
    if parts is None:
        return read_decimal(text, decimal, unit)
    above, below = int(parts[2]), int(parts[3])
    halved = below in (2, 4, 8, 16, 32, 64, 128) and above % 2 == 1 and above < below
    if not halved or any(part and part.startswith("0") for part in parts.groups()):
        instead = "write a decimal number, or each reading in a row of its own"
        return Refusal("this may be a fraction or two readings", instead)
    return Number(int(parts[1] or 0) + Fraction(above, below), Fraction(1, below))


def span(lower: Fraction, upper: Fraction, step: Fraction, unit: str | None) -> Length:
    """Return the length that lies between two bounds, which may be one."""
    middle, half = (lower + upper) / 2, (upper - lower) / 2
    finest = max(float(step), _FINEST_STEP)
    return Length(float(middle), float(lower), float(upper), float(half), finest, unit)
