"""Limits with a source and a day: forecast, chart, history and comparison take the right one."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import trendwear
from trendwear import outlook
from trendwear.forecasting.trend import ClearanceTrend
from trendwear.plan_comparison import moved_since
from trendwear.planning.steps import Group
from trendwear.report.charts import how_to_read, trend_chart
from trendwear.report.issued.words import step_words
from trendwear.store.database import reader
from trendwear.store.history_record import record

Stored = Callable[[Mapping[str, Sequence[Mapping[str, object]]]], Path]

ROW = {"machine": "M", "clearance": "a", "kind": "ring", "basis": "diametral", "moves": "opens"}
LIMITS = [
    ROW | {"unit": "mm", "limit": 0.5, "limit_source": "manual, 1st edition, page 3"},
    ROW | {"unit": "mm", "limit": 0.45, "limit_from": "2012-01-01", "limit_source": "letter 7"},
    ROW | {"unit": "mm", "limit": 0.4, "limit_from": "2016-07-01", "limit_source": "letter 9"},
]
READINGS = [
    {"machine": "M", "clearance": "a", "date": f"{2010 + i}-01-01", "run_hours": 8000 * i}
    | {"state": "as-found", "value": 0.20 + 0.02 * i, "uncertainty": 0.005}
    for i in range(5)
]
DUTY = [{"machine": "M", "from": "2014-01-01", "hours_per_day": 20}]
NOW = dt.date(2014, 6, 1)


@pytest.fixture
def store(stored: Stored) -> Path:
    """A clearance whose limit changed once and will change again."""
    return stored({"clearances": LIMITS, "readings": READINGS, "duty_plan": DUTY})


def trend_on(store: Path, day: dt.date) -> ClearanceTrend:
    return outlook.look(store, as_of=day).clearance_trend("M", "a")


def rows_of(chart: Any) -> list[dict[str, Any]]:
    return [row for rows in chart.to_dict()["datasets"].values() for row in rows]


@pytest.mark.parametrize(
    ("day", "limit", "source"),
    [
        (dt.date(2011, 12, 31), 0.5, "manual, 1st edition, page 3"),
        (dt.date(2012, 1, 1), 0.45, "letter 7"),
        (NOW, 0.45, "letter 7"),
        (dt.date(2016, 7, 1), 0.4, "letter 9"),
    ],
)
def test_the_forecast_takes_the_limit_that_holds(
    store: Path, day: dt.date, limit: float, source: str
) -> None:
    row = trendwear.forecast(store, as_of=day).iloc[0]
    assert (row["limit"], row["limit_source"]) == (limit, source)


def test_a_limit_to_come_is_said_and_not_counted(store: Path) -> None:
    row = trendwear.forecast(store, as_of=NOW).iloc[0]
    assert "from 2016-07-01 limit 0.4 mm (letter 9), not counted here" in row["notes"]
    later = trendwear.forecast(store, as_of=dt.date(2016, 7, 1)).iloc[0]
    assert "not counted here" not in (later["notes"] or "")


def test_the_steps_lie_at_their_days_and_hours(store: Path) -> None:
    steps = trend_on(store, NOW).limits
    assert steps["limit_mm"].tolist() == [0.5, 0.45, 0.4]
    assert steps["ahead"].tolist() == [False, False, True]
    # Between 2012-01-01 (16,000 h) and now the log speaks; 2016-07-01 lies 912 days of 20 h
    # after the last row of 2014-01-01, at 32,000 h.
    assert steps["hours"].iloc[1] == pytest.approx(16000)
    assert steps["hours"].iloc[2] == pytest.approx(32000 + 912 * 20)
    assert pd.isna(steps["hours"].iloc[0])


@pytest.mark.parametrize("by", ["date", "hours"])
def test_the_chart_draws_them_as_steps(store: Path, by: Any) -> None:
    trend = trend_on(store, NOW)
    rows = rows_of(trend_chart(trend, "mm", by))
    words = {row["words"] for row in rows if "words" in row}
    assert any(said.startswith("before: 0.5") for said in words)
    assert any(said.startswith("limit 0.45") and "from 2012-01-01" in said for said in words)
    assert any(said.startswith("0.4") and said.endswith("from 2016-07-01") for said in words)
    spans = {round(row["value"], 3): row for row in rows if "until" in row and "before" in row}
    assert spans[0.5]["until"] == spans[0.45]["at"]
    assert spans[0.45]["until"] > spans[0.4]["at"], "the limit that holds is drawn to the end"
    assert "Steps in the limit" in how_to_read(trend)


def test_one_limit_stays_one_line(stored: Stored) -> None:
    trend = trend_on(stored({"clearances": LIMITS[:1], "readings": READINGS}), NOW)
    words = {row["words"] for row in rows_of(trend_chart(trend, "mm", "date")) if "words" in row}
    assert any(said.startswith("limit 0.5") for said in words)
    assert not any(said.startswith("before") for said in words)
    assert "Steps in the limit" not in how_to_read(trend)


def test_without_a_duty_a_limit_to_come_has_no_place_on_the_hours(stored: Stored) -> None:
    one_row = [READINGS[0]]
    trend = trend_on(stored({"clearances": LIMITS, "readings": one_row}), NOW)
    assert pd.isna(trend.limits["hours"].iloc[2])
    words = {row["words"] for row in rows_of(trend_chart(trend, "mm", "hours")) if "words" in row}
    assert any(said.startswith("limit 0.45") for said in words)


def test_the_history_shows_them_in_sequence(store: Path) -> None:
    with reader(store) as connection:
        told = record(connection, "M", "a").query("kind == 'register'")
    assert [said.split(", kind")[0] for said in told["what"]] == [
        "limit 0.5 mm, limit source manual, 1st edition, page 3",
        "limit 0.45 mm, limit from 2012-01-01, limit source letter 7",
        "limit 0.4 mm, limit from 2016-07-01, limit source letter 9",
    ]


class TestIssuedPlans:
    """What a plan is held against names a limit that changed."""

    def test_one_that_came_into_force_with_time(self, store: Path) -> None:
        trendwear.issue_plan(store, "spring", as_of=NOW, risk=0.1)
        moved = moved_since(store, "spring", as_of=dt.date(2016, 8, 1))
        [time] = [step for step in moved.steps if step.group is Group.TIME]
        assert time.news["what"].tolist() == [
            "a: limit 0.45 mm -> 0.4 mm from 2016-07-01 (letter 9)"
        ]
        assert "(a: limit 0.45 mm -> 0.4 mm" in step_words(time, "M")
        early = moved_since(store, "spring", as_of=dt.date(2016, 6, 30))
        assert all(step.news.empty for step in early.steps)

    def test_one_that_is_new_and_one_that_was_corrected(self, store: Path, tmp_path: Path) -> None:
        trendwear.issue_plan(store, "spring", as_of=NOW, risk=0.1)
        sheet = tmp_path / "clearances.csv"
        head = "machine,clearance,kind,basis,moves,unit,limit,limit_from,limit_source\n"
        sheet.write_text(
            f"{head}M,a,ring,diametral,opens,mm,0.44,2012-01-01,letter 7b\n"
            "M,a,ring,diametral,opens,mm,0.3,2014-05-01,letter 8\n",
            encoding="utf-8",
        )
        trendwear.load(sheet, store=store)
        moved = moved_since(store, "spring", as_of=NOW)
        [register] = [step for step in moved.steps if step.group is Group.REGISTER]
        said = register.news["what"].tolist()
        assert said == [
            "a: new in the register, limit 0.3 mm from 2014-05-01 (letter 8)",
            "a: limit 0.45 mm -> 0.44 mm, limit source letter 7 -> letter 7b",
        ]
