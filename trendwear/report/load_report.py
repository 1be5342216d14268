"""What a load did, as plain lines for the screen, and its refused rows as a file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pandas as pd

from trendwear.errors import OutputProblem
from trendwear.readings.faults import FAULTS
from trendwear.readings.loaded import LoadReport, SheetCount
from trendwear.report.harmless import harmless

__all__ = ["load_report_lines", "refused_bytes", "write_refused"]

_SHOWN: Final = 20
"""Refused rows of one file that are shown; the rest is counted."""


def load_report_lines(report: LoadReport) -> list[str]:
    """Return the report as lines: what went in, what was refused, what waits, notes."""
    return [*_went_in(report), *_refused(report), *_waits(report), *_notes(report)]


def write_refused(report: LoadReport, path: Path) -> None:
    """Write every refused row to a CSV file (UTF-8), with the reason and what to write instead.

    Raises
    ------
    OutputProblem
        The file cannot be written.
    """
    try:
        path.write_bytes(refused_bytes(report))
    except OSError as error:
        raise OutputProblem(
            str(path), f"it cannot be written ({error.strerror})", "Name another file or folder"
        ) from error


def refused_bytes(report: LoadReport) -> bytes:
    """Return every refused row as a CSV file."""
    names = list(FAULTS)
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(names)
    for row in report.faults[names].itertuples(index=False):
        writer.writerow([_written(cell) for cell in row])
    return text.getvalue().encode("utf-8-sig")


def _written(cell: object) -> object:
    """Return a cell as it is written to the file: nothing for none, and no formula."""
    if not isinstance(cell, str):
        return "" if cell is None or cell != cell else cell
    return harmless(cell)


def _went_in(report: LoadReport) -> Iterator[str]:
    if not report.counts:
        yield f"Nothing to bring into {report.store}."
    elif report.changed and report.rehearsed:
        yield f"Would go into {report.store} (nothing was stored):"
    elif report.changed:
        yield f"Into {report.store}:"
    else:
        yield f"Nothing new for {report.store}: all of it was there before."
    for count in report.counts:
        yield f"  {count.sheet}: {_counted(count)}"


def _counted(count: SheetCount) -> str:
    parts = [
        f"{number} {word}"
        for number, word in (
            (count.added, "added"),
            (count.replaced, "replaced by a newer version"),
            (count.filled, "with blanks filled"),
            (count.unchanged, "there before"),
        )
        if number
    ]
    return ", ".join(parts) or "nothing"


def _refused(report: LoadReport) -> Iterator[str]:
    if report.clean:
        return
    yield ""
    yield f"Refused: {_rows(len(report.faults.drop_duplicates(['file', 'sheet', 'row'])))}"
    for file, faults in report.faults.groupby("file", sort=False, dropna=False):
        yield f"  {file}"
        for fault in faults.head(_SHOWN).itertuples(index=False):
            yield f"    {_fault(fault)}"
        if len(faults) > _SHOWN:
            yield f"    and {len(faults) - _SHOWN} more; --refused FILE writes all of them"


def _fault(fault: pd.Series) -> str:
    place = [str(fault.sheet)] if isinstance(fault.sheet, str) else []
    if isinstance(fault.cell, str):
        place.append(fault.cell)
    elif fault.row > 0:
        place.append(f"row {fault.row}")
    if isinstance(fault.column, str):
        place.append(fault.column)
    written = f' "{fault.written}"' if isinstance(fault.written, str) and fault.written else ""
    instead = f" → {fault.instead}" if isinstance(fault.instead, str) else ""
    return f"{', '.join(place) or 'the whole file'}{written}: {fault.reason}{instead}"


def _waits(report: LoadReport) -> Iterator[str]:
    if report.waiting.empty:
        return
    total = int(report.waiting["rows"].sum())
    yield ""
    sheets = "SHEETS " if report.rehearsed else ""
    yield f"Waiting for the register: {_rows(total)}. What it lacks is proposed by:"
    yield f"  trendwear draft {sheets}--store {report.store} --out register.xlsx"
    for row in report.waiting.head(_SHOWN).itertuples(index=False):
        position = row.machine if not isinstance(row.clearance, str) else (
            f"{row.machine} / {row.clearance}"
        )  # fmt: skip
        yield f"  {position}: {_rows(row.rows)} of {row.sheet}; the register lacks {row.lacks}"
    if len(report.waiting) > _SHOWN:
        yield f"  and {len(report.waiting) - _SHOWN} positions more"


def _notes(report: LoadReport) -> Iterator[str]:
    if report.notes:
        yield ""
        yield "Notes:"
        yield from (f"  {note}" for note in report.notes)


def _rows(number: int) -> str:
    return f"{number} row{'' if number == 1 else 's'}"
