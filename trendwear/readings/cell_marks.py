"""What a workbook says of its cells beside their values: formats, merges, comments."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from trendwear.readings.cell_names import CellPlace, cell_name, column_of
from trendwear.readings.number_formats import Shown

__all__ = ["Marks", "Range", "mark_notes"]

_DOUBTING: Final = re.compile(
    r"\b(estimat\w*|approx\w*|about|guess\w*|assum\w*|not sure|unsure|doubt\w*|suspect\w*|wrong|"
    r"error|check|verify|calculated|typo|corrected|see note|tbc|tbd)\b|\?",
    re.IGNORECASE,
)
_NAMED: Final = 5


@dataclass(frozen=True)
class Range:
    """Cells from a first to a last row and column, both of them in it."""

    top: int
    left: int
    bottom: int
    right: int

    def holds(self, place: CellPlace) -> bool:
        """Return whether the cell lies in it."""
        return self.top <= place[0] <= self.bottom and self.left <= place[1] <= self.right

    def __str__(self) -> str:
        """Return it as a spreadsheet names it."""
        return f"{cell_name(self.top, self.left)}:{cell_name(self.bottom, self.right)}"


@dataclass(frozen=True)
class Marks:
    """What one sheet of a workbook says of its cells."""

    lacking: Mapping[CellPlace, str] = field(default_factory=dict)
    """What stands in cells that show an error or whose formula has no stored result."""
    merged: tuple[Range, ...] = ()
    shown: Mapping[CellPlace, Shown] = field(default_factory=dict)
    """What the format of a cell shows beside its number."""
    comments: Mapping[CellPlace, str] = field(default_factory=dict)
    hidden_rows: tuple[int, ...] = ()
    hidden_columns: tuple[int, ...] = ()
    hidden: bool = False
    """Whether the sheet itself is hidden."""
    typed: set[CellPlace] = field(default_factory=set)
    """Numbers such as 11.000 that were typed as text, as far as the rows have been read."""


def mark_notes(marks: Marks, about: str) -> Iterator[str]:
    """Yield what deserves a look in a sheet that is read: what is hidden, and its comments."""
    if marks.hidden:
        yield f"{about}: the sheet is hidden in the workbook, and was read"
    if marks.hidden_rows:
        yield f"{about}: hidden rows are read too: row {_listed(map(str, marks.hidden_rows))}"
    if marks.hidden_columns:
        letters = map(column_of, marks.hidden_columns)
        yield f"{about}: hidden columns are read too: column {_listed(letters)}"
    doubting = {p: text for p, text in marks.comments.items() if _DOUBTING.search(text)}
    if doubting:
        told = (f"{cell_name(*place)} {_short(text)!r}" for place, text in doubting.items())
        yield f"{about}: look again: comments that doubt their cell: {_listed(told)}"
    other = [cell_name(*place) for place in marks.comments if place not in doubting]
    if other:
        yield f"{about}: comments are not read: {_listed(other)}"


def _listed(names: Iterator[str] | list[str]) -> str:
    told = list(names)
    more = f" and {len(told) - _NAMED} more" if len(told) > _NAMED else ""
    return ", ".join(told[:_NAMED]) + more


def _short(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= 80 else plain[:80] + " …"
