"""The parts that sit in one clearance, and those that sat there before."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import pandas as pd

from trendwear.report.parts.record import day_text, hours_there, wear_text
from trendwear.segments.positions import OWN
from trendwear.segments.stays import FIRST_SEEN, STILL_IN

__all__ = ["here_table", "here_words"]

_WHAT: Final = {True: "its own part", False: "what it runs against"}


def here_words(stays: pd.DataFrame) -> list[str]:
    """Say which part sits there now, since when and by what work; and what it runs against.

    Parameters
    ----------
    stays : DataFrame
        `trendwear.parts.sittings.sittings` of one clearance.
    """
    return [words for own in (True, False) for words in _now(stays, own=own)]


def _now(stays: pd.DataFrame, *, own: bool) -> Iterator[str]:
    last = stays[(stays["ended"] == STILL_IN) & ((stays["role"] == OWN) == own)]
    if last.empty or last["began"].iloc[0] == FIRST_SEEN:
        return
    row = next(last.itertuples())
    what = _called(row) or ("a part that nobody named" if own else "another part, not named")
    verb = "In it" if own else "It runs against"
    link = ": " if own else " "
    since = f"since {day_text(row.from_day)} ({row.began})"
    ran = "" if pd.isna(row.hours) else f", {hours_there(row)} until now"
    yield f"{verb}{link}{what}, {since}{ran}."


def _called(row: Any) -> str:
    names = [
        str(row.part_no) if isinstance(row.part_no, str) else "",
        f"serial {row.serial}" if isinstance(row.serial, str) else "",
        f"from {row.supplier}" if isinstance(row.supplier, str) else "",
    ]
    return ", ".join(filter(None, names))


def here_table(stays: pd.DataFrame) -> pd.DataFrame:
    """Return every part that sat there, the latest first."""
    rows = [
        {
            "sat as": _WHAT[row.role == OWN],
            "part no": row.part_no or "",
            "serial": row.serial or "",
            "supplier": row.supplier or "",
            "put in by": row.began,
            "from": day_text(row.from_day),
            "until": STILL_IN if row.ended == STILL_IN else day_text(row.until_day),
            "taken out by": "" if row.ended == STILL_IN else row.ended,
            "hours there": hours_there(row),
            "readings": row.readings,
            "wear there": wear_text(row),
        }
        for row in stays.sort_values("from_order", ascending=False, kind="stable").itertuples()
        if row.role == OWN or row.began != FIRST_SEEN
    ]
    return pd.DataFrame(rows, columns=_COLUMNS)


_COLUMNS: Final = [
    "sat as", "part no", "serial", "supplier", "put in by", "from", "until", "taken out by",
    "hours there", "readings", "wear there",
]  # fmt: skip
