"""Readings that alone make an unexplained step: without them the history goes on.

A reading far too large is followed by one that is less worn, and one far too small
comes as less worn itself; either way the history is cut at a step nobody explained.
If the reading is set aside and its neighbours agree, it may be the reading that is
wrong, not the work that was not written down.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from trendwear.segments.cutting import FOUND_LESS_WORN, STEP
from trendwear.segments.histories import Histories
from trendwear.wear.histories import Flags
from trendwear.wear.histories import Histories as Arrays

__all__ = ["can_go_on", "openings_at_steps", "steps_taken_back"]

_NO_SHIM: Final = 1e-9  # mm


def can_go_on(cut: Histories, arrays: Arrays, seen: pd.DataFrame) -> Flags:
    """(S,) whether a segment could go on from the one before, were its step not real.

    It begins with an unexplained step, has the same part, no exactly stated start and
    no shim of its own, and follows in exposure too.
    """
    told = cut.segments.sort_values(["position", "segment"])
    steps = (told["cause"] == STEP).to_numpy()
    same = np.diff(arrays.clearance, prepend=-1) == 0
    every = range(len(steps))
    shift = seen["shift_mm"].abs().groupby(seen["segment"]).max().reindex(every, fill_value=0.0)
    exposure = seen["exposure"].groupby(seen["segment"])
    end = exposure.max().reindex(every)
    end_before = end.groupby(arrays.clearance).ffill().groupby(arrays.clearance).shift()
    falls = (exposure.min().reindex(every) < end_before).to_numpy(dtype=bool)
    able: Flags = (
        steps & same & np.isnan(arrays.start_value) & (shift < _NO_SHIM).to_numpy() & ~falls
    )
    return able


def openings_at_steps(seen: pd.DataFrame, able: Flags) -> pd.DataFrame:
    """Return the readings next to steps that may be taken back.

    Readings of one opening that no step parts count as one.

    Returns
    -------
    DataFrame
        One row a reading: ``reading`` (index of ``seen``), ``opening`` (number of those
        that stand or fall together), ``sure`` (it lies outside its neighbours, and they
        agree), ``likely`` (of the readings at its step the one more surely wrong),
        ``goes_on_before``, ``goes_on_after`` (the steps to take back with it),
        ``before``, ``after`` (index of the neighbouring readings, -1: none).
    """
    opened = _openings(seen, able)
    runs = opened["run"]
    _weigh(opened)
    odd = opened["odd"]
    least, most = odd.shift(fill_value=0.0), odd.shift(-1, fill_value=0.0)
    likely = (odd > 0) & (~opened["step_before"] | (odd > least) | (least == 0))
    likely &= ~opened["step_after"] | (odd >= most)
    _steps_taken_back(opened)
    opened = opened.assign(
        likely=likely,
        before=opened["last"].groupby(runs).shift(fill_value=-1),
        after=opened["first"].groupby(runs).shift(-1, fill_value=-1),
    )
    chosen = opened[opened["step_before"] | opened["step_after"]]
    readings = chosen.loc[np.repeat(chosen.index, chosen["size"])]
    inside = readings.groupby(level=0).cumcount()
    readings = readings.assign(reading=readings["first"] + inside, opening=readings.index)
    wanted = ["reading", "opening", "sure", "likely", "before", "after"]
    return readings[[*wanted, "goes_on_before", "goes_on_after"]].reset_index(drop=True)


def steps_taken_back(seen: pd.DataFrame, able: Flags, sides: tuple[Flags, Flags]) -> Flags:
    """(S,) the steps before readings of the first flags, and after those of the second."""
    before, after = sides
    segment = seen["segment"].to_numpy()
    back: Flags = np.zeros(len(able) + 1, dtype=bool)
    begins = np.diff(segment, prepend=-1) != 0
    ends = np.diff(segment, append=-1) != 0
    back[segment[begins & before]] = True
    # the segment that follows with a reading; empty ones between belong to other work
    follows = np.append(segment[1:], len(able))
    back[follows[ends & after]] = True
    return back[:-1] & able


def _openings(seen: pd.DataFrame, able: Flags) -> pd.DataFrame:
    """Openings as the arrays have them, in runs that only steps to take back part."""
    new = (seen["segment"].diff() != 0) | (seen["exposure"].diff() != 0)
    told = seen.assign(worn=seen["sign"] * seen["value_mm"] + seen["shift_mm"])
    opened = told.groupby(new.cumsum() - 1).agg(
        segment=("segment", "first"),
        family=("family", "first"),
        state=("state", "first"),
        worn=("worn", "mean"),
        u=("u_mm", "max"),
        size=("point", "size"),
    )
    first = opened["size"].cumsum() - opened["size"]
    run = pd.Series(np.cumsum(~able)[opened["segment"].to_numpy()], index=opened.index)
    at_step = (run.diff() == 0) & (opened["segment"].diff() != 0)
    return opened.assign(
        first=first,
        last=first + opened["size"] - 1,
        run=run,
        step_before=at_step,
        step_after=at_step.shift(-1, fill_value=False),
    )


def _weigh(opened: pd.DataFrame) -> None:
    """How surely an opening made its step: 0 not, 1-2 perhaps, 2-3 its neighbours agree."""
    worn, u = opened["worn"].groupby(opened["run"]), opened["u"].groupby(opened["run"])
    before, after = worn.shift(), worn.shift(-1)
    u_before, u_after = u.shift(), u.shift(-1)
    over = opened["worn"] - after > FOUND_LESS_WORN * np.hypot(opened["u"], u_after)
    under = before - opened["worn"] > FOUND_LESS_WORN * np.hypot(opened["u"], u_before)
    agree = before - after < FOUND_LESS_WORN * np.hypot(u_before, u_after)
    at_step = opened["step_before"] | opened["step_after"]
    sure = before.notna() & after.notna() & agree & (over | under) & at_step
    apart = before.notna() & after.notna() & ~agree
    perhaps = opened["step_before"] & (after.isna() | (apart & opened["step_after"]))
    perhaps |= opened["step_after"] & (before.isna() | (apart & opened["step_before"]))
    size = opened["worn"].abs().clip(lower=1e-9)
    usual = size.groupby(opened["family"]).transform("median")
    away = np.log(size / usual).abs()
    odd = np.select([sure, perhaps], [2.0, 1.0], 0.0) + away / (1 + away)
    opened["sure"] = sure
    opened["odd"] = np.where(sure | perhaps, odd, 0.0)


def _steps_taken_back(opened: pd.DataFrame) -> None:
    """Which steps go with an opening; of two that do not agree one is real.

    Unwritten work parts what was found from what was left, so a reading found belongs
    to what was before it, one left to what came after.
    """
    before, after = opened["step_before"], opened["step_after"]
    torn = before & after & ~opened["sure"]
    left = opened["state"] == "as-left"
    opened["goes_on_before"] = before & ~(torn & left)
    opened["goes_on_after"] = after & ~(torn & ~left)
