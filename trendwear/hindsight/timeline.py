"""When each row of a record became known: the order in which a site was opened.

A reading or a piece of work becomes known on the last day of its opening.  A machine
without any date keeps its own time in running hours: all such machines are taken to
have begun together, and lend nothing to dated ones, nor borrow from them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from trendwear.segments.chronicle import Chronicle
from trendwear.segments.openings import NO_OPENING

__all__ = ["Timeline", "timeline"]


@dataclass(frozen=True)
class Timeline:
    """When the rows of a record became known.

    Times are days since 1970; of a machine without any date they are running hours.

    Attributes
    ----------
    readings, work : DataFrame
        By row of the record: ``machine``, ``time`` (of the last row of its opening, its
        own where it belongs to none; NaN unknown), ``stated`` (whether its running
        hours were stated, by itself or by a row of the same opening).
    openings : DataFrame
        One row an opening, in order of time: ``machine``, ``opening_no``, ``dated``,
        ``before`` (what was known before the opening became known earlier than this),
        ``after`` (what was known at its end became known earlier than this), ``day``
        (NaN where not dated), ``hours``.
    dated : dict of str to bool
        Whether a machine keeps time by date.
    """

    readings: pd.DataFrame
    work: pd.DataFrame
    openings: pd.DataFrame
    dated: dict[str, bool]


def timeline(told: Chronicle) -> Timeline:
    """Lay the rows of a record out in the order in which they became known."""
    written = told.work[~told.work["arrives"].astype(bool)]
    rows = pd.concat([_rows(told.readings, "reading"), _rows(written, "work")], ignore_index=True)
    dated = rows.groupby("machine")["likely_day"].agg(lambda days: bool(days.notna().any()))
    rows["own_time"] = rows["likely_day"].fillna(rows["order"])
    opened = rows["opening_no"] != NO_OPENING
    opening = rows[opened].groupby(["machine", "opening_no"])["own_time"]
    rows["time"] = rows["own_time"]
    rows.loc[opened, "time"] = opening.transform("max")
    rows["stated"] = rows["hours_from"].isin(["stated", "opening"])
    openings = opening.agg(first="min", last="max").reset_index()
    openings["dated"] = openings["machine"].map(dated).astype(bool)
    hours = told.openings[["machine", "opening_no", "hours"]]
    openings = openings.merge(hours, how="left", on=["machine", "opening_no"])
    first, last = openings["first"], openings["last"]
    by_day = openings["dated"]
    openings["before"] = np.floor(first).where(by_day, first)
    openings["after"] = (np.floor(last) + 1.0).where(by_day, np.nextafter(last, np.inf))
    openings["day"] = first.where(by_day)
    openings = openings.dropna(subset="before").sort_values(["dated", "before"], kind="stable")
    columns = ["machine", "opening_no", "dated", "before", "after", "day", "hours"]
    return Timeline(
        readings=_back(rows, "reading"),
        work=_back(rows, "work"),
        openings=openings[columns].reset_index(drop=True),
        dated={str(machine): bool(is_dated) for machine, is_dated in dated.items()},
    )


def _rows(frame: pd.DataFrame, source: str) -> pd.DataFrame:
    rows = frame[["machine", "opening_no", "likely_day", "order", "hours_from"]].copy()
    return rows.assign(source=source, source_index=frame.index)


def _back(rows: pd.DataFrame, source: str) -> pd.DataFrame:
    part = rows[rows["source"] == source].set_index("source_index")
    return part[["machine", "time", "stated"]].rename_axis(None)
