"""The deferral sheet on two pages of paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from trendwear.report.deferral import fixed
from trendwear.report.deferral.room import LOW, ROOMS, TALL, first_page, second_page, shortened
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
_TITLE_MOST: Final = 60
_NAME_MOST: Final = 24
_LINE_MOST: Final = 220


def deferral_pdf(told: Deferral, paper: Paper = Paper.A4) -> bytes:
    """Return the sheet as a PDF of two pages.

    Each page is laid out in the first of `trendwear.report.deferral.room.ROOMS` that fits it.
    """
    text = sheet_text(told)
    charts, read = _charts(told), ""
    if charts:
        read = how_to_read(told.over_time)
    data = _data(text) | {"chart": bool(charts), "how_to_read": read}
    data["not_drawn"] = shortened(not_drawn(told), _LINE_MOST)
    return document(_TEMPLATE, data, as_of=told.as_of.date(), charts=charts, paper=paper)


def _charts(told: Deferral) -> dict[str, bytes]:
    """The chart, tall and low; none where nothing can be forecast."""
    over_time = told.over_time
    due, windows = over_time.due, over_time.windows
    # Names that a small picture holds: they stand whole in the text.
    windows = windows.assign(outage=[shortened(name, _NAME_MOST) for name in windows["outage"]])
    named = [shortened(str(what or "due"), _NAME_MOST) for what in due["what"]]
    charts = {}
    for name, (height, what) in {TALL: (215, named), LOW: (110, "due")}.items():
        drawn = overhaul_chart(replace(over_time, windows=windows, due=due.assign(what=what)))
        if drawn is not None:
            charts[name] = picture(drawn.properties(height=height), _CHART_MM)
    return charts


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
