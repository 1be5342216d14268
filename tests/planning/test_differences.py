"""Rows new, gone and changed between two states; and a register that lost a machine."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from trendwear import tables
from trendwear.planning.accepted import Accepted
from trendwear.planning.differences import CHANGED, GONE, NEW, differences
from trendwear.planning.issued_tables import INPUTS, inputs_of, site_from
from trendwear.planning.news import news_of
from trendwear.planning.steps import MOST_APART, Group, State, accepted_since, steps_between
from trendwear.planning_tables import RISKS

COLUMNS = {"machine": "text", "date": "date", "hours": "number", "by": "text", "row": "count"}
KEY = ("machine", "date")
DAY = dt.date(2020, 1, 1)


def _rows(*rows: tuple[object, ...]) -> pd.DataFrame:
    return tables.conform(pd.DataFrame(list(rows), columns=list(COLUMNS)), COLUMNS)


def test_rows_are_told_by_their_keys() -> None:
    day = pd.Timestamp("2020-05-01")
    was = _rows(("A-1", day, 1.0, None, 1), ("B", day, 2.0, "x", 2), ("C", pd.NaT, 3.0, "x", 3))
    now = _rows(
        ("a 1", day, np.nan, None, 9),  # a spelling is no change, nor is the row it came from
        ("D", day, 4.0, None, 4),
        ("C", pd.NaT, 3.0, "x", 5),
    )
    found = differences(was, now, KEY, COLUMNS)
    assert [(one.kind, one.row["machine"]) for one in found] == [
        (NEW, "D"),
        (CHANGED, "a 1"),
        (GONE, "B"),
    ]
    [(name, (before, after))] = found[1].cells.items()
    assert (name, before) == ("hours", 1.0)
    assert np.isnan(after)


def test_a_second_row_of_one_key_is_new() -> None:
    day = pd.Timestamp("2020-05-01")
    one = _rows(("A", day, 1.0, None, 1))
    two = _rows(("A", day, 1.0, None, 1), ("A", day, 2.0, None, 2))
    assert [found.kind for found in differences(one, two, KEY, COLUMNS)] == [NEW]
    assert differences(two, two, KEY, COLUMNS) == []


def _readings(count: int, machines: int = 1) -> pd.DataFrame:
    rows = pd.DataFrame(
        {
            "reading": range(1, count + 1),
            "machine": [f"M-{number % machines}" for number in range(count)],
            "clearance": [f"c{number}" for number in range(count)],
            "date": pd.Timestamp("2019-01-01"),
            "state": "as-found",
            "value_mm": 0.3,
            "at_least": False,
            "unit": "mm",
            "written": "0.300",
            "excluded": False,
            "row": 1,
        }
    )
    return tables.conform(rows, tables.READINGS)


def _state(**frames: pd.DataFrame) -> State:
    whole = {name: tables.empty(columns) for name, columns in INPUTS.items()} | frames
    return State(site_from(whole), DAY, Accepted(by_consequence={"damage": 0.1}))


@pytest.mark.parametrize(
    ("count", "machines", "steps"),
    [(MOST_APART, 1, MOST_APART), (MOST_APART + 1, 3, 3), (MOST_APART + 1, MOST_APART + 1, 1)],
)
def test_readings_are_taken_apart_as_far_as_they_are_few(
    count: int, machines: int, steps: int
) -> None:
    now = _state(readings=_readings(count, machines))
    found = [step for step in steps_between(_state(), now) if step.group is Group.READINGS]
    assert len(found) == steps
    assert sum(len(step.news) for step in found) == count
    pd.testing.assert_frame_equal(found[-1].state.site.record.readings, now.site.record.readings)


def test_a_filled_basis_goes_with_the_register_a_new_value_with_corrections() -> None:
    was = _readings(2)
    later = was.assign(basis=["diametral", None], value_mm=[0.3, 0.4], written=["0.300", "0.4"])
    now = tables.conform(later, tables.READINGS)
    steps = list(steps_between(_state(readings=was), _state(readings=now)))
    assert [step.group for step in steps] == [Group.RECKONING, Group.REGISTER, Group.CORRECTIONS]
    assert steps[1].news["what"].tolist() == ["c0, as-found 2019-01-01: basis filled in or changed"]
    assert steps[1].state.site.record.readings["basis"].tolist() == ["diametral", None]
    assert steps[1].state.site.record.readings["value_mm"].tolist() == [0.3, 0.3]
    assert steps[2].news["what"].tolist() == ["c1, as-found 2019-01-01: 0.300 mm is now 0.4 mm"]
    last = inputs_of(steps[2].state.site)["readings"]
    pd.testing.assert_frame_equal(last, now)


def test_a_register_that_lost_rows() -> None:
    machines = tables.conform(pd.DataFrame({"machine": ["A", "B"]}), tables.MACHINES)
    register = tables.conform(
        pd.DataFrame({"machine": ["A"], "clearance": ["a"], "unit": "mm", "limiting": True}),
        tables.CLEARANCES,
    )
    was, now = _state(machines=machines, register=register), _state(machines=machines[:1])
    [_, step] = steps_between(was, now)
    assert step.group is Group.REGISTER
    assert step.news["what"].tolist() == ["machine B is gone", "a: no longer in the register"]


def test_readings_that_are_gone_are_said() -> None:
    was, now = _state(readings=_readings(2)), _state(readings=_readings(1))
    [_, step] = steps_between(was, now)
    assert step.group is Group.CORRECTIONS
    told = "c1 read 0.300 mm, as-found 2019-01-01, is no longer in the store"
    assert step.news["what"].tolist() == [told]
    assert len(step.state.site.record.readings) == 1


def test_limits_are_told_in_their_own_unit() -> None:
    rows = {"machine": ["A"], "clearance": ["a"], "unit": "in", "limiting": True}
    was, now = (
        tables.conform(pd.DataFrame({**rows, "limit_mm": limit}), tables.CLEARANCES)
        for limit in (0.2286, 0.254)
    )
    news = news_of("register", {"register": was}, {"register": now})
    assert news["what"].tolist() == ["a: limit 0.009 in -> 0.01 in"]


def test_which_risks_a_plan_is_held_against() -> None:
    sheet = tables.conform(pd.DataFrame({"consequence": ["damage"], "accepted": [0.05]}), RISKS)
    by_sheet, given = Accepted(by_consequence={"damage": 0.1}), Accepted(for_all=0.2)
    assert accepted_since(by_sheet, sheet) == Accepted(by_consequence={"damage": 0.05})
    assert accepted_since(given, sheet) is given
    assert accepted_since(by_sheet, tables.empty(RISKS)) is by_sheet
