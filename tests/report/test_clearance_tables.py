from __future__ import annotations

import dataclasses

import pandas as pd
import pytest

from trendwear.report.clearance_tables import (
    doubtful_readings,
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


def test_a_reading_that_is_hard_to_believe_says_so(steady):
    assert doubtful_readings(steady, "mm") == [
        '2025-02-24, as-left, 0.158 mm (written 0.0062"): fell by 0.003 with no work recorded; '
        "likely misread."
    ]
    use = readings_table(steady, "mm").set_index("source")["use"]
    assert "look again: fell by 0.003" in use["openings.xlsx, sheet readings, row 9"]


def test_what_is_dated_later_or_excluded_is_told_to_be_unused(steady):
    readings = steady.readings.assign(row=steady.readings["row"] + 100)
    readings["excluded"] = [True] + [False] * 8
    readings["excluded_why"] = ["gauge found broken"] + [None] * 8
    early = dataclasses.replace(
        steady, readings=readings, as_of=readings["date"].iloc[-1].date() - pd.Timedelta(days=1)
    )
    use = list(readings_table(early, "mm")["use"])
    assert use[0] == f"dated after {early.as_of:%Y-%m-%d}: not used"
    assert use[-1] == "excluded: gauge found broken"
    assert use[-2] == "kept; another reading was taken"


def test_events_after_the_day_of_the_forecast_are_not_told(steady):
    assert events_table(dataclasses.replace(steady, as_of=steady.events["date"].iloc[0].date()))[
        "what"
    ].tolist() == ["wet steam"]
    before = steady.events["date"].iloc[0].date() - pd.Timedelta(days=1)
    assert events_table(dataclasses.replace(steady, as_of=before)).empty
