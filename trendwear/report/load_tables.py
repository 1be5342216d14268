"""What a load did or would do, as tables for a page."""

from __future__ import annotations

from typing import Final

import pandas as pd

from trendwear.readings.loaded import LoadReport

__all__ = ["counts_table", "in_one_sentence", "refused_table", "waiting_table"]

COUNTS: Final = {
    "added": "new",
    "filled": "filled in",
    "replaced": "changed",
    "unchanged": "there already",
}
"""What became of rows, in the words of the page."""


def counts_table(report: LoadReport) -> pd.DataFrame:
    """Return how many rows of each sheet are new, filled in, changed, or there already."""
    rows = [
        {"sheet": count.sheet, **{says: getattr(count, name) for name, says in COUNTS.items()}}
        for count in report.counts
    ]
    return pd.DataFrame(rows, columns=["sheet", *COUNTS.values()])


def refused_table(report: LoadReport) -> pd.DataFrame:
    """Return every refused row: where it stands, what is written there, why, what instead."""
    faults = report.faults
    rows = faults["row"].where(faults["row"] > 0).astype("Int64").astype("string")
    row = "row " + rows
    cell = faults["cell"].astype("string")
    table = pd.DataFrame(
        {
            "file": faults["file"],
            "sheet": faults["sheet"],
            "cell": cell.where(cell.notna(), row),
            "column": faults["column"],
            "written": faults["written"],
            "reason": faults["reason"],
            "write instead": faults["instead"],
        }
    )
    texts = table.astype("string").fillna("")
    blank = [name for name in ("cell", "column", "written") if (texts[name] == "").all()]
    return texts.drop(columns=blank)


def waiting_table(report: LoadReport) -> pd.DataFrame:
    """Return the positions whose rows wait for the register."""
    waiting = report.waiting[["machine", "clearance", "sheet", "rows", "lacks"]]
    named = waiting.rename(columns={"clearance": "position", "lacks": "the register lacks"})
    return named.fillna({"position": "", "machine": ""})


def in_one_sentence(report: LoadReport) -> str:
    """Return what goes in, is refused and waits, in one sentence."""
    sums = counts_table(report)[list(COUNTS.values())].sum()
    parts = [f"{int(number)} {says}" for says, number in sums.items() if number]
    places = report.faults.drop_duplicates(["file", "sheet", "row"])
    refused = int((places["row"] > 0).sum())
    whole = len(places) - refused
    waits = int(report.waiting["rows"].sum())
    parts += [f"{refused} refused"] if refused else []
    parts += [f"{waits} waiting for the register"] if waits else []
    rows = f"Rows: {', '.join(parts)}" if parts else "No rows were found"
    unread = "1 whole sheet" if whole == 1 else f"{whole} whole sheets"
    return f"{rows}; {unread} could not be read" if whole else rows
