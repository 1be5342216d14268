"""The wear of families of clearances as a statsmodels model, for use on its own."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike
from statsmodels.base.model import LikelihoodModel

from trendwear.wear.fit import fit_wear
from trendwear.wear.groups import code_groups
from trendwear.wear.likelihood import THETA_OF_X, Curve
from trendwear.wear.results import PARAMS, WearResults
from trendwear.wear.search import WearFit

__all__ = ["WearModel"]

_SHARP: Final = 1e20  # curvature that leaves the variances no room
_LEAST: Final = 1e-150  # a variance of 0 is taken as this


class WearModel(LikelihoodModel):  # type: ignore[misc]  # statsmodels has no types
    r"""Wear of clearances at irregular openings, rates shared within families.

    A reading ``y`` of clearance ``i`` at exposure ``e`` in segment ``s`` is

    .. math::

        y = a_{is} + \beta_i e + B_i(e) + \epsilon, \quad
        \beta_i \sim N(\bar\beta, \tau^2), \quad
        \mathrm{var} B_i = \sigma_w^2 e, \quad
        \epsilon \sim N(0, (\phi u)^2)

    with ``u`` the stated standard uncertainty.  The parameters of each family are

    ``phi``
        how much worse the family is measured than stated,
    ``sigma_w``
        how unsteady the wear is, mm per root of exposure,
    ``tau``
        how far the rates of the family's clearances differ, mm per exposure,
    ``beta_bar``
        the family's mean rate, mm per exposure.

    Starts ``a`` are free unless known exactly.  The three variances maximise the
    restricted likelihood times weak log-normal priors, which keep a family of one
    honest; rates and levels of the clearances are averaged over what the data leave
    open of the variances.  Wear to come (`WearResults.mixture`) scatters with each
    clearance's own rate, not with the family's: `trendwear.wear.scatter`.

    Parameters
    ----------
    endog : array_like, shape (m,)
        Readings in mm, worn towards the limit positive.
    exposure : array_like, shape (m,)
        Running hours since renewal, or another measure of use.
    uncertainty : array_like, shape (m,) or scalar
        Stated standard uncertainty of each reading in mm.
    groups : DataFrame, m rows
        Column ``clearance``; optionally ``segment`` (from one reset to the next; the
        one that comes last is the current one; default one a clearance), ``family``
        (default one for all) and ``at_least`` (bool: worn at least so far).
    starts : DataFrame, optional
        Exactly known starts: columns ``clearance``, ``segment`` (where groups have
        it), ``value``, ``exposure``.

    Raises
    ------
    ValueError
        Readings that are not finite, uncertainties not above 0, a clearance in two
        families, or a reading before the known start of its segment.

    Examples
    --------
    Four packing rings, read at three to four openings each, one at only one:

    >>> import pandas as pd
    >>> readings = pd.DataFrame({
    ...     "clearance": list("aaaabbbccccd"),
    ...     "kh": [0, 8, 16, 24, 0, 9, 17, 0, 8, 15, 24, 8],
    ...     "mm": [.20, .30, .43, .52, .21, .28, .37, .19, .31, .43, .57, .29],
    ... })
    >>> model = WearModel(readings["mm"], readings["kh"], 0.01, readings[["clearance"]])
    >>> results = model.fit()
    >>> results.params.round(4)
    phi         0.8962
    sigma_w     0.0055
    tau         0.0039
    beta_bar    0.0130
    dtype: float64
    >>> columns = ["rate", "rate_low", "rate_high", "own_share"]
    >>> results.rates()[columns].round(3)  # doctest: +NORMALIZE_WHITESPACE
                rate  rate_low  rate_high  own_share
    clearance
    a          0.013     0.011      0.016      0.910
    b          0.010     0.007      0.013      0.871
    c          0.016     0.013      0.018      0.910
    d          0.013     0.004      0.022      0.000
    """

    def __init__(
        self,
        endog: ArrayLike,
        exposure: ArrayLike,
        uncertainty: ArrayLike,
        groups: pd.DataFrame,
        starts: pd.DataFrame | None = None,
    ) -> None:
        super().__init__(
            np.asarray(endog, np.float64), np.asarray(exposure, np.float64), hasconst=False
        )
        if len(groups) != len(self.endog):
            raise ValueError(f"groups have {len(groups)} rows for {len(self.endog)} readings")
        self._groups = code_groups(groups, starts)
        self.histories = self._groups.histories(
            self.endog,
            self.exog[:, 0],
            np.broadcast_to(np.asarray(uncertainty, np.float64), self.endog.shape),
        )

    @property
    def clearances(self) -> pd.Index:
        """Names of the clearances, in the order of the results' rates."""
        return self._groups.clearances

    @property
    def families(self) -> pd.Index:
        """Names of the families, in the order of the parameters."""
        return self._groups.families

    @property
    def param_names(self) -> list[str]:
        """Names of the parameters; with several families each is led by its family."""
        if len(self.families) == 1:
            return list(PARAMS)
        return [f"{family}: {name}" for family in self.families for name in PARAMS]

    def fit(self) -> WearResults:
        """Fit all families; see `trendwear.wear.fit.fit_wear`."""
        return WearResults(self, self._fitted)

    @cached_property
    def _fitted(self) -> WearFit:
        return fit_wear(self.histories)

    def given(self, params: ArrayLike) -> WearResults:
        """Results with phi, sigma_w and tau held at ``params``; beta_bar is estimated."""
        return WearResults(self, self._stand_at(params))

    def loglike(self, params: ArrayLike) -> float:
        """Restricted log-likelihood at ``params``: starts and beta_bar are integrated out."""
        return float(np.sum(self._stand_at(params).log_restricted))

    def _stand_at(self, params: ArrayLike) -> WearFit:
        theta = np.asarray(params, dtype=np.float64).reshape(len(self.families), len(PARAMS))
        x = np.log(np.maximum(theta[:, :3], _LEAST)) @ np.linalg.inv(THETA_OF_X).T
        fit = self._fitted
        sharp = np.tile(_SHARP * np.eye(3), (len(x), 1, 1))
        return replace(fit, x=x, curve=Curve(fit.curve.value, 0 * fit.curve.slope, sharp))
