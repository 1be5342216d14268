"""A deferral sheet cut to the room that two pages have; what is left out is counted and named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from trendwear.report.deferral.text import Listed, SheetText, Tabled

__all__ = ["LOW", "ROOMS", "TALL", "Room", "first_page", "more_words", "second_page", "shortened"]

Cell = str | dict[str, Any]


@dataclass(frozen=True)
class Room:
    """How much a page takes.

    Attributes
    ----------
    rows : int
        Of a table of clearances.
    lines : int
        Under one heading.
    words : int
        Characters of one text.
    chart_mm : float
        Height of the chart.
    blanks : int
        Lines left for the engineer.
    """

    rows: int
    lines: int
    words: int
    chart_mm: float
    blanks: int


TALL, LOW = "chances", "chances-low"
"""Two pictures of one chart: a narrow room takes the low one, so that its letters stay large."""
_LOW_MM = 55
_ALARM_LINES, _ALARM_WORDS = 3, 150
"""What stands out is never cut shorter than this."""
_ASKED_WORDS = 230

ROOMS: Final = (
    Room(rows=14, lines=8, words=400, chart_mm=78, blanks=5),
    Room(rows=10, lines=6, words=300, chart_mm=74, blanks=4),
    Room(rows=8, lines=5, words=240, chart_mm=70, blanks=4),
    Room(rows=6, lines=4, words=180, chart_mm=64, blanks=3),
    Room(rows=5, lines=3, words=140, chart_mm=58, blanks=3),
    Room(rows=4, lines=2, words=100, chart_mm=52, blanks=3),
    Room(rows=3, lines=2, words=70, chart_mm=46, blanks=2),
    Room(rows=3, lines=1, words=60, chart_mm=38, blanks=2),
    Room(rows=2, lines=1, words=50, chart_mm=34, blanks=2),
    Room(rows=1, lines=1, words=40, chart_mm=26, blanks=2),
)
"""From ample to narrow; a page is laid out in the first that fits it."""


def shortened(text: str, most: int) -> str:
    """Return ``text``, cut at a word where it is longer than ``most``.

    >>> shortened("a long note of a hand", 12), shortened("short", 12)
    ('a long note …', 'short')
    """
    if len(text) <= most:
        return text
    kept = text[: most + 1]
    head = kept.rsplit(" ", 1)[0] if " " in kept else kept[:most]
    return f"{head.rstrip(' ;,.:')} …"


def first_page(text: SheetText, room: Room) -> dict[str, Any]:
    """What stands on the first page: the question, what stands out, chances, clearances."""
    asked = max(room.words, _ASKED_WORDS)
    lines, words = max(room.lines, _ALARM_LINES), max(room.words, _ALARM_WORDS)
    return {
        "asked": [[term, shortened(says, asked)] for term, says in text.asked],
        "alarms": [_listed(alarm, lines, words) for alarm in text.alarms],
        "chances": _tabled(text.chances, len(text.chances.rows), room.words),
        "in_words": text.in_words,
        "clearances": _tabled(text.clearances, room.rows, room.words),
        "chart_mm": room.chart_mm,
        "chart": TALL if room.chart_mm > _LOW_MM else LOW,
    }


def second_page(text: SheetText, room: Room) -> dict[str, Any]:
    """What stands on the second page: what it rests on, what is missing, and the signatures."""
    return {
        "rests_on": _tabled(text.rests_on, room.rows, room.words),
        "reach": _listed(text.reach, 2, max(room.words, _ASKED_WORDS)),
        "record": _listed(text.record, len(text.record.lines), max(room.words, _ASKED_WORDS)),
        "events": _listed(text.events, room.lines, room.words),
        "parts": _tabled(text.parts, room.lines, room.words),
        "blanks": room.blanks,
    }


def _listed(listed: Listed, lines: int, words: int) -> dict[str, Any]:
    kept = listed.lines[:lines]
    told = [shortened(line, words) for line in kept]
    return {
        "heading": listed.heading,
        "lines": told,
        "more": more_words((len(listed.lines) - len(kept), 0), listed.see, cut=told != kept),
    }


def _tabled(tabled: Tabled, rows: int, words: int) -> dict[str, Any]:
    kept = tabled.rows[:rows]
    cells = [[_cell(cell, words) for cell in row] for row in kept]
    return {
        "heading": tabled.heading,
        "columns": tabled.columns,
        "rows": cells,
        "more": more_words(
            (len(tabled.rows) - len(kept), tabled.rest), tabled.see, cut=_texts(kept) != cells
        ),
    }


def _texts(rows: Sequence[Sequence[Cell]]) -> list[list[Cell]]:
    return [list(row) for row in rows]


def _cell(cell: Cell, words: int) -> Cell:
    if isinstance(cell, str):
        return shortened(cell, words)
    return {
        name: shortened(value, words) if isinstance(value, str) else value
        for name, value in cell.items()
    }


def more_words(left: tuple[int, int], see: str, *, cut: bool) -> str:
    """Say what there was no room for, and where it stands.

    Parameters
    ----------
    left : (int, int)
        Rows that there was no room for, and rows that add next to nothing to the chance.
    see : str
    cut : bool
        Whether texts were shortened.
    """
    said = []
    if left[0] > 0:
        said.append(f"and {left[0]} more")
    if left[1] > 0:
        said.append(f"and {left[1]} more with under 0.5 % of the chance")
    if not said:
        return f"texts that end in … stand whole in: {see}" if cut else ""
    return f"{', '.join(said)}, see: {see}"
