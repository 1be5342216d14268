"""The lead's page: what is expected, so that nobody at the bench copies it."""

from __future__ import annotations

from typing import Any, Final

from trendwear.bench.expected import Expected
from trendwear.bench.inspection import Inspection
from trendwear.bench.position import Position
from trendwear.report.inspection.lengths import own_range, own_unit
from trendwear.report.rounding import NONE, chance_text

__all__ = ["COLUMNS", "lead_page"]

COLUMNS: Final = (
    ("no.", 8),
    ("position", 44),
    ("expected as found", 26),
    ("9 chances in 10 between", 42),
    ("look again below", 24),
    ("look again above", 24),
    ("chance past limit now", 28),
    ("plan", 18),
    ("open points", 60),
)
"""Headings and widths in mm."""

_COUNTS: Final = {
    "largest": "the largest one read",
    "smallest": "the smallest one read",
    "mean": "the mean of those read",
}


def lead_page(sheet: Inspection) -> dict[str, Any]:
    """Return the lead's page; no rows where the sheet is without the record."""
    rows = [
        _row(position, sheet.expected[position.name])
        for position in sheet.positions
        if position.name in sheet.expected
    ]
    return {"columns": [list(one) for one in COLUMNS], "rows": rows, "words": _words(sheet)}


def _row(position: Position, told: Expected) -> list[Any]:
    named = {"text": position.name, "strong": True}
    if len(position.places) > 1:
        named["more"] = _COUNTS[told.takes]
    points = "; ".join(told.open_points)
    if not told.told:
        return [str(position.number), named, NONE, NONE, NONE, NONE, *_judged(told, points)]
    return [
        str(position.number),
        named,
        {"text": own_unit(told.middle_mm, position), "strong": True},
        own_range(told.low_mm, told.high_mm, position),
        _odd(told.odd_below_mm, position),
        _odd(told.odd_above_mm, position),
        *_judged(told, points),
    ]


def _judged(told: Expected, points: str) -> list[str]:
    chances = [
        chance_text(chance) if len(told.past_now) == 1 else f"{chance_text(chance)} as it {way}"
        for way, chance in told.past_now
    ]
    return [", ".join(chances) or NONE, told.planned or NONE, points or NONE]


def _odd(mm: float, position: Position) -> str:
    """A gap below nothing cannot be read: there is no reading too small."""
    return own_unit(mm, position) if mm > 0 else NONE


def _words(sheet: Inspection) -> list[str]:
    planned = (
        f"Plan: what the plan recommends at {sheet.outage}."
        if sheet.outage
        else "Plan: none for this machine (accepted risks, outages or a forecast are missing)."
    )
    return [
        f"Readings to be expected on {sheet.as_of:%Y-%m-%d}, the error of measuring in them. "
        "Keep this page away from whoever measures: a reading that is known beforehand is soon "
        "found. Where several are read the one named counts; of more readings than before the "
        "largest lies a little higher.",
        "Look again: of good readings fewer than 1 in 1000 falls beyond. Measure anew, by another "
        "hand or gauge, before the part goes back; write down what was read, not what was "
        "expected.",
        f"{planned} Chances speak of steady wear by the clearance alone. Cracks, a loose bond or "
        "scoring decide before any of it.",
    ]
