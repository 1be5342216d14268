"""What intervals and openings cost: against sums by hand, integrals and a simulated machine."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear import outlook, tables
from trendwear.errors import UsageProblem
from trendwear.forecasting.site import SiteForecast
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.cost_openings import LATEST_OVERHAUL
from trendwear.planning.overhaul import limiting_of
from trendwear.planning.plan import SitePlan, only_machines, plan_site
from trendwear.planning.renewed import renewed_crossing
from trendwear.planning.site_board import Aim
from trendwear.planning.site_plan import place_site
from trendwear.planning_tables import COSTS, OPENING_COSTS

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)


def ring(name: str, **other: object) -> dict[str, object]:
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name}
    row |= {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1", "quantity": 2}
    return row | other


def steady(name: str, per_8000h: float, machine: str = "M") -> Rows:
    return [
        {"machine": machine, "clearance": name, "date": f"{2010 + number}-01-01"}
        | {"run_hours": 8000 * number, "state": "as-found", "uncertainty": 0.005}
        | {"value": round(0.20 + per_8000h * number, 4)}
        for number in range(5)
    ]


MACHINE = {"machine": "M", "crew_days": 10, "crew_day_cost": 50, "cost_if_past": 9000}
PLANT: Mapping[str, Rows] = {
    "machines": [MACHINE],
    "clearances": [ring("fast"), ring("slow")],
    "readings": [*steady("fast", 0.04), *steady("slow", 0.03)],
    "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 23, "spread": 0.1}],
    "parts": [{"part_no": "R-1", "price": 300}],
    "outages": [
        {"outage": "dear", "start": "2020-05-01", "end": "2020-05-20", "cost": 4000},
        {"outage": "cheap", "start": "2021-05-01", "end": "2021-05-20", "cost": 700},
        {"outage": "late", "start": "2022-05-01", "end": "2022-05-20", "cost": 900},
    ],
}


def look(stored: Stored, **sheets: Rows) -> SiteForecast:
    filled = {name: rows for name, rows in {**PLANT, **sheets}.items() if rows}
    return outlook.look(stored(filled), as_of=AS_OF)


def plan(stored: Stored, **sheets: Rows) -> SitePlan:
    return plan_site(look(stored, **sheets), accepted_for_all(0.1))


def costs(told: SitePlan, machine: str = "M") -> Any:
    return told.costs.table.set_index("machine").loc[machine]


def openings(told: SitePlan) -> pd.DataFrame:
    return told.costs.openings.set_index("opening")


def test_an_overhaul_costs_its_parts_its_crew_and_its_cheapest_window(stored: Stored) -> None:
    told = plan(stored)
    tables.check(told.costs.table, COSTS)
    tables.check(told.costs.openings, OPENING_COSTS)
    row = costs(told)
    renewed = row["renewed"].split("; ")
    assert row["parts_cost"] == 300 * 2 * len(renewed)
    assert (row["crew_cost"], row["window"], row["window_cost"]) == (500, "cheap", 700)
    assert row["planned"] == row["parts_cost"] + 500 + 700
    assert row["past_limit"] == row["planned"] + 9000
    assert openings(told).loc["dear", "planned"] == row["parts_cost"] + 500 + 4000


def test_the_standing_interval_costs_what_a_simulated_machine_does(stored: Stored) -> None:
    site = look(stored)
    told = plan_site(site, accepted_for_all(0.1))
    row, curve = costs(told), told.costs.curves["M"]
    limiting = limiting_of(site)
    fresh, _ = renewed_crossing(site.basis, limiting.rows)
    hours = np.linspace(0.0, 120_000.0, 3001)
    draw = np.random.default_rng(7)
    lives = []
    for place, name in enumerate(limiting.rows["clearance"]):
        if name in row["renewed"].split("; "):
            chance = fresh.rows(np.full(len(hours), place)).chance_at(hours)
            lives.append(np.interp(draw.random(40_000), chance, hours))
    life = np.min(lives, axis=0)
    for interval in (0.6 * curve.best_hours, curve.best_hours, 1.4 * curve.best_hours):
        paid = np.where(life < interval, row["past_limit"], row["planned"]).mean()
        run = np.minimum(life, interval).mean()
        assert curve.cost_at(interval) == pytest.approx(paid / run, rel=0.03)
    assert row["best_cost_per_1000h"] == pytest.approx(1000 * curve.best_cost)
    assert row["flat_from"] < row["best_hours"] < row["flat_to"]
    assert curve.cost_at(row["flat_to"]) <= 1.0501 * curve.best_cost


def test_once_renewed_the_accepted_risk_is_reached_at_the_interval_told(stored: Stored) -> None:
    site = look(stored, clearances=[ring("fast")], readings=steady("fast", 0.04))
    row = costs(plan_site(site, accepted_for_all(0.1)))
    fresh, _ = renewed_crossing(site.basis, limiting_of(site).rows)
    assert fresh.chance_at(np.array([row["risk_hours"]]))[0] == pytest.approx(0.1, abs=1e-6)
    assert row["usual_hours"] == 8000


def test_an_opening_is_expected_to_cost_the_chance_of_passing(stored: Stored) -> None:
    site = look(stored)
    told = plan_site(site, accepted_for_all(0.1))
    table, row = openings(told), costs(told)
    chance = told.windows.set_index("outage")["chance_before"]
    for name in chance.index:
        expected = table.loc[name, "planned"] + 9000 * chance[name]
        assert table.loc[name, "expected_cost"] == pytest.approx(expected)
    # The hours run until then, with no limit passed, are worth the least cost of an hour.
    together = limiting_of(site).by_machine
    worth = {}
    for name in chance.index:
        hours = np.linspace(0.0, table.loc[name, "hours_until"], 401)
        plain = [1.0 - together._plain.any(np.array([hour]))[0] for hour in hours]
        worth[name] = np.trapezoid(plain, hours) * row["best_cost_per_1000h"] / 1000
    net = {name: table.loc[name, "expected_cost"] - worth[name] for name in worth}
    for name, amount in net.items():
        assert table.loc[name, "dearer_by"] == pytest.approx(amount - min(net.values()), abs=0.5)


def test_the_latest_overhaul_stands_among_the_openings(stored: Stored) -> None:
    told = plan(stored)
    latest = openings(told).loc[LATEST_OVERHAUL]
    assert told.costs.openings["date"].is_monotonic_increasing
    assert latest["date"] == told.overhaul["latest_date"][0]
    assert latest["chance_before"] == pytest.approx(0.1, abs=2e-3)
    assert latest["planned"] == costs(told)["planned"]


def test_past_its_limit_today_the_cost_of_passing_is_whole(stored: Stored) -> None:
    rows = [ring("gone", limit=0.3), *PLANT["clearances"]]
    told = plan(stored, clearances=rows, readings=[*steady("gone", 0.04), *PLANT["readings"]])
    table = openings(told)
    assert (table["chance_before"] == 1.0).all()
    assert (table["expected_cost"] == table["planned"] + 9000).all()
    assert LATEST_OVERHAUL not in table.index
    assert "the cost of passing is counted whole" in costs(told)["notes"]


def test_where_no_costs_are_given_nothing_is_said(stored: Stored) -> None:
    told = plan(stored, machines=[{"machine": "M", "crew_days": 10}])
    assert told.costs.table.empty
    assert told.costs.openings.empty
    site = look(stored, machines=[{"machine": "M"}])
    with pytest.raises(UsageProblem, match="no machine's cost is known"):
        place_site(told, site.site.machines, site.site.planning.outages, Aim.COST)


MISSING: list[tuple[dict[str, Rows], str]] = [
    ({"machines": [{**MACHINE, "cost_if_past": ""}]}, "cost_if_past in the machines sheet"),
    ({"machines": [{**MACHINE, "crew_days": ""}]}, "crew_days in the machines sheet"),
    ({"parts": [{"part_no": "R-1"}]}, "price of R-1 in the parts sheet"),
    ({"parts": []}, "price of R-1 in the parts sheet"),
    ({"clearances": [ring("fast", part_no="")]}, "part_no of fast"),
    ({"clearances": [ring("fast", limit="")]}, "a clearance that governs it"),
    (
        {"clearances": [ring("fast", design_min="", design_max="")]},
        "a start of what is renewed",
    ),
    (
        {
            "machines": [{"machine": "M", "cost_if_past": 9000}],
            "parts": [{"part_no": "R-1", "price": 0}],
            "outages": [],
        },
        "any cost of an overhaul",
    ),
]


@pytest.mark.parametrize(("sheets", "words"), MISSING)
def test_what_is_missing_is_said(stored: Stored, sheets: dict[str, Rows], words: str) -> None:
    told = plan(stored, **sheets)
    row = costs(told)
    assert words in row["missing"]
    assert pd.isna(row["best_hours"])
    assert "M" not in told.costs.curves


def test_what_is_left_out_is_said(stored: Stored) -> None:
    machines = [{"machine": "M", "crew_days": 10, "cost_if_past": 400}]
    told = plan(stored, machines=machines, clearances=[ring("fast", part="", part_no="")])
    notes = costs(told)["notes"]
    assert "crew days are not counted: no crew_day_cost is given" in notes
    assert "no part is named for fast: none is counted" in notes
    assert "passing a limit costs less than an overhaul" in notes


def test_an_unknown_duty_gives_an_interval_and_no_cost_of_the_windows(stored: Stored) -> None:
    readings = [{**row, "date": ""} for row in PLANT["readings"]]
    told = plan(stored, readings=readings, run_log=[], duty_plan=[])
    row = costs(told)
    assert row["best_hours"] > 0
    assert "no cost of the windows: its duty or a chance is not known" in row["notes"]
    assert openings(told)["expected_cost"].isna().all()


def test_a_site_at_the_least_cost_counts_what_the_plan_counts(stored: Stored) -> None:
    rows = [{**row, "machine": name} for name in "MN" for row in PLANT["clearances"]]
    readings = [*PLANT["readings"], *steady("fast", 0.04, "N"), *steady("slow", 0.03, "N")]
    log = [{**row, "machine": name} for name in "MN" for row in PLANT["run_log"]]
    duty = [{**row, "machine": name} for name in "MN" for row in PLANT["duty_plan"]]
    sheets = {"clearances": rows, "readings": readings, "run_log": log, "duty_plan": duty}
    site = look(stored, **sheets)
    told = plan_site(site, accepted_for_all(0.1))
    placed = place_site(told, site.site.machines, site.site.planning.outages, Aim.COST)
    assert placed.board.unpriced == ("N",)
    assert placed.board.once == (4000.0, 700.0, 900.0)
    dearer = openings(told).loc[["dear", "cheap", "late"], "dearer_by"].to_numpy()
    alone = dearer - np.array(placed.board.once)
    allowed = placed.board.allowed[0]
    assert placed.board.price[0] == pytest.approx(alone - alone[allowed].min())
    assert only_machines(told, ["N"]).costs.table.empty
