"""Search for the readings to doubt: set aside, fit anew, take back what was wrongly doubted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from trendwear.trust.aside import Aside, Judged, judge_beside
from trendwear.trust.belief import FAR
from trendwear.trust.slips import FACTORS, explain
from trendwear.trust.steps import openings_at_steps, steps_taken_back
from trendwear.trust.swaps import may_be_swapped
from trendwear.wear.histories import Flags, Floats
from trendwear.wear.search import WearFit

__all__ = ["Doubts", "find_doubts"]

_GROSS: Final = 4.0
"""A reading so many times its clearance's median, or so small a part, is doubted from the start."""
_UNLIKE_A_SWAP: Final = [factor for factor in FACTORS if not 0.4 < factor < 3.0]
_ROUNDS: Final = 12
_SMALL_FAMILY: Final = 80
"""Readings of a family in which one slip can hide by widening the family's own scatter."""
_HIDDEN: Final = 1.0
"""Standard deviations from which a reading in a small family is set aside for a trial."""


@dataclass(frozen=True)
class Doubts:
    """What the search came to.

    Attributes
    ----------
    aside : Aside
        Readings that are doubted, and the steps they made.
    judged : Judged
        All readings against those that are not doubted.
    slips : DataFrame
        As `trendwear.trust.slips.explain`, of all readings.
    makes_step : ndarray, shape (m,)
        Doubted readings that alone make an unexplained step.
    """

    aside: Aside
    judged: Judged
    slips: pd.DataFrame
    makes_step: Flags


def find_doubts(fit: WearFit, seen: pd.DataFrame, able: Flags) -> Doubts:
    """Find the readings that are far from what all readings that are not doubted expect.

    Parameters
    ----------
    fit : WearFit
        Of all readings.
    seen : DataFrame
        As `trendwear.trust.seen.seen_readings`.
    able : ndarray, shape (S,)
        As `trendwear.trust.steps.can_go_on`.
    """
    search = _Search(fit, seen, able)
    search.try_steps()
    search.try_far()
    search.try_swaps()
    return search.settled()


@dataclass(frozen=True)
class _Trial:
    """Readings set aside, and of which of them the step before or after is taken back."""

    out: Flags
    before: Flags
    after: Flags

    def also(self, out: Flags, before: Flags, after: Flags) -> _Trial:
        return _Trial(self.out | out, self.before | before, self.after | after)

    def only(self, keep: Flags, other: _Trial) -> _Trial:
        """This trial where ``keep``, the other one elsewhere."""
        return _Trial(
            np.where(keep, self.out, other.out),
            np.where(keep, self.before, other.before),
            np.where(keep, self.after, other.after),
        )


class _Search:
    """The readings set aside so far."""

    def __init__(self, fit: WearFit, seen: pd.DataFrame, able: Flags) -> None:
        self.fit, self.seen, self.able = fit, seen, able
        self.firm = ~seen["at_least"].to_numpy(dtype=bool)
        self.cleared = ~self.firm
        self.start: Floats | None = None
        self.if_undone: Floats = np.full((2, len(seen)), np.nan)
        """Mean and variance expected of readings whose steps were taken back in vain."""
        nothing = np.zeros(len(seen), dtype=bool)
        self.trial = _Trial(_gross(seen) & self.firm, nothing, nothing)
        at_steps = openings_at_steps(seen, able)
        whole = pd.Series(self.firm[at_steps["reading"]]).groupby(at_steps["opening"].to_numpy())
        self.at_steps = at_steps[whole.transform("all").to_numpy(dtype=bool)]

    def aside(self, trial: _Trial) -> Aside:
        sides = (trial.out & trial.before, trial.out & trial.after)
        return Aside(trial.out, steps_taken_back(self.seen, self.able, sides))

    def judge(self, trial: _Trial) -> Judged:
        judged = judge_beside(self.fit, self.aside(trial), self.start)
        self.start = judged.fit.x
        return judged

    def slips(self, judged: Judged) -> pd.DataFrame:
        return explain(
            self.seen.assign(
                mean=judged.mean,
                true_variance=judged.true_variance,
                phi=judged.phi,
                residual=judged.residual,
            )
        )

    def with_steps(self, rows: pd.DataFrame) -> _Trial:
        """The present trial, these rows of ``at_steps`` set aside with their steps."""
        reading = rows["reading"].to_numpy()
        flags = np.zeros((3, len(self.seen)), dtype=bool)
        flags[0, reading] = True
        flags[1, reading] = rows["goes_on_before"]
        flags[2, reading] = rows["goes_on_after"]
        return self.trial.also(*flags)

    def try_steps(self) -> None:
        """Set aside the readings that may have made steps; take back those that did not."""
        lone = self.at_steps[self.at_steps["likely"]]
        if lone.empty:
            return
        trial = self.with_steps(lone)
        judged = self.judge(trial)
        named = _named(self.slips(judged))
        size = np.abs(judged.residual)
        reading = lone["reading"].to_numpy()
        agree = np.ones(len(lone), dtype=bool)
        for side in ("before", "after"):
            at = lone[side].to_numpy()
            agree &= (at < 0) | trial.out[at] | ~(size[at] > FAR)
        sure, explained = lone["sure"].to_numpy(), named[reading]
        proven = (size[reading] > FAR) & np.where(sure, agree | explained, agree & explained)
        whole = pd.Series(proven).groupby(lone["opening"].to_numpy()).transform("all")
        keep = np.zeros(len(self.seen), dtype=bool)
        keep[reading[whole.to_numpy(dtype=bool)]] = True
        vain = reading[(size[reading] > FAR) & ~keep[reading]]
        self.if_undone[:, vain] = judged.mean[vain], judged.true_variance[vain]
        self.trial = trial.only(keep, self.trial)

    def try_far(self) -> None:
        """Set aside what is far, and for a trial what may hide in a small family."""
        for _ in range(_ROUNDS):
            size = np.nan_to_num(np.abs(self.judge(self.trial).residual))
            out = self.trial.out
            back = out & (size <= FAR)
            more = _worst(size, self.seen["member"], ~out & ~self.cleared & (size > FAR))
            hidden = self._hidden(size, more | back)
            if not (more | back | hidden).any():
                return
            self.cleared |= back
            self.trial = replace(self.trial, out=(out & ~back) | more | hidden)
            if hidden.any():
                self._confirm(hidden)

    def _hidden(self, size: Floats, busy: Flags) -> Flags:
        """The worst reading of each clearance of small families where nothing else is open."""
        family = self.seen["family"]
        small = family.groupby(family).transform("size").to_numpy() < _SMALL_FAMILY
        open_yet = pd.Series(busy).groupby(family.to_numpy()).transform("any").to_numpy()
        may = ~self.trial.out & ~self.cleared & ~open_yet & (size > _HIDDEN) & small
        return _worst(size, self.seen["member"], may)

    def _confirm(self, hidden: Flags) -> None:
        """Keep aside, of those tried, only what a usual slip explains; clear the rest."""
        judged = self.judge(self.trial)
        named = _named(self.slips(judged))
        cleared = hidden & ~((np.abs(judged.residual) > FAR) & named)
        self.trial = replace(self.trial, out=self.trial.out & ~cleared)
        self.cleared |= cleared

    def try_swaps(self) -> None:
        """Set aside what no factor explains with what it may be swapped with, and see.

        What it may be swapped with can stand at a step that hides it, and so can it
        itself: there what was expected when its step was taken back counts.
        """
        judged = self.judge(self.trial)
        slips = self.slips(judged)
        free = self.firm & ~_swapped(slips) & ~slips["factor"].isin(_UNLIKE_A_SWAP).to_numpy()
        far = free & (np.abs(judged.residual) > FAR)
        mean = np.where(far, judged.mean, self.if_undone[0])
        variance = np.where(far, judged.true_variance, self.if_undone[1])
        told = self.seen.assign(
            expected_mm=self.seen["sign"] * (mean - self.seen["shift_mm"]),
            spread_mm=np.sqrt(variance + (judged.phi * self.seen["u_mm"]) ** 2),
        )
        at_step = np.zeros(len(self.seen), dtype=bool)
        at_step[self.at_steps["reading"]] = True
        odd = at_step | ~(np.abs(judged.residual) < _HIDDEN)
        pairs = may_be_swapped(told, free, odd)
        if not pairs.any():
            return
        nothing = np.zeros(len(self.seen), dtype=bool)
        rows = self.at_steps[(pairs & ~self.trial.out)[self.at_steps["reading"]]]
        trial = self.with_steps(rows).also(pairs, nothing, nothing)
        found = _swapped(self.slips(self.judge(trial)))
        self.trial = trial.only(found, self.trial)

    def settled(self) -> Doubts:
        judged = self.judge(self.trial)
        trial = self.trial
        makes = trial.out & (trial.before | trial.after)
        return Doubts(self.aside(trial), judged, self.slips(judged), makes)


def _named(slips: pd.DataFrame) -> Flags:
    named: Flags = slips["factor"].notna().to_numpy() | _swapped(slips)
    return named


def _swapped(slips: pd.DataFrame) -> Flags:
    swapped: Flags = (slips["partner"] >= 0).to_numpy()
    return swapped


def _gross(seen: pd.DataFrame) -> Flags:
    """Readings that are no size for their clearance at all."""
    size = seen["value_mm"].abs()
    own = size.groupby(seen["position"])
    few = own.transform("size") < 3
    usual = own.transform("median")
    usual = usual.where(~few, size.groupby(seen["family"]).transform("median"))
    known = (usual > 0) & (seen["value_mm"] > 0)
    ratio = (size / usual.where(known)).to_numpy()
    gross: Flags = (ratio > _GROSS) | (ratio < 1 / _GROSS)
    return gross


def _worst(size: Floats, member: pd.Series, may: Flags) -> Flags:
    """Of each clearance the one reading that is farthest off, among those that may."""
    picked: Flags = np.zeros(len(size), dtype=bool)
    if len(size):
        best = pd.Series(np.where(may, size, -1.0)).groupby(member.to_numpy()).idxmax()
        picked[best[may[best]]] = True
    return picked
