"""Search for the most probable variances of every family, all families in lockstep."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from trendwear.wear.histories import Codes, Floats, Layout, lay_out, of_families
from trendwear.wear.likelihood import THETA_OF_X, Curve, Priors, posterior
from trendwear.wear.priors import DEFAULT_NOISE, Noise, noise_share, priors_of

__all__ = ["Sites", "WearFit", "find_mode", "fit_at", "fit_standing", "usual_noise"]

_ENOUGH_FAMILIES: Final = 10
_ENOUGH_FREEDOM: Final = 20
_X_OF_THETA: Final = np.linalg.inv(THETA_OF_X)
_ROUNDS: Final = 100
_SETTLED: Final = 1e-7
_FLATTEST: Final = 0.1
_LONGEST_STEP: Final = 1.5


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


def fit_at(layout: Layout, sites: Sites, noise: Noise, start: Floats | None = None) -> WearFit:
    """Fit all families with this prior centre of the wear noise, from ``start`` (F, 3) in x."""
    priors = replace(priors_of(layout, noise), pull=sites.pull)
    x, curve, settled = find_mode(layout, priors, start)
    return _fit(layout, sites, noise, (priors, x, curve, settled))


def fit_standing(
    layout: Layout, sites: Sites, noise: Noise, rest: tuple[Floats, NDArray[np.bool_]]
) -> WearFit:
    """Return the fit at x (F, 3) where searches that settled, or not (F,), had come to ``rest``."""
    x, settled = rest
    priors = replace(priors_of(layout, noise), pull=sites.pull)
    return _fit(layout, sites, noise, (priors, x, posterior(layout, priors, x), settled))


def _fit(
    layout: Layout,
    sites: Sites,
    noise: Noise,
    found: tuple[Priors, Floats, Curve, NDArray[np.bool_]],
) -> WearFit:
    priors, x, curve, settled = found
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


def usual_noise(fit: WearFit) -> Noise:
    """Return the prior centre of the wear noise that families fitted under the default teach.

    Where ten or more families have 20 or more restricted degrees of freedom, it is what
    is typical of them, to two significant digits: a finer figure would say nothing of a
    prior whose log has a standard deviation of 0.7, but would have every family of a
    site searched again at each reading.
    """
    rich = (fit.freedom >= _ENOUGH_FREEDOM) & fit.settled
    if np.count_nonzero(rich) < _ENOUGH_FAMILIES:
        return DEFAULT_NOISE
    share = np.median(noise_share(fit.layout, fit.theta[:, 1])[rich])
    return Noise(float(f"{share:.2g}"), int(np.count_nonzero(rich)))


def find_mode(
    layout: Layout, priors: Priors, start: Floats | None
) -> tuple[Floats, Curve, NDArray[np.bool_]]:
    """Newton's method for all families at once, damped where the curvature is not convex.

    A step is taken where it lowers the negative log posterior; where not, the next
    one may only be a quarter as long.  A last step too short to matter is taken without
    a look, so that families end at the same place in whatever company.  Once half of
    the families have come to rest, the rest go on without them.
    """
    x = priors.centre @ _X_OF_THETA.T if start is None else start.copy()
    curve = posterior(layout, priors, x)
    reach = np.full(len(x), _LONGEST_STEP)
    settled = np.zeros(len(x), dtype=bool)
    going = np.arange(len(x))
    for _ in range(_ROUNDS):
        step = _newton_step(_curve_of(curve, going), reach[going])
        size = np.linalg.norm(step, axis=1)
        moves = (size >= _SETTLED) & ~settled[going]
        resting = ~moves & ~settled[going]
        x[going[resting]] += step[resting]
        settled[going[~moves]] = True
        if not moves.any():
            break
        if 2 * np.count_nonzero(moves) <= len(going):
            layout = lay_out(of_families(layout.histories, moves))
            priors = Priors(priors.centre[moves], priors.sd[moves], priors.pull[moves])
            going, step, size, moves = going[moves], step[moves], size[moves], moves[moves]
        step[~moves] = 0.0
        trial = posterior(layout, priors, x[going] + step)
        better = trial.value <= curve.value[going] + 1e-10 * (1 + np.abs(curve.value[going]))
        taken = going[better]
        x[taken] += step[better]
        curve.value[taken] = trial.value[better]
        curve.slope[taken] = trial.slope[better]
        curve.bend[taken] = trial.bend[better]
        reach[going] = np.where(better, np.minimum(2 * reach[going], _LONGEST_STEP), size / 4)
    return x, curve, settled


def _curve_of(curve: Curve, families: Codes) -> Curve:
    return Curve(curve.value[families], curve.slope[families], curve.bend[families])


def _newton_step(curve: Curve, reach: Floats) -> Floats:
    values, axes = np.linalg.eigh(curve.bend)
    along = np.einsum("fij,fi->fj", axes, curve.slope)
    along /= -np.maximum(np.abs(values), _FLATTEST)
    step = np.einsum("fij,fj->fi", axes, along)
    size = np.linalg.norm(step, axis=1)
    shortened: Floats = step * np.minimum(1.0, reach / np.maximum(size, 1e-300))[:, None]
    return shortened
