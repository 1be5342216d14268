"""Rows of a sheet as columns of text: blank rows left out, ragged ones refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from trendwear.readings.csv_text import swallowed_rows
from trendwear.readings.faults import Refusal
from trendwear.readings.header_row import HeaderRow, Row

__all__ = ["Shaped", "shaped"]


@dataclass(frozen=True)
class Shaped:
    """The rows that have the width of their headings."""

    numbers: np.ndarray
    """Row numbers as the file shows them."""
    columns: list[np.ndarray]
    """One array of text for each place under the headings."""
    refused: list[tuple[int, str, Refusal]]
    """Row number, the row as written, and why it cannot be read."""
    stray: bool
    """Whether a column without a heading holds anything."""


def shaped(rows: Sequence[Row], header: HeaderRow, separator: str | None) -> Shaped:
    """Bring rows below the headings into columns.

    Parameters
    ----------
    rows : sequence of (number, cells)
    header : HeaderRow
    separator : str or None
        What parts the cells of a CSV file; None where cells cannot slip.
    """
    numbers, kept, refused = [], [], []
    stray = False
    for number, cells in rows:
        if not any(cell and not cell.isspace() for cell in cells):
            continue
        why = _misshapen(cells, header, separator) if separator else None
        if why:
            refused.append((number, (separator or "").join(cells), why))
            continue
        stray = stray or any(cell.strip() for cell in cells[header.width :])
        cells = cells[: header.width]
        numbers.append(number)
        kept.append(cells + [""] * (header.width - len(cells)))
    columns = [np.array(column, dtype=object) for column in zip(*kept, strict=True)]
    if not columns:
        columns = [np.array([], dtype=object)] * header.width
    unheaded = set(range(header.width)) - set(header.headed)
    stray = stray or any(cell.strip() for place in unheaded for cell in columns[place])
    return Shaped(np.array(numbers, dtype="int64"), columns, refused, stray)


def _misshapen(cells: list[str], header: HeaderRow, separator: str) -> Refusal | None:
    if swallowed_rows(cells, separator):
        reason = "a quotation mark is not closed: the cell runs on over further rows"
        return Refusal(reason, 'close it, or write an inch sign twice within "…"')
    if len(cells) < header.width:
        reason = f"the row has {len(cells)} cells, the headings {header.width}"
        return Refusal(reason, "put the missing cells in, blank where there is nothing")
    if any(cell.strip() for cell in cells[header.cells :]):
        reason = f"the row has {len(cells)} cells, the headings {header.cells}"
        return Refusal(reason, f'put a cell that holds a "{separator}" in quotation marks')
    return None
