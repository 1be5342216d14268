"""An issued plan held against now: every date's move, step by step, and what did it."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from pathlib import Path

import duckdb
import pandas as pd
import pytest
from issued_plants import AS_OF, LATER, NEW_READING, PLANT, SINCE, Rows, load

import trendwear
from trendwear import issued_plans, plan_comparison
from trendwear.errors import UsageProblem
from trendwear.forecasting.site import SiteRecord
from trendwear.outlook import read_site
from trendwear.plan_comparison import moved_since
from trendwear.planning.issued_tables import INPUTS, inputs_of
from trendwear.planning.plan import only_machines
from trendwear.planning.steps import Group
from trendwear.planning_tables import PlanningSheets
from trendwear.report.issued.words import head_words, reason_lines
from trendwear.segments.chronicle import Record

DAY, LATER_DAY = dt.date.fromisoformat(AS_OF), dt.date.fromisoformat(LATER)
SIGNED = trendwear.Signed("engineer", "gauge zero was off")
AMENDED = trendwear.ReadingKey("M-1", "inner ring", "2014-01-01", "as-found")


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the plant."""
    return load(PLANT, tmp_path_factory.mktemp("plant") / "plant.duckdb")


@pytest.fixture(scope="module")
def issued_once(plant: Path) -> Path:
    """The same, its plan issued as *Spring*."""
    store = Path(shutil.copy(plant, plant.with_name("issued.duckdb")))
    trendwear.issue_plan(store, "Spring", as_of=DAY, by="planner")
    return store


@pytest.fixture
def issued(issued_once: Path, tmp_path: Path) -> Path:
    """A store of one's own to go on with."""
    return Path(shutil.copy(issued_once, tmp_path / "plant.duckdb"))


@pytest.fixture
def fresh(plant: Path, tmp_path: Path) -> Callable[..., pd.DataFrame]:
    """The overhaul table of the plant with other sheets loaded, no plan ever issued."""

    def plan(as_of: dt.date, *since: Mapping[str, Rows]) -> pd.DataFrame:
        store = Path(shutil.copy(plant, tmp_path / "fresh.duckdb"))
        for sheets in since:
            load(sheets, store)
        return trendwear.plan(store, as_of=as_of).set_index("machine")

    return plan


def test_nothing_moves_where_nothing_changed(issued: Path) -> None:
    moved = moved_since(issued, "spring", as_of=DAY)
    assert [step.group for step in moved.steps] == [Group.RECKONING]
    assert (moved.table["days"] == 0).all()
    assert moved.scope.empty
    assert [line for name in ("M-1", "M-2") for line in reason_lines(moved, name)] == []


@pytest.mark.parametrize("group", list(SINCE))
def test_one_group_alone_makes_the_whole_move(
    issued: Path, fresh: Callable[..., pd.DataFrame], group: str
) -> None:
    """Against two plans made without any comparison, one on each state of the store."""
    as_of = LATER_DAY if group == "new readings" else DAY
    load(SINCE[group], issued)
    moved = moved_since(issued, "Spring", as_of=as_of)
    then, now = fresh(as_of), fresh(as_of, SINCE[group])
    step = moved.moves[moved.moves["group"] == group].set_index("machine")
    assert step.index.tolist() == ["M-1", "M-2"]
    for name in ("latest_date", "order_by"):
        pd.testing.assert_series_equal(step[f"{name}_issued"], then[name], check_names=False)
        pd.testing.assert_series_equal(step[f"{name}_now"], now[name], check_names=False)
    assert (step["days"] != 0).any() or (step["order_days"] != 0).any()


def test_the_passing_of_time_alone(issued: Path, fresh: Callable[..., pd.DataFrame]) -> None:
    moved = moved_since(issued, "Spring", as_of=LATER_DAY)
    assert [step.group for step in moved.steps] == [Group.RECKONING, Group.TIME]
    now = fresh(LATER_DAY)["latest_date"]
    assert (moved.table.set_index("machine")["latest_date_now"] == now).all()


def test_the_steps_add_up_to_the_whole(issued: Path) -> None:
    for sheets in SINCE.values():
        load(sheets, issued)
    trendwear.amend(issued, AMENDED, "0.31", SIGNED)
    moved = moved_since(issued, "Spring", as_of=LATER_DAY)
    groups = [step.group for step in moved.steps]
    assert groups == sorted(groups, key=list(Group).index)
    assert {group.value for group in groups} >= {*SINCE, "corrections", "the passing of time"}
    whole = moved.table.set_index("machine")
    for days in ("days", "order_days"):
        summed = moved.moves.groupby("machine", sort=False)[days].sum()
        assert summed.tolist() == whole[days].tolist()
    assert (moved.moves.groupby("machine")["days"].apply(lambda days: (days != 0).sum()) > 2).all()
    now = trendwear.plan(issued, as_of=LATER_DAY)
    pd.testing.assert_frame_equal(moved.now.overhaul, now)


def test_the_reading_that_moved_the_date_is_named(issued: Path) -> None:
    beside = {"machine": "M-2", "clearance": "ring", "date": "2015-01-13", "state": "as-found"}
    load({"readings": [NEW_READING, {**beside, "run_hours": 39900, "value": 0.45}]}, issued)
    moved = moved_since(issued, "Spring", as_of=LATER_DAY)
    readings = [step for step in moved.steps if step.group is Group.READINGS]
    assert len(readings) == 2  # one clearance after another
    inner = "new reading: inner ring read .0145 in, as-found 2015-01-12"
    assert [line.partition(" days: ")[2] for line in reason_lines(moved, "M-1")] == [
        "the passing of time",
        inner,
    ]
    assert not any("inner" in line for line in reason_lines(moved, "M-2"))


def test_a_correction_is_named_and_alone(issued: Path) -> None:
    trendwear.amend(issued, AMENDED, "0.31", SIGNED)
    moved = moved_since(issued, "Spring", as_of=DAY)
    assert [step.group for step in moved.steps] == [Group.RECKONING, Group.CORRECTIONS]
    [line] = reason_lines(moved, "M-1")
    assert line.endswith("corrected: inner ring, as-found 2014-01-01: 0.324 mm is now 0.31 mm")
    trendwear.exclude(issued, AMENDED, SIGNED)
    [line] = reason_lines(moved_since(issued, "Spring", as_of=DAY), "M-1")
    assert "0.31 mm left out (gauge zero was off (engineer))" in line


def test_an_event_and_its_acceptance(issued: Path) -> None:
    event = {"machine": "M-1", "date": "2014-05-01", "what": "oil loss"}
    load({"events": [event]}, issued)
    trendwear.issue_plan(issued, "Spring", as_of=DAY)
    trendwear.accept_event(issued, trendwear.EventKey("M-1", "2014-05-01", "oil"), SIGNED)
    told = {}
    for number in (1, 2):
        moved = moved_since(issued, "Spring", as_of=DAY, number=number)
        told[number] = {step.group: step.news["what"].tolist() for step in moved.steps}
    assert told[1][Group.EVENTS] == ["oil loss 2014-05-01"]
    assert told[2][Group.CORRECTIONS] == ["oil loss 2014-05-01: accepted by engineer"]


def test_readings_that_waited_for_their_day_come_with_time(issued: Path) -> None:
    load({"readings": [NEW_READING]}, issued)
    trendwear.issue_plan(issued, "Summer", as_of=DAY)
    moved = moved_since(issued, "Summer", as_of=LATER_DAY)
    assert [step.group for step in moved.steps] == [Group.RECKONING, Group.TIME]
    assert any(
        "1 reading dated after 2014-07-01 stood in the store" in word for word in head_words(moved)
    )


def test_machines_new_and_spelt_otherwise(issued: Path) -> None:
    clearances = [
        {**PLANT["clearances"][0], "machine": "m 1"},
        {**PLANT["clearances"][0], "machine": "M-3"},
    ]
    machines = [{**PLANT["machines"][0], "machine": "m 1"}, {"machine": "M-3"}]
    load({"machines": machines, "clearances": clearances}, issued)
    moved = moved_since(issued, "Spring", as_of=DAY)
    assert dict(zip(moved.table["machine"], moved.table["standing"], strict=True)) == {
        "m 1": "in both",
        "M-2": "in both",
        "M-3": "new",
    }
    assert moved.respelt == {"M-1": "m 1"}
    assert "m 1 was spelt M-1 then." in head_words(moved)
    assert (moved.table.loc[moved.table["standing"] == "in both", "days"] == 0).all()


def test_a_plan_of_some_machines_is_held_against_those(issued: Path) -> None:
    told = issued_plans.issued_plan(issued, "Spring").frozen
    only = replace(told, plan=only_machines(told.plan, ["m 2"]), machines=("M-2",))
    issued_plans.keep(issued, "Fans", only)
    load({"clearances": [{**PLANT["clearances"][0], "machine": "M-3"}]}, issued)
    moved = moved_since(issued, "Fans", as_of=DAY)
    assert moved.table["machine"].tolist() == ["M-2"]
    assert set(moved.moves["machine"]) == {"M-2"}


def test_another_method_is_said_not_hidden(issued: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_comparison, "MODEL_VERSION", 999)
    words = " ".join(head_words(moved_since(issued, "Spring", as_of=DAY)))
    assert "999 now" in words
    assert "cannot be taken apart further" in words


def test_a_day_before_the_plan_is_refused(issued: Path) -> None:
    with pytest.raises(UsageProblem, match="issued as of 2014-07-01"):
        trendwear.compare(issued, "Spring", as_of=dt.date(2014, 6, 30))


def test_a_table_that_there_was_not_yet_is_empty(issued: Path) -> None:
    """A plan that was issued before the sheet of concessions was known."""
    with duckdb.connect(str(issued)) as connection:
        connection.execute("delete from issued_table where name in ('concessions', 'plan looks')")
    told = issued_plans.issued_plan(issued, "Spring")
    assert told.frozen.site.planning.concessions.empty
    assert (moved_since(issued, "Spring", as_of=DAY).table["days"] == 0).all()


def test_python_gives_the_table_of_the_file(issued: Path) -> None:
    load(SINCE["new readings"], issued)
    table = trendwear.compare(issued, "Spring", as_of=LATER_DAY).set_index("machine")
    assert table.at["M-1", "days"] < -30
    assert ".0145 in" in table.at["M-1", "moved_by"]


def test_every_input_is_frozen_and_taken_over(issued: Path) -> None:
    """A sheet that plans come to rest on must be kept with them, and have a step."""
    named = [f.name for part in (SiteRecord, Record, PlanningSheets) for f in fields(part)]
    assert set(INPUTS) == set(named) - {"record", "planning"}
    load({name: rows for sheets in SINCE.values() for name, rows in sheets.items()}, issued)
    moved = moved_since(issued, "Spring", as_of=LATER_DAY)
    last = inputs_of(moved.steps[-1].state.site)
    for name, frame in inputs_of(read_site(issued)).items():
        pd.testing.assert_frame_equal(last[name], frame, obj=name)
