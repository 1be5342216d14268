"""Units of length: millimetres inside, the user's unit at the edges.

The factors are exact: the international inch is 25.4 mm by definition
(ISO 31-1:1992, now ISO 80000-3; NIST SP 811, Appendix B), a mil (thou) is 0.001 in.
"""

from __future__ import annotations

from typing import Final

__all__ = ["MM_PER_UNIT", "UNIT_SPELLINGS", "from_mm", "to_mm", "unit_named"]

MM_PER_UNIT: Final[dict[str, float]] = {"mm": 1.0, "um": 0.001, "mil": 0.0254, "in": 25.4}
"""Millimetres in one unit, by the unit's own name."""

UNIT_SPELLINGS: Final[dict[str, str]] = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "um": "um",
    "µm": "um",  # micro sign
    "μm": "um",  # Greek mu
    "micron": "um",
    "microns": "um",
    "mil": "mil",
    "mils": "mil",
    "thou": "mil",
    "in": "in",
    "in.": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "”": "in",
    "″": "in",
}
"""Every spelling that is understood, and the unit it names."""


def unit_named(text: str) -> str | None:
    """Return the unit that ``text`` names, or None where it names none.

    >>> unit_named("Thou"), unit_named("furlong")
    ('mil', None)
    """
    return UNIT_SPELLINGS.get(text.strip().casefold())


def to_mm(value: float, unit: str) -> float:
    """Convert ``value`` from ``unit`` (a key of `MM_PER_UNIT`) to millimetres.

    >>> to_mm(0.0065, "in")
    0.1651
    """
    return round(value * MM_PER_UNIT[unit], 12)


def from_mm(value_mm: float, unit: str) -> float:
    """Convert ``value_mm`` from millimetres to ``unit``.

    >>> from_mm(0.1651, "mil")
    6.5
    """
    return round(value_mm / MM_PER_UNIT[unit], 12)
