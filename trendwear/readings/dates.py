"""Dates as people write them: a day, or a month or year with its own spread.

Whole days only: the time of day is dropped.
"""

from __future__ import annotations

import re
from calendar import isleap, monthrange
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum
from typing import Final

from trendwear.readings.faults import Refusal

__all__ = ["DateOrder", "Day", "read_date"]


class DateOrder(Enum):
    """Which part comes first in dates such as 03/04/2025."""

    ISO = "ISO"
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


@dataclass(frozen=True)
class Day:
    """A day, and by how many days it may be off."""

    day: datetime
    """Its start; the exact middle where only the month or year is known."""
    spread_days: float = 0.0


_FIRST_YEAR: Final = 1930
"""Earlier dates come from spreadsheet cells that hold 0 or a small number."""

_DAY: Final = re.compile(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})"
    r"(?:[T ](?:[01][0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9](?:[.,][0-9]+)?)?"
    r"(?:Z|[+-][0-9]{2}:?[0-9]{2})?)?"
)
_YEAR_FIRST: Final = re.compile(r"([0-9]{4})([-/])([0-9]{1,2})\2([0-9]{1,2})")
_MONTH: Final = re.compile(r"([0-9]{4})-([0-9]{2})")
_YEAR: Final = re.compile(r"[0-9]{4}")
_PARTED: Final = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})")
_NO_DATE: Final = (
    "write it as 2019-03-04, or 2019-03 or 2019 where only that is known, "
    "or leave the cell blank where it is unknown (hours given)"
)
_WANTED: Final = "write it as 2025-04-03, or 2025-04 or 2025 where only that is known"


def read_date(text: str, order: DateOrder = DateOrder.ISO) -> Day | Refusal:
    """Read one cell that is not blank.

    A month or year alone is its middle, with the half-width that reaches its first
    and its last day.

    >>> read_date("1998-05")
    Day(day=datetime.datetime(1998, 5, 16, 0, 0), spread_days=15.0)
    """
    if found := _DAY.fullmatch(text):
        return _day(int(found[1]), int(found[2]), int(found[3]))
    if found := _YEAR_FIRST.fullmatch(text):
        return _day(int(found[1]), int(found[3]), int(found[4]))
    if found := _MONTH.fullmatch(text):
        return _month(int(found[1]), int(found[2]))
    if _YEAR.fullmatch(text):
        return _year(int(text))
    if found := _PARTED.fullmatch(text):
        return _parted((int(found[1]), int(found[3])), found[4], order)
    if re.fullmatch(r"[0-9]+([.,][0-9]+)?", text):
        return Refusal("this is a bare number", "format the column as a date, or write 2025-04-03")
    if text.startswith("="):
        return Refusal("this is a formula, not its result", "paste the date in its place")
    return Refusal("this is no date in a form that is read here", _NO_DATE)


def _day(year: int, month: int, day: int) -> Day | Refusal:
    try:
        read = datetime(year, month, day)
    except ValueError:
        return Refusal("there is no such day", _WANTED)
    if year < _FIRST_YEAR:
        reason = f"a date before {_FIRST_YEAR} is what a spreadsheet makes of 0 or a small number"
        return Refusal(reason, "write the date, or leave the cell blank where it is unknown")
    return Day(read)


def _month(year: int, month: int) -> Day | Refusal:
    first = _day(year, month, 1)
    return first if isinstance(first, Refusal) else _midway(first.day, monthrange(year, month)[1])


def _year(year: int) -> Day | Refusal:
    if not _FIRST_YEAR <= year <= 2199:
        reason = f"the number {year} is no year between {_FIRST_YEAR} and 2199"
        return Refusal(reason, _WANTED)
    return _midway(datetime(year, 1, 1), 366 if isleap(year) else 365)


def _midway(first: datetime, days: int) -> Day:
    half = (days - 1) / 2
    return Day(first + timedelta(days=half), half)


def _parted(parts: tuple[int, int], year: str, order: DateOrder) -> Day | Refusal:
    if len(year) == 2:
        return Refusal("the year has two digits", _WANTED)
    if order is DateOrder.ISO:
        settled = '[dates] order = "day first" in a headings file'
        return Refusal("day or month may come first", f"write it as 2025-04-03, or state {settled}")
    day, month = parts if order is DateOrder.DAY_FIRST else parts[::-1]
    return _day(int(year), month, day)
