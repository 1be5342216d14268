"""Why the present run of a clearance began where nobody wrote a row for it alone.

A renewed partner, an exchanged rotor, a part that was moved: each begins a new pair of
parts in several clearances, and each of them says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from trendwear.segments.histories import Histories
from trendwear.segments.positions import PARTNER
from trendwear.segments.stays import stays

__all__ = ["pair_notes"]

_NAMED = 4
"""At most so many clearances are named in a note."""


def pair_notes(cut: Histories) -> Iterator[tuple[int, str]]:
    """Yield what to say of a clearance's present run, by position."""
    work = cut.work
    if work.empty or not (work["arrives"].any() or (work["role"] == PARTNER).any()):
        return
    current = cut.segments.drop_duplicates("position", keep="last")
    began = current.dropna(subset="work_row")[["position", "work_row"]]
    began = began.astype({"work_row": work["work_row"].dtype})
    jobs = work.merge(began, on=["position", "work_row"])
    told_stays = stays(cut)
    for job in jobs.drop_duplicates("position", keep="last").itertuples():
        words = _words(job, work, told_stays)
        if words:
            yield int(job.position), f"{job.action} {_when(job)}: {words}"


def _words(job: Any, work: pd.DataFrame, told: pd.DataFrame) -> str | None:
    same = work[work["work_row"] == job.work_row]
    if job.action == "exchanged" and job.role == PARTNER:
        return _exchanged(job, told)
    if job.action == "moved":
        return _moved(job, same)
    if job.role == PARTNER and len(same) > 1:
        return _shared(job, same)
    return None


def _shared(job: Any, same: pd.DataFrame) -> str | None:
    """A partner that several clearances run on, and where its work was recorded."""
    common = same["shared"].dropna()
    if common.empty:  # recorded on a set or on all of them: each has its row
        return None
    written = same.loc[same["shared"].isna(), "clearance"]
    recorded = "" if written.empty or pd.isna(job.shared) else f", recorded on {_list(written)}"
    return f"{common.iloc[0]}, on which {_list(same['clearance'])} run{recorded}"


def _exchanged(job: Any, told: pd.DataFrame) -> str:
    """What came in, and what it brings along."""
    serial = job.fitted_serial
    if not isinstance(serial, str):
        return "another rotor came in, its own part stayed"
    words = f"it runs against {serial} since, its own part stayed"
    # The other machine may have been opened some days later: what counts is when it came there.
    mine = told[(told["life"] == job.life) & (told["from_order"] < job.order)]
    mine = mine[mine["machine"] != job.machine].drop_duplicates(["machine", "from_order"])
    if mine.empty:
        return words
    last = mine.sort_values("from_order").iloc[-1]
    hours = (mine["until_hours"] - mine["from_hours"]).sum(min_count=len(mine))
    ran = "" if pd.isna(hours) else f" after {hours:,.0f} h on record"
    return f"{words}, {serial} came from {last['machine']}{ran}"


def _moved(job: Any, same: pd.DataFrame) -> str:
    other = same[same["arrives"] != job.arrives]
    place = _place(other.iloc[0], job) if len(other) else "a place not in the register"
    if not job.arrives:
        return f"its part went to {place}, and nothing is known of what is in since"
    serial = job.fitted_serial if isinstance(job.fitted_serial, str) else "the part"
    return f"{serial} came here from {place}"


def _place(row: pd.Series, job: Any) -> str:
    here = row["machine"] == job.machine
    return str(row["clearance"]) if here else f"{row['machine']} {row['clearance']}"


def _when(job: Any) -> str:
    day = job.date if pd.notna(job.date) else None
    return f"{day:%Y-%m-%d}" if day is not None else f"at {job.hours:.0f} h"


def _list(names: pd.Series) -> str:
    """Join names as people do: one, two and three."""
    told = list(dict.fromkeys(names))
    if len(told) > _NAMED:
        return f"{', '.join(told[:_NAMED])} and {len(told) - _NAMED} more"
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else told[0]
