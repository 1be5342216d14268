"""Three ways to say beforehand what an opening will find: the forecast, and two simpler rules.

Each gives quantiles of the as-found reading, worn-positive, so that all three are judged
alike.  The rules: the rate of the last measured interval, carried on from the last
reading; and the own-data line, what a careful engineer would draw by hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from trendwear.forecasting.crossing import Crossing
from trendwear.hindsight.past import Then
from trendwear.wear.state import rows_of

__all__ = ["LEVELS", "RULES", "Asked", "foretold"]

Floats = NDArray[np.float64]

LEVELS: Final = (0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95)
"""Chances that the reading is less worn than the quantile."""

_SQRT3: Final = float(np.sqrt(3.0))


@dataclass(frozen=True)
class Asked:
    """What is to be said of ``n`` readings of an opening before they are taken.

    Attributes
    ----------
    position : ndarray of int, shape (n,)
    run : ndarray, shape (n,)
        Running hours since the last reading.
    u_mm : ndarray, shape (n,)
        Standard uncertainty of the reading to come.
    hours_error : ndarray, shape (n,)
        Half-width of the hours at which it was taken, where these are not exactly known.
    """

    position: NDArray[np.int64]
    run: Floats
    u_mm: Floats
    hours_error: Floats

    def reading_sd(self, rate: Floats) -> Floats:
        """What the gauge and uncertain hours add to a reading, (n,)."""
        wear = np.nan_to_num(rate) * self.hours_error / _SQRT3
        return np.asarray(np.hypot(self.u_mm, wear), dtype=float)


def foretold(rule: str, then: Then, asked: Asked) -> Floats:
    """Return quantiles (n, levels) of the readings asked for, by one of `RULES`.

    NaN where the rule has nothing to say.
    """
    return RULES[rule](then, asked)


def _by_forecast(then: Then, asked: Asked) -> Floats:
    """The family model: the very numbers of the limit forecast."""
    wear = rows_of(then.basis.wear, asked.position)
    count = len(asked.position)
    crossing = Crossing(
        wear, np.full(count, np.nan), np.ones(count), asked.run, then.basis.ahead.at(asked.position)
    )
    u = asked.reading_sd((wear.weight * wear.rate).sum(axis=1))
    return np.stack([crossing.found_at(asked.run, u, q) for q in LEVELS], axis=1)


def _by_own_line(then: Then, asked: Asked) -> Floats:
    """Weighted line through the clearance's own readings, its band that of a new reading."""
    states = then.own.states.iloc[asked.position]
    column = {name: states[name].to_numpy(dtype=float) for name in states}
    lines = [then.own.lines.get(int(position)) for position in asked.position]
    scale = np.array([1.0 if line is None else line.scale for line in lines])
    run = asked.run
    middle = column["level"] + column["rate"] * run
    variance = (
        column["var_level"]
        + 2 * np.nan_to_num(column["cov_level_rate"]) * run
        + column["rate_se"] ** 2 * run**2
        + scale * asked.reading_sd(column["rate"]) ** 2
    )
    away = stats.t.ppf(np.array(LEVELS), np.nan_to_num(column["t_dof"], nan=np.inf)[:, None])
    return np.asarray(middle[:, None] + away * np.sqrt(variance)[:, None], dtype=float)


def _by_last_interval(then: Then, asked: Asked) -> Floats:
    """The rate of the last two readings of one run, carried on; only gauges make its band."""
    pair = _last_interval(then.basis.cut.points).reindex(asked.position)
    last = then.last.iloc[asked.position]
    share = asked.run / pair["hours"].to_numpy()
    rate = pair["wear"].to_numpy() / pair["hours"].to_numpy()
    u_first, u_second = pair["u_first"].to_numpy(), pair["u_second"].to_numpy()
    same = pair["reading"].to_numpy() == last["reading"].to_numpy()
    u_last = last["u_mm"].to_numpy()
    from_here = (u_second * (1 + share)) ** 2
    from_before = u_last**2 + (u_second * share) ** 2
    variance = np.where(same, from_here, from_before) + (u_first * share) ** 2
    sd = np.sqrt(variance + asked.reading_sd(rate) ** 2)
    middle = last["worn_mm"].to_numpy() + rate * asked.run
    away = stats.norm.ppf(np.array(LEVELS))
    return np.asarray(middle[:, None] + away * sd[:, None], dtype=float)


def _last_interval(points: pd.DataFrame) -> pd.DataFrame:
    """The last two readings, apart in hours, that one segment of a position has."""
    fitted = points[points["fitted"]].sort_values(["position", "segment", "hours"], kind="stable")
    place = ["position", "segment"]
    ends = fitted.drop_duplicates([*place, "hours"], keep="last")
    before = ends.groupby(place)[["hours", "worn_mm", "u_mm"]].shift()
    pairs = pd.DataFrame(
        {
            "position": ends["position"],
            "hours": ends["hours"] - before["hours"],
            "wear": ends["worn_mm"] - before["worn_mm"],
            "u_first": before["u_mm"],
            "u_second": ends["u_mm"],
            "reading": ends["reading"],
        }
    )
    pairs = pairs.dropna(subset="hours")
    return pairs.drop_duplicates("position", keep="last").set_index("position")


RULES: Final = {
    "forecast": _by_forecast,
    "last interval's rate": _by_last_interval,
    "own-data line": _by_own_line,
}
"""The forecast, and the two simpler rules that it must beat."""
