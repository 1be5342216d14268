"""From sheets to a plan: dates, windows, renewals and parts of small plants."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import trendwear
from trendwear import outlook, tables
from trendwear.errors import UnknownName, UsageProblem
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.notes import BY_CLEARANCES_ALONE
from trendwear.planning.plan import SitePlan, accepted_risks, only_machines, plan_site
from trendwear.planning.site_board import Aim
from trendwear.planning.site_plan import place_site
from trendwear.planning_tables import ORDERS, OVERHAUL, RENEWALS, WINDOWS

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)
LOG = {"machine": "M", "date": "2019-12-31", "run_hours": 40000}


def clearance(name: str, **other: object) -> dict[str, object]:
    """A ring that opens, its wear told by its own readings alone."""
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    row |= {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name}
    return row | {"design_min": 0.1, "design_max": 0.2, "part": "ring", "part_no": "R-1"} | other


def steady(name: str, start: float, per_8000h: float, machine: str = "M") -> Rows:
    return [
        {
            "machine": machine,
            "clearance": name,
            "date": f"{2010 + number}-01-01",
            "run_hours": 8000 * number,
            "state": "as-found",
            "value": round(start + per_8000h * number, 4),
            "uncertainty": 0.005,
        }
        for number in range(5)
    ]


def window(name: str, start: str, end: str, **other: object) -> dict[str, object]:
    return {"outage": name, "start": start, "end": end} | other


PLANT: Mapping[str, Rows] = {
    "clearances": [
        clearance("fast", consequence="leak"),
        clearance("slow", consequence="damage"),
    ],
    "readings": [*steady("fast", 0.20, 0.04), *steady("slow", 0.20, 0.03)],
    "run_log": [LOG],
    "duty_plan": [{"machine": "M", "from": "2020-01-01", "hours_per_day": 23, "spread": 0.1}],
    "outages": [
        window("gone", "2019-06-01", "2019-06-20"),
        window("spring 2020", "2020-05-01", "2020-05-20"),
        window("overlapping", "2020-05-10", "2020-06-20"),
        window("spring 2021", "2021-05-01", "2021-05-20"),
        window("spring 2022", "2022-05-01", "2022-05-20"),
        window("spring 2023", "2023-05-01", "2023-05-20"),
    ],
}


def told(stored: Stored, risk: float | None = 0.1, **sheets: Rows) -> SitePlan:
    filled = {name: rows for name, rows in {**PLANT, **sheets}.items() if rows}
    site = outlook.look(stored(filled), as_of=AS_OF)
    (accepted, *_) = accepted_risks(site, risk)
    return plan_site(site, accepted)


def row_of(plan: SitePlan, machine: str = "M") -> Any:
    return plan.overhaul.set_index("machine").loc[machine]


def test_a_date_what_governs_it_and_its_window(stored: Stored) -> None:
    plan = told(stored)
    row = row_of(plan)
    tables.check(plan.overhaul, OVERHAUL)
    tables.check(plan.windows, WINDOWS)
    tables.check(plan.renewals.table, RENEWALS)
    tables.check(plan.orders, ORDERS)
    assert row["outcome"] == "latest overhaul found"
    assert row["governed_by"].startswith("fast ")
    assert row["next_governed_by"].startswith("slow ")
    assert row["next_latest_date"] > row["latest_date"]
    assert BY_CLEARANCES_ALONE in row["notes"]
    starts = plan.windows.set_index("outage")["start"]
    assert "gone" not in starts
    last = starts[starts <= row["latest_date"]].index[-1]
    assert row["outage"] == last
    chances = plan.windows["chance_before"]
    assert chances.is_monotonic_increasing
    assert row["chance_at_outage"] <= 0.1
    late = plan.windows.set_index("outage")["chance_if_late"]
    assert late["spring 2022"] == chances.iloc[-1]


def test_a_limit_forecast_and_a_plan_of_one_clearance_agree(stored: Stored) -> None:
    sheets = {"clearances": [clearance("fast")], "readings": steady("fast", 0.20, 0.04)}
    store = stored({**PLANT, **sheets})
    forecast = trendwear.forecast(store, as_of=AS_OF).iloc[0]
    row = row_of(plan_site(outlook.look(store, as_of=AS_OF), accepted_for_all(0.05)))
    assert row["latest_hours"] == pytest.approx(forecast["hours_to_limit_p05"], rel=1e-5)
    assert abs(row["latest_date"] - forecast["date_p05"]) <= pd.Timedelta(days=1)
    assert row["reach"] == pytest.approx((row["latest_hours"] + 8000) / 32000, rel=0.01)


def test_each_consequence_keeps_its_own_risk(stored: Stored) -> None:
    strict = [
        {"consequence": "damage", "accepted": 0.0001, "by": "engineer"},
        {"consequence": "leak", "accepted": 0.9, "by": "engineer"},
    ]
    row = row_of(told(stored, None, risks=strict))
    assert (row["risk"], row["risk_of"]) == (0.0001, "damage")
    assert row["governed_by"] == "slow 100 %"


def test_a_window_tells_the_chance_that_comes_nearest_to_its_own_accepted_risk(
    stored: Stored,
) -> None:
    """As a plan of that consequence's clearances alone finds it; that of any limit is more."""
    risks = [
        {"consequence": "leak", "accepted": 0.9},
        {"consequence": "damage", "accepted": 0.01},
    ]
    alone = told(
        stored,
        None,
        risks=risks,
        clearances=[clearance("slow", consequence="damage")],
        readings=steady("slow", 0.20, 0.03),
    )
    plan = told(stored, None, risks=risks)
    windows = plan.windows.set_index("outage")
    far = windows[windows["nearest_of"] == "damage"]
    assert "spring 2023" in far.index
    by_itself = alone.windows.set_index("outage")["chance_before"]
    assert far["nearest_chance"].tolist() == pytest.approx(by_itself[far.index].tolist(), rel=1e-6)
    assert (far["nearest_chance"] < far["chance_before"]).all()
    row = row_of(plan)
    assert row["nearest_chance"] == windows.at[row["outage"], "nearest_chance"]


def test_a_consequence_without_a_risk_is_held_to_the_strictest(stored: Stored) -> None:
    row = row_of(told(stored, None, risks=[{"consequence": "damage", "accepted": 0.01}]))
    assert row["risk"] == 0.01
    assert "no risk is accepted for leak: held to the strictest, 1 %" in row["notes"]


def test_without_any_risk_three_are_shown(stored: Stored) -> None:
    site = outlook.look(stored(PLANT), as_of=AS_OF)
    shown = accepted_risks(site, None)
    assert [one.for_all for one in shown] == [0.05, 0.10, 0.20]
    dates = [row_of(plan_site(site, one))["latest_date"] for one in shown]
    assert dates == sorted(dates)


@pytest.mark.parametrize("risk", [-0.1, 1.5, 10.0, float("nan")])
def test_a_risk_that_is_no_chance_is_refused(risk: float) -> None:
    with pytest.raises(UsageProblem, match="0 to 1"):
        accepted_for_all(risk)


def test_risk_0_and_risk_1(stored: Stored) -> None:
    site = outlook.look(stored(PLANT), as_of=AS_OF)
    none, whole = (row_of(plan_site(site, accepted_for_all(risk))) for risk in (0.0, 1.0))
    assert none["outcome"] == "above the accepted risk today"
    assert (none["latest_hours"], none["latest_date"]) == (0.0, pd.Timestamp(AS_OF))
    assert whole["outcome"] == "risk not reached within 200,000 h"
    assert pd.isna(whole["latest_hours"])
    assert pd.isna(whole["latest_date"])


def test_past_its_limit_today_stands_apart(stored: Stored) -> None:
    rows = [clearance("gone", limit=0.3), *PLANT["clearances"]]
    readings = [*steady("gone", 0.20, 0.04), *PLANT["readings"]]
    with_it = row_of(told(stored, clearances=rows, readings=readings))
    assert with_it["outcome"] == "past its limit today"
    assert with_it["latest_date"] == pd.Timestamp(AS_OF)
    assert with_it["past_today"] == "gone"
    assert "gone" in with_it["renew"]
    assert with_it["outage"] is None
    assert "first window that fits is spring 2020" in with_it["notes"]
    assert "past today: gone (as last read)" in with_it["notes"]
    others = with_it["date_without_past"]
    assert others > pd.Timestamp(AS_OF)
    assert f"by the others alone until {others:%Y-%m-%d}" in with_it["notes"]


def test_past_by_the_forecast_alone_is_not_told_as_a_fact(stored: Stored) -> None:
    """Read within its limit and worn on since: how likely it is past, as the table has it."""
    rows = [clearance("gone", limit=0.37), *PLANT["clearances"]]
    readings = [*steady("gone", 0.20, 0.04), *PLANT["readings"]]
    store = stored({**PLANT, "clearances": rows, "readings": readings})
    site = outlook.look(store, as_of=AS_OF)
    (accepted, *_) = accepted_risks(site, 0.1)
    row = row_of(plan_site(site, accepted))
    forecast = trendwear.forecast(store, as_of=AS_OF).set_index("clearance")
    chance = forecast.at["gone", "chance_past_now"]
    assert 0.5 < chance < 1.0
    assert row["past_today"] == "gone"
    said = min(100 * chance, 99.0)
    assert f"past today: gone (by the forecast, {said:.0f} % likely)" in row["notes"]


def test_the_earlier_of_latest_and_due_date_holds(stored: Stored) -> None:
    due = [
        {"machine": "M", "what": "inspection", "due": "2020-05-05", "tolerance_days": 30},
        {"machine": "M", "what": "trip test", "due": "2019-05-05"},
    ]
    row = row_of(told(stored, 0.5, due_dates=due))
    assert row["outage"] is None
    assert "OVERDUE: trip test due 2019-05-05" in row["notes"]
    assert row["due_date"] == pd.Timestamp("2019-05-05")


def test_a_later_date_for_the_same_thing_says_that_the_former_was_kept(stored: Stored) -> None:
    due = [{"machine": "M", "what": "inspection", "due": f"{year}-05-05"} for year in (2019, 2021)]
    row = row_of(told(stored, 0.5, due_dates=due))
    assert row["due_date"] == pd.Timestamp("2021-05-05")
    assert row["outage"] == "spring 2021"


def test_days_of_grace_are_told_and_not_used(stored: Stored) -> None:
    due = [{"machine": "M", "what": "inspection", "due": "2020-05-05", "tolerance_days": 30}]
    row = row_of(told(stored, 0.5, due_dates=due))
    assert row["outage"] == "spring 2020"
    assert "30 days of grace not used" in row["notes"]


def test_a_machine_that_nothing_limits(stored: Stored) -> None:
    rows = [*PLANT["clearances"], clearance("free", machine="N", limit="")]
    row = row_of(told(stored, clearances=rows), "N")
    assert row["outcome"] == "no clearance limits it"
    assert pd.isna(row["latest_date"])


def test_a_machine_without_a_forecast(stored: Stored) -> None:
    rows = [*PLANT["clearances"], clearance("new", machine="N")]
    row = row_of(told(stored, clearances=rows), "N")
    assert row["outcome"] == "no forecast of any limiting clearance"
    assert "without a forecast, not counted: new" in row["notes"]


def test_a_duty_of_nothing_gives_hours_without_a_date(stored: Stored) -> None:
    duty = [{"machine": "M", "from": "2020-01-01", "hours_per_day": 0}]
    row = row_of(told(stored, duty_plan=duty))
    assert row["outcome"] == "planned to run too little: hours without a date"
    assert row["latest_hours"] > 0
    assert pd.isna(row["latest_date"])


def test_an_unknown_duty_gives_hours_without_a_date(stored: Stored) -> None:
    readings = [{**row, "date": ""} for row in PLANT["readings"]]
    plan = told(stored, readings=readings, run_log=[], duty_plan=[])
    row = row_of(plan)
    assert row["outcome"] == "duty unknown: hours without a date"
    assert row["latest_hours"] > 0
    assert plan.windows["chance_before"].isna().all()
    assert not plan.renewals.table["renew"].any()


def test_windows_that_cannot_hold_the_machine(stored: Stored) -> None:
    machine = {"machine": "M", "site": "here", "open_days": 8, "crew_days": 20}
    offered = [
        window("short", "2020-02-01", "2020-02-03"),
        window("elsewhere", "2020-02-02", "2020-03-03", site="there"),
        window("nobody", "2020-02-03", "2020-03-03", machines=0),
        window("few hands", "2020-02-04", "2020-03-03", crew_days=5),
        window("caps only", "2020-02-05", "2020-03-03", scope="bearing caps only"),
        window("fits", "2020-02-06", "2020-03-03", scope="any machine"),
    ]
    rows = [{**row, "access": "casing"} for row in PLANT["clearances"]]
    plan = told(stored, machines=[machine], outages=offered, clearances=rows)
    why = plan.windows.set_index("outage")["hindrance"]
    assert why["short"] == "it has 3 days, the opening takes 8"
    assert why["elsewhere"] == "it is for there"
    assert why["nobody"] == "it takes no machine"
    assert why["few hands"] == "it has 5 crew days, the opening takes 20"
    assert why["caps only"] == "its scope (bearing caps only) leaves out: casing"
    assert pd.isna(why["fits"])
    assert row_of(plan)["outage"] == "fits"


def test_a_window_that_runs_today_is_told_of(stored: Stored) -> None:
    """It is no window to come, but whoever plans must not miss that the machine can be opened."""
    running = [
        window("just begun", "2019-12-20", "2020-02-01"),
        window("last day", "2019-12-01", "2020-01-01"),
        window("small", "2019-12-20", "2020-02-01", machines=0),
        *PLANT["outages"],
    ]
    plan = told(stored, outages=running)
    assert {"just begun", "last day", "small"}.isdisjoint(plan.windows["outage"])
    notes = row_of(plan)["notes"]
    assert "just begun runs today, until 2020-02-01: this plan counts only windows" in notes
    assert "last day runs today, until 2020-01-01" in notes
    assert "small runs" not in notes


def test_no_windows_at_all(stored: Stored) -> None:
    row = row_of(told(stored, outages=[]))
    assert row["outage"] is None
    assert "no coming window in the outages sheet" in row["notes"]


def test_a_firm_part_without_a_lead_time_is_told_beside_the_order_by_date(stored: Stored) -> None:
    """The order-by date is that of the other parts: the machine may have to order sooner."""
    known = {"part_no": "R-2", "lead_time_days": 60, "in_stock": 0}
    rows = [clearance("fast"), clearance("slow", part_no="R-2")]
    row = row_of(told(stored, clearances=rows, parts=[known]))
    assert "no lead time known, so no order-by date: R-1" in row["notes"]


def test_what_is_renewed_lasts_to_the_following_window(stored: Stored) -> None:
    plan = told(stored)
    table = plan.renewals.table.set_index("clearance")
    assert (table["chance_renewed"] <= table["chance_left"]).all()
    assert table.loc["fast", "start_from"] == "its design range"
    renewed = table[table["renew"]]
    bought = renewed.sort_values("place")["interval_hours"]
    assert bought.is_monotonic_increasing
    assert plan.renewals.as_it_is["M"] <= bought.iloc[-1]
    following = plan.windows.set_index("outage").loc[table["following"].iloc[0]]
    opening = plan.windows.set_index("outage").loc[table["outage"].iloc[0]]
    # What is bought reaches to the following window.
    assert bought.iloc[-1] >= following["hours_until"] - opening["hours_until"]


def test_clearances_of_a_set_are_renewed_together(stored: Stored) -> None:
    rows = [{**row, "set": "rings"} for row in PLANT["clearances"]]
    table = told(stored, clearances=rows).renewals.table
    assert table["place"].nunique() == 1
    assert table["renew"].all()


def test_parts_to_order(stored: Stored) -> None:
    parts = [{"part_no": "R-1", "lead_time_days": 365, "in_stock": 0, "supplier": "supplier A"}]
    plan = told(stored, parts=parts)
    row = plan.orders[plan.orders["clearance"] == "fast"].iloc[0]
    start = plan.windows.set_index("outage").loc[row["outage"], "start"]
    assert row["order_by"] == start - pd.Timedelta(days=365 + 14)
    assert row["need"] == "firm"
    assert row_of(plan)["order_by"] == row["order_by"]
    assert 0 < row["chance_before_delivery"] <= 1


def test_only_some_machines(stored: Stored) -> None:
    plan = told(stored, clearances=[*PLANT["clearances"], clearance("free", machine="N")])
    assert only_machines(plan, ["n"]).overhaul["machine"].tolist() == ["N"]
    assert len(only_machines(plan, []).overhaul) == 2
    with pytest.raises(UnknownName, match="It has: M, N"):
        only_machines(plan, ["Z"])


def test_a_site_into_its_windows(stored: Stored) -> None:
    rows = [{**row, "machine": name} for name in "MN" for row in PLANT["clearances"]]
    readings = [{**row, "machine": name} for name in "MN" for row in PLANT["readings"]]
    log = [LOG, {**LOG, "machine": "N"}]
    machines = [{"machine": "M"}, {"machine": "N", "spare_of": "m"}]
    sheets = {"clearances": rows, "readings": readings, "run_log": log, "machines": machines}
    sheets["duty_plan"] = [{**row, "machine": name} for name in "MN" for row in PLANT["duty_plan"]]
    store = stored({**PLANT, **sheets})
    site = outlook.look(store, as_of=AS_OF)
    plan = plan_site(site, accepted_for_all(0.1))
    placed = place_site(plan, site.site.machines, site.site.planning.outages)
    assert placed.judged.broken == []
    # The first two windows overlap: running machine and spare are not both opened in them.
    assert len(set(placed.placing.window)) == 2
    assert set(placed.placing.window) == {0, 2}


def test_a_site_at_the_least_cost(stored: Stored) -> None:
    offered = [
        window("dear", "2020-05-01", "2020-05-20", cost=5000),
        window("cheap", "2021-05-01", "2021-05-20", cost=100),
        window("last", "2024-05-01", "2024-05-20", cost=10),
    ]
    machines = [{"machine": "M", "cost_if_past": 1000}]
    parts = [{"part_no": "R-1", "price": 50}]
    sheets = {**PLANT, "machines": machines, "outages": offered, "parts": parts}
    site = outlook.look(stored(sheets), as_of=AS_OF)
    plan = plan_site(site, accepted_for_all(0.1))
    by_aim = {
        aim: place_site(plan, site.site.machines, site.site.planning.outages, aim) for aim in Aim
    }
    assert by_aim[Aim.RISK].placing.window.tolist() == [0]
    assert by_aim[Aim.COST].placing.window.tolist() == [1]
    # It is opened where it costs least of all, so the window is all that is paid.
    costs = plan.costs.openings.set_index("opening")["dearer_by"]
    assert costs["cheap"] == 0.0
    assert by_aim[Aim.COST].judged.price == pytest.approx(100)


def test_a_clearance_limited_both_ways_is_renewed_as_one_part(stored: Stored) -> None:
    ways = [clearance("fast", set="rings"), clearance("fast", moves="closes", limit=0.05)]
    plan = told(stored, clearances=[*ways, PLANT["clearances"][1]])
    table = plan.renewals.table.set_index(["clearance", "moves"])
    one, other = table.loc[("fast", "opens")], table.loc[("fast", "closes")]
    assert (one["renew"], one["place"]) == (other["renew"], other["place"])
    assert one["renew"]
    assert row_of(plan)["governed_by"].count("fast") == 1
