"""What was known of a site at a moment of its past, and what its forecasts stood on then."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import pandas as pd

from trendwear.fit.own_lines import OwnLines
from trendwear.forecasting.clock import clocks
from trendwear.forecasting.evidence import evidence
from trendwear.forecasting.limit_forecast import Basis
from trendwear.forecasting.site import Known, SiteRecord, basis_of, given_by
from trendwear.hindsight.past_cuts import Cut, PastCuts, joined
from trendwear.hindsight.timeline import Timeline
from trendwear.segments.hour_line import days
from trendwear.segments.positions import in_force, positions

__all__ = ["Past", "Then"]


@dataclass(frozen=True)
class Then:
    """A moment of the past.

    Attributes
    ----------
    basis : Basis
        What forecasts stood on; its register holds the limits of that day.
    own : OwnLines
    """

    basis: Basis
    own: OwnLines

    @cached_property
    def evidence(self) -> pd.DataFrame:
        """What each forecast rested on, by position (`trendwear.forecasting.evidence`)."""
        return evidence(self.basis.cut)

    @cached_property
    def last(self) -> pd.DataFrame:
        """The last fitted reading of each position's current segment, by position."""
        cut = self.basis.cut
        current = cut.segments.groupby("position")["segment"].last()
        points = cut.points[cut.points["fitted"]]
        points = points[points["segment"] == points["position"].map(current)]
        points = points.sort_values(["position", "hours"], kind="stable")
        ends = points.drop_duplicates("position", keep="last").set_index("position")
        return ends.reindex(cut.positions.index)


@dataclass
class Past:
    """The past of a site; moments are asked for in order of time, so that fits are shared.

    Attributes
    ----------
    site : SiteRecord
    as_of : date
        Day after which nothing is used at all.
    times : Timeline
    """

    site: SiteRecord
    as_of: dt.date
    times: Timeline
    _last: tuple[list[Cut], int, Then] | None = None
    _registers: dict[int, tuple[pd.DataFrame, pd.DataFrame]] = field(default_factory=dict)
    _cuts: PastCuts = field(init=False)

    def __post_init__(self) -> None:
        """Begin with nothing cut."""
        self._cuts = PastCuts(self.site, self.as_of, self.times)

    def at(self, before: float, *, dated: bool) -> Then | None:
        """Return what was known earlier than ``before`` (`Timeline`); None where nothing was."""
        day = _date(before) - dt.timedelta(days=1) if dated else self.as_of
        register, places = self._in_force(day)
        cuts = self._cuts.at(before, places, dated=dated)
        if not cuts:
            return None
        events = self.site.events
        # What happened cannot be placed in the time of a machine without dates.
        told = events[days(events["date"]) < before] if dated else events.iloc[:0]
        if self._last is None or not _same(self._last, cuts, len(told)):
            cut, own = joined(cuts, places)
            standing = clocks(cut, self.site.duty_plan, day)
            basis = basis_of(
                Known(register, cut, own, told, given_by(self.site.families)), standing, None
            )
            self._last = (cuts, len(told), Then(basis, own))
        then = self._last[2]
        if then.basis.register is not register:
            then = Then(replace(then.basis, register=register), then.own)
        return then

    def _in_force(self, day: dt.date) -> tuple[pd.DataFrame, pd.DataFrame]:
        """Register rows in force and the places they make; the same objects until one changes."""
        begun = int((self.site.register["limit_from"] <= pd.Timestamp(day)).sum())
        if begun not in self._registers:
            register = in_force(self.site.register, day)
            places = positions(register, self.site.machines)
            for _, known in self._registers.values():
                places = known if known.equals(places) else places
            self._registers[begun] = (register, places)
        return self._registers[begun]


def _date(before: float) -> dt.date:
    return dt.date(1970, 1, 1) + dt.timedelta(days=int(np.floor(before)))


def _same(last: tuple[list[Cut], int, Then], cuts: list[Cut], events: int) -> bool:
    same = len(last[0]) == len(cuts) and all(
        old is new for old, new in zip(last[0], cuts, strict=True)
    )
    return same and last[1] == events
