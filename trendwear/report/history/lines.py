"""A machine's history for a terminal: each stored row with its source and its changes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any, Final

import pandas as pd

from trendwear.history_tables import KINDS, LOADED

__all__ = ["history_lines", "source"]

_WIDEST: Final = 110
"""Columns of text that are still easy to read."""
_HEADINGS: Final = {
    "machine": "The machine in the register",
    "register": "Register and limits, in sequence",
    "reading": "Readings",
    "dimension": "Sizes measured",
    "computed": "Readings computed of sizes, never typed",
    "work": "Work",
    "event": "Events",
    "run log": "Run log",
    "duty plan": "Duty plan",
    "due date": "Due dates",
    "concession": "Concessions",
}
_READ: Final = ("reading", "dimension")
_SAYS_ITS_DAY: Final = (
    "reading",
    "dimension",
    "computed",
    "work",
    "event",
    "run log",
    "concession",
)
_ONE_LINE: Final = ("run log", "duty plan", "due date")


def history_lines(history: pd.DataFrame, width: int) -> list[str]:
    """Return the history (`trendwear.history_tables.HISTORY`) as lines no wider than ``width``."""
    width = min(width, _WIDEST)
    lines = []
    for kind in KINDS:
        rows = history[history["kind"] == kind].to_dict("records")
        if rows:
            lines += [f"{_HEADINGS[kind]}:", ""]
        place = None
        for row in rows:
            if row["happened"] == LOADED and row["clearance"] not in (None, place):
                place = row["clearance"]
                lines.append(f"{row['machine']} / {place}")
            for depth, text in _told({str(name): cell for name, cell in row.items()}):
                lines += _wrapped(text, depth, width)
        lines += [""] if rows else []
    return lines


def source(row: dict[str, Any]) -> str:
    """Return where a row was read: ``log.xlsx, sheet readings, row 3, cell F3``."""
    if not isinstance(row["file"], str):
        return ""
    tab = row["sheet"]
    own = isinstance(tab, str) and not row["file"].startswith(f"{tab}.")
    parts = [row["file"], *([f"sheet {tab}"] if own else [])]
    parts += [] if pd.isna(row["row"]) else [f"row {row['row']:.0f}"]
    parts += [f"cell {row['cell']}"] if isinstance(row["cell"], str) else []
    return ", ".join(parts)


def _told(row: dict[str, Any]) -> Iterator[tuple[int, str]]:
    if row["happened"] != LOADED:
        yield 2, _change(row)
        return
    dated = row["kind"] in _SAYS_ITS_DAY and not pd.isna(row["date"])
    day = f"{row['date']:%Y-%m-%d}  " if dated else ""
    value = f": {row['written']!r} read as {row['read']}" if row["kind"] in _READ else ""
    value = f": {_made(row)}" if row["kind"] == "computed" else value
    by = f", by {row['by']}" if isinstance(row["by"], str) else ""
    former = f"; changed: {row['former']}" if isinstance(row["former"], str) else ""
    said = f"{day}{row['what']}{value}{by}{former}"
    counts = "" if row["counts"] == "yes" else f"; {_counts(row['counts'])}"
    came = "" if pd.isna(row["load"]) else f"load {row['load']:.0f} of {row['at']:%Y-%m-%d}{counts}"
    where = "; ".join(part for part in (source(row), came) if part)
    if row["kind"] in _ONE_LINE:
        yield 1, f"{said} ({where})"
    else:
        yield from ((1, said), (2, where))


def _made(row: dict[str, Any]) -> str:
    """Say how a reading was made of sizes, or why none was."""
    made = f"{row['written']} makes {row['read']}"
    return made if isinstance(row["read"], str) else str(row["written"])


def _counts(said: str) -> str:
    """Say until when a row counted, or why it does not."""
    no = said.removeprefix("no: ")
    return f"it counted {said}" if no == said else f"it does not count: {no}"


def _change(row: dict[str, Any]) -> str:
    who = f" by {row['by']}" if isinstance(row["by"], str) else ""
    why = f": {row['why']}" if isinstance(row["why"], str) else ""
    head = f"{row['at']:%Y-%m-%d} {row['happened']}"
    if row["happened"] == "filled":
        return f"{head}: {row['written']} ({source(row)}; load {row['load']:.0f})"
    if row["happened"] == "amended":
        return f"{head}{who}: was {row['former']!r}, now {row['written']!r} ({row['read']}){why}"
    of = f" ({row['former']})" if isinstance(row["former"], str) else ""
    load = "" if pd.isna(row["load"]) else f" with load {row['load']:.0f}"
    return f"{head}{load}{of}{who}{why}"


def _wrapped(text: str, depth: int, width: int) -> list[str]:
    indent = "  " * depth
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + "    ")
