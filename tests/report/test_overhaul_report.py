"""The overhaul plan as people get it: on screen and as files."""

from __future__ import annotations

import dataclasses
import datetime as dt
import io
from dataclasses import replace
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.errors import UsageProblem
from trendwear.planning.accepted import Accepted, accepted_for_all
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning.site import Board, place_machines
from trendwear.planning.site_board import Aim
from trendwear.planning.site_judge import judge
from trendwear.planning.site_plan import Placed
from trendwear.planning_tables import ORDERS, OUTAGES, OVERHAUL, RENEWALS, WINDOWS
from trendwear.report.overhaul.export import check_plan_suffix, plan_bytes, write_plan
from trendwear.report.overhaul.table import (
    BESIDE_EVERY_DATE,
    OVERHAUL_HEADINGS,
    OVERHAUL_MEANINGS,
    overhaul_table,
    to_order_table,
)
from trendwear.report.overhaul.terminal import plan_lines
from trendwear.report.terminal import text_table

AS_OF = pd.Timestamp("2026-11-01")
ALONE = "by clearances alone; cracks, trips, vibration, oil and law are not in it"


def plan(accepted: Accepted) -> SitePlan:
    """An invented plan of two machines: one with a date, one past its limit."""
    usual = {"as_of": AS_OF, "risk": accepted.strictest, "risk_of": "any limit"}
    rows = [
        {"machine": "=T 1", "latest_hours": 4321.9, "latest_date": pd.Timestamp("2027-09-09")}
        | {"governed_by": "ring 2 61 %; ring 3 30 %", "outage": "Off-season", "reach": 0.8}
        | {"chance_at_outage": 0.062, "renew": "ring 2", "order_by": pd.Timestamp("2027-01-05")}
        | {"outcome": "latest overhaul found", "notes": f"{ALONE}; no window fits it (small)"},
        {"machine": "P 2", "latest_hours": 0.0, "latest_date": AS_OF, "past_today": "ring 1"}
        | {"outcome": "past its limit today", "notes": f"{ALONE}; past today: ring 1"},
    ]
    window = {"machine": "=T 1", "outage": "Off-season", "start": pd.Timestamp("2027-05-01")}
    window |= {"end": pd.Timestamp("2027-05-09"), "chance_before": 0.062, "holds": True}
    renewal = {"machine": "=T 1", "clearance": "ring 2", "moves": "opens", "outage": "Off-season"}
    renewal |= {"chance_left": 0.4, "chance_renewed": 0.001, "limiting": True, "renew": True}
    order = {"machine": "=T 1", "clearance": "ring 2", "part": "carbon ring", "part_no": "R-1"}
    order |= {"quantity": 2.0, "from_stock": 1.0, "to_order": 1.0, "lead_time_days": 75.0}
    order |= {"order_by": pd.Timestamp("2026-10-01"), "need": "firm", "late": True}
    return SitePlan(
        dt.date(2026, 11, 1),
        accepted,
        tables.conform(pd.DataFrame([usual | row for row in rows]), OVERHAUL),
        tables.conform(pd.DataFrame([window]), WINDOWS),
        Renewals(tables.conform(pd.DataFrame([renewal | {"place": 1}]), RENEWALS), {}, {}),
        tables.conform(pd.DataFrame([order]), ORDERS),
    )


@pytest.fixture
def one() -> list[SitePlan]:
    return [plan(accepted_for_all(0.1))]


@pytest.fixture
def three() -> list[SitePlan]:
    return [plan(accepted_for_all(risk)) for risk in (0.05, 0.1, 0.2)]


@pytest.fixture
def placed() -> Placed:
    windows = pd.DataFrame({"outage": ["Off-season"], "start": [AS_OF], "end": [AS_OF]})
    windows = tables.conform(windows.assign(machines=1.0), OUTAGES)
    prices, allowed = np.zeros((2, 1)), np.ones((2, 1), dtype=bool)
    board = Board(("=T 1", "P 2"), windows, prices, allowed, np.array([3.0, 4.0]))
    found = place_machines(board)
    return Placed(Aim.RISK, board, found, judge(board, found))


def test_every_column_has_its_meaning() -> None:
    assert list(OVERHAUL_MEANINGS) == list(OVERHAUL)


def test_the_table_for_people(one: list[SitePlan]) -> None:
    table = overhaul_table(one)
    assert list(table.columns) == list(OVERHAUL_HEADINGS)
    first, second = table.to_dict("records")
    assert first["latest overhaul"] == "2027-09-09"
    assert first["running hours"] == "4,320 h"
    assert first["note"] == "no window fits it (small)"
    assert second["latest overhaul"] == "already"
    assert second["note"] == "Past its limit today; past today: ring 1"


def test_a_date_far_ahead_is_told_by_its_month(one: list[SitePlan]) -> None:
    far = one[0].overhaul.assign(latest_date=pd.Timestamp("2030-06-24"))
    plans = [replace(one[0], overhaul=far)]
    assert overhaul_table(plans)["latest overhaul"][0] == "2030-06"
    assert "2030-06-24" not in "\n".join(plan_lines(plans, 200))
    assert "2030-06-24" in plan_bytes(plans, ".csv").decode()


def test_beside_every_date_what_it_leaves_out(one: list[SitePlan]) -> None:
    assert BESIDE_EVERY_DATE in "\n".join(plan_lines(one, 200))
    assert BESIDE_EVERY_DATE in plan_bytes(one, ".md").decode()
    assert plan_bytes(one, ".csv").decode().count(ALONE) == 2


def test_without_a_choice_the_reader_is_told_to_choose(three: list[SitePlan]) -> None:
    text = "\n".join(plan_lines(three, 200))
    assert "shown for 5, 10 and 20 %. Choose one" in text
    assert overhaul_table(three)["accepted risk"].tolist()[:3] == [
        "5 %, any limit",
        "10 %, any limit",
        "20 %, any limit",
    ]
    assert "Parts to order" not in text


def test_csv_is_the_agreed_table_and_runs_no_formula(one: list[SitePlan]) -> None:
    told = pd.read_csv(io.BytesIO(plan_bytes(one, ".csv")))
    assert list(told.columns) == list(OVERHAUL)
    assert told["machine"].tolist() == ["'=T 1", "P 2"]
    assert told["latest_hours"][0] == 4321.9
    assert told["order_by"][0] == "2027-01-05"


def test_parquet_keeps_dates(one: list[SitePlan], tmp_path: Path) -> None:
    place = tmp_path / "plan.parquet"
    write_plan(one, place)
    told = duckdb.read_parquet(str(place))
    assert str(dict(zip(told.columns, told.types, strict=True))["latest_date"]) == "DATE"
    assert told.fetchall()[0][list(OVERHAUL).index("latest_date")] == dt.date(2027, 9, 9)


def test_workbook(one: list[SitePlan], placed: Placed) -> None:
    content = io.BytesIO(plan_bytes(one, ".xlsx", placed))
    sheets = pd.read_excel(content, sheet_name=None, engine="calamine")
    wanted = ["overview", "overhaul", "windows", "renew or leave", "orders", "site"]
    assert list(sheets) == [*wanted, "site in words", "columns", "about"]
    assert sheets["overhaul"]["machine"][0] == "=T 1"
    assert sheets["overhaul"]["latest_date"][0] == pd.Timestamp("2027-09-09")
    assert "Off-season" in set(sheets["site"]["window"])


def test_markdown_holds_the_parts_and_the_site(one: list[SitePlan], placed: Placed) -> None:
    text = plan_bytes(one, ".md", placed).decode()
    assert "2026-10-01 LATE" in text
    assert "1 of 1" in text
    assert "does not fit. Off-season would do but for this" in text


def test_one_machine_alone_is_shown_with_its_windows(one: list[SitePlan]) -> None:
    alone = one[0]
    few = SitePlan(
        alone.as_of, alone.accepted, alone.overhaul.head(1), alone.windows, alone.renewals,
        alone.orders,
    )  # fmt: skip
    text = "\n".join(plan_lines([few], 200))
    assert "Outage windows" in text
    assert "Renew or leave" in text
    assert "Outage windows" not in "\n".join(plan_lines(one, 200))


def test_the_screen_has_the_most_pressing_machine_first_and_its_first_window(
    one: list[SitePlan],
) -> None:
    meant = one[0].renewals.table.assign(machine="P 2", outage="Winter stop")
    renewals = Renewals(pd.concat([one[0].renewals.table, meant]), {}, {})
    lines = plan_lines([dataclasses.replace(one[0], renewals=renewals)], 200)
    (past,) = (at for at, line in enumerate(lines) if line.startswith("P 2   "))
    (later,) = (at for at, line in enumerate(lines) if line.startswith("=T 1   "))
    assert past < later
    assert "none in time: Winter stop" in lines[past]
    assert "none in time" not in lines[later]


def test_a_part_without_a_lead_time_stands_first_and_says_so(one: list[SitePlan]) -> None:
    orders = one[0].orders
    bare = orders.assign(part_no="R-9", lead_time_days=np.nan, order_by=pd.NaT, late=False)
    table = to_order_table(dataclasses.replace(one[0], orders=pd.concat([orders, bare])))
    assert table["order by"].tolist() == ["no lead time", "2026-10-01 LATE"]


def test_words_stay_whole_where_there_is_room() -> None:
    frame = pd.DataFrame({"machine": ["recommended"], "why": ["a long sentence of words " * 9]})
    assert any("recommended" in line for line in text_table(frame, 40, 40))
    squeezed = text_table(frame.assign(why="x" * 90), 40, 40)
    assert max(map(len, squeezed)) <= 40


def test_what_several_risks_say_alike_is_told_once(three: list[SitePlan]) -> None:
    none = [
        dataclasses.replace(one, overhaul=one.overhaul.assign(risk=np.nan, risk_of=None))
        for one in three
    ]
    lines = plan_lines(none, 200)
    assert lines.count("P 2") == 1
    assert sum(line.startswith("P 2 at ") for line in plan_lines(three, 200)) == 3


def test_an_ending_that_is_not_known(one: list[SitePlan]) -> None:
    with pytest.raises(UsageProblem, match=r"\.csv, \.xlsx, \.parquet, \.md"):
        check_plan_suffix(Path("plan.doc"))
