"""Dates asked about stand in the chart of a machine's overhaul, and the picture reaches them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pandas as pd
import pytest

from trendwear import outlook
from trendwear.planning.accepted import accepted_for_all
from trendwear.planning.over_time import ASKED, OverTime, over_time
from trendwear.planning.plan import plan_site
from trendwear.report.overhaul.charts import how_to_read, overhaul_chart

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2014, 7, 1)

SHEETS: Mapping[str, Rows] = {
    "clearances": [
        {"machine": "M", "clearance": "a", "kind": "ring", "basis": "diametral"}
        | {"moves": "opens", "unit": "mm", "limit": 0.5}
    ],
    "readings": [
        {"machine": "M", "clearance": "a", "date": f"{2010 + year}-01-01"}
        | {"run_hours": 8000 * year, "state": "as-found", "value": 0.2 + 0.03 * year}
        for year in range(5)
    ],
    "run_log": [{"machine": "M", "date": "2014-06-01", "run_hours": 35000}],
    "outages": [{"outage": "far", "start": "2031-01-01", "end": "2031-02-01"}],
}


def asked_of(*dates: str) -> pd.DataFrame:
    return pd.DataFrame({"date": pd.to_datetime(dates), "words": [f"asked {day}" for day in dates]})


@pytest.fixture
def drawn(stored: Stored) -> Callable[[pd.DataFrame | None], OverTime]:
    told = outlook.look(stored(SHEETS), as_of=AS_OF)
    plans = [plan_site(told, accepted_for_all(0.1))]
    return lambda asked: over_time(told, plans, "M", asked)


def words_in(told: OverTime) -> list[str]:
    data = overhaul_chart(told).to_dict()["datasets"].values()
    return [str(row.get("words")) for rows in data for row in rows]


def test_dates_asked_about_are_drawn_and_reached(
    drawn: Callable[[pd.DataFrame | None], OverTime],
) -> None:
    told = drawn(asked_of("2016-01-01", "2024-01-01"))
    assert list(told.asked) == list(ASKED)
    assert told.until is not None
    assert told.until > pd.Timestamp("2024-01-01")
    assert told.until < pd.Timestamp("2031-01-01")
    assert {"asked 2016-01-01", "asked 2024-01-01"} <= set(words_in(told))
    assert "date asked about" in how_to_read(told)


def test_without_any_the_picture_is_as_it_was(
    drawn: Callable[[pd.DataFrame | None], OverTime],
) -> None:
    told = drawn(None)
    assert told.asked.empty
    assert told.until is not None
    assert told.until > pd.Timestamp("2031-01-01")
    assert "date asked about" not in how_to_read(told)
