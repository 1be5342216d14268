"""The two charts: the trend of one clearance, and the clearances that come first.

Both bring their own light paper and size themselves to the width they are given.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.report.chart_style import BLUE, GREY, RED, dressed
from trendwear.report.limit_table import PAST, in_order, reached_by
from trendwear.report.rounding import percent_text
from trendwear.report.trend.events import event_layers, events_until
from trendwear.report.trend.frame import By, axis_end, frame_of, now_of
from trendwear.report.trend.layers import (
    crossing_layers,
    line_layers,
    today_layers,
    work_layers,
)
from trendwear.report.trend.limits import has_steps, limits_drawn
from trendwear.report.trend.readings import bound_layers, doubt_layers, reading_layers
from trendwear.report.units import in_unit

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = ["fleet_chart", "how_to_read", "not_drawn", "past_not_drawn", "trend_chart"]

_TREND_HEIGHT: Final = 520
_ROW_HEIGHT: Final = 23
_EARLIEST: Final = 25
_PAST_DRAWN: Final = 8
_FLEET_STATES: Final = ("past its limit", "wears towards its limit")


def trend_chart(trend: ClearanceTrend, unit: str, by: By) -> Any:
    """Draw the readings, work, events, fits and forecast of one clearance.

    Parameters
    ----------
    trend : ClearanceTrend
        What is known of the clearance; any of its frames may be empty.
    unit : str
        The unit of length to draw in, a key of `trendwear.lengths.MM_PER_UNIT`.
    by : {"hours", "date"}
        What runs along the horizontal axis.

    Returns
    -------
    altair.LayerChart
        Readings that lack the hours (or the date) are not in it: see `not_drawn`.
    """
    frame, now = frame_of(trend, unit, by), now_of(trend, by)
    forecast = in_unit(trend.forecast, unit)
    layers = [
        *line_layers(trend.lines, frame),
        *work_layers(trend.work, trend.segments, frame),
        *limits_drawn(trend, forecast, frame),
        *event_layers(trend, now, frame),
        *today_layers(trend.as_of, now, frame),
        *reading_layers(trend.points, frame),
        *bound_layers(trend.points, frame, trend.forecast["moves"].iloc[0]),
        *doubt_layers(trend.points, frame),
    ]
    for row in forecast.itertuples():
        layers += crossing_layers(row, now, frame)
    chart = alt.layer(*layers)
    return dressed(chart.properties(width="container", height=_TREND_HEIGHT))


def not_drawn(trend: ClearanceTrend, by: By) -> int:
    """Return how many readings have no place on that axis: hours or date are not known."""
    return int(trend.points[by].isna().sum())


def how_to_read(trend: ClearanceTrend) -> str:
    """Return what each sort of mark in the trend chart means; only of those that are in it."""
    points = trend.points
    stretches = set(trend.lines["stretch"])
    told = {
        "Bars on readings: two standard uncertainties either way.": len(points) > 0,
        "Hollow: shown, not fitted.": not points["fitted"].all(),
        "Ringed: hard to believe, look again.": points["doubt"].notna().any(),
        "Arrow on a reading: worn at least so far.": points["at_least"].any(),
        "Solid: the fit to this clearance's own readings.": "fitted" in stretches,
        "Dashed: the forecast, which leans on like clearances too; shaded, 9 chances in 10 that "
        "the true clearance lies there.": "forecast" in stretches,
        "Dotted: where its own readings alone would lead.": "own line" in stretches,
        "Flag: an event of the machine.": len(events_until(trend)) > 0,
        "Steps in the limit: the limit changed on that day; thin: what held before, dashed: what "
        "will hold.": has_steps(trend),
        "On the limit line: from 1 chance in 20 to 19 in 20 of being past it, diamond at the even "
        "chance.": trend.forecast["hours_to_limit_p05"].notna().any(),
    }
    return " ".join(words for words, there in told.items() if there)


def fleet_chart(table: pd.DataFrame) -> Any:
    """Draw when the earliest clearances pass their limits: at most 25, one bar each.

    Of those past their limit already at most 8: their bars say little, and where there
    are many they would leave no room for what comes next.

    Parameters
    ----------
    table : DataFrame
        Rows of `trendwear.tables.LIMIT_FORECAST`.

    Returns
    -------
    altair.LayerChart or None
        A bar from 1 chance in 20 to 19 in 20, a diamond at the even chance; by date,
        or by running hours from now where no duty is known.  None where no row
        reaches its limit.
    """
    by, shown = _earliest(table)
    if shown.empty:
        return None
    bars = _bars(shown, by)
    x = _fleet_axis(bars, by)
    y = alt.Y("place:N", sort=None, title=None, axis=alt.Axis(labelLimit=320, ticks=False))
    colour = alt.Color(
        "state:N", title=None, scale=alt.Scale(domain=list(_FLEET_STATES), range=[RED, BLUE])
    )
    tips = [
        alt.Tooltip(f"{field}:N", title=field.replace("_", " "))
        for field in ("place", "one_in_20", "even_chance", "nineteen_in_20", "allowance_used")
    ]
    base = alt.Chart(bars)
    spans = base.mark_bar(height=9, opacity=0.55, clip=True)
    even = base.mark_point(shape="diamond", filled=True, size=110, opacity=1, clip=True)
    further = base.transform_filter("datum.open_ended").mark_point(
        shape="triangle-right", filled=True, size=70, opacity=1, color=GREY, xOffset=-6
    )
    chart = alt.layer(
        spans.encode(x=x("early"), x2="late", y=y, color=colour, tooltip=tips),
        even.encode(x=x("even"), y=y, color=colour, tooltip=tips),
        further.encode(x=x("end"), y=y),
    )
    return dressed(chart.properties(width="container", height=alt.Step(_ROW_HEIGHT)))


def past_not_drawn(table: pd.DataFrame) -> int:
    """Return how many clearances past their limit `fleet_chart` leaves out for want of room."""
    _, shown = _earliest(table)
    return int((table["outcome"].isin(PAST).sum()) - (shown["outcome"].isin(PAST).sum()))


def _earliest(table: pd.DataFrame) -> tuple[By, pd.DataFrame]:
    """Rows worth a bar, the most pressing first, and what their bars run along."""
    known = in_order(table[table["hours_to_limit_p05"].notna()])
    by: By = "date" if known["date_p05"].notna().any() else "hours"
    placed = known[known["date_p05"].notna()] if by == "date" else known
    past = placed["outcome"].isin(PAST)
    worth = placed[~past | (past.cumsum() <= _PAST_DRAWN)]
    return by, worth.head(_EARLIEST)


def _fleet_axis(bars: pd.DataFrame, by: By) -> Callable[[str], alt.X]:
    start, end = bars["start"].iloc[0], bars["end"].iloc[0]
    scale = alt.Scale(
        domain=[axis_end(start - 0.02 * (end - start)), axis_end(end)],
        nice=False,
    )
    look = "%Y-%m" if by == "date" else ",.0f"
    axis = alt.Axis(orient="top", tickCount=8, format=look)
    title = None if by == "date" else "running hours from now"
    kind = "T" if by == "date" else "Q"
    return lambda field: alt.X(f"{field}:{kind}", title=title, scale=scale, axis=axis)


def _bars(shown: pd.DataFrame, by: By) -> pd.DataFrame:
    what = "date" if by == "date" else "hours_to_limit"
    early, even, late = (shown[f"{what}_{share}"] for share in ("p05", "p50", "p95"))
    start = shown["as_of"].iloc[0] if by == "date" else 0.0
    # One far bar must not squeeze all others: it runs out at the edge and is marked there.
    reach = max([early.max(), *even.dropna().quantile([0.75]), *late.dropna().quantile([0.5])])
    reach = reach - start
    end = start + 1.25 * max(reach, pd.Timedelta(days=365) if by == "date" else 1000.0)
    twice = shown.duplicated(["machine", "clearance"], keep=False)
    rows = list(shown.itertuples())
    return pd.DataFrame(
        {
            "place": [
                f"{row.machine} · {row.clearance}" + (f" ({row.moves})" if both_ways else "")
                for row, both_ways in zip(rows, twice, strict=True)
            ],
            "early": early,
            "even": even,
            "late": late.fillna(end).clip(upper=end),
            "start": start,
            "end": end,
            "open_ended": late.isna() | (late > end),
            "state": [_FLEET_STATES[0 if row.outcome in PAST else 1] for row in rows],
            "one_in_20": [reached_by(row, "p05") for row in rows],
            "even_chance": [reached_by(row, "p50") for row in rows],
            "nineteen_in_20": [reached_by(row, "p95") for row in rows],
            "allowance_used": [percent_text(row.allowance_used) for row in rows],
        }
    )
