"""Work on the trend, in words: beside what was done, the part that came in where it is another."""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.wording import fold_column

__all__ = ["actions_told"]

_ON_PARTNER: Final = ("partner renewed", "exchanged")
"""Work whose part number is not that of the clearance's own part."""


def actions_told(work: pd.DataFrame) -> pd.Series:
    """Return what was done, with number or supplier where another one came in.

    Parameters
    ----------
    work : DataFrame
        `tables.TREND_WORK` of one clearance.

    Returns
    -------
    Series of str
        ``renewed``, or ``renewed, now from supplier B`` where it was another before.
    """
    order = work.sort_values(["hours", "date"], kind="stable")
    on_partner = order["action"].isin(_ON_PARTNER)
    told = order["action"].astype("object")
    for name, word in (("part_no", ""), ("supplier", "from ")):
        named = fold_column(order[name])
        before = named.groupby(on_partner).ffill().groupby(on_partner).shift()
        other = named.notna() & before.notna() & (named != before)
        told = told.mask(other, told + ", now " + word + order[name].fillna("").astype("object"))
    return told.reindex(work.index)
