"""Readings that fit design and limit only once a usual slip is undone.

This needs no history: it sees a first load, and a whole column in another unit.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.segments.cutting import RESTARTS_AGE
from trendwear.segments.histories import Histories
from trendwear.trust.belief import BELIEVED
from trendwear.trust.slips import FACTORS

__all__ = ["misfits"]

_U: Final = 4.0
"""Standard uncertainties by which a reading may miss the range it should lie in."""
_PAST: Final = 1.0
"""A clearance may be found past its limit by so many allowances (common practice, no source)."""


def misfits(register: pd.DataFrame, cut: Histories, told: pd.DataFrame) -> pd.Series:
    """Return, by row of ``cut.points``, the factor by which a reading misses its design.

    A reading fits where it lies between its design and somewhat past its limit, just
    after a renewal near its design.  One that does not, but does once a usual slip is
    undone, is listed, unless the others vouch for it: its own ``residual`` is believed
    and another reading of its clearance fits.  What a person excluded is left alone.

    Parameters
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force; limits in mm of the register's basis.
    cut : Histories
    told : DataFrame
        By row of ``cut.points``: ``residual``, ``factor``.

    Returns
    -------
    Series of float
        NaN where a reading fits, is vouched for, or no slip mends it.
    """
    points = cut.points.assign(residual=told["residual"])
    ranges = _ranges(register, cut).reindex(points["position"]).set_axis(points.index)
    sign = points["position"].map(cut.positions["sign"])
    worn = sign * points["value_mm"]
    low, high, new_high, span = (ranges[name] for name in ("low", "high", "new_high", "span"))
    new = _just_renewed(cut, points) | high.isna()
    high = high.where(~new, new_high)
    slack = _U * points["u_mm"]
    fits = (worn >= low - slack - span / 4) & (worn <= high + slack + _PAST * span)
    known = ranges["low"].notna() & (points["value_mm"] > 0)
    known &= ~points["at_least"].astype(bool) & ~points["excluded"].astype(bool)
    some = (fits & known).groupby(points["position"]).transform("sum")
    vouched = (points["residual"].abs() < BELIEVED) & (some > 0)
    odd = known & ~fits & ~vouched & told["factor"].isna()
    value = points["value_mm"].to_numpy()[:, None] / FACTORS
    mended = sign.to_numpy()[:, None] * value
    usual_u = points["u_mm"].groupby(points["position"]).transform("median").to_numpy()[:, None]
    little = usual_u / np.maximum(FACTORS, 1.0)
    inside = mended >= low.to_numpy()[:, None] - little
    inside &= mended <= high.to_numpy()[:, None] + little
    inside &= odd.to_numpy()[:, None]
    # what mends most of a clearance's readings; of equals what comes nearest to its usual size
    mends = pd.DataFrame(inside).groupby(points["position"].to_numpy()).transform("sum")
    usual = worn.where(fits & known).groupby(points["position"]).transform("median")
    usual = usual.fillna((low + new_high) / 2)
    away = np.abs(mended - usual.to_numpy()[:, None])
    rank = np.where(inside, mends.to_numpy() - away / (1 + away), -np.inf)
    best = rank.argmax(axis=1)
    return pd.Series(np.where(inside.any(axis=1), FACTORS[best], np.nan), index=points.index)


def _ranges(register: pd.DataFrame, cut: Histories) -> pd.DataFrame:
    """By position, worn positive: ``low`` to ``new_high`` as designed, ``high`` the limit.

    A clearance that is limited both ways has its limits on either side; the nearer end
    of its design is its low.
    """
    key = pd.MultiIndex.from_frame(cut.positions[["machine", "clearance"]])
    at = key.get_indexer(pd.MultiIndex.from_frame(register[["machine", "clearance"]]))
    sign = cut.positions["sign"].to_numpy()[at]
    ends = np.sort(register[["design_min_mm", "design_max_mm"]].to_numpy() * sign[:, None], axis=1)
    low, new_high = np.fmin(ends[:, 0], ends[:, 1]), np.fmax(ends[:, 0], ends[:, 1])
    limit = register["limit_mm"].to_numpy() * sign
    lowest = np.fmin(low, np.where(limit < low, limit, np.nan))
    high = np.where(limit > new_high, limit, np.nan)
    told = pd.DataFrame({"position": at, "low": lowest, "new_high": new_high, "high": high})
    told = told.groupby("position").agg({"low": "min", "new_high": "max", "high": "max"})
    return told.assign(span=(told["high"] - told["low"]).fillna(told["new_high"] - told["low"]))


def _just_renewed(cut: Histories, points: pd.DataFrame) -> pd.Series:
    """Whether a reading was left right after a renewal."""
    begun = cut.segments[cut.segments["cause"].isin(RESTARTS_AGE)]
    start = begun.set_index(["position", "segment"])["start_hours"]
    key = pd.MultiIndex.from_frame(points[["position", "segment"]])
    at_start = np.isclose(start.reindex(key).to_numpy(), points["hours"].to_numpy())
    return at_start & (points["state"] == "as-left")
