"""A small plant whose plan other cases stand beside: two machines, seasons, windows, risks."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path

import pandas as pd

import trendwear
from trendwear import outlook
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.plan import SitePlan, accepted_risks, plan_site

Rows = Sequence[Mapping[str, object]]
AS_OF = dt.date(2020, 1, 1)


def clearance(machine: str, name: str, **other: object) -> dict[str, object]:
    """A ring that opens, its wear told by its own readings alone."""
    row = {"machine": machine, "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": f"{machine} {name}"}
    return row | {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1"} | other


def steady(machine: str, name: str, start: float, per_8000h: float) -> list[dict[str, object]]:
    """Readings that wear evenly, one part renewed between."""
    return [
        {"machine": machine, "clearance": name, "date": f"{2010 + number}-01-01"}
        | {"run_hours": 8000 * number, "state": "as-found", "uncertainty": 0.005}
        | {"value": round(start + per_8000h * number, 4)}
        for number in range(5)
    ]


def window(name: str, start: str, end: str, **other: object) -> dict[str, object]:
    return {"outage": name, "start": start, "end": end} | other


def seasons(first: int, last: int, **other: object) -> list[dict[str, object]]:
    """A season from March to October at 23 hours a day, then a stop."""
    rows = []
    for year in range(first, last + 1):
        for start, end, hours in (("01-01", "02-28", 0), ("03-01", "10-31", 23)):
            rows.append({"from": f"{year}-{start}", "to": f"{year}-{end}", "hours_per_day": hours})
        rows.append({"from": f"{year}-11-01", "to": f"{year}-12-31", "hours_per_day": 0})
    return [{"machine": "M", "spread": 0.1} | row | other for row in rows]


PLANT: Mapping[str, Rows] = {
    "clearances": [
        clearance("M", "fast", consequence="leak"),
        clearance("M", "slow", consequence="damage"),
        clearance("N", "only", consequence="leak"),
        clearance("N", "no limit", limit=None),
    ],
    "readings": [
        *steady("M", "fast", 0.20, 0.04),
        *steady("M", "slow", 0.20, 0.03),
        *steady("N", "only", 0.20, 0.03),
        *steady("N", "no limit", 0.20, 0.05),
    ],
    "run_log": [
        {"machine": machine, "date": "2019-12-31", "run_hours": 40000} for machine in ("M", "N")
    ],
    "duty_plan": seasons(2020, 2021),
    "outages": [
        window("gone", "2019-06-01", "2019-06-20"),
        window("spring 2020", "2020-05-01", "2020-05-20"),
        window("spring 2021", "2021-05-01", "2021-05-20"),
        window("spring 2022", "2022-05-01", "2022-05-20", freeze="2022-02-01"),
        window("spring 2023", "2023-05-01", "2023-05-20"),
    ],
    "risks": [
        {"consequence": "leak", "accepted": 0.2, "by": "engineer"},
        {"consequence": "damage", "accepted": 0.1, "by": "engineer"},
    ],
    "parts": [{"part_no": "R-1", "part": "ring", "lead_time_days": 60}],
}


def made(folder: Path, **sheets: Rows) -> Path:
    """Load the plant, some sheets of it changed or left out, into a store of its own."""
    store, written = folder / "plant.duckdb", folder / "sheets"
    written.mkdir(parents=True)
    for name, rows in {**PLANT, **sheets}.items():
        if not rows:
            continue
        pd.DataFrame(rows).to_csv(written / f"{name}.csv", index=False)
    report = trendwear.load([written], store=store)
    assert report.clean, report.faults.to_string()
    return store


def planned(store: Path, as_of: dt.date = AS_OF) -> tuple[SiteForecast, SitePlan]:
    """Forecast and plan a store at the accepted risks of its sheet."""
    told = outlook.look(store, as_of=as_of)
    (accepted,) = accepted_risks(told, None)
    return told, plan_site(told, accepted)
