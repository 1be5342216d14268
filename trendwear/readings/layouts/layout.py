"""One look of a sheet: which cell is the machine, the date, the hours, a position, a reading."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import Final

from trendwear.readings.layouts.wheres import Where
from trendwear.wording import fold

__all__ = ["Lines", "SheetLayout", "pattern_of"]

_HOLE: Final = re.compile(r"\{(\w+)\}|(\*)")
_HOLES: Final = {"date": r"[^\s,;]+", "run_hours": r"[~≈]?\s*[0-9](?:[0-9.,' ±+/-]*[0-9])?"}
"""What may stand in a hole of a pattern; in others anything but what parts two entries."""


@dataclass(frozen=True)
class Lines:
    """The rows or columns of readings: by number, or by the headings above them."""

    first: int = 0
    last: int | None = None
    """The last of them; None: as far as anything stands."""
    headings: tuple[str, ...] = ()


@dataclass(frozen=True)
class SheetLayout:
    """How a sheet of readings is laid out."""

    name: str
    tabs: tuple[str, ...]
    """Patterns of the names of the tabs that look so; ``*`` stands for anything."""
    positions: Where
    """The column or row of positions: its first cell, or the label before it."""
    values: Lines
    """Columns of readings, or rows where the positions stand across."""
    across: bool = False
    """Whether the positions stand in a row."""
    last_position: int | None = None
    """The last row (column) of positions; None: as far as anything stands."""
    given: Mapping[str, Where] = field(default_factory=dict)
    """Our column to where it is told."""
    always: Mapping[str, str] = field(default_factory=dict)
    """Our column to the text that holds for all readings."""
    tab_name: str | None = None
    """Pattern of the tab's name: ``{machine} {date}``."""
    texts: tuple[str, ...] = ()
    """Patterns of cells outside the table: ``Opened {date} at {run_hours} h``."""
    words: Mapping[str, str] = field(default_factory=dict)
    """What words of the sheet mean, folded: ``{"found": "as-found"}``."""
    skip: tuple[str, ...] = ()
    """Patterns of positions that are none: means, totals."""
    until: str | None = None
    """Pattern of the cell that ends the table."""
    blocks: str | None = None
    """Pattern of the cell with which each block of the sheet begins."""
    signs: Mapping[str, str] = field(default_factory=dict)
    """Cells and the text that stands in them on every sheet of this look."""

    def fits_name(self, tab: str) -> bool:
        """Return whether a tab of that name looks so."""
        return any(fnmatchcase(fold(tab), fold(pattern)) for pattern in self.tabs)

    @property
    def columns(self) -> tuple[str, ...]:
        """Our columns that the sheet tells, in no order."""
        patterns = (*((self.tab_name,) if self.tab_name else ()), *self.texts)
        holes = {name for text in patterns for name, _ in _HOLE.findall(text) if name}
        return tuple({*holes, *self.given, *self.always, "clearance", "value"})


def pattern_of(text: str) -> re.Pattern[str]:
    """Return what matches a text with holes such as ``{date}`` and ``*`` for anything.

    >>> pattern_of("Opened {date} at {run_hours} h").fullmatch("opened 2019 at 32000 h")["date"]
    '2019'
    """
    parts, end = [], 0
    for hole in _HOLE.finditer(text):
        parts.append(_literally(text[end : hole.start()]))
        name = hole[1]
        parts.append(f"(?P<{name}>{_HOLES.get(name, '[^:;|]+?')})" if name else ".*?")
        end = hole.end()
    parts.append(_literally(text[end:]))
    return re.compile(r"\s*" + "".join(parts) + r"\s*", re.IGNORECASE | re.DOTALL)


def _literally(text: str) -> str:
    return r"\s+".join(re.escape(part) for part in re.split(r"\s+", text))
