"""A part that is renewed at an opening: where it starts, and how it then wears."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from trendwear.fit.assumed_start import left_after_renewal
from trendwear.forecasting.ahead import Ahead
from trendwear.forecasting.crossing import Crossing
from trendwear.forecasting.limit_forecast import Basis
from trendwear.wear.state import rows_of
from trendwear.wording import fold_column

__all__ = ["NO_START", "renewed_crossing"]

OF_FAMILY = "its family's as-left after renewals"
OF_DESIGN = "its design range"
NO_START = "unknown: neither as-left readings after renewals nor a design range"


def renewed_crossing(basis: Basis, rows: pd.DataFrame) -> tuple[Crossing, pd.Series]:
    """Return the forecasts of rows as if their parts had just been renewed.

    The start is what the family's as-left readings after renewals say (mean and spread),
    else the middle of the design range with its half-width as a uniform spread; the rate is
    this position's own; its age begins anew.

    Parameters
    ----------
    basis : Basis
    rows : DataFrame
        As `trendwear.planning.limiting.against_limits` gives them.

    Returns
    -------
    crossing : Crossing
        In the order of ``rows``; hours count from the renewal.  NaN levels where no start
        is known.
    start_from : Series of str
        What each start was taken from.
    """
    cut = basis.cut
    at = rows["position"].to_numpy(dtype=np.int64)
    family = fold_column(cut.positions["family"]).reindex(at)
    told = left_after_renewal(cut).reindex(family)
    level, variance = told["level"].to_numpy(dtype=float), told["var_level"].to_numpy(dtype=float)
    known = np.isfinite(level)
    design = rows[["design_min_mm", "design_max_mm"]]
    sign = cut.positions["sign"].to_numpy(dtype=float)[at]
    middle = design.mean(axis=1).to_numpy(dtype=float) * sign
    half = (design["design_max_mm"] - design["design_min_mm"]).fillna(0.0).to_numpy(dtype=float) / 2
    level = np.where(known, level, middle)
    variance = np.where(known, variance, half**2 / 3.0)
    wear, ahead = rows_of(basis.wear, at), basis.ahead.at(at)
    shape = wear.rate.shape
    fresh = replace(
        wear,
        level=np.broadcast_to(level[:, None], shape),
        var_level=np.broadcast_to(variance[:, None], shape),
        cov_level_rate=np.zeros(shape),
        has_level=np.isfinite(level),
    )
    none = np.zeros(len(rows))
    crossing = Crossing(
        wear=fresh,
        limit=rows["worn_limit_mm"].to_numpy(dtype=float),
        side=rows["side"].to_numpy(dtype=float),
        run=none,
        ahead=Ahead(none, ahead.per_hour, ahead.power, ahead.scale),
    )
    from_where = np.where(known, OF_FAMILY, np.where(np.isfinite(level), OF_DESIGN, NO_START))
    return crossing, pd.Series(from_where, index=rows.index, dtype="object")
