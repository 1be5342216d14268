"""Where something stands on a sheet: by its address, or by the label beside it.

====================  =====================================================
``B2``                that cell
``right of "Unit"``   the cell right of the one that says Unit
``below "Unit"``      the cell below it
``row 3``             the cell of that row above or below each reading
``row of "Date"``     the same, the row in which a cell says Date
``column E``          the cell of that column beside each reading
``column of "Note"``  the same, the column in which a cell says Note
====================  =====================================================

Behind a row or column ``carried on`` says that a blank cell repeats the one before it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from typing import Final

from trendwear.readings.cell_names import cell_name, column_number, column_of, place_named

__all__ = ["GRAMMAR", "Kind", "Where", "read_where"]

GRAMMAR: Final = (
    'a cell such as "B2", right of "LABEL", below "LABEL", row 3, row of "LABEL", column E or '
    'column of "LABEL"'
)
_LABELLED: Final = re.compile(r'(right of|below|row of|column of) "([^"]+)"( carried on)?', re.I)
_LINE: Final = re.compile(r"(?:row ([1-9][0-9]*)|column ([A-Za-z]{1,3}))( carried on)?", re.I)


class Kind(Enum):
    """How a place is told."""

    CELL = "cell"
    RIGHT = "right of"
    BELOW = "below"
    ROW = "row"
    COLUMN = "column"


_KINDS: Final = {
    "right of": Kind.RIGHT,
    "below": Kind.BELOW,
    "row of": Kind.ROW,
    "column of": Kind.COLUMN,
}


@dataclass(frozen=True)
class Where:
    """Where something stands."""

    kind: Kind
    label: str | None = None
    """The text of the cell beside it, or in its row or column."""
    row: int = 0
    column: int = 0
    carried: bool = False
    """Whether a blank cell repeats the one before it."""

    @property
    def for_all(self) -> bool:
        """Whether one cell tells it for all readings."""
        return self.kind in (Kind.CELL, Kind.RIGHT, Kind.BELOW)

    def __str__(self) -> str:
        """Return it as it is written."""
        behind = " carried on" if self.carried else ""
        if self.label is None:
            line = {Kind.ROW: f"row {self.row}", Kind.CELL: cell_name(self.row, self.column)}
            return line.get(self.kind, f"column {column_of(self.column)}") + behind
        word = f"{self.kind.value} of" if self.kind in (Kind.ROW, Kind.COLUMN) else self.kind.value
        return f'{word} "{self.label}"{behind}'


def read_where(text: str) -> Where | None:
    """Return where something stands; None where the text says no such thing.

    >>> str(read_where('right of "Unit"')), read_where("Row 3 carried on").carried
    ('right of "Unit"', True)
    """
    plain = " ".join(text.split())
    if found := _LABELLED.fullmatch(plain):
        kind = _KINDS[found[1].casefold()]
        return Where(kind, found[2], carried=bool(found[3]))
    if found := _LINE.fullmatch(plain):
        if found[1]:
            return Where(Kind.ROW, row=int(found[1]), carried=bool(found[3]))
        return Where(Kind.COLUMN, column=column_number(found[2]), carried=bool(found[3]))
    place = place_named(plain)
    return Where(Kind.CELL, None, *place) if place else None
