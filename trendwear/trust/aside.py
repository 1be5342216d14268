"""Histories with some readings set aside, and what the others expect of every reading.

A gross slip hides itself twice: it widens its family's own scatter, and it cuts its
history with a step that never happened.  So a doubted reading is set aside, the step
it made is taken back, its family is fitted anew, and only then it is judged.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from trendwear.wear.deletion import Expected, expect_each
from trendwear.wear.histories import Flags, Floats, Histories, lay_out
from trendwear.wear.search import WearFit, fit_at

__all__ = ["Aside", "Judged", "judge_beside", "nothing_aside", "without"]

_DEAF: Final = 1e5
"""Uncertainty, over the usual one, at which a reading says nothing any more."""


@dataclass(frozen=True)
class Aside:
    """What is set aside, for the moment, of the arrays of a fit."""

    out: Flags
    """(m,) readings."""
    joined: Flags
    """(S,) segments that go on from the one before, their step taken back."""


@dataclass(frozen=True)
class Judged:
    """Every reading against all others that are not set aside.

    Attributes
    ----------
    fit : WearFit
        Of the readings that are not set aside.
    mean, true_variance, phi : ndarray, shape (m,)
        Expected worn clearance (mm), variance of the true one (mm^2), and how much worse
        the family measures than stated; NaN where the others say nothing.
    residual : ndarray, shape (m,)
        In standard deviations of a reading.
    """

    fit: WearFit
    mean: Floats
    true_variance: Floats
    phi: Floats
    residual: Floats


def nothing_aside(histories: Histories) -> Aside:
    """Keep everything."""
    return Aside(
        np.zeros(len(histories.value), dtype=bool), np.zeros(len(histories.clearance), dtype=bool)
    )


def without(histories: Histories, aside: Aside) -> Histories:
    """Return the histories without what is set aside; clearances and families stay."""
    keep = ~aside.out
    joined = _join(histories, aside.joined)
    return replace(
        joined,
        value=joined.value[keep],
        exposure=joined.exposure[keep],
        uncertainty=joined.uncertainty[keep],
        at_least=joined.at_least[keep],
        segment=joined.segment[keep],
    )


def judge_beside(fit: WearFit, aside: Aside, start: Floats | None) -> Judged:
    """Fit without what is set aside, and hold every reading against the others.

    Parameters
    ----------
    fit : WearFit
        Of all readings.
    aside : Aside
    start : ndarray, shape (F, 3), optional
        Where the search for the variances begins.
    """
    histories = fit.layout.histories
    clean = fit
    if aside.out.any() or aside.joined.any():
        clean = fit_at(lay_out(without(histories, aside)), fit.sites, fit.noise, start)
    expected = _expect(clean, _join(histories, aside.joined), aside.out)
    family = histories.family[histories.clearance[histories.segment]]
    return Judged(
        fit=clean,
        mean=expected.mean,
        true_variance=expected.true_variance,
        phi=clean.theta[family, 0],
        residual=expected.residual(histories.value),
    )


def _expect(clean: WearFit, histories: Histories, out: Flags) -> Expected:
    """Forecast each reading; those set aside stay in their places and say nothing."""
    deaf = _DEAF * float(np.median(histories.uncertainty)) if len(out) else 0.0
    heard = replace(histories, uncertainty=np.where(out, deaf, histories.uncertainty))
    expected = expect_each(replace(clean, layout=lay_out(heard)))
    phi = clean.theta[histories.family[histories.clearance[histories.segment]], 0]
    # what only deaf readings stand behind is not known
    known = expected.true_variance < (0.01 * deaf) ** 2
    true_variance = np.where(known, expected.true_variance, np.nan)
    return Expected(
        np.where(known, expected.mean, np.nan),
        true_variance,
        true_variance + (phi * histories.uncertainty) ** 2,
    )


def _join(histories: Histories, joined: Flags) -> Histories:
    """Let segments go on from the one before."""
    code = np.cumsum(~joined) - 1
    own = ~joined
    return replace(
        histories,
        segment=code[histories.segment],
        clearance=histories.clearance[own],
        start_value=histories.start_value[own],
        start_exposure=histories.start_exposure[own],
    )
