"""The fitted readings, one a row, with what is needed to judge each."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear.fit.family_fit import FamilyFit
from trendwear.segments.histories import Histories
from trendwear.segments.openings import NO_OPENING

__all__ = ["seen_readings"]

_FEW = 3
"""Below so many readings of a position its family says how carefully it is measured."""

_OF_POINT = ["position", "value_mm", "worn_mm", "hours", "unit", "state", "order", "opening_no"]
_OF_PLACE = ["machine", "clearance", "kind", "register_basis", "sign", "both_ways"]


def seen_readings(cut: Histories, families: FamilyFit) -> pd.DataFrame:
    """Return one row for each reading of the family model, in its order.

    Returns
    -------
    DataFrame
        ``point`` (row of ``cut.points``), ``position``, ``machine``, ``clearance``, ``kind``,
        ``register_basis``, ``sign``, ``both_ways``, ``value_mm``, ``worn_mm``, ``shift_mm``
        (``worn = sign value + shift``), ``hours``, ``unit``, ``state``, ``order``,
        ``opening_no``, ``visit`` (equal within one opening of the machine),
        ``at_least``, ``family``, ``member``, ``segment`` (codes of the arrays),
        ``exposure``, ``u_mm`` (as fitted), ``usual_u_mm`` (the median of its position, of
        its family where readings are few).
    """
    data, arrays = families.data, families.fit.layout.histories
    points = cut.points.loc[data.rows, [*_OF_POINT, "at_least"]].reset_index(drop=True)
    places = cut.positions.loc[points["position"], _OF_PLACE].reset_index(drop=True)
    seen = pd.concat([points, places], axis=1)
    seen["point"] = data.rows
    seen["shift_mm"] = seen["worn_mm"] - seen["sign"] * seen["value_mm"]
    seen["member"] = arrays.clearance[arrays.segment]
    seen["family"] = arrays.family[seen["member"]]
    seen["segment"], seen["exposure"] = arrays.segment, arrays.exposure
    seen["u_mm"] = arrays.uncertainty
    alone = seen["opening_no"] == NO_OPENING
    seen["visit"] = np.where(alone, -1.0 - seen["order"], seen["opening_no"])
    return seen.assign(usual_u_mm=_usual_u(seen))


def _usual_u(seen: pd.DataFrame) -> pd.Series:
    """How carefully a reading is usually taken: one wrong unit must not change that."""
    own = seen.groupby("position")["u_mm"]
    of_family = seen.groupby("family")["u_mm"].transform("median")
    return own.transform("median").where(own.transform("size") >= _FEW, of_family)
