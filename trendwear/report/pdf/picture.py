"""A chart as a picture that a document holds."""

from __future__ import annotations

import re
from functools import cache
from typing import Any, Final

from trendwear.report.pdf.document import FONTS

__all__ = ["picture"]

_PIXELS_PER_MM: Final = 4.6
"""So that an axis label of 12 pixels is as high as the text of a table."""

_NUMBERED: Final = re.compile(r"\b(clip|gradient_)(\d+)\b")


def picture(chart: Any, width_mm: float) -> bytes:
    """Return an altair chart as SVG, drawn to be printed ``width_mm`` wide.

    The labels are set in the documents' own font, narrow: whoever draws the picture on a
    page finds the letters that it was measured with.
    """
    from vl_convert import vegalite_to_svg

    _know_our_fonts()
    spec = chart.to_dict()
    spec["width"] = width_mm * _PIXELS_PER_MM
    spec["autosize"] = {"type": "fit-x", "contains": "padding"}
    spec["config"] = {**spec.get("config", {}), "font": "DejaVu Sans"}
    drawn: str = vegalite_to_svg(spec)
    narrow = drawn.replace("<svg ", '<svg font-stretch="condensed" ', 1)
    return _renumbered(narrow).encode()


@cache
def _know_our_fonts() -> None:
    from vl_convert import register_font_directory

    register_font_directory(str(FONTS))


def _renumbered(svg: str) -> str:
    """The same with its parts numbered from 1: the drawer counts on from chart to chart."""
    seen: dict[str, str] = {}
    return _NUMBERED.sub(lambda m: m[1] + seen.setdefault(m[0], str(len(seen) + 1)), svg)
