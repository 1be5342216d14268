"""Readings whose cell names a bore and a journal: two readings, as on the sheet of dimensions."""

from __future__ import annotations

import numpy as np
import pandas as pd

from trendwear.derived.quadrature import with_uncertainty
from trendwear.readings.method_names import of_both_partners
from trendwear.readings.partner_pair import names_partners

__all__ = ["pairs_in_cells"]


def pairs_in_cells(readings: pd.DataFrame, methods: pd.DataFrame) -> pd.DataFrame:
    """Return readings with the uncertainty of two where a cell holds both partners.

    Where nobody stated it for the clearance, each of the two has its method's or one
    step as written, and they add in quadrature; a method that measures both counts once.

    Parameters
    ----------
    readings : DataFrame
        `trendwear.tables.READINGS`.
    methods : DataFrame
        `trendwear.tables.METHODS`.
    """
    written = readings["written"].dropna()
    pair = {text for text in written.unique() if names_partners(text)}
    which = readings["written"].isin(pair)
    if not which.any():
        return readings
    pairs = readings[which]
    told = with_uncertainty(pairs.assign(part="both"), methods)
    by_method = told["u_from"].isin(["method", "starting value"])
    once = by_method & pairs["method"].map(
        lambda name: isinstance(name, str) and of_both_partners(name)
    )
    both = told["u_mm"] * np.where(once, 1.0, np.sqrt(2.0))
    silent = pairs["stated_mm"].isna()
    pairs = pairs.assign(
        stated_mm=pairs["stated_mm"].where(~silent, both),
        u_from=pairs["u_from"].where(~silent, told["u_from"]),
        half_width_mm=0.0,
    )
    return pd.concat([readings[~which], pairs]).loc[readings.index]
