"""Every part in every place: the hours it ran there, its readings and its wear there."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear.forecasting.site import SiteForecast
from trendwear.segments.stays import FIRST_SEEN, STILL_IN, stays

__all__ = ["segments_of", "sittings"]


def sittings(told: SiteForecast) -> pd.DataFrame:
    """Return every stay of a part with what it ran and wore there, as of the forecast's day.

    Returns
    -------
    DataFrame
        As `trendwear.segments.stays.stays`, with ``hours`` (run in that place; NaN
        unknown), ``start_known`` (it was put in by recorded work), ``readings``,
        ``worn_mm`` (between the readings of each run; NaN where no run has two),
        ``worn_hours`` (the hours between them) and ``unit`` (of the clearance).
    """
    rows = stays(told.cut)
    now = rows["machine"].map({name: clock.hours for name, clock in told.basis.clocks.items()})
    until = rows["until_hours"].where(rows["ended"] != STILL_IN, now)
    runs = segments_of(told, rows).merge(_worn(told), on=["position", "segment"])
    worn = runs.groupby("stay")[["readings", "worn_mm", "worn_hours"]].sum(min_count=1)
    worn = worn.reindex(rows.index)
    return rows.assign(
        hours=(until - rows["from_hours"]).clip(lower=0.0),
        start_known=rows["began"] != FIRST_SEEN,
        readings=worn["readings"].fillna(0).astype("int64"),
        worn_mm=worn["worn_mm"],
        worn_hours=worn["worn_hours"],
        unit=told.cut.positions.loc[rows["position"], "unit"].to_numpy(),
    )


def segments_of(told: SiteForecast, rows: pd.DataFrame) -> pd.DataFrame:
    """Return in which stay each segment lies.

    Returns
    -------
    DataFrame
        ``position``, ``segment`` and ``stay`` (index of ``rows``); a segment stands once
        for each role of its parts that is among ``rows``.
    """
    begins = told.cut.segments[["position", "segment", "start_order"]].dropna()
    begins = begins.sort_values("start_order", kind="stable")
    found = [begins.iloc[:0].assign(stay=np.nan)]
    for _, part in rows.groupby("role"):
        known = part[["position", "from_order"]].dropna()
        known = known.assign(stay=known.index).sort_values("from_order", kind="stable")
        lies = pd.merge_asof(
            begins, known, left_on="start_order", right_on="from_order", by="position"
        )
        found.append(lies.dropna(subset="stay"))
    both = pd.concat([part for part in found if len(part)] or found[:1])
    return both[["position", "segment", "stay"]].astype("int64")


def _worn(told: SiteForecast) -> pd.DataFrame:
    """Readings of each segment and the wear between its first and its last."""
    points = told.cut.points
    inside = points[points["segment"] > 0].sort_values("hours", kind="stable")
    runs = inside.groupby(["position", "segment"])
    first, last = runs[["hours", "worn_mm"]].first(), runs[["hours", "worn_mm"]].last()
    spans = last["hours"] > first["hours"]
    return pd.DataFrame(
        {
            "readings": runs.size(),
            "worn_mm": (last["worn_mm"] - first["worn_mm"]).where(spans),
            "worn_hours": (last["hours"] - first["hours"]).where(spans),
        }
    ).reset_index()
