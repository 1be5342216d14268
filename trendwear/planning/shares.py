"""What governs an overhaul, in words."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["first_shares", "named_shares"]

Floats = NDArray[np.float64]

_NAMED: Final = 3
_LEAST_NAMED: Final = 0.05


def first_shares(names: pd.Series, chances: Floats) -> pd.Series:
    """Return the shares of up to three names in the sum of chances, the greatest first.

    A name that stands twice (a clearance limited both ways) counts once, with both.
    """
    total = float(np.sum(chances))
    if not total > 0:
        return pd.Series(dtype="float64")
    shares = pd.Series(np.asarray(chances) / total, index=names.to_numpy())
    first = shares.groupby(level=0).sum().sort_values(ascending=False, kind="stable")
    return first[first >= _LEAST_NAMED].head(_NAMED)


def named_shares(names: pd.Series, chances: Floats) -> str:
    """Return them as text: *ring 2 61 %; ring 3 30 %*; empty where there is no chance at all."""
    first = first_shares(names, chances)
    return "; ".join(f"{name} {100 * share:.0f} %" for name, share in first.items())
