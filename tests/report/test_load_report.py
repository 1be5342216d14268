"""A load's report on screen, and its refused rows as a file."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from trendwear.errors import OutputProblem
from trendwear.readings.faults import FAULTS
from trendwear.readings.loaded import LoadReport, SheetCount
from trendwear.report.load_report import load_report_lines, write_refused
from trendwear.tables import conform


def faults(rows: int, written: str = "-3") -> pd.DataFrame:
    frame = pd.DataFrame(
        {
            "file": "old.xlsx",
            "sheet": "Bearings",
            "row": range(2, 2 + rows),
            "column": "value",
            "written": written,
            "reason": "a clearance is not negative",
            "instead": "write the size",
        }
    )
    return conform(frame, FAULTS)


REPORT = LoadReport(
    store=Path("plant.duckdb"),
    files=("old.xlsx",),
    counts=(SheetCount("machines", added=2), SheetCount("readings", added=5, filled=1)),
    waiting=pd.DataFrame(
        {
            "machine": ["K-1"],
            "clearance": ["a"],
            "sheet": ["readings"],
            "lacks": ["kind"],
            "rows": [3],
        }
    ),
    faults=faults(1),
    notes=("look again",),
    changed=True,
)


def test_in_order() -> None:
    assert load_report_lines(REPORT) == [
        "Into plant.duckdb:",
        "  machines: 2 added",
        "  readings: 5 added, 1 with blanks filled",
        "",
        "Refused: 1 row",
        "  old.xlsx",
        '    Bearings, row 2, value "-3": a clearance is not negative → write the size',
        "",
        "Waiting for the register: 3 rows. What it lacks is proposed by:",
        "  trendwear draft --store plant.duckdb --out register.xlsx",
        "  K-1 / a: 3 rows of readings; the register lacks kind",
        "",
        "Notes:",
        "  look again",
    ]


def test_nothing_new_is_said() -> None:
    lines = load_report_lines(replace(REPORT, changed=False))
    assert lines[0] == "Nothing new for plant.duckdb: all of it was there before."


def test_a_rehearsal_says_that_nothing_was_stored() -> None:
    lines = load_report_lines(replace(REPORT, rehearsed=True))
    assert "  trendwear draft SHEETS --store plant.duckdb --out register.xlsx" in lines
    assert lines[:2] == [
        "Would go into plant.duckdb (nothing was stored):",
        "  machines: 2 added",
    ]


def test_twenty_faults_a_file_and_the_count_of_the_rest() -> None:
    lines = load_report_lines(replace(REPORT, faults=faults(25)))
    assert sum('"-3"' in line for line in lines) == 20
    assert "    and 5 more; --refused FILE writes all of them" in lines


def test_all_refused_rows_in_a_file(tmp_path: Path) -> None:
    place = tmp_path / "refused.csv"
    write_refused(replace(REPORT, faults=faults(25, "=1+1")), place)
    with place.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 25
    assert rows[0]["written"] == "'=1+1"
    assert list(rows[0]) == list(FAULTS)


def test_a_place_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(OutputProblem):
        write_refused(REPORT, tmp_path / "none" / "refused.csv")
