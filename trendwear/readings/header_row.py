"""Where a sheet's headings stand, and which of our columns each of them means."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from trendwear.lengths import unit_named
from trendwear.readings.columns import ASIDES, Holds, Sheet
from trendwear.readings.faults import Refusal
from trendwear.readings.form import SHEETS
from trendwear.readings.headings import Headings
from trendwear.readings.temperature import scale_named
from trendwear.wording import fold

__all__ = ["HEAD_ROWS", "HeaderRow", "Row", "find_header", "headings_known", "sheet_by_headings"]

Row = tuple[int, list[str]]
"""A row as a file shows it: its 1-based number and the text of its cells."""

HEAD_ROWS: Final = 40
"""Headings stand in one of the first so many rows."""

_LIKENESS: Final = 0.75
"""How alike a heading and one of ours are, of 1, for it to be a likely slip of the pen."""

_UNITS: Final = {Holds.LENGTH: unit_named, Holds.TEMPERATURE: scale_named}
"""What may stand in brackets after a heading, by what its column holds."""

_WITH_UNIT: Final = re.compile(r"(.+?)\s*[\[(]([^\])]+)[\])]\s*")


@dataclass(frozen=True)
class HeaderRow:
    """The headings of one sheet."""

    sheet: Sheet
    row: int
    """Number of the row they stand in."""
    cells: int
    """Cells in that row."""
    width: int
    """Cells up to the last heading."""
    headed: tuple[int, ...]
    """Places that have a heading."""
    places: dict[str, int]
    """Our column to the place of its cells in a row."""
    units: dict[str, str]
    """Our column to the unit in its heading, as in ``value [mm]``."""
    unknown: tuple[str, ...]
    """Headings that mean no column of ours."""

    @property
    def unknown_hinted(self) -> tuple[str, ...]:
        """The unknown headings, each with the column that it may have been meant for."""
        free = {fold(name): name for name in self.sheet.names if name not in self.places}
        hinted = []
        for heading in self.unknown:
            with_unit = _WITH_UNIT.fullmatch(heading)
            plain = fold(with_unit[1] if with_unit else heading)
            alike = get_close_matches(plain, free, n=1, cutoff=_LIKENESS)
            hint = f" (did you mean {free[alike[0]]}? map it in a headings file)" if alike else ""
            hinted.append(heading + hint)
        return tuple(hinted)


@dataclass(frozen=True)
class Repeated(Refusal):
    """Every needed column is there, and one of them or another twice."""


def find_header(head: Sequence[Row], sheet: Sheet, headings: Headings) -> HeaderRow | Refusal:
    """Return the row of headings, or why the sheet cannot be read by its headings."""
    best = _best(head, sheet, headings)
    if best is None:
        wanted = ", ".join(sheet.needs)
        reason = f"no row with the headings of the sheet {sheet.name} is found ({wanted} …)"
        return Refusal(reason, f"write the headings in one of the first {HEAD_ROWS} rows")
    header = best.header(sheet)
    given = header.places.keys() | headings.fixed.get(sheet.name, {}).keys()
    if sheet.main_length in header.units:
        given |= {"unit"}
    missing = [name for name in sheet.needs if name not in given]
    if sheet.name == "readings" and not given & {"date", "run_hours"}:
        missing.append("date")
    if missing:
        reason = f"the sheet {sheet.name} has no column {', '.join(missing)}"
        seen = ", ".join(header.unknown_hinted[:12])
        instead = "add the column, or say in a headings file which heading means it"
        return Refusal(reason + (f"; not known are: {seen}" if seen else ""), instead)
    if best.twice:
        reason = f"several columns are headed as {', '.join(best.twice)}"
        return Repeated(reason, "keep one of them, or name the other one differently")
    return header


def headings_known(head: Sequence[Row], sheet: Sheet, headings: Headings) -> int:
    """Return how many headings of the sheet one row holds at most."""
    best = _best(head, sheet, headings)
    return best.named if best else 0


def sheet_by_headings(heads: Sequence[Sequence[Row]], headings: Headings) -> str | Repeated | None:
    """Return the one sheet whose headings stand in one of these first rows, or None.

    `Repeated` where they are those of `readings`, but for one that stands twice.

    `readings` where its needed columns are there; else the sheet whose needed
    columns are there and which knows every heading, where only one does.
    """
    fitting = set()
    repeated = None
    for sheet in SHEETS.values():
        for head in heads:
            header = find_header(head, sheet, headings)
            if isinstance(header, HeaderRow) and not (header.unknown and sheet.name != "readings"):
                fitting.add(sheet.name)
            elif isinstance(header, Repeated) and sheet.name == "readings":
                repeated = header
    if "readings" in fitting:
        return "readings"
    return repeated or (fitting.pop() if len(fitting) == 1 else None)


@dataclass(frozen=True)
class _Candidate:
    """A row that may hold the headings."""

    row: int
    cells: list[str]
    meant: list[tuple[str, str | None] | None]
    """For each cell our column and the unit in its heading."""

    @property
    def all_places(self) -> list[str]:
        return [found[0] for found in self.meant if found]

    @property
    def twice(self) -> list[str]:
        """Our columns that several headings mean, with those headings where spelt otherwise."""
        told = []
        for name, count in Counter(self.all_places).items():
            spelt = [
                cell.strip()
                for cell, found in zip(self.cells, self.meant, strict=True)
                if found and found[0] == name
            ]
            if count > 1:
                told.append(name if set(spelt) == {name} else f"{name} ({', '.join(spelt)})")
        return told

    @property
    def named(self) -> int:
        return len(set(self.all_places))

    def header(self, sheet: Sheet) -> HeaderRow:
        known = [(place, *found) for place, found in enumerate(self.meant) if found]
        headed = [place for place, cell in enumerate(self.cells) if cell.strip()]
        unmeant = (self.cells[p].strip() for p in headed if self.meant[p] is None)
        unknown = (heading for heading in unmeant if heading not in ASIDES)
        return HeaderRow(
            sheet,
            self.row,
            len(self.cells),
            headed[-1] + 1,
            tuple(headed),
            {column: place for place, column, _ in known},
            {column: unit for _, column, unit in known if unit},
            tuple(unknown),
        )


def _best(head: Sequence[Row], sheet: Sheet, headings: Headings) -> _Candidate | None:
    """Return the first of the rows with most headings of the sheet, or None."""
    best = None
    own = headings.columns.get(sheet.name, {})
    known = {fold(name): name for name in sheet.names}
    carried = {fold(column.name): column.name for column in sheet.also}
    meanings = {**carried, **known, **own}
    measured = {c.name: _UNITS[c.holds] for c in sheet.all_columns if c.holds in _UNITS}
    for row, cells in head:
        candidate = _Candidate(row, cells, [_meant(cell, meanings, measured) for cell in cells])
        filled = sum(1 for cell in cells if cell.strip())
        enough = candidate.named >= 2 or 0 < candidate.named == filled
        if enough and (best is None or candidate.named > best.named):
            best = candidate
    return best


def _meant(
    cell: str, meanings: dict[str, str], measured: Mapping[str, Callable[[str], str | None]]
) -> tuple[str, str | None] | None:
    heading = fold(cell)
    if heading in meanings:
        return meanings[heading], None
    found = _WITH_UNIT.fullmatch(cell.strip())
    if found:
        column = meanings.get(fold(found[1]), "")
        unit = measured[column](found[2]) if column in measured else None
        if unit:
            return column, unit
    return None
