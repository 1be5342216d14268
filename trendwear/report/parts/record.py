"""The record of one part: where it sat, from when to when, what it ran and wore there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.report.rounding import NONE, hours_text, length_text
from trendwear.report.terminal import text_table
from trendwear.report.units import unit_label
from trendwear.segments.positions import OWN

if TYPE_CHECKING:
    from trendwear.parts.record import PartRecord

__all__ = ["day_text", "hours_there", "part_lines", "part_table", "part_words", "wear_text"]

_STILL: Final = "still in"


def part_lines(record: PartRecord, width: int) -> list[str]:
    """Return the record as lines of text."""
    return [*part_words(record), "", *text_table(part_table(record), width)]


def part_words(record: PartRecord) -> list[str]:
    """Say which part it is, where it ran, and how long in all."""
    named = " ".join(name for name in (record.part_no, record.supplier) if name)
    lines = [f"Part {record.serial}" + (f" ({named})" if named else "")]
    for row in record.machines.itertuples():
        until = _STILL if pd.isna(row.until_day) else f"until {day_text(row.until_day)}"
        served = f", at {row.places} clearances" if row.places > 1 else ""
        lines.append(
            f"  {row.machine}: from {day_text(row.from_day)} {until}, {hours_there(row)}{served}"
        )
    unknown = record.machines["hours"].isna().sum()
    more = ", and hours not known" if unknown else ""
    lines.append(f"In all on record: {hours_text(record.hours)}{more}.")
    return lines


def part_table(record: PartRecord) -> pd.DataFrame:
    """Return one row a clearance that the part served, in order of time."""
    rows = [
        {
            "machine": row.machine,
            "clearance": row.clearance,
            "sat as": "its own part" if row.role == OWN else "what it runs against",
            "put in by": row.began,
            "from": day_text(row.from_day),
            "until": _STILL if pd.isna(row.until_day) else day_text(row.until_day),
            "taken out by": "" if pd.isna(row.until_day) else row.ended,
            "hours there": hours_there(row),
            "readings": row.readings,
            "wear there": wear_text(row),
        }
        for row in record.places.itertuples()
    ]
    return pd.DataFrame(rows)


def wear_text(row: Any) -> str:
    """Return the wear of a stay between its readings; a run needs a reading at both ends."""
    if pd.isna(row.worn_mm):
        return NONE
    per = MM_PER_UNIT[row.unit]
    decimals = {"mm": 3, "um": 0, "mil": 1, "in": 4}[row.unit]
    worn = length_text(row.worn_mm / per, decimals)
    return f"{worn} {unit_label(row.unit)} in {hours_text(row.worn_hours)}"


def hours_there(row: Any) -> str:
    """Return the hours a part ran in a place, as people read them."""
    return "hours not known" if pd.isna(row.hours) else hours_text(row.hours)


def day_text(day: float) -> str:
    """Return days since 1970 as a date."""
    if pd.isna(day):
        return "a day not known"
    return f"{pd.Timestamp('1970-01-01') + pd.Timedelta(days=float(day)):%Y-%m-%d}"
