"""Running hours from the sheets to the forecast: stated, roughly, by the duty, or not at all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import trendwear
from tests.conftest import write_sheets
from trendwear import outlook
from trendwear.planning.plan import accepted_risks, plan_site

Rows = Sequence[Mapping[str, object]]
Stored = Callable[[Mapping[str, Rows]], Path]

REGISTER = [
    {
        "machine": machine,
        "clearance": "ring",
        "kind": "ring",
        "basis": "diametral",
        "moves": "opens",
        "unit": "mm",
        "limit": 0.5,
        "limiting": "yes",
        "family": "rings",
    }
    for machine in ("M", "N")
]
"""Two machines of one family: N tells what a ring is left at after a renewal."""


def reading(date: str, hours: object, value: object, **other: object) -> dict[str, object]:
    row = {"machine": "M", "clearance": "ring", "date": date, "run_hours": hours, "value": value}
    return row | {"state": "as-found", "uncertainty": 0.005} | other


READ = [
    reading("2014-01-01", 10000, 0.20),
    reading("2016-01-01", 17300, 0.30),
    reading("2018-01-01", 24610, 0.40),
    *(
        reading(date, hours, value, machine="N", state=state)
        for date, hours, value, state in [
            ("2014-01-01", 10000, 0.40, "as-found"),
            ("2014-01-01", 10000, 0.20, "as-left"),
            ("2018-01-01", 24610, 0.40, "as-found"),
        ]
    ),
]
"""Both run 10 h a day and wear 0.1 mm in 7300 h."""
RENEWED_ON_N = {
    "machine": "N",
    "clearance": "ring",
    "date": "2014-01-01",
    "action": "renewed",
    "run_hours": 10000,
}
RENEWED = {"machine": "M", "clearance": "ring", "date": "2019-01-01", "action": "renewed"}


def of(table: pd.DataFrame, machine: str = "M") -> Any:
    return table[table["machine"] == machine].iloc[0]


def test_a_renewal_after_the_last_log_row_starts_the_forecast_anew(stored: Stored) -> None:
    store = stored({"clearances": REGISTER, "readings": READ, "work": [RENEWED_ON_N, RENEWED]})
    before = of(trendwear.forecast(store, as_of=dt.date(2018, 12, 31)))
    assert before["clearance_now"] == pytest.approx(0.45, abs=0.002)
    on_the_day = of(trendwear.forecast(store, as_of=dt.date(2019, 1, 1)))
    assert on_the_day["run_hours"] == pytest.approx(24610 + 3650, abs=5)
    assert on_the_day["clearance_now"] == pytest.approx(0.20, abs=0.001)
    later = of(trendwear.forecast(store, as_of=dt.date(2020, 1, 1)))
    assert later["clearance_now"] == pytest.approx(0.25, abs=0.002)
    assert later["hours_to_limit_p50"] == pytest.approx(18250, rel=0.03)
    assert on_the_day["date_p50"] == later["date_p50"]
    assert later["outcome"] == "reaches limit"
    assert "overdue" not in later["notes"]
    assert "renewed 2019-01-01: no running hours stated, taken by the duty" in later["notes"]


def test_plan_and_trend_see_the_same_new_start(stored: Stored) -> None:
    store = stored({"clearances": REGISTER, "readings": READ, "work": [RENEWED_ON_N, RENEWED]})
    told = outlook.look(store, as_of=dt.date(2020, 1, 1))
    row = of(told.rows)
    trend = told.clearance_trend("M", "ring")
    ahead = trend.lines[trend.lines["stretch"] == "forecast"].iloc[0]
    assert ahead["date"] == pd.Timestamp("2019-01-01")
    assert ahead["hours"] == pytest.approx(28260, abs=5)
    assert ahead["fit_mm"] == pytest.approx(0.20, abs=0.001)
    assert trend.segments.iloc[-1]["start_date"] == pd.Timestamp("2019-01-01")
    overhaul = of(plan_site(told, accepted_risks(told, 0.5)[0]).overhaul)
    assert overhaul["latest_hours"] == pytest.approx(row["hours_to_limit_p50"], rel=0.01)
    assert overhaul["latest_date"].year == row["date_p50"].year


def test_the_plan_counts_before_the_record(stored: Stored) -> None:
    duty = {"machine": "M", "from": "2018-01-01", "hours_per_day": 20, "spread": 0.2}
    sheets = {"clearances": REGISTER, "readings": READ, "work": [RENEWED_ON_N, RENEWED]}
    store = stored(sheets | {"duty_plan": [duty]})
    told = outlook.look(store, as_of=dt.date(2020, 1, 1))
    work = told.cut.work[told.cut.work["machine"] == "M"].iloc[0]
    assert work["hours"] == pytest.approx(24610 + 20 * 365)
    assert of(told.rows)["run_hours"] == pytest.approx(24610 + 20 * 730)
    # a relative standard deviation, as a half-width
    assert work["hours_error"] == pytest.approx(0.2 * 20 * 365 * 3**0.5)


def test_a_reading_without_hours_after_the_last_log_row_is_fitted_and_marked(
    stored: Stored,
) -> None:
    late = reading("2020-01-01", "", 0.50)
    store = stored({"clearances": REGISTER, "readings": [*READ, late], "work": [RENEWED_ON_N]})
    told = outlook.look(store, as_of=dt.date(2020, 6, 1))
    point = told.cut.points[told.cut.points["date"] == pd.Timestamp("2020-01-01")].iloc[0]
    assert point["hours"] == pytest.approx(24610 + 7300, abs=10)
    assert point["hours_from"] == "by the duty"
    assert "1 reading with hours by the duty" in of(told.rows)["notes"]


def test_later_log_rows_take_the_place_of_the_duty(stored: Stored) -> None:
    log = [{"machine": "M", "date": "2020-01-01", "run_hours": 26610}]
    sheets = {"clearances": REGISTER, "readings": READ, "work": [RENEWED_ON_N, RENEWED]}
    store = stored(sheets | {"run_log": log})
    told = outlook.look(store, as_of=dt.date(2020, 1, 1))
    work = told.cut.work[told.cut.work["machine"] == "M"].iloc[0]
    assert work["hours"] == pytest.approx(25610)
    assert work["hours_from"] == "interpolated"


def test_a_renewal_at_unknown_hours_is_not_counted_from_the_one_before(stored: Stored) -> None:
    """Its hours fall: where the new part began is unknown, and no earlier start stands in."""
    falls = RENEWED | {"run_hours": 500}
    earlier = RENEWED | {"date": "2014-01-01", "run_hours": 10000}
    sheets = {"clearances": REGISTER, "readings": READ, "work": [RENEWED_ON_N, earlier, falls]}
    told = outlook.look(stored(sheets), as_of=dt.date(2020, 1, 1))
    assert pd.isna(told.own.states.at[0, "last_hours"])
    assert pd.isna(of(told.rows)["clearance_now"])
    assert "renewed 2019-01-01: running hours unknown (hours fall" in of(told.rows)["notes"]


def log(*rows: tuple[str, int, str]) -> list[dict[str, object]]:
    return [
        {"machine": "M", "date": date, "run_hours": hours, "meter": meter}
        for date, hours, meter in rows
    ]


NEAR_THE_TURN = [
    reading("2014-01-01", 80000, 0.20),
    reading("2016-01-01", 94600, 0.30),
    reading("2018-01-01", 9200, 0.40),
]


def test_a_meter_said_to_have_rolled_over_goes_on(stored: Stored) -> None:
    rows = log(("2016-09-30", 99900, ""), ("2016-10-31", 300, "rolled over"))
    store = stored({"clearances": REGISTER[:1], "readings": NEAR_THE_TURN, "run_log": rows})
    row = of(trendwear.forecast(store, as_of=dt.date(2018, 1, 1)))
    assert row["run_hours"] == pytest.approx(109200, abs=25)
    assert row["readings"] == 3
    assert row["rate_per_1000h"] == pytest.approx(0.2 / 29.2, rel=0.01)
    # It says something of the meter, and nothing of the wear.
    assert "rolled over" not in str(row["notes"])


def test_hours_that_may_have_rolled_over_say_how_to_say_so(stored: Stored) -> None:
    rows = log(("2016-09-30", 99900, ""), ("2016-10-31", 300, ""))
    store = stored({"clearances": REGISTER[:1], "readings": NEAR_THE_TURN, "run_log": rows})
    row = of(trendwear.forecast(store, as_of=dt.date(2018, 1, 1)))
    assert row["readings"] == 2
    assert "if it passed 99,999 h, say rolled over in run_log" in row["notes"]


def test_hours_that_cannot_have_rolled_over_do_not_say_so(stored: Stored) -> None:
    rows = [reading("2014-01-01", 30000, 0.20), reading("2015-01-01", 2000, 0.30)]
    store = stored({"clearances": REGISTER[:1], "readings": rows})
    notes = of(trendwear.forecast(store, as_of=dt.date(2018, 1, 1)))["notes"]
    assert "hours fall and no meter was replaced" in notes
    assert "rolled over" not in notes


def test_that_a_meter_rolled_over_can_be_said_later(stored: Stored, tmp_path: Path) -> None:
    silent = log(("2016-09-30", 99900, ""), ("2016-10-31", 300, ""))
    store = stored({"clearances": REGISTER[:1], "readings": NEAR_THE_TURN, "run_log": silent})
    said = log(("2016-09-30", 99900, ""), ("2016-10-31", 300, "rolled over"))
    again = trendwear.load([write_sheets(tmp_path / "later", {"run_log": said})], store=store)
    assert again.clean
    assert again.count_of("run_log").unchanged == 2
    assert of(trendwear.forecast(store, as_of=dt.date(2018, 1, 1)))["readings"] == 3
    third = trendwear.load([write_sheets(tmp_path / "later", {"run_log": said})], store=store)
    assert third.count_of("events").unchanged == 1


def test_readings_between_the_turn_and_the_row_that_says_so_are_after_it(stored: Stored) -> None:
    rows = log(("2016-09-30", 99900, ""), ("2016-10-31", 300, "rolled over"))
    between = reading("2016-10-15", 150, 0.335)
    sheets = {"clearances": REGISTER[:1], "readings": [*NEAR_THE_TURN, between], "run_log": rows}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 1))
    assert sorted(told.cut.points["hours"]) == [80000, 94600, 100150, 109200]


def test_as_found_and_as_left_on_either_side_of_a_new_meter(stored: Stored) -> None:
    """The meter was replaced while the machine lay open, and a test run was made."""
    rows = [
        reading("2014-01-01", 10000, 0.20),
        reading("2016-01-10", 17300, 0.30),
        reading("2016-01-20", 9, 0.30, state="as-left", plane="front"),
        reading("2018-01-01", 7209, 0.40),
    ]
    new = log(("2016-01-15", 3, "replaced"))
    sheets = {"clearances": REGISTER[:1], "readings": rows, "run_log": new}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 1))
    assert len(told.cut.chronicle.openings) == 3
    assert list(told.cut.segments["cause"]) == ["first reading"]
    assert told.cut.points["hours"].max() == 17300 + 7206


def test_a_test_run_between_as_found_and_as_left_is_one_opening(stored: Stored) -> None:
    rows = [
        reading("2014-01-01", 10000, 0.20),
        reading("2016-01-01", 17300, 0.30),
        reading("2016-02-20", 17308, 0.21, state="as-left"),
        reading("2018-01-01", 24610, 0.31),
    ]
    sheets = {"clearances": REGISTER[:1], "readings": rows}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 1))
    assert len(told.cut.chronicle.openings) == 3
    assert list(told.cut.segments["start_hours"]) == [10000, 17300]


def test_openings_years_apart_within_a_day_of_the_meter_stay_one_and_are_named(
    stored: Stored,
) -> None:
    rows = [
        reading("2014-01-01", 10000, 0.20),
        reading("2016-01-01", 17300, 0.30),
        reading("2018-01-01", 17310, 0.40),
    ]
    store = stored({"clearances": REGISTER[:1], "readings": rows})
    told = outlook.look(store, as_of=dt.date(2018, 1, 1))
    assert len(told.cut.chronicle.openings) == 2
    assert "rows of 2016-01-01 and 2018-01-01 lie within 24 h" in of(told.rows)["notes"]


def test_a_log_by_the_month_dates_the_forecast(stored: Stored) -> None:
    rows = [reading("2014-01-16", "", 0.20), reading("2016-01-16", "", 0.30)]
    logged = log(("2013-12", 10000, ""), ("2015-12", 17300, ""), ("2017-12", 24610, ""))
    sheets = {"clearances": REGISTER[:1], "readings": rows, "run_log": logged}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 1))
    points = told.cut.points
    assert points["hours"].to_numpy() == pytest.approx([10310, 17610], abs=15)
    # a row of the log may be half a month off, at 10 h a day
    assert points["hours_error"].to_numpy() == pytest.approx([150, 150], abs=2)
    row = of(told.rows)
    assert row["date_p50"].year == 2020
    assert "hour line rests on 3 dates known only to the month" in row["notes"]


def test_a_year_alone_makes_hours_uncertain_by_half_a_year(stored: Stored) -> None:
    rows = [
        reading("2014-01-01", 10000, 0.20),
        reading("2016", "", 0.33),
        reading("2018-01-01", 24610, 0.40),
    ]
    told = outlook.look(
        stored({"clearances": REGISTER[:1], "readings": rows}), as_of=dt.date(2018, 1, 1)
    )
    vague = told.cut.points.iloc[1]
    assert vague["hours"] == pytest.approx(10000 + 10 * 912.5, abs=10)
    assert vague["hours_error"] == pytest.approx(1825, abs=5)


def test_rough_hours_of_the_log_do_not_bend_the_line(stored: Stored) -> None:
    rows = [reading("2014-01-01", 10000, 0.20), reading("2018-01-01", 24610, 0.40)]
    rough = [{"machine": "M", "date": "2016-01-01", "run_hours": "~20000 ±3000"}]
    sheets = {"clearances": REGISTER[:1], "readings": rows, "run_log": rough}
    told = outlook.look(stored(sheets), as_of=dt.date(2018, 1, 1))
    assert list(told.cut.chronicle.line("M").hours) == [10000, 24610]


def test_rough_hours_of_a_reading_make_it_weigh_less(stored: Stored) -> None:
    def middle(hours: str) -> float:
        rows = [
            reading("2014-01-01", 10000, 0.20),
            reading("2016-01-01", hours, 0.33),
            reading("2018-01-01", 24610, 0.40),
        ]
        sheets = {"clearances": REGISTER[:1], "readings": rows}
        store = stored(sheets)
        told = outlook.look(store, as_of=dt.date(2018, 1, 1))
        store.unlink()
        return float(told.own.lines[0].predict(17300.0, 1)[0])

    firm, rough = middle("17300"), middle("~17300 ±3000")
    assert rough < firm
    assert rough == pytest.approx(0.30, abs=0.01)
