"""Rows of a workbook in the light of what it says of their cells: formats, texts, names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd

from trendwear.readings.cell_marks import Marks
from trendwear.readings.cell_names import cell_name, column_of
from trendwear.readings.columns import Holds
from trendwear.readings.decimals import Decimal
from trendwear.readings.faults import Refusal
from trendwear.readings.header_row import HeaderRow, Row
from trendwear.readings.typed_rows import TypedRows

__all__ = [
    "as_numbers",
    "as_shown",
    "shown_cells",
    "typed_as_text",
    "unit_conflict",
    "with_cells",
    "without",
]

_COUNTED: Final = (Holds.NUMBER, Holds.COUNT, Holds.HOURS)
_TWO_WAYS: Final = re.compile(r"[1-9][0-9]{0,2}\.[0-9]{3}")
_LINES: Final = ("row", "column", "written", "reason", "instead")


def as_shown(rows: Sequence[Row], header: HeaderRow, marks: Marks) -> list[Row]:
    """Return rows whose lengths have beside them what the format of their cell shows."""
    places = [header.places[name] for name in _lengths(header)]
    told = {place for place in marks.shown if place[1] in places}
    if not told:
        return list(rows)
    return [
        (number, shown_cells(number, cells, [p for p in places if (number, p) in told], marks))
        for number, cells in rows
    ]


def as_numbers(rows: Sequence[Row], header: HeaderRow, marks: Marks) -> list[Row]:
    """Return rows in which a number of a cell is not mistaken for thousands.

    Where a headings file says that the comma is the decimal mark, that speaks of texts: the
    point of a number that the workbook keeps as a number is always its decimal point.
    """
    places = [place for place, _ in _counted(header)]
    read = []
    for number, cells in rows:
        for place in places:
            typed = place >= len(cells) or (number, place) in marks.typed
            if not typed and _TWO_WAYS.fullmatch(cells[place]):
                cells = [*cells[:place], f"{cells[place]}0", *cells[place + 1 :]]
        read.append((number, cells))
    return read


def shown_cells(row: int, cells: list[str], places: Sequence[int], marks: Marks) -> list[str]:
    """Return the cells of a row, those places as they are shown."""
    if not places:
        return cells
    cells = list(cells)
    for place in places:
        if place < len(cells) and _is_number(cells[place]):
            cells[place] = marks.shown[row, place].text(cells[place])
    return cells


def with_cells(part: TypedRows, header: HeaderRow) -> TypedRows:
    """Return the rows with the name of the cell that each was read from, and faults with theirs."""
    place = header.places.get(header.sheet.main_length or "")
    if place is None:
        place = next(p for name, p in header.places.items() if name in header.sheet.names)
    letters = column_of(place)
    good = part.good.assign(cell=[f"{letters}{row}" for row in part.good["row"]])
    cells: list[object] = [
        cell_name(int(str(row)), header.places[str(name)]) if name in header.places else None
        for row, name in zip(part.faults["row"], part.faults["column"], strict=True)
    ]
    return replace(part, good=good, faults={**part.faults, "cell": cells})


def without(part: TypedRows, header: HeaderRow, marks: Marks, stated: Decimal | None) -> TypedRows:
    """Refuse rows whose cells say one thing by their text or place and another by their format.

    ``stated`` is what a headings file says of the marks in numbers, None where it does not.
    """
    found = list(_conflicts(part.good, header, marks))
    if stated is None:
        found += _texts(part.good, header, marks)
    if not found:
        return part
    lines: list[tuple[object, ...]] = list(
        zip(*(part.faults[name] for name in _LINES), strict=True)
    )
    lines += [(row, column, text, why.reason, why.instead) for row, column, text, why in found]
    lines.sort(key=lambda line: int(str(line[0])))
    faults = {name: [line[place] for line in lines] for place, name in enumerate(_LINES)}
    bad = {row for row, *_ in found}
    return replace(part, good=part.good[~part.good["row"].isin(bad)], faults=faults)


def unit_conflict(shown: str, said: str) -> Refusal:
    """Return why a number is refused whose format shows another unit than its sheet says."""
    return Refusal(
        f"the cell's format shows {shown}, and the sheet says {said}",
        "write the one unit that was measured in, in one place",
    )


def typed_as_text(text: str) -> Refusal:
    """Return why a number that reads two ways and is text in its cell is refused."""
    plain = text.strip()
    return Refusal(
        "this is text in the cell and can be read two ways: the point may part thousands",
        f"type it as a number, {plain.replace('.', '')} or {float(plain):g}, "
        'or state [numbers] decimal = "point" or "comma" in a headings file',
    )


def _lengths(header: HeaderRow) -> Iterator[str]:
    for name in header.places:
        if header.sheet.column(name).holds is Holds.LENGTH:
            yield name


def _counted(header: HeaderRow) -> Iterator[tuple[int, str]]:
    for name, place in header.places.items():
        if header.sheet.column(name).holds in _COUNTED:
            yield place, name


def _conflicts(
    good: pd.DataFrame, header: HeaderRow, marks: Marks
) -> Iterator[tuple[int, str, str, Refusal]]:
    for name in _lengths(header):
        place = header.places[name]
        shown = {row: told.unit for (row, column), told in marks.shown.items() if column == place}
        if not any(shown.values()):
            continue
        unit = good["row"].map(shown)
        own = good[f"{name}_unit"] == unit  # a text in the cell names its own
        said = header.units.get(name) or good.get("unit")
        if said is None:
            continue
        said = pd.Series(said, good.index, dtype="object")
        for index in good.index[own & said.notna() & (said != unit)]:
            row = int(good.at[index, "row"])
            written = str(good.at[index, f"{name}_written"])
            yield row, name, written, unit_conflict(str(unit[index]), str(said[index]))


def _texts(
    good: pd.DataFrame, header: HeaderRow, marks: Marks
) -> Iterator[tuple[int, str, str, Refusal]]:
    if not marks.typed or good.empty:
        return
    counted = dict(_counted(header))
    numbers = dict(zip(good["row"].to_numpy(), np.arange(len(good)), strict=True))
    for row, column in sorted(marks.typed):
        if column in counted and row in numbers:
            name = counted[column]
            text = f"{good[name].iloc[numbers[row]]:.3f}"
            yield row, name, text, typed_as_text(text)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
