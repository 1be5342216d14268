"""What would have been planned at past closings, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from small_plants import AS_OF, HOURS, OPENED, Sheets, clearance, found, run, undated

from trendwear import outlook
from trendwear.forecasting.crossing import FARTHEST_HOURS
from trendwear.hindsight.followed import IN_TIME, LATE, NO_PLAN, PLANS, UNTESTED
from trendwear.hindsight.hindcast import Hindcast
from trendwear.hindsight.past import Past, Then
from trendwear.hindsight.plans import RISKS, MachinePlan, machine_plan
from trendwear.hindsight.timeline import timeline
from trendwear.segments.histories import histories
from trendwear.segments.positions import in_force, positions
from trendwear.tables import check

Walk = Callable[[Sheets], Hindcast]


@pytest.fixture
def walked(stored: Callable[[Sheets], Path]) -> Walk:
    return lambda sheets: outlook.hindcast(stored(sheets), as_of=AS_OF)


@pytest.fixture
def known(stored: Callable[[Sheets], Path]) -> Callable[[Sheets, int], Then]:
    """What was known after an opening."""

    def at(sheets: Sheets, opening: int) -> Then:
        site = outlook.read_site(stored(sheets))
        places = positions(in_force(site.register, AS_OF), site.machines)
        times = timeline(histories(site.record, places, site.methods, AS_OF).chronicle)
        then = Past(site, AS_OF, times).at(float(times.openings["after"][opening]), dated=True)
        assert then is not None
        return then

    return at


def plan_of(told: Hindcast, opening: int, risk: float = 0.10) -> Any:
    mine = (told.plans["hours"] == HOURS[opening]) & np.isclose(told.plans["risk"], risk)
    assert mine.sum() == 1
    return told.plans[mine].iloc[0]


def sheets_of(*values: float, **other: object) -> Sheets:
    return {"clearances": [clearance("a", **other)], "readings": run("a", *values)}


def planned(then: Then, opening: int) -> MachinePlan:
    plan = machine_plan(then, "M", float(HOURS[opening]))
    assert plan is not None
    return plan


def test_the_latest_overhaul_spends_the_risk(known: Callable[[Sheets, int], Then]) -> None:
    two = {
        "clearances": [clearance("a"), clearance("b", limit=0.45)],
        "readings": [*run("a", 0.20, 0.24, 0.29), *run("b", 0.21, 0.26, 0.30)],
    }
    plan = planned(known(two, 2), 2)
    for risk in RISKS:
        latest = plan.latest_hours(risk)
        chances = plan.chances(np.full(2, latest))
        assert 1 - (1 - chances[0]) * (1 - chances[1]) == pytest.approx(risk, rel=1e-6)
    assert plan.governed_by(plan.latest_hours(0.1)).startswith("b ")


def test_clearances_that_limit_nothing_are_no_part_of_the_plan(
    known: Callable[[Sheets, int], Then],
) -> None:
    rows = {
        "clearances": [
            clearance("a"),
            clearance("b", limiting="no"),
            clearance("c", limit=""),
            clearance("past", limit=0.25),
            clearance("unread"),
        ],
        "readings": [
            *run("a", 0.20, 0.24, 0.29),
            *run("b", 0.20, 0.24, 0.29),
            *run("c", 0.20, 0.24, 0.29),
            *run("past", 0.20, 0.24, 0.29),
        ],
    }
    plan = planned(known(rows, 2), 2)
    assert plan.members["clearance"].tolist() == ["a"]
    assert (plan.silent, plan.apart) == (["unread"], ["past"])


def test_a_limit_far_off_is_never_too_late(known: Callable[[Sheets, int], Then]) -> None:
    plan = planned(known(sheets_of(0.20, 0.24, 0.29, limit=50), 2), 2)
    assert plan.latest_hours(0.05) == FARTHEST_HOURS


def test_a_plan_before_the_limit_is_in_time(walked: Walk) -> None:
    told = walked(sheets_of(0.20, 0.24, 0.28, 0.32, 0.36, 0.40, limit=0.38))
    check(told.plans, PLANS)
    plan = plan_of(told, 3)
    assert plan["outcome"] == IN_TIME
    assert plan["latest_hours"] < plan["crossed_hours"] < plan["found_past_hours"] == 30_000


def test_wear_that_suddenly_runs_away_makes_a_plan_late(walked: Walk) -> None:
    told = walked(sheets_of(0.20, 0.22, 0.24, 0.26, 0.60))
    plan = plan_of(told, 3)
    assert (plan["outcome"], plan["first_past"]) == (LATE, "a")
    assert plan["found_past_hours"] == 15_000
    # From what is believed of the clearance at the closing, 0.26, straight to 0.60.
    assert plan["crossed_hours"] == pytest.approx(15_000 * (0.50 - 0.26) / (0.60 - 0.26), rel=0.01)
    assert plan["due"] < 0.05


def test_the_straight_line_starts_at_the_reading_before(walked: Walk) -> None:
    plan = plan_of(walked(sheets_of(0.20, 0.22, 0.24, 0.26, 0.60)), 2)
    assert plan["crossed_hours"] == pytest.approx(15_000 * (1 + 24 / 34), rel=1e-9)


def test_a_machine_opened_sooner_puts_no_plan_to_the_test(walked: Walk) -> None:
    plan = plan_of(walked(sheets_of(0.20, 0.22, 0.24, 0.26)), 2)
    assert (plan["outcome"], plan["followed_hours"]) == (UNTESTED, 15_000)
    assert plan["latest_hours"] > 15_000
    assert 0 <= plan["due"] < 0.1
    assert pd.isna(plan["first_past"])


def test_a_run_ends_at_the_next_work(walked: Walk) -> None:
    left = found("a", 3, 0.20, state="as-left")
    rows = sheets_of(0.20, 0.22, 0.24, 0.26)["readings"]
    sheets = {
        "clearances": [clearance("a")],
        "readings": [*rows, left, found("a", 4, 0.60)],
        "work": [
            {"machine": "M", "clearance": "a", "date": OPENED[3], "run_hours": HOURS[3]}
            | {"action": "renewed"}
        ],
    }
    told = walked(sheets)
    assert plan_of(told, 2)["outcome"] == UNTESTED
    assert plan_of(told, 3)["outcome"] == LATE


def test_the_last_closing_is_not_judged(walked: Walk) -> None:
    told = walked(sheets_of(0.20, 0.22, 0.24))
    assert (told.unplanned, told.unfollowed) == (1, 1)
    assert set(told.plans["hours"]) == {HOURS[1]}


def test_a_clearance_near_its_limit_leaves_no_plan(walked: Walk) -> None:
    told = walked(sheets_of(0.20, 0.30, 0.40, 0.49, 0.60, limit=0.492))
    plan = plan_of(told, 3)
    assert plan["outcome"] == NO_PLAN
    assert pd.isna(plan["latest_hours"])


def test_a_plan_is_judged_by_the_limit_of_its_day(walked: Walk) -> None:
    values = (0.20, 0.24, 0.28, 0.32, 0.36)
    sheets = {
        "clearances": [
            clearance("a", limit=0.9, limit_from="2000-01-01"),
            clearance("a", limit=0.35, limit_from="2015-01-01"),
        ],
        "readings": run("a", *values),
    }
    told = walked(sheets)
    assert plan_of(told, 2)["latest_hours"] > 100_000
    assert plan_of(told, 3)["latest_hours"] < 15_000


def test_hours_alone_are_enough(walked: Walk) -> None:
    sheets = sheets_of(0.20, 0.22, 0.24, 0.26, 0.60)
    told = walked({**sheets, "readings": undated(sheets["readings"])})
    assert plan_of(told, 3)["outcome"] == LATE
    assert told.plans["date"].isna().all()
