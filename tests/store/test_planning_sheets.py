"""Outages, due dates, accepted risks and parts as they come out of the store."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from trendwear import tables
from trendwear.planning_tables import DUE_DATES, OUTAGES, PARTS, RISKS
from trendwear.readings.loaded import LoadReport


def test_what_was_brought_in_comes_out(
    take: Callable[..., LoadReport], stored: Callable[[str], pd.DataFrame]
) -> None:
    report = take(
        machines="machine\nT-1",
        outages=(
            "outage,start,end,freeze,machines\n"
            "later,2028-01-01,2028-02-01,,2\n"
            "sooner,2027-01-01,2027-02-01,2026-09-01,"
        ),
        due_dates="machine,what,due,tolerance_days\nt 1,inspection,2028-04-25,30",
        risks="consequence,accepted,by\nleak,0.2,engineer",
        parts="part_no,lead_time_days,in_stock\nR-1,75,2",
    )
    assert report.clean, report.faults.to_string()
    told = stored("planning_sheets")
    frames = [(told.outages, OUTAGES), (told.due_dates, DUE_DATES)]
    for frame, columns in [*frames, (told.risks, RISKS), (told.parts, PARTS)]:
        tables.check(frame, columns)
    assert told.outages["outage"].tolist() == ["sooner", "later"]
    assert told.outages["freeze"].isna().tolist() == [False, True]
    assert told.due_dates["machine"].tolist() == ["T-1"]
    assert told.risks["accepted"].tolist() == [0.2]
    assert told.parts["in_stock"].tolist() == [2.0]


def test_a_window_without_end_and_a_risk_of_10_are_refused(
    take: Callable[..., LoadReport], stored: Callable[[str], pd.DataFrame]
) -> None:
    report = take(
        outages="outage,start,end\nendless,2027-01-01,\nbackwards,2027-02-01,2027-01-01",
        risks="consequence,accepted\nleak,10",
    )
    assert report.faults["column"].tolist() == ["end", "end", "accepted"]
    told = stored("planning_sheets")
    assert told.outages.empty
    assert told.risks.empty
