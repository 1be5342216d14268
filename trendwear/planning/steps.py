"""From what held when a plan was issued to what holds now, one group of inputs at a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

import pandas as pd

from trendwear import tables
from trendwear.forecasting.site import SiteRecord
from trendwear.planning.accepted import Accepted, accepted_by_sheet
from trendwear.planning.differences import changed_cells, keys_of
from trendwear.planning.issued_tables import inputs_of, site_from
from trendwear.planning.limits_begun import limits_begun
from trendwear.planning.news import NEWS, correction_news, news_of, reading_news

__all__ = ["MOST_APART", "Group", "State", "Step", "accepted_since", "steps_between"]

Frames = Mapping[str, pd.DataFrame]

MOST_APART: Final = 8
"""Clearances (else machines) whose new or corrected readings are taken one after another."""

_REGISTERS: Final = ("machines", "register", "methods", "families")
_HOURS: Final = ("run_log", "duty_plan")
_FOLLOWS_THE_REGISTER: Final = ("value_mm", "lower_mm", "step_mm", "basis", "method", "note")
"""Cells of a reading that the register may fill, or that say how far *worn through* is."""


class Group(Enum):
    """What is taken over from now in one step; in the order of the steps."""

    RECKONING = "the reckoning itself"
    TIME = "the passing of time"
    REGISTER = "register and limits"
    HOURS = "running hours"
    READINGS = "new readings"
    CORRECTIONS = "corrections"
    WORK = "work recorded"
    EVENTS = "events recorded"
    WINDOWS = "windows, due dates and parts"
    CONCESSIONS = "concessions"
    RISKS = "accepted risks"


@dataclass(frozen=True)
class State:
    """All that a plan follows from."""

    site: SiteRecord
    as_of: dt.date
    accepted: Accepted


@dataclass(frozen=True)
class Step:
    """One group of inputs taken over from now, those of the steps before it kept.

    Attributes
    ----------
    group : Group
    news : DataFrame
        `trendwear.planning.news.NEWS`: what came in by it.
    state : State
        After it.
    """

    group: Group
    news: pd.DataFrame
    state: State


def steps_between(issued: State, now: State) -> Iterator[Step]:
    """Return the steps from one state to the other; groups in which nothing changed have none.

    The first takes nothing over: it reckons the issued plan again, by the program of today.
    After the last one the state is ``now``.

    Parameters
    ----------
    issued, now : State
        Names spelt alike in both.
    """
    yield Step(Group.RECKONING, tables.empty(NEWS), issued)
    state = issued
    if now.as_of != issued.as_of:
        begun = limits_begun(state.site.register, state.as_of, now.as_of)
        state = replace(state, as_of=now.as_of)
        yield Step(Group.TIME, begun, state)
    then = inputs_of(now.site)
    for group, frames, news in _taken_over(inputs_of(issued.site), then):
        state = replace(state, site=site_from(frames))
        yield Step(group, news, state)
    news = news_of("risks", inputs_of(issued.site), then)
    if now.accepted != state.accepted:
        yield Step(Group.RISKS, news, now)


def accepted_since(issued: Accepted, risks: pd.DataFrame) -> Accepted:
    """Return the risks to hold an issued plan against.

    Those of the ``risks`` sheet as it is now; where the plan was issued at a risk given for
    that run, that one.
    """
    by_sheet = accepted_by_sheet(risks)
    return by_sheet if issued.for_all is None and by_sheet.given else issued


def _taken_over(frames: Frames, now: Frames) -> Iterator[tuple[Group, Frames, pd.DataFrame]]:
    """Every group in which something changed: the frames after it, and what came in."""
    readings = now["readings"]
    kept, filled = _register_cells(frames["readings"], readings)
    news = _news_of(_REGISTERS, frames, now, filled)
    frames = {**frames, **_of(now, *_REGISTERS), "readings": kept}
    if len(news):
        yield Group.REGISTER, frames, news
    # Readings and work find their place on the hours: these come first.
    news = _news_of(_HOURS, frames, now)
    frames = {**frames, **_of(now, *_HOURS)}
    if len(news):
        yield Group.HOURS, frames, news
    new = readings[~readings["reading"].isin(frames["readings"]["reading"])]
    for some in _apart(new):
        frames = {**frames, "readings": _in_order(pd.concat([frames["readings"], some]), readings)}
        yield Group.READINGS, frames, reading_news(some)
    yield from _corrections(frames, now)
    frames = {**frames, "readings": readings, "events": _accepted_alike(frames, now)}
    for group, names in (
        (Group.WORK, ("work",)),
        (Group.EVENTS, ("events",)),
        (Group.WINDOWS, ("outages", "due_dates", "parts")),
        (Group.CONCESSIONS, ("concessions",)),
    ):
        news = _news_of(names, frames, now)
        frames = {**frames, **_of(now, *names)}
        if len(news):
            yield group, frames, news


def _corrections(frames: Frames, now: Frames) -> Iterator[tuple[Group, Frames, pd.DataFrame]]:
    """Readings that were corrected since, clearance by clearance, then events answered for."""
    was, readings = frames["readings"], now["readings"]
    gone = ~was["reading"].isin(readings["reading"])
    if gone.any():  # no verb takes a reading away; a store that was put together anew may
        frames = {**frames, "readings": was[~gone].reset_index(drop=True)}
        yield Group.CORRECTIONS, frames, reading_news(was[gone], ", is no longer in the store")
    same = readings[readings["reading"].isin(was["reading"])]
    before = _by_number(frames["readings"]).loc[same["reading"]].set_axis(same.index)
    cells = changed_cells(before, same, _compared())
    changed = same[cells.any(axis=1)]
    for some in _apart(changed):
        old = frames["readings"]
        stay = old[~old["reading"].isin(some["reading"])]
        frames = {**frames, "readings": _in_order(pd.concat([stay, some]), readings)}
        news = correction_news(before.loc[some.index], some)
        yield Group.CORRECTIONS, frames, news
    alike = _accepted_alike(frames, now)
    news = news_of("events", frames, {"events": alike})
    if len(news):
        yield Group.CORRECTIONS, {**frames, "events": alike}, news


def _accepted_alike(frames: Frames, now: Frames) -> pd.DataFrame:
    """The events of before, answered for as they are now."""
    key, cells = ("machine", "date", "what"), ["accepted_by", "accepted_why"]
    was, events = frames["events"], now["events"]
    place = pd.Index(keys_of(events, key, tables.EVENTS)).get_indexer(
        keys_of(was, key, tables.EVENTS)
    )
    known = place >= 0
    alike = was.copy()
    for cell in cells:
        alike.loc[known, cell] = events[cell].to_numpy()[place[known]]
    return tables.conform(alike, tables.EVENTS)


def _register_cells(was: pd.DataFrame, now: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The readings of before, with what follows the register as it is now; and what differs.

    Only rows that nobody corrected: of the others all cells are taken over with the correction.
    """
    here = was["reading"].isin(now["reading"])
    same = was[here]
    after = _by_number(now).loc[same["reading"]].set_axis(same.index)
    cells = changed_cells(same, after, _compared())
    own = [name for name in cells if name not in _FOLLOWS_THE_REGISTER]
    only = cells.any(axis=1) & ~cells[own].any(axis=1)
    kept = was.copy()
    rows = only.index[only]
    for name in _FOLLOWS_THE_REGISTER:
        kept.loc[rows, name] = after.loc[rows, name]
    return tables.conform(kept, tables.READINGS), correction_news(same[only], after[only])


def _compared() -> list[str]:
    beside = ("reading", "file", "sheet", "row", "cell")
    return [name for name in tables.READINGS if name not in beside]


def _by_number(readings: pd.DataFrame) -> pd.DataFrame:
    return readings.set_index(pd.Index(readings["reading"], name=None))


def _in_order(some: pd.DataFrame, readings: pd.DataFrame) -> pd.DataFrame:
    """Rows in the order in which the store gives them now."""
    place = pd.Series(range(len(readings)), index=readings["reading"])
    order = some["reading"].map(place).argsort(kind="stable")
    return some.iloc[order].reset_index(drop=True)


def _apart(rows: pd.DataFrame) -> list[pd.DataFrame]:
    """Readings by clearance where those are few, else by machine, else all together."""
    for key in (["machine", "clearance"], ["machine"]):
        parts = [some for _, some in rows.groupby(key, sort=False)]
        if len(parts) <= MOST_APART:
            return parts
    return [rows]


def _of(now: Frames, *names: str) -> dict[str, pd.DataFrame]:
    return {name: now[name] for name in names}


def _news_of(
    names: Sequence[str], was: Frames, now: Frames, beside: pd.DataFrame | None = None
) -> pd.DataFrame:
    told = [*(news_of(name, was, now) for name in names), beside]
    parts = [some for some in told if some is not None and len(some)]
    return pd.concat(parts, ignore_index=True) if parts else tables.empty(NEWS)
