"""Readings that only say *worn at least so far*, as normal readings that say the same.

A one-sided reading at ``c`` has the likelihood ``Phi((x - c) / (phi u))``.  Given
what all other readings say of ``x``, it is replaced by the normal factor that
leaves mean and variance of ``x`` as the true likelihood leaves them; this is
repeated until nothing moves (expectation propagation: Minka, UAI 2001, 362-369;
formulas as in Rasmussen & Williams, Gaussian Processes for Machine Learning, MIT
Press 2006, section 3.6).  Where these factors stand still, the likelihood's slope in
the variances is that with the factors held fixed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from trendwear.wear.deletion import expect_each
from trendwear.wear.histories import Codes, Floats, Histories
from trendwear.wear.search import Sites, WearFit

__all__ = ["Stand", "moved", "no_sites", "stand_in"]

_WIDEST = 1e4  # of a factor's standard deviation over that of the forecast reading


@dataclass(frozen=True)
class Stand:
    """Histories whose one-sided readings are replaced, and what that leaves out."""

    histories: Histories
    sites: Sites


def no_sites(families: int) -> Sites:
    """Sites where no reading is one-sided."""
    return Sites(np.zeros(families), np.zeros(families))


def stand_in(written: Histories, fit: WearFit) -> Stand:
    """Replace the one-sided readings of ``written``, given a fit with their last stand-ins.

    A one-sided reading of which no other reading says anything stays as written.
    """
    families = len(written.assumed_share)
    expected = expect_each(fit)
    rows = np.nonzero(written.at_least & np.isfinite(expected.true_variance))[0]
    family = written.family[written.clearance[written.segment[rows]]]
    phi = fit.theta[family, 0]
    mean, variance = expected.mean[rows], expected.true_variance[rows]
    bound = written.value[rows]
    gauge_variance = (phi * written.uncertainty[rows]) ** 2
    total = variance + gauge_variance
    root = np.sqrt(total)
    z = (mean - bound) / root
    hazard = np.exp(-0.5 * z**2 - 0.5 * np.log(2 * np.pi) - log_ndtr(z))
    bend = hazard * (z + hazard) / total
    bend = np.clip(bend, 1.0 / (_WIDEST**2 * total), (1 - 1e-9) / np.maximum(variance, 1e-300))
    site_variance = 1.0 / bend - variance
    site = mean + np.minimum(root / (z + hazard), _WIDEST * root)

    value, uncertainty = written.value.copy(), written.uncertainty.copy()
    value[rows] = site
    uncertainty[rows] = np.sqrt(site_variance) / phi
    after = mean + variance * hazard / root
    after_variance = variance - variance**2 * bend
    pull = ((site - after) ** 2 + after_variance) / site_variance - 1.0
    pull += hazard * z * gauge_variance / total
    joint = variance + site_variance
    as_reading = -0.5 * (np.log(2 * np.pi * joint) + (site - mean) ** 2 / joint)
    return Stand(
        replace(written, value=value, uncertainty=uncertainty),
        Sites(
            _by_family(pull, family, families),
            _by_family(log_ndtr(z) - as_reading, family, families),
        ),
    )


def _by_family(terms: Floats, family: Codes, families: int) -> Floats:
    summed: Floats = np.bincount(family, weights=terms, minlength=families).astype(np.float64)
    return summed


def moved(before: Histories, after: Histories) -> Floats:
    """(m,) how far each stand-in moved, in units of its own standard deviation."""
    far: Floats = np.abs(after.value - before.value) / after.uncertainty
    far += np.abs(np.log(after.uncertainty / before.uncertainty))
    return far
