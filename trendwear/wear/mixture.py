"""From fitted families to what is believed of each clearance: a small grid over the variances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from trendwear.wear.histories import Codes, Flags, Floats
from trendwear.wear.likelihood import THETA_OF_X, Pooled, pool
from trendwear.wear.recursion import Evidence, Innovations, gather, innovations
from trendwear.wear.scatter import scatter_of
from trendwear.wear.search import WearFit
from trendwear.wear.state import WearMixture

__all__ = ["wear_mixture"]

_NODES: Final = np.sqrt(3.0) * np.array([-1.0, 0.0, 1.0])  # Gauss-Hermite, standard normal
_NODE_WEIGHTS: Final = np.array([1.0, 4.0, 1.0]) / 6.0
_FLATTEST: Final = 1.5**-2  # least curvature believed, per squared unit of log theta
_LEAST_WEIGHT: Final = 1e-4
_BLOCK: Final = 2048
"""Clearances mixed at once: what they need stays in the processor's cache."""
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
    recursion runs three times and the sums over families nine times.  Wear to come is
    the more unsteady the faster a clearance wears (`trendwear.wear.scatter`).
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
    histories = fit.layout.histories
    family, count = histories.family, len(histories.family)
    used = np.nonzero(np.any(weight > 0, axis=-1).ravel())[0]
    shared = _share(grid)
    by_family = _Nodes(used, shared.phi_squared)
    share = by_family.plain(weight)
    family_mean = by_family.plain(shared.mean[:, :, None])
    family_square = by_family.scaled(shared.mean_variance) + family_mean**2
    family_rate = np.sum(share * family_mean, axis=1)
    family_variance = np.sum(share * family_square, axis=1) - family_rate**2
    tau = np.sum(share * np.sqrt(by_family.scaled(shared.kappa)), axis=1)
    wear = np.where(shared.has_rate, np.exp(2 * grid.log_ratio)[:, None], np.nan)
    has_level = ~np.isnan(fit.layout.end_exposure[fit.layout.current])
    level, rate, var_level, cov_level_rate, var_rate = np.empty((5, count, len(used)))
    own_share, square_of_rate = np.empty((2, count))
    for first in range(0, count, _BLOCK):
        rows = slice(first, first + _BLOCK)
        of_family = shared.at(family[rows])
        member = _member(fit, grid, of_family, rows)
        nodes = _Nodes(used, of_family.phi_squared)
        level[rows] = nodes.plain(member.level[:, :, None])
        rate[rows] = nodes.plain(member.rate[:, :, None])
        var_level[rows] = nodes.scaled(member.var_level)
        cov_level_rate[rows] = nodes.scaled(member.cov_level_rate)
        var_rate[rows] = nodes.scaled(member.var_rate)
        own = nodes.plain(member.own[:, :, None])
        part = share[family[rows]]
        own_share[rows] = np.minimum(np.sum(part * own, axis=1), 1.0)
        square_of_rate[rows] = np.sum(part * (rate[rows] ** 2 + var_rate[rows]), axis=1)
    scatter = scatter_of(fit.layout, square_of_rate)
    return WearMixture(
        weight=share[family],
        level=level,
        rate=rate,
        var_level=var_level,
        cov_level_rate=cov_level_rate,
        var_rate=var_rate,
        var_wear=by_family.scaled(wear)[family] * scatter[:, None],
        gauge_scale=by_family.plain(np.sqrt(shared.phi_squared))[family],
        has_level=has_level,
        own_share=own_share,
        family_rate=family_rate[family],
        family_rate_sd=np.sqrt(np.maximum(family_variance, 0.0))[family],
        tau=np.where(shared.has_rate, tau, np.nan)[family],
    )


@dataclass(frozen=True)
class _Shared:
    """What the members of a family share, at i, j (and k for phi); variances per phi^2."""

    kappa: Floats
    mean: Floats
    mean_variance: Floats
    has_rate: Flags
    phi_squared: Floats

    def at(self, family: Codes) -> _Shared:
        """The same for the families of some clearances."""
        return _Shared(
            self.kappa[..., family],
            self.mean[..., family],
            self.mean_variance[..., family],
            self.has_rate[family],
            self.phi_squared[..., family],
        )


def _share(grid: _Grid) -> _Shared:
    weight = np.stack([at.weight for at in grid.pooled], axis=1)
    mean = np.stack([at.mean for at in grid.pooled], axis=1)
    has_rate = weight[0, 0] > 0
    return _Shared(
        kappa=np.exp(2 * grid.log_tau_ratio),
        mean=np.where(has_rate, mean, np.nan),
        mean_variance=1.0 / np.where(has_rate, weight, np.nan),
        has_rate=has_rate,
        phi_squared=np.exp(2 * grid.log_phi),
    )


@dataclass(frozen=True)
class _Member:
    """What is believed of some clearances, at i, j; variances per phi^2."""

    level: Floats
    rate: Floats
    var_level: Floats
    cov_level_rate: Floats
    var_rate: Floats
    own: Floats


def _member(fit: WearFit, grid: _Grid, shared: _Shared, rows: slice) -> _Member:
    current = fit.layout.current[rows]
    information = grid.given.information[:, None, rows]
    moment = grid.given.moment[:, None, rows]
    rest = 1.0 / (1.0 + shared.kappa * information)
    rate = (shared.kappa * moment + shared.mean) * rest
    rate_variance = shared.kappa * rest + shared.mean_variance * rest**2
    has_level = ~np.isnan(fit.layout.end_exposure[current])
    level = np.where(has_level, grid.found.level[:, current], np.nan)[:, None]
    lag = np.where(has_level, grid.found.lag[:, current], np.nan)[:, None]
    level_spread = np.where(has_level, grid.found.level_variance[:, current], np.nan)[:, None]
    # a single reading has a level whether or not there is a rate
    follows = np.where(lag == 0.0, 0.0, lag * rate)
    follows_spread = np.where(lag == 0.0, 0.0, lag * rate_variance)
    return _Member(
        level=level + follows,
        rate=rate,
        var_level=level_spread + lag * follows_spread,
        cov_level_rate=follows_spread,
        var_rate=rate_variance,
        own=1.0 - rest + rest**2 * information * shared.mean_variance,
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
