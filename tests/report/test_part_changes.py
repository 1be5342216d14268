"""A change of part stands beside the work on the trend; the same part again does not."""

from __future__ import annotations

import pandas as pd

from trendwear import tables
from trendwear.report.trend.part_changes import actions_told


def work(*rows: dict[str, object]) -> pd.DataFrame:
    frame = pd.DataFrame(rows)
    frame["hours"] = [1000.0 * number for number in range(len(rows))]
    return tables.conform(frame, tables.TREND_WORK)


def test_another_supplier_or_number_is_named() -> None:
    told = actions_told(
        work(
            {"action": "renewed", "part_no": "P-1", "supplier": "A"},
            {"action": "renewed", "part_no": "p 1", "supplier": "B"},
            {"action": "dressed"},
            {"action": "renewed", "part_no": "P-2"},
            {"action": "renewed", "part_no": "P-2", "supplier": "B"},
        )
    )
    assert told.tolist() == [
        "renewed",
        "renewed, now from B",
        "dressed",
        "renewed, now P-2",
        "renewed",
    ]


def test_the_partner_s_number_is_not_the_part_s() -> None:
    told = actions_told(
        work(
            {"action": "renewed", "part_no": "RING"},
            {"action": "partner renewed", "part_no": "SLEEVE"},
            {"action": "renewed", "part_no": "RING"},
            {"action": "exchanged", "part_no": "SLEEVE-2"},
        )
    )
    assert told.tolist() == ["renewed", "partner renewed", "renewed", "exchanged, now SLEEVE-2"]


def test_the_order_of_the_rows_does_not_matter() -> None:
    rows = work(
        {"action": "renewed", "supplier": "A"},
        {"action": "renewed", "supplier": "B"},
    )
    assert actions_told(rows.iloc[::-1]).tolist() == ["renewed, now from B", "renewed"]
