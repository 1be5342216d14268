from __future__ import annotations

import pytest

from trendwear.report.clearance_tables import (
    events_table,
    readings_table,
    segments_table,
    work_table,
)


def test_every_stored_reading_is_listed_with_its_source_latest_first(steady):
    table = readings_table(steady, "mm")
    assert len(table) == len(steady.readings)
    first = table.iloc[0]
    assert (first["date"], first["state"], first["reading"]) == (
        "2025-08-03",
        "as-found",
        "0.165 mm",
    )
    assert first["as written"] == '0.0065"'
    assert first["source"] == "openings.xlsx, sheet readings, row 10"


def test_a_reading_says_what_the_trend_made_of_it(steady):
    use = readings_table(steady, "mm").set_index("source")["use"]
    assert use["openings.xlsx, sheet readings, row 2"] == "fitted"
    assert use["openings.xlsx, sheet readings, row 8"].startswith("not fitted; state not stated")


def test_readings_follow_the_unit(steady):
    table = readings_table(steady, "mil")
    assert table["reading"].iloc[0] == "6.50 mil"
    assert any(table["reading"].str.startswith("at least"))


def test_work_and_segments_are_listed(steady):
    assert list(work_table(steady)["action"]) == ["dressed", "renewed", "partner renewed"]
    runs = segments_table(steady)
    assert list(runs["began with"]) == ["first reading", "renewed"]
    assert runs["at hours"].iloc[1] == "37,000 h"


def test_events_are_listed(steady):
    assert events_table(steady)["what"].iloc[0] == "wet steam"


@pytest.mark.parametrize("of", [readings_table, work_table, segments_table, events_table])
def test_nothing_read_is_an_empty_table_with_its_headings(bare, of):
    table = of(bare, "mm") if of is readings_table else of(bare)
    assert table.empty
    assert len(table.columns) > 5
