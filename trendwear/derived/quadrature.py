"""How far a measured size, or what is computed of two, may be off: one standard uncertainty.

Two readings count as independent and their uncertainties add in quadrature
(JCGM 100:2008, 5.1.2), those of one instrument too: an error common to both would
cancel in their difference, so this is on the safe side.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pandas as pd

from trendwear.wording import fold_column

__all__ = ["WEAKEST_FIRST", "in_quadrature", "weakest", "with_uncertainty"]

WEAKEST_FIRST: Final = ("written resolution", "starting value", "method", "stated")
"""Where an uncertainty may come from."""


def in_quadrature(*parts: float) -> float:
    """Return the combined standard uncertainty of parts that are not correlated.

    >>> in_quadrature(3.0, 4.0)
    5.0
    """
    return math.hypot(*parts)


def weakest(*sources: str) -> str:
    """Return what a combined uncertainty rests on: the weakest of its sources.

    >>> weakest("stated", "starting value")
    'starting value'
    """
    return min(sources, key=WEAKEST_FIRST.index)


def with_uncertainty(sizes: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """Return measured sizes with ``u_mm`` and ``u_from``.

    The stated uncertainty counts; without it the method's; without that one step as
    written, the finest of that partner's sizes by that method.  Never less than half a
    step/sqrt(3) (JCGM 100:2008, 4.3.7 and F.2.2.1).

    Parameters
    ----------
    sizes : DataFrame
        `trendwear.dimension_tables.DIMENSIONS`.
    methods : DataFrame
        `trendwear.tables.METHODS`.
    """
    key = fold_column(sizes["method"])
    table = methods.assign(key=fold_column(methods["method"]))
    table = table.drop_duplicates("key", keep="last").set_index("key")
    place = [sizes["machine"], sizes["clearance"], sizes["part"], key.fillna(""), sizes["unit"]]
    step = sizes["step_mm"].groupby(place).transform("min").fillna(0.0)
    by_method = key.map(table["uncertainty_mm"]).astype("float64")
    starting = key.isin(table.index[table["source"].notna()])
    whence = np.select(
        [sizes["stated_mm"].notna(), by_method.notna() & starting, by_method.notna()],
        ["stated", "starting value", "method"],
        "written resolution",
    )
    u = sizes["stated_mm"].fillna(by_method).fillna(step)
    return sizes.assign(u_mm=np.maximum(u, step / 2 / np.sqrt(3.0)), u_from=whence)
