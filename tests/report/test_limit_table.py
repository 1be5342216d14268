from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
from invented_trends import NOTHING, forecast_of

from trendwear.planning_tables import NEXT_OPENINGS
from trendwear.report.limit_table import HEADINGS, governing, headings_of, in_order, limit_table
from trendwear.report.rounding import NONE
from trendwear.tables import conform


def test_twelve_columns_of_text_one_row_a_register_row(forecast):
    table = limit_table(forecast)
    assert list(table.columns) == list(HEADINGS)
    assert len(HEADINGS) == 12
    assert len(table) == len(forecast.table)
    assert table.map(lambda cell: isinstance(cell, str)).all(axis=None)


def test_the_most_pressing_comes_first(forecast):
    order = list(in_order(forecast.table)["outcome"])
    assert order[:2] == ["measured past limit", "past limit"]
    assert set(order[-2:]) == {"too few readings", "no limit"}


def test_names_of_equal_urgency_sort_as_people_count(forecast):
    bearings = limit_table(forecast).query("machine == 'PT-101' and position.str.startswith('brg')")
    assert list(bearings["position"]) == ["brg 2", "brg 10"]


def test_a_row_in_full():
    row = limit_table(forecast_of({})).iloc[0]
    assert row["last reading"] == "0.165 mm, 2025-04-12"
    assert row["limit"] == "0.250 mm"
    assert row["allowance used"] == "58 %"
    assert row["rate per 1000 h"] == "0.0042 (0.0031 to 0.0053)"
    assert (row["1 in 20 by"], row["even chance by"]) == ("2027-06", "2028-03")
    assert row["chance at interval end"] == "34 % at 20,000 h"
    assert row["order by"] == NONE
    assert row["evidence"] == "9 readings, 82 % own"
    assert row["note"].startswith("Wears towards its limit; steady wear only")


def test_dates_within_a_year_are_days():
    close = {"date_p95": pd.Timestamp("2028-01-01")}
    assert limit_table(forecast_of(close))["1 in 20 by"].iloc[0] == "2027-06-14"


def test_hours_stand_where_there_are_no_dates(forecast):
    row = limit_table(forecast).query("machine == 'PT-104'").iloc[0]
    assert (row["1 in 20 by"], row["even chance by"]) == ("in 9,400 h", "in 14,900 h")


def test_past_already_and_never_are_said_in_words(forecast):
    table = limit_table(forecast).set_index("position")
    assert table.loc["gland ring 3", "even chance by"] == "already"
    assert table.loc["thrust float", "even chance by"] == "after 200,000 h"
    assert table.loc["=1+1", "even chance by"] == NONE


def test_a_gap_that_closes_has_a_smallest():
    row = {"moves": "closes", "unit": "um", "limit": 60.0}
    assert limit_table(forecast_of(row, decimals=0))["limit"].iloc[0] == "60 µm min"


def test_nothing_known_leaves_dashes_not_nan():
    row = limit_table(forecast_of({**NOTHING, "outcome": "too few readings", "notes": None})).iloc[
        0
    ]
    assert "nan" not in " ".join(row).casefold()
    assert row["note"] == "Too few readings for a rate"


def test_one_governing_row_a_machine_that_has_a_limit_to_reach(forecast):
    first = governing(forecast)
    assert list(first["machine"]) == ["PT-101", "PT-102", "PT-104"]
    assert first["clearance"].iloc[0] == "gland ring 3"


def test_order_does_not_depend_on_the_order_of_rows(forecast):
    shuffled = forecast.table.sample(frac=1.0, random_state=np.random.default_rng(1))
    names = ["machine", "clearance"]
    assert in_order(shuffled)[names].to_numpy().tolist() == (
        in_order(forecast.table)[names].to_numpy().tolist()
    )


def with_outages(forecast, *rows):
    key = forecast.table.iloc[0][["machine", "clearance", "moves"]].to_dict()
    ahead = conform(pd.DataFrame([key | row for row in rows]), NEXT_OPENINGS)
    return dataclasses.replace(forecast, next_openings=ahead)


def test_where_outages_are_planned_the_chance_is_that_at_the_next_one():
    usual = {"outage": "Easter", "chance": 0.34, "order_by": pd.Timestamp("2026-12-24")}
    told = with_outages(forecast_of({}), usual | {"on_shelf": False, "late": True})
    row = limit_table(told).iloc[0]
    assert list(row.index) == list(headings_of(told))
    assert len(row) == len(HEADINGS) == 12
    assert row["chance at next outage"] == "34 % at Easter"
    assert row["order by"] == "2026-12-24 LATE"
    assert "chance at interval end" not in row


def test_a_part_on_the_shelf_and_a_clearance_that_no_outage_reaches():
    shelf = {"outage": "Easter", "chance": None, "order_by": pd.NaT, "on_shelf": True}
    row = limit_table(with_outages(forecast_of({}), shelf | {"late": False})).iloc[0]
    assert (row["chance at next outage"], row["order by"]) == (NONE, "on the shelf")
    none = {"outage": None, "chance": None, "order_by": pd.NaT, "on_shelf": False, "late": False}
    row = limit_table(with_outages(forecast_of({}), none)).iloc[0]
    assert (row["chance at next outage"], row["order by"]) == (NONE, NONE)


def test_a_clearance_that_the_outages_say_nothing_of(forecast):
    told = with_outages(
        forecast, {"outage": "Easter", "chance": 0.5, "late": False, "on_shelf": False}
    )
    column = limit_table(told)["chance at next outage"]
    assert (column == NONE).sum() == len(column) - 1
