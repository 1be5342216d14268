"""The rules of thumb as they lie in ``data/rules_of_thumb``: lengths in the unit of their file."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.bundled import bundled_folder
from trendwear.wording import fold

__all__ = ["MARKS", "NAMES", "of_kind", "rules_table"]

NAMES: Final = (
    "by_diameter_in",
    "wear_ring_minimum_in",
    "wear_ring_minimum_mm",
    "renewal",
    "fits_mm",
    "additions_in",
)
MARKS: Final = ("read in the source", "read in a reprint", "read in an excerpt", "from memory")
"""How far a line can be relied upon to say what its source says."""


@cache
def rules_table(name: str) -> pd.DataFrame:
    """Return one table by its name; `KeyError` where there is none."""
    if name not in NAMES:
        raise KeyError(name)
    rows = pd.read_csv(_folder() / f"{name}.csv")
    texts = rows.select_dtypes(exclude="number").columns
    return rows.assign(**{c: rows[c].astype("object").where(rows[c].notna(), None) for c in texts})


def of_kind(rows: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Return the rows about a kind of clearance: its name must be among theirs, not like one."""
    asked = fold(kind)
    about = [asked in {fold(name) for name in kinds.split("|")} for kinds in rows["kinds"]]
    return rows[about]


def _folder() -> Path:
    return bundled_folder("data") / "rules_of_thumb"
