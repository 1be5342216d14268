"""One pass over reading numbers: innovations of the readings and of their exposures.

The true clearance of a segment is ``a + beta e + B(e)``, the reading adds its
error.  With variances in units of the gauge's own (``phi^2``), a filter for the
level takes in one reading after the other: gain ``P / (P + u^2)``, and between
two readings ``P`` grows by ``ratio`` times the exposure between them.  The filter
is linear, so it runs over readings and over exposures alike; the innovation for
any rate ``beta`` is then ``v - beta w``.  With a free start the first reading *is*
the level; integrating a flat intercept out leaves nothing else (de Jong, Annals of
Statistics 19 (1991) 1073-1083; Durbin & Koopman, Time Series Analysis by State
Space Methods, 2nd ed. 2012, chapter 5).  This equals generalised least squares to
rounding and needs no matrix.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from trendwear.wear.histories import Codes, Floats, Layout

__all__ = ["Evidence", "Innovations", "gather", "innovations"]


@dataclass(frozen=True)
class Innovations:
    """What each reading says beyond the readings before it, for ``R`` trial ratios.

    Rows stand in the layout's order.  Variances are in units of ``phi^2``.
    """

    of_value: Floats
    """(R, m) mm: reading less its prediction at rate 0."""
    of_exposure: Floats
    """(R, m): exposure less the prediction made of it alike."""
    variance: Floats
    """(R, m) mm^2 of the innovation; inf at a free start, which says nothing."""
    level: Floats
    """(R, S) mm: level at the end of the segment at rate 0."""
    lag: Floats
    """(R, S): how far the level follows the rate: level at rate b is level + b lag."""
    level_variance: Floats
    """(R, S) mm^2 of that level, the rate given."""


def innovations(layout: Layout, ratio: Floats) -> Innovations:
    """Run the recursion for ``ratio`` (R, S), the segments' sigma_w^2 / phi^2 in place order."""
    shape = ratio.shape
    histories = layout.histories
    start = np.nan_to_num(histories.start_value)[layout.segments]
    start_exposure = np.nan_to_num(histories.start_exposure)[layout.segments]
    level = np.broadcast_to(start, shape).copy()
    follows = np.broadcast_to(start_exposure, shape).copy()
    spread = np.zeros(shape)
    of_value = np.empty((shape[0], len(layout.value)))
    of_exposure = np.empty_like(of_value)
    variance = np.empty_like(of_value)
    for rank, rows in enumerate(layout.ranks):
        k = rows.stop - rows.start
        noise = layout.variance[rows]
        ahead = spread[:, :k] + ratio[:, :k] * layout.step[rows]
        total = ahead + noise
        gain = ahead / total
        if rank == 0:
            gain = np.where(layout.opens[rows], 1.0, gain)
            total = np.where(layout.opens[rows], np.inf, total)
        v = layout.value[rows] - level[:, :k]
        w = layout.exposure[rows] - follows[:, :k]
        level[:, :k] += gain * v
        follows[:, :k] += gain * w
        spread[:, :k] = gain * noise
        of_value[:, rows], of_exposure[:, rows], variance[:, rows] = v, w, total
    return Innovations(
        of_value, of_exposure, variance, level, layout.end_exposure - follows, spread
    )


@dataclass(frozen=True)
class Evidence:
    """Innovations summed up: all that the likelihood and the rates need."""

    information: Floats
    """(R, n): sum of w^2 / s, the precision of a clearance's own rate."""
    moment: Floats
    """(R, n): sum of w v / s."""
    squares: Floats
    """(R, F): sum of v^2 / s."""
    log_variance: Floats
    """(R, F): sum of log s."""
    count: Floats
    """(F,) how many innovations there are."""


def gather(layout: Layout, found: Innovations) -> Evidence:
    """Sum innovations by clearance and by family."""
    weight = 1.0 / found.variance
    speaks = ~layout.opens
    logs = np.zeros_like(weight)
    np.log(found.variance, where=speaks, out=logs)
    weighted = found.of_exposure * weight
    clearances, families = len(layout.histories.family), layout.families
    by_clearance, by_family = layout.clearance_of_row, layout.family_of_row
    return Evidence(
        information=_sums(weighted * found.of_exposure, by_clearance, clearances),
        moment=_sums(weighted * found.of_value, by_clearance, clearances),
        squares=_sums(weight * found.of_value**2, by_family, families),
        log_variance=_sums(logs, by_family, families),
        count=np.bincount(by_family[speaks], minlength=families).astype(np.float64),
    )


def _sums(rows: Floats, codes: Codes, groups: int) -> Floats:
    summed: NDArray[np.float64] = np.array(
        [np.bincount(codes, weights=row, minlength=groups) for row in rows]
    )
    return summed
