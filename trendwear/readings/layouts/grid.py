"""The cells of one sheet by their place, as they are shown, merged ones as one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Final

from trendwear.readings.cell_marks import Marks, Range
from trendwear.readings.cell_names import CellPlace
from trendwear.readings.marked_cells import shown_cells
from trendwear.readings.tabs import Tab
from trendwear.wording import fold

__all__ = ["Grid", "grid_of", "plain_label"]

_MOST_MERGED: Final = 10_000
"""A merged range of more cells than this is a background, no heading."""


@lru_cache(maxsize=65_536)
def plain_label(text: str) -> str:
    """Return a label as it compares: without its colon, in one spelling.

    >>> plain_label(" Hour  meter: ")
    'hour meter'
    """
    return fold(text.strip().rstrip(":=").strip())


@dataclass(frozen=True)
class Grid:
    """The cells of one sheet, or of a part of it."""

    cells: dict[CellPlace, str]
    """The text of each cell that is not blank, numbers as their format shows them."""
    marks: Marks

    def text(self, place: CellPlace) -> str:
        """Return the text of a cell; of a merged one what stands in its first cell."""
        return self.cells.get(self.first(place), "")

    def first(self, place: CellPlace) -> CellPlace:
        """Return the first cell of the merged range that the cell lies in, else the cell."""
        merged = self._merged.get(place)
        return (merged.top, merged.left) if merged else place

    def range_of(self, place: CellPlace) -> Range:
        """Return the merged range that the cell lies in, else the cell itself."""
        return self._merged.get(place) or Range(*place, *place)

    def labelled(self, label: str) -> list[CellPlace]:
        """Return the cells with that text, from the top."""
        wanted = plain_label(label)
        return [place for place, text in self.cells.items() if plain_label(text) == wanted]

    def between(self, top: int, bottom: int) -> Grid:
        """Return the rows from ``top`` to ``bottom``."""
        inside = {p: text for p, text in self.cells.items() if top <= p[0] <= bottom}
        return Grid(inside, self.marks)

    @cached_property
    def rows(self) -> tuple[int, int]:
        """The first and the last row that anything stands in; (1, 0) where nothing does."""
        numbers = [row for row, _ in self.cells]
        return (min(numbers), max(numbers)) if numbers else (1, 0)

    @cached_property
    def columns(self) -> tuple[int, int]:
        """The first and the last column that anything stands in; (0, -1) where nothing does."""
        numbers = [column for _, column in self.cells]
        return (min(numbers), max(numbers)) if numbers else (0, -1)

    @cached_property
    def _merged(self) -> dict[CellPlace, Range]:
        return {place: merged for merged in self.marks.merged for place in _places(merged)}


def grid_of(tab: Tab) -> Grid:
    """Return the cells of a workbook's sheet.

    Raises
    ------
    InputProblem
        The file breaks off.
    """
    layout = tab.layouts[0]
    marks = layout.marks or Marks()
    told: dict[int, list[int]] = {}
    for row, column in marks.shown:
        told.setdefault(row, []).append(column)
    cells = {}
    for row, texts in layout.rows():
        for column, text in enumerate(shown_cells(row, texts, told.get(row, ()), marks)):
            if text and not text.isspace():
                cells[row, column] = text
    return Grid(cells, marks)


def _places(merged: Range) -> Iterator[CellPlace]:
    width, height = merged.right - merged.left + 1, merged.bottom - merged.top + 1
    if width * height > _MOST_MERGED:
        return
    for row in range(merged.top, merged.bottom + 1):
        for column in range(merged.left, merged.right + 1):
            yield row, column
