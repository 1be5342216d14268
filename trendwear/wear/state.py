"""What is believed of many clearances after their last readings: small mixtures of normals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["WearMixture", "rows_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class WearMixture:
    """Present clearance and wear rate of ``n`` clearances, each a mixture of ``K`` normals.

    One component is one value of the variances that the data leave open.  Given
    component ``k`` the true clearance at the last reading of the current segment
    and the rate are jointly normal, and a further exposure ``d`` adds wear of its
    own, independent of the past::

        mean      level + rate d
        variance  var_level + 2 cov_level_rate d + var_rate d^2 + var_wear d

    A reading taken then has ``(gauge_scale u)^2`` on top, ``u`` being its stated
    standard uncertainty.  Wear counts positive towards the limit.  Components
    that do not matter have weight 0 and finite values.  Where neither own readings
    nor the family say anything of a rate, all that needs one is NaN; the level of a
    single reading stays.
    """

    weight: Floats
    """(n, K), each row sums to 1."""
    level: Floats
    """(n, K) mm: true clearance at the last reading; NaN in rows without `has_level`."""
    rate: Floats
    """(n, K) mm per unit of exposure; NaN where nothing is known of it."""
    var_level: Floats
    """(n, K) mm^2; NaN in rows without `has_level`."""
    cov_level_rate: Floats
    """(n, K) mm^2 per unit of exposure; NaN in rows without `has_level`."""
    var_rate: Floats
    """(n, K) (mm per unit of exposure)^2."""
    var_wear: Floats
    """(n, K) mm^2 per unit of exposure: wear is not steady, the less so the faster it is."""
    gauge_scale: Floats
    """(n, K): a reading's true standard uncertainty over the stated one."""
    has_level: NDArray[np.bool_]
    """(n,): whether the current segment has a reading or a known start to stand on."""
    own_share: Floats
    """(n,): 0-1, how far the rate rests on the clearance's own readings."""
    family_rate: Floats
    """(n,) mm per unit of exposure: mean rate of the clearance's family."""
    family_rate_sd: Floats
    """(n,) mm per unit of exposure: standard deviation of that mean."""
    tau: Floats
    """(n,) mm per unit of exposure: how far the rates of one family differ."""


def rows_of(wear: WearMixture, rows: NDArray[np.int64] | slice) -> WearMixture:
    """Return some of the clearances, in the order of ``rows``; one may stand in it twice."""
    return WearMixture(**{name: getattr(wear, name)[rows] for name in wear.__dataclass_fields__})
