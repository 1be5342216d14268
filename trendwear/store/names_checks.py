"""What the ``names`` sheet must not say: one spelling, one position."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from trendwear.store.ledger import Fault, Ledger, listing
from trendwear.wording import fold_column

__all__ = ["meanings_apart", "note_unknown_meanings", "spellings_alone"]


def spellings_alone(rows: pd.DataFrame) -> Iterator[tuple[pd.Series, Fault]]:
    """Yield the rows that give one spelling of one machine two meanings."""
    for column, what in (("clearance", "positions"), ("kind", "kinds")):
        said = rows.dropna(subset=[column])
        meanings = fold_column(said[column]).groupby(said["key"]).nunique()
        unlike = said[said["key"].isin(meanings[meanings > 1].index)]
        told = {key: _told(group, column) for key, group in unlike.groupby("key")}
        reason = rows["key"].map(lambda key, told=told: told.get(key, "")).astype("object")
        yield (
            pd.Series(rows.index.isin(unlike.index), rows.index),
            Fault(
                "as_written",
                f"this spelling is said to mean two {what}: " + reason,
                "Keep the row that is right",
            ),
        )


def meanings_apart(
    rows: pd.DataFrame, clearances: list[pd.DataFrame], ledger: Ledger
) -> pd.DataFrame:
    """Return the rows without those whose spelling is itself another position of the register.

    The register's own name always means that position, so such a row would do nothing.

    Parameters
    ----------
    rows : frame
        Of the ``names`` sheet, as read.
    clearances : list of frame
        The register: what is stored, and what comes in with this load.
    """
    have = _pairs(clearances)
    written = rows[["machine", "as_written"]].apply(fold_column).astype("object")
    other = rows["clearance"].notna() & (written["as_written"] != fold_column(rows["clearance"]))
    taken = pd.Series(pd.MultiIndex.from_frame(written).isin(have), rows.index) & other
    return ledger.keep_good(
        rows,
        taken,
        Fault(
            "as_written",
            "the register has a position of that very name, so it is never read as "
            + rows["clearance"].astype("object").fillna(""),
            "Leave this row out, or leave the position out of the sheet clearances",
        ),
    )


def note_unknown_meanings(
    rows: pd.DataFrame, clearances: list[pd.DataFrame], ledger: Ledger
) -> None:
    """Note spellings that are said to mean a position which the register lacks."""
    said = rows.dropna(subset=["machine", "clearance"])
    pairs = said[["machine", "clearance"]].apply(fold_column).astype("object")
    lost = said[~pd.MultiIndex.from_frame(pairs).isin(_pairs(clearances))]
    if len(lost):
        told = [f"{row.machine} / {row.as_written} means {row.clearance}"
                for row in lost.itertuples()]  # fmt: skip
        ledger.note(
            "names: the register lacks the position meant, so these rows go on waiting: "
            f"{listing(told)}"
        )


def _pairs(clearances: list[pd.DataFrame]) -> pd.MultiIndex:
    """Return machine and position of each row of the register, as they compare."""
    known = pd.concat([part[["machine", "clearance"]] for part in clearances])
    return pd.MultiIndex.from_frame(known.apply(fold_column).astype("object"))


def _told(rows: pd.DataFrame, column: str) -> str:
    """Return what one spelling is said to mean, and where."""
    places = rows["file"].astype(str) + " row " + rows["row"].astype(int).astype(str)
    return " and ".join(
        f"{meaning} ({place})" for meaning, place in zip(rows[column], places, strict=True)
    )
