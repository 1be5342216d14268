"""Which window a machine is opened in: the last in time, else the first that comes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear.planning.renewals import Openings

__all__ = ["ChosenWindows", "choose_windows"]

USUAL_INTERVAL = "usual interval"


@dataclass(frozen=True)
class ChosenWindows:
    """Windows of every machine, by their place among the coming ones; -1 where none.

    Attributes
    ----------
    in_time : list of int
        The last that it fits and that starts in time.
    meant : list of int
        That one, else the first that it fits.
    following : list of int
        The first that it fits after the one meant has ended.
    """

    in_time: list[int]
    meant: list[int]
    following: list[int]

    def openings(self, coming: pd.DataFrame, planned: np.ndarray, usual: list[float]) -> Openings:
        """Return names and planned hours; with no following window the usual interval."""
        names = coming["outage"].tolist()
        until, until_following, following = [], [], []
        for machine, (meant, after) in enumerate(zip(self.meant, self.following, strict=True)):
            start = planned[machine, meant] if meant >= 0 else np.nan
            until.append(start)
            if meant >= 0 and after >= 0:
                until_following.append(planned[machine, after])
                following.append(names[after])
            else:
                until_following.append(start + usual[machine])
                has_interval = meant >= 0 and np.isfinite(usual[machine])
                following.append(USUAL_INTERVAL if has_interval else None)
        return Openings(
            [names[meant] if meant >= 0 else None for meant in self.meant],
            following,
            np.array(until, dtype=float),
            np.array(until_following, dtype=float),
        )


def choose_windows(
    coming: pd.DataFrame, hindrances: list[list[str]], not_after: list[pd.Timestamp]
) -> ChosenWindows:
    """Choose the windows of every machine.

    Parameters
    ----------
    coming : DataFrame
        `OUTAGES` that start after today, in order of time.
    hindrances : list of list of str
        For each machine why it cannot be opened in each window; empty where it can.
    not_after : list of Timestamp
        The earlier of latest and due date of each machine; NaT where there is neither.
    """
    starts, ends = coming["start"].tolist(), coming["end"].tolist()
    in_time, meant, following = [], [], []
    for why, bound in zip(hindrances, not_after, strict=True):
        fits = [place for place, word in enumerate(why) if not word]
        early = [place for place in fits if pd.notna(bound) and starts[place] <= bound]
        last = early[-1] if early else -1
        here = last if last >= 0 else (fits[0] if fits else -1)
        after = [place for place in fits if here >= 0 and starts[place] > ends[here]]
        in_time.append(last)
        meant.append(here)
        following.append(after[0] if after else -1)
    return ChosenWindows(in_time, meant, following)
