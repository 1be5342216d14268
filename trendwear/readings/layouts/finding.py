"""The cell that a layout means, on the sheet at hand."""

from __future__ import annotations

from trendwear.readings.cell_names import CellPlace, cell_name
from trendwear.readings.faults import Refusal
from trendwear.readings.layouts.grid import Grid
from trendwear.readings.layouts.wheres import Kind, Where

__all__ = ["found_at", "label_place"]


def found_at(where: Where, grid: Grid, top: int) -> CellPlace | Refusal:
    """Return the cell; of a row or column one cell in it.

    Parameters
    ----------
    where : Where
    grid : Grid
        The part of the sheet to look in.
    top : int
        Its first row: rows that are told by number count from there.
    """
    if where.label is None:
        return (where.row + top - 1, where.column)
    place = label_place(grid, where.label)
    if isinstance(place, Refusal) or where.kind in (Kind.ROW, Kind.COLUMN):
        return place
    beside = grid.range_of(place)
    if where.kind is Kind.RIGHT:
        return (place[0], beside.right + 1)
    return (beside.bottom + 1, place[1])


def label_place(grid: Grid, label: str) -> CellPlace | Refusal:
    """Return the one cell that says that."""
    places = grid.labelled(label)
    if len(places) == 1:
        return places[0]
    if not places:
        return Refusal(
            f"no cell says {label!r}: the sheet does not have this look",
            "correct the label in the sheet, or write a layout of its own for it",
        )
    names = ", ".join(cell_name(*place) for place in places[:5])
    return Refusal(
        f"several cells say {label!r}: {names}", "give the cell by its address, such as B2"
    )
