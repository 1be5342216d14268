"""A proposed register from files, from what waits in a store, or from both."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.errors import OutputProblem, UsageProblem
from trendwear.readings.draft import ASIDE_MEANINGS, Draft, draft
from trendwear.readings.draft_seen import Known, seen
from trendwear.readings.form import SHEETS
from trendwear.readings.headings import Headings
from trendwear.readings.sheet import read_paths
from trendwear.readings.template import Filled, book_bytes
from trendwear.report.harmless import harmless
from trendwear.report.save import save
from trendwear.store.draft_sources import waiting_and_known
from trendwear.store.tags import machine_keys, present_tags
from trendwear.wording import fold_column

__all__ = ["Drafted", "draft_bytes", "drafted", "write_draft"]

HOW_TO: Final = (
    "A proposed register: nothing of it is used until you load this file",
    "1. Yellow cells are for you: only a person may decide them. Grey columns with a heading in "
    "brackets say why; they are not read.",
    "2. clearances: confirm the kind; fill basis, moves and unit. The column (usual) says what "
    "usually goes with the kind. Add limits where you have them: without one there is a wear rate "
    "and no date. Delete what is not to be followed.",
    "3. names: each row says that a spelling means a position. Check those that are likely; where "
    "a person must decide, write the right position into clearance. If the spelling is a position "
    "of its own, move it to clearances instead. A row you delete leaves its readings waiting.",
    "4. Load this file together with the sheets it was made from, if they are not in the store "
    "yet: trendwear load THIS FILE SHEETS. From then on every spelling is read as its position, "
    "in every later sheet too.",
    "5. Once loaded, a row can be changed by loading it changed.",
)
_LEAD: Final = {"clearances": 7, "names": 3, "machines": 3}
"""Columns that stand before those that say why."""
SUFFIXES: Final = (".xlsx", "")


@dataclass(frozen=True)
class Drafted:
    """A proposed register, and what stood in the way of seeing everything."""

    draft: Draft
    refused: int
    """Rows of the files that could not be read."""
    notes: tuple[str, ...]


def drafted(
    paths: Sequence[Path], store: Path | None = None, headings: Headings | None = None
) -> Drafted:
    """Return a proposed register for the positions that no register knows.

    Parameters
    ----------
    paths
        Files and folders, loaded or not.
    store
        A store whose waiting rows count too, and whose register and spellings are known.
    headings
        A site's own headings.

    Raises
    ------
    StoreProblem
        The store cannot be read.
    """
    incoming = read_paths(list(paths), headings)
    waiting, known = waiting_and_known(store) if store else ({}, Known())
    names = _names(incoming.sheets, known.names)
    sources = [_under_present_tags(sheets, names) for sheets in (incoming.sheets, waiting)]
    proposed = draft(seen(sources, known))
    faults = incoming.faults.drop_duplicates(["file", "sheet", "row"])
    return Drafted(proposed, len(faults), (*incoming.notes, *proposed.notes))


def _names(sheets: Mapping[str, pd.DataFrame], stored: pd.DataFrame) -> pd.DataFrame:
    """Return what the ``names`` sheets of the files and of the store say, with their keys."""
    columns = [*SHEETS["names"].names]
    parts = [part.reindex(columns=columns) for part in (stored, sheets["names"]) if len(part)]
    names = pd.concat(parts, ignore_index=True) if parts else sheets["names"][columns]
    return names.assign(
        until=pd.to_datetime(names["until"]),
        machine_key=fold_column(names["machine"]),
        as_written_key=fold_column(names["as_written"]),
    )


def _under_present_tags(
    sheets: Mapping[str, pd.DataFrame], names: pd.DataFrame
) -> dict[str, pd.DataFrame]:
    """Return sheets in which a renamed machine bears the tag that it bears now."""
    renamed = {}
    for name in {"readings", "work"} & set(sheets):
        rows = sheets[name]
        keyed = rows.assign(machine_key=machine_keys(rows["machine"], rows["date"], names))
        renamed[name] = rows.assign(machine=present_tags(keyed, names))
    return {**sheets, **renamed}


def draft_bytes(proposed: Draft) -> bytes:
    """Return a proposed register as a workbook."""
    filled = {
        name: Filled(rows, ASIDE_MEANINGS[name], _LEAD[name], proposed.open_cells[name])
        for name, rows in proposed.rows.items()
    }
    names = [name for name in ("clearances", "names", "machines") if proposed.rows[name]]
    return book_bytes(names, filled, HOW_TO)


def write_draft(proposed: Draft, out: Path) -> list[Path]:
    """Write a proposed register to an ``.xlsx`` workbook, or to a folder of CSV files.

    Raises
    ------
    UsageProblem
        The name has another ending.
    OutputProblem
        It cannot be written there.
    """
    check_place(out)
    if out.suffix:
        save(out, draft_bytes(proposed))
        return [out]
    try:
        out.mkdir(exist_ok=True)
    except OSError as problem:
        raise OutputProblem(
            str(out), f"the folder cannot be made ({problem.strerror})", "Name another place"
        ) from problem
    places = []
    for name, rows in proposed.rows.items():
        if not rows:
            continue
        places.append(out / f"{name}.csv")
        save(places[-1], _csv(name, rows))
    return places


def check_place(out: Path) -> None:
    """Raise `UsageProblem` where a draft cannot go by the name's ending."""
    if out.suffix.casefold() not in SUFFIXES:
        raise UsageProblem(
            str(out),
            f"a proposed register is not written as {out.suffix}",
            "Name an .xlsx file, or a folder for CSV files",
        )


def _csv(name: str, rows: list[dict[str, str]]) -> bytes:
    """Return rows as CSV; what is not read again starts no formula."""
    text = io.StringIO(newline="")
    names, lead = SHEETS[name].names, _LEAD[name]
    headings = [*names[:lead], *ASIDE_MEANINGS[name], *names[lead:]]
    writer = csv.DictWriter(text, headings, restval="")
    writer.writeheader()
    asides = ASIDE_MEANINGS[name]
    writer.writerows(
        {head: harmless(cell) if head in asides else cell for head, cell in row.items()}
        for row in rows
    )
    return text.getvalue().encode("utf-8-sig")
