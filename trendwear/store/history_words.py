"""What one stored row says, in the words and units of the sheet it came from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.store.limit_status import ACCEPTED, PROPOSED
from trendwear.store.shelves import PROVENANCE, shelf

__all__ = ["length", "place", "read_as", "says", "size_read", "told_apart", "was"]

_TAKEN: Final = ("method", "instrument", "surface", "temperature")
_APART: Final = ("part", "plane", "angle", "repeat", "opening")
_NOT_SAID: Final = ("machine", "clearance", "date", "by", "file", "unit", "unit_from", "written")
_PLAIN: Final = ("what", "action", "description")
"""Columns whose text says what it is."""

Row = Mapping[str, object]


def length(size_mm: object, unit: object) -> str:
    """Return a length in its own unit: ``7.5 mil``; nothing where there is none.

    >>> length(0.1905, "mil"), length(None, "mm")
    ('7.5 mil', '')
    """
    if not isinstance(size_mm, float) or math.isnan(size_mm):
        return ""
    own = str(unit) if isinstance(unit, str) else "mm"
    return f"{size_mm / MM_PER_UNIT[own]:.6g} {own}"


def read_as(row: Row, register_basis: object = None) -> str:
    """Return what a reading was read as: value, unit, basis, and the bounds of what was read."""
    own = row.get("basis")
    said = own if isinstance(own, str) else register_basis
    whose = "" if isinstance(own, str) or not isinstance(said, str) else " by the register"
    basis = f" {said}{whose}" if isinstance(said, str) else ""
    if row.get("worn_through") is True:
        return f"worn through{basis}: at least to its limit"
    unit = row["unit"]
    value = f"{length(row['value_mm'], unit)}{basis}"
    if row.get("at_least") is True:
        return f"at least {value}"
    lower, upper = row["lower_mm"], row["upper_mm"]
    if lower == upper:
        return value
    return f"{value}, {_between(lower, upper, unit)}"


def _between(lower: object, upper: object, unit: object) -> str:
    if isinstance(upper, float) and math.isinf(upper):
        return f"{length(lower, unit)} or more"
    if isinstance(lower, float) and math.isinf(lower):
        return f"{length(upper, unit)} or less"
    return f"between {length(lower, unit)} and {length(upper, unit)}"


def size_read(row: Row) -> str:
    """Return what a size was read as: ``4.002 in, at 22 °C, carbon steel``."""
    warm = row["temperature_c"]
    at = [f"at {warm:.3g} °C"] if isinstance(warm, float) and not math.isnan(warm) else []
    of = [str(row["material"])] if isinstance(row["material"], str) else []
    return ", ".join([length(row["value_mm"], row["unit"]), *at, *of])


def told_apart(row: Row) -> str:
    """Return the state of a reading or size, what tells it from others, how it was taken, notes."""
    parts = [str(row["state"])]
    parts += [f"{name} {row[name]}" for name in _APART if isinstance(row.get(name), str)]
    parts += [f"{row['run_hours']:,.0f} h"] if pd.notna(row["run_hours"]) else []
    parts += [str(row[name]) for name in _TAKEN if isinstance(row.get(name), str)]
    stated = length(row["stated_mm"], row["unit"])
    parts += [f"standard uncertainty {stated}"] if stated else []
    parts += [f"note: {row['note']}"] if isinstance(row["note"], str) else []
    return ", ".join(parts)


def says(row: Row, sheet: str) -> str:
    """Return all that a row of a sheet says beside its name and day: ``limit 12 mil, …``."""
    told = _cells(row, sheet)
    return ", ".join(
        text if column in _PLAIN else f"{_name(column)} {text}"
        for column, text in told.items()
        if text
    )


def was(former: Row, row: Row, sheet: str) -> str:
    """Return what a row changed in the version before it: ``limit was 12 mil``."""
    before, now = _cells(former, sheet), _cells(row, sheet)
    return ", ".join(
        f"{_name(column)} was {before[column] or 'blank'}"
        for column, text in now.items()
        if before[column] != text
    )


def _cells(row: Row, sheet: str) -> dict[str, str]:
    """Return what each column says, those of the limit first."""
    columns = [
        column
        for column in shelf(sheet).columns
        if column not in _NOT_SAID and not column.endswith(("_spread", "_spread_days"))
    ]
    columns.sort(key=lambda column: not column.startswith("limit"))
    told = {column: _cell(row.get(column), column, row) for column in columns}
    if told.get("limit_status") == ACCEPTED:  # as every limit that counts
        told["limit_status"] = ""
    if told.get("limit_status") == PROPOSED:
        told["limit_mm"] += " (proposed: counts as none)"
    return told


def _name(column: str) -> str:
    return column.removesuffix("_mm").replace("_", " ")


def _cell(cell: object, column: str, row: Row) -> str:
    if cell is None or cell is pd.NaT or cell is pd.NA or cell != cell:
        return ""
    if column.endswith("_mm"):
        return length(float(str(cell)), row.get("unit"))
    if isinstance(cell, pd.Timestamp):
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:,.6g}" if isinstance(cell, float) else str(cell)


def place(row: Row) -> dict[str, object]:
    """Return where a row was read."""
    return {name: row.get(name) for name in PROVENANCE if name != "sha256"}
