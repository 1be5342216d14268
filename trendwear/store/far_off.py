"""Readings so far from limit and design that a slip in writing is likely.

They are taken in as they stand; the note names the unit that would explain them.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.store.limit_status import counted_limit
from trendwear.store.positions import Register

__all__ = ["far_off"]

FAR: Final = 50.0
"""Times the limit, or parts of the limit or design value, from which a reading is far off
(common practice, no source)."""
ODD: Final = 5.0
"""The same, where another unit explains the reading: mil in a millimetre column and the other
way round lie 39.4 apart, which is not yet far off (common practice, no source)."""
_NEAR: Final = 2.0
_UNKNOWN_DESIGN: Final = 20.0
_DECIMAL: Final = 1000.0
_WORDS: Final = {"mm": "millimetres", "um": "micrometres", "mil": "mil", "in": "inches"}
_KEYS: Final = ["machine_key", "clearance_key"]


def far_off(rows: pd.DataFrame, register: Register) -> pd.DataFrame:
    """Return the readings that are far off, with a column ``look`` that says so.

    A reading is far off when all it can have been lies below 1/50 of the smaller of
    limit and design_min, or above 50 times the limit (the design value where there
    is none).  It is odd, and named too, below 1/5 (1/20 of the limit where no design is
    known) or above 5 times, where the number in another unit would be a likely reading.
    An exact start of 0 is left alone.

    Parameters
    ----------
    rows : frame
        Readings as they are kept, in mm.
    register : Register
        Limits and design values, in mm; of several limits the widest span counts.
    """
    beside = rows.join(_spans(register.clearances), on=_KEYS)
    small = beside["upper_mm"] < beside["least_mm"] / FAR
    large = beside["lower_mm"] > beside["most_mm"] * FAR
    short = beside["least_mm"] / np.where(beside["design_beside_mm"].isna(), _UNKNOWN_DESIGN, ODD)
    odd = (beside["upper_mm"] < short) | (beside["lower_mm"] > beside["most_mm"] * ODD)
    exact = (beside["state"] == "as-left") & (beside["stated_mm"] == 0.0)
    asked = (small | large | odd) & ~(exact & (beside["value_mm"] == 0.0))
    found = beside[asked].assign(far=(small | large)[asked])
    told = [bool(row.far or _in_another_unit(row)) for row in found.itertuples()]
    named = pd.Series(told, found.index, dtype=bool)
    found = found[named].drop(columns="far")
    return found.assign(look=[_look(row) for row in found.itertuples()])


def _spans(clearances: pd.DataFrame) -> pd.DataFrame:
    """Return for each position what is too small, too large, and what is believable."""
    sizes = clearances[["limit_mm", "design_min_mm", "design_max_mm"]]
    sizes = sizes.assign(limit_mm=counted_limit(clearances))
    sizes = sizes.where(sizes > 0.0)
    ends = pd.DataFrame(
        {
            "machine_key": clearances["machine_key"].astype("object"),
            "clearance_key": clearances["clearance_key"].astype("object"),
            "limit": sizes["limit_mm"],
            "design": sizes["design_min_mm"].fillna(sizes["design_max_mm"]),
            "built": sizes["design_max_mm"].fillna(sizes["design_min_mm"]),
        }
    )
    groups = ends.groupby(_KEYS)
    low, high = groups[["limit", "design"]].min(), groups[["limit", "built"]].max()
    least = low.min(axis="columns")
    likely = (least / _NEAR).where(low["design"].notna(), low["limit"] / _UNKNOWN_DESIGN)
    return pd.DataFrame(
        {
            "least_mm": least,
            "most_mm": high["limit"].fillna(high["built"]),
            "likely_from_mm": likely,
            "likely_to_mm": high.max(axis="columns") * _NEAR,
            "limit_beside_mm": high["limit"],
            "design_beside_mm": low["design"],
        }
    )


def _look(row: pd.Series) -> str:
    """Say what is odd about one reading, and which slip would explain it."""
    unit = str(row.unit)
    beside = (
        f"a limit of {_in_unit(row.limit_beside_mm, unit)}"
        if row.limit_beside_mm == row.limit_beside_mm
        else f"{_in_unit(row.design_beside_mm, unit)} as built"
    )
    slip = _slip(row)
    return f"look again: {_in_unit(row.value_mm, unit)} against {beside}{slip and f': {slip}'}"


def _slip(row: pd.Series) -> str:
    """Return the slip that brings the reading nearest to the middle of what is likely."""
    likely = _in_another_unit(row)
    if not likely:
        shifted = {
            f"written {_DECIMAL:.0f} times too small?": row.value_mm * _DECIMAL,
            f"written {_DECIMAL:.0f} times too large?": row.value_mm / _DECIMAL,
        }
        likely = _likely(shifted, row)
    middle = np.sqrt(row.likely_from_mm * row.likely_to_mm)
    return min(likely, key=lambda text: abs(np.log(likely[text] / middle)), default="")


def _in_another_unit(row: pd.Series) -> dict[str, float]:
    """Return what the number would be in units that make it a likely reading, in words."""
    unit = str(row.unit)
    source = {
        "cell": f"written as {unit}?",
        "row": f"written in {'an' if unit == 'in' else 'a'} {unit} column?",
    }
    where = source.get(str(row.unit_from), f"written where the register keeps {unit}?")
    number = row.value_mm / MM_PER_UNIT[unit]
    meant = {
        f"{words} {where}": number * MM_PER_UNIT[other]
        for other, words in _WORDS.items()
        if other != unit
    }
    return _likely(meant, row)


def _likely(meant: dict[str, float], row: pd.Series) -> dict[str, float]:
    return {
        text: size for text, size in meant.items() if row.likely_from_mm <= size <= row.likely_to_mm
    }


def _in_unit(size_mm: float, unit: str) -> str:
    return f"{size_mm / MM_PER_UNIT[unit]:.4g} {unit}"
