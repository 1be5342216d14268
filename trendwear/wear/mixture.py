"""From fitted families to what is believed of each clearance: a small grid over the variances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from trendwear.wear.histories import Floats
from trendwear.wear.likelihood import THETA_OF_X, Pooled, pool
from trendwear.wear.recursion import Evidence, Innovations, gather, innovations
from trendwear.wear.search import WearFit
from trendwear.wear.state import WearMixture

__all__ = ["wear_mixture"]

_NODES: Final = np.sqrt(3.0) * np.array([-1.0, 0.0, 1.0])  # Gauss-Hermite, standard normal
_NODE_WEIGHTS: Final = np.array([1.0, 4.0, 1.0]) / 6.0
_FLATTEST: Final = 1.5**-2  # least curvature believed, per squared unit of log theta
_LEAST_WEIGHT: Final = 1e-4
_X_OF_THETA: Final = np.linalg.inv(THETA_OF_X)


@dataclass(frozen=True)
class _Grid:
    """Nodes of the grid, along ``i``, ``j``, ``k``, and what the families say there."""

    log_ratio: Floats
    """(3, F): log sigma_w/phi at i."""
    log_tau_ratio: Floats
    """(3, 3, F): log tau/phi at i, j."""
    log_phi: Floats
    """(3, 3, 3, F) at i, j, k."""
    found: Innovations
    given: Evidence
    pooled: tuple[Pooled, Pooled, Pooled]
    """At j; each with i as its leading axis."""


def wear_mixture(fit: WearFit) -> WearMixture:
    """Mix what each clearance's readings say over a 3 x 3 x 3 grid of the variances.

    The grid is Gauss-Hermite's for the normal that fits the posterior at its mode;
    each node weighs what the posterior says of it (adaptive quadrature: Naylor &
    Smith, Applied Statistics 31 (1982) 214-225).  It is turned so that the
    recursion runs three times and the sums over families nine times.
    """
    grid = _lay_grid(fit)
    weight = _weights(fit, grid)
    return _mix(fit, grid, weight)


def _lay_grid(fit: WearFit) -> _Grid:
    root = _spread_root(fit.curve.bend)
    i, j, k = _NODES[:, None, None, None], _NODES[:, None, None], _NODES[:, None]
    mode = fit.x
    log_ratio = mode[:, 0] + root[:, 0, 0] * _NODES[:, None]
    log_tau_ratio = mode[:, 1] + root[:, 1, 0] * i[..., 0, :] + root[:, 1, 1] * j[..., 0, :]
    log_phi = mode[:, 2] + root[:, 2, 0] * i + root[:, 2, 1] * j + root[:, 2, 2] * k
    ratio = np.exp(2 * log_ratio)[:, fit.layout.family_of_segment]
    found = innovations(fit.layout, ratio)
    given = gather(fit.layout, found)
    low, middle, high = (pool(fit.layout, given, log_tau_ratio[:, node]) for node in range(3))
    return _Grid(log_ratio, log_tau_ratio, log_phi, found, given, (low, middle, high))


def _spread_root(bend: Floats) -> Floats:
    """Lower root of the covariance at the mode, its curvature in log theta floored."""
    turned = np.einsum("ki,fkl,lj->fij", _X_OF_THETA, bend, _X_OF_THETA)
    values, axes = np.linalg.eigh(turned)
    scaled = _X_OF_THETA @ (axes / np.sqrt(np.maximum(values, _FLATTEST))[:, None, :])
    root: Floats = np.linalg.cholesky(scaled @ np.swapaxes(scaled, 1, 2))
    return root


def _weights(fit: WearFit, grid: _Grid) -> Floats:
    """(3, 3, 3, F) weight of each node; each family's sum to 1."""
    constant = np.stack([at.constant for at in grid.pooled], axis=1)[:, :, None]
    squares = np.stack([at.squares for at in grid.pooled], axis=1)[:, :, None]
    log_phi = grid.log_phi
    log_weight = -0.5 * (constant + np.exp(-2 * log_phi) * squares)
    log_weight -= (fit.freedom + fit.priors.pull) * log_phi
    theta = (
        log_phi,
        log_phi + grid.log_ratio[:, None, None],
        log_phi + grid.log_tau_ratio[:, :, None],
    )
    for which, value in enumerate(theta):
        away = (value - fit.priors.centre[:, which]) / fit.priors.sd[:, which]
        log_weight -= 0.5 * away**2
    one = np.log(_NODE_WEIGHTS) + 0.5 * _NODES**2
    log_weight += (one[:, None, None] + one[:, None] + one)[..., None]
    weight = np.exp(log_weight - log_weight.max(axis=(0, 1, 2)))
    weight /= weight.sum(axis=(0, 1, 2))
    weight[weight < _LEAST_WEIGHT] = 0.0
    kept: Floats = weight / weight.sum(axis=(0, 1, 2))
    return kept


def _mix(fit: WearFit, grid: _Grid, weight: Floats) -> WearMixture:
    layout = fit.layout
    family, current = layout.histories.family, layout.current
    information, moment = grid.given.information[:, None], grid.given.moment[:, None]
    kappa = np.exp(2 * grid.log_tau_ratio)[..., family]
    pooled_weight = np.stack([at.weight for at in grid.pooled], axis=1)
    mean = np.stack([at.mean for at in grid.pooled], axis=1)
    has_rate = pooled_weight[0, 0] > 0
    mean = np.where(has_rate, mean, np.nan)
    mean_variance = 1.0 / np.where(has_rate, pooled_weight, np.nan)

    rest = 1.0 / (1.0 + kappa * information)
    rate = (kappa * moment + mean[..., family]) * rest
    rate_variance = kappa * rest + mean_variance[..., family] * rest**2
    own = 1.0 - rest + rest**2 * information * mean_variance[..., family]
    has_level = ~np.isnan(layout.end_exposure[current])
    level = np.where(has_level, grid.found.level[:, current], np.nan)[:, None]
    lag = np.where(has_level, grid.found.lag[:, current], np.nan)[:, None]
    level_spread = np.where(has_level, grid.found.level_variance[:, current], np.nan)[:, None]
    # a single reading has a level whether or not there is a rate
    follows = np.where(lag == 0.0, 0.0, lag * rate)
    follows_spread = np.where(lag == 0.0, 0.0, lag * rate_variance)

    used = np.nonzero(np.any(weight > 0, axis=-1).ravel())[0]
    phi = np.exp(grid.log_phi)
    nodes = _Nodes(used, phi[..., family] ** 2)
    by_family = _Nodes(used, phi**2)
    share = by_family.plain(weight)
    family_mean = by_family.plain(mean[:, :, None])
    family_square = by_family.scaled(mean_variance) + family_mean**2
    family_rate = np.sum(share * family_mean, axis=1)
    family_variance = np.sum(share * family_square, axis=1) - family_rate**2
    tau = np.sum(share * np.sqrt(by_family.scaled(np.exp(2 * grid.log_tau_ratio))), axis=1)
    wear = np.exp(2 * grid.log_ratio)[:, None]
    return WearMixture(
        weight=share[family],
        level=nodes.plain((level + follows)[:, :, None]),
        rate=nodes.plain(rate[:, :, None]),
        var_level=nodes.scaled(level_spread + lag * follows_spread),
        cov_level_rate=nodes.scaled(follows_spread),
        var_rate=nodes.scaled(rate_variance),
        var_wear=by_family.scaled(np.where(has_rate, wear, np.nan))[family],
        gauge_scale=by_family.plain(phi)[family],
        has_level=has_level,
        own_share=np.sum(share[family] * nodes.plain(own[:, :, None]), axis=1),
        family_rate=family_rate[family],
        family_rate_sd=np.sqrt(np.maximum(family_variance, 0.0))[family],
        tau=np.where(has_rate, tau, np.nan)[family],
    )


@dataclass(frozen=True)
class _Nodes:
    """Turns arrays over the grid into arrays with a column for each node in use."""

    used: np.ndarray[tuple[int], np.dtype[np.intp]]
    phi_squared: Floats
    """(3, 3, 3, columns)."""

    def plain(self, values: Floats) -> Floats:
        """Lay out ``values``, broadcast over the grid."""
        full = np.broadcast_to(values, self.phi_squared.shape)
        return np.ascontiguousarray(full.reshape(27, -1)[self.used].T)

    def scaled(self, values: Floats) -> Floats:
        """Lay out ``values``, given at i and j in units of phi^2."""
        return self.plain(values[:, :, None] * self.phi_squared)
