"""The overhaul table, put together from answers, windows, renewals and orders."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.planning.accepted import UNSAID, Accepted
from trendwear.planning.concessions import Signed, conceded_text, concession_notes
from trendwear.planning.notes import chance_said, notes_of
from trendwear.planning.opening_choice import ChosenWindows
from trendwear.planning.overhaul import Limiting
from trendwear.planning.renewals import Renewals
from trendwear.planning_tables import OVERHAUL

__all__ = ["Surroundings", "overhaul_rows"]


@dataclass(frozen=True)
class Surroundings:
    """What each machine's row is made from, beside its answer."""

    limiting: Limiting
    accepted: Accepted
    windows: pd.DataFrame
    chosen: ChosenWindows
    renewals: Renewals
    orders: pd.DataFrame


def overhaul_rows(answers: pd.DataFrame, around: Surroundings) -> pd.DataFrame:
    """Return the overhaul table (`OVERHAUL`).

    Parameters
    ----------
    answers : DataFrame
        `trendwear.planning.answers.Answers.table` with ``as_of``, ``not_after`` and the due
        date's columns.
    around : Surroundings
    """
    rows = []
    accepted_limits = _accepted_limits(around)
    for place, (machine, answer) in enumerate(answers.iterrows()):
        row = {"machine": str(machine), **answer.to_dict(), **_window(str(machine), place, around)}
        row |= _renewing(str(machine), around)
        row["silent"] = around.limiting.silent.get(str(machine), [])
        row["unsaid"] = _unsaid(str(machine), around)
        row["governed_by"] = _named(row["governs"])
        row["next_governed_by"] = _named(row["next_governs"])
        row["past_today"] = "; ".join(row["past"]) or None
        row["outcome"] = row["answer"].value
        row["risk_of"] = row["heading"] if isinstance(row["heading"], str) else None
        row["next_latest_date"] = row["next_date"]
        signed = around.limiting.concessions
        mine = signed[signed["machine"] == machine]
        row["conceded"] = conceded_text(mine)
        row["concessions"] = list(concession_notes(mine, accepted_limits.get(str(machine), {})))
        row["date_without_concession"] = row["as_of"] if row["conceded"] else pd.NaT
        row["notes"] = notes_of(row, around.accepted) or None
        rows.append(row)
    table = pd.DataFrame(rows, columns=[*OVERHAUL])
    return tables.conform(table, OVERHAUL)


def _named(shares: pd.Series) -> str | None:
    return "; ".join(f"{name} {100 * share:.0f} %" for name, share in shares.items()) or None


def _window(machine: str, place: int, around: Surroundings) -> dict[str, Any]:
    """The windows in time and meant, and what the machine cannot be opened in."""
    chosen = around.chosen
    mine = around.windows[around.windows["machine"] == machine].reset_index(drop=True)
    in_time, meant = chosen.in_time[place], chosen.meant[place]
    chance = mine["chance_before"]
    passed_over = mine.iloc[in_time + 1 :] if in_time >= 0 else mine.iloc[:0]
    passed_over = passed_over[passed_over["hindrance"].notna() & passed_over["holds"]]
    hindered = mine.loc[mine["hindrance"].notna(), ["outage", "hindrance"]]
    return {
        "windows": len(mine),
        "outage": mine.at[in_time, "outage"] if in_time >= 0 else None,
        "chance_at_outage": chance[in_time] if in_time >= 0 else np.nan,
        "nearest_of": mine.at[in_time, "nearest_of"] if in_time >= 0 else None,
        "nearest_chance": mine.at[in_time, "nearest_chance"] if in_time >= 0 else np.nan,
        "meant": mine.at[meant, "outage"] if meant >= 0 else None,
        "chance_meant": chance[meant] if meant >= 0 else np.nan,
        "told": meant >= 0 and bool(np.isfinite(chance[meant])),
        "hindered": _why(hindered),
        "hindered_in_time": _why(passed_over.head(1)),
    }


def _why(some: pd.DataFrame) -> str:
    return "; ".join(f"{row.outage}: {row.hindrance}" for row in some.itertuples())


def _renewing(machine: str, around: Surroundings) -> dict[str, Any]:
    table, orders = around.renewals.table, around.orders
    renew = table.loc[(table["machine"] == machine) & table["renew"], "clearance"]
    firm = orders[(orders["machine"] == machine) & (orders["need"] == "firm")]
    mine = firm["order_by"]
    unknown = firm[(firm["to_order"] > 0) & firm["lead_time_days"].isna()]
    return {
        "no_lead": list(unknown["part_no"].dropna().drop_duplicates()),
        "renew": "; ".join(renew.drop_duplicates()) or None,
        "order_by": mine.min(),
        "too_long": around.renewals.too_long.get(machine, 0.0),
    }


def _accepted_limits(around: Surroundings) -> dict[str, dict[str, str]]:
    """Say how likely each accepted limit is passed before the window meant."""
    signed, limiting = around.limiting.concessions, around.limiting
    holding = signed[(signed["signed"] == Signed.HOLDS) & signed["accepted_limit_mm"].notna()]
    if holding.empty:
        return {}
    meant = np.array(around.chosen.meant)
    hours, names = np.zeros(len(meant)), [""] * len(meant)
    for place in np.flatnonzero(meant >= 0):
        mine = around.windows[around.windows["machine"] == limiting.machines[place]]
        hours[place] = np.nan_to_num(mine["hours_until"].iloc[meant[place]])
        names[place] = f" before {mine['outage'].iloc[meant[place]]}"
    rows = limiting.rows.assign(chance=limiting.by_machine.each(hours))
    wanted = set(zip(holding["machine"], holding["clearance"], strict=True))
    told: dict[str, dict[str, str]] = {}
    for (machine, clearance), some in rows.groupby(["machine", "clearance"], sort=False):
        if (machine, clearance) in wanted:
            when = names[int(some["code"].iloc[0])] or " today"
            told.setdefault(str(machine), {})[str(clearance)] = (
                f", chance to be past the accepted limit{when} {chance_said(some['chance'].sum())}"
            )
    return told


def _unsaid(machine: str, around: Surroundings) -> list[str]:
    """Consequences, or clearances without one, for which no risk was accepted."""
    rows = around.limiting.rows
    mine = rows[rows["machine"] == machine]
    unsaid = mine[around.accepted.heading(mine["consequence"]) == UNSAID]
    said = unsaid["consequence"].where(unsaid["consequence"].notna(), unsaid["clearance"])
    return list(said.drop_duplicates())
