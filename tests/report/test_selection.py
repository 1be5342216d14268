from __future__ import annotations

import dataclasses

from invented_trends import forecast_of

from trendwear.report.limit_table import HEADINGS
from trendwear.report.selection import (
    narrowed,
    positions,
    present,
    screen_table,
    summary,
    without_date,
)


def test_no_choice_leaves_everything(forecast):
    assert narrowed(forecast, [], [], []).table.equals(forecast.table)


def test_choices_narrow_together_and_keep_the_decimals_beside_the_rows(forecast):
    rings = narrowed(forecast, ["PT-101"], ["carbon ring"], ["past limit"])
    assert list(rings.table["clearance"]) == ["gland ring 4"]
    assert list(rings.decimals.index) == list(rings.table.index)


def test_names_are_listed_once_and_as_people_count(forecast):
    assert present(forecast, "machine") == ["PT-101", "PT-102", "PT-103", "PT-104"]
    assert positions(forecast, "PT-101") == ["brg 2", "brg 10", "gland ring 3", "gland ring 4"]
    assert positions(forecast, None) == []
    assert present(forecast, "part_no") == []


def test_the_screen_shows_the_twelve_columns_and_sorts_the_allowance_as_a_number(forecast):
    table = screen_table(forecast)
    assert sorted(table.columns) == sorted(HEADINGS)
    assert table["allowance used"].iloc[0] == 108.0


def test_the_plant_in_one_sentence(forecast):
    assert summary(forecast) == (
        "4 machines, 9 clearances. Measured past limit 1; past limit 1; reaches limit 3; "
        "beyond horizon 1; no measurable wear 1; too few readings 1; no limit 1."
    )
    one = forecast_of({}, {"moves": "closes"})
    assert summary(one) == "1 machine, 1 clearance. Reaches limit 2."


def test_machines_that_reach_nothing_are_named(forecast):
    assert without_date(forecast) == ["PT-103"]
    nobody = dataclasses.replace(forecast, table=forecast.table.iloc[:0])
    assert without_date(nobody) == []
