"""Limits known before that came into force between two days, in a planner's words."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.planning.news import NEWS
from trendwear.segments.positions import in_force
from trendwear.tables import conform

__all__ = ["limits_begun"]

_PLACE = ["machine", "clearance", "moves"]


def limits_begun(register: pd.DataFrame, since: dt.date, until: dt.date) -> pd.DataFrame:
    """Return the limits that hold on ``until`` and did not on ``since`` (`NEWS`).

    Parameters
    ----------
    register : DataFrame
        `trendwear.tables.CLEARANCES`, limits in sequence included.
    """
    before = in_force(register, since).set_index(_PLACE)["limit_mm"]
    now = in_force(register, until)
    begun = now[now["limit_from"] > pd.Timestamp(since)]
    told = [
        {
            "machine": row["machine"],
            "clearance": row["clearance"],
            "what": _said(row, before.get(tuple(row[name] for name in _PLACE))),
        }
        for row in begun.to_dict("records")
    ]
    return conform(pd.DataFrame(told, columns=list(NEWS)), NEWS)


def _said(row: dict[str, object], was_mm: float | None) -> str:
    source = f" ({row['limit_source']})" if isinstance(row["limit_source"], str) else ""
    return (
        f"{row['clearance']}: limit {_length(was_mm, row)} -> {_length(row['limit_mm'], row)} "
        f"from {row['limit_from']:%Y-%m-%d}{source}"
    )


def _length(length_mm: object, row: dict[str, object]) -> str:
    if not isinstance(length_mm, float) or pd.isna(length_mm):
        return "none"
    unit = str(row["unit"])
    return f"{length_mm / MM_PER_UNIT[unit]:.6g} {unit}"
