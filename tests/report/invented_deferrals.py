"""Small plants whose overhaul somebody asks to put off."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

import trendwear

Rows = Sequence[Mapping[str, object]]
AS_OF = dt.date(2020, 1, 1)
"""The machine has run 40,000 h then, and 20 h a day from then on."""


def clearance(name: str, **other: object) -> dict[str, object]:
    """A ring that opens, its wear told by its own readings alone."""
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name, "consequence": "leak"}
    return row | {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1"} | other


def steady(name: str, start: float, per_8000h: float, **other: object) -> list[dict[str, object]]:
    """Readings of 2010 to 2014, or of as many years as asked for, 8000 h apart."""
    row: dict[str, object] = {"machine": "M", "clearance": name, "state": "as-found"}
    row |= {"uncertainty": 0.005, "method": "bore gauge"}
    return [
        row
        | {"date": f"{2015 + number}-01-01", "run_hours": 8000 * number}
        | {"value": round(start + per_8000h * number + 0.004 * (-1) ** number, 4)}
        | other
        for number in range(5)
    ]


PLANT: Mapping[str, Rows] = {
    "machines": [{"machine": "M", "description": "mill drive", "site": "here", "open_days": 5}],
    "clearances": [
        clearance("fast"),
        clearance("slow", consequence="damage", part_no="S-1"),
    ],
    "readings": [*steady("fast", 0.20, 0.05), *steady("slow", 0.20, 0.04)],
    "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 20, "spread": 0.1}],
    "risks": [
        {"consequence": "leak", "accepted": 0.2, "by": "mill engineer", "date": "2019-05-01"},
        {"consequence": "damage", "accepted": 0.1, "by": "works manager", "date": "2019-05-02"},
    ],
    "outages": [
        {"outage": "spring 2020", "start": "2020-05-01", "end": "2020-05-20"},
        {"outage": "spring 2030", "start": "2030-03-01", "end": "2030-03-20"},
    ],
    "parts": [
        {"part_no": "R-1", "part": "ring", "lead_time_days": 90, "in_stock": 0},
        {"part_no": "S-1", "part": "ring", "lead_time_days": 30, "in_stock": 1},
    ],
}

LONG = "boiler carry-over seen by the night crew, drains opened late and the speed fell back " * 6


def crowded(limits: int) -> Mapping[str, Rows]:
    """A plant with so many limiting clearances, long names, long notes and much beside them."""
    names = [f"steam end gland, segmented ring in slot number {number}" for number in range(limits)]
    kinds = ("leak", "damage", "efficiency", "people")
    return {
        **PLANT,
        "clearances": [
            clearance(name, consequence=kinds[number % 4], part_no=f"R-{number}", set=f"{number}")
            for number, name in enumerate(names)
        ],
        "readings": [row for name in names for row in steady(name, 0.20, 0.055, note=LONG)],
        "parts": [
            {"part_no": f"R-{number}", "part": f"segmented gland ring of size {number}"}
            | {"lead_time_days": 400, "in_stock": 0}
            for number in range(limits)
        ],
        "events": [
            {"machine": "M", "date": f"2019-0{month}-05", "what": "wet steam", "note": LONG}
            for month in range(2, 10)
        ],
        "due_dates": [
            {"machine": "M", "what": f"inspection {number} of the casing and its bolts"}
            | {"due": f"2020-0{number + 1}-01", "authority": "pressure equipment law"}
            for number in range(8)
        ],
    }


def store_of(sheets: Mapping[str, Rows], folder: Path) -> Path:
    """Load sheets into a new store; empty ones are left out."""
    for name, rows in sheets.items():
        if rows:
            pd.DataFrame(rows).to_csv(folder / f"{name}.csv", index=False)
    store = folder / "test.duckdb"
    report = trendwear.load([folder], store=store)
    assert report.clean, report.faults.to_string()
    return store
