"""What each forecast rests on: its last reading, how many there are, how long the runs were."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear.segments.histories import Histories

__all__ = ["evidence", "gauge_decimals"]


def evidence(cut: Histories) -> pd.DataFrame:
    """Return one row a position.

    Returns
    -------
    DataFrame
        ``last_day`` (days since 1970), ``last_value_mm`` (in the register's basis),
        ``last_worn_mm`` (after later shims), ``last_at_least`` of the current segment's
        last reading, missing where it has none; ``u_mm`` (of that reading, else the
        clearance's median); ``readings`` (fitted), ``segments``, ``longest_run`` (most
        hours between two readings of one segment, in the family).
    """
    places = cut.positions.index
    fitted = cut.points[cut.points["fitted"]]
    current = cut.segments.groupby("position")["segment"].last()
    in_current = fitted[fitted["segment"] == fitted["position"].map(current)]
    in_current = in_current.sort_values(["position", "hours"], kind="stable")
    last = in_current.drop_duplicates("position", keep="last").set_index("position")
    last = last[["likely_day", "value_mm", "worn_mm", "at_least", "u_mm"]].reindex(places)
    usual_u = cut.points.groupby("position")["u_mm"].median().reindex(places)
    hours = fitted.groupby(["position", "segment"])["hours"]
    span = hours.max() - hours.min()
    own_run = span.groupby("position").max().reindex(places).fillna(0.0)
    longest = own_run.groupby(cut.positions["family"]).transform("max")
    return pd.DataFrame(
        {
            "last_day": last["likely_day"],
            "last_value_mm": last["value_mm"],
            "last_worn_mm": last["worn_mm"],
            "last_at_least": last["at_least"].eq(other=True),
            "u_mm": last["u_mm"].fillna(usual_u).fillna(0.0),
            "readings": fitted.groupby("position").size().reindex(places, fill_value=0),
            "segments": cut.segments.groupby("position").size().reindex(places, fill_value=0),
            "longest_run": longest.where(longest > 0),
        },
        index=places,
    )


def gauge_decimals(cut: Histories, per_unit: pd.Series) -> pd.Series:
    """Decimals that the gauge carries, by position, in the unit of ``per_unit`` mm.

    The finest step in which the clearance was written decides; without a reading
    0.01 mm.
    """
    step = cut.points.groupby("position")["step_mm"].min().reindex(cut.positions.index)
    step = step.where(step > 0).fillna(0.01) / per_unit
    decimals = np.ceil(-np.log10(step.to_numpy(dtype=float)) - 1e-6)
    return pd.Series(np.clip(decimals, 0, 6).astype("int64"), index=cut.positions.index)
