"""The deferral sheet on two pages of paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from trendwear.report.deferral import fixed
from trendwear.report.deferral.room import ROOMS, first_page, second_page, shortened
from trendwear.report.deferral.said import not_drawn
from trendwear.report.deferral.text import SheetText, sheet_text
from trendwear.report.overhaul.charts import how_to_read, overhaul_chart
from trendwear.report.pdf.document import document
from trendwear.report.pdf.paper import Paper
from trendwear.report.pdf.picture import picture

if TYPE_CHECKING:
    from trendwear.planning.deferral import Deferral

__all__ = ["deferral_pdf"]

_TEMPLATE: Final = Path(__file__).with_name("sheet.typ")
_CHART_MM: Final = 186
_CHART_PIXELS: Final = 215
_TITLE_MOST: Final = 60
_LINE_MOST: Final = 220


def deferral_pdf(told: Deferral, paper: Paper = Paper.A4) -> bytes:
    """Return the sheet as a PDF of two pages.

    Each page is laid out in the first of `trendwear.report.deferral.room.ROOMS` that fits it.
    """
    text = sheet_text(told)
    drawn = overhaul_chart(told.over_time)
    charts, read = {}, ""
    if drawn is not None:
        charts["chances"] = picture(drawn.properties(height=_CHART_PIXELS), _CHART_MM)
        read = how_to_read(told.over_time)
    data = _data(text) | {"chart": bool(charts), "how_to_read": read}
    data["not_drawn"] = shortened(not_drawn(told), _LINE_MOST)
    return document(_TEMPLATE, data, as_of=told.as_of.date(), charts=charts, paper=paper)


def _data(text: SheetText) -> dict[str, Any]:
    return {
        "title": shortened(text.title, _TITLE_MOST),
        "subtitle": text.subtitle,
        "first": [first_page(text, room) for room in ROOMS],
        "second": [second_page(text, room) for room in ROOMS],
        "foot": fixed.FOOT,
        "no_advice": fixed.NO_ADVICE,
        "cannot_tell": ", ".join(fixed.CANNOT_TELL),
        "could_ask": ", ".join(fixed.COULD_BE_ASKED_FOR),
        "practice": fixed.COMMON_PRACTICE,
        "meanwhile": list(fixed.MEANWHILE),
        "decision": list(fixed.DECISION),
        "signed_by": list(fixed.SIGNED_BY),
        "signing": list(fixed.SIGNING),
    }
