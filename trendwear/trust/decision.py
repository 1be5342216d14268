"""Is a clearance past its limit, given how uncertain its reading is?

The true clearance given one reading is taken as normal about it (JCGM 106:2012, 7.3.3);
a verdict needs 95 %, one-sided, and between the two verdicts nothing is decided
(the zones of ISO 14253-1).
"""

from __future__ import annotations

from enum import Enum
from typing import Final

import numpy as np
import pandas as pd
from scipy.special import ndtr, ndtri

from trendwear.fit.family_fit import FamilyFit
from trendwear.segments.histories import Histories
from trendwear.wear.histories import Flags, Floats

__all__ = ["SURE", "Verdict", "chance_within", "decide", "decisions", "verdicts", "zones"]

SURE: Final = 0.95
"""Chance that a verdict needs (ISO 14253-1:2017 takes 95 % by default: from memory)."""


class Verdict(Enum):
    """What a reading says of its limit."""

    CONFORMS = "conforms"
    UNDECIDED = "undecided"
    PAST = "past"


def chance_within(value: Floats, u: Floats, limit: Floats, side: Floats) -> Floats:
    """Chance that the true clearance is within its limit.

    Parameters
    ----------
    value, u, limit : ndarray
        Reading, its standard uncertainty, and the limit, in one unit.
    side : ndarray
        1 for an upper limit, -1 for a lower one.

    Examples
    --------
    >>> chance_within(np.array([-5.47]), np.array([0.05]), np.array([-5.40]), np.array([1.0]))
    array([0.91924334])
    """
    gap = side * (np.asarray(limit) - value)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(u > 0, gap / u, np.where(gap >= 0, np.inf, -np.inf))
    within: Floats = ndtr(np.where(np.isnan(gap), np.nan, z))
    return within


def decide(within: Floats) -> list[str | None]:
    """Turn chances of being within the limit into verdicts; None where there is no chance."""
    told = np.select(
        [np.isnan(within), within >= SURE, within <= 1 - SURE],
        ["", Verdict.CONFORMS.value, Verdict.PAST.value],
        Verdict.UNDECIDED.value,
    )
    return [str(words) or None for words in told]


def zones(limit: float, u: float, side: float) -> tuple[float, float]:
    """Return the readings up to which it is within the limit and from which past it.

    >>> nearly = zones(350.0, 55.0 / float(ndtri(SURE)), 1.0)
    >>> [round(end, 6) for end in nearly]
    [295.0, 405.0]
    """
    guard = float(ndtri(SURE)) * u
    return limit - side * guard, limit + side * guard


def decisions(register: pd.DataFrame, cut: Histories, families: FamilyFit) -> pd.DataFrame:
    """Judge the last reading of every register row against its limit.

    Returns
    -------
    DataFrame
        Index as ``register``: ``position``, ``point`` (row of ``cut.points``, -1 where the
        current segment has no reading), ``value_mm``, ``u_mm`` (as stated, times how
        much worse its family proves to measure), ``limit_mm``, ``side``, ``within``
        (chance), ``verdict``.  A reading that says *at least* can only be past.
    """
    key = pd.MultiIndex.from_frame(cut.positions[["machine", "clearance"]])
    at = key.get_indexer(pd.MultiIndex.from_frame(register[["machine", "clearance"]]))
    fitted = cut.points[cut.points["fitted"].astype(bool)]
    current = cut.segments.groupby("position")["segment"].last()
    fitted = fitted[fitted["segment"] == fitted["position"].map(current)]
    last = fitted.sort_values(["position", "hours"], kind="stable")
    last = last.drop_duplicates("position", keep="last").rename_axis("point").reset_index()
    last = last.set_index("position")[["point", "value_mm", "u_mm", "at_least"]].reindex(at)
    scale = (families.wear.weight * families.wear.gauge_scale).sum(axis=1)[at]
    side = np.where(register["moves"] == "opens", 1.0, -1.0)
    told = pd.DataFrame(
        {
            "position": at,
            "point": last["point"].fillna(-1).astype("int64").to_numpy(),
            "value_mm": last["value_mm"].to_numpy(),
            "u_mm": last["u_mm"].to_numpy() * np.where(np.isnan(scale), 1.0, scale),
            "limit_mm": register["limit_mm"].to_numpy(),
            "side": side,
        },
        index=register.index,
    )
    within = chance_within(
        *(told[name].to_numpy() for name in ("value_mm", "u_mm", "limit_mm", "side"))
    )
    towards_limit = np.equal(side, cut.positions["sign"].to_numpy(dtype=float)[at])
    bound = np.logical_and(last["at_least"].eq(other=True).to_numpy(), towards_limit)
    told["within"] = within
    verdict = verdicts(within, bound)
    return told.assign(verdict=pd.Series(verdict, index=told.index, dtype="object"))


def verdicts(within: Floats, bound: Flags) -> list[str | None]:
    """As `decide`, where a reading that is only a bound can never show it within."""
    open_yet = np.where(bound & (within > 1 - SURE), 0.5, within)
    return decide(np.where(np.isnan(within), np.nan, open_yet))
