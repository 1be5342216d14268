"""Two positions of one machine whose readings were written in one another's place."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.trust.belief import BELIEVED, explains
from trendwear.wear.histories import Flags

__all__ = ["may_be_swapped", "swapped_pairs"]

_APART: Final = 4.0
"""Spreads (the wider of the two) that expectations must differ by before a swap is tried."""
_ALIKE: Final = ["machine", "kind", "register_basis", "visit", "state"]
"""What two readings must share to be taken for one another."""


def swapped_pairs(seen: pd.DataFrame, suspects: pd.Index) -> pd.DataFrame:
    """Find pairs of readings of one machine, kind and visit that each fit the other's place.

    Parameters
    ----------
    seen : DataFrame
        As `trendwear.trust.slips.explain` takes it, with ``usual_spread_mm``.
    suspects : Index
        Readings of which one at least stands in every pair.

    Returns
    -------
    DataFrame
        ``one``, ``other``: index of ``seen``; no reading stands in two pairs.
    """
    known = seen[seen["residual"].notna() & ~seen["at_least"]]
    known = known.assign(
        expected_mm=known["sign"] * (known["mean"] - known["shift_mm"]),
        spread_mm=known["usual_spread_mm"],
        off=known["residual"].abs(),
    )
    pairs = _pairs(known[[*_ALIKE, "value_mm", "expected_mm", "spread_mm", "off"]], suspects)
    wider = np.maximum(pairs["spread_mm"], pairs["spread_mm_other"])
    pairs = pairs[(pairs["expected_mm"] - pairs["expected_mm_other"]).abs() > _APART * wider]
    here = (pairs["value_mm_other"] - pairs["expected_mm"]).abs() / pairs["spread_mm"]
    there = (pairs["value_mm"] - pairs["expected_mm_other"]).abs() / pairs["spread_mm_other"]
    after = np.maximum(here, there)
    before = np.minimum(pairs["off"], pairs["off_other"])
    fits = explains(after.to_numpy(), before.to_numpy())
    return _one_each(pairs.assign(after=after)[fits])


def may_be_swapped(seen: pd.DataFrame, free: Flags, odd: Flags) -> Flags:
    """Mark readings with an expectation that another reading fits, and that other reading.

    Parameters
    ----------
    seen : DataFrame
        ``expected_mm`` and ``spread_mm``, NaN in readings that are not suspected.
    free, odd : ndarray, shape (m,)
        Readings that no slip explains yet, and those of them that may be the other one.
    """
    told = seen[["value_mm", "expected_mm", "spread_mm", *_ALIKE]].assign(odd=odd)[free]
    pairs = _pairs(told, told.index[told["expected_mm"].notna()])
    fits = (pairs["value_mm_other"] - pairs["expected_mm"]).abs() < BELIEVED * pairs["spread_mm"]
    other = (pairs["value_mm_other"] - pairs["value_mm"]).abs() > BELIEVED * pairs["spread_mm"]
    pairs = pairs[fits & other & pairs["odd_other"]]
    marked: Flags = np.zeros(len(seen), dtype=bool)
    marked[pairs["at"].to_numpy()] = marked[pairs["at_other"].to_numpy()] = True
    return marked


def _pairs(readings: pd.DataFrame, suspects: pd.Index) -> pd.DataFrame:
    """Every suspect beside every other reading that it could be taken for."""
    placed = readings.rename_axis("at").reset_index()
    mine = placed[placed["at"].isin(suspects)]
    pairs = mine.merge(placed, on=_ALIKE, suffixes=("", "_other"))
    return pairs[pairs["at"] != pairs["at_other"]]


def _one_each(pairs: pd.DataFrame) -> pd.DataFrame:
    """Keep the best pairs; a reading is swapped with one other."""
    taken: set[int] = set()
    kept = []
    best = pairs.sort_values("after", kind="stable")
    for one, other in zip(best["at"].tolist(), best["at_other"].tolist(), strict=True):
        if not {one, other} & taken:
            taken |= {one, other}
            kept.append((one, other))
    return pd.DataFrame(kept, columns=["one", "other"], dtype="int64")
