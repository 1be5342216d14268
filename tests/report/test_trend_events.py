from __future__ import annotations

import dataclasses

import pandas as pd
import pytest
from invented_trends import AS_OF, bare_trend, day

from trendwear import tables
from trendwear.report.charts import trend_chart
from trendwear.report.trend.events import event_layers, events_until
from trendwear.report.trend.frame import frame_of, now_of


def with_events(trend, *events: dict):
    rows = [{"machine": "PT-101", "row": 2, **event} for event in events]
    return dataclasses.replace(trend, events=tables.conform(pd.DataFrame(rows), tables.EVENTS))


def flags_of(trend, by="date") -> list[dict]:
    chart = trend_chart(trend, "mm", by).to_dict()
    rows = [row for rows in chart["datasets"].values() for row in rows if "happened" in row]
    return list({row["happened"]: row for row in rows}.values())


def labels_of(trend, by="date") -> list[str]:
    layers = event_layers(trend, now_of(trend, by), frame_of(trend, "mm", by))
    return [
        words
        for layer in layers
        if layer.mark.type == "text" and layer.mark.color == "#8A5A00"
        for words in layer.data["words"]
    ]


def test_an_event_is_flagged_and_labelled_along_dates_and_hours(steady):
    wet = with_events(steady, {"date": day(-9000), "what": "wet steam", "severity": "slight"})
    assert labels_of(wet, "date") == ["wet steam (slight)"]
    assert labels_of(wet, "hours") == ["wet steam (slight)"]
    assert flags_of(wet)[0]["happened"] == f"wet steam, {day(-9000):%Y-%m-%d}"
    # 9000 h before 41,200 h, on the line of the readings around it
    assert flags_of(wet, "hours")[0]["at"] == pytest.approx(32200, abs=30)


def test_events_of_other_clearances_and_later_ones_are_not_its_own(steady):
    trend = with_events(
        steady,
        {"date": day(-9000), "what": "rub", "clearances": "brg 3, gland ring 1"},
        {"date": day(-8000), "what": "oil loss", "clearances": "Brg 2"},
        {"date": pd.Timestamp(AS_OF) + pd.Timedelta(days=1), "what": "trip"},
    )
    assert list(events_until(trend)["what"]) == ["oil loss"]


def test_events_of_one_week_share_a_flag_and_crowded_labels_give_way(steady):
    week = [{"date": day(-9000 + 20 * n), "what": f"trip {n}"} for n in range(3)]
    assert labels_of(with_events(steady, *week)) == ["3 events"]
    twice = [{"date": day(-9000 + 20 * n), "what": "trip", "severity": "hard"} for n in range(2)]
    assert labels_of(with_events(steady, *twice)) == ["2 × trip"]
    many = [{"date": day(-26000 + 1250 * n), "what": "speed change"} for n in range(20)]
    crowd = with_events(steady, *many)
    assert len(flags_of(crowd)) == 20
    assert 3 <= len(labels_of(crowd)) < 20


def test_an_event_of_unknown_date_or_without_hours_is_left_to_the_list(steady):
    undated = with_events(steady, {"date": pd.NaT, "what": "trip"})
    assert flags_of(undated) == []
    assert len(events_until(undated)) == 1
    bare = with_events(bare_trend(), {"date": day(-100), "what": "trip"})
    assert flags_of(bare, "hours") == []
