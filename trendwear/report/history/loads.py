"""The list of loads, and what taking one back changed, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any, Final

import pandas as pd

__all__ = ["loads_lines", "taken_back_lines"]

_WIDEST: Final = 110


def loads_lines(loads: pd.DataFrame, width: int) -> list[str]:
    """Return every load with its files, rows and what became of them, the last one last."""
    if loads.empty:
        return ["Nothing was loaded yet."]
    lines = []
    for _, rows in loads.groupby("load"):
        first = rows.iloc[0].to_dict()
        head = f"load {first['load']}  {first['loaded_at']:%Y-%m-%d %H:%M}"
        files = first["files"] if isinstance(first["files"], str) else "no file"
        lines += _wrapped(f"{head}  {files}", 0, width)
        lines += _wrapped(f"brought {first['rows']}; {first['rows_now']} count now", 1, width)
        for row in rows.to_dict("records"):
            for text in _back({str(name): cell for name, cell in row.items()}):
                lines += _wrapped(text, 1, width)
    return lines


def taken_back_lines(told: Sequence[str], width: int) -> list[str]:
    """Return what taking a load back did: the first sentence, the others below it."""
    first, *others = told
    lines = _wrapped(first, 0, width)
    for text in others:
        lines += _wrapped(text, 1, width)
    return lines


def _back(row: dict[str, Any]) -> Iterator[str]:
    if pd.isna(row["taken_back_at"]):
        return
    why = row["taken_back_why"]
    yield f"taken back {row['taken_back_at']:%Y-%m-%d} by {row['taken_back_by']}: {why}"
    if not pd.isna(row["undone_at"]):
        yield f"put in again {row['undone_at']:%Y-%m-%d} by {row['undone_by']}: {row['undone_why']}"


def _wrapped(text: str, depth: int, width: int) -> list[str]:
    indent = "  " * depth
    width = min(width, _WIDEST)
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + "    ")
