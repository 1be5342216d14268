"""The limit-forecast table, from sheets to answers."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import trendwear
from trendwear import outlook, tables
from trendwear.errors import UnknownName, UsageProblem

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]
AS_OF = dt.date(2020, 1, 1)


def clearance(name: str, **other: object) -> dict[str, object]:
    """A register row; unless said otherwise a family of its own."""
    row = {"machine": "M", "clearance": name, "kind": "ring", "basis": "diametral"}
    return row | {"moves": "opens", "unit": "mm", "limit": 0.5, "family": name} | other


def reading(name: str, hours: int, value: object, **other: object) -> dict[str, object]:
    year = 2010 + hours // 8000
    day = f"{year}-{1 + hours % 8000 // 700:02d}-01"
    row = {"machine": "M", "clearance": name, "date": day, "run_hours": hours}
    return row | {"state": "as-found", "value": value, "uncertainty": 0.005} | other


def steady(name: str, start: float, per_8000h: float, count: int = 5) -> list[dict[str, object]]:
    return [reading(name, 8000 * i, round(start + per_8000h * i, 4)) for i in range(count)]


def row_of(table: pd.DataFrame, name: str, moves: str = "opens") -> Any:
    same = (table["clearance"] == name) & (table["moves"] == moves)
    assert same.sum() == 1
    return table[same].iloc[0]


def test_every_outcome(stored: Stored) -> None:
    sheets = {
        "clearances": [
            clearance("no limit", limit=""),
            clearance("too few"),
            clearance("never read"),
            clearance("measured past"),
            clearance("past by now"),
            clearance("reaches"),
            clearance("no wear"),
            clearance("beyond", limit=50),
        ],
        "readings": [
            *steady("no limit", 0.20, 0.02),
            reading("too few", 32000, 0.20),
            *steady("measured past", 0.40, 0.03),
            *steady("past by now", 0.35, 0.035),
            *steady("reaches", 0.20, 0.02),
            reading("no wear", 0, 0.2),
            reading("no wear", 16000, 0.21),
            reading("no wear", 32000, 0.195),
            *steady("beyond", 0.20, 0.02),
        ],
        "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    }
    table = trendwear.forecast(stored(sheets), as_of=AS_OF)
    assert list(table.columns) == list(tables.LIMIT_FORECAST)
    assert dict(zip(table["clearance"], table["outcome"], strict=True)) == {
        "no limit": "no limit",
        "too few": "too few readings",
        "never read": "too few readings",
        "measured past": "measured past limit",
        "past by now": "past limit",
        "reaches": "reaches limit",
        "no wear": "no measurable wear",
        "beyond": "beyond horizon",
    }
    past = row_of(table, "measured past")
    assert past["hours_to_limit_p05"] == past["hours_to_limit_p95"] == 0
    assert past["date_p50"] == pd.Timestamp(AS_OF)
    free = row_of(table, "no limit")
    assert free["rate_per_1000h"] == pytest.approx(0.0025)
    assert free["found_p05"] < free["found_p50"] < free["found_p95"]
    assert pd.isna(row_of(table, "beyond")["date_p05"])


def test_hours_run_since_the_last_reading_count(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": steady("a", 0.20, 0.02),
        "run_log": [
            {"machine": "M", "date": "2018-01-01", "run_hours": 64000 - 24000},
            {"machine": "M", "date": "2019-12-31", "run_hours": 40000},
        ],
    }
    store = stored(sheets)
    row = row_of(trendwear.forecast(store, as_of=AS_OF), "a")
    assert row["run_hours"] == pytest.approx(40000, abs=24)
    assert row["clearance_now"] == pytest.approx(0.28 + 0.0025 * 8, abs=1e-4)
    early = row_of(trendwear.forecast(store, as_of=dt.date(2014, 1, 2)), "a")
    assert early["clearance_now"] == pytest.approx(0.28, abs=1e-3)
    # The same hour of the machine is meant, whatever the day the question is asked.
    assert early["hours_to_limit_p50"] - row["hours_to_limit_p50"] == pytest.approx(8000, abs=60)


def test_units_change_no_date(stored: Stored, tmp_path: Path) -> None:
    rows = steady("a", 0.254, 0.0254)
    log = [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}]
    in_mm = {"clearances": [clearance("a", limit=0.508)], "readings": rows, "run_log": log}
    in_mil = {
        "clearances": [clearance("a", unit="mil", limit=20)],
        "readings": [
            row
            | {"value": round(float(str(row["value"])) / 0.0254, 6), "uncertainty": 0.005 / 0.0254}
            for row in rows
        ],
        "run_log": log,
    }
    first = row_of(trendwear.forecast(stored(in_mm), as_of=AS_OF), "a")
    (tmp_path / "test.duckdb").unlink()
    second = row_of(trendwear.forecast(stored(in_mil), as_of=AS_OF), "a")
    assert second["limit"] == 20
    for name in ("hours_to_limit_p05", "hours_to_limit_p50", "hours_to_limit_p95"):
        assert second[name] == pytest.approx(first[name], rel=1e-6)
    assert second["rate_per_1000h"] * 0.0254 == pytest.approx(first["rate_per_1000h"])


def test_a_closing_gap_is_the_mirror_of_an_opening_one(stored: Stored) -> None:
    sheets = {
        "clearances": [
            clearance("opening", limit=0.5, design_min=0.1, design_max=0.3),
            clearance("closing", moves="closes", limit=1.5, design_min=1.7, design_max=1.9),
        ],
        "readings": [*steady("opening", 0.20, 0.02), *steady("closing", 1.80, -0.02)],
        "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    }
    table = trendwear.forecast(stored(sheets), as_of=AS_OF)
    opening, closing = row_of(table, "opening"), row_of(table, "closing", "closes")
    for name in ("hours_to_limit_p05", "hours_to_limit_p50", "rate_per_1000h", "rate_low"):
        assert closing[name] == pytest.approx(opening[name], rel=1e-6)
    assert closing["allowance_used"] == pytest.approx(opening["allowance_used"])
    assert closing["clearance_now"] == pytest.approx(2.0 - opening["clearance_now"])
    assert closing["found_p05"] == pytest.approx(2.0 - opening["found_p95"])


def test_limited_both_ways_is_one_trend_and_two_rows(stored: Stored) -> None:
    sheets = {
        "clearances": [
            clearance("gap", limit=2.0, design_min=1.4, design_max=1.6),
            clearance("gap", moves="closes", limit=1.0, design_min=1.4, design_max=1.6),
        ],
        "readings": steady("gap", 1.5, 0.02),
        "run_log": [{"machine": "M", "date": "2019-12-31", "run_hours": 40000}],
    }
    table = trendwear.forecast(stored(sheets), as_of=AS_OF)
    opens, closes = row_of(table, "gap"), row_of(table, "gap", "closes")
    assert opens["rate_per_1000h"] == pytest.approx(-closes["rate_per_1000h"])
    assert opens["rate_low"] == pytest.approx(-closes["rate_high"])
    assert opens["clearance_now"] == closes["clearance_now"]
    assert opens["outcome"] == "reaches limit"
    assert pd.isna(closes["hours_to_limit_p50"])
    assert "limited both ways" in opens["notes"]


def test_unknown_duty_gives_hours_without_dates(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": [{**row, "date": ""} for row in steady("a", 0.20, 0.02)],
    }
    row = row_of(trendwear.forecast(stored(sheets), as_of=AS_OF), "a")
    assert row["hours_to_limit_p50"] == pytest.approx(88000, rel=0.01)
    assert pd.isna(row["date_p50"])
    assert row["run_hours"] == 32000
    assert "duty unknown" in row["notes"]


def test_rows_after_the_day_are_not_used(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": steady("a", 0.20, 0.02),
    }
    store = stored(sheets)
    row = row_of(trendwear.forecast(store, as_of=dt.date(2012, 6, 1)), "a")
    assert row["readings"] == 3
    assert row["last_reading"] == pytest.approx(0.24)


def test_an_opening_that_goes_on_after_the_day_is_not_used(stored: Stored) -> None:
    found = reading("a", 24000, 0.26, date="2013-05-01", opening="2013")
    left = reading("a", 24000, 0.20, date="2013-05-20", opening="2013", state="as-left")
    sheets = {
        "clearances": [clearance("a")],
        "readings": [*steady("a", 0.20, 0.02, 3), found, left],
    }
    store = stored(sheets)
    during = row_of(trendwear.forecast(store, as_of=dt.date(2013, 5, 10)), "a")
    after = row_of(trendwear.forecast(store, as_of=dt.date(2013, 5, 20)), "a")
    assert (during["readings"], during["segments"]) == (3, 1)
    assert (after["readings"], after["segments"]) == (5, 2)
    assert "unexplained step 2013-05-01" in after["notes"]


def test_a_renewed_part_starts_where_its_family_starts(stored: Stored) -> None:
    renewed = [
        {"machine": "M", "clearance": name, "date": "2014-01-01", "run_hours": 32000}
        | {"action": "renewed"}
        for name in ("a", "b", "c")
    ]
    sheets = {
        "clearances": [clearance(name, family="rings") for name in "abc"],
        "readings": [
            *steady("a", 0.20, 0.03),
            *steady("b", 0.20, 0.02),
            *steady("c", 0.20, 0.02),
            reading("b", 32000, 0.19, state="as-left"),
            reading("c", 32000, 0.21, state="as-left"),
        ],
        "work": renewed,
        "run_log": [{"machine": "M", "date": "2014-01-02", "run_hours": 32000}],
    }
    row = row_of(trendwear.forecast(stored(sheets), as_of=dt.date(2014, 1, 2)), "a")
    assert pd.isna(row["last_reading"])
    assert row["clearance_now"] == pytest.approx(0.20, abs=1e-3)
    assert "start assumed" in row["notes"]
    assert row["rate_per_1000h"] == pytest.approx(0.03 / 8, rel=0.05)
    assert row["found_p95"] - row["found_p05"] > 0.02


def test_two_readings_give_a_rate_no_better_than_the_gauge(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": [reading("a", 0, 0.20), reading("a", 8000, 0.28)],
    }
    row = row_of(trendwear.forecast(stored(sheets), as_of=dt.date(2011, 1, 2)), "a")
    assert row["rate_per_1000h"] == pytest.approx(0.01)
    assert row["own_share"] == 1.0
    gauge = 1.645 * np.hypot(0.005, 0.005) / 8
    assert row["rate_high"] - row["rate_per_1000h"] > gauge
    assert row["rate_high"] - row["rate_per_1000h"] < 8 * gauge


def test_a_new_machine_with_one_reading_forecasts_from_its_family(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance(name, family="rings") for name in ("a", "b", "c", "new")],
        "readings": [
            *steady("a", 0.20, 0.02),
            *steady("b", 0.20, 0.022),
            *steady("c", 0.20, 0.018),
            reading("new", 32000, 0.21),
        ],
    }
    table = trendwear.forecast(stored(sheets), as_of=dt.date(2014, 1, 2))
    new, old = row_of(table, "new"), row_of(table, "a")
    assert new["own_share"] == pytest.approx(0.0, abs=1e-9)
    assert new["rate_per_1000h"] == pytest.approx(0.0025, rel=0.05)
    assert new["outcome"] == "reaches limit"
    assert new["rate_high"] - new["rate_low"] > old["rate_high"] - old["rate_low"]
    assert 0.5 < old["own_share"] < 1.0


def test_another_part_s_wear_counts_as_its_family_s_only(stored: Stored) -> None:
    def work(part: str) -> dict[str, object]:
        job = {"machine": "M", "clearance": "a", "action": "renewed", "part_no": part}
        return job | {"date": "2012-01-01", "run_hours": 16000}

    rows = [
        *steady("a", 0.20, 0.05, 2),
        reading("a", 16000, 0.30),
        reading("a", 16000, 0.20, state="as-left"),
        reading("a", 24000, 0.21),
        reading("a", 32000, 0.22),
    ]
    first = {"machine": "M", "clearance": "a", "action": "renewed", "part_no": "P-1"}
    first |= {"date": "2010-01-01", "run_hours": 0}
    sheets = {"clearances": [clearance("a")], "readings": rows, "work": [first, work("P-2")]}
    own = row_of(trendwear.forecast(stored(sheets), as_of=dt.date(2014, 1, 2)), "a")
    assert own["own_share"] < 1.0
    # its own two slow runs count more than the former part's fast one
    assert own["rate_per_1000h"] < 0.003


def test_nothing_is_said_without_a_rate_but_at_the_last_reading(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": [reading("a", 8000, 0.28)],
        "run_log": [
            {"machine": "M", "date": "2010-01-01", "run_hours": 0},
            {"machine": "M", "date": "2012-01-01", "run_hours": 16000},
        ],
    }
    store = stored(sheets)
    at_once = row_of(trendwear.forecast(store, as_of=dt.date(2011, 1, 1)), "a")
    later = row_of(trendwear.forecast(store, as_of=dt.date(2012, 1, 1)), "a")
    assert at_once["clearance_now"] == pytest.approx(0.28)
    assert at_once["chance_past_now"] == pytest.approx(0.0, abs=1e-6)
    assert pd.isna(later["clearance_now"])
    assert pd.isna(later["chance_past_now"])


def test_a_limit_in_sequence_holds_from_its_date(stored: Stored) -> None:
    sheets = {
        "clearances": [
            clearance("a", limit=0.5),
            clearance("a", limit=0.4, limit_from="2013-01-01"),
        ],
        "readings": steady("a", 0.20, 0.02),
    }
    store = stored(sheets)
    assert row_of(trendwear.forecast(store, as_of=dt.date(2012, 1, 1)), "a")["limit"] == 0.5
    assert row_of(trendwear.forecast(store, as_of=dt.date(2014, 1, 2)), "a")["limit"] == 0.4


def test_a_tighter_limit_is_never_later(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a", limit=0.5), clearance("b", limit=0.45)],
        "readings": [*steady("a", 0.20, 0.02), *steady("b", 0.20, 0.02)],
    }
    table = trendwear.forecast(stored(sheets), as_of=AS_OF)
    a, b = row_of(table, "a"), row_of(table, "b")
    for q in ("p05", "p50", "p95"):
        assert b[f"hours_to_limit_{q}"] < a[f"hours_to_limit_{q}"]
        assert b[f"date_{q}"] <= a[f"date_{q}"]


def test_worn_through_counts_as_past_the_limit(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a", limit=0.30)],
        "readings": [*steady("a", 0.20, 0.02, 3), reading("a", 24000, ">0.30")],
    }
    row = row_of(trendwear.forecast(stored(sheets), as_of=AS_OF), "a")
    assert row["outcome"] == "measured past limit"
    assert "only at least" in row["notes"]


def test_the_trend_of_one_clearance(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a")],
        "readings": [
            *steady("a", 0.20, 0.02),
            reading("a", 32000, 0.19, state="as-left"),
            reading("a", 40000, 0.21),
        ],
        "work": [
            {"machine": "M", "clearance": "a", "date": "2014-01-02", "run_hours": 32000}
            | {"action": "renewed"}
        ],
    }
    store = stored(sheets)
    trend = outlook.look(store, as_of=AS_OF).clearance_trend("m", "A")
    for frame, columns in (
        (trend.points, tables.TREND_POINTS),
        (trend.segments, tables.TREND_SEGMENTS),
        (trend.work, tables.TREND_WORK),
        (trend.lines, tables.TREND_LINES),
        (trend.readings, tables.READINGS),
    ):
        tables.check(frame, columns)
    assert list(trend.segments["cause"]) == ["first reading", "renewed"]
    assert list(trend.points["segment"]) == [1, 1, 1, 1, 1, 2, 2]
    ahead = trend.lines[trend.lines["stretch"] == "forecast"]
    assert (ahead["low_mm"] <= ahead["fit_mm"]).all()
    assert (ahead["fit_mm"] <= ahead["high_mm"]).all()
    with pytest.raises(UnknownName, match="has: a"):
        outlook.look(store, as_of=AS_OF).clearance_trend("M", "z")


def test_a_horizon_of_nothing_is_usage(stored: Stored) -> None:
    store = stored({"clearances": [clearance("a")], "readings": steady("a", 0.2, 0.02)})
    with pytest.raises(UsageProblem):
        trendwear.forecast(store, as_of=AS_OF, horizon_hours=0)


def test_a_register_without_readings_is_answered(stored: Stored) -> None:
    store = stored({"clearances": [clearance("a")]})
    told = outlook.look(store, as_of=AS_OF)
    assert list(told.rows["outcome"]) == ["too few readings"]
    assert "no reading to go by" in told.rows["notes"].iloc[0]
    assert told.clearance_trend("M", "a").lines.empty
    assert len(told.family("a").members) == 1
    assert len(trendwear.plan(store, as_of=AS_OF, risk=0.1)) == 1


def test_an_empty_store_is_answered(stored: Stored) -> None:
    store = stored({"machines": [{"machine": "M"}]})
    assert trendwear.forecast(store, as_of=AS_OF).empty
    assert trendwear.plan(store, as_of=AS_OF, risk=0.1).empty


def test_measured_past_its_limit_is_past_it_whatever_the_rate(stored: Stored) -> None:
    sheets = {
        "clearances": [clearance("a"), clearance("b")],
        "readings": [reading("a", 8000, 0.55), *steady("b", 0.2, 0.02)],
    }
    row = row_of(trendwear.forecast(stored(sheets), as_of=dt.date(2014, 1, 2)), "a")
    assert row["outcome"] == "too few readings"
    assert row["hours_to_limit_p50"] == 0.0
    assert row["date_p05"] == pd.Timestamp(2014, 1, 2)
    assert "the last reading is past the limit" in row["notes"]
