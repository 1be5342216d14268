"""The readings of a trend chart: how each was taken by shape and colour, how sure by its bar."""

from __future__ import annotations

from typing import Any, Final

import altair as alt
import pandas as pd

from trendwear.report.assumed import UNCERTAINTY_FROM
from trendwear.report.chart_style import PAPER, PURPLE, RED, STATE_COLOURS, STATE_SHAPES
from trendwear.report.rounding import length_text
from trendwear.report.trend.frame import Frame
from trendwear.report.units import unit_label

__all__ = ["bound_layers", "doubt_layers", "reading_layers"]

_TOLD: Final = (
    "state", "reading", "uncertainty", "day", "running_hours", "as_written", "method", "source",
    "remark", "look_again",
)  # fmt: skip


def reading_layers(points: pd.DataFrame, frame: Frame) -> list[Any]:
    """Readings, filled where they are fitted, with bars of two standard uncertainties."""
    data = _readings(points, frame)
    if data.empty:
        return []
    states = [state for state in STATE_SHAPES if state in set(data["state"])]
    colour = alt.Color(
        "state:N",
        title=None,
        scale=alt.Scale(domain=states, range=[STATE_COLOURS[state] for state in states]),
    )
    shape = alt.Shape(
        "state:N",
        title=None,
        scale=alt.Scale(domain=states, range=[STATE_SHAPES[state] for state in states]),
    )
    tips = _tips(data)
    base = alt.Chart(data)
    bars = base.mark_rule(strokeWidth=1.2, clip=True).encode(
        x=frame.x, y=frame.y("low"), y2="high:Q", color=colour
    )
    fitted = (
        base.transform_filter("datum.fitted")
        .mark_point(filled=True, size=85, opacity=1, clip=True)
        .encode(x=frame.x, y=frame.y(), color=colour, shape=shape, tooltip=tips)
    )
    left_out = (
        base.transform_filter("!datum.fitted")
        .mark_point(filled=False, fill=PAPER, size=85, opacity=1, strokeWidth=1.6, clip=True)
        .encode(x=frame.x, y=frame.y(), color=colour, shape=shape, tooltip=tips)
    )
    return [bars, left_out, fitted]


def doubt_layers(points: pd.DataFrame, frame: Frame) -> list[Any]:
    """Rings around readings that are hard to believe; the words are in the tooltip."""
    data = _readings(points[points["doubt"].notna()], frame)
    if data.empty:
        return []
    ring = alt.Chart(data).mark_point(
        shape="circle", size=330, color=PURPLE, fillOpacity=0, strokeWidth=2.5, opacity=1, clip=True
    )
    return [ring.encode(x=frame.x, y=frame.y(), tooltip=_tips(data))]


def _tips(data: pd.DataFrame) -> list[Any]:
    """What the tooltip tells: everything that stands in any of the readings."""
    told = [field for field in _TOLD if (data[field] != "").any()]
    return [alt.Tooltip(f"{field}:N", title=field.replace("_", " ")) for field in told]


def bound_layers(points: pd.DataFrame, frame: Frame, moves: str) -> list[Any]:
    """Arrows from readings that say *at least so worn*, the way the wear goes."""
    data = _readings(points[points["at_least"]], frame)
    if data.empty:
        return []
    length = (frame.top - frame.bottom) * (0.06 if moves == "opens" else -0.06)
    data = data.assign(tip=data["value"] + length)
    base = alt.Chart(data)
    head = "triangle-up" if moves == "opens" else "triangle-down"
    return [
        base.mark_rule(strokeWidth=1.6, color=RED).encode(
            x=frame.x, y=frame.y("value"), y2="tip:Q"
        ),
        base.mark_point(shape=head, filled=True, size=60, color=RED, opacity=1).encode(
            x=frame.x, y=frame.y("tip")
        ),
    ]


def _readings(points: pd.DataFrame, frame: Frame) -> pd.DataFrame:
    at = points["hours"] if frame.by == "hours" else points["date"]
    known = points[at.notna() & points["value_mm"].notna()]
    value, spread = frame.in_unit(known["value_mm"]), 2 * frame.in_unit(known["u_mm"])
    unit, places = unit_label(frame.unit), frame.decimals
    return pd.DataFrame(
        {
            "at": known["hours"] if frame.by == "hours" else known["date"],
            "value": value,
            "low": value - spread,
            "high": value + spread,
            "fitted": known["fitted"],
            "state": known["state"],
            "reading": [
                ("at least " if bound else "") + f"{length_text(v, places)} {unit}"
                for v, bound in zip(value, known["at_least"], strict=True)
            ],
            "uncertainty": [
                f"± {length_text(s, places + 1)} {unit} (two standard uncertainties; "
                f"{UNCERTAINTY_FROM.get(source, source)})"
                for s, source in zip(spread, known["u_from"], strict=True)
            ],
            "day": [f"{d:%Y-%m-%d}" if pd.notna(d) else "not known" for d in known["date"]],
            "running_hours": [
                f"{hours:,.0f} h ({source})" if pd.notna(hours) else "not known"
                for hours, source in zip(known["hours"], known["hours_from"], strict=True)
            ],
            "as_written": known["written"].fillna(""),
            "method": known["method"].fillna("not stated"),
            "source": [
                ", ".join(filter(None, (file, sheet, cell or f"row {row}")))
                for file, sheet, row, cell in zip(
                    *(known[name] for name in ("file", "sheet", "row", "cell")), strict=True
                )
            ],
            "remark": known["remark"].fillna(""),
            "look_again": known["doubt"].fillna(""),
        }
    )
