"""The table of one block: where its readings stand, and what stands beside each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from trendwear.lengths import unit_named
from trendwear.readings.cell_names import CellPlace
from trendwear.readings.faults import Refusal
from trendwear.readings.layouts.finding import found_at
from trendwear.readings.layouts.grid import Grid, plain_label
from trendwear.readings.layouts.layout import SheetLayout, pattern_of
from trendwear.readings.layouts.wheres import Kind

__all__ = ["BlockTable", "Line", "block_table", "without_unit"]

_UNIT_BEHIND: Final = re.compile(r"(.*?)\s*(?:[\[(]\s*([^\])]+?)\s*[\])]|,\s*([^,\s]+))\s*")
_MAY_CARRY_UNIT: Final = ("state", "clearance", "angle", "plane", "opening", "date")


@dataclass(frozen=True)
class Line:
    """A row or column that tells one thing for each reading."""

    column: str
    """Our column."""
    row: int | None
    """The row that tells it; None: a column does."""
    place: int | None
    carried: bool = False
    begin: int = 0
    """The first row (of a column) or column (of a row) from which a cell may be carried on."""

    def beside(self, grid: Grid, at: CellPlace) -> CellPlace:
        """Return the cell that tells it for the reading in that cell."""
        place = (self.row, at[1]) if self.row is not None else (at[0], self.place or 0)
        while self.carried and not grid.text(place):
            before = (place[0], place[1] - 1) if self.row is not None else (place[0] - 1, place[1])
            if (before[1] if self.row is not None else before[0]) < self.begin:
                break
            place = before
        return grid.first(place)

    def said(self, text: str) -> tuple[str, str | None]:
        """Return what the cell says, and the unit behind it where it is a heading with one."""
        if self.column == "unit" and self.row is not None:
            return without_unit(text)[1] or text, None
        if self.column not in _MAY_CARRY_UNIT:
            return text, None
        return without_unit(text)


@dataclass
class BlockTable:
    """Where the readings of a block stand."""

    rows: tuple[int, ...]
    columns: tuple[int, ...]
    lines: dict[str, Line]
    """Our column to the row or column that tells it for each reading."""
    used: set[CellPlace] = field(default_factory=set)
    repeated: list[int] = field(default_factory=list)
    skipped: list[CellPlace] = field(default_factory=list)

    def places(self, grid: Grid) -> Iterator[CellPlace]:
        """Yield the cells of readings, row by row; a merged one once."""
        for row in self.rows:
            for column in self.columns:
                if (row, column) in grid.cells:
                    yield row, column


def without_unit(text: str) -> tuple[str, str | None]:
    """Return a heading without the unit behind it, and that unit.

    >>> without_unit("As found (mils)"), without_unit("As left, mm"), without_unit("Brg (DE)")
    (('As found', 'mil'), ('As left', 'mm'), ('Brg (DE)', None))
    """
    found = _UNIT_BEHIND.fullmatch(text.strip())
    unit = unit_named(found[2] or found[3]) if found else None
    return (found[1], unit) if found and unit else (text, None)


def block_table(grid: Grid, top: int, layout: SheetLayout) -> BlockTable | Refusal:
    """Return the table of a block, or why it is not there.

    Parameters
    ----------
    grid : Grid
        The block.
    top : int
        Its first row: rows that the layout tells by number count from there.
    layout : SheetLayout
    """
    start = found_at(layout.positions, grid, top)
    if isinstance(start, Refusal):
        return start
    ends = _end(grid, start, layout, top)
    values = _value_lines(grid, start, layout, top)
    if isinstance(values, Refusal):
        return values
    own = tuple(range(start[1], ends + 1) if layout.across else range(start[0], ends + 1))
    rows, columns = (values, own) if layout.across else (own, values)
    lines = _lines(grid, (start, values), layout, top)
    if isinstance(lines, Refusal):
        return lines
    table = BlockTable(rows, columns, lines)
    if layout.positions.label:
        table.used.update(grid.labelled(layout.positions.label))
    _leave_out(grid, start, layout, table)
    return table


def _end(grid: Grid, start: CellPlace, layout: SheetLayout, top: int) -> int:
    """Return the last row (column) of positions."""
    if layout.last_position is not None:
        return layout.last_position + (0 if layout.across else top - 1)
    last = grid.columns[1] if layout.across else grid.rows[1]
    if layout.until is None or layout.across:
        return last
    ends = pattern_of(layout.until)
    stops = [p[0] for p, text in grid.cells.items() if p[0] > start[0] and ends.fullmatch(text)]
    return min(stops) - 1 if stops else last


def _value_lines(
    grid: Grid, start: CellPlace, layout: SheetLayout, top: int
) -> tuple[int, ...] | Refusal:
    """Return the columns (rows) in which readings stand."""
    values = layout.values
    if not values.headings:
        shift = top - 1 if layout.across else 0
        last = values.last + shift if values.last is not None else None
        if last is None:
            last = grid.rows[1] if layout.across else grid.columns[1]
        return tuple(range(values.first + shift, last + 1))
    found: set[int] = set()
    for heading in values.headings:
        wanted = plain_label(heading)
        places = [
            place
            for place, text in grid.cells.items()
            if wanted in (plain_label(text), plain_label(without_unit(text)[0]))
            and (place[1] < start[1] if layout.across else place[0] < start[0])
        ]
        if not places:
            return Refusal(
                f"no heading says {heading!r}: the sheet does not have this look",
                "correct the heading, or write a layout of its own for the sheet",
            )
        for place in places:
            merged = grid.range_of(place)
            span = (merged.top, merged.bottom) if layout.across else (merged.left, merged.right)
            found |= set(range(span[0], span[1] + 1))
    return tuple(sorted(found))


def _lines(
    grid: Grid, begin: tuple[CellPlace, tuple[int, ...]], layout: SheetLayout, top: int
) -> dict[str, Line] | Refusal:
    (row, column), values = begin
    first_row, first_column = row, min(values, default=0)
    if layout.across:
        first_row, first_column = min(values, default=0), column
    carried = layout.positions.carried
    lines = {
        "clearance": Line("clearance", row, None, carried, first_column)
        if layout.across
        else Line("clearance", None, column, carried, first_row)
    }
    for name, where in layout.given.items():
        if where.for_all:
            continue
        place = found_at(where, grid, top)
        if isinstance(place, Refusal):
            return place
        if where.kind is Kind.ROW:
            lines[name] = Line(name, place[0], None, where.carried, first_column)
        else:
            lines[name] = Line(name, None, place[1], where.carried, first_row)
    return lines


def _leave_out(grid: Grid, start: CellPlace, layout: SheetLayout, table: BlockTable) -> None:
    """Drop rows that repeat the headings, and those that the layout says are no positions."""
    skips = [pattern_of(pattern) for pattern in layout.skip]
    kept = []
    for number in table.columns if layout.across else table.rows:
        label = (start[0], number) if layout.across else (number, start[1])
        text = grid.text(label).strip()
        if text and any(skip.fullmatch(text) for skip in skips):
            table.skipped.append(grid.first(label))
            table.used |= {p for p in grid.cells if p[1 if layout.across else 0] == number}
        elif not layout.across and _repeats(grid, number, start, table.columns):
            table.repeated.append(number)
            table.used |= {p for p in grid.cells if p[0] == number}
        else:
            kept.append(number)
    if layout.across:
        table.columns = tuple(kept)
    else:
        table.rows = tuple(kept)
    _use_headings(grid, table)


def _repeats(grid: Grid, row: int, start: CellPlace, columns: tuple[int, ...]) -> bool:
    """Whether each filled cell of a row says what a heading above its column says."""
    filled = [column for column in (start[1], *columns) if (row, column) in grid.cells]
    if not filled or filled[0] != start[1]:
        return False
    return all(
        any(
            plain_label(grid.text((above, column))) == plain_label(grid.text((row, column)))
            for above in range(grid.rows[0], start[0])
        )
        for column in filled
    )


def _use_headings(grid: Grid, table: BlockTable) -> None:
    """Count as understood the headings that stand in lines which tell something."""
    first_row, first_column = min(table.rows, default=0), min(table.columns, default=0)
    above: dict[int, CellPlace] = {}
    left: dict[int, CellPlace] = {}
    for place in grid.cells:  # from the top: the last one is the nearest
        if place[0] < first_row:
            above[place[1]] = place
        if place[1] < first_column:
            left[place[0]] = place
    told = {line.place for line in table.lines.values() if line.row is None}
    rows = {line.row for line in table.lines.values() if line.row is not None}
    table.used.update(place for column, place in above.items() if column in told)
    table.used.update(place for column, place in above.items() if column in table.columns)
    table.used.update(place for row, place in left.items() if row in rows)
