"""The order in which positions are met when a machine is taken apart."""

from __future__ import annotations

import re
from typing import Final

import pandas as pd

from trendwear.planning.worth_a_look import ACCESS_IN_ORDER
from trendwear.wording import fold

__all__ = ["NOT_STATED", "in_teardown_order"]

NOT_STATED: Final = "not stated"
"""Access of positions of which the register does not say what must be opened; they come last."""


def in_teardown_order(rows: pd.DataFrame) -> pd.DataFrame:
    """Return register rows in the order in which their positions are met.

    By what must be opened first (nothing, bearing cap, packing housing, casing), then by
    location and slot as people count, then as the register lists them.  Rows of one
    position stay together.

    Parameters
    ----------
    rows : DataFrame
        `trendwear.tables.CLEARANCES` of one machine.

    Returns
    -------
    DataFrame
        The same rows, ``access`` in its usual spelling or `NOT_STATED`.
    """
    rank = {fold(name): place for place, name in enumerate(ACCESS_IN_ORDER)}
    names = [*ACCESS_IN_ORDER, NOT_STATED]
    place = [rank.get(_folded(text), len(rank)) for text in rows["access"]]
    rows = rows.assign(access=[names[one] for one in place])
    first = rows.drop_duplicates("clearance")
    keys = {
        row["clearance"]: (
            names.index(row["access"]),
            _counted(row["location"]),
            _counted(row["slot"]),
            number,
        )
        for number, row in enumerate(first.to_dict("records"))
    }
    order = sorted(range(len(rows)), key=lambda at: keys[rows["clearance"].iloc[at]])
    return rows.iloc[order]


def _folded(text: object) -> str:
    return fold(text) if isinstance(text, str) else ""


def _counted(text: object) -> tuple[int, tuple[tuple[int, int, str], ...]]:
    """A sort key in which *stage 2* comes before *stage 10*, and a blank last."""
    if not isinstance(text, str):
        return 1, ()
    pieces = re.findall(r"\d+|\D+", fold(text))
    return 0, tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in pieces)
