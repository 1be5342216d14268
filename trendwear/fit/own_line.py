"""The own-data line: one clearance, its own readings, the line a careful engineer would draw.

All segments share one rate; each has a level of its own; readings weigh by their
uncertainties::

    y = level[segment] + rate (e - e_last[segment]) + error,   error ~ (0, scale u^2)

fitted by weighted least squares (statsmodels ``WLS``).  The stated uncertainties are
believed unless the readings scatter more: ``scale = max(1, SSR/dof)``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["OwnLine", "Start", "fit_line"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Start:
    """A start stated as exact: the line passes through it."""

    exposure: float
    level: float


@dataclass(frozen=True)
class OwnLine:
    """A fitted own-data line.

    Attributes
    ----------
    rate, rate_se : float
        Wear per unit of exposure and its standard error; NaN where no segment holds
        two readings at different exposures (or a known start and one).
    segments : tuple of int
        The segments that have a level, in order.
    last_exposure : tuple of float
        Exposure of each segment's last reading, at which its level is given.
    params : ndarray
        Levels of ``segments``, then the rate.
    cov : ndarray
        Their covariance, with ``scale`` in it.
    ssr : float
        Weighted sum of squared residuals (chi-squared when the uncertainties are right).
    dof : int
        Readings minus estimated parameters.
    scale : float
        ``max(1, ssr/dof)``.
    """

    rate: float
    rate_se: float
    segments: tuple[int, ...]
    last_exposure: tuple[float, ...]
    params: Floats
    cov: Floats
    ssr: float
    dof: int
    scale: float

    @property
    def has_rate(self) -> bool:
        """Whether the readings give a rate at all."""
        return bool(np.isfinite(self.rate))

    @property
    def t_dof(self) -> float:
        """Degrees of freedom of its quantiles: infinite where the stated uncertainties hold."""
        return float(self.dof) if self.scale > 1.0 else float("inf")

    def state(self, segment: int) -> tuple[float, float, float]:
        """Return (level, variance of level, covariance of level and rate) at the segment's end."""
        row = self.segments.index(segment)
        cov_rate = float(self.cov[row, -1]) if self.has_rate else 0.0
        return float(self.params[row]), float(self.cov[row, row]), cov_rate

    def predict(self, exposure: ArrayLike, segment: int) -> tuple[Floats, Floats]:
        """Return the line and its standard error at ``exposure`` in ``segment``."""
        level, var_level, cov_rate = self.state(segment)
        ahead = np.asarray(exposure, dtype=float) - self.last_exposure[self.segments.index(segment)]
        if not self.has_rate:
            return np.where(ahead == 0, level, np.nan), np.where(
                ahead == 0, np.sqrt(var_level), np.nan
            )
        of_rate = self.rate_se**2 * ahead**2
        variance = var_level + 2 * cov_rate * ahead + of_rate
        # At a known start the parts cancel: what is left there is rounding.
        rounding = 1e-12 * (var_level + of_rate)
        return level + self.rate * ahead, np.sqrt(np.where(variance > rounding, variance, 0.0))


def fit_line(
    exposure: ArrayLike,
    value: ArrayLike,
    uncertainty: ArrayLike,
    segment: ArrayLike | None = None,
    known_start: Mapping[int, Start] | None = None,
) -> OwnLine:
    """Fit the own-data line of one clearance.

    Parameters
    ----------
    exposure : array of float, shape (n,)
        Exposure (running hours, say) at which each reading was taken.
    value : array of float, shape (n,)
        The readings, in any unit of length.
    uncertainty : array of float, shape (n,)
        One standard uncertainty of each, in the same unit, above 0.
    segment : array of int, shape (n,), optional
        The segment of each reading; all in one where not given.
    known_start : mapping of segment to Start, optional
        Segments whose start is known exactly.

    Raises
    ------
    ValueError
        An uncertainty that is not above 0, or arrays of different lengths.

    Examples
    --------
    >>> line = fit_line([0, 8000], [0.20, 0.28], [0.005, 0.005])
    >>> round(line.rate * 1000, 4), round(line.rate_se * 1000, 6)
    (0.01, 0.000884)
    """
    e, y, u = (np.asarray(part, dtype=float) for part in (exposure, value, uncertainty))
    labels = np.ones(len(e), dtype=int) if segment is None else np.asarray(segment, dtype=int)
    if not len(e) == len(y) == len(u) == len(labels):
        raise ValueError("exposure, value, uncertainty and segment differ in length")
    if not (u > 0).all():
        raise ValueError("every uncertainty must be above 0; give an exact start as known_start")
    starts = dict(known_start or {})
    names = sorted(set(labels.tolist()) | set(starts))
    last = {name: _last(e[labels == name], starts.get(name)) for name in names}
    return _Design(e, y, u, labels, starts, last).fit()


def _last(exposure: Floats, start: Start | None) -> float:
    seen = exposure.max(initial=-np.inf)
    return float(max(seen, start.exposure) if start else seen)


@dataclass(frozen=True)
class _Design:
    """The weighted regression behind a line; exposure is scaled so that columns are alike."""

    e: Floats
    y: Floats
    u: Floats
    labels: NDArray[np.int_]
    starts: dict[int, Start]
    last: dict[int, float]

    def fit(self) -> OwnLine:
        free = [name for name in self.last if name not in self.starts]
        level_columns = [(self.labels == name).astype(float) for name in free]
        known = np.isin(self.labels, list(self.starts))
        from_start = np.array([self._start(name).exposure for name in self.labels])
        at_last = np.array([self.last[name] for name in self.labels])
        run = np.where(known, self.e - from_start, self.e - at_last)
        target = self.y - np.array([self._start(name).level for name in self.labels])
        unit = np.abs(run).max(initial=0.0)
        has_rate = self._tells_rate(known)
        columns = level_columns + ([run / unit] if has_rate else [])
        design = np.column_stack(columns) if columns else np.empty((len(self.e), 0))
        params, cov, ssr = _least_squares(target, design, self.u)
        dof = len(self.e) - design.shape[1]
        scale = max(1.0, ssr / dof) if dof > 0 else 1.0
        if has_rate:
            params[-1] /= unit
            cov[-1, :] /= unit
            cov[:, -1] /= unit
        else:
            params = np.append(params, np.nan)
            cov = np.pad(cov, ((0, 1), (0, 1)), constant_values=np.nan)
        params, cov = self._with_known(free, params, cov * scale)
        return OwnLine(
            rate=float(params[-1]),
            rate_se=float(np.sqrt(cov[-1, -1])),
            segments=tuple(self.last),
            last_exposure=tuple(self.last.values()),
            params=params,
            cov=cov,
            ssr=ssr,
            dof=dof,
            scale=scale,
        )

    def _start(self, name: int) -> Start:
        return self.starts.get(int(name), Start(0.0, 0.0))

    def _tells_rate(self, known: NDArray[np.bool_]) -> bool:
        """Whether any segment spans some exposure."""
        for name in self.last:
            inside = self.e[self.labels == name]
            ends = np.append(inside, self.starts[name].exposure) if name in self.starts else inside
            if len(inside) and np.ptp(ends) > 0:
                return True
        return False

    def _with_known(self, free: list[int], params: Floats, cov: Floats) -> tuple[Floats, Floats]:
        """Add the levels of segments with a known start: start + rate (e_last - e_start)."""
        to_all = np.zeros((len(self.last) + 1, len(params)))
        constant = np.zeros(len(self.last) + 1)
        for row, name in enumerate(self.last):
            if name in self.starts:
                run = self.last[name] - self.starts[name].exposure
                constant[row] = self.starts[name].level
                if run:
                    to_all[row, -1] = run
            else:
                to_all[row, free.index(name)] = 1.0
        to_all[-1, -1] = 1.0
        if np.isnan(params[-1]):  # no rate: nothing may depend on it
            known_only = to_all[:, :-1]
            out = np.append((constant + known_only @ params[:-1])[:-1], np.nan)
            wide = known_only @ cov[:-1, :-1] @ known_only.T
            wide[-1, :] = wide[:, -1] = np.nan
            return out, wide
        return constant + to_all @ params, to_all @ cov @ to_all.T


def _least_squares(y: Floats, design: Floats, u: Floats) -> tuple[Floats, Floats, float]:
    """Parameters, covariance at scale 1 and weighted sum of squares, by statsmodels WLS."""
    if not design.shape[1]:
        return np.empty(0), np.empty((0, 0)), float(((y / u) ** 2).sum())
    from statsmodels.regression.linear_model import WLS

    fit = WLS(y, design, weights=u**-2.0).fit(
        method="qr", cov_type="fixed scale", cov_kwds={"scale": 1.0}
    )
    return np.array(fit.params), np.array(fit.cov_params()), float(fit.ssr)
