"""Two charts of past forecasts: shares inside the bands, and every reading against its band."""

from __future__ import annotations

from typing import Any, Final

import altair as alt
import numpy as np
import pandas as pd

from trendwear.hindsight.found import BANDS
from trendwear.hindsight.score import ALL, FIRST_RUNS, LATER_RUNS, is_inside
from trendwear.report.chart_style import BLUE, GREEN, GREY, INK, RED, dressed
from trendwear.report.hindcast.tables import in_numbers

__all__ = ["DRAWN_FROM", "bands_chart", "readings_chart"]

DRAWN_FROM: Final = 10
"""Families with fewer readings are in the table, not in the chart."""

_COLOURS: Final = {50: GREEN, 80: BLUE, 90: INK}
_SHAPES: Final = {50: "circle", 80: "square", 90: "diamond"}
_ROW_HEIGHT: Final = 39
_FARTHEST: Final = 3.0
_NAMES: Final = {ALL: "all readings", FIRST_RUNS: FIRST_RUNS, LATER_RUNS: LATER_RUNS}
_IN, _OUT = "inside its 90 % band", "outside"


def bands_chart(scores: pd.DataFrame) -> Any:
    """Draw the share of readings inside each band, with its 90 % interval.

    Parameters
    ----------
    scores : DataFrame
        `trendwear.hindsight.score.SCORES`.

    Returns
    -------
    altair.LayerChart or None
        A dashed line stands where each band's share belongs; None where nothing was judged.
    """
    told = scores[(scores["rule"] == "forecast") & (scores["readings"] > 0)]
    shown = told[~told["is_family"] | (told["readings"] >= DRAWN_FROM)]
    if shown.empty:
        return None
    points = pd.concat([_points(shown, band) for band in BANDS], ignore_index=True)
    promised = pd.DataFrame(
        {"promised": [band / 100 for band in BANDS], "band": [f"{band} % band" for band in BANDS]}
    )
    names = [f"{band} % band" for band in BANDS]
    colour = alt.Color(
        "band:N",
        title=None,
        scale=alt.Scale(domain=names, range=[_COLOURS[band] for band in BANDS]),
    )
    shape = alt.Shape(
        "band:N",
        title=None,
        scale=alt.Scale(domain=names, range=[_SHAPES[band] for band in BANDS]),
    )
    x = alt.X(
        "share:Q",
        title="readings inside the band",
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(format="%", orient="top", values=[0, 0.25, 0.5, 0.8, 0.9, 1]),
    )
    y = alt.Y("group:N", sort=None, title=None, axis=alt.Axis(labelLimit=330, ticks=False))
    offset = alt.YOffset("band:N", sort=names)
    base = alt.Chart(points).encode(y=y, yOffset=offset, color=colour)
    tips = [alt.Tooltip(f"{name}:N") for name in ("group", "band", "inside", "expected")]
    rules = alt.Chart(promised).mark_rule(strokeDash=[5, 4], strokeWidth=1.5)
    chart = alt.layer(
        rules.encode(x="promised:Q", color=colour),
        base.mark_rule(strokeWidth=2).encode(x=alt.X("low:Q"), x2="high:Q", tooltip=tips),
        base.mark_point(filled=True, size=75, opacity=1).encode(x=x, shape=shape, tooltip=tips),
    )
    return dressed(chart.properties(width="container", height=alt.Step(_ROW_HEIGHT / 3)))


def _points(rows: pd.DataFrame, band: int) -> pd.DataFrame:
    names = rows["group"].map(lambda name: _NAMES.get(name, name))
    return pd.DataFrame(
        {
            "group": names + " (" + rows["readings"].astype(str) + ")",
            "band": f"{band} % band",
            "share": rows[f"share_{band}"],
            "low": rows[f"low_{band}"],
            "high": rows[f"high_{band}"],
            "inside": rows[f"inside_{band}"].astype(str) + " of " + rows["readings"].astype(str),
            "expected": [
                f"{low:.0f} to {high:.0f}"
                for low, high in zip(rows[f"due_low_{band}"], rows[f"due_high_{band}"], strict=True)
            ],
        }
    )


def readings_chart(found: pd.DataFrame) -> Any:
    """Draw every judged reading against its own forecast band.

    Parameters
    ----------
    found : DataFrame
        `trendwear.hindsight.found.FOUND`.

    Returns
    -------
    altair.LayerChart or None
        0 is the middle of the forecast, 1 and -1 the ends of its 90 % band, upward more
        worn; by date, or by running hours where there are no dates.  None where nothing
        was judged.
    """
    told = found[found["forecast_p50_mm"].notna() & ~found["at_least"]]
    if told.empty:
        return None
    by = "date" if told["date"].notna().any() else "hours"
    told = told[told[by].notna()]
    inside = is_inside(told, "forecast", 90)
    place = _place_in_band(told)
    numbers = in_numbers(told)
    points = pd.DataFrame(
        {
            "when": told[by],
            "place": place.clip(-_FARTHEST, _FARTHEST),
            "far": place.abs() > _FARTHEST,
            "state": np.where(inside, _IN, _OUT),
            "clearance": told["machine"] + " · " + told["clearance"],
            "found": numbers["found"],
            "band": numbers["90 % band"],
            "different": told["note"].fillna("nothing in the record"),
        }
    )
    when = alt.X(
        "when:T" if by == "date" else "when:Q",
        title="opened" if by == "date" else "running hours at the opening",
        axis=alt.Axis(format="%Y" if by == "date" else ",.0f", tickCount=10),
        scale=alt.Scale(zero=False, padding=15),
    )
    y = alt.Y(
        "place:Q",
        title="less worn  ←  found  →  more worn",
        scale=alt.Scale(domain=[-_FARTHEST - 0.2, _FARTHEST + 0.2]),
        axis=alt.Axis(
            values=[-1, 0, 1],
            labelExpr="datum.value == 0 ? 'forecast' : 'end of band'",
        ),
    )
    band = pd.DataFrame({"low": [-1.0], "high": [1.0]})
    shade = alt.Chart(band).mark_rect(color=GREY, opacity=0.12).encode(y="low:Q", y2="high:Q")
    middle = alt.Chart(pd.DataFrame({"at": [0.0]})).mark_rule(color=GREY).encode(y="at:Q")
    tips = [alt.Tooltip(f"{name}:N") for name in ("clearance", "found", "band", "different")]
    states = [_IN, _OUT]
    dots = (
        alt.Chart(points)
        .mark_point(filled=True, opacity=0.75)
        .encode(
            x=when,
            y=y,
            color=alt.Color(
                "state:N", title=None, scale=alt.Scale(domain=states, range=[BLUE, RED])
            ),
            shape=alt.Shape(
                "state:N", title=None, scale=alt.Scale(domain=states, range=["circle", "diamond"])
            ),
            size=alt.Size("state:N", legend=None, scale=alt.Scale(domain=states, range=[30, 80])),
            tooltip=tips,
        )
    )
    return dressed(alt.layer(shade, middle, dots).properties(width="container", height=340))


def _place_in_band(told: pd.DataFrame) -> pd.Series:
    """How far each reading lies from the middle, in half bands of its own side."""
    away = told["found_mm"] - told["forecast_p50_mm"]
    upper = told["forecast_p95_mm"] - told["forecast_p50_mm"]
    lower = told["forecast_p50_mm"] - told["forecast_p05_mm"]
    half = upper.where(away > 0, lower)
    return (away / half.where(half > 0)).fillna(0.0) * told["sign"]
