"""Where a renewed part that nobody has measured yet probably starts.

After a renewal with no reading the present value is what its family measured as left
after renewals: their mean and spread.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from trendwear.segments.cutting import AS_NEW
from trendwear.segments.histories import Histories
from trendwear.wear.state import WearMixture
from trendwear.wording import fold_column

__all__ = ["assume_starts", "left_after_renewal"]


def left_after_renewal(cut: Histories) -> pd.DataFrame:
    """Mean and variance of the as-left after renewal of each family.

    Returns
    -------
    DataFrame
        Indexed by family (folded): ``level`` (mm, worn-positive), ``var_level`` (mm^2,
        the spread of the family and what the gauge adds), ``count``.
    """
    begun = cut.segments[cut.segments["cause"].isin(AS_NEW)]
    left = cut.points[cut.points["fitted"] & (cut.points["state"] == "as-left")]
    first = left.merge(begun, on=["position", "segment"], suffixes=("", "_segment"))
    first = first[np.isclose(first["hours"], first["start_hours"])]
    family = fold_column(cut.positions["family"]).reindex(first["position"]).to_numpy()
    groups = first.assign(family=family, variance=first["u_mm"] ** 2).groupby("family")
    told = groups.agg(
        level=("worn_mm", "mean"),
        spread=("worn_mm", "var"),
        gauge=("variance", "mean"),
        count=("worn_mm", "size"),
    )
    # One reading alone tells no spread: a second renewal may differ by as much as the gauge.
    spread = told["spread"].fillna(told["gauge"])
    told["var_level"] = spread * (1 + 1 / told["count"]) + told["gauge"] / told["count"]
    return told[["level", "var_level", "count"]]


def assume_starts(wear: WearMixture, cut: Histories) -> tuple[WearMixture, pd.Series]:
    """Fill the level of renewed clearances that have no reading yet.

    Returns
    -------
    wear : WearMixture
        With levels filled where the family tells one.
    assumed : Series of bool
        By position: whether the level is assumed.
    """
    current = cut.segments.groupby("position").tail(1).set_index("position")
    current = current.reindex(cut.positions.index)
    renewed = current["cause"].isin(AS_NEW).to_numpy() & ~wear.has_level
    told = left_after_renewal(cut).reindex(fold_column(cut.positions["family"]))
    known = renewed & told["level"].notna().to_numpy()
    rows = known[:, None]
    level = np.where(rows, told["level"].to_numpy()[:, None], wear.level)
    var_level = np.where(rows, told["var_level"].to_numpy()[:, None], wear.var_level)
    filled = replace(
        wear,
        level=level,
        var_level=var_level,
        cov_level_rate=np.where(rows, 0.0, wear.cov_level_rate),
        has_level=wear.has_level | known,
    )
    return filled, pd.Series(known, index=cut.positions.index)
