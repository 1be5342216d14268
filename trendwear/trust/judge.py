"""Judge a site once: its readings, its pace, its limits and its events."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.fit.family_fit import FamilyFit
from trendwear.segments.histories import Histories
from trendwear.trust.decision import Verdict, decisions
from trendwear.trust.events import beside_events
from trendwear.trust.pace import paces
from trendwear.trust.readings import readings_beside, tell_readings
from trendwear.trust.spoken import rate_words, reading_words
from trendwear.wording import fold_column

__all__ = ["Trust", "judge", "trust_notes"]

FEW_MEMBERS: Final = 6
"""In families no larger than this one wrong reading sways all."""
_MOST: Final = 3
"""So many doubted readings are named in one row's notes; of the rest the count."""


@dataclass(frozen=True)
class Trust:
    """What was found doubtful.  Nothing is dropped by it.

    Attributes
    ----------
    readings : DataFrame
        As `trendwear.trust.readings.check_readings`: one row a row of ``cut.points``.
    pace : DataFrame
        As `trendwear.trust.pace.paces`, with ``words`` where flagged.
    decisions : DataFrame
        As `trendwear.trust.decision.decisions`: one row a register row, by its index.
    events : DataFrame
        As `trendwear.trust.events.beside_events`.
    """

    readings: pd.DataFrame
    pace: pd.DataFrame
    decisions: pd.DataFrame
    events: pd.DataFrame

    @property
    def doubts(self) -> pd.Series:
        """Why the flagged readings are hard to believe, by their row in ``cut.points``."""
        flagged = self.readings[self.readings["flag"]]
        return flagged["words"].set_axis(flagged["point"])


def judge(
    register: pd.DataFrame, cut: Histories, families: FamilyFit, events: pd.DataFrame
) -> Trust:
    """Judge everything that was read.

    Parameters
    ----------
    register : DataFrame
        `tables.CLEARANCES` rows in force.
    cut : Histories
    families : FamilyFit
        Fitted to ``cut``.
    events : DataFrame
        `tables.EVENTS` on or before the day.
    """
    seen, doubts = readings_beside(cut, families)
    readings = tell_readings(register, cut, (seen, doubts))
    current = families.data.member["current"].to_numpy(dtype=bool)
    pace = paces(families.fit, seen, doubts, current)
    slipped = (doubts.slips["factor"].notna() | (doubts.slips["partner"] >= 0)).to_numpy()
    return Trust(
        readings=readings,
        pace=pace.assign(words=_pace_words(pace, cut)),
        decisions=decisions(register, cut, families),
        events=beside_events(cut, doubts.judged.fit, seen[~slipped], events),
    )


def trust_notes(trust: Trust, cut: Histories, table: pd.DataFrame) -> pd.Series:
    """Return what is to be noted beside each row of the limit-forecast table.

    Parameters
    ----------
    trust : Trust
    cut : Histories
        That it was judged from.
    table : DataFrame
        Rows by the register's index, with ``position``.

    Returns
    -------
    Series of list of str
        Index as ``table``; an empty list where there is nothing to note.
    """
    of_position: dict[int, list[str]] = {}
    for position, words in _of_readings(trust, cut):
        of_position.setdefault(position, []).append(words)
    paced = trust.pace[trust.pace["flag"]]
    for position, words in zip(paced["position"], paced["words"], strict=True):
        of_position.setdefault(position, []).append(words)
    changed = trust.events[trust.events["flag"]]
    for position, words in zip(changed["position"], changed["words"], strict=True):
        of_position.setdefault(position, []).append(words)
    for position in _beside_doubted(trust, cut):
        of_position.setdefault(position, []).append(
            "its family holds a reading to look at again, which its rate leans on"
        )
    verdict = trust.decisions["verdict"].reindex(table.index)
    within = trust.decisions["within"].reindex(table.index)
    said = []
    for at, position in zip(table.index, table["position"], strict=True):
        notes = list(of_position.get(position, []))
        if verdict[at] == Verdict.UNDECIDED.value:
            chance = min(max(round(100 * within[at]), 1), 99)
            notes.append(f"too near the limit to tell: {chance} % chance that it was within")
        said.append(notes)
    return pd.Series(said, index=table.index, dtype="object")


def _beside_doubted(trust: Trust, cut: Histories) -> list[int]:
    """Positions without a doubted reading of their own in small families that hold one."""
    flagged = set(trust.readings.loc[trust.readings["flag"], "position"])
    family = fold_column(cut.positions["family"])
    few = family.groupby(family).transform("size") <= FEW_MEMBERS
    touched = few & family.isin(family.loc[sorted(flagged)])
    return [int(at) for at in cut.positions.index[touched] if at not in flagged]


def _of_readings(trust: Trust, cut: Histories) -> Iterator[tuple[int, str]]:
    """Position and words of the flagged readings, the last ones first."""
    flagged = trust.readings[trust.readings["flag"]]
    points = cut.points.loc[flagged["point"]]
    told = points[["position", "state", "date", "hours", "order"]].assign(words=flagged["words"])
    told = told.sort_values("order", ascending=False, kind="stable")
    for position, rows in told.groupby("position"):
        for row in rows.head(_MOST).itertuples():
            yield (
                position,
                f"look again, {reading_words(row.state, row.date, row.hours)}: {row.words}",
            )
        if len(rows) > _MOST:
            yield position, f"look again: {len(rows) - _MOST} more readings"


def _pace_words(pace: pd.DataFrame, cut: Histories) -> pd.Series:
    """Say of the flagged ones how much faster they wear."""
    said: list[str | None] = []
    for row in pace.to_dict("records"):
        if not row["flag"]:
            said.append(None)
            continue
        place = cut.positions.loc[row["position"]]
        last = rate_words(row["last_per_1000h_mm"], place["unit"])
        before = rate_words(row["before_per_1000h_mm"], place["unit"])
        how = "faster" if row["last_per_1000h_mm"] > row["before_per_1000h_mm"] else "slower"
        said.append(f"wore {how} than before: {last} in the last interval, {before} expected")
    return pd.Series(said, index=pace.index, dtype="object")
