"""What a fitted `WearModel` says: parameters of the families, rates of the clearances."""

from __future__ import annotations

from functools import cached_property
from typing import Final

import numpy as np
import pandas as pd
from scipy.special import ndtr
from scipy.stats import norm
from statsmodels.base.model import LikelihoodModel, LikelihoodModelResults
from statsmodels.iolib.summary import Summary
from statsmodels.iolib.table import SimpleTable

from trendwear.wear.histories import Floats
from trendwear.wear.likelihood import THETA_OF_X, evidence, pool
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.search import WearFit
from trendwear.wear.state import WearMixture

__all__ = ["PARAMS", "WearResults"]

PARAMS: Final = ("phi", "sigma_w", "tau", "beta_bar")
_HALVINGS: Final = 50


class WearResults(LikelihoodModelResults):  # type: ignore[misc]  # statsmodels has no types
    """Results of a `WearModel`.

    Attributes
    ----------
    params : Series
        Phi, sigma_w, tau and beta_bar of each family, at the most probable variances.
    bse : Series
        Their standard errors: of the variances from the curvature of the log
        posterior, of beta_bar by generalised least squares, the variances given.
    llf : float
        Restricted log-likelihood, without the priors.
    converged : ndarray of bool
        Whether each family's search came to rest.
    mixture : WearMixture
        Level and rate of every clearance, over what is left open of the variances.
    """

    def __init__(self, model: LikelihoodModel, fit: WearFit) -> None:
        self.wear_fit = fit
        self.converged = fit.settled
        given = pool(fit.layout, evidence(fit.layout, fit.x[None, :, 0]), fit.x[:, 1])
        weight = given.weight[0] * np.exp(-2 * fit.x[:, 2])
        known = weight > 0
        mean = np.where(known, given.mean[0], np.nan)
        variance = 1.0 / np.where(known, weight, np.nan)
        params = np.column_stack([fit.theta, mean])
        super().__init__(model, params.ravel(), _covariance(fit, variance), scale=1.0)
        self.params = pd.Series(params.ravel(), index=model.param_names)
        self.df_resid = float(fit.freedom.sum())
        self.use_t = False

    @cached_property
    def mixture(self) -> WearMixture:
        """Level and rate of every clearance, in the order of `WearModel.clearances`."""
        return wear_mixture(self.wear_fit)

    @cached_property
    def llf(self) -> float:
        """Restricted log-likelihood, without the priors."""
        return float(self.wear_fit.log_restricted.sum())

    @cached_property
    def bse(self) -> pd.Series:
        """Standard errors of the parameters."""
        return pd.Series(np.sqrt(np.diag(self.normalized_cov_params)), index=self.params.index)

    def cov_params(self) -> pd.DataFrame:
        """Covariance of the parameters; families do not share any."""
        names = self.params.index
        return pd.DataFrame(self.normalized_cov_params, index=names, columns=names)

    def conf_int(self, alpha: float = 0.05) -> pd.DataFrame:
        """Intervals of the parameters; of the variances on the log scale, so never below 0."""
        z = norm.isf(alpha / 2)
        center = self.params.to_numpy()
        error = z * self.bse.to_numpy()
        stretch = np.exp(error / np.abs(center))
        of_variance = np.tile([True, True, True, False], len(center) // len(PARAMS))
        low = np.where(of_variance, center / stretch, center - error)
        high = np.where(of_variance, center * stretch, center + error)
        return pd.DataFrame({0: low, 1: high}, index=self.params.index)

    def rates(self, alpha: float = 0.1) -> pd.DataFrame:
        """Rate and present level of every clearance with their ``1 - alpha`` bands.

        Columns ``family``, ``rate``, ``rate_sd``, ``rate_low``, ``rate_high``,
        ``level``, ``level_sd`` (mm, the true clearance at the last reading),
        ``own_share`` (0-1, how far the rate rests on the clearance's own readings).
        """
        mixture = self.mixture
        rate, rate_sd = _moments(mixture.weight, mixture.rate, mixture.var_rate)
        level, level_sd = _moments(mixture.weight, mixture.level, mixture.var_level)
        low, high = (
            _quantile(mixture.weight, mixture.rate, mixture.var_rate, at)
            for at in (alpha / 2, 1 - alpha / 2)
        )
        model = self.model
        return pd.DataFrame(
            {
                "family": model.families[model.histories.family],
                "rate": rate,
                "rate_sd": rate_sd,
                "rate_low": low,
                "rate_high": high,
                "level": level,
                "level_sd": level_sd,
                "own_share": mixture.own_share,
            },
            index=model.clearances,
        )

    def summary(self, alpha: float = 0.05) -> Summary:
        """Table of the parameters."""
        histories = self.model.histories
        facts = [
            ["Model:", "WearModel", "No. Observations:", f"{len(histories.value)}"],
            ["Method:", "REML with weak priors", "Clearances:", f"{len(histories.family)}"],
            ["Restricted LL:", f"{self.llf:.3f}", "Families:", f"{len(self.model.families)}"],
            [
                "Df Residuals:",
                f"{self.df_resid:.0f}",
                "Converged:",
                ("no", "yes")[int(self.converged.all())],
            ],
        ]
        interval = self.conf_int(alpha)
        rows = [
            [f"{number:.4g}" for number in row]
            for row in np.column_stack([self.params, self.bse, interval[0], interval[1]])
        ]
        heads = ["coef", "std err", f"[{alpha / 2:g}", f"{1 - alpha / 2:g}]"]
        told = Summary()
        told.tables = [
            SimpleTable(facts, title="Wear Model Results"),
            SimpleTable(rows, headers=heads, stubs=list(self.params.index)),
        ]
        return told


def _covariance(fit: WearFit, mean_variance: Floats) -> Floats:
    """Block of each family: delta method on log theta, then beta_bar."""
    families = len(fit.x)
    whole = np.zeros((families, 4, families, 4))
    of_x = np.linalg.inv(fit.curve.bend)
    of_log = THETA_OF_X @ of_x @ THETA_OF_X.T
    each = np.arange(families)
    whole[each, :3, each, :3] = of_log * fit.theta[:, :, None] * fit.theta[:, None]
    whole[each, 3, each, 3] = mean_variance
    return whole.reshape(4 * families, 4 * families)


def _moments(weight: Floats, mean: Floats, variance: Floats) -> tuple[Floats, Floats]:
    center = np.sum(weight * mean, axis=1)
    spread = np.sum(weight * (variance + (mean - center[:, None]) ** 2), axis=1)
    return center, np.sqrt(spread)


def _quantile(weight: Floats, mean: Floats, variance: Floats, at: float) -> Floats:
    """Quantile of each row's mixture of normals; NaN where a row has none."""
    known = np.isfinite(mean).all(axis=1)
    found = np.full(len(mean), np.nan)
    weight, mean, sd = weight[known], mean[known], np.sqrt(variance[known])
    reach = norm.isf(min(at, 1 - at) / 100) * sd
    low, high = (mean - reach).min(axis=1), (mean + reach).max(axis=1)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        short = np.sum(weight * ndtr((middle[:, None] - mean) / sd), axis=1) < at
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    found[known] = 0.5 * (low + high)
    return found
