"""The lines of a trend chart: fits, forecast, limits, work done, and where a limit is passed."""

from __future__ import annotations

from typing import Any, Final

import altair as alt
import pandas as pd

from trendwear.report.chart_style import BLUE, GREY, INK, PAPER, RED, SKY
from trendwear.report.limit_table import reached_in_words
from trendwear.report.rounding import hours_text, length_text, limit_decimals
from trendwear.report.trend.frame import By, Frame, together
from trendwear.report.trend.part_changes import actions_told
from trendwear.report.units import unit_label

__all__ = [
    "crossing_layers",
    "labels",
    "limit_layers",
    "line_layers",
    "today_layers",
    "work_layers",
]

_UNRECORDED: Final = "unexplained step"
_LABELS_APART: Final = 0.02
"""Slanted labels nearer than this share of the width become one."""
_STRETCHES: Final = {
    "fitted": ("fit to own readings", [1, 0], 2.0),
    "own line": ("own readings only", [2, 4], 1.5),
    "forecast": ("forecast, band 5 to 95 %", [6, 4], 2.0),
}
"""What each stretch of line is called, its dashes and its width."""


def line_layers(lines: pd.DataFrame, frame: Frame) -> list[Any]:
    """The fit of each segment, solid; the forecast, dashed, in its 5 to 95 % band.

    Dotted beside the forecast: where this clearance's own readings alone would lead.
    """
    data = _line_data(lines, frame)
    if data.empty:
        return []
    there = [name for name in _STRETCHES if name in set(data["stretch"])]
    dash = alt.StrokeDash(
        "line:N",
        title=None,
        scale=alt.Scale(
            domain=[_STRETCHES[name][0] for name in there],
            range=[_STRETCHES[name][1] for name in there],
        ),
    )
    return [_band(data, frame), *(_line(data, name, dash, frame) for name in there)]


def _band(data: pd.DataFrame, frame: Frame) -> Any:
    return (
        alt.Chart(data[data["stretch"] == "forecast"])
        .mark_area(color=SKY, opacity=0.28, clip=True)
        .encode(x=frame.x, y=frame.y("low"), y2="high:Q", detail="segment:N")
    )


def _line(data: pd.DataFrame, stretch: str, dash: Any, frame: Frame) -> Any:
    name, _, width = _STRETCHES[stretch]
    return (
        alt.Chart(data[data["stretch"] == stretch].assign(line=name))
        .mark_line(color=BLUE, strokeWidth=width, clip=True)
        .encode(x=frame.x, y=frame.y(), strokeDash=dash, detail="segment:N")
    )


def _line_data(lines: pd.DataFrame, frame: Frame) -> pd.DataFrame:
    known = lines[lines[frame.by].notna()]
    return pd.DataFrame(
        {
            "at": known[frame.by],
            "value": frame.in_unit(known["fit_mm"]),
            "low": frame.in_unit(known["low_mm"]),
            "high": frame.in_unit(known["high_mm"]),
            "segment": known["segment"],
            "stretch": known["stretch"],
        }
    )


def limit_layers(forecast: pd.DataFrame, frame: Frame) -> list[Any]:
    """One labelled line for each limit that holds."""
    limited = forecast[forecast["limit"].notna()]
    if limited.empty:
        return []
    data = pd.DataFrame(
        {
            "at": [frame.start] * len(limited),
            "value": limited["limit"],
            "words": [_limit_words(row, frame) for row in limited.itertuples()],
        }
    )
    base = alt.Chart(data)
    line = base.mark_rule(color=RED, strokeWidth=2).encode(y=frame.y())
    return [line, *labels(data, frame, dict(dy=-10, dx=6, align="left", color=RED))]


def _limit_words(row: Any, frame: Frame) -> str:
    places = limit_decimals(row.limit, frame.decimals)
    which = "smallest allowed" if row.moves == "closes" else "largest allowed"
    return f"limit {length_text(row.limit, places)} {unit_label(frame.unit)} ({which})"


def work_layers(work: pd.DataFrame, segments: pd.DataFrame, frame: Frame) -> list[Any]:
    """Work done, and steps nobody wrote down, as labelled dotted rules: there the fit restarts."""
    steps = segments[segments["cause"] == _UNRECORDED]
    unexplained = pd.DataFrame(
        {
            "hours": steps["start_hours"],
            "date": steps["start_date"],
            "action": steps["cause"],
        }
    )
    done = work[["hours", "date"]].assign(action=actions_told(work))
    both = pd.concat([done, unexplained])
    known = both[both[frame.by].notna()]
    if known.empty:
        return []
    known = known.sort_values(frame.by, kind="stable")
    places = [frame.share_of_width(at) for at in known[frame.by]]
    data = pd.DataFrame({"at": known[frame.by].unique(), "value": frame.top})
    near = known.groupby(together(places, _LABELS_APART))
    named = pd.DataFrame(
        {
            "at": near[frame.by].first(),
            "value": frame.top,
            "words": near["action"].agg(lambda done: ", ".join(dict.fromkeys(done))),
        }
    )
    rules = (
        alt.Chart(data).mark_rule(color=GREY, strokeDash=[2, 3], strokeWidth=1.4).encode(x=frame.x)
    )
    look = dict(angle=330, align="left", baseline="bottom", dx=2, dy=-3, color=GREY)
    return [rules, *labels(named, frame, look)]


def today_layers(as_of: Any, at: Any, frame: Frame) -> list[Any]:
    """A rule at the day the forecast speaks of."""
    if pd.isna(at):
        return []
    data = pd.DataFrame({"at": [at], "words": [f"as of {as_of:%Y-%m-%d}"], "value": [frame.bottom]})
    right = frame.share_of_width(at) > 0.85
    look = dict(align="right" if right else "left", dx=-5 if right else 5, dy=-8, color=INK)
    rule = alt.Chart(data).mark_rule(color=INK, strokeWidth=1).encode(x=frame.x)
    return [rule, *labels(data, frame, look)]


def crossing_layers(row: Any, now: Any, frame: Frame) -> list[Any]:
    """Where one limit is passed: a bar from 1 in 20 to 19 in 20, a diamond at the even chance."""
    early, even, late = (_crossing(row, share, now, frame.by) for share in ("p05", "p50", "p95"))
    if pd.isna(row.limit) or pd.isna(early) or early > frame.end:
        return []
    open_ended = pd.isna(late) or late > frame.end
    bar = pd.DataFrame(
        {"at": [early], "until": [frame.end if open_ended else late], "value": [row.limit]}
    )
    layers = [
        alt.Chart(bar)
        .mark_rule(color=RED, strokeWidth=8, opacity=0.45, clip=True)
        .encode(x=frame.x, x2="until", y=frame.y())
    ]
    seen = pd.notna(even) and even <= frame.end
    anchor = even if seen else early
    words = _crossing_words(row, early, even, frame)
    mark = pd.DataFrame({"at": [anchor], "value": [row.limit], "words": [words]})
    if seen:
        layers.append(
            alt.Chart(mark)
            .mark_point(shape="diamond", filled=True, size=170, color=RED, opacity=1,
                        stroke=PAPER, strokeWidth=1)
            .encode(x=frame.x, y=frame.y())
        )  # fmt: skip
    right = frame.share_of_width(anchor) > 0.5
    look = dict(
        align="right" if right else "left",
        dy=16 if row.moves == "opens" else 17,
        fontWeight="bold",
        color=INK,
    )
    return [*layers, *labels(mark, frame, look)]


def _crossing(row: Any, share: str, now: Any, by: By) -> Any:
    if by == "date":
        return getattr(row, f"date_{share}")
    return now + getattr(row, f"hours_to_limit_{share}")


def _crossing_words(row: Any, early: Any, even: Any, frame: Frame) -> str:
    if row.hours_to_limit_p50 == 0:
        return "past its limit already"
    if frame.by == "hours":
        first = "already" if row.hours_to_limit_p05 == 0 else f"at {hours_text(early)}"
        return f"1 in 20 {first}, even chance at {hours_text(even)}"
    return f"1 in 20 {reached_in_words(row, 'p05')}, even chance {reached_in_words(row, 'p50')}"


def labels(data: pd.DataFrame, frame: Frame, look: dict[str, Any]) -> list[Any]:
    """Text with a halo of paper, so that it reads over lines and bands."""
    base = alt.Chart(data).encode(x=frame.x, y=frame.y(), text="words:N")
    shared = {"fontSize": 12, "limit": 420, **look}
    halo = {**shared, "color": PAPER, "stroke": PAPER, "strokeWidth": 4}
    return [base.mark_text(**halo), base.mark_text(**shared)]
