"""Life and wear by supplier as a file: CSV, XLSX or Markdown, by the file's ending."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

from trendwear.errors import UsageProblem
from trendwear.parts.lives import PART_LIVES
from trendwear.report.export import csv_bytes, markdown_lines
from trendwear.report.overhaul.sheets import workbook_of
from trendwear.report.parts.lives import HOW_COUNTED, lives_table
from trendwear.report.save import save

__all__ = ["check_lives_suffix", "write_lives"]


def write_lives(lives: pd.DataFrame, path: Path) -> None:
    """Write `PART_LIVES` to ``path``; its ending says how.

    ``.csv`` holds the numbers, ``.xlsx`` them and what people read, ``.md`` what people
    read.

    Raises
    ------
    UsageProblem
        The ending is none that is understood.
    OutputProblem
        The file cannot be written there.
    """
    save(path, _writer(path)(lives))


def check_lives_suffix(path: Path) -> None:
    """Raise `UsageProblem` where the table cannot be written with that ending."""
    _writer(path)


def _writer(path: Path) -> Callable[[pd.DataFrame], bytes]:
    if path.suffix.lower() not in _WRITERS:
        raise UsageProblem(
            f"file ending {path.suffix or '(none)'}",
            "the lives of parts cannot be written so",
            f"Let the file's name end in {', '.join(_WRITERS)}",
        )
    return _WRITERS[path.suffix.lower()]


def _csv(lives: pd.DataFrame) -> bytes:
    return csv_bytes(_numbers(lives), PART_LIVES)


def _numbers(lives: pd.DataFrame) -> pd.DataFrame:
    """A band without an end has no number there."""
    return lives.replace([np.inf, -np.inf], np.nan)


def _xlsx(lives: pd.DataFrame) -> bytes:
    return workbook_of(
        {
            "parts": lives_table(lives),
            "numbers": _numbers(lives),
            "about": pd.DataFrame({"how it is counted": HOW_COUNTED}),
        }
    )


def _markdown(lives: pd.DataFrame) -> bytes:
    lines = ["# Parts by number and supplier", "", *markdown_lines(lives_table(lives)), ""]
    return "\n".join([*lines, *HOW_COUNTED, ""]).encode("utf-8")


_WRITERS: Final[dict[str, Callable[[pd.DataFrame], bytes]]] = {
    ".csv": _csv,
    ".xlsx": _xlsx,
    ".md": _markdown,
}
