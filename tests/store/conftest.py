"""A folder of sheets, and a store to load them into."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport
from trendwear.store import history
from trendwear.store.database import reader
from trendwear.store.intake import load


@pytest.fixture
def store(tmp_path: Path) -> Path:
    """Where the store will be."""
    return tmp_path / "plant.duckdb"


@pytest.fixture
def folder(tmp_path: Path) -> Callable[..., Path]:
    """Write sheets into a folder of their own: ``folder(readings="machine,…")``."""

    def write(name: str = "sheets", **sheets: str) -> Path:
        place = tmp_path / name
        place.mkdir(exist_ok=True)
        for sheet, text in sheets.items():
            (place / f"{sheet}.csv").write_text(text.strip() + "\n", encoding="utf-8")
        return place

    return write


@pytest.fixture
def take(folder: Callable[..., Path], store: Path) -> Callable[..., LoadReport]:
    """Load sheets into the store: ``take(readings="machine,…")``."""

    def load_sheets(name: str = "sheets", **sheets: str) -> LoadReport:
        place = folder(name, **sheets)
        return load([place / f"{sheet}.csv" for sheet in sheets], store=store)

    return load_sheets


@pytest.fixture
def stored(store: Path) -> Callable[[str], pd.DataFrame]:
    """Read a frame of the store: ``stored("readings")``."""

    def read(what: str) -> pd.DataFrame:
        with reader(store) as connection:
            return getattr(history, what)(connection)

    return read
