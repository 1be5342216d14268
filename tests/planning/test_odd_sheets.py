"""Planning sheets that are odd or wrong: each is answered in words, none with a traceback."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd
import pytest

import trendwear
from trendwear import outlook
from trendwear.planning.plan import accepted_risks, plan_site
from trendwear.planning.site_board import Aim
from trendwear.planning.site_plan import place_site
from trendwear.report.overhaul.export import plan_bytes
from trendwear.report.overhaul.terminal import plan_lines

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)

RING = {"machine": "M", "clearance": "ring", "kind": "ring", "basis": "diametral", "quantity": 1}
RING |= {"moves": "opens", "unit": "mm", "limit": 0.5, "design_min": 0.1, "design_max": 0.2}
RING |= {"part": "ring", "part_no": "R-1"}
PLANT: Mapping[str, Rows] = {
    "machines": [{"machine": "M", "cost_if_past": 9000}],
    "clearances": [RING],
    "readings": [
        {"machine": "M", "clearance": "ring", "date": f"{2010 + number}-01-01"}
        | {"run_hours": 8000 * number, "state": "as-found", "value": 0.2 + 0.04 * number}
        for number in range(5)
    ],
    "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 23}],
    "parts": [{"part_no": "R-1", "price": 300, "lead_time_days": 60}],
    "outages": [
        {"outage": "A", "start": "2020-05-01", "end": "2020-05-20", "cost": 100},
        {"outage": "B", "start": "2021-05-01", "end": "2021-05-20", "cost": 100},
    ],
}


def answer(stored: Stored, risk: float, sheets: Mapping[str, Rows]) -> str:
    """All that the verb would say on screen and in Markdown, for the least risk and cost."""
    filled = {name: rows for name, rows in {**PLANT, **sheets}.items() if rows}
    told = outlook.look(stored(filled), as_of=AS_OF)
    (accepted,) = accepted_risks(told, risk)
    plan = plan_site(told, accepted)
    aims = Aim if plan.costs.openings["expected_cost"].notna().any() else [Aim.RISK]
    said = []
    for aim in aims:
        placed = place_site(plan, told.site.machines, told.site.planning.outages, aim)
        said += plan_lines([plan], 400, placed)
        said.append(plan_bytes([plan], ".md", placed).decode())
        assert len(plan_bytes([plan], ".xlsx", placed)) > 1000
    return "\n".join(said)


def outage(name: str, start: str, end: str, **other: object) -> dict[str, object]:
    return {"outage": name, "start": start, "end": end} | other


ODD: dict[str, tuple[float, dict[str, Rows], str]] = {
    "windows overlap": (
        0.1,
        {
            "outages": [
                outage("A", "2020-05-01", "2020-05-20"),
                outage("B", "2020-05-10", "2020-06-20"),
            ]
        },
        "usual interval",
    ),
    "windows in the past": (
        0.1,
        {"outages": [outage("A", "2019-05-01", "2019-05-20", cost=5)]},
        "no coming window in the outages sheet",
    ),
    "a lead time of a year": (
        0.1,
        {"parts": [{"part_no": "R-1", "price": 300, "lead_time_days": 800}]},
        "LATE",
    ),
    "no room": (
        0.1,
        {"outages": [outage("A", "2020-05-01", "2020-05-20", machines=0)]},
        "it takes no machine",
    ),
    "no duty": (
        0.1,
        {"duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 0}]},
        "Planned to run too little: hours without a date",
    ),
    "no risk at all": (0.0, {}, "already"),
    "any risk": (1.0, {}, "Risk not reached within 200,000 h"),
    "a part number without a part": (
        0.1,
        {"parts": [{"part_no": "Z-9", "price": 1}]},
        "part R-1 is not in the parts sheet: no lead time",
    ),
    "no price": (
        0.1,
        {"parts": [{"part_no": "R-1", "lead_time_days": 60}]},
        "price of R-1 in the parts sheet",
    ),
    "nothing limits": (0.1, {"clearances": [{**RING, "limit": ""}]}, "No clearance limits it"),
    "past its limit today": (
        0.1,
        {"clearances": [{**RING, "limit": 0.3}]},
        "none starts in time: first window that fits is A",
    ),
    "passing costs little": (
        0.1,
        {"machines": [{"machine": "M", "cost_if_past": 5}]},
        "passing a limit costs less than an overhaul",
    ),
    "passing costs nothing": (
        0.1,
        {"machines": [{"machine": "M", "cost_if_past": 0}]},
        "or longer",
    ),
}


@pytest.mark.parametrize("odd", ODD)
def test_odd_sheets_are_answered_in_words(stored: Stored, odd: str) -> None:
    risk, sheets, words = ODD[odd]
    assert words in answer(stored, risk, sheets)


WRONG: dict[str, tuple[str, dict[str, object], str]] = {
    "a window without an end": ("outages", {"end": ""}, "end"),
    "a window that ends before it starts": ("outages", {"end": "2019-01-01"}, "before it starts"),
    "a negative window cost": ("outages", {"cost": -1}, "negative"),
    "a negative price": ("parts", {"price": -300}, "negative"),
    "a negative cost of passing": ("machines", {"cost_if_past": -1}, "negative"),
    "a negative cost of a crew day": ("machines", {"crew_day_cost": -1}, "negative"),
    "fewer machines than none": ("outages", {"machines": -2}, "negative"),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_wrong_sheets_are_refused_with_the_cell(tmp_path: Path, wrong: str) -> None:
    sheet, change, words = WRONG[wrong]
    rows = [{**PLANT[sheet][0], **change}, *PLANT[sheet][1:]]
    for name, cells in {**PLANT, sheet: rows}.items():
        pd.DataFrame(cells).to_csv(tmp_path / f"{name}.csv", index=False)
    report = trendwear.load([tmp_path], store=tmp_path / "test.duckdb")
    assert not report.clean
    (fault,) = report.faults.to_dict("records")
    assert fault["sheet"] == sheet
    assert words in f"{fault['column']} {fault['reason']}"
    assert fault["instead"]
