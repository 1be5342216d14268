"""Histories as they stood in the past, cut anew only where something had been added.

Machines are cut one by one, or together where parts were moved between them; what was
cut for one moment serves until a reading or a piece of work comes to the machine.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from trendwear.fit.own_line import OwnLine
from trendwear.fit.own_lines import OwnLines, own_lines
from trendwear.forecasting.site import SiteRecord
from trendwear.hindsight.timeline import Timeline
from trendwear.segments.chronicle import Chronicle, Record
from trendwear.segments.histories import Histories, histories
from trendwear.segments.hour_line import days
from trendwear.wording import fold

__all__ = ["Cut", "PastCuts", "joined"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Cut:
    """A group of machines, cut.

    Attributes
    ----------
    known : tuple of float
        What was known of each of its machines: how many rows, and up to which log row.
    whole : DataFrame
        The places of the site; the very object they were taken from.
    places : DataFrame
        Those of these machines, numbered from 0.
    cut : Histories
    own : OwnLines
    """

    known: tuple[float, ...]
    whole: pd.DataFrame
    places: pd.DataFrame
    cut: Histories
    own: OwnLines


@dataclass
class PastCuts:
    """The histories of a site at any moment of its past.

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
    _kept: dict[frozenset[str], Cut] = field(default_factory=dict)

    def at(self, before: float, places: pd.DataFrame, *, dated: bool) -> list[Cut]:
        """Return what was known earlier than ``before``, one cut a group of machines.

        Parameters
        ----------
        before : float
            Time as `Timeline` counts it.
        places : DataFrame
            As `trendwear.segments.positions.positions` gives it for that day.
        dated : bool
            Whether ``before`` is a day; machines that keep the other time are left out.

        Returns
        -------
        list of Cut
            The very same objects as long as nothing was added to their machines.
        """
        cuts = []
        for machines in self._groups:
            mine = [
                self._diaries[name]
                for name in sorted(machines)
                if self.times.dated.get(name) == dated
            ]
            until = [diary.log_until(before) if dated else -np.inf for diary in mine]
            count = [diary.count(before) for diary in mine]
            if not any(count):
                continue
            known = (*count, *until)
            kept = self._kept.get(machines)
            if kept is None or kept.known != known or kept.whole is not places:
                kept = self._cut(mine, until, before, places)
                kept = self._kept[machines] = replace(kept, known=known)
            if len(kept.places):
                cuts.append(kept)
        return cuts

    @cached_property
    def _diaries(self) -> dict[str, _Diary]:
        """What each machine's record holds, in order of time."""
        rows = pd.concat([self.times.readings, self.times.work])
        rows = rows.dropna(subset="time").sort_values("time", kind="stable")
        log = self.site.record.run_log
        log = log.assign(day=days(log["date"])).sort_values("day", kind="stable")
        logged = dict(list(log.groupby("machine")["day"]))
        none = pd.Series(dtype="float64")
        return {
            str(machine): _Diary(
                str(machine),
                part["time"].to_numpy(dtype=float),
                part["stated"].to_numpy(dtype=bool),
                logged.get(machine, none).to_numpy(dtype=float),
            )
            for machine, part in rows.groupby("machine")
        }

    @cached_property
    def _groups(self) -> list[frozenset[str]]:
        """Machines between which parts were moved stay together."""
        known = {fold(name): name for name in self.site.machines["machine"]}
        known |= {fold(name): name for name in self.site.register["machine"]}
        group = {name: {name} for name in known.values()}
        moved = self.site.record.work.dropna(subset="to_machine")
        goals = moved["to_machine"].map(lambda name: known.get(fold(name)))
        for left, right in zip(moved["machine"], goals, strict=True):
            if left in group and right in group and group[left] is not group[right]:
                together = group[left] | group[right]
                for name in together:
                    group[name] = together
        return list(dict.fromkeys(frozenset(names) for names in group.values()))

    def _cut(
        self, mine: list[_Diary], until: list[float], before: float, places: pd.DataFrame
    ) -> Cut:
        """Cut the rows of some machines that were known earlier than ``before``."""
        names = [diary.machine for diary in mine]
        read, done = self.times.readings, self.times.work
        read = read[read["machine"].isin(names) & (read["time"] < before)]
        done = done[done["machine"].isin(names) & (done["time"] < before)]
        whole = self.site.record
        last_log = whole.run_log["machine"].map(dict(zip(names, until, strict=True)))
        record = Record(
            readings=whole.readings.loc[read.index],
            work=whole.work.loc[done.index],
            run_log=whole.run_log[days(whole.run_log["date"]) <= last_log],
        )
        group = next(group for group in self._groups if names[0] in group)
        own_places = places[places["machine"].isin(group)].reset_index(drop=True)
        site = self.site
        cut = histories(record, own_places, site.methods, self.as_of, site.duty_plan)
        return Cut((), places, own_places, cut, own_lines(cut))


@dataclass(frozen=True)
class _Diary:
    """When the rows of one machine became known."""

    machine: str
    times: Floats
    stated: NDArray[np.bool_]
    logged: Floats

    def count(self, before: float) -> int:
        """How many readings and pieces of work were known."""
        return int(np.searchsorted(self.times, before, side="left"))

    def log_until(self, before: float) -> float:
        """Day up to which the log is read: that of the last known reading or work.

        Where that one came without running hours the next log row gives them: the hours
        of a machine are known as it runs.
        """
        count = self.count(before)
        if not count:
            return -np.inf
        last = float(self.times[count - 1])
        if self.stated[count - 1]:
            return last
        later = self.logged[(self.logged >= last) & (self.logged < before)]
        return float(later[0]) if len(later) else last


def joined(cuts: list[Cut], places: pd.DataFrame) -> tuple[Histories, OwnLines]:
    """Put cuts together again, their positions numbered as in ``places``."""
    number = places.reset_index().set_index(["machine", "clearance"])["index"]
    index = [
        number.loc[pd.MultiIndex.from_frame(part.places[["machine", "clearance"]])].to_numpy()
        for part in cuts
    ]

    def stacked(name: str) -> pd.DataFrame:
        frames = []
        for part, numbers in zip(cuts, index, strict=True):
            frame = getattr(part.cut, name)
            frames.append(frame.assign(position=numbers[frame["position"].to_numpy(dtype=int)]))
        return _stack(frames).sort_values("position", kind="stable").reset_index(drop=True)

    told = [part.cut.chronicle for part in cuts]
    cut = Histories(
        positions=places,
        points=stacked("points"),
        segments=stacked("segments"),
        work=stacked("work"),
        chronicle=Chronicle(
            readings=_stack([one.readings for one in told]),
            work=_stack([one.work for one in told]),
            openings=_stack([one.openings for one in told]).reset_index(drop=True),
            lines={name: line for one in told for name, line in one.lines.items()},
            starts={name: line for one in told for name, line in one.starts.items()},
        ),
    )
    lines: dict[int, OwnLine] = {}
    states = []
    for part, numbers in zip(cuts, index, strict=True):
        lines |= {int(numbers[at]): line for at, line in part.own.lines.items()}
        states.append(part.own.states.set_axis(numbers))
    return cut, OwnLines(lines, _stack(states).reindex(places.index), set())


def _stack(frames: list[pd.DataFrame]) -> pd.DataFrame:
    return pd.concat([frame for frame in frames if len(frame)] or frames[:1])
