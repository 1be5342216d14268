"""Whole loads: twice, filled, in conflict, refused, waiting, all or nothing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from trendwear.readings.loaded import LoadReport
from trendwear.store import one_load
from trendwear.store.database import reader
from trendwear.store.intake import load, preview

REGISTER = """
machine,clearance,kind,basis,moves,unit,limit,design_min,design_max
K-101,brg DE,sleeve bearing,diametral,opens,mil,12,5,7
K-101,thrust,thrust bearing,axial,opens,mm,0.6,0.25,0.35
K-101,nozzle gap,nozzle gap,axial,closes,mm,0.8,1.5,2.0
"""

Take = Callable[..., LoadReport]
Stored = Callable[[str], pd.DataFrame]

READINGS = """
machine,clearance,date,run_hours,state,value,method,note
K-101,brg DE,2010-05-01,1000,as-left,6.0,bore gauge and micrometer,
k 101,BRG-DE,2014-05-01,31000,As Found,7.5,bore gauge and micrometer,lower half
K-101,thrust,2014-05-01,31000,as-found,0.32 mm,,
K-101,nozzle gap,2014-05-01,31000,as-found,1.6,feeler,
"""


def counts(report: LoadReport, sheet: str) -> tuple[int, int, int, int]:
    """Return added, filled, replaced and unchanged rows of a sheet."""
    found = report.count_of(sheet)
    return found.added, found.filled, found.replaced, found.unchanged


def reasons(report: LoadReport) -> list[tuple[int, str, str]]:
    return [(f.row, f.column, f.reason) for f in report.faults.itertuples()]


class TestOnce:
    """A first load."""

    def test_readings_are_kept_in_mm_under_the_registers_names(
        self, take: Take, stored: Stored
    ) -> None:
        report = take(clearances=REGISTER, readings=READINGS)
        assert report.clean
        assert counts(report, "readings") == (4, 0, 0, 0)
        rows = stored("readings").set_index("clearance")
        assert list(rows.loc["brg DE", "machine"].unique()) == ["K-101"]
        np.testing.assert_allclose(rows.loc["brg DE", "value_mm"], [0.1524, 0.1905])
        assert rows.loc["thrust", "value_mm"] == 0.32
        assert rows.loc["nozzle gap", "basis"] == "axial"
        assert list(rows.loc["brg DE", "row"]) == [2, 3]
        assert set(rows["written"]) == {"6.0", "7.5", "0.32 mm", "1.6"}

    def test_the_register_comes_back_in_its_order(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER)
        rows = stored("clearances")
        assert list(rows["clearance"]) == ["brg DE", "thrust", "nozzle gap"]
        assert list(rows["limiting"]) == [True, True, True]
        np.testing.assert_allclose(rows["limit_mm"], [0.3048, 0.6, 0.8])

    def test_machines_that_only_clearances_name_are_machines(
        self, take: Take, stored: Stored
    ) -> None:
        take(machines="machine,class\nK-102,pump", clearances=REGISTER)
        assert sorted(stored("machines")["machine"]) == ["K-101", "K-102"]

    def test_the_machines_sheet_spells_the_machine(self, take: Take, stored: Stored) -> None:
        take(machines="machine,class\nK 101,pump", clearances=REGISTER, readings=READINGS)
        for frame in ("machines", "clearances", "readings"):
            assert set(stored(frame)["machine"]) == {"K 101"}

    def test_the_time_of_the_load_is_kept(self, folder: Callable[..., Path], store: Path) -> None:
        place = folder(clearances=REGISTER)
        load(place, store=store, loaded_at=datetime(2020, 2, 3, 4, 5))
        with reader(store) as connection:
            assert connection.execute("select loaded_at from load").fetchall() == [
                (datetime(2020, 2, 3, 4, 5),)
            ]


class TestAgain:
    """What is stored already."""

    def test_the_same_files_twice_change_nothing(
        self, take: Take, stored: Stored, store: Path
    ) -> None:
        bad = READINGS + "K-101,brg DE,2015-05-01,1,as-found,-3,,\n"
        unknown = bad + "K-101,brg NDE,2015-05-01,1,as-found,3,,\n"
        first = take(clearances=REGISTER, readings=unknown)
        before = {name: stored(name) for name in ("clearances", "readings")}
        again = take(clearances=REGISTER, readings=unknown)
        assert first.changed
        assert not again.changed
        assert counts(again, "readings") == (0, 0, 0, 4)
        assert counts(again, "clearances") == (0, 0, 0, 3)
        for name, frame in before.items():
            pd.testing.assert_frame_equal(stored(name), frame)
        with reader(store) as connection:
            assert connection.execute("select count(*) from load").fetchone() == (1,)
            assert connection.execute("select count(*) from refused").fetchone() == (1,)
            assert connection.execute("select count(*) from waiting").fetchone() == (1,)

    def test_the_same_value_in_another_notation_is_the_same(self, take: Take) -> None:
        take(clearances=REGISTER, readings=READINGS)
        again = take("again", readings=READINGS.replace(",6.0,", ",6.00 thou,"))
        assert again.clean
        assert counts(again, "readings") == (0, 0, 0, 4)

    def test_a_changed_cell_is_refused_and_both_are_named(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER, readings=READINGS)
        report = take("again", readings=READINGS.replace("7.5", "7.6"))
        (row, column, reason) = reasons(report)[0]
        assert (row, column) == (3, "value")
        assert "7.5" in reason
        assert "readings.csv row 3" in reason
        assert list(report.faults["written"]) == ["7.6"]
        assert counts(report, "readings") == (0, 0, 0, 3)
        assert "7.5" in set(stored("readings")["written"])

    def test_a_changed_note_is_a_changed_cell(self, take: Take) -> None:
        take(clearances=REGISTER, readings=READINGS)
        report = take("again", readings=READINGS.replace("lower half", "upper half"))
        assert [(r, c) for r, c, _ in reasons(report)] == [(3, "note")]

    def test_a_filled_blank_is_filled_and_its_source_kept(
        self, take: Take, stored: Stored, store: Path
    ) -> None:
        take(clearances=REGISTER, readings=READINGS)
        report = take(
            "again", readings=READINGS.replace("0.32 mm,,", "0.32 mm,dial indicator,cold")
        )
        assert report.clean
        assert counts(report, "readings") == (0, 1, 0, 3)
        row = stored("readings").set_index("clearance").loc["thrust"]
        assert (row["method"], row["note"]) == ("dial indicator", "cold")
        with reader(store) as connection:
            filled = connection.execute('select "column", value, row from filled').fetchall()
        assert sorted(filled) == [("method", "dial indicator", 4), ("note", "cold", 4)]

    def test_a_blank_does_not_empty_a_cell(self, take: Take, stored: Stored) -> None:
        take(clearances=REGISTER, readings=READINGS)
        report = take("again", readings=READINGS.replace("lower half", ""))
        assert report.clean
        assert "lower half" in set(stored("readings")["note"])

    def test_keys_gone_from_a_file_of_the_same_name_are_listed(self, take: Take) -> None:
        take(clearances=REGISTER, readings=READINGS)
        report = take(readings="\n".join(READINGS.strip().splitlines()[:-1]))
        assert any("K-101 / nozzle gap / 2014-05-01" in note for note in report.notes)

    def test_another_file_without_them_is_no_matter(
        self, folder: Callable[..., Path], take: Take, store: Path
    ) -> None:
        take(clearances=REGISTER, readings=READINGS)
        place = folder("other", readings=READINGS[: READINGS.index("K-101,thrust")])
        (place / "readings.csv").rename(place / "readings 2.csv")
        report = load(place, store=store)
        assert not any("held before" in note for note in report.notes)


class TestOneLoad:
    """Rows of one load beside one another."""

    def test_equal_rows_count_once(self, take: Take) -> None:
        report = take(clearances=REGISTER, readings=READINGS + READINGS.splitlines()[2] + "\n")
        assert report.clean
        assert counts(report, "readings") == (4, 0, 0, 1)

    def test_unlike_rows_of_one_key_are_both_refused(self, take: Take) -> None:
        report = take(
            clearances=REGISTER,
            readings=READINGS + "K-101,brg DE,2010-05-01,1000,as-left,6.1,,\n",
        )
        assert [row for row, _, _ in reasons(report)] == [2, 6]
        assert all("same key" in reason for _, _, reason in reasons(report))
        assert all(report.faults["written"].str.startswith("6."))
        assert counts(report, "readings")[0] == 3

    @pytest.mark.parametrize("column", ["plane", "angle", "repeat", "opening"])
    def test_they_are_told_apart(self, take: Take, column: str) -> None:
        report = take(
            clearances=REGISTER,
            readings=f"machine,clearance,date,state,value,{column}\n"
            "K-101,brg DE,2010-05-01,as-left,6.1,1\nK-101,brg DE,2010-05-01,as-left,6.2,2\n",
        )
        assert report.clean
        assert counts(report, "readings")[0] == 2

    def test_hours_stand_in_for_a_missing_date(self, take: Take) -> None:
        sheet = (
            "machine,clearance,date,run_hours,state,value\n"
            "K-101,brg DE,,1000,as-found,6.1\nK-101,brg DE,,2000,as-found,6.2\n"
        )
        report = take(clearances=REGISTER, readings=sheet)
        assert counts(report, "readings")[0] == 2
        assert counts(take("again", readings=sheet), "readings") == (0, 0, 0, 2)

    def test_all_or_nothing(
        self, take: Take, stored: Stored, store: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        take(clearances=REGISTER)

        class Broken(RuntimeError):
            pass

        def break_down(*_: object) -> None:
            raise Broken

        with monkeypatch.context() as patch:
            patch.setattr(one_load.record, "write_load", break_down)
            with pytest.raises(Broken):
                take("more", clearances=REGISTER.replace(",12,", ",13,"), readings=READINGS)
        assert stored("readings").empty
        assert stored("clearances")["limit_mm"].iloc[0] == pytest.approx(0.3048)
        assert take("more", readings=READINGS).changed

    def test_a_preview_reports_the_same_and_stores_nothing(
        self, folder: Callable[..., Path], take: Take, store: Path, stored: Stored
    ) -> None:
        place = folder(clearances=REGISTER, readings=READINGS.replace("6.0", "-6"))
        foreseen = preview(place, store=store)
        assert not store.exists()
        real = load(place, store=store)
        assert foreseen.counts == real.counts
        assert (foreseen.rehearsed, real.rehearsed) == (True, False)
        pd.testing.assert_frame_equal(foreseen.faults, real.faults)
        more = folder("more", readings=READINGS)
        assert counts(preview(more, store=store), "readings")[0] == 1
        assert len(stored("readings")) == 3


class TestWaiting:
    """Positions the register does not know yet."""

    def test_they_wait_and_count_once_the_register_knows_them(
        self, take: Take, stored: Stored
    ) -> None:
        first = take(readings=READINGS)
        assert first.clean
        assert first.changed
        assert list(first.waiting["rows"]) == [1, 1, 1, 1]
        second = take("register", clearances=REGISTER)
        assert second.waiting.empty
        assert counts(second, "readings") == (4, 0, 0, 0)
        rows = stored("readings")
        assert set(rows["file"]) == {"readings.csv"}
        assert sorted(rows["row"]) == [2, 3, 4, 5]
        assert counts(take(readings=READINGS), "readings") == (0, 0, 0, 4)

    def test_everything_a_row_said_is_kept_while_it_waits(self, take: Take, stored: Stored) -> None:
        sheet = (
            "machine,clearance,date,run_hours,state,value,uncertainty,note\n"
            'K-101,brg DE,1998-05,~32000 ±3000,as-found,>8½ thou,,"a ""b"",null}"\n'
            "K-101,brg DE,2010-05-01,1000,as-left,6.1 ± 0.2,± 0.3 mil,\n"
        )
        take("a", readings=sheet)
        take("b", clearances=REGISTER)
        late = stored("readings").drop(columns=["reading"])
        assert list(late["note"]) == ['a "b",null}', None]
        assert late["upper_mm"].iloc[0] == np.inf
        assert late["hours_spread"].iloc[0] == 3000
        assert late["date_spread_days"].iloc[0] > 10
        assert late["half_width_mm"].iloc[1] == pytest.approx(0.2 * 0.0254)
        assert late["stated_mm"].iloc[1] == pytest.approx(0.3 * 0.0254 / np.sqrt(3))

    def test_work_events_log_and_plan_wait_for_their_machine(
        self, take: Take, stored: Stored
    ) -> None:
        report = take(
            work="machine,clearance,date,action\nK-101,*,2010-05-01,renewed",
            events="machine,date,what\nK-101,2010-05-01,trip",
            run_log="machine,date,run_hours\nK-101,2010-05-01,1000",
            duty_plan="machine,from,hours_per_day\nK-101,2020-01-01,20",
        )
        assert set(report.waiting["sheet"]) == {"work", "duty_plan", "events", "run_log"}
        take("register", clearances=REGISTER)
        for name in ("work", "events", "run_log", "duty_plan"):
            assert len(stored(name)) == 1

    def test_names_lead_to_the_position(self, take: Take, stored: Stored) -> None:
        take(
            clearances=REGISTER,
            names="machine,as_written,clearance\nK-101,drive end,brg DE\n,NG,nozzle gap",
            readings="machine,clearance,date,state,value\n"
            "K-101,Drive-End,2010-05-01,as-left,6.1\nK-101,ng,2010-05-01,as-left,1.8\n",
        )
        assert sorted(stored("readings")["clearance"]) == ["brg DE", "nozzle gap"]

    def test_a_name_added_later_ends_the_waiting(self, take: Take, stored: Stored) -> None:
        sheet = "machine,clearance,date,state,value\nK-101,drive end,2010-05-01,as-left,6.1\n"
        take(clearances=REGISTER, readings=sheet)
        report = take("names", names="machine,as_written,clearance\nK-101,drive end,brg DE")
        assert report.waiting.empty
        assert list(stored("readings")["clearance"]) == ["brg DE"]

    def test_work_on_a_set_is_known(self, take: Take) -> None:
        register = (
            "machine,clearance,kind,basis,moves,unit,set\n"
            "K-101,ring 1,carbon ring,diametral,opens,mm,gland A\n"
        )
        work = "machine,clearance,date,action\nK-101,Gland-A,2010-05-01,renewed\n"
        report = take(clearances=register, work=work + "K-101,gland B,2010-05-01,renewed\n")
        assert counts(report, "work")[0] == 1
        assert list(report.waiting["clearance"]) == ["gland B"]
