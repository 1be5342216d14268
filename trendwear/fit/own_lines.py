"""The own-data lines of all clearances, and what they say of each at its last reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from trendwear.fit.own_line import OwnLine, Start, fit_line
from trendwear.segments.histories import Histories

__all__ = ["OwnLines", "own_lines"]

SQRT3: Final = float(np.sqrt(3.0))

SCATTER_OF_WEAR: Final = 0.2
"""Scatter of the wear of one run, as a share of that wear, where nothing else is known."""

_STATE: Final = [
    "rate",
    "rate_se",
    "level",
    "var_level",
    "cov_level_rate",
    "t_dof",
    "var_wear",
    "last_hours",
    "segment",
]

_OF_LINE: Final = ["position", "segment", "hours", "hours_error", "worn_mm", "u_mm", "at_least"]


@dataclass(frozen=True)
class OwnLines:
    """Own-data lines by position.

    Attributes
    ----------
    lines : dict of int to OwnLine
        Only clearances with a fitted reading or a known start.
    states : DataFrame
        One row a position: ``rate``, ``rate_se`` (mm per hour, towards the limit),
        ``level``, ``var_level``, ``cov_level_rate`` (of the current segment at
        ``last_hours``; NaN where it holds nothing), ``t_dof``, ``var_wear`` (mm^2 per
        hour), ``last_hours`` (of the current segment's last reading or known start,
        else of the work that began it), ``segment`` (the current one, 0: none).
    bounds_used : set of int
        Rows of ``points`` that say *at least* and were taken at their bound.
    """

    lines: dict[int, OwnLine]
    states: pd.DataFrame
    bounds_used: set[int]


def own_lines(cut: Histories) -> OwnLines:
    """Fit the own-data line of every clearance; exposure is running hours."""
    lines: dict[int, OwnLine] = {}
    bounds_used: set[int] = set()
    # only these columns: taking rows of a frame costs by its columns
    usable = cut.points.loc[cut.points["fitted"] & ~cut.points["exact"], _OF_LINE]
    rows_of = usable.groupby("position").groups
    starts_of = _known_starts(cut.segments)
    for position in cut.positions.index:
        starts = starts_of.get(position, {})
        points = usable.loc[rows_of[position]] if position in rows_of else usable.iloc[:0]
        if points.empty and not starts:
            continue
        line, used = _fit_with_bounds(points, starts)
        lines[position] = line
        bounds_used |= used
    return OwnLines(lines, _states(cut, lines), bounds_used)


def _known_starts(segments: pd.DataFrame) -> dict[int, dict[int, Start]]:
    known = segments[segments["known_start_mm"].notna()]
    starts: dict[int, dict[int, Start]] = {}
    for row in known.itertuples():
        start = Start(row.start_hours, row.known_start_mm)
        starts.setdefault(row.position, {})[row.segment] = start
    return starts


def _fit_with_bounds(points: pd.DataFrame, starts: dict[int, Start]) -> tuple[OwnLine, set[int]]:
    """Fit; a reading that says only *at least* counts where the line would lie below it.

    Left out altogether it would flatter the rate; taken always it would cap it.
    """
    firm = points[~points["at_least"]]
    bounds = points[points["at_least"]]
    if bounds.empty:
        return _fit(firm, starts), set()
    if firm.empty and not starts:
        return _fit(bounds, starts), set(bounds.index)
    line = _fit(firm, starts)
    used = [
        row.Index
        for row in bounds.itertuples()
        if not line.has_rate
        or row.segment not in line.segments
        or float(line.predict(row.hours, row.segment)[0]) < row.worn_mm
    ]
    if used:
        line = _fit(points.loc[firm.index.union(used)], starts)
    return line, set(used)


def _fit(points: pd.DataFrame, starts: dict[int, Start]) -> OwnLine:
    hours, worn = points["hours"].to_numpy(), points["worn_mm"].to_numpy()
    u, segment = points["u_mm"].to_numpy(), points["segment"].to_numpy()
    error = points["hours_error"].to_numpy() / SQRT3
    line = fit_line(hours, worn, u, segment, starts)
    if line.has_rate and (error > 0).any():
        # Hours that are uncertain make the reading uncertain by what it wears in them.
        line = fit_line(hours, worn, np.hypot(u, line.rate * error), segment, starts)
    return line


def _states(cut: Histories, lines: dict[int, OwnLine]) -> pd.DataFrame:
    current = cut.segments.groupby("position").tail(1).set_index("position")
    spans = _median_span(cut)
    rows = []
    for position in cut.positions.index:
        segment, start_hours = 0, np.nan
        if position in current.index:
            segment = int(current.at[position, "segment"])
            start_hours = float(current.at[position, "start_hours"])
        state = _state_of(lines.get(position), segment, spans.get(position, np.nan))
        if np.isnan(state["last_hours"]):
            state["last_hours"] = start_hours
        rows.append(state | {"segment": segment})
    return pd.DataFrame(rows, index=cut.positions.index, columns=_STATE)


def _state_of(line: OwnLine | None, segment: int, span: float) -> dict[str, float]:
    """What a line says of its clearance at the end of ``segment``."""
    state = dict.fromkeys(_STATE, np.nan) | {"t_dof": np.inf}
    if line is None:
        return state
    state |= {"rate": line.rate, "rate_se": line.rate_se, "t_dof": line.t_dof}
    state["var_wear"] = _scatter(line) * span
    if segment in line.segments:
        level, var_level, cov = line.state(segment)
        state |= {"level": level, "var_level": var_level, "cov_level_rate": cov}
        state["last_hours"] = line.last_exposure[line.segments.index(segment)]
    return state


def _scatter(line: OwnLine) -> float:
    """Variance of wear per hour, over the hours of a usual segment."""
    steady = max(abs(line.rate), line.rate_se)
    return (SCATTER_OF_WEAR * steady) ** 2


def _median_span(cut: Histories) -> dict[int, float]:
    """Median hours of a clearance's segments that span any."""
    fitted = cut.points[cut.points["fitted"]]
    hours = fitted.groupby(["position", "segment"])["hours"]
    span = hours.max() - hours.min()
    span = span[span > 0]
    return dict(span.groupby("position").median())
