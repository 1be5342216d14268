"""The frame of a trend chart: its unit, its two axes and where they end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

import altair as alt
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.report.units import decimals_in, in_unit, unit_label

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = ["By", "Frame", "axis_end", "frame_of", "now_of", "together"]

_LOOK_AHEAD: Final = 3.0
"""At most so many times the length of the history is shown ahead of it."""

By = Literal["hours", "date"]


@dataclass(frozen=True)
class Frame:
    """What all layers of one chart share: its unit, its axes and their ends."""

    unit: str
    decimals: int
    title: str
    by: By
    start: Any
    end: Any
    bottom: float
    top: float

    @property
    def x(self) -> alt.X:
        """The horizontal axis: running hours or dates."""
        scale = alt.Scale(domain=[axis_end(self.start), axis_end(self.end)], nice=False)
        if self.by == "hours":
            axis = alt.Axis(format=",.0f", tickCount=8, labelFlush=False)
            return alt.X("at:Q", title="running hours", scale=scale, axis=axis)
        return alt.X("at:T", title=None, scale=scale, axis=alt.Axis(tickCount=8, format="%Y-%m"))

    def y(self, field: str = "value") -> alt.Y:
        """The vertical axis; it does not start at zero."""
        scale = alt.Scale(domain=[self.bottom, self.top], zero=False, nice=False)
        return alt.Y(f"{field}:Q", title=self.title, scale=scale)

    def in_unit(self, millimetres: pd.Series) -> pd.Series:
        """Convert millimetres to the chart's unit."""
        return millimetres / MM_PER_UNIT[self.unit]

    def share_of_width(self, at: Any) -> float:
        """How far right ``at`` lies: 0 at the left end, 1 at the right."""
        return float((at - self.start) / (self.end - self.start))


def axis_end(at: Any) -> Any:
    """Return a day or a number of hours as an end of an axis."""
    if isinstance(at, pd.Timestamp):
        return alt.DateTime(year=at.year, month=at.month, date=at.day)
    return float(at)


def frame_of(trend: ClearanceTrend, unit: str, by: By) -> Frame:
    """Return the frame in which all of ``trend`` that is worth seeing has room.

    Along: from the first reading to the 19-in-20 crossing and the end of the lines,
    but no further ahead than three times the history.  Up: every reading with its
    uncertainty, every limit, every fit.
    """
    start, end = _ends(trend, by)
    bottom, top = _heights(trend, unit)
    return Frame(
        unit=unit,
        decimals=decimals_in(trend.decimals, trend.unit, unit),
        title=f"{_measured(trend.forecast['basis'].iloc[0])}, {unit_label(unit)}",
        by=by,
        start=start,
        end=end,
        bottom=bottom,
        top=top,
    )


def now_of(trend: ClearanceTrend, by: By) -> Any:
    """Return the day the forecast speaks of, on the chart's horizontal axis."""
    if by == "date":
        return pd.Timestamp(trend.as_of)
    return trend.forecast["run_hours"].iloc[0]


def together(places: list[float], apart: float) -> list[int]:
    """Number groups of places in order along the axis: each within ``apart`` of its first.

    >>> together([0.10, 0.11, 0.13, 0.5], 0.02)
    [1, 1, 2, 3]
    """
    numbers: list[int] = []
    first, number = -1.0, 0
    for place in places:
        if not numbers or place - first > apart:
            first, number = place, number + 1
        numbers.append(number)
    return numbers


def _measured(basis: str) -> str:
    return basis if basis == "thickness" else f"{basis} clearance"


def _ends(trend: ClearanceTrend, by: By) -> tuple[Any, Any]:
    now = now_of(trend, by)
    past = pd.concat([trend.points[by], trend.work[by], pd.Series([now])]).dropna()
    if past.empty:
        return (
            (pd.Timestamp(trend.as_of), pd.Timestamp(trend.as_of)) if by == "date" else (0.0, 1.0)
        )
    first, last = past.min(), past.max()
    span = max(last - first, pd.Timedelta(days=365) if by == "date" else 1000.0)
    end = _end(
        last, last + _LOOK_AHEAD * span, _crossings(trend.forecast, now, by), trend.lines[by]
    )
    margin = 0.03 * (end - first if end > first else span)
    return first - margin, end + margin


def _end(last: Any, furthest: Any, crossings: pd.Series, lines: pd.Series) -> Any:
    near, far = crossings[crossings <= furthest], crossings[crossings > furthest]
    if len(near) and len(far):  # a bar that begins within sight and ends beyond it
        return furthest
    return max([last, *near, *lines[lines <= furthest]])


def _crossings(forecast: pd.DataFrame, now: Any, by: By) -> pd.Series:
    shares = ("p05", "p50", "p95")
    if by == "date":
        return pd.concat([forecast[f"date_{share}"] for share in shares])
    return now + pd.concat([forecast[f"hours_to_limit_{share}"] for share in shares])


def _heights(trend: ClearanceTrend, unit: str) -> tuple[float, float]:
    points, lines = trend.points, trend.lines
    fitted = lines[lines["stretch"] == "fitted"]
    limits = in_unit(trend.forecast, unit)["limit"]
    steps = trend.limits["limit_mm"] / MM_PER_UNIT[unit]
    millimetres = [
        points["value_mm"] - 2 * points["u_mm"],
        points["value_mm"] + 2 * points["u_mm"],
        fitted["fit_mm"],
    ]
    if limits.isna().all():
        millimetres.append(lines["fit_mm"])
    heights = pd.concat([pd.concat(millimetres) / MM_PER_UNIT[unit], limits, steps]).dropna()
    if heights.empty:
        return 0.0, 1.0
    bottom, top = float(heights.min()), float(heights.max())
    margin = 0.14 * (top - bottom) or 0.1 * abs(top) or 1.0
    return bottom - margin, top + margin
