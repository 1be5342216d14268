"""Options that several verbs of the ``trendwear`` command share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final

import typer

__all__ = ["DEFAULT_STORE", "AsOfOption", "StoreOption"]

DEFAULT_STORE: Final = Path("trendwear.duckdb")

StoreOption = Annotated[
    Path, typer.Option("--store", envvar="TRENDWEAR_STORE", help="The store file.")
]
AsOfOption = Annotated[
    str | None, typer.Option("--as-of", metavar="DATE", help="Count from this day; today if left.")
]
