"""Uncertainties that nobody stated, said once a table instead of beside every row."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from trendwear.forecasting.assumed_uncertainty import ASSUMED

__all__ = ["UNCERTAINTY_FROM", "assumed_once", "without_assumed"]

UNCERTAINTY_FROM = {
    "stated": "stated with it",
    "method": "usual for the method",
    "starting value": "a starting value for the method, not your own",
    "written resolution": "assumed: one step as written",
}
"""Where the uncertainty of a reading comes from, by its ``u_from``."""


def without_assumed(notes: str) -> str:
    """Return the notes of a row without those on uncertainties that were assumed.

    >>> without_assumed("look again: it fell; uncertainty assumed: one step as written")
    'look again: it fell'
    """
    return "; ".join(note for note in notes.split("; ") if not note.startswith(ASSUMED))


def assumed_once(table: pd.DataFrame) -> Iterator[str]:
    """Say of how many rows uncertainties are assumed, and how to state them.

    Parameters
    ----------
    table : DataFrame
        `trendwear.tables.LIMIT_FORECAST`.
    """
    notes = table["notes"].fillna("").str.split("; ").explode()
    rows = notes[notes.str.startswith(ASSUMED)].index.nunique()
    if rows:
        rests = "rest" if rows > 1 else "rests"
        yield (
            f"{rows} of {len(table)} rows {rests} on uncertainties that are assumed; the sheet "
            "methods says how well you measure"
        )
