"""Which check before an overhaul is worth its while."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd
import pytest

from trendwear import outlook, tables
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.plan import SitePlan, only_machines, plan_site
from trendwear.planning_tables import LOOKS

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2021, 1, 1)


def clearance(name: str, **other: object) -> dict[str, object]:
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    return row | {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name} | other


def steady(name: str, per_8000h: float, **other: object) -> Rows:
    usual = {"machine": "M", "clearance": name, "state": "as-found", "uncertainty": 0.005}
    return [
        usual
        | {"date": f"{2010 + 2 * number}-01-01", "run_hours": 8000 * number}
        | {"value": round(0.2 + per_8000h * number + 0.006 * (-1) ** number, 4)}
        | other
        for number in range(5)
    ]


def outages(*years: int) -> Rows:
    return [
        {"outage": f"spring {year}", "start": f"{year}-05-01", "end": f"{year}-05-20"}
        for year in years
    ]


PLANT: Mapping[str, Rows] = {
    "clearances": [
        clearance("near", access="casing"),
        clearance("far", access="bearing cap", limit=0.47),
        clearance("idle", limit=5),
    ],
    "readings": [*steady("near", 0.04), *steady("far", 0.035), *steady("idle", 0.035)],
    "run_log": [{"machine": "M", "date": "2020-12-31", "run_hours": 42000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 12, "spread": 0.1}],
    "outages": outages(*range(2021, 2032)),
}


def planned(stored: Stored, risk: float = 0.1, **sheets: Rows) -> SitePlan:
    filled = {name: rows for name, rows in {**PLANT, **sheets}.items() if rows}
    return plan_site(outlook.look(stored(filled), as_of=AS_OF), accepted_for_all(risk))


def test_what_a_reading_may_change(stored: Stored) -> None:
    plan = planned(stored)
    tables.check(plan.looks, LOOKS)
    looks = plan.looks.set_index("clearance")
    (row,) = plan.overhaul.to_dict("records")
    assert "idle" not in looks.index
    assert (looks["latest_date"] == row["latest_date"]).all()
    assert (looks["outage"] == row["outage"]).all()
    for one in looks.to_dict("records"):
        assert one["date_p05"] <= row["latest_date"] <= one["date_p95"]
        assert one["reading_p05"] < one["reading_p95"]
        assert one["uncertainty"] == pytest.approx(0.005)
    # What makes most of the chance moves the date most.
    width = looks["date_p95"] - looks["date_p05"]
    assert width["near"] > width["far"]


def test_a_reading_taken_does_what_was_said_of_it(stored: Stored) -> None:
    told = planned(stored).looks.set_index("clearance").loc["near"]
    check = {"machine": "M", "clearance": "near", "date": f"{AS_OF}", "state": "check"}
    check |= {"run_hours": 42012, "uncertainty": 0.005}
    dates = []
    for name in ("reading_p95", "reading_p05"):
        store = stored({**PLANT, "readings": [*PLANT["readings"], check | {"value": told[name]}]})
        plan = plan_site(outlook.look(store, as_of=AS_OF), accepted_for_all(0.1))
        dates.append(plan.overhaul["latest_date"][0])
        store.unlink()
    # The family of one is fitted again with the reading: its scatter moves a little too.
    early, late = dates
    span = told["date_p95"] - told["date_p05"]
    assert abs(early - told["date_p05"]) < 0.25 * span
    assert abs(late - told["date_p95"]) < 0.25 * span


def test_up_to_which_reading_a_later_window_would_do(stored: Stored) -> None:
    looks = planned(stored, outages=outages(2021, 2023)).looks.set_index("clearance")
    near = looks.loc["near"]
    assert near["later_outage"] == "spring 2023"
    assert 0 < near["chance_later"] < 1
    assert near["decides"]
    assert near["reading_later"] < near["reading_p95"]


def test_what_decides_and_is_easiest_reached_stands_first(stored: Stored) -> None:
    looks = planned(stored).looks
    deciding = looks[looks["decides"]]
    assert set(deciding["clearance"]) == {"near", "far"}
    assert looks["clearance"].iloc[0] == "far"
    assert looks["place"].tolist() == list(range(1, len(looks) + 1))


def test_a_due_date_is_moved_by_no_reading(stored: Stored) -> None:
    due = [{"machine": "M", "what": "inspection", "due": "2022-05-05"}]
    looks = planned(stored, due_dates=due).looks
    assert (looks["outage"] == "spring 2022").all()
    assert looks["later_outage"].isna().all()
    assert looks["chance_later"].isna().all()


def test_without_windows_there_are_dates_alone(stored: Stored) -> None:
    looks = planned(stored, outages=[]).looks
    assert looks["date_p05"].notna().all()
    assert looks["outage"].isna().all()
    assert looks["chance_sooner"].isna().all()


def test_the_method_of_the_last_check_is_taken(stored: Stored) -> None:
    check = {"machine": "M", "clearance": "far", "date": "2020-01-01", "run_hours": 39000}
    check |= {"state": "check", "method": "lift check", "value": 0.37, "uncertainty": 0.02}
    readings = [{**row, "method": "feeler"} for row in PLANT["readings"]]
    looks = planned(stored, readings=[*readings, check]).looks.set_index("clearance")
    assert looks.loc["far", "method"] == "lift check"
    assert looks.loc["far", "uncertainty"] == pytest.approx(0.02)
    assert looks.loc["near", "method"] == "feeler"


def test_above_the_accepted_risk_a_reading_may_give_time(stored: Stored) -> None:
    rows = [clearance("near", limit=0.388)]
    plan = planned(stored, 0.3, clearances=rows, readings=steady("near", 0.04))
    (row,), (look,) = plan.overhaul.to_dict("records"), plan.looks.to_dict("records")
    assert row["outcome"] in ("above the accepted risk today", "past its limit today")
    assert pd.isna(look["outage"])
    assert look["later_outage"] == "spring 2021"
    assert look["date_p05"] == pd.Timestamp(AS_OF)
    assert look["date_p95"] > pd.Timestamp(AS_OF)


def test_what_was_read_past_its_limit_is_not_looked_at_again(stored: Stored) -> None:
    rows = [clearance("near", limit=0.3), *PLANT["clearances"][1:]]
    assert planned(stored, clearances=rows).looks.empty


def test_the_looks_of_some_machines(stored: Stored) -> None:
    plan = planned(stored)
    assert len(only_machines(plan, ["m"]).looks) == len(plan.looks)


def test_readings_in_inches_and_gaps_that_close(stored: Stored) -> None:
    closing = clearance("gap", moves="closes", unit="in", limit=0.05, access="none")
    readings = [
        {**row, "value": round((0.5 - 0.06 * place) / 2.54, 4), "unit": "in"}
        for place, row in enumerate(steady("gap", 0.0))
    ]
    readings = [{**row, "uncertainty": 0.002} for row in readings]
    sheets = {**PLANT, "clearances": [closing], "readings": readings}
    told = outlook.look(stored(sheets), as_of=AS_OF)
    (look,) = plan_site(told, accepted_for_all(0.1)).looks.to_dict("records")
    assert look["unit"] == "in"
    assert 0.055 < look["reading_p05"] < look["reading_p95"] < 0.09
    assert look["uncertainty"] == pytest.approx(0.002)
