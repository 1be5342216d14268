"""Rows that do not count for now: as text out of their table, and back as they were."""

from __future__ import annotations

import json
from typing import Final

import pandas as pd

from trendwear.store.entries import Entries
from trendwear.store.shelves import FACTS, PROVENANCE, How, as_stored, shelf

__all__ = ["as_content", "from_content", "put_aside", "put_back"]

_COLUMNS: Final = ("take_back", "kept_in", "entry", "content", *PROVENANCE)
_WHOLE: Final = ("entry", "loaded_by", "load", "row")


def as_content(rows: pd.DataFrame) -> list[str]:
    """Return each row as JSON, its blanks left out; numbers and days come back exactly."""
    return [
        json.dumps({str(name): _plain(cell) for name, cell in row.items() if not pd.isna(cell)})
        for row in rows.astype("object").to_dict("records")
    ]


def from_content(texts: list[str], kept_in: str) -> pd.DataFrame:
    """Return rows of a table from their JSON, with the dtypes the engine takes."""
    rows = pd.DataFrame([json.loads(text) for text in texts])
    whole = {name: "Int64" for name in _WHOLE if name in rows}
    if kept_in not in FACTS:
        texts_of = {name: "string" for name in rows if name not in whole}
        return rows.astype({**whole, **texts_of})
    columns = shelf(kept_in).columns
    for name, how in columns.items():
        if how is How.DATE and name in rows:
            rows[name] = pd.to_datetime(rows[name], format="ISO8601").dt.as_unit("us")
    return as_stored(rows.astype(whole), columns)


def put_aside(
    entries: Entries, take_back: int, kept_in: str, rows: pd.DataFrame, content: list[str] | None
) -> None:
    """Write rows down as set aside; ``content`` is None for rows that stay in their table."""
    if rows.empty:
        return
    named = rows.assign(take_back=take_back, kept_in=kept_in, content=content)
    texts = {c: "string" for c in _COLUMNS if c not in ("take_back", "entry", "row")}
    frame = named.reindex(columns=list(_COLUMNS)).astype({**texts, "row": "Int64"})
    entries.insert("add_aside", frame)


def put_back(entries: Entries, kept_in: str, texts: list[str]) -> None:
    """Put rows back into their table."""
    entries.insert(f"add_{kept_in}", from_content(texts, kept_in))


def _plain(cell: object) -> object:
    if isinstance(cell, pd.Timestamp):
        return cell.isoformat()
    item = getattr(cell, "item", None)
    return item() if item is not None else cell
