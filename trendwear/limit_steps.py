"""The frame of limits that follow one another, as the chart of one clearance draws them.

In the style of `trendwear.tables`; `conform` and `check` there serve for it too.
"""

from __future__ import annotations

from typing import Final

from trendwear.tables import Columns

__all__ = ["LIMIT_STEPS"]

LIMIT_STEPS: Final[Columns] = {
    "moves": "text",
    "limit_mm": "number",  # NaN: from here on there is none
    "date": "date",  # from when it holds; NaT: from the beginning
    "hours": "number",  # of the machine on that day; NaN where they cannot be told
    "source": "text",
    "ahead": "flag",  # it holds from a day after the one the forecast speaks of
}
"""One row for each limit in sequence, by the way of wearing and the day."""
