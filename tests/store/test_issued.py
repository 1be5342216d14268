"""Issued plans as they are kept: packed, numbered, whole, never changed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.errors import StoreProblem
from trendwear.store.database import reader, writer
from trendwear.store.issued import add_plan, kept_plans, kept_tables
from trendwear.store.packed import pack, unpack

COLUMNS = {"name": "text", "day": "date", "share": "number", "due": "flag", "row": "count"}

HEAD = {
    "name": "Spring",
    "as_of": dt.date(2026, 11, 1),
    "issued_by": None,
    "method_version": 1,
    "program_version": "0.1.0",
    "details": "{}",
}


def _frame() -> pd.DataFrame:
    day = pd.Timestamp("2026-11-01 13:45:00.000001")
    return tables.conform(
        pd.DataFrame(
            {
                "name": ['ring ½ "a"', None, "", 'ring ½ "a"'],
                "day": [day, pd.NaT, pd.Timestamp("1700-01-01"), day],
                "share": [0.1 + 0.2, np.nan, -np.inf, 5e-324],
                "due": [True, False, True, False],
                "row": [2**53 + 1, 0, -1, 7],
            }
        ),
        COLUMNS,
    )


def test_a_frame_comes_back_to_the_last_bit() -> None:
    frame = _frame()
    pd.testing.assert_frame_equal(unpack(pack(frame, COLUMNS), COLUMNS), frame, check_exact=True)
    empty = tables.empty(COLUMNS)
    back = unpack(pack(empty, COLUMNS), COLUMNS)
    assert len(back) == 0
    tables.check(back, COLUMNS)


def test_a_column_of_a_later_version_is_empty() -> None:
    content = pack(_frame(), COLUMNS)
    back = unpack(content, {**COLUMNS, "since": "date", "cost": "number"})
    assert back["since"].isna().all()
    assert back["cost"].isna().all()


def test_issues_are_numbered_by_name_and_share_what_is_the_same(store: Path) -> None:
    for name, share in (("Spring", b"one"), ("spring ", b"two"), ("Autumn", b"one")):
        with writer(store) as connection:
            add_plan(connection, {**HEAD, "name": name}, {"overhaul": share, "same": b"same"})
    with reader(store) as connection:
        plans = kept_plans(connection)
        assert [(plan.name, plan.number) for plan in plans] == [
            ("Autumn", 1),
            ("Spring", 1),
            ("spring ", 2),
        ]
        first, second = kept_plans(connection, "SPRING")
        assert kept_tables(connection, first.issue) == {"overhaul": b"one", "same": b"same"}
        assert kept_tables(connection, second.issue)["overhaul"] == b"two"
        assert first.as_of == dt.date(2026, 11, 1)
        [(kept,)] = connection.execute("select count(*) from issued_content").fetchall()
        assert kept == 3


def test_an_issue_that_fails_leaves_nothing(store: Path) -> None:
    def fail() -> None:
        with writer(store) as connection:
            add_plan(connection, HEAD, {"overhaul": b"one"})
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    with reader(store) as connection:
        assert kept_plans(connection) == []


def test_a_changed_table_is_not_handed_on(store: Path) -> None:
    with writer(store) as connection:
        issue = add_plan(connection, HEAD, {"overhaul": b"one"}).issue
    with writer(store) as connection:
        connection.execute("update issued_content set content = 'two'::blob")
    with reader(store) as connection, pytest.raises(StoreProblem, match="table overhaul"):
        kept_tables(connection, issue)
