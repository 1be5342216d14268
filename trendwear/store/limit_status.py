"""Whether a person stands behind a limit: a proposed one is kept, and counts as none."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import duckdb
import pandas as pd

from trendwear.lengths import MM_PER_UNIT
from trendwear.store.ledger import Fault
from trendwear.store.queries import query

__all__ = ["ACCEPTED", "PROPOSED", "counted_limit", "status_faults", "with_status", "without_limit"]

PROPOSED: Final = "proposed"
ACCEPTED: Final = "accepted"
_STILL_PROPOSED: Final = "proposed by"


def with_status(rows: pd.DataFrame) -> pd.DataFrame:
    """Return register rows where a limit without a word about it is an accepted one."""
    status = rows["limit_status"].astype("object")
    plain = rows["limit_mm"].notna() & status.isna()
    return rows.assign(limit_status=status.mask(plain, ACCEPTED))


def status_faults(rows: pd.DataFrame) -> Iterator[tuple[pd.Series, Fault]]:
    """Yield limits that are marked and not there, or accepted and nobody says so."""
    yield (
        rows["limit_status"].notna() & rows["limit_mm"].isna(),
        Fault(
            "limit_status",
            "there is no limit of which it could be said",
            "Write the limit beside it, or leave limit_status blank",
        ),
    )
    source = rows["limit_source"].astype("object").fillna("")
    unsigned = (source == "") | source.str.startswith(_STILL_PROPOSED)
    yield (
        (rows["limit_status"] == ACCEPTED) & unsigned,
        Fault(
            "limit_source",
            "the limit is accepted, and nobody says by whom or where it stands",
            "Write manual, edition and page, or who accepts it and when",
        ),
    )
    yield (
        (rows["diameter"] <= 0) | (rows["diameter"].notna() & rows["diameter_unit"].isna()),
        Fault(
            "diameter",
            "it is not above 0, or has no unit",
            "Write the diameter, and in or mm in diameter_unit",
        ),
    )


def counted_limit(rows: pd.DataFrame) -> pd.Series:
    """Return ``limit_mm`` without the limits that are only proposed."""
    return rows["limit_mm"].mask(rows["limit_status"].astype("object") == PROPOSED)


def without_limit(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    """Return the register rows that have no accepted limit, as proposals are made from.

    Returns
    -------
    DataFrame
        As `trendwear.rules_of_thumb.proposals.proposals` takes them.
    """
    rows = connection.execute(query("rows_without_limit")).df()
    size = rows["unit"].map(MM_PER_UNIT).astype("float64")
    sizes = zip(rows["limit_mm"] / size, rows["unit"], strict=True)
    said = pd.Series([f"{own:.6g} {unit}" for own, unit in sizes], rows.index, dtype="object")
    design = rows["design_min_mm"].fillna(rows["design_max_mm"]) / size
    return rows.assign(limit_said=said.where(rows["limit_mm"].notna()), design=design.round(9))
