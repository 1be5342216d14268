"""From the typed cells of a sheet to the cells that are kept: units, dates, blanks."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.readings.form import Column, Holds, Sheet, Takes
from trendwear.store.ledger import Fault, Ledger
from trendwear.store.shelves import FACTS, PROVENANCE, Shelf

__all__ = ["complete", "in_mm", "kept", "length_units", "read_columns"]

_LAST_DAY: Final = ("to", "end", "until")
"""Register dates that end a span: a month or year there means its last day, elsewhere its first."""

_LENGTH_PARTS: Final = {
    "": "float64",
    "_unit": "object",
    "_lower": "float64",
    "_upper": "float64",
    "_half_width": "float64",
    "_step": "float64",
    "_side": "object",
    "_plus_minus": "object",
    "_written": "object",
}
_BLANK: Final = ("object", "float64", "datetime64[us]")
_DTYPE: Final = {
    Holds.NUMBER: "float64",
    Holds.COUNT: "float64",
    Holds.HOURS: "float64",
    Holds.DATE: "datetime64[us]",
}


def read_columns(column: Column) -> dict[str, str]:
    """Return the columns that hold one column's cells when read, and their dtypes."""
    if column.holds is Holds.LENGTH:
        basis = {"_basis": "object"} if column.takes is Takes.READING else {}
        return {column.name + part: dtype for part, dtype in (_LENGTH_PARTS | basis).items()}
    dtypes = {column.name: _DTYPE.get(column.holds, "object")}
    if column.holds is Holds.DATE:
        dtypes[f"{column.name}_spread_days"] = "float64"
    if column.holds is Holds.TEMPERATURE:
        return {column.name: "float64", f"{column.name}_unit": "object"}
    if column.holds is Holds.HOURS:
        dtypes[f"{column.name}_spread"] = "float64"
    return dtypes


def complete(rows: pd.DataFrame, sheet: Sheet) -> pd.DataFrame:
    """Return rows with every column the sheet may have; absent ones are blank.

    Texts are plain objects with None where empty, whatever the file format gave.
    """
    cells = {}
    blank = {dtype: pd.Series(None, rows.index, dtype="object").astype(dtype) for dtype in _BLANK}
    for column in sheet.all_columns:
        for name, dtype in read_columns(column).items():
            cell = rows[name] if name in rows else blank[dtype]
            cells[name] = _text(cell) if dtype == "object" else cell.astype(dtype)
    for name in (*PROVENANCE, "waiting"):
        cells[name] = rows[name] if name in rows else blank["float64"]
    return pd.DataFrame(cells, index=rows.index)


def _text(cells: pd.Series) -> pd.Series:
    """Return texts with None where empty: the same cells where they are that already."""
    texts = cells.astype("object")
    empty = set(map(type, texts.to_numpy()[texts.isna()]))
    return texts if empty <= {type(None)} else texts.where(texts.notna(), None)


def length_units(rows: pd.DataFrame, column: str, *others: pd.Series) -> pd.Series:
    """Return the unit of each length: its cell's, else the first of the others'."""
    unit = rows[f"{column}_unit"].astype("object")
    for other in others:
        unit = unit.where(unit.notna(), other.astype("object"))
    return unit


def in_mm(numbers: pd.Series, units: pd.Series) -> pd.Series:
    """Convert a column of numbers, each in its own unit."""
    return (numbers * units.map(MM_PER_UNIT).astype("float64")).round(12)


def kept(rows: pd.DataFrame, shelf: Shelf, ledger: Ledger) -> pd.DataFrame:
    """Return the rows as they are kept, without key; lengths that lack a unit are refused.

    `readings` have their own rules (`trendwear.store.reading_rows`).
    """
    units = {}
    for column in shelf.sheet.columns:
        if column.holds is Holds.LENGTH:
            units[column.name] = length_units(rows, column.name, rows["unit"])
            lost = rows[column.name].notna() & units[column.name].isna()
            rows = ledger.keep_good(rows, lost, no_unit(column.name))
    cells: dict[str, pd.Series] = {}
    for column in shelf.sheet.columns:
        cells |= _kept_cells(rows, column, units, shelf.sheet.name)
    keys = [f"{column}_key" for column in shelf.sheet.key]
    carried = [*PROVENANCE, *(key for key in keys if key in rows)]
    if "unit" in cells and units:
        unit = cells["unit"]
        for of_length in units.values():
            unit = unit.where(unit.notna(), of_length.reindex(rows.index))
        cells["unit"] = unit
    return pd.DataFrame({**cells, **{c: rows[c] for c in carried}}, index=rows.index)


def no_unit(column: str) -> Fault:
    """Return the fault of a length whose unit stands nowhere."""
    return Fault(
        column,
        "the number has no unit, in its cell, its row or the register",
        "Write the unit (mm, um, mil, in) beside the number or in the unit column",
    )


def _kept_cells(
    rows: pd.DataFrame, column: Column, units: dict[str, pd.Series], sheet: str
) -> dict[str, pd.Series]:
    name = column.name
    cell = rows[name]
    if column.holds is Holds.LENGTH:
        value = cell
        if name == "uncertainty":
            value = cell.where(~plus_minus(rows, name), cell / np.sqrt(3.0))
        return {f"{name}_mm": in_mm(value, units[name].reindex(rows.index))}
    if column.holds is Holds.HOURS:
        spread = rows[f"{name}_spread"].where(cell.notna())
        return {name: cell, "hours_spread": spread}
    if column.holds is not Holds.DATE:
        return {name: cell}
    spread = rows[f"{name}_spread_days"].fillna(0.0).where(cell.notna())
    if sheet in FACTS:
        return {name: cell, f"{name}_spread_days": spread}
    shift = pd.to_timedelta(spread.fillna(0.0), unit="D")
    day = cell + shift if name in _LAST_DAY else cell - shift
    return {name: day.where(spread == 0.0, day.dt.floor("D")).where(cell.notna())}


def plus_minus(rows: pd.DataFrame, column: str) -> pd.Series:
    """Whether a length was written as ± a half-width."""
    return rows[f"{column}_plus_minus"].map(lambda written: written is True or written == 1.0)
