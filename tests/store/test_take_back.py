"""A whole load taken back, and put in again: nothing is lost, and what rests on it is named."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from trendwear import outlook
from trendwear.errors import NotOneRow, StoreMissing, UnknownName, UsageProblem
from trendwear.readings.loaded import LoadReport
from trendwear.store import history
from trendwear.store.corrections import amend
from trendwear.store.database import reader
from trendwear.store.intake import Loading, TakenBackFiles, load, preview
from trendwear.store.loads import loads
from trendwear.store.put_again import preview_undo_take_back, undo_take_back
from trendwear.store.queries import query
from trendwear.store.shelves import FACTS, REGISTERS, shelf
from trendwear.store.signed import Signed
from trendwear.store.take_back import preview_take_back, take_back
from trendwear.store.which_row import ReadingKey

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

HEAD = "machine,clearance,kind,basis,moves,unit,limit,part_no\n"
REGISTER = HEAD + "K-1,de,sleeve bearing,diametral,opens,mil,12,P-1"
READINGS_HEAD = "machine,clearance,date,run_hours,state,value,by\n"
FIRST = {
    "clearances": REGISTER,
    "readings": READINGS_HEAD
    + "K-1,de,2010-05-01,0,as-left,6.0,\nK-1,de,2014-05-01,30000,as-found,7.5,\n"
    + "K-1,nde,2014-05-01,30000,as-found,7.0,",
    "run_log": "machine,date,run_hours\nK-1,2010-05-01,0\nK-1,2018-05-01,60000",
    "work": "machine,clearance,date,action,part_no\nK-1,*,2010-05-01,renewed,",
    "events": "machine,date,what,severity\nK-1,2012-01-01,trip,",
    "parts": "part_no,lead_time_days\nP-1,90",
}
SECOND = {
    "clearances": REGISTER.replace(",12,", ",14,")
    + "\nK-1,nde,sleeve bearing,diametral,opens,mil,14,",
    "readings": READINGS_HEAD
    + "K-1,de,2014-05-01,30000,as-found,7.5,M. Fitter\n"
    + "K-1,de,2018-05-01,60000,as-found,9.1,M. Fitter",
    "run_log": "machine,date,run_hours,starts\nK-1,2018-05-01,60000,412\nK-1,2019-05-01,68000,430",
    "work": "machine,clearance,date,action,part_no\nK-1,*,2010-05-01,renewed,P-1",
    "events": "machine,date,what,severity\nK-1,2012-01-01,trip,high\nK-1,2017-01-01,oil loss,",
    "parts": "part_no,lead_time_days\nP-1,120\nP-2,30",
    "duty_plan": "machine,from,hours_per_day\nK-1,2019-06-01,20",
    "outages": "outage,start,end\nsummer,2020-06-01,2020-06-10",
}
ME = Signed("J. Planner", "the file of another mill")
BACK = Signed("E. Head", "it was the right one")
FRAMES = ("machines", "clearances", "readings", "work", "events", "run_log", "duty_plan")
EVERY_ROW = "select * from query_table($name) order by all"
TABLES = (*FACTS, *REGISTERS, "waiting")


def as_used(store: Path) -> dict[str, pd.DataFrame]:
    """All that is read back out of a store, the numbers of its rows left out."""
    with reader(store) as connection:
        frames = {name: getattr(history, name)(connection) for name in FRAMES}
        sheets = history.planning_sheets(connection)
        waiting = connection.execute("select kept_in, content, lacks from waiting").df()
    frames |= {name: getattr(sheets, name) for name in ("outages", "parts", "due_dates")}
    return {**frames, "waiting": waiting}


def as_kept(store: Path) -> dict[str, pd.DataFrame]:
    """Every table that a load writes, bit for bit."""
    with reader(store) as connection:
        return {
            name: connection.execute(EVERY_ROW, {"name": name}).df()
            for name in (*TABLES, "filled", "refused")
        }


def assert_same(one: dict[str, pd.DataFrame], other: dict[str, pd.DataFrame]) -> None:
    assert list(one) == list(other)
    for name, frame in one.items():
        pd.testing.assert_frame_equal(frame, other[name], obj=name)


@pytest.fixture
def two(take: Take, store: Path) -> Path:
    """A store with two loads; the second touches all that a load can touch."""
    take("one", **FIRST)
    take("two", **SECOND)
    return store


class TestTheLastLoad:
    """Taking the last load back is as if it had never been made."""

    def test_the_store_is_as_before(self, take: Take, store: Path) -> None:
        take("one", **FIRST)
        before = as_used(store)
        assert len(before["waiting"]) == 1
        take("two", **SECOND)
        after = as_used(store)
        for name in ("clearances", "readings", "run_log", "events", "parts", "waiting"):
            assert not after[name].equals(before[name]), name
        take_back(store, 2, ME)
        assert_same(as_used(store), before)

    def test_the_forecast_is_as_before(self, take: Take, store: Path) -> None:
        take("one", **FIRST)
        day = dt.date(2019, 6, 1)
        before = outlook.forecast(store, as_of=day)
        take("two", **SECOND)
        assert not outlook.forecast(store, as_of=day).equals(before)
        take_back(store, 2, ME)
        pd.testing.assert_frame_equal(outlook.forecast(store, as_of=day), before)

    def test_put_in_again_all_is_bit_for_bit_as_it_was(self, two: Path) -> None:
        before, used = as_kept(two), as_used(two)
        take_back(two, 2, ME)
        undo_take_back(two, 2, BACK)
        assert_same(as_kept(two), before)
        assert_same(as_used(two), used)

    def test_again_and_again(self, two: Path) -> None:
        before = as_kept(two)
        for load_number in (2, 1):
            take_back(two, load_number, ME)
        assert all(frame.empty for frame in as_used(two).values())
        for load_number in (1, 2):
            undo_take_back(two, load_number, BACK)
        assert_same(as_kept(two), before)

    def test_numbers_are_not_given_twice(self, two: Path, take: Take) -> None:
        with reader(two) as connection:
            [(last,)] = connection.execute("select max(entry) from readings").fetchall()
        take_back(two, 2, ME)
        take("three", readings=READINGS_HEAD + "K-1,de,2020-05-01,70000,as-found,9.9,")
        with reader(two) as connection:
            rows = connection.execute("select max(entry) from readings").fetchall()
        assert rows == [(last + 1,)]

    def test_it_says_what_changed(self, two: Path) -> None:
        told = take_back(two, 2, ME)
        assert told.lines[0].startswith("load 2 of ")
        assert "2 rows of clearances no longer count; of 1 the version before holds again" in (
            told.lines
        )
        assert "1 blank of readings that it filled is blank again" in told.lines
        assert "1 row of other loads waits for the register again" in told.lines

    def test_a_correction_of_its_rows_comes_back_with_them(self, two: Path) -> None:
        amend(two, ReadingKey("K-1", "de", "2018-05-01", "as-found"), "9.4", ME)
        before = as_used(two)
        told = take_back(two, 2, ME)
        assert any("1 of them bear a correction" in line for line in told.lines)
        undo_take_back(two, 2, BACK)
        assert_same(as_used(two), before)


class TestDryRun:
    """What would change is shown, and nothing is stored."""

    def test_both_ways(self, two: Path) -> None:
        before = as_kept(two)
        tried = preview_take_back(two, 2, ME)
        assert tried.tried
        assert_same(as_kept(two), before)
        assert take_back(two, 2, ME).lines == tried.lines
        gone = as_kept(two)
        back = preview_undo_take_back(two, 2, BACK)
        assert back.tried
        assert back.undone
        assert_same(as_kept(two), gone)
        assert undo_take_back(two, 2, BACK).lines == back.lines


class TestWhatRestsOnIt:
    """A load that others rest on is refused, and they are named."""

    def test_register_rows_replaced_since(self, two: Path) -> None:
        before = as_kept(two)
        with pytest.raises(NotOneRow, match=r"load 2 rests on it: .* of (parts|clearances) took"):
            take_back(two, 1, ME)
        assert_same(as_kept(two), before)

    def test_readings_at_a_position_only_it_names(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        take("two", readings=READINGS_HEAD + "K-1,de,2014-05-01,30000,as-found,7.5,")
        take("three", readings=READINGS_HEAD + "K-1,de,2015-05-01,38000,as-found,7.6,")
        with pytest.raises(NotOneRow, match=r"loads 2, 3 rest on it: 2 rows .* K-1 / de") as told:
            take_back(store, 1, ME)
        assert "Take loads 2, 3 back first" in str(told.value)

    def test_readings_whose_unit_was_its_register_row(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        take("two", clearances=REGISTER.replace("mil,12", "mm,0.3"))
        take("three", readings=READINGS_HEAD + "K-1,de,2014-05-01,30000,as-found,0.18,")
        with pytest.raises(NotOneRow, match=r"load 3 rests on it: .* took the unit"):
            take_back(store, 2, ME)

    def test_blanks_of_its_rows_filled_since(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        row = "K-1,de,2014-05-01,30000,as-found,7.5,"
        take("two", readings=READINGS_HEAD + row)
        take("three", readings=READINGS_HEAD + row + "M")
        with pytest.raises(NotOneRow, match="load 3 rests on it: blanks of 1 row of readings"):
            take_back(store, 2, ME)
        take_back(store, 3, ME)
        take_back(store, 2, ME)
        with pytest.raises(NotOneRow, match="load 2, taken back, brought rows of readings whose"):
            undo_take_back(store, 3, ME)

    def test_undo_where_the_rows_came_in_again(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        rows = READINGS_HEAD + "K-1,de,2014-05-01,30000,as-found,7.5,"
        take("two", readings=rows)
        take_back(store, 2, ME)
        take("three", readings=rows.replace("7.5", "7.8"))
        with pytest.raises(NotOneRow, match="1 row of readings came in again with load 3"):
            undo_take_back(store, 2, BACK)

    def test_undo_where_the_register_went_on(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        take("two", clearances=REGISTER.replace(",12,", ",14,"))
        take_back(store, 2, ME)
        take("three", clearances=REGISTER.replace(",12,", ",15,"))
        with pytest.raises(NotOneRow, match="1 row of clearances of load 3 stand"):
            undo_take_back(store, 2, BACK)

    def test_undo_upon_a_version_that_is_gone(self, take: Take, store: Path) -> None:
        for place, limit in (("one", 12), ("two", 13), ("three", 14)):
            take(place, clearances=REGISTER.replace(",12,", f",{limit},"))
        take_back(store, 3, ME)
        take_back(store, 2, ME)
        with pytest.raises(NotOneRow, match=r"load 2, taken back, .* Put load 2 in again first"):
            undo_take_back(store, 3, BACK)
        undo_take_back(store, 2, BACK)
        undo_take_back(store, 3, BACK)

    def test_undo_of_readings_without_their_register(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        take("two", readings=READINGS_HEAD + "K-1,de,2014-05-01,30000,as-found,7.5,")
        take_back(store, 2, ME)
        take_back(store, 1, ME)
        with pytest.raises(NotOneRow, match="K-1 / de, which the register does not name now"):
            undo_take_back(store, 2, BACK)


class TestWhatWaited:
    """Rows that wait belong to the load that brought them, whoever settles them."""

    LATE = REGISTER.replace(",de,", ",nde,")

    def test_the_load_of_the_rows_is_taken_back(self, take: Take, store: Path) -> None:
        take("one", **FIRST)
        take("two", clearances=self.LATE)
        assert len(as_used(store)["readings"]) == 3
        take_back(store, 1, ME)
        assert as_used(store)["readings"].empty
        before = as_kept(store)
        undo_take_back(store, 1, BACK)
        assert len(as_used(store)["readings"]) == 3
        take_back(store, 1, ME)
        assert_same(as_kept(store), before)

    @pytest.mark.parametrize("out", [(1, 2), (2, 1)])
    @pytest.mark.parametrize("again", [(1, 2), (2, 1)])
    def test_in_any_order(
        self, take: Take, store: Path, out: tuple[int, ...], again: tuple[int, ...]
    ) -> None:
        take("one", readings=READINGS_HEAD + "K-1,nde,2014-05-01,30000,as-found,7.0,")
        waits = as_used(store)
        take("two", clearances=self.LATE)
        both = as_kept(store)
        for load_number in out:
            take_back(store, load_number, ME)
        assert all(frame.empty for frame in as_used(store).values())
        undo_take_back(store, again[0], BACK)
        if again[0] == 1:
            assert_same(as_used(store), waits)
        else:
            assert as_used(store)["clearances"]["clearance"].tolist() == ["nde"]
            assert as_used(store)["readings"].empty
            assert as_used(store)["waiting"].empty
        undo_take_back(store, again[1], BACK)
        assert_same(as_kept(store), both)

    def test_both_are_taken_back_and_the_register_returns(self, take: Take, store: Path) -> None:
        take("one", readings=READINGS_HEAD + "K-1,nde,2014-05-01,30000,as-found,7.0,")
        take("two", clearances=self.LATE)
        take_back(store, 2, ME)
        take_back(store, 1, ME)
        undo_take_back(store, 2, BACK)
        used = as_used(store)
        assert used["readings"].empty
        assert len(used["clearances"]) == 1


class TestTheSameFileAgain:
    """A file that was taken back says so when it comes in again."""

    def test_it_stays_out_and_says_so(self, two: Path, tmp_path: Path) -> None:
        take_back(two, 2, ME)
        before = as_used(two)
        report = load(sorted((tmp_path / "two").iterdir()), store=two)
        assert not report.changed
        assert "J. Planner took them back with load 2" in report.notes[0]
        assert "the file of another mill" in report.notes[0]
        assert "trendwear take-back 2 --undo" in report.notes[0]
        assert_same(as_used(two), before)

    def test_it_comes_in_where_that_is_asked_for(self, two: Path, tmp_path: Path) -> None:
        used = as_used(two)
        take_back(two, 2, ME)
        files = sorted((tmp_path / "two").iterdir())
        tried = preview(files, store=two, how=Loading(TakenBackFiles.COME_IN))
        report = load(files, store=two, how=Loading(TakenBackFiles.COME_IN))
        assert tried.notes == report.notes
        assert any("come in again with this load" in note for note in report.notes)
        again = as_used(two)
        for name in ("clearances", "run_log", "parts", "duty_plan"):
            pd.testing.assert_frame_equal(again[name], used[name])
        assert sorted(again["readings"]["written"]) == sorted(used["readings"]["written"])
        with pytest.raises(NotOneRow, match="load 3"):
            undo_take_back(two, 2, BACK)

    def test_a_mended_file_comes_in(self, two: Path, take: Take) -> None:
        take_back(two, 2, ME)
        report = take("two", **{**SECOND, "readings": SECOND["readings"].replace("9.1", "8.1")})
        assert report.count_of("readings").added == 1
        assert as_used(two)["readings"]["written"].tolist() == ["6.0", "7.5", "8.1"]

    def test_its_refused_rows_are_not_told_again(self, take: Take, store: Path) -> None:
        take("one", clearances=REGISTER)
        sheet = READINGS_HEAD + "K-1,de,2014-05-01,30000,as-found,7.5,\nK-1,de,2015,1,as-found,x,"
        assert not take("two", readings=sheet).clean
        take_back(store, 2, ME)
        assert take("two", readings=sheet).clean


class TestWords:
    """What cannot be done is said plainly."""

    def test_an_unknown_load(self, two: Path) -> None:
        with pytest.raises(UnknownName, match=r"load 7: .* It has 1, 2"):
            take_back(two, 7, ME)

    def test_twice_and_never(self, two: Path) -> None:
        with pytest.raises(NotOneRow, match="it is not taken back"):
            undo_take_back(two, 2, BACK)
        take_back(two, 2, ME)
        with pytest.raises(NotOneRow, match=r"J\. Planner took it back .* another mill"):
            take_back(two, 2, BACK)

    def test_nobody_and_nowhere(self, two: Path, tmp_path: Path) -> None:
        with pytest.raises(UsageProblem, match="--why"):
            take_back(two, 2, Signed("J", " "))
        with pytest.raises(StoreMissing):
            take_back(tmp_path / "no.duckdb", 2, ME)
        with pytest.raises(StoreMissing):
            preview_take_back(tmp_path / "no.duckdb", 2, ME)
        assert not (tmp_path / "no.duckdb").exists()


def test_the_list_of_loads(two: Path) -> None:
    take_back(two, 2, ME)
    undo_take_back(two, 2, BACK)
    take_back(two, 2, Signed("Z", "no, it was not"))
    with reader(two) as connection:
        told = loads(connection)
    assert told["load"].tolist() == [1, 2, 2]
    assert "clearances.csv" in told.loc[0, "files"]
    assert "1 clearances" in told.loc[0, "rows"]
    assert "1 what waits" in told.loc[0, "rows"]
    assert "2 readings" in told.loc[1, "rows"]
    assert told["rows_now"].tolist()[1:] == [0, 0]
    assert told.loc[0, "rows_now"] == 8
    assert told["taken_back_by"].tolist()[1:] == ["J. Planner", "Z"]
    assert told["undone_why"].tolist()[1] == "it was the right one"
    assert pd.isna(told.loc[2, "undone_at"])


@pytest.mark.parametrize("name", FACTS)
def test_every_blank_that_can_be_filled_can_be_made_blank(name: str) -> None:
    assert query(f"put_aside_{name}").split()[:3] == ["delete", "from", name]
    for column in shelf(name).compared:
        filled = column in query(f"fill_{name}").replace('"', "")
        put = f"{column} = filling.{column}" in query(f"put_{name}").replace('"', "")
        assert put == filled, column


def test_sizes_and_what_is_computed_from_them(take: Take, store: Path) -> None:
    take("one", **FIRST)
    before = as_used(store)
    rows = "machine,clearance,date,state,part,value,unit\n"
    rows += "K-1,de,2016-05-01,as-found,bore,3.0085,in\nK-1,de,2016-05-01,as-found,journal,3,in"
    take("two", dimensions=rows)
    with_sizes = as_used(store)
    take_back(store, 2, ME)
    assert_same(as_used(store), before)
    undo_take_back(store, 2, BACK)
    assert_same(as_used(store), with_sizes)
