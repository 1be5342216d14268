"""What happened to the machine, on the trend of one of its clearances: flags at the foot."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any, Final

import altair as alt
import numpy as np
import pandas as pd

from trendwear.report.chart_style import AMBER, BROWN
from trendwear.report.trend.frame import Frame, together
from trendwear.report.trend.layers import labels
from trendwear.wording import fold

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = ["event_layers", "events_until"]

_FLAG: Final = "M-0.5,1L-0.5,-1L0.8,-0.5L-0.3,0L-0.3,1Z"
_TOGETHER: Final = 0.012
"""Events within this share of the width share one flag."""
_PER_LETTER: Final = 0.0072
"""Share of the width that one letter of a label takes."""
_LEVELS: Final = 3
_LEVEL_HEIGHT: Final = 0.043
"""Share of the height between one row of labels and the next."""
_LONGEST: Final = 26
_TODAY: Final = 0.13
"""Share of the width that the name of the forecast's day takes."""


def events_until(trend: ClearanceTrend) -> pd.DataFrame:
    """Return the events of the machine that concern the clearance, none later than the forecast.

    An event that names clearances concerns those only.
    """
    events = trend.events[~(trend.events["date"] > pd.Timestamp(trend.as_of))]
    name = fold(trend.clearance)
    named = events["clearances"].map(lambda text: not isinstance(text, str) or name in fold(text))
    return events[named.astype(bool)]


def event_layers(trend: ClearanceTrend, now: Any, frame: Frame) -> list[Any]:
    """A flag for each event, labelled where there is room; the tooltip tells all of it."""
    marks = _marks(events_until(trend), trend, frame)
    if marks.empty:
        return []
    marks = _places(marks, now, frame)
    tips = [alt.Tooltip("happened:N", title="event"), alt.Tooltip("note:N")]
    base = alt.Chart(marks.drop(columns=["level", "left"]))
    rules = base.mark_rule(color=AMBER, strokeWidth=1, strokeDash=[6, 3], clip=True)
    flags = base.mark_point(
        shape=_FLAG, filled=True, size=150, color=AMBER, opacity=1, stroke=BROWN, strokeWidth=0.8
    )
    layers = [
        rules.encode(x=frame.x),
        flags.encode(x=frame.x, y=frame.y(), tooltip=tips),
    ]
    told = marks[marks["level"] >= 0]
    step = _LEVEL_HEIGHT * (frame.top - frame.bottom)
    told = told.assign(value=told["value"] + step * told["level"])
    for left, some in told.groupby("left"):
        look = dict(align="right" if left else "left", dx=-9 if left else 9, color=BROWN)
        layers += labels(some[["at", "value", "words"]], frame, look)
    return layers


def _marks(events: pd.DataFrame, trend: ClearanceTrend, frame: Frame) -> pd.DataFrame:
    """One row a flag: where it stands, its label and what its tooltip tells."""
    at = events["date"] if frame.by == "date" else _hours_on(events["date"], trend)
    seen = events.assign(at=at)
    seen = seen[(seen["at"] >= frame.start) & (seen["at"] <= frame.end)].sort_values("at")
    groups = together([frame.share_of_width(at) for at in seen["at"]], _TOGETHER)
    rows = [
        {
            "at": near["at"].iloc[0],
            "value": frame.bottom + 0.025 * (frame.top - frame.bottom),
            "words": _label(near),
            "happened": "; ".join(f"{row.what}, {row.date:%Y-%m-%d}" for row in near.itertuples()),
            "note": "; ".join(near["note"].dropna()),
        }
        for _, near in seen.groupby(groups)
    ]
    return pd.DataFrame(rows, columns=["at", "value", "words", "happened", "note"])


def _label(near: pd.DataFrame) -> str:
    told = list(dict.fromkeys(near["what"]))
    hard = near["severity"].dropna()
    if len(told) > 1:
        words = f"{len(near)} events"
    elif len(near) > 1:
        words = f"{len(near)} × {told[0]}"
    else:
        words = told[0] + (f" ({hard.iloc[0]})" if len(hard) else "")
    return textwrap.shorten(words, _LONGEST, placeholder=" …")


def _hours_on(dates: pd.Series, trend: ClearanceTrend) -> pd.Series:
    """Running hours on those days, between the hours that the trend knows."""
    told = [trend.points[["date", "hours"]], trend.work[["date", "hours"]]]
    now = pd.DataFrame(
        {"date": [pd.Timestamp(trend.as_of)], "hours": trend.forecast["run_hours"].iloc[[0]]}
    )
    known = pd.concat([*told, now]).dropna().sort_values(["date", "hours"])
    if known.empty:
        return pd.Series(np.nan, index=dates.index)
    first = known["date"].iloc[0]
    hours = np.interp(
        (dates - first).dt.total_seconds(),
        (known["date"] - first).dt.total_seconds(),
        known["hours"].cummax(),
        left=np.nan,
        right=np.nan,
    )
    return pd.Series(hours, index=dates.index)


def _places(marks: pd.DataFrame, now: Any, frame: Frame) -> pd.DataFrame:
    """Give each label a row and a side so that none runs into another; row -1: no room."""
    until = [-1.0] * _LEVELS
    today = frame.share_of_width(now) if pd.notna(now) else 2.0
    levels, sides = [], []
    for row in marks.itertuples():
        at, length = frame.share_of_width(row.at), 0.015 + _PER_LETTER * len(row.words)
        left = at + length > 1.0
        start, end = (at - length, at) if left else (at, at + length)
        # The day of the forecast is named in the lowest row, beside its rule.
        beside_today = start < today + _TODAY and end > today - _TODAY
        free = (n for n in range(int(beside_today), _LEVELS) if until[n] < start)
        level = next(free, -1)
        if level >= 0:
            until[level] = end
        levels.append(level)
        sides.append(left)
    return marks.assign(level=levels, left=sides)
