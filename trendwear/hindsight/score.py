"""How good forecasts were: readings inside their bands, and how far off the middle was.

The number of readings inside a band that keeps its promise is binomial; the interval of
an observed share is that of Clopper and Pearson (Biometrika 26 (1934) 404-413).  Both
take the readings for independent.  Those of one opening are not quite, so the truth is a
little less certain than they say.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from scipy import stats

from trendwear import tables
from trendwear.hindsight.found import BANDS, quantile_columns
from trendwear.hindsight.rules import RULES
from trendwear.tables import Columns

__all__ = [
    "ALL",
    "FIRST_RUNS",
    "LATER_RUNS",
    "SCORES",
    "coverage_band",
    "due_band",
    "is_inside",
    "scores",
]

ALL: Final = "all"
FIRST_RUNS: Final = "first runs after a renewal"
LATER_RUNS: Final = "later runs"
_TAIL: Final = 0.05

SCORES: Final[Columns] = {
    "group": "text",  # ALL, FIRST_RUNS, LATER_RUNS or a family
    "is_family": "flag",
    "unit": "text",  # of all its readings, "mm" where they differ
    "rule": "text",  # of `RULES`
    "readings": "count",  # judged
    **{f"inside_{band}": "count" for band in BANDS},
    **{f"share_{band}": "number" for band in BANDS},
    **{f"low_{band}": "number" for band in BANDS},  # 90 % interval of the share
    **{f"high_{band}": "number" for band in BANDS},
    **{f"due_low_{band}": "number" for band in BANDS},  # readings inside an honest band
    **{f"due_high_{band}": "number" for band in BANDS},
    "mean_error_mm": "number",  # positive: more worn than said
    "mean_abs_error_mm": "number",
    "both": "count",  # readings that forecast and rule both speak of
    "forecast_abs_error_mm": "number",  # of the forecast, on those
    "rule_abs_error_mm": "number",  # of the rule, on those
}
"""One row a group and rule."""


def coverage_band(inside: int, readings: int) -> tuple[float, float]:
    """Return the 90 % interval of the share of readings inside a band.

    >>> low, high = coverage_band(9, 10)
    >>> round(low, 3), round(high, 3)
    (0.606, 0.995)
    """
    if readings == 0:
        return float("nan"), float("nan")
    low = stats.beta.ppf(_TAIL, inside, readings - inside + 1) if inside else 0.0
    high = stats.beta.ppf(1 - _TAIL, inside + 1, readings - inside) if inside < readings else 1.0
    return float(low), float(high)


def due_band(readings: int, band: int) -> tuple[float, float]:
    """Return how many readings of an honest ``band`` (percent) lie inside, 9 times in 10.

    >>> due_band(50, 90)
    (41.0, 48.0)
    """
    if readings == 0:
        return 0.0, 0.0
    share = band / 100
    low, high = stats.binom.ppf([_TAIL, 1 - _TAIL], readings, share)
    return float(low), float(high)


def scores(found: pd.DataFrame) -> pd.DataFrame:
    """Return `SCORES` of all readings, of first runs and later ones, and of every family.

    Parameters
    ----------
    found : DataFrame
        `trendwear.hindsight.found.FOUND`.  Readings that say only *at least* are not judged.
    """
    judged = found[~found["at_least"] & found["found_mm"].notna()]
    told = judged["forecast_p50_mm"].notna()
    families = judged[told].groupby("family").size().sort_values(ascending=False, kind="stable")
    groups = [
        (ALL, judged),
        (FIRST_RUNS, judged[judged["first_run"]]),
        (LATER_RUNS, judged[~judged["first_run"]]),
        *((name, judged[judged["family"] == name]) for name in families.index),
    ]
    rows = [
        _score(rows, rule) | {"group": name, "is_family": number > 2}
        for number, (name, rows) in enumerate(groups)
        for rule in RULES
    ]
    return tables.conform(pd.DataFrame(rows), SCORES)


def _score(rows: pd.DataFrame, rule: str) -> dict[str, object]:
    names = quantile_columns(rule)
    middle = names[len(names) // 2]
    units = rows["unit"].unique()
    both = rows[rows[middle].notna() & rows["forecast_p50_mm"].notna()]
    told = rows[rows[middle].notna()]
    error = (told["found_mm"] - told[middle]) * told["sign"]
    score: dict[str, object] = {
        "rule": rule,
        "unit": units[0] if len(units) == 1 else "mm",
        "readings": len(told),
        "mean_error_mm": error.mean(),
        "mean_abs_error_mm": error.abs().mean(),
        "both": len(both),
        "forecast_abs_error_mm": (both["found_mm"] - both["forecast_p50_mm"]).abs().mean(),
        "rule_abs_error_mm": (both["found_mm"] - both[middle]).abs().mean(),
    }
    for band in BANDS:
        inside = int(is_inside(told, rule, band).sum())
        low, high = coverage_band(inside, len(told))
        due_low, due_high = due_band(len(told), band)
        score |= {
            f"inside_{band}": inside,
            f"share_{band}": inside / len(told) if len(told) else np.nan,
            f"low_{band}": low,
            f"high_{band}": high,
            f"due_low_{band}": due_low,
            f"due_high_{band}": due_high,
        }
    return score


def is_inside(rows: pd.DataFrame, rule: str, band: int) -> pd.Series:
    """Whether each reading lies inside a rule's band; its ends belong to it."""
    low, high = (f"{round(100 * q):02d}" for q in BANDS[band])
    stem = quantile_columns(rule)[0].removesuffix("_p05_mm")
    above = rows["found_mm"] >= rows[f"{stem}_p{low}_mm"]
    return above & (rows["found_mm"] <= rows[f"{stem}_p{high}_mm"])
