"""Clearances past their limit that run on by a signed concession: they stand apart.

A concession holds from the day it was signed to its last day, and ends when the part is
renewed.  While it holds, the old limit of its clearance does not set the machine's date; an
accepted limit, where one was signed, counts in its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import Any, Final

import numpy as np
import pandas as pd

from trendwear import tables
from trendwear.lengths import MM_PER_UNIT
from trendwear.planning_tables import CONCESSIONS, DUE_DATES
from trendwear.segments.cutting import RESTARTS_AGE

__all__ = [
    "Signed",
    "conceded_text",
    "concession_notes",
    "concessions_on",
    "no_concessions",
    "with_last_days",
]


class Signed(Enum):
    """What a concession comes to on a day."""

    HOLDS = "holds"
    NOT_NEEDED = "the clearance is not past its limit"
    ENDED = "its last day has gone by"
    RENEWED = "the part was renewed since"
    NO_LIMIT = "no limit of the clearance sets an overhaul"


_ON: Final = ["machine", "clearance"]
_ADDED: Final = ["past", "stricter", "signed"]


def no_concessions() -> pd.DataFrame:
    """Return what `concessions_on` gives where nobody signed anything."""
    return tables.empty(CONCESSIONS).assign(**dict.fromkeys(_ADDED))


def concessions_on(
    concessions: pd.DataFrame, rows: pd.DataFrame, work: pd.DataFrame, as_of: pd.Timestamp
) -> pd.DataFrame:
    """Return the last concession signed for each register row that has one.

    Parameters
    ----------
    concessions : DataFrame
        `trendwear.planning_tables.CONCESSIONS`.
    rows : DataFrame
        Register rows with ``position`` and ``past`` (past the register's limit today).
    work : DataFrame
        `trendwear.segments.histories.Histories.work`.
    as_of : Timestamp

    Returns
    -------
    DataFrame
        Columns of `CONCESSIONS`, ``past``, ``stricter`` (its accepted limit lies within the
        register's) and ``signed`` (`Signed`); indexed as those of ``rows`` that have one, below
        0 where no row is meant.
    """
    given = concessions[concessions["date"] <= as_of].rename(columns={"moves": "way"})
    mine = rows[[*_ON, "moves", "position", "past", "limit_mm"]].reset_index(names="row")
    both = mine.merge(given, on=_ON, how="inner")
    both = both[both["way"].isna() | (both["way"] == both["moves"])]
    last = both.sort_values("date", kind="stable").drop_duplicates("row", keep="last")
    renewals = work[work["action"].isin(RESTARTS_AGE)].groupby("position")["date"].max()
    renewed = renewals.reindex(last["position"]).to_numpy() > last["date"].to_numpy()
    signed = pd.Series(Signed.HOLDS, index=last.index, dtype="object")
    signed = signed.mask(~last["past"].astype(bool), Signed.NOT_NEEDED)
    signed = signed.mask(last["until"] < as_of, Signed.ENDED).mask(renewed, Signed.RENEWED)
    further = np.where(last["moves"] == "opens", 1.0, -1.0)
    last["stricter"] = (last["accepted_limit_mm"] - last["limit_mm"]) * further <= 0
    told = last.assign(signed=signed).set_index("row")[[*CONCESSIONS, *_ADDED]]
    idle = _without_limit(given, rows)
    return pd.concat([told, idle]) if len(idle) else told


def _without_limit(given: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Concessions for clearances that set no overhaul; their index is below 0."""
    known = pd.MultiIndex.from_frame(rows[_ON])
    idle = given[~pd.MultiIndex.from_frame(given[_ON]).isin(known)]
    idle = idle.drop_duplicates(_ON, keep="last").rename(columns={"way": "moves"})
    idle = idle.assign(past=False, stricter=False, signed=Signed.NO_LIMIT)
    return idle.set_index(pd.Index(-1 - np.arange(len(idle))))[[*CONCESSIONS, *_ADDED]]


def with_last_days(due_dates: pd.DataFrame, signed: pd.DataFrame) -> pd.DataFrame:
    """Return due dates (`DUE_DATES`) with the last days of the concessions that hold among them."""
    ending = signed[(signed["signed"] == Signed.HOLDS) & signed["until"].notna()]
    ends = pd.DataFrame(
        {
            "machine": ending["machine"],
            "what": "end of the concession for " + ending["clearance"].astype(str),
            "due": ending["until"],
            "authority": ending["by"],
        }
    ).drop_duplicates()
    if ends.empty:
        return due_dates
    return pd.concat([due_dates, tables.conform(ends, DUE_DATES)], ignore_index=True)


def conceded_text(signed: pd.DataFrame) -> str | None:
    """Name a machine's clearances that run on by concession, who signed and until when."""
    holding = signed[signed["signed"] == Signed.HOLDS].drop_duplicates("clearance")
    return (
        "; ".join(f"{row['clearance']} ({_signature(row)})" for row in holding.to_dict("records"))
        or None
    )


def concession_notes(signed: pd.DataFrame, chances: dict[str, str]) -> Iterator[str]:
    """Say what a machine's concessions do, one sentence each.

    Parameters
    ----------
    signed : DataFrame
        The machine's rows of `concessions_on`.
    chances : dict of str to str
        What is to be said of the accepted limit, by clearance.
    """
    for row in signed.drop_duplicates(["clearance", "signed"]).to_dict("records"):
        name = row["clearance"]
        if row["signed"] is Signed.HOLDS and row["stricter"]:
            yield f"the limit accepted for {name} is no wider than the register's: look again"
        if row["signed"] is Signed.HOLDS:
            yield (
                f"past its limit, run on by concession: {name} ({_signature(row)}: {row['why']})"
                f"{chances.get(name, '')}, without it the latest overhaul would be today"
            )
        elif row["signed"] is Signed.ENDED and row["past"]:
            yield (
                f"the concession for {name} (signed by {row['by']}) ended "
                f"{row['until']:%Y-%m-%d}: its limit counts again"
            )
        elif row["signed"] is Signed.NO_LIMIT:
            yield f"the concession for {name} changes nothing: no limit of it sets an overhaul"
        elif row["signed"] is Signed.NOT_NEEDED:
            yield f"the concession for {name} is not needed: it is not past its limit"


def _signature(row: dict[Any, Any]) -> str:
    until = "" if pd.isna(row["until"]) else f" until {row['until']:%Y-%m-%d}"
    limit = ""
    if pd.notna(row["accepted_limit_mm"]):
        value = row["accepted_limit_mm"] / MM_PER_UNIT[row["unit"]]
        limit = f", accepted limit {value:.6g} {row['unit']}"
    return f"signed by {row['by']} {row['date']:%Y-%m-%d}{until}{limit}"
