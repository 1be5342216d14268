"""What the program makes of a sheet that is no long table: a layout for a person to confirm.

Nothing that stands here is read into a store: it is shown, and written to a headings file.
Where two things are possible, it asks.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from trendwear.readings.cell_names import cell_name, column_of
from trendwear.readings.layouts.grid import Grid, grid_of
from trendwear.readings.layouts.layout import Lines, SheetLayout
from trendwear.readings.layouts.shapes import Shape, across_shape, down_shape, down_tops
from trendwear.readings.layouts.signs import TOTALS, label_of
from trendwear.readings.layouts.titles import Titles, titles_of
from trendwear.readings.layouts.wheres import Kind, Where
from trendwear.readings.tabs import Tab

__all__ = ["Proposal", "proposals"]

_SHORTEST: Final = 2
_LAST_WORD: Final = re.compile(r"[0-9A-Za-z]+$")


@dataclass(frozen=True)
class Proposal:
    """A layout that a sheet seems to have."""

    tabs: tuple[str, ...]
    layout: SheetLayout
    understood: tuple[str, ...]
    """What was taken for what, in words."""
    questions: tuple[str, ...]
    doubtful_words: dict[str, str] = field(default_factory=dict)
    """Words that may mean a state: only a person can say."""


def proposals(tabs: Sequence[Tab]) -> tuple[list[Proposal], list[str]]:
    """Return a proposal for each look among the sheets, and the tabs that none was found for."""
    found: list[Proposal] = []
    unknown = []
    for tab in tabs:
        grid = grid_of(tab)
        proposal = _proposal(grid, tab.name) if grid.cells else None
        if proposal is None:
            unknown.append(tab.name)
            continue
        for number, before in enumerate(found):
            if _same_look(before, proposal):
                names = (*before.tabs, tab.name)
                found[number] = replace(before, tabs=names)
                break
        else:
            found.append(proposal)
    return [_named(proposal, number) for number, proposal in enumerate(found, start=1)], unknown


def _same_look(one: Proposal, other: Proposal) -> bool:
    bare = [replace(each.layout, name="", tabs=()) for each in (one, other)]
    return bare[0] == bare[1] and one.questions == other.questions


def _named(proposal: Proposal, number: int) -> Proposal:
    common = _LAST_WORD.sub("", _common_start(proposal.tabs))
    several = len(proposal.tabs) > 1 and len(common.strip()) >= _SHORTEST
    tabs = (f"{common}*",) if several else proposal.tabs
    return replace(proposal, layout=replace(proposal.layout, name=f"look-{number}", tabs=tabs))


def _common_start(names: Sequence[str]) -> str:
    """Return the text with which all names begin."""
    first, last = min(names), max(names)
    alike = (n for n, (one, other) in enumerate(zip(first, last, strict=False)) if one != other)
    return first[: next(alike, min(len(first), len(last)))]


def _proposal(grid: Grid, tab: str) -> Proposal | None:
    tops = down_tops(grid)
    if tops:
        begins = _block_begins(grid, tops)
        if begins:
            rows = [row for row, _ in begins]
            block = grid.between(rows[0], rows[1] - 1)
            shape = down_shape(block, next(t for t in tops if t >= rows[0]))
            return _assembled(block, shape, tab, (rows[0], begins[0][1])) if shape else None
        shape = down_shape(grid, tops[0])
    else:
        shape = across_shape(grid)
    return _assembled(grid, shape, tab, (1, None)) if shape else None


def _block_begins(grid: Grid, tops: list[int]) -> list[tuple[int, str]]:
    """Return the rows in which blocks begin and the pattern of the cell that begins each."""
    if len(tops) < 2:
        return []
    by_label: dict[str, list[int]] = {}
    for (row, _), text in grid.cells.items():
        label, colon, behind = text.partition(":")
        if label_of(label) == "machine":
            pattern = f"{label.strip()}:*" if colon and behind.strip() else text.strip()
            by_label.setdefault(pattern, []).append(row)
    for pattern, rows in by_label.items():
        ends = [*sorted(rows)[1:], grid.rows[1] + 1]
        one_each = all(
            any(row < top < end for top in tops)
            for row, end in zip(sorted(rows), ends, strict=True)
        )
        if len(rows) > 1 and one_each:
            return [(row, pattern) for row in sorted(rows)]
    return []


def _assembled(grid: Grid, shape: Shape, tab: str, block: tuple[int, str | None]) -> Proposal:
    top, begins = block
    outside = _outside(grid, shape)
    titles = titles_of(outside, tab, set(shape.lines), top)
    given = dict(titles.given)
    for name, place in shape.lines.items():
        row = name in shape.in_rows
        given[name] = (
            Where(Kind.ROW, row=place[0] - top + 1) if row else Where(Kind.COLUMN, column=place[1])
        )
    positions, values, signs = _table_places(grid, shape, (top, begins))
    layout = SheetLayout(
        name="look",
        tabs=(tab,),
        positions=positions,
        values=values,
        across=shape.across,
        given=given,
        tab_name=titles.tab_name,
        texts=tuple(titles.texts),
        skip=_totals(grid, shape),
        blocks=begins,
        signs=signs,
    )
    questions = [*shape.questions, *titles.questions, *_missing(layout, titles)]
    understood = [*titles.told, *_table_told(grid, shape), *_block_told(begins)]
    return Proposal((tab,), layout, tuple(understood), tuple(questions), shape.words)


def _outside(grid: Grid, shape: Shape) -> Grid:
    """Return the cells that are no part of the table."""
    lines = {place[0] for name, place in shape.lines.items() if name in shape.in_rows}
    first = shape.start[0] if shape.across else min({shape.start[0], *lines})
    low = first if not shape.across else shape.start[0]
    beside = max(shape.values) if not shape.across else grid.columns[1]
    headed = {(shape.start[0], shape.start[1])}
    cells = {
        place: text
        for place, text in grid.cells.items()
        if place not in headed and (place[0] < low or (not shape.across and place[1] > beside + 1))
    }
    return Grid(cells, grid.marks)


def _table_places(
    grid: Grid, shape: Shape, block: tuple[int, str | None]
) -> tuple[Where, Lines, dict[str, str]]:
    top, begins = block
    start = Where(Kind.CELL, None, shape.start[0] - top + 1, shape.start[1])
    shift = top - 1 if shape.across else 0
    signs = {}
    if begins is None:
        state = shape.lines["state"]
        cells = [
            shape.heading,
            state if not shape.across else None,
            shape.start if shape.across else None,
        ]
        signs = {cell_name(*p): grid.text(p).strip() for p in cells if p and grid.text(p)}
    if shape.across:
        return start, Lines(shape.values[0] - shift), signs
    values = shape.values
    if len(values) == values[-1] - values[0] + 1:
        return start, Lines(values[0], values[-1]), signs
    row = shape.lines["state"][0]
    headings = dict.fromkeys(grid.text((row, column)).strip() for column in values)
    return start, Lines(headings=tuple(filter(None, headings))), signs


def _totals(grid: Grid, shape: Shape) -> tuple[str, ...]:
    if shape.across:
        labels = [text for (row, _), text in grid.cells.items() if row == shape.start[0]]
    else:
        labels = [
            text
            for (row, column), text in grid.cells.items()
            if column == shape.start[1] and row >= shape.start[0]
        ]
    return tuple(dict.fromkeys(text.strip() for text in labels if TOTALS.fullmatch(text.strip())))


def _missing(layout: SheetLayout, titles: Titles) -> list[str]:
    """Ask for what no cell seems to tell."""
    told = set(layout.columns)
    asked = []
    if "machine" not in told and not _asked("machine", titles):
        asked.append('Which machine is it? Write machine = "CELL" or always = { machine = "…" }.')
    if not told & {"date", "run_hours"} and not _asked("date", titles):
        asked.append('When was it opened? Write date = "CELL", or run_hours = "CELL".')
    if "state" not in told:
        asked.append('Was it as found or as left? Write always = { state = "as-found" }.')
    return asked


def _asked(column: str, titles: Titles) -> bool:
    return any(question.startswith(f"Which is the {column}:") for question in titles.questions)


def _table_told(grid: Grid, shape: Shape) -> list[str]:
    row, column = shape.start
    told = [
        f"positions: {'across' if shape.across else 'down'} from {cell_name(row, column)} "
        f"{grid.text(shape.start)!r}"
    ]
    if shape.across:
        told.append(f"readings: rows {shape.values[0]} to {shape.values[-1]} and on")
    else:
        ends = sorted({column_of(shape.values[0]), column_of(shape.values[-1])})
        told.append(f"readings: column {' to '.join(ends)}")
    for name, place in shape.lines.items():
        line = f"row {place[0]}" if name in shape.in_rows else f"column {column_of(place[1])}"
        told.append(f"{name}: {line} ({grid.text(place).strip()!r} …)")
    return told


def _block_told(begins: str | None) -> list[str]:
    return [f"blocks: each begins with a cell {begins!r}; rows count from there"] if begins else []
