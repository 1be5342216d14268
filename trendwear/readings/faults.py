"""What could not be read: one line a fault, with the cell quoted and what to write instead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from trendwear.tables import Columns, conform, empty

__all__ = ["FAULTS", "Refusal", "fault_frame", "file_fault", "gathered"]

FAULTS: Final[Columns] = {
    "file": "text",
    "sheet": "text",  # the tab as the file names it; missing where the whole file is meant
    "row": "count",  # 1-based, as the file shows it; 0: the whole file or sheet
    "column": "text",  # our column's name; missing where the whole row is meant
    "written": "text",  # the cell as written
    "reason": "text",
    "instead": "text",  # what to write, or to do
    "cell": "text",  # the cell as a workbook names it, such as F12; missing elsewhere
}
"""The columns of a fault frame."""

_QUOTED: Final = 1000
"""Characters of a cell that a fault quotes."""


@dataclass(frozen=True)
class Refusal:
    """Why a text is not read, and what to write instead."""

    reason: str
    instead: str


def fault_frame(
    place: tuple[str, str | None], columns: Mapping[str, Sequence[object]]
) -> pd.DataFrame:
    """Return faults of one sheet.

    Parameters
    ----------
    place : tuple of str
        The file's name and the sheet's.
    columns : mapping
        ``row``, ``column``, ``written``, ``reason``, ``instead`` and, of a workbook,
        ``cell``: one entry a fault.
    """
    frame = pd.DataFrame(columns)
    frame["file"], frame["sheet"] = place
    frame["written"] = [_quoted(text) for text in frame["written"]]
    return conform(frame, FAULTS)


def file_fault(place: tuple[str, str | None], refusal: Refusal, row: int = 0) -> pd.DataFrame:
    """Return the one fault of a file or sheet that is not read."""
    line: dict[str, Sequence[object]] = {
        "row": [row],
        "column": [None],
        "written": [None],
        "reason": [refusal.reason],
        "instead": [refusal.instead],
    }
    return fault_frame(place, line)


def gathered(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Return all faults of several frames, in their order."""
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else empty(FAULTS)


def _quoted(text: object) -> str | None:
    if not isinstance(text, str):
        return None
    return text if len(text) <= _QUOTED else text[:_QUOTED] + " …"
