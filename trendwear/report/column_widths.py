"""How wide the columns of a table are drawn on a screen, so that words stay whole."""

from __future__ import annotations

import re
from typing import Final

import pandas as pd

__all__ = ["column_widths"]

_BETWEEN: Final = 3
"""Columns of text that the space around a cell takes."""
_COMFORT: Final = 12
"""So much beyond its longest word reads well; more goes to the column with the most to say."""
_AT_BLANKS: Final = re.compile(" ")
_AT_UNITS_TOO: Final = re.compile(r" (?!(?:mm|mil|um|µm|in|h|d|%)(?:[^a-z]|$))")
"""Blanks between words; one between a number and its unit parts nothing."""


def column_widths(frame: pd.DataFrame, room: int) -> list[int | None]:
    """Return how wide each column is drawn: room for its longest word, the rest by what it holds.

    None where all fits as it is, or where not even the words do: then they are broken.

    Parameters
    ----------
    frame : DataFrame
        Cells as text.
    room : int
        Columns of text that the table may take.
    """
    cells = [[str(name), *map(str, frame[name])] for name in frame.columns]
    whole = [max(map(len, column)) for column in cells]
    words = _longest(cells, _AT_UNITS_TOO)
    if room < _BETWEEN * len(cells) + sum(words):
        words = _longest(cells, _AT_BLANKS)
    left = room - _BETWEEN * len(cells) - sum(words)
    more = [all_ - word for word, all_ in zip(words, whole, strict=True)]
    if left < 0 or sum(more) <= left:
        return [None] * len(cells)
    share = [min(one, _COMFORT) for one in more]  # a long sentence does not starve the rest
    if sum(share) <= left:
        share[more.index(max(more))] += left - sum(share)
        left = sum(share)
    return [word + one * left // sum(share) for word, one in zip(words, share, strict=True)]


def _longest(cells: list[list[str]], parts: re.Pattern[str]) -> list[int]:
    return [max(len(word) for cell in column for word in parts.split(cell)) for column in cells]
