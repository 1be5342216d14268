"""What all other readings expect of each reading: the reading left out of its own forecast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from trendwear.wear.histories import Floats, Histories, lay_out
from trendwear.wear.likelihood import pool
from trendwear.wear.recursion import Innovations, gather, innovations
from trendwear.wear.search import WearFit

__all__ = ["Expected", "expect_each"]


@dataclass(frozen=True)
class Expected:
    """Each reading as all the others expect it; NaN where they say nothing of it.

    Rows stand in the order of the histories.
    """

    mean: Floats
    """(m,) mm: expected true clearance, and so expected reading."""
    true_variance: Floats
    """(m,) mm^2 of the true clearance."""
    reading_variance: Floats
    """(m,) mm^2 of a reading of it."""

    def residual(self, value: Floats) -> Floats:
        """(m,) deletion residuals of the readings ``value``, in standard deviations."""
        deviation: Floats = (value - self.mean) / np.sqrt(self.reading_variance)
        return deviation


def expect_each(fit: WearFit) -> Expected:
    """Forecast each reading from all others, at the most probable variances.

    The reading's level comes from the pass up to it and from the same pass run
    backwards; what it told of the rates of its clearance and family is taken out
    again (leave-one-out of a linear model: de Jong, Annals of Statistics 16 (1988)
    600-616).
    """
    layout = fit.layout
    ahead = innovations(layout, np.exp(2 * fit.x[:, 0])[None, layout.family_of_segment])
    level, follows, spread = _from_both_sides(fit, ahead)
    noise = layout.variance
    surprise, lag = layout.value - level, layout.exposure - follows
    weight = 1.0 / (spread + noise)

    given = gather(layout, ahead)
    pooled = pool(layout, given, fit.x[:, 1])
    own, family = layout.clearance_of_row, layout.family_of_row
    kappa = np.exp(2 * fit.x[:, 1])[family]
    whole, whole_moment = given.information[0][own], given.moment[0][own]
    information = np.maximum(whole - lag**2 * weight, 0.0)
    moment = whole_moment - lag * surprise * weight
    rest, whole_rest = 1 / (1 + kappa * information), 1 / (1 + kappa * whole)
    members = pooled.weight[0][family] - whole * whole_rest
    total = members + information * rest
    leaning = pooled.mean[0][family] * pooled.weight[0][family]
    leaning += moment * rest - whole_moment * whole_rest
    # below rounding of what was taken out, nothing is left
    speaks = total > 1e-10 * pooled.weight[0][family]
    mean_rate = np.where(speaks, leaning / np.where(speaks, total, 1.0), np.nan)
    rate = (kappa * moment + mean_rate) * rest
    rate_variance = kappa * rest + rest**2 / np.where(speaks, total, np.nan)

    alone = np.isinf(spread)
    mean = np.where(lag == 0.0, level, level + lag * rate)
    variance = np.where(lag == 0.0, spread, spread + lag**2 * rate_variance)
    phi_squared = np.exp(2 * fit.x[:, 2])[family]
    mean[alone] = variance[alone] = np.nan
    back = np.argsort(layout.rows)
    true_variance = phi_squared * variance
    return Expected(mean[back], true_variance[back], (true_variance + phi_squared * noise)[back])


def _from_both_sides(fit: WearFit, ahead: Innovations) -> tuple[Floats, Floats, Floats]:
    """Level at rate 0, exposure followed alike, and variance, from before and after."""
    layout = fit.layout
    reversed_layout = lay_out(_backwards(layout.histories))
    ratio = np.exp(2 * fit.x[:, 0])[None, reversed_layout.family_of_segment]
    behind = innovations(reversed_layout, ratio)
    # the reversed layout's places, in this layout's order
    mirror = np.empty(len(layout.rows), dtype=np.int64)
    mirror[len(mirror) - 1 - reversed_layout.rows] = np.arange(len(mirror))
    there = mirror[layout.rows]
    before = ahead.variance[0] - layout.variance
    after = behind.variance[0][there] - layout.variance
    with np.errstate(invalid="ignore"):
        share = np.where(np.isinf(after), 1.0, after / (before + after))
        spread = np.where(np.isinf(after), before, after * before / (before + after))
    share = np.where(np.isinf(before), 0.0, share)
    spread = np.where(np.isinf(before), after, spread)
    surprise = share * ahead.of_value[0] + (1 - share) * behind.of_value[0][there]
    lag = share * ahead.of_exposure[0] - (1 - share) * behind.of_exposure[0][there]
    return layout.value - surprise, layout.exposure - lag, spread


def _backwards(histories: Histories) -> Histories:
    """The same readings seen from their ends: exposure turned, no known starts."""
    segments = len(histories.clearance)
    return Histories(
        value=histories.value[::-1],
        exposure=-histories.exposure[::-1],
        uncertainty=histories.uncertainty[::-1],
        at_least=histories.at_least[::-1],
        segment=segments - 1 - histories.segment[::-1],
        clearance=len(histories.family) - 1 - histories.clearance[::-1],
        start_value=np.full(segments, np.nan),
        start_exposure=np.full(segments, np.nan),
        family=histories.family[::-1],
        assumed_share=histories.assumed_share,
    )
