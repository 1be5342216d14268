"""Options that several verbs of the ``trendwear`` command share."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import Annotated, Final

import typer

from trendwear.errors import UsageProblem
from trendwear.report.pdf.paper import Paper

__all__ = [
    "DEFAULT_STORE",
    "AsOfOption",
    "PaperOption",
    "StoreOption",
    "day_asked",
    "terminal_width",
]

DEFAULT_STORE: Final = Path("trendwear.duckdb")

StoreOption = Annotated[
    Path, typer.Option("--store", envvar="TRENDWEAR_STORE", help="The store file.")
]
AsOfOption = Annotated[
    str | None, typer.Option("--as-of", metavar="DATE", help="Count from this day; today if left.")
]
PaperOption = Annotated[
    Paper, typer.Option("--paper", case_sensitive=False, help="What a PDF is made for.")
]


def day_asked(text: str | None) -> dt.date:
    """Return the day asked for, today where none was.

    Raises
    ------
    UsageProblem
        The text is no date.
    """
    if text is None:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise UsageProblem("--as-of", text, "Write the date as 2026-11-01.") from None


def terminal_width() -> int:
    """Return the columns of the terminal; many where the output goes elsewhere."""
    return shutil.get_terminal_size((200, 50)).columns
