"""Axes, colours, dashes and shapes of an overhaul chart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import altair as alt
import pandas as pd

from trendwear.report.chart_style import BLUE, BROWN, GREEN, PAPER, PURPLE, RED

if TYPE_CHECKING:
    from trendwear.planning.over_time import OverTime

__all__ = ["Axes", "along", "halo_text"]

_COLOURS: Final = (BLUE, RED, GREEN, PURPLE, BROWN)
_DASHES: Final = ([1, 0], [8, 4], [2, 3], [10, 3, 2, 3], [4, 2])
_SHAPES: Final = ("circle", "square", "triangle-up", "cross", "triangle-down")
_TICKS: Final = (0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0)
_LEAST_TOP: Final = 0.3


class Axes:
    """Axes, colours, dashes and shapes that all layers share."""

    def __init__(self, told: OverTime) -> None:
        self.by_date = told.until is not None
        self.start: Any = told.as_of if self.by_date else 0.0
        self.end: Any = told.until if self.by_date else told.until_hours
        highest = max(told.curve["chance"].max() * 1.05, told.marks["risk"].max() * 1.15)
        self.top = min(max(highest, _LEAST_TOP), 1.0)
        self.names = told.curve["heading"].drop_duplicates().tolist()
        self.many = len(self.names) > 1
        legend = alt.Legend(symbolStrokeWidth=0) if self.many else None
        count = range(len(self.names))
        self.colour = alt.Color(
            "heading:N",
            title=None,
            legend=legend,
            scale=_scale(self.names, [_COLOURS[n % len(_COLOURS)] for n in count]),
        )
        self.dash = alt.StrokeDash(
            "heading:N",
            title=None,
            legend=None,
            scale=_scale(self.names, [_DASHES[n % len(_DASHES)] for n in count]),
        )
        self.shape = alt.Shape(
            "heading:N",
            title=None,
            legend=legend,
            scale=_scale(self.names, [_SHAPES[n % len(_SHAPES)] for n in count]),
        )

    def x(self, field: str = "at") -> alt.X:
        """The horizontal axis: dates, else running hours from now."""
        kind = "T" if self.by_date else "Q"
        first = self.start - 0.02 * (self.end - self.start)
        domain = [_point(first), _point(self.end)]
        look = "%Y-%m" if self.by_date else ",.0f"
        return alt.X(
            f"{field}:{kind}",
            title=None if self.by_date else "running hours from now",
            scale=alt.Scale(domain=domain, nice=False),
            axis=alt.Axis(format=look, tickCount=9, labelOverlap=True, grid=False),
        )

    def y(self, field: str = "chance") -> alt.Y:
        """Chances, drawn out at the bottom, where accepted risks lie."""
        return alt.Y(
            f"{field}:Q",
            title="chance that a limit is passed",
            scale=alt.Scale(type="sqrt", domain=[0.0, self.top], nice=False),
            axis=alt.Axis(values=[tick for tick in _TICKS if tick <= self.top], format="~%"),
        )

    def right_of(self, at: Any) -> bool:
        """Whether a place lies in the right half: words beside it go to the left."""
        return bool((at - self.start) > 0.6 * (self.end - self.start))


def _scale(names: list[str], values: list[Any]) -> alt.Scale:
    return alt.Scale(domain=names, range=values)


def _point(at: Any) -> Any:
    if not isinstance(at, pd.Timestamp):
        return at
    return alt.DateTime(year=at.year, month=at.month, date=at.day)


def along(told: OverTime, table: pd.DataFrame) -> pd.Series:
    """Return where the rows of a table lie along the horizontal axis."""
    return table["date"] if told.until is not None else table["hours"]


def halo_text(data: pd.DataFrame, axes: Axes, look: dict[str, Any]) -> list[Any]:
    """Return text with a halo of paper, so that it reads over lines and bands."""
    base = alt.Chart(data[["at", "chance", "words"]])
    base = base.encode(x=axes.x(), y=axes.y(), text="words:N")
    shared = {"fontSize": 12, "limit": 420, **look}
    halo = {**shared, "color": PAPER, "stroke": PAPER, "strokeWidth": 4}
    return [base.mark_text(**halo), base.mark_text(**shared)]
