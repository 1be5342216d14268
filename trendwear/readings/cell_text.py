"""What a typed cell of a workbook or Parquet file would read as text."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final

import numpy as np

__all__ = ["as_text"]

_DIGITS: Final = 15
"""Significant digits that a spreadsheet keeps and shows."""


def as_text(value: object) -> str:
    """Return the text that a person would see in the cell.

    >>> as_text(7.0), as_text(0.1 + 0.2), as_text(6.5e-06), as_text(True)
    ('7', '0.3', '0.0000065', 'TRUE')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float | Decimal):
        return _number(float(value))
    if isinstance(value, datetime):
        return value.isoformat() if value.time() != time() else value.date().isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02}:{seconds:02}"
    return str(value)


def _number(value: float) -> str:
    if not np.isfinite(value):
        return str(value)
    if value.is_integer() and abs(value) < 10.0**_DIGITS:
        return str(int(value))
    text = f"{value:.{_DIGITS}g}"
    return text if "e" not in text else np.format_float_positional(float(text), trim="-")
