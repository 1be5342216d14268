"""The limits of a trend chart: the one that holds, those before it as steps, those to come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.report.chart_style import RED
from trendwear.report.rounding import length_text, limit_decimals
from trendwear.report.trend.frame import Frame
from trendwear.report.trend.layers import labels, limit_layers
from trendwear.report.units import unit_label

if TYPE_CHECKING:
    from trendwear.forecasting.trend import ClearanceTrend

__all__ = ["has_steps", "limits_drawn"]

_NOW: Final = 2.0
_BEFORE: Final = 1.2


def has_steps(trend: ClearanceTrend) -> bool:
    """Whether its limit changed, or will."""
    return bool(trend.limits.groupby("moves").size().gt(1).any())


def limits_drawn(trend: ClearanceTrend, forecast: pd.DataFrame, frame: Frame) -> list[Any]:
    """Draw each limit that holds as one line, or as steps where limits follow one another.

    Parameters
    ----------
    forecast : DataFrame
        The rows of the forecast, their lengths in the frame's unit.
    """
    layers: list[Any] = []
    for moves, steps in trend.limits.groupby("moves"):
        row = forecast[forecast["moves"] == moves]
        spans = _spans(steps, frame)
        if len(steps) > 1 and len(spans):
            layers += _stepped(spans, frame)
        else:
            layers += limit_layers(row, frame)
    return layers if len(trend.limits) else limit_layers(forecast, frame)


def _spans(steps: pd.DataFrame, frame: Frame) -> pd.DataFrame:
    """Return from where to where each limit holds, on the chart; those out of sight left out.

    Empty where the place of a step on this axis is not known: then only the limit that
    holds is drawn.
    """
    begins = steps[frame.by].where(steps["date"].notna(), frame.start)
    if begins.isna().any():
        return pd.DataFrame(columns=["at", "until"])
    ends = begins.shift(-1).fillna(frame.end)
    holds = ~steps["ahead"] & steps["ahead"].shift(-1, fill_value=True)
    spans = pd.DataFrame(
        {
            "at": begins.clip(lower=frame.start),
            "until": ends.clip(upper=frame.end).where(~holds, frame.end),
            "value": frame.in_unit(steps["limit_mm"]),
            "before": frame.in_unit(steps["limit_mm"].shift(1)),
            "holds": holds,
            "ahead": steps["ahead"],
            "since": steps["date"],
            "moves": steps["moves"],
        }
    )
    return spans[spans["value"].notna() & (spans["at"] < spans["until"])]


def _stepped(spans: pd.DataFrame, frame: Frame) -> list[Any]:
    layers: list[Any] = []
    for group, width, dash in (
        (spans[spans["holds"]], _NOW, [1, 0]),
        (spans[~spans["holds"] & ~spans["ahead"]], _BEFORE, [1, 0]),
        (spans[spans["ahead"]], _BEFORE, [6, 4]),
    ):
        if len(group):
            across = alt.Chart(group).mark_rule(
                color=RED, strokeWidth=width, strokeDash=dash, clip=True
            )
            layers.append(across.encode(x=frame.x, x2="until", y=frame.y()))
    rises = spans[spans["before"].notna() & (spans["at"] > frame.start)]
    if len(rises):
        upright = alt.Chart(rises).mark_rule(color=RED, strokeWidth=_BEFORE, clip=True)
        layers.append(upright.encode(x=frame.x, y=frame.y("before"), y2="value:Q"))
    words = [_words(span, frame) for span in spans.itertuples()]
    look = dict(dy=-10, dx=6, align="left", color=RED)
    return [*layers, *labels(spans.assign(words=words), frame, look)]


def _words(span: Any, frame: Frame) -> str:
    places = limit_decimals(span.value, frame.decimals)
    length = f"{length_text(span.value, places)} {unit_label(frame.unit)}"
    since = "" if pd.isna(span.since) else f" from {span.since:%Y-%m-%d}"
    if not span.holds:
        return f"{length}{since}" if span.ahead else f"before: {length}{since}"
    which = "smallest allowed" if span.moves == "closes" else "largest allowed"
    return f"limit {length}{since} ({which})"
