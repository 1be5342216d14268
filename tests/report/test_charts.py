from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest
from invented_trends import NOTHING, every_outcome, forecast_of, steady_trend, table_of

from trendwear.report.charts import (
    fleet_chart,
    how_to_read,
    not_drawn,
    past_not_drawn,
    trend_chart,
)


def rows_of(chart) -> list[dict]:
    """Every row of data that the chart carries, of all layers."""
    return [row for rows in chart.to_dict()["datasets"].values() for row in rows]


def words_of(chart) -> str:
    return " | ".join(dict.fromkeys(row["words"] for row in rows_of(chart) if "words" in row))


def encodings(chart) -> list[dict]:
    return [layer["encoding"] for layer in chart.to_dict()["layer"]]


@pytest.mark.parametrize("by", ["hours", "date"])
@pytest.mark.parametrize("make", ["steady", "bare"])
def test_charts_draw(make, by, request):
    trend = request.getfixturevalue(make)
    chart = trend_chart(trend, "mm", by).properties(width=600)
    picture = chart.to_dict()
    assert picture["layer"]
    assert picture["height"] == 520


def test_every_reading_with_hours_is_drawn_and_the_others_are_counted(steady):
    by_hours = [row for row in rows_of(trend_chart(steady, "mm", "hours")) if "as_written" in row]
    by_date = [row for row in rows_of(trend_chart(steady, "mm", "date")) if "as_written" in row]
    drawn = {row["source"] + row["running_hours"] for row in by_hours}
    assert len(drawn) == len(steady.points) - 1
    assert len({row["source"] + row["running_hours"] for row in by_date}) == len(steady.points)
    assert (not_drawn(steady, "hours"), not_drawn(steady, "date")) == (1, 0)


def test_a_reading_tells_its_source_and_the_text_as_written(steady):
    rows = [row for row in rows_of(trend_chart(steady, "mm", "date")) if "as_written" in row]
    last = next(row for row in rows if row["day"] == "2025-08-03")
    assert last["reading"] == "0.165 mm"
    assert last["as_written"] == '0.0065"'
    assert last["source"] == "openings.xlsx, readings, row 10"
    assert last["uncertainty"].startswith("± 0.0080 mm")
    assert any(row["reading"].startswith("at least") for row in rows)


def test_limit_work_today_and_crossing_are_labelled(steady):
    words = words_of(trend_chart(steady, "mm", "date"))
    assert "limit 0.250 mm (largest allowed)" in words
    assert "renewed, partner renewed" in words
    assert "dressed" in words
    assert "as of 2026-03-01" in words
    assert "1 in 20 by 2027-06, even chance by 2028-03" in words
    assert "1 in 20 at 50,600 h, even chance at 56,100 h" in words_of(
        trend_chart(steady, "mm", "hours")
    )


def test_the_forecast_and_what_the_own_readings_say_are_both_drawn_and_named(steady):
    rows = [row for row in rows_of(trend_chart(steady, "mm", "hours")) if "line" in row]
    by_name = {name: [r["at"] for r in rows if r["line"] == name] for name in lines_named(rows)}
    assert set(by_name) == {"fit to own readings", "own readings only", "forecast, band 5 to 95 %"}
    assert min(by_name["own readings only"]) == min(by_name["forecast, band 5 to 95 %"]) == 37000


def lines_named(rows: list[dict]) -> set[str]:
    return {row["line"] for row in rows}


def test_a_reading_that_is_hard_to_believe_is_ringed_and_says_why(steady):
    chart = trend_chart(steady, "mm", "hours").to_dict()
    ringed = [
        chart["datasets"][layer["data"]["name"]]
        for layer in chart["layer"]
        if layer["mark"].get("size") == 330
    ]
    assert [[row["as_written"] for row in rows] for rows in ringed] == [['0.0062"']]
    assert ringed[0][0]["look_again"].startswith("fell by 0.003")


def test_the_key_speaks_of_what_is_there_only(steady, bare):
    told = how_to_read(steady)
    assert all(word in told for word in ("Ringed", "Arrow", "Hollow", "Dotted", "Flag"))
    assert how_to_read(bare) == ""
    plain = steady.points.assign(doubt=None, at_least=False, fitted=True)
    fewer = how_to_read(dataclasses.replace(steady, points=plain))
    assert not any(word in fewer for word in ("Ringed", "Arrow", "Hollow"))


def test_the_unit_moves_the_numbers_and_not_the_dates(steady):
    millimetres = trend_chart(steady, "mm", "date")
    mils = trend_chart(steady, "mil", "date")
    lengths = [
        sorted(row["value"] for row in rows_of(chart) if "as_written" in row)
        for chart in (millimetres, mils)
    ]
    assert np.array(lengths[1]) * 0.0254 == pytest.approx(lengths[0])
    assert "1 in 20 by 2027-06, even chance by 2028-03" in words_of(mils)
    domains = [
        next(e["x"]["scale"]["domain"] for e in encodings(chart) if "x" in e)
        for chart in (millimetres, mils)
    ]
    assert domains[0] == domains[1]


def test_the_vertical_axis_does_not_start_at_zero_and_has_room_for_all(steady):
    chart = trend_chart(steady, "mm", "hours")
    bottom, top = next(e["y"]["scale"]["domain"] for e in encodings(chart) if "y" in e)
    assert 0 < bottom < steady.points["value_mm"].min()
    assert top > 0.25


def test_a_far_crossing_does_not_squeeze_the_readings(steady):
    far = {
        "hours_to_limit_p50": 150_000.0,
        "hours_to_limit_p95": 190_000.0,
        "hours_to_limit_p05": 90_000.0,
    }
    trend = dataclasses.replace(steady, forecast=table_of(far))
    chart = trend_chart(trend, "mm", "hours")
    start, end = next(e["x"]["scale"]["domain"] for e in encodings(chart) if "x" in e)
    assert end - start == pytest.approx((1 + 3) * 41_200 * 1.06)
    assert "even chance at 191,000 h" in words_of(chart)


def test_a_crossing_out_of_sight_leaves_no_empty_paper(steady):
    shares = ("p05", "p50", "p95")
    never = table_of(dict.fromkeys((f"hours_to_limit_{share}" for share in shares), 190_000.0))
    chart = trend_chart(dataclasses.replace(steady, forecast=never), "mm", "hours")
    _, end = next(e["x"]["scale"]["domain"] for e in encodings(chart) if "x" in e)
    assert end == pytest.approx(64_000 * 1.03)


def test_a_clearance_limited_both_ways_has_two_limits(steady):
    both = table_of({}, {"moves": "closes", "limit": 0.08, "hours_to_limit_p05": np.nan})
    words = words_of(trend_chart(dataclasses.replace(steady, forecast=both), "mm", "date"))
    assert "largest allowed" in words
    assert "smallest allowed" in words


def test_without_duty_the_date_chart_keeps_the_readings(steady):
    lines = steady.lines.assign(date=pd.NaT)
    row = table_of({"date_p05": pd.NaT, "date_p50": pd.NaT, "date_p95": pd.NaT})
    trend = dataclasses.replace(steady, lines=lines, forecast=row)
    chart = trend_chart(trend, "mm", "date")
    assert sum("as_written" in data for data in rows_of(chart)) > 0
    assert "even chance" not in words_of(chart)


def test_past_its_limit_is_said():
    past = table_of(
        {
            "outcome": "past limit",
            "hours_to_limit_p05": 0.0,
            "hours_to_limit_p50": 0.0,
            "date_p05": pd.Timestamp("2026-03-01"),
            "date_p50": pd.Timestamp("2026-03-01"),
        }
    )
    trend = dataclasses.replace(steady_trend(), forecast=past)
    assert "past its limit already" in words_of(trend_chart(trend, "mm", "date"))


def test_the_fleet_is_drawn_most_pressing_first():
    rows = rows_of(fleet_chart(every_outcome().table))
    places = list(dict.fromkeys(row["place"] for row in rows))
    assert places[:2] == ["PT-101 · gland ring 3", "PT-101 · gland ring 4"]
    assert "PT-104 · brg 2" not in places  # hours only: no place on an axis of dates
    assert rows[0]["state"] == "past its limit"


def test_those_past_their_limit_leave_room_for_what_comes_next():
    past = [{"clearance": f"ring {n}", "outcome": "past limit", "hours_to_limit_p05": 0.0,
             "hours_to_limit_p50": 0.0} for n in range(30)]  # fmt: skip
    table = forecast_of(*past, *({"clearance": f"brg {n}"} for n in range(30))).table
    places = {row["place"] for row in rows_of(fleet_chart(table))}
    assert len(places) == 25
    assert sum("ring" in place for place in places) == 8
    assert past_not_drawn(table) == 22


def test_a_fleet_without_duty_is_drawn_by_hours():
    undated = {"date_p05": pd.NaT, "date_p50": pd.NaT, "date_p95": pd.NaT}
    chart = fleet_chart(forecast_of(undated).table)
    assert rows_of(chart)[0]["early"] == 9400.0


def test_the_fleet_shows_at_most_twenty_five():
    many = forecast_of(*({"clearance": f"brg {n}"} for n in range(40)))
    assert len({row["place"] for row in rows_of(fleet_chart(many.table))}) == 25


def test_no_fleet_where_nothing_reaches_its_limit():
    assert fleet_chart(forecast_of({**NOTHING, "outcome": "no limit"}).table) is None
