"""Files of a load that was taken back: left out when they come in again, and said so."""

from __future__ import annotations

from dataclasses import replace
from enum import Enum
from typing import TYPE_CHECKING

import duckdb
import pandas as pd

from trendwear.store.ledger import listing
from trendwear.store.queries import query

if TYPE_CHECKING:
    from trendwear.readings.sheet import Incoming

__all__ = ["TakenBackFiles", "without_taken_back"]


class TakenBackFiles(Enum):
    """What a load does with the very files of a load that was taken back."""

    STAY_OUT = "nothing of them comes in"
    COME_IN = "their rows come in again, as rows of this load"


def without_taken_back(
    connection: duckdb.DuckDBPyConnection, incoming: Incoming, asked: TakenBackFiles
) -> Incoming:
    """Return what comes in, without files that were taken back unless they are asked for."""
    found = connection.execute(query("files_taken_back")).df()
    found = found.drop_duplicates("sha256", keep="last").set_index("sha256")
    again = [source for source in incoming.files if source.sha256 in found.index]
    if not again:
        return incoming
    notes = _notes(found.loc[[source.sha256 for source in again]], asked)
    if asked is TakenBackFiles.COME_IN:
        return replace(incoming, notes=(*incoming.notes, *notes))
    marks, names = {source.sha256 for source in again}, {source.name for source in again}
    sheets = {
        name: rows[~rows["sha256"].isin(marks)].reset_index(drop=True)
        for name, rows in incoming.sheets.items()
    }
    return replace(
        incoming,
        sheets=sheets,
        faults=incoming.faults[~incoming.faults["file"].isin(names)],
        notes=(*notes, *incoming.notes),
        files=tuple(source for source in incoming.files if source.sha256 not in marks),
    )


def _notes(found: pd.DataFrame, asked: TakenBackFiles) -> list[str]:
    """Say of each load that was taken back which of its files come again."""
    notes = []
    for load, rows in found.groupby("load"):
        first, one = rows.iloc[0], len(rows) == 1
        said = (
            f"{listing(rows['file'].tolist())}: {first['by']} took {'it' if one else 'them'} back "
            f"with load {load} on {first['made_at']:%Y-%m-%d}: {first['why']}; "
        )
        if asked is TakenBackFiles.COME_IN:
            notes.append(f"{said}the rows come in again with this load")
        else:
            notes.append(
                f"{said}nothing of {'it' if one else 'them'} comes in. To have the rows again: "
                f"trendwear take-back {load} --undo, or load with --again"
            )
    return notes
