"""A plant of two machines whose plan is issued, and what comes into its store afterwards."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

import trendwear

Rows = Sequence[Mapping[str, object]]


def _clearance(machine: str, name: str, **more: object) -> dict[str, object]:
    usual = {"kind": "ring", "basis": "diametral", "moves": "opens", "unit": "mm", "limit": 0.5}
    part = {"part_no": "R-1", "part": "ring", "quantity": 1}
    return {
        "machine": machine,
        "clearance": name,
        **usual,
        "consequence": "damage",
        **part,
        **more,
    }


def _readings(machine: str, name: str, wear_mm: float) -> list[dict[str, object]]:
    return [
        {"machine": machine, "clearance": name, "date": f"{2010 + year}-01-01"}
        | {"run_hours": 8000 * year, "state": "as-found"}
        | {"value": f"{0.2 + wear_mm * year + 0.004 * (-1) ** year:.3f}"}
        for year in range(5)
    ]


PLANT: Mapping[str, Rows] = {
    "machines": [
        {"machine": "M-1", "class": "mill", "crew_days": 6, "open_days": 5},
        {"machine": "M-2", "class": "fan", "crew_days": 4, "open_days": 5},
    ],
    "clearances": [
        _clearance("M-1", "inner ring"),
        _clearance("M-1", "outer ring", limit=0.6),
        _clearance("M-2", "ring", limit=0.8, part_no="R-2"),
    ],
    "readings": [
        *_readings("M-1", "inner ring", 0.03),
        *_readings("M-1", "outer ring", 0.02),
        *_readings("M-2", "ring", 0.05),
    ],
    "run_log": [
        {"machine": machine, "date": "2014-06-01", "run_hours": 35300} for machine in ("M-1", "M-2")
    ],
    "duty_plan": [
        {"machine": machine, "from": "2014-06-01", "hours_per_day": 21, "spread": 0.1}
        for machine in ("M-1", "M-2")
    ],
    "outages": [
        {"outage": f"Stop {year}", "start": f"{year}-04-01", "end": f"{year}-04-20"}
        | {"freeze": f"{year - 1}-11-01"}
        for year in range(2015, 2026)
    ],
    "parts": [
        {"part_no": "R-1", "part": "ring", "lead_time_days": 90, "in_stock": 0},
        {"part_no": "R-2", "part": "ring", "lead_time_days": 60, "in_stock": 0},
    ],
    "risks": [
        {"consequence": "damage", "accepted": 0.1, "by": "engineer", "date": "2014-01-01"},
        {"consequence": "leak", "accepted": 0.2, "by": "engineer", "date": "2014-01-01"},
    ],
}

AS_OF, LATER = "2014-07-01", "2015-02-01"

NEW_READING = {"machine": "M-1", "clearance": "inner ring", "date": "2015-01-12"} | {
    "run_hours": 39900,
    "state": "as-found",
    "value": ".0145 in",
}

SINCE: Mapping[str, Mapping[str, Rows]] = {
    "register and limits": {"clearances": [_clearance("M-2", "ring", limit=0.7, part_no="R-2")]},
    "new readings": {"readings": [NEW_READING]},
    "work recorded": {
        "work": [
            {"machine": "M-1", "clearance": "inner ring", "date": "2014-06-20"}
            | {"run_hours": 35500, "action": "renewed", "part_no": "R-1"}
        ]
    },
    "running hours": {
        "run_log": [{"machine": "M-1", "date": "2014-06-28", "run_hours": 35400}],
        "duty_plan": [{"machine": "M-2", "from": "2014-06-01", "hours_per_day": 12, "spread": 0.1}],
    },
    "windows, due dates and parts": {
        "outages": [
            {"outage": "Stop 2016", "start": "2016-05-15", "end": "2016-06-03"}
            | {"freeze": "2015-12-01"}
        ],
        "parts": [{"part_no": "R-2", "part": "ring", "lead_time_days": 200, "in_stock": 0}],
    },
    "accepted risks": {
        "risks": [{"consequence": "damage", "accepted": 0.02, "by": "owner", "date": "2015-01-01"}]
    },
}
"""By the group of inputs that it belongs to: sheets loaded after the plan was issued."""


def load(sheets: Mapping[str, Rows], store: Path) -> Path:
    """Load sheets into a store, made where there is none."""
    folder = store.with_name(f"{store.stem}-{sum(1 for _ in store.parent.iterdir())}")
    folder.mkdir()
    for name, rows in sheets.items():
        pd.DataFrame(rows).to_csv(folder / f"{name}.csv", index=False)
    report = trendwear.load([folder], store=store)
    assert report.clean, report.faults.to_string()
    return store
