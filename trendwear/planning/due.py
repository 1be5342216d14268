"""Dates set by law, insurer or site rule: the earliest that is still to be kept."""

from __future__ import annotations

import pandas as pd

from trendwear.wording import fold_column

__all__ = ["due_dates_open"]


def due_dates_open(due_dates: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """Return the due date of each machine that comes first.

    A date in the past counts as kept where a later one for the same thing is known, else
    it is overdue.  Days of grace are told, never used.

    Returns
    -------
    DataFrame
        Indexed by machine: ``due``, ``what``, ``tolerance_days``, ``authority``, ``overdue``.
    """
    rows = due_dates.assign(thing=fold_column(due_dates["what"]), overdue=due_dates["due"] < as_of)
    last = rows.groupby(["machine", "thing"])["due"].transform("max")
    rows = rows[~rows["overdue"] | (rows["due"] == last)]
    first = rows.sort_values("due", kind="stable").drop_duplicates("machine")
    return first.set_index("machine")[["due", "what", "tolerance_days", "authority", "overdue"]]
