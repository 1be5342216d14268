"""Does a clearance wear faster than it did?  Its last interval against its own forecast.

All last readings are taken out, the families fitted to what was known before them, and
each is then held against the forecast made from that.  Among thousands of clearances
some run fast by chance: what is flagged is chosen so that of the flags 5 % are expected
to be false (Benjamini & Hochberg, J. R. Statist. Soc. B 57 (1995) 289-300).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import pandas as pd
from scipy.special import ndtr

from trendwear.trust.aside import without
from trendwear.trust.search import Doubts
from trendwear.wear.histories import Codes, Flags, Floats, Histories, lay_out
from trendwear.wear.mixture import wear_mixture
from trendwear.wear.search import WearFit, fit_at
from trendwear.wear.state import WearMixture, rows_of

__all__ = ["FALSE_SHARE", "flag_site", "paces"]

FALSE_SHARE: Final = 0.05
"""Share of false ones to be expected among the flags of a site."""

_COLUMNS: Final = [
    "position",
    "point",
    "hours",
    "last_per_1000h_mm",
    "before_per_1000h_mm",
    "before_low_mm",
    "before_high_mm",
    "p_value",
    "flag",
]


def paces(fit: WearFit, seen: pd.DataFrame, doubts: Doubts, current: Flags) -> pd.DataFrame:
    """Hold the last interval of every clearance against the forecast made before it.

    Parameters
    ----------
    fit : WearFit
        Of all readings.
    seen : DataFrame
        As `trendwear.trust.seen.seen_readings`.
    doubts : Doubts
        Readings that a usual slip explains are left out.
    current : ndarray, shape (n,)
        Which members are the present parts of their positions.

    Returns
    -------
    DataFrame
        One row a clearance that has two openings in one segment: ``position``, ``row``
        (of ``cut.points``, the later reading), ``hours`` between, ``last_per_1000h_mm``
        (wear per 1000 h from reading to reading), ``before_per_1000h_mm`` (as expected
        before, ``before_low_mm`` and ``before_high_mm`` its 5 and 95 % points for what
        was to be read), ``p_value`` (chance of a reading worn
        so far; of one so far off either way where it is limited both ways), ``flag``.
    """
    slipped = doubts.slips["factor"].notna() | (doubts.slips["partner"] >= 0)
    out = slipped.to_numpy() & doubts.aside.out
    whole = without(fit.layout.histories, replace(doubts.aside, out=out))
    kept = seen[~out].assign(segment=whole.segment).reset_index(drop=True)
    last, before = _last_intervals(kept, whole, current)
    if not len(last):
        none = pd.DataFrame({name: pd.Series(dtype="float64") for name in _COLUMNS})
        return none.astype({"position": "int64", "point": "int64", "flag": "bool"})
    known, own = _known_before(whole, last)
    mixture = wear_mixture(fit_at(lay_out(known), fit.sites, fit.noise, None))
    return _told(kept, (last, before), rows_of(mixture, own), whole)


def flag_site(p_value: Floats) -> Flags:
    """Choose what to flag among the p-values of a site; NaN is never flagged."""
    from statsmodels.stats.multitest import multipletests

    flags: Flags = np.zeros(len(p_value), dtype=bool)
    known = np.isfinite(p_value)
    if known.any():
        flags[known] = multipletests(p_value[known], alpha=FALSE_SHARE, method="fdr_bh")[0]
    return flags


def _last_intervals(kept: pd.DataFrame, whole: Histories, current: Flags) -> tuple[Codes, Codes]:
    """The first reading of each present part's last opening, and the last one before it."""
    new = (kept["segment"].diff() != 0) | (kept["exposure"].diff() != 0)
    first = np.nonzero(new.to_numpy())[0]
    follows = np.diff(whole.segment[first], prepend=-1) == 0
    last = first[follows]
    member = whole.clearance[whole.segment[last]]
    newest = (np.diff(member, append=-1) != 0) & current[member]
    last = last[newest]
    return last, last - 1


def _known_before(whole: Histories, last: Codes) -> tuple[Histories, Codes]:
    """Histories that end before the last intervals; and whose level is asked for.

    Later segments of those clearances hold nothing but starts; they go as well, so that
    the level asked for is that of the segment the interval lies in.
    """
    segment = whole.segment[last]
    ends = np.full(len(whole.family), len(whole.clearance))
    ends[whole.clearance[segment]] = segment
    keep_segment = np.arange(len(whole.clearance)) <= ends[whole.clearance]
    start = np.full(len(whole.family), len(whole.value))
    start[whole.clearance[segment]] = last
    owner = whole.clearance[whole.segment]
    keep = (np.arange(len(whole.value)) < start[owner]) & keep_segment[whole.segment]
    code = np.cumsum(keep_segment) - 1
    known = replace(
        whole,
        value=whole.value[keep],
        exposure=whole.exposure[keep],
        uncertainty=whole.uncertainty[keep],
        at_least=whole.at_least[keep],
        segment=code[whole.segment[keep]],
        clearance=whole.clearance[keep_segment],
        start_value=whole.start_value[keep_segment],
        start_exposure=whole.start_exposure[keep_segment],
    )
    return known, whole.clearance[segment]


def _told(
    kept: pd.DataFrame, ends: tuple[Codes, Codes], mixture: WearMixture, whole: Histories
) -> pd.DataFrame:
    last, before = ends
    value = kept["worn_mm"].to_numpy()[last]
    d = (whole.exposure[last] - whole.exposure[before])[:, None]
    mean = mixture.level + mixture.rate * d
    variance = mixture.var_level + 2 * mixture.cov_level_rate * d + mixture.var_rate * d**2
    variance = variance + mixture.var_wear * d
    gauge = mixture.gauge_scale * whole.uncertainty[last][:, None]
    sd = np.sqrt(variance + gauge**2)
    above = (mixture.weight * ndtr((mean - value[:, None]) / sd)).sum(axis=1)
    both = kept["both_ways"].to_numpy(dtype=bool)[last]
    p_value = np.where(both, 2 * np.minimum(above, 1 - above), above)
    hours = kept["hours"].to_numpy()[last] - kept["hours"].to_numpy()[before]
    per_1000h = 1000.0 / np.where(hours > 0, hours, np.nan)
    wear = value - kept["worn_mm"].to_numpy()[before]
    expected = (mixture.weight * mean).sum(axis=1)
    level = (mixture.weight * mixture.level).sum(axis=1)
    spread = np.sqrt((mixture.weight * (sd**2 + (mean - expected[:, None]) ** 2)).sum(axis=1))
    told = pd.DataFrame(
        {
            "position": kept["position"].to_numpy()[last],
            "point": kept["point"].to_numpy()[last],
            "hours": hours,
            "last_per_1000h_mm": wear * per_1000h,
            "before_per_1000h_mm": (expected - level) * per_1000h,
            "before_low_mm": (expected - level - 1.6449 * spread) * per_1000h,
            "before_high_mm": (expected - level + 1.6449 * spread) * per_1000h,
            "p_value": p_value,
        }
    )
    return told.assign(flag=flag_site(told["p_value"].to_numpy()))[_COLUMNS]
