"""The limit-forecast table in a unit of the reader's choice."""

from __future__ import annotations

import math
from typing import Final

import pandas as pd

from trendwear.lengths import MM_PER_UNIT

__all__ = ["LENGTHS", "decimals_in", "in_unit", "unit_label"]

LENGTHS: Final = (
    "last_reading",
    "clearance_now",
    "limit",
    "rate_per_1000h",
    "rate_low",
    "rate_high",
    "found_p05",
    "found_p50",
    "found_p95",
)
"""Columns of the limit-forecast table that are in the row's own unit, or in it per 1000 h."""


def in_unit(table: pd.DataFrame, unit: str) -> pd.DataFrame:
    """Return the limit-forecast ``table`` with every row in ``unit``."""
    factor = table["unit"].map(MM_PER_UNIT) / MM_PER_UNIT[unit]
    lengths = table[list(LENGTHS)].mul(factor, axis=0).round(12)
    return table.assign(unit=unit, **{name: lengths[name] for name in LENGTHS})


def decimals_in(decimals: int, unit: str, wanted: str) -> int:
    """Return the decimals in ``wanted`` that carry what ``decimals`` carry in ``unit``.

    The coarsest step that is not coarser than the gauge's own.

    >>> decimals_in(2, "mm", "mil"), decimals_in(1, "mil", "mm"), decimals_in(4, "in", "mil")
    (1, 3, 1)
    """
    step = 10.0**-decimals * MM_PER_UNIT[unit] / MM_PER_UNIT[wanted]
    return max(0, math.ceil(round(-math.log10(step), 9)))


def unit_label(unit: str) -> str:
    """Return the unit as it is printed.

    >>> unit_label("um"), unit_label("mil")
    ('µm', 'mil')
    """
    return "µm" if unit == "um" else unit
