"""How each sheet is kept: its columns in the store and how two cells of one compare."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

import pandas as pd

from trendwear.readings.form import SHEETS, Holds, Sheet

__all__ = ["FACTS", "PROVENANCE", "REGISTERS", "How", "Shelf", "as_stored", "shelf"]

PROVENANCE: Final = ("file", "sheet", "row", "cell", "sha256")
"""Where a row was read."""

REGISTERS: Final = (
    "names",
    "machines",
    "clearances",
    "parts",
    "methods",
    "families",
    "outages",
    "risks",
    "due_dates",
    "duty_plan",
    "concessions",
    "materials",
    "dimensions",
)
"""Sheets whose rows may be replaced, in the order in which they are taken in."""

FACTS: Final = ("readings", "work", "events", "run_log")
"""Sheets that say what was seen and done: never changed by a load."""


class How(Enum):
    """What a stored column holds, and so how two cells of it compare."""

    NAME = "text compared as a name"
    TEXT = "text compared as written"
    NUMBER = "number"
    DATE = "date"
    FLAG = "yes or no"


@dataclass(frozen=True)
class Shelf:
    """How one sheet is kept."""

    sheet: Sheet
    columns: dict[str, How]
    """The stored columns, without keys and provenance."""
    compared: tuple[str, ...]
    """The columns in which a second row of the same key may not differ."""


_SIMPLE: Final = {
    Holds.TEXT: How.TEXT,
    Holds.NAME: How.NAME,
    Holds.WORD: How.NAME,
    Holds.UNIT: How.NAME,
    Holds.NUMBER: How.NUMBER,
    Holds.TEMPERATURE: How.NUMBER,
    Holds.COUNT: How.NUMBER,
    Holds.YES_NO: How.FLAG,
    Holds.DATE: How.DATE,
}

_READ: Final = {
    "value_mm": How.NUMBER,
    "lower_mm": How.NUMBER,
    "upper_mm": How.NUMBER,
    "at_least": How.FLAG,
    "worn_through": How.FLAG,
    "half_width_mm": How.NUMBER,
    "stated_mm": How.NUMBER,
    "step_mm": How.NUMBER,
    "unit_from": How.TEXT,
    "written": How.TEXT,
}
_MEASURED: Final = {
    "date_spread_days": How.NUMBER,
    "stated_mm": How.NUMBER,
    "step_mm": How.NUMBER,
    "temperature_c": How.NUMBER,
    "temperature_written": How.TEXT,
    "written": How.TEXT,
}
_NOT_COMPARED: Final = (
    "unit",
    "unit_from",
    "step_mm",
    "written",
)  # of one value, written otherwise


def _columns_of(sheet: Sheet) -> dict[str, How]:
    kept: dict[str, How] = {}
    for column in sheet.columns:
        if column.holds is Holds.LENGTH:
            kept[f"{column.name}_mm"] = How.NUMBER
        elif column.holds is Holds.HOURS:
            kept |= {column.name: How.NUMBER, "hours_spread": How.NUMBER}
        else:
            kept[column.name] = _SIMPLE[column.holds]
        if column.holds is Holds.DATE and sheet.name in FACTS:
            kept[f"{column.name}_spread_days"] = How.NUMBER
    if sheet.name == "readings":
        kept.pop("uncertainty_mm")
        kept |= _READ
    if sheet.name == "dimensions":
        written_as = ("uncertainty_mm", "temperature")
        kept = {name: how for name, how in kept.items() if name not in written_as} | _MEASURED
    return kept


def shelf(name: str) -> Shelf:
    """Return how the sheet of that name is kept."""
    sheet = SHEETS[name]
    columns = _columns_of(sheet)
    left_out = {*sheet.key, *(_NOT_COMPARED if name == "readings" else ())}
    return Shelf(sheet, columns, tuple(c for c in columns if c not in left_out))


def as_stored(frame: pd.DataFrame, columns: dict[str, How]) -> pd.DataFrame:
    """Return ``frame`` with dtypes the engine takes without looking at the cells."""
    dtypes = {How.NAME: "string", How.TEXT: "string", How.FLAG: "boolean", How.NUMBER: "float64"}
    named = {c: dtypes[how] for c, how in columns.items() if c in frame and how in dtypes}
    keys = {
        c: "string"
        for c in frame
        if str(c).endswith("key") or c in ("file", "sheet", "cell", "sha256")
    }
    return frame.astype({**named, **keys})
