"""What the store gives to a proposed register: rows that wait, and what it knows already."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from trendwear.readings.draft_seen import Known
from trendwear.store.database import reader
from trendwear.store.entries import Entries
from trendwear.store.queries import query
from trendwear.store.waiting import with_waiting

__all__ = ["waiting_and_known", "waiting_positions"]


def waiting_and_known(store: Path | str) -> tuple[dict[str, pd.DataFrame], Known]:
    """Return the rows that wait, sheet by sheet, and the positions and spellings known.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        entries = Entries(connection, 0)
        waiting = with_waiting({}, entries)
        known = Known(
            connection.execute(query("register_for_draft")).df(),
            entries.current("names"),
            tuple(name for (name,) in connection.execute(query("machines_for_draft")).fetchall()),
            connection.execute(query("readings_for_draft")).df(),
        )
    return waiting, known


def waiting_positions(store: Path | str) -> pd.DataFrame:
    """Return the positions that wait: machine, clearance, sheet, lacks, rows.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    with reader(store) as connection:
        return connection.execute(query("waiting_positions")).df()
