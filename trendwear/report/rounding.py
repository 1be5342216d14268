"""Numbers as people read them: no finer than they are known.

Everything here turns one number into one text and never back.  A number that is
not there is written as a dash.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import Final

import pandas as pd

__all__ = [
    "NONE",
    "Grain",
    "chance_text",
    "date_text",
    "grain_of",
    "hours_text",
    "length_text",
    "limit_decimals",
    "percent_text",
    "rate_decimals",
    "share_text",
]

NONE: Final = "—"
"""What stands where there is no number."""

_LONGEST_TO_THE_DAY: Final = 366
_LONGEST_TO_THE_MONTH: Final = 3 * 366


class Grain(Enum):
    """How finely a date may honestly be told."""

    DAY = "day"
    MONTH = "month"
    QUARTER = "quarter"


def length_text(value: float, decimals: int) -> str:
    """Return ``value`` with the decimals that the gauge carries.

    >>> length_text(0.1649, 3), length_text(float("nan"), 3)
    ('0.165', '—')
    """
    return NONE if math.isnan(value) else f"{value:.{decimals}f}"


def limit_decimals(limit: float, decimals: int) -> int:
    """Return how many decimals show ``limit`` in full: the gauge's, at most two more.

    A limit is a statement, not a measurement; rounding it to the gauge could move it.

    >>> limit_decimals(0.125, 2), limit_decimals(0.3, 2)
    (3, 2)
    """
    if math.isnan(limit):
        return decimals
    written = f"{limit:.{decimals + 2}f}".rstrip("0").partition(".")[2]
    return max(decimals, len(written))


def rate_decimals(low: float, high: float, decimals: int) -> int:
    """Return the decimals of a rate: two significant figures of its own band.

    A rate is a mean over many hours and is known finer than one reading of the
    gauge.  Never fewer decimals than the gauge has, at most three more.

    >>> rate_decimals(0.0031, 0.0053, 2)
    4
    """
    width = high - low
    if not width > 0:
        return decimals + 1
    return min(max(decimals, 1 - math.floor(math.log10(width))), decimals + 3)


def hours_text(hours: float) -> str:
    """Return running hours to three significant figures.

    >>> hours_text(12345.6), hours_text(87.4)
    ('12,300 h', '87 h')
    """
    if math.isnan(hours):
        return NONE
    figures = 0 if abs(hours) < 1 else math.floor(math.log10(abs(hours)))
    return f"{round(hours, min(0, 2 - figures)):,.0f} h"


def chance_text(chance: float) -> str:
    """Return a chance in whole percent, never as none and never as certain.

    >>> chance_text(0.001), chance_text(0.342), chance_text(0.999)
    ('<1 %', '34 %', '>99 %')
    """
    if math.isnan(chance):
        return NONE
    if chance < 0.005:
        return "<1 %"
    return ">99 %" if chance > 0.995 else f"{100 * chance:.0f} %"


def share_text(share: float) -> str:
    """Return a share of one in percent: whole, one decimal below one percent.

    >>> share_text(0.856), share_text(0.0062), share_text(0.0001), share_text(0.0)
    ('86 %', '0.6 %', '<0.1 %', '0 %')
    """
    if math.isnan(share):
        return NONE
    if 1e-6 < share < 0.0005:
        return "<0.1 %"
    return f"{100 * share:.1f} %" if 1e-6 < share < 0.01 else f"{100 * share:.0f} %"


def percent_text(percent: float) -> str:
    """Return a number that already is in percent, without decimals.

    >>> percent_text(62.4)
    '62 %'
    """
    return NONE if math.isnan(percent) else f"{percent:.0f} %"


def grain_of(earliest: pd.Timestamp, latest: pd.Timestamp) -> Grain:
    """Return how finely the dates of a forecast may be told, from its 5 and 95 % dates.

    Up to a year apart: to the day; up to three years: to the month; wider, or with
    no 95 % date at all: to the quarter.
    """
    if pd.isna(earliest) or pd.isna(latest):
        return Grain.QUARTER
    days = (latest - earliest).days
    if days <= _LONGEST_TO_THE_DAY:
        return Grain.DAY
    return Grain.MONTH if days <= _LONGEST_TO_THE_MONTH else Grain.QUARTER


def date_text(date: pd.Timestamp, grain: Grain) -> str:
    """Return ``date`` as a day, a month or a quarter.

    >>> date_text(pd.Timestamp("2027-05-09"), Grain.QUARTER)
    '2027 Q2'
    """
    if pd.isna(date):
        return NONE
    if grain is Grain.DAY:
        return f"{date:%Y-%m-%d}"
    return f"{date:%Y-%m}" if grain is Grain.MONTH else f"{date.year} Q{date.quarter}"
