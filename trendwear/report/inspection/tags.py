"""Tags to print, cut out and tie on, so that every part goes back where it came from."""

from __future__ import annotations

from typing import Any, Final

from trendwear.bench.inspection import Inspection
from trendwear.bench.position import Position
from trendwear.report.inspection.rows import where_text

__all__ = ["tags_of"]

_SEGMENTS: Final = 3
"""Of a ring in segments (common practice, no source); blank tags serve for more."""
_MOST: Final = 12
"""Tags of one position; of a part that sits there in greater number, blank ones serve."""
_BLANKS: Final = 3


def tags_of(sheet: Inspection) -> list[dict[str, Any]]:
    """Return the tags of a machine, and a few blank ones.

    One for each part of each position that has a part, one for each segment of a part in
    segments.
    """
    named = [tag for position in sheet.positions for tag in _of(position)]
    blank = {"number": "", "position": "", "where": "", "part": "", "segment": "", "piece": ""}
    return [*named, *[blank] * _BLANKS] if named else []


def _of(position: Position) -> list[dict[str, Any]]:
    part = position.part
    if part.name is None and part.number is None:
        return []
    segments = [str(one) for one in range(1, _SEGMENTS + 1)] if part.segmented else [""]
    pieces = [
        f"{one} of {part.quantity}" if part.quantity > 1 else ""
        for one in range(1, part.quantity + 1)
    ]
    tags = [
        {
            "number": str(position.number),
            "position": position.name,
            "where": where_text(position),
            "part": ", ".join(one for one in (part.name, part.number) if one),
            "segment": segment,
            "piece": piece,
        }
        for piece in pieces[:_MOST]
        for segment in segments
    ]
    return tags[:_MOST]
