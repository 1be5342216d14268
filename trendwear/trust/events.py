"""Wear rates before and after each event: did oil loss, wet steam or a speed change show?

Only intervals that lie wholly on one side of an event count; one that it falls into
says nothing of either.  The rates are generalised least squares of the clearance's own
readings at its family's variances, so both the gauge's and the wear's scatter are in
their bands.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from scipy.special import ndtr

from trendwear.segments.histories import Histories
from trendwear.segments.hour_line import days
from trendwear.trust.pace import flag_site
from trendwear.trust.spoken import rate_words
from trendwear.wear.histories import Floats, lay_out
from trendwear.wear.histories import Histories as Arrays
from trendwear.wear.likelihood import evidence
from trendwear.wear.search import WearFit
from trendwear.wording import fold

__all__ = ["beside_events"]

_BAND: Final = 1.6448536  # 5 and 95 % of a normal
_SIDES: Final = ("before", "after")
_COLUMNS: Final = [
    "event",
    "position",
    "date",
    "what",
    *(f"{side}{end}_mm" for side in _SIDES for end in ("", "_low", "_high")),
    "p_value",
    "flag",
    "words",
]


@dataclass(frozen=True)
class _Rates:
    """Own rates (mm per hour) of groups of readings, and their standard deviations."""

    rate: Floats
    sd: Floats


def beside_events(
    cut: Histories, fit: WearFit, seen: pd.DataFrame, events: pd.DataFrame
) -> pd.DataFrame:
    """Compare each clearance's wear rate before and after each event of its machine.

    Parameters
    ----------
    cut : Histories
    fit : WearFit
        Of all readings.
    seen : DataFrame
        Rows of `trendwear.trust.seen.seen_readings` that are to count, in their order,
        with ``u_mm`` and ``family`` as there.
    events : DataFrame
        `tables.EVENTS` on or before the day.

    Returns
    -------
    DataFrame
        One row an event and clearance with a rate on both sides: ``event`` (index of
        ``events``), ``position``, ``date``, ``what``, rates per 1000 h in mm worn with
        their 5 and 95 % points (``before_mm``, ``before_low_mm``, …, ``after_high_mm``),
        ``p_value`` (chance of so large a difference, were there none), ``flag``,
        ``words``.
    """
    pairs = _pairs(cut, events)
    sides = _by_side(pairs, seen, cut)
    rates = {side: _rates(sides[side], fit, len(pairs)) for side in _SIDES}
    told = pairs.copy()
    for side, found in rates.items():
        told[f"{side}_mm"] = 1000 * found.rate
        told[f"{side}_low_mm"] = 1000 * (found.rate - _BAND * found.sd)
        told[f"{side}_high_mm"] = 1000 * (found.rate + _BAND * found.sd)
    change = rates["after"].rate - rates["before"].rate
    z = change / np.hypot(rates["after"].sd, rates["before"].sd)
    told["p_value"] = 2 * ndtr(-np.abs(z))
    told = told[np.isfinite(z)].reset_index(drop=True)
    told["flag"] = flag_site(told["p_value"].to_numpy())
    told["words"] = pd.Series(
        [_sentence(row, cut) for row in told.to_dict("records")], dtype="object"
    )
    return told[_COLUMNS]


def _pairs(cut: Histories, events: pd.DataFrame) -> pd.DataFrame:
    """Every dated event beside every clearance it touches; between which days it lies."""
    dated = events[events["date"].notna()].rename_axis("event").reset_index()
    day = days(dated["date"])
    spread = dated["date_spread_days"].fillna(0.0)
    dated = dated.assign(begins=day - spread, ends=day + spread)
    places = cut.positions[["machine", "clearance"]].rename_axis("position").reset_index()
    pairs = dated.merge(places, on="machine", suffixes=("", "_of_position"))
    touched = [
        not isinstance(named, str) or fold(name) in fold(named)
        for named, name in zip(pairs["clearances"], pairs["clearance"], strict=True)
    ]
    pairs = pairs[np.array(touched, dtype=bool)].reset_index(drop=True)
    # an event during an opening parts what was found from what came after
    openings = cut.chronicle.openings
    within = pairs[["machine", "begins", "ends"]].rename_axis("pair").reset_index()
    within = within.merge(openings, on="machine")
    during = (within["day"] <= within["ends"]) & (within["last_day"] >= within["begins"])
    opening = within[during].groupby("pair")["opening_no"].first()
    pairs["opening_no"] = opening.reindex(pairs.index).fillna(-9).astype("int64")
    return pairs[["event", "position", "date", "what", "begins", "ends", "opening_no"]]


def _by_side(pairs: pd.DataFrame, seen: pd.DataFrame, cut: Histories) -> dict[str, pd.DataFrame]:
    """Readings before and after each event, one row a pair and reading."""
    wanted = ["position", "segment", "exposure", "hours", "worn_mm", "u_mm", "family", "order"]
    both = (
        pairs.rename_axis("pair")
        .reset_index()
        .merge(
            seen[[*wanted, "opening_no", "at_least"]],
            on="position",
            suffixes=("_of_event", ""),
        )
    )
    both = both[~both["at_least"]]
    at_opening = both["opening_no"] == both["opening_no_of_event"]
    return {
        "before": both[at_opening | (both["order"] < both["begins"])],
        "after": both[at_opening | (both["order"] > both["ends"])],
    }


def _rates(rows: pd.DataFrame, fit: WearFit, pairs: int) -> _Rates:
    """The rate of each pair from its own readings on one side; NaN where they tell none."""
    empty = np.full(pairs, np.nan)
    if rows.empty:
        return _Rates(empty, empty)
    rows = rows.sort_values(["pair", "segment", "exposure"], kind="stable")
    known, clearance = np.unique(rows["pair"].to_numpy(), return_inverse=True)
    segment = rows.groupby(["pair", "segment"], sort=True).ngroup().to_numpy()
    first = np.append(True, np.diff(segment) != 0)
    free = np.full(int(first.sum()), np.nan)
    arrays = Arrays(
        value=rows["worn_mm"].to_numpy(dtype=float),
        exposure=rows["exposure"].to_numpy(dtype=float),
        uncertainty=rows["u_mm"].to_numpy(dtype=float),
        at_least=np.zeros(len(rows), dtype=bool),
        segment=segment,
        clearance=clearance[first],
        start_value=free,
        start_exposure=free,
        family=rows["family"].to_numpy()[np.append(True, np.diff(clearance) != 0)],
        assumed_share=fit.layout.histories.assumed_share,
    )
    found = evidence(lay_out(arrays), fit.x[None, :, 0])
    information, moment = found.information[0], found.moment[0]
    tells = information > 0
    phi = fit.theta[arrays.family, 0]
    inside = ~first[1:]
    run, hours = (
        np.bincount(clearance[1:][inside], np.diff(rows[name])[inside], len(known))
        for name in ("exposure", "hours")
    )
    tells &= hours > 0
    per_hour = np.where(tells, run / np.where(tells, hours, 1.0), np.nan)
    precision = np.where(tells, information, np.nan)
    rate, sd = empty.copy(), empty.copy()
    rate[known] = per_hour * moment / precision
    sd[known] = per_hour * phi / np.sqrt(precision)
    return _Rates(rate, sd)


def _sentence(row: dict[str, Any], cut: Histories) -> str:
    unit = str(cut.positions.at[row["position"], "unit"])
    after = rate_words(row["after_mm"], unit, (row["after_low_mm"], row["after_high_mm"]))
    before = rate_words(row["before_mm"], unit, (row["before_low_mm"], row["before_high_mm"]))
    change = "no clear change"
    if row["flag"]:
        change = "faster" if row["after_mm"] > row["before_mm"] else "slower"
    return f"{row['what']}, {row['date']:%Y-%m-%d}: {after} after it, {before} before: {change}"
