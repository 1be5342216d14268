"""What all tests share: small stores made from rows written in the test."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

import trendwear

Rows = Sequence[Mapping[str, object]]


def write_sheets(folder: Path, sheets: Mapping[str, Rows]) -> Path:
    """Write one CSV file for each sheet; missing cells stay blank."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in sheets.items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns)
            writer.writeheader()
            writer.writerows(rows)
    return folder


@pytest.fixture
def stored(tmp_path: Path) -> Callable[[Mapping[str, Rows]], Path]:
    """Return a function that loads sheets into a new store and returns its path."""

    def load(sheets: Mapping[str, Rows]) -> Path:
        store = tmp_path / "test.duckdb"
        report = trendwear.load([write_sheets(tmp_path / "sheets", sheets)], store=store)
        assert report.clean, report.faults.to_string()
        return store

    return load
