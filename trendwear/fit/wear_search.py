"""Search for the most probable variances of every family, all families in lockstep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.fit.wear_histories import Floats, Layout
from trendwear.fit.wear_likelihood import (
    THETA_OF_X,
    Curve,
    Priors,
    evidence,
    pool,
    posterior,
)

__all__ = ["Noise", "Sites", "WearFit", "find_mode", "fit_at", "fit_layout", "prior_centres"]

_GAUGE_SD: Final = (0.35, 0.7)  # of log phi: uncertainties stated, mostly assumed
_WEAR_SD: Final = 0.7
_TAU_SD: Final = 0.5
_WEAR_SHARE: Final = 0.2  # see Noise.share
_TAU_SHARE: Final = 0.35  # tau over rate
_ENOUGH_FAMILIES: Final = 10
_ENOUGH_FREEDOM: Final = 20
_X_OF_THETA: Final = np.linalg.inv(THETA_OF_X)
_ROUNDS: Final = 100
_SETTLED: Final = 1e-7
_FLATTEST: Final = 0.1
_LONGEST_STEP: Final = 1.5


@dataclass(frozen=True)
class Noise:
    """Prior centre of the wear noise."""

    share: float
    """Sigma_w over rate x sqrt(median exposure since a segment's start)."""
    learned_from: int
    """How many families it was learned from; 0: it is the default."""


@dataclass(frozen=True)
class Sites:
    """What one-sided readings add to what they say as readings (`wear_one_sided`)."""

    pull: Floats
    """(F,) slope that the negative log-likelihood in log phi lacks."""
    excess: Floats
    """(F,) what the log-likelihood lacks."""


@dataclass(frozen=True)
class WearFit:
    """The most probable variances of ``F`` families and how sharply they are known."""

    layout: Layout
    priors: Priors
    sites: Sites
    x: Floats
    """(F, 3) the mode, in `wear_likelihood`'s coordinates."""
    curve: Curve
    """Negative log posterior and its derivatives at the mode."""
    settled: NDArray[np.bool_]
    """(F,) whether the search came to rest."""
    freedom: Floats
    """(F,) restricted degrees of freedom: innovations less the family's mean rate."""
    noise: Noise

    @property
    def theta(self) -> Floats:
        """(F, 3): phi, sigma_w (mm per root exposure), tau (mm per exposure) at the mode."""
        theta: Floats = np.exp(self.x @ THETA_OF_X.T)
        return theta

    @property
    def log_restricted(self) -> Floats:
        """(F,) restricted log-likelihood at the mode, without the priors."""
        flat = Priors(
            self.priors.centre, np.full_like(self.priors.sd, np.inf), 0 * self.priors.pull
        )
        value = posterior(self.layout, flat, self.x).value
        restricted: Floats = -value - 0.5 * self.freedom * np.log(2 * np.pi) + self.sites.excess
        return restricted


def fit_layout(layout: Layout, sites: Sites) -> WearFit:
    """Fit all families.

    Where ten or more families have 20 or more restricted degrees of freedom, what
    is typical of their wear noise becomes the prior centre of all, and all are
    fitted again.
    """
    first = fit_at(layout, sites, Noise(_WEAR_SHARE, 0))
    rich = (first.freedom >= _ENOUGH_FREEDOM) & first.settled
    if np.count_nonzero(rich) < _ENOUGH_FAMILIES:
        return first
    _, scale = prior_centres(layout, _WEAR_SHARE)
    share = float(np.median((first.theta[:, 1] / scale)[rich]))
    return fit_at(layout, sites, Noise(share, int(np.count_nonzero(rich))))


def fit_at(layout: Layout, sites: Sites, noise: Noise, start: Floats | None = None) -> WearFit:
    """Fit all families with this prior centre of the wear noise, from ``start`` (F, 3) in x."""
    priors, _ = prior_centres(layout, noise.share)
    priors = Priors(priors.centre, priors.sd, sites.pull)
    x, curve, settled = find_mode(layout, priors, start)
    count = np.bincount(layout.family_of_row[~layout.opens], minlength=layout.families)
    return WearFit(
        layout=layout,
        priors=priors,
        sites=sites,
        x=x,
        curve=curve,
        settled=settled,
        freedom=np.maximum(count - 1.0, 0.0),
        noise=noise,
    )


def prior_centres(layout: Layout, wear_share: float) -> tuple[Priors, Floats]:
    """Priors of every family, and its rate x sqrt(median exposure since a segment's start).

    The rate is the size of the family's weighted mean rate, not less than its
    standard error: first with steady and equal wear, then once more with the
    variances that this rate leads to.
    """
    length = _median_run(layout)
    log_phi = np.zeros(layout.families)
    rate = _rate_size(layout, np.full(layout.families, -np.inf), np.full(layout.families, -np.inf))
    for _ in range(2):
        log_wear = np.log(wear_share * rate * np.sqrt(length))
        log_tau = np.log(_TAU_SHARE * rate)
        rate = _rate_size(layout, log_wear, log_tau)
    scale = rate * np.sqrt(length)
    centre = np.stack([log_phi, np.log(wear_share * scale), np.log(_TAU_SHARE * rate)], axis=1)
    mostly_assumed = layout.histories.assumed_share > 0.5
    sd = np.empty_like(centre)
    sd[:, 0] = np.where(mostly_assumed, _GAUGE_SD[1], _GAUGE_SD[0])
    sd[:, 1:] = _WEAR_SD, _TAU_SD
    return Priors(centre, sd, np.zeros(layout.families)), scale


def _rate_size(layout: Layout, log_wear: Floats, log_tau: Floats) -> Floats:
    """Size of the mean rate at phi = 1, floored at its standard error; 1 where unknown."""
    pooled = pool(layout, evidence(layout, log_wear[None]), log_tau)
    weight = pooled.weight[0]
    error = np.where(weight > 0, 1.0 / np.sqrt(np.where(weight > 0, weight, 1.0)), 1.0)
    size: Floats = np.maximum(np.abs(pooled.mean[0]), error)
    return size


def _median_run(layout: Layout) -> Floats:
    """Median exposure from a segment's start to its readings, by family; 1 where there is none."""
    histories = layout.histories
    stepped = np.empty(len(layout.rows))
    stepped[layout.rows] = layout.step
    total = np.cumsum(stepped)
    # steps are 0 where a segment opens freely, and run from the known start elsewhere
    length = np.bincount(histories.segment, minlength=len(histories.clearance))
    before = np.concatenate([[0.0], total])[np.cumsum(length) - length]
    run = (total - before[histories.segment])[layout.rows]
    family = layout.family_of_row[run > 0]
    run = run[run > 0]
    order = np.lexsort((run, family))
    count = np.bincount(family, minlength=layout.families)
    first = np.cumsum(count) - count
    ranked = np.append(run[order], 1.0)
    low = ranked[np.where(count > 0, first + (count - 1) // 2, -1)]
    high = ranked[np.where(count > 0, first + count // 2, -1)]
    return 0.5 * (low + high)


def find_mode(
    layout: Layout, priors: Priors, start: Floats | None
) -> tuple[Floats, Curve, NDArray[np.bool_]]:
    """Newton's method for all families at once, damped where the curvature is not convex.

    A step is taken where it lowers the negative log posterior; where not, the next
    one may only be a quarter as long.
    """
    x = priors.centre @ _X_OF_THETA.T if start is None else start
    curve = posterior(layout, priors, x)
    reach = np.full(len(x), _LONGEST_STEP)
    settled = np.zeros(len(x), dtype=bool)
    for _ in range(_ROUNDS):
        step = _newton_step(curve, reach)
        size = np.linalg.norm(step, axis=1)
        settled |= size < _SETTLED
        if settled.all():
            break
        step[settled] = 0.0
        trial = posterior(layout, priors, x + step)
        better = trial.value <= curve.value + 1e-10 * (1 + np.abs(curve.value))
        x = np.where(better[:, None], x + step, x)
        curve = Curve(
            np.where(better, trial.value, curve.value),
            np.where(better[:, None], trial.slope, curve.slope),
            np.where(better[:, None, None], trial.bend, curve.bend),
        )
        reach = np.where(better, np.minimum(2 * reach, _LONGEST_STEP), size / 4)
    return x, curve, settled


def _newton_step(curve: Curve, reach: Floats) -> Floats:
    values, axes = np.linalg.eigh(curve.bend)
    along = np.einsum("fij,fi->fj", axes, curve.slope)
    along /= -np.maximum(np.abs(values), _FLATTEST)
    step = np.einsum("fij,fj->fi", axes, along)
    size = np.linalg.norm(step, axis=1)
    shortened: Floats = step * np.minimum(1.0, reach / np.maximum(size, 1e-300))[:, None]
    return shortened
