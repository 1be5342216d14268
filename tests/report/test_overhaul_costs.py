"""Costs as people see them: on screen, in Markdown, in the workbook and drawn."""

from __future__ import annotations

import dataclasses
import datetime as dt
import io
from typing import Any

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.cost import Costs, cost_of_intervals
from trendwear.planning.cost_plan import PlanCosts
from trendwear.planning.plan import SitePlan
from trendwear.planning.renewals import Renewals
from trendwear.planning_tables import (
    COSTS,
    OPENING_COSTS,
    ORDERS,
    OVERHAUL,
    RENEWALS,
    WINDOWS,
)
from trendwear.report.overhaul.costs import (
    COST_MEANINGS,
    COSTS_SAY,
    OPENING_COST_MEANINGS,
    cost_chart,
    costs_table,
    money_text,
    opening_costs_table,
)
from trendwear.report.overhaul.export import plan_bytes
from trendwear.report.overhaul.terminal import plan_lines

CURVE = cost_of_intervals(lambda t: np.exp(-((t / 1e4) ** 3)), Costs(1000.0, 6000.0), 30_000.0)


def plan_with(costs: PlanCosts) -> SitePlan:
    row = {"machine": "M", "as_of": pd.Timestamp("2026-11-01"), "notes": None}
    row |= {"outcome": "no clearance limits it"}
    return SitePlan(
        dt.date(2026, 11, 1),
        accepted_for_all(0.1),
        tables.conform(pd.DataFrame([row]), OVERHAUL),
        tables.empty(WINDOWS),
        Renewals(tables.empty(RENEWALS), {}, {}),
        tables.empty(ORDERS),
        costs,
    )


@pytest.fixture
def priced() -> SitePlan:
    row = {"machine": "M", "planned": 1000.0, "past_limit": 6000.0, "no_best": False}
    row |= {"best_hours": CURVE.best_hours, "best_cost_per_1000h": 1000 * CURVE.best_cost}
    row |= {"flat_from": CURVE.flat_from, "flat_to": CURVE.flat_to, "usual_hours": 8000.0}
    row |= {"risk_hours": 4700.0, "risk_cost_per_1000h": 326.04, "renewed": "ring 2"}
    spare = {"machine": "N", "no_best": False, "missing": "price of R-1 in the parts sheet"}
    opening = {"machine": "M", "opening": "Easter", "date": pd.Timestamp("2027-03-28")}
    opening |= {"hours_until": 2345.0, "chance_before": 0.03, "planned": 1000.0}
    opening |= {"expected_cost": 1150.0, "dearer_by": 0.0}
    late = opening | {"opening": "Autumn", "dearer_by": 1234.5, "hindrance": "it is for there"}
    return plan_with(
        PlanCosts(
            tables.conform(pd.DataFrame([row, spare]), COSTS),
            tables.conform(pd.DataFrame([opening, late]), OPENING_COSTS),
            {"M": CURVE},
        )
    )


def test_every_column_is_explained() -> None:
    assert list(COST_MEANINGS) == list(COSTS)
    assert list(OPENING_COST_MEANINGS) == list(OPENING_COSTS)


@pytest.mark.parametrize(
    ("amount", "text"),
    [(12345.6, "12,346"), (99.96, "100"), (8.128, "8.13"), (0.0, "0"), (float("nan"), "—")],
)
def test_money(amount: float, text: str) -> None:
    assert money_text(amount) == text


def test_intervals_in_words(priced: SitePlan) -> None:
    told = costs_table(priced).set_index("machine")
    assert told.loc["M", "cheapest interval"] == "4,660 h"
    assert told.loc["M", "cost per 1000 h"] == "326"
    assert told.loc["M", "interval at accepted risk"] == "4,700 h at 326"
    assert told.loc["M", "interval up to now"] == "8,000 h"
    assert told.loc["N", "missing"] == "price of R-1 in the parts sheet"
    assert told.loc["N", "overhaul in time"] == "—"
    assert costs_table(priced, "N")["machine"].tolist() == ["N"]


def test_openings_in_words(priced: SitePlan) -> None:
    told = opening_costs_table(priced, "M").set_index("opening")
    assert told.loc["Easter", "dearer than the cheapest by"] == "cheapest"
    assert told.loc["Autumn", "dearer than the cheapest by"] == "1,234"
    assert told.loc["Autumn", "why it cannot be opened in it"] == "it is for there"


def test_openings_that_cost_alike_are_not_each_called_the_cheapest(priced: SitePlan) -> None:
    """What is past its limit today costs the same in every window."""
    openings = priced.costs.openings.assign(dearer_by=0.0)
    costs = dataclasses.replace(priced.costs, openings=openings)
    told = opening_costs_table(dataclasses.replace(priced, costs=costs), "M")
    assert set(told["dearer than the cheapest by"]) == {"no difference"}


def test_on_screen_in_markdown_and_in_the_workbook(priced: SitePlan) -> None:
    screen = "\n".join(plan_lines([priced], 300))
    assert "What an interval costs" in screen
    assert "What it costs to open in each window" in screen
    assert COSTS_SAY in screen
    assert COSTS_SAY in plan_bytes([priced], ".md").decode()
    book = io.BytesIO(plan_bytes([priced], ".xlsx"))
    sheets = pd.read_excel(book, sheet_name=None, engine="calamine")
    assert sheets["interval costs"]["planned"][0] == 1000.0
    assert list(sheets["cost of openings"].columns) == list(OPENING_COSTS)
    assert COSTS_SAY in set(sheets["about"].iloc[:, 0])


def test_where_no_costs_are_given_nothing_is_shown() -> None:
    bare = plan_with(PlanCosts())
    assert costs_table(bare).empty
    assert opening_costs_table(bare, "M").empty
    assert cost_chart(bare, "M") is None
    assert "cost" not in "\n".join(plan_lines([bare], 300))
    assert "cost" not in plan_bytes([bare], ".md").decode()
    book = io.BytesIO(plan_bytes([bare], ".xlsx"))
    assert "interval costs" not in pd.read_excel(book, sheet_name=None, engine="calamine")


def test_the_chart_shows_the_least_cost_and_what_is_marked(priced: SitePlan) -> None:
    chart = cost_chart(priced, "M")
    drawn: dict[str, Any] = chart.to_dict()
    words = [row["words"] for rows in drawn["datasets"].values() for row in rows if "words" in row]
    assert set(words) == {
        "at least cost, 4,660 h",
        "accepted risk reached, 4,700 h",
        "up to now, 8,000 h",
    }
    costs = [row["cost"] for rows in drawn["datasets"].values() for row in rows if "cost" in row]
    assert min(costs) == pytest.approx(1000 * CURVE.best_cost, rel=1e-4)
    assert cost_chart(priced, "N") is None
