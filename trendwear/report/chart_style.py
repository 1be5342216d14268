"""How charts look: colours that colour-blind eyes tell apart, shapes that need no colour at all.

Colours: M. Okabe and K. Ito, *Color Universal Design* (2002, revised 2008).
"""

from __future__ import annotations

from typing import Any, Final

__all__ = [
    "AMBER",
    "BLUE",
    "BROWN",
    "GREEN",
    "GREY",
    "INK",
    "PAPER",
    "PURPLE",
    "RED",
    "SKY",
    "STATE_COLOURS",
    "STATE_SHAPES",
    "dressed",
]

INK: Final = "#1A1A1A"
PAPER: Final = "#FFFFFF"
GREY: Final = "#6B6B6B"
AMBER: Final = "#E69F00"
SKY: Final = "#56B4E9"
GREEN: Final = "#009E73"
BLUE: Final = "#0072B2"
RED: Final = "#D55E00"
PURPLE: Final = "#CC79A7"
BROWN: Final = "#8A5A00"
"""Amber made dark enough to be read as text on paper."""

STATE_SHAPES: Final = {
    "as-found": "circle",
    "as-left": "triangle-up",
    "check": "cross",
    "not stated": "square",
}
STATE_COLOURS: Final = {
    "as-found": INK,
    "as-left": GREEN,
    "check": BLUE,
    "not stated": GREY,
}

_FONT: Final = "'Source Sans', 'Source Sans 3', 'DejaVu Sans', sans-serif"


def dressed(chart: Any) -> Any:
    """Return ``chart`` with the fonts, grid and paper that all our charts share.

    The chart brings its own light paper, so that it reads the same on a dark page,
    on a light one and in print.
    """
    return (
        chart.properties(padding={"left": 12, "top": 12, "right": 16, "bottom": 12})
        .configure(background=PAPER, font=_FONT)
        .configure_view(stroke="#C9C9C9")
        .configure_axis(
            labelColor=INK,
            titleColor=INK,
            labelFontSize=12,
            titleFontSize=13,
            titleFontWeight="normal",
            gridColor="#EDEDED",
            domainColor=GREY,
            tickColor=GREY,
        )
        .configure_legend(
            labelColor=INK,
            titleColor=INK,
            labelFontSize=12,
            orient="bottom",
            direction="horizontal",
            symbolSize=110,
            labelLimit=260,
        )
    )
