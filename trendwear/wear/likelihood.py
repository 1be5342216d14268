"""Restricted likelihood of many families at once, and the weak priors that steady it.

Theta is ``(log phi, log sigma_w, log tau)``.  The likelihood is worked in
``x = (log sigma_w/phi, log tau/phi, log phi)``: the recursion depends on the first
alone, sums over clearances on the first two, and phi is a mere scale::

    -2 log L = G + 2 (N - 1) log phi + Q / phi^2 + (N - 1) log 2 pi
    G = sum log s + sum log(1 + z_i) + log W,          z_i = A_i tau^2 / phi^2
    Q = sum v^2/s - sum (tau/phi)^2 B_i^2 / (1 + z_i) - H^2 / W
    W = sum A_i / (1 + z_i),     H = sum B_i / (1 + z_i)

with ``A_i`` and ``B_i`` the information and moment of a clearance's own rate and
``N`` the innovations of the family.  Intercepts and the family's mean rate are
integrated out (Patterson & Thompson, Biometrika 58 (1971) 545-554; Harville, JASA
72 (1977) 320-338).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from trendwear.wear.histories import Floats, Layout
from trendwear.wear.recursion import Evidence, gather, innovations

__all__ = ["THETA_OF_X", "Curve", "Pooled", "Priors", "evidence", "pool", "posterior"]

THETA_OF_X: Final[Floats] = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 1.0], [0.0, 1.0, 1.0]])
"""Theta is this matrix times x."""

_STEP: Final = 1e-3  # of log ratio, for central differences of the recursion


@dataclass(frozen=True)
class Priors:
    """Normal priors on theta, and what the sites of one-sided readings add."""

    centre: Floats
    """(F, 3)."""
    sd: Floats
    """(F, 3)."""
    pull: Floats
    """(F,) slope of the negative log-likelihood in log phi that one-sided readings correct."""


@dataclass(frozen=True)
class Pooled:
    """A family's sums at given ratios; variances in units of phi^2, any leading axes."""

    constant: Floats
    """G."""
    squares: Floats
    """Q, mm^2."""
    weight: Floats
    """W: precision of the family's mean rate; 0 where nothing speaks of a rate."""
    mean: Floats
    """H / W, mm per unit of exposure; 0 where nothing speaks of a rate."""
    slopes: tuple[Floats, Floats]
    """First derivatives of G and Q in log tau/phi."""
    bends: tuple[Floats, Floats]
    """Second derivatives of G and Q in log tau/phi."""


@dataclass(frozen=True)
class Curve:
    """Negative log posterior with its derivatives in x."""

    value: Floats
    """(F,)."""
    slope: Floats
    """(F, 3)."""
    bend: Floats
    """(F, 3, 3)."""


def evidence(layout: Layout, log_ratio: Floats) -> Evidence:
    """Run the recursion at ``log_ratio`` (R, F), log sigma_w/phi of each family."""
    ratio = np.exp(2 * log_ratio)[:, layout.family_of_segment]
    return gather(layout, innovations(layout, ratio))


def pool(layout: Layout, given: Evidence, log_tau_ratio: Floats) -> Pooled:
    """Sum clearances into families at ``log_tau_ratio`` (F,) or (R, F)."""
    family, families = layout.histories.family, layout.families
    kappa = np.exp(2 * np.broadcast_to(log_tau_ratio, given.squares.shape))[:, family]
    z = kappa * given.information
    rest = 1.0 / (1.0 + z)
    share = z * rest
    turn = rest - share

    def total(terms: Floats) -> Floats:
        return np.array([np.bincount(family, row, families) for row in terms])

    information = given.information * rest
    moment = given.moment * rest
    pull = kappa * moment**2
    weight, leaning = total(information), total(moment)
    speaks = weight > 0
    safe = np.where(speaks, weight, 1.0)
    weight_1, weight_2 = _twice(total(information * share), total(information * share * turn))
    lean_1, lean_2 = _twice(total(moment * share), total(moment * share * turn))
    mean = np.where(speaks, leaning / safe, 0.0)
    # H^2 / W and its derivatives, from H = mean W
    mean_1 = np.where(speaks, (lean_1 - mean * weight_1) / safe, 0.0)
    fitted_2 = 2 * mean_1 * lean_1 + 2 * mean * lean_2
    fitted_2 -= 2 * mean * mean_1 * weight_1 + mean**2 * weight_2
    return Pooled(
        constant=given.log_variance + total(np.log1p(z)) + np.log(safe),
        squares=given.squares - total(pull / rest) - mean * leaning,
        weight=weight,
        mean=mean,
        slopes=(
            2 * total(share) + weight_1 / safe,
            -2 * total(pull) - 2 * mean * lean_1 + mean**2 * weight_1,
        ),
        bends=(
            4 * total(share * rest) + weight_2 / safe - (weight_1 / safe) ** 2,
            -4 * total(pull * turn) - fitted_2,
        ),
    )


def _twice(share: Floats, turn: Floats) -> tuple[Floats, Floats]:
    """First and second derivative of a sum of terms / (1 + z)."""
    return -2 * share, -4 * turn


def posterior(layout: Layout, priors: Priors, x: Floats) -> Curve:
    """Negative log posterior of every family at ``x`` (F, 3), without the 2 pi."""
    log_ratio = x[:, 0] + _STEP * np.array([[-1.0], [0.0], [1.0]])
    given = evidence(layout, log_ratio)
    pooled = pool(layout, given, x[:, 1])
    scale = np.exp(-2 * x[:, 2])
    freedom = np.maximum(given.count - 1, 0.0)
    values = 0.5 * (pooled.constant + scale * pooled.squares) + freedom * x[:, 2]
    by_tau = 0.5 * (pooled.slopes[0] + scale * pooled.slopes[1])
    by_phi = freedom - scale * pooled.squares
    slope = np.stack([_first(values), by_tau[1], by_phi[1]], axis=-1)
    bend = np.empty((len(x), 3, 3))
    bend[:, 0, 0] = (values[0] - 2 * values[1] + values[2]) / _STEP**2
    bend[:, 0, 1] = bend[:, 1, 0] = _first(by_tau)
    bend[:, 0, 2] = bend[:, 2, 0] = _first(by_phi)
    bend[:, 1, 1] = 0.5 * (pooled.bends[0][1] + scale * pooled.bends[1][1])
    bend[:, 1, 2] = bend[:, 2, 1] = -scale * pooled.slopes[1][1]
    bend[:, 2, 2] = 2 * scale * pooled.squares[1]
    return _with_priors(priors, x, Curve(values[1], slope, bend))


def _first(around: Floats) -> Floats:
    """Central difference of what was evaluated a step before, at, and after."""
    difference: Floats = (around[2] - around[0]) / (2 * _STEP)
    return difference


def _with_priors(priors: Priors, x: Floats, curve: Curve) -> Curve:
    precision = priors.sd**-2.0
    away = x @ THETA_OF_X.T - priors.centre
    value = curve.value + 0.5 * np.sum(precision * away**2, axis=1) + priors.pull * x[:, 2]
    slope = curve.slope + (precision * away) @ THETA_OF_X
    slope[:, 2] += priors.pull
    bend = curve.bend + np.einsum("ki,fk,kj->fij", THETA_OF_X, precision, THETA_OF_X)
    return Curve(value, slope, bend)
