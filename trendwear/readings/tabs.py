"""A sheet of a file as it stands there: rows of text with their numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice

from trendwear.errors import InputProblem
from trendwear.readings.cell_marks import Marks
from trendwear.readings.header_row import HEAD_ROWS, Row

__all__ = ["Layout", "Tab"]


@dataclass(frozen=True)
class Layout:
    """One way of parting a sheet into cells: the only one, except in a CSV file."""

    rows: Callable[[], Iterator[Row]]
    """Reads all rows, from the top each time it is called."""
    separator: str | None = None
    """What parts the cells of a CSV file."""
    marks: Marks | None = None
    """What a workbook says of its cells beside their values; None in other files."""

    def head(self) -> list[Row]:
        """Return the first rows."""
        return list(islice(self.rows(), HEAD_ROWS))


@dataclass(frozen=True)
class Tab:
    """A sheet of a workbook, or a file that holds one sheet."""

    name: str
    layouts: tuple[Layout, ...]
    remarks: tuple[str, ...] = ()
    """What deserves a look in how it was opened."""

    def heads(self) -> list[list[Row]]:
        """Return the first rows in each layout that can be read; none where all are blank."""
        heads = []
        for layout in self.layouts:
            with suppress(InputProblem):  # told where the tab is read
                heads.append(layout.head())
        filled = any(cell.strip() for head in heads for _, cells in head for cell in cells)
        return heads if filled else []
