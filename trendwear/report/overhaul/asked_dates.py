"""Dates that a reader asked about, drawn into the chart of a machine's overhaul."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, Protocol

import altair as alt
import numpy as np
import pandas as pd

from trendwear.report.chart_style import INK, PAPER
from trendwear.report.rounding import chance_text

if TYPE_CHECKING:
    from trendwear.planning.over_time import OverTime

__all__ = ["asked_layers"]

_WORDS: Final[dict[str, Any]] = dict(
    angle=270, align="right", baseline="bottom", dy=-5, dx=-6, fontSize=13
)


class _Axes(Protocol):
    """What these layers need of the axes that all layers share."""

    top: float

    def x(self, field: str = "at") -> alt.X:
        """The horizontal axis."""

    def y(self, field: str = "chance") -> alt.Y:
        """The chances."""


def asked_layers(told: OverTime, axes: _Axes) -> list[Any]:
    """Return a thick upright line at each date asked about, and dots where it meets the curves."""
    asked = told.asked
    if asked.empty or told.until is None:
        return []
    data = asked.rename(columns={"date": "at"}).assign(chance=axes.top)
    lines = alt.Chart(data).mark_rule(color=INK, strokeWidth=3, opacity=0.8).encode(x=axes.x())
    words = alt.Chart(data).encode(x=axes.x(), y=axes.y(), text="words:N")
    halo = words.mark_text(color=PAPER, stroke=PAPER, strokeWidth=4, **_WORDS)
    return [lines, halo, words.mark_text(color=INK, fontWeight="bold", **_WORDS), *_met(told, axes)]


def _met(told: OverTime, axes: _Axes) -> list[Any]:
    """Dots on the curves at the dates asked about, with their chances."""
    curves = told.curve.dropna(subset="chance")
    parts = []
    for _, curve in curves.groupby("heading", sort=False):
        at = told.asked["date"].to_numpy().astype("datetime64[D]").astype(float)
        along = curve["date"].to_numpy().astype("datetime64[D]").astype(float)
        chance = np.interp(at, along, curve["chance"].to_numpy())
        parts += [
            {"at": date, "chance": one, "says": chance_text(one)}
            for date, one in zip(told.asked["date"], chance, strict=True)
        ]
    if not parts:
        return []
    dots = alt.Chart(pd.DataFrame(parts))
    dots = dots.mark_point(filled=True, size=110, color=INK, stroke=PAPER, opacity=1, clip=True)
    tip = [alt.Tooltip("says:N", title="chance then")]
    return [dots.encode(x=axes.x(), y=axes.y(), tooltip=tip)]
