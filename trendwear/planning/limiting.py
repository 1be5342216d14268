"""Clearances against their limits: which can be forecast, and which are past already."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.limit_forecast import Basis
from trendwear.wear.state import rows_of

__all__ = ["against_limits", "crossing_of", "may_limit"]

Floats = NDArray[np.float64]


def may_limit(register: pd.DataFrame) -> pd.Series:
    """Return which register rows may set an overhaul: limiting, and with a limit."""
    return register["limiting"].astype(bool) & register["limit_mm"].notna()


def against_limits(
    basis: Basis, rows: pd.DataFrame, rests_on: pd.DataFrame, hours: Floats
) -> pd.DataFrame:
    """Say of register rows where they stand against their limits.

    Parameters
    ----------
    basis : Basis
    rows : DataFrame
        Some of ``basis.register``, with limits.
    rests_on : DataFrame
        `trendwear.forecasting.evidence.evidence` of ``basis.cut``.
    hours : ndarray, shape (n,)
        Running hours of each row's machine at the moment meant.

    Returns
    -------
    DataFrame
        ``rows`` with ``position``; ``worn_limit_mm`` and ``side`` (past is
        ``side worn > side limit``, worn rising with wear); ``run`` (hours since the last
        reading); ``measured_past``; ``told`` (it has a level, a rate and hours).
    """
    places = basis.cut.positions
    key = pd.MultiIndex.from_frame(places[["machine", "clearance"]])
    at = key.get_indexer(pd.MultiIndex.from_frame(rows[["machine", "clearance"]]))
    sign = places["sign"].to_numpy(dtype=float)[at]
    side = np.where(rows["moves"] == "opens", 1.0, -1.0) * sign
    limit = rows["limit_mm"].to_numpy(dtype=float) * sign
    worn = rests_on["last_worn_mm"].to_numpy(dtype=float)[at]
    at_least = rests_on["last_at_least"].to_numpy(dtype=bool)[at] & (side > 0)
    run = np.maximum(hours - basis.last_hours.to_numpy(dtype=float)[at], 0.0)
    return rows.assign(
        position=at,
        worn_limit_mm=limit,
        side=side,
        run=run,
        measured_past=(worn * side > limit * side) | (at_least & (worn >= limit)),
        told=basis.wear.has_level[at] & np.isfinite(basis.wear.rate[at, 0]) & np.isfinite(run),
    )


def crossing_of(basis: Basis, rows: pd.DataFrame) -> Crossing:
    """Return the forecasts of rows that `against_limits` gave, in their order."""
    at = rows["position"].to_numpy(dtype=np.int64)
    return Crossing(
        wear=rows_of(basis.wear, at),
        limit=rows["worn_limit_mm"].to_numpy(dtype=float),
        side=rows["side"].to_numpy(dtype=float),
        run=rows["run"].to_numpy(dtype=float),
        ahead=basis.ahead.at(at),
    )
