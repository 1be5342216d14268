"""The answer of every machine: its latest overhaul in hours and by date, or why there is none."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from trendwear.forecasting.clock import Clock
from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.planning.accepted import Accepted
from trendwear.planning.overhaul import Answer, Limiting, latest_overhauls
from trendwear.planning.shares import first_shares

__all__ = ["Answers", "answers_of"]

_DAY_ONE: Final = pd.Timestamp("1970-01-01").as_unit("us")


@dataclass(frozen=True)
class Answers:
    """What each machine's question comes to, by the clearances not past today.

    Attributes
    ----------
    table : DataFrame
        Indexed by machine: ``answer`` (`Answer`), ``latest_hours``, ``latest_date``, ``risk``,
        ``heading``, ``governs`` (Series of shares), ``reach``, ``chance_now``, ``past`` (tuple of
        clearances past today), ``past_chance`` (by name: the chance that it is past, 1 where it
        was read past), ``date_without_past``, ``next_governs``, ``next_date``.
    standing : Limiting
        The clearances not past today: what chances are counted by.
    """

    table: pd.DataFrame
    standing: Limiting


def answers_of(
    limiting: Limiting, accepted: Accepted, clocks: list[Clock], as_of: dt.date
) -> Answers:
    """Find every machine's latest overhaul, with and without what is past today.

    What runs on by concession is left out of both, unless a limit was accepted for it.

    With clearances past their limit today the answer is *past its limit today* and the
    date is today; the date by the others stands beside it.
    """
    standing = limiting.only(~limiting.rows["past"].to_numpy(dtype=bool))
    found = latest_overhauls(standing, accepted)
    found["governs"] = [_shares(one) for one in found["governs"]]
    past = _past(limiting)
    found["past"] = [past.get(str(machine), ()) for machine in found.index]
    found["date"] = _dates(found["planned"], clocks)
    may = set(limiting.rows["machine"]) | set(limiting.silent) | set(past)
    found["answer"] = [
        _answer(str(machine), row, clock, may)
        for (machine, row), clock in zip(found.iterrows(), clocks, strict=True)
    ]
    now = pd.Timestamp(as_of).as_unit("us")
    already = found["answer"].isin([Answer.PAST, Answer.ABOVE])
    reached = found["answer"].isin([Answer.REACHED, Answer.NO_DUTY, Answer.STANDS])
    without = found["date"].where(found["hours"].notna(), now).where(found["heading"].notna())
    found["date_without_past"] = without.where(found["answer"] == Answer.PAST)
    found["latest_hours"] = found["hours"].where(reached).where(~already, 0.0)
    found["latest_date"] = found["date"].where(reached).where(~already, now)
    if len(standing.rows):
        by_machine = standing.by_machine
        chance = by_machine.any(np.zeros(len(standing.machines)))
        found["chance_now"] = np.where(found["heading"].notna(), chance, np.nan)
    else:
        found["chance_now"] = np.nan
    _add_next(found, standing, accepted, clocks)
    _let_past_govern(found, limiting)
    return Answers(found, standing)


def _shares(one: object) -> pd.Series:
    return one if isinstance(one, pd.Series) else pd.Series(dtype="float64")


def _past(limiting: Limiting) -> dict[str, tuple[str, ...]]:
    rows = limiting.rows[limiting.rows["past"] & ~limiting.rows["conceded"]]
    pairs = set(zip(rows["machine"], rows["clearance"], strict=True)) | limiting.measured_past
    past: dict[str, list[str]] = {}
    for machine, clearance in sorted(pairs):
        past.setdefault(machine, []).append(clearance)
    return {machine: tuple(names) for machine, names in past.items()}


def _dates(planned: pd.Series, clocks: list[Clock]) -> pd.Series:
    """The last whole day before so many planned hours have been run; NaT where there is none."""
    told = []
    for hours, clock in zip(planned, clocks, strict=True):
        within = np.isfinite(hours) and hours < FARTHEST_HOURS
        day = float(clock.duty.day_after(clock.day, np.array([hours]))[0]) if within else np.nan
        told.append(_DAY_ONE + pd.Timedelta(days=int(day)) if np.isfinite(day) else pd.NaT)
    return pd.Series(told, index=planned.index, dtype="datetime64[us]")


def _answer(machine: str, row: pd.Series, clock: Clock, may: set[str]) -> Answer:
    if machine not in may:
        return Answer.NOTHING_LIMITS
    if row["past"]:
        return Answer.PAST
    if pd.isna(row["heading"]):
        return Answer.NO_FORECAST
    if np.isnan(row["hours"]):
        return Answer.ABOVE
    if row["hours"] >= FARTHEST_HOURS:
        return Answer.NEVER
    if not clock.duty.known:
        return Answer.NO_DUTY
    return Answer.STANDS if pd.isna(row["date"]) else Answer.REACHED


def _add_next(
    found: pd.DataFrame, standing: Limiting, accepted: Accepted, clocks: list[Clock]
) -> None:
    """Add what governs once everything that governs now is renewed, and until when."""
    rows = standing.rows
    governing = {
        (str(machine), name)
        for machine, shares in found["governs"].items()
        for name in shares.index
    }
    pairs = zip(rows["machine"], rows["clearance"], strict=True)
    rest = standing.only(np.array([pair not in governing for pair in pairs], dtype=bool))
    after = latest_overhauls(rest, accepted)
    found["next_governs"] = [_shares(one) for one in after["governs"]]
    date = _dates(after["planned"], clocks)
    found["next_date"] = date.where(after["hours"].notna())


def _let_past_govern(found: pd.DataFrame, limiting: Limiting) -> None:
    """Where clearances are past today they govern, and the others come next."""
    rows = limiting.rows
    past = rows["past"].to_numpy(dtype=bool) & ~rows["conceded"].to_numpy(dtype=bool)
    now = limiting.crossing.chance_at(limiting.crossing.run)
    now = np.where(rows["measured_past"], 1.0, now)
    found["past_chance"] = pd.Series([{} for _ in found.index], index=found.index, dtype="object")
    for machine in found.index[found["answer"] == Answer.PAST]:
        mine = (rows["machine"] == machine).to_numpy() & past
        silent = set(found.at[machine, "past"]) - set(rows.loc[mine, "clearance"])
        names = pd.Series([*rows.loc[mine, "clearance"], *sorted(silent)], dtype="object")
        shares = first_shares(names, np.concatenate([now[mine], np.ones(len(silent))]))
        found.at[machine, "next_governs"] = found.at[machine, "governs"]
        found.at[machine, "next_date"] = found.at[machine, "date_without_past"]
        found.at[machine, "governs"] = shares
        most = rows.loc[mine].assign(now=now[mine]).groupby("clearance")["now"].max()
        found.at[machine, "past_chance"] = most.to_dict() | dict.fromkeys(silent, 1.0)
