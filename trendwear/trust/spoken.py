"""Rates and readings as words."""

from __future__ import annotations

import pandas as pd

from trendwear.lengths import MM_PER_UNIT

__all__ = ["rate_words", "reading_words"]


def rate_words(mm_per_1000h: float, unit: str, band: tuple[float, float] | None = None) -> str:
    """Say a rate in a unit, with its band where there is one.

    >>> rate_words(0.0508, "mil", (0.0254, 0.0762)), rate_words(0.0123, "mm")
    ('2 mil per 1000 h (1 to 3)', '0.012 mm per 1000 h')
    """
    per_unit = MM_PER_UNIT[unit]
    words = f"{mm_per_1000h / per_unit:.2g} {unit} per 1000 h"
    if band is not None:
        words += f" ({band[0] / per_unit:.2g} to {band[1] / per_unit:.2g})"
    return words


def reading_words(state: str, date: pd.Timestamp, hours: float) -> str:
    """Name a reading by its state and when it was taken.

    >>> reading_words("as-found", pd.Timestamp("2019-05-03"), 32000.0)
    'as-found 2019-05-03'
    """
    if pd.notna(date):
        return f"{state} {date:%Y-%m-%d}"
    return f"{state} at {hours:.0f} h" if pd.notna(hours) else f"{state}, date unknown"
