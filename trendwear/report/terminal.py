"""The limit-forecast table for a terminal."""

from __future__ import annotations

from io import StringIO
from typing import TYPE_CHECKING, Final

import pandas as pd
from rich.box import SIMPLE
from rich.console import Console
from rich.table import Table
from rich.text import Text

from trendwear.report.assumed import assumed_once, without_assumed
from trendwear.report.cautions import SHORT_CAUTION
from trendwear.report.column_widths import column_widths
from trendwear.report.limit_table import governing, limit_table, reached_in_words

if TYPE_CHECKING:
    from trendwear.forecasting.limit_forecast import LimitForecast

__all__ = ["forecast_lines", "governing_lines", "text_table"]

NOTES_SHOWN: Final = 3
"""Notes of a row that are shown on a screen, its outcome among them."""
NARROWEST: Final = 150
"""Columns of text below which the table cannot be read."""


def forecast_lines(forecast: LimitForecast, width: int, first: int | None = None) -> list[str]:
    """Return the table, what governs each machine, and the caution, as lines of text.

    ``first`` keeps the table to so many of the most pressing rows.
    """
    shared = _shared_notes(forecast.table)
    table = limit_table(forecast)
    for index, machine in table["machine"].items():
        for note in shared.get(machine, []):
            table.loc[index, "note"] = table.loc[index, "note"].replace(f"; {note}", "")
    table["note"] = table["note"].map(_first_notes)
    left_out = len(table) - len(table.iloc[:first])
    return [
        f"Limit forecast as of {forecast.as_of:%Y-%m-%d}; the fewest running hours to 1 chance in "
        "20 of being past the limit first",
        *text_table(table.iloc[:first], width),
        *([f"… and {left_out} more"] if left_out else []),
        *_notes_once(shared),
        *assumed_once(forecast.table),
        *governing_lines(forecast),
        "",
        SHORT_CAUTION,
    ]


def _first_notes(note: str) -> str:
    """The outcome and what comes first after it; a screen has no room for all."""
    words = note.split("; ")
    more = len(words) - NOTES_SHOWN
    return "; ".join(words[:NOTES_SHOWN]) + (
        f"; {more} more in the exported table" if more > 0 else ""
    )


def _shared_notes(table: pd.DataFrame) -> dict[str, list[str]]:
    """Notes that all clearances of a machine bear, by machine."""
    notes = table["notes"].fillna("").map(without_assumed).str.split("; ")
    shared = {}
    for machine, rows in notes.groupby(table["machine"]):
        common = set.intersection(*map(set, rows)) - {""}
        shared[str(machine)] = [note for note in rows.iloc[0] if note in common]
    return shared


def _notes_once(shared: dict[str, list[str]]) -> list[str]:
    """Each shared note once, with the machines it is about."""
    about: dict[str, list[str]] = {}
    for machine, notes in shared.items():
        for note in notes:
            about.setdefault(note, []).append(machine)
    if not about:
        return []
    lines = [f"  {_named(machines)}: {note}" for note, machines in about.items()]
    return ["Beside every row of:", *lines]


def _named(machines: list[str]) -> str:
    more = len(machines) - 6
    return ", ".join(machines[:6]) + (f" and {more} more" if more > 0 else "")


def governing_lines(forecast: LimitForecast) -> list[str]:
    """Say which clearance governs each machine: the first that may pass its limit."""
    first = governing(forecast)
    lines = ["What governs each machine:"]
    for row in first.itertuples():
        early, even = reached_in_words(row, "p05"), reached_in_words(row, "p50")
        lines.append(
            f"  {row.machine}: {row.clearance}; 1 chance in 20 {early}, even chance {even}"
        )
    reached = set(first["machine"])
    for machine in forecast.table["machine"].drop_duplicates():
        if machine not in reached:
            lines.append(f"  {machine}: no clearance whose limit is in sight")
    return lines


def text_table(frame: pd.DataFrame, width: int, narrowest: int = NARROWEST) -> list[str]:
    """Return a frame of text as lines, cells folded where they are too long.

    Words stay whole as long as there is room for the longest of every column.
    """
    table = Table(box=SIMPLE, pad_edge=False, show_edge=False)
    room = max(width, narrowest)
    for name, wide in zip(frame.columns, column_widths(frame, room), strict=True):
        table.add_column(str(name), overflow="fold", width=wide)
    for row in frame.itertuples(index=False):
        # As plain text: a square bracket in a name is no mark-up.
        table.add_row(*(Text(str(cell)) for cell in row))
    out = StringIO()
    Console(file=out, width=room, color_system=None).print(table)
    return [line.rstrip() for line in out.getvalue().splitlines()]
