"""Where the table of readings seems to stand on a sheet."""

from __future__ import annotations

from dataclasses import dataclass, field

from trendwear.readings.cell_names import CellPlace, cell_name, column_of
from trendwear.readings.layouts.grid import Grid, plain_label
from trendwear.readings.layouts.signs import (
    is_angle,
    is_date,
    is_hours,
    is_number,
    label_of,
    maybe_state,
    state_named,
)
from trendwear.readings.value_words import word_known, work_named, worn_through

__all__ = ["Shape", "across_shape", "down_shape", "down_tops"]


@dataclass
class Shape:
    """A table of readings as it seems to be."""

    start: CellPlace
    """The first cell of a position."""
    values: tuple[int, ...]
    """Columns (rows) of readings."""
    lines: dict[str, CellPlace] = field(default_factory=dict)
    """Our column to a cell of the row (column) that tells it."""
    in_rows: set[str] = field(default_factory=set)
    """Those of ``lines`` that a row tells."""
    across: bool = False
    heading: CellPlace | None = None
    """The heading of the positions."""
    words: dict[str, str] = field(default_factory=dict)
    questions: list[str] = field(default_factory=list)


def down_tops(grid: Grid) -> list[int]:
    """Return the rows that name states above readings, repeated ones too."""
    tops = []
    by_row: dict[int, list[CellPlace]] = {}
    for place in grid.cells:
        by_row.setdefault(place[0], []).append(place)
    for row, places in sorted(by_row.items()):
        states = [p for p in places if _any_state(grid.cells[p])]
        if states and any(_reading_below(grid, place) for place in states):
            tops.append(row)
    return tops


def down_shape(grid: Grid, row: int) -> Shape | None:
    """Return the table whose states stand in that row, positions down its side."""
    states = [place for place in grid.cells if place[0] == row and _any_state(grid.cells[place])]
    columns: list[int] = []
    for place in states:
        merged = grid.range_of(place)
        columns.extend(range(merged.left, merged.right + 1))
    below = grid.between(row + 1, grid.rows[1])
    filled = [
        r for r in range(row + 1, grid.rows[1] + 1) if any((r, c) in below.cells for c in columns)
    ]
    filled = [r for r in filled if any(is_number(below.cells.get((r, c), "")) for c in columns)]
    sides = sorted({c for (r, c) in below.cells if r in filled and c < min(columns)})
    named = [c for c in sides if _heading(grid, row, c, filled, "clearance")]
    texts = [c for c in sides if not all(is_number(below.text((r, c))) for r in filled)]
    side = named[0] if len(named) == 1 else texts[0] if len(texts) == 1 else None
    if not filled or not texts:
        return None
    shape = Shape((filled[0], side if side is not None else texts[0]), tuple(sorted(columns)))
    if side is None:
        letters = ", ".join(column_of(c) for c in texts)
        shape.questions.append(
            f"Which column holds the positions: {letters}? Column {column_of(texts[0])} is "
            "written down; correct positions = where it is another."
        )
    shape.start = (filled[0], shape.start[1])
    shape.lines["state"], shape.in_rows = (row, min(columns)), {"state"}
    heading = _heading(grid, row, shape.start[1], filled, "clearance")
    shape.heading = heading or _above(grid, shape.start, row)
    _doubtful_words(grid, states, shape)
    _side_columns(grid, row, shape)
    _rows_above(grid, row, shape)
    _further_tables(grid, row, shape)
    return shape


def across_shape(grid: Grid) -> Shape | None:
    """Return the table whose states stand in a column, positions across its top."""
    by_column: dict[int, list[CellPlace]] = {}
    for place, text in grid.cells.items():
        if _any_state(text):
            by_column.setdefault(place[1], []).append(place)
    if not by_column:
        return None
    column, states = max(by_column.items(), key=lambda one: len(one[1]))
    first = min(row for row, _ in states)
    rows = sorted(row for row, _ in states)
    right = [
        c
        for c in range(column + 1, grid.columns[1] + 1)
        if any(is_number(grid.cells.get((r, c), "")) for r in rows)
    ]
    tops = [r for r in range(grid.rows[0], first) if right and grid.cells.get((r, right[0]))]
    if not right or not tops:
        return None
    top = tops[-1]
    shape = Shape((top, right[0]), tuple(rows), across=True)
    shape.lines["state"] = (first, column)
    _doubtful_words(grid, states, shape)
    for beside in range(grid.columns[0], right[0]):
        if beside != column:
            _beside_openings(grid, beside, shape)
    for name, cell in shape.lines.items():
        if any(not grid.text((r, cell[1])) for r in rows):
            shape.questions.append(_carried_question(name, f"column {column_of(cell[1])}"))
    return shape


def _beside_openings(grid: Grid, column: int, shape: Shape) -> None:
    """Take a column beside openings: its date, its hours."""
    texts = [grid.text((row, column)) for row in shape.values if grid.text((row, column))]
    if not texts:
        return
    name = label_of(grid.text((shape.start[0], column)))
    if name is None and all(is_date(text) for text in texts):
        name = "date"
    if name in (None, "clearance"):
        shape.questions.append(f"What does column {column_of(column)} hold? It is not read.")
    elif name not in shape.lines:
        shape.lines[name] = (shape.values[0], column)


def _any_state(text: str) -> bool:
    return state_named(text) is not None or maybe_state(text) is not None


def _reading_below(grid: Grid, place: CellPlace) -> bool:
    """Whether one of the next few filled cells below begins as a reading does."""
    below = (grid.cells.get((row, place[1])) for row in range(place[0] + 1, place[0] + 12))
    texts = [text for text in below if text][:4]
    return any(is_number(text) for text in texts)


def _above(grid: Grid, start: CellPlace, row: int) -> CellPlace | None:
    for above in range(start[0] - 1, max(grid.rows[0], row - 2) - 1, -1):
        place = grid.first((above, start[1]))
        if place in grid.cells:
            return place
    return None


def _heading(grid: Grid, row: int, column: int, filled: list[int], wanted: str) -> CellPlace | None:
    """Return the heading of a column that names that, in the row of states or near above."""
    for near in range(min(filled, default=row + 1) - 1, max(grid.rows[0], row - 4) - 1, -1):
        place = grid.first((near, column))
        if label_of(grid.cells.get(place, "")) == wanted:
            return place
    return None


def _doubtful_words(grid: Grid, states: list[CellPlace], shape: Shape) -> None:
    for place in states:
        text = grid.cells[place]
        maybe = maybe_state(text)
        if state_named(text) is None and maybe and plain_label(text) not in shape.words:
            shape.words[plain_label(text)] = maybe
            shape.questions.append(
                f"Does {text.strip()!r} in {cell_name(*place)} mean {maybe}? If so, take the # "
                "before words = away."
            )


def _side_columns(grid: Grid, row: int, shape: Shape) -> None:
    """Take columns beside the readings whose heading is known: unit, angle, remarks."""
    for column in range(grid.columns[0], grid.columns[1] + 1):
        if column in shape.values or column == shape.start[1]:
            continue
        for name in ("note", "unit", "plane", "angle", "method", "by", "instrument", "machine"):
            found = _heading(grid, row, column, [shape.start[0]], name)
            if found and found[0] >= row - 1 and name not in shape.lines:
                unit = name == "machine" and plain_label(grid.cells[found]) == "unit"
                shape.lines["unit" if unit else name] = (shape.start[0], column)


def _rows_above(grid: Grid, row: int, shape: Shape) -> None:
    """Take rows above the states that tell something for each column: dates, hours, angles."""
    last = shape.start[0]
    for above in [r for r in range(grid.rows[0], last) if r != row]:
        texts = [grid.text((above, c)) for c in shape.values]
        own = {grid.first((above, c)) for c in shape.values if grid.text((above, c))}
        if not own or any(place[1] < min(shape.values) for place in own):
            continue  # a title across the sheet
        labelled = any(label_of(side) for side in _sides(grid, above, shape))
        if len(own) == 1 and (labelled or not all(texts)):
            continue  # one cell beside its label, not one above each reading
        name = _told_by(grid, above, [text for text in texts if text], shape)
        if name is None:
            continue
        shape.lines[name] = (above, min(shape.values))
        shape.in_rows.add(name)
        if not all(texts):
            shape.questions.append(_carried_question(name, f"row {above}"))


def _told_by(grid: Grid, row: int, texts: list[str], shape: Shape) -> str | None:
    sides = _sides(grid, row, shape)
    label = next((label_of(side) for side in reversed(sides) if label_of(side)), None)
    if label in ("date", "run_hours", "opening", "angle", "plane", "starts", "unit", "by"):
        return label if label not in shape.lines else None
    if all(is_date(text) for text in texts) and "date" not in shape.lines:
        return "date"
    if all(is_angle(text) for text in texts) and "angle" not in shape.lines:
        return "angle"
    if all(is_hours(text) for text in texts) and len(texts) >= 1:
        shape.questions.append(
            f"Row {row} holds {texts[0]!r}: are these running hours? If so, write "
            f'run_hours = "row {row}".'
        )
    elif len(texts) > 1:
        shape.questions.append(f"What does row {row} hold ({texts[0]!r} …)? It is not read.")
    return None


def _sides(grid: Grid, row: int, shape: Shape) -> list[str]:
    """Return what stands left of the readings in that row."""
    return [grid.cells.get((row, c), "") for c in range(grid.columns[0], min(shape.values))]


def _further_tables(grid: Grid, row: int, shape: Shape) -> None:
    """Ask about rows below that look like the headings of another table."""
    for below in range(shape.start[0], grid.rows[1] + 1):
        label = grid.cells.get((below, shape.start[1]), "")
        texts = [grid.cells[below, c] for c in shape.values if (below, c) in grid.cells]
        again = label and plain_label(label) == plain_label(grid.text((row, shape.start[1])))
        odd = [text for text in texts if not is_number(text) and not _word(text)]
        if label and not again and texts and odd == texts:
            name = cell_name(below, shape.start[1])
            shape.questions.append(
                f"Does the table end before {name} {label.strip()!r} (beside it {odd[0]!r})? "
                f'If so, write until = "{label.strip()}".'
            )


def _word(text: str) -> bool:
    plain = text.strip()
    known = word_known(plain) or work_named(plain) is not None or worn_through(plain)
    return known or state_named(plain) is not None or plain[:1] in "#="


def _carried_question(name: str, line: str) -> str:
    return (
        f"Some cells of {line} ({name}) are blank: does a blank one repeat the one before it? If "
        f'so, write {name} = "{line} carried on"; as it is, readings beside blanks are refused.'
    )
