"""The next outage of each clearance: which it is, the chance by then, and the order for it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from trendwear import outlook, tables
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.next_opening import next_openings
from trendwear.planning.plan import plan_site
from trendwear.planning_tables import NEXT_OPENINGS

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)


def ring(name: str, machine: str = "M", **other: object) -> dict[str, object]:
    row = {"machine": machine, "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name, "part_no": "R-1"}
    return row | {"design_min": 0.1, "design_max": 0.2, "quantity": 1} | other


def steady(name: str, per_8000h: float, machine: str = "M") -> Rows:
    return [
        {"machine": machine, "clearance": name, "date": f"{2010 + number}-01-01"}
        | {"run_hours": 8000 * number, "state": "as-found", "uncertainty": 0.005}
        | {"value": round(0.20 + per_8000h * number, 4)}
        for number in range(5)
    ]


PLANT: Mapping[str, Rows] = {
    "clearances": [ring("inside", access="casing"), ring("outside", access="bearing cap")],
    "readings": [*steady("inside", 0.065), *steady("outside", 0.065)],
    "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 23, "spread": 0.1}],
    "outages": [
        {"outage": "gone", "start": "2019-05-01", "end": "2019-05-20"},
        {"outage": "stop", "start": "2020-03-01", "end": "2020-03-03", "scope": "bearing caps"},
        {"outage": "long", "start": "2020-09-01", "end": "2020-09-20", "freeze": "2020-06-01"},
        {"outage": "next", "start": "2021-09-01", "end": "2021-09-20"},
    ],
    "parts": [{"part_no": "R-1", "lead_time_days": 60}],
}


def openings(stored: Stored, **sheets: Rows) -> Any:
    filled = {name: rows for name, rows in {**PLANT, **sheets}.items() if rows}
    table = next_openings(outlook.look(stored(filled), as_of=AS_OF))
    tables.check(table, NEXT_OPENINGS)
    return table.set_index("clearance")


def test_the_first_window_that_reaches_it(stored: Stored) -> None:
    told = openings(stored)
    assert told["outage"].to_dict() == {"inside": "long", "outside": "stop"}
    # Freeze less lead time and margin; a window without a freeze counts to its start.
    assert told.loc["inside", "order_by"] == pd.Timestamp("2020-06-01") - pd.Timedelta(days=74)
    assert told.loc["outside", "order_by"] == pd.Timestamp("2020-03-01") - pd.Timedelta(days=74)
    assert told["late"].to_dict() == {"inside": False, "outside": True}


def test_the_chance_is_the_plans_where_one_clearance_limits(stored: Stored) -> None:
    filled = {**PLANT, "clearances": [ring("inside")], "readings": steady("inside", 0.04)}
    site = outlook.look(stored(filled), as_of=AS_OF)
    (row,) = next_openings(site).to_dict("records")
    windows = plan_site(site, accepted_for_all(0.1)).windows.set_index("outage")
    assert row["chance"] == pytest.approx(windows.loc[row["outage"], "chance_before"])


def test_one_shelf_serves_all(stored: Stored) -> None:
    told = openings(stored, parts=[{"part_no": "R-1", "lead_time_days": 60, "in_stock": 1}])
    assert told["on_shelf"].to_dict() == {"inside": False, "outside": True}
    assert pd.isna(told.loc["outside", "order_by"])


def test_what_will_hardly_be_needed_is_not_ordered(stored: Stored) -> None:
    told = openings(stored, readings=[*steady("inside", 0.04), *steady("outside", 0.001)])
    assert told.loc["outside", "chance"] < 0.01
    assert pd.isna(told.loc["outside", "order_by"])
    assert not told.loc["outside", "late"]


def test_no_window_reaches_it(stored: Stored) -> None:
    told = openings(stored, outages=[PLANT["outages"][1]])
    assert pd.isna(told.loc["inside", "outage"])
    assert pd.isna(told.loc["inside", "chance"])
    assert pd.isna(told.loc["inside", "order_by"])


def test_no_window_is_ahead(stored: Stored) -> None:
    assert openings(stored, outages=[PLANT["outages"][0]]).empty


def test_an_unknown_duty_gives_no_chance(stored: Stored) -> None:
    readings = [{**row, "date": ""} for row in PLANT["readings"]]
    told = openings(stored, readings=readings, run_log=[], duty_plan=[])
    assert told["outage"].notna().all()
    assert told["chance"].isna().all()


def test_the_forecast_carries_them(stored: Stored) -> None:
    store = stored(PLANT)
    told = outlook.limit_forecast(outlook.look(store, as_of=AS_OF), "m")
    assert set(told.next_openings["outage"]) == {"long", "stop"}
