"""How long parts last where some are still in: the product-limit estimate of Kaplan and Meier.

Kaplan, E. L. and Meier, P., "Nonparametric estimation from incomplete observations",
*Journal of the American Statistical Association* 53 (1958), 457-481.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from statsmodels.duration.survfunc import SurvfuncRight

__all__ = ["FEWEST_RENEWED", "HalfLife", "half_renewed"]

FEWEST_RENEWED: Final = 5
"""With fewer renewals no life is told (common practice, no source)."""


@dataclass(frozen=True)
class HalfLife:
    """The hours by which half of the parts were renewed, with its 5 to 95 % band.

    NaN: not told; inf: the band has no upper end, too many are still in.
    """

    hours: float
    low: float
    high: float


def half_renewed(hours: ArrayLike, renewed: ArrayLike) -> HalfLife:
    """Estimate the hours by which half of the parts are renewed.

    Parameters
    ----------
    hours : array of float, shape (n,)
        Hours each part ran, until it was renewed or as far as is known.
    renewed : array of bool, shape (n,)
        Whether it was renewed then; else it may run on.

    Returns
    -------
    HalfLife
        Median of the Kaplan-Meier estimate (statsmodels ``SurvfuncRight``); its band
        by the log(-log) law of Brookmeyer and Crowley, *Biometrics* 38 (1982), 29-41.
        NaN where fewer than half were renewed.
    """
    ran, ended = np.asarray(hours, dtype=float), np.asarray(renewed, dtype=bool)
    if not ended.any():
        return HalfLife(np.nan, np.nan, np.nan)
    told = SurvfuncRight(ran, ended.astype(int))
    # Where the curve ends at 0 the law has no value: the band is open there.
    with np.errstate(divide="ignore", invalid="ignore"):
        low, high = told.quantile_ci(0.5, alpha=0.1)
    if told.surv_prob[-1] == 0 and high >= told.surv_times[-1]:
        high = np.inf
    return HalfLife(float(told.quantile(0.5)), float(low), float(high))
